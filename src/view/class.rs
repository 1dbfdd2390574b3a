//! Two ways side by side for a class: what is asked, both attempts in step, and then the odds.

use std::sync::Arc;

use crate::analysis::{
    self, Asking, Comparison, Contender, Doubted, Histogram, Progress, Target, USUAL_REPEATS, USUAL_SEED,
    Verdict, Way, by_the_book, compare, doubted, sets_of, usual_doubt_repeats,
};
use crate::content::Content;
use crate::drill::{Action, Drill};
use crate::guidance::Group;
use crate::model::{Duel, DuelSide, DuelWay, Holding, Owner, Says, Setup, Trainee};
use crate::report::{
    Chance, Drawing, Row, TRACER_CAVEAT, chance, doubted_sentence, has_unknown_loads, interval_picture,
    measure_words, people_picture, sets_words, spread_picture, verdict_sentence,
};

use super::borne::borne;
use super::playback::{Playback, Speed};
use super::settings::NamedView;
use super::stage::Held;
use super::steps::describe;
use super::sure::{HangList, hang_list, worth_list};
use super::words::{clock, count, many, sentence};
use super::work::{Answer, Work};

/// What the odds are told of, what a class asks for first.
pub const TARGETS: [Target; 11] = [
    Target::AnySkin,
    Target::Hands,
    Target::Neck,
    Target::FaceSkin,
    Target::Mucosa,
    Target::Clothing,
    Target::HandsBeforeCleaning,
    Target::HandsPeak,
    Target::Others,
    Target::NextPatient,
    Target::TwoPlaces,
];

/// Everything that can be laid side by side in a scenario: sequences that its kit can follow, then scripts.
pub fn ways(content: &Content, scenario: &str) -> Vec<DuelSide> {
    let library = &content.library;
    let Some(known) = library.scenario(scenario) else {
        return Vec::new();
    };
    let ids = std::iter::once(&known.sequence).chain(&known.also);
    let sequences = ids.filter_map(|id| library.sequence(id)).map(|s| DuelSide {
        label: s.label.clone(),
        scenario: None,
        way: DuelWay::Sequence(s.id.clone()),
        shows: Vec::new(),
    });
    let scripts = content
        .scripts
        .iter()
        .filter(|(_, s)| s.scenario == scenario)
        .map(|(name, s)| DuelSide {
            label: sentence(&s.label),
            scenario: None,
            way: DuelWay::Script(name.rsplit('/').next().unwrap_or(name).to_owned()),
            shows: Vec::new(),
        });
    sequences.chain(scripts).collect()
}

/// A pair of one's own choosing; nothing is known of it beforehand.
pub fn own_duel(content: &Content, scenario: &str, chosen: [usize; 2]) -> Option<Duel> {
    let ways = ways(content, scenario);
    let side = |n: usize| ways.get(chosen[n]).cloned();
    Some(Duel {
        id: OWN.to_owned(),
        label: "Your own pair".to_owned(),
        scenario: scenario.to_owned(),
        question: "Which of the two brings less on to the skin?".to_owned(),
        sides: vec![side(0)?, side(1)?],
        known: String::new(),
        open: String::new(),
        sources: Vec::new(),
    })
}

/// The id of a pair of one's own choosing.
pub const OWN: &str = "own-pair";

/// A choice of one's own, as the page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnPair {
    /// Name of the scenario.
    pub scenario: String,
    /// Everything that can be chosen.
    pub ways: Vec<String>,
    /// What is chosen for either side.
    pub chosen: [usize; 2],
    /// True if this pair is shown.
    pub on: bool,
}

/// How far the class has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Stage {
    /// The question is asked; nothing is shown of who does better.
    #[default]
    Predict,
    /// Both are taken off in step.
    Watch,
    /// The odds.
    Odds,
}

/// What the class says before it sees.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guess {
    /// The first brings less.
    First,
    /// The second brings less.
    Second,
    /// Much the same.
    Same,
}

/// How the odds are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Drawn {
    /// Of a hundred people.
    #[default]
    People,
    /// Intervals for every place.
    Intervals,
    /// How the counts spread.
    Spread,
}

