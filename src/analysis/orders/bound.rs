//! What is left to come from each node, at best and at worst: exact least times, and bounds on what one organism on
//! each site will still count.
//!
//! The least of the adjoint over all ways on, site by site and for each number of cleans still allowed, is a lower
//! bound on every completion; the greatest is an upper bound. Keeping apart what wastes much time and what wastes
//! little was tried and ruled hardly more out.

use rayon::prelude::*;

use super::graph::Graph;
use super::program::{LANES, Lanes};

/// Bounds on the completions of every node. Each node has lists of its own, made where it is worked out: these find room
/// that the making of the graph has left, which one long list does not.
#[derive(Debug, Default)]
pub(super) struct Bounds {
    nodes: Vec<Behind>,
}

/// What [`Ahead`] shows.
#[derive(Debug)]
struct Behind {
    least: Box<[f64]>,
    row: Box<[u16]>,
    /// Upper bounds, then the rows of lower ones.
    values: Box<[f64]>,
}

/// Bounds on the completions of one node.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ahead<'a> {
    /// Least time to the end with at most so many cleans, s; endless where there is no such way.
    pub least: &'a [f64],
    /// Upper bounds on what one organism on each site of the node counts, over all completions.
    pub high: &'a [f64],
    /// Which row of `low` each entry of `least` has.
    row: &'a [u16],
    /// Lower bounds on the same, in rows.
    low: &'a [f64],
}

impl<'a> Ahead<'a> {
    /// The lower bounds with at most so many cleans.
    pub fn low(&self, cleans: usize) -> &'a [f64] {
        let sites = self.high.len();
        let row = usize::from(self.row[cleans.min(self.least.len() - 1)]);
        &self.low[row * sites..(row + 1) * sites]
    }

    /// The lower bounds with as many cleans as there can be.
    pub fn lowest(&self) -> &'a [f64] {
        self.low(self.least.len() - 1)
    }
}

impl Bounds {
    /// Bounds for every node, from the ends backwards. Nodes of which none leads to another are done side by side.
    pub fn new(graph: &Graph) -> Bounds {
        let n = graph.nodes.len();
        let mut bounds = Bounds::default();
        let mut begin = 0;
        while begin < n {
            let within = |node: &usize| graph.edges(*node).iter().all(|e| (e.to as usize) < begin);
            let end = (begin..n).find(|node| !within(node)).unwrap_or(n);
            let room = || vec![[0.0; LANES]; graph.width];
            let found: Vec<Behind> = (begin..end)
                .into_par_iter()
                .map_init(room, |room, node| bounds.behind(graph, node, room))
                .collect();
            bounds.nodes.extend(found);
            begin = end;
        }
        bounds
    }

    /// The bounds of a node.
    pub fn of(&self, node: usize) -> Ahead<'_> {
        let behind = &self.nodes[node];
        let rows = 1 + behind.row.last().map_or(0, |&last| usize::from(last) + 1);
        let (high, low) = behind.values.split_at(behind.values.len() / rows);
        Ahead {
            least: &behind.least,
            high,
            row: &behind.row,
            low,
        }
    }

    /// The bounds of a node, from those of the nodes it leads to.
    fn behind(&self, graph: &Graph, node: usize, room: &mut [Lanes]) -> Behind {
        if let Some(weights) = graph.weights(node) {
            return Behind::new(&[0.0], [weights, weights].concat());
        }
        let (edges, sites) = (graph.edges(node), graph.sites(node));
        let cleans = |edge| graph.made(edge).cleans as usize;
        let rows = edges
            .iter()
            .map(|e| self.of(e.to as usize).least.len() + cleans(e));
        let rows = rows.max().unwrap_or(1);
        let mut least = vec![f64::INFINITY; rows];
        let mut values = vec![f64::INFINITY; (rows + 1) * sites.len()];
        let (high, low) = values.split_at_mut(sites.len());
        high.fill(0.0);
        for edge in edges {
            let next = self.of(edge.to as usize);
            let to = graph.sites(edge.to as usize);
            // Row 0 is the upper bounds, the others are the lower ones.
            for first in (0..=next.least.len()).step_by(LANES) {
                let lanes = first..(first + LANES).min(next.least.len() + 1);
                room.fill([0.0; LANES]);
                for (lane, row) in lanes.clone().enumerate() {
                    let row = row.checked_sub(1).map_or(next.high, |row| next.low(row));
                    for (&site, &value) in to.iter().zip(row) {
                        room[site as usize][lane] = value;
                    }
                }
                graph.programs[edge.program as usize].backward(room);
                for (lane, row) in lanes.enumerate() {
                    let value = |site: u16| room[site as usize][lane];
                    let Some(left) = row.checked_sub(1) else {
                        for (high, &site) in high.iter_mut().zip(sites) {
                            *high = high.max(value(site));
                        }
                        continue;
                    };
                    let time = next.least[left] + graph.made(edge).seconds;
                    if time.is_infinite() {
                        continue;
                    }
                    // With more cleans than can be used, the bound is that with as many as can be.
                    let last = if left + 1 == next.least.len() {
                        rows
                    } else {
                        left + cleans(edge) + 1
                    };
                    for row in left + cleans(edge)..last {
                        least[row] = least[row].min(time);
                        let low = &mut low[row * sites.len()..(row + 1) * sites.len()];
                        for (low, &site) in low.iter_mut().zip(sites) {
                            *low = low.min(value(site));
                        }
                    }
                }
            }
        }
        Behind::new(&least, values)
    }
}

