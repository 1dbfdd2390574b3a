//! An attempt with one step moved to where its sequence has it, with all that belongs to that step.

use crate::drill::{Action, Drill};
use crate::guidance::{Order, Score};
use crate::model::{Asked, Sequence};

use super::what_if::actions_of;
use super::words::list;

/// An attempt in better order.
pub struct Reordered {
    /// What would have been done.
    pub actions: Vec<Action>,
    /// What is moved, such as `gown`.
    pub what: String,
    /// The order, as advice.
    pub advice: String,
}

/// The attempt with a step that came early or late done when it was asked; none if the step takes nothing off, or if
/// there is nothing off before or after which it could go. Whether that is possible is for whoever plays it.
pub fn reordered(drill: &Drill, sequence: &Sequence, score: &Score, step: usize) -> Option<Reordered> {
    let actions = actions_of(drill);
    let block = block(drill, sequence, &actions, step)?;
    let result = &score.steps[step];
    let what = names(drill, sequence, step)?;
    let done = |range: std::ops::Range<usize>| {
        range
            .filter(|&s| score.steps[s].action.is_some() && score.steps[s].order == Order::InOrder)
            .collect::<Vec<usize>>()
    };
    let (at, advice) = match result.order {
        Order::Early => {
            let before = done(0..step);
            // After the last thing that should have come before, and after what throws that away.
            let last = before.iter().filter_map(|&s| score.steps[s].action).max()?;
            let past = (last + 1..actions.len())
                .find(|&a| !is_discard(&actions[a]))
                .unwrap_or(actions.len());
            let other = before.iter().rev().find_map(|&s| names(drill, sequence, s))?;
            (past, format!("Leave the {what} until after the {other}"))
        }
        Order::Late => {
            let after = done(step + 1..sequence.steps.len());
            let first = after
                .iter()
                .filter_map(|&s| self::block(drill, sequence, &actions, s))
                .filter_map(|b| b.first().copied())
                .min()?;
            let other = after.iter().find_map(|&s| names(drill, sequence, s))?;
            (first, format!("See to the {what} before you go to the {other}"))
        }
        _ => return None,
    };
    let mut kept = Vec::with_capacity(actions.len());
    for (a, action) in actions.iter().enumerate() {
        if a == at {
            kept.extend(block.iter().map(|&b| actions[b].clone()));
        }
        if !block.contains(&a) {
            kept.push(action.clone());
        }
    }
    if at == actions.len() {
        kept.extend(block.iter().map(|&b| actions[b].clone()));
    }
    Some(Reordered {
        actions: kept,
        what,
        advice,
    })
}

/// Everything done to the items of a step, and what threw them away: indices of actions.
fn block(drill: &Drill, sequence: &Sequence, actions: &[Action], step: usize) -> Option<Vec<usize>> {
    let setup = drill.setup();
    let Asked::Remove { items, .. } = &sequence.steps[step].asked else {
        return None;
    };
    let mut block = Vec::new();
    for (a, action) in actions.iter().enumerate() {
        let mine = match action {
            Action::Do { item: Some(id), .. } => setup
                .item(id)
                .is_some_and(|i| items.contains(&setup.definition(i).id)),
            _ => is_discard(action) && a > 0 && block.contains(&(a - 1)),
        };
        if mine {
            block.push(a);
        }
    }
    (!block.is_empty()).then_some(block)
}

fn is_discard(action: &Action) -> bool {
    matches!(action, Action::Do { item: None, .. })
}

/// What a step takes off, in a word or two; none if this kit has nothing of it.
fn names(drill: &Drill, sequence: &Sequence, step: usize) -> Option<String> {
    let setup = drill.setup();
    let Asked::Remove { items, .. } = &sequence.steps[step].asked else {
        return None;
    };
    let mut words: Vec<String> = Vec::new();
    for (i, kit) in setup.items.iter().enumerate() {
        let definition = setup.definition(i);
        if kit.spare || !items.contains(&definition.id) {
            continue;
        }
        let word = if kit.side.is_some() {
            format!("{}s", definition.label)
        } else {
            kit.label.clone()
        };
        if !words.contains(&word) {
            words.push(word);
        }
    }
    (!words.is_empty()).then(|| list(&words))
}
