//! Which sets of values of the unsure constants the published counts leave: sequential Monte Carlo.
//!
//! Sets are drawn from what is stated of each constant. The counts are let in step by step, each as long as leaves enough
//! sets that count (tempered likelihoods: Del Moral, Doucet and Jasra 2006); sets that the counts speak against are
//! replaced by copies of others, and every set is then moved by Metropolis steps along the difference of two others (ter
//! Braak 2006), so that copies part again. All is drawn by seed: the same seed gives the same sets.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::chance::{Key, Luck, Purpose, normal, uniform};
use crate::model::{Calibration, Ensemble, Library, Measure, Member, Scenario, StudyCount};

use super::study::{Outcome, outcomes};
use super::unknown::{drawn_score, unknowns, with};

/// A set under way.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Particle {
    /// See [`Member::number`].
    pub number: u64,
    /// See [`Member::scores`].
    pub scores: Vec<f64>,
    /// Log likelihood of all counts.
    pub fits: f64,
}

/// A calibration under way: enough to go on with after it was broken off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Progressed {
    /// The seed.
    pub seed: u64,
    /// Names of the constants.
    pub constants: Vec<String>,
    /// Shares of the weight of the counts that were let in so far.
    pub steps: Vec<f64>,
    /// How far moves go, beside what is best for a normal law.
    pub stride: f64,
    /// Share of the moves after the last step that were taken.
    pub taken: f64,
    /// The sets.
    pub particles: Vec<Particle>,
}

/// What it takes to weigh sets of values.
struct Scales<'a> {
    library: &'a Library,
    scenario: &'a Scenario,
    how: &'a Calibration,
    counts: Vec<&'a StudyCount>,
    seed: u64,
}

/// Quantiles of a half-normal law in the middle of five equal parts (Abramowitz and Stegun, table 26.5).
const HALF_NORMAL: [f64; 5] = [0.125_661, 0.385_320, 0.674_490, 1.036_433, 1.644_854];

/// The counts that a calibration is held to.
pub fn weighing(library: &Library) -> Vec<&StudyCount> {
    let counts = library.studies.counts.iter();
    counts.filter(|c| c.fitted && !c.implied).collect()
}

/// How likely a published count is if the model's share is this, known to a standard error: its logarithm, up to a
/// constant.
pub fn log_likelihood(count: &StudyCount, between: f64, share: f64, error: f64) -> f64 {
    if let Measure::Ahead { by, half, .. } = count.measure {
        // An order was published without counts: short of it by a half width is as far as that goes.
        let spread = half * half + error * error;
        return -0.5 * (by - share).max(0.0).powi(2) / spread;
    }
    let logit = |p: f64| libm::log(p / (1.0 - p));
    let (published, counted) = match (count.counted, count.share) {
        (Some((hits, of)), _) => {
            let (hits, misses) = (hits as f64 + 0.5, (of - hits) as f64 + 0.5);
            (libm::log(hits / misses), 1.0 / hits + 1.0 / misses)
        }
        (None, Some(share)) => {
            // Nothing but the range is known.
            let inside = |p: f64| p.clamp(1e-3, 1.0 - 1e-3);
            let width = logit(inside(count.within.1)) - logit(inside(count.within.0));
            (logit(inside(share)), (width / (2.0 * 1.96)).powi(2))
        }
        (None, None) => return 0.0,
    };
    let ours = share.clamp(1e-3, 1.0 - 1e-3);
    let noise = (error / (ours * (1.0 - ours))).powi(2);
    let apart = logit(ours) - published;
    let laws = HALF_NORMAL.map(|quantile| {
        let variance = counted + noise + (quantile * between).powi(2);
        libm::exp(-0.5 * apart * apart / variance) / variance.sqrt()
    });
    let likelihood = laws.iter().sum::<f64>() / laws.len() as f64;
    libm::log(likelihood.max(f64::MIN_POSITIVE))
}

/// The standard error of an outcome.
fn error(outcome: &Outcome) -> f64 {
    (outcome.interval.high - outcome.interval.low) / (2.0 * 1.96)
}

impl Scales<'_> {
    /// What the counts come to with a set of values: share and standard error of each.
    fn shares(&self, constants: &[String], number: u64, scores: &[f64]) -> Result<Vec<(f64, f64)>, String> {
        let given = |name: &str| {
            let at = constants.iter().position(|constant| constant == name)?;
            Some(scores[at])
        };
        let class = self.library.organism(&self.scenario.organism).map(|o| o.class);
        let class = class.ok_or_else(|| format!("there is no organism `{}`", self.scenario.organism))?;
        let (library, _) = with(self.library, self.scenario, class, number, given, self.how.own);
        let found = outcomes(&library, self.how.repeats, self.seed)?;
        Ok(self
            .counts
            .iter()
            .map(|count| {
                let outcome = found.iter().find(|o| o.id == count.id);
                outcome.map_or((0.0, 1.0), |o| (o.ours, error(o)))
            })
            .collect())
    }

    fn fits(&self, constants: &[String], number: u64, scores: &[f64]) -> Result<f64, String> {
        let shares = self.shares(constants, number, scores)?;
        let counts = self.counts.iter().zip(shares);
        Ok(counts
            .map(|(count, (share, error))| log_likelihood(count, self.how.between_studies, share, error))
            .sum())
    }
}

