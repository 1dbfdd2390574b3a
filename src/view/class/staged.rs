//! A pair that is on: what was asked, how far both have come, and what is chosen on the page.

use crate::analysis::{Alone, Side, Target};
use crate::content::Content;
use crate::drill::{Action, Drill};
use crate::model::Duel;

use super::super::playback::{Playback, Speed};
use super::super::work::Answer;
use super::crowd::{Crowd, TARGETS};

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
    pub(super) duel: Duel,
    /// What either does; one setup for both, unless they have kits of their own.
    pub(super) ways: [Side; 2],
    pub(super) seed: u64,
    pub(super) sides: [Playback; 2],
    pub(super) stage: Stage,
    pub(super) guess: Option<Guess>,
    /// None before it is asked for.
    pub(super) odds: Option<Answer<Vec<Crowd>>>,
    /// What each constant does to them by itself, for each sort of people and way; none before it is asked for.
    pub(super) turned: Option<Answer<Vec<[Vec<Alone>; 2]>>>,
    /// Index in [`TARGETS`].
    pub(super) target: usize,
    pub(super) drawn: Drawn,
    pub(super) whole: bool,
}

impl Class {
    /// Begins a duel with the luck of a seed: both sides have the same.
    ///
    /// # Errors
    /// A sentence: the scenario, a sequence or a script cannot be played.
    pub fn begin(content: &Content, duel: &Duel, seed: u64) -> Result<Class, String> {
        let ways = Side::both(content, duel)?;
        let play = |way: &Side| -> Result<Playback, String> {
            let mut drill = Drill::begin(way.setup.clone(), seed);
            for action in &way.actions {
                drill
                    .act(action.clone())
                    .map_err(|r| format!("{}: {r}", way.label))?;
            }
            Ok(Playback::of(drill))
        };
        let sides = [play(&ways[0])?, play(&ways[1])?];
        Ok(Class {
            duel: duel.clone(),
            ways,
            seed,
            sides,
            stage: Stage::Predict,
            guess: None,
            odds: None,
            turned: None,
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

    /// Lets seconds pass for both; tells who has done something.
    pub fn wait(&mut self, seconds: f32) -> [bool; 2] {
        self.sides
            .each_mut()
            .map(|side| side.wait(seconds) && side.step().is_some())
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

    /// The place that the odds are told of.
    pub fn target(&self) -> Target {
        TARGETS[self.target]
    }
}
/// True for an action after which a class looks up: something is off, or hands are clean.
fn ends_a_step(action: &Action) -> bool {
    matches!(
        action,
        Action::Clean { .. } | Action::Do { item: None, .. } | Action::Touch { .. }
    )
}

#[cfg(test)]
mod tests {
    use super::super::landed::landed;
    use super::super::pairs::{own_duel, ways};
    use super::*;
    use crate::view::settings::NamedView;

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

    /// Both are looked at from where it can be seen: by the nape if most of what skin got is there.
    #[test]
    fn where_it_landed_is_seen_from_where_they_are_looked_at() {
        let content = content();
        let duel = content.library.duel("gloves-or-gown-first").expect("built in");
        let mut seen = Vec::new();
        for seed in 1..40 {
            let mut class = Class::begin(&content, duel, seed).unwrap_or_else(|e| panic!("{e}"));
            for _ in 0..60 {
                class.step_on();
            }
            let on = |wanted: &str| -> u64 {
                let drills = class.drills().into_iter();
                let count = |drill: &Drill| drill.books().total(drill.setup().site(wanted).expect("a place"));
                drills.map(count).sum()
            };
            let back = on("neck-back");
            let view = class.close_up();
            if view == Some(NamedView::Face) {
                let face: u64 = class
                    .drills()
                    .into_iter()
                    .flat_map(landed)
                    .map(|(_, _, count)| count)
                    .sum();
                assert!(2 * back <= face, "seed {seed}: {back} of {face} behind");
            }
            if view == Some(NamedView::Nape) {
                assert!(back > 0, "seed {seed}: nothing is there");
            }
            seen.push(view);
        }
        assert!(seen.contains(&Some(NamedView::Nape)), "{seen:?}");
    }
}
