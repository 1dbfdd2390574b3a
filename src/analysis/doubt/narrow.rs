//! Numbers that sets of values came to, with what is chance in them taken out.

use crate::analysis::Target;
use crate::analysis::stats::{Interval, quantile};

/// A number with its range over sets of values.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Ranged {
    /// Median.
    pub median: f64,
    /// 5 to 95 %.
    pub range: Interval,
}

fn both(halves: [f64; 2]) -> f64 {
    0.5 * (halves[0] + halves[1])
}

/// Values of all sets in both halves of their repeats, drawn together by as much of their spread as is chance.
pub(super) struct Narrowed {
    /// One for each set.
    pub values: Vec<f64>,
    /// Share of the spread of their means that may be no chance, 0 to 1.
    pub sure: f64,
}

impl Narrowed {
    /// By how far the halves agree.
    fn of(halves: &[[f64; 2]]) -> Narrowed {
        let values: Vec<f64> = halves.iter().map(|h| both(*h)).collect();
        let sure = sure(halves);
        Narrowed {
            values: closer(&values, sure),
            sure,
        }
    }

    /// The same for what cannot be less than nothing: values are drawn together on a scale on which chance is much the
    /// same everywhere.
    pub fn on(scale: Scale, halves: &[[f64; 2]]) -> Narrowed {
        let stretched: Vec<[f64; 2]> = halves.iter().map(|h| h.map(|x| scale.stretch(x))).collect();
        let sure = sure(&stretched);
        let on_scale: Vec<f64> = halves.iter().map(|h| scale.stretch(both(*h))).collect();
        let closer = closer(&on_scale, sure);
        let back = |by: f64| -> Vec<f64> { closer.iter().map(|x| scale.back(x + by)).collect() };
        let values = match scale {
            Scale::Count { .. } => back(bent(&stretched)),
            // Shares keep their mean, though most of them are near nothing or near all: they are moved along the scale. Their
            // sum grows with the shift, so that halving finds it.
            Scale::Share => {
                let wanted = halves.iter().map(|h| both(*h)).sum::<f64>();
                let most = core::f64::consts::FRAC_PI_2;
                let (mut low, mut high) = (-most, most);
                for _ in 0..60 {
                    let by = 0.5 * (low + high);
                    match back(by).iter().sum::<f64>() < wanted {
                        true => low = by,
                        false => high = by,
                    }
                }
                back(0.5 * (low + high))
            }
        };
        Narrowed { values, sure }
    }

    /// No set has more of a part than of the whole: each is drawn together by chance of its own, which must not be seen as
    /// more of the part.
    pub fn no_more_than(&mut self, whole: &Narrowed) {
        for (part, whole) in self.values.iter_mut().zip(&whole.values) {
            *part = part.min(*whole);
        }
    }
}

/// Lets no target have more than what it is part of, where that is among them.
pub(super) fn parts_in_wholes(targets: &[Target], narrowed: &mut [Narrowed]) {
    for (t, target) in targets.iter().enumerate() {
        let whole = target
            .whole()
            .and_then(|whole| targets.iter().position(|t| *t == whole));
        if let Some(whole) = whole
            && let Ok([part, whole]) = narrowed.get_disjoint_mut([t, whole])
        {
            part.no_more_than(whole);
        }
    }
}

/// How much of the spread of values is no chance, from two halves of each, as much as may be.
fn sure(halves: &[[f64; 2]]) -> f64 {
    let n = halves.len() as f64;
    let mean = |half: usize| halves.iter().map(|h| h[half]).sum::<f64>() / n;
    let means = [mean(0), mean(1)];
    let common: f64 = halves.iter().map(|h| (h[0] - means[0]) * (h[1] - means[1])).sum();
    let middle = both(means);
    let spread: f64 = halves.iter().map(|h| (both(*h) - middle).powi(2)).sum();
    if spread > 0.0 {
        as_much_as_may_be((common / spread).clamp(0.0, 1.0), halves.len())
    } else {
        1.0
    }
}

