//! What matters: how far a target's mean moves when one uncertain constant goes across its range.

use std::sync::Arc;

use rayon::prelude::*;

use crate::chance::{Key, Luck};
use crate::drill::{Action, Beginning};
use crate::model::{Library, Scenario, Setup};

use super::knobs::{Knob, knobs};
use super::linear::{Coefficients, adjoint};
use super::{Aim, Plan, Target};

/// The effect of one constant, all others at their values.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Effect {
    /// What the constant is.
    pub constant: String,
    /// Basis id that gives its range.
    pub basis: String,
    /// Its value.
    pub value: f64,
    /// The ends of its range.
    pub range: (f64, f64),
    /// The target's mean count with the constant at its value.
    pub at_value: f64,
    /// The same at both ends of the range.
    pub at_range: (f64, f64),
}

impl Effect {
    /// How much the target's mean changes from one end of the range to the other.
    pub fn swing(&self) -> f64 {
        (self.at_range.1 - self.at_range.0).abs()
    }
}

/// Turns every uncertain constant to both ends of its published or plausible range, one at a time, and computes the
/// target's exact mean over `starts` drawn beginnings, the same ones each time. Sorted by effect, largest first.
///
/// # Errors
/// The actions cannot be done with this kit, or the target has no exact mean.
pub fn sensitivity(
    setup: &Setup,
    actions: &[Action],
    target: Target,
    starts: u64,
    seed: u64,
) -> Result<Vec<Effect>, String> {
    let library = &setup.library;
    let mean = |library: &Library, scenario: &Scenario| {
        target_mean(library, scenario, actions, target, starts, seed)
    };
    let at_value = mean(library, &setup.scenario)?;
    let mut effects = knobs(library, &setup.scenario, setup.organism.class)
        .into_par_iter()
        .map(|knob| {
            let at = |value: f64| {
                let (mut library, mut scenario) = ((**library).clone(), setup.scenario.clone());
                (knob.turn)(&mut library, &mut scenario, value);
                mean(&library, &scenario)
            };
            let at_range = (at(knob.range.0)?, at(knob.range.1)?);
            let Knob {
                constant,
                basis,
                value,
                range,
                ..
            } = knob;
            Ok(Effect {
                constant,
                basis,
                value,
                range,
                at_value,
                at_range,
            })
        })
        .collect::<Result<Vec<Effect>, String>>()?;
    effects.sort_by(|a, b| {
        b.swing()
            .total_cmp(&a.swing())
            .then_with(|| a.constant.cmp(&b.constant))
    });
    Ok(effects)
}

fn target_mean(
    library: &Library,
    scenario: &Scenario,
    actions: &[Action],
    target: Target,
    starts: u64,
    seed: u64,
) -> Result<f64, String> {
    let setup = Setup::new(Arc::new(library.clone()), scenario).map_err(|e| e.to_string())?;
    let mut sum = 0.0;
    for n in 0..starts {
        let beginning = Beginning::draw(&setup, Luck::new(Key(seed).within(n).0));
        let plan = Plan::new(&setup, &beginning.state.faults, actions).map_err(|e| e.to_string())?;
        let aim = Aim::new(&setup, &plan, target);
        let moments = aim
            .linear()
            .ok_or_else(|| format!("{}: this has no exact mean", target.label()))?;
        let worth = adjoint(&plan, &beginning.state.wet_until, moments, Coefficients::Mean);
        sum += beginning
            .books
            .totals()
            .iter()
            .zip(&worth)
            .map(|(&n, w)| n as f64 * w)
            .sum::<f64>();
    }
    Ok(sum / starts as f64)
}
