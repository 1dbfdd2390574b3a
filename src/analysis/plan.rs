//! A plan: everything that a list of actions brings about, resolved once, to be run many times.

use std::sync::Arc;

use crate::drill::{Action, Refusal, State};
use crate::transfer::Event;

use super::part::{Part, PartEvent};

/// An action of a plan that cannot be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanError {
    /// Index of the action.
    pub action: usize,
    /// Why not.
    pub refusal: Refusal,
}

impl std::fmt::Display for PlanError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "action {} is refused: {}", self.action + 1, self.refusal)
    }
}

impl std::error::Error for PlanError {}

/// What an action brought about, and when.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub part: Arc<Part>,
    /// Clock when it began, s.
    pub began: f64,
    /// Index of its first event in the plan.
    pub first: usize,
}

/// The events of a list of actions.
///
/// Which sites meet depends on the kit, the actions and the faults that are there, not on chance; only what is wet
/// at the start differs from run to run, and that is looked up when the plan is run.
#[derive(Clone, Debug)]
pub struct Plan {
    /// One for each action.
    pub(super) parts: Vec<Placed>,
    /// The state at the end; what is in the bin counts as whole again.
    pub end: State,
    /// The actions.
    pub actions: Vec<Action>,
}

impl Plan {
    /// How many events it has.
    pub fn len(&self) -> usize {
        self.parts.last().map_or(0, |p| p.first + p.part.events().len())
    }

    /// True if nothing can move in it.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The action of an event and its place among that action's events.
    fn place(&self, index: usize) -> (usize, usize) {
        let action = self.parts.partition_point(|p| p.first <= index).saturating_sub(1);
        (action, index - self.parts[action].first)
    }

    /// True if anything in it varies between people.
    pub fn varies(&self) -> bool {
        self.parts.iter().any(|placed| placed.part.varies())
    }

    /// The plan with one event left out, all else as it was.
    pub fn without(&self, index: usize) -> Plan {
        let mut plan = self.clone();
        if index < plan.len() {
            let (action, n) = plan.place(index);
            plan.parts[action].part = Arc::new(plan.parts[action].part.without(n));
            for later in &mut plan.parts[action + 1..] {
                later.first -= 1;
            }
        }
        plan
    }

    /// The action that an event belongs to, and the event; its clock starts with the action.
    pub fn event(&self, index: usize) -> (usize, &Event) {
        let (action, n) = self.place(index);
        (action, &self.parts[action].part.events()[n].event)
    }

    /// The event as it is with what was wet at the start; none if there is no such event.
    pub fn event_when(&self, index: usize, wet_until: &[f64]) -> Option<&Event> {
        (index < self.len()).then(|| {
            let (action, n) = self.place(index);
            let placed = &self.parts[action];
            &placed.part.events()[n].actual(placed.began, wet_until).event
        })
    }

    /// All events, in order, as they are with what was wet at the start.
    pub(super) fn actual<'a>(&'a self, wet_until: &'a [f64]) -> impl Iterator<Item = &'a PartEvent> {
        let parts = self.parts.iter();
        parts.flat_map(move |placed| placed.part.actual(placed.began, wet_until))
    }
}
