//! Practising alone: which rung comes next and what it is like, what is told while it is done, and afterwards what was better
//! and worse than the last time by what was done.

use crate::analysis::wilson;
use crate::model::{Ladder, Library, Manner, Rung, Sequence, Telling};
use crate::outside::clock::Stopwatch;
use crate::outside::threads::pause;
use crate::record::{ClockSpeed, LampUse, RungTerms};
use crate::register::{Attempt, Go, change, practise_next, prompts, standing};
use crate::report::{Drawing, goes_drawing};

use super::settings::Settings;
use super::words::{many, sentence};
use super::work::Answer;

/// Longest time that is waited for earlier goes when a new one begins, s.
const LONGEST_WAIT: f64 = 3.0;

/// Somebody's goes at one sequence.
#[derive(Debug, Default)]
pub struct Practice {
    /// Whose, and at which: the code as it is compared, and the sequence's id.
    of: (String, String),
    goes: Vec<Go>,
    /// Those that the register has, while they are looked for.
    reading: Option<Answer<Vec<Go>>>,
    /// True if it was watched done since the window opened.
    seen: bool,
    /// The go that has just ended, while what it leads to is worked out.
    ended: Option<Answer<Attempt>>,
}

/// What the first page shows of the ladder.
#[derive(Clone, Debug, PartialEq)]
pub struct LadderView {
    /// Every rung: its name, and whether it comes next.
    pub rungs: Vec<(String, bool)>,
    /// What the next one is like.
    pub say: String,
    /// How far it is to the one after it, in words.
    pub told: String,
    /// True while earlier goes are looked for.
    pub reading: bool,
}

/// What the debrief says of a go.
#[derive(Clone, Debug, PartialEq)]
pub struct GoesView {
    /// How it compares with the last one, each as a sentence.
    pub lines: Vec<String>,
    /// What to practise next, as a sentence.
    pub next: String,
    /// All goes, the latest at the right; none before there are two.
    pub plot: Option<Drawing>,
    /// The picture in words.
    pub spoken: String,
    /// True while it is worked out.
    pub working: bool,
}

impl Practice {
    /// True if it is of this person and sequence.
    pub fn is_of(&self, code: &str, sequence: &str) -> bool {
        self.of.0 == code && self.of.1 == sequence
    }

    /// Of somebody else, or of another sequence: what is known of them in this window, and whatever the register has.
    pub fn begin(code: &str, sequence: &str, reading: Option<Answer<Vec<Go>>>) -> Practice {
        Practice {
            of: (code.to_owned(), sequence.to_owned()),
            reading,
            ..Practice::default()
        }
    }

    /// True while something is worked out beside the window.
    pub fn working(&self) -> bool {
        self.reading.is_some() || self.ended.is_some()
    }

    /// Takes what was found, if it is there; true if something changed.
    pub fn poll(&mut self) -> bool {
        let mut changed = false;
        if self.reading.as_mut().is_some_and(Answer::poll)
            && let Some(reading) = self.reading.take()
        {
            if let Some(Ok(found)) = reading.found() {
                let new: Vec<Go> = found.iter().filter(|go| !self.has(go)).cloned().collect();
                self.goes.splice(0..0, new);
                self.goes.sort_by_key(|go| go.began.millis());
            }
            changed = true;
        }
        if self.ended.as_mut().is_some_and(Answer::poll)
            && let Some(ended) = self.ended.take()
        {
            if let Some(go) = ended.found().and_then(Result::ok).and_then(Go::of)
                && !self.has(&go)
            {
                self.goes.push(go);
            }
            changed = true;
        }
        changed
    }

    /// Waits a moment for what is looked for: whoever begins wants to stand where they stood.
    pub fn settle(&mut self) {
        let since = Stopwatch::start();
        while self.working() && since.passed().as_secs_f64() < LONGEST_WAIT {
            pause(std::time::Duration::from_millis(5));
            self.poll();
        }
    }

    /// True if anything is known of whoever it is.
    pub fn knows(&self) -> bool {
        self.seen || !self.goes.is_empty()
    }

    fn has(&self, go: &Go) -> bool {
        self.goes.iter().any(|known| known.attempt == go.attempt)
    }

    /// It was watched done.
    pub fn has_seen(&mut self) {
        self.seen = true;
    }

    /// A go has ended; what it leads to is being worked out.
    pub fn ended(&mut self, work: Answer<Attempt>) {
        self.ended = Some(work);
    }

