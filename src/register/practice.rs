//! Where somebody stands on the ladder of practice, from what they have done: which rung, which steps are still told, and how
//! one go compares with the one before by what was done and not by luck.

use crate::model::{Ladder, Manner};
use crate::record::{Code, Id, Purpose};

use super::brief::Brief;
use super::entry::read_sealed;
use super::{Attempt, Entry, Moment, Register, furthest};

/// The word of the target that goes are compared by.
pub const COMPARED: &str = "any-skin";

/// One finished go at a sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Go {
    /// What the attempt is known by.
    pub attempt: Id,
    /// The scenario.
    pub scenario: String,
    /// When it began.
    pub began: Moment,
    /// The rung that it was done on; none of what was done off the ladder.
    pub rung: Option<String>,
    /// True if nothing was lost and nothing critical happened.
    pub clean: bool,
    /// True if everything was taken off that the sequence has come off: else what reached somebody says little.
    pub complete: bool,
    /// True if the next step was told on request.
    pub told: bool,
    /// Critical errors.
    pub critical: usize,
    /// Share of the marks left; none beside a critical error.
    pub marks: Option<f64>,
    /// Steps of the kit: id, what is asked, whether it went as asked.
    pub steps: Vec<(String, String, bool)>,
    /// Of people who do the very same, the share with enough on bare skin to be seen.
    pub people: f64,
}

impl Go {
    /// A go from what an attempt leaves; none of one that was broken off, assessed or played from a script.
    pub fn of(attempt: &Attempt) -> Option<Go> {
        (attempt.finished && attempt.purpose == Purpose::Practice).then(|| Go {
            attempt: attempt.attempt,
            scenario: attempt.scenario.id.clone(),
            began: attempt.began,
            rung: attempt.terms.rung.as_ref().map(|rung| rung.id.clone()),
            clean: attempt.is_clean(),
            complete: attempt
                .steps
                .iter()
                .all(|step| step.asks != "remove" || step.how != "missed"),
            told: !attempt.told.is_empty(),
            critical: attempt.critical.len(),
            marks: attempt.marks.left.map(|left| left / attempt.marks.of),
            steps: attempt
                .steps
                .iter()
                .filter(|step| step.how != "not-applicable")
                .map(|step| {
                    let lost = attempt.marks.why.iter().any(|lost| lost.step == step.id);
                    (step.id.clone(), step.ask.clone(), !step.is_missed() && !lost)
                })
                .collect(),
            people: attempt.at(COMPARED).map_or(0.0, |reached| reached.people),
        })
    }
}

/// Where somebody stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// The rung, by its place.
    pub rung: usize,
    /// Goes on it running with nothing lost.
    pub running: u32,
}

/// Where goes lead, in the order of time; `seen` if it was watched done since.
pub fn standing(ladder: &Ladder, goes: &[Go], seen: bool) -> Standing {
    let mut at = Standing { rung: 0, running: 0 };
    if seen || !goes.is_empty() {
        at.rung = 1;
    }
    for go in goes {
        let Some(rung) = go.rung.as_deref().and_then(|id| ladder.place(id)) else {
            continue;
        };
        // A rung that was chosen by hand counts as where one stands.
        if rung != at.rung {
            at = Standing { rung, running: 0 };
        }
        if go.critical > 0 {
            at = Standing {
                rung: rung.saturating_sub(1).max(1),
                running: 0,
            };
        } else if go.clean && !(go.told && ladder.rungs[rung].manner == Manner::WhenAsked) {
            at.running += 1;
            if at.running >= ladder.up_after && rung + 1 < ladder.rungs.len() {
                at = Standing {
                    rung: rung + 1,
                    running: 0,
                };
            }
        } else {
            at.running = 0;
        }
    }
    at
}

/// The steps that are still told: all but those that went right in each of the latest goes.
pub fn prompts<'a>(ladder: &Ladder, goes: &[Go], steps: impl Iterator<Item = &'a str>) -> Vec<String> {
    let needed = ladder.fade_after as usize;
    let right = |step: &str| {
        let mut latest = goes.iter().rev().filter_map(|go| {
            go.steps
                .iter()
                .find(|(id, ..)| id == step)
                .map(|(.., right)| *right)
        });
        (0..needed).all(|_| latest.next() == Some(true))
    };
    steps.filter(|step| !right(step)).map(str::to_owned).collect()
}

/// How a go compares with the one before.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Change {
    /// What went as asked now and did not before.
    pub better: Vec<String>,
    /// What did not go as asked now and did before.
    pub worse: Vec<String>,
    /// What went wrong both times.
    pub still: Vec<String>,
}

/// What was done better and worse.
pub fn change(before: &Go, now: &Go) -> Change {
    let mut change = Change::default();
    for (id, ask, right) in &now.steps {
        let was = before
            .steps
            .iter()
            .find(|(other, ..)| other == id)
            .map(|(.., right)| *right);
        let list = match (was, right) {
            (Some(false), true) => &mut change.better,
            (Some(true), false) => &mut change.worse,
            (Some(false), false) => &mut change.still,
            _ => continue,
        };
        list.push(ask.clone());
    }
    change
}

