//! The search for the front: prefixes of protocols from node to node, those that cannot win left out.
//!
//! A prefix is left out in two cases only. It is *dominated* if another prefix at the same node took no longer, no
//! more cleans, and carries no more to the target whatever follows: what follows is some adjoint between the bounds
//! of the node, so that is certain if the largest possible difference is not positive. It is *out of reach* if for
//! every number of cleans still to come its least time and its lower bound are matched by a protocol already found.

use crate::outside::threads::parallel::*;

use super::bound::{Ahead, Bounds};
use super::front::{Found, Front};
use super::graph::Graph;
use super::prefix::{Account, Arrival, Arrivals, Came, Head, Near, Prefixes, before, dot};
use super::program::{LANES, Lanes};
use super::sift::sift;
use super::terms::OrdersError;
use crate::analysis::Progress;

/// The plan of a sweep over the nodes: which are far enough to be done together.
pub(super) struct Sweep<'a> {
    graph: &'a Graph,
    bounds: &'a Bounds,
    near: Near,
    levels: Vec<Vec<u32>>,
    /// The (node, edge) that lead to each node, node by node.
    before: Vec<(u32, u32)>,
    /// Where those of each node end.
    before_ends: Vec<u32>,
    /// For each level, the nodes that nothing looks back at after it.
    spent: Vec<Vec<u32>>,
}

/// What a thread takes nodes in: made once, since what was taken and given back for every node would leave holes.
struct Room {
    /// Counts on all sites, several prefixes side by side.
    row: Vec<Lanes>,
    arrived: Arrivals,
    ahead: Ahead,
}

impl Room {
    fn of(graph: &Graph) -> Room {
        Room {
            row: vec![[0.0; LANES]; graph.width],
            arrived: Arrivals::default(),
            ahead: Ahead::default(),
        }
    }
}

impl<'a> Sweep<'a> {
    pub fn new(graph: &'a Graph, bounds: &'a Bounds, near: Near) -> Sweep<'a> {
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
            near,
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
            let room = || Room::of(self.graph);
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
        for end in (0..n).filter(|&n| self.graph.edges(n).is_empty()) {
            let (prefixes, ahead) = (&at[end], self.bounds.of(end));
            let sites = self.graph.sites(end).len();
            for (n, head) in prefixes.heads.iter().enumerate() {
                let counts = &prefixes.counts[n * sites..(n + 1) * sites];
                found.push(Found {
                    risk: dot(ahead.lowest(), counts),
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
        Room {
            row: room,
            arrived,
            ahead,
        }: &mut Room,
    ) -> (Prefixes, Account) {
        let graph = self.graph;
        self.bounds.read(node, ahead);
        let ahead = &*ahead;
        let protocols = graph.nodes[node].protocols;
        let sites = graph.sites(node);
        let mut account = Account::default();
        arrived.counts.clear();
        arrived.all.clear();
        let mut admit = |counts: &[f64], head: Head, came: Came| {
            account.prefixes += 1;
            if out_of_reach(ahead, &head, counts, front, self.near) {
                account.bounded += protocols;
            } else {
                arrived.counts.extend_from_slice(counts);
                arrived.all.push(Arrival {
                    head,
                    low: dot(ahead.lowest(), counts),
                    high: dot(&ahead.high, counts),
                    came,
                });
            }
        };
        if self.before(node).is_empty() {
            admit(&graph.start, Head::first(), Came::nowhere());
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
                        ..*head
                    };
                    let came = Came {
                        node: from,
                        prefix: (n * LANES + lane) as u32,
                        edge: e,
                    };
                    admit(&row, head, came);
                }
            }
        }
        let kept = match widest {
            Some(widest) => thin(arrived, widest, sites.len()),
            None => sift(arrived, ahead, self.near, protocols, &mut account),
        };
        if graph.edges(node).is_empty() {
            account.followed += kept.heads.len() as u128;
        }
        (kept, account)
    }
}

/// True if whatever follows is matched by a protocol found already, or nearly enough.
fn out_of_reach(ahead: &Ahead, head: &Head, counts: &[f64], front: &Front, near: Near) -> bool {
    let factor = near.factor(head);
    (0..ahead.least.len()).all(|cleans| {
        let least = ahead.least[cleans];
        if least.is_infinite() {
            return true;
        }
        let best = front.best(head.seconds + least, head.cleans as usize + cleans);
        best <= factor * dot(ahead.low(cleans), counts)
    })
}

/// A few prefixes that differ in time, spread evenly: enough to find a good front quickly.
fn thin(arrived: &Arrivals, widest: usize, sites: usize) -> Prefixes {
    let all = &arrived.all;
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(|&a, &b| before(&all[a], &all[b]));
    // Those that neither bound speaks against.
    let mut chosen: Vec<usize> = Vec::new();
    for n in order {
        let worse = chosen.iter().any(|&k| {
            let (one, other) = (&all[n], &all[k]);
            other.head.cleans <= one.head.cleans && other.low + other.high <= one.low + one.high
        });
        if !worse {
            chosen.push(n);
        }
    }
    let step = chosen.len().div_ceil(widest).max(1);
    let chosen: Vec<usize> = chosen.into_iter().step_by(step).collect();
    let heads = chosen.iter().map(|&n| all[n].head).collect();
    arrived.keep(&chosen, heads, sites)
}
