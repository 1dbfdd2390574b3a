//! The score of an attempt: five parts side by side, critical errors apart.

use crate::drill::{Action, Done, Drill, State};
use crate::model::{Asked, Sequence, Setup, Side, SiteIndex, Whereabouts};

use super::align::{Match, Order, align, kit_items};
use super::critical::{critical, face_touch};
use super::hygiene::cleanings;
use super::reached::{carried_to_person, reached};
use super::{Cleaning, Critical, CriticalKind, HandState, Reached};

/// Marks taken off, with the reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Deduction {
    /// Index of the step in the sequence.
    pub step: usize,
    /// What for, in one word, as in the scenario's marks: `missed`, `late`, `poor` ...
    pub kind: &'static str,
    /// How many.
    pub marks: f64,
    /// The reason, as a sentence.
    pub reason: String,
}

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
    pub poor: Vec<String>,
    /// Where it was done, if that is not where it should be.
    pub wrong_place: Option<Whereabouts>,
    /// True if hands were cleaned for too short a time or with zones left out.
    pub short: bool,
    /// Organisms that its actions carried to the person.
    pub carried: u64,
}

/// A free touch of the face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FaceTouch {
    /// Index of the action.
    pub action: usize,
    /// Which hand.
    pub hand: Side,
    /// What was touched.
    pub site: SiteIndex,
    /// True if the hand was not clean.
    pub unclean: bool,
}

/// The score of an attempt against a named sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Score {
    /// Sequence id.
    pub sequence: String,
    /// What sits where at the end.
    pub reached: Vec<Reached>,
    /// Each step of the sequence.
    pub steps: Vec<StepResult>,
    /// Marks before deductions.
    pub full: f64,
    /// Deductions.
    pub deductions: Vec<Deduction>,
    /// Hand hygiene done.
    pub cleanings: Vec<Cleaning>,
    /// Hand hygiene moments that the sequence asks for, and how many were met in full.
    pub moments: (usize, usize),
    /// Free touches of the face.
    pub face_touches: Vec<FaceTouch>,
    /// Critical errors.
    pub critical: Vec<Critical>,
    /// Length of the attempt, s.
    pub seconds: f64,
}

impl Score {
    /// Scores an attempt against a sequence.
    pub fn of(drill: &Drill, sequence: &Sequence) -> Score {
        let setup = drill.setup();
        let asked_seconds = |product: &str| {
            sequence
                .steps
                .iter()
                .filter_map(|s| match &s.asked {
                    Asked::Clean { products, seconds } if products.iter().any(|p| p == product) => {
                        Some(*seconds)
                    }
                    _ => None,
                })
                .reduce(f64::min)
        };
        let cleanings = cleanings(setup, drill.done(), asked_seconds);
        let mut hands = HandState::at_start();
        let (mut face_touches, mut criticals) = (Vec::new(), Vec::new());
        for (action, done) in drill.done().iter().enumerate() {
            criticals.extend(
                critical(setup, action, done, hands)
                    .into_iter()
                    .filter(|c| match c.kind {
                        CriticalKind::RubSkipped => asks_to_clean_before(setup, sequence, done),
                        // What the sequence itself asks for is counted as contact, not as an error.
                        CriticalKind::BareHandOnDirty => !accepts(setup, sequence, done),
                        _ => true,
                    }),
            );
            if let Some((hand, site, unclean)) = face_touch(setup, done, hands) {
                face_touches.push(FaceTouch {
                    action,
                    hand,
                    site,
                    unclean,
                });
            }
            let full = cleanings.iter().any(|c| c.action == action && c.is_full());
            hands.after(setup, done, full);
        }
        let steps: Vec<StepResult> = align(drill, sequence)
            .into_iter()
            .map(|m| step_result(drill, sequence, m, &cleanings))
            .collect();
        let due: Vec<&StepResult> = steps
            .iter()
            .filter(|s| s.order != Order::NotApplicable)
            .filter(|s| matches!(sequence.steps[s.step].asked, Asked::Clean { .. }))
            .collect();
        let met = due.iter().filter(|s| s.action.is_some() && !s.short).count();
        let deductions = deductions(drill, sequence, &steps);
        Score {
            sequence: sequence.id.clone(),
            reached: reached(drill),
            full: setup.scenario.marks.full,
            moments: (due.len(), met),
            deductions,
            steps,
            cleanings,
            face_touches,
            critical: criticals,
            seconds: drill.state().clock,
        }
    }

    /// Marks left for the sequence, never below zero.
    pub fn marks(&self) -> f64 {
        (self.full - self.deductions.iter().map(|d| d.marks).sum::<f64>()).max(0.0)
    }
}

/// True if an action is a technique that the sequence accepts for its item.
fn accepts(setup: &Setup, sequence: &Sequence, done: &Done) -> bool {
    let Action::Do {
        technique,
        item: Some(item),
        ..
    } = &done.action
    else {
        return false;
    };
    let Some(item) = setup.item(item) else {
        return false;
    };
    let id = &setup.definition(item).id;
    sequence.steps.iter().any(|s| {
        matches!(&s.asked, Asked::Remove { items, accept, .. } if items.contains(id) && accept.contains(technique))
    })
}

