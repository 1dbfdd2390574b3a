//! The search for the front: prefixes of protocols from node to node, those that cannot win left out.
//!
//! A prefix is left out in two cases only. It is *dominated* if another prefix at the same node took no longer, no
//! more cleans, and carries no more to the target whatever follows: what follows is some adjoint between the bounds
//! of the node, so that is certain if the largest possible difference is not positive. It is *out of reach* if for
//! every number of cleans still to come its least time and its lower bound are matched by a protocol already found.

use rayon::prelude::*;

use super::bound::{Ahead, Bounds};
use super::front::{Found, Front};
use super::graph::Graph;
use super::prefix::{Account, Came, Head, Prefixes, before, dot};
use super::program::{LANES, Lanes};
use super::sift::sift;
use super::terms::OrdersError;
use crate::analysis::Progress;

/// The plan of a sweep over the nodes: which are far enough to be done together.
pub(super) struct Sweep<'a> {
    graph: &'a Graph,
    bounds: &'a Bounds,
    levels: Vec<Vec<u32>>,
    /// The (node, edge) that lead to each node, node by node.
    before: Vec<(u32, u32)>,
    /// Where those of each node end.
    before_ends: Vec<u32>,
    /// For each level, the nodes that nothing looks back at after it.
    spent: Vec<Vec<u32>>,
}

impl<'a> Sweep<'a> {
    pub fn new(graph: &'a Graph, bounds: &'a Bounds) -> Sweep<'a> {
        let n = graph.nodes.len();
        let mut level = vec![usize::MAX; n];
        let mut led_to = vec![0_u32; n];
        level[n - 1] = 0;
        let mut levels: Vec<Vec<u32>> = Vec::new();
        for at in (0..n).rev() {
            if level[at] == usize::MAX {
                continue;
            }
            levels.resize(levels.len().max(level[at] + 1), Vec::new());
            levels[level[at]].push(at as u32);
            for edge in graph.edges(at) {
                let to = edge.to as usize;
                let next = level[at] + 1;
                level[to] = if level[to] == usize::MAX {
                    next
                } else {
                    level[to].max(next)
                };
                led_to[to] += 1;
            }
        }
        let ends = led_to.iter().scan(0, |sum, more| {
            *sum += more;
            Some(*sum)
        });
        let before_ends: Vec<u32> = ends.collect();
        let mut next: Vec<u32> = before_ends
            .iter()
            .zip(&led_to)
            .map(|(end, many)| end - many)
            .collect();
        let mut before = vec![(0, 0); before_ends.last().map_or(0, |&end| end as usize)];
        let mut spent = vec![Vec::new(); levels.len()];
        for at in (0..n).rev().filter(|&at| level[at] != usize::MAX) {
            for (e, edge) in graph.edges(at).iter().enumerate() {
                let place = &mut next[edge.to as usize];
                before[*place as usize] = (at as u32, e as u32);
                *place += 1;
            }
            if let Some(last) = graph.edges(at).iter().map(|e| level[e.to as usize]).max() {
                spent[last].push(at as u32);
            }
        }
        Sweep {
            graph,
            bounds,
            levels,
            before,
            before_ends,
            spent,
        }
    }

    /// The (node, edge) that lead to a node.
    fn before(&self, node: usize) -> &[(u32, u32)] {
        let begin = node.checked_sub(1).map_or(0, |n| self.before_ends[n]);
        &self.before[begin as usize..self.before_ends[node] as usize]
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
            let room = || vec![[0.0; LANES]; self.graph.width];
            let done: Vec<(Prefixes, Account)> = level
                .par_iter()
                .map_init(room, |room, &node| {
                    self.arrive(node as usize, &at, known, widest, room)
                })
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
            for &node in &self.spent[number] {
                at[node as usize].forget();
            }
        }
        let mut found = Vec::new();
        for prefixes in (0..n).filter(|&n| self.graph.edges(n).is_empty()).map(|n| &at[n]) {
            for (n, head) in prefixes.heads.iter().enumerate() {
                found.push(Found {
                    risk: head.low,
                    seconds: head.seconds,
                    cleans: head.cleans,
                    actions: self.actions(&at, prefixes.came[n]),
                    ties: head.ties,
                });
            }
        }
        front.take(found);
        Ok(account)
    }

    fn actions(&self, at: &[Prefixes], mut came: Came) -> Vec<u32> {
        let mut actions = Vec::new();
        while came.node != u32::MAX {
            let edge = &self.graph.edges(came.node as usize)[came.edge as usize];
            actions.extend(self.graph.made(edge).action);
            came = at[came.node as usize].came[came.prefix as usize];
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
        room: &mut [Lanes],
    ) -> (Prefixes, Account) {
        let (graph, ahead) = (self.graph, self.bounds.of(node));
        let protocols = graph.nodes[node].protocols;
        let sites = graph.sites(node);
        let mut account = Account::default();
        let mut came = Prefixes::default();
        let mut admit = |counts: &[f64], head: Head, came: &mut Prefixes| {
            account.prefixes += 1;
            let head = Head {
                low: dot(ahead.lowest(), counts),
                high: dot(ahead.high, counts),
                ..head
            };
            if out_of_reach(ahead, &head, counts, front) {
                account.bounded += protocols;
            } else {
                came.counts.extend_from_slice(counts);
                came.heads.push(head);
            }
        };
        if self.before(node).is_empty() {
            admit(&graph.start, Head::first(), &mut came);
        }
        let mut row = vec![0.0; sites.len()];
        for &(from, e) in self.before(node) {
            let edge = &graph.edges(from as usize)[e as usize];
            let (program, made) = (&graph.programs[edge.program as usize], graph.made(edge));
            let prefixes = &at[from as usize];
            let from_sites = graph.sites(from as usize);
            for (n, heads) in prefixes.heads.chunks(LANES).enumerate() {
                room.fill([0.0; LANES]);
                for (lane, _) in heads.iter().enumerate() {
                    let begin = (n * LANES + lane) * from_sites.len();
                    for (&site, &count) in from_sites.iter().zip(&prefixes.counts[begin..]) {
                        room[site as usize][lane] = count;
                    }
                }
                program.forward(room);
                for (lane, head) in heads.iter().enumerate() {
                    for (value, &site) in row.iter_mut().zip(sites) {
                        *value = room[site as usize][lane];
                    }
                    let head = Head {
                        seconds: head.seconds + made.seconds,
                        cleans: head.cleans + u32::from(made.cleans),
                        came: Came {
                            node: from,
                            prefix: (n * LANES + lane) as u32,
                            edge: e,
                        },
                        ..*head
                    };
                    admit(&row, head, &mut came);
                }
            }
        }
        let mut kept = match widest {
            Some(widest) => thin(came, widest),
            None => sift(&came, ahead, protocols, &mut account),
        };
        kept.came = kept.heads.iter().map(|head| head.came).collect();
        if graph.edges(node).is_empty() {
            account.followed += kept.heads.len() as u128;
        }
        (kept, account)
    }
}

/// True if whatever follows is matched by a protocol found already.
fn out_of_reach(ahead: Ahead<'_>, head: &Head, counts: &[f64], front: &Front) -> bool {
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
        came: Vec::new(),
    }
}