impl Behind {
    /// From least times, and upper bounds followed by a row of lower ones for each of them. Equal rows are kept once.
    fn new(least: &[f64], mut values: Vec<f64>) -> Behind {
        let sites = values.len() / (least.len() + 1);
        let mut kept = 0;
        let mut numbers = Vec::with_capacity(least.len());
        for given in 0..least.len() {
            // Upper bounds come first.
            let (from, last) = ((given + 1) * sites, kept * sites);
            if kept == 0 || values[last..last + sites] != values[from..from + sites] {
                kept += 1;
                values.copy_within(from..from + sites, kept * sites);
            }
            numbers.push(kept as u16 - 1);
        }
        values.truncate((kept + 1) * sites);
        Behind {
            least: least.into(),
            row: numbers.into(),
            values: values.into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::orders::scope::Scope;
    use crate::analysis::orders::start::Start;
    use crate::analysis::orders::{graph, space};
    use crate::analysis::{Progress, Target};
    use crate::chance::{Key, Luck, Purpose, uniform};
    use crate::content::Content;
    use crate::model::{Sequence, Setup};

    fn enteric_bay() -> Graph {
        let content = Content::builtin().expect("built-in content has no faults");
        let scenario = content.library.scenario("enteric-bay").expect("it is built in");
        let setup = Setup::new(content.library.clone(), scenario).expect("it can be set up");
        let ids = std::iter::once(&scenario.sequence).chain(&scenario.also);
        let sequences: Vec<&Sequence> = ids.filter_map(|id| setup.library.sequence(id)).collect();
        let scope = Scope::wide(&setup, &sequences);
        let progress = Progress::default();
        let target = Target::HandsBeforeCleaning;
        let space = space::Space::explore(&setup, &scope, target, 10_000, &progress).expect("it is small");
        let start = Start::mean(&setup, 10, 1);
        graph::Graph::new(&setup, space, &start, target, 100_000, &progress).expect("it is small")
    }

    /// Random ways to the end: what they come to from each node on lies between the bounds of the node, and takes no
    /// less than its least time.
    #[test]
    fn no_completion_comes_to_less_or_more_than_the_bounds_of_any_node_on_its_way() {
        let graph = enteric_bay();
        let bounds = Bounds::new(&graph);
        let luck = Luck::new(5);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        for way in 0..2000 {
            let mut rng = luck.stream(Key::of("way").within(way), Purpose::Which);
            let mut at = graph.nodes.len() - 1;
            let mut counts = graph.start.clone();
            let mut room = vec![[0.0; LANES]; graph.width];
            // Node, counts there, seconds and cleans so far.
            let mut passed = vec![(at, counts.clone(), 0.0, 0)];
            let (mut seconds, mut cleans) = (0.0, 0);
            while !graph.edges(at).is_empty() {
                let edges = graph.edges(at);
                let edge = &edges[(uniform(&mut rng) * edges.len() as f64) as usize];
                // Each way has a lane of its own, so that all of them are tried.
                let lane = way as usize % LANES;
                room.fill([0.0; LANES]);
                for (&site, &count) in graph.sites(at).iter().zip(&counts) {
                    room[site as usize][lane] = count;
                }
                graph.programs[edge.program as usize].forward(&mut room);
                at = edge.to as usize;
                counts = graph
                    .sites(at)
                    .iter()
                    .map(|&site| room[site as usize][lane])
                    .collect();
                seconds += graph.made(edge).seconds;
                cleans += usize::from(graph.made(edge).cleans);
                passed.push((at, counts.clone(), seconds, cleans));
            }
            let end = dot(graph.weights(at).expect("an end"), &counts);
            for (node, counts, so_far, cleaned) in passed {
                let (here, left) = (bounds.of(node), cleans - cleaned);
                let low = dot(here.low(left), &counts);
                let high = dot(here.high, &counts);
                assert!(
                    low <= end * (1.0 + 1e-9) && end <= high * (1.0 + 1e-9),
                    "way {way}: {end} in the end, at node {node} with {left} cleans left between {low} and {high}"
                );
                let least = here.least[left.min(here.least.len() - 1)];
                assert!(
                    least <= seconds - so_far + 1e-9,
                    "way {way}: {} s left at node {node}, the least is {least}",
                    seconds - so_far
                );
            }
        }
    }
}
