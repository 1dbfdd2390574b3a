//! What matters: how far a target's mean moves when one uncertain constant goes across its range.

use std::sync::Arc;

use rayon::prelude::*;

use crate::chance::{Key, Luck};
use crate::drill::{Action, Beginning};
use crate::model::{Grazes, How, Library, Scenario, Setup, Step};

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

/// Sets a constant in a library or in the scenario.
type Turn = Box<dyn Fn(&mut Library, &mut Scenario, f64) + Send + Sync>;

/// One constant that can be changed.
struct Knob {
    constant: String,
    basis: String,
    value: f64,
    range: (f64, f64),
    turn: Turn,
}

/// Half to double: the range given to groups of constants that have been measured by nobody.
const UNMEASURED: (f64, f64) = (0.5, 2.0);

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
    let mut effects = knobs(setup)
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

/// Every constant with a range that can matter to this scenario's organism.
fn knobs(setup: &Setup) -> Vec<Knob> {
    let library = &setup.library;
    let class = setup.organism.class;
    let range = |basis: &str| library.basis(basis).and_then(|b| b.range);
    let mut knobs = Vec::new();
    for (n, row) in library.transfers.iter().enumerate() {
        let Some((low, high)) = range(&row.basis) else {
            continue;
        };
        if !row.classes.is_empty() && !row.classes.contains(&class) {
            continue;
        }
        let list = |ids: &[String]| {
            if ids.is_empty() {
                "any".to_owned()
            } else {
                ids.join("|")
            }
        };
        for (wet, value) in [(true, row.wet.mean), (false, row.dry.mean)] {
            // A range that does not hold the value was given for the other state of the same row.
            let (low, high) = (
                low.clamp(1e-6, 0.98).min(value),
                high.clamp(1e-6, 0.98).max(value),
            );
            knobs.push(Knob {
                constant: format!(
                    "transfer {} > {}, {}",
                    list(&row.from),
                    list(&row.to),
                    if wet { "wet" } else { "dry" }
                ),
                basis: row.basis.clone(),
                value,
                range: (low, high),
                turn: Box::new(move |library, _, mean| {
                    let row = &mut library.transfers[n];
                    let law = if wet { &mut row.wet } else { &mut row.dry };
                    // Keep the law a Beta law: the spread shrinks where the mean leaves no room for it.
                    law.sd = law.sd.min(0.9 * (mean * (1.0 - mean)).sqrt());
                    law.mean = mean;
                }),
            });
        }
    }
    for (p, product) in library.products.iter().enumerate() {
        for (r, reduction) in product
            .reductions
            .iter()
            .enumerate()
            .filter(|(_, r)| r.class == class)
        {
            if let Some(range) = range(&reduction.basis) {
                knobs.push(Knob {
                    constant: format!("{}, log10 reduction", product.id),
                    basis: reduction.basis.clone(),
                    value: reduction.mean,
                    range,
                    turn: Box::new(move |library, _, mean| library.products[p].reductions[r].mean = mean),
                });
            }
        }
    }
    for used in &setup.scenario.faults {
        let Some(f) = library.faults.iter().position(|f| f.id == used.fault) else {
            continue;
        };
        let constant = format!("{}, chance", used.fault);
        if knobs.iter().any(|k: &Knob| k.constant == constant) {
            continue;
        }
        if let Some(range) = range(&library.faults[f].basis) {
            let fault = used.fault.clone();
            knobs.push(Knob {
                constant,
                basis: library.faults[f].basis.clone(),
                value: used.chance,
                range: (range.0.clamp(0.0, 1.0), range.1.clamp(0.0, 1.0)),
                turn: Box::new(move |_, scenario, chance| {
                    let mine = scenario.faults.iter_mut().filter(|u| u.fault == fault);
                    mine.for_each(|used| used.chance = chance);
                }),
            });
        }
    }
    if let Some(range) = range(&library.slide.1) {
        knobs.push(Knob {
            constant: "factor of a sliding contact".to_owned(),
            basis: library.slide.1.clone(),
            value: library.slide.0,
            range: (range.0.max(1.0), range.1.max(1.0)),
            turn: Box::new(|library, _, factor| library.slide.0 = factor),
        });
    }
    knobs.push(Knob {
        constant: "all chances of brushes, factor".to_owned(),
        basis: "brush-chances".to_owned(),
        value: 1.0,
        range: UNMEASURED,
        turn: Box::new(|library, _, factor| {
            each_contact(library, |_, how| {
                if let How::Brush { steady, hurried } = how {
                    *steady = (*steady * factor).min(1.0);
                    *hurried = (*hurried * factor).min(1.0);
                }
            });
        }),
    });
    knobs.push(Knob {
        constant: "all contact areas of techniques, factor".to_owned(),
        basis: "contact-areas".to_owned(),
        value: 1.0,
        range: UNMEASURED,
        turn: Box::new(|library, _, factor| {
            each_contact(library, |area, how| {
                if *how != How::Graze {
                    *area *= factor;
                }
            });
        }),
    });
    if let Some(range) = range(&library.grazes.area_basis) {
        knobs.push(Knob {
            constant: "all mean areas of small contacts, factor".to_owned(),
            basis: library.grazes.area_basis.clone(),
            value: 1.0,
            range,
            turn: Box::new(|library, _, factor| {
                each_contact(library, |area, how| {
                    if *how == How::Graze {
                        *area *= factor;
                    }
                });
            }),
        });
    }
    if let Some(range) = range(&library.grazes.shed_basis) {
        knobs.push(Knob {
            constant: "all shares that are shed, factor".to_owned(),
            basis: library.grazes.shed_basis.clone(),
            value: 1.0,
            range,
            turn: Box::new(|library, _, factor| {
                for step in library.techniques.iter_mut().flat_map(|t| &mut t.steps) {
                    if let Step::Shed { share, .. } = step {
                        *share = (*share * factor).min(1.0);
                    }
                }
            }),
        });
    }
    type Field = fn(&mut Grazes) -> &mut f64;
    let grazes = &library.grazes;
    let fields: [(&str, &str, Field); 3] = [
        ("small contacts, between people", &grazes.people_basis, |g| {
            &mut g.people
        }),
        ("small contacts, between goes", &grazes.goes_basis, |g| {
            &mut g.goes
        }),
        ("small contacts in a hurry, factor", &grazes.hurried_basis, |g| {
            &mut g.hurried
        }),
    ];
    for (constant, basis, field) in fields {
        if let Some(range) = range(basis) {
            knobs.push(Knob {
                constant: constant.to_owned(),
                basis: basis.to_owned(),
                value: *field(&mut grazes.clone()),
                range,
                turn: Box::new(move |library, _, value| *field(&mut library.grazes) = value),
            });
        }
    }
    knobs
}

fn each_contact(library: &mut Library, mut change: impl FnMut(&mut f64, &mut How)) {
    for technique in &mut library.techniques {
        for step in &mut technique.steps {
            if let Step::Contact { area, how, .. } = step {
                change(area, how);
            }
        }
    }
}
