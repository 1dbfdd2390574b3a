//! What is repeated: the same actions every time, or a trainee's attempts, which differ from time to time; and the plans
//! that come of it. Does not know what is counted in them.

use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use crate::chance::Luck;
use crate::drill::{Action, ActiveFault};
use crate::model::{Sequence, Setup, Trainee};

use super::aim::Sought;
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

/// What repeats of ways share that are asked the same targets: plans of the same
/// actions, by the faults that were there, since most repeats have one of a few sets; and atlases of the kit, so that what an attempt brings about is worked out once.
#[derive(Debug)]
pub(super) struct Known<'s> {
    setup: &'s Setup,
    plans: Mutex<Vec<(Vec<ActiveFault>, Arc<Prepared>)>>,
    /// Those that nobody is using: there come to be as many as threads.
    idle: Mutex<Vec<Atlas<'s>>>,
    /// The targets that were asked first.
    sought: OnceLock<Vec<Sought>>,
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
            sought: OnceLock::new(),
        }
    }

    /// What targets count in a plan.
    fn aims(&self, targets: &[Target], plan: &Plan) -> Vec<Aim> {
        let make = || {
            targets
                .iter()
                .map(|&target| Sought::new(self.setup, target))
                .collect()
        };
        let sought = self.sought.get_or_init(make);
        match sought.iter().map(|s| s.target).eq(targets.iter().copied()) {
            true => sought
                .iter()
                .map(|sought| sought.in_plan(self.setup, plan))
                .collect(),
            false => Aim::all(self.setup, plan, targets),
        }
    }

    /// Lends an atlas out.
    fn with_atlas<T>(&self, work: impl FnOnce(&mut Atlas<'s>) -> T) -> T {
        let idle = lock(&self.idle).pop();
        let mut atlas = idle.unwrap_or_else(|| Atlas::new(self.setup));
        let result = work(&mut atlas);
        lock(&self.idle).push(atlas);
        result
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
        let prepared = |plan: Plan, lapsed: bool| {
            let aims = known.aims(targets, &plan);
            Arc::new(Prepared { plan, aims, lapsed })
        };
        let planned = |actions: &[Action]| {
            known
                .with_atlas(|atlas| Plan::within(atlas, faults, actions))
                .map_err(|e| e.to_string())
        };
        // A gap bares what it is in, and whoever does it does not know: what they do is settled without faults, but for what is felt.
        let (plan, lapses) = match self {
            Way::Script(actions) => {
                // Everyone waits for the one plan, rather than making it too.
                let mut plans = lock(&known.plans);
                let known = plans
                    .iter()
                    .find(|(had, known)| had == faults && known.plan.actions == *actions);
                if let Some((_, prepared)) = known {
                    return Ok(prepared.clone());
                }
                let prepared = prepared(planned(actions)?, false);
                plans.push((faults.to_vec(), prepared.clone()));
                return Ok(prepared);
            }
            Way::Rehearsed(sequence, trainee) => known
                .with_atlas(|atlas| attempt(atlas, sequence, trainee, luck, faults))
                .map_err(|r| r.to_string())?,
            Way::Lapsed(actions, trainee) => known.with_atlas(|atlas| lapsed(atlas, actions, trainee, luck)),
        };
        let plan = if faults.is_empty() {
            plan
        } else {
            planned(&plan.actions)?
        };
        Ok(prepared(plan, !lapses.is_empty()))
    }
}
