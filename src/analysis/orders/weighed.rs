//! The orders that were found, and named sequences, judged by every set of values: which of them leaves least in how many.

use crate::outside::threads::parallel::*;

use crate::analysis::atlas::Atlas;
use crate::analysis::doubt::{Stated, ranged, sets_of};
use crate::analysis::{Aim, Coefficients, Plan, Progress, Ranged, expected};
use crate::drill::Action;
use crate::model::{Setup, Telling};

use super::Orders;
use super::compare::Place;
use super::start::Start;
use super::terms::Protocol;

/// Most orders of the front that are judged: those that can be told apart first.
const MOST: usize = 48;

/// Starts that each set of values takes the mean load of. Sets share none.
const STARTS: u64 = 20;

/// What sets of values say of one order.
#[derive(Clone, Debug, PartialEq)]
pub struct Weight {
    /// Expected count at the target.
    pub risk: Ranged,
    /// Share of sets in which none of those that were searched, and not the policy, leaves clearly less.
    pub best: f64,
    /// Expected count in each set.
    pub each: Vec<f64>,
}

/// What sets of values say of orders.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// How many sets there are.
    pub sets: usize,
    /// Those of the front that were judged, by their place there.
    pub front: Vec<(usize, Weight)>,
    /// One for each named sequence that this kit can follow.
    pub named: Vec<Option<Weight>>,
    /// The policy's own order in the ways of the one that is chosen ([`Weighed::chosen`]); see [`Orders::policy_in_ways_of`].
    pub in_its_ways: Option<(Protocol, Weight)>,
}

impl Weighed {
    /// Of those of the front that were judged, the place of the one that leaves least in most sets; of equals the one that
    /// leaves less in the middle set, and then the quickest.
    pub fn safest(&self, orders: &Orders) -> Option<usize> {
        let by =
            |(n, weight): &&(usize, Weight)| (weight.best, -weight.risk.median, -orders.front[*n].seconds);
        let all = self.front.iter();
        let best = all.max_by(|a, b| {
            let (a, b) = (by(a), by(b));
            let first = a.0.total_cmp(&b.0);
            first.then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
        });
        best.map(|(n, _)| *n)
    }

    /// The place on the front of the quickest order that in nearly all sets of values leaves no more than the one that leaves
    /// least in most of them.
    pub fn chosen(
        &self,
        orders: &Orders,
        telling: &Telling,
        same: impl Fn(f64, f64) -> bool,
    ) -> Option<usize> {
        let best = self.safest(orders)?;
        let weight = self.of_front(best)?;
        let as_safe = |(n, other): &&(usize, Weight)| {
            let [_, _, more] = other.against(weight, &same);
            *n == best || more <= 1.0 - telling.nearly_all
        };
        let all = self.front.iter().filter(as_safe).map(|(n, _)| *n);
        all.min_by(|&a, &b| orders.front[a].seconds.total_cmp(&orders.front[b].seconds))
    }

    /// What is known of one of the front.
    pub fn of_front(&self, place: usize) -> Option<&Weight> {
        let found = self.front.iter().find(|(n, _)| *n == place);
        found.map(|(_, weight)| weight)
    }
}

impl Weight {
    /// Shares of sets in which this leaves clearly less than another, both are the same, and the other leaves less.
    pub fn against(&self, other: &Weight, same: impl Fn(f64, f64) -> bool) -> [f64; 3] {
        let mut counts = [0_u32; 3];
        for (&a, &b) in self.each.iter().zip(&other.each) {
            counts[if same(a, b) { 1 } else { usize::from(a > b) * 2 }] += 1;
        }
        counts.map(|count| f64::from(count) / self.each.len().max(1) as f64)
    }
}

