//! Intervals and summaries of repeats.

/// A two-sided interval.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// The 97.5 % point of the standard normal law.
const Z: f64 = 1.959_963_984_540_054;

/// The 95 % Wilson score interval of a proportion (Wilson 1927, J Am Stat Assoc 22:209-12).
pub fn wilson(successes: u64, trials: u64) -> Interval {
    if trials == 0 {
        return Interval { low: 0.0, high: 1.0 };
    }
    let (n, p) = (trials as f64, successes as f64 / trials as f64);
    let z2 = Z * Z;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    Interval {
        low: (middle - half).max(0.0),
        high: (middle + half).min(1.0),
    }
}

/// The 95 % interval of a difference of two proportions counted on different people, first less second: hybrid of two score
/// intervals (Newcombe 1998, Stat Med 17:873-90, method 10).
pub fn newcombe(first: (u64, u64), second: (u64, u64)) -> Interval {
    let share = |(hits, of): (u64, u64)| if of == 0 { 0.5 } else { hits as f64 / of as f64 };
    let (p, q) = (share(first), share(second));
    let (a, b) = (wilson(first.0, first.1), wilson(second.0, second.1));
    Interval {
        low: p - q - (p - a.low).hypot(b.high - q),
        high: p - q + (a.high - p).hypot(q - b.low),
    }
}

/// The two-sided exact probability that changes as uneven as these come about where both directions are as likely, from pairs that
/// changed one way and the other (McNemar's test; 1 where nothing changed).
pub fn mcnemar(one_way: u64, other_way: u64) -> f64 {
    let (n, least) = (one_way + other_way, one_way.min(other_way));
    // Sums of binomial coefficients over 2^n, term by term so that nothing overflows.
    let mut term = 0.5_f64.powf(n as f64);
    let mut sum = 0.0;
    for k in 0..=least {
        sum += term;
        term *= (n - k) as f64 / (k + 1) as f64;
    }
    (2.0 * sum).min(1.0)
}

/// How many people it takes on each side to see two shares apart, 0 to 1 each: with so many a difference as large is found in 80 of
/// 100 studies, and where there is none in 5 (normal approximation, two-sided, before rounding up). None where the shares are the
/// same, or are no shares.
pub fn people_to_tell(first: f64, second: f64) -> Option<f64> {
    /// The 80 % point of the standard normal law.
    const POWER: f64 = 0.841_621_233_572_914_4;
    let share = 0.0..=1.0;
    if !share.contains(&first) || !share.contains(&second) || first == second {
        return None;
    }
    let middle = 0.5 * (first + second);
    let same = (2.0 * middle * (1.0 - middle)).sqrt();
    let apart = (first * (1.0 - first) + second * (1.0 - second)).sqrt();
    let root = (Z * same + POWER * apart) / (first - second);
    Some(root * root)
}

/// The share of goes, 0 to 1, in which all of so many steps are right, where each is right in a share `each` of goes whatever happened
/// to the others.
pub fn all_right(each: f64, steps: usize) -> f64 {
    each.powf(steps as f64)
}

/// The 95 % interval of a difference of two proportions counted on the same trials: `first` trials had the first
/// alone, `second` the second alone. Adjusted Wald (Bonett and Price 2012, J Educ Behav Stat 37:479-88).
pub fn paired_interval(first: u64, second: u64, trials: u64) -> Interval {
    let n = trials as f64 + 2.0;
    let (p, q) = ((first as f64 + 1.0) / n, (second as f64 + 1.0) / n);
    let half = Z * ((p + q - (p - q) * (p - q)) / n).sqrt();
    Interval {
        low: (p - q - half).max(-1.0),
        high: (p - q + half).min(1.0),
    }
}

impl Interval {
    /// What of it lies where the number can be: a normal interval of a few values goes past that.
    fn between(self, least: f64, most: f64) -> Interval {
        Interval {
            low: self.low.clamp(least, most),
            high: self.high.clamp(least, most),
        }
    }
}

/// The mean of counts, 0 or more, with its 95 % normal interval, which begins at 0 at the least.
pub fn mean_of_counts(values: &[f64]) -> (f64, Interval) {
    let (mean, interval) = mean_interval(values);
    (mean, interval.between(0.0, f64::INFINITY))
}

