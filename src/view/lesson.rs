//! A lesson under way: which step it is at, how long it has taken, which hands went up, and what stands on the wall. Notes
//! are told apart and only when they are asked for.

use std::collections::BTreeMap;

use crate::analysis::{Target, Verdict};
use crate::model::{Lesson, LessonAsk, LessonKind, LessonLamp, LessonStep, LessonTarget, Library, Says};
use crate::record::{Id, Label};
use crate::register::{AskedHands, Entry, Exercise, LessonGiven, Moment, Named, What};
use crate::report::{cites, claim_sources, lesson_text};

use super::borne::{Borne, borne};
use super::command::Page;
use super::exercise::{ExerciseView, LampExercise, many_people};
use super::settings::LampUse;
use super::words::{clock, list, lower, many, sentence};

/// Most hands that are counted for one answer.
pub const MOST_HANDS: u32 = 999;

/// What may be said of a pair, for each sort of people by what they are called.
pub type Told = Vec<(String, Verdict)>;

/// A lesson under way.
#[derive(Debug)]
pub struct Teaching {
    lesson: Lesson,
    began: Moment,
    at: usize,
    /// The furthest step that was come to.
    furthest: usize,
    /// Seconds in each step.
    seconds: Vec<f64>,
    /// For each step the hands for each of its answers.
    hands: Vec<Vec<u32>>,
    /// For each step with odds what these say, once they are there.
    told: BTreeMap<usize, Told>,
    exercises: BTreeMap<usize, LampExercise>,
    notes: bool,
}

/// A lesson that is open at a desk, and how things stood there before it.
#[derive(Debug)]
pub struct OpenLesson {
    /// The lesson.
    pub teaching: Teaching,
    /// Scenario, sequence and lamp of the first page, which a drill of the lesson changes.
    pub before: (usize, usize, LampUse),
    /// The page that a step opened and that was gone back from.
    pub left: Option<(usize, Page)>,
    /// True while the drill at the desk is one that the lesson opened.
    pub drilling: bool,
    /// What its entry is known by.
    pub entry: Id,
    /// What the entries of its exercises are known by, with the step of each.
    pub exercise_entries: BTreeMap<usize, Id>,
    /// What it would leave if it were over: to see whether that changed.
    pub left_so_far: Vec<What>,
}

impl OpenLesson {
    /// Opens a lesson.
    pub fn begin(teaching: Teaching, before: (usize, usize, LampUse)) -> OpenLesson {
        OpenLesson {
            teaching,
            before,
            left: None,
            drilling: false,
            entry: Id::fresh(),
            exercise_entries: BTreeMap::new(),
            left_so_far: Vec::new(),
        }
    }

    /// What is to be kept of it as it stands, for a ward if one is given: always under the same names.
    pub fn entries(&mut self, ward: Option<&Label>) -> Vec<Entry> {
        let (given, exercises) = self.teaching.kept(ward);
        let mut entries: Vec<Entry> = Vec::new();
        for (step, exercise) in exercises {
            let id = *self.exercise_entries.entry(step).or_insert_with(Id::fresh);
            entries.push(Entry {
                id,
                ..Entry::new(None, What::Exercise(Box::new(exercise)))
            });
        }
        entries.extend(given.map(|given| Entry {
            id: self.entry,
            ..Entry::new(None, What::Lesson(Box::new(given)))
        }));
        entries
    }

    /// The same if it has changed since it was asked for last; the time that passes is no change.
    pub fn news(&mut self, ward: Option<&Label>) -> Option<Vec<Entry>> {
        let entries = self.entries(ward);
        let timeless = |what: &What| match what {
            What::Lesson(given) => What::Lesson(Box::new(LessonGiven {
                seconds: 0.0,
                ..(**given).clone()
            })),
            other => other.clone(),
        };
        let whats: Vec<What> = entries.iter().map(|entry| timeless(&entry.what)).collect();
        if whats == self.left_so_far {
            return None;
        }
        self.left_so_far = whats;
        Some(entries)
    }
}