    /// The rung that comes next, with what is told on it.
    pub fn next<'a>(&self, ladder: &'a Ladder, sequence: &Sequence) -> (&'a Rung, RungTerms) {
        let rung = &ladder.rungs[standing(ladder, &self.goes, self.seen).rung];
        let told = match rung.manner {
            Manner::Prompted => prompts(ladder, &self.goes, sequence.steps.iter().map(|s| s.id.as_str())),
            Manner::See | Manner::WhenAsked | Manner::Alone => Vec::new(),
        };
        let terms = RungTerms {
            id: rung.id.clone(),
            prompts: told,
            asks: rung.manner == Manner::WhenAsked,
            takes_back: rung.takes_back,
            disturbed: rung.disturbed,
        };
        (rung, terms)
    }

    /// What the first page shows.
    pub fn ladder_view(&self, ladder: &Ladder, sequence: &Sequence) -> LadderView {
        let at = standing(ladder, &self.goes, self.seen);
        let rung = &ladder.rungs[at.rung];
        let (_, terms) = self.next(ladder, sequence);
        let quiet = sequence.steps.len() - terms.prompts.len();
        let mut told = match (rung.manner, at.rung + 1 == ladder.rungs.len()) {
            (Manner::See, _) => "Then you do it yourself".to_owned(),
            (_, true) => {
                "The last rung: take another kit, or come back when practice is due again".to_owned()
            }
            _ => {
                let left = ladder.up_after.saturating_sub(at.running);
                match left {
                    1 => "One more go with nothing lost leads to the next rung".to_owned(),
                    left => format!("{left} goes running with nothing lost lead to the next rung"),
                }
            }
        };
        if rung.manner == Manner::Prompted && quiet > 0 {
            told.push_str(&format!(
                ". {} went right lately and are told no more",
                many(quiet as u64, "step")
            ));
        }
        LadderView {
            rungs: ladder
                .rungs
                .iter()
                .enumerate()
                .map(|(n, rung)| (rung.label.clone(), n == at.rung))
                .collect(),
            say: rung.say.clone(),
            told,
            reading: self.reading.is_some(),
        }
    }

    /// What the debrief says of the latest go.
    pub fn goes_view(&self, library: &Library) -> Option<GoesView> {
        if self.ended.is_some() {
            return Some(GoesView {
                lines: Vec::new(),
                next: String::new(),
                plot: None,
                spoken: String::new(),
                working: true,
            });
        }
        let now = self.goes.last()?;
        let before = self.goes.len().checked_sub(2).map(|n| &self.goes[n]);
        let mut lines = vec![match before {
            _ if !now.complete => {
                "You finished with kit still on, so this go is not compared by what reached you".to_owned()
            }
            None => format!("Your first go: {}", people(now.people)),
            Some(before) if !before.complete => sentence(&people(now.people)),
            Some(before) if before.scenario != now.scenario => sentence(&format!(
                "{}; the last time was another situation, so these are not laid beside each other",
                people(now.people)
            )),
            Some(before) => told_of_people(before, now, library.telling.as_ref()),
        }];
        if let Some(before) = before {
            let change = change(before, now);
            for (word, asks) in [
                ("As asked now, and not the last time", &change.better),
                ("As asked the last time, and not now", &change.worse),
                ("Not as asked both times", &change.still),
            ] {
                if !asks.is_empty() {
                    let asks: Vec<String> = asks.iter().map(|ask| sentence(ask)).collect();
                    lines.push(format!("{word}: {}", asks.join("; ")));
                }
            }
        }
        // What a go comes to depends on what there was to get.
        let here: Vec<Go> = self
            .goes
            .iter()
            .filter(|go| go.scenario == now.scenario)
            .cloned()
            .collect();
        Some(GoesView {
            lines,
            next: match practise_next(&self.goes) {
                Some(ask) => format!("Practise next: {}", sentence(&ask)),
                None => "Nothing was lost: do it once more; the first page says on which rung".to_owned(),
            },
            plot: (here.len() > 1).then(|| goes_drawing(&here)),
            spoken: spoken(&here),
            working: false,
        })
    }
}

/// A share of people who do the very same, as the model expects it.
fn people(share: f64) -> String {
    format!(
        "of 100 people who do just what you did, {:.0} get enough on bare skin to be seen (by the model's stated values)",
        100.0 * share
    )
}

