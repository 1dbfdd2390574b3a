//! Our draws and intervals beside an independent library of distributions (statrs).
//!
//! Draws come from keyed streams, so each of these tests sees the same numbers every time; the bounds are those that
//! a fair sampler passes with all but one seed in ten thousand, and one that is a little wrong fails for.

use rand::rngs::Xoshiro256PlusPlus;
use smirch::analysis::{mean_interval, quantile, wilson};
use smirch::chance::{Key, Luck, Purpose, beta, binomial, lognormal, poisson, uniform};
use smirch::model::Efficiency;
use statrs::distribution::{
    Beta, Binomial, ChiSquared, Continuous, ContinuousCDF, Discrete, DiscreteCDF, LogNormal, Normal, Poisson,
};

const DRAWS: u64 = 100_000;
/// A fair sampler gives a smaller p once in ten thousand.
const LEAST_P: f64 = 1e-4;

/// Draws of one event's stream, one a seed.
fn drawn<T>(name: &str, draw: impl Fn(&mut Xoshiro256PlusPlus) -> T) -> Vec<T> {
    (0..DRAWS)
        .map(|seed| draw(&mut Luck::new(seed).stream(Key::of(name), Purpose::Load)))
        .collect()
}

/// p of the chi-square test of counts against a discrete law; classes with fewer than 10 expected are joined.
fn p_of_counts(draws: &[u64], law: impl Fn(u64) -> f64) -> f64 {
    let most = *draws.iter().max().unwrap_or(&0);
    let mut counts = vec![0u64; most as usize + 1];
    draws.iter().for_each(|&x| counts[x as usize] += 1);
    let n = draws.len() as f64;
    let (mut statistic, mut classes) = (0.0, 0);
    let (mut seen, mut asked, mut asked_in_all) = (0.0, 0.0, 0.0);
    for (x, &count) in counts.iter().enumerate() {
        seen += count as f64;
        asked += n * law(x as u64);
        if asked >= 10.0 && asked_in_all + asked < n - 10.0 {
            statistic += (seen - asked) * (seen - asked) / asked;
            asked_in_all += asked;
            classes += 1;
            (seen, asked) = (0.0, 0.0);
        }
    }
    // All that is left, the tail beyond the largest draw included.
    let rest = n - asked_in_all;
    statistic += (seen - rest) * (seen - rest) / rest;
    let chi = ChiSquared::new(f64::from(classes)).unwrap_or_else(|e| panic!("{e}"));
    1.0 - chi.cdf(statistic)
}

/// Kolmogorov's distance between draws and a continuous law, times the root of their number.
fn distance(mut draws: Vec<f64>, cdf: impl Fn(f64) -> f64) -> f64 {
    draws.sort_by(f64::total_cmp);
    let n = draws.len() as f64;
    let gap = |(i, x): (usize, &f64)| {
        let p = cdf(*x);
        (p - i as f64 / n).abs().max((p - (i + 1) as f64 / n).abs())
    };
    draws.iter().enumerate().map(gap).fold(0.0, f64::max) * n.sqrt()
}

/// Kolmogorov's law: a distance above this has p below 1e-4.
const FAR: f64 = 2.23;

#[test]
fn binomial_draws_follow_the_binomial_law_by_either_algorithm() {
    // Small means are drawn by inversion, large ones by rejection; p above one half is mirrored.
    for (n, p) in [
        (1, 0.3),
        (12, 0.02),
        (200, 0.015),
        (40, 0.5),
        (60, 0.93),
        (1000, 0.2),
        (100_000, 0.004),
        (5_000, 0.9),
    ] {
        let law = Binomial::new(p, n).unwrap_or_else(|e| panic!("{e}"));
        let found = p_of_counts(&drawn("binomial", |rng| binomial(rng, n, p)), |x| law.pmf(x));
        assert!(found > LEAST_P, "{n} draws of {p}: p {found}");
    }
}

/// The acceptance plans of glove batches (200 gloves, 7 or 10 holed allowed): our draws accept as often as the law.
/// Values worked from the binomial law; standard error at most 0.0016, four of them.
#[test]
fn batches_of_gloves_are_accepted_as_often_as_the_plan_says() {
    for (p, allowed, accepted) in [
        (0.015, 7, 0.9887),
        (0.025, 7, 0.8693),
        (0.05, 7, 0.2133),
        (0.066, 7, 0.0434),
        (0.015, 10, 0.9997),
        (0.025, 10, 0.9874),
        (0.05, 10, 0.5831),
        (0.066, 10, 0.2260),
    ] {
        let law = Binomial::new(p, 200).unwrap_or_else(|e| panic!("{e}"));
        assert!(
            (law.cdf(allowed) - accepted).abs() < 6e-5,
            "{p}, {allowed}: {}",
            law.cdf(allowed)
        );
        let draws = drawn("batch", |rng| binomial(rng, 200, p));
        let share = draws.iter().filter(|&&x| x <= allowed).count() as f64 / DRAWS as f64;
        assert!((share - accepted).abs() < 0.0064, "{p}, {allowed}: {share}");
    }
}

#[test]
fn efficiencies_follow_the_beta_law_of_their_mean_and_spread() {
    for (mean, sd) in [
        (0.241, 0.12),
        (0.0245, 0.0014),
        (0.85, 0.08),
        (0.003, 0.002),
        (0.13, 0.16),
    ] {
        let size = mean * (1.0 - mean) / (sd * sd) - 1.0;
        let law = Beta::new(mean * size, (1.0 - mean) * size).unwrap_or_else(|e| panic!("{e}"));
        let found = distance(drawn("beta", |rng| beta(rng, Efficiency { mean, sd })), |x| {
            law.cdf(x)
        });
        assert!(found < FAR, "mean {mean}, SD {sd}: distance {found}");
    }
}

