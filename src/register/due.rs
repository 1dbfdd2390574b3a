//! Who is due for practice again, by rules that can be edited and that no trial has tested.

use std::cmp::Reverse;
use std::io;

use jiff::civil::Date;

use rustc_hash::FxHashSet;

use crate::model::RegisterRules;
use crate::outside::threads::parallel::*;
use crate::record::{Code, Id, Label, Purpose};

use super::agree::SAME_OCCASION;
use super::brief::{Brief, BriefJudged, BriefWhat};
use super::decided::{Decided, Decisions};
use super::judged::{Decision, Verdict};
use super::{Moment, Named, Reading, Register, Short, months_later};

/// How the latest attempt that counts went.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nothing was lost; so many running.
    Clean(u32),
    /// It passed but lost marks.
    Passed,
    /// It did not pass.
    NotPassed(Vec<Short>),
    /// Nothing was finished yet.
    Unfinished,
}

/// One person at one sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Due {
    /// The person.
    pub code: Code,
    /// The ward named last.
    pub ward: Option<Label>,
    /// The group named last.
    pub group: Option<Label>,
    /// The sequence.
    pub sequence: Named,
    /// When the latest attempt that counts was, or the latest of all if none was finished.
    pub latest: Moment,
    /// How it went.
    pub standing: Standing,
    /// When practice is due again.
    pub due: Date,
    /// Attempts so far, those not finished too.
    pub attempts: u32,
}

/// Everybody, the longest due first.
#[derive(Clone, Debug)]
pub struct DueList {
    /// One row for each person and sequence.
    pub rows: Vec<Due>,
    /// Attempts without a person, which nobody can be due by.
    pub nobodys: usize,
    /// Attempts dated later than now by more than a day: a station's clock is wrong. Their dates are not used.
    pub ahead: usize,
    /// What was read, and what was left out.
    pub reading: Reading<()>,
}

/// One attempt of a person, as far as it counts.
struct Tried {
    attempt: Id,
    /// How far it came: an attempt that was taken up again left an entry each time, and the furthest counts.
    far: (bool, usize, i64),
    code: Code,
    /// What is the same for one person however the code is written.
    folded: String,
    ward: Option<Label>,
    group: Option<Label>,
    sequence: Named,
    at: Moment,
    standing: Standing,
    /// When it began and who watched, if a real person was watched.
    watched: Option<Box<(Moment, Option<Code>)>>,
}

/// What an entry has to say about who is due.
enum Word {
    /// An attempt, of a person if a code was given; true if it is dated later than now.
    Tried(Option<Tried>, bool),
    /// What whoever watched an attempt decided of it, and what it is where the register has nothing else of that attempt.
    Decided(Id, Moment, Decided, Option<Tried>),
}

