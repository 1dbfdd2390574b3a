//! What somebody who watched says: of an attempt at the screen, or of a real person who takes kit off or puts it on. The
//! program's own finding stands beside each step, and the person decides.

use serde::{Deserialize, Serialize};

use crate::guidance::CriticalKind;
use crate::model::{Asked, Checklist, ItemKind, Library, PassRule, Scenario, Sequence};
use crate::record::{Code, Id, PassTerms};

use super::outcome::{Facts, StepFacts, falls_short, lacking};
use super::{Attempt, Moment, Named, Short};

/// Longest remark that is kept, characters.
pub const MOST_REMARK: usize = 500;

/// What was watched.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Watching {
    /// An attempt at the screen.
    Screen,
    /// A real person who took kit off.
    TakingOff,
    /// A real person who put kit on.
    PuttingOn,
}

impl Watching {
    /// The words people read.
    pub fn label(self) -> &'static str {
        match self {
            Watching::Screen => "an assessment at the screen",
            Watching::TakingOff => "a real person taking kit off",
            Watching::PuttingOn => "a real person putting kit on",
        }
    }

    /// True if a real person was watched.
    pub fn is_real(self) -> bool {
        self != Watching::Screen
    }
}

/// What is said of a step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Nothing yet, or it could not be seen.
    #[default]
    NotSeen,
    /// Done as asked.
    Met,
    /// Left out, or not done as asked.
    NotMet,
    /// It does not belong to this kit.
    NotApplicable,
}

impl Verdict {
    /// All with the words people read.
    pub const ALL: [(Verdict, &'static str); 4] = [
        (Verdict::Met, "as asked"),
        (Verdict::NotMet, "not as asked"),
        (Verdict::NotSeen, "not seen"),
        (Verdict::NotApplicable, "not in this kit"),
    ];

    /// The words people read.
    pub fn label(self) -> &'static str {
        Verdict::ALL.iter().find(|(v, _)| *v == self).map_or("", |v| v.1)
    }
}

/// What the watching person decides.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Decision {
    /// Nothing yet.
    #[default]
    Open,
    /// Passed.
    Passed,
    /// To be practised and seen again.
    Again,
}

impl Decision {
    /// Both that can be taken, with the words people read.
    pub const ALL: [(Decision, &'static str); 2] = [
        (Decision::Passed, "passed"),
        (Decision::Again, "to be practised and seen again"),
    ];

    /// The words people read.
    pub fn label(self) -> &'static str {
        Decision::ALL
            .iter()
            .find(|(d, _)| *d == self)
            .map_or("not decided", |d| d.1)
    }
}

/// Why a step is not met that loses no marks of its own.
const UNCOUNTED: &str = "not as asked, and counted with another step: one slip costs once";

/// What the program found of a step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// `done`, `early`, `late`, `missed` or `not-applicable`.
    pub how: String,
    /// True if it was done as asked.
    pub met: bool,
    /// True if a cleaning was left out or not done in full.
    pub lacking: bool,
    /// Marks lost by it.
    pub lost: f64,
    /// Why, each as a sentence.
    pub why: Vec<String>,
    /// What was done for it, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub did: Vec<String>,
    /// Ways by which it was done and that the sequence does not ask for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub other_ways: Vec<String>,
}

/// A step with what is said of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct JudgedStep {
    /// Its id.
    pub id: String,
    /// What is asked.
    pub ask: String,
    /// True if hands are cleaned by it.
    pub cleans: bool,
    /// True if gloves come off by it.
    pub gloves: bool,
    /// True if no marks make up for it, whatever it is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub safety: bool,
    /// When it was done, or ticked, in seconds from the beginning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<f64>,
    /// What the program found; none of a real person.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<Finding>,
    /// What the watching person says.
    pub verdict: Verdict,
    /// Why, where it differs from what the program found, or whatever else is to be said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

impl JudgedStep {
    /// True if the person says something else than the program.
    pub fn is_overruled(&self) -> bool {
        self.found
            .as_ref()
            .is_some_and(|found| self.verdict != found.verdict())
    }

