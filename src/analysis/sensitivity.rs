//! What matters: how far a target's mean moves when one uncertain constant goes across its range.

use std::sync::Arc;

use crate::outside::threads::parallel::*;

use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::model::{Library, Scenario, Setup};

use super::Target;
use super::doubt::{Asking, once, way};
use super::fit::parameters;
use super::knobs::{Turn, knobs};
use super::named::tell_apart;
use super::way::Known;

/// The effect of one constant, all others at their values.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Effect {
    /// What the constant is.
    pub constant: String,
    /// The same for people.
    pub words: String,
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
    /// Share of people on whom enough to be seen gets to the target, 0 to 1, with the constant at its value.
    pub share_at_value: f64,
    /// The same at both ends of the range.
    pub share_at_range: (f64, f64),
}

impl Effect {
    /// How much the target's mean changes from one end of the range to the other.
    pub fn swing(&self) -> f64 {
        (self.at_range.1 - self.at_range.0).abs()
    }
}

/// A constant that can be turned.
struct Turnable {
    constant: String,
    words: String,
    basis: String,
    value: f64,
    range: (f64, f64),
    turn: Turn,
}

/// Every uncertain constant that can make a difference to this trainee in this scenario: what was fitted, within the bounds
/// of the fit, and all others.
fn turnables(setup: &Setup, who: &str) -> Vec<Turnable> {
    let library = &setup.library;
    let fitted = parameters(library);
    let fitted = fitted.into_iter().filter(|p| p.acts(&setup.scenario.id, who));
    let fitted = fitted.map(|p| Turnable {
        constant: p.name.clone(),
        words: p.words(library),
        basis: p.basis.clone(),
        value: p.value,
        range: p.bounds,
        turn: Box::new(move |library, scenario, value| {
            p.set(library, value);
            // It may be a load of this very scenario.
            if let Some(changed) = library.scenario(&scenario.id) {
                *scenario = changed.clone();
            }
        }),
    });
    let others = knobs(library, &setup.scenario, setup.organism.class).into_iter();
    let others = others.filter(|k| k.who.as_ref().is_none_or(|of| of == who));
    let others = others.map(|k| Turnable {
        constant: k.constant,
        words: k.words,
        basis: k.basis,
        value: k.value,
        range: k.range,
        turn: k.turn,
    });
    let mut all: Vec<Turnable> = fitted.chain(others).collect();
    tell_apart(&mut all, |t| &mut t.constant, |t| t.basis.clone());
    all
}

/// Turns every uncertain constant to both ends of its published or plausible range, one at a time, and works out the
/// target's exact mean over `starts` drawn beginnings, and in how many people enough to be seen gets there; beginnings and
/// draws are the same ones each time. What was fitted of people other than the trainee is left out. Sorted by effect on the
/// mean, largest first.
///
/// # Errors
/// The way cannot be followed with this kit, or the target has no exact mean.
pub fn sensitivity(
    asking: Asking<'_>,
    target: Target,
    starts: u64,
    seed: u64,
) -> Result<Vec<Effect>, String> {
    let setup = asking.setup;
    let library = &setup.library;
    let played = |library: Arc<Library>, scenario: &Scenario| {
        let setup = Setup::new(library, scenario).map_err(|e| e.to_string())?;
        played(&setup, &asking, target, starts, seed)
    };
    let (at_value, share_at_value) = played(library.clone(), &setup.scenario)?;
    let mut effects = turnables(setup, asking.trainee)
        .into_par_iter()
        .map(|knob| {
            let at = |value: f64| {
                let (mut library, mut scenario) = ((**library).clone(), setup.scenario.clone());
                (knob.turn)(&mut library, &mut scenario, value);
                played(Arc::new(library), &scenario)
            };
            let (low, high) = (at(knob.range.0)?, at(knob.range.1)?);
            Ok(Effect {
                constant: knob.constant,
                words: knob.words,
                basis: knob.basis,
                value: knob.value,
                range: knob.range,
                at_value,
                at_range: (low.0, high.0),
                share_at_value,
                share_at_range: (low.1, high.1),
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

/// The mean count at a target, and the share of people on whom enough to be seen gets there.
fn played(
    setup: &Setup,
    asking: &Asking<'_>,
    target: Target,
    starts: u64,
    seed: u64,
) -> Result<(f64, f64), String> {
    let (way, known) = (way(asking, setup)?, Known::new(setup));
    let (mut mean, mut share) = (0.0, 0.0);
    for n in 0..starts {
        let luck = Luck::new(Key(seed).within(n).0);
        let beginning = Beginning::draw(setup, luck);
        for once in once(&beginning, setup, &way, &[target], luck, &known)? {
            mean += once
                .mean
                .ok_or_else(|| format!("{}: this has no exact mean", target.label()))?;
            share += once.seen;
        }
    }
    Ok((mean / starts as f64, share / starts as f64))
}
