//! Dominance between prefixes at one node, decided for every adjoint between the node's bounds.

use crate::outside::threads::parallel::*;

use super::bound::Ahead;
use super::prefix::{Account, Arrivals, Head, Near, Prefixes, before, dot};

/// Rounding that is not taken for a difference, relative to the upper bound of a prefix. Some thirty steps of it
/// stay below 1e-12.
const ROUNDING: f64 = 1e-14;

/// Leaves out prefixes that another dominates, or matches nearly enough; equal ones are counted as ties of the one that
/// stays.
pub(super) fn sift(
    came: &Arrivals,
    ahead: &Ahead,
    near: Near,
    protocols: u128,
    account: &mut Account,
) -> Prefixes {
    let (low, high) = (ahead.lowest(), ahead.high.as_slice());
    let sites = high.len();
    let row = |n: usize| came.row(n, sites);
    let rounding = |n: usize| ROUNDING * came.all[n].high;
    let slack = |n: usize| rounding(n) + near.spare(&came.all[n].head, came.all[n].low);
    let singled = singled(came, low, high);
    let corners = |n: usize| -> [f64; CORNERS] {
        let arrival = &came.all[n];
        std::array::from_fn(|c| match c {
            0 => arrival.low,
            1 => arrival.high,
            c => singled.get(c - 2).map_or(0.0, |adjoint| dot(adjoint, row(n))),
        })
    };
    let mut order: Vec<usize> = (0..came.all.len()).collect();
    order.sort_by(|&a, &b| before(&came.all[a], &came.all[b]));
    let mut kept: Vec<usize> = Vec::new();
    let mut heads: Vec<Head> = Vec::new();
    let mut seen = Seen::default();
    for batch in order.chunks(BATCH) {
        // Beside those kept before, all are looked at at once; among themselves, one after another. What is found is the
        // same as if all were looked at one after another.
        let by =
            |from: usize, n: usize, mine: [f64; CORNERS], seen: &Seen, kept: &[usize], heads: &[Head]| {
                let slack = slack(n);
                seen.first(from, mine.map(|value| value + slack), |k| {
                    heads[k].cleans <= came.all[n].head.cleans
                        && excess(row(kept[k]), row(n), low, high) <= slack
                })
            };
        let known = kept.len();
        let look = |&n: &usize| {
            let mine = corners(n);
            (mine, by(0, n, mine, &seen, &kept, &heads))
        };
        let looked: Vec<_> = if known < WORTH_SHARING {
            batch.iter().map(look).collect()
        } else {
            batch.par_iter().map(look).collect()
        };
        for (&n, (mine, found)) in batch.iter().zip(looked) {
            let head = came.all[n].head;
            let found = found.or_else(|| by(known, n, mine, &seen, &kept, &heads));
            match found {
                Some(k) => {
                    let other = &mut heads[k];
                    account.dominated += protocols;
                    let more = excess(row(kept[k]), row(n), low, high);
                    if other.seconds == head.seconds
                        && other.cleans == head.cleans
                        && more <= rounding(n)
                        && excess(row(n), row(kept[k]), low, high) <= rounding(n)
                    {
                        other.ties += head.ties;
                    }
                    // Rounding is not taken for a difference.
                    other.stand_for(&head, more - rounding(n), came.all[n].low);
                }
                None => {
                    kept.push(n);
                    heads.push(head);
                    seen.push(mine);
                }
            }
        }
    }
    came.keep(&kept, heads, sites)
}

/// Adjoints by which prefixes are told apart first, since dominance holds for every adjoint between the bounds: each has
/// one site at its upper bound and the rest at their lower, for the sites in which the prefixes differ most. Where
/// lower bounds are small, more at one site is all that most pairs need to be told apart; adjoints with half of the sites
/// at the upper bound let 33 times as many pairs pass (the fullest kit, any way allowed).
fn singled(came: &Arrivals, low: &[f64], high: &[f64]) -> Vec<Vec<f64>> {
    let sites = high.len();
    let spread = |n: usize| {
        let counts = came.counts.iter().skip(n).step_by(sites);
        let (least, most) = counts.fold((f64::INFINITY, 0.0_f64), |(least, most), &count| {
            (least.min(count), most.max(count))
        });
        (most - least) * (high[n] - low[n])
    };
    let mut ranked: Vec<(usize, f64)> = (0..sites).map(|n| (n, spread(n))).collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    let single = |&(n, _): &(usize, f64)| {
        let mut adjoint = low.to_vec();
        adjoint[n] = high[n];
        adjoint
    };
    ranked.iter().take(CORNERS - 2).map(single).collect()
}

