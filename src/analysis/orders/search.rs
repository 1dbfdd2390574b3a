//! The search for the front: prefixes of protocols from node to node, those that cannot win left out.
//!
//! A prefix is left out in two cases only. It is *dominated* if another prefix at the same node took no longer, no
//! more cleans, and carries no more to the target whatever follows: what follows is some adjoint between the bounds
//! of the node, so that is certain if the largest possible difference is not positive. It is *out of reach* if for
//! every number of cleans still to come its least time and its lower bound are matched by a protocol already found.

use rayon::prelude::*;

use super::bound::{Ahead, spread};
use super::front::{Found, Front};
use super::graph::Graph;
use super::prefix::{Account, Head, Prefixes, before, dot};
use super::sift::sift;
use super::terms::OrdersError;
use crate::analysis::Progress;

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
                program.forward(&mut all);
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