/// An answer with its hands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AnswerView {
    /// What it reads.
    pub text: String,
    /// How many hands went up.
    pub hands: u32,
}

/// Something that is known, and from where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClaimView {
    /// A sentence.
    pub text: String,
    /// Sources, each as a line.
    pub from: Vec<String>,
}

/// What stands on the wall.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ShownView {
    /// The heading.
    pub heading: String,
    /// What is said, asked or done, large; may be empty.
    pub text: String,
    /// Answers that hands go up for.
    pub answers: Vec<AnswerView>,
    /// All hands together.
    pub total: u32,
    /// What is known.
    pub claims: Vec<ClaimView>,
    /// Hands beside what was shown, a sentence for each question, once there is something to lay them against.
    pub results: Vec<String>,
    /// Sources of what the step states.
    pub sources: Vec<String>,
}

/// What a step opens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opens {
    /// A pair, to be watched.
    Watch,
    /// The odds of a pair.
    Odds,
    /// A drill.
    Drill,
}

impl Opens {
    /// Caption of the button for it.
    pub fn label(self) -> &'static str {
        match self {
            Opens::Watch => "Watch both",
            Opens::Odds => "Show the odds",
            Opens::Drill => "Start the drill",
        }
    }
}

/// A lesson as a page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct LessonView {
    /// Its name.
    pub title: String,
    /// Number of the step, from 1, and of how many.
    pub at: (usize, usize),
    /// What sort of step it is.
    pub sort: &'static str,
    /// Minutes planned for the step and for the whole.
    pub planned: (u32, u32),
    /// Time used for the step and for the whole, such as `02:14`.
    pub used: (String, String),
    /// By how many minutes it is behind its plan: the time of all steps up to this one is used up.
    pub behind: Option<u64>,
    /// What stands on the wall.
    pub shown: ShownView,
    /// What the step opens, if anything.
    pub opens: Option<Opens>,
    /// The exercise, in a step that is one.
    pub exercise: Option<ExerciseView>,
    /// What only the trainer reads, while it is asked for. Never part of `shown`.
    pub notes: Option<String>,
    /// Every step: heading, minutes, and whether it is this one.
    pub steps: Vec<(String, u32, bool)>,
}

/// A lesson to choose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LessonCard {
    /// Its name.
    pub label: String,
    /// Minutes.
    pub minutes: u32,
    /// For whom.
    pub audience: String,
    /// True if it is the one under way.
    pub on: bool,
}

/// The page of lessons.
#[derive(Clone, Debug, PartialEq)]
pub struct LessonPage {
    /// Every lesson there is.
    pub lessons: Vec<LessonCard>,
    /// The one under way.
    pub lesson: Option<LessonView>,
    /// What was told last, such as that counts were kept.
    pub told: Option<String>,
    /// Why something could not be opened.
    pub refusal: Option<String>,
}

impl Teaching {
    /// Begins a lesson.
    pub fn begin(lesson: Lesson, began: Moment) -> Teaching {
        let answers = |step: &LessonStep| match &step.kind {
            LessonKind::Ask(ask) => ask.answers.len(),
            _ => 0,
        };
        Teaching {
            hands: lesson.steps.iter().map(|step| vec![0; answers(step)]).collect(),
            seconds: vec![0.0; lesson.steps.len()],
            lesson,
            began,
            at: 0,
            furthest: 0,
            told: BTreeMap::new(),
            exercises: BTreeMap::new(),
            notes: false,
        }
    }

    /// The lesson.
    pub fn lesson(&self) -> &Lesson {
        &self.lesson
    }

    /// When it began.
    pub fn began(&self) -> Moment {
        self.began
    }

    /// Index of the step.
    pub fn at(&self) -> usize {
        self.at
    }

    /// The step.
    pub fn step(&self) -> &LessonStep {
        &self.lesson.steps[self.at]
    }

    /// To the next step; the last stays.
    pub fn on(&mut self) {
        self.at = (self.at + 1).min(self.lesson.steps.len() - 1);
        self.furthest = self.furthest.max(self.at);
    }

