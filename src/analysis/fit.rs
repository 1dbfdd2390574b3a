//! Fitting what nobody has measured to what was counted under the lamp.
//!
//! Chances of brushes, how common the poor techniques are and how much tracer lay where have no published value. They
//! are found, within stated bounds, so that virtual trainees in the study scenarios get soiled as often as the people
//! in two published studies did. One set of parameters serves all targets; only the amounts of tracer differ between
//! scenarios, because the studies' tracers did. What comes out is a fit, never a prediction.

use crate::model::{Library, Load};

use super::study::{DRILLED, GLOVES, GOWN, Outcome, SOLUTION, USUAL, outcomes};

/// A number that may be changed to meet the targets.
#[derive(Clone, Debug, PartialEq)]
pub struct Parameter {
    /// What it is, such as `odds of hurried`.
    pub name: String,
    /// Its value in the content.
    pub value: f64,
    /// What was thought likely before any count was looked at: where a search begins.
    pub prior: f64,
    /// Smallest and largest value allowed.
    pub bounds: (f64, f64),
    knob: Knob,
}

#[derive(Clone, Debug, PartialEq)]
enum Knob {
    Odds(String),
    Poor(&'static str),
    Hurry(&'static str),
    Weight(&'static str, &'static str),
    Amount(&'static str),
}

/// Parameters that stand in trainees and scenarios: name, where, value before the fit, bounds. An amount is the
/// largest median load of its scenario; the others keep their ratio to it.
#[rustfmt::skip]
const ELSEWHERE: [(&str, Knob, f64, (f64, f64)); 9] = [
    ("usual, poor technique", Knob::Poor(USUAL), 0.25, (0.05, 0.6)),
    ("usual, hurry", Knob::Hurry(USUAL), 0.3, (0.05, 0.6)),
    ("usual, weight of glove-strip-back", Knob::Weight(USUAL, "glove-strip-back"), 1.0, (0.2, 5.0)),
    ("usual, weight of gown-over-head", Knob::Weight(USUAL, "gown-over-head"), 1.0, (0.2, 5.0)),
    ("drilled, poor technique", Knob::Poor(DRILLED), 0.02, (0.01, 0.1)),
    ("drilled, hurry", Knob::Hurry(DRILLED), 0.03, (0.01, 0.2)),
    ("lotion on a glove palm", Knob::Amount(GLOVES), 2e4, (2e3, 2e5)),
    ("lotion on the gown chest", Knob::Amount(GOWN), 2e4, (2e3, 2e5)),
    ("solution on a glove palm", Knob::Amount(SOLUTION), 4e3, (4e2, 4e4)),
];

/// Every parameter with its value in this content.
pub fn parameters(library: &Library) -> Vec<Parameter> {
    let odds = library.tunings.iter().map(|t| Parameter {
        name: format!("odds of {}", t.id),
        value: t.odds,
        prior: 1.0,
        bounds: t.bounds,
        knob: Knob::Odds(t.id.clone()),
    });
    let elsewhere = ELSEWHERE
        .into_iter()
        .map(|(name, knob, prior, bounds)| Parameter {
            name: name.to_owned(),
            value: match &knob {
                Knob::Odds(_) => 1.0,
                Knob::Poor(id) => library.trainee(id).map_or(0.0, |t| t.poor),
                Knob::Hurry(id) => library.trainee(id).map_or(0.0, |t| t.hurry),
                Knob::Weight(id, technique) => library.trainee(id).map_or(1.0, |t| t.poor_weight(technique)),
                Knob::Amount(id) => largest(library, id),
            },
            prior,
            bounds,
            knob,
        });
    odds.chain(elsewhere).collect()
}

fn median(load: &Load) -> f64 {
    match load {
        Load::Fixed(amount) => *amount as f64,
        Load::Poisson(mean) => *mean,
        Load::Lognormal { median, .. } => *median,
    }
}

fn largest(library: &Library, scenario: &str) -> f64 {
    let loads = library.scenario(scenario).map_or(&[][..], |s| &s.start);
    loads.iter().map(|s| median(&s.load)).fold(0.0, f64::max)
}

/// The library with other values of its parameters.
fn with(library: &Library, parameters: &[Parameter], values: &[f64]) -> Library {
    let mut library = library.clone();
    for (parameter, &value) in parameters.iter().zip(values) {
        match &parameter.knob {
            Knob::Odds(id) => {
                if let Some(tuning) = library.tunings.iter_mut().find(|t| t.id == *id) {
                    tuning.apply(&mut library.techniques, value / tuning.odds);
                    tuning.odds = value;
                }
            }
            Knob::Poor(id) | Knob::Hurry(id) | Knob::Weight(id, _) => {
                let Some(trainee) = library.trainees.iter_mut().find(|t| t.id == *id) else {
                    continue;
                };
                match &parameter.knob {
                    Knob::Poor(_) => trainee.poor = value,
                    Knob::Weight(_, technique) => {
                        trainee.poor_weights.retain(|(id, _)| id != technique);
                        trainee.poor_weights.push(((*technique).to_owned(), value));
                    }
                    _ => trainee.hurry = value,
                }
            }
            Knob::Amount(id) => {
                let factor = value / parameter.value;
                let Some(scenario) = library.scenarios.iter_mut().find(|s| s.id == *id) else {
                    continue;
                };
                for start in &mut scenario.start {
                    if let Load::Lognormal { median, .. } = &mut start.load {
                        *median *= factor;
                    }
                }
            }
        }
    }
    library
}

/// The sum of squared misses of the fitted targets, and a little for every step away from what was thought before:
/// what the targets do not decide stays as it was.
fn loss(outcomes: &[Outcome], from: &[f64], at: &[f64]) -> f64 {
    let misses: f64 = outcomes.iter().filter(|o| o.fitted).map(Outcome::miss).sum();
    let steps: f64 = from.iter().zip(at).map(|(a, b)| libm::log(b / a).powi(2)).sum();
    misses + 0.02 * steps
}

/// Looks for better values, from the priors on: one parameter after the other is made larger and smaller by a factor, and what helps is
/// kept; when nothing helps, the factor is halved. Ends after `evaluations`, and calls `note(done, loss)` after each.
///
/// # Errors
/// As [`outcomes`].
pub fn search(
    library: &Library,
    evaluations: usize,
    repeats: u64,
    seed: u64,
    mut note: impl FnMut(usize, f64),
) -> Result<(Library, Vec<Parameter>), String> {
    let parameters = parameters(library);
    let from: Vec<f64> = parameters.iter().map(|p| p.prior).collect();
    let mut at = from.clone();
    let begin = with(library, &parameters, &at);
    let mut best = loss(&outcomes(&begin, repeats, seed)?, &from, &at);
    let mut step = 0.4;
    let mut done = 0;
    'search: loop {
        let mut helped = false;
        for (p, parameter) in parameters.iter().enumerate() {
            for sign in [1.0, -1.0] {
                if done >= evaluations || step < 0.01 {
                    break 'search;
                }
                let mut tried = at.clone();
                let (low, high) = parameter.bounds;
                tried[p] = (at[p] * libm::exp(sign * step)).clamp(low, high);
                if tried[p] == at[p] {
                    continue;
                }
                done += 1;
                let there = loss(
                    &outcomes(&with(library, &parameters, &tried), repeats, seed)?,
                    &from,
                    &tried,
                );
                let better = there < best;
                if better {
                    (best, at, helped) = (there, tried, true);
                }
                note(done, best);
                if better {
                    break;
                }
            }
        }
        if !helped {
            step /= 2.0;
        }
    }
    let found = with(library, &parameters, &at);
    let parameters = parameters
        .into_iter()
        .zip(at)
        .map(|(parameter, value)| Parameter { value, ..parameter })
        .collect();
    Ok((found, parameters))
}