/// Who is due when, as it stands now. Practice, assessments and real people who were watched count, classes and scripts do not; what
/// somebody who watched an attempt decided counts for more than what the program makes of it.
///
/// # Errors
/// The folder cannot be listed.
pub fn due(register: &Register, rules: &RegisterRules, now: Moment) -> io::Result<DueList> {
    let read = register.read_as(|sealed, _| {
        let brief = Brief::of(sealed)?;
        let id = brief.id;
        let ahead = brief.at.is_beyond(now);
        if let BriefWhat::Judged(sheet) = &brief.what {
            let word = match sheet.attempt {
                _ if sheet.decision == Decision::Open => None,
                Some(of) => {
                    let alone = watched(&brief, sheet).filter(|_| !ahead);
                    Some(Word::Decided(of, brief.at, brief.decided(sheet), alone))
                }
                None => Some(Word::Tried(watched(&brief, sheet), ahead)),
            };
            return Ok((id, word));
        }
        let Some(attempt) = brief.attempt() else {
            return Ok((id, None));
        };
        if !matches!(attempt.purpose, Purpose::Practice | Purpose::Assessment) {
            return Ok((id, None));
        }
        let standing = attempt.with_facts(|facts| {
            let short = attempt.terms.falls_short(&rules.pass, facts);
            match (facts.finished, short.is_empty()) {
                (false, _) => Standing::Unfinished,
                (true, true) if attempt.marks.why.is_empty() => Standing::Clean(1),
                (true, true) => Standing::Passed,
                (true, false) => Standing::NotPassed(short),
            }
        });
        let sequence = Named {
            id: attempt.sequence.id.clone().into_owned(),
            label: attempt.sequence.label.clone().into_owned(),
        };
        let (attempt_id, far) = (
            attempt.attempt,
            (attempt.finished, attempt.actions, brief.at.millis()),
        );
        let Some(person) = brief.person else {
            return Ok((id, Some(Word::Tried(None, false))));
        };
        let tried = Tried {
            attempt: attempt_id,
            far,
            folded: person.code.folded(),
            code: person.code,
            ward: person.ward,
            group: person.group,
            sequence,
            at: brief.at,
            standing,
            watched: None,
        };
        Ok((id, Some(Word::Tried(Some(tried), ahead))))
    })?;
    let (mut nobodys, mut ahead) = (0, 0);
    let mut tries: Vec<(Tried, bool)> = Vec::with_capacity(read.found.len());
    let (found, reading) = read.apart();
    let mut decided = Decisions::default();
    // Attempts in which whoever watched saw something not done as asked.
    let mut unclean: FxHashSet<Id> = FxHashSet::default();
    for word in &found {
        if let Word::Decided(of, at, taken, alone) = word {
            decided.add(*of, *at, taken.clone());
            let clean = |alone: &Tried| matches!(alone.standing, Standing::Clean(_));
            if !alone.as_ref().is_none_or(clean) {
                unclean.insert(*of);
            }
        }
    }
    let attempt = |word: &Word| match word {
        Word::Tried(Some(tried), _) => Some(tried.attempt),
        _ => None,
    };
    let had: FxHashSet<Id> = if decided.is_empty() {
        FxHashSet::default()
    } else {
        found.iter().filter_map(attempt).collect()
    };
    for word in found {
        let (tried, beyond) = match word {
            Word::Tried(tried, beyond) => (tried, beyond),
            Word::Decided(of, .., Some(alone)) if !had.contains(&of) => (Some(alone), false),
            Word::Decided(..) => continue,
        };
        ahead += usize::from(beyond);
        match tried.map(|tried| tried.after_decision(&decided, &unclean)) {
            None => nobodys += 1,
            Some(tried) => tries.push((tried, beyond)),
        }
    }
    // Each person's together, each attempt once, as far as it came, in the order of time.
    tries.par_sort_unstable_by(|(a, _), (b, _)| {
        (a.whose(), a.attempt, Reverse(a.far)).cmp(&(b.whose(), b.attempt, Reverse(b.far)))
    });
    tries.dedup_by(|(a, _), (b, _)| a.attempt == b.attempt && a.whose() == b.whose());
    tries.par_sort_by(|(a, _), (b, _)| (a.whose(), a.at.millis()).cmp(&(b.whose(), b.at.millis())));
    tries.dedup_by(|(later, _), (earlier, _)| earlier.takes_in(later));
    let mut rows: Vec<Due> = tries
        .chunk_by(|(a, _), (b, _)| a.whose() == b.whose())
        .filter_map(|tries| row(tries, rules, now.date()))
        .collect();
    // Those of one day stay as they are: by person and sequence.
    rows.sort_by_key(|row| row.due);
    Ok(DueList {
        rows,
        nobodys,
        ahead,
        reading,
    })
}

/// A real person who was watched, as one more attempt.
fn watched(brief: &Brief<'_>, sheet: &BriefJudged<'_>) -> Option<Tried> {
    let person = brief.person.clone()?;
    // What nobody saw may have been done otherwise.
    let seen = |verdict| matches!(verdict, Verdict::Met | Verdict::NotApplicable);
    let clean =
        sheet.steps.iter().all(|step| seen(step.verdict)) && !sheet.critical.iter().any(|one| one.stands);
    Some(Tried {
        attempt: sheet.attempt.unwrap_or(sheet.sheet),
        far: (true, sheet.steps.len(), brief.at.millis()),
        folded: person.code.folded(),
        code: person.code,
        ward: person.ward,
        group: person.group,
        sequence: Named {
            id: sheet.sequence.id.clone().into_owned(),
            label: sheet.sequence.label.clone().into_owned(),
        },
        // Practice is as old as what was watched, however late it was signed.
        at: if sheet.began.millis() < brief.at.millis() {
            sheet.began
        } else {
            brief.at
        },
        standing: match sheet.decision {
            Decision::Passed if clean => Standing::Clean(1),
            Decision::Passed => Standing::Passed,
            Decision::Again | Decision::Open => Standing::NotPassed(vec![Short::Decided]),
        },
        watched: sheet
            .attempt
            .is_none()
            .then(|| Box::new((sheet.began, sheet.observer.clone()))),
    })
}

