//! The odds of a pair: counted beside the window, and told for each sort of people.

use crate::analysis::{
    Histogram, TURNED_STARTS, Target, USUAL_REPEATS, USUAL_SEED, Verdict, alone, alone_work, doubt_work,
    sets_of, usual_doubt_repeats,
};
use crate::content::Content;
use crate::model::{Says, Trainee};
use crate::report::{
    Chance, Drawing, Row, TRACER_CAVEAT, chance, hangs_of_words, has_unknown_loads, interval_picture,
    measure_words, people_picture, scripts_words, sets_words, spread_picture, told_pair,
};

use super::super::borne::borne;
use super::super::playback::Playback;
use super::super::sure::{HangList, alone_list, hang_list, worth_list};
use super::super::words::{many, sentence};
use super::super::work::Answer;
use super::crowd::{Crowd, TARGETS};
use super::staged::{Class, Drawn, Guess, Stage};

/// The odds as the page tells them.
#[derive(Clone, Debug, PartialEq)]
pub struct OddsView {
    /// The places, with the one chosen.
    pub targets: Vec<(String, bool)>,
    /// The way it is drawn.
    pub drawn: Drawn,
    /// The picture.
    pub picture: Drawing,
    /// The picture in words.
    pub spoken: String,
    /// What is counted of people.
    pub measure: String,
    /// Which does better here: for each sort of people what they are called, and a sentence.
    pub verdicts: Vec<(String, String)>,
    /// For what that holds.
    pub so_says: &'static str,
    /// What ranges are of, if there are any.
    pub sure: Option<String>,
    /// What people who lapse make of a script, if there is one.
    pub scripts: Option<String>,
    /// What a tracer shows and does not show, if there is one.
    pub stress: Option<String>,
    /// What the class guessed, and whether the odds bear it out.
    pub guess: Option<String>,
}

impl Class {
    /// Starts counting the odds, beside the window.
    pub fn reveal(&mut self, content: &Content) {
        self.stage = Stage::Odds;
        self.sides.iter_mut().for_each(Playback::pause);
        if self.odds.is_some() {
            return;
        }
        let people: Vec<(Trainee, String)> = content
            .library
            .people()
            .map(|(trainee, words)| (trainee.clone(), words.to_owned()))
            .collect();
        let sides = self.ways.clone();
        let sets = sides.iter().map(|side| sets_of(&side.setup)).sum();
        let each = USUAL_REPEATS + doubt_work(sets, 1, usual_doubt_repeats(USUAL_REPEATS));
        let all = each * people.len() as u64;
        self.odds = Some(Answer::start(all, move |progress| {
            people
                .into_iter()
                .map(|(trainee, people)| Crowd::count(&sides, &trainee, people, progress))
                .collect()
        }));
    }

    /// Fetches the odds if they are ready; true if something changed.
    pub fn poll(&mut self) -> bool {
        let turned = self.turned.as_mut().is_some_and(Answer::poll);
        self.odds.as_mut().is_some_and(Answer::poll) || turned
    }

    /// Begins to work out what each constant does to the odds by itself, once they are shown and unless it has begun.
    pub fn turn(&mut self) {
        let (Some(Ok(crowds)), Stage::Odds, None) = (self.found(), self.stage, &self.turned) else {
            return;
        };
        let people: Vec<Trainee> = crowds
            .iter()
            .filter(|crowd| crowd.doubted.is_some())
            .map(|crowd| crowd.trainee.clone())
            .collect();
        let sides = self.ways.clone();
        let asked = people
            .iter()
            .flat_map(|trainee| sides.iter().map(|side| side.asking(trainee)));
        let total = asked.map(|asking| alone_work(&asking)).sum();
        self.turned = Some(Answer::start(total, move |progress| {
            let turned = people.iter().map(|trainee| {
                let [first, second] = sides.each_ref().map(|side| {
                    let asking = side.asking(trainee);
                    alone(asking, &TARGETS, TURNED_STARTS, USUAL_SEED, progress)
                });
                Ok([first?, second?])
            });
            turned.collect()
        }));
    }

    /// Share done of that, while it goes on.
    pub fn turning(&self) -> Option<f32> {
        Some(self.turned.as_ref()?.working()?.share())
    }