    /// True if it counts: it belongs to the kit and was seen.
    pub fn counts(&self) -> bool {
        matches!(self.verdict, Verdict::Met | Verdict::NotMet)
    }

    /// True if the program found it left out, and so does whoever judges.
    fn was_left_out(&self) -> bool {
        let found = self.found.as_ref().is_some_and(|found| found.how == "missed");
        found && self.verdict == Verdict::NotMet
    }

    fn lacks(&self) -> bool {
        match &self.found {
            Some(found) if !self.is_overruled() => found.lacking,
            _ => self.verdict == Verdict::NotMet,
        }
    }
}

impl Finding {
    /// How it was done, in a few words: what was done by a way that the sequence does not ask for is not simply done.
    pub fn words(&self) -> String {
        match (&*self.how, self.other_ways.is_empty()) {
            ("done", false) => "done another way".to_owned(),
            ("early" | "late", false) => format!("{}, and another way", self.how),
            (how, _) => how.replace('-', " "),
        }
    }

    fn verdict(&self) -> Verdict {
        match (&*self.how, self.met) {
            ("not-applicable", _) => Verdict::NotApplicable,
            (_, true) => Verdict::Met,
            (_, false) => Verdict::NotMet,
        }
    }
}

/// A critical error, or one that is looked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct JudgedCritical {
    /// Its word.
    pub kind: String,
    /// What it is, or what happened, as a sentence.
    pub what: String,
    /// When, in seconds from the beginning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<f64>,
    /// True if the program found it.
    pub found: bool,
    /// True if it stands.
    pub stands: bool,
    /// Why, where that differs from what the program found.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

impl JudgedCritical {
    /// True if the person says something else than the program.
    pub fn is_overruled(&self) -> bool {
        self.found && !self.stands
    }
}

/// The rule that it was judged by, as it was then.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct JudgedBy {
    /// The least share of the marks.
    pub mark: f64,
    /// Cleanings that no marks make up for: `AfterGloves`, `Last`.
    pub cleans: Vec<String>,
    /// The rule that would have held, where whoever watched set another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usual: Option<PassTerms>,
}

/// What somebody who watched says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Judged {
    /// What this sheet is known by.
    pub sheet: Id,
    /// What was watched.
    pub watching: Watching,
    /// The attempt at the screen, if it was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attempt: Option<Id>,
    /// When it began, by the station's clock.
    pub began: Moment,
    /// How long it took, s.
    pub seconds: f64,
    /// The scenario, if kit of one was worn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scenario: Option<Named>,
    /// The sequence or checklist that it was laid beside.
    pub sequence: Named,
    /// Initials, code or nickname of whoever watched; nobody until it is said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub observer: Option<Code>,
    /// The rule that it was judged by.
    pub rule: JudgedBy,
    /// Marks to be had; of a real person, the steps that count.
    pub of: f64,
    /// Marks that a step loses which the program found done and the person did not.
    pub missed: f64,
    /// Each step.
    pub steps: Vec<JudgedStep>,
    /// Critical errors.
    pub critical: Vec<JudgedCritical>,
    /// What the person decides.
    pub decision: Decision,
    /// Whatever is to be said besides.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub comment: String,
}

/// What is still wanted before a sheet can be signed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanting {
    /// Who watched.
    Observer,
    /// A decision.
    Decision,
    /// A reason for saying something else than the program, at a step with this number from 0.
    StepRemark(usize),
    /// The same for a critical error.
    CriticalRemark(usize),
    /// A reason for a decision that the rule does not bear out.
    Comment,
    /// Anything said of any step.
    Steps,
}

