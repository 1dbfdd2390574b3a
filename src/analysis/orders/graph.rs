//! The space with wetness settled: configurations, and linear operators between them.
//!
//! What a way does depends on what is still wet. A configuration is an arrangement with the time for which each site
//! that matters stays wet; configurations from which the same actions do the same to everything that can still reach
//! the target are one node. Nothing is left out by that: a path through the nodes is a protocol, and its operators
//! are the mean events of the drill.

use rustc_hash::FxHashMap;

use crate::analysis::linear::{Coefficients, Step};
use crate::analysis::{Progress, Target};
use crate::drill::Action;
use crate::model::Setup;

use super::program::Program;
use super::space::{Arrangement, Space, Way};
use super::start::Start;
use super::terms::OrdersError;
use super::wetness::{Layer, Sites, heeded, mask, settle, tally, universe};

/// One way on from a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Edge {
    /// Index into [`Graph::actions`]; none where the protocol ends.
    pub action: Option<u32>,
    /// Index into [`Graph::programs`].
    pub program: u32,
    /// Length, s.
    pub seconds: f64,
    /// 1 for cleaning hands.
    pub cleans: u8,
    /// Node it leads to.
    pub to: u32,
}

/// A configuration. Nodes without edges are ends.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// Ways on; each leads to a node with a smaller index.
    pub edges: Vec<Edge>,
    /// How many protocols go on from here.
    pub protocols: u128,
    /// Dense indices of sites from which something can still reach the target.
    pub sites: Vec<u16>,
    /// For an end: what one organism on each of `sites` counts.
    pub weights: Vec<f64>,
}

/// Configurations and what leads from one to another. The last node is the start.
#[derive(Clone, Debug)]
pub(super) struct Graph {
    /// Nodes, later ones first.
    pub nodes: Vec<Node>,
    /// Operators on dense site indices.
    pub programs: Vec<Program>,
    /// Every action that occurs.
    pub actions: Vec<Action>,
    /// Mean counts at the start on the sites of the first node.
    pub start: Vec<f64>,
    /// How many sites matter at all.
    pub width: usize,
    /// Configurations before equal ones were joined.
    pub configurations: usize,
}

impl Graph {
    /// Settles wetness and joins what makes no difference to the target.
    ///
    /// # Errors
    /// More than `most` configurations, more protocols than can be counted, or being stopped.
    pub fn new(
        setup: &Setup,
        space: Space,
        start: &Start,
        target: Target,
        most: usize,
        progress: &Progress,
    ) -> Result<Graph, OrdersError> {
        let loaded = loaded(setup, &space.arrangements, start);
        // What is wet from the start and outlasts every protocol is wet whatever is done.
        let longest = space.arrangements[0].longest;
        let mut always = universe(setup);
        for site in (0..setup.sites.len()).filter(|&s| start.wet_until[s] >= longest) {
            always.add(site);
        }
        let heed = heeded(setup, &space.arrangements, target, &loaded, &always);
        let layers = settle(setup, &space.arrangements, start, &heed, most, progress)?;
        let configurations = layers.iter().map(|l| l.wets.len()).sum();
        let mut join = Join {
            setup,
            target,
            always,
            nodes: Vec::new(),
            reach: Vec::new(),
            ahead: Vec::new(),
            programs: Vec::new(),
            by_program: FxHashMap::default(),
            by_edges: FxHashMap::default(),
            ends: FxHashMap::default(),
        };
        let mut nodes_of: Vec<Vec<u32>> = vec![Vec::new(); layers.len()];
        for at in (0..layers.len()).rev() {
            if progress.stopped() {
                return Err(OrdersError::Stopped);
            }
            nodes_of[at] = join.layer(&space.arrangements[at], &layers[at], &nodes_of, &loaded[at])?;
        }
        let first = nodes_of[0][0];
        Ok(join.finish(first, space.actions, start, configurations))
    }
}

/// For each arrangement, the sites that can carry anything.
fn loaded(setup: &Setup, arrangements: &[Arrangement], start: &Start) -> Vec<Sites> {
    let mut loaded = vec![universe(setup); arrangements.len()];
    loaded[0].join(&Sites::of(&start.counts));
    for (at, arrangement) in arrangements.iter().enumerate() {
        for way in &arrangement.ways {
            let mut after = loaded[at].clone();
            if way.counted.iter().any(|&site| after.has(site)) {
                after.add(tally(setup));
            }
            for event in &way.events {
                for event in std::iter::once(&event.event).chain(&event.wet) {
                    if let Step::Between(a, b, ab, ba) = Coefficients::Mean.step(event) {
                        let (from_a, from_b) = (after.has(a) && ab > 0.0, after.has(b) && ba > 0.0);
                        if from_a {
                            after.add(b);
                        }
                        if from_b {
                            after.add(a);
                        }
                    }
                }
            }
            loaded[way.to].join(&after);
        }
    }
    loaded
}