    /// To the step before; the first stays. What was counted is kept.
    pub fn back(&mut self) {
        self.at = self.at.saturating_sub(1);
    }

    /// Lets seconds pass; true if what the page tells of time is another.
    pub fn tick(&mut self, seconds: f64) -> bool {
        if !(seconds.is_finite() && seconds > 0.0) {
            return false;
        }
        let before = self.whole();
        self.seconds[self.at] += seconds;
        self.whole() as u64 != before as u64
    }

    /// All seconds so far.
    fn whole(&self) -> f64 {
        self.seconds.iter().sum()
    }

    /// Sets how many hands went up for an answer of the question that is asked now.
    pub fn count(&mut self, answer: usize, hands: u32) {
        if let Some(count) = self.hands[self.at].get_mut(answer) {
            *count = hands.min(MOST_HANDS);
        }
    }

    /// One more hand for an answer.
    pub fn one_more(&mut self, answer: usize) {
        if let Some(&hands) = self.hands[self.at].get(answer) {
            self.count(answer, hands + 1);
        }
    }

    /// Shows the trainer's notes, or no longer.
    pub fn switch_notes(&mut self) {
        self.notes = !self.notes;
    }

    /// Takes what the odds of a pair say, for every step that shows them.
    pub fn hear(&mut self, duel: &str, verdicts: impl Fn(Target) -> Option<Told>) {
        for (n, step) in self.lesson.steps.iter().enumerate() {
            let LessonKind::Odds { duel: shown, target } = &step.kind else {
                continue;
            };
            if shown == duel
                && let Some(told) = Target::of_word(target.word()).and_then(&verdicts)
            {
                self.told.insert(n, told);
            }
        }
    }

    /// The exercise of this step, if it is one and was begun.
    pub fn exercise(&mut self) -> Option<&mut LampExercise> {
        self.exercises.get_mut(&self.at)
    }

    /// True if this step is an exercise that was not begun yet.
    pub fn wants_exercise(&self) -> Option<(&str, &str)> {
        match &self.step().kind {
            LessonKind::Exercise { scenario, sequence } if !self.exercises.contains_key(&self.at) => {
                Some((scenario, sequence))
            }
            _ => None,
        }
    }

    /// Begins the exercise of this step.
    pub fn begin_exercise(&mut self, exercise: LampExercise) {
        self.exercises.insert(self.at, exercise);
    }

    /// Fetches what was worked out; true if something changed.
    pub fn poll(&mut self) -> bool {
        let changed = self.exercises.values_mut().map(LampExercise::poll);
        changed.fold(false, |any, one| any | one)
    }

    /// True while something is worked out.
    pub fn working(&self) -> bool {
        self.exercises.values().any(LampExercise::working)
    }

    /// The lesson by id and name.
    pub fn named(&self) -> Named {
        Named {
            id: self.lesson.id.clone(),
            label: self.lesson.label.clone(),
        }
    }

    /// Sentences of hands beside what a step shows, one for each question that is laid against it.
    pub fn results_of(&self, step: usize) -> Vec<String> {
        let asks = self.lesson.laid_against(&self.lesson.steps[step].id);
        asks.filter_map(|(asked, ask)| self.result(asked, ask, step))
            .collect()
    }

    /// The same for the odds of a pair at a target, for the page that shows them.
    pub fn results_for(&self, duel: &str, target: Target) -> Vec<String> {
        let shows = |step: &LessonStep| match &step.kind {
            LessonKind::Odds {
                duel: shown,
                target: of,
            } => shown == duel && of.word() == target.word(),
            _ => false,
        };
        let steps = self.lesson.steps.iter().enumerate();
        steps
            .filter(|(_, step)| shows(step))
            .flat_map(|(n, _)| self.results_of(n))
            .collect()
    }

