//! The few facts of an entry that lists of many people need, taken from its text without making a copy of all the rest.

use std::borrow::Cow;

use serde::Deserialize;
use serde::de::IgnoredAny;

use super::Moment;
use super::decided::Decided;
use super::entry::{NoEntry, Sealed, read_sealed};
use super::judged::{Decision, Verdict, Watching};
use super::outcome::{Facts, Short, StepFacts, falls_short, lacking};
use crate::model::PassRule;
use crate::record::{Code, Id, PassTerms, Person, Purpose};

/// An entry as lists see it.
#[derive(Deserialize)]
pub(super) struct Brief<'a> {
    pub id: Id,
    pub at: Moment,
    #[serde(default)]
    pub person: Option<Person>,
    #[serde(borrow)]
    pub what: BriefWhat<'a>,
}

/// What it tells.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum BriefWhat<'a> {
    Attempt(#[serde(borrow)] BriefAttempt<'a>),
    Judged(#[serde(borrow)] BriefJudged<'a>),
    Forgotten(IgnoredAny),
    Lesson(IgnoredAny),
    Exercise(IgnoredAny),
}

/// An attempt as lists see it.
#[derive(Deserialize)]
pub(super) struct BriefAttempt<'a> {
    pub attempt: Id,
    pub actions: usize,
    pub purpose: Purpose,
    pub finished: bool,
    #[serde(borrow)]
    pub sequence: BriefNamed<'a>,
    pub terms: BriefTerms,
    pub marks: BriefMarks,
    #[serde(borrow)]
    pub steps: Vec<BriefStep<'a>>,
    pub critical: Vec<IgnoredAny>,
}

/// Of the terms of an attempt, the rule that it passes by if it has one of its own.
#[derive(Deserialize)]
pub(super) struct BriefTerms {
    #[serde(default)]
    pub pass: Option<PassTerms>,
}

impl BriefTerms {
    /// What keeps an attempt from passing by its own rule, or else by the register's.
    pub(super) fn falls_short(&self, rule: &PassRule, facts: &Facts<'_>) -> Vec<Short> {
        match &self.pass {
            Some(own) => falls_short(&own.rule(), facts),
            None => falls_short(rule, facts),
        }
    }
}

/// What somebody who watched says, as lists see it.
#[derive(Deserialize)]
pub(super) struct BriefJudged<'a> {
    pub sheet: Id,
    #[serde(default)]
    pub attempt: Option<Id>,
    pub watching: Watching,
    #[serde(borrow)]
    pub sequence: BriefNamed<'a>,
    #[serde(borrow)]
    pub steps: Vec<BriefVerdict<'a>>,
    #[serde(borrow, default)]
    pub critical: Vec<BriefCritical<'a>>,
    pub decision: Decision,
    pub began: Moment,
    #[serde(default)]
    pub observer: Option<Code>,
}

#[derive(Deserialize)]
pub(super) struct BriefVerdict<'a> {
    #[serde(borrow)]
    pub id: Cow<'a, str>,
    #[serde(borrow)]
    pub ask: Cow<'a, str>,
    pub verdict: Verdict,
}

#[derive(Deserialize)]
pub(super) struct BriefCritical<'a> {
    #[serde(borrow)]
    pub kind: Cow<'a, str>,
    #[serde(borrow)]
    pub what: Cow<'a, str>,
    pub stands: bool,
}

#[derive(Deserialize)]
pub(super) struct BriefNamed<'a> {
    #[serde(borrow)]
    pub id: Cow<'a, str>,
    #[serde(borrow)]
    pub label: Cow<'a, str>,
}

#[derive(Deserialize)]
pub(super) struct BriefMarks {
    pub of: f64,
    pub left: Option<f64>,
    pub why: Vec<IgnoredAny>,
}

#[derive(Deserialize)]
pub(super) struct BriefStep<'a> {
    #[serde(borrow)]
    pub id: Cow<'a, str>,
    #[serde(borrow)]
    pub ask: Cow<'a, str>,
    #[serde(borrow)]
    pub asks: Cow<'a, str>,
    #[serde(default)]
    pub gloves: bool,
    #[serde(borrow)]
    pub how: Cow<'a, str>,
    #[serde(borrow, default)]
    pub lacks: Vec<Cow<'a, str>>,
}

impl<'a> Brief<'a> {
    /// Reads it.
    pub(super) fn of(sealed: Sealed<'a>) -> Result<Brief<'a>, NoEntry> {
        read_sealed(sealed)
    }

    /// What a sheet of it decides.
    pub(super) fn decided(&self, sheet: &BriefJudged<'_>) -> Decided {
        Decided {
            decision: sheet.decision,
            observer: sheet.observer.clone(),
            entry: self.id,
            critical: None,
        }
    }

    /// The attempt, if it tells of one.
    pub(super) fn attempt(&self) -> Option<&BriefAttempt<'a>> {
        match &self.what {
            BriefWhat::Attempt(attempt) => Some(attempt),
            _ => None,
        }
    }
}

impl BriefAttempt<'_> {
    /// What a pass rule has to know of it.
    pub(super) fn with_facts<T>(&self, tell: impl FnOnce(&Facts<'_>) -> T) -> T {
        let steps: Vec<StepFacts> = self.steps.iter().map(BriefStep::facts).collect();
        tell(&Facts {
            finished: self.finished,
            critical: self.critical.len(),
            marks: (self.marks.left, self.marks.of),
            steps: &steps,
        })
    }
}

impl BriefStep<'_> {
    /// What a pass rule has to know of it.
    pub(super) fn facts(&self) -> StepFacts {
        StepFacts {
            cleans: self.asks == "clean",
            gloves: self.gloves,
            applies: self.how != "not-applicable",
            lacking: lacking(&self.how, self.lacks.iter()),
        }
    }
}
