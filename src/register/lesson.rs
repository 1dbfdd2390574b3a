//! What a lesson leaves: how many hands went up for each answer. No names, and no codes either.

use serde::{Deserialize, Serialize};

use crate::record::Label;

use super::{Moment, Named};

/// A lesson that was given.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LessonGiven {
    /// The lesson, with the name that it had.
    pub lesson: Named,
    /// When it began, by the station's clock.
    pub began: Moment,
    /// How long it took, s.
    pub seconds: f64,
    /// How many of its steps were come to, and how many it has.
    pub steps: (usize, usize),
    /// Where it was given, if that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ward: Option<Label>,
    /// Every question that hands were counted for.
    pub asked: Vec<AskedHands>,
}

/// A question and the hands that went up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AskedHands {
    /// Id of its step.
    pub step: String,
    /// What was asked.
    pub question: String,
    /// Each answer with the hands that were counted for it.
    pub answers: Vec<(String, u32)>,
    /// What was shown against it, as the sentence that stood there, if it came to that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown: Option<String>,
}

impl AskedHands {
    /// All hands that were counted.
    pub fn hands(&self) -> u32 {
        self.answers.iter().map(|(_, hands)| hands).sum()
    }
}
