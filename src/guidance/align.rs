//! Laying what was done beside what was asked.

use crate::drill::{Action, Done, Drill, Happened};
use crate::model::{Asked, Fate, Holding, Sequence, Setup};

use super::hygiene::{Cleaning, Hands, cleanings};
use super::work;

/// How a step of a sequence stands to what was done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// Done when asked.
    InOrder,
    /// Done, but before steps that come earlier in the sequence.
    Early,
    /// Done, but after steps that come later in the sequence.
    Late,
    /// Not done.
    Missed,
    /// Nothing in the kit needs it.
    NotApplicable,
}

/// A step of the sequence and the action that fulfils it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Match {
    /// Index of the step in the sequence.
    pub step: usize,
    /// Index of the action that completed it.
    pub action: Option<usize>,
    /// Whether it was in order.
    pub order: Order,
}

/// Matches every step of a sequence with the action that fulfils it.
///
/// The largest set of steps that can be matched in the asked order counts as in order (a longest common
/// subsequence, earliest steps and actions first); what is left is matched where it can be and called early or late.
///
/// A cleaning of hands is for what came before it. So it meets a step only if everything that the sequence takes off
/// before that step, and that was taken off in order, had come off by then; and the last one asked for is met only if nothing
/// of what is taken off before it was left on, and no dirty kit was touched after it: what clean hands meet in the room is
/// ordinary life again. A rub done early uses nothing up.
pub fn align(drill: &Drill, sequence: &Sequence) -> Vec<Match> {
    let setup = drill.setup();
    let done = drill.done();
    let (steps, actions) = (sequence.steps.len(), done.len());
    let applies = applicable(setup, sequence, done);
    let before = sequence.before_work();
    let hands = Hands::course(setup, sequence, done);
    let cleanings = cleanings(setup, sequence, done, &hands);
    let mut fulfils: Vec<Vec<bool>> = sequence
        .steps
        .iter()
        .enumerate()
        .map(|(i, step)| match &step.asked {
            _ if !applies[i] => vec![false; actions],
            Asked::PutOn { items, accept, .. } => {
                let completed = put_on_by(setup, done, items, accept);
                (0..actions).map(|a| completed == Some(a)).collect()
            }
            Asked::Check { items, accept, .. } => {
                done.iter().map(|d| is_checked(setup, d, items, accept)).collect()
            }
            Asked::Remove { items, .. } => {
                let completed = completed_by(setup, done, items);
                (0..actions).map(|a| completed == Some(a)).collect()
            }
            Asked::Clean { .. } => vec![false; actions],
            Asked::Go { to, .. } => done.iter().map(|d| d.action == Action::Walk(*to)).collect(),
        })
        .collect();
    // One action can complete several removals (a gown that takes the gloves along), but is one cleaning or walk.
    let shares: Vec<bool> = sequence
        .steps
        .iter()
        .map(|s| matches!(s.asked, Asked::PutOn { .. } | Asked::Remove { .. }))
        .collect();
    let removed = longest(&fulfils, &shares, actions);
    let last_clean = (before..steps)
        .rev()
        .find(|&i| applies[i] && matches!(sequence.steps[i].asked, Asked::Clean { .. }));
    for (i, step) in sequence.steps.iter().enumerate() {
        let Asked::Clean { products, gloves, .. } = &step.asked else {
            continue;
        };
        if !applies[i] {
            continue;
        }
        let left_on = |r: usize| match &sequence.steps[r].asked {
            Asked::Remove { items, .. } => applies[r] && completed_by(setup, done, items).is_none(),
            _ => false,
        };
        if last_clean == Some(i) && (0..i).any(left_on) {
            continue;
        }
        let came_off = (0..i).filter(|&r| shares[r]).filter_map(|r| removed[r]).max();
        for a in 0..actions {
            // Who dabs at their hands has not cleaned them.
            let cleaning = cleanings.iter().find(|c| c.action == a && !c.is_none());
            fulfils[i][a] = cleaning.is_some_and(|c| products.contains(&c.product) || washes_instead(setup, products, c))
                && hands[a].clean_as_asked(setup, gloves)
                && came_off.is_none_or(|off| off < a)
                // What is for before the work is for then, and what comes after it for after it.
                && (i < before) == work::is_before(setup, done, a)
                && (last_clean != Some(i) || hands[a + 1].met_kit() == hands[actions].met_kit());
        }
    }
    let mut found = longest(&fulfils, &shares, actions);

    // Of several cleanings before the next step it is the best that meets one.
    for i in 0..steps {
        let (Some(a), Asked::Clean { .. }) = (found[i], &sequence.steps[i].asked) else {
            continue;
        };
        let next = found[i + 1..].iter().flatten().copied().min().unwrap_or(actions);
        let covered = |a: usize| {
            cleanings
                .iter()
                .find(|c| c.action == a)
                .map_or(0.0, |c| c.covered)
        };
        let better = (a + 1..next).filter(|&b| fulfils[i][b] && covered(b) > covered(a) + 1e-9);
        found[i] = better
            .reduce(|b, c| if covered(c) > covered(b) { c } else { b })
            .or(Some(a));
    }
    let in_order = found.clone();
    let mut matches = Vec::with_capacity(steps);
    for step in 0..steps {
        let result = if let Some(action) = in_order[step] {
            Match {
                step,
                action: Some(action),
                order: Order::InOrder,
            }
        } else if !applies[step] {
            Match {
                step,
                action: None,
                order: Order::NotApplicable,
            }
        } else if let Some(action) =
            (0..actions).find(|&a| fulfils[step][a] && (shares[step] || !found.contains(&Some(a))))
        {
            found[step] = Some(action);
            let late = in_order[step + 1..].iter().flatten().any(|&later| later < action);
            Match {
                step,
                action: Some(action),
                order: if late { Order::Late } else { Order::Early },
            }
        } else {
            Match {
                step,
                action: None,
                order: Order::Missed,
            }
        };
        matches.push(result);
    }
    matches
}

