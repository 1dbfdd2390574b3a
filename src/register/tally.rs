//! What a group's attempts come to: how many pass, which steps are missed most, where it ended up. Of groups only, never of
//! persons beside each other.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::hash::BuildHasher;
use std::io;
use std::sync::{Mutex, PoisonError};

use jiff::civil::Date;
use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};
use serde::Deserialize;

use crate::chance::Key;
use crate::model::RegisterRules;
use crate::outside::threads::both;
use crate::outside::threads::parallel::*;
use crate::record::{Code, Id, Label, Person, Purpose};

use super::brief::{Brief, BriefJudged, BriefMarks, BriefNamed, BriefStep, BriefTerms, BriefWhat};
use super::decided::{Decided, Decisions};
use super::entry::read_sealed;
use super::halves::Halves;
use super::judged::{Decision, Verdict};
use super::outcome::{Facts, StepFacts};
use super::share::{Counting, Share};
use super::watched::{self, LookedFor, Page, Sight, WatchedTally};
use super::{Moment, Named, Reading, Register};

/// Which attempts are taken together.
#[derive(Clone, Debug, Default)]
pub struct Group {
    /// Only those of this ward.
    pub ward: Option<Label>,
    /// Only those of this group.
    pub group: Option<Label>,
    /// Only those from this day on.
    pub from: Option<Date>,
    /// Only those up to and with this day.
    pub to: Option<Date>,
    /// Only those made for this; everything but scripts if none.
    pub purpose: Option<Purpose>,
    /// Only those judged by this sequence.
    pub sequence: Option<String>,
    /// The day from which on "after" is spoken of, such as that of a training.
    pub split: Option<Date>,
}

/// A step of a sequence over many attempts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StepTally {
    /// Id of the sequence.
    pub sequence: String,
    /// Id of the step.
    pub step: String,
    /// What is asked.
    pub ask: String,
    /// In how many attempts it was missed, of those in which it belonged to the kit.
    pub missed: Share,
}

/// A target over many attempts.
#[derive(Clone, Debug, PartialEq)]
pub struct TargetTally {
    /// The target's word.
    pub target: String,
    /// Its name.
    pub label: String,
    /// In how many attempts some place had enough to be seen: luck is in it.
    pub seen: Share,
    /// The mean, over attempts, of the share of people in whom it would be so who do the very same.
    pub people: f64,
}

/// What a group's attempts come to.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    /// Attempts, those broken off too.
    pub attempts: u64,
    /// Attempts that were broken off.
    pub broken_off: u64,
    /// People with a code.
    pub people: u64,
    /// Finished attempts that passed: by the decision of whoever watched, where there is one, else by the rule.
    pub passed: Share,
    /// Steps, the one missed most first.
    pub steps: Vec<StepTally>,
    /// Critical errors by their word, with the attempts in which there was one, the commonest first.
    pub critical: Vec<(String, Share)>,
    /// Every target.
    pub reached: Vec<TargetTally>,
    /// Places of the person that had enough to be seen at the end, with the attempts, the commonest first.
    pub places: Vec<(String, Share)>,
    /// Passed by month, such as `2026-03`.
    pub months: Vec<(String, Share)>,
    /// Before and after, if a day was named.
    pub halves: Option<Halves>,
    /// Real people who were watched, by sequence or checklist: none of them is among the attempts.
    pub watched: Vec<WatchedTally>,
}

/// An attempt as a tally sees it.
#[derive(Deserialize)]
struct Seen<'a> {
    id: Id,
    #[serde(default)]
    person: Option<Person>,
    at: Moment,
    #[serde(borrow)]
    what: SeenWhat<'a>,
}

#[derive(Deserialize)]
struct SeenWhat<'a> {
    /// None in entries of other kinds.
    #[serde(borrow, default)]
    attempt: Option<SeenAttempt<'a>>,
}

