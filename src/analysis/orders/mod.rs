//! The best orders for a kit: of every feasible order, technique and placement of hand cleaning, those for which
//! nothing else is safer, quicker and shorter of cleaning at once.
//!
//! **The space.** A *protocol* takes everything off that is worn, at steady pace and with each technique's usual hand,
//! and ends outside, unless none of the scenario's sequences goes there. Items come off in any order that the drill allows. The fastenings of an item are undone directly
//! before it comes off, in any order, all of them, some or none, whichever technique then is possible. What is held
//! is binned at once, in the first way the content has; only one of a pair may wait in the hand for the other. An item
//! comes off where one of the scenario's sequences asks for it, or anywhere if none says; the person goes out once.
//! Between two removals, before the first and after the last, hands may be cleaned once in each place where the person
//! then stands: fully, with any product that these sequences name and that is at hand. Spares stay in their box,
//! nothing is adjusted or put on again, and no item has a fault.
//!
//! **The measure.** Expected count at a target from a given load, by the mean of the very events that
//! [`enact`](crate::drill::enact) brings about; time; number of cleans. [`Size`] accounts for every protocol of the
//! space, so that nothing can be left out unseen.

mod bound;
mod compare;
mod front;
mod graph;
mod search;
mod sift;
mod space;
mod start;
mod wetness;

use crate::drill::Action;
use crate::model::{Sequence, Setup};

use super::{Progress, Target};
use front::Front;
use search::{Account, Sweep};

pub use compare::{Change, Named, Place, Standing};
pub use space::cleans_asked;
pub use start::Start;

/// How much may be held in memory at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Configurations of kit, whereabouts and wetness.
    pub configurations: usize,
    /// Beginnings of protocols.
    pub prefixes: usize,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            configurations: 4_000_000,
            prefixes: 6_000_000,
        }
    }
}

/// Why orders could not be compared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OrdersError {
    /// The space is too large.
    TooMany {
        /// Of what.
        what: &'static str,
        /// The limit that was reached.
        most: u128,
    },
    /// The kit cannot all be taken off: items that no technique takes off, if that is why.
    NoWay(Vec<String>),
    /// An action of the front or of a sequence was refused when it was played again.
    Refused(String),
    /// It was stopped.
    Stopped,
}

impl std::fmt::Display for OrdersError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            OrdersError::TooMany { what, most } => write!(
                f,
                "too many to hold: more than {most} {what}\n   hint: raise the limit, or allow fewer products"
            ),
            OrdersError::NoWay(items) if items.is_empty() => {
                f.write_str("there is no way to take everything off and end outside")
            }
            OrdersError::NoWay(items) => write!(
                f,
                "there is no way to take everything off: nothing takes off the {}",
                items.join(", the ")
            ),
            OrdersError::Refused(why) => f.write_str(why),
            OrdersError::Stopped => f.write_str("stopped before the front was complete"),
        }
    }
}

impl std::error::Error for OrdersError {}

/// A way of taking everything off, with what it comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Protocol {
    /// What is done, in order.
    pub actions: Vec<Action>,
    /// Expected count at the target in the end.
    pub risk: f64,
    /// Length, s.
    pub seconds: f64,
    /// How often hands are cleaned.
    pub cleans: u32,
    /// How many protocols were found to equal it in all three to 1e-12, itself included; there may be more among
    /// those ruled out.
    pub ties: u128,
}

/// How large the space is and what became of it. `followed`, `dominated` and `bounded` add up to `protocols`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    /// Protocols in the space.
    pub protocols: u128,
    /// Protocols followed to their end in the last, complete pass.
    pub followed: u128,
    /// Protocols ruled out because another begins no worse, whatever follows.
    pub dominated: u128,
    /// Protocols ruled out because the best that could follow is matched by one found already.
    pub bounded: u128,
    /// Beginnings looked at in the last pass.
    pub prefixes: u64,
    /// Arrangements of kit and whereabouts.
    pub arrangements: usize,
    /// Arrangements with what is wet and for how long.
    pub configurations: usize,
    /// Configurations that differ in what can happen to the target.
    pub nodes: usize,
}