/// True if the sequence asks for clean hands before the step that an action belongs to: a rub that nobody asked for
/// was not skipped. What belongs to no step counts if the sequence asks for clean hands at all.
fn asks_to_clean_before(setup: &Setup, sequence: &Sequence, done: &Done) -> bool {
    let item = match &done.action {
        Action::Do { item: Some(id), .. } => setup.item(id),
        Action::Touch { site, .. } => setup.site(site).and_then(|site| State::item_of(setup, site)),
        _ => None,
    };
    let step = item.and_then(|item| {
        let id = &setup.definition(item).id;
        sequence
            .steps
            .iter()
            .position(|s| matches!(&s.asked, Asked::Remove { items, .. } if items.contains(id)))
    });
    let before = &sequence.steps[..step.unwrap_or(sequence.steps.len())];
    before.iter().any(|s| matches!(s.asked, Asked::Clean { .. }))
}

fn step_result(drill: &Drill, sequence: &Sequence, found: Match, cleanings: &[Cleaning]) -> StepResult {
    let setup = drill.setup();
    let mut result = StepResult {
        step: found.step,
        action: found.action,
        order: found.order,
        poor: Vec::new(),
        wrong_place: None,
        short: false,
        carried: found
            .action
            .map_or(0, |a| carried_to_person(setup, &drill.done()[a])),
    };
    match &sequence.steps[found.step].asked {
        Asked::Remove { items, accept, at } => {
            let mine: Vec<&str> = kit_items(setup, items)
                .map(|i| setup.items[i].id.as_str())
                .collect();
            result.carried = 0;
            for done in drill.done() {
                let Action::Do {
                    technique,
                    item: Some(item),
                    ..
                } = &done.action
                else {
                    continue;
                };
                if !mine.contains(&item.as_str()) {
                    continue;
                }
                result.carried += carried_to_person(setup, done);
                if !accept.contains(technique) && !result.poor.contains(technique) {
                    result.poor.push(technique.clone());
                }
            }
            // Gloves that come off with the gown are done by a technique on the gown.
            if let Some(action) = found.action
                && let Action::Do {
                    technique,
                    item: Some(item),
                    ..
                } = &drill.done()[action].action
                && !mine.contains(&item.as_str())
            {
                result.carried += carried_to_person(setup, &drill.done()[action]);
                if !accept.contains(technique) && !result.poor.contains(technique) {
                    result.poor.push(technique.clone());
                }
            }
            if let Some(action) = found.action {
                let where_done = drill.done()[action].whereabouts;
                result.wrong_place = (!at.is_empty() && !at.contains(&where_done)).then_some(where_done);
            }
        }
        Asked::Clean { .. } => {
            result.short = found
                .action
                .is_some_and(|a| cleanings.iter().any(|c| c.action == a && !c.is_full()));
        }
        Asked::Go { .. } => {}
    }
    result
}

fn deductions(drill: &Drill, sequence: &Sequence, steps: &[StepResult]) -> Vec<Deduction> {
    let setup = drill.setup();
    let marks = setup.scenario.marks;
    let mut list = Vec::new();
    for result in steps {
        let step = &sequence.steps[result.step];
        let mut take = |kind: &'static str, marks: f64, reason: String| {
            if marks > 0.0 {
                list.push(Deduction {
                    step: result.step,
                    kind,
                    marks,
                    reason,
                });
            }
        };
        let harmless = result.carried == 0;
        match result.order {
            Order::Missed => take("missed", marks.missed, format!("not done: {}", step.ask)),
            Order::Early | Order::Late if harmless => take(
                "harmless_order",
                marks.harmless_order,
                format!("out of order, but nothing was carried to you by it: {}", step.ask),
            ),
            Order::Early => take("early", marks.early, format!("earlier than asked: {}", step.ask)),
            Order::Late => take("late", marks.late, format!("later than asked: {}", step.ask)),
            Order::InOrder | Order::NotApplicable => {}
        }
        for technique in &result.poor {
            let label = setup
                .library
                .technique(technique)
                .map_or(technique.as_str(), |t| t.label.as_str());
            if harmless {
                take(
                    "harmless_poor",
                    marks.harmless_poor,
                    format!(
                        "the sequence does not ask for this way, though it carried nothing to you: {label}"
                    ),
                );
            } else {
                take(
                    "poor",
                    marks.poor,
                    format!("the sequence does not ask for this way: {label}"),
                );
            }
        }
        if let Some(place) = result.wrong_place {
            take(
                "wrong_place",
                marks.wrong_place,
                format!("done {}: {}", place.word(), step.ask),
            );
        }
        if result.short {
            take(
                "short_clean",
                marks.short_clean,
                format!("too short, or zones left out: {}", step.ask),
            );
        }
    }
    list
}
