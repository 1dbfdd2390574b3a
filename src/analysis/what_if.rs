//! What if: an attempt with one thing changed, with the same luck, and what that is worth on average.

use crate::chance::Luck;
use crate::drill::{Action, ActiveFault, Beginning, Refusal, State, enact, in_full};
use crate::model::{Does, Pace, Setup, Technique};

use super::{Aim, Coefficients, Counter, Plan, Target, expected};

/// One thing done differently.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// Other actions instead of the one at this index.
    Replace(usize, Vec<Action>),
    /// An action more, before the one at this index; at the end if there is none.
    Insert(usize, Action),
    /// Without the action at this index.
    Remove(usize),
    /// The action at the first index comes to stand at the second.
    Move(usize, usize),
}

/// What one attempt ends with.
#[derive(Clone, Debug, PartialEq)]
pub struct End {
    /// How many each target counts with this luck.
    pub counts: Vec<u64>,
    /// How many on average over all luck, from the same start.
    pub expected: Vec<f64>,
    /// Seconds it takes.
    pub seconds: f64,
    /// Digest of the books.
    pub digest: u64,
}

/// An attempt with one thing changed.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatIf {
    /// What would have been done.
    pub actions: Vec<Action>,
    /// Indices of the actions done that have become impossible and are left out, with the reasons.
    pub left_out: Vec<(usize, Refusal)>,
    /// How it would have ended.
    pub end: End,
}

/// The actions with an edit made, and for each its index among the actions before; none for a new one.
///
/// # Errors
/// The edit names an action that does not exist.
fn edited(actions: &[Action], edit: &Edit) -> Result<Vec<(Option<usize>, Action)>, String> {
    let mut list: Vec<(Option<usize>, Action)> = actions
        .iter()
        .enumerate()
        .map(|(i, action)| (Some(i), action.clone()))
        .collect();
    let there = |i: usize| {
        if i < actions.len() {
            Ok(())
        } else {
            Err(format!(
                "there is no step {}; the attempt has {}",
                i + 1,
                actions.len()
            ))
        }
    };
    match edit {
        Edit::Replace(i, others) => {
            there(*i)?;
            list.splice(*i..=*i, others.iter().map(|action| (None, action.clone())));
        }
        Edit::Insert(i, action) => list.insert((*i).min(actions.len()), (None, action.clone())),
        Edit::Remove(i) => {
            there(*i)?;
            list.remove(*i);
        }
        Edit::Move(from, to) => {
            there(*from)?;
            there(*to)?;
            let moved = list.remove(*from);
            list.insert(*to, moved);
        }
    }
    Ok(list)
}

/// An attempt from a beginning: its end, with the luck of a seed.
///
/// # Errors
/// An action that is physically impossible, or a target whose mean is no sum over organisms.
pub fn end_of(
    setup: &Setup,
    beginning: &Beginning,
    seed: u64,
    actions: &[Action],
    targets: &[Target],
) -> Result<End, String> {
    let plan = Plan::new(setup, &beginning.state.faults, actions).map_err(|e| e.to_string())?;
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    let aims = Aim::all(setup, &plan, targets);
    let means = expected(
        &plan,
        &beginning.state.wet_until,
        &start,
        &aims,
        Coefficients::Mean,
    );
    let expected = means
        .iter()
        .zip(targets)
        .map(|(mean, target)| mean.ok_or_else(|| format!("{}: this has no exact mean", target.label())))
        .collect::<Result<_, _>>()?;
    let luck = Luck::new(seed);
    let mut counter = Counter::new(&plan, beginning, &aims, setup.organism.seen_from);
    let found = counter.count(luck);
    let books = counter.end(luck);
    Ok(End {
        counts: found.iter().map(|f| f.count).collect(),
        expected,
        seconds: plan.end.clock,
        digest: books.digest(),
    })
}

