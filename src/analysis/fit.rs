//! Fitting what nobody has measured to what was counted under the lamp.
//!
//! Chances of brushes, how common the poor techniques are and how much tracer lay where have no published value. They
//! are found, within stated bounds, so that virtual trainees in the study scenarios get soiled as often as the people
//! in two published studies did. Counts, bounds and how the search goes stand in `assets/studies.ron`. One set of
//! parameters serves all targets; only the amounts of tracer differ between scenarios, because the studies' tracers did. What comes out is a fit, never a prediction.

use crate::model::{Library, Load, SearchedNumber};

use super::study::{Outcome, outcomes};

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
    /// Basis id.
    pub basis: String,
    knob: Knob,
}

#[derive(Clone, Debug, PartialEq)]
enum Knob {
    Odds(String),
    Elsewhere(SearchedNumber),
}

/// Every parameter with its value in this content: the factors of `fitted.ron`, where a search begins at none at all,
/// and what stands in trainees and scenarios.
pub fn parameters(library: &Library) -> Vec<Parameter> {
    let odds = library.tunings.iter().map(|t| Parameter {
        name: format!("odds of {}", t.id),
        value: t.odds,
        prior: 1.0,
        bounds: t.bounds,
        basis: t.basis.clone(),
        knob: Knob::Odds(t.id.clone()),
    });
    let elsewhere = library.studies.searched.iter().map(|s| Parameter {
        name: s.name.clone(),
        value: match &s.number {
            SearchedNumber::Poor { trainee } => library.trainee(trainee).map_or(0.0, |t| t.poor),
            SearchedNumber::Hurry { trainee } => library.trainee(trainee).map_or(0.0, |t| t.hurry),
            SearchedNumber::Weight { trainee, technique } => {
                library.trainee(trainee).map_or(1.0, |t| t.poor_weight(technique))
            }
            SearchedNumber::Amount { scenario } => largest(library, scenario),
        },
        prior: s.before,
        bounds: s.bounds,
        basis: s.basis.clone(),
        knob: Knob::Elsewhere(s.number.clone()),
    });
    odds.chain(elsewhere).collect()
}

fn median(load: &Load) -> f64 {
    match load {
        Load::Fixed(amount) => *amount as f64,
        Load::Poisson(mean) => *mean,
        Load::Lognormal { median, .. } => *median,
        Load::Spots { spots, each } => spots.count * each,
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
        parameter.set(&mut library, value);
    }
    library
}

impl Parameter {
    /// What it is for people: how much or how often what happens, without a full stop.
    pub(super) fn words(&self, library: &Library) -> String {
        let of = |trainee: &str| {
            library
                .trainee(trainee)
                .map_or("", |t| t.label.as_str())
                .to_owned()
        };
        match &self.knob {
            Knob::Odds(id) => {
                let tuning = library.tunings.iter().find(|t| t.id == *id);
                let what = tuning.map_or("", |t| t.what.as_str());
                // What it stands on top of is not beside it where this is told.
                format!("how often: {}", what.split(", on top of").next().unwrap_or(what))
            }
            Knob::Elsewhere(SearchedNumber::Poor { trainee }) => {
                format!("how often another technique is taken: {}", of(trainee))
            }
            Knob::Elsewhere(SearchedNumber::Hurry { trainee }) => {
                format!("how often in a hurry: {}", of(trainee))
            }
            Knob::Elsewhere(SearchedNumber::Weight { trainee, technique }) => {
                let technique = library.technique(technique);
                let technique = technique.map_or("", |t| t.label.as_str());
                format!("how common among other techniques: {technique}; {}", of(trainee))
            }
            Knob::Elsewhere(SearchedNumber::Amount { scenario }) => {
                let scenario = library.scenario(scenario).map_or("", |s| s.label.as_str());
                format!("how much lies there at the start: {scenario}")
            }
        }
    }

    /// True if it can make a difference to this trainee in this scenario.
    pub(super) fn acts(&self, in_scenario: &str, who: &str) -> bool {
        match &self.knob {
            Knob::Odds(_) => true,
            Knob::Elsewhere(number) => match number {
                SearchedNumber::Poor { trainee }
                | SearchedNumber::Hurry { trainee }
                | SearchedNumber::Weight { trainee, .. } => trainee == who,
                SearchedNumber::Amount { scenario } => scenario == in_scenario,
            },
        }
    }

    /// Gives it another value in a library in which it has the one that it had when it was listed.
    pub(super) fn set(&self, library: &mut Library, value: f64) {
        match &self.knob {
            Knob::Odds(id) => {
                if let Some(tuning) = library.tunings.iter_mut().find(|t| t.id == *id) {
                    tuning.apply(&mut library.techniques, value / tuning.odds);
                    tuning.odds = value;
                }
            }
            Knob::Elsewhere(number) => put(library, number, value, self.value),
        }
    }
}

/// Gives a number of a trainee or a scenario another value than `before`.
fn put(library: &mut Library, number: &SearchedNumber, value: f64, before: f64) {
    match number {
        SearchedNumber::Poor { trainee }
        | SearchedNumber::Hurry { trainee }
        | SearchedNumber::Weight { trainee, .. } => {
            let Some(trainee) = library.trainees.iter_mut().find(|t| t.id == *trainee) else {
                return;
            };
            match number {
                SearchedNumber::Poor { .. } => trainee.poor = value,
                SearchedNumber::Weight { technique, .. } => {
                    trainee.poor_weights.retain(|(id, _)| id != technique);
                    trainee.poor_weights.push((technique.clone(), value));
                }
                _ => trainee.hurry = value,
            }
        }
        SearchedNumber::Amount { scenario } => {
            let Some(scenario) = library.scenarios.iter_mut().find(|s| s.id == *scenario) else {
                return;
            };
            for start in &mut scenario.start {
                if let Load::Lognormal { median, .. } = &mut start.load {
                    *median *= value / before;
                }
            }
        }
    }
}

/// The sum of squared misses of the fitted targets, and a little for every step away from what was thought before:
/// what the targets do not decide stays as it was.
fn loss(outcomes: &[Outcome], pull: f64, from: &[f64], at: &[f64]) -> f64 {
    let misses: f64 = outcomes.iter().filter(|o| o.fitted).map(Outcome::miss).sum();
    let steps: f64 = from.iter().zip(at).map(|(a, b)| libm::log(b / a).powi(2)).sum();
    misses + pull * steps
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
    let Some(how) = &library.studies.search else {
        return Err(
            "this content does not say how to search; `search` stands in `assets/studies.ron`".to_owned(),
        );
    };
    let parameters = parameters(library);
    let from: Vec<f64> = parameters.iter().map(|p| p.prior).collect();
    let mut at = from.clone();
    let begin = with(library, &parameters, &at);
    let mut best = loss(&outcomes(&begin, repeats, seed)?, how.pull, &from, &at);
    let mut step = how.first_step;
    let mut done = 0;
    'search: loop {
        let mut helped = false;
        for (p, parameter) in parameters.iter().enumerate() {
            for sign in [1.0, -1.0] {
                if done >= evaluations || step < how.last_step {
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
                    how.pull,
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
