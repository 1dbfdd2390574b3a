//! The search for the front: prefixes of protocols from node to node, those that cannot win left out.
//!
//! A prefix is left out in two cases only. It is *dominated* if another prefix at the same node took no longer, no
//! more cleans, and carries no more to the target whatever follows: what follows is some adjoint between the bounds
//! of the node, so that is certain if the largest possible difference is not positive. It is *out of reach* if for
//! every number of cleans still to come its least time and its lower bound are matched by a protocol already found.

use rayon::prelude::*;

use crate::analysis::linear::forward;

use super::OrdersError;
use super::bound::{Ahead, spread};
use super::graph::Graph;
use crate::analysis::Progress;

/// Rounding that is not taken for a difference, relative to the upper bound of a prefix. Some thirty steps of it
/// stay below 1e-12.
const ROUNDING: f64 = 1e-14;

/// A point of the front while it is being found: what counts, and the edges that lead there.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    /// Expected count at the target.
    pub risk: f64,
    /// Length, s.
    pub seconds: f64,
    /// Number of cleans.
    pub cleans: u32,
    /// Indices of actions.
    pub actions: Vec<u32>,
    /// How many protocols were found to be equal to it.
    pub ties: u128,
}

/// What became of all protocols of the space. The three numbers add up to the size of the space.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Account {
    /// Followed to the end.
    pub followed: u128,
    /// Ruled out because another begins no worse in every respect.
    pub dominated: u128,
    /// Ruled out because the best that could follow is matched already.
    pub bounded: u128,
    /// Prefixes that were looked at.
    pub prefixes: u64,
}

/// Protocols for which nothing found so far is as safe, as quick and as short of cleans.
#[derive(Clone, Debug, Default)]
pub(super) struct Front {
    pub found: Vec<Found>,
    /// For each number of cleans: (time, least risk of what takes no longer), ascending in time.
    stairs: Vec<Vec<(f64, f64)>>,
}

impl Front {
    /// The least risk found in no more time and with no more cleans.
    fn best(&self, seconds: f64, cleans: usize) -> f64 {
        let Some(stairs) = self.stairs.get(cleans.min(self.stairs.len().wrapping_sub(1))) else {
            return f64::INFINITY;
        };
        let n = stairs.partition_point(|s| s.0 <= seconds);
        if n == 0 { f64::INFINITY } else { stairs[n - 1].1 }
    }

    /// Takes protocols in and keeps those that nothing matches.
    fn take(&mut self, found: impl IntoIterator<Item = Found>) {
        let mut all: Vec<Found> = std::mem::take(&mut self.found);
        all.extend(found);
        all.sort_by(|a, b| {
            (a.seconds.total_cmp(&b.seconds))
                .then(a.cleans.cmp(&b.cleans))
                .then(a.risk.total_cmp(&b.risk))
                .then(a.actions.cmp(&b.actions))
        });
        for one in all {
            let tied = self.found.iter_mut().find(|f| {
                f.seconds <= one.seconds && f.cleans <= one.cleans && f.risk <= one.risk * (1.0 + 1e-12)
            });
            match tied {
                None => self.found.push(one),
                Some(f) => {
                    let same = f.seconds == one.seconds && f.cleans == one.cleans;
                    if same && one.risk <= f.risk * (1.0 + 1e-12) && f.actions != one.actions {
                        f.ties += one.ties;
                    }
                }
            }
        }
        let most = self.found.iter().map(|f| f.cleans as usize).max();
        self.stairs = (0..most.map_or(0, |m| m + 1))
            .map(|cleans| {
                let mut least = f64::INFINITY;
                self.found
                    .iter()
                    .filter(|f| f.cleans as usize <= cleans)
                    .map(|f| {
                        least = least.min(f.risk);
                        (f.seconds, least)
                    })
                    .collect()
            })
            .collect();
    }
}

/// Prefixes at a node.
#[derive(Clone, Debug, Default)]
struct Prefixes {
    /// Counts on the node's sites, one row per prefix.
    counts: Vec<f64>,
    heads: Vec<Head>,
}

/// A prefix without its counts.
#[derive(Clone, Copy, Debug)]
struct Head {
    seconds: f64,
    cleans: u32,
    /// Least and greatest that it can come to.
    low: f64,
    high: f64,
    ties: u128,
    /// Node, prefix there and edge that it came by.
    from: (u32, u32, u32),
}

/// The plan of a sweep over the nodes: which are far enough to be done together.
pub(super) struct Sweep<'a> {
    graph: &'a Graph,
    ahead: &'a [Ahead],
    levels: Vec<Vec<u32>>,
    /// For each node, the (node, edge) that lead to it.
    before: Vec<Vec<(u32, u32)>>,
    /// For each node, the last level that looks back at it.
    needed: Vec<usize>,
}

