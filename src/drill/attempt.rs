//! A drill under way: the state, the books, and everything that has happened.

use std::sync::Arc;

use crate::chance::Luck;
use crate::model::{Holding, Setup, Whereabouts};
use crate::transfer::{Books, Event, Outcome};

use super::enact::check;
use super::{Action, Beginning, Felt, Planned, Refusal, State, enact, felt};

/// One thing that happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Happened {
    /// An event and what came of it.
    Flow(Event, Outcome),
    /// An item went somewhere.
    Item {
        /// Kit item index.
        item: usize,
        /// Where it was.
        from: Holding,
        /// Where it is now.
        to: Holding,
        /// Clock time, s.
        at: f64,
    },
    /// A fastening was undone or tied.
    Fastening {
        /// Kit item index.
        item: usize,
        /// Fastening index.
        fastening: usize,
        /// True if it is now undone.
        undone: bool,
        /// Clock time, s.
        at: f64,
    },
    /// An item was turned inside out.
    Inverted {
        /// Kit item index.
        item: usize,
        /// Clock time, s.
        at: f64,
    },
}

impl Happened {
    /// What is planned, as it happened; `outcome` says what came of an event.
    pub fn of(planned: Planned, outcome: impl FnOnce(&Event) -> Outcome) -> Happened {
        match planned {
            Planned::Flow(event) => {
                let outcome = outcome(&event);
                Happened::Flow(event, outcome)
            }
            Planned::Item { item, from, to, at } => Happened::Item { item, from, to, at },
            Planned::Fastening {
                item,
                fastening,
                undone,
                at,
            } => Happened::Fastening {
                item,
                fastening,
                undone,
                at,
            },
            Planned::Inverted { item, at } => Happened::Inverted { item, at },
        }
    }
}

/// An action that was done, with all that followed.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// What was done.
    pub action: Action,
    /// Clock when it began, s.
    pub began: f64,
    /// Clock when it ended, s.
    pub ended: f64,
    /// Where the person stood when it began.
    pub whereabouts: Whereabouts,
    /// What followed, in order.
    pub happened: Vec<Happened>,
    /// What was found and what was not, if it was a check.
    pub felt: Vec<Felt>,
}

impl Done {
    /// The events among what happened.
    pub fn flows(&self) -> impl Iterator<Item = (&Event, &Outcome)> {
        self.happened.iter().filter_map(|h| match h {
            Happened::Flow(event, outcome) => Some((event, outcome)),
            _ => None,
        })
    }
}

/// One attempt at a scenario.
#[derive(Clone, Debug)]
pub struct Drill {
    setup: Arc<Setup>,
    luck: Luck,
    beginning: Arc<Beginning>,
    state: State,
    books: Books,
    done: Vec<Done>,
}

impl Drill {
    /// Begins a drill with the luck of a seed.
    pub fn begin(setup: Arc<Setup>, seed: u64) -> Drill {
        let luck = Luck::new(seed);
        let beginning = Arc::new(Beginning::draw(&setup, luck));
        let (state, books) = (beginning.state.clone(), beginning.books.clone());
        Drill {
            setup,
            luck,
            beginning,
            state,
            books,
            done: Vec::new(),
        }
    }

    /// The scenario made concrete.
    pub fn setup(&self) -> &Arc<Setup> {
        &self.setup
    }

    /// The seed of its luck.
    pub fn seed(&self) -> u64 {
        self.luck.seed()
    }

    /// How it began.
    pub fn beginning(&self) -> &Beginning {
        &self.beginning
    }

    /// Where everything is.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The counts.
    pub fn books(&self) -> &Books {
        &self.books
    }

    /// Everything done so far.
    pub fn done(&self) -> &[Done] {
        &self.done
    }

    /// Checks whether an action is possible now.
    ///
    /// # Errors
    /// What makes it physically impossible.
    pub fn check(&self, action: &Action) -> Result<(), Refusal> {
        check(&self.setup, &self.state, action)
    }

    /// Does an action.
    ///
    /// # Errors
    /// What makes it physically impossible; nothing has then changed.
    pub fn act(&mut self, action: Action) -> Result<&Done, Refusal> {
        let (began, whereabouts) = (self.state.clock, self.state.whereabouts);
        let planned = enact(&self.setup, &mut self.state, &action)?;
        let mut happened = Vec::with_capacity(planned.len());
        let mut before: Option<Outcome> = None;
        for planned in planned {
            happened.push(Happened::of(planned, |event| {
                let outcome = self.books.apply(event, self.luck, before.as_ref());
                before = Some(outcome);
                outcome
            }));
        }
        debug_assert_eq!(
            self.books.balance(),
            Ok(()),
            "the books must balance after every action"
        );
        let before = self.done.iter().map(|done| &done.action);
        let felt = felt(&self.setup, &self.state, &action, before, self.luck);
        let done = Done {
            action,
            began,
            ended: self.state.clock,
            whereabouts,
            happened,
            felt,
        };
        self.done.push(done);
        Ok(&self.done[self.done.len() - 1])
    }

    /// Takes the last action back and returns it; none if nothing was done. Everything before it is played again with
    /// the same luck, so the drill is as it was.
    pub fn take_back(&mut self) -> Option<Action> {
        let last = self.done.pop()?;
        let before = std::mem::take(&mut self.done);
        (self.state, self.books) = (self.beginning.state.clone(), self.beginning.books.clone());
        for done in before {
            let again = self.act(done.action);
            debug_assert!(again.is_ok(), "what was possible once is possible again");
        }
        Some(last.action)
    }
}