/// What tells two edges apart: action, program, length and where it leads.
type EdgeKey = (u32, u32, u64, u32);

/// Which events of a way were wet, as bits, and the program that comes of it.
type Wetted = (Vec<u64>, u32);

/// Joins configurations that make no difference, from the ends backwards.
struct Join<'a> {
    setup: &'a Setup,
    target: Target,
    /// Sites that are wet throughout.
    always: Sites,
    nodes: Vec<Node>,
    /// For each node, the sites from which something can reach the target.
    reach: Vec<Sites>,
    /// The same, whether or not anything can be there.
    ahead: Vec<Sites>,
    programs: Vec<Program>,
    by_program: FxHashMap<Vec<(u16, u16, u64, u64)>, u32>,
    by_edges: FxHashMap<Box<[EdgeKey]>, u32>,
    ends: FxHashMap<Vec<u64>, u32>,
}

impl Join<'_> {
    /// The nodes of one arrangement's configurations.
    fn layer(
        &mut self,
        here: &Arrangement,
        layer: &Layer,
        nodes_of: &[Vec<u32>],
        loaded: &Sites,
    ) -> Result<Vec<u32>, OrdersError> {
        // For each way and where it leads, the few sets of events that were wet, with their programs.
        let mut known: FxHashMap<(usize, u32), Vec<Wetted>> = FxHashMap::default();
        let (mut wetted, mut key, mut edges) = (Vec::new(), Vec::new(), Vec::new());
        let mut out = Vec::with_capacity(layer.wets.len());
        let stop = here.end.then(|| self.end(here));
        for (n, wet) in layer.wets.iter().enumerate() {
            edges.clear();
            if let Some(to) = stop {
                edges.push(Edge {
                    action: None,
                    program: self.program(Program {
                        tally: tally(self.setup),
                        ..Program::default()
                    }),
                    seconds: 0.0,
                    cleans: 0,
                    to,
                });
            }
            for (w, way) in here.ways.iter().enumerate() {
                let to = nodes_of[way.to][layer.leads[w][n] as usize];
                mask(way, wet, &self.always, &mut wetted);
                let known = known.entry((w, to)).or_default();
                let program = match known.iter().find(|(bits, _)| *bits == wetted) {
                    Some(&(_, program)) => program,
                    None => {
                        let program = Program {
                            counted: way.counted.iter().copied().filter(|&s| loaded.has(s)).collect(),
                            tally: tally(self.setup),
                            steps: steps(way, &wetted, loaded, &self.reach[to as usize]),
                        };
                        let program = self.program(program);
                        known.push((wetted.clone(), program));
                        program
                    }
                };
                edges.push(Edge {
                    action: Some(way.action as u32),
                    program,
                    seconds: way.seconds,
                    cleans: way.cleans,
                    to,
                });
            }
            out.push(self.node(&edges, &mut key, loaded)?);
        }
        Ok(out)
    }

    fn end(&mut self, here: &Arrangement) -> u32 {
        let mut weights = self.target.weights(self.setup, &here.state);
        // What was counted on the way counts once.
        weights.push(1.0);
        let next = self.nodes.len() as u32;
        let key = weights.iter().map(|w| w.to_bits()).collect();
        let index = *self.ends.entry(key).or_insert(next);
        if index == next {
            let mut reach = universe(self.setup);
            reach.join(&Sites::of(&weights));
            self.nodes.push(Node {
                edges: Vec::new(),
                protocols: 1,
                sites: Vec::new(),
                weights,
            });
            self.ahead.push(reach.clone());
            self.reach.push(reach);
        }
        index
    }

    fn program(&mut self, program: Program) -> u32 {
        let next = self.programs.len() as u32;
        let index = *self.by_program.entry(program.key()).or_insert(next);
        if index == next {
            self.programs.push(program);
        }
        index
    }

    fn node(&mut self, edges: &[Edge], key: &mut Vec<EdgeKey>, loaded: &Sites) -> Result<u32, OrdersError> {
        key.clear();
        let ways = edges.iter();
        key.extend(ways.map(|e| (e.action.unwrap_or(u32::MAX), e.program, e.seconds.to_bits(), e.to)));
        if let Some(&known) = self.by_edges.get(&key[..]) {
            let mut reach = self.ahead[known as usize].clone();
            reach.meet(loaded);
            self.reach[known as usize].join(&reach);
            return Ok(known);
        }
        let mut ahead = universe(self.setup);
        for edge in edges {
            let mut before = self.ahead[edge.to as usize].clone();
            self.programs[edge.program as usize].reach(&mut before);
            ahead.join(&before);
        }
        let mut reach = ahead.clone();
        reach.meet(loaded);
        let protocols = edges
            .iter()
            .try_fold(0_u128, |sum, e| {
                sum.checked_add(self.nodes[e.to as usize].protocols)
            })
            .ok_or(OrdersError::TooMany {
                what: "protocols",
                most: u128::MAX,
            })?;
        let index = self.nodes.len() as u32;
        self.by_edges.insert(key.clone().into_boxed_slice(), index);
        self.nodes.push(Node {
            edges: edges.to_vec(),
            protocols,
            sites: Vec::new(),
            weights: Vec::new(),
        });
        self.ahead.push(ahead);
        self.reach.push(reach);
        Ok(index)
    }

    /// Numbers the sites that matter, and drops nodes that the start does not lead to.
    fn finish(mut self, first: u32, actions: Vec<Action>, start: &Start, configurations: usize) -> Graph {
        let mut all = universe(self.setup);
        for reach in &self.reach {
            all.join(reach);
        }
        for site in self.programs.iter().flat_map(Program::sites) {
            all.add(site);
        }
        // Programs that count nothing name it as well.
        all.add(tally(self.setup));
        let mut dense = vec![0_u16; self.setup.sites.len() + 1];
        for (n, site) in all.iter().enumerate() {
            dense[site] = n as u16;
        }
        for program in &mut self.programs {
            program.renumber(&dense);
        }
        for (node, reach) in self.nodes.iter_mut().zip(&self.reach) {
            node.sites = reach.iter().map(|site| dense[site]).collect();
            if node.edges.is_empty() {
                node.weights = reach.iter().map(|site| node.weights[site]).collect();
            }
        }
        self.nodes.truncate(first as usize + 1);
        let at_start = self.reach[first as usize]
            .iter()
            .map(|site| start.counts.get(site).copied().unwrap_or(0.0))
            .collect();
        Graph {
            nodes: self.nodes,
            programs: self.programs,
            actions,
            start: at_start,
            width: all.iter().count(),
            configurations,
        }
    }
}