/// The step that went wrong most often in the latest goes, the latest wrong one first among equals; none if all went right.
pub fn practise_next(goes: &[Go]) -> Option<String> {
    let latest = &goes[goes.len().saturating_sub(3)..];
    let last = latest.last()?;
    let wrong = |id: &str| {
        latest
            .iter()
            .filter(|go| go.steps.iter().any(|(other, _, right)| other == id && !right))
            .count()
    };
    last.steps
        .iter()
        .map(|(id, ask, right)| ((wrong(id), !right), ask))
        .filter(|((count, _), _)| *count > 0)
        .rev()
        .max_by_key(|(key, _)| *key)
        .map(|(_, ask)| ask.clone())
}

impl Register {
    /// Somebody's goes at a sequence, in the order of time.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn goes(&self, code: &Code, sequence: &str) -> std::io::Result<Vec<Go>> {
        let reading = self.read_as(|sealed, _| {
            let brief = Brief::of(sealed)?;
            let theirs = brief.person.as_ref().is_some_and(|p| p.code == *code)
                && brief.attempt().is_some_and(|a| a.sequence.id == sequence);
            let whole = if theirs {
                Some(read_sealed::<Entry>(sealed)?)
            } else {
                None
            };
            Ok((brief.id, whole))
        })?;
        let (entries, _) = reading.apart();
        let mut goes: Vec<Go> = furthest(entries)
            .iter()
            .filter_map(|entry| Go::of(entry.attempt()?))
            .collect();
        goes.sort_by_key(|go| go.began.millis());
        Ok(goes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::content::Content;

    fn ladder() -> Ladder {
        let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        content.library.ladder.clone().expect("there is one")
    }

    fn go(rung: &str, right: [bool; 3], critical: usize) -> Go {
        Go {
            attempt: Id::fresh(),
            scenario: "classic-tracer".to_owned(),
            began: Moment::now(),
            rung: Some(rung.to_owned()),
            clean: right.iter().all(|r| *r) && critical == 0,
            complete: true,
            told: false,
            critical,
            marks: None,
            steps: ["a", "b", "c"]
                .iter()
                .zip(right)
                .map(|(id, right)| ((*id).to_owned(), format!("Do {id}"), right))
                .collect(),
            people: 0.0,
        }
    }

    #[test]
    fn it_is_seen_first_and_help_fades_with_goes_that_lose_nothing() {
        let ladder = ladder();
        let at = |goes: &[Go], seen| standing(&ladder, goes, seen).rung;
        let clean = [true; 3];
        assert_eq!(at(&[], false), 0);
        assert_eq!(at(&[], true), 1);
        assert_eq!(at(&[go("prompted", clean, 0)], false), 1);
        let two = [go("prompted", clean, 0), go("prompted", clean, 0)];
        assert_eq!(at(&two, false), 2);
        let broken = [
            go("prompted", clean, 0),
            go("prompted", [true, false, true], 0),
            go("prompted", clean, 0),
        ];
        assert_eq!(at(&broken, false), 1, "not twice running");
        assert_eq!(
            at(&[go("alone", clean, 1)], false),
            2,
            "a rung down after a critical error"
        );
        assert_eq!(at(&[go("prompted", clean, 1)], false), 1, "never below doing it");
        let top = [go("disturbed", clean, 0), go("disturbed", clean, 0)];
        assert_eq!(at(&top, false), ladder.rungs.len() - 1);
    }

    #[test]
    fn a_go_that_was_helped_on_request_does_not_lead_up() {
        let ladder = ladder();
        let mut helped = [go("when-asked", [true; 3], 0), go("when-asked", [true; 3], 0)];
        helped[1].told = true;
        assert_eq!(standing(&ladder, &helped, false).rung, 2);
        helped[1].told = false;
        assert_eq!(standing(&ladder, &helped, false).rung, 3);
    }

    #[test]
    fn what_went_right_twice_loses_its_prompt_first_and_what_went_wrong_gets_it_back() {
        let ladder = ladder();
        let ids = || ["a", "b", "c"].into_iter();
        assert_eq!(prompts(&ladder, &[], ids()), ["a", "b", "c"]);
        let goes = [
            go("prompted", [true, false, true], 0),
            go("prompted", [true, true, false], 0),
        ];
        assert_eq!(prompts(&ladder, &goes[..1], ids()), ["a", "b", "c"]);
        assert_eq!(prompts(&ladder, &goes, ids()), ["b", "c"]);
        let again = [&goes[..], &[go("prompted", [false, true, true], 0)]].concat();
        assert_eq!(prompts(&ladder, &again, ids()), ["a", "c"]);
    }

    #[test]
    fn goes_are_compared_by_what_was_done() {
        let before = go("prompted", [true, false, false], 0);
        let now = go("prompted", [false, true, false], 0);
        let change = change(&before, &now);
        assert_eq!(change.better, ["Do b"]);
        assert_eq!(change.worse, ["Do a"]);
        assert_eq!(change.still, ["Do c"]);
        assert_eq!(
            practise_next(&[before, now]).as_deref(),
            Some("Do c"),
            "wrong twice"
        );
        assert_eq!(practise_next(&[go("alone", [true; 3], 0)]), None);
    }
}
