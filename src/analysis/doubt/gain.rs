//! What knowing something would be worth for a choice between two ways (expected value of information: Raiffa and Schlaifer
//! 1961), without what chance alone would make of it: nobody is credited with a choice by the very numbers that it was made by.

/// What a better choice would bring.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize)]
pub struct Gain {
    /// On how many fewer people, as a share of all; not below 0.
    pub fewer: f64,
    /// Its standard error, from how many sets and repeats there are.
    pub error: f64,
}

impl Gain {
    /// True if it is more than twice its standard error.
    pub fn is_more_than_chance(self) -> bool {
        self.fewer > 2.0 * self.error
    }

    fn of(gains: &[f64]) -> Gain {
        let many = gains.len().max(1) as f64;
        let mean = gains.iter().sum::<f64>() / many;
        let square = gains.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (many - 1.0).max(1.0);
        Gain {
            // What is left of adding up in another order is nothing.
            fewer: if mean > 1e-12 { mean } else { 0.0 },
            error: (square / many).sqrt(),
        }
    }
}

/// What is left, against the second way, if the first is taken or not.
fn left(takes_first: bool, apart: f64) -> f64 {
    if takes_first { apart } else { 0.0 }
}

/// Worth of knowing which set of values holds: `apart` is by how much the first way is more than the second in each, in either
/// half of its repeats. The way is chosen by one half and its gain taken from the other.
pub(super) fn knowing_all(apart: &[[f64; 2]]) -> Gain {
    let average: f64 = apart.iter().flatten().sum();
    let gain = |halves: &[f64; 2]| -> f64 {
        let of =
            |by: usize, from: usize| left(average < 0.0, halves[from]) - left(halves[by] < 0.0, halves[from]);
        0.5 * (of(0, 1) + of(1, 0))
    };
    Gain::of(&apart.iter().map(gain).collect::<Vec<_>>())
}

/// In how many parts sets are divided: what is to be expected in one is learnt from the others.
const PARTS: usize = 10;

/// Worth of knowing one constant, whose values these are, if the first way is so much more than the second: the way is chosen by
/// what the sets of all other parts lead one to expect where the constant is what it is.
pub(super) fn knowing_one(values: &[f64], apart: &[f64]) -> Gain {
    let average: f64 = apart.iter().sum();
    let points = || values.iter().copied().zip(apart.iter().copied()).enumerate();
    let mut gains = vec![0.0; apart.len()];
    for part in 0..PARTS.min(apart.len()) {
        let is_here = |n: usize| n % PARTS == part;
        let others = points().filter(|(n, _)| !is_here(*n)).map(|(_, point)| point);
        let fit = Parabola::through(others);
        for (n, (value, apart)) in points().filter(|(n, _)| is_here(*n)) {
            gains[n] = left(average < 0.0, apart) - left(fit.at(value) < 0.0, apart);
        }
    }
    Gain::of(&gains)
}

/// The parabola that lies nearest to points: what is to be expected of a difference where one constant is known (Strong,
/// Oakley and Brennan 2014 regress so, with smoother curves).
struct Parabola([f64; 3]);

impl Parabola {
    fn through(points: impl Iterator<Item = (f64, f64)>) -> Parabola {
        // Normal equations, by elimination.
        let mut rows = [[0.0; 4]; 3];
        for (x, y) in points {
            let powers = [1.0, x, x * x];
            for (row, a) in rows.iter_mut().zip(powers) {
                for (cell, b) in row.iter_mut().zip(powers) {
                    *cell += a * b;
                }
                row[3] += a * y;
            }
        }
        for n in 0..3 {
            let pivot = rows[n][n];
            if pivot.abs() < 1e-12 {
                continue;
            }
            let of = rows[n];
            for (m, row) in rows.iter_mut().enumerate() {
                if m != n {
                    let factor = row[n] / pivot;
                    row.iter_mut().zip(of).for_each(|(cell, of)| *cell -= factor * of);
                }
            }
        }
        let at = |n: usize| {
            if rows[n][n].abs() < 1e-12 {
                0.0
            } else {
                rows[n][3] / rows[n][n]
            }
        };
        Parabola([at(0), at(1), at(2)])
    }