/// A duel that is on.
#[derive(Debug)]
pub struct Class {
    duel: Duel,
    /// One setup for both, unless they have kits of their own.
    setups: [Arc<Setup>; 2],
    seed: u64,
    sides: [Playback; 2],
    stage: Stage,
    guess: Option<Guess>,
    /// None before it is asked for.
    odds: Option<Answer<Vec<Crowd>>>,
    /// Index in [`TARGETS`].
    target: usize,
    drawn: Drawn,
    whole: bool,
}

/// Both ways, done by one sort of people.
#[derive(Debug)]
struct Crowd {
    /// What they are called beside others.
    people: String,
    comparison: Comparison,
    /// What sets of values say of it; none where the content has none.
    doubted: Option<Doubted>,
}

/// One side as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct SideView {
    /// Its name.
    pub label: String,
    /// Steps done and in all.
    pub at: (usize, usize),
    /// What was done last.
    pub caption: String,
    /// The clock.
    pub clock: String,
    /// How much is on skin now, and how much of that on eyes, nostrils or lips.
    pub on_skin: (String, String),
    /// At the end of both, the places of the person that got any, the fullest first: name and count.
    pub landed: Vec<(String, String)>,
}

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
    /// What a tracer shows and does not show, if there is one.
    pub stress: Option<String>,
    /// What the class guessed, and whether the odds bear it out.
    pub guess: Option<String>,
}

/// Everything the page shows.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassView {
    /// Duels to choose from, with the one that is on.
    pub duels: Vec<(String, bool)>,
    /// A pair of one's own.
    pub own: Option<OwnPair>,
    /// The question.
    pub question: String,
    /// Scenario and luck.
    pub sub: String,
    /// How far it is.
    pub stage: Stage,
    /// What was guessed.
    pub guess: Option<Guess>,
    /// Names of the sides.
    pub labels: [String; 2],
    /// Both sides as they stand.
    pub sides: [SideView; 2],
    /// True while both play on.
    pub playing: bool,
    /// True at the end of both.
    pub ended: bool,
    /// Share of the repeats done while they are counted.
    pub working: Option<f32>,
    /// The odds, when they are there.
    pub odds: Option<OddsView>,
    /// Why there are none.
    pub trouble: Option<String>,
    /// What is known, what is open, and from where.
    pub known: String,
    /// What is open or contested.
    pub open: String,
    /// Sources of both.
    pub sources: Vec<String>,
    /// Counts below this are not seen under the lamp.
    pub seen_from: u64,
    /// True while the picture of the odds fills the window.
    pub whole: bool,
    /// True while the lamp shines.
    pub lamp: bool,
    /// What was told last, such as where a picture was saved.
    pub told: Option<String>,
}

impl Class {
    /// Begins a duel with the luck of a seed: both sides have the same.
    ///
    /// # Errors
    /// A sentence: the scenario, a sequence or a script cannot be played.
    pub fn begin(content: &Content, duel: &Duel, seed: u64) -> Result<Class, String> {
        let [first, second] = &duel.sides[..] else {
            return Err("a duel has two sides".to_owned());
        };
        let ids = [first, second].map(|side| duel.scenario_of(side));
        let one = setup_of(content, ids[0])?;
        let other = if ids[0] == ids[1] {
            one.clone()
        } else {
            setup_of(content, ids[1])?
        };
        let setups = [one, other];
        let side = |n: usize| -> Result<Playback, String> {
            let side = &duel.sides[n];
            let actions = actions_of_side(content, &setups[n], &side.way)?;
            let mut drill = Drill::begin(setups[n].clone(), seed);
            for action in actions {
                drill.act(action).map_err(|r| format!("{}: {r}", side.label))?;
            }
            Ok(Playback::of(drill))
        };
        let sides = [side(0)?, side(1)?];
        Ok(Class {
            duel: duel.clone(),
            setups,
            seed,
            sides,
            stage: Stage::Predict,
            guess: None,
            odds: None,
            target: 0,
            drawn: Drawn::default(),
            whole: false,
        })
    }

    /// Back to the question, with the same luck and without what the class said.
    pub fn ask(&mut self) {
        self.stage = Stage::Predict;
        self.guess = None;
        for side in &mut self.sides {
            side.pause();
            side.seek(0);
        }
    }

    /// How far the class has come.
    pub fn stage(&self) -> Stage {
        self.stage
    }

