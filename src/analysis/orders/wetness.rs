//! What is wet and for how much longer, through all arrangements: only where it can make a difference.

use crate::outside::threads::parallel::*;

use crate::analysis::{Progress, Target};
use crate::model::{Setup, SiteIndex};

use super::numbers::Numbers;
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

/// What is wet and for how much longer: sites in ascending order, each packed with the time that is left.
pub(super) type Wet = [u64];

/// Bits of a packed time, in millionths of a second: sums of lengths in another order may differ in the last digit of a
/// float, but not in these.
const TIME: u32 = 48;

/// The time left of what outlasts every protocol.
const ENDLESS: u64 = (1 << TIME) - 1;

/// A length in whole millionths of a second.
fn millionths(seconds: f64) -> u64 {
    ((seconds * 1e6).round() as u64).min(ENDLESS)
}

/// When something happens, counted from some moment: in millionths of a second, rounded down, for at whole ones this is
/// before a length if the very time is. What a float falls short of a whole one is made up for.
fn moment(at: f64) -> u64 {
    (at * 1e6 + 1e-3) as u64
}

fn pack(site: SiteIndex, left: u64) -> u64 {
    (site as u64) << TIME | left
}

fn unpack(packed: u64) -> (SiteIndex, u64) {
    ((packed >> TIME) as SiteIndex, packed & ENDLESS)
}

/// The configurations of one arrangement.
#[derive(Default)]
pub(super) struct Layer {
    /// What is wet in each, one after another.
    wets: Vec<u64>,
    /// Where each ends in them.
    ends: Vec<u32>,
    by_wet: Numbers,
    /// For each way and each wetness, the wetness it leads to.
    pub leads: Vec<Vec<u32>>,
}

impl Layer {
    /// How many there are.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// What is wet in one.
    pub fn wet(&self, n: usize) -> &Wet {
        let begin = n.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.wets[begin as usize..self.ends[n] as usize]
    }

    /// The index of a wetness, new or known.
    fn add(&mut self, wet: &Wet) -> u32 {
        let (wets, ends) = (&self.wets, &self.ends);
        let same = |n: u32| {
            let begin = n.checked_sub(1).map_or(0, |before| ends[before as usize]);
            wets[begin as usize..ends[n as usize] as usize] == *wet
        };
        let next = self.ends.len() as u32;
        let index = self.by_wet.or_insert(wet, next, same);
        if index == next {
            self.wets.extend_from_slice(wet);
            self.ends.push(self.wets.len() as u32);
        }
        index
    }
}

/// For one arrangement and each site whose wetness can still make a difference, when it last can, counted from there in
/// millionths of a second. None for other sites.
pub(super) type Heed = Vec<Option<u64>>;