    /// The odds, once they are there, or why there are none.
    pub(super) fn found(&self) -> Option<Result<&Vec<Crowd>, &str>> {
        self.odds.as_ref().and_then(Answer::found)
    }

    /// True while odds are counted.
    pub fn working(&self) -> bool {
        self.odds.as_ref().and_then(Answer::working).is_some()
    }

    /// What the odds that are shown hang on, and what knowing it would be worth; empty before there are odds.
    pub fn hangs(&self) -> Vec<HangList> {
        let Some(Ok(crowds)) = self.found().filter(|_| self.stage == Stage::Odds) else {
            return Vec::new();
        };
        let place = TARGETS[self.target].label();
        let labels = [0, 1].map(|n| &*self.duel.sides[n].label);
        let mut lists = Vec::new();
        let turned = self.turned.as_ref().and_then(|turned| turned.found()?.ok());
        let doubted = crowds.iter().filter(|crowd| crowd.doubted.is_some());
        for (crowd, ways) in doubted.zip(turned.into_iter().flatten()) {
            for (n, label) in labels.iter().enumerate() {
                let of = format!("{place}, {label}, {}", crowd.people);
                lists.push(alone_list(
                    &self.ways[n].setup.library,
                    &of,
                    &ways[n],
                    self.target,
                ));
            }
        }
        for crowd in crowds {
            let Some(doubted) = &crowd.doubted else { continue };
            let heading = format!(
                "What it would be worth to know, choosing between {} and {} by how many people get enough to be seen there: {place}, {}",
                labels[0], labels[1], crowd.people
            );
            let worths = &doubted.pairs[0][self.target].worths;
            lists.push(worth_list(&self.ways[0].setup, heading, worths));
            for (n, label) in labels.iter().enumerate() {
                let doubt = &doubted.ways[n][self.target];
                let heading = format!(
                    "What the numbers hang on: {place}, {label}, {}; {}",
                    crowd.people,
                    hangs_of_words(doubt.hangs_of)
                );
                let hangs = &doubt.hangs;
                lists.push(hang_list(&self.ways[n].setup.library, heading, hangs));
            }
        }
        lists
    }

