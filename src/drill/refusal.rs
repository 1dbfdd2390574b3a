//! Why something cannot be done: only physics refuses, never guidance.

use std::fmt;

use crate::model::SiteIndex;

/// What has to be dealt with before something that was refused becomes possible.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum First {
    /// What is at this site, such as a tie.
    Site(SiteIndex),
    /// This kit item: it lies over what is wanted, or fills the hand.
    Item(usize),
}

/// A reason, in words for the trainee.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// What stands in the way.
    pub reason: String,
    /// What could be done about it.
    pub hint: Option<String>,
    /// What it waits for, where that is one thing.
    pub first: Option<First>,
}

impl Refusal {
    /// A refusal without a hint.
    pub fn new(reason: impl Into<String>) -> Refusal {
        Refusal {
            reason: reason.into(),
            hint: None,
            first: None,
        }
    }

    /// Adds what could be done about it.
    pub fn hint(mut self, hint: impl Into<String>) -> Refusal {
        self.hint = Some(hint.into());
        self
    }

    /// Says what has to be dealt with first.
    #[must_use]
    pub fn waits_for(mut self, first: First) -> Refusal {
        self.first = Some(first);
        self
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.reason)?;
        if let Some(hint) = &self.hint {
            write!(f, " ({hint})")?;
        }
        Ok(())
    }
}

impl std::error::Error for Refusal {}