/// The same attempt with one thing changed: same start, same luck wherever the same is done.
///
/// Later actions that the change makes impossible are left out and named; a changed action that is itself impossible
/// is an error.
///
/// # Errors
/// A sentence: the step does not exist, or what is asked instead is impossible there.
pub fn what_if(
    setup: &Setup,
    beginning: &Beginning,
    seed: u64,
    actions: &[Action],
    edit: &Edit,
    targets: &[Target],
) -> Result<WhatIf, String> {
    let mut state = dressed(setup, &beginning.state.faults);
    let (mut kept, mut left_out) = (Vec::with_capacity(actions.len() + 1), Vec::new());
    for (was, action) in edited(actions, edit)? {
        let moved = matches!(edit, Edit::Move(from, _) if was == Some(*from));
        match enact(setup, &mut state, &action) {
            Ok(_) => kept.push(action),
            Err(refusal) if was.is_none() || moved => {
                return Err(format!("that is impossible there: {refusal}"));
            }
            Err(refusal) => left_out.push((was.unwrap_or_default(), refusal)),
        }
    }
    let end = end_of(setup, beginning, seed, &kept, targets)?;
    Ok(WhatIf {
        actions: kept,
        left_out,
        end,
    })
}

/// Everything on, with these faults, as plans begin.
fn dressed(setup: &Setup, faults: &[ActiveFault]) -> State {
    let mut state = State::dressed(setup);
    state.faults = faults.to_vec();
    state
}

/// What else could have been done at an action: other ways with the same item, the other pace, leaving it out, and a
/// cleaning of hands before it. Only what is possible at that moment and leaves all later actions possible, except
/// for what leaving out takes with it.
pub fn alternatives(setup: &Setup, faults: &[ActiveFault], actions: &[Action], index: usize) -> Vec<Edit> {
    let Some(done) = actions.get(index) else {
        return Vec::new();
    };
    let mut state = dressed(setup, faults);
    for action in &actions[..index] {
        if enact(setup, &mut state, action).is_err() {
            return Vec::new();
        }
    }
    let follows = |edit: &Edit| -> bool {
        let mut state = state.clone();
        edited(actions, edit).is_ok_and(|list| {
            list.iter()
                .skip(index)
                .all(|(_, action)| enact(setup, &mut state, action).is_ok())
        })
    };
    let mut list = Vec::new();
    match done {
        Action::Do {
            technique,
            item: Some(item),
            hand,
            pace,
        } => {
            let other = match pace {
                Pace::Steady => Pace::Hurried,
                Pace::Hurried => Pace::Steady,
            };
            list.push(Edit::Replace(
                index,
                vec![Action::Do {
                    technique: technique.clone(),
                    item: Some(item.clone()),
                    hand: *hand,
                    pace: other,
                }],
            ));
            let does = setup.library.technique(technique).map(|t| t.does);
            if let (Some(does), Some(kit)) = (does, setup.item(item)) {
                for other in &setup.library.techniques {
                    if other.id != *technique
                        && other.does == does
                        && let Some(actions) = loosened(setup, &state, other, kit, *pace)
                    {
                        list.push(Edit::Replace(index, actions));
                    }
                }
            }
            if does == Some(Does::Adjusts) {
                list.push(Edit::Remove(index));
            }
        }
        // What somebody did for themselves before they dressed could have been left out.
        Action::Do {
            technique,
            item: None,
            ..
        } => {
            if setup
                .library
                .technique(technique)
                .is_some_and(Technique::prepares)
            {
                list.push(Edit::Remove(index));
            }
        }
        Action::Clean {
            product,
            doses,
            seconds,
            skip,
            forearms,
        } => {
            list.push(Edit::Remove(index));
            let arms = *forearms;
            if !arms && let Some(with) = with_forearms(setup, &state, product, *seconds) {
                list.push(Edit::Replace(index, vec![with]));
            }
            if let Some(full) = full_clean(setup, product, arms)
                && (full.1 > *seconds || full.0 > *doses || !skip.is_empty())
            {
                list.push(Edit::Replace(index, vec![clean(product, full, arms)]));
            }
            for other in &setup.library.products {
                if other.id != *product {
                    list.push(Edit::Replace(
                        index,
                        vec![clean(&other.id, (other.doses, other.seconds), false)],
                    ));
                }
            }
        }
        Action::Touch { .. } | Action::Wait(_) => list.push(Edit::Remove(index)),
        Action::Walk(_) => {}
    }
    if !matches!(done, Action::Clean { .. } | Action::Wait(_)) {
        let before_is_clean = index > 0 && matches!(actions[index - 1], Action::Clean { .. });
        if !before_is_clean {
            for product in &setup.library.products {
                list.push(Edit::Insert(
                    index,
                    clean(&product.id, (product.doses, product.seconds), false),
                ));
            }
        }
    }
    list.retain(|edit| follows(edit));
    list
}

