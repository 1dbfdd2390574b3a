//! The books: whole organisms per site and source, and what was removed. They always balance.

use std::fmt;

use crate::chance::{Lot, Luck, Purpose, binomial};
use crate::model::{Fate, SiteIndex};

use super::held::Held;
use super::{Event, Flow, Laws, Outcome};

/// Counts per site and source.
///
/// A source is a site that carried something at the start. Every organism is, at any time, on one site, inactivated
/// or washed away; per source these sum to what was there at the start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Books {
    sources: Vec<SiteIndex>,
    start: Vec<u64>,
    /// Row-major: site, then source.
    counts: Vec<u64>,
    /// Which of them are not 0.
    held: Held,
    sites: usize,
    inactivated: Vec<u64>,
    washed_away: Vec<u64>,
}

/// A source whose organisms do not add up to what it started with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Imbalance {
    /// Site that is the source.
    pub source: SiteIndex,
    /// Organisms at the start.
    pub start: u64,
    /// Organisms found now, wherever they are.
    pub found: u64,
}

/// What one source did at an event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Index of the source, in the order of [`Books::sources`].
    pub source: usize,
    /// How many of it were on the first site before.
    pub on_a: u64,
    /// How many of it were on the second site before.
    pub on_b: u64,
    /// How many went from the first to the second, or were removed.
    pub ab: u64,
    /// How many went from the second to the first.
    pub ba: u64,
}

impl fmt::Display for Imbalance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "source site {} started with {} but {} are accounted for",
            self.source, self.start, self.found
        )
    }
}

impl Books {
    /// Opens books for `loads[site]` organisms on each site; every loaded site becomes a source.
    pub fn open(loads: &[u64]) -> Books {
        let sources: Vec<SiteIndex> = (0..loads.len()).filter(|&s| loads[s] > 0).collect();
        let start: Vec<u64> = sources.iter().map(|&s| loads[s]).collect();
        let mut counts = vec![0; loads.len() * sources.len()];
        let mut held = Held::none(loads.len(), sources.len());
        for (i, &site) in sources.iter().enumerate() {
            counts[site * sources.len() + i] = start[i];
            held.set(site, i, true);
        }
        let none = vec![0; sources.len()];
        Books {
            sources,
            start,
            counts,
            held,
            sites: loads.len(),
            inactivated: none.clone(),
            washed_away: none,
        }
    }

    /// The sources, as site indices in ascending order.
    pub fn sources(&self) -> &[SiteIndex] {
        &self.sources
    }

    /// Organisms of each source at the start, in the order of [`Books::sources`].
    pub fn start(&self) -> &[u64] {
        &self.start
    }

    /// Organisms on a site, by source.
    pub fn row(&self, site: SiteIndex) -> &[u64] {
        let n = self.sources.len();
        &self.counts[site * n..(site + 1) * n]
    }

    /// Organisms on a site, all sources together.
    pub fn total(&self, site: SiteIndex) -> u64 {
        self.row(site).iter().sum()
    }

    /// True if anything is on a site.
    pub fn any(&self, site: SiteIndex) -> bool {
        self.held.any(site)
    }

    /// Totals of every site.
    pub fn totals(&self) -> Vec<u64> {
        (0..self.sites).map(|site| self.total(site)).collect()
    }

    /// Organisms killed, by source.
    pub fn inactivated(&self) -> &[u64] {
        &self.inactivated
    }

    /// Organisms washed away, by source.
    pub fn washed_away(&self) -> &[u64] {
        &self.washed_away
    }

    /// Checks that every source adds up.
    ///
    /// # Errors
    /// The first source that does not.
    pub fn balance(&self) -> Result<(), Imbalance> {
        let mut found: Vec<u64> = self
            .inactivated
            .iter()
            .zip(&self.washed_away)
            .map(|(a, b)| a + b)
            .collect();
        if !self.sources.is_empty() {
            for row in self.counts.chunks_exact(self.sources.len()) {
                for (sum, count) in found.iter_mut().zip(row) {
                    *sum += count;
                }
            }
        }
        for (i, &found) in found.iter().enumerate() {
            if found != self.start[i] {
                return Err(Imbalance {
                    source: self.sources[i],
                    start: self.start[i],
                    found,
                });
            }
        }
        Ok(())
    }

    /// Carries an event out. `before` is the outcome of the event before it, which a leak follows.
    pub fn apply(&mut self, event: &Event, luck: Luck, before: Option<&Outcome>) -> Outcome {
        let happened = match before {
            Some(before) if event.follows => before.happened,
            _ => event.happens(luck),
        };
        if !happened {
            return Outcome::default();
        }
        self.carry_out(event, &event.laws(), luck, true)
    }

    /// Carries out an event that happens, with its laws made ready. With `report` false, what has nothing to move is
    /// not drawn: the books come out equal, since streams are keyed, but the outcome then says 0 for it.
    pub(crate) fn carry_out(&mut self, event: &Event, laws: &Laws, luck: Luck, report: bool) -> Outcome {
        let lot = luck.lot(event.key);
        let (a, b) = event.sites();
        let Some(b) = b else {
            return self.remove(event, laws, lot, report);
        };
        let mut outcome = Outcome {
            happened: true,
            ..Outcome::default()
        };
        if report || self.any(a) || self.any(b) {
            outcome.drawn_extent = event.extent(luck);
            outcome.drawn_spots = event.spotted(luck, outcome.drawn_extent);
        }
        if report || self.any(a) {
            outcome.drawn_ab = laws.ab.draw(&mut lot.stream(Purpose::EfficiencyAb));
        }
        if report || self.any(b) {
            outcome.drawn_ba = laws.ba.draw(&mut lot.stream(Purpose::EfficiencyBa));
        }
        let drawn = outcome.drawn();
        let shares = (event.share_ab(drawn), event.share_ba(drawn));
        (outcome.moved_ab, outcome.moved_ba) = self.exchange(a, b, shares, lot);
        outcome
    }

