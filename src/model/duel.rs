//! Pairs to show a class side by side.

use super::{PutOn, Tied};

/// What one side does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DuelWay {
    /// A sequence, by id, followed to the letter.
    Sequence(String),
    /// A script, by its name within the scenario.
    Script(String),
}

/// Something that a label, or the question, says of what a side plays. Items are definition ids.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Claim {
    /// This comes off before anything else does.
    FirstOff(String),
    /// The first is off before the second begins to come off.
    OffBefore(String, String),
    /// Both come off in one.
    Together(String, String),
    /// Hands, or what is on them, are cleaned straight after this is off.
    CleanAfter(String),
    /// They are not: something else is handled first.
    NoCleanAfter(String),
    /// It is taken off by this technique.
    By(String, String),
    /// The kit has it.
    Wears(String),
    /// The kit has none.
    WearsNo(String),
    /// A fastening of it was left so.
    PutOn(String, String, Tied),
}

/// One side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DuelSide {
    /// Name for people.
    pub label: String,
    /// Scenario id, where it is not that of the duel: such as one with other kit, soiled in the same way.
    pub scenario: Option<String>,
    /// What was fastened otherwise in this side's kit than the scenario says.
    pub put_on: Vec<PutOn>,
    /// What it does.
    pub way: DuelWay,
    /// What is said of it; a test plays it and holds it to that.
    pub shows: Vec<Claim>,
}

/// Ways of doing it that are worth showing side by side, with what is known about them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duel {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Scenario id, for sides that name no other.
    pub scenario: String,
    /// What the class is asked before anything is shown.
    pub question: String,
    /// The two sides.
    pub sides: Vec<DuelSide>,
    /// What is known.
    pub known: String,
    /// What is open or contested.
    pub open: String,
    /// Source ids.
    pub sources: Vec<String>,
}

impl Duel {
    /// The scenario of a side, by id.
    pub fn scenario_of<'a>(&'a self, side: &'a DuelSide) -> &'a str {
        side.scenario.as_ref().unwrap_or(&self.scenario)
    }
}