/// A technique with what must be undone before it; none if it cannot be done then either.
fn loosened(
    setup: &Setup,
    state: &State,
    technique: &Technique,
    kit: usize,
    pace: Pace,
) -> Option<Vec<Action>> {
    if !setup.applies(technique, kit) {
        return None;
    }
    let mut state = state.clone();
    let action = |t: &Technique| Action::Do {
        technique: t.id.clone(),
        item: Some(setup.items[kit].id.clone()),
        hand: None,
        pace,
    };
    let mut list = Vec::new();
    let fastenings = setup.definition(kit).fastenings.len();
    for _ in 0..=fastenings {
        if enact(setup, &mut state.clone(), &action(technique)).is_ok() {
            list.push(action(technique));
            return Some(list);
        }
        let loosen = setup.library.techniques.iter().find(|t| {
            t.does == Does::Loosens
                && setup.applies(t, kit)
                && enact(setup, &mut state.clone(), &action(t)).is_ok()
        })?;
        enact(setup, &mut state, &action(loosen)).ok()?;
        list.push(action(loosen));
    }
    None
}

/// The usual doses and length of a cleaning, with the time for the forearms if they are cleaned too.
fn full_clean(setup: &Setup, product: &str, forearms: bool) -> Option<(u32, f64)> {
    let product = setup.library.product(product)?;
    let arms = product.forearms.as_ref().filter(|_| forearms);
    Some((product.doses, product.seconds + arms.map_or(0.0, |f| f.seconds)))
}

/// The same cleaning with the forearms, if they are bare.
fn with_forearms(setup: &Setup, state: &State, product: &str, seconds: f64) -> Option<Action> {
    let product = setup.library.product(product)?;
    let with = in_full(setup, state, product, seconds, true);
    matches!(with, Action::Clean { forearms: true, .. }).then_some(with)
}

fn clean(product: &str, (doses, seconds): (u32, f64), forearms: bool) -> Action {
    Action::Clean {
        product: product.to_owned(),
        doses,
        seconds,
        skip: Vec::new(),
        forearms,
    }
}

/// A single change and what it is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// The change.
    pub edit: Edit,
    /// Fewer organisms on the target on average; above zero is better.
    pub fewer: f64,
    /// More seconds; below zero is quicker.
    pub seconds: f64,
}

/// Every single change of an attempt that lowers what a target counts on average, largest gain first. Exact, from
/// the start as it was; nothing for a target whose mean is no sum over organisms.
pub fn worth(setup: &Setup, beginning: &Beginning, actions: &[Action], target: Target) -> Vec<Worth> {
    let faults = &beginning.state.faults;
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    let comes_to = |actions: &[Action]| -> Option<(f64, f64)> {
        let plan = Plan::new(setup, faults, actions).ok()?;
        let aim = [Aim::new(setup, &plan, target)];
        let mean = expected(
            &plan,
            &beginning.state.wet_until,
            &start,
            &aim,
            Coefficients::Mean,
        );
        Some((mean[0]?, plan.end.clock))
    };
    let Some((now, clock)) = comes_to(actions) else {
        return Vec::new();
    };
    let mut list: Vec<Worth> = (0..actions.len())
        .flat_map(|i| alternatives(setup, faults, actions, i))
        .filter_map(|edit| {
            let changed: Vec<Action> = edited(actions, &edit).ok()?.into_iter().map(|(_, a)| a).collect();
            let (then, seconds) = comes_to(&changed)?;
            Some(Worth {
                edit,
                fewer: now - then,
                seconds: seconds - clock,
            })
        })
        .filter(|w| w.fewer > 1e-9 * now.max(1e-12))
        .collect();
    list.sort_by(|a, b| b.fewer.total_cmp(&a.fewer));
    list
}
