//! Under which terms an attempt was made: what judged it, and what help there was. They bear on what its marks mean.

use serde::{Deserialize, Serialize};

use crate::model::{NeededClean, PassRule};

use super::{Id, Person, Purpose};

/// How the lamp is used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LampUse {
    /// It can be switched at any time, and starts on: for teaching.
    On,
    /// It stays off until the end: for assessment.
    UntilTheEnd,
    /// It shines while its key or button is held: for practice.
    #[default]
    Peek,
}

impl LampUse {
    /// All ways with the words people read.
    pub const ALL: [(LampUse, &'static str); 3] = [
        (LampUse::On, "On"),
        (LampUse::Peek, "Hold to peek"),
        (LampUse::UntilTheEnd, "Off until the end"),
    ];
}

/// How fast a rub's clock runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClockSpeed {
    /// A second is a second.
    #[default]
    Real,
    /// Ten seconds pass in one: for teaching.
    Fast,
}

impl ClockSpeed {
    /// Both speeds with the words people read.
    pub const ALL: [(ClockSpeed, &'static str); 2] = [
        (ClockSpeed::Real, "Real time"),
        (ClockSpeed::Fast, "Ten times faster"),
    ];

    /// Drill seconds per second of waiting.
    pub fn factor(self) -> f64 {
        match self {
            ClockSpeed::Real => 1.0,
            ClockSpeed::Fast => 10.0,
        }
    }
}

/// The terms of an attempt.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Terms {
    /// Id of the sequence that it is laid beside.
    pub sequence: String,
    /// What it is for; practice in logs of formats before 5.
    #[serde(default)]
    pub purpose: Purpose,
    /// Who does it, if they gave a code.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<Person>,
    /// What the window was set to; none for what a script did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub desk: Option<DeskTerms>,
    /// The rung of the ladder of practice that it was made on, if it was on one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rung: Option<RungTerms>,
    /// The rule that an assessment passes by, as it was when it began; the register's for whatever else there is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass: Option<PassTerms>,
    /// What the attempt is to be known by; a new name is found if none is given. Headers of logs have it, not terms.
    #[serde(skip)]
    pub attempt: Option<Id>,
    /// The script that was played, as it was asked for; none for what a person did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub script: Option<String>,
}

/// A rule to pass by, in words that stay what they are whatever becomes of the content. A critical error never passes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PassTerms {
    /// The least share of the marks, 0 to 1.
    pub mark: f64,
    /// Cleanings that no marks make up for: `AfterGloves`, `Last`.
    pub cleans: Vec<String>,
}

impl PassTerms {
    /// A rule as it is kept.
    pub fn of(rule: &PassRule) -> PassTerms {
        PassTerms {
            mark: rule.mark,
            cleans: NeededClean::ALL
                .into_iter()
                .filter(|(_, needed)| rule.cleans.contains(needed))
                .map(|(word, _)| word.to_owned())
                .collect(),
        }
    }

    /// The rule that was kept, without a basis: words for cleanings that this program does not know ask for nothing.
    pub fn rule(&self) -> PassRule {
        PassRule {
            mark: self.mark,
            cleans: NeededClean::ALL
                .into_iter()
                .filter(|(word, _)| self.cleans.iter().any(|c| c == word))
                .map(|(_, needed)| needed)
                .collect(),
            basis: String::new(),
        }
    }

    /// True if it asks for less than another rule: fewer marks, or not for a cleaning that the other asks for.
    pub fn is_less_than(&self, other: &PassTerms) -> bool {
        self.mark < other.mark - 1e-9 || other.cleans.iter().any(|clean| !self.cleans.contains(clean))
    }
}

/// How help was given on a rung of practice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RungTerms {
    /// Id of the rung.
    pub id: String,
    /// Ids of the steps that were told as they came up; those of all other steps were not.
    pub prompts: Vec<String>,
    /// True if the next step could be asked for.
    #[serde(default)]
    pub asks: bool,
    /// True if steps could be taken back.
    #[serde(default)]
    pub takes_back: bool,
    /// True if what the scenario lets happen happened.
    #[serde(default)]
    pub disturbed: bool,
}

/// What a window was set to when an attempt began, as far as it helps or hinders.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeskTerms {
    /// How the lamp could be used.
    pub lamp: LampUse,
    /// True if the sequence's next step was shown.
    pub hints: bool,
    /// True if names were written beside what is seen.
    pub names: bool,
    /// How fast a rub's clock ran.
    pub clock: ClockSpeed,
    /// True if rubbing went on without anything held down.
    pub hands_free: bool,
}

impl DeskTerms {
    /// The terms in words, to be read on one line.
    pub fn words(&self) -> String {
        let mut words = match self.lamp {
            LampUse::On => "lamp at will",
            LampUse::Peek => "lamp to peek",
            LampUse::UntilTheEnd => "lamp off until the end",
        }
        .to_owned();
        words.push_str(if self.hints {
            ", next step shown"
        } else {
            ", no hints"
        });
        if self.names {
            words.push_str(", names shown");
        }
        if self.clock == ClockSpeed::Fast {
            words.push_str(", fast clock");
        }
        if self.hands_free {
            words.push_str(", rubbing without holding");
        }
        words
    }
}
