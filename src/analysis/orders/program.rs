//! What an action does to counts on average: what is counted before it, then its mean events.

use crate::analysis::linear::Step;
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
    pub steps: Vec<Mean>,
}

/// A [`Step`] in little room, since there are millions: what of site a gets to b, and of b to a. What is removed gets from
/// a site to itself.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mean {
    a: u16,
    b: u16,
    ab: f64,
    ba: f64,
}

impl From<Step> for Mean {
    fn from(step: Step) -> Mean {
        let site = |site: SiteIndex| u16::try_from(site).expect("a scene has some hundred sites");
        match step {
            Step::Between(a, b, ab, ba) => Mean {
                a: site(a),
                b: site(b),
                ab,
                ba,
            },
            Step::From(a, removed) => Mean {
                a: site(a),
                b: site(a),
                ab: removed,
                ba: 0.0,
            },
        }
    }
}

impl From<Mean> for Step {
    fn from(mean: Mean) -> Step {
        let (a, b) = (usize::from(mean.a), usize::from(mean.b));
        match a == b {
            true => Step::From(a, mean.ab),
            false => Step::Between(a, b, mean.ab, mean.ba),
        }
    }
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
        for &step in &self.steps {
            match step.into() {
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
        for &step in self.steps.iter().rev() {
            match step.into() {
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
        for &step in self.steps.iter().rev() {
            if let Step::Between(a, b, ab, ba) = step.into() {
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
        let met = self.steps.iter().flat_map(|mean| [mean.a, mean.b]);
        counted.chain(met.map(usize::from))
    }

    /// The same on sites that are numbered anew.
    pub fn renumber(&mut self, number: &[u16]) {
        let new = |site: SiteIndex| usize::from(number[site]);
        self.tally = new(self.tally);
        for site in &mut self.counted {
            *site = new(*site);
        }
        for mean in &mut self.steps {
            mean.a = number[usize::from(mean.a)];
            mean.b = number[usize::from(mean.b)];
        }
    }

    /// What tells two programs apart.
    pub fn key(&self) -> Vec<(u16, u16, u64, u64)> {
        let counted = self.counted.iter().map(|&site| (site as u16, u16::MAX, 0, 1));
        let steps = self.steps.iter();
        let steps = steps.map(|mean| (mean.a, mean.b, mean.ab.to_bits(), mean.ba.to_bits()));
        counted.chain(steps).collect()
    }
}