    fn result(&self, asked: usize, ask: &LessonAsk, step: usize) -> Option<String> {
        let hands = &self.hands[asked];
        match &self.lesson.steps[step].kind {
            LessonKind::Odds { .. } => Some(hands_beside_odds(ask, hands, self.told.get(&step)?)),
            LessonKind::Exercise { .. } => {
                let (glowed, of) = self.exercises.get(&step)?.glowed();
                (of > 0).then(|| hands_beside_glow(ask, hands, &glowed, of))
            }
            _ => None,
        }
    }

    /// What is kept of it: the lesson with its hands, and every exercise in which somebody was entered, with the step that it is.
    /// Nothing of a lesson in which nothing happened.
    pub fn kept(&self, ward: Option<&Label>) -> (Option<LessonGiven>, Vec<(usize, Exercise)>) {
        let asked: Vec<AskedHands> = self
            .lesson
            .steps
            .iter()
            .enumerate()
            .filter_map(|(n, step)| {
                let LessonKind::Ask(ask) = &step.kind else {
                    return None;
                };
                let hands = &self.hands[n];
                let shown = ask
                    .against
                    .as_deref()
                    .and_then(|id| self.lesson.step(id))
                    .and_then(|step| self.result(n, ask, step));
                (hands.iter().any(|&hands| hands > 0)).then(|| AskedHands {
                    step: step.id.clone(),
                    question: ask.question.clone(),
                    answers: ask
                        .answers
                        .iter()
                        .map(|answer| answer.text.clone())
                        .zip(hands.iter().copied())
                        .collect(),
                    shown,
                })
            })
            .collect();
        let exercises: Vec<(usize, Exercise)> = self
            .exercises
            .iter()
            .filter_map(|(step, exercise)| Some((*step, exercise.result()?)))
            .map(|(step, exercise)| {
                let ward = ward.cloned();
                (step, Exercise { ward, ..exercise })
            })
            .collect();
        let anything = self.furthest > 0 || !asked.is_empty() || !exercises.is_empty();
        let given = anything.then(|| LessonGiven {
            lesson: self.named(),
            began: self.began,
            seconds: self.whole().round(),
            steps: (self.furthest + 1, self.lesson.steps.len()),
            ward: ward.cloned(),
            asked,
        });
        (given, exercises)
    }

    /// What the page shows.
    pub fn view(&self, library: &Library) -> LessonView {
        let step = self.step();
        let due: u32 = self.lesson.steps[..=self.at].iter().map(|s| s.minutes).sum();
        let late = (self.whole() - 60.0 * f64::from(due)) / 60.0;
        LessonView {
            title: self.lesson.label.clone(),
            at: (self.at + 1, self.lesson.steps.len()),
            sort: step.kind.label(),
            planned: (step.minutes, self.lesson.minutes),
            used: (clock(self.seconds[self.at]), clock(self.whole())),
            behind: (late >= 1.0).then_some(late as u64),
            shown: self.shown(library),
            opens: match step.kind {
                LessonKind::Watch(_) => Some(Opens::Watch),
                LessonKind::Odds { .. } => Some(Opens::Odds),
                LessonKind::Try { .. } => Some(Opens::Drill),
                _ => None,
            },
            exercise: self.exercises.get(&self.at).map(LampExercise::view),
            notes: self.notes.then(|| step.notes.clone()),
            steps: self
                .lesson
                .steps
                .iter()
                .enumerate()
                .map(|(n, step)| (step.heading.clone(), step.minutes, n == self.at))
                .collect(),
        }
    }