/// Values drawn together around their mean, so that so much of their spread is left.
fn closer(values: &[f64], sure: f64) -> Vec<f64> {
    let middle = values.iter().sum::<f64>() / values.len().max(1) as f64;
    values
        .iter()
        .map(|x| middle + sure.sqrt() * (x - middle))
        .collect()
}

/// By how much the logarithm of a mean of two halves is too low on average for the chance in it: half its square, as far as
/// the halves' logarithms tell.
fn bent(logs: &[[f64; 2]]) -> f64 {
    let apart: f64 = logs.iter().map(|h| (h[0] - h[1]).powi(2)).sum();
    apart / logs.len().max(1) as f64 / 8.0
}

/// The share of a spread that is no chance, found to be so much in the two halves of so many sets, with as much more as it is
/// unsure by (one standard error of Fisher's z of the correlation of the halves): a range may be too wide for
/// counting noise, and must not be too narrow.
fn as_much_as_may_be(sure: f64, sets: usize) -> f64 {
    if sets < 5 || sure >= 1.0 {
        return 1.0;
    }
    let halves = sure / (2.0 - sure);
    let more = libm::tanh(libm::atanh(halves) + 1.0 / (sets as f64 - 3.0).sqrt());
    2.0 * more / (1.0 + more)
}

/// A scale on which chance is much the same everywhere.
#[derive(Clone, Copy)]
pub(super) enum Scale {
    /// For shares: arcsine of the root.
    Share,
    /// For mean counts, which sets have by factors: the logarithm, with this added so that nothing has one.
    Count { added: f64 },
}

impl Scale {
    /// The scale of these mean counts.
    pub fn count(halves: &[[f64; 2]]) -> Scale {
        let mean = halves.iter().map(|h| both(*h)).sum::<f64>() / halves.len().max(1) as f64;
        let added = if mean > 0.0 { 1e-3 * mean } else { 1.0 };
        Scale::Count { added }
    }

    fn stretch(self, x: f64) -> f64 {
        match self {
            Scale::Share => libm::asin(x.clamp(0.0, 1.0).sqrt()),
            Scale::Count { added } => libm::log(x.max(0.0) + added),
        }
    }

    fn back(self, x: f64) -> f64 {
        match self {
            Scale::Share => libm::sin(x.clamp(0.0, core::f64::consts::FRAC_PI_2)).powi(2),
            Scale::Count { added } => (libm::exp(x) - added).max(0.0),
        }
    }
}

/// Median and middle nine tenths.
pub(in crate::analysis) fn ranged(values: &[f64]) -> Ranged {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    Ranged {
        median: quantile(&values, 0.5),
        range: Interval {
            low: quantile(&values, 0.05),
            high: quantile(&values, 0.95),
        },
    }
}

/// Ranks of values, equal ones sharing theirs.
pub(super) fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let mut first = 0;
    for group in order.chunk_by(|&a, &b| values[a] == values[b]) {
        let middle = first as f64 + 0.5 * (group.len() - 1) as f64;
        group.iter().for_each(|&n| ranks[n] = middle);
        first += group.len();
    }
    ranks
}

#[cfg(test)]
pub(super) fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len() as f64;
    let (mean_a, mean_b) = (a.iter().sum::<f64>() / n, b.iter().sum::<f64>() / n);
    let sum = |f: &dyn Fn(usize) -> f64| (0..a.len()).map(f).sum::<f64>();
    let both = sum(&|n| (a[n] - mean_a) * (b[n] - mean_b));
    let (one, two) = (
        sum(&|n| (a[n] - mean_a).powi(2)),
        sum(&|n| (b[n] - mean_b).powi(2)),
    );
    if one > 0.0 && two > 0.0 {
        both / (one * two).sqrt()
    } else {
        0.0
    }
}

/// The least share of an answer's spread that is no chance: among so many constants that have nothing to do with it, one
/// comes above this less than once in a hundred times (a normal law's tail for the correlation of ranks).
pub(super) fn least_share(constants: usize, sets: f64) -> f64 {
    let tail = 0.01 / constants.max(1) as f64;
    // An upper bound of the square of the quantile (Chernoff), which is all that is needed of it.
    (-2.0 * libm::log(tail / 2.0)) / sets.max(1.0)
}