#[derive(Deserialize)]
struct SeenAttempt<'a> {
    attempt: Id,
    purpose: Purpose,
    began: Moment,
    finished: bool,
    actions: usize,
    #[serde(borrow)]
    sequence: BriefNamed<'a>,
    terms: BriefTerms,
    marks: BriefMarks,
    #[serde(borrow)]
    steps: Vec<BriefStep<'a>>,
    #[serde(borrow)]
    critical: Vec<SeenCritical<'a>>,
    #[serde(borrow)]
    reached: Vec<SeenReached<'a>>,
    #[serde(borrow)]
    seen_at: Vec<Cow<'a, str>>,
}

#[derive(Deserialize)]
struct SeenCritical<'a> {
    #[serde(borrow)]
    kind: Cow<'a, str>,
}

#[derive(Deserialize)]
struct SeenReached<'a> {
    #[serde(borrow)]
    target: Cow<'a, str>,
    #[serde(borrow)]
    label: Cow<'a, str>,
    seen: bool,
    people: f64,
}

/// What is kept of an attempt until all are added up. Names are kept apart, once each.
struct Row {
    attempt: Id,
    far: (bool, usize, i64),
    code: Option<u64>,
    began: Moment,
    finished: bool,
    passed: bool,
    steps: Vec<(u64, bool)>,
    critical: Vec<u64>,
    reached: Vec<(u64, bool, f64)>,
    places: Vec<u64>,
}

/// What an entry has to say.
enum Word {
    Row(Row),
    /// What whoever watched an attempt decided of it.
    Decided(Id, Moment, Decided, Overrules),
    /// A real person who was watched.
    Watched(Box<Page>),
}

/// What whoever watched an attempt says of its steps and critical errors.
struct Overrules {
    /// By id.
    steps: Vec<(String, Verdict)>,
    /// Words of the critical errors that stand.
    critical: Vec<String>,
}

impl Overrules {
    fn of(sheet: &BriefJudged<'_>) -> Overrules {
        let steps = sheet.steps.iter();
        let critical = sheet.critical.iter().filter(|one| one.stands);
        Overrules {
            steps: steps
                .map(|step| (step.id.clone().into_owned(), step.verdict))
                .collect(),
            critical: critical.map(|one| one.kind.clone().into_owned()).collect(),
        }
    }

    /// Makes of a row what whoever watched saw.
    fn on(&self, row: &mut Row, names: &Names) {
        let name = |key: u64| names.get(&key).map_or("", |names| names[1].as_str());
        let said = |key: u64| {
            self.steps
                .iter()
                .find(|(id, _)| id == name(key))
                .map(|(_, verdict)| *verdict)
        };
        row.steps
            .retain(|(key, _)| said(*key) != Some(Verdict::NotApplicable));
        for (key, missed) in &mut row.steps {
            match said(*key) {
                Some(Verdict::Met) => *missed = false,
                Some(Verdict::NotMet) => *missed = true,
                Some(Verdict::NotSeen | Verdict::NotApplicable) | None => {}
            }
        }
        row.critical
            .retain(|key| self.critical.iter().any(|kind| kind == name(*key)));
    }
}

/// What whoever watched says, of an attempt or of a real person among those asked about.
fn by_whoever_watched(brief: &Brief<'_>, group: &Group) -> Option<Word> {
    let BriefWhat::Judged(sheet) = &brief.what else {
        return None;
    };
    if let Some(attempt) = sheet.attempt {
        return Some(Word::Decided(
            attempt,
            brief.at,
            brief.decided(sheet),
            Overrules::of(sheet),
        ));
    }
    let of_sequence = group.sequence.as_ref().is_none_or(|id| *id == sheet.sequence.id);
    let asked = of_sequence && group.holds(brief.person.as_ref(), sheet.began.date());
    (asked && sheet.watching.is_real()).then(|| {
        Word::Watched(Box::new(Page {
            sight: Sight {
                who: brief.person.as_ref().map(|p| p.code.folded()),
                observer: sheet.observer.as_ref().map(Code::folded),
                watching: sheet.watching,
                sequence: sheet.sequence.id.clone().into_owned(),
                began: sheet.began,
            },
            sequence: Named {
                id: sheet.sequence.id.clone().into_owned(),
                label: sheet.sequence.label.clone().into_owned(),
            },
            decision: sheet.decision,
            steps: sheet
                .steps
                .iter()
                .map(|step| {
                    (
                        step.id.clone().into_owned(),
                        step.ask.clone().into_owned(),
                        step.verdict,
                    )
                })
                .collect(),
            critical: sheet
                .critical
                .iter()
                .map(|one| LookedFor {
                    kind: one.kind.clone().into_owned(),
                    what: one.what.clone().into_owned(),
                    stands: one.stands,
                })
                .collect(),
        }))
    })
}

