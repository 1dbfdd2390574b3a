//! What is repeated: the same actions every time, or a trainee's attempts, which differ from time to time; and the plans
//! that come of it. Does not know what is counted in them.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::chance::Luck;
use crate::drill::{Action, ActiveFault};
use crate::model::{Sequence, Setup, Trainee};

use super::atlas::Atlas;
use super::trainee::{attempt, lapsed};
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

/// What repeats of a way share: plans of the same actions, by the faults that were there, since most repeats have one of
/// a few sets; and atlases, so that nothing is worked out by two attempts.
#[derive(Debug)]
pub(super) struct Known<'s> {
    setup: &'s Setup,
    plans: Mutex<Vec<(Vec<ActiveFault>, Arc<Prepared>)>>,
    /// Those that nobody is using: there come to be as many as threads.
    idle: Mutex<Vec<Atlases<'s>>>,
}

/// One atlas for each set of faults.
#[derive(Debug, Default)]
struct Atlases<'s>(Vec<Atlas<'s>>);

impl<'s> Atlases<'s> {
    fn with(&mut self, setup: &'s Setup, faults: &[ActiveFault]) -> &mut Atlas<'s> {
        let known = self.0.iter().position(|atlas| atlas.faults() == faults);
        let at = known.unwrap_or_else(|| {
            self.0.push(Atlas::new(setup, faults));
            self.0.len() - 1
        });
        &mut self.0[at]
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl<'s> Known<'s> {
    /// Nothing yet.
    pub(super) fn new(setup: &'s Setup) -> Known<'s> {
        Known {
            setup,
            plans: Mutex::default(),
            idle: Mutex::default(),
        }
    }
}

impl Way<'_> {
    /// The plan of one repeat.
    ///
    /// # Errors
    /// A sentence: what cannot be done with this kit.
    pub(super) fn prepare(
        &self,
        faults: &[ActiveFault],
        targets: &[Target],
        luck: Luck,
        known: &Known<'_>,
    ) -> Result<Arc<Prepared>, String> {
        let mut plans = match self {
            // Everyone waits for the one plan, rather than making it too.
            Way::Script(_) => Some(lock(&known.plans)),
            Way::Rehearsed(..) | Way::Lapsed(..) => None,
        };
        let before = plans.iter().flat_map(|plans| plans.iter());
        if let Some((_, prepared)) = before.clone().find(|(had, _)| had == faults) {
            return Ok(prepared.clone());
        }
        let mut atlases = lock(&known.idle).pop().unwrap_or_default();
        let planned = self.plan(faults, luck, known.setup, &mut atlases);
        lock(&known.idle).push(atlases);
        let (plan, lapsed) = planned?;
        let aims = Aim::all(known.setup, &plan, targets);
        let prepared = Arc::new(Prepared { plan, aims, lapsed });
        if let Some(plans) = &mut plans {
            plans.push((faults.to_vec(), prepared.clone()));
        }
        Ok(prepared)
    }

    /// The plan of one repeat, and whether a trainee had a lapse in it.
    fn plan<'s>(
        &self,
        faults: &[ActiveFault],
        luck: Luck,
        setup: &'s Setup,
        atlases: &mut Atlases<'s>,
    ) -> Result<(Plan, bool), String> {
        // A gap bares what it is in, and whoever does it does not know: what they do is settled without faults.
        let (plan, lapses) = match self {
            Way::Script(actions) => {
                let plan = Plan::within(atlases.with(setup, faults), actions);
                return Ok((plan.map_err(|e| e.to_string())?, false));
            }
            Way::Rehearsed(sequence, trainee) => {
                attempt(atlases.with(setup, &[]), sequence, trainee, luck).map_err(|r| r.to_string())?
            }
            Way::Lapsed(actions, trainee) => lapsed(atlases.with(setup, &[]), actions, trainee, luck),
        };
        let plan = if faults.is_empty() {
            plan
        } else {
            Plan::within(atlases.with(setup, faults), &plan.actions).map_err(|e| e.to_string())?
        };
        Ok((plan, !lapses.is_empty()))
    }
}
