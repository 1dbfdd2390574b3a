//! The events of a plan that can carry something from a start: most meet two empty surfaces. Found once, for all that
//! goes through the plan from there.

use crate::drill::Beginning;
use crate::model::SiteIndex;
use crate::transfer::{Event, Laws};

use super::Plan;
use super::coefficients::{Coefficients, Step};
use super::part::{PartEvent, Shares};

/// An event of a plan that something can be there for. There are many and they are made for every repeat, so they are
/// small.
#[derive(Clone, Copy, Debug)]
pub(super) struct Live<'a> {
    /// The event as it is with what was wet at the start.
    actual: &'a PartEvent,
    /// The event whose happening it shares: itself, unless it follows another.
    pub leader: &'a Event,
    index: u32,
    leads: u32,
    a: u32,
    b: u32,
    /// Whether anything can sit on the first site before it.
    pub from_a: bool,
    /// Whether anything can sit on the second site before it.
    pub from_b: bool,
}

impl<'a> Live<'a> {
    /// Index in the plan.
    pub fn index(&self) -> usize {
        self.index as usize
    }

    /// Its two sites; the second repeats the first if it has only one.
    pub fn sites(&self) -> (SiteIndex, SiteIndex) {
        (self.a as usize, self.b as usize)
    }

    /// The event as it is with what was wet at the start.
    pub fn event(&self) -> &'a Event {
        &self.actual.event
    }

    /// The laws of what it draws.
    pub fn laws(&self) -> &'a Laws {
        self.actual.laws()
    }

    /// The mean shares that it moves there and back, for people of each sort.
    pub fn shares(&self) -> &'a Shares {
        self.actual.shares()
    }

    /// What it does to one organism.
    pub fn step(&self, with: Coefficients) -> Step {
        self.actual.step(with)
    }

    /// True if it happens or not together with the event before it in this list.
    pub fn joins(&self, before: &Live<'_>) -> bool {
        self.leads == before.leads
    }
}

/// Finds them, in order: from sites that hold something, with what was wet at the start.
pub(super) fn live<'a>(plan: &'a Plan, wet_until: &[f64], mut holds: Vec<bool>) -> Vec<Live<'a>> {
    let mut found = Vec::new();
    for placed in &plan.parts {
        let mut leader = 0;
        let events = placed.part.events();
        for (n, head) in placed.part.heads().iter().enumerate() {
            if !head.follows {
                leader = n;
            }
            let (a, b) = (head.a as usize, head.b as usize);
            let (from_a, from_b) = (holds[a], holds[b]);
            if !(from_a || from_b) {
                continue;
            }
            holds[a] = true;
            holds[b] = true;
            found.push(Live {
                index: (placed.first + n) as u32,
                actual: placed.part.actual_at(n, placed.began, wet_until),
                leader: &events[leader].event,
                leads: (placed.first + leader) as u32,
                a: head.a,
                b: head.b,
                from_a,
                from_b,
            });
        }
    }
    found
}

/// Those that can carry something from a beginning.
pub(super) fn live_from<'a>(plan: &'a Plan, beginning: &Beginning) -> Vec<Live<'a>> {
    let holds = beginning.books.totals().iter().map(|&n| n > 0).collect();
    live(plan, &beginning.state.wet_until, holds)
}
