//! What is left to come from each node, at best and at worst: exact least times, and bounds on what one organism on
//! each site will still count.
//!
//! The least of the adjoint over all ways on, site by site and for each number of cleans still allowed, is a lower
//! bound on every completion; the greatest is an upper bound. Keeping apart what wastes much time and what wastes
//! little was tried and ruled hardly more out.

use super::graph::{Graph, Node};

/// Bounds on the completions of one node.
#[derive(Clone, Debug)]
pub(super) struct Ahead {
    /// Least time to the end with at most so many cleans, s; endless where there is no such way.
    pub least: Vec<f64>,
    /// Upper bounds on what one organism on each site of the node counts, over all completions.
    pub high: Vec<f64>,
    /// Lower bounds on the same, a row for each entry of `least`.
    low: Vec<f64>,
}

impl Ahead {
    /// The lower bounds with at most so many cleans.
    pub fn low(&self, cleans: usize) -> &[f64] {
        let sites = self.high.len();
        let row = cleans.min(self.least.len() - 1);
        &self.low[row * sites..(row + 1) * sites]
    }

    /// The lower bounds with as many cleans as there can be.
    pub fn lowest(&self) -> &[f64] {
        self.low(self.least.len() - 1)
    }
}

/// Spreads values on a node's sites over all sites; others are zero.
pub(super) fn spread(node: &Node, values: &[f64], all: &mut [f64]) {
    all.fill(0.0);
    for (&site, &value) in node.sites.iter().zip(values) {
        all[site as usize] = value;
    }
}

/// Bounds for every node, from the ends backwards.
pub(super) fn ahead(graph: &Graph) -> Vec<Ahead> {
    let mut out: Vec<Ahead> = Vec::with_capacity(graph.nodes.len());
    let mut all = vec![0.0; graph.width];
    for node in &graph.nodes {
        out.push(if node.edges.is_empty() {
            Ahead {
                least: vec![0.0],
                high: node.weights.clone(),
                low: node.weights.clone(),
            }
        } else {
            behind(graph, node, &out, &mut all)
        });
    }
    out
}

/// The bounds of a node from those of the nodes it leads to.
fn behind(graph: &Graph, node: &Node, done: &[Ahead], all: &mut [f64]) -> Ahead {
    let rows = |e: &super::graph::Edge| done[e.to as usize].least.len() + e.cleans as usize;
    let rows = node.edges.iter().map(rows).max().unwrap_or(1);
    let sites = node.sites.len();
    let mut here = Ahead {
        least: vec![f64::INFINITY; rows],
        high: vec![0.0; sites],
        low: vec![f64::INFINITY; rows * sites],
    };
    for edge in &node.edges {
        let (next, to) = (&done[edge.to as usize], &graph.nodes[edge.to as usize]);
        let program = &graph.programs[edge.program as usize];
        let mut before = |values: &[f64]| {
            spread(to, values, all);
            program.backward(all);
            node.sites
                .iter()
                .map(|&site| all[site as usize])
                .collect::<Vec<f64>>()
        };
        for (high, value) in here.high.iter_mut().zip(before(&next.high)) {
            *high = high.max(value);
        }
        let mut known: Option<(usize, Vec<f64>)> = None;
        for cleans in edge.cleans as usize..rows {
            let left = (cleans - edge.cleans as usize).min(next.least.len() - 1);
            let time = next.least[left] + edge.seconds;
            here.least[cleans] = here.least[cleans].min(time);
            if time.is_infinite() {
                continue;
            }
            let values = match known.take() {
                Some((row, values)) if row == left => values,
                _ => before(next.low(left)),
            };
            let row = &mut here.low[cleans * sites..(cleans + 1) * sites];
            for (low, value) in row.iter_mut().zip(&values) {
                *low = low.min(*value);
            }
            known = Some((left, values));
        }
    }
    here
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
        let bounds = ahead(&graph);
        let luck = Luck::new(5);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        for way in 0..2000 {
            let mut rng = luck.stream(Key::of("way").within(way), Purpose::Which);
            let mut at = graph.nodes.len() - 1;
            let mut counts = graph.start.clone();
            let mut all = vec![0.0; graph.width];
            // Node, counts there, seconds and cleans so far.
            let mut passed = vec![(at, counts.clone(), 0.0, 0)];
            let (mut seconds, mut cleans) = (0.0, 0);
            while !graph.nodes[at].edges.is_empty() {
                let node = &graph.nodes[at];
                let edge = &node.edges[(uniform(&mut rng) * node.edges.len() as f64) as usize];
                spread(node, &counts, &mut all);
                graph.programs[edge.program as usize].forward(&mut all);
                at = edge.to as usize;
                counts = graph.nodes[at]
                    .sites
                    .iter()
                    .map(|&site| all[site as usize])
                    .collect();
                seconds += edge.seconds;
                cleans += usize::from(edge.cleans);
                passed.push((at, counts.clone(), seconds, cleans));
            }
            let end = dot(&graph.nodes[at].weights, &counts);
            for (node, counts, so_far, cleaned) in passed {
                let (here, left) = (&bounds[node], cleans - cleaned);
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