impl Size {
    /// True if every protocol of the space was followed or ruled out.
    pub fn complete(&self) -> bool {
        self.followed + self.dominated + self.bounded == self.protocols
    }
}

/// The front and what lies where beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct Orders {
    /// What was asked about.
    pub target: Target,
    /// Count at the target before anything is done.
    pub already: f64,
    /// Protocols that nothing beats, quickest first.
    pub front: Vec<Protocol>,
    /// What one clean more or less changes in the safest of them.
    pub safest: Vec<Change>,
    /// The named sequences that were asked about.
    pub named: Vec<Named>,
    /// The space.
    pub size: Size,
}

impl Orders {
    /// Those of the front that differ enough to be told apart: each carries less than `share` times what any chosen
    /// before it carries that is as quick and as short of cleaning. The safest is always among them.
    pub fn distinct(&self, share: f64) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        let safest = (0..self.front.len()).min_by(|&a, &b| self.front[a].risk.total_cmp(&self.front[b].risk));
        for (n, protocol) in self.front.iter().enumerate() {
            let alike = chosen.iter().any(|&c| {
                self.front[c].cleans <= protocol.cleans && protocol.risk > share * self.front[c].risk
            });
            if !alike || Some(n) == safest {
                chosen.push(n);
            }
        }
        chosen
    }
}

/// Widths of the passes that look for a good front before the complete one.
const PASSES: [usize; 3] = [16, 256, 1024];

/// Finds every protocol for which no other is as safe, as quick and as short of cleaning.
///
/// `sequences` say where items come off and are laid beside the front; `cleans` are the ways of cleaning hands that
/// protocols may use, see [`cleans_asked`]. The result does not depend on threads.
///
/// # Errors
/// A kit that cannot be taken off, a space that `limits` cannot hold, or being stopped.
pub fn orders(
    setup: &Setup,
    sequences: &[&Sequence],
    cleans: &[Action],
    target: Target,
    start: &Start,
    limits: Limits,
    progress: &Progress,
) -> Result<Orders, OrdersError> {
    if !target.counts_at_end_only() || target == Target::NextPatient {
        return Err(OrdersError::Refused(format!(
            "{}: the search counts whole organisms at the end, and this counts otherwise",
            target.label()
        )));
    }
    let space = space::Space::explore(setup, sequences, cleans, limits.configurations, progress)?;
    let arrangements = space.arrangements.len();
    let graph = graph::Graph::new(setup, space, start, target, limits.configurations, progress)?;
    let ahead = bound::ahead(&graph);
    let sweep = Sweep::new(&graph, &ahead);
    let mut front = Front::default();
    let mut account = Account::default();
    for widest in PASSES.map(Some).into_iter().chain([None]) {
        account = sweep.run(&mut front, widest, limits.prefixes, progress)?;
    }
    let protocols = graph.nodes.last().map_or(0, |n| n.protocols);
    let size = Size {
        protocols,
        followed: account.followed,
        dominated: account.dominated,
        bounded: account.bounded,
        prefixes: account.prefixes,
        arrangements,
        configurations: graph.configurations,
        nodes: graph.nodes.len(),
    };
    let judge = compare::Judge {
        setup,
        target,
        start,
        cleans,
    };
    let mut found = Vec::with_capacity(front.found.len());
    for one in &front.found {
        let actions = one
            .actions
            .iter()
            .map(|&a| graph.actions[a as usize].clone())
            .collect();
        let mut protocol = judge.protocol(actions)?;
        debug_assert!(
            (protocol.risk - one.risk).abs() <= 1e-9 * one.risk.max(f64::MIN_POSITIVE),
            "played again a protocol comes to {}, in the search to {}",
            protocol.risk,
            one.risk
        );
        protocol.ties = one.ties;
        found.push(protocol);
    }
    let named = sequences
        .iter()
        .map(|s| judge.named(s, &found))
        .collect::<Result<_, _>>()?;
    let safest = match found.iter().min_by(|a, b| a.risk.total_cmp(&b.risk)) {
        Some(safest) => judge.changes(&safest.actions)?,
        None => Vec::new(),
    };
    Ok(Orders {
        target,
        already: judge.already(),
        front: found,
        safest,
        named,
        size,
    })
}
