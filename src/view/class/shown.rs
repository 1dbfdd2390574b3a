//! What the page of a pair shows.

use crate::content::Content;
use crate::guidance::Group;
use crate::model::Holding;

use super::super::playback::Playback;
use super::super::steps::describe;
use super::super::words::{clock, count, many, sentence};
use super::super::work::{Answer, Work};
use super::landed::{MOST_LANDED, landed};
use super::odds::OddsView;
use super::pairs::OwnPair;
use super::staged::{Class, Guess, Stage};

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
    /// True if no single place has enough to be seen: the lamp shows nothing of what is counted.
    pub unseen: bool,
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
                unseen: {
                    let drill = self.sides[n].now();
                    let all = landed(drill);
                    !all.is_empty()
                        && all
                            .iter()
                            .all(|(.., many)| *many < drill.setup().organism.seen_from)
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
            seen_from: self.ways[0].setup.organism.seen_from,
            whole: self.whole,
            lamp: false,
            told: None,
        }
    }

    /// The scenario, or both.
    fn place(&self) -> String {
        let [one, other] = self.ways.each_ref().map(|way| &way.setup.scenario.label);
        if one == other {
            one.clone()
        } else {
            format!("{one} · {other}")
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
        unseen: false,
    }
}
