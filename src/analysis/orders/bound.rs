//! What is left to come from each node, at best and at worst: exact least times, and bounds on what one organism on
//! each site will still count.
//!
//! The least of the adjoint over all ways on, site by site and for each number of cleans still allowed, is a lower
//! bound on every completion; the greatest is an upper bound. Keeping apart what wastes much time and what wastes
//! little was tried and ruled hardly more out.

use std::hash::{Hash, Hasher};

use crate::outside::threads::parallel::*;

use super::graph::Graph;
use super::numbers::Numbers;
use super::program::{LANES, Lanes};

/// Bounds on the completions of every node. Of twenty million numbers (the fullest kit, any way allowed) nine in ten stand
/// elsewhere as well, and a quarter of the rows do: each row and each number is kept once.
#[derive(Debug, Default)]
pub(super) struct Bounds {
    /// Least times of all nodes, node by node.
    least: Vec<f64>,
    /// Where those of each node end.
    least_ends: Vec<u32>,
    /// For each least time, the row of lower bounds that goes with it.
    low: Vec<u32>,
    /// For each node, the row of upper bounds.
    high: Vec<u32>,
    /// Rows of indices into the values.
    rows: Vec<u32>,
    /// Where each row ends in them.
    row_ends: Vec<u32>,
    values: Vec<f64>,
}

/// Bounds on the completions of one node, laid out to be read often.
#[derive(Debug, Default)]
pub(super) struct Ahead {
    /// Least time to the end with at most so many cleans, s; endless where there is no such way.
    pub least: Vec<f64>,
    /// Upper bounds on what one organism on each site of the node counts, over all completions.
    pub high: Vec<f64>,
    /// Which row of `low` each entry of `least` has.
    row: Vec<u16>,
    /// Lower bounds on the same, in rows.
    low: Vec<f64>,
}

impl Ahead {
    /// The lower bounds with at most so many cleans.
    pub fn low(&self, cleans: usize) -> &[f64] {
        let sites = self.high.len();
        let row = usize::from(self.row[cleans.min(self.least.len() - 1)]);
        &self.low[row * sites..(row + 1) * sites]
    }

    /// The lower bounds with as many cleans as there can be.
    pub fn lowest(&self) -> &[f64] {
        self.low(self.least.len() - 1)
    }
}

/// How many nodes are worked out together at most, since what they come to stands there at length until it is put away.
const TOGETHER: usize = 1024;

impl Bounds {
    /// Bounds for every node, from the ends backwards. Nodes of which none leads to another are done side by side.
    pub fn new(graph: &Graph) -> Bounds {
        let n = graph.nodes.len();
        let mut bounds = Bounds::default();
        let mut known = Known::default();
        let mut begin = 0;
        while begin < n {
            let within = |node: &usize| graph.edges(*node).iter().all(|e| (e.to as usize) < begin);
            let most = n.min(begin + TOGETHER);
            let end = (begin..most).find(|node| !within(node)).unwrap_or(most);
            let room = || vec![[0.0; LANES]; graph.width];
            let found: Vec<Behind> = (begin..end)
                .into_par_iter()
                .map_init(room, |room, node| bounds.behind(graph, node, room))
                .collect();
            for behind in &found {
                bounds.add(behind, &mut known);
            }
            begin = end;
        }
        bounds.rows.shrink_to_fit();
        bounds.values.shrink_to_fit();
        bounds
    }

    /// The bounds of a node.
    pub fn of(&self, node: usize) -> Ahead {
        let mut ahead = Ahead::default();
        self.read(node, &mut ahead);
        ahead
    }

    /// The same, written over others.
    pub fn read(&self, node: usize, ahead: &mut Ahead) {
        let (least, low) = self.lows(node);
        ahead.least.clear();
        ahead.least.extend_from_slice(least);
        ahead.high.clear();
        ahead.high.extend(self.row(self.high[node]));
        ahead.row.clear();
        ahead.low.clear();
        let mut before = None;
        let mut rows = 0;
        for &row in low {
            if before.replace(row) != Some(row) {
                ahead.low.extend(self.row(row));
                rows += 1;
            }
            ahead.row.push(rows - 1);
        }
    }