/// Names by their keys.
type Names = FxHashMap<u64, [String; 3]>;

/// Where names are kept: whatever becomes of the entries that they were met in.
#[derive(Default)]
struct Book(Mutex<Names>);

/// Keys of names that one of those who read has met: they ask for the book once for each.
type Met = FxHashSet<u64>;

impl Book {
    fn key(&self, met: &mut Met, names: [&str; 3]) -> u64 {
        let key = FxBuildHasher.hash_one((names[0], names[1]));
        if met.insert(key) {
            let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            known.entry(key).or_insert_with(|| names.map(str::to_owned));
        }
        key
    }
}

/// What the attempts of a group come to, with what was read and what was left out.
///
/// # Errors
/// The folder cannot be listed.
pub fn tally(register: &Register, rules: &RegisterRules, group: &Group) -> io::Result<(Tally, Reading<()>)> {
    let book = Book::default();
    let reading = register.read_with(|met: &mut Met, sealed, _| {
        if !sealed.tells("attempt") {
            // Whatever else it is, it is read to know that it is sound.
            return Brief::of(sealed).map(|brief| (brief.id, by_whoever_watched(&brief, group)));
        }
        let seen: Seen<'_> = read_sealed(sealed)?;
        let Some(attempt) = &seen.what.attempt else {
            return Ok((seen.id, None));
        };
        let row = group
            .takes(seen.person.as_ref(), attempt)
            .then(|| Word::Row(row(&seen, attempt, rules, |names| book.key(met, names))));
        Ok((seen.id, row))
    })?;
    let (words, reading) = reading.apart();
    let (mut rows, mut decided) = (Vec::with_capacity(words.len()), Decisions::default());
    let mut pages = Vec::new();
    let mut overruled: FxHashMap<Id, (i64, Overrules)> = FxHashMap::default();
    for word in words {
        match word {
            Word::Row(row) => rows.push(row),
            Word::Decided(attempt, at, taken, overrules) => {
                let decision = taken.decision;
                decided.add(attempt, at, taken);
                let known = overruled
                    .get(&attempt)
                    .is_some_and(|(known, _)| *known > at.millis());
                if decision != Decision::Open && !known {
                    overruled.insert(attempt, (at.millis(), overrules));
                }
            }
            Word::Watched(page) => pages.push(*page),
        }
    }
    let names = book.0.into_inner().unwrap_or_else(PoisonError::into_inner);
    // Whoever watched has the last word.
    for row in rows.iter_mut().filter(|_| !decided.is_empty()) {
        if let Some(decided) = decided.of(row.attempt) {
            row.passed = decided.decision == Decision::Passed;
        }
        if let Some((_, overrules)) = overruled.get(&row.attempt) {
            overrules.on(row, &names);
        }
    }
    // One attempt that was taken up again counts once, as far as it came.
    rows.par_sort_by_key(|row| (row.attempt, std::cmp::Reverse(row.far)));
    rows.dedup_by_key(|row| row.attempt);
    let mut tally = add_up(&rows, &names, group);
    tally.watched = watched::add_up(pages, group.split);
    rows.into_par_iter().for_each(drop);
    Ok((tally, reading))
}