#[test]
fn poisson_starts_follow_the_poisson_law() {
    for mean in [0.02, 0.7, 5.0, 80.0, 4000.0] {
        let law = Poisson::new(mean).unwrap_or_else(|e| panic!("{e}"));
        let found = p_of_counts(&drawn("poisson", |rng| poisson(rng, mean)), |x| law.pmf(x));
        assert!(found > LEAST_P, "mean {mean}: p {found}");
    }
}

#[test]
fn lognormal_starts_follow_the_rounded_lognormal_law() {
    for (median, gsd) in [(3.0, 2.5), (0.02, 10.0), (40.0, 1.4)] {
        let law = LogNormal::new(f64::ln(median), f64::ln(gsd)).unwrap_or_else(|e| panic!("{e}"));
        let mass = |x: u64| {
            let low = if x == 0 { 0.0 } else { law.cdf(x as f64 - 0.5) };
            law.cdf(x as f64 + 0.5) - low
        };
        let found = p_of_counts(&drawn("lognormal", |rng| lognormal(rng, median, gsd)), mass);
        assert!(found > LEAST_P, "median {median}, GSD {gsd}: p {found}");
    }
}

#[test]
fn streams_of_neighbouring_seeds_and_events_are_uniform_and_unrelated() {
    let found = distance(drawn("uniform", uniform), |x| x);
    assert!(found < FAR, "distance {found}");
    // Correlation of one event's luck with the next event's: standard error 1 / root n.
    let (a, b) = (drawn("event", uniform), drawn("event 2", uniform));
    let r: f64 = a
        .iter()
        .zip(&b)
        .map(|(x, y)| 12.0 * (x - 0.5) * (y - 0.5))
        .sum::<f64>()
        / DRAWS as f64;
    assert!(r.abs() * (DRAWS as f64).sqrt() < 4.0, "correlation {r}");
}

/// Wilson's interval is where the score test just does not reject: at its ends the deviation is the normal quantile.
#[test]
fn wilson_intervals_end_where_the_score_test_does() {
    let z = Normal::standard().inverse_cdf(0.975);
    for (k, n) in [(1, 7), (31, 100), (4_999, 10_000), (9_990, 10_000)] {
        let interval = wilson(k, n);
        let (n, p) = (n as f64, k as f64 / n as f64);
        for end in [interval.low, interval.high] {
            let score = (p - end).abs() / (end * (1.0 - end) / n).sqrt();
            assert!((score - z).abs() < 1e-6, "{k} of {n}: score {score} at {end}");
        }
    }
    assert!(wilson(0, 50).low == 0.0 && wilson(50, 50).high == 1.0);
    // With none of n the upper end is z2 / (n + z2).
    assert!((wilson(0, 50).high - z * z / (50.0 + z * z)).abs() < 1e-9);
}

/// The exact chance that Wilson's interval covers the truth, summed over the binomial law: close to 95 % on average
/// over p, as published for it (Agresti and Coull 1998, Am Stat 52:119-26: 0.952 for n = 50).
#[test]
fn wilson_intervals_cover_as_often_as_they_say() {
    let n = 50;
    let steps = 400;
    let mean: f64 = (1..steps)
        .map(|i| {
            let p = f64::from(i) / f64::from(steps);
            let law = Binomial::new(p, n).unwrap_or_else(|e| panic!("{e}"));
            (0..=n)
                .filter(|&k| {
                    let i = wilson(k, n);
                    i.low <= p && p <= i.high
                })
                .map(|k| law.pmf(k))
                .sum::<f64>()
        })
        .sum::<f64>()
        / f64::from(steps - 1);
    assert!((mean - 0.952).abs() < 0.004, "mean coverage {mean}");
}

/// The normal interval of a mean covers the truth in 95 % of samples: 2,000 samples of 400 gamma-like draws. Standard
/// error 0.0049, four of them; skew costs it less than a point.
#[test]
fn intervals_of_means_cover_as_often_as_they_say() {
    let samples = 2000_u64;
    let covered = (0..samples)
        .filter(|&sample| {
            let values: Vec<f64> = (0..400_u64)
                .map(|i| {
                    let mut rng = Luck::new(sample).stream(Key::of("mean").within(i), Purpose::Load);
                    poisson(&mut rng, 3.0) as f64
                })
                .collect();
            let (_, interval) = mean_interval(&values);
            interval.low <= 3.0 && 3.0 <= interval.high
        })
        .count();
    let share = covered as f64 / samples as f64;
    assert!((share - 0.95).abs() < 0.021, "coverage {share}");
}

#[test]
fn quantiles_of_normal_draws_are_those_of_the_law() {
    let mut draws = drawn("normal", |rng| smirch::chance::normal(rng, 2.0, 3.0));
    draws.sort_by(f64::total_cmp);
    let law = Normal::new(2.0, 3.0).unwrap_or_else(|e| panic!("{e}"));
    for q in [0.05, 0.5, 0.95] {
        let x = law.inverse_cdf(q);
        // Standard error of a quantile: root of q (1 - q) / n over the density; four of them.
        let error = (q * (1.0 - q) / DRAWS as f64).sqrt() / law.pdf(x);
        let found = quantile(&draws, q);
        assert!((found - x).abs() < 4.0 * error, "{q}: {found}, the law says {x}");
    }
}
