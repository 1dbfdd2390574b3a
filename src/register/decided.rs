//! What whoever watched decided of attempts at the screen: it counts for more than what the program makes of them.

use rustc_hash::{FxHashMap, FxHashSet};

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
    /// The entry that says so.
    pub entry: Id,
    /// Words of the critical errors that stand, if they are known.
    pub critical: Option<Vec<String>>,
}

/// The decisions of a register, by attempt; and which attempts were broken off, whatever became of them.
#[derive(Clone, Debug, Default)]
pub struct Decisions {
    /// In the order of time.
    by_attempt: FxHashMap<Id, Vec<(i64, Decided)>>,
    broken_off: FxHashSet<Id>,
}

impl Decisions {
    /// Those of entries.
    pub fn of_entries<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Decisions {
        let mut all = Decisions::default();
        for entry in entries {
            if let Some(attempt) = entry.attempt().filter(|attempt| !attempt.finished) {
                all.broken_off.insert(attempt.attempt);
            }
            if let Some(sheet) = entry.judged()
                && let Some(attempt) = sheet.attempt
            {
                let standing = sheet.critical.iter().filter(|one| one.stands);
                let decided = Decided {
                    decision: sheet.decision,
                    observer: sheet.observer.clone(),
                    entry: entry.id,
                    critical: Some(standing.map(|one| one.kind.clone()).collect()),
                };
                all.add(attempt, entry.at, decided);
            }
        }
        all
    }

    /// Adds what was decided of an attempt; what was left open is no decision.
    pub(super) fn add(&mut self, attempt: Id, at: Moment, decided: Decided) {
        if decided.decision == Decision::Open {
            return;
        }
        let all = self.by_attempt.entry(attempt).or_default();
        let place = all.partition_point(|(known, _)| *known <= at.millis());
        all.insert(place, (at.millis(), decided));
    }

    /// What was decided of an attempt, if anything was: of several decisions the latest.
    pub fn of(&self, attempt: Id) -> Option<&Decided> {
        self.all_of(attempt).next_back()
    }

    /// Everything that was decided of an attempt, in the order of time.
    pub fn all_of(&self, attempt: Id) -> impl DoubleEndedIterator<Item = &Decided> {
        let all = self.by_attempt.get(&attempt).into_iter().flatten();
        all.map(|(_, decided)| decided)
    }

    /// True if an attempt was broken off, also if it was taken up again afterwards.
    pub fn was_broken_off(&self, attempt: Id) -> bool {
        self.broken_off.contains(&attempt)
    }

    /// True if nothing was decided.
    pub fn is_empty(&self) -> bool {
        self.by_attempt.is_empty()
    }
}