/// For each arrangement, where it can still make a difference what is wet, and when it last can: at a contact between surfaces that
/// are not wet anyway, of which one can carry something and one can pass it on to the target.
pub(super) fn heeded(
    setup: &Setup,
    arrangements: &[Arrangement],
    target: Target,
    loaded: &[Sites],
    always: &Sites,
) -> Vec<Heed> {
    let none = universe(setup);
    let mut heed: Vec<Heed> = vec![Vec::new(); arrangements.len()];
    let mut useful = vec![none.clone(); arrangements.len()];
    for at in (0..arrangements.len()).rev() {
        let mut heeded: Heed = vec![None; setup.sites.len()];
        let mut passes = none.clone();
        if arrangements[at].end {
            passes.join(&Sites::of(&target.weights(setup, &arrangements[at].state)));
            passes.add(tally(setup));
        }
        for way in &arrangements[at].ways {
            let mut before = useful[way.to].clone();
            for event in way.part.events().iter().rev() {
                let (a, b) = event.event.sites();
                let Some(b) = b else { continue };
                if before.has(a) || before.has(b) {
                    before.add(a);
                    before.add(b);
                    let carries = |site| loaded[at].has(site) || loaded[way.to].has(site);
                    let dry = !always.has(a) && !always.has(b);
                    if event.can_be_wet() && dry && (carries(a) || carries(b)) {
                        let met = moment(event.event.at);
                        for site in [a, b] {
                            heeded[site] = heeded[site].max(Some(met));
                        }
                    }
                }
            }
            if before.has(tally(setup)) {
                way.counted.iter().for_each(|&site| before.add(site));
            }
            passes.join(&before);
            let passed = millionths(way.seconds);
            for (here, later) in heeded.iter_mut().zip(&heed[way.to]) {
                *here = (*here).max(later.map(|met| met + passed));
            }
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
    heed: &[Heed],
    most: usize,
    progress: &Progress,
) -> Result<Vec<Layer>, OrdersError> {
    let mut layers: Vec<Layer> = arrangements.iter().map(|_| Layer::default()).collect();
    let longest: Vec<u64> = arrangements.iter().map(|a| millionths(a.longest)).collect();
    let keep = |wet: &mut Vec<u64>, at: usize| {
        wet.retain_mut(|packed| {
            let (site, left) = unpack(*packed);
            let Some(last) = heed[at][site] else {
                return false;
            };
            // Nothing can tell how much longer it stays wet than until the last meeting.
            *packed = match left {
                0 => return false,
                left if left >= longest[at] => pack(site, ENDLESS),
                left => pack(site, left.min(last + 1)),
            };
            true
        });
    };
    let mut begin: Vec<u64> = (0..setup.sites.len())
        .map(|site| pack(site, millionths(start.wet_until[site])))
        .collect();
    keep(&mut begin, 0);
    layers[0].add(&begin);
    let mut held = 0;
    for at in 0..arrangements.len() {
        if progress.stopped() {
            return Err(OrdersError::Stopped);
        }
        held += layers[at].len();
        if held > most {
            return Err(OrdersError::TooMany {
                what: "configurations of kit and wetness",
                most: most as u128,
            });
        }
        // Ways lead onwards, never back to the same arrangement, and what they lead to grows apart from the rest.
        let mut here = std::mem::take(&mut layers[at]);
        // It grows no more.
        here.wets.shrink_to_fit();
        here.ends.shrink_to_fit();
        let ways = &arrangements[at].ways;
        let mut ends: Vec<usize> = ways.iter().map(|way| way.to).collect();
        ends.sort_unstable();
        ends.dedup();
        let mut grown: Vec<(usize, Layer)> = ends
            .iter()
            .map(|&to| (to, std::mem::take(&mut layers[to])))
            .collect();
        let grow = |(to, layer): &mut (usize, Layer)| -> Vec<(usize, Vec<u32>)> {
            let mut after = Vec::new();
            let mut leads: Vec<(usize, Vec<u32>)> = (0..ways.len())
                .filter(|&w| ways[w].to == *to)
                .map(|w| (w, Vec::with_capacity(here.len())))
                .collect();
            for n in 0..here.len() {
                for (w, leads) in &mut leads {
                    wet_after(here.wet(n), &ways[*w], &mut after);
                    keep(&mut after, *to);
                    leads.push(layer.add(&after));
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
            leads,
            // Everything that leads here has been followed.
            by_wet: Numbers::default(),
            ..here
        };
    }
    Ok(layers)
}

/// What is wet after a way, written over `after`.
fn wet_after(wet: &Wet, way: &Way, after: &mut Vec<u64>) {
    let passed = millionths(way.seconds);
    after.clear();
    after.extend(wet.iter().map(|&packed| match unpack(packed) {
        (_, ENDLESS) => packed,
        (site, left) => pack(site, left.saturating_sub(passed)),
    }));
    for &(site, left) in &way.wets {
        let packed = pack(site, millionths(left));
        match after.binary_search_by_key(&site, |&packed| unpack(packed).0) {
            Ok(at) => after[at] = after[at].max(packed),
            Err(at) => after.insert(at, packed),
        }
    }
}

/// Which of a way's events that can be wet meet something wet, as bits written over `bits`.
pub(super) fn mask(way: &Way, wet: &Wet, always: &Sites, bits: &mut Vec<u64>) {
    let left = |site: SiteIndex| {
        let at = wet.binary_search_by_key(&site, |&packed| unpack(packed).0);
        at.map_or(0, |at| unpack(wet[at]).1)
    };
    let is_wet = |site: SiteIndex, at: f64| {
        let left = left(site);
        always.has(site) || moment(at) < left
    };
    bits.clear();
    for (n, event) in way.part.events().iter().filter(|e| e.can_be_wet()).enumerate() {
        if n % 64 == 0 {
            bits.push(0);
        }
        let (a, b) = event.event.sites();
        let wet = is_wet(a, event.event.at) || b.is_some_and(|b| is_wet(b, event.event.at));
        bits[n / 64] |= u64::from(wet) << (n % 64);
    }
}
