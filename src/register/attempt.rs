//! What an attempt leaves: how it was judged, step by step, and what reached where, in words and numbers that need no
//! content and no replay.

use serde::{Deserialize, Serialize};

use crate::analysis::{Progress, Target, USUAL_SEED, Way, found, odds};
use crate::drill::{Action, Done, Drill, Happened};
use crate::guidance::{Order, Score, StepResult, dresses};
use crate::model::{Asked, AskedStep, ItemKind, Pace, Sequence};
use crate::record::{Id, Purpose, Terms};

use super::Moment;

/// How often the very actions are done again to tell what they lead to: the shares of people are then known to within
/// 3.1 points (twice the standard error of a half), which is less than what the model is unsure of.
const AGAIN: u64 = 1000;

/// A thing with its id and the name that it had.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Named {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
}

/// What was counted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Unit {
    /// Organism id.
    pub organism: String,
    /// What one count is.
    pub unit: String,
    /// Smallest count on a place that is seen or detected.
    pub seen_from: u64,
}

/// The log of an attempt.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LogRef {
    /// Name of the file in the station's folder of logs.
    pub file: String,
    /// Digest of the books at its end, as its last line has it.
    pub books: String,
}

/// Marks for a sequence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Marks {
    /// How many there were to be had.
    pub of: f64,
    /// What is left of them; none beside a critical error.
    pub left: Option<f64>,
    /// What the steps lost.
    pub lost: f64,
    /// Why.
    pub why: Vec<Lost>,
}

/// Marks lost by a step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lost {
    /// Id of the step.
    pub step: String,
    /// What for, in one word.
    pub kind: String,
    /// How many.
    pub marks: f64,
    /// The reason, as a sentence.
    pub reason: String,
}

/// One step of the sequence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Its id.
    pub id: String,
    /// What is asked.
    pub ask: String,
    /// What sort of thing: `remove`, `clean` or `go`.
    pub asks: String,
    /// True if gloves come off by it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gloves: bool,
    /// `done`, `early`, `late`, `missed` or `not-applicable`.
    pub how: String,
    /// Number of the action that completed it, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub action: Option<usize>,
    /// When that began, in seconds of the drill.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<f64>,
    /// What it lacked: `poor`, `wrong-place`, `short`, `no-forearms`, `not-binned`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lacks: Vec<String>,
    /// What was done for it, in order, as a person would say it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub did: Vec<String>,
    /// Of these, ways by which it was done and that the sequence does not ask for; early records lack them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub other_ways: Vec<String>,
}

impl Step {
    /// True if it belongs to the kit and was not done as asked.
    pub fn is_missed(&self) -> bool {
        self.how != "not-applicable" && (self.how != "done" || !self.lacks.is_empty())
    }
}

/// A critical error.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Critical {
    /// Its word.
    pub kind: String,
    /// Number of the action, from 1.
    pub action: usize,
    /// When that action began, in seconds from the beginning; early records lack it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<f64>,
    /// What happened, as a sentence.
    pub reason: String,
}

/// What reached one target.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reached {
    /// The target's word.
    pub target: String,
    /// Its name for people.
    pub label: String,
    /// How many were counted in this attempt: luck is in it.
    pub count: u64,
    /// True if some place had enough to be seen or detected.
    pub seen: bool,
    /// Of people who do the very same, with other luck: the share in whom some place has enough.
    pub people: f64,
    /// The mean count among them.
    pub mean: f64,
}

/// An attempt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Attempt {
    /// What the attempt is known by. One that was broken off and taken up again leaves an entry each time.
    pub attempt: Id,
    /// What it was made for.
    pub purpose: Purpose,
    /// When it began, by the station's clock.
    pub began: Moment,
    /// True if it was finished rather than broken off.
    pub finished: bool,
    /// Where the drill's clock stood at the end, s.
    pub seconds: f64,
    /// How many actions were done.
    pub actions: usize,
    /// The scenario.
    pub scenario: Named,
    /// The sequence that it is judged by.
    pub sequence: Named,
    /// Digest of the content that it ran with.
    pub content: String,
    /// What help there was.
    pub terms: Terms,
    /// The number that its luck was drawn from.
    pub seed: u64,
    /// Its log, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub log: Option<LogRef>,
    /// Ids of steps that were told on request, in the order of asking.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub told: Vec<String>,
    /// What was counted.
    pub counted: Unit,
    /// Marks.
    pub marks: Marks,
    /// Moments for hand hygiene: due, and met in full.
    pub hygiene: (usize, usize),
    /// Free touches of the face, and how many of them with a hand that was not clean.
    pub face_touches: (usize, usize),
    /// Every step.
    pub steps: Vec<Step>,
    /// Every critical error.
    pub critical: Vec<Critical>,
    /// Every target of the kit.
    pub reached: Vec<Reached>,
    /// Ids of the places of the person that had enough to be seen at the end.
    pub seen_at: Vec<String>,
}

