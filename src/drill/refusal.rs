//! Why something cannot be done: only physics refuses, never guidance.

use std::fmt;

/// A reason, in words for the trainee.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// What stands in the way.
    pub reason: String,
    /// What could be done about it.
    pub hint: Option<String>,
}

impl Refusal {
    /// A refusal without a hint.
    pub fn new(reason: impl Into<String>) -> Refusal {
        Refusal {
            reason: reason.into(),
            hint: None,
        }
    }

    /// Adds what could be done about it.
    pub fn hint(mut self, hint: impl Into<String>) -> Refusal {
        self.hint = Some(hint.into());
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