    /// The seed of the luck of both.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// The id of the duel.
    pub fn duel(&self) -> &str {
        &self.duel.id
    }

    /// Both attempts at the moment shown.
    pub fn drills(&self) -> [&Drill; 2] {
        [self.sides[0].now(), self.sides[1].now()]
    }

    /// Takes the class's guess.
    pub fn guess(&mut self, guess: Guess) {
        self.guess = Some(guess);
    }

    /// Shows both from the beginning.
    pub fn watch(&mut self) {
        self.stage = Stage::Watch;
        for side in &mut self.sides {
            side.seek(0);
        }
        self.play_or_pause();
    }

    /// Plays both on, or pauses both.
    pub fn play_or_pause(&mut self) {
        let playing = self.playing();
        let over = self.ended();
        for side in &mut self.sides {
            if over {
                side.seek(0);
            }
            if side.playing() == playing {
                side.play_or_pause();
            }
        }
    }

    /// Sets how fast both play.
    pub fn set_speed(&mut self, speed: Speed) {
        self.sides.iter_mut().for_each(|s| s.set_speed(speed));
    }

    /// True while either plays on.
    pub fn playing(&self) -> bool {
        self.sides.iter().any(Playback::playing)
    }

    /// True when both are at their end.
    pub fn ended(&self) -> bool {
        self.sides.iter().all(|s| s.at() == s.len())
    }

    /// One item on: each side goes on until it has taken off, or cleaned, once more. So the two stay in step though
    /// one takes more actions for it. Tells who has done anything.
    pub fn step_on(&mut self) -> [bool; 2] {
        self.sides.each_mut().map(|side| {
            side.pause();
            let began = side.at();
            while let Some(action) = side.step() {
                if ends_a_step(action) {
                    break;
                }
            }
            side.at() > began
        })
    }

    /// One such step back.
    pub fn step_back(&mut self) {
        for side in &mut self.sides {
            side.pause();
            let mut at = side.at().saturating_sub(1);
            let done = side.whole().done();
            while at > 0 && !ends_a_step(&done[at - 1].action) {
                at -= 1;
            }
            side.seek(at);
        }
    }

    /// Which side of their hands both hold out when they have come to their end: the one that got more, where hands got most.
    pub fn holds_out(&self) -> Option<Held> {
        if self.close_up() != Some(NamedView::Palms) {
            return None;
        }
        let (mut palms, mut backs) = (0, 0);
        for drill in self.drills() {
            let (setup, totals) = (drill.setup(), drill.books().totals());
            for (site, total) in totals.iter().enumerate() {
                if let Owner::Body(place) = setup.sites[site].owner
                    && Group::of(setup, drill, site) == Group::Hands
                {
                    let back = setup.library.places[place].id.ends_with("back-of-hand");
                    *(if back { &mut backs } else { &mut palms }) += total;
                }
            }
        }
        Some(if backs > palms { Held::Backs } else { Held::Palms })
    }

    /// Where both are looked at from when they have come to their end: close to where most of it landed on the skin of either; none before
    /// the end, or where nothing landed.
    pub fn close_up(&self) -> Option<NamedView> {
        if !self.ended() {
            return None;
        }
        let mut by_view: Vec<(NamedView, u64)> = Vec::new();
        for (group, _, count) in self.drills().into_iter().flat_map(landed) {
            let view = match group {
                Group::Hands => NamedView::Palms,
                Group::Eyes | Group::Nostrils | Group::Lips | Group::FaceSkin | Group::Neck => {
                    NamedView::Face
                }
                _ => NamedView::Front,
            };
            match by_view.iter_mut().find(|(known, _)| *known == view) {
                Some((_, sum)) => *sum += count,
                None => by_view.push((view, count)),
            }
        }
        by_view
            .into_iter()
            .max_by_key(|(_, sum)| *sum)
            .map(|(view, _)| view)
    }

    /// Lets seconds pass for both; tells who has done something.
    pub fn wait(&mut self, seconds: f32) -> [bool; 2] {
        self.sides
            .each_mut()
            .map(|side| side.wait(seconds) && side.step().is_some())
    }