impl Wanting {
    /// As a sentence.
    pub fn words(&self, sheet: &Judged) -> String {
        match self {
            Wanting::Observer => "Say who watched: initials or a code".to_owned(),
            Wanting::Decision => "Take a decision: passed, or to be practised and seen again".to_owned(),
            Wanting::StepRemark(n) => format!(
                "Say why at `{}`: you say something else than the program",
                sheet.steps.get(*n).map_or("", |s| &s.ask)
            ),
            Wanting::CriticalRemark(n) => format!(
                "Say why this does not stand: {}",
                sheet.critical.get(*n).map_or("", |c| &c.what)
            ),
            Wanting::Comment => "Say why in the comment: your decision is not what the rule gives".to_owned(),
            Wanting::Steps => "Say of at least one step whether it was done as asked".to_owned(),
        }
    }
}

impl Judged {
    /// Critical errors that stand and happened in a step or on the way to it: no other was completed in between.
    pub fn critical_by<'a>(&'a self, step: &'a JudgedStep) -> impl Iterator<Item = &'a JudgedCritical> {
        let times = || self.steps.iter().filter_map(|s| s.at);
        let completed_next = move |at: f64| times().filter(|t| *t >= at).min_by(f64::total_cmp);
        self.critical
            .iter()
            .filter(|c| c.found && c.stands)
            .filter(move |c| step.at.is_some() && c.at.and_then(completed_next) == step.at)
    }

    /// The sheet of an attempt at the screen, filled in as the program found it. `missed` is what a step costs that is left out.
    pub fn of_attempt(attempt: &Attempt, rule: &PassRule, missed: f64) -> Judged {
        let steps = attempt
            .steps
            .iter()
            .map(|step| {
                let lost = attempt.marks.why.iter().filter(|lost| lost.step == step.id);
                let mut why: Vec<String> = lost.clone().map(|lost| lost.reason.clone()).collect();
                let met = why.is_empty() && !step.is_missed();
                if !met && why.is_empty() && step.how != "not-applicable" {
                    // Every cross has its reason.
                    why.push(UNCOUNTED.to_owned());
                }
                let found = Finding {
                    how: step.how.clone(),
                    met,
                    did: step.did.clone(),
                    other_ways: step.other_ways.clone(),
                    lacking: lacking(&step.how, step.lacks.iter()),
                    lost: lost.map(|lost| lost.marks).sum(),
                    why,
                };
                JudgedStep {
                    id: step.id.clone(),
                    ask: step.ask.clone(),
                    cleans: step.asks == "clean",
                    gloves: step.gloves,
                    safety: false,
                    at: step.at,
                    verdict: found.verdict(),
                    found: Some(found),
                    remark: String::new(),
                }
            })
            .collect();
        Judged {
            sheet: Id::fresh(),
            watching: Watching::Screen,
            attempt: Some(attempt.attempt),
            began: attempt.began,
            seconds: attempt.seconds,
            scenario: Some(attempt.scenario.clone()),
            sequence: attempt.sequence.clone(),
            observer: None,
            rule: JudgedBy::of(rule),
            of: attempt.marks.of,
            missed,
            steps,
            critical: attempt
                .critical
                .iter()
                .map(|critical| JudgedCritical {
                    kind: critical.kind.clone(),
                    what: critical.reason.clone(),
                    at: critical.at,
                    found: true,
                    stands: true,
                    remark: String::new(),
                })
                .collect(),
            decision: Decision::Open,
            comment: String::new(),
        }
    }