impl<'a> Sweep<'a> {
    pub fn new(graph: &'a Graph, ahead: &'a [Ahead]) -> Sweep<'a> {
        let n = graph.nodes.len();
        let mut level = vec![usize::MAX; n];
        let mut before = vec![Vec::new(); n];
        let mut needed = vec![0; n];
        level[n - 1] = 0;
        let mut levels: Vec<Vec<u32>> = Vec::new();
        for at in (0..n).rev() {
            if level[at] == usize::MAX {
                continue;
            }
            if levels.len() <= level[at] {
                levels.resize(level[at] + 1, Vec::new());
            }
            levels[level[at]].push(at as u32);
            for (e, edge) in graph.nodes[at].edges.iter().enumerate() {
                let to = edge.to as usize;
                let next = level[at] + 1;
                level[to] = if level[to] == usize::MAX {
                    next
                } else {
                    level[to].max(next)
                };
                before[to].push((at as u32, e as u32));
            }
        }
        for (to, before) in before.iter().enumerate() {
            for &(from, _) in before {
                needed[from as usize] = needed[from as usize].max(level[to]);
            }
        }
        Sweep {
            graph,
            ahead,
            levels,
            before,
            needed,
        }
    }

    /// Follows all prefixes from the start, at most `widest` at each node if that is given, and takes what reaches an
    /// end into the front.
    pub fn run(
        &self,
        front: &mut Front,
        widest: Option<usize>,
        most: usize,
        progress: &Progress,
    ) -> Result<Account, OrdersError> {
        let n = self.graph.nodes.len();
        let mut at: Vec<Prefixes> = vec![Prefixes::default(); n];
        let mut account = Account::default();
        let mut held = 0;
        for (number, level) in self.levels.iter().enumerate() {
            if progress.stopped() {
                return Err(OrdersError::Stopped);
            }
            let known = &*front;
            let done: Vec<(Prefixes, Account)> = level
                .par_iter()
                .map(|&node| self.arrive(node as usize, &at, known, widest))
                .collect();
            for (&node, (prefixes, part)) in level.iter().zip(done) {
                held += prefixes.heads.len();
                account.followed += part.followed;
                account.dominated += part.dominated;
                account.bounded += part.bounded;
                account.prefixes += part.prefixes;
                at[node as usize] = prefixes;
            }
            progress.add(account.prefixes);
            if held > most {
                return Err(OrdersError::TooMany {
                    what: "prefixes of protocols",
                    most: most as u128,
                });
            }
            // Counts that nothing looks back at any more.
            for earlier in &self.levels[..=number] {
                for &node in earlier {
                    if self.needed[node as usize] <= number
                        && !self.graph.nodes[node as usize].edges.is_empty()
                    {
                        at[node as usize].counts = Vec::new();
                    }
                }
            }
        }
        let mut found = Vec::new();
        for node in 0..n {
            if self.graph.nodes[node].edges.is_empty() {
                for head in &at[node].heads {
                    found.push(Found {
                        risk: head.low,
                        seconds: head.seconds,
                        cleans: head.cleans,
                        actions: self.actions(&at, head),
                        ties: head.ties,
                    });
                }
            }
        }
        front.take(found);
        Ok(account)
    }

    fn actions(&self, at: &[Prefixes], head: &Head) -> Vec<u32> {
        let mut actions = Vec::new();
        let mut head = head;
        while head.from.0 != u32::MAX {
            let (node, prefix, edge) = head.from;
            let edge = &self.graph.nodes[node as usize].edges[edge as usize];
            actions.extend(edge.action);
            head = &at[node as usize].heads[prefix as usize];
        }
        actions.reverse();
        actions
    }

    /// Everything that arrives at a node and has a chance.
    fn arrive(
        &self,
        node: usize,
        at: &[Prefixes],
        front: &Front,
        widest: Option<usize>,
    ) -> (Prefixes, Account) {
        let (here, ahead) = (&self.graph.nodes[node], &self.ahead[node]);
        let mut account = Account::default();
        let mut came = Prefixes::default();
        let mut all = vec![0.0; self.graph.width];
        let mut row = vec![0.0; here.sites.len()];
        let mut admit = |counts: &[f64], head: Head, came: &mut Prefixes| {
            account.prefixes += 1;
            let head = Head {
                low: dot(ahead.lowest(), counts),
                high: dot(&ahead.high, counts),
                ..head
            };
            if out_of_reach(ahead, &head, counts, front) {
                account.bounded += here.protocols;
            } else {
                came.counts.extend_from_slice(counts);
                came.heads.push(head);
            }
        };
        if self.before[node].is_empty() {
            let head = Head {
                seconds: 0.0,
                cleans: 0,
                low: 0.0,
                high: 0.0,
                ties: 1,
                from: (u32::MAX, 0, 0),
            };
            admit(&self.graph.start, head, &mut came);
        }
        for &(from, e) in &self.before[node] {
            let before = &self.graph.nodes[from as usize];
            let edge = &before.edges[e as usize];
            let program = &self.graph.programs[edge.program as usize];
            let prefixes = &at[from as usize];
            for (n, head) in prefixes.heads.iter().enumerate() {
                let sites = before.sites.len();
                spread(before, &prefixes.counts[n * sites..(n + 1) * sites], &mut all);
                program.iter().for_each(|step| forward(*step, &mut all));
                for (value, &site) in row.iter_mut().zip(&here.sites) {
                    *value = all[site as usize];
                }
                let head = Head {
                    seconds: head.seconds + edge.seconds,
                    cleans: head.cleans + u32::from(edge.cleans),
                    from: (from, n as u32, e),
                    ..*head
                };
                admit(&row, head, &mut came);
            }
        }
        let kept = match widest {
            Some(widest) => thin(came, widest),
            None => sift(&came, ahead, here.protocols, &mut account),
        };
        if here.edges.is_empty() {
            account.followed += kept.heads.len() as u128;
        }
        (kept, account)
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// True if whatever follows is matched by a protocol found already.
fn out_of_reach(ahead: &Ahead, head: &Head, counts: &[f64], front: &Front) -> bool {
    (0..ahead.least.len()).all(|cleans| {
        let least = ahead.least[cleans];
        if least.is_infinite() {
            return true;
        }
        let best = front.best(head.seconds + least, head.cleans as usize + cleans);
        best <= dot(ahead.low(cleans), counts)
    })
}

/// Leaves out prefixes that another dominates; equal ones are counted as ties of the one that stays.
fn sift(came: &Prefixes, ahead: &Ahead, protocols: u128, account: &mut Account) -> Prefixes {
    let (low, high) = (ahead.lowest(), &ahead.high[..]);
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
    Prefixes { counts, heads }
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

/// A few prefixes that differ in time, spread evenly: enough to find a good front quickly.
fn thin(came: Prefixes, widest: usize) -> Prefixes {
    if came.heads.len() <= 1 {
        return came;
    }
    let sites = came.counts.len() / came.heads.len();
    let mut order: Vec<usize> = (0..came.heads.len()).collect();
    order.sort_by(|&a, &b| before(&came.heads[a], &came.heads[b]));
    // Those that neither bound speaks against.
    let mut chosen: Vec<usize> = Vec::new();
    for n in order {
        let head = &came.heads[n];
        let worse = chosen.iter().any(|&k| {
            let other: &Head = &came.heads[k];
            other.cleans <= head.cleans && other.low + other.high <= head.low + head.high
        });
        if !worse {
            chosen.push(n);
        }
    }
    let step = chosen.len().div_ceil(widest);
    let chosen: Vec<usize> = chosen.into_iter().step_by(step).collect();
    let row = |&n: &usize| came.counts[n * sites..(n + 1) * sites].iter().copied();
    Prefixes {
        counts: chosen.iter().flat_map(row).collect(),
        heads: chosen.iter().map(|&n| came.heads[n]).collect(),
    }
}

/// The order in which prefixes are taken: quick, short of cleans and promising ones first, always the same.
fn before(a: &Head, b: &Head) -> std::cmp::Ordering {
    (a.seconds.total_cmp(&b.seconds))
        .then(a.cleans.cmp(&b.cleans))
        .then(a.low.total_cmp(&b.low))
        .then(a.high.total_cmp(&b.high))
        .then(a.from.cmp(&b.from))
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

    #[test]
    fn a_front_keeps_what_nothing_matches_and_counts_ties() {
        let found = |seconds: f64, cleans: u32, risk: f64, action: u32| Found {
            risk,
            seconds,
            cleans,
            actions: vec![action],
            ties: 1,
        };
        let mut front = Front::default();
        front.take([
            found(30.0, 1, 5.0, 1),
            found(20.0, 2, 5.0, 2),
            found(30.0, 1, 5.0, 3),
            found(40.0, 1, 5.0, 4),
        ]);
        front.take([
            found(20.0, 2, 5.0, 2),
            found(50.0, 0, 9.0, 5),
            found(50.0, 1, 4.0, 6),
        ]);
        let kept: Vec<(f64, u32, u128)> = front
            .found
            .iter()
            .map(|f| (f.seconds, f.cleans, f.ties))
            .collect();
        assert_eq!(kept, [(20.0, 2, 1), (30.0, 1, 2), (50.0, 0, 1), (50.0, 1, 1)]);
        assert_eq!(front.best(19.0, 5), f64::INFINITY, "nothing is that quick");
        assert_eq!(
            front.best(35.0, 0),
            f64::INFINITY,
            "nothing that quick does without cleaning"
        );
        assert_eq!(front.best(60.0, 0), 9.0);
        assert_eq!(front.best(60.0, 7), 4.0);
    }
}