/// True if bare hands were washed where rubbing them was asked for: soap and water do whatever a rub is for.
fn washes_instead(setup: &Setup, products: &[String], cleaning: &Cleaning) -> bool {
    let rub = |id: &String| {
        let product = setup.library.product(id);
        product.is_some_and(|product| product.fate != Fate::WashedAway && !product.gloves_only)
    };
    cleaning.lifts && !cleaning.over_gloves && products.iter().any(rub)
}

/// The largest set of steps that can be matched in order, earliest steps and then earliest actions first: for each step its
/// action.
fn longest(fulfils: &[Vec<bool>], shares: &[bool], actions: usize) -> Vec<Option<usize>> {
    let steps = fulfils.len();
    let after = |i: usize, a: usize| if shares[i] { a } else { a + 1 };
    // best[i][a]: how many of the steps from i on can be matched, in order, with actions from a on.
    let mut best = vec![vec![0_u32; actions + 1]; steps + 1];
    for i in (0..steps).rev() {
        for a in (0..actions).rev() {
            best[i][a] = best[i + 1][a].max(best[i][a + 1]);
            if fulfils[i][a] {
                best[i][a] = best[i][a].max(1 + best[i + 1][after(i, a)]);
            }
        }
    }
    let mut found: Vec<Option<usize>> = vec![None; steps];
    let mut from = 0;
    for i in 0..steps {
        // Where an earlier and a later step would do as well, it is the earlier that has been done.
        let fits = |a: &usize| fulfils[i][*a] && best[i][from] == 1 + best[i + 1][after(i, *a)];
        if let Some(a) = (from..actions).find(fits) {
            found[i] = Some(a);
            from = after(i, a);
        }
    }
    found
}

/// Which steps this kit calls for. A removal of what the kit does not have, or of what was never put on, falls away, and with it
/// the cleaning that would follow it and nothing else.
fn applicable(setup: &Setup, sequence: &Sequence, done: &[Done]) -> Vec<bool> {
    let mut applies = Vec::with_capacity(sequence.steps.len());
    // Since the last cleaning: whether a step fell away, and whether one stands.
    let (mut fell, mut stands) = (false, false);
    for step in &sequence.steps {
        let applicable = match &step.asked {
            // What is checked on the person, or on the whole kit, is for all who put some on.
            Asked::Check { items, .. } if items.is_empty() => setup.lies_ready(),
            Asked::PutOn { items, .. } | Asked::Check { items, .. } => {
                kit_items(setup, items).any(|item| setup.items[item].ready)
            }
            Asked::Remove { items, .. } => kit_items(setup, items).any(|item| was_on(setup, done, item)),
            Asked::Clean { .. } => stands || !fell,
            Asked::Go { .. } => true,
        };
        match step.asked {
            Asked::Clean { .. } => (fell, stands) = (false, false),
            _ => {
                fell |= !applicable;
                stands |= applicable;
            }
        }
        applies.push(applicable);
    }
    applies
}

