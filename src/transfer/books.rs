//! The books: whole organisms per site and source, and what was removed. They always balance.

use std::fmt;

use crate::chance::{Luck, Purpose, beta, binomial, uniform};
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
        self.carry_out(event, luck, before, true)
    }

    /// The same without drawing efficiencies that have nothing to move: the books come out equal, but the outcome
    /// then says 0 for what was not drawn.
    pub fn apply_counts(&mut self, event: &Event, luck: Luck, before: Option<&Outcome>) -> Outcome {
        self.carry_out(event, luck, before, false)
    }

    fn carry_out(&mut self, event: &Event, luck: Luck, before: Option<&Outcome>, report: bool) -> Outcome {
        let happened = match before {
            Some(before) if event.follows => before.happened,
            _ => event.chance >= 1.0 || uniform(&mut luck.stream(event.key, Purpose::Happens)) < event.chance,
        };
        if !happened {
            return Outcome::default();
        }
        match &event.flow {
            Flow::Contact { a, b, ab, ba, .. } => {
                let (out, back) = (self.any(*a), self.any(*b));
                // Streams are keyed, so leaving a draw out shifts no other.
                let draw = |wanted: bool, purpose: Purpose, law: Efficiency| {
                    if wanted {
                        beta(&mut luck.stream(event.key, purpose), law)
                    } else {
                        0.0
                    }
                };
                let drawn_ab = draw(out || report, Purpose::EfficiencyAb, *ab);
                let drawn_ba = draw(back || report, Purpose::EfficiencyBa, *ba);
                let leaving_a = self.draw(*a, out, event.share_ab(drawn_ab), luck, event, Purpose::MovedAb);
                let leaving_b = self.draw(*b, back, event.share_ba(drawn_ba), luck, event, Purpose::MovedBa);
                let moved_ab = self.shift(*a, *b, &leaving_a);
                let moved_ba = self.shift(*b, *a, &leaving_b);
                Outcome {
                    happened,
                    drawn_ab,
                    drawn_ba,
                    moved_ab,
                    moved_ba,
                }
            }
            Flow::Splash { from, onto, law, .. } => {
                let drawn = beta(&mut luck.stream(event.key, Purpose::EfficiencyAb), *law);
                let leaving = self.draw(*from, true, drawn, luck, event, Purpose::MovedAb);
                let moved_ab = self.shift(*from, *onto, &leaving);
                Outcome {
                    happened,
                    drawn_ab: drawn,
                    moved_ab,
                    ..Outcome::default()
                }
            }
            Flow::Removal { site, .. } if !report && !self.any(*site) => Outcome {
                happened,
                ..Outcome::default()
            },
            Flow::Removal { site, law, fate } => {
                let surviving = law.draw(
                    &mut luck.stream(event.key, Purpose::Reduction),
                    &mut luck.stream(event.key, Purpose::Missed),
                );
                let removed = self.draw(*site, true, 1.0 - surviving, luck, event, Purpose::Removed);
                let n = self.sources.len();
                let sink = match fate {
                    Fate::Inactivated => &mut self.inactivated,
                    Fate::WashedAway => &mut self.washed_away,
                };
                let mut moved_ab = 0;
                for &(source, count) in &removed {
                    self.counts[site * n + source] -= count;
                    sink[source] += count;
                    moved_ab += count;
                }
                Outcome {
                    happened,
                    drawn_ab: 1.0 - surviving,
                    moved_ab,
                    ..Outcome::default()
                }
            }
        }
    }

    /// How many of each source leave a site, each organism with probability `p`.
    fn draw(
        &self,
        site: SiteIndex,
        any: bool,
        p: f64,
        luck: Luck,
        event: &Event,
        purpose: fn(u32) -> Purpose,
    ) -> Vec<(usize, u64)> {
        if !any {
            return Vec::new();
        }
        let mut leaving = Vec::new();
        for (source, &count) in self.row(site).iter().enumerate() {
            if count > 0 {
                // The stream is named after the source's site, not its position, so that another start with more
                // sources shares the luck of those both have.
                let mut rng = luck.stream(event.key, purpose(self.sources[source] as u32));
                let moved = binomial(&mut rng, count, p);
                if moved > 0 {
                    leaving.push((source, moved));
                }
            }
        }
        leaving
    }

    fn shift(&mut self, from: SiteIndex, to: SiteIndex, leaving: &[(usize, u64)]) -> u64 {
        let n = self.sources.len();
        let mut moved = 0;
        for &(source, count) in leaving {
            self.counts[from * n + source] -= count;
            self.counts[to * n + source] += count;
            moved += count;
        }
        moved
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