    fn shown(&self, library: &Library) -> ShownView {
        let step = self.step();
        let mut shown = ShownView {
            heading: step.heading.clone(),
            text: lesson_text(library, &step.kind),
            sources: cites(library, &step.sources),
            ..ShownView::default()
        };
        match &step.kind {
            LessonKind::Ask(ask) => {
                let hands = &self.hands[self.at];
                shown.total = hands.iter().sum();
                shown.answers = ask
                    .answers
                    .iter()
                    .zip(hands)
                    .map(|(answer, &hands)| AnswerView {
                        text: answer.text.clone(),
                        hands,
                    })
                    .collect();
                let against = ask.against.as_deref().and_then(|id| self.lesson.step(id));
                // Only once the step was come to that shows it: what is worked out beforehand gives nothing away.
                let seen = against.filter(|against| *against <= self.furthest);
                shown.results = seen
                    .and_then(|against| self.result(self.at, ask, against))
                    .into_iter()
                    .collect();
            }
            LessonKind::Odds { .. } | LessonKind::Exercise { .. } => shown.results = self.results_of(self.at),
            LessonKind::Evidence(claims) => {
                shown.claims = claims
                    .iter()
                    .map(|claim| ClaimView {
                        text: claim.text.clone(),
                        from: claim_sources(library, claim),
                    })
                    .collect();
            }
            _ => {}
        }
        shown
    }
}

/// The lamp of an attempt for what a lesson asks of it.
pub fn lamp_of(lamp: LessonLamp) -> LampUse {
    match lamp {
        LessonLamp::On => LampUse::On,
        LessonLamp::Peek => LampUse::Peek,
        LessonLamp::UntilTheEnd => LampUse::UntilTheEnd,
    }
}

/// `of 23 hands, 15 said gloves first and 8 much the same`; without a full stop.
fn hands_words(ask: &LessonAsk, hands: &[u32]) -> String {
    let all: u32 = hands.iter().sum();
    if all == 0 {
        return "no hands were counted".to_owned();
    }
    let counted = ask.answers.iter().zip(hands).filter(|(_, hands)| **hands > 0);
    let said: Vec<String> = counted
        .enumerate()
        .map(|(n, (answer, hands))| {
            let said = if n == 0 { "said " } else { "" };
            format!("{hands} {said}\u{201c}{}\u{201d}", lower(&answer.text))
        })
        .collect();
    format!("of {}, {}", many(u64::from(all), "hand"), list(&said))
}

/// Hands that went up for a question beside what the odds of a pair say, in one sentence. Which answers are borne out is worked out
/// from the verdicts, one for each sort of people by what they are called.
pub fn hands_beside_odds(ask: &LessonAsk, hands: &[u32], told: &[(String, Verdict)]) -> String {
    let answers = |verdict: Verdict, wanted: Borne| -> Vec<String> {
        let fits = ask
            .answers
            .iter()
            .filter(|answer| answer.says.is_some_and(|says| borne(says, verdict) == wanted));
        fits.map(|answer| format!("\u{201c}{}\u{201d}", lower(&answer.text)))
            .collect()
    };
    let words = |verdict: Verdict| -> String {
        let out = answers(verdict, Borne::Out);
        let part = answers(verdict, Borne::InPart);
        match verdict {
            Verdict::TooFew | Verdict::Unsure if out.is_empty() => Borne::Untold.words().to_owned(),
            Verdict::TooFew | Verdict::Unsure => {
                format!("{}, as {} has it", Borne::Untold.words(), list(&out))
            }
            Verdict::Torn => Borne::Torn.words().to_owned(),
            _ if !out.is_empty() => format!("{} with {}", Borne::Out.words(), list(&out)),
            _ if !part.is_empty() => format!("{} with {}", Borne::InPart.words(), list(&part)),
            _ => "the odds agree with none of these".to_owned(),
        }
    };
    let mut said: Vec<(Vec<&str>, String)> = Vec::new();
    for (people, verdict) in told {
        let words = words(*verdict);
        match said.iter_mut().find(|(_, known)| *known == words) {
            Some((who, _)) => who.push(people),
            None => said.push((vec![people], words)),
        }
    }
    let said: Vec<String> = match &said[..] {
        [(_, words)] => vec![words.clone()],
        _ => said
            .iter()
            .map(|(who, words)| format!("{}, {words}", who.join(" and ")))
            .collect(),
    };
    sentence(&format!("{}; {}", hands_words(ask, hands), said.join("; ")))
}

