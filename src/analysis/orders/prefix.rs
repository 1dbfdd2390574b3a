//! Beginnings of protocols: what is kept of each, and the order in which they are taken.

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

/// Prefixes at a node that are kept.
#[derive(Clone, Debug, Default)]
pub(super) struct Prefixes {
    /// Counts on the node's sites, one row per prefix.
    pub counts: Vec<f64>,
    /// All else about each that what follows needs.
    pub heads: Vec<Head>,
    /// By what each came: kept when the rest is forgotten, to tell afterwards what was done.
    pub came: Vec<Came>,
}

impl Prefixes {
    /// Forgets what is not needed once all that follows has been worked out.
    pub fn forget(&mut self) {
        self.counts = Vec::new();
        self.heads = Vec::new();
    }
}

/// By what a prefix came: the node before, which prefix there, and the edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Came {
    pub node: u32,
    pub prefix: u32,
    pub edge: u32,
}

/// A prefix without its counts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Head {
    /// Seconds so far.
    pub seconds: f64,
    /// Cleans so far.
    pub cleans: u32,
    /// By how much more, as a share, it may come out than one for which it stands.
    pub debt: f32,
    /// How many prefixes were found equal to it, itself included.
    pub ties: u128,
}

/// Prefixes that arrive at a node, before it is known which are kept.
#[derive(Debug, Default)]
pub(super) struct Arrivals {
    /// Counts on the node's sites, one row per prefix.
    pub counts: Vec<f64>,
    /// All else about each.
    pub all: Vec<Arrival>,
}

/// A prefix that arrives, without its counts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arrival {
    pub head: Head,
    /// Least that it can come to.
    pub low: f64,
    /// Greatest that it can come to.
    pub high: f64,
    /// By what it came; from nowhere at the start.
    pub came: Came,
}

impl Head {
    /// That of the empty prefix, at the start.
    pub fn first() -> Head {
        Head {
            seconds: 0.0,
            cleans: 0,
            debt: 0.0,
            ties: 1,
        }
    }
}

/// What nearness allows, as a share of the count: none where the front itself is wanted.
#[derive(Clone, Copy, Debug)]
pub(super) struct Near(pub f64);

impl Near {
    /// How much more than a prefix that comes to at least `low` another may come to and stand for it and for all that
    /// it stands for.
    pub fn spare(self, head: &Head, low: f64) -> f64 {
        self.factor(head).max(1.0).mul_add(low, -low)
    }

    /// How often a prefix may be matched by what comes to more.
    pub fn factor(self, head: &Head) -> f64 {
        (1.0 + self.0) / (1.0 + f64::from(head.debt))
    }
}

impl Head {
    /// Stands for another from now on, which comes to at least `low`, and leaves at most so much more.
    pub fn stand_for(&mut self, other: &Head, more: f64, low: f64) {
        if more > 0.0 && low > 0.0 {
            let debt = (1.0 + f64::from(other.debt)) * (1.0 + more / low) - 1.0;
            self.debt = self.debt.max((debt as f32).next_up());
        } else {
            self.debt = self.debt.max(other.debt);
        }
    }
}

impl Came {
    /// Where the empty prefix comes from.
    pub fn nowhere() -> Came {
        Came {
            node: u32::MAX,
            prefix: 0,
            edge: 0,
        }
    }
}

impl Arrivals {
    /// Counts of one of them on sites as many as these.
    pub fn row(&self, n: usize, sites: usize) -> &[f64] {
        &self.counts[n * sites..(n + 1) * sites]
    }

    /// Those that are kept, with their heads.
    pub fn keep(&self, kept: &[usize], heads: Vec<Head>, sites: usize) -> Prefixes {
        let mut counts = Vec::with_capacity(kept.len() * sites);
        kept.iter()
            .for_each(|&n| counts.extend_from_slice(self.row(n, sites)));
        Prefixes {
            counts,
            heads,
            came: kept.iter().map(|&n| self.all[n].came).collect(),
        }
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The order in which prefixes are taken: quick, short of cleans and promising ones first, always the same.
pub(super) fn before(a: &Arrival, b: &Arrival) -> std::cmp::Ordering {
    (a.head.seconds.total_cmp(&b.head.seconds))
        .then(a.head.cleans.cmp(&b.head.cleans))
        .then(a.low.total_cmp(&b.low))
        .then(a.high.total_cmp(&b.high))
        .then(a.came.cmp(&b.came))
}