    /// An empty sheet for a real person who takes off the kit of a scenario by a sequence.
    pub fn of_sequence(
        library: &Library,
        scenario: &Scenario,
        sequence: &Sequence,
        rule: &PassRule,
        now: Moment,
    ) -> Judged {
        let steps = sequence
            .steps
            .iter()
            .map(|step| {
                let (applies, gloves) = match &step.asked {
                    Asked::Remove { items, .. } => {
                        let worn: Vec<&String> = items.iter().filter(|i| scenario.kit.contains(i)).collect();
                        let glove =
                            |id: &&String| library.item(id).is_some_and(|i| i.kind == ItemKind::Glove);
                        (!worn.is_empty(), worn.iter().any(glove))
                    }
                    Asked::PutOn { items, .. } | Asked::Check { items, .. } => {
                        (items.iter().any(|i| scenario.ready.contains(i)), false)
                    }
                    Asked::Clean { .. } | Asked::Go { .. } => (true, false),
                };
                JudgedStep {
                    id: step.id.clone(),
                    ask: step.ask.clone(),
                    cleans: matches!(step.asked, Asked::Clean { .. }),
                    gloves,
                    safety: false,
                    at: None,
                    found: None,
                    verdict: if applies {
                        Verdict::NotSeen
                    } else {
                        Verdict::NotApplicable
                    },
                    remark: String::new(),
                }
            })
            .collect();
        Judged {
            sheet: Id::fresh(),
            watching: Watching::TakingOff,
            attempt: None,
            began: now,
            seconds: 0.0,
            scenario: Some(Named {
                id: scenario.id.clone(),
                label: scenario.label.clone(),
            }),
            sequence: Named {
                id: sequence.id.clone(),
                label: sequence.label.clone(),
            },
            observer: None,
            rule: JudgedBy::of(rule),
            of: 0.0,
            missed: 1.0,
            steps,
            critical: CriticalKind::ALL
                .into_iter()
                .filter(|kind| kind.can_be_of(sequence))
                .map(|kind| JudgedCritical {
                    kind: kind.word().to_owned(),
                    what: kind.watched_for().to_owned(),
                    at: None,
                    found: false,
                    stands: false,
                    remark: String::new(),
                })
                .collect(),
            decision: Decision::Open,
            comment: String::new(),
        }
    }

    /// An empty sheet for a real person who puts kit on.
    pub fn of_checklist(checklist: &Checklist, rule: &PassRule, now: Moment) -> Judged {
        Judged {
            sheet: Id::fresh(),
            watching: Watching::PuttingOn,
            attempt: None,
            began: now,
            seconds: 0.0,
            scenario: None,
            sequence: Named {
                id: checklist.id.clone(),
                label: checklist.label.clone(),
            },
            observer: None,
            // Cleanings after gloves and at the end are for taking off.
            rule: JudgedBy {
                cleans: Vec::new(),
                ..JudgedBy::of(rule)
            },
            of: 0.0,
            missed: 1.0,
            steps: checklist
                .steps
                .iter()
                .map(|step| JudgedStep {
                    id: step.id.clone(),
                    ask: step.ask.clone(),
                    cleans: step.cleans,
                    gloves: false,
                    safety: step.safety,
                    at: None,
                    found: None,
                    verdict: Verdict::NotSeen,
                    remark: String::new(),
                })
                .collect(),
            critical: Vec::new(),
            decision: Decision::Open,
            comment: String::new(),
        }
    }

    /// Judged by another rule from now on, with the one that would have held beside it where that differs. Cleanings after gloves and
    /// at the end are for taking off.
    pub fn judge_by(&mut self, rule: &PassRule, usual: &PassRule) {
        let kept = |rule: &PassRule| {
            let mut kept = PassTerms::of(rule);
            if self.watching == Watching::PuttingOn {
                kept.cleans.clear();
            }
            kept
        };
        let (rule, usual) = (kept(rule), kept(usual));
        self.rule = JudgedBy {
            usual: (rule != usual).then_some(usual),
            mark: rule.mark,
            cleans: rule.cleans,
        };
    }

    /// Marks left and marks to be had: none left beside a critical error that stands.
    pub fn marks(&self) -> (Option<f64>, f64) {
        let critical = self.critical.iter().any(|c| c.stands);
        if self.watching.is_real() {
            let counts = self.steps.iter().filter(|s| s.counts());
            let met = counts.clone().filter(|s| s.verdict == Verdict::Met).count();
            return ((!critical).then_some(met as f64), counts.count() as f64);
        }
        let lost: f64 = self
            .steps
            .iter()
            .filter(|step| step.verdict == Verdict::NotMet)
            .map(|step| match &step.found {
                Some(found) if found.lost > 0.0 || !found.met => found.lost,
                _ => self.missed,
            })
            .sum();
        // As the program has it: whoever did nothing that is asked has no marks to lose.
        let mut asked = self
            .steps
            .iter()
            .filter(|s| s.verdict != Verdict::NotApplicable)
            .peekable();
        let untouched = asked.peek().is_some() && asked.all(JudgedStep::was_left_out);
        let left = if untouched { 0.0 } else { self.of - lost };
        ((!critical).then_some(left.max(0.0)), self.of)
    }