/// A column that an answer goes with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leading {
    /// Its place among the columns.
    pub column: usize,
    /// Share of the answer's spread that goes with it and with none before it, 0 to 1.
    pub share: f64,
    /// True if more of it makes the answer greater, those before it being as they are.
    pub raises: bool,
}

/// The columns that an answer goes with, one after another: each is the one that explains most of what those before it leave
/// (forward selection by least squares). What goes along with one that leads, and explains no more than chance would
/// of what that leaves, is not among them. At most `most`; `least` as [`least_share`] gives it for each column.
pub(super) fn leading(answer: &[f64], columns: &[&[f64]], least: &[f64], most: usize) -> Vec<Leading> {
    let centred = |x: &[f64]| -> Vec<f64> {
        let mean = x.iter().sum::<f64>() / x.len().max(1) as f64;
        x.iter().map(|x| x - mean).collect()
    };
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let mut left = centred(answer);
    let whole = dot(&left, &left);
    let mut columns: Vec<Vec<f64>> = columns.iter().map(|c| centred(c)).collect();
    let lengths: Vec<f64> = columns.iter().map(|c| dot(c, c)).collect();
    let mut found: Vec<Leading> = Vec::new();
    while found.len() < most {
        let of_left = dot(&left, &left);
        if of_left <= 1e-9 * whole {
            break;
        }
        let best = columns
            .iter()
            .enumerate()
            .filter(|(n, _)| found.iter().all(|f| f.column != *n))
            .filter_map(|(n, column)| {
                let length = dot(column, column);
                // One that follows from those before it says nothing of its own.
                (length > 1e-6 * lengths[n]).then(|| (n, dot(&left, column), length))
            })
            .filter(|(n, along, length)| along * along / length > least[*n] * of_left)
            .max_by(|a, b| (a.1 * a.1 / a.2).total_cmp(&(b.1 * b.1 / b.2)));
        let Some((column, along, length)) = best else {
            break;
        };
        let share = along * along / length;
        let unit = columns[column].clone();
        let take = |x: &mut Vec<f64>| {
            let by = dot(x, &unit) / length;
            x.iter_mut().zip(&unit).for_each(|(x, u)| *x -= by * u);
        };
        take(&mut left);
        columns.iter_mut().for_each(take);
        found.push(Leading {
            column,
            share: share / whole,
            raises: along > 0.0,
        });
    }
    found
}

/// What two ways come to in every set: how high both are and by how much they differ are each drawn together by what is
/// chance.
pub(super) fn apart(first: &[[f64; 2]], second: &[[f64; 2]]) -> Vec<(f64, f64)> {
    let combined = |of: fn(f64, f64) -> f64| -> Vec<f64> {
        let halves = first
            .iter()
            .zip(second)
            .map(|(a, b)| [of(a[0], b[0]), of(a[1], b[1])]);
        Narrowed::of(&halves.collect::<Vec<_>>()).values
    };
    let (middles, differences) = (combined(|a, b| 0.5 * (a + b)), combined(|a, b| a - b));
    let each = middles.iter().zip(&differences);
    each.map(|(middle, by)| {
        let low = (middle - 0.5 * by.abs()).max(0.0);
        let high = low + by.abs();
        if *by < 0.0 { (low, high) } else { (high, low) }
    })
    .collect()
}

