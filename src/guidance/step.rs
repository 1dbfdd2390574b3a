//! How one step of a sequence was done.

use crate::drill::{Action, Done, Drill, Happened};
use crate::model::{Asked, Does, Holding, Library, Sequence, Technique, Whereabouts};

use super::align::{Match, Order, kit_items};
use super::hygiene::Hands;
use super::reached::carried_to_person;
use super::{Cleaning, near, work};

/// How one step of the sequence was done.
#[derive(Clone, Debug, PartialEq)]
pub struct StepResult {
    /// Index of the step in the sequence.
    pub step: usize,
    /// The action that completed it, if any.
    pub action: Option<usize>,
    /// Whether it was in order.
    pub order: Order,
    /// Techniques used on its items that the sequence does not support.
    pub poor: Vec<Poor>,
    /// Where it was done, if that is not where it should be.
    pub wrong_place: Option<Whereabouts>,
    /// True if hands were cleaned for too short a time or with zones left out.
    pub short: bool,
    /// True if bare forearms were to be cleaned with the hands, and were not.
    pub no_forearms: bool,
    /// What was left otherwise than it should be when its items were put on, each as the end of a sentence.
    pub amiss: Vec<String>,
    /// Its items, off by now, that were dropped on the floor or are not in the bin.
    pub not_binned: Vec<usize>,
    /// Organisms that its actions carried to the person.
    pub carried: u64,
    /// True if an unclean hand or glove was laid on the person in its actions, or could have brushed them.
    pub unclean_hand: bool,
}

/// A technique that the sequence does not support, and what it was used on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Poor {
    /// Technique id.
    pub technique: String,
    /// Kit items, in order of time.
    pub items: Vec<usize>,
    /// Index of the action that did it first.
    pub action: usize,
    /// True if anything unclean met the person by it, or could have.
    pub unclean: bool,
}

impl StepResult {
    /// Ways by which its items were taken off or loosened and that the sequence does not ask for, in order of time; none where nothing
    /// completed it, and what only handled them before they were due is none.
    pub fn other_ways<'a>(&self, library: &'a Library) -> Vec<&'a Technique> {
        if self.action.is_none() {
            return Vec::new();
        }
        self.poor
            .iter()
            .filter_map(|poor| library.technique(&poor.technique))
            .filter(|technique| matches!(technique.does, Does::TakesOff | Does::Loosens))
            .collect()
    }
}

pub(super) fn step_result(
    drill: &Drill,
    sequence: &Sequence,
    found: Match,
    cleanings: &[Cleaning],
    hands: &[Hands],
) -> StepResult {
    let (setup, done) = (drill.setup(), drill.done());
    let mut result = StepResult {
        step: found.step,
        action: found.action,
        order: found.order,
        poor: Vec::new(),
        wrong_place: None,
        short: false,
        no_forearms: false,
        amiss: Vec::new(),
        not_binned: Vec::new(),
        carried: found.action.map_or(0, |a| carried_to_person(setup, &done[a])),
        unclean_hand: false,
    };
    match &sequence.steps[found.step].asked {
        asked @ (Asked::PutOn {
            items, accept, at, ..
        }
        | Asked::Check { items, accept, at }
        | Asked::Remove { items, accept, at }) => {
            let mine: Vec<usize> = kit_items(setup, items).collect();
            result.carried = 0;
            for (action, done) in done.iter().enumerate() {
                let Some((technique, item)) = technique_on(drill, done) else {
                    continue;
                };
                // Gloves that come off with the gown are done by a technique on the gown.
                if !mine.contains(&item) && found.action != Some(action) {
                    continue;
                }
                // What is put on is put on for one step, and taken off for another.
                let dressing =
                    work::is_before(setup, drill.done(), action) || work::puts_on(setup, sequence, technique);
                if dressing != asked.dresses() {
                    continue;
                }
                result.carried += carried_to_person(setup, done);
                result.unclean_hand |= near::unclean_hand(setup, done, &hands[action]);
                // A check is asked for by a step of its own, and the rest of the dressing by another.
                if asked.dresses() && is_asked_elsewhere(sequence, found.step, technique) {
                    continue;
                }
                // What lay on the floor has come off already: whoever tidies it up takes nothing off in a poor way.
                let does = setup.library.technique(technique).map(|t| t.does);
                let check = matches!(asked, Asked::Check { .. });
                let aside = matches!(does, Some(Does::PicksUp | Does::Prepares));
                if check || accept.iter().any(|a| a == technique) || aside {
                    continue;
                }
                let unclean = near::anything_unclean(setup, done, &hands[action]);
                // What is pulled down and up again is one slip.
                let adjusts = |id: &str| {
                    setup
                        .library
                        .technique(id)
                        .is_some_and(|t| t.does == Does::Adjusts)
                };
                let before = result
                    .poor
                    .iter_mut()
                    .find(|p| adjusts(&p.technique) && p.items.contains(&item));
                if let Some(before) = before.filter(|_| adjusts(technique)) {
                    before.unclean |= unclean;
                    continue;
                }
                match result.poor.iter_mut().find(|p| p.technique == technique) {
                    Some(known) => {
                        known.unclean |= unclean;
                        if !known.items.contains(&item) {
                            known.items.push(item);
                        }
                    }
                    None => result.poor.push(Poor {
                        technique: technique.to_owned(),
                        items: vec![item],
                        action,
                        unclean,
                    }),
                }
            }
            if let Some(action) = found.action {
                let where_done = done[action].whereabouts;
                result.wrong_place = (!at.is_empty() && !at.contains(&where_done)).then_some(where_done);
            }
            if asked.dresses() {
                result.poor.retain(|poor| !put_right(drill, poor, accept));
            }
            if let Asked::PutOn { on_top, .. } = asked {
                result.amiss = amiss(drill, &mine, accept, on_top, &result.poor);
            }
            result.not_binned = mine
                .into_iter()
                .filter(|_| !asked.dresses())
                .filter(|&item| {
                    let is = drill.state().items[item].holding;
                    let off = !matches!(is, Holding::Worn | Holding::Dangling | Holding::Boxed);
                    off && (is != Holding::Binned || dropped(done, item))
                })
                .collect();
        }
        Asked::Clean {
            forearms, seconds, ..
        } => {
            let cleaning = cleanings.iter().find(|c| Some(c.action) == found.action);
            result.short = cleaning.is_some_and(|c| !c.is_full() || c.is_shorter_than(*seconds));
            result.no_forearms = *forearms && cleaning.is_some_and(|c| c.forearms_bare && !c.forearms);
        }
        Asked::Go { .. } => {}
    }
    result
}