    /// What keeps it from passing by its rule; empty if it passes. Of a step that was not seen nothing is held against anybody, but
    /// of a real person of whom not every step was seen nobody can say that they passed.
    pub fn falls_short(&self) -> Vec<Short> {
        let steps: Vec<StepFacts> = self
            .steps
            .iter()
            .map(|step| StepFacts {
                cleans: step.cleans,
                gloves: step.gloves,
                applies: step.verdict != Verdict::NotApplicable,
                lacking: step.lacks(),
            })
            .collect();
        let mut short = falls_short(
            &self.rule.terms().rule(),
            &Facts {
                finished: true,
                critical: self.critical.iter().filter(|c| c.stands).count(),
                marks: self.marks(),
                steps: &steps,
            },
        );
        if self
            .steps
            .iter()
            .any(|step| step.safety && step.verdict == Verdict::NotMet)
        {
            short.push(Short::Safety);
        }
        if self.watching.is_real() && self.steps.iter().any(|step| step.verdict == Verdict::NotSeen) {
            short.push(Short::Unseen);
        }
        short
    }

    /// What is still wanted before it can be signed, the nearest first; empty if nothing is.
    pub fn wanting(&self) -> Vec<Wanting> {
        let mut wanting = Vec::new();
        if !self.steps.iter().any(JudgedStep::counts) {
            wanting.push(Wanting::Steps);
        }
        let silent = |remark: &str| remark.trim().is_empty();
        for (n, step) in self.steps.iter().enumerate() {
            if step.is_overruled() && silent(&step.remark) {
                wanting.push(Wanting::StepRemark(n));
            }
        }
        for (n, critical) in self.critical.iter().enumerate() {
            if critical.is_overruled() && silent(&critical.remark) {
                wanting.push(Wanting::CriticalRemark(n));
            }
        }
        match (self.decision, self.falls_short().is_empty()) {
            (Decision::Open, _) => wanting.push(Wanting::Decision),
            (Decision::Passed, false) | (Decision::Again, true) if silent(&self.comment) => {
                wanting.push(Wanting::Comment);
            }
            _ => {}
        }
        if self.observer.is_none() {
            wanting.push(Wanting::Observer);
        }
        wanting
    }

    /// True if two sheets tell of the same thing: what one person saw can be laid beside what another saw.
    pub fn is_beside(&self, other: &Judged) -> bool {
        self.watching == other.watching && self.sequence.id == other.sequence.id
    }
}

impl JudgedBy {
    /// A rule as it is kept.
    pub fn of(rule: &PassRule) -> JudgedBy {
        let PassTerms { mark, cleans } = PassTerms::of(rule);
        JudgedBy {
            mark,
            cleans,
            usual: None,
        }
    }

    /// What it asks for.
    pub fn terms(&self) -> PassTerms {
        PassTerms {
            mark: self.mark,
            cleans: self.cleans.clone(),
        }
    }