/// The same for mean counts, which sets have by factors: how high both are, and how many times as much one is as the other,
/// are each drawn together as logarithms.
pub(super) fn apart_as_counts(first: &[[f64; 2]], second: &[[f64; 2]]) -> Vec<(f64, f64)> {
    let all: Vec<[f64; 2]> = first.iter().chain(second).copied().collect();
    let scale = Scale::count(&all);
    let log = |x: f64| scale.stretch(x);
    let combined = |of: fn(f64, f64) -> f64| -> Vec<f64> {
        let sets = || first.iter().zip(second);
        let halves = sets().map(|(a, b)| [0, 1].map(|half| of(log(a[half]), log(b[half]))));
        let whole = sets().map(|(a, b)| of(log(both(*a)), log(both(*b))));
        closer(&whole.collect::<Vec<_>>(), sure(&halves.collect::<Vec<_>>()))
    };
    let (middles, differences) = (combined(|a, b| 0.5 * (a + b)), combined(|a, b| a - b));
    let bent = [first, second].map(|halves| bent(&halves.iter().map(|h| h.map(log)).collect::<Vec<_>>()));
    let each = middles.iter().zip(&differences);
    each.map(|(middle, by)| {
        let one = scale.back(middle + 0.5 * by + bent[0]);
        match *by == 0.0 && bent[0] == bent[1] {
            // Both alike to the last digit.
            true => (one, one),
            false => (one, scale.back(middle - 0.5 * by + bent[1])),
        }
    })
    .collect()
}