/// What a way does on average, without what can change nothing at the target.
fn steps(way: &Way, wetted: &[u64], loaded: &Sites, reach: &Sites) -> Vec<Step> {
    let mut met = (0..).map(|n: usize| wetted[n / 64] >> (n % 64) & 1 == 1);
    let mut carries = loaded.clone();
    let mut steps = Vec::with_capacity(way.events.len());
    for event in &way.events {
        let event = match &event.wet {
            Some(wet) if met.next() == Some(true) => wet,
            _ => &event.event,
        };
        // One event happens or not: its mean is that of the event, weighted by its chance.
        let weight = Coefficients::Mean.weight(event);
        match Coefficients::Mean.step(event) {
            Step::Between(a, b, ab, ba) if carries.has(a) || carries.has(b) => {
                let (from_a, from_b) = (carries.has(a) && ab > 0.0, carries.has(b) && ba > 0.0);
                if from_a {
                    carries.add(b);
                }
                if from_b {
                    carries.add(a);
                }
                steps.push(Step::Between(a, b, weight * ab, weight * ba));
            }
            Step::From(site, p) if carries.has(site) => steps.push(Step::From(site, weight * p)),
            _ => {}
        }
    }
    let mut reach = reach.clone();
    let mut kept: Vec<Step> = Vec::with_capacity(steps.len());
    for step in steps.into_iter().rev() {
        match step {
            Step::Between(a, b, ab, ba) => {
                let (at_a, at_b) = (reach.has(a), reach.has(b));
                if at_a || at_b {
                    if at_b && ab > 0.0 {
                        reach.add(a);
                    }
                    if at_a && ba > 0.0 {
                        reach.add(b);
                    }
                    kept.push(step);
                }
            }
            Step::From(site, _) if reach.has(site) => kept.push(step),
            Step::From(..) => {}
        }
    }
    kept.reverse();
    kept
}
