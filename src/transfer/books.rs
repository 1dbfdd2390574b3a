//! The books: whole organisms per site and source, and what was removed. They always balance.

use std::fmt;

use crate::chance::{Luck, Purpose, beta, binomial};
use crate::model::{Efficiency, Fate, SiteIndex};

use super::{Event, Flow, Outcome};

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
        for (i, &site) in sources.iter().enumerate() {
            counts[site * sources.len() + i] = start[i];
        }
        let none = vec![0; sources.len()];
        Books {
            sources,
            start,
            counts,
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
        self.row(site).iter().any(|&count| count > 0)
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
        self.carry_out(event, luck, true)
    }

    /// Carries out an event that happens. With `report` false, what has nothing to move is not drawn: the books come
    /// out equal, since streams are keyed, but the outcome then says 0 for it.
    pub(crate) fn carry_out(&mut self, event: &Event, luck: Luck, report: bool) -> Outcome {
        let draw = |wanted: bool, purpose: Purpose, law: Efficiency| {
            if wanted || report {
                beta(&mut luck.stream(event.key, purpose), law)
            } else {
                0.0
            }
        };
        match &event.flow {
            Flow::Contact { a, b, ab, ba, .. } => {
                let drawn_ab = draw(self.any(*a), Purpose::EfficiencyAb, *ab);
                let drawn_ba = draw(self.any(*b), Purpose::EfficiencyBa, *ba);
                let shares = (event.share_ab(drawn_ab), event.share_ba(drawn_ba));
                let (moved_ab, moved_ba) = self.exchange(*a, *b, shares, event, luck);
                Outcome {
                    happened: true,
                    drawn_ab,
                    drawn_ba,
                    moved_ab,
                    moved_ba,
                }
            }
            Flow::Splash { from, onto, law, .. } => {
                let drawn_ab = draw(self.any(*from), Purpose::EfficiencyAb, *law);
                let (moved_ab, _) = self.exchange(*from, *onto, (drawn_ab, 0.0), event, luck);
                Outcome {
                    happened: true,
                    drawn_ab,
                    moved_ab,
                    ..Outcome::default()
                }
            }
            Flow::Removal { site, law, fate } => {
                if !report && !self.any(*site) {
                    return Outcome {
                        happened: true,
                        ..Outcome::default()
                    };
                }
                let surviving = law.draw(
                    &mut luck.stream(event.key, Purpose::Reduction),
                    &mut luck.stream(event.key, Purpose::Missed),
                );
                Outcome {
                    happened: true,
                    drawn_ab: 1.0 - surviving,
                    moved_ab: self.take_away(*site, 1.0 - surviving, *fate, event, luck),
                    ..Outcome::default()
                }
            }
        }
    }

    /// Moves organisms between two sites, each with its side's probability, both from the counts before.
    fn exchange(
        &mut self,
        a: SiteIndex,
        b: SiteIndex,
        (p_ab, p_ba): (f64, f64),
        event: &Event,
        luck: Luck,
    ) -> (u64, u64) {
        let n = self.sources.len();
        let (mut there, mut back) = (0, 0);
        for source in 0..n {
            let (on_a, on_b) = (self.counts[a * n + source], self.counts[b * n + source]);
            if on_a == 0 && on_b == 0 {
                continue;
            }
            // The stream is named after the source's site, not its position, so that another start with more
            // sources shares the luck of those both have.
            let named = self.sources[source] as u32;
            let draw = |count: u64, p: f64, purpose: Purpose| {
                if count > 0 && p > 0.0 {
                    binomial(&mut luck.stream(event.key, purpose), count, p)
                } else {
                    0
                }
            };
            let ab = draw(on_a, p_ab, Purpose::MovedAb(named));
            let ba = draw(on_b, p_ba, Purpose::MovedBa(named));
            self.counts[a * n + source] = on_a - ab + ba;
            self.counts[b * n + source] = on_b - ba + ab;
            there += ab;
            back += ba;
        }
        (there, back)
    }

    /// Takes organisms off a site, each with probability `p`; returns how many.
    fn take_away(&mut self, site: SiteIndex, p: f64, fate: Fate, event: &Event, luck: Luck) -> u64 {
        let n = self.sources.len();
        let sink = match fate {
            Fate::Inactivated => &mut self.inactivated,
            Fate::WashedAway => &mut self.washed_away,
        };
        let mut taken = 0;
        let row = &mut self.counts[site * n..(site + 1) * n];
        for ((count, sink), source) in row.iter_mut().zip(sink).zip(&self.sources) {
            if *count > 0 {
                let purpose = Purpose::Removed(*source as u32);
                let gone = binomial(&mut luck.stream(event.key, purpose), *count, p);
                *count -= gone;
                *sink += gone;
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
        let draw = |count: u64, p: f64, purpose: Purpose| {
            if count > 0 && p > 0.0 {
                binomial(&mut luck.stream(event.key, purpose), count, p)
            } else {
                0
            }
        };
        let mut list = Vec::new();
        for (source, &site) in self.sources.iter().enumerate() {
            let (on_a, on_b) = (on_a[source], on_b.as_ref().map_or(0, |row| row[source]));
            let named = site as u32;
            let away = if b.is_some() {
                Purpose::MovedAb(named)
            } else {
                Purpose::Removed(named)
            };
            let ab = draw(on_a, event.share_ab(outcome.drawn_ab), away);
            let ba = draw(on_b, event.share_ba(outcome.drawn_ba), Purpose::MovedBa(named));
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
        self.carry_out(event, luck, true);
        list
    }

    /// Sets one site's counts to what they are in other books of the same sources.
    pub(crate) fn restore(&mut self, site: SiteIndex, from: &Books) {
        let n = self.sources.len();
        self.counts[site * n..(site + 1) * n].copy_from_slice(from.row(site));
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
