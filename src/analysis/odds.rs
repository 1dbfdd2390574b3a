//! Odds over many repeats of whole attempts: by counting particles, and by the exact law given the efficiencies.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use crate::outside::threads::parallel::*;

use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::model::Setup;

use super::linear::{Coefficients, expected_of};
use super::live::live_from;
use super::stats::{Interval, Summary, mean_of_chances, mean_of_counts, summary, wilson};
use super::way::{Known, Prepared};
use super::{Counter, ExactLaw, Found, Target, Way};

/// Repeats and seed of odds, unless others are asked for. One pair for every place where they are shown, so that the same
/// words have the same numbers everywhere.
pub const USUAL_REPEATS: u64 = 10_000;
/// See [`USUAL_REPEATS`].
pub const USUAL_SEED: u64 = 1;

/// How far a computation is, shared between threads, and the means to stop it.
#[derive(Debug, Default)]
pub struct Progress {
    done: AtomicU64,
    stop: AtomicBool,
}

impl Progress {
    /// Repeats done so far.
    pub fn done(&self) -> u64 {
        self.done.load(Ordering::Relaxed)
    }

    /// Asks the computation to stop; it then returns what it has.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// Counts more as done.
    pub(super) fn add(&self, done: u64) {
        self.done.fetch_add(done, Ordering::Relaxed);
    }

    /// True once it was asked to stop.
    pub(super) fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// Odds for one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct TargetOdds {
    /// The target's word.
    pub target: &'static str,
    /// Share of repeats in which at least one organism got there, by counting.
    pub probability: f64,
    /// Its 95 % Wilson interval.
    pub interval: Interval,
    /// The same by the exact law given the efficiencies, averaged over repeats; where more than one organism is needed to be
    /// seen, over every second one, since it is beside the point there and each tells more than a count.
    pub law: f64,
    /// Its 95 % interval.
    pub law_interval: Interval,
    /// Share of repeats in which some site got enough to be seen or detected.
    pub seen: f64,
    /// Its 95 % Wilson interval.
    pub seen_interval: Interval,
    /// Shares of repeats in which enough to be seen or detected was on no place, on one, on two, on three, and on more, at
    /// the moment at which that was most.
    pub places: [f64; 5],
    /// Counts over repeats.
    pub counts: Summary,
    /// The mean count by the exact expectation from each repeat's start, averaged over repeats; none for a target whose
    /// mean is no sum over organisms.
    pub expected: Option<f64>,
    /// Its 95 % interval.
    pub expected_interval: Option<Interval>,
    /// Each moment, where several are added up: cleanings of bare hands in their order, then the end.
    pub moments: Vec<MomentOdds>,
}

/// Odds at one of the moments that a target adds up.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct MomentOdds {
    /// Before which cleaning of bare hands it is, from 1; none at the end.
    pub cleaning: Option<u64>,
    /// Repeats that had this moment.
    pub repeats: u64,
    /// Share of them in which at least one organism was there.
    pub probability: f64,
    /// Share of them in which some site had enough to be seen or detected.
    pub seen: f64,
    /// Mean count in them.
    pub mean: f64,
}

/// Odds for every target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Odds {
    /// Repeats done.
    pub repeats: u64,
    /// Share of repeats in which the trainee had a lapse; 0 for a script.
    pub lapses: f64,
    /// One entry per target.
    pub targets: Vec<TargetOdds>,
}

/// One repeat's results for one target.
#[derive(Clone, Debug, Default)]
struct Cell {
    /// What was counted.
    found: Found,
    /// Chance of any by the exact law, if it was worked out.
    law: Option<f64>,
    /// Mean count, if it is a sum.
    expected: Option<f64>,
}

/// One repeat: whether the trainee had a lapse, and the results per target.
type Row = (bool, Vec<Cell>);