    /// Which does better at a target, by its place: for each sort of people what may be said, and the sentence.
    fn told<'a>(&self, crowds: &'a [Crowd], target: usize) -> Vec<(&'a Crowd, Verdict, String)> {
        let library = &self.ways[0].setup.library;
        let unlike = self.ways[0].unlike(&self.ways[1]);
        crowds
            .iter()
            .map(|crowd| {
                let (verdict, says) = match &unlike {
                    Some(unlike) => (Verdict::Unsure, unlike.clone()),
                    None => told_pair(library, &crowd.comparison, crowd.doubted.as_ref(), target, 0),
                };
                (crowd, verdict, says)
            })
            .collect()
    }

    /// What may be said of the two at a target, once the odds are there: for each sort of people what they are called, and the
    /// verdict. None before, and for what no odds are told of.
    pub fn verdicts(&self, target: Target) -> Option<Vec<(String, Verdict)>> {
        let target = TARGETS.iter().position(|known| *known == target)?;
        let crowds = self.found()?.ok()?;
        let told = self.told(crowds, target).into_iter();
        Some(
            told.map(|(crowd, verdict, _)| (crowd.people.clone(), verdict))
                .collect(),
        )
    }

    pub(super) fn odds_view(&self, crowds: &[Crowd]) -> OddsView {
        let target = TARGETS[self.target];
        let organism = &self.ways[0].setup.organism;
        let measure = measure_words(organism);
        // Way by way, so that the same way done by different people stands side by side.
        let each = || (0..self.duel.sides.len()).flat_map(|way| crowds.iter().map(move |crowd| (way, crowd)));
        let name =
            |way: usize, crowd: &Crowd| format!("{}, {}", crowd.comparison.contenders[way], crowd.people);
        let chances = |t: usize| -> Vec<Chance> {
            each()
                .map(|(way, crowd)| {
                    chance(
                        name(way, crowd),
                        &crowd.comparison,
                        crowd.doubted.as_ref(),
                        way,
                        t,
                    )
                })
                .collect()
        };
        let here = chances(self.target);
        let repeats = crowds.first().map_or(0, |c| c.comparison.repeats);
        let sets = crowds
            .first()
            .and_then(|c| c.doubted.as_ref())
            .map(|doubted| doubted.sets);
        let counted = format!(
            "{}, {} with the same draws of chance for all",
            self.duel.label,
            many(repeats, "repeat")
        );
        let beneath = match sets {
            Some(sets) => format!("{}; {}", self.duel.label, sets_words(&self.ways[0].setup, sets)),
            None => counted.clone(),
        };
        let picture = match self.drawn {
            Drawn::People => {
                let title = format!("{}: who gets {measure}", sentence(target.label()));
                let marks = match sets {
                    Some(_) => format!("{beneath}. Large: in nearly every version. Small: in some"),
                    None => beneath,
                };
                people_picture(&title, &marks, &here)
            }
            Drawn::Intervals => {
                let rows: Vec<Row> = TARGETS
                    .iter()
                    .enumerate()
                    .map(|(t, target)| Row {
                        label: sentence(target.label()),
                        chances: chances(t),
                    })
                    .collect();
                interval_picture(&format!("Who gets {measure}"), &beneath, &rows)
            }
            Drawn::Spread => {
                let all: Vec<(String, Histogram)> = each()
                    .map(|(way, crowd)| {
                        let brought = &crowd.comparison.targets[self.target].contenders[way];
                        (name(way, crowd), brought.histogram.clone())
                    })
                    .collect();
                let title = format!("{}: how much, from go to go", sentence(target.label()));
                let stated = match sets {
                    Some(_) => format!("{counted}, the stated values alone"),
                    None => counted,
                };
                spread_picture(&title, &stated, &organism.unit, &all)
            }
        };
        let told = self.told(crowds, self.target);
        OddsView {
            targets: TARGETS
                .iter()
                .enumerate()
                .map(|(n, t)| (sentence(t.label()), n == self.target))
                .collect(),
            drawn: self.drawn,
            measure,
            spoken: here
                .iter()
                .map(|c| format!("{}: {}", c.name, c.words().join(", ")))
                .collect::<Vec<_>>()
                .join(". "),
            picture,
            verdicts: told
                .iter()
                .map(|(crowd, _, says)| (sentence(&crowd.people), sentence(says)))
                .collect(),
            sure: sets.map(|sets| sentence(&sets_words(&self.ways[0].setup, sets))),
            so_says: match has_unknown_loads(&self.ways[0].setup) {
                true => "So says the model for this kit",
                false => "So says the model for this kit and load",
            },
            scripts: scripts_words(&self.ways).map(sentence),
            stress: (organism.class == crate::model::Class::Tracer).then(|| sentence(TRACER_CAVEAT)),
            guess: self.guess.map(|guess| {
                let verdicts = told.iter().map(|(crowd, verdict, _)| (&*crowd.people, *verdict));
                let labels = [0, 1].map(|n| &*self.duel.sides[n].label);
                guess_words(guess, labels, &verdicts.collect::<Vec<_>>())
            }),
        }
    }
}

/// What the class said, and whether the odds bear it out for each sort of people.
fn guess_words(guess: Guess, labels: [&str; 2], verdicts: &[(&str, Verdict)]) -> String {
    let said = match guess {
        Guess::First => format!("The class said: {}", labels[0]),
        Guess::Second => format!("The class said: {}", labels[1]),
        Guess::Same => "The class said: much the same".to_owned(),
    };
    let says = match guess {
        Guess::First => Says::First,
        Guess::Second => Says::Second,
        Guess::Same => Says::Same,
    };
    let answer = |verdict: Verdict| borne(says, verdict).words();
    let mut answers: Vec<(Vec<&str>, &str)> = Vec::new();
    for &(people, verdict) in verdicts {
        let words = answer(verdict);
        match answers.iter_mut().find(|(_, known)| *known == words) {
            Some((who, _)) => who.push(people),
            None => answers.push((vec![people], words)),
        }
    }
    let told: Vec<String> = match &answers[..] {
        [(_, words)] => vec![sentence(words)],
        _ => answers
            .iter()
            .map(|(who, words)| sentence(&format!("{}: {words}", who.join(" and "))))
            .collect(),
    };
    format!("{said}. {}", told.join(". "))
}
