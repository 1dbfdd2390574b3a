//! What whoever watched decided of attempts at the screen: it counts for more than what the program makes of them.

use rustc_hash::FxHashMap;

use crate::record::{Code, Id};

use super::judged::Decision;
use super::{Entry, Moment};

/// A decision, and who took it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decided {
    /// What was decided; never [`Decision::Open`].
    pub decision: Decision,
    /// Who watched, if that is known.
    pub observer: Option<Code>,
}

/// The decisions of a register, by attempt: of several on one attempt the latest.
#[derive(Clone, Debug, Default)]
pub struct Decisions(FxHashMap<Id, (i64, Decided)>);

impl Decisions {
    /// Those of entries.
    pub fn of_entries<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Decisions {
        let mut all = Decisions::default();
        for entry in entries {
            if let Some(sheet) = entry.judged()
                && let Some(attempt) = sheet.attempt
            {
                all.add(attempt, entry.at, sheet.decision, sheet.observer.clone());
            }
        }
        all
    }

    /// Adds what was decided of an attempt; what was left open is no decision.
    pub(super) fn add(&mut self, attempt: Id, at: Moment, decision: Decision, observer: Option<Code>) {
        if decision == Decision::Open {
            return;
        }
        let taken = (at.millis(), Decided { decision, observer });
        match self.0.get_mut(&attempt) {
            Some(known) if known.0 > taken.0 => {}
            Some(known) => *known = taken,
            None => {
                self.0.insert(attempt, taken);
            }
        }
    }

    /// What was decided of an attempt, if anything was.
    pub fn of(&self, attempt: Id) -> Option<&Decided> {
        self.0.get(&attempt).map(|(_, decided)| decided)
    }

    /// True if nothing was.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