impl Group {
    /// True if a person, if anybody is named, and a day are among those asked about.
    pub fn holds(&self, person: Option<&Person>, day: Date) -> bool {
        let ward = person.and_then(|p| p.ward.as_ref());
        let group = person.and_then(|p| p.group.as_ref());
        self.holds_at(ward, group, day)
    }

    /// True if a ward, a group and a day are among those asked about.
    pub fn holds_at(&self, ward: Option<&Label>, group: Option<&Label>, day: Date) -> bool {
        Label::takes(self.ward.as_ref(), ward)
            && Label::takes(self.group.as_ref(), group)
            && self.from.is_none_or(|from| day >= from)
            && self.to.is_none_or(|to| day <= to)
    }

    fn takes(&self, person: Option<&Person>, attempt: &SeenAttempt<'_>) -> bool {
        self.holds(person, attempt.began.date())
            && self.sequence.as_ref().is_none_or(|id| *id == attempt.sequence.id)
            && match self.purpose {
                Some(purpose) => attempt.purpose == purpose,
                None => attempt.purpose != Purpose::Script,
            }
    }
}

fn row(
    seen: &Seen<'_>,
    attempt: &SeenAttempt<'_>,
    rules: &RegisterRules,
    mut key: impl FnMut([&str; 3]) -> u64,
) -> Row {
    let sequence = attempt.sequence.id.as_ref();
    let steps: Vec<StepFacts> = attempt.steps.iter().map(BriefStep::facts).collect();
    let facts = Facts {
        finished: attempt.finished,
        critical: attempt.critical.len(),
        marks: (attempt.marks.left, attempt.marks.of),
        steps: &steps,
    };
    Row {
        attempt: attempt.attempt,
        far: (attempt.finished, attempt.actions, seen.at.millis()),
        code: seen.person.as_ref().map(|p| Key::of(&p.code.folded()).0),
        began: attempt.began,
        finished: attempt.finished,
        passed: attempt.terms.falls_short(&rules.pass, &facts).is_empty(),
        steps: attempt
            .steps
            .iter()
            .filter(|step| step.how != "not-applicable")
            .map(|step| {
                let missed = step.how != "done" || !step.lacks.is_empty();
                (key([sequence, &step.id, &step.ask]), missed)
            })
            .collect(),
        critical: once(
            attempt
                .critical
                .iter()
                .map(|critical| key(["a critical error", &critical.kind, ""])),
        ),
        reached: attempt
            .reached
            .iter()
            .map(|reached| {
                (
                    key(["a target", &reached.target, &reached.label]),
                    reached.seen,
                    reached.people,
                )
            })
            .collect(),
        places: once(attempt.seen_at.iter().map(|place| key(["a place", place, ""]))),
    }
}

/// Keys, each once however often it is there.
fn once(keys: impl Iterator<Item = u64>) -> Vec<u64> {
    let mut keys: Vec<u64> = keys.collect();
    keys.sort_unstable();
    keys.dedup();
    keys
}

/// Whose attempts some are.
#[derive(Default)]
struct Attempts {
    by: FxHashMap<u64, u64>,
    nameless: u64,
}

impl Attempts {
    fn add(&mut self, who: Option<u64>) {
        match who {
            Some(who) => *self.by.entry(who).or_default() += 1,
            None => self.nameless += 1,
        }
    }

    /// How many they are.
    fn count(&self) -> u64 {
        self.by.values().sum::<u64>() + self.nameless
    }

    /// The share that they are of all of which they are some.
    fn of(&self, all: &Attempts) -> Share {
        let in_all = |(who, hits): (&u64, &u64)| all.by.get(who) == Some(hits);
        let without_rest = self.by.iter().filter(|&one| in_all(one)).count() as u64;
        Share {
            hits: self.count(),
            of: all.count(),
            behind: [
                self.by.len() as u64 + self.nameless,
                all.by.len() as u64 - without_rest + all.nameless - self.nameless,
            ],
        }
    }
}