/// The mean of chances, 0 to 1, with its 95 % normal interval within them.
pub fn mean_of_chances(values: &[f64]) -> (f64, Interval) {
    let (mean, interval) = mean_interval(values);
    (mean, interval.between(0.0, 1.0))
}

/// The mean of values, which may be of either sign, and its 95 % normal interval.
pub fn mean_interval(values: &[f64]) -> (f64, Interval) {
    let n = values.len() as f64;
    if values.is_empty() {
        return (0.0, Interval { low: 0.0, high: 0.0 });
    }
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    let half = if values.len() > 1 {
        Z * (squares / (n - 1.0) / n).sqrt()
    } else {
        f64::INFINITY
    };
    (
        mean,
        Interval {
            low: mean - half,
            high: mean + half,
        },
    )
}

/// The value below which a share `q` of sorted values lies, linearly interpolated; 0 of nothing.
pub fn quantile(sorted: &[f64], q: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return 0.0;
    };
    let at = q.clamp(0.0, 1.0) * last as f64;
    let (low, high) = (at.floor() as usize, at.ceil() as usize);
    sorted[low] + (sorted[high] - sorted[low]) * (at - low as f64)
}

/// Mean of counts with interval, median, and the range from 5 to 95 %.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// 95 % interval of the mean.
    pub mean_interval: Interval,
    /// Median.
    pub median: f64,
    /// 5 % quantile.
    pub p05: f64,
    /// 95 % quantile.
    pub p95: f64,
}

/// Summarises counts, 0 or more.
pub fn summary(values: &[f64]) -> Summary {
    let (mean, mean_interval) = mean_of_counts(values);
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    Summary {
        mean,
        mean_interval,
        median: quantile(&sorted, 0.5),
        p05: quantile(&sorted, 0.05),
        p95: quantile(&sorted, 0.95),
    }
}

/// How far two who watched the same things agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// How many things both spoke of.
    pub of: u64,
    /// Of how many they said the same.
    pub same: u64,
    /// The share on which two would agree by chance alone who say yes as often as these two do.
    pub expected: f64,
    /// Cohen's kappa: agreement beyond chance, as a share of what there could be, 1 at best; none where chance alone would bring
    /// all of it, since both always said the same.
    pub kappa: Option<f64>,
}

impl Agreement {
    /// The share on which they agree.
    pub fn share(&self) -> f64 {
        self.same as f64 / self.of.max(1) as f64
    }

    /// Kappa as it would be if yes and no were said equally often: twice the share less 1. It shows how much of a low kappa comes
    /// from nearly everything being done right.
    pub fn adjusted(&self) -> f64 {
        2.0 * self.share() - 1.0
    }
}