    /// Moves organisms between two sites, each with its side's probability, both from the counts before.
    fn exchange(&mut self, a: SiteIndex, b: SiteIndex, (p_ab, p_ba): (f64, f64), luck: Lot) -> (u64, u64) {
        let n = self.sources.len();
        let (mut there, mut back) = (0, 0);
        for word in 0..self.held.words() {
            for source in self.held.either(a, b, word) {
                let (on_a, on_b) = (self.counts[a * n + source], self.counts[b * n + source]);
                // The stream is named after the source's site, not its position, so that another start with more
                // sources shares the luck of those both have.
                let named = self.sources[source] as u32;
                let ab = moved(on_a, p_ab, Purpose::MovedAb(named), luck);
                let ba = moved(on_b, p_ba, Purpose::MovedBa(named), luck);
                if ab == 0 && ba == 0 {
                    continue;
                }
                let (on_a, on_b) = (on_a - ab + ba, on_b - ba + ab);
                self.counts[a * n + source] = on_a;
                self.counts[b * n + source] = on_b;
                self.held.set(a, source, on_a > 0);
                self.held.set(b, source, on_b > 0);
                there += ab;
                back += ba;
            }
        }
        (there, back)
    }

    /// Carries out a removal.
    fn remove(&mut self, event: &Event, laws: &Laws, luck: Lot, report: bool) -> Outcome {
        let mut outcome = Outcome {
            happened: true,
            drawn_extent: 1.0,
            drawn_spots: [1.0; 2],
            ..Outcome::default()
        };
        if let Flow::Removal { site, law, fate } = &event.flow
            && (report || self.any(*site))
        {
            outcome.drawn_ab = 1.0
                - law.draw(
                    &mut luck.stream(Purpose::Reduction),
                    &mut luck.stream(Purpose::Missed),
                    &laws.ab,
                );
            outcome.moved_ab = self.take_away(*site, outcome.drawn_ab, *fate, luck);
        }
        outcome
    }

    /// Takes organisms off a site, each with probability `p`; returns how many.
    fn take_away(&mut self, site: SiteIndex, p: f64, fate: Fate, luck: Lot) -> u64 {
        let n = self.sources.len();
        let sink = match fate {
            Fate::Inactivated => &mut self.inactivated,
            Fate::WashedAway => &mut self.washed_away,
        };
        let mut taken = 0;
        for word in 0..self.held.words() {
            for source in self.held.either(site, site, word) {
                let count = &mut self.counts[site * n + source];
                let gone = moved(*count, p, Purpose::Removed(self.sources[source] as u32), luck);
                *count -= gone;
                self.held.set(site, source, *count > 0);
                sink[source] += gone;
                taken += gone;
            }
        }
        taken
    }

    /// Carries out again an event whose outcome is known, and says what each source did. The luck must be the one
    /// with which the outcome came about.
    pub fn replay(&mut self, event: &Event, outcome: &Outcome, luck: Luck) -> Vec<Moved> {
        if !outcome.happened {
            return Vec::new();
        }
        let (a, b) = event.sites();
        let before = |site: SiteIndex| self.row(site).to_vec();
        let (on_a, on_b) = (before(a), b.map(before));
        let lot = luck.lot(event.key);
        let mut list = Vec::new();
        for (source, &site) in self.sources.iter().enumerate() {
            let (on_a, on_b) = (on_a[source], on_b.as_ref().map_or(0, |row| row[source]));
            let named = site as u32;
            let away = if b.is_some() {
                Purpose::MovedAb(named)
            } else {
                Purpose::Removed(named)
            };
            let ab = moved(on_a, event.share_ab(outcome.drawn()), away, lot);
            let ba = moved(
                on_b,
                event.share_ba(outcome.drawn()),
                Purpose::MovedBa(named),
                lot,
            );
            if ab > 0 || ba > 0 {
                list.push(Moved {
                    source,
                    on_a,
                    on_b,
                    ab,
                    ba,
                });
            }
        }
        self.carry_out(event, &event.laws(), luck, true);
        list
    }

    /// Sets one site's counts to what they are in other books of the same sources.
    pub(crate) fn restore(&mut self, site: SiteIndex, from: &Books) {
        let n = self.sources.len();
        self.counts[site * n..(site + 1) * n].copy_from_slice(from.row(site));
        self.held.copy(site, &from.held);
    }

    /// Sets what was removed to what it is in other books of the same sources.
    pub(crate) fn restore_removed(&mut self, from: &Books) {
        self.inactivated.copy_from_slice(&from.inactivated);
        self.washed_away.copy_from_slice(&from.washed_away);
    }

    /// A digest of everything in the books: equal books, equal digests on every platform.
    pub fn digest(&self) -> u64 {
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        let mut word = |w: u64| {
            for byte in w.to_le_bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        };
        for &source in &self.sources {
            word(source as u64);
        }
        for list in [&self.start, &self.counts, &self.inactivated, &self.washed_away] {
            for &count in list {
                word(count);
            }
        }
        hash
    }
}

/// How many of one source move or go, each with probability `p`.
fn moved(count: u64, p: f64, purpose: Purpose, luck: Lot) -> u64 {
    if count > 0 && p > 0.0 {
        binomial(&mut luck.stream(purpose), count, p)
    } else {
        0
    }
}
