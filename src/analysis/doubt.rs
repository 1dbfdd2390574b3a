//! How unsure an answer is: every set of values of the ensemble plays it, with the same luck.
//!
//! What differs between sets is doubt about the model; what differs between repeats is chance. With few repeats each,
//! chance widens what the sets come to. Halves of the repeats share no luck, so that what sets have in common in both is
//! doubt alone: ranges are narrowed to that.

use std::sync::Arc;

use rayon::prelude::*;

use crate::chance::{Key, Luck};
use crate::drill::Action;
use crate::model::{Ensemble, Setup};

use super::odds::repeat;
use super::stats::{Interval, quantile};
use super::unknown::{drawn_score, of_member, unknowns};
use super::way::Known;
use super::{Progress, Target, Way};

/// What is done, and by whom.
#[derive(Clone, Copy, Debug)]
pub enum Doing<'a> {
    /// These actions.
    Script(&'a [Action]),
    /// The sequence with this id.
    Sequence(&'a str),
}

/// What is asked about.
#[derive(Clone, Copy, Debug)]
pub struct Asking<'a> {
    /// With the stated values.
    pub setup: &'a Setup,
    /// What is done.
    pub doing: Doing<'a>,
    /// Trainee id.
    pub trainee: &'a str,
}

/// What one set of values gives for one target: in each half of the repeats.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Played {
    /// Share of people on whom enough to be seen gets there.
    pub seen: [f64; 2],
    /// Share of people on whom any gets there.
    pub any: [f64; 2],
    /// Mean count; none for what is no sum over organisms.
    pub mean: Option<[f64; 2]>,
}

/// A number with its range over sets of values.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Ranged {
    /// Median.
    pub median: f64,
    /// 5 to 95 %.
    pub range: Interval,
}

/// A constant on which an answer hangs.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Hang {
    /// What it is.
    pub constant: String,
    /// Basis id, if it has one of its own.
    pub basis: Option<String>,
    /// Share of what the answer is unsure by that goes with it, 0 to 1: the square of the rank correlation.
    pub share: f64,
    /// True if more of it makes the answer greater.
    pub raises: bool,
}

/// What all sets give for one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Doubt {
    /// The target's word.
    pub target: &'static str,
    /// Share of people on whom enough to be seen gets there.
    pub seen: Ranged,
    /// Share of people on whom any gets there.
    pub any: Ranged,
    /// Mean count.
    pub mean: Option<Ranged>,
    /// The constants on which it hangs most, most first; at most five, and none that chance alone could have put there.
    pub hangs: Vec<Hang>,
}

/// How two ways compare over all sets, by the mean count at a target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Versed {
    /// The target's word.
    pub target: &'static str,
    /// Share of sets in which the first leaves clearly less, in which they are much the same, and in which the second
    /// does.
    pub shares: [f64; 3],
    /// By how much less would be left on average if the better way were known: what knowing all would be worth.
    pub worth: f64,
    /// The same for knowing one constant, most first; at most five, and none that chance alone could have put there.
    pub worths: Vec<(String, f64)>,
}

