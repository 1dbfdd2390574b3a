//! What is wet and for how much longer, through all arrangements: only where it can make a difference.

use rayon::prelude::*;
use rustc_hash::FxHashMap;

use crate::analysis::{Progress, Target};
use crate::model::{Setup, SiteIndex};

use super::space::{Arrangement, Way};
use super::start::Start;
use super::terms::OrdersError;

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

/// The site on which what has been counted so far stands; it comes after those of the setup.
pub(super) fn tally(setup: &Setup) -> SiteIndex {
    setup.sites.len()
}

/// None of the sites of a setup and its tally.
pub(super) fn universe(setup: &Setup) -> Sites {
    Sites::none(tally(setup) + 1)
}

/// What is wet and for how much longer, by site; endless where it outlasts every protocol.
pub(super) type Wet = Vec<(u32, f64)>;

/// The configurations of one arrangement.
#[derive(Default)]
pub(super) struct Layer {
    /// What is wet in each.
    pub wets: Vec<Wet>,
    by_wet: FxHashMap<Box<[(u32, u64)]>, u32>,
    /// For each way and each wetness, the wetness it leads to.
    pub leads: Vec<Vec<u32>>,
}

impl Layer {
    /// The index of a wetness, new or known. Hundreds of thousands are asked for and most are known, so only new ones
    /// are copied.
    fn add(&mut self, wet: &Wet, key: &mut Vec<(u32, u64)>) -> u32 {
        key.clear();
        key.extend(wet.iter().map(|(site, left)| (*site, left.to_bits())));
        if let Some(&known) = self.by_wet.get(&key[..]) {
            return known;
        }
        let next = self.wets.len() as u32;
        self.by_wet.insert(key.clone().into_boxed_slice(), next);
        self.wets.push(wet.clone());
        next
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
    let none = universe(setup);
    let mut heed = vec![none.clone(); arrangements.len()];
    let mut useful = vec![none.clone(); arrangements.len()];
    for at in (0..arrangements.len()).rev() {
        let (mut heeded, mut passes) = (none.clone(), none.clone());
        if arrangements[at].end {
            passes.join(&Sites::of(&target.weights(setup, &arrangements[at].state)));
            passes.add(tally(setup));
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
            if before.has(tally(setup)) {
                way.counted.iter().for_each(|&site| before.add(site));
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
    let mut layers: Vec<Layer> = arrangements.iter().map(|_| Layer::default()).collect();
    let keep = |wet: &mut Wet, at: usize| {
        wet.retain(|&(site, left)| left > 0.0 && heed[at].has(site as usize));
        for (_, left) in wet {
            if *left >= arrangements[at].longest {
                *left = f64::INFINITY;
            } else {
                // Sums of lengths in another order may differ in the last digit.
                *left = (*left * 1e6).round() / 1e6;
            }
        }
    };
    let mut begin: Wet = (0..setup.sites.len())
        .map(|s| (s as u32, start.wet_until[s]))
        .collect();
    keep(&mut begin, 0);
    layers[0].add(&begin, &mut Vec::new());
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
        // Ways lead onwards, never back to the same arrangement, and what they lead to grows apart from the rest.
        let wets = std::mem::take(&mut layers[at].wets);
        let ways = &arrangements[at].ways;
        let mut ends: Vec<usize> = ways.iter().map(|way| way.to).collect();
        ends.sort_unstable();
        ends.dedup();
        let mut grown: Vec<(usize, Layer)> = ends
            .iter()
            .map(|&to| (to, std::mem::take(&mut layers[to])))
            .collect();
        let grow = |(to, layer): &mut (usize, Layer)| -> Vec<(usize, Vec<u32>)> {
            let (mut key, mut after) = (Vec::new(), Wet::new());
            let here: Vec<usize> = (0..ways.len()).filter(|&w| ways[w].to == *to).collect();
            let mut leads: Vec<(usize, Vec<u32>)> = here
                .iter()
                .map(|&w| (w, Vec::with_capacity(wets.len())))
                .collect();
            for wet in &wets {
                for (w, leads) in &mut leads {
                    wet_after(wet, &ways[*w], &mut after);
                    keep(&mut after, *to);
                    leads.push(layer.add(&after, &mut key));
                }
            }
            leads
        };
        let found: Vec<Vec<(usize, Vec<u32>)>> = grown.par_iter_mut().map(grow).collect();
        for (to, layer) in grown {
            layers[to] = layer;
        }
        let mut leads = vec![Vec::new(); ways.len()];
        for (w, list) in found.into_iter().flatten() {
            leads[w] = list;
        }
        layers[at] = Layer {
            wets,
            leads,
            // Everything that leads here has been followed.
            by_wet: FxHashMap::default(),
        };
    }
    Ok(layers)
}

/// What is wet after a way, written over `after`.
fn wet_after(wet: &Wet, way: &Way, after: &mut Wet) {
    after.clear();
    after.extend(wet.iter().map(|&(site, left)| (site, left - way.seconds)));
    for &(site, left) in &way.wets {
        match after.binary_search_by_key(&(site as u32), |w| w.0) {
            Ok(at) => after[at].1 = after[at].1.max(left),
            Err(at) => after.insert(at, (site as u32, left)),
        }
    }
}

/// Which of a way's events that can be wet meet something wet, as bits written over `bits`.
pub(super) fn mask(way: &Way, wet: &Wet, always: &Sites, bits: &mut Vec<u64>) {
    let left = |site: SiteIndex| {
        let at = wet.binary_search_by_key(&(site as u32), |w| w.0);
        at.map_or(0.0, |at| wet[at].1)
    };
    let is_wet = |site: SiteIndex, at: f64| always.has(site) || at < left(site);
    bits.clear();
    for (n, event) in way.events.iter().filter(|e| e.wet.is_some()).enumerate() {
        if n % 64 == 0 {
            bits.push(0);
        }
        let (a, b) = event.event.sites();
        let wet = is_wet(a, event.event.at) || b.is_some_and(|b| is_wet(b, event.event.at));
        bits[n / 64] |= u64::from(wet) << (n % 64);
    }
}