/// Shares of sets in which the first is less, in which both are the same, and in which the second is less.
pub(super) fn sides(sets: &[(f64, f64)], same: impl Fn(f64, f64) -> bool) -> [f64; 3] {
    let mut counts = [0_u32; 3];
    for &(a, b) in sets {
        let side = match same(a, b) {
            true => 1,
            false if a < b => 0,
            false => 2,
        };
        counts[side] += 1;
    }
    counts.map(|count| f64::from(count) / sets.len().max(1) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Key, Luck, Purpose, normal};

    fn drawn(name: &str, n: u64) -> f64 {
        normal(&mut Luck::new(n).stream(Key::of(name), Purpose::Doubt), 0.0, 1.0)
    }

    /// Nothing of the part can lie outside the whole, and what lies beside it is left alone.
    #[test]
    fn no_set_has_more_of_a_part_than_of_the_whole() {
        let sets = |values: &[f64]| Narrowed {
            values: values.to_vec(),
            sure: 1.0,
        };
        let targets = [Target::Neck, Target::Clothing, Target::AnySkin];
        let mut narrowed = [sets(&[0.1, 0.4]), sets(&[0.9, 0.9]), sets(&[0.2, 0.3])];
        parts_in_wholes(&targets, &mut narrowed);
        assert_eq!(narrowed.map(|n| n.values), [[0.1, 0.3], [0.9, 0.9], [0.2, 0.3]]);
    }

    /// Sets that differ by 1, seen through chance of 2 in each half and through luck that all share: the range is that of
    /// the sets.
    #[test]
    fn ranges_are_of_sets_and_not_of_chance() {
        let halves: Vec<[f64; 2]> = (0..4000)
            .map(|n| {
                let own = drawn("own", n);
                [
                    own + 2.0 * drawn("one", n) + 5.0,
                    own + 2.0 * drawn("two", n) + 6.0,
                ]
            })
            .collect();
        let narrowed = Narrowed::of(&halves);
        let Ranged { median, range } = ranged(&narrowed.values);
        assert!((median - 5.5).abs() < 0.15, "{median}");
        // Nine tenths of a normal law of spread 1 are 3.29 wide.
        assert!((range.high - range.low - 3.29).abs() < 0.35, "{range:?}");
    }

    /// Of sets of which most have a share of nearly nothing and few a large one, with as much chance as twenty people bring:
    /// those with nearly nothing are not drawn up to the mean, and the mean stays.
    #[test]
    fn rare_things_stay_rare_in_most_sets() {
        let share = |n: u64| if n.is_multiple_of(10) { 0.4 } else { 0.001 };
        let counted = |name: &str, n: u64| {
            let mut stream = Luck::new(n).stream(Key::of(name), Purpose::Doubt);
            (0..10)
                .filter(|_| crate::chance::uniform(&mut stream) < share(n))
                .count() as f64
                / 10.0
        };
        let halves: Vec<[f64; 2]> = (0..2000)
            .map(|n| [counted("one", n), counted("two", n)])
            .collect();
        let narrowed = Narrowed::on(Scale::Share, &halves);
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let before = mean(&halves.iter().map(|h| both(*h)).collect::<Vec<_>>());
        assert!((mean(&narrowed.values) - before).abs() < 1e-6);
        let Ranged { median, range } = ranged(&narrowed.values);
        assert!(median < 0.005 && range.low < 0.005, "{median}, {range:?}");
        assert!((0.3..0.5).contains(&range.high), "{range:?}");
        // Where all sets have the same share, all of what they differ by is chance.
        let same: Vec<[f64; 2]> = (0..2000)
            .map(|n| [counted("one", 10 * n), counted("two", 10 * n)])
            .collect();
        let Ranged { median, range } = ranged(&Narrowed::on(Scale::Share, &same).values);
        assert!(
            (median - 0.4).abs() < 0.02 && range.high - range.low < 0.12,
            "{median}, {range:?}"
        );
    }

    /// Mean counts that sets have by factors, seen through chance by factors: the range is that of the sets and not moved, and
    /// so is how many times as much one way leaves as another.
    #[test]
    fn counts_differ_by_factors() {
        let chance = |name: &str, n: u64| libm::exp(0.8 * drawn(name, n) - 0.32);
        let counted = |times: f64, names: [&str; 2]| -> Vec<[f64; 2]> {
            (0..4000)
                .map(|n| names.map(|name| times * libm::exp(drawn("own", n)) * chance(name, n)))
                .collect()
        };
        let first = counted(20.0, ["one", "two"]);
        let narrowed = Narrowed::on(Scale::count(&first), &first);
        let Ranged { median, range } = ranged(&narrowed.values);
        for (found, wanted) in [
            (median, 20.0),
            (range.low, 20.0 * libm::exp(-1.645)),
            (range.high, 20.0 * libm::exp(1.645)),
        ] {
            assert!((libm::log(found / wanted)).abs() < 0.15, "{found} for {wanted}");
        }
        let second = counted(50.0, ["three", "four"]);
        let both = apart_as_counts(&first, &second);
        let less = both.iter().filter(|(a, b)| 1.5 * a < *b).count();
        assert!(less > 3900, "{less} of 4000");
        assert!(apart_as_counts(&first, &first).iter().all(|(a, b)| a == b));
    }

    /// An answer that hangs on two of forty, and a third that goes along with the first: the third is not said to matter,
    /// nor is chance.
    #[test]
    fn what_only_goes_along_with_what_matters_does_not_lead() {
        let column = |name: &str| -> Vec<f64> { (0..200).map(|n| drawn(name, n)).collect() };
        let (first, second, noise) = (column("first"), column("second"), column("noise"));
        let along: Vec<f64> = first
            .iter()
            .zip(column("own"))
            .map(|(a, b)| 0.8 * a + 0.6 * b)
            .collect();
        let answer: Vec<f64> = (0..200)
            .map(|n| 2.0 * first[n] - second[n] + 0.5 * noise[n])
            .collect();
        let others: Vec<Vec<f64>> = (0..37).map(|n| column(&format!("other {n}"))).collect();
        let mut columns: Vec<&[f64]> = vec![&along, &first, &second];
        columns.extend(others.iter().map(Vec::as_slice));
        let found = leading(
            &answer,
            &columns,
            &vec![least_share(columns.len(), 200.0); columns.len()],
            5,
        );
        let named: Vec<(usize, bool)> = found.iter().map(|f| (f.column, f.raises)).collect();
        assert_eq!(named, [(1, true), (2, false)], "{found:?}");
        assert!(correlation(&along, &answer).powi(2) > least_share(columns.len(), 200.0));
        let shares: f64 = found.iter().map(|f| f.share).sum();
        assert!((0.9..1.0).contains(&shares), "{found:?}");
        assert!(leading(&answer, &[&[1.0; 200][..]], &[0.0], 5).is_empty());
    }

    #[test]
    fn equal_values_share_their_rank() {
        assert_eq!(ranks(&[3.0, 1.0, 3.0, 0.0]), [2.5, 1.0, 2.5, 0.0]);
        let (a, b): (Vec<f64>, Vec<f64>) = (0..50).map(|n| (f64::from(n), f64::from(n * n))).unzip();
        assert!((correlation(&ranks(&a), &ranks(&b)) - 1.0).abs() < 1e-12);
    }
}
