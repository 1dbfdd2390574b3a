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

use super::numbers::Numbers;
use super::program::{Mean, Program};
use super::space::{Arrangement, Space, Way};
use super::start::Start;
use super::terms::OrdersError;
use super::wetness::{Layer, Sites, heeded, mask, settle, tally, universe};

/// One way on from a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Edge {
    /// Index into [`Graph::moves`].
    pub made: u32,
    /// Index into [`Graph::programs`].
    pub program: u32,
    /// Node it leads to.
    pub to: u32,
}

/// What is done on an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Move {
    /// Index into [`Graph::actions`]; none where the protocol ends.
    pub action: Option<u32>,
    /// Length, s.
    pub seconds: f64,
    /// 1 for cleaning hands.
    pub cleans: u8,
}

/// A configuration. Nodes without edges are ends. There are hundreds of thousands, so what many share is kept apart.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    /// How many protocols go on from here.
    pub protocols: u128,
    /// Where its edges end in [`Graph::edges`]; they begin where those of the node before end.
    edges_end: u32,
    /// Index into [`Graph::sets`].
    set: u32,
}

/// Configurations and what leads from one to another. The last node is the start.
#[derive(Clone, Debug)]
pub(super) struct Graph {
    /// Nodes, later ones first.
    pub nodes: Vec<Node>,
    /// Ways on from nodes, node by node; each leads to a node with a smaller index.
    edges: Vec<Edge>,
    /// What is done on edges.
    moves: Vec<Move>,
    /// Sets of dense indices of sites.
    sets: Vec<Vec<u16>>,
    /// For each end, what one organism on each of its sites counts.
    ends: FxHashMap<u32, Vec<f64>>,
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
    /// Ways on from a node.
    pub fn edges(&self, node: usize) -> &[Edge] {
        edges_of(&self.nodes, &self.edges, node)
    }

    /// What is done on an edge.
    pub fn made(&self, edge: &Edge) -> &Move {
        &self.moves[edge.made as usize]
    }

    /// Dense indices of sites from which something can still reach the target at a node.
    pub fn sites(&self, node: usize) -> &[u16] {
        &self.sets[self.nodes[node].set as usize]
    }

    /// What one organism on each site of an end counts; none for a node that goes on.
    pub fn weights(&self, node: usize) -> Option<&[f64]> {
        self.ends.get(&(node as u32)).map(Vec::as_slice)
    }
}

fn edges_of<'a>(nodes: &[Node], edges: &'a [Edge], node: usize) -> &'a [Edge] {
    let begin = node.checked_sub(1).map_or(0, |before| nodes[before].edges_end);
    &edges[begin as usize..nodes[node].edges_end as usize]
}