/// Judges orders by every set of values; none where the content has no ensemble. `same` says which expected counts are
/// not told apart.
///
/// # Errors
/// A sentence: an order that cannot be done with another set of values, or being stopped.
pub fn weigh(
    setup: &Setup,
    orders: &Orders,
    same: impl Fn(f64, f64) -> bool + Sync,
    seed: u64,
    progress: &Progress,
) -> Result<Option<Weighed>, String> {
    if sets_of(setup) == 0 {
        return Ok(None);
    }
    let mut chosen = orders.distinct(&same);
    let others = (0..orders.front.len())
        .filter(|n| !chosen.contains(n))
        .collect::<Vec<_>>();
    chosen.extend(others);
    chosen.truncate(MOST);
    chosen.sort_unstable();
    let standings = || orders.named.iter().map(|n| n.standing.as_ref().ok());
    let judged: Vec<&[Action]> = chosen
        .iter()
        .map(|&n| &orders.front[n].actions[..])
        .chain(standings().flatten().map(|s| &s.protocol.actions[..]))
        .collect();
    let stated = Stated::new(setup)?;
    let risks = risks_of(setup, &stated, orders, &judged, (seed, progress))?;
    // What is best is so among what was searched, and the policy, which may do what was not: other named sequences are shown
    // beside it.
    let policy = orders
        .named
        .first()
        .and_then(|named| named.standing.as_ref().ok());
    let policy = policy.is_some_and(|policy| !matches!(policy.place, Place::LeavesOn(_)));
    let rivals = chosen.len() + usize::from(policy);
    let weight_of = |each: Vec<f64>| {
        let best = risks.iter().zip(&each).filter(|(set, own)| {
            let least = set[..rivals].iter().copied().fold(f64::INFINITY, f64::min);
            **own <= least || same(**own, least)
        });
        Weight {
            risk: ranged(&each),
            best: best.count() as f64 / risks.len().max(1) as f64,
            each,
        }
    };
    let weight = |n: usize| weight_of(risks.iter().map(|set| set[n]).collect());
    let mut next = chosen.len();
    let named = standings()
        .map(|standing| {
            standing.map(|_| {
                next += 1;
                weight(next - 1)
            })
        })
        .collect();
    let mut weighed = Weighed {
        sets: risks.len(),
        front: chosen
            .iter()
            .enumerate()
            .map(|(at, &n)| (n, weight(at)))
            .collect(),
        named,
        in_its_ways: None,
    };
    let chosen = setup
        .library
        .telling
        .as_ref()
        .and_then(|telling| weighed.chosen(orders, telling, &same));
    if let Some(protocol) = chosen.and_then(|place| orders.policy_in_ways_of(setup, place)) {
        let risks = risks_of(setup, &stated, orders, &[&protocol.actions], (seed, progress))?;
        let each = risks.into_iter().map(|set| set[0]).collect();
        let weight = weight_of(each);
        weighed.in_its_ways = Some((protocol, weight));
    }
    Ok(Some(weighed))
}

/// What each of these orders comes to in each set of values: by set, then by order.
fn risks_of(
    setup: &Setup,
    stated: &Stated<'_>,
    orders: &Orders,
    judged: &[&[Action]],
    (seed, progress): (u64, &Progress),
) -> Result<Vec<Vec<f64>>, String> {
    (0..sets_of(setup))
        .into_par_iter()
        .map(|member| {
            if progress.stopped() {
                return Err("stopped".to_owned());
            }
            let setup = stated.with(member)?;
            let start = Start::from(&setup, member as u64 * STARTS, STARTS, seed);
            let mut atlas = Atlas::new(&setup);
            judged
                .iter()
                .map(|actions| {
                    let plan = Plan::within(&mut atlas, &[], actions).map_err(|e| e.to_string())?;
                    let aim = Aim::new(&setup, &plan, orders.target);
                    let (wet, counts) = (&start.wet_until, &start.counts);
                    let mean = expected(&plan, wet, counts, &[aim], Coefficients::Mean);
                    mean.first()
                        .copied()
                        .flatten()
                        .ok_or_else(|| "the target is no sum".to_owned())
                })
                .collect()
        })
        .collect()
}