/// The agreement in a table of what the first said (rows) and the second (columns); none of an empty table.
pub fn agreement(table: [[u64; 2]; 2]) -> Option<Agreement> {
    let of: u64 = table.iter().flatten().sum();
    if of == 0 {
        return None;
    }
    let all = of as f64;
    let same = table[0][0] + table[1][1];
    let first = (table[0][0] + table[0][1]) as f64 / all;
    let second = (table[0][0] + table[1][0]) as f64 / all;
    let expected = first * second + (1.0 - first) * (1.0 - second);
    let kappa = (expected < 1.0).then(|| (same as f64 / all - expected) / (1.0 - expected));
    Some(Agreement {
        of,
        same,
        expected,
        kappa,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A mean of counts is no less than none, and one of chances no more than all, however few there are; a difference may be.
    #[test]
    fn a_mean_of_counts_has_no_interval_below_none() {
        let counts = [0.0, 0.0, 9.0];
        assert!(mean_interval(&counts).1.low < 0.0);
        assert_eq!(mean_of_counts(&counts).1.low, 0.0);
        assert_eq!(summary(&counts).mean_interval.low, 0.0);
        let chances = mean_of_chances(&[1.0, 1.0, 0.9, 0.1]).1;
        assert!(mean_interval(&[1.0, 1.0, 0.9, 0.1]).1.high > 1.0 && chances.high == 1.0);
        assert_eq!(mean_of_chances(&[0.5]).1, Interval { low: 0.0, high: 1.0 });
    }

    /// Wilson intervals (worked example L8): 12 of 15, 0 of 20, 120 of 437.
    #[test]
    fn wilson_intervals_are_as_worked() {
        for (hits, of, low, high) in [(12, 15, 54.8, 93.0), (0, 20, 0.0, 16.1), (120, 437, 23.5, 31.8)] {
            let found = wilson(hits, of);
            assert!(
                (100.0 * found.low - low).abs() < 0.05 && (100.0 * found.high - high).abs() < 0.05,
                "{found:?}"
            );
        }
    }

    /// Newcombe's intervals (worked example L9; the second pair is in his paper).
    #[test]
    fn newcombes_intervals_are_as_worked() {
        for (a, b, low, high) in [
            ((18, 30), (6, 30), 0.1526, 0.5864),
            ((56, 70), (48, 80), 0.0524, 0.3339),
        ] {
            let found = newcombe(a, b);
            assert!(
                (found.low - low).abs() < 5e-5 && (found.high - high).abs() < 5e-5,
                "{found:?}"
            );
        }
    }

    /// Numbers of people a side (worked example L10): 60.0 against 18.9 of 100 (Tomas 2015), 70.3 against 30.0 (the same), 43.9
    /// against 23.5 (lapses when gloves come off).
    #[test]
    fn people_to_tell_two_shares_apart_are_as_worked() {
        for (first, second, wanted, whole) in [
            (0.60, 0.189, 20.98, 21.0),
            (0.703, 0.30, 22.95, 23.0),
            (0.439, 0.235, 83.09, 84.0),
        ] {
            let found = people_to_tell(first, second).expect("they differ");
            assert!((found - wanted).abs() < 0.005, "{first}, {second}: {found}");
            assert_eq!(found.ceil(), whole);
            assert_eq!(
                people_to_tell(second, first),
                Some(found),
                "whichever comes first"
            );
        }
        for (first, second) in [(0.3, 0.3), (-0.1, 0.3), (0.3, 1.1), (f64::NAN, 0.3)] {
            assert_eq!(people_to_tell(first, second), None);
        }
    }

    /// All of 29 steps right by chance (worked example L11, where the second is given as .5567: it is .55662).
    #[test]
    fn all_steps_right_is_a_harsh_rule() {
        assert!((all_right(0.95, 29) - 0.2259).abs() < 5e-5);
        assert!((all_right(0.98, 29) - 0.5566).abs() < 5e-5);
        assert_eq!(all_right(0.5, 0), 1.0);
    }

    #[test]
    fn changes_both_ways_are_weighed_exactly() {
        assert_eq!(mcnemar(0, 0), 1.0);
        assert_eq!(mcnemar(3, 3), 1.0);
        assert!((mcnemar(0, 5) - 2.0 / 32.0).abs() < 1e-12);
        assert!((mcnemar(8, 1) - 2.0 * 10.0 / 512.0).abs() < 1e-12);
        assert_eq!(mcnemar(1, 8), mcnemar(8, 1));
    }

    /// Two tables with their agreement, agreement by chance and kappa (worked example L7; the formulas are Cohen's): where nearly
    /// all is done right, kappa falls though people agree.
    #[test]
    fn kappa_is_as_worked_and_falls_where_nearly_all_is_right() {
        let of = |table| agreement(table).expect("not empty");
        let even = of([[40, 5], [10, 45]]);
        assert!((even.share() - 0.85).abs() < 1e-12);
        assert!((even.expected - 0.50).abs() < 1e-12);
        assert!((even.kappa.expect("there is one") - 0.70).abs() < 1e-12);
        let lopsided = of([[90, 4], [5, 1]]);
        assert!((lopsided.share() - 0.91).abs() < 1e-12);
        assert!((lopsided.expected - 0.896).abs() < 5e-4);
        assert!((lopsided.kappa.expect("there is one") - 0.1346).abs() < 5e-5);
        assert!((lopsided.adjusted() - 0.82).abs() < 1e-12);
        assert_eq!(of([[7, 0], [0, 0]]).kappa, None, "both always said yes");
        assert_eq!(agreement([[0; 2]; 2]), None);
    }
}