/// Plays what is asked with every set of values; the outer list is by set, the inner by target.
///
/// # Errors
/// A sentence: the content has no ensemble, or what is asked cannot be done.
pub fn play_all(
    asking: Asking<'_>,
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Vec<Vec<Played>>, String> {
    let ensemble = ensemble(asking.setup)?;
    (0..ensemble.members.len())
        .into_par_iter()
        .map(|member| {
            let played = play(asking, ensemble, member, targets, repeats, seed);
            progress.add(1);
            played
        })
        .collect()
}

fn ensemble(setup: &Setup) -> Result<&Ensemble, String> {
    setup.library.ensemble.as_ref().ok_or_else(|| {
        "this content has no ensemble; `smirch calibrate --out ensemble.ron` makes one".to_owned()
    })
}

fn play(
    asking: Asking<'_>,
    ensemble: &Ensemble,
    member: usize,
    targets: &[Target],
    repeats: u64,
    seed: u64,
) -> Result<Vec<Played>, String> {
    let stated = asking.setup;
    let class = stated.organism.class;
    let (library, scenario) = of_member(&stated.library, &stated.scenario, class, ensemble, member);
    let setup = Setup::new(Arc::new(library), &scenario).map_err(|e| e.to_string())?;
    let library = &setup.library;
    let missing = |what: &str, id: &str| format!("there is no {what} `{id}`");
    let trainee = library
        .trainee(asking.trainee)
        .ok_or_else(|| missing("trainee", asking.trainee))?;
    let way = match asking.doing {
        Doing::Script(actions) if trainee.is_flawless() => Way::Script(actions),
        Doing::Script(actions) => Way::Lapsed(actions, trainee),
        Doing::Sequence(id) => {
            let sequence = library.sequence(id).ok_or_else(|| missing("sequence", id))?;
            Way::Rehearsed(sequence, trainee)
        }
    };
    let known = Known::new(&setup);
    let mut sums = vec![Played::default(); targets.len()];
    let of = [repeats.div_ceil(2) as f64, (repeats / 2).max(1) as f64];
    for n in 0..repeats {
        let half = (n % 2) as usize;
        let luck = Luck::new(Key(seed).within(n).0);
        let (_, cells) = repeat(&setup, &way, targets, luck, &known)?;
        for (sum, cell) in sums.iter_mut().zip(cells) {
            sum.seen[half] += f64::from(cell.found.seen) / of[half];
            sum.any[half] += cell.law / of[half];
            if let Some(mean) = cell.expected {
                sum.mean.get_or_insert_default()[half] += mean / of[half];
            }
        }
    }
    Ok(sums)
}

fn both(halves: [f64; 2]) -> f64 {
    0.5 * (halves[0] + halves[1])
}

/// Values of all sets, drawn together by as much of their spread as is chance.
fn narrowed(halves: &[[f64; 2]]) -> Vec<f64> {
    let n = halves.len() as f64;
    let mean = |half: usize| halves.iter().map(|h| h[half]).sum::<f64>() / n;
    let means = [mean(0), mean(1)];
    let common: f64 = halves.iter().map(|h| (h[0] - means[0]) * (h[1] - means[1])).sum();
    let middle = both(means);
    let spread: f64 = halves.iter().map(|h| (both(*h) - middle).powi(2)).sum();
    let factor = if spread > 0.0 {
        (common / spread).clamp(0.0, 1.0).sqrt()
    } else {
        1.0
    };
    halves
        .iter()
        .map(|h| middle + factor * (both(*h) - middle))
        .collect()
}

fn ranged(halves: &[[f64; 2]]) -> Ranged {
    let mut values = narrowed(halves);
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
fn ranks(values: &[f64]) -> Vec<f64> {
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

fn correlation(a: &[f64], b: &[f64]) -> f64 {
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

/// Standard scores of every constant that can matter here, set by set.
fn scores(asking: Asking<'_>, ensemble: &Ensemble) -> Vec<(String, Option<String>, Vec<f64>)> {
    let setup = asking.setup;
    let all = unknowns(&setup.library, &setup.scenario, setup.organism.class);
    all.into_iter()
        .filter(|unknown| unknown.acts(&setup.scenario.id, asking.trainee))
        .map(|unknown| {
            let at = ensemble.constants.iter().position(|c| *c == unknown.name);
            let of = |m: &crate::model::Member| match at {
                Some(n) => m.scores[n],
                None => drawn_score(m.number, &unknown.name),
            };
            let scores = ensemble.members.iter().map(of).collect();
            (unknown.name, unknown.basis, scores)
        })
        .collect()
}

/// How many constants an answer is said to hang on.
const NAMED: usize = 5;

/// The least share of an answer's spread that is no chance: among so many constants that have nothing to do with it, one
/// comes above this about once in ten times (a normal law's tail for the correlation of ranks).
fn least_share(constants: usize, sets: usize) -> f64 {
    let tail = 0.1 / constants.max(1) as f64;
    // An upper bound of the square of the quantile (Chernoff), which is all that is needed of it.
    (-2.0 * libm::log(tail / 2.0)) / sets.max(1) as f64
}

/// What all sets give for each target.
///
/// # Errors
/// The content has no ensemble.
pub fn doubts(asking: Asking<'_>, targets: &[Target], played: &[Vec<Played>]) -> Result<Vec<Doubt>, String> {
    let scores = scores(asking, ensemble(asking.setup)?);
    let of_target = |t: usize, target: &Target| {
        let halves = |of: &dyn Fn(&Played) -> [f64; 2]| -> Vec<[f64; 2]> {
            played.iter().map(|p| of(&p[t])).collect()
        };
        let means: Option<Vec<[f64; 2]>> = played.iter().map(|p| p[t].mean).collect();
        let answer = match &means {
            Some(means) => narrowed(means),
            None => narrowed(&halves(&|p| p.any)),
        };
        let answer = ranks(&answer);
        let least = least_share(scores.len(), played.len());
        let mut hangs: Vec<Hang> = scores
            .iter()
            .map(|(constant, basis, scores)| {
                let goes = correlation(&answer, &ranks(scores));
                Hang {
                    constant: constant.clone(),
                    basis: basis.clone(),
                    share: goes * goes,
                    raises: goes > 0.0,
                }
            })
            .filter(|hang| hang.share > least)
            .collect();
        hangs.sort_by(|a, b| b.share.total_cmp(&a.share));
        hangs.truncate(NAMED);
        Doubt {
            target: target.word(),
            seen: ranged(&halves(&|p| p.seen)),
            any: ranged(&halves(&|p| p.any)),
            mean: means.as_deref().map(ranged),
            hangs,
        }
    };
    Ok(targets
        .iter()
        .enumerate()
        .map(|(t, target)| of_target(t, target))
        .collect())
}

/// How two ways compare at each target whose mean is a sum, set by set: `first` and `second` are what each set gave, and
/// `asking` is the first.
///
/// # Errors
/// The content has no ensemble.
pub fn versed(
    asking: Asking<'_>,
    targets: &[Target],
    first: &[Vec<Played>],
    second: &[Vec<Played>],
) -> Result<Vec<Versed>, String> {
    let scores = scores(asking, ensemble(asking.setup)?);
    let told = asking.setup.library.telling.as_ref();
    let sets = first.len() as f64;
    let of_target = |t: usize, target: &Target| -> Option<Versed> {
        let means =
            |all: &[Vec<Played>]| -> Option<Vec<f64>> { all.iter().map(|p| p[t].mean.map(both)).collect() };
        let (one, two) = (means(first)?, means(second)?);
        let mut shares = [0.0; 3];
        for (a, b) in one.iter().zip(&two) {
            let same = told.is_some_and(|t| t.same_amount(*a, *b));
            shares[if same { 1 } else { usize::from(a > b) * 2 }] += 1.0 / sets;
        }
        let apart: Vec<f64> = one.iter().zip(&two).map(|(a, b)| a - b).collect();
        let average = apart.iter().sum::<f64>() / sets;
        let knowing = |of: &dyn Fn(usize) -> f64| {
            average.min(0.0) - (0..apart.len()).map(|n| of(n).min(0.0)).sum::<f64>() / sets
        };
        let least = least_share(scores.len(), first.len());
        let ranked = ranks(&apart);
        let mut worths: Vec<(String, f64)> = scores
            .iter()
            .filter(|(_, _, scores)| correlation(&ranked, &ranks(scores)).powi(2) > least)
            .map(|(constant, _, scores)| {
                let fit = Parabola::through(scores, &apart);
                (constant.clone(), knowing(&|n| fit.at(scores[n])).max(0.0))
            })
            .filter(|(_, worth)| *worth > 0.0)
            .collect();
        worths.sort_by(|a, b| b.1.total_cmp(&a.1));
        worths.truncate(NAMED);
        Some(Versed {
            target: target.word(),
            shares,
            worth: knowing(&|n| apart[n]).max(0.0),
            worths,
        })
    };
    let all = targets.iter().enumerate();
    Ok(all.filter_map(|(t, target)| of_target(t, target)).collect())
}

/// The parabola that lies nearest to points: what is to be expected of a difference where one constant is known (Strong,
/// Oakley and Brennan 2014 regress so, with smoother curves).
struct Parabola([f64; 3]);

impl Parabola {
    fn through(x: &[f64], y: &[f64]) -> Parabola {
        // Normal equations, by elimination.
        let mut rows = [[0.0; 4]; 3];
        for (x, y) in x.iter().zip(y) {
            let powers = [1.0, *x, x * x];
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
    use crate::chance::{Purpose, normal};

    fn drawn(name: &str, n: u64) -> f64 {
        normal(&mut Luck::new(n).stream(Key::of(name), Purpose::Doubt), 0.0, 1.0)
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
        let Ranged { median, range } = ranged(&halves);
        assert!((median - 5.5).abs() < 0.15, "{median}");
        // Nine tenths of a normal law of spread 1 are 3.29 wide.
        assert!((range.high - range.low - 3.29).abs() < 0.35, "{range:?}");
    }

    #[test]
    fn a_parabola_goes_through_what_lies_on_one() {
        let x: Vec<f64> = (-5..=5).map(f64::from).collect();
        let y: Vec<f64> = x.iter().map(|x| 2.0 - 3.0 * x + 0.5 * x * x).collect();
        let fit = Parabola::through(&x, &y);
        for (x, y) in x.iter().zip(&y) {
            assert!((fit.at(*x) - y).abs() < 1e-9, "at {x}");
        }
    }

    #[test]
    fn equal_values_share_their_rank() {
        assert_eq!(ranks(&[3.0, 1.0, 3.0, 0.0]), [2.5, 1.0, 2.5, 0.0]);
        let (a, b): (Vec<f64>, Vec<f64>) = (0..50).map(|n| (f64::from(n), f64::from(n * n))).unzip();
        assert!((correlation(&ranks(&a), &ranks(&b)) - 1.0).abs() < 1e-12);
    }
}