/// What is known of an attempt beside what was done in it.
#[derive(Clone, Debug)]
pub struct About<'a> {
    /// What it is known by.
    pub attempt: Id,
    /// When it began.
    pub began: Moment,
    /// True if it was finished.
    pub finished: bool,
    /// Digest of the content.
    pub content: u64,
    /// What help there was.
    pub terms: &'a Terms,
    /// Ids of steps that were told on request.
    pub told: Vec<String>,
    /// Name of its log's file.
    pub log: Option<String>,
}

impl Attempt {
    /// What a drill leaves, judged by a sequence.
    ///
    /// # Errors
    /// A sentence: what was done cannot be done again with this kit.
    pub fn of(drill: &Drill, sequence: &Sequence, about: About<'_>) -> Result<Attempt, String> {
        Ok(Attempt {
            reached: reached(drill)?,
            ..Attempt::as_judged(drill, sequence, about)
        })
    }

    /// The same without what it leads to where it is done again, which takes a moment: nothing is said of what reached whom.
    pub fn as_judged(drill: &Drill, sequence: &Sequence, about: About<'_>) -> Attempt {
        let setup = drill.setup();
        let score = Score::of(drill, sequence);
        let books = format!("{:016x}", drill.books().digest());
        let totals = drill.books().totals();
        let places = setup.library.places.iter().enumerate();
        Attempt {
            attempt: about.attempt,
            purpose: about.terms.purpose,
            began: about.began,
            finished: about.finished,
            seconds: short(drill.state().clock),
            actions: drill.done().len(),
            scenario: Named {
                id: setup.scenario.id.clone(),
                label: setup.scenario.label.clone(),
            },
            sequence: Named {
                id: sequence.id.clone(),
                label: sequence.label.clone(),
            },
            content: format!("{:016x}", about.content),
            terms: about.terms.clone(),
            seed: drill.seed(),
            told: about.told,
            log: about.log.map(|file| LogRef { file, books }),
            counted: Unit {
                organism: setup.organism.id.clone(),
                unit: setup.organism.unit.clone(),
                seen_from: setup.organism.seen_from,
            },
            marks: Marks {
                of: score.full,
                left: score.marks(),
                lost: score.lost(),
                why: score
                    .deductions
                    .iter()
                    .map(|d| Lost {
                        step: sequence.steps[d.step].id.clone(),
                        kind: d.kind.to_owned(),
                        marks: d.marks,
                        reason: d.reason.clone(),
                    })
                    .collect(),
            },
            hygiene: score.moments,
            face_touches: (
                score.face_touches.len(),
                score.face_touches.iter().filter(|t| t.unclean).count(),
            ),
            steps: score.steps.iter().map(|s| step(drill, sequence, s)).collect(),
            critical: score
                .critical
                .iter()
                .map(|c| Critical {
                    kind: c.kind.word().to_owned(),
                    action: c.action + 1,
                    at: drill.done().get(c.action).map(|done| short(done.began)),
                    reason: c.reason.clone(),
                })
                .collect(),
            reached: Vec::new(),
            seen_at: places
                .filter(|&(place, _)| totals[place] >= setup.organism.seen_from)
                .map(|(_, place)| place.id.clone())
                .collect(),
        }
    }

    /// True if nothing was lost and nothing critical happened in a finished attempt.
    pub fn is_clean(&self) -> bool {
        self.finished && self.critical.is_empty() && self.marks.why.is_empty()
    }

    /// What reached a target, by its word.
    pub fn at(&self, target: &str) -> Option<&Reached> {
        self.reached.iter().find(|r| r.target == target)
    }
}

