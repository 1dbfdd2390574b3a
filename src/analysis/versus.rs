//! Two ways side by side, repeat by repeat: how often one brings less, by how much, and what may be said about it.

use std::cmp::Ordering;

use super::compare::Cell;
use super::stats::{Interval, mean_interval, paired_interval, wilson};

/// What may be said of two ways and one target.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The first brings less.
    FirstLess,
    /// The second brings less.
    SecondLess,
    /// One brings less more often, the other less on average.
    Torn,
    /// No difference that so many repeats can show.
    Alike,
    /// Not one repeat tells them apart.
    Equal,
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
    /// What may be said.
    pub verdict: Verdict,
    /// The same as a sentence.
    pub sentence: String,
}

/// Lays two contenders' repeats side by side; both are in the same order and from the same lucks.
pub(super) fn pair(
    (first, second): (usize, usize),
    names: (&str, &str),
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
    let only = |a: bool| {
        both()
            .filter(|(x, y)| (x.count > 0) == a && (y.count > 0) != a)
            .count() as u64
    };
    let (only_first, only_second) = (only(true), only(false));
    let verdict = verdict(fewer, more, means.interval);
    Pair {
        first,
        second,
        fewer: share(fewer),
        equal: share(equal),
        more: share(more),
        means,
        expected: expected.filter(|all| !all.is_empty()).map(|all| mean(&all)),
        chances: Difference {
            difference: share(only_first).share - share(only_second).share,
            interval: paired_interval(only_first, only_second, n),
        },
        verdict,
        sentence: sentence(verdict, names, (fewer, equal, more)),
    }
}

/// By how often either brings less among the repeats that tell them apart, and by the paired difference of means.
/// Either suffices; where they contradict each other, both are said.
fn verdict(fewer: u64, more: u64, means: Interval) -> Verdict {
    let apart = fewer + more;
    if apart == 0 {
        return Verdict::Equal;
    }
    let often = wilson(fewer, apart);
    let first = (often.low > 0.5, means.high < 0.0);
    let second = (often.high < 0.5, means.low > 0.0);
    match (first, second) {
        ((false, false), (false, false)) => Verdict::Alike,
        ((false, false), _) => Verdict::SecondLess,
        (_, (false, false)) => Verdict::FirstLess,
        _ => Verdict::Torn,
    }
}

fn sentence(verdict: Verdict, (a, b): (&str, &str), (fewer, equal, more): (u64, u64, u64)) -> String {
    let n = fewer + equal + more;
    let of_hundred = |count: u64| match 100.0 * count as f64 / n.max(1) as f64 {
        _ if count == 0 => "none".to_owned(),
        p if p < 1.0 => "fewer than 1".to_owned(),
        p if p > 99.0 && count < n => "more than 99".to_owned(),
        p => format!("{p:.0}"),
    };
    let compared = |less: &str, other: &str, (fewer, more): (u64, u64)| {
        format!(
            "of 100 attempts with the same luck {less} leaves fewer than {other} in {}, more in {}, as many in {}",
            of_hundred(fewer),
            of_hundred(more),
            of_hundred(equal)
        )
    };
    match verdict {
        Verdict::FirstLess => format!("{a} brings less: {}", compared(a, b, (fewer, more))),
        Verdict::SecondLess => format!("{b} brings less: {}", compared(b, a, (more, fewer))),
        Verdict::Torn => {
            let (often, other, counts) = if fewer > more {
                (a, b, (fewer, more))
            } else {
                (b, a, (more, fewer))
            };
            format!(
                "{often} brings less more often, but {other} less on average: {}",
                compared(often, other, counts)
            )
        }
        Verdict::Alike => format!(
            "as good as each other here: {n} repeats show no difference between {a} and {b}; {}",
            compared(a, b, (fewer, more))
        ),
        Verdict::Equal => format!("as good as each other here: {a} and {b} leave as many in every repeat"),
    }
}