/// True if what a way of putting something on left wrong was put right before the work, in a way that is asked for.
fn put_right(drill: &Drill, poor: &Poor, accept: &[String]) -> bool {
    let (setup, done) = (drill.setup(), drill.done());
    let library = &setup.library;
    let Some(way) = library.technique(&poor.technique) else {
        return false;
    };
    let until = work::begins(setup, done).max(poor.action);
    let mended = |fault: &str| {
        let mends = |technique: &str| {
            accept.iter().any(|id| id == technique)
                && library.technique(technique).is_some_and(|t| t.mends(fault))
        };
        poor.items.iter().all(|&item| {
            let mut later = done[poor.action..until]
                .iter()
                .filter_map(|d| technique_on(drill, d));
            later.any(|(technique, of)| of == item && mends(technique))
        })
    };
    // What went beneath something else has been brought out again.
    let out = || {
        let brings = |technique: &str| {
            accept.iter().any(|id| id == technique)
                && library.technique(technique).is_some_and(Technique::brings_out)
        };
        poor.items.iter().all(|&item| {
            let mut later = done[poor.action..until]
                .iter()
                .filter_map(|d| technique_on(drill, d));
            later.any(|(technique, of)| of == item && brings(technique))
        })
    };
    let something = way.makes().next().is_some() || way.tucks();
    something && way.makes().all(mended) && (!way.tucks() || out())
}

/// True if another step that puts on or checks asks for a technique.
fn is_asked_elsewhere(sequence: &Sequence, step: usize, technique: &str) -> bool {
    sequence.steps.iter().enumerate().any(|(n, other)| {
        let accept = other.asked.handles().map(|(_, accept, _)| accept);
        n != step
            && other.asked.dresses()
            && accept.is_some_and(|accept| accept.iter().any(|id| id == technique))
    })
}

/// What was left otherwise than it should be as the work began: ties that accepted ways tie and that are open, and parts that do
/// not lie outermost. An item that was put on in another way has that to answer for.
fn amiss(drill: &Drill, items: &[usize], accept: &[String], on_top: &[String], poor: &[Poor]) -> Vec<String> {
    let setup = drill.setup();
    let state = work::state_at(drill);
    let mut list = Vec::new();
    let answered = |item: &usize| poor.iter().any(|poor| poor.items.contains(item));
    for &item in items
        .iter()
        .filter(|&item| state.is_worn(*item) && !answered(item))
    {
        let label = &setup.items[item].label;
        let fastenings = setup.definition(item).fastenings.iter();
        let open: Vec<&str> = fastenings
            .zip(&state.items[item].undone)
            .filter(|(fastening, undone)| **undone && work::ties(setup, accept, &fastening.id))
            .map(|(fastening, _)| fastening.label.as_str())
            .collect();
        if !open.is_empty() {
            list.push(format!(
                "left open: the {} of the {label}",
                open.join(" and the ")
            ));
        }
        for id in on_top {
            let Some(part) = setup.items[item].part(id) else {
                continue;
            };
            let named = &setup.definition(item).parts[part].label;
            if let Some(over) = state.over(setup, item, part) {
                let over = &setup.items[over].label;
                list.push(format!("the {over} lies over the {named} of the {label}"));
            }
        }
    }
    list
}

/// A technique and the kit item it was used on.
fn technique_on<'a>(drill: &Drill, done: &'a Done) -> Option<(&'a str, usize)> {
    match &done.action {
        Action::Do {
            technique,
            item: Some(item),
            ..
        } => Some((technique, drill.setup().item(item)?)),
        _ => None,
    }
}

/// True if an item was on the floor at any time.
fn dropped(done: &[Done], item: usize) -> bool {
    done.iter()
        .flat_map(|d| &d.happened)
        .any(|h| matches!(h, Happened::Item { item: moved, to: Holding::Floor(_), .. } if *moved == item))
}
