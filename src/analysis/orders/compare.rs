//! Where a named sequence lies beside the front, and what one clean more or less changes in it.

use crate::analysis::{Aim, Coefficients, Plan, Target, by_the_book, expected};
use crate::drill::{Action, State, enact};
use crate::model::{Holding, Sequence, Setup};

use super::scope::{Scope, over_gloves};
use super::start::Start;
use super::terms::{OrdersError, Protocol};

/// What one clean more or less changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Index of the action before which hands are cleaned, or of the clean that is left out.
    pub at: usize,
    /// The clean.
    pub clean: Action,
    /// True if it is one more, false if it is left out.
    pub added: bool,
    /// Expected count at the target with the change, less that without.
    pub risk: f64,
    /// Change of length, s.
    pub seconds: f64,
}

/// Where a named sequence lies.
#[derive(Clone, Debug, PartialEq)]
pub enum Place {
    /// On the front: nothing beats it, and it equals this protocol of the front in all three respects.
    OnFront(usize),
    /// Beaten by protocols of the front.
    Beaten {
        /// The safest of those that beat it.
        safest: usize,
        /// The quickest of those that beat it.
        quickest: usize,
    },
    /// Not a protocol of the space, and nothing in the space beats it.
    Apart,
    /// It leaves items on, so it is no match for what takes everything off.
    LeavesOn(Vec<String>),
}

/// A named sequence that this kit can follow, to the letter.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// What is done and what it comes to.
    pub protocol: Protocol,
    /// Where it lies.
    pub place: Place,
    /// What one clean more or less changes.
    pub changes: Vec<Change>,
}

/// A named sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// Sequence id.
    pub sequence: String,
    /// Name for people.
    pub label: String,
    /// Where it stands, or why this kit cannot follow it.
    pub standing: Result<Standing, String>,
}

/// What protocols are judged by.
pub(super) struct Judge<'a> {
    pub setup: &'a Setup,
    pub target: Target,
    pub start: &'a Start,
    pub scope: &'a Scope,
}

impl Judge<'_> {
    /// Count at the target before anything is done.
    pub fn already(&self) -> f64 {
        let weights = self.target.weights(self.setup, &State::dressed(self.setup));
        weights.iter().zip(&self.start.counts).map(|(w, n)| w * n).sum()
    }

    /// Plays actions and works out what they come to.
    pub fn protocol(&self, actions: Vec<Action>) -> Result<Protocol, OrdersError> {
        let plan = Plan::new(self.setup, &[], &actions).map_err(|e| OrdersError::Refused(e.to_string()))?;
        let aim = Aim::new(self.setup, &plan, self.target);
        let (wet, counts) = (&self.start.wet_until, &self.start.counts);
        let mean = expected(&plan, wet, counts, &[aim], Coefficients::Apart);
        let Some(Some(risk)) = mean.first().copied() else {
            return Err(OrdersError::NoSum(self.target.word()));
        };
        Ok(Protocol {
            risk,
            seconds: plan.end.clock,
            cleans: actions.iter().filter(|a| is_clean(a)).count() as u32,
            actions,
            ties: 1,
        })
    }

    /// The same of actions that may not be possible or may leave something on: none then.
    pub fn whole(&self, actions: Vec<Action>) -> Option<Protocol> {
        let off = self.left_on(&actions).ok()?.is_empty();
        off.then(|| self.protocol(actions).ok()).flatten()
    }

    /// Follows a sequence to the letter and lays it beside the front.
    pub fn named(&self, sequence: &Sequence, front: &[Protocol]) -> Result<Named, OrdersError> {
        let standing = match by_the_book(self.setup, sequence) {
            Err(refusal) => Err(refusal.to_string()),
            Ok(actions) => Ok(self.standing(actions, front)?),
        };
        Ok(Named {
            sequence: sequence.id.clone(),
            label: sequence.label.clone(),
            standing,
        })
    }

    fn standing(&self, actions: Vec<Action>, front: &[Protocol]) -> Result<Standing, OrdersError> {
        let left_on = self.left_on(&actions)?;
        let changes = self.changes(&actions)?;
        let protocol = self.protocol(actions)?;
        let place = if left_on.is_empty() {
            place(&protocol, front)
        } else {
            Place::LeavesOn(left_on)
        };
        Ok(Standing {
            protocol,
            place,
            changes,
        })
    }

    fn left_on(&self, actions: &[Action]) -> Result<Vec<String>, OrdersError> {
        let plan = Plan::new(self.setup, &[], actions).map_err(|e| OrdersError::Refused(e.to_string()))?;
        let worn = |i: &usize| {
            matches!(
                plan.end.items[*i].holding,
                Holding::Worn | Holding::Dangling | Holding::Held { .. }
            )
        };
        let items = (0..self.setup.items.len()).filter(worn);
        Ok(items.map(|i| self.setup.items[i].label.clone()).collect())
    }

    /// What changes with one clean more that the scope allows, wherever hands are empty and nothing is half undone, and
    /// with each clean left out. What helps most comes first.
    pub fn changes(&self, actions: &[Action]) -> Result<Vec<Change>, OrdersError> {
        let before = self.protocol(actions.to_vec())?;
        let mut changes = Vec::new();
        let mut state = State::dressed(self.setup);
        let gloved = self.gloved(actions)?;
        let mut compare = |at: usize, clean: &Action, added: bool| {
            let mut other = actions.to_vec();
            if added {
                other.insert(at, clean.clone());
            } else {
                other.remove(at);
            }
            // A clean that is not at hand here is no change one could make.
            if let Ok(other) = self.protocol(other) {
                changes.push(Change {
                    at,
                    clean: clean.clone(),
                    added,
                    risk: other.risk - before.risk,
                    seconds: other.seconds - before.seconds,
                });
            }
        };
        for at in 0..=actions.len() {
            let beside = at > 0 && is_clean(&actions[at - 1]) || actions.get(at).is_some_and(is_clean);
            if !beside && settled(&state) {
                let (cleans, _) = self.scope.cleans_now(self.setup, &state, gloved);
                cleans.iter().for_each(|clean| compare(at, clean, true));
            }
            if let Some(action) = actions.get(at) {
                if is_clean(action) {
                    compare(at, action, false);
                }
                enact(self.setup, &mut state, action).map_err(|r| OrdersError::Refused(r.to_string()))?;
            }
        }
        changes.sort_by(|a, b| a.risk.total_cmp(&b.risk));
        Ok(changes)
    }
}