impl Graph {
    /// Settles wetness and joins what makes no difference to the target.
    ///
    /// # Errors
    /// More than `most` configurations, more protocols than can be counted, or being stopped.
    pub fn new(
        setup: &Setup,
        mut space: Space,
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
        let mut layers = settle(setup, &space.arrangements, start, &heed, most, progress)?;
        let configurations = layers.iter().map(Layer::len).sum();
        let mut join = Join {
            setup,
            target,
            always,
            nodes: Vec::new(),
            edges: Vec::new(),
            moves: Vec::new(),
            sets: Sets::default(),
            reach: Vec::new(),
            ahead: Vec::new(),
            programs: Vec::new(),
            by_program: Numbers::default(),
            by_edges: Numbers::default(),
            ends: FxHashMap::default(),
            end_weights: FxHashMap::default(),
            before: FxHashMap::default(),
        };
        let mut nodes_of: Vec<Vec<u32>> = vec![Vec::new(); layers.len()];
        // From the last one backwards: what a layer holds is not needed again once its nodes are there.
        while let Some(layer) = layers.pop() {
            if progress.stopped() {
                return Err(OrdersError::Stopped);
            }
            let at = layers.len();
            nodes_of[at] = join.layer(&space.arrangements[at], &layer, &nodes_of, &loaded[at])?;
            space.arrangements.pop();
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
            for event in way.part.events() {
                for event in std::iter::once(&**event).chain(event.wet()) {
                    if let Step::Between(a, b, ab, ba) = event.step(Coefficients::Apart) {
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

/// Which events of a way were wet, as bits, and the program that comes of it.
type Wetted = (Vec<u64>, u32);

/// Sets of sites, each kept once: many nodes have the same.
#[derive(Default)]
struct Sets {
    all: Vec<Sites>,
    numbers: Numbers,
    joined: FxHashMap<(u32, u32), u32>,
    met: FxHashMap<(u32, u32), u32>,
}

impl Sets {
    fn of(&mut self, sites: &Sites) -> u32 {
        let next = self.all.len() as u32;
        let all = &self.all;
        let number = self.numbers.or_insert(sites, next, |n| all[n as usize] == *sites);
        if number == next {
            self.all.push(sites.clone());
        }
        number
    }

    /// What is in one or the other.
    fn join(&mut self, a: u32, b: u32) -> u32 {
        if let Some(&known) = self.joined.get(&(a, b)) {
            return known;
        }
        let mut set = self.all[a as usize].clone();
        set.join(&self.all[b as usize]);
        let number = self.of(&set);
        self.joined.insert((a, b), number);
        number
    }

    /// What is in both.
    fn meet(&mut self, a: u32, b: u32) -> u32 {
        if let Some(&known) = self.met.get(&(a, b)) {
            return known;
        }
        let mut set = self.all[a as usize].clone();
        set.meet(&self.all[b as usize]);
        let number = self.of(&set);
        self.met.insert((a, b), number);
        number
    }
}

/// Joins configurations that make no difference, from the ends backwards.
struct Join<'a> {
    setup: &'a Setup,
    target: Target,
    /// Sites that are wet throughout.
    always: Sites,
    nodes: Vec<Node>,
    edges: Vec<Edge>,
    moves: Vec<Move>,
    sets: Sets,
    /// For each node, the set of sites from which something can reach the target.
    reach: Vec<u32>,
    /// The same, whether or not anything can be there.
    ahead: Vec<u32>,
    programs: Vec<Program>,
    by_program: Numbers,
    by_edges: Numbers,
    ends: FxHashMap<Vec<u64>, u32>,
    /// For each end, what one organism on each site counts.
    end_weights: FxHashMap<u32, Vec<f64>>,
    /// What a program makes of a set of sites after it.
    before: FxHashMap<(u32, u32), u32>,
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
        let (mut wetted, mut edges) = (Vec::new(), Vec::new());
        let mut out = Vec::with_capacity(layer.len());
        let stop = here.end.then(|| {
            let nothing = Program {
                tally: tally(self.setup),
                ..Program::default()
            };
            Edge {
                made: self.made(None, 0.0, 0),
                program: self.program(nothing),
                to: self.end(here),
            }
        });
        let made: Vec<u32> = (here.ways.iter())
            .map(|way| self.made(Some(way.action as u32), way.seconds, way.cleans))
            .collect();
        let has = self.sets.of(loaded);
        for n in 0..layer.len() {
            edges.clear();
            edges.extend(stop);
            for (w, way) in here.ways.iter().enumerate() {
                let to = nodes_of[way.to][layer.leads[w][n] as usize];
                mask(way, layer.wet(n), &self.always, &mut wetted);
                let known = known.entry((w, to)).or_default();
                let program = match known.iter().find(|(bits, _)| *bits == wetted) {
                    Some(&(_, program)) => program,
                    None => {
                        let reach = &self.sets.all[self.reach[to as usize] as usize];
                        let program = Program {
                            counted: way.counted.iter().copied().filter(|&s| loaded.has(s)).collect(),
                            tally: tally(self.setup),
                            steps: steps(way, &wetted, loaded, reach),
                        };
                        let program = self.program(program);
                        known.push((wetted.clone(), program));
                        program
                    }
                };
                let made = made[w];
                edges.push(Edge { made, program, to });
            }
            out.push(self.node(&edges, has)?);
        }
        Ok(out)
    }

    fn made(&mut self, action: Option<u32>, seconds: f64, cleans: u8) -> u32 {
        let made = Move {
            action,
            seconds,
            cleans,
        };
        let known = self.moves.iter().position(|known| *known == made);
        known.unwrap_or_else(|| {
            self.moves.push(made);
            self.moves.len() - 1
        }) as u32
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
            let set = self.sets.of(&reach);
            self.end_weights.insert(index, weights);
            self.push(1, set, set);
        }
        index
    }

    fn program(&mut self, mut program: Program) -> u32 {
        let (next, key) = (self.programs.len() as u32, program.key());
        let same = |n: u32| self.programs[n as usize].key() == key;
        let index = self.by_program.or_insert(&key, next, same);
        if index == next {
            program.steps.shrink_to_fit();
            self.programs.push(program);
        }
        index
    }

    /// Adds a node whose edges are the last ones.
    fn push(&mut self, protocols: u128, ahead: u32, reach: u32) {
        self.nodes.push(Node {
            protocols,
            edges_end: self.edges.len() as u32,
            set: 0,
        });
        self.ahead.push(ahead);
        self.reach.push(reach);
    }

    /// The node with these edges, where only the sites of the set `has` can carry anything.
    fn node(&mut self, edges: &[Edge], has: u32) -> Result<u32, OrdersError> {
        let next = self.nodes.len() as u32;
        let same = |n: u32| edges_of(&self.nodes, &self.edges, n as usize) == edges;
        let index = self.by_edges.or_insert(edges, next, same);
        if index != next {
            let node = index as usize;
            let reach = self.sets.meet(self.ahead[node], has);
            self.reach[node] = self.sets.join(self.reach[node], reach);
            return Ok(index);
        }
        let mut ahead = None;
        let mut protocols = 0_u128;
        for edge in edges {
            let before = self.reached(edge);
            ahead = Some(ahead.map_or(before, |ahead| self.sets.join(ahead, before)));
            let more = self.nodes[edge.to as usize].protocols;
            protocols = protocols.checked_add(more).ok_or(OrdersError::TooMany {
                what: "protocols",
                most: u128::MAX,
            })?;
        }
        let ahead = ahead.unwrap_or_else(|| self.sets.of(&universe(self.setup)));
        let reach = self.sets.meet(ahead, has);
        self.edges.extend_from_slice(edges);
        self.push(protocols, ahead, reach);
        Ok(index)
    }

    /// The set of sites before an edge from which something can reach the target after it.
    fn reached(&mut self, edge: &Edge) -> u32 {
        let after = self.ahead[edge.to as usize];
        if let Some(&known) = self.before.get(&(edge.program, after)) {
            return known;
        }
        let mut sites = self.sets.all[after as usize].clone();
        self.programs[edge.program as usize].reach(&mut sites);
        let before = self.sets.of(&sites);
        self.before.insert((edge.program, after), before);
        before
    }

    /// Numbers the sites that matter, and drops nodes that the start does not lead to.
    fn finish(mut self, first: u32, actions: Vec<Action>, start: &Start, configurations: usize) -> Graph {
        let mut all = universe(self.setup);
        for &reach in &self.reach {
            all.join(&self.sets.all[reach as usize]);
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
        for (node, &reach) in self.nodes.iter_mut().zip(&self.reach) {
            node.set = reach;
        }
        for (&node, weights) in &mut self.end_weights {
            let reach = &self.sets.all[self.reach[node as usize] as usize];
            *weights = reach.iter().map(|site| weights[site]).collect();
        }
        self.nodes.truncate(first as usize + 1);
        let at_start = self.sets.all[self.reach[first as usize] as usize]
            .iter()
            .map(|site| start.counts.get(site).copied().unwrap_or(0.0))
            .collect();
        let mut used = vec![false; self.sets.all.len()];
        self.nodes.iter().for_each(|node| used[node.set as usize] = true);
        let dense_set = |(set, used): (&Sites, bool)| match used {
            true => set.iter().map(|site| dense[site]).collect(),
            false => Vec::new(),
        };
        let mut edges = self.edges;
        edges.shrink_to_fit();
        self.nodes.shrink_to_fit();
        Graph {
            nodes: self.nodes,
            edges,
            moves: self.moves,
            sets: self.sets.all.iter().zip(used).map(dense_set).collect(),
            ends: self.end_weights,
            programs: self.programs,
            actions,
            start: at_start,
            width: all.iter().count(),
            configurations,
        }
    }
}

/// What a way does on average, without what can change nothing at the target.
fn steps(way: &Way, wetted: &[u64], loaded: &Sites, reach: &Sites) -> Vec<Mean> {
    let mut met = (0..).map(|n: usize| wetted[n / 64] >> (n % 64) & 1 == 1);
    let mut carries = loaded.clone();
    let mut steps = Vec::with_capacity(way.part.events().len());
    for event in way.part.events() {
        let event = match event.wet() {
            Some(wet) if met.next() == Some(true) => wet,
            _ => event,
        };
        // One event happens or not: its mean is that of the event, weighted by its chance.
        let weight = Coefficients::Apart.weight(&event.event);
        match event.step(Coefficients::Apart) {
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
    kept.into_iter().rev().map(Mean::from).collect()
}
