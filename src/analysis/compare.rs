//! Two or more ways of doing it, compared over many repeats: every repeat gives all of them the same start and the
//! same luck, so that what differs is what was done.

use rayon::prelude::*;

use crate::chance::{Key, Luck};
use crate::drill::{Action, Beginning};
use crate::model::{Sequence, Setup, Trainee};

use super::odds::Progress;
use super::stats::{Interval, Summary, mean_interval, summary, wilson};
use super::{Coefficients, ExactLaw, Histogram, Plan, Runner, Target, by_the_book, expectation, rehearse};

/// Repeats that are held in memory at most: all targets of a repeat take about a hundred bytes.
pub const MOST_REPEATS: u64 = 10_000_000;

/// One way of doing it.
#[derive(Clone, Debug)]
pub struct Contender<'a> {
    /// Its name for people.
    pub label: String,
    /// What is done.
    pub doing: Doing<'a>,
}

/// What a contender does.
#[derive(Clone, Debug)]
pub enum Doing<'a> {
    /// The same actions every time.
    Actions(Vec<Action>),
    /// A trainee at a sequence: other lapses every time, the same for all contenders where their steps are the same.
    Rehearsed(&'a Sequence, &'a Trainee),
}

/// One contender at one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Fared {
    /// Share of repeats in which anything got there.
    pub any: f64,
    /// Its 95 % Wilson interval.
    pub any_interval: Interval,
    /// Share of repeats in which enough got to one site there to be seen or detected.
    pub seen: f64,
    /// Its 95 % Wilson interval.
    pub seen_interval: Interval,
    /// The chance that anything gets there by the exact law, averaged over repeats.
    pub law: f64,
    /// Counts there.
    pub counts: Summary,
    /// The exact expectation, averaged over the starts.
    pub expected: f64,
    /// How the counts spread.
    pub histogram: Histogram,
}

/// Which of two did better at a target.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Better {
    /// The first brings less.
    First,
    /// The second brings less.
    Second,
    /// The interval of the difference holds zero: neither can be told to be better.
    Neither,
}

/// Two contenders at one target, repeat by repeat.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Pair {
    /// Indices of the two.
    pub contenders: (usize, usize),
    /// Share of repeats in which the first brought fewer, as many, and more, each with its 95 % Wilson interval.
    pub fewer: (f64, Interval),
    /// As many.
    pub equal: (f64, Interval),
    /// More.
    pub more: (f64, Interval),
    /// Mean count of the first less that of the second, with the 95 % interval of paired differences.
    pub difference: (f64, Interval),
    /// The same of the exact expectations.
    pub expected: f64,
    /// Chance of anything seen by the first less that by the second, with the interval of paired differences.
    pub seen: (f64, Interval),
    /// Which did better.
    pub better: Better,
}

/// All contenders and pairs at one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct AtTarget {
    /// The target's word.
    pub target: &'static str,
    /// In the order of the contenders.
    pub standings: Vec<Fared>,
    /// Every pair, in order.
    pub pairs: Vec<Pair>,
}

/// A comparison.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Comparison {
    /// Repeats done.
    pub repeats: u64,
    /// Names of the contenders.
    pub labels: Vec<String>,
    /// Results per target.
    pub targets: Vec<AtTarget>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Cell {
    count: u64,
    seen: bool,
    law: f64,
    expected: f64,
}