/// How many prefixes are looked at together, and from how many kept on that is worth sharing among threads. Chosen, not
/// tuned: what is found does not depend on them.
const BATCH: usize = 256;
const WORTH_SHARING: usize = 512;

/// How many adjoints prefixes are told apart by before it is decided for all.
const CORNERS: usize = 16;

/// Corners of the prefixes kept so far, to be looked through fast: in single precision, in blocks.
#[derive(Default)]
struct Seen {
    /// Rounded down; filled up to whole blocks with what nothing is below.
    corners: [Vec<f32>; CORNERS],
    len: usize,
}

impl Seen {
    const BLOCK: usize = 16;

    fn push(&mut self, corners: [f64; CORNERS]) {
        for (all, value) in self.corners.iter_mut().zip(corners) {
            if self.len == all.len() {
                all.extend([f32::INFINITY; Seen::BLOCK]);
            }
            let near = value as f32;
            all[self.len] = if f64::from(near) > value {
                near.next_down()
            } else {
                near
            };
        }
        self.len += 1;
    }

    /// The first one, from the block of `from` on, with no corner above the limits for which the test holds. What the
    /// rounding lets through is left to the test.
    fn first(&self, from: usize, limits: [f64; CORNERS], test: impl Fn(usize) -> bool) -> Option<usize> {
        let limits = limits.map(|value| {
            let near = value as f32;
            if f64::from(near) < value {
                near.next_up()
            } else {
                near
            }
        });
        for at in (from / Seen::BLOCK * Seen::BLOCK..self.len).step_by(Seen::BLOCK) {
            // How far each is above a limit somewhere, in a form that a processor works out for several at once.
            let mut above = [f32::NEG_INFINITY; Seen::BLOCK];
            for (some, limits) in self.corners.chunks(4).zip(limits.chunks(4)) {
                for (all, limit) in some.iter().zip(limits) {
                    for (above, value) in above.iter_mut().zip(&all[at..at + Seen::BLOCK]) {
                        let more = value - limit;
                        *above = if more > *above { more } else { *above };
                    }
                }
                if above.iter().all(|&above| above > 0.0) {
                    break;
                }
            }
            let below = above.map(|above| above <= 0.0);
            if below.contains(&true) {
                let found = (0..Seen::BLOCK).find(|&i| below[i] && test(at + i));
                if let Some(i) = found {
                    return Some(at + i);
                }
            }
        }
        None
    }
}

/// The most by which the first can come to more than the second, over every adjoint between the bounds.
fn excess(first: &[f64], second: &[f64], low: &[f64], high: &[f64]) -> f64 {
    // Four sums side by side, which a processor adds up at once.
    const LANES: usize = 4;
    let term = |more: f64, low: f64, high: f64| more.max(0.0) * high + more.min(0.0) * low;
    let whole = first.len() / LANES * LANES;
    let mut sums = [0.0; LANES];
    for at in (0..whole).step_by(LANES) {
        let (x, y) = (&first[at..at + LANES], &second[at..at + LANES]);
        let (low, high) = (&low[at..at + LANES], &high[at..at + LANES]);
        for lane in 0..LANES {
            sums[lane] += term(x[lane] - y[lane], low[lane], high[lane]);
        }
    }
    let rest = (whole..first.len()).map(|n| term(first[n] - second[n], low[n], high[n]));
    sums.iter().sum::<f64>() + rest.sum::<f64>()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn vector(range: std::ops::Range<f64>) -> impl Strategy<Value = Vec<f64>> {
        prop::collection::vec(range, 6)
    }

    proptest! {
        /// No adjoint between the bounds makes the first come to more above the second than `excess`, and one does.
        #[test]
        fn excess_is_the_largest_difference_between_the_bounds(
            first in vector(0.0..100.0),
            second in vector(0.0..100.0),
            low in vector(0.0..0.5),
            width in vector(0.0..0.5),
            between in vector(0.0..1.0),
        ) {
            let high: Vec<f64> = low.iter().zip(&width).map(|(l, w)| l + w).collect();
            let at = |share: &dyn Fn(usize) -> f64| -> f64 {
                (0..6).map(|n| (first[n] - second[n]) * (low[n] + share(n) * width[n])).sum()
            };
            let most = excess(&first, &second, &low, &high);
            prop_assert!(at(&|n| between[n]) <= most + 1e-9, "an adjoint beats the largest difference");
            let worst = at(&|n| f64::from(first[n] > second[n]));
            prop_assert!((worst - most).abs() <= 1e-9, "no adjoint reaches the largest difference");
        }
    }
}