/// Repeats attempts and sums up what reached each target.
///
/// Every repeat has its own luck, made from the seed and its number, so the result does not depend on threads, and
/// two ways with the same seed share their luck repeat by repeat.
///
/// # Errors
/// A sentence: the actions or the sequence cannot be done with this kit.
pub fn odds(
    setup: &Setup,
    way: &Way<'_>,
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Odds, String> {
    let known = Known::new(setup);
    let rows: Result<Vec<Option<Row>>, String> = (0..repeats)
        .into_par_iter()
        .map(|n| {
            if progress.stopped() {
                return Ok(None);
            }
            let law = n % 2 == 0 || setup.organism.seen_from <= 1;
            let row = repeat(setup, way, targets, Luck::new(Key(seed).within(n).0), &known, law)?;
            progress.add(1);
            Ok(Some(row))
        })
        .collect();
    let rows: Vec<Row> = rows?.into_iter().flatten().collect();
    Ok(sum_up(targets, &rows))
}

/// One repeat of a way with this luck.
///
/// # Errors
/// A sentence: the actions or the sequence cannot be done with this kit.
fn repeat(
    setup: &Setup,
    way: &Way<'_>,
    targets: &[Target],
    luck: Luck,
    known: &Known<'_>,
    with_law: bool,
) -> Result<Row, String> {
    let beginning = Beginning::draw(setup, luck);
    let prepared = way.prepare(&beginning.state.faults, targets, luck, known)?;
    let Prepared { plan, aims, lapsed } = &*prepared;
    let live = live_from(plan, &beginning);
    let mut counter = Counter::of(&live, &beginning, aims, setup.organism.seen_from);
    let found = counter.count(luck);
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    let means = expected_of(&live, plan.varies(), &start, aims, Coefficients::Mean);
    let laws = with_law.then(|| ExactLaw::of(&live, &beginning, aims).reached_as(luck, counter.drew()));
    let cells = found
        .into_iter()
        .zip(means)
        .enumerate()
        .map(|(n, (found, expected))| Cell {
            found,
            law: laws.as_ref().map(|laws| laws[n]),
            expected,
        })
        .collect();
    Ok((*lapsed, cells))
}

fn sum_up(targets: &[Target], rows: &[Row]) -> Odds {
    let n = rows.len() as u64;
    let share = |count: u64| if n == 0 { 0.0 } else { count as f64 / n as f64 };
    let targets = targets
        .iter()
        .enumerate()
        .map(|(t, target)| {
            let cells = || rows.iter().map(|(_, cells)| &cells[t]);
            let reached = cells().filter(|c| c.found.count > 0).count() as u64;
            let seen = cells().filter(|c| c.found.seen).count() as u64;
            let (law, law_interval) = mean_of_chances(&cells().filter_map(|c| c.law).collect::<Vec<_>>());
            let expected: Option<Vec<f64>> = cells().map(|c| c.expected).collect();
            let expected = expected
                .filter(|_| target.is_linear())
                .map(|all| mean_of_counts(&all));
            TargetOdds {
                target: target.word(),
                probability: share(reached),
                interval: wilson(reached, n),
                law,
                law_interval,
                seen: share(seen),
                seen_interval: wilson(seen, n),
                places: std::array::from_fn(|n| {
                    let there = cells().filter(|c| (c.found.places as usize).min(4) == n);
                    share(there.count() as u64)
                }),
                counts: summary(&cells().map(|c| c.found.count as f64).collect::<Vec<_>>()),
                expected: expected.map(|(mean, _)| mean),
                expected_interval: expected.map(|(_, interval)| interval),
                moments: moments(cells().map(|c| &c.found)),
            }
        })
        .collect();
    Odds {
        repeats: n,
        lapses: share(rows.iter().filter(|(lapse, _)| *lapse).count() as u64),
        targets,
    }
}

/// Moments by the number of the cleaning that they come before; the end comes last.
pub(super) fn moments<'a>(found: impl Iterator<Item = &'a Found> + Clone) -> Vec<MomentOdds> {
    let most = found.clone().map(|f| f.moments.len()).max().unwrap_or(0);
    // Whoever never cleaned bare hands has the end alone.
    let list = |cleaning: Option<u64>| {
        let there = found
            .clone()
            .filter_map(move |f| match (cleaning, f.moments.split_last()) {
                (None, None) => Some((f.count, f.seen)),
                (None, Some((end, _))) => Some((end.count, end.seen)),
                (Some(n), Some((_, before))) => before.get(n as usize - 1).map(|m| (m.count, m.seen)),
                (Some(_), None) => None,
            });
        let (mut repeats, mut any, mut seen, mut sum) = (0_u64, 0_u64, 0_u64, 0.0);
        for (count, is_seen) in there {
            repeats += 1;
            any += u64::from(count > 0);
            seen += u64::from(is_seen);
            sum += count as f64;
        }
        let of = repeats.max(1) as f64;
        MomentOdds {
            cleaning,
            repeats,
            probability: any as f64 / of,
            seen: seen as f64 / of,
            mean: sum / of,
        }
    };
    if most < 2 {
        return Vec::new();
    }
    (1..most as u64).map(Some).chain([None]).map(list).collect()
}
