//! Virtual trainees: they follow a sequence, or do what a script says, with lapses by chance.

use std::collections::HashMap;

use crate::chance::Luck;
use crate::drill::{Action, ActiveFault, Beginning, Refusal};
use crate::model::{Does, Pace, Sequence, Setup, Technique, Trainee, Whereabouts};

use super::Plan;
use super::atlas::Atlas;
use super::lapses::Lapses;
use super::route::Route;
use super::script::{discards, follow, knotting, on_otherwise, steadily};

/// What a trainee did, and the lapses in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Rehearsal {
    /// The actions.
    pub actions: Vec<Action>,
    /// What departed from the sequence, such as `skipped rub-after-gloves`.
    pub lapses: Vec<String>,
}

/// One attempt of a virtual trainee at a sequence. The same luck gives the same lapses, and a lapse at one step does
/// not change the draws of another.
///
/// # Errors
/// The sequence cannot be followed with this kit at all.
pub fn rehearse(
    setup: &Setup,
    sequence: &Sequence,
    trainee: &Trainee,
    luck: Luck,
) -> Result<Rehearsal, Refusal> {
    let given = Beginning::draw(setup, luck).state.faults;
    let (plan, lapses) = attempt(&mut Atlas::new(setup), sequence, trainee, luck, &given)?;
    Ok(Rehearsal {
        actions: plan.actions,
        lapses,
    })
}

/// One attempt at a sequence as a plan, and the lapses in it. Nobody knows of the faults that the kit was given, but a check may let
/// them be felt.
///
/// # Errors
/// The sequence cannot be followed with this kit at all.
pub(super) fn attempt(
    atlas: &mut Atlas<'_>,
    sequence: &Sequence,
    trainee: &Trainee,
    luck: Luck,
    given: &[ActiveFault],
) -> Result<(Plan, Vec<String>), Refusal> {
    let mut lapses = Lapses::new(trainee, luck).with(given);
    let route = follow(Route::begin(atlas), sequence, Some(&mut lapses))?;
    Ok((route.plan(), lapses.noted()))
}

/// One attempt of a virtual trainee at what a script does: hurried, by other techniques, with cleanings left out and the
/// face touched, as at a sequence. Only the order stays, since a script does not say what may change places. What a
/// lapse makes impossible is left out.
pub fn lapse(setup: &Setup, actions: &[Action], trainee: &Trainee, luck: Luck) -> Rehearsal {
    let (plan, lapses) = lapsed(&mut Atlas::new(setup), actions, trainee, luck);
    Rehearsal {
        actions: plan.actions,
        lapses,
    }
}

/// The same as a plan, with the lapses in it.
pub(super) fn lapsed(
    atlas: &mut Atlas<'_>,
    actions: &[Action],
    trainee: &Trainee,
    luck: Luck,
) -> (Plan, Vec<String>) {
    let mut lapses = Lapses::new(trainee, luck);
    let mut route = Route::begin(atlas);
    let mut times: HashMap<String, u32> = HashMap::new();
    let mut left: Vec<Action> = Vec::new();
    let mut at_work = !route.setup().lies_ready();
    for action in actions {
        at_work |= begins_work(route.setup(), action);
        let name = match action {
            Action::Do { technique, item, .. } => {
                format!("{technique} {}", item.as_deref().unwrap_or("held"))
            }
            Action::Clean { product, .. } => product.clone(),
            Action::Touch { .. } | Action::Walk(_) | Action::Wait(_) => String::new(),
        };
        let time = times.entry(name.clone()).or_default();
        *time += 1;
        let step = format!("{name} {time}");
        let meant = match action {
            Action::Clean { .. } if lapses.skips(&step, !at_work) => continue,
            Action::Do {
                technique,
                item: Some(item),
                ..
            } if !at_work => match dressed(&mut route, (technique, item), &mut lapses) {
                Dressed::AsMeant => action.clone(),
                Dressed::Otherwise(other) => other,
                Dressed::Not => continue,
            },
            Action::Do {
                technique,
                item: Some(item),
                hand,
                pace,
            } => otherwise(&mut route, (technique, item), &mut lapses).unwrap_or_else(|| Action::Do {
                technique: technique.clone(),
                item: Some(item.clone()),
                hand: *hand,
                pace: match lapses.pace(item) {
                    Pace::Hurried => Pace::Hurried,
                    Pace::Steady => *pace,
                },
            }),
            // A check of no item, before there is work.
            Action::Do { technique, .. } if !at_work && is_check(route.setup(), technique) => {
                if lapses.leaves_out(technique) {
                    continue;
                }
                action.clone()
            }
            other => other.clone(),
        };
        let ends = matches!(meant, Action::Do { .. } | Action::Clean { .. });
        for action in [Some(meant), None] {
            let action = match action {
                Some(action) => action,
                None if ends => match lapses.fidget(route.setup(), route.arrangement(), &step) {
                    Some(touch) => touch,
                    None => continue,
                },
                None => continue,
            };
            // What has become impossible is left out; what was put on so that it cannot come off yet comes off later.
            match route.act(action.clone()) {
                Err(_) if takes_off(route.setup(), &action) && route.setup().lies_ready() => {
                    empty_hands(&mut route);
                    left.push(action);
                }
                Ok(()) => {
                    let mut waiting = usize::MAX;
                    while left.len() < waiting {
                        waiting = left.len();
                        left.retain(|action| {
                            let comes = route.act(action.clone()).is_ok();
                            if comes {
                                empty_hands(&mut route);
                            }
                            !comes
                        });
                    }
                }
                Err(_) => {}
            }
        }
    }
    (route.plan(), lapses.noted())
}