    fn at(&self, x: f64) -> f64 {
        let [a, b, c] = self.0;
        a + x * (b + x * c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Key, Luck, Purpose, normal};

    fn drawn(name: &str, n: u64) -> f64 {
        normal(&mut Luck::new(n).stream(Key::of(name), Purpose::Doubt), 0.0, 1.0)
    }

    #[test]
    fn a_parabola_goes_through_what_lies_on_one() {
        let x: Vec<f64> = (-5..=5).map(f64::from).collect();
        let y: Vec<f64> = x.iter().map(|x| 2.0 - 3.0 * x + 0.5 * x * x).collect();
        let fit = Parabola::through(x.iter().copied().zip(y.iter().copied()));
        for (x, y) in x.iter().zip(&y) {
            assert!((fit.at(*x) - y).abs() < 1e-9, "at {x}");
        }
    }

    /// Sets that differ in nothing but chance: neither knowing all nor knowing one of fifty constants is worth more than chance would
    /// have it, and on average nothing. Chosen and judged by the same numbers, knowing all would seem to be worth
    /// 0.4 of their spread.
    #[test]
    fn chance_is_worth_nothing() {
        let (mut all, mut told, mut ones) = (0.0, 0, 0.0);
        for round in 0..50 {
            let apart: Vec<[f64; 2]> = (0..200)
                .map(|n| [drawn("one", 1000 * round + n), drawn("two", 1000 * round + n)])
                .collect();
            let middles: Vec<f64> = apart.iter().map(|[a, b]| 0.5 * (a + b)).collect();
            let values: Vec<f64> = (0..200).map(|n| drawn("values", 1000 * round + n)).collect();
            let (knowing, one) = (knowing_all(&apart), knowing_one(&values, &middles));
            all += knowing.fewer / 50.0;
            ones += one.fewer / 50.0;
            told += usize::from(knowing.is_more_than_chance()) + usize::from(one.is_more_than_chance());
        }
        assert!(all < 0.05 && ones < 0.05, "{all}, {ones}");
        assert!(told <= 6, "{told} of 100 are told");
    }

    /// One constant decides: knowing it is worth as much as knowing all, which is what the law of the sets says, and another
    /// constant is worth nothing.
    #[test]
    fn what_decides_is_worth_all_and_what_does_not_nothing() {
        let own: Vec<f64> = (0..2000).map(|n| drawn("own", n)).collect();
        let other: Vec<f64> = (0..2000).map(|n| drawn("other", n)).collect();
        let apart: Vec<[f64; 2]> = (0..2000)
            .map(|n| [0, 1].map(|half| 0.3 + own[n] + 0.3 * drawn(["one", "two"][half], n as u64)))
            .collect();
        let middles: Vec<f64> = apart.iter().map(|[a, b]| 0.5 * (a + b)).collect();
        // The mean of what a normal law of spread 1 around 0.3 has below nothing (its second is taken otherwise).
        let wanted = 0.266_8;
        let all = knowing_all(&apart);
        assert!((all.fewer - wanted).abs() < 0.04, "{all:?}");
        let one = knowing_one(&own, &middles);
        assert!(
            (one.fewer - wanted).abs() < 0.04 && one.is_more_than_chance(),
            "{one:?}"
        );
        let nothing = knowing_one(&other, &middles);
        assert!(
            !nothing.is_more_than_chance() && nothing.fewer < 0.02,
            "{nothing:?}"
        );
    }

    #[test]
    fn who_is_always_better_needs_to_know_nothing() {
        let apart: Vec<[f64; 2]> = (0..50).map(|n| [-1.0 - f64::from(n), -2.0]).collect();
        assert_eq!(knowing_all(&apart), Gain::default());
    }
}