/// Compares contenders at targets.
///
/// Each repeat's luck is made from the seed and its number, so results do not depend on threads, and repeat n of one
/// contender shares start and luck with repeat n of every other.
///
/// # Errors
/// A sentence: fewer than two contenders, no or too many repeats, or something that this kit cannot do.
pub fn compare(
    setup: &Setup,
    contenders: &[Contender<'_>],
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Comparison, String> {
    if contenders.len() < 2 {
        return Err("a comparison needs two ways of doing it or more".to_owned());
    }
    if repeats == 0 || repeats > MOST_REPEATS {
        return Err(format!(
            "{repeats} repeats cannot be compared; from 1 to {MOST_REPEATS} fit into memory"
        ));
    }
    let fixed: Vec<Option<Ready>> = contenders
        .iter()
        .map(|c| match &c.doing {
            Doing::Actions(actions) => Ready::new(setup, &[], actions, targets)
                .map(Some)
                .map_err(|e| format!("{}: {e}", c.label)),
            Doing::Rehearsed(..) => Ok(None),
        })
        .collect::<Result<_, _>>()?;
    let rows: Result<Vec<Option<Vec<Vec<Cell>>>>, String> = (0..repeats)
        .into_par_iter()
        .map(|n| {
            if progress.stopped() {
                return Ok(None);
            }
            let luck = Luck::new(Key(seed).within(n).0);
            let beginning = Beginning::draw(setup, luck);
            let row = contenders
                .iter()
                .zip(&fixed)
                .map(|(c, fixed)| one(setup, c, fixed.as_ref(), &beginning, targets, luck))
                .collect::<Result<Vec<_>, _>>()?;
            progress.add(1);
            Ok(Some(row))
        })
        .collect();
    let rows: Vec<Vec<Vec<Cell>>> = rows?.into_iter().flatten().collect();
    Ok(Comparison {
        repeats: rows.len() as u64,
        labels: contenders.iter().map(|c| c.label.clone()).collect(),
        targets: targets
            .iter()
            .enumerate()
            .map(|(t, target)| at_target(target.word(), contenders.len(), &rows, t))
            .collect(),
    })
}

/// A plan with the weights of its targets.
struct Ready {
    plan: Plan,
    weights: Vec<Vec<f64>>,
}

impl Ready {
    fn new(
        setup: &Setup,
        faults: &[crate::drill::ActiveFault],
        actions: &[Action],
        targets: &[Target],
    ) -> Result<Ready, String> {
        let plan = Plan::new(setup, faults, actions).map_err(|e| e.to_string())?;
        let weights = targets.iter().map(|t| t.weights(setup, &plan.end)).collect();
        Ok(Ready { plan, weights })
    }
}

/// One contender in one repeat.
fn one(
    setup: &Setup,
    contender: &Contender<'_>,
    fixed: Option<&Ready>,
    beginning: &Beginning,
    targets: &[Target],
    luck: Luck,
) -> Result<Vec<Cell>, String> {
    let faults = &beginning.state.faults;
    let made;
    let ready = match (&contender.doing, fixed) {
        (Doing::Actions(_), Some(ready)) if faults.is_empty() => ready,
        (Doing::Actions(actions), _) => {
            made = Ready::new(setup, faults, actions, targets)?;
            &made
        }
        (Doing::Rehearsed(sequence, trainee), _) => {
            let rehearsal = rehearse(setup, sequence, trainee, luck).map_err(|r| r.to_string())?;
            made = Ready::new(setup, faults, &rehearsal.actions, targets)?;
            &made
        }
    };
    let mut runner = Runner::new(&ready.plan, beginning);
    let books = runner.run(luck);
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    let mean = expectation(
        &ready.plan,
        &beginning.state.wet_until,
        &start,
        Coefficients::Mean,
    );
    Ok(ready
        .weights
        .iter()
        .map(|weights| {
            let mut cell = Cell::default();
            for (site, weight) in weights.iter().enumerate().filter(|(_, w)| **w > 0.0) {
                cell.expected += weight * mean[site];
                if books.any(site) {
                    let count = books.total(site);
                    cell.count += count;
                    cell.seen |= count >= setup.organism.seen_from;
                }
            }
            cell.law = ExactLaw::new(&ready.plan, beginning, weights).reached(luck);
            cell
        })
        .collect())
}

fn at_target(word: &'static str, contenders: usize, rows: &[Vec<Vec<Cell>>], t: usize) -> AtTarget {
    let n = rows.len() as u64;
    let share = |k: u64| if n == 0 { 0.0 } else { k as f64 / n as f64 };
    let cells = |c: usize| rows.iter().map(move |row| row[c][t]);
    let standings = (0..contenders)
        .map(|c| {
            let any = cells(c).filter(|x| x.count > 0).count() as u64;
            let seen = cells(c).filter(|x| x.seen).count() as u64;
            let mean = |pick: fn(Cell) -> f64| cells(c).map(pick).sum::<f64>() / n.max(1) as f64;
            Fared {
                any: share(any),
                any_interval: wilson(any, n),
                seen: share(seen),
                seen_interval: wilson(seen, n),
                law: mean(|x| x.law),
                counts: summary(&cells(c).map(|x| x.count as f64).collect::<Vec<_>>()),
                expected: mean(|x| x.expected),
                histogram: Histogram::of(cells(c).map(|x| x.count)),
            }
        })
        .collect();
    let mut pairs = Vec::new();
    for first in 0..contenders {
        for second in first + 1..contenders {
            pairs.push(pair((first, second), rows, t));
        }
    }
    AtTarget {
        target: word,
        standings,
        pairs,
    }
}

fn pair((first, second): (usize, usize), rows: &[Vec<Vec<Cell>>], t: usize) -> Pair {
    let n = rows.len() as u64;
    let both = || rows.iter().map(|row| (row[first][t], row[second][t]));
    let count = |wanted: std::cmp::Ordering| {
        let k = both().filter(|(a, b)| a.count.cmp(&b.count) == wanted).count() as u64;
        (if n == 0 { 0.0 } else { k as f64 / n as f64 }, wilson(k, n))
    };
    let differences: Vec<f64> = both().map(|(a, b)| a.count as f64 - b.count as f64).collect();
    let seen: Vec<f64> = both()
        .map(|(a, b)| f64::from(u8::from(a.seen)) - f64::from(u8::from(b.seen)))
        .collect();
    let difference = mean_interval(&differences);
    let better = match difference.1 {
        i if i.high < 0.0 => Better::First,
        i if i.low > 0.0 => Better::Second,
        _ => Better::Neither,
    };
    Pair {
        contenders: (first, second),
        fewer: count(std::cmp::Ordering::Less),
        equal: count(std::cmp::Ordering::Equal),
        more: count(std::cmp::Ordering::Greater),
        difference,
        expected: both().map(|(a, b)| a.expected - b.expected).sum::<f64>() / n.max(1) as f64,
        seen: mean_interval(&seen),
        better,
    }
}

/// A sequence followed to the letter, as a contender.
///
/// # Errors
/// The step that this kit cannot follow, and why.
pub fn by_sequence(setup: &Setup, sequence: &Sequence) -> Result<Contender<'static>, String> {
    let actions = by_the_book(setup, sequence).map_err(|r| format!("{}: {r}", sequence.id))?;
    Ok(Contender {
        label: sequence.label.clone(),
        doing: Doing::Actions(actions),
    })
}
