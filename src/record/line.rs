//! The lines of a log. Each is sealed after the one before it ([`seal`](super::seal)).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::drill::{Action, exact};

use super::terms::Terms;
use super::who::Id;

/// The log format this program writes.
pub const LOG_FORMAT: u64 = 6;

/// The first format whose header names its terms, whose lines are sealed and whose luck is today's. Earlier ones are played by
/// today's model.
pub const SEALED_FORMAT: u64 = 4;

/// The first line of a log: everything needed to play it again.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Header {
    /// Format number; its name also marks the file as a log.
    #[serde(rename = "smirch-log")]
    pub format: u64,
    /// Version of the program that wrote it.
    pub program: String,
    /// Digest of the content it ran with.
    pub content: String,
    /// When the attempt began, in seconds since 1970 began in Greenwich; not in formats before 4.
    #[serde(default)]
    pub began: Option<u64>,
    /// What the attempt is known by; not in formats before 5.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attempt: Option<Id>,
    /// Scenario id.
    pub scenario: String,
    /// What judges the attempt, and what help there was; not in formats before 4.
    #[serde(default)]
    pub terms: Option<Terms>,
    /// The scenario's text, so that the log stands alone.
    #[serde(default)]
    pub text: String,
    /// Texts of the sequences that it needs and that smirch does not carry, by id.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub sequences: BTreeMap<String, String>,
    /// Seed.
    pub seed: u64,
    /// Digest of the books at the start.
    pub books: String,
}

/// A line after the header.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub(super) enum Line {
    /// An action and the books after it.
    Step {
        /// Number of the action, from 1.
        n: usize,
        /// What was done.
        action: Action,
        /// Clock after it, s.
        #[serde(with = "exact")]
        clock: f64,
        /// Digest of the books after it; empty if more than this action was done before it was written.
        books: String,
    },
    /// Actions were taken back.
    Back {
        /// How many actions were left.
        back: usize,
        /// Digest of the books after those.
        books: String,
    },
    /// The next step was told, since it was asked for; from format 6 on.
    Told {
        /// Id of the step of the sequence.
        told: String,
    },
    /// The result of the attempt as it stands was kept in a register. One that was not ended may be gone on with.
    Kept {
        /// The entry in the register.
        kept: Id,
    },
    /// The attempt was ended.
    End {
        /// How many actions there were.
        end: usize,
        /// Digest of the books.
        books: String,
        /// How it was judged then; not in formats before 4.
        #[serde(default, flatten, skip_serializing_if = "Option::is_none")]
        judged: Option<Judged>,
    },
}

/// How an attempt was judged when it ended.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Judged {
    /// Marks for the sequence; none after a critical error.
    #[serde(default)]
    pub marks: Option<f64>,
    /// Marks that could be had.
    pub of: f64,
    /// Critical errors.
    pub critical: usize,
}

/// What the first seal of a log is made from.
pub(super) const LOG: &str = "smirch log";

pub(super) fn hex(digest: u64) -> String {
    format!("{digest:016x}")
}

#[cfg(test)]
mod tests {
    use super::super::seal::{first, sealed, unbroken};
    use super::*;

    #[test]
    fn a_line_is_read_as_it_was_written_whatever_its_numbers() {
        for clock in [
            0.0,
            1.3 + 0.1,
            0.1 + 0.2,
            1e-7,
            123_456.789_012_345_67,
            2.0_f64.powi(60),
        ] {
            let line = Line::Step {
                n: 1,
                action: Action::Wait(clock),
                clock,
                books: String::new(),
            };
            let (text, seal) = sealed(&line, first(LOG)).expect("it can be written");
            assert_eq!(
                serde_json::from_str::<Line>(&text).expect("it can be read"),
                line,
                "{text}"
            );
            assert_eq!(unbroken(text.trim_end(), first(LOG)), Some(seal), "{text}");
        }
    }
}