/// A fresh number for a set: what it decides is drawn anew.
fn fresh(seed: u64, step: u64, of: u64) -> u64 {
    Key(seed).named("set").within(step).within(of).0 >> 32
}

/// How many of these sets count in effect, if each weighs this much.
pub fn effective(weights: &[f64]) -> f64 {
    let (sum, squares) = weights.iter().fold((0.0, 0.0), |(sum, squares), w| (sum + w, squares + w * w));
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

/// Weights from log weights, the largest 1.
fn weights(logs: impl Iterator<Item = f64> + Clone) -> Vec<f64> {
    let most = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    logs.map(|log| libm::exp(log - most)).collect()
}

/// Goes on with a calibration, or begins one, and calls `note` after every step.
///
/// # Errors
/// A sentence: the content lacks what a calibration needs, or what is gone on with was begun with other content.
pub fn calibrate(
    library: &Library,
    seed: u64,
    under_way: Option<Progressed>,
    mut note: impl FnMut(&Progressed) -> Result<(), String>,
) -> Result<Ensemble, String> {
    let how = library.calibration.as_ref().ok_or_else(|| {
        "this content does not say how to calibrate; `sets` and the rest stand in `assets/doubt.ron`".to_owned()
    })?;
    let counts = weighing(library);
    let first = library.studies.arms.first().and_then(|arm| library.scenario(&arm.scenario));
    let (Some(scenario), false) = (first, counts.is_empty()) else {
        return Err("this content holds no published counts; they stand in `assets/studies.ron`".to_owned());
    };
    let class = library.organism(&scenario.organism).map(|o| o.class);
    let class = class.ok_or_else(|| format!("there is no organism `{}`", scenario.organism))?;
    let constants: Vec<String> = unknowns(library, scenario, class).into_iter().map(|u| u.name).collect();
    let scales = Scales {
        library,
        scenario,
        how,
        counts,
        seed,
    };
    let mut state = match under_way {
        Some(state) => {
            if state.constants != constants || state.seed != seed || state.particles.len() as u64 != how.members {
                return Err("what was under way was begun with other content, another seed or another number of sets; \
                            begin anew"
                    .to_owned());
            }
            state
        }
        None => {
            let particles: Result<Vec<Particle>, String> = (0..how.members)
                .into_par_iter()
                .map(|n| {
                    let number = fresh(seed, 0, n);
                    let scores: Vec<f64> = constants.iter().map(|name| drawn_score(number, name)).collect();
                    let fits = scales.fits(&constants, number, &scores)?;
                    Ok(Particle { number, scores, fits })
                })
                .collect();
            let state = Progressed {
                seed,
                constants: constants.clone(),
                steps: vec![0.0],
                stride: 1.0,
                taken: 1.0,
                particles: particles?,
            };
            note(&state)?;
            state
        }
    };
    while state.steps.last().is_some_and(|&share| share < 1.0) {
        scales.step(&mut state)?;
        note(&state)?;
    }
    let members: Result<Vec<Member>, String> = state
        .particles
        .par_iter()
        .map(|p| {
            // As they are written, so that whoever reads them finds the same.
            let round = |x: f64| (x * 1000.0).round() / 1000.0;
            let scores: Vec<f64> = p.scores.iter().map(|&s| round(s)).collect();
            let shares = scales.shares(&constants, p.number, &scores)?;
            Ok(Member {
                number: p.number,
                scores,
                shares: shares.iter().map(|&(share, _)| round(share)).collect(),
                errors: shares.iter().map(|&(_, error)| round(error)).collect(),
            })
        })
        .collect();
    Ok(Ensemble {
        constants,
        counts: scales.counts.iter().map(|c| c.id.clone()).collect(),
        steps: state.steps,
        taken: state.taken,
        members: members?,
        basis: how.basis.clone(),
    })
}

impl Scales<'_> {
    /// Lets more of the counts in, replaces sets that count for little, and moves all.
    fn step(&self, state: &mut Progressed) -> Result<(), String> {
        let number = state.steps.len() as u64;
        let from = *state.steps.last().unwrap_or(&0.0);
        let wanted = self.how.effective * state.particles.len() as f64;
        let weighed = |to: f64| weights(state.particles.iter().map(|p| (to - from) * p.fits));
        let to = if effective(&weighed(1.0)) >= wanted {
            1.0
        } else {
            let (mut low, mut high) = (from, 1.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if effective(&weighed(middle)) >= wanted {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            low
        };
        let luck = Luck::new(Key(self.seed).named("step").within(number).0);
        let mut chosen = systematic(&weighed(to), uniform(&mut luck.stream(Key::of("choose"), Purpose::Doubt)))
            .into_iter()
            .map(|n| state.particles[n].clone())
            .collect::<Vec<_>>();
        state.steps.push(to);
        let mut taken = 0.0;
        for again in 0..self.how.moves {
            let others = chosen.clone();
            let moved: Result<Vec<(Particle, bool)>, String> = chosen
                .par_iter()
                .enumerate()
                .map(|(n, particle)| {
                    let key = Key::of("move").within(again).within(n as u64);
                    self.moved(state, &others, (n, particle), to, (luck, key), number * 1000 + again)
                })
                .collect();
            let moved = moved?;
            let share = moved.iter().filter(|(_, taken)| *taken).count() as f64 / moved.len() as f64;
            taken += share / self.how.moves as f64;
            chosen = moved.into_iter().map(|(particle, _)| particle).collect();
        }
        // About a quarter is best in many dimensions (Roberts, Gelman and Gilks 1997).
        state.stride *= if taken < 0.15 { 0.7 } else if taken > 0.35 { 1.3 } else { 1.0 };
        state.taken = taken;
        state.particles = chosen;
        Ok(())
    }

    /// A set after one Metropolis step, and whether it was taken.
    fn moved(
        &self,
        state: &Progressed,
        others: &[Particle],
        (n, particle): (usize, &Particle),
        to: f64,
        (luck, key): (Luck, Key),
        step: u64,
    ) -> Result<(Particle, bool), String> {
        let mut stream = luck.stream(key, Purpose::Doubt);
        let mut other = || {
            let at = (uniform(&mut stream) * (others.len() - 1) as f64) as usize;
            &others[at + usize::from(at >= n)].scores
        };
        let (one, two) = (other().clone(), other().clone());
        let along = state.stride * 2.38 / (2.0 * particle.scores.len() as f64).sqrt();
        let mut scores: Vec<f64> = particle
            .scores
            .iter()
            .zip(one.iter().zip(&two))
            .map(|(at, (one, two))| at + along * (one - two) + normal(&mut stream, 0.0, 0.02))
            .collect();
        // Every other step draws anew what the counts are not weighed by, and moves nothing else.
        let anew = step % 2 == 1;
        let number = match anew {
            true => {
                scores.clone_from(&particle.scores);
                fresh(self.seed, step, n as u64)
            }
            false => particle.number,
        };
        let prior = |scores: &[f64]| -> f64 { scores.iter().map(|s| -0.5 * s * s).sum() };
        if scores.iter().any(|s| s.abs() > 3.0) {
            return Ok((particle.clone(), false));
        }
        let fits = self.fits(&state.constants, number, &scores)?;
        let gain = to * (fits - particle.fits) + prior(&scores) - prior(&particle.scores);
        let taken = libm::log(uniform(&mut stream).max(f64::MIN_POSITIVE)) < gain;
        Ok(match taken {
            true => (Particle { number, scores, fits }, true),
            false => (particle.clone(), false),
        })
    }
}

/// As many places as there are weights, each weight's number as often as it is due, by one draw for all.
fn systematic(weights: &[f64], draw: f64) -> Vec<usize> {
    let all: f64 = weights.iter().sum();
    let step = all / weights.len() as f64;
    let (mut at, mut sum) = (0, weights[0]);
    (0..weights.len())
        .map(|n| {
            let place = (n as f64 + draw) * step;
            while sum < place && at + 1 < weights.len() {
                at += 1;
                sum += weights[at];
            }
            at
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_are_chosen_as_often_as_they_weigh() {
        let weights = [0.1, 0.0, 0.5, 0.4];
        for draw in [0.0, 0.3, 0.99] {
            let chosen = systematic(&weights, draw);
            let times = |n: usize| chosen.iter().filter(|&&c| c == n).count();
            assert_eq!((times(1), times(2)), (0, 2), "{chosen:?}");
            assert!(times(0) <= 1 && (1..=2).contains(&times(3)), "{chosen:?}");
        }
        assert_eq!(effective(&[1.0; 7]), 7.0);
        assert!((effective(&[1.0, 0.0, 0.0]) - 1.0).abs() < 1e-12);
    }
}
