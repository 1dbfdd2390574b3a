//! Binomial draws: exact for any count, by inversion while the mean is small.

use rand::Rng;
use rand_distr::{Binomial, Distribution};

use super::uniform;

/// Above this mean, inversion takes longer than rejection.
const INVERSION_MEAN: f64 = 24.0;

/// How many of `n` independent organisms move if each moves with probability `p`.
///
/// Uses one uniform draw by inversion while `n * min(p, 1 - p)` is small: the result then grows with `p` for the
/// same draw, which keeps compared drills closely paired. Larger means use the rejection sampler of `rand_distr`.
pub fn binomial(rng: &mut impl Rng, n: u64, p: f64) -> u64 {
    if n == 0 || p <= 0.0 {
        return 0;
    }
    if p >= 1.0 {
        return n;
    }
    if p > 0.5 {
        return n - small_half(rng, n, 1.0 - p);
    }
    small_half(rng, n, p)
}

/// The same for `0 < p <= 0.5`.
fn small_half(rng: &mut impl Rng, n: u64, p: f64) -> u64 {
    if n as f64 * p > INVERSION_MEAN {
        return match Binomial::new(n, p) {
            Ok(law) => law.sample(rng),
            Err(_) => 0,
        };
    }
    let mut left = uniform(rng);
    // None move with a probability of at least 1 - n p (Bernoulli's inequality): most touches need no power.
    if left <= 1.0 - n as f64 * p {
        return 0;
    }
    let odds = p / (1.0 - p);
    let mut term = whole_power(1.0 - p, n);
    let mut k = 0;
    while left > term && k < n {
        left -= term;
        term *= odds * (n - k) as f64 / (k + 1) as f64;
        k += 1;
        // Rounding can leave a crumb of probability that no term covers; beyond here it is below 2^-53.
        if k as f64 > 40.0 * (INVERSION_MEAN + 1.0) {
            break;
        }
    }
    k
}

/// `base` to a whole power by repeated squaring: far cheaper than logarithm and exponential for the few organisms that
/// most touches meet, and the same on every platform. Its relative error grows with `n` to about `n` times 2^-53.
fn whole_power(mut base: f64, mut n: u64) -> f64 {
    let mut product = 1.0;
    loop {
        if n & 1 == 1 {
            product *= base;
        }
        n >>= 1;
        if n == 0 {
            return product;
        }
        base *= base;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Key, Luck, Purpose};

    fn moments(n: u64, p: f64, draws: u32) -> (f64, f64) {
        let luck = Luck::new(7);
        let (mut sum, mut squares) = (0.0, 0.0);
        for i in 0..draws {
            let mut rng = luck.stream(Key::of("moments").within(u64::from(i)), Purpose::MovedAb(0));
            let k = binomial(&mut rng, n, p) as f64;
            sum += k;
            squares += k * k;
        }
        let mean = sum / f64::from(draws);
        (mean, squares / f64::from(draws) - mean * mean)
    }

    #[test]
    fn mean_and_variance_are_np_and_npq() {
        for (n, p) in [
            (1, 0.3),
            (20, 0.01),
            (20, 0.97),
            (1000, 0.02),
            (100_000, 0.3),
            (5_000_000, 0.9),
        ] {
            let draws = 20_000;
            let (mean, variance) = moments(n, p, draws);
            let (m, v) = (n as f64 * p, n as f64 * p * (1.0 - p));
            // 5 standard errors of the mean; the variance of a binomial sample within 6 %.
            assert!(
                (mean - m).abs() < 5.0 * (v / f64::from(draws)).sqrt(),
                "mean {mean} for n {n} p {p}"
            );
            assert!(
                (variance / v - 1.0).abs() < 0.06,
                "variance {variance} not {v} for n {n} p {p}"
            );
        }
    }

    #[test]
    fn never_more_than_there_are_and_certain_at_the_ends() {
        let luck = Luck::new(1);
        let mut rng = luck.stream(Key::of("ends"), Purpose::MovedAb(0));
        assert_eq!(binomial(&mut rng, 0, 0.5), 0);
        assert_eq!(binomial(&mut rng, 9, 0.0), 0);
        assert_eq!(binomial(&mut rng, 9, 1.0), 9);
        for i in 0..1000 {
            let mut rng = luck.stream(Key::of("cap").within(i), Purpose::MovedAb(0));
            assert!(binomial(&mut rng, 3, 0.4999) <= 3);
        }
    }

    #[test]
    fn with_the_same_luck_more_probability_never_moves_fewer() {
        let luck = Luck::new(3);
        for i in 0..500 {
            let draw = |p| {
                binomial(
                    &mut luck.stream(Key::of("pair").within(i), Purpose::MovedAb(0)),
                    40,
                    p,
                )
            };
            assert!(draw(0.1) <= draw(0.2) && draw(0.2) <= draw(0.45));
        }
    }
}