/// Kit items, spares left out, that are one of these definitions.
pub(super) fn kit_items<'a>(setup: &'a Setup, items: &'a [String]) -> impl Iterator<Item = usize> + 'a {
    (0..setup.items.len()).filter(move |&i| !setup.items[i].spare && items.contains(&setup.definition(i).id))
}

/// True if a step takes off kit that there is: where it falls away all the same, that was never put on.
pub fn is_of_kit(setup: &Setup, asked: &Asked) -> bool {
    matches!(asked, Asked::Remove { items, .. } if kit_items(setup, items).next().is_some())
}

/// True if an item was on at the start or has been put on since.
fn was_on(setup: &Setup, done: &[Done], item: usize) -> bool {
    !setup.items[item].ready || put_on(done, item).is_some()
}

/// The action that put on an item that lay ready, if one did.
fn put_on(done: &[Done], item: usize) -> Option<usize> {
    let on = |happened: &Happened| {
        matches!(happened, Happened::Item { item: moved, from: Holding::Boxed, to: Holding::Worn, .. }
            if *moved == item)
    };
    done.iter().position(|done| done.happened.iter().any(on))
}

/// The action by which all of these items that lay ready had been put on and fastened, if there is one. What is still open as the
/// work begins was put on all the same.
fn put_on_by(setup: &Setup, done: &[Done], items: &[String], accept: &[String]) -> Option<usize> {
    let mut last = None;
    for item in kit_items(setup, items).filter(|&item| setup.items[item].ready) {
        let on = put_on(done, item)?;
        let by = match fastened(setup, done, item, accept) {
            // What a look led to was put on when it was put on.
            Some(tied) if done[on..=tied.max(on)].iter().any(|done| is_look(setup, done)) => on,
            Some(tied) => on.max(tied),
            None if work::begins(setup, done) < done.len() => on,
            None => return None,
        };
        last = Some(last.unwrap_or(0).max(by));
    }
    last
}

/// True if an action was a look over kit that is on.
fn is_look(setup: &Setup, done: &Done) -> bool {
    let Action::Do { technique, .. } = &done.action else {
        return false;
    };
    let technique = setup.library.technique(technique);
    technique.is_some_and(|t| t.prepares() && t.looks && !t.is_for_boxed())
}

/// The action by which everything of an item that accepted ways tie was tied; the first where nothing is.
fn fastened(setup: &Setup, done: &[Done], item: usize, accept: &[String]) -> Option<usize> {
    let all = &setup.definition(item).fastenings;
    let mut open: Vec<usize> = (0..all.len())
        .filter(|&f| work::ties(setup, accept, &all[f].id))
        .collect();
    if open.is_empty() {
        return Some(0);
    }
    for (action, done) in done.iter().enumerate() {
        for happened in &done.happened {
            if let Happened::Fastening {
                item: of,
                fastening,
                undone: false,
                ..
            } = happened
                && *of == item
            {
                open.retain(|f| f != fastening);
            }
        }
        if open.is_empty() {
            return Some(action);
        }
    }
    None
}

/// True if an action checks one of these items in one of these ways.
fn is_checked(setup: &Setup, done: &Done, items: &[String], accept: &[String]) -> bool {
    match &done.action {
        Action::Do {
            technique,
            item: Some(item),
            ..
        } => {
            accept.contains(technique)
                && setup
                    .item(item)
                    .is_some_and(|item| items.contains(&setup.definition(item).id))
        }
        Action::Do {
            technique,
            item: None,
            ..
        } => items.is_empty() && accept.contains(technique),
        _ => false,
    }
}

/// The action after which none of these items is worn any more, if there is one. What was never on is left out.
fn completed_by(setup: &Setup, done: &[Done], items: &[String]) -> Option<usize> {
    let mut last = None;
    for item in kit_items(setup, items).filter(|&item| was_on(setup, done, item)) {
        let mut off = None;
        for (a, d) in done.iter().enumerate() {
            for happened in &d.happened {
                if let Happened::Item { item: moved, to, .. } = happened
                    && *moved == item
                {
                    match to {
                        Holding::Worn | Holding::Dangling => off = None,
                        _ => off = off.or(Some(a)),
                    }
                }
            }
        }
        last = Some(last.unwrap_or(0).max(off?));
    }
    last
}