fn step(drill: &Drill, sequence: &Sequence, result: &StepResult) -> Step {
    let asked = &sequence.steps[result.step];
    let lacks = [
        ("poor", !result.poor.is_empty()),
        ("wrong-place", result.wrong_place.is_some()),
        ("short", result.short),
        ("no-forearms", result.no_forearms),
        ("amiss", !result.amiss.is_empty()),
        ("not-binned", !result.not_binned.is_empty()),
    ];
    Step {
        id: asked.id.clone(),
        ask: asked.ask.clone(),
        asks: match asked.asked {
            Asked::PutOn { .. } => "put-on",
            Asked::Check { .. } => "check",
            Asked::Remove { .. } => "remove",
            Asked::Clean { .. } => "clean",
            Asked::Go { .. } => "go",
        }
        .to_owned(),
        gloves: gloves(drill, asked),
        how: match result.order {
            Order::InOrder => "done",
            Order::Early => "early",
            Order::Late => "late",
            Order::Missed => "missed",
            Order::NotApplicable => "not-applicable",
        }
        .to_owned(),
        action: result.action.map(|action| action + 1),
        at: result.action.map(|action| short(drill.done()[action].began)),
        lacks: lacks
            .into_iter()
            .filter(|(_, lacks)| *lacks)
            .map(|(word, _)| word.to_owned())
            .collect(),
        did: did(drill, sequence, asked, result),
        other_ways: result
            .other_ways(&drill.setup().library)
            .into_iter()
            .map(|technique| technique.label.clone())
            .collect(),
    }
}

/// What was done for a step: every way in which its items were handled and put away, or how hands were cleaned.
fn did(drill: &Drill, sequence: &Sequence, asked: &AskedStep, result: &StepResult) -> Vec<String> {
    let setup = drill.setup();
    let is_mine = |items: &[String], item: usize| {
        !setup.items[item].spare && items.contains(&setup.definition(item).id)
    };
    let handled = |items: &[String], done: &Done| -> Option<String> {
        let Action::Do {
            technique,
            item,
            pace,
            ..
        } = &done.action
        else {
            return None;
        };
        let moved =
            |happened: &Happened| matches!(happened, Happened::Item { item, .. } if is_mine(items, *item));
        let named = item.as_ref().and_then(|id| setup.item(id));
        let what = match named {
            Some(item) if is_mine(items, item) => format!("{}: ", setup.items[item].label),
            None if done.happened.iter().any(moved) => String::new(),
            _ => return None,
        };
        let hurried = match pace {
            Pace::Steady => "",
            Pace::Hurried => ", in a hurry",
        };
        let technique = setup.library.technique(technique)?;
        Some(format!("{what}{}{hurried}", technique.label))
    };
    match &asked.asked {
        Asked::PutOn { items, .. } | Asked::Check { items, .. } | Asked::Remove { items, .. } => {
            let all = drill.done().iter().enumerate();
            let same = all.filter(|(n, _)| dresses(drill, sequence, *n) == asked.asked.dresses());
            let done = same.map(|(_, done)| done);
            let mut told: Vec<String> = Vec::new();
            for words in done.filter_map(|done| handled(items, done)) {
                // Both of a pair often go the same way.
                if told.last() != Some(&words) {
                    told.push(words);
                }
            }
            told
        }
        Asked::Clean { .. } => {
            let action = result.action.map(|action| &drill.done()[action].action);
            let Some(Action::Clean { product, seconds, .. }) = action else {
                return Vec::new();
            };
            let product = setup.library.product(product);
            product.map_or_else(Vec::new, |p| vec![format!("{}, {seconds:.0} s", p.label)])
        }
        Asked::Go { .. } => Vec::new(),
    }
}

/// True if a step takes gloves of the kit off.
fn gloves(drill: &Drill, asked: &AskedStep) -> bool {
    let setup = drill.setup();
    let Asked::Remove { items, .. } = &asked.asked else {
        return false;
    };
    (0..setup.items.len()).any(|item| {
        let definition = setup.definition(item);
        !setup.items[item].spare && definition.kind == ItemKind::Glove && items.contains(&definition.id)
    })
}

/// A number with as many digits as are read back the same, and are more than anybody asks for.
fn short(number: f64) -> f64 {
    format!("{number:.8e}").parse().unwrap_or(number)
}

/// What each target got, and gets where the same is done again.
fn reached(drill: &Drill) -> Result<Vec<Reached>, String> {
    let setup = drill.setup();
    let targets: Vec<Target> = Target::of_kit(setup).collect();
    let actions: Vec<Action> = drill.done().iter().map(|done| done.action.clone()).collect();
    let again = odds(
        setup,
        &Way::Script(&actions),
        &targets,
        AGAIN,
        USUAL_SEED,
        &Progress::default(),
    )?;
    let found = found(drill, &targets)?;
    let told = targets.iter().zip(found).zip(again.targets);
    Ok(told
        .map(|((target, found), again)| Reached {
            target: target.word().to_owned(),
            label: target.label().to_owned(),
            count: found.count,
            seen: found.seen,
            people: again.seen,
            mean: short(again.expected.unwrap_or(again.counts.mean)),
        })
        .collect())
}