/// Adds rows up. What was broken off counts among attempts alone: of it nobody knows how it would have ended.
fn add_up(rows: &[Row], names: &Names, group: &Group) -> Tally {
    let (mut tally, reached) = both(
        || add_up_steps(rows, names, group),
        || add_up_reached(rows, names),
    );
    tally.reached = reached;
    tally
}

/// What reached where, in the order in which targets were met.
fn add_up_reached(rows: &[Row], names: &Names) -> Vec<TargetTally> {
    let mut places: FxHashMap<u64, usize> = FxHashMap::default();
    let mut reached: Vec<(u64, Counting, f64)> = Vec::new();
    for row in rows.iter().filter(|row| row.finished) {
        for &(key, seen, people) in &row.reached {
            let at = *places.entry(key).or_insert_with(|| {
                reached.push((key, Counting::default(), 0.0));
                reached.len() - 1
            });
            reached[at].1.add(row.code, seen);
            reached[at].2 += people;
        }
    }
    let name = |key: u64, n: usize| names.get(&key).map_or_else(String::new, |names| names[n].clone());
    reached
        .into_iter()
        .map(|(key, seen, sum)| {
            let seen = seen.share();
            TargetTally {
                target: name(key, 1),
                label: name(key, 2),
                seen,
                people: sum / seen.of as f64,
            }
        })
        .collect()
}

/// All the rest.
fn add_up_steps(rows: &[Row], names: &Names, group: &Group) -> Tally {
    let mut tally = Tally {
        attempts: rows.len() as u64,
        ..Tally::default()
    };
    let name = |key: u64, n: usize| names.get(&key).map_or_else(String::new, |names| names[n].clone());
    let mut people = FxHashSet::default();
    let mut passed = Counting::default();
    let mut steps = FxHashMap::<u64, Counting>::default();
    let (mut critical, mut places) = (
        FxHashMap::<u64, Attempts>::default(),
        FxHashMap::<u64, Attempts>::default(),
    );
    let mut months = BTreeMap::<(i16, i8), Counting>::new();
    let mut finished = Attempts::default();
    for row in rows {
        people.extend(row.code);
        if !row.finished {
            tally.broken_off += 1;
            continue;
        }
        finished.add(row.code);
        passed.add(row.code, row.passed);
        for &(key, missed) in &row.steps {
            steps.entry(key).or_default().add(row.code, missed);
        }
        for key in &row.critical {
            critical.entry(*key).or_default().add(row.code);
        }
        for key in &row.places {
            places.entry(*key).or_default().add(row.code);
        }
        let day = row.began.date();
        months
            .entry((day.year(), day.month()))
            .or_default()
            .add(row.code, row.passed);
    }
    tally.passed = passed.share();
    tally.halves = group.split.map(|split| {
        let finished = rows.iter().filter(|row| row.finished);
        Halves::of(finished.map(|row| (row.code, row.began, row.passed)), split)
    });
    let commonest = |counts: FxHashMap<u64, Attempts>| {
        let mut list: Vec<(String, Share)> = counts
            .into_iter()
            .map(|(key, hits)| (name(key, 1), hits.of(&finished)))
            .collect();
        list.sort_by(|a, b| b.1.hits.cmp(&a.1.hits).then_with(|| a.0.cmp(&b.0)));
        list
    };
    tally.people = people.len() as u64;
    tally.critical = commonest(critical);
    tally.places = commonest(places);
    tally.months = months
        .into_iter()
        .map(|((year, month), counted)| (format!("{year:04}-{month:02}"), counted.share()))
        .collect();
    tally.steps = steps
        .into_iter()
        .map(|(key, missed)| StepTally {
            sequence: name(key, 0),
            step: name(key, 1),
            ask: name(key, 2),
            missed: missed.share(),
        })
        .collect();
    let rate = |s: &StepTally| s.missed.hits as f64 / s.missed.of as f64;
    tally.steps.sort_by(|a, b| {
        rate(b)
            .total_cmp(&rate(a))
            .then_with(|| (&a.sequence, &a.step).cmp(&(&b.sequence, &b.step)))
    });
    tally
}