/// Whether what was done leads to more or less, chance left out.
fn told_of_people(before: &Go, now: &Go, telling: Option<&Telling>) -> String {
    // Both shares come from a thousand repeats: what they differ by chance says nothing.
    let (a, b) = (wilson_of(before.people), wilson_of(now.people));
    let same = telling.is_some_and(|t| t.same_share(before.people, now.people)) || (a.0 <= b.1 && b.0 <= a.1);
    let word = match (same, now.people < before.people) {
        (true, _) => "Much the same as the last time",
        (false, true) => "Better than the last time",
        (false, false) => "Worse than the last time",
    };
    format!(
        "{word}: {}; the last time {:.0}",
        people(now.people),
        100.0 * before.people
    )
}

fn wilson_of(share: f64) -> (f64, f64) {
    let found = wilson((share * 1000.0).round() as u64, 1000);
    (found.low, found.high)
}

fn spoken(goes: &[Go]) -> String {
    let told: Vec<String> = goes
        .iter()
        .map(|go| {
            let marks = go.marks.map_or("no marks".to_owned(), |m| {
                format!("{:.0} % of the marks", 100.0 * m)
            });
            format!("{marks}, {:.0} of 100 people", 100.0 * go.people)
        })
        .collect();
    format!("Your goes, the earliest first: {}", told.join("; "))
}

/// The settings of a rung: its lamp and its prompts; what somebody needs to use the program at all stays.
pub fn settings_of(settings: &Settings, rung: &Rung) -> Settings {
    use crate::model::RungLamp;
    Settings {
        lamp: match rung.lamp {
            RungLamp::On => LampUse::On,
            RungLamp::Peek => LampUse::Peek,
            RungLamp::AtTheEnd => LampUse::UntilTheEnd,
        },
        hints: rung.manner != Manner::Alone,
        names: settings.names && rung.manner != Manner::Alone,
        clock: if rung.manner == Manner::Alone {
            ClockSpeed::Real
        } else {
            settings.clock
        },
        ..settings.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Id;
    use crate::register::Moment;

    fn go(people: f64) -> Go {
        Go {
            attempt: Id::fresh(),
            scenario: "classic-tracer".to_owned(),
            began: Moment::now(),
            rung: None,
            clean: false,
            complete: true,
            told: false,
            critical: 0,
            marks: Some(0.8),
            steps: Vec::new(),
            people,
        }
    }

    #[test]
    fn better_is_said_of_what_was_done_and_only_where_it_is_more_than_chance() {
        let content = crate::content::Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let telling = content.library.telling.as_ref();
        let told = |a: f64, b: f64| told_of_people(&go(a), &go(b), telling);
        let broken = Go {
            complete: false,
            ..go(0.0)
        };
        let mut practice = Practice::begin("k7", "uk-agp", None);
        practice.goes = vec![go(0.6), broken];
        let view = practice.goes_view(&content.library).expect("there are goes");
        assert!(
            view.lines[0].contains("kit still on"),
            "stopping early is no better"
        );
        // A harder situation is no worse go.
        let elsewhere = Go {
            scenario: "respiratory-room".to_owned(),
            ..go(0.9)
        };
        practice.goes = vec![go(0.3), elsewhere];
        let view = practice.goes_view(&content.library).expect("there are goes");
        assert!(
            view.lines[0].contains("another situation") && view.plot.is_none(),
            "{view:?}"
        );
        assert!(told(0.6, 0.3).starts_with("Better"), "{}", told(0.6, 0.3));
        assert!(told(0.3, 0.6).starts_with("Worse"));
        assert!(told(0.30, 0.31).starts_with("Much the same"));
        assert!(
            told(0.040, 0.055).starts_with("Much the same"),
            "a thousand repeats cannot tell these apart"
        );
    }

    #[test]
    fn the_first_go_is_seen_and_the_next_one_done_with_every_prompt() {
        let content = crate::content::Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let library = &content.library;
        let ladder = library.ladder.as_ref().expect("there is one");
        let sequence = library.sequence("uk-agp").expect("it is built in");
        let mut practice = Practice::begin("k7", "uk-agp", None);
        assert_eq!(practice.next(ladder, sequence).0.manner, Manner::See);
        practice.has_seen();
        let (rung, terms) = practice.next(ladder, sequence);
        assert_eq!(rung.manner, Manner::Prompted);
        assert_eq!(terms.prompts.len(), sequence.steps.len());
        let set = settings_of(&Settings::default(), rung);
        assert_eq!((set.lamp, set.hints), (LampUse::Peek, true));
        let alone = ladder.rungs.last().expect("a rung");
        let set = settings_of(
            &Settings {
                names: true,
                ..Settings::default()
            },
            alone,
        );
        assert_eq!(
            (set.lamp, set.hints, set.names),
            (LampUse::UntilTheEnd, false, false)
        );
    }
}
