//! What is wet and for how much longer, through all arrangements: only where it can make a difference.

use std::collections::HashMap;

use crate::analysis::{Progress, Target};
use crate::model::{Setup, SiteIndex};

use super::space::{Arrangement, Way};
use super::{OrdersError, Start};

/// A set of sites as bits.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Sites(Vec<u64>);

impl Sites {
    /// No site.
    pub fn none(sites: usize) -> Sites {
        Sites(vec![0; sites.div_ceil(64)])
    }

    /// Those with a value above zero.
    pub fn of(values: &[f64]) -> Sites {
        let mut set = Sites::none(values.len());
        for (site, _) in values.iter().enumerate().filter(|(_, v)| **v > 0.0) {
            set.add(site);
        }
        set
    }

    /// True if the site is one of them.
    pub fn has(&self, site: SiteIndex) -> bool {
        self.0[site / 64] >> (site % 64) & 1 == 1
    }

    /// Adds a site.
    pub fn add(&mut self, site: SiteIndex) {
        self.0[site / 64] |= 1 << (site % 64);
    }

    /// Adds all of another set.
    pub fn join(&mut self, other: &Sites) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a |= b;
        }
    }

    /// Keeps what another set has too.
    pub fn meet(&mut self, other: &Sites) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a &= b;
        }
    }

    /// The sites, ascending.
    pub fn iter(&self) -> impl Iterator<Item = SiteIndex> + '_ {
        (0..self.0.len() * 64).filter(|&site| self.has(site))
    }
}

/// What is wet and for how much longer, by site; endless where it outlasts every protocol.
pub(super) type Wet = Vec<(u32, f64)>;

/// The configurations of one arrangement.
pub(super) struct Layer {
    /// What is wet in each.
    pub wets: Vec<Wet>,
    by_wet: HashMap<Vec<(u32, u64)>, u32>,
    /// For each wetness and each way, the wetness it leads to.
    pub leads: Vec<u32>,
}

impl Layer {
    fn add(&mut self, wet: Wet) -> u32 {
        let key = wet.iter().map(|(site, left)| (*site, left.to_bits())).collect();
        let next = self.wets.len() as u32;
        let index = *self.by_wet.entry(key).or_insert(next);
        if index == next {
            self.wets.push(wet);
        }
        index
    }
}

/// For each arrangement, the sites whose wetness can still make a difference: to a contact between surfaces that are
/// not wet anyway, of which one can carry something and one can pass it on to the target.
pub(super) fn heeded(
    setup: &Setup,
    arrangements: &[Arrangement],
    target: Target,
    loaded: &[Sites],
    always: &Sites,
) -> Vec<Sites> {
    let none = Sites::none(setup.sites.len());
    let mut heed = vec![none.clone(); arrangements.len()];
    let mut useful = vec![none.clone(); arrangements.len()];
    for at in (0..arrangements.len()).rev() {
        let (mut heeded, mut passes) = (none.clone(), none.clone());
        if arrangements[at].end {
            passes.join(&Sites::of(&target.weights(setup, &arrangements[at].state)));
        }
        for way in &arrangements[at].ways {
            let mut before = useful[way.to].clone();
            for event in way.events.iter().rev() {
                let (a, b) = event.event.sites();
                let Some(b) = b else { continue };
                if before.has(a) || before.has(b) {
                    before.add(a);
                    before.add(b);
                    let carries = |site| loaded[at].has(site) || loaded[way.to].has(site);
                    let dry = !always.has(a) && !always.has(b);
                    if event.wet.is_some() && dry && (carries(a) || carries(b)) {
                        heeded.add(a);
                        heeded.add(b);
                    }
                }
            }
            passes.join(&before);
            heeded.join(&heed[way.to]);
        }
        heed[at] = heeded;
        useful[at] = passes;
    }
    heed
}

/// Follows wetness through the arrangements.
pub(super) fn settle(
    setup: &Setup,
    arrangements: &[Arrangement],
    start: &Start,
    heed: &[Sites],
    most: usize,
    progress: &Progress,
) -> Result<Vec<Layer>, OrdersError> {
    let mut layers: Vec<Layer> = arrangements
        .iter()
        .map(|_| Layer {
            wets: Vec::new(),
            by_wet: HashMap::new(),
            leads: Vec::new(),
        })
        .collect();
    let keep = |mut wet: Wet, at: usize| -> Wet {
        wet.retain(|&(site, left)| left > 0.0 && heed[at].has(site as usize));
        for (_, left) in &mut wet {
            if *left >= arrangements[at].longest {
                *left = f64::INFINITY;
            } else {
                // Sums of lengths in another order may differ in the last digit.
                *left = (*left * 1e6).round() / 1e6;
            }
        }
        wet
    };
    let begin = (0..setup.sites.len())
        .map(|s| (s as u32, start.wet_until[s]))
        .collect();
    layers[0].add(keep(begin, 0));
    let mut held = 0;
    for at in 0..arrangements.len() {
        if progress.stopped() {
            return Err(OrdersError::Stopped);
        }
        held += layers[at].wets.len();
        if held > most {
            return Err(OrdersError::TooMany {
                what: "configurations of kit and wetness",
                most: most as u128,
            });
        }
        let wets = layers[at].wets.clone();
        let mut leads = Vec::with_capacity(wets.len() * arrangements[at].ways.len());
        for wet in &wets {
            for way in &arrangements[at].ways {
                let after = keep(wet_after(wet, way), way.to);
                leads.push(layers[way.to].add(after));
            }
        }
        layers[at].leads = leads;
        // Everything that leads here has been followed.
        layers[at].by_wet = HashMap::new();
    }
    Ok(layers)
}

fn wet_after(wet: &Wet, way: &Way) -> Wet {
    let mut after: Wet = wet
        .iter()
        .map(|&(site, left)| (site, left - way.seconds))
        .collect();
    for &(site, left) in &way.wets {
        match after.binary_search_by_key(&(site as u32), |w| w.0) {
            Ok(at) => after[at].1 = after[at].1.max(left),
            Err(at) => after.insert(at, (site as u32, left)),
        }
    }
    after
}

/// Which events of a way meet something wet.
pub(super) fn mask(way: &Way, wet: &Wet, always: &Sites) -> Vec<bool> {
    let left = |site: SiteIndex| {
        let at = wet.binary_search_by_key(&(site as u32), |w| w.0);
        at.map_or(0.0, |at| wet[at].1)
    };
    let is_wet = |site: SiteIndex, at: f64| always.has(site) || at < left(site);
    way.events
        .iter()
        .filter(|e| e.wet.is_some())
        .map(|e| {
            let (a, b) = e.event.sites();
            is_wet(a, e.event.at) || b.is_some_and(|b| is_wet(b, e.event.at))
        })
        .collect()
}
