//! The load that orders are compared from: the mean of many drawn starts.

use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::model::Setup;

use crate::analysis::Target;

/// Counts and wetness at the start, per site.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Mean count over the starts.
    pub counts: Vec<f64>,
    /// Clock time until which each site is wet, s: that of the middle one of the starts.
    pub wet_until: Vec<f64>,
    /// How many starts were drawn.
    pub starts: u64,
}

impl Start {
    /// Draws starts, care included, and takes the mean load. One start is that start itself.
    pub fn mean(setup: &Setup, starts: u64, seed: u64) -> Start {
        Start::from(setup, 0, starts, seed)
    }

    /// The same without what a target does not count.
    pub(super) fn counted(&self, setup: &Setup, target: Target) -> Start {
        let mut counted = self.clone();
        for site in target.own(setup) {
            counted.counts[site] = 0.0;
        }
        counted
    }

    /// The same of so many from one of them on.
    pub(super) fn from(setup: &Setup, first: u64, starts: u64, seed: u64) -> Start {
        let starts = starts.max(1);
        let mut counts = vec![0.0; setup.sites.len()];
        let mut wet: Vec<Vec<f64>> = vec![Vec::with_capacity(starts as usize); setup.sites.len()];
        for n in first..first + starts {
            let beginning = Beginning::draw(setup, Luck::new(Key(seed).within(n).0));
            for (mean, count) in counts.iter_mut().zip(beginning.books.totals()) {
                *mean += count as f64 / starts as f64;
            }
            for (all, until) in wet.iter_mut().zip(&beginning.state.wet_until) {
                all.push(*until);
            }
        }
        let middle = |mut all: Vec<f64>| {
            all.sort_by(f64::total_cmp);
            all[all.len() / 2]
        };
        Start {
            counts,
            wet_until: wet.into_iter().map(middle).collect(),
            starts,
        }
    }
}
