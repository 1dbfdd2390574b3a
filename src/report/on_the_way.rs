//! What was on bare hands before they were cleaned, what others touch next and what the next patient gets, in one drill as
//! it happened: what a count of hands at the end hides.

use crate::analysis::{AtMoment, Found, Target, found};
use crate::drill::{Action, Drill};

/// One of these targets in a drill.
#[derive(Clone, Debug, PartialEq)]
pub struct OnTheWay {
    /// The target's word.
    pub target: &'static str,
    /// The words people read.
    pub label: &'static str,
    /// What it is taken to be, and what lowers it: a sentence without a full stop.
    pub about: &'static str,
    /// What was found.
    pub found: Found,
    /// How many actions were done.
    actions: usize,
    /// Actions that cleaned hands or gloves, as they are numbered for people.
    cleanings: Vec<usize>,
}

impl OnTheWay {
    /// When a moment was, such as "before action 7, a cleaning".
    pub fn when(&self, moment: &AtMoment) -> String {
        match moment.action {
            n if n >= self.actions => "at the end".to_owned(),
            n if self.cleanings.contains(&(n + 1)) => format!("before action {}, a cleaning", n + 1),
            n => format!("before action {}", n + 1),
        }
    }
}

/// What these targets are taken to be and what the person can do about them.
fn about(target: Target) -> &'static str {
    match target {
        Target::HandsBeforeCleaning => {
            "what each cleaning found on bare skin; lower if hands stay off what is dirty"
        }
        Target::HandsPeak => "the most that bare hands carried at any moment",
        Target::Others => {
            "left on what others touch, what sat there before not counted: phone, pen, badge, chair, door handles; lower if only clean hands go there"
        }
        Target::NextPatient => {
            "one touch of bare skin with hands as they are once all is done; lower if hands are cleaned in full last"
        }
        _ => "",
    }
}

/// Each of these targets in a drill so far.
pub fn on_the_way(drill: &Drill) -> Vec<OnTheWay> {
    let cleanings: Vec<usize> = drill
        .done()
        .iter()
        .enumerate()
        .filter(|(_, done)| matches!(done.action, Action::Clean { .. }))
        .map(|(n, _)| n + 1)
        .collect();
    // Whatever was done can be done again, so there is always something to tell.
    let all = found(drill, &Target::ON_THE_WAY).unwrap_or_default();
    Target::ON_THE_WAY
        .into_iter()
        .zip(all)
        .map(|(target, found)| OnTheWay {
            target: target.word(),
            label: target.label(),
            about: about(target),
            found,
            actions: drill.done().len(),
            cleanings: cleanings.clone(),
        })
        .collect()
}
