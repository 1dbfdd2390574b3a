//! What an attempt amounts to under a pass rule. The rule is local; nothing here is a standard.

use crate::model::{NeededClean, PassRule};
use crate::record::PassTerms;

use super::Attempt;

/// What a pass rule has to know of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StepFacts {
    /// True if it is a cleaning of hands.
    pub cleans: bool,
    /// True if gloves come off by it.
    pub gloves: bool,
    /// True if it belongs to the kit.
    pub applies: bool,
    /// True if it was not done, or not in full.
    pub lacking: bool,
}

/// What a pass rule has to know of an attempt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facts<'a> {
    /// True if it was finished.
    pub finished: bool,
    /// Critical errors.
    pub critical: usize,
    /// Marks left, if any are given, and marks to be had.
    pub marks: (Option<f64>, f64),
    /// Every step, in the order asked.
    pub steps: &'a [StepFacts],
}

/// Why an attempt did not pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Short {
    /// It was broken off.
    BrokenOff,
    /// There was a critical error.
    Critical,
    /// Hands were not cleaned, or not in full, after the gloves.
    CleanAfterGloves,
    /// The last cleaning was left out or not done in full.
    LastClean,
    /// Too few marks.
    Marks,
    /// A step that guards safety was not done as asked.
    Safety,
    /// Whoever watched decided so.
    Decided,
    /// Not every step was seen.
    Unseen,
}

impl Short {
    /// The words people read.
    pub fn words(self) -> &'static str {
        match self {
            Short::BrokenOff => "broken off",
            Short::Critical => "a critical error",
            Short::CleanAfterGloves => "hands not cleaned in full after the gloves",
            Short::LastClean => "the last cleaning left out or not done in full",
            Short::Marks => "too few marks",
            Short::Decided => "whoever watched decided so",
            Short::Unseen => "not every step was seen",
            Short::Safety => "a step that guards safety not done as asked",
        }
    }
}

/// What keeps an attempt from passing; empty if it passes.
pub fn falls_short(rule: &PassRule, facts: &Facts<'_>) -> Vec<Short> {
    if !facts.finished {
        // Of what was not done nobody knows whether it would have been.
        return vec![Short::BrokenOff];
    }
    let mut short = Vec::new();
    if facts.critical > 0 {
        short.push(Short::Critical);
    }
    let last_gloves = facts.steps.iter().rposition(|s| s.applies && s.gloves);
    let cleans = |from: usize| facts.steps[from..].iter().filter(|s| s.applies && s.cleans);
    for &needed in &rule.cleans {
        let (clean, word) = match needed {
            NeededClean::AfterGloves => (
                last_gloves.and_then(|at| cleans(at).next()),
                Short::CleanAfterGloves,
            ),
            NeededClean::Last => (cleans(0).next_back(), Short::LastClean),
        };
        if clean.is_some_and(|step| step.lacking) {
            short.push(word);
        }
    }
    // Where the sequence has one cleaning for both, one was left out and not two.
    let one_for_both = last_gloves.is_some_and(|at| cleans(at).count() == 1);
    if one_for_both && short.contains(&Short::LastClean) {
        short.retain(|s| *s != Short::CleanAfterGloves);
    }
    // Marks that are not given after a critical error are not too few as well.
    if facts
        .marks
        .0
        .is_some_and(|left| left < rule.mark * facts.marks.1 - 1e-9)
    {
        short.push(Short::Marks);
    }
    short
}

/// True if a step in words was left out, came at the wrong time where that matters, or was not done in full.
pub(super) fn lacking(how: &str, lacks: impl Iterator<Item = impl AsRef<str>>) -> bool {
    how == "missed"
        || lacks
            .into_iter()
            .any(|word| matches!(word.as_ref(), "short" | "no-forearms"))
}

impl Attempt {
    /// What keeps it from passing; empty if it passes. An assessment goes by the rule that it was set up with, whatever rule there is
    /// now.
    pub fn falls_short(&self, rule: &PassRule) -> Vec<Short> {
        let own = self.terms.pass.as_ref().map(PassTerms::rule);
        let rule = own.as_ref().unwrap_or(rule);
        let steps: Vec<StepFacts> = self
            .steps
            .iter()
            .map(|step| StepFacts {
                cleans: step.asks == "clean",
                gloves: step.gloves,
                applies: step.how != "not-applicable",
                lacking: lacking(&step.how, step.lacks.iter()),
            })
            .collect();
        falls_short(
            rule,
            &Facts {
                finished: self.finished,
                critical: self.critical.len(),
                marks: (self.marks.left, self.marks.of),
                steps: &steps,
            },
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule(mark: f64) -> PassRule {
        PassRule {
            mark,
            cleans: vec![NeededClean::AfterGloves, NeededClean::Last],
            basis: String::new(),
        }
    }

    fn facts(critical: usize, left: Option<f64>, of: f64, steps: &[StepFacts]) -> Facts<'_> {
        Facts {
            finished: true,
            critical,
            marks: (left, of),
            steps,
        }
    }

    /// Safety items cannot be bought off by marks (worked example L6, from learning-by-mastery practice).
    #[test]
    fn what_guards_safety_is_not_bought_off_by_marks() {
        let rule = rule(0.9);
        assert_eq!(falls_short(&rule, &facts(1, None, 29.0, &[])), [Short::Critical]);
        assert_eq!(falls_short(&rule, &facts(0, Some(27.0), 29.0, &[])), []);
        assert_eq!(
            falls_short(&rule, &facts(0, Some(26.0), 29.0, &[])),
            [Short::Marks]
        );
    }

    /// 86.1 % of 21 items is 18.081, so 19 pass and 18 do not (worked example L5, after Salzman 2020).
    #[test]
    fn a_mark_between_two_numbers_asks_for_the_higher() {
        let rule = rule(0.861);
        assert_eq!(
            falls_short(&rule, &facts(0, Some(18.0), 21.0, &[])),
            [Short::Marks]
        );
        assert_eq!(falls_short(&rule, &facts(0, Some(19.0), 21.0, &[])), []);
    }

    #[test]
    fn the_cleaning_after_the_last_gloves_and_the_last_of_all_are_needed() {
        let step = |cleans, gloves, lacking| StepFacts {
            cleans,
            gloves,
            applies: true,
            lacking,
        };
        let with = |after: bool, middle: bool, last: bool| {
            [
                step(true, false, false),
                step(false, true, false),
                step(true, false, after),
                step(false, false, false),
                step(true, false, middle),
                step(true, false, last),
            ]
        };
        let short = |steps: &[StepFacts]| falls_short(&rule(0.9), &facts(0, Some(100.0), 100.0, steps));
        assert_eq!(short(&with(false, false, false)), []);
        assert_eq!(
            short(&with(false, true, false)),
            [],
            "one in between costs marks only"
        );
        assert_eq!(short(&with(true, false, false)), [Short::CleanAfterGloves]);
        assert_eq!(short(&with(false, false, true)), [Short::LastClean]);
        let mut elsewhere = with(true, false, false);
        elsewhere[2].applies = false;
        assert_eq!(
            short(&elsewhere),
            [],
            "what does not belong to the kit is not needed"
        );
    }

    #[test]
    fn what_was_broken_off_does_not_pass() {
        let broken = Facts {
            finished: false,
            ..facts(0, Some(100.0), 100.0, &[])
        };
        assert_eq!(falls_short(&rule(0.9), &broken), [Short::BrokenOff]);
    }
}