    /// Starts counting the odds, beside the window.
    pub fn reveal(&mut self, content: &Content) {
        self.stage = Stage::Odds;
        self.sides.iter_mut().for_each(Playback::pause);
        if self.odds.is_some() {
            return;
        }
        let ways: Result<Vec<Doing>, String> = self
            .duel
            .sides
            .iter()
            .zip(&self.setups)
            .map(|(side, setup)| {
                Ok(Doing {
                    label: side.label.clone(),
                    setup: setup.clone(),
                    actions: actions_of_side(content, setup, &side.way)?,
                    sequence: match &side.way {
                        DuelWay::Sequence(id) => Some(id.clone()),
                        DuelWay::Script(_) => None,
                    },
                })
            })
            .collect();
        let people: Vec<(Trainee, String)> = content
            .library
            .people()
            .map(|(trainee, words)| (trainee.clone(), words.to_owned()))
            .collect();
        match ways {
            Err(why) => self.odds = Some(Answer::none(why)),
            Ok(ways) => {
                let sets: u64 = ways.iter().map(|way| sets_of(&way.setup) as u64).sum();
                let each = USUAL_REPEATS + sets * usual_doubt_repeats(USUAL_REPEATS);
                let all = each * people.len() as u64;
                self.odds = Some(Answer::start(all, move |progress| {
                    people
                        .into_iter()
                        .map(|(trainee, people)| {
                            let (comparison, doubted) = compared(&ways, &trainee, progress)?;
                            Ok(Crowd {
                                people,
                                comparison,
                                doubted,
                            })
                        })
                        .collect()
                }));
            }
        }
    }

    /// Fetches the odds if they are ready; true if something changed.
    pub fn poll(&mut self) -> bool {
        self.odds.as_mut().is_some_and(Answer::poll)
    }

    /// The odds, once they are there, or why there are none.
    fn found(&self) -> Option<Result<&Vec<Crowd>, &str>> {
        self.odds.as_ref().and_then(Answer::found)
    }

    /// True while odds are counted.
    pub fn working(&self) -> bool {
        self.odds.as_ref().and_then(Answer::working).is_some()
    }

    /// Chooses the place that the odds are told of.
    pub fn set_target(&mut self, target: usize) {
        self.target = target.min(TARGETS.len() - 1);
    }

    /// Lets the picture of the odds fill the window, or no longer.
    pub fn switch_whole(&mut self) {
        self.whole = !self.whole;
    }

    /// Chooses how the odds are drawn.
    pub fn set_drawn(&mut self, drawn: Drawn) {
        self.drawn = drawn;
    }

    /// What the odds that are shown hang on, and what knowing it would be worth; empty before there are odds.
    pub fn hangs(&self) -> Vec<HangList> {
        let Some(Ok(crowds)) = self.found().filter(|_| self.stage == Stage::Odds) else {
            return Vec::new();
        };
        let place = TARGETS[self.target].label();
        let labels = [0, 1].map(|n| &*self.duel.sides[n].label);
        let mut lists = Vec::new();
        for crowd in crowds {
            let Some(doubted) = &crowd.doubted else { continue };
            let heading = format!(
                "What it would be worth to know, choosing between {} and {} by what is left on average: {place}, {}",
                labels[0], labels[1], crowd.people
            );
            let worths = &doubted.pairs[0][self.target].worths;
            lists.push(worth_list(&self.setups[0], heading, worths));
            for (n, label) in labels.iter().enumerate() {
                let heading = format!("What the numbers hang on: {place}, {label}, {}", crowd.people);
                let hangs = &doubted.ways[n][self.target].hangs;
                lists.push(hang_list(&self.setups[n].library, heading, hangs));
            }
        }
        lists
    }

