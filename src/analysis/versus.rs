//! Two ways side by side, repeat by repeat: how often one brings less, by how much, and what may be said about it.
//!
//! The measure of a verdict is the share of repeats in which enough gets somewhere to be seen or detected, since that is
//! what is told of people. Amounts are said beside it.

use std::cmp::Ordering;

use crate::model::Telling;

use super::stats::{Interval, mean_interval, paired_interval, wilson};

/// What may be said of two ways and one target.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// With the first, clearly fewer people get enough to be seen.
    FirstLess,
    /// With the second.
    SecondLess,
    /// One does so for fewer people, the other brings less on average.
    Torn,
    /// Much the same number of people.
    Alike,
    /// Not one repeat tells them apart.
    Equal,
    /// Too few repeats to tell.
    TooFew,
    /// With the first, fewer people in some sets of values, much the same in others and hardly ever more.
    FirstNoMore,
    /// With the second.
    SecondNoMore,
    /// Sets of values do not agree which: the model cannot tell.
    Unsure,
}

/// Which of two brings the smaller amount on average, beyond chance and beyond what is much the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Amounts {
    /// The first.
    FirstLess,
    /// The second.
    SecondLess,
    /// Neither.
    Alike,
}

/// One repeat's results for one contender and one target.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cell {
    pub count: u64,
    pub seen: bool,
    pub expected: Option<f64>,
}

/// A share of repeats with its interval.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Share {
    /// 0 to 1.
    pub share: f64,
    /// Its 95 % Wilson interval.
    pub interval: Interval,
}

/// A difference, first less second, with its interval.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Difference {
    /// Below zero where the first brings less.
    pub difference: f64,
    /// Its 95 % interval, repeats taken in pairs.
    pub interval: Interval,
}

/// Two contenders and one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Pair {
    /// Index of the first contender.
    pub first: usize,
    /// Index of the second contender.
    pub second: usize,
    /// Repeats in which the first brings fewer.
    pub fewer: Share,
    /// Repeats in which both bring as many.
    pub equal: Share,
    /// Repeats in which the first brings more.
    pub more: Share,
    /// Difference of mean counts; normal interval.
    pub means: Difference,
    /// Difference of exact expectations; the interval is for the starts and lapses that were drawn. None for a target
    /// whose mean is no sum over organisms.
    pub expected: Option<Difference>,
    /// Difference of the chances that anything gets there, -1 to 1; Bonett and Price's interval.
    pub chances: Difference,
    /// The same for enough to be seen or detected.
    pub seen: Difference,
    /// What may be said.
    pub verdict: Verdict,
    /// What may be said of amounts.
    pub amounts: Amounts,
}

/// Lays two contenders' repeats side by side; both are in the same order and from the same lucks.
pub(super) fn pair(
    (first, second): (usize, usize),
    telling: Option<&Telling>,
    ours: &[Cell],
    theirs: &[Cell],
) -> Pair {
    let n = ours.len() as u64;
    let both = || ours.iter().zip(theirs);
    let tally = |wanted: Ordering| both().filter(|(a, b)| a.count.cmp(&b.count) == wanted).count() as u64;
    let (fewer, equal, more) = (
        tally(Ordering::Less),
        tally(Ordering::Equal),
        tally(Ordering::Greater),
    );
    let share = |count: u64| Share {
        share: if n == 0 { 0.0 } else { count as f64 / n as f64 },
        interval: wilson(count, n),
    };
    let mean = |differences: &[f64]| {
        let (difference, interval) = mean_interval(differences);
        Difference { difference, interval }
    };
    let means = mean(
        &both()
            .map(|(a, b)| a.count as f64 - b.count as f64)
            .collect::<Vec<_>>(),
    );
    let expected: Option<Vec<f64>> = both().map(|(a, b)| Some(a.expected? - b.expected?)).collect();
    let chances = |of: fn(&Cell) -> bool| {
        let only = |ours: bool| both().filter(|(x, y)| of(x) == ours && of(y) != ours).count() as u64;
        let (only_first, only_second) = (only(true), only(false));
        Difference {
            difference: share(only_first).share - share(only_second).share,
            interval: paired_interval(only_first, only_second, n),
        }
    };
    let (reached, seen) = (chances(|c| c.count > 0), chances(|c| c.seen));
    let seen_share = |cells: &[Cell]| share(cells.iter().filter(|c| c.seen).count() as u64).share;
    let mean_count = |cells: &[Cell]| cells.iter().map(|c| c.count as f64).sum::<f64>() / n.max(1) as f64;
    let shares = (seen_share(ours), seen_share(theirs));
    let counts = (mean_count(ours), mean_count(theirs));
    let amounts = match telling {
        Some(t) if t.same_amount(counts.0, counts.1) => Amounts::Alike,
        _ if n > 1 && means.interval.high < 0.0 => Amounts::FirstLess,
        _ if n > 1 && means.interval.low > 0.0 => Amounts::SecondLess,
        _ => Amounts::Alike,
    };
    let verdict = if telling.is_some_and(|t| n < t.too_few) {
        Verdict::TooFew
    } else if fewer + more == 0 {
        Verdict::Equal
    } else if shares.0 == shares.1 || telling.is_some_and(|t| t.same_share(shares.0, shares.1)) {
        Verdict::Alike
    } else {
        match (seen.interval.high < 0.0, seen.interval.low > 0.0) {
            (true, _) if amounts == Amounts::SecondLess => Verdict::Torn,
            (_, true) if amounts == Amounts::FirstLess => Verdict::Torn,
            (true, _) => Verdict::FirstLess,
            (_, true) => Verdict::SecondLess,
            _ => Verdict::TooFew,
        }
    };
    Pair {
        first,
        second,
        fewer: share(fewer),
        equal: share(equal),
        more: share(more),
        means,
        expected: expected.filter(|all| !all.is_empty()).map(|all| mean(&all)),
        chances: reached,
        seen,
        verdict,
        amounts,
    }
}