impl Judge<'_> {
    /// How often gloves are cleaned.
    fn gloved(&self, actions: &[Action]) -> Result<u32, OrdersError> {
        let (mut state, mut gloved) = (State::dressed(self.setup), 0);
        for action in actions {
            gloved += u32::from(is_clean(action) && !over_gloves(self.setup, &state).is_empty());
            enact(self.setup, &mut state, action).map_err(|r| OrdersError::Refused(r.to_string()))?;
        }
        Ok(gloved)
    }
}

fn is_clean(action: &Action) -> bool {
    matches!(action, Action::Clean { .. })
}

/// True if hands are empty and no worn item is half undone.
fn settled(state: &State) -> bool {
    let undone = |i: &usize| state.items[*i].undone.iter().any(|u| *u);
    state.held.is_empty() && !state.worn.iter().any(undone)
}

/// Risks that differ by no more, relative to themselves, are the same: a search does not tell what is less than rounding of
/// how bad a prefix could still have become, and that may be thousands of times what it comes to.
const SAME: f64 = 1e-9;

fn place(protocol: &Protocol, front: &[Protocol]) -> Place {
    let near = |a: f64, b: f64| (a - b).abs() <= SAME * a.abs().max(b.abs());
    let same = |f: &Protocol| {
        near(f.seconds, protocol.seconds) && f.cleans == protocol.cleans && near(f.risk, protocol.risk)
    };
    if let Some(on) = front.iter().position(same) {
        return Place::OnFront(on);
    }
    let beats = |n: &usize| {
        let f = &front[*n];
        f.seconds <= protocol.seconds + 1e-9
            && f.cleans <= protocol.cleans
            && f.risk <= protocol.risk * (1.0 + SAME)
    };
    let by = |key: fn(&Protocol) -> f64| {
        let all = (0..front.len()).filter(beats);
        all.min_by(|&a, &b| key(&front[a]).total_cmp(&key(&front[b])))
    };
    match (by(|p| p.risk), by(|p| p.seconds)) {
        (Some(safest), Some(quickest)) => Place::Beaten { safest, quickest },
        _ => Place::Apart,
    }
}