    /// What the page shows.
    pub fn view(&self, content: &Content) -> ClassView {
        let library = &content.library;
        let labels = [0, 1].map(|n| self.duel.sides[n].label.clone());
        ClassView {
            duels: library
                .duels
                .iter()
                .map(|d| (d.label.clone(), d.id == self.duel.id))
                .collect(),
            own: None,
            question: self.duel.question.clone(),
            sub: format!(
                "{} · the same start and the same draws of chance for both (number {})",
                self.place(),
                self.seed
            ),
            stage: self.stage,
            guess: self.guess,
            sides: [0, 1].map(|n| SideView {
                landed: if self.ended() && self.stage == Stage::Watch {
                    let all = landed(self.sides[n].now());
                    all.into_iter()
                        .take(MOST_LANDED)
                        .map(|(_, place, many)| (place, count(many)))
                        .collect()
                } else {
                    Vec::new()
                },
                ..side_view(&labels[n], &self.sides[n])
            }),
            labels,
            playing: self.playing(),
            ended: self.ended(),
            working: self.odds.as_ref().and_then(Answer::working).map(Work::share),
            odds: match self.found() {
                Some(Ok(odds)) => Some(self.odds_view(odds)),
                _ => None,
            },
            trouble: match self.found() {
                Some(Err(why)) => Some(sentence(why)),
                _ => None,
            },
            known: self.duel.known.clone(),
            open: self.duel.open.clone(),
            sources: self
                .duel
                .sources
                .iter()
                .filter_map(|id| library.source(id))
                .map(|s| s.cite.clone())
                .collect(),
            seen_from: self.setups[0].organism.seen_from,
            whole: self.whole,
            lamp: false,
            told: None,
        }
    }

    /// The scenario, or both.
    fn place(&self) -> String {
        let [one, other] = self.setups.each_ref().map(|s| &s.scenario.label);
        if one == other {
            one.clone()
        } else {
            format!("{one} · {other}")
        }
    }