    /// True if it asks for less than the rule that would have held.
    pub fn is_less(&self) -> bool {
        self.usual
            .as_ref()
            .is_some_and(|usual| self.terms().is_less_than(usual))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::NeededClean;

    fn rule() -> PassRule {
        PassRule {
            mark: 0.9,
            cleans: vec![NeededClean::AfterGloves, NeededClean::Last],
            basis: String::new(),
        }
    }

    fn step(id: &str, cleans: bool, found: Option<Finding>) -> JudgedStep {
        JudgedStep {
            id: id.to_owned(),
            ask: format!("Ask {id}"),
            cleans,
            gloves: false,
            safety: false,
            at: None,
            verdict: found.as_ref().map_or(Verdict::NotSeen, Finding::verdict),
            found,
            remark: String::new(),
        }
    }

    fn found(met: bool, lost: f64) -> Option<Finding> {
        Some(Finding {
            how: if met { "done" } else { "late" }.to_owned(),
            met,
            lacking: false,
            lost,
            why: Vec::new(),
            did: Vec::new(),
            other_ways: Vec::new(),
        })
    }

    fn sheet(watching: Watching, steps: Vec<JudgedStep>) -> Judged {
        let named = || Named {
            id: "one".to_owned(),
            label: "One".to_owned(),
        };
        Judged {
            sheet: Id::fresh(),
            watching,
            attempt: None,
            began: Moment::now(),
            seconds: 100.0,
            scenario: None,
            sequence: named(),
            observer: Code::new("AB").ok(),
            rule: JudgedBy::of(&rule()),
            of: 100.0,
            missed: 15.0,
            steps,
            critical: Vec::new(),
            decision: Decision::Open,
            comment: String::new(),
        }
    }

    #[test]
    fn whoever_did_nothing_has_no_marks_unless_something_of_it_was_seen() {
        let missed = || {
            let found = found(false, 12.0);
            found.map(|found| Finding {
                how: "missed".to_owned(),
                ..found
            })
        };
        let mut sheet = sheet(
            Watching::Screen,
            vec![step("a", false, missed()), step("b", false, missed())],
        );
        assert_eq!(sheet.marks(), (Some(0.0), 100.0));
        sheet.steps[1].verdict = Verdict::Met;
        assert_eq!(sheet.marks(), (Some(88.0), 100.0));
        sheet.steps[1].verdict = Verdict::NotSeen;
        assert_eq!(
            sheet.marks(),
            (Some(88.0), 100.0),
            "nothing is held against anybody"
        );
    }

    #[test]
    fn an_overruled_step_gives_its_marks_back_and_wants_a_reason() {
        let mut sheet = sheet(
            Watching::Screen,
            vec![
                step("a", false, found(true, 0.0)),
                step("b", false, found(false, 12.0)),
            ],
        );
        assert_eq!(sheet.marks(), (Some(88.0), 100.0));
        assert_eq!(sheet.falls_short(), [Short::Marks]);
        assert_eq!(sheet.wanting(), [Wanting::Decision]);
        sheet.steps[1].verdict = Verdict::Met;
        sheet.decision = Decision::Passed;
        assert_eq!(sheet.marks(), (Some(100.0), 100.0));
        assert_eq!(sheet.wanting(), [Wanting::StepRemark(1)]);
        sheet.steps[1].remark = "She asked first".to_owned();
        assert_eq!(sheet.wanting(), []);
        sheet.steps[0].verdict = Verdict::NotMet;
        assert_eq!(
            sheet.marks().0,
            Some(85.0),
            "what the program found done costs a step left out"
        );
        assert_eq!(sheet.wanting(), [Wanting::StepRemark(0), Wanting::Comment]);
    }

    #[test]
    fn a_decision_that_the_rule_does_not_give_wants_a_reason() {
        let mut sheet = sheet(Watching::Screen, vec![step("a", false, found(true, 0.0))]);
        sheet.decision = Decision::Again;
        assert_eq!(sheet.wanting(), [Wanting::Comment]);
        sheet.comment = "Slow at the straps".to_owned();
        assert_eq!(sheet.wanting(), []);
    }

    /// A rule that was set for one sheet decides that sheet, and the sheet says of itself that it is less than the usual one.
    #[test]
    fn a_rule_of_ones_own_holds_for_the_sheet_and_names_the_usual_one() {
        let mut last = step("last", true, None);
        last.verdict = Verdict::NotMet;
        let mut steps: Vec<JudgedStep> = (0..4).map(|n| step(&n.to_string(), false, None)).collect();
        for step in &mut steps {
            step.verdict = Verdict::Met;
        }
        steps.push(last);
        let mut sheet = sheet(Watching::TakingOff, steps);
        assert_eq!(sheet.falls_short(), [Short::LastClean, Short::Marks]);
        let own = PassRule {
            mark: 0.8,
            cleans: vec![NeededClean::AfterGloves],
            basis: String::new(),
        };
        sheet.judge_by(&own, &rule());
        assert_eq!(sheet.falls_short(), []);
        assert!(sheet.rule.is_less());
        assert_eq!(sheet.rule.usual, Some(PassTerms::of(&rule())));
        let kept = serde_json::to_string(&sheet.rule).expect("it is plain");
        assert_eq!(
            serde_json::from_str::<JudgedBy>(&kept).expect("it reads"),
            sheet.rule
        );
        // Sheets of programs that knew no other rule.
        let before = "{\"mark\":0.9,\"cleans\":[\"AfterGloves\",\"Last\"]}";
        let before: JudgedBy = serde_json::from_str(before).expect("it reads");
        assert_eq!(before, JudgedBy::of(&rule()));
        assert!(!before.is_less());
        // A stricter one is none that is less, and the usual one is not named beside itself.
        sheet.judge_by(&PassRule { mark: 1.0, ..rule() }, &rule());
        assert!(sheet.rule.usual.is_some() && !sheet.rule.is_less());
        sheet.judge_by(&rule(), &rule());
        assert_eq!(sheet.rule, JudgedBy::of(&rule()));
        sheet.watching = Watching::PuttingOn;
        sheet.judge_by(&own, &rule());
        assert!(sheet.rule.cleans.is_empty() && sheet.rule.is_less());
    }

    #[test]
    fn of_a_real_person_only_what_was_seen_counts() {
        let mut steps: Vec<JudgedStep> = ["a", "b", "c", "d"]
            .iter()
            .map(|id| step(id, false, None))
            .collect();
        steps[3].verdict = Verdict::NotApplicable;
        let mut sheet = sheet(Watching::TakingOff, steps);
        assert_eq!(sheet.marks(), (Some(0.0), 0.0));
        assert!(sheet.wanting().contains(&Wanting::Steps));
        sheet.steps[0].verdict = Verdict::Met;
        sheet.steps[1].verdict = Verdict::NotMet;
        assert_eq!(sheet.marks(), (Some(1.0), 2.0));
        assert_eq!(sheet.falls_short(), [Short::Marks, Short::Unseen]);
        sheet.steps[2].verdict = Verdict::NotApplicable;
        assert_eq!(sheet.falls_short(), [Short::Marks], "all that is worn was seen");
        sheet.critical.push(JudgedCritical {
            kind: "face-touched-unclean".to_owned(),
            what: "Face".to_owned(),
            at: None,
            found: false,
            stands: true,
            remark: String::new(),
        });
        assert_eq!(sheet.marks(), (None, 2.0));
        assert_eq!(sheet.falls_short(), [Short::Critical]);
        sheet.critical[0].stands = false;
        sheet.steps[1].verdict = Verdict::Met;
        assert_eq!(sheet.falls_short(), []);
        sheet.steps[1].safety = true;
        sheet.steps[1].verdict = Verdict::NotMet;
        sheet.rule.mark = 0.4;
        assert_eq!(sheet.falls_short(), [Short::Safety]);
    }

    #[test]
    fn the_last_cleaning_is_not_bought_off_by_marks() {
        let mut steps: Vec<JudgedStep> = (0..20).map(|n| step(&format!("s{n}"), n == 19, None)).collect();
        for step in &mut steps {
            step.verdict = Verdict::Met;
        }
        let mut sheet = sheet(Watching::TakingOff, steps);
        assert_eq!(sheet.falls_short(), []);
        sheet.steps[19].verdict = Verdict::NotMet;
        assert_eq!(
            sheet.falls_short(),
            [Short::LastClean],
            "95 % of the steps, and yet"
        );
    }
}
