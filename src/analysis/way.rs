//! What is repeated: the same actions every time, or a trainee's attempts, which differ from time to time; and the plans
//! that come of it. Does not know what is counted in them.

use std::sync::{Arc, Mutex, PoisonError};

use crate::chance::Luck;
use crate::drill::{Action, ActiveFault};
use crate::model::{Sequence, Setup, Trainee};

use super::trainee::{attempt, lapse};
use super::{Aim, Plan, Target};

/// What is repeated.
#[derive(Clone, Copy, Debug)]
pub enum Way<'a> {
    /// The same actions every time.
    Script(&'a [Action]),
    /// A trainee at a sequence: other lapses every time.
    Rehearsed(&'a Sequence, &'a Trainee),
    /// A trainee who is to do these actions: other lapses every time.
    Lapsed(&'a [Action], &'a Trainee),
}

/// A plan and what each target counts in it.
#[derive(Debug)]
pub(super) struct Prepared {
    pub plan: Plan,
    pub aims: Vec<Aim>,
    /// True if a trainee had a lapse in it.
    pub lapsed: bool,
}

/// Plans of the same actions that were made before, by the faults that were there: most repeats have one of a few sets.
#[derive(Debug, Default)]
pub(super) struct Known(Mutex<Vec<(Vec<ActiveFault>, Arc<Prepared>)>>);

impl Way<'_> {
    /// The plan of one repeat.
    ///
    /// # Errors
    /// A sentence: what cannot be done with this kit.
    pub(super) fn prepare(
        &self,
        setup: &Setup,
        faults: &[ActiveFault],
        targets: &[Target],
        luck: Luck,
        known: &Known,
    ) -> Result<Arc<Prepared>, String> {
        let aimed = |plan: Plan, lapsed: bool| {
            let aims = Aim::all(setup, &plan, targets);
            Arc::new(Prepared { plan, aims, lapsed })
        };
        let planned = |actions: &[Action]| Plan::new(setup, faults, actions).map_err(|e| e.to_string());
        match self {
            Way::Script(actions) => {
                let mut known = known.0.lock().unwrap_or_else(PoisonError::into_inner);
                if let Some((_, prepared)) = known.iter().find(|(had, _)| had == faults) {
                    return Ok(prepared.clone());
                }
                let prepared = aimed(planned(actions)?, false);
                known.push((faults.to_vec(), prepared.clone()));
                Ok(prepared)
            }
            Way::Rehearsed(sequence, trainee) => {
                // A gap bares what it is in, and whoever does it does not know: what they do is settled without faults.
                let (plan, lapses) = attempt(setup, sequence, trainee, luck).map_err(|r| r.to_string())?;
                let plan = if faults.is_empty() {
                    plan
                } else {
                    planned(&plan.actions)?
                };
                Ok(aimed(plan, !lapses.is_empty()))
            }
            Way::Lapsed(actions, trainee) => {
                let did = lapse(setup, actions, trainee, luck);
                Ok(aimed(planned(&did.actions)?, !did.lapses.is_empty()))
            }
        }
    }
}