    /// Which does better at a target, by its place: for each sort of people what may be said, and the sentence.
    fn told<'a>(&self, crowds: &'a [Crowd], target: usize) -> Vec<(&'a Crowd, Verdict, String)> {
        let telling = self.setups[0].library.telling.as_ref();
        crowds
            .iter()
            .map(|crowd| {
                let at = &crowd.comparison.targets[target];
                let counted = &at.pairs[0];
                match (&crowd.doubted, telling) {
                    (Some(doubted), Some(telling)) => {
                        let versed = &doubted.pairs[0][target];
                        let labels = [0, 1].map(|n| &*self.duel.sides[n].label);
                        let says = doubted_sentence(labels, telling, versed);
                        (crowd, versed.verdict(telling), says)
                    }
                    _ => (
                        crowd,
                        counted.verdict,
                        verdict_sentence(&crowd.comparison, at, counted),
                    ),
                }
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

    /// The place that the odds are told of.
    pub fn target(&self) -> Target {
        TARGETS[self.target]
    }

    fn odds_view(&self, crowds: &[Crowd]) -> OddsView {
        let target = TARGETS[self.target];
        let organism = &self.setups[0].organism;
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
            Some(sets) => format!("{}; {}", self.duel.label, sets_words(&self.setups[0], sets)),
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
            sure: sets.map(|sets| sentence(&sets_words(&self.setups[0], sets))),
            so_says: match has_unknown_loads(&self.setups[0]) {
                true => "So says the model for this kit",
                false => "So says the model for this kit and load",
            },
            stress: (organism.class == crate::model::Class::Tracer).then(|| sentence(TRACER_CAVEAT)),
            guess: self.guess.map(|guess| {
                let verdicts = told.iter().map(|(crowd, verdict, _)| (&*crowd.people, *verdict));
                let labels = [0, 1].map(|n| &*self.duel.sides[n].label);
                guess_words(guess, labels, &verdicts.collect::<Vec<_>>())
            }),
        }
    }
}

/// What one side does, whoever does it.
struct Doing {
    label: String,
    setup: Arc<Setup>,
    /// To the letter.
    actions: Vec<Action>,
    /// Id of the sequence that these follow, if it is one.
    sequence: Option<String>,
}

/// Both ways done by one sort of people: with the stated values, and with all sets of values.
fn compared(
    ways: &[Doing],
    trainee: &Trainee,
    progress: &Progress,
) -> Result<(Comparison, Option<Doubted>), String> {
    let contenders: Vec<Contender<'_>> = ways
        .iter()
        .map(|doing| {
            let sequence = doing
                .sequence
                .as_deref()
                .and_then(|id| doing.setup.library.sequence(id));
            Contender {
                label: doing.label.clone(),
                setup: &doing.setup,
                way: match sequence {
                    // Whoever has no lapses does the same every time.
                    _ if trainee.is_flawless() => Way::Script(&doing.actions),
                    Some(sequence) => Way::Rehearsed(sequence, trainee),
                    None => Way::Lapsed(&doing.actions, trainee),
                },
            }
        })
        .collect();
    let comparison = compare(&contenders, &TARGETS, USUAL_REPEATS, USUAL_SEED, progress)?;
    let asked: Vec<Asking<'_>> = ways
        .iter()
        .map(|doing| Asking {
            setup: &doing.setup,
            doing: match &doing.sequence {
                Some(id) if !trainee.is_flawless() => analysis::Doing::Sequence(id),
                _ => analysis::Doing::Script(&doing.actions),
            },
            trainee: &trainee.id,
        })
        .collect();
    let repeats = usual_doubt_repeats(USUAL_REPEATS);
    let doubted = doubted(&asked, &TARGETS, repeats, USUAL_SEED, progress)?;
    Ok((comparison, doubted))
}

/// True for an action after which a class looks up: something is off, or hands are clean.
fn ends_a_step(action: &Action) -> bool {
    matches!(
        action,
        Action::Clean { .. } | Action::Do { item: None, .. } | Action::Touch { .. }
    )
}

fn setup_of(content: &Content, scenario: &str) -> Result<Arc<Setup>, String> {
    let library = content.library.clone();
    let scenario = library
        .scenario(scenario)
        .ok_or_else(|| format!("there is no scenario `{scenario}`"))?;
    let setup = Setup::new(library.clone(), scenario).map_err(|e| e.to_string())?;
    Ok(Arc::new(setup))
}

/// What a side does, as actions.
fn actions_of_side(content: &Content, setup: &Setup, way: &DuelWay) -> Result<Vec<Action>, String> {
    let scenario = &setup.scenario.id;
    match way {
        DuelWay::Script(name) => content
            .scripts
            .get(&format!("{scenario}/{name}"))
            .map(|s| s.actions.clone())
            .ok_or_else(|| format!("there is no script `{name}` for `{scenario}`")),
        DuelWay::Sequence(id) => {
            let sequence = setup
                .library
                .sequence(id)
                .ok_or_else(|| format!("there is no sequence `{id}`"))?;
            by_the_book(setup, sequence).map_err(|r| format!("{id}: {r}"))
        }
    }
}

fn side_view(label: &str, playback: &Playback) -> SideView {
    let now = playback.now();
    let setup = now.setup();
    let totals = now.books().totals();
    let on = |pick: &dyn Fn(Group) -> bool| -> u64 {
        (0..totals.len())
            .filter(|&site| pick(Group::of(setup, now, site)))
            .map(|site| totals[site])
            .sum()
    };
    let mucosa = on(&|g| matches!(g, Group::Eyes | Group::Nostrils | Group::Lips));
    SideView {
        label: label.to_owned(),
        at: (playback.at(), playback.len()),
        caption: match now.done().last() {
            Some(done) => describe(setup, &done.action),
            None => {
                let on = now.state().items.iter().filter(|i| i.holding == Holding::Worn);
                format!("Everything on: {}", many(on.count() as u64, "item"))
            }
        },
        clock: clock(now.state().clock),
        on_skin: (count(on(&|g| g.is_skin())), count(mucosa)),
        landed: Vec::new(),
    }
}

/// Most places that are told at the end.
const MOST_LANDED: usize = 4;

/// The skin that got any, the fullest first: the group and the name of its place, and how much.
fn landed(drill: &Drill) -> Vec<(Group, String, u64)> {
    let (setup, totals) = (drill.setup(), drill.books().totals());
    let mut found: Vec<(Group, String, u64)> = (0..totals.len())
        .map(|site| (Group::of(setup, drill, site), site))
        .filter(|&(group, site)| group.is_skin() && totals[site] > 0)
        .map(|(group, site)| (group, sentence(&setup.sites[site].label), totals[site]))
        .collect();
    found.sort_by(|a, b| (b.2, &a.1).cmp(&(a.2, &b.1)));
    found
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

#[cfg(test)]
mod tests {
    use super::*;

    fn content() -> Content {
        Content::builtin().unwrap_or_else(|e| panic!("the built-in content is sound: {e}"))
    }

    #[test]
    fn every_duel_can_be_shown_and_both_sides_begin_alike() {
        let content = content();
        assert!(content.library.duels.len() >= 5);
        for duel in &content.library.duels {
            let class = Class::begin(&content, duel, 4).unwrap_or_else(|e| panic!("{}: {e}", duel.id));
            let [a, b] = class.drills();
            let loads = |drill: &Drill| -> Vec<(String, u64)> {
                let sites = &drill.setup().sites;
                let books = drill.books();
                let of = books.sources().iter().zip(books.start());
                of.map(|(&site, &n)| (sites[site].id.clone(), n)).collect()
            };
            let (mut a, mut b) = (loads(a), loads(b));
            a.sort();
            b.sort();
            assert!(!a.is_empty());
            assert_eq!(a, b, "{}: other starts", duel.id);
            let view = class.view(&content);
            assert!(!view.sources.is_empty(), "{}: a note without sources", duel.id);
        }
    }

    #[test]
    fn any_two_ways_of_a_scenario_can_be_laid_side_by_side() {
        let content = content();
        for scenario in ["classic-tracer", "double-gloves"] {
            let ways = ways(&content, scenario);
            assert!(ways.len() > 8, "{scenario}: {} ways", ways.len());
            for (n, way) in ways.iter().enumerate() {
                let duel = own_duel(&content, scenario, [n, 0]).expect("both are there");
                let class = Class::begin(&content, &duel, 1);
                assert!(class.is_ok(), "{scenario}, {}: {:?}", way.label, class.err());
            }
        }
        assert!(own_duel(&content, "classic-tracer", [0, 999]).is_none());
    }

    #[test]
    fn the_odds_come_with_a_verdict_that_their_interval_bears_out() {
        let content = content();
        let duel = content.library.duel("straps-or-front").expect("built in");
        let mut class = Class::begin(&content, duel, 4).unwrap_or_else(|e| panic!("{e}"));
        class.guess(Guess::Second);
        class.reveal(&content);
        while class.working() {
            class.poll();
            std::thread::yield_now();
        }
        let view = class.view(&content);
        assert_eq!(view.trouble, None);
        let odds = view.odds.expect("they were counted");
        let [letter, usual] = &odds.verdicts[..] else {
            panic!("people of two sorts are spoken of: {:?}", odds.verdicts)
        };
        assert_eq!((&*letter.0, &*usual.0), ("To the letter", "Usual practice"));
        assert!(letter.1.contains("By the straps brings less in "), "{}", letter.1);
        let guess = odds.guess.as_deref().unwrap_or_default();
        assert!(
            guess.starts_with("The class said: By the front. ") && guess.contains("he odds say otherwise"),
            "{guess}"
        );
        assert!(odds.spoken.contains("of 100 people"), "{}", odds.spoken);
        assert!(
            odds.spoken.contains("By the straps, to the letter: ")
                && odds.spoken.contains(", usual practice: "),
            "it is not said which people: {}",
            odds.spoken
        );
    }

    #[test]
    fn going_back_to_the_question_keeps_the_luck_and_the_odds() {
        let content = content();
        let duel = content.library.duel("straps-or-front").expect("built in");
        let mut class = Class::begin(&content, duel, 4).unwrap_or_else(|e| panic!("{e}"));
        class.watch();
        for _ in 0..60 {
            class.step_on();
        }
        let ends = class.drills().map(|drill| drill.books().digest());
        class.ask();
        assert_eq!(
            (class.stage(), class.view(&content).guess),
            (Stage::Predict, None)
        );
        class.watch();
        for _ in 0..60 {
            class.step_on();
        }
        assert_eq!(
            class.drills().map(|drill| drill.books().digest()),
            ends,
            "chance was drawn anew behind the class's back"
        );
    }

    #[test]
    fn both_go_on_in_step_to_their_ends() {
        let content = content();
        let duel = content.library.duel("gloves-or-gown-first").expect("built in");
        let mut class = Class::begin(&content, duel, 4).unwrap_or_else(|e| panic!("{e}"));
        class.watch();
        class.step_on();
        assert!(!class.playing(), "a step by hand pauses");
        let view = class.view(&content);
        assert!(view.sides.iter().all(|s| s.at.0 > 0 && s.at.0 < s.at.1));
        class.step_back();
        assert!(class.view(&content).sides.iter().all(|s| s.at.0 == 0));
        for _ in 0..60 {
            class.step_on();
        }
        assert!(class.ended());
    }
}
