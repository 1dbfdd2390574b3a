//! What an action does to counts on average: what is counted before it, then its mean events.

use crate::analysis::linear::{Step, backward, forward, touched};
use crate::model::SiteIndex;

use super::wetness::Sites;

/// A linear operator on counts. What has been counted so far stands on a site of its own, the tally.
#[derive(Clone, Debug, Default)]
pub(super) struct Program {
    /// Sites that are counted before anything happens.
    pub counted: Vec<SiteIndex>,
    /// Where what is counted is added up.
    pub tally: SiteIndex,
    /// Mean events, in order.
    pub steps: Vec<Step>,
}

impl Program {
    /// Counts after the action from counts before it.
    pub fn forward(&self, x: &mut [f64]) {
        for &site in &self.counted {
            x[self.tally] += x[site];
        }
        self.steps.iter().for_each(|step| forward(*step, x));
    }

    /// What one organism before the action is worth, from what it is worth after it.
    pub fn backward(&self, value: &mut [f64]) {
        self.steps.iter().rev().for_each(|step| backward(*step, value));
        for &site in &self.counted {
            value[site] += value[self.tally];
        }
    }

    /// Adds to a set of sites after the action those before it from which something can reach the set.
    pub fn reach(&self, sites: &mut Sites) {
        for step in self.steps.iter().rev() {
            if let Step::Between(a, b, ab, ba) = *step {
                let (to_b, to_a) = (sites.has(b) && ab > 0.0, sites.has(a) && ba > 0.0);
                if to_b {
                    sites.add(a);
                }
                if to_a {
                    sites.add(b);
                }
            }
        }
        if sites.has(self.tally) {
            self.counted.iter().for_each(|&site| sites.add(site));
        }
    }

    /// Every site that it reads or changes; some more than once.
    pub fn sites(&self) -> impl Iterator<Item = SiteIndex> + '_ {
        let tally = (!self.counted.is_empty()).then_some(self.tally);
        let counted = self.counted.iter().copied().chain(tally);
        counted.chain(self.steps.iter().flat_map(|step| touched(*step)))
    }

    /// The same on sites that are numbered anew.
    pub fn renumber(&mut self, number: &[u16]) {
        let new = |site: SiteIndex| usize::from(number[site]);
        self.tally = new(self.tally);
        for site in &mut self.counted {
            *site = new(*site);
        }
        for step in &mut self.steps {
            *step = match *step {
                Step::Between(a, b, ab, ba) => Step::Between(new(a), new(b), ab, ba),
                Step::From(site, p) => Step::From(new(site), p),
            };
        }
    }

    /// What tells two programs apart.
    pub fn key(&self) -> Vec<(u16, u16, u64, u64)> {
        let counted = self.counted.iter().map(|&site| (site as u16, u16::MAX, 0, 1));
        let steps = self.steps.iter().map(|step| match *step {
            Step::Between(a, b, ab, ba) => (a as u16, b as u16, ab.to_bits(), ba.to_bits()),
            Step::From(site, p) => (site as u16, u16::MAX, p.to_bits(), 0),
        });
        counted.chain(steps).collect()
    }
}
