//! Dominance between prefixes at one node, decided for every adjoint between the node's bounds.

use super::bound::Ahead;
use super::prefix::{Account, Head, Prefixes, before, dot};

/// Rounding that is not taken for a difference, relative to the upper bound of a prefix. Some thirty steps of it
/// stay below 1e-12.
const ROUNDING: f64 = 1e-14;

/// Leaves out prefixes that another dominates; equal ones are counted as ties of the one that stays.
pub(super) fn sift(came: &Prefixes, ahead: Ahead<'_>, protocols: u128, account: &mut Account) -> Prefixes {
    let (low, high) = (ahead.lowest(), ahead.high);
    let sites = high.len();
    let row = |n: usize| &came.counts[n * sites..(n + 1) * sites];
    // Dominance holds for every adjoint between the bounds, so for these few: most pairs differ in one of them.
    let mixed: Vec<Vec<f64>> = MIXTURES
        .iter()
        .map(|mixture| {
            let pick = |n: usize| {
                if mixture >> (n % 16) & 1 == 1 {
                    high[n]
                } else {
                    low[n]
                }
            };
            (0..sites).map(pick).collect()
        })
        .collect();
    let corners = |n: usize| -> [f64; CORNERS] {
        let head = &came.heads[n];
        std::array::from_fn(|c| match c {
            0 => head.low,
            1 => head.high,
            c => dot(&mixed[c - 2], row(n)),
        })
    };
    let mut order: Vec<usize> = (0..came.heads.len()).collect();
    order.sort_by(|&a, &b| before(&came.heads[a], &came.heads[b]));
    let mut kept: Vec<usize> = Vec::new();
    let mut heads: Vec<Head> = Vec::new();
    let mut seen = Seen::default();
    for n in order {
        let head = came.heads[n];
        let slack = ROUNDING * head.high;
        let mine = corners(n);
        let by = seen.first(mine.map(|value| value + slack), |k| {
            heads[k].cleans <= head.cleans && excess(row(kept[k]), row(n), low, high) <= slack
        });
        match by {
            Some(k) => {
                let other = &mut heads[k];
                account.dominated += protocols;
                if other.seconds == head.seconds
                    && other.cleans == head.cleans
                    && excess(row(n), row(kept[k]), low, high) <= slack
                {
                    other.ties += head.ties;
                }
            }
            None => {
                kept.push(n);
                heads.push(head);
                seen.push(mine);
            }
        }
    }
    let mut counts = Vec::with_capacity(kept.len() * sites);
    for n in kept {
        counts.extend_from_slice(row(n));
    }
    Prefixes {
        counts,
        heads,
        came: Vec::new(),
    }
}

/// Which sites take the upper bound in adjoints by which prefixes are told apart first; the rest take the lower.
const MIXTURES: [u16; CORNERS - 2] = [0x5555, 0xAAAA, 0x3333, 0xCCCC, 0x0FF0, 0xF00F];

/// How many adjoints prefixes are told apart by before it is decided for all.
const CORNERS: usize = 8;

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

    /// The first one with no corner above the limits for which the test holds. What the rounding lets through is left
    /// to the test.
    fn first(&self, limits: [f64; CORNERS], test: impl Fn(usize) -> bool) -> Option<usize> {
        let limits = limits.map(|value| {
            let near = value as f32;
            if f64::from(near) < value {
                near.next_up()
            } else {
                near
            }
        });
        for at in (0..self.len).step_by(Seen::BLOCK) {
            let mut below = [true; Seen::BLOCK];
            for (all, limit) in self.corners.iter().zip(limits) {
                for (below, value) in below.iter_mut().zip(&all[at..at + Seen::BLOCK]) {
                    *below &= *value <= limit;
                }
                if !below.contains(&true) {
                    break;
                }
            }
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