/// The same beside where people glowed: what most glowed at is named, and that it is what most hands said or not is left to whoever
/// reads it.
pub fn hands_beside_glow(ask: &LessonAsk, hands: &[u32], glowed: &[(Says, u64)], of: u64) -> String {
    let most = glowed.iter().map(|(_, people)| *people).max().unwrap_or(0);
    let name = |says: Says| -> String {
        let own = ask.answers.iter().find(|answer| answer.says == Some(says));
        match (own, says) {
            (Some(own), _) => lower(&own.text),
            (None, Says::At(part)) => part_words(part).to_owned(),
            (None, _) => "nowhere".to_owned(),
        }
    };
    let first: Vec<String> = glowed
        .iter()
        .filter(|(_, people)| *people == most && most > 0)
        .map(|(says, _)| format!("\u{201c}{}\u{201d}", name(*says)))
        .collect();
    sentence(&format!(
        "{}; in this room the commonest was {}: {most} of {}{}",
        hands_words(ask, hands),
        list(&first),
        many_people(of),
        if first.len() > 1 { " each" } else { "" }
    ))
}

fn part_words(part: LessonTarget) -> &'static str {
    Target::of_word(part.word()).map_or("", Target::label)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::content::Content;
    use crate::model::LessonAnswer;

    fn content() -> Content {
        Content::builtin().unwrap_or_else(|e| panic!("the built-in content is sound: {e}"))
    }

    fn teaching() -> Teaching {
        let content = content();
        let lesson = content.library.lesson("order-class").expect("built in");
        let began = Moment::parse("2026-03-01T09:00:00+01:00").unwrap_or_else(|e| panic!("{e}"));
        Teaching::begin(lesson.clone(), began)
    }

    fn to(teaching: &mut Teaching, id: &str) {
        let step = teaching.lesson.step(id).expect("a step");
        while teaching.at > step {
            teaching.back();
        }
        while teaching.at < step {
            teaching.on();
        }
    }

    fn ask(answers: &[(&str, Says)]) -> LessonAsk {
        LessonAsk {
            question: "Which?".to_owned(),
            answers: answers
                .iter()
                .map(|(text, says)| LessonAnswer {
                    text: (*text).to_owned(),
                    says: Some(*says),
                })
                .collect(),
            against: Some("odds".to_owned()),
        }
    }

    #[test]
    fn every_part_that_lessons_speak_of_is_one_that_odds_are_told_of() {
        for (word, part) in LessonTarget::ALL {
            let target = Target::of_word(part.word()).unwrap_or_else(|| panic!("{word}"));
            assert!(super::super::class::TARGETS.contains(&target), "{word}");
        }
    }

    #[test]
    fn hands_stay_when_one_goes_back_and_no_step_lies_beyond_the_ends() {
        let mut teaching = teaching();
        teaching.back();
        assert_eq!(teaching.at(), 0);
        to(&mut teaching, "ask-order");
        teaching.count(0, 15);
        teaching.one_more(1);
        teaching.one_more(1);
        teaching.count(9, 4);
        teaching.count(2, 5000);
        teaching.on();
        teaching.count(0, 3);
        teaching.back();
        let shown = teaching.view(&content().library).shown;
        let hands: Vec<u32> = shown.answers.iter().map(|a| a.hands).collect();
        assert_eq!(hands, [15, 2, MOST_HANDS, 0]);
        assert_eq!(shown.total, 17 + MOST_HANDS);
        for _ in 0..40 {
            teaching.on();
        }
        let view = teaching.view(&content().library);
        assert_eq!(view.at, (view.at.1, teaching.lesson().steps.len()));
    }

    #[test]
    fn time_is_that_of_the_steps_and_being_late_is_said_in_whole_minutes() {
        let mut teaching = teaching();
        assert!(!teaching.tick(0.4), "the same second");
        assert!(teaching.tick(0.8));
        assert!(!teaching.tick(f64::NAN) && !teaching.tick(-5.0));
        teaching.tick(118.8);
        let view = teaching.view(&content().library);
        assert_eq!(view.used, ("02:00".to_owned(), "02:00".to_owned()));
        assert_eq!((view.planned, view.behind), ((2, 45), None));
        teaching.tick(130.0);
        assert_eq!(teaching.view(&content().library).behind, Some(2));
        teaching.on();
        let view = teaching.view(&content().library);
        assert_eq!(view.used, ("00:00".to_owned(), "04:10".to_owned()));
        assert_eq!(view.behind, None, "the next step has five minutes of its own");
    }

    #[test]
    fn notes_are_told_only_when_they_are_asked_for_and_never_on_the_wall() {
        let mut teaching = teaching();
        let library = content().library;
        for _ in 0..teaching.lesson().steps.len() {
            let notes = teaching.step().notes.clone();
            assert!(!notes.is_empty());
            assert_eq!(teaching.view(&library).notes, None);
            teaching.switch_notes();
            let view = teaching.view(&library);
            assert_eq!(view.notes.as_deref(), Some(&*notes));
            let wall = format!("{:?}", view.shown);
            assert!(!wall.contains(&notes[..notes.len().min(40)]), "{wall}");
            teaching.switch_notes();
            teaching.on();
        }
    }

    #[test]
    fn hands_are_laid_beside_every_kind_of_verdict() {
        let ask = ask(&[
            ("Gloves first", Says::First),
            ("Gown first", Says::Second),
            ("Much the same", Says::Same),
            ("Nobody can tell", Says::Open),
        ]);
        let said = |told: &[(&str, Verdict)]| {
            let told: Vec<(String, Verdict)> = told.iter().map(|(p, v)| ((*p).to_owned(), *v)).collect();
            hands_beside_odds(&ask, &[15, 5, 3, 0], &told)
        };
        let begins = "Of 23 hands, 15 said \u{201c}gloves first\u{201d}, 5 \u{201c}gown first\u{201d} and 3 \u{201c}much the same\u{201d}; ";
        for (verdict, ends) in [
            (
                Verdict::FirstLess,
                "the odds agree with \u{201c}gloves first\u{201d}",
            ),
            (
                Verdict::SecondLess,
                "the odds agree with \u{201c}gown first\u{201d}",
            ),
            (
                Verdict::Alike,
                "the odds agree with \u{201c}much the same\u{201d}",
            ),
            (
                Verdict::Equal,
                "the odds agree with \u{201c}much the same\u{201d}",
            ),
            (
                Verdict::Torn,
                "the odds are torn: one does so for fewer people, the other on average",
            ),
            (
                Verdict::TooFew,
                "the odds cannot tell, as \u{201c}nobody can tell\u{201d} has it",
            ),
            (
                Verdict::Unsure,
                "the odds cannot tell, as \u{201c}nobody can tell\u{201d} has it",
            ),
            (
                Verdict::FirstNoMore,
                "the odds agree in part with \u{201c}gloves first\u{201d} and \u{201c}much the same\u{201d}",
            ),
            (
                Verdict::SecondNoMore,
                "the odds agree in part with \u{201c}gown first\u{201d} and \u{201c}much the same\u{201d}",
            ),
        ] {
            assert_eq!(said(&[("to the letter", verdict)]), format!("{begins}{ends}"));
            // People of two sorts who come to the same are told of once.
            let both = [("to the letter", verdict), ("usual practice", verdict)];
            assert_eq!(said(&both), format!("{begins}{ends}"));
        }
        let two = said(&[
            ("to the letter", Verdict::Alike),
            ("usual practice", Verdict::FirstLess),
        ]);
        assert_eq!(
            two,
            format!(
                "{begins}to the letter, the odds agree with \u{201c}much the same\u{201d}; usual practice, the odds agree with \u{201c}gloves first\u{201d}"
            )
        );
    }

    #[test]
    fn what_no_answer_says_is_said_too_and_so_is_that_nobody_was_counted() {
        let ask = ask(&[("Gloves first", Says::First), ("Gown first", Says::Second)]);
        let told = |verdict| [("to the letter".to_owned(), verdict)];
        assert_eq!(
            hands_beside_odds(&ask, &[0, 0], &told(Verdict::Alike)),
            "No hands were counted; the odds agree with none of these"
        );
        assert_eq!(
            hands_beside_odds(&ask, &[1, 0], &told(Verdict::Unsure)),
            "Of 1 hand, 1 said \u{201c}gloves first\u{201d}; the odds cannot tell"
        );
    }

    #[test]
    fn hands_are_laid_beside_where_people_glowed() {
        let ask = ask(&[
            ("Hands", Says::At(LessonTarget::Hands)),
            ("Neck", Says::At(LessonTarget::Neck)),
        ]);
        let says = |glowed: &[(Says, u64)]| hands_beside_glow(&ask, &[2, 1], glowed, 8);
        let (hands, neck) = (Says::At(LessonTarget::Hands), Says::At(LessonTarget::Neck));
        let face = Says::At(LessonTarget::FaceSkin);
        let begins = "Of 3 hands, 2 said \u{201c}hands\u{201d} and 1 \u{201c}neck\u{201d}; in this room the commonest was ";
        assert_eq!(
            says(&[(hands, 6), (neck, 2), (Says::Nowhere, 2)]),
            format!("{begins}\u{201c}hands\u{201d}: 6 of 8 people")
        );
        assert_eq!(
            says(&[(hands, 3), (neck, 3), (face, 0)]),
            format!("{begins}\u{201c}hands\u{201d} and \u{201c}neck\u{201d}: 3 of 8 people each")
        );
        assert_eq!(
            says(&[(hands, 0), (face, 5), (Says::Nowhere, 3)]),
            format!("{begins}\u{201c}skin of the face\u{201d}: 5 of 8 people")
        );
        assert_eq!(
            says(&[(hands, 0), (Says::Nowhere, 8)]),
            format!("{begins}\u{201c}nowhere\u{201d}: 8 of 8 people")
        );
    }

    #[test]
    fn what_the_odds_say_waits_until_the_step_that_shows_them() {
        let mut teaching = teaching();
        let library = content().library;
        to(&mut teaching, "ask-order");
        teaching.count(0, 4);
        teaching.hear("gloves-or-gown-first", |_| {
            Some(vec![("to the letter".to_owned(), Verdict::Alike)])
        });
        assert!(teaching.view(&library).shown.results.is_empty(), "given away");
        to(&mut teaching, "odds-order");
        let results = teaching.view(&library).shown.results;
        assert!(
            results[0].ends_with("\u{201c}much the same\u{201d}"),
            "{results:?}"
        );
        to(&mut teaching, "ask-order");
        assert_eq!(teaching.view(&library).shown.results, results);
        assert_eq!(
            teaching.results_for("gloves-or-gown-first", Target::AnySkin),
            results
        );
        assert!(
            teaching
                .results_for("gloves-or-gown-first", Target::Hands)
                .is_empty(),
            "that was not asked"
        );
    }

    #[test]
    fn what_is_kept_has_hands_and_no_names_and_of_nothing_there_is_nothing() {
        let mut teaching = teaching();
        assert_eq!(teaching.kept(None), (None, Vec::new()));
        to(&mut teaching, "ask-order");
        teaching.count(1, 7);
        teaching.tick(61.2);
        let ward = Label::new("4 a", "a ward").unwrap_or_else(|e| panic!("{e}"));
        let (given, exercises) = teaching.kept(Some(&ward));
        let given = given.expect("hands were counted");
        assert!(exercises.is_empty());
        assert_eq!((given.seconds, given.steps), (61.0, (3, 12)));
        assert_eq!(given.ward, Some(ward));
        let [asked] = &given.asked[..] else {
            panic!("one question had hands: {given:?}")
        };
        assert_eq!(
            (asked.hands(), &*asked.step, &asked.shown),
            (7, "ask-order", &None)
        );
        assert_eq!(asked.answers[1], ("Gown first".to_owned(), 7));
    }
}
