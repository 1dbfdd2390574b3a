//! What an action does to counts on average: what is counted before it, then its mean events.

use crate::analysis::linear::{Step, touched};
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

/// How many rows of counts or values are taken through a program side by side.
pub(super) const LANES: usize = 8;

/// One row's share of each site is one lane: a processor takes several through at once.
pub(super) type Lanes = [f64; LANES];

fn add(lanes: &mut Lanes, more: impl Fn(usize) -> f64) {
    for (lane, value) in lanes.iter_mut().enumerate() {
        *value += more(lane);
    }
}

impl Program {
    /// Counts after the action from counts before it.
    pub fn forward(&self, x: &mut [Lanes]) {
        for &site in &self.counted {
            let more = x[site];
            add(&mut x[self.tally], |lane| more[lane]);
        }
        for step in &self.steps {
            match *step {
                Step::Between(a, b, ab, ba) => {
                    let (at_a, at_b) = (x[a], x[b]);
                    add(&mut x[a], |lane| at_b[lane] * ba - at_a[lane] * ab);
                    add(&mut x[b], |lane| at_a[lane] * ab - at_b[lane] * ba);
                }
                Step::From(site, p) => x[site].iter_mut().for_each(|x| *x *= 1.0 - p),
            }
        }
    }

    /// What one organism before the action is worth, from what it is worth after it.
    pub fn backward(&self, value: &mut [Lanes]) {
        for step in self.steps.iter().rev() {
            match *step {
                Step::Between(a, b, ab, ba) => {
                    let (at_a, at_b) = (value[a], value[b]);
                    add(&mut value[a], |lane| ab * (at_b[lane] - at_a[lane]));
                    add(&mut value[b], |lane| ba * (at_a[lane] - at_b[lane]));
                }
                Step::From(site, p) => value[site].iter_mut().for_each(|v| *v *= 1.0 - p),
            }
        }
        for &site in &self.counted {
            let more = value[self.tally];
            add(&mut value[site], |lane| more[lane]);
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
