//! What an ensemble shows: how the counts are met, how each study is predicted from the others, and of which constants the
//! counts say anything.

use crate::model::{Ensemble, Library, StudyCount};

use super::calibrate::{effective, log_likelihood};
use super::stats::{Interval, quantile};

/// Members that must count in effect for a prediction from the other studies to be told.
const ENOUGH: f64 = 20.0;

/// How a published count is met.
#[derive(Clone, Debug, PartialEq)]
pub struct Met<'a> {
    /// The count.
    pub count: &'a StudyCount,
    /// Median and 5 to 95 % over members.
    pub all: (f64, Interval),
    /// The same with all counts of this one's source left out; none if too few members tell.
    pub without: Option<(f64, Interval)>,
}

/// What the counts say of a constant.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt<'a> {
    /// Its name.
    pub constant: &'a str,
    /// Median and 5 to 95 % of its standard score over members; 0 and -1.645 to 1.645 if nothing was learnt.
    pub score: (f64, Interval),
    /// Spread of the scores; 1 if nothing was learnt.
    pub spread: f64,
}

/// Value at a share of the weight, of values with weights.
fn weighted(values: &[f64], weights: &[f64], share: f64) -> f64 {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let all: f64 = weights.iter().sum();
    let mut sum = 0.0;
    for &n in &order {
        sum += weights[n];
        if sum >= share * all {
            return values[n];
        }
    }
    order.last().map_or(0.0, |&n| values[n])
}

fn summed(values: &[f64], weights: &[f64]) -> (f64, Interval) {
    let at = |share| weighted(values, weights, share);
    (
        at(0.5),
        Interval {
            low: at(0.05),
            high: at(0.95),
        },
    )
}

/// How each count is met by the members, and by those that the other studies alone would leave.
pub fn met<'a>(library: &'a Library, ensemble: &Ensemble) -> Vec<Met<'a>> {
    let between = library.calibration.as_ref().map_or(0.0, |c| c.between_studies);
    let counts: Vec<Option<&StudyCount>> = ensemble
        .counts
        .iter()
        .map(|id| library.studies.counts.iter().find(|c| c.id == *id))
        .collect();
    let weights_without = |source: &str| -> Vec<f64> {
        let logs = ensemble.members.iter().map(|m| -> f64 {
            let of_source = counts.iter().enumerate().filter_map(|(n, count)| {
                let count = count.filter(|c| c.source == source)?;
                Some(log_likelihood(count, between, m.shares[n], m.errors[n]))
            });
            -of_source.sum::<f64>()
        });
        let logs: Vec<f64> = logs.collect();
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        logs.into_iter().map(|log| libm::exp(log - most)).collect()
    };
    let even = vec![1.0; ensemble.members.len()];
    counts
        .iter()
        .enumerate()
        .filter_map(|(n, count)| {
            let count = (*count)?;
            let shares: Vec<f64> = ensemble.members.iter().map(|m| m.shares[n]).collect();
            let weights = weights_without(&count.source);
            Some(Met {
                count,
                all: summed(&shares, &even),
                without: (effective(&weights) >= ENOUGH).then(|| summed(&shares, &weights)),
            })
        })
        .collect()
}

/// What the counts say of each constant that was weighed, most first.
pub fn learnt(ensemble: &Ensemble) -> Vec<Learnt<'_>> {
    let mut all: Vec<Learnt<'_>> = ensemble
        .constants
        .iter()
        .enumerate()
        .map(|(n, constant)| {
            let mut scores: Vec<f64> = ensemble.members.iter().map(|m| m.scores[n]).collect();
            scores.sort_by(f64::total_cmp);
            let mean = scores.iter().sum::<f64>() / scores.len() as f64;
            let variance = scores.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / scores.len() as f64;
            Learnt {
                constant,
                score: (
                    quantile(&scores, 0.5),
                    Interval {
                        low: quantile(&scores, 0.05),
                        high: quantile(&scores, 0.95),
                    },
                ),
                spread: variance.sqrt(),
            }
        })
        .collect();
    all.sort_by(|a, b| told(b).total_cmp(&told(a)));
    all
}

/// How much was learnt: how far the scores are from a standard normal law's.
fn told(learnt: &Learnt<'_>) -> f64 {
    // Divergence of normal laws (Kullback and Leibler 1951).
    let variance = learnt.spread.powi(2).max(1e-6);
    0.5 * (variance + learnt.score.0.powi(2) - 1.0 - libm::log(variance))
}
