//! The score of an attempt: five parts side by side, critical errors apart.

use crate::drill::Drill;
use crate::model::{Asked, Sequence, Side, SiteIndex};

use super::align::{Order, align};
use super::critical::{criticals, face_touches};
use super::deduct::deductions;
use super::hygiene::{Hands, cleanings};
use super::reached::reached;
use super::step::step_result;
use super::{Cleaning, Critical, Deduction, Reached, StepResult};

/// A touch of the face: a free one, or one by an unclean hand that handled something there.
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
    /// Touches of the face.
    pub face_touches: Vec<FaceTouch>,
    /// Critical errors.
    pub critical: Vec<Critical>,
    /// Labels of items of the kit that the sequence does not say how to take off: nothing is marked there.
    pub unasked: Vec<String>,
    /// Length of the attempt, s.
    pub seconds: f64,
}

impl Score {
    /// Scores an attempt against a sequence.
    pub fn of(drill: &Drill, sequence: &Sequence) -> Score {
        let setup = drill.setup();
        let done = drill.done();
        let hands = Hands::course(setup, sequence, done);
        let cleanings = cleanings(setup, sequence, done, &hands);
        let face_touches = done
            .iter()
            .enumerate()
            .flat_map(|(action, done)| {
                let touches = face_touches(setup, done, &hands[action]).into_iter();
                touches.map(move |(hand, site, unclean)| FaceTouch {
                    action,
                    hand,
                    site,
                    unclean,
                })
            })
            .collect();
        let steps: Vec<StepResult> = align(drill, sequence)
            .into_iter()
            .map(|m| step_result(drill, sequence, m, &cleanings, &hands))
            .collect();
        let due: Vec<&StepResult> = steps
            .iter()
            .filter(|s| s.order != Order::NotApplicable)
            .filter(|s| matches!(sequence.steps[s.step].asked, Asked::Clean { .. }))
            .collect();
        let met = due
            .iter()
            .filter(|s| s.action.is_some() && !s.short && !s.no_forearms)
            .count();
        let deductions = deductions(drill, sequence, &steps, &cleanings);
        Score {
            sequence: sequence.id.clone(),
            reached: reached(drill),
            full: setup.scenario.marks.full,
            moments: (due.len(), met),
            deductions,
            steps,
            critical: criticals(setup, sequence, (done, drill.state()), &hands, &cleanings),
            cleanings,
            face_touches,
            unasked: setup
                .left_out_by(sequence)
                .into_iter()
                .map(|item| setup.items[item].label.clone())
                .collect(),
            seconds: drill.state().clock,
        }
    }

    /// Marks left for the sequence, never below zero; none after a critical error, which no number of steps done well
    /// makes up for. Whoever did nothing that is asked has none to lose.
    pub fn marks(&self) -> Option<f64> {
        let left = if self.is_untouched() {
            0.0
        } else {
            self.full - self.lost()
        };
        self.critical.is_empty().then_some(left.max(0.0))
    }

    /// True if nothing was done of what the sequence asks.
    pub fn is_untouched(&self) -> bool {
        self.steps.iter().all(|step| step.action.is_none())
    }

    /// Marks lost over the steps, whatever else happened.
    pub fn lost(&self) -> f64 {
        self.deductions.iter().map(|d| d.marks).sum()
    }

    /// True if everything was done as the sequence asks: nothing lost and no critical error.
    pub fn is_full(&self) -> bool {
        self.critical.is_empty() && self.deductions.is_empty()
    }
}
