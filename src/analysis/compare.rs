//! Two or more ways of doing it under the same luck: each repeat has one start and one luck, shared by all, so that
//! what differs comes from the ways and not from chance. Does not know what is compared, nor how it is shown.

use crate::outside::threads::parallel::*;

use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::model::Setup;

use super::linear::{Coefficients, expected_of};
use super::live::live_from;
use super::stats::{Interval, Summary, mean_of_counts, summary, wilson};
use super::versus::{Cell, Pair, pair};
use super::way::{Known, Prepared};
use super::{Counter, Histogram, Progress, Target, Way};

/// Most repeats of one comparison: every repeat is kept, for medians and for pairs, in some hundred megabytes.
pub const MOST_REPEATS: u64 = 500_000;

/// One of what is compared.
#[derive(Clone, Debug)]
pub struct Contender<'a> {
    /// Its name for people.
    pub label: String,
    /// Where it is done. Sites have the same luck by name, so two kits that are loaded alike begin alike.
    pub setup: &'a Setup,
    /// What is done: the same actions every time, or a trainee's attempts at a sequence.
    pub way: Way<'a>,
}

/// What one contender brings to one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Brought {
    /// Share of repeats in which at least one organism got there, 0 to 1.
    pub probability: f64,
    /// Its 95 % Wilson interval.
    pub interval: Interval,
    /// Share of repeats in which some site got enough to be seen or detected, 0 to 1.
    pub seen: f64,
    /// Its 95 % Wilson interval.
    pub seen_interval: Interval,
    /// Counts over repeats: mean with normal interval, median, 5 to 95 %.
    pub counts: Summary,
    /// The mean count by the exact expectation from each repeat's start, averaged over repeats; none for a target whose
    /// mean is no sum over organisms.
    pub expected: Option<f64>,
    /// Its 95 % interval, for the starts and lapses that were drawn.
    pub expected_interval: Option<Interval>,
    /// How the counts spread.
    pub histogram: Histogram,
}

/// Everything about one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct TargetComparison {
    /// The target's word.
    pub target: &'static str,
    /// One entry per contender, in their order.
    pub contenders: Vec<Brought>,
    /// One entry per pair of contenders: first with second, first with third, and so on.
    pub pairs: Vec<Pair>,
}

/// Contenders compared.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Comparison {
    /// Repeats done.
    pub repeats: u64,
    /// The contenders' names, in order.
    pub contenders: Vec<String>,
    /// One entry per target.
    pub targets: Vec<TargetComparison>,
}

/// Compares contenders, each repeat with one luck for all of them, and one start where they share a situation.
///
/// Repeats have the luck that [`odds`](super::odds) gives them with this seed, so both agree to the last organism,
/// whatever the number of threads. Stopped early, it returns the repeats that it has.
///
/// # Errors
/// A sentence: fewer than two contenders, no repeats or more than [`MOST_REPEATS`], contenders with unlike organisms, or
/// one that cannot be done with its kit.
pub fn compare(
    contenders: &[Contender<'_>],
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Comparison, String> {
    if contenders.len() < 2 {
        return Err("a comparison needs at least two ways to do it".to_owned());
    }
    if repeats == 0 {
        return Err("a comparison needs at least one repeat".to_owned());
    }
    if repeats > MOST_REPEATS {
        return Err(format!(
            "{repeats} repeats are too many: at most {MOST_REPEATS}, since every repeat is kept"
        ));
    }
    for contender in contenders {
        let (one, other) = (&contenders[0].setup.organism, &contender.setup.organism);
        if one.id != other.id {
            return Err(format!(
                "{} has {} and {} has {}: counts of unlike things cannot be compared",
                contenders[0].label, one.label, contender.label, other.label
            ));
        }
    }
    let known: Vec<Known<'_>> = contenders.iter().map(|c| Known::new(c.setup)).collect();
    let rows: Result<Vec<Option<Vec<Cell>>>, String> = (0..repeats)
        .into_par_iter()
        .map(|n| {
            if progress.stopped() {
                return Ok(None);
            }
            let luck = Luck::new(Key(seed).within(n).0);
            let row = repeat(contenders, targets, luck, &known)?;
            progress.add(1);
            Ok(Some(row))
        })
        .collect();
    let rows: Vec<Vec<Cell>> = rows?.into_iter().flatten().collect();
    let columns = |t: usize| -> Vec<Vec<Cell>> {
        (0..contenders.len())
            .map(|c| rows.iter().map(|row| row[c * targets.len() + t]).collect())
            .collect()
    };
    let telling = contenders[0].setup.library.telling.as_ref();
    let targets = targets
        .par_iter()
        .enumerate()
        .map(|(t, target)| {
            let columns = columns(t);
            let mut pairs = Vec::new();
            for second in 1..columns.len() {
                pairs.extend(
                    (0..second)
                        .map(|first| pair((first, second), telling, &columns[first], &columns[second])),
                );
            }
            pairs.sort_by_key(|p| (p.first, p.second));
            TargetComparison {
                target: target.word(),
                contenders: columns.iter().map(|cells| brought(cells)).collect(),
                pairs,
            }
        })
        .collect();
    Ok(Comparison {
        repeats: rows.len() as u64,
        contenders: contenders.iter().map(|c| c.label.clone()).collect(),
        targets,
    })
}

fn repeat(
    contenders: &[Contender<'_>],
    targets: &[Target],
    luck: Luck,
    known: &[Known<'_>],
) -> Result<Vec<Cell>, String> {
    let mut row = Vec::with_capacity(contenders.len() * targets.len());
    let mut begun: Option<(&Setup, Beginning)> = None;
    for (contender, known) in contenders.iter().zip(known) {
        let setup = contender.setup;
        let beginning = match begun.take() {
            Some((same, beginning)) if std::ptr::eq(same, setup) => beginning,
            _ => Beginning::draw(setup, luck),
        };
        let (_, beginning) = begun.insert((setup, beginning));
        let faults = &beginning.state.faults;
        let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
        let prepared = contender
            .way
            .prepare(faults, targets, luck, known)
            .map_err(|e| format!("{}: {e}", contender.label))?;
        let Prepared { plan, aims, .. } = &*prepared;
        let live = live_from(plan, beginning);
        let means = expected_of(&live, plan.varies(), &start, aims, Coefficients::Mean);
        let found = Counter::of(&live, beginning, aims, setup.organism.seen_from).count(luck);
        row.extend(found.iter().zip(means).map(|(found, expected)| Cell {
            count: found.count,
            seen: found.seen,
            expected,
        }));
    }
    Ok(row)
}

fn brought(cells: &[Cell]) -> Brought {
    let n = cells.len() as u64;
    let share = |count: u64| if n == 0 { 0.0 } else { count as f64 / n as f64 };
    let reached = cells.iter().filter(|c| c.count > 0).count() as u64;
    let seen = cells.iter().filter(|c| c.seen).count() as u64;
    let expected: Option<Vec<f64>> = cells.iter().map(|c| c.expected).collect();
    let expected = expected
        .filter(|all| !all.is_empty())
        .map(|all| mean_of_counts(&all));
    Brought {
        probability: share(reached),
        interval: wilson(reached, n),
        seen: share(seen),
        seen_interval: wilson(seen, n),
        counts: summary(&cells.iter().map(|c| c.count as f64).collect::<Vec<_>>()),
        expected: expected.map(|(mean, _)| mean),
        expected_interval: expected.map(|(_, interval)| interval),
        histogram: Histogram::of(cells.iter().map(|c| c.count)),
    }
}