impl Tried {
    /// The person and the sequence.
    fn whose(&self) -> (&str, &str) {
        (&self.folded, &self.sequence.id)
    }

    /// True if two people watched the same occasion: then this stands for both, as the stricter of them has it.
    fn takes_in(&mut self, later: &Tried) -> bool {
        let (Some(one), Some(other)) = (&self.watched, &later.watched) else {
            return false;
        };
        let apart = (one.0.millis() - other.0.millis()).abs() as f64 / 1000.0;
        if self.whose() != later.whose() || one.1 == other.1 || apart > SAME_OCCASION {
            return false;
        }
        let strict = |standing: &Standing| match standing {
            Standing::NotPassed(_) => 2,
            Standing::Passed => 1,
            Standing::Clean(_) | Standing::Unfinished => 0,
        };
        if strict(&later.standing) > strict(&self.standing) {
            self.standing.clone_from(&later.standing);
        }
        true
    }

    /// The same, as whoever watched decided.
    fn after_decision(mut self, decided: &Decisions, unclean: &FxHashSet<Id>) -> Tried {
        match decided.of(self.attempt).map(|decided| decided.decision) {
            Some(Decision::Passed)
                if matches!(self.standing, Standing::NotPassed(_)) || unclean.contains(&self.attempt) =>
            {
                self.standing = Standing::Passed;
            }
            Some(Decision::Again) if !matches!(self.standing, Standing::NotPassed(_)) => {
                self.standing = Standing::NotPassed(vec![Short::Decided]);
            }
            _ => {}
        }
        self
    }
}

/// One person at one sequence: each attempt once, in the order of time.
fn row(tries: &[(Tried, bool)], rules: &RegisterRules, today: Date) -> Option<Due> {
    let attempts = tries.len() as u32;
    // A date that cannot be is used only where there is no other: then practice is due at once.
    let dated: Vec<&Tried> = tries
        .iter()
        .filter(|(_, beyond)| !beyond)
        .map(|(t, _)| t)
        .collect();
    let newest = dated.last().copied().or(tries.last().map(|(t, _)| t))?;
    let finished: Vec<&&Tried> = dated
        .iter()
        .filter(|tried| tried.standing != Standing::Unfinished)
        .collect();
    let running = finished
        .iter()
        .rev()
        .take_while(|tried| matches!(tried.standing, Standing::Clean(_)))
        .count() as u32;
    let again = &rules.refreshers;
    let (latest, standing, due) = match finished.last() {
        // When it was is not known, so practice is due at once.
        None if dated.is_empty() => (newest.at, newest.standing.clone(), today),
        None => (newest.at, Standing::Unfinished, newest.at.date()),
        Some(last) => {
            let (standing, months) = match &last.standing {
                Standing::Clean(_) => {
                    let nth = (running as usize).min(again.after_clean.len()) - 1;
                    (Standing::Clean(running), again.after_clean[nth])
                }
                Standing::NotPassed(_) => (last.standing.clone(), again.after_error),
                other => (other.clone(), again.otherwise),
            };
            (last.at, standing, months_later(last.at.date(), months))
        }
    };
    let named =
        |pick: &dyn Fn(&Tried) -> Option<Label>| tries.iter().rev().find_map(|(tried, _)| pick(tried));
    Some(Due {
        code: newest.code.clone(),
        ward: named(&|t| t.ward.clone()),
        group: named(&|t| t.group.clone()),
        sequence: newest.sequence.clone(),
        latest,
        standing,
        due,
        attempts,
    })
}
