//! The lines of a log and their seals. Each line's seal is made from its text and the seal of the line before it, so a
//! line that was changed, left out or moved after it was written shows. Whoever can write a log can seal one anew: seals
//! tell damage and carelessness, they are no signature.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::chance::Key;
use crate::drill::{Action, exact};

use super::terms::Terms;

/// The log format this program writes. Earlier ones are played by today's model: their luck was drawn in other ways.
pub const LOG_FORMAT: u64 = 4;

/// The first format whose header names its terms, and whose lines are sealed.
pub(super) const SEALED: u64 = 4;

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

pub(super) fn hex(digest: u64) -> String {
    format!("{digest:016x}")
}

/// What every first seal is made from.
pub(super) fn first_seal() -> Key {
    Key::of("smirch log")
}

const SEAL: &str = ",\"seal\":\"";

/// Writes a line with its seal, and gives the seal for the next.
///
/// # Errors
/// The line cannot be written as JSON.
pub(super) fn sealed(line: &impl Serialize, before: Key) -> serde_json::Result<(String, Key)> {
    let mut text = serde_json::to_string(line)?;
    text.pop();
    let seal = before.named(&text);
    text.push_str(SEAL);
    text.push_str(&hex(seal.0));
    text.push_str("\"}\n");
    Ok((text, seal))
}

/// The seal of a line as read, without its line end; none if it is not what it should be after the seal before it.
pub(super) fn unbroken(line: &str, before: Key) -> Option<Key> {
    let (text, seal) = line.strip_suffix("\"}")?.rsplit_once(SEAL)?;
    let made = before.named(text);
    (hex(made.0) == seal).then_some(made)
}

#[cfg(test)]
mod tests {
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
            let (text, seal) = sealed(&line, first_seal()).expect("it can be written");
            assert_eq!(
                serde_json::from_str::<Line>(&text).expect("it can be read"),
                line,
                "{text}"
            );
            assert_eq!(unbroken(text.trim_end(), first_seal()), Some(seal), "{text}");
        }
    }

    #[test]
    fn the_seal_breaks_with_any_character_and_with_the_line_before() {
        let line = Line::Back {
            back: 3,
            books: hex(7),
        };
        let (text, _) = sealed(&line, first_seal()).expect("it can be written");
        let text = text.trim_end();
        assert_eq!(unbroken(text, Key::of("another")), None);
        for at in 0..text.len() {
            let mut changed = text.as_bytes().to_vec();
            changed[at] ^= 1;
            let changed = String::from_utf8(changed).expect("one bit of ASCII");
            assert_eq!(unbroken(&changed, first_seal()), None, "{changed}");
        }
    }
}