/// Gets rid of what hands hold, in the first way that is possible.
fn empty_hands(route: &mut Route<'_, '_>) {
    while let Some(ways) = discards(route.setup(), route.arrangement()) {
        if !ways.into_iter().any(|way| route.act(way).is_ok()) {
            return;
        }
    }
}

/// True if a technique checks whoever puts kit on, or the kit as it lies there or is on.
fn is_check(setup: &Setup, technique: &str) -> bool {
    let technique = setup.library.technique(technique);
    technique.is_some_and(|t| t.prepares() && t.items.is_empty() && !t.feels.is_empty())
}

/// True if an action takes something off.
fn takes_off(setup: &Setup, action: &Action) -> bool {
    matches!(action, Action::Do { technique, .. }
        if setup.library.technique(technique).is_some_and(|t| t.does == Does::TakesOff))
}

/// True if putting on is over with this action: somebody goes in, or gives care.
fn begins_work(setup: &Setup, action: &Action) -> bool {
    match action {
        Action::Walk(to) => *to == Whereabouts::Inside,
        Action::Do { technique, .. } => {
            let technique = setup.library.technique(technique);
            technique.is_some_and(|t| t.does == Does::Cares)
        }
        Action::Clean { .. } | Action::Touch { .. } | Action::Wait(_) => false,
    }
}

/// What becomes of what is to be done while kit is put on.
enum Dressed {
    AsMeant,
    Otherwise(Action),
    Not,
}

/// The slips at the door in what a script does with one item.
fn dressed(route: &mut Route<'_, '_>, (technique, item): (&str, &str), lapses: &mut Lapses<'_>) -> Dressed {
    let setup = route.setup();
    let (Some(way), Some(index)) = (setup.library.technique(technique), setup.item(item)) else {
        return Dressed::AsMeant;
    };
    if !way.dresses() || way.is_for_mending() {
        return Dressed::AsMeant;
    }
    if way.checks() {
        return match lapses.leaves_unchecked(item) {
            true => Dressed::Not,
            false => Dressed::AsMeant,
        };
    }
    let other = if way.is_for_boxed() {
        on_otherwise(route, index, lapses, |t| t.id == way.id)
    } else {
        let Some(tie) = way.ties() else {
            return Dressed::AsMeant;
        };
        if lapses.leaves_open(item, tie) {
            return Dressed::Not;
        }
        lapses.knots(item, tie, || knotting(setup, index, tie))
    };
    match other {
        Some(other) => Dressed::Otherwise(steadily(&other.id, Some(&item.to_owned()))),
        None => Dressed::AsMeant,
    }
}

/// Another technique that takes an item off, if the trainee lapses into one.
fn otherwise(
    route: &mut Route<'_, '_>,
    (technique, item): (&str, &str),
    lapses: &mut Lapses<'_>,
) -> Option<Action> {
    let setup = route.setup();
    let library = &setup.library;
    let index = setup.item(item)?;
    if library.technique(technique)?.does != Does::TakesOff || !lapses.takes_poorly(item) {
        return None;
    }
    let possible: Vec<&Technique> = library
        .techniques
        .iter()
        .filter(|t| t.does == Does::TakesOff && t.id != technique && setup.applies(t, index))
        .filter(|t| route.check(&lapses.action(t, item)).is_ok())
        .collect();
    let chosen = lapses.poor(item, &possible)?;
    Some(lapses.action(chosen, item))
}
