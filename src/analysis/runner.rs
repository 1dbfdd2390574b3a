//! Many repeats of one plan: the same books as [`Plan::run`], without doing again what no luck can change.
//!
//! Most events of a drill meet two empty surfaces. A runner leaves out those that can never carry anything from this
//! start, knows which sites are empty, and puts back after a repeat only what the repeat touched.

use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::model::SiteIndex;
use crate::transfer::{Books, Event, Gate, Laws};

use super::Plan;
use super::live::{Live, live_from};

/// A plan made ready for repeats from one beginning.
#[derive(Clone, Debug)]
pub struct Runner<'a> {
    start: &'a Books,
    steps: Vec<Step<'a>>,
    /// What decides about each step, kept apart from it: most steps meet two empty surfaces or do not happen, and then
    /// this is all that is read.
    turns: Vec<Turn>,
    /// Index of each step's event in the plan.
    index: Vec<usize>,
    /// What the repeat under way drew at each step.
    drew: Vec<Drew>,
    books: Books,
    /// How far the repeat under way has come, in steps.
    at: usize,
    /// Whether the gate that was decided last was open.
    decided: Option<(Key, bool)>,
    /// Sites that differ from the start.
    touched: Vec<SiteIndex>,
    is_touched: Vec<bool>,
}

/// An event that may carry something.
#[derive(Clone, Debug)]
struct Step<'a> {
    event: &'a Event,
    laws: &'a Laws,
}

/// What was drawn for an event in a repeat, as far as anything was: the same luck draws the same again.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Drew {
    /// Efficiency from a to b, if anything was on a.
    pub ab: Option<f64>,
    /// Efficiency from b to a, if anything was on b.
    pub ba: Option<f64>,
    /// Factor on the mean area, if anything was on either.
    pub extent: Option<f64>,
}

/// What decides whether a step is carried out.
#[derive(Clone, Copy, Debug)]
struct Turn {
    a: SiteIndex,
    b: SiteIndex,
    /// Of the event whose happening it shares.
    gate: Gate,
}

impl Plan {
    /// Runs the plan: the same books, to the last organism, as a drill that does these actions with this luck.
    pub fn run(&self, beginning: &Beginning, luck: Luck) -> Books {
        let mut runner = Runner::new(self, beginning);
        runner.run(luck);
        runner.into_books()
    }
}

impl<'a> Runner<'a> {
    /// Makes a plan ready for repeats from a beginning.
    pub fn new(plan: &'a Plan, beginning: &'a Beginning) -> Runner<'a> {
        Runner::of(&live_from(plan, beginning), beginning)
    }

    /// Of the events that can carry something from a beginning.
    pub(super) fn of(live: &[Live<'a>], beginning: &'a Beginning) -> Runner<'a> {
        let start = &beginning.books;
        let step = |live: &Live<'a>| Step {
            event: live.event(),
            laws: live.laws(),
        };
        let turn = |live: &Live<'a>| {
            let (a, b) = live.sites();
            let gate = live.leader.gate();
            Turn { a, b, gate }
        };
        Runner {
            start,
            drew: vec![Drew::default(); live.len()],
            steps: live.iter().map(step).collect(),
            turns: live.iter().map(turn).collect(),
            index: live.iter().map(|live| live.index()).collect(),
            books: start.clone(),
            at: 0,
            decided: None,
            is_touched: vec![false; start.totals().len()],
            touched: Vec::new(),
        }
    }

    /// One repeat with this luck.
    pub fn run(&mut self, luck: Luck) -> &Books {
        self.begin();
        self.run_to(usize::MAX, luck)
    }

    /// How many steps come before an event of the plan.
    pub(super) fn position(&self, event: usize) -> usize {
        self.index.partition_point(|&n| n < event)
    }

    /// Goes back to the start, for a repeat that is run in parts.
    pub(super) fn begin(&mut self) {
        self.reset();
        self.drew.fill(Drew::default());
        self.at = 0;
        self.decided = None;
    }

    /// Goes on with the repeat under way up to a step, or to the end if there are fewer, always with the same luck.
    pub(super) fn run_to(&mut self, step: usize, luck: Luck) -> &Books {
        let part = self.at..step.min(self.steps.len()).max(self.at);
        self.at = part.end;
        for n in part {
            let Turn { a, b, gate } = self.turns[n];
            let step = &self.steps[n];
            let (on_a, on_b) = (self.books.any(a), self.books.any(b));
            if !(on_a || on_b) {
                continue;
            }
            if gate.chance < 1.0 {
                let happened = match self.decided {
                    Some((key, happened)) if key == gate.key => happened,
                    _ => gate.opens(luck),
                };
                self.decided = Some((gate.key, happened));
                if !happened {
                    continue;
                }
            }
            let outcome = self.books.carry_out(step.event, step.laws, luck, false);
            if a != b {
                self.drew[n] = Drew {
                    ab: on_a.then_some(outcome.drawn_ab),
                    ba: on_b.then_some(outcome.drawn_ba),
                    extent: Some(outcome.drawn_extent),
                };
            }
            if outcome.moved_ab == 0 && outcome.moved_ba == 0 {
                continue;
            }
            for site in [a, b] {
                if !std::mem::replace(&mut self.is_touched[site], true) {
                    self.touched.push(site);
                }
            }
        }
        &self.books
    }

    /// What the repeat under way has drawn so far, for each event that can carry something.
    pub(super) fn drew(&self) -> &[Drew] {
        &self.drew
    }

    /// The books after the last repeat.
    pub fn into_books(self) -> Books {
        self.books
    }

    /// Back to the start.
    fn reset(&mut self) {
        for site in self.touched.drain(..) {
            self.books.restore(site, self.start);
            self.is_touched[site] = false;
        }
        self.books.restore_removed(self.start);
    }
}