    /// Least times of a node, and the rows of lower bounds that go with them.
    fn lows(&self, node: usize) -> (&[f64], &[u32]) {
        let begin = node.checked_sub(1).map_or(0, |before| self.least_ends[before]);
        let all = begin as usize..self.least_ends[node] as usize;
        (&self.least[all.clone()], &self.low[all])
    }

    /// What stands in a row.
    fn row(&self, row: u32) -> impl ExactSizeIterator<Item = f64> {
        let row = row as usize;
        let begin = row.checked_sub(1).map_or(0, |before| self.row_ends[before]);
        let indices = &self.rows[begin as usize..self.row_ends[row] as usize];
        indices.iter().map(|&index| self.values[index as usize])
    }

    /// Adds the bounds of the next node.
    fn add(&mut self, behind: &Behind, known: &mut Known) {
        let sites = behind.values.len() / (behind.least.len() + 1);
        let mut before: Option<(&[f64], u32)> = None;
        // Nodes without sites have empty rows.
        for n in 0..=behind.least.len() {
            let values = &behind.values[n * sites..(n + 1) * sites];
            let row = match before {
                Some((like, row)) if like == values => row,
                _ => self.number(values, known),
            };
            match n {
                0 => self.high.push(row),
                _ => {
                    self.low.push(row);
                    before = Some((values, row));
                }
            }
        }
        self.least.extend_from_slice(&behind.least);
        self.least_ends.push(self.least.len() as u32);
    }

    /// The row of these values, new or known.
    fn number(&mut self, values: &[f64], known: &mut Known) -> u32 {
        let next = self.row_ends.len() as u32;
        let same = |row| {
            let row = self.row(row);
            row.len() == values.len() && row.zip(values).all(|(a, b)| a.to_bits() == b.to_bits())
        };
        let row = known.rows.or_insert(&Bits(values), next, same);
        if row == next {
            for &value in values {
                let next = self.values.len() as u32;
                let same = |n: u32| self.values[n as usize].to_bits() == value.to_bits();
                let index = known.values.or_insert(&value.to_bits(), next, same);
                if index == next {
                    self.values.push(value);
                }
                self.rows.push(index);
            }
            self.row_ends.push(self.rows.len() as u32);
        }
        row
    }

    /// The bounds of a node, from those of the nodes it leads to.
    fn behind(&self, graph: &Graph, node: usize, room: &mut [Lanes]) -> Behind {
        if let Some(weights) = graph.weights(node) {
            return Behind {
                least: vec![0.0],
                values: [weights, weights].concat(),
            };
        }
        let (edges, sites) = (graph.edges(node), graph.sites(node));
        let cleans = |edge| graph.made(edge).cleans as usize;
        let rows = edges.iter().map(|e| self.lows(e.to as usize).0.len() + cleans(e));
        let rows = rows.max().unwrap_or(1);
        let mut least = vec![f64::INFINITY; rows];
        let mut values = vec![f64::INFINITY; (rows + 1) * sites.len()];
        let (high, low) = values.split_at_mut(sites.len());
        high.fill(0.0);
        for edge in edges {
            let to = edge.to as usize;
            let (next_least, next_low) = self.lows(to);
            // Row 0 is the upper bounds, the others are the lower ones.
            for first in (0..=next_least.len()).step_by(LANES) {
                let lanes = first..(first + LANES).min(next_least.len() + 1);
                room.fill([0.0; LANES]);
                for (lane, row) in lanes.clone().enumerate() {
                    let row = row.checked_sub(1).map_or(self.high[to], |row| next_low[row]);
                    for (&site, value) in graph.sites(to).iter().zip(self.row(row)) {
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
                    let time = next_least[left] + graph.made(edge).seconds;
                    if time.is_infinite() {
                        continue;
                    }
                    // With more cleans than can be used, the bound is that with as many as can be.
                    let last = if left + 1 == next_least.len() {
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
        Behind { least, values }
    }
}

/// The bounds of a node as they are worked out.
struct Behind {
    least: Vec<f64>,
    /// Upper bounds, followed by a row of lower ones for each least time.
    values: Vec<f64>,
}

/// Rows and values by what they are, while there may be more.
#[derive(Default)]
struct Known {
    rows: Numbers,
    values: Numbers,
}

/// Numbers told apart by their bits.
struct Bits<'a>(&'a [f64]);

impl Hash for Bits<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.iter().for_each(|value| state.write_u64(value.to_bits()));
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
                let high = dot(&here.high, &counts);
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
