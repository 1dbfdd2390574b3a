//! The best orders for a kit: of every feasible order, technique and placement of hand cleaning, those for which
//! nothing else is safer, quicker and shorter of cleaning at once.
//!
//! **The space.** A *protocol* takes everything off that is worn, at steady pace and with each technique's usual hand,
//! and ends outside, unless none of the scenario's sequences goes there. Items come off in any order that the drill allows. The fastenings of an item are undone directly
//! before it comes off, in any order, all of them, some or none, whichever technique then is possible. What is held
//! is binned at once, in the first way the content has; only one of a pair may wait in the hand for the other. An item
//! comes off where a sequence asks for it, or anywhere if none says; the person goes out once. Between two removals,
//! before the first and after the last, hands may be cleaned once in each place where the person then stands: fully,
//! with a product that these sequences name and that is at hand. Spares stay in their box, nothing is adjusted or put
//! on again, and no item has a fault. Of these, a [`Scope`] that keeps to a policy asks for those alone that use what
//! the policy accepts.
//!
//! **The measure.** Expected count at a target from a given load, by the mean of the very events that
//! [`enact`](crate::drill::enact) brings about; time; number of cleans. [`Size`] accounts for every protocol of the
//! space, so that nothing can be left out unseen.

mod bound;
mod compare;
mod front;
mod graph;
mod numbers;
mod prefix;
mod program;
mod scope;
mod search;
mod sift;
mod space;
mod start;
mod terms;
mod ways;
mod weighed;
mod wetness;

use crate::model::{Sequence, Setup};

use super::{Progress, Target};
use front::Front;
use prefix::{Account, Near};
use search::Sweep;

pub use compare::{Change, Named, Place, Standing};
pub use scope::{Kept, Scope};
pub use start::Start;
pub use terms::{Limits, OrdersError, Protocol, Size};
pub use weighed::{Weighed, Weight, weigh};

/// The front and what lies where beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct Orders {
    /// Which protocols were asked about.
    pub scope: Scope,
    /// What was asked about.
    pub target: Target,
    /// What it was asked from: the mean load of so many starts, without what does not count at the target.
    pub start: Start,
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
    /// The safest of the front, and the quickest of those that `same` calls as safe. None if the front is empty.
    pub fn safest(&self, same: impl Fn(f64, f64) -> bool) -> Option<(usize, usize)> {
        let all = 0..self.front.len();
        let safest = all
            .clone()
            .min_by(|&a, &b| self.front[a].risk.total_cmp(&self.front[b].risk))?;
        let least = self.front[safest].risk;
        let quickest = all
            .filter(|&n| n == safest || same(self.front[n].risk, least))
            .min_by(|&a, &b| self.front[a].seconds.total_cmp(&self.front[b].seconds))?;
        Some((safest, quickest))
    }

    /// The policy's own order with each thing taken off as this protocol of the front takes it off, which says how much of a gain is
    /// due to order. None where the policy cannot be followed or leaves something on, where that is the policy as it is, or
    /// cannot be done.
    pub fn policy_in_ways_of(&self, setup: &Setup, place: usize) -> Option<Protocol> {
        let standing = self.named.first()?.standing.as_ref().ok()?;
        if matches!(standing.place, Place::LeavesOn(_)) {
            return None;
        }
        let ways = &self.front.get(place)?.actions;
        let actions = ways::in_ways_of(setup, &standing.protocol.actions, ways)?;
        let judge = compare::Judge {
            setup,
            target: self.target,
            start: &self.start,
            scope: &self.scope,
        };
        judge.whole(actions)
    }

    /// Those of the front that can be told apart: `same` says which counts are equal to any chosen before that is as
    /// quick and as short of cleaning. The safest is always among them.
    pub fn distinct(&self, same: impl Fn(f64, f64) -> bool) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        let safest = self.safest(|_, _| false).map(|(safest, _)| safest);
        for (n, protocol) in self.front.iter().enumerate() {
            let alike = chosen.iter().any(|&c| {
                let other = &self.front[c];
                other.cleans <= protocol.cleans
                    && (other.risk <= protocol.risk || same(other.risk, protocol.risk))
            });
            if !alike || Some(n) == safest {
                chosen.push(n);
            }
        }
        chosen
    }
}

/// Widths of the passes that look for a good front before the complete one.
const PASSES: [usize; 3] = [4, 64, 1024];

/// Finds every protocol in scope for which no other in scope is as safe, as quick and as short of cleaning; or, where
/// `limits` allow nearness, protocols of which one is as quick, as short of cleaning and nearly as safe as any.
///
/// `sequences` are laid beside the front, the policy that is asked about first. The result does not depend on threads.
///
/// # Errors
/// A target that is no sum, or that would reward fewer cleanings in this scope; a kit that cannot be taken off, a space that `limits` cannot hold, or being stopped.
pub fn orders(
    setup: &Setup,
    sequences: &[&Sequence],
    scope: &Scope,
    target: Target,
    start: &Start,
    limits: Limits,
    progress: &Progress,
) -> Result<Orders, OrdersError> {
    if setup.lies_ready() {
        return Err(OrdersError::LiesReady);
    }
    if !target.is_linear() {
        return Err(OrdersError::NoSum(target.word()));
    }
    if scope.policy.is_none() && !target.counts_at_end_only() {
        return Err(OrdersError::RewardsFewer(target.word()));
    }
    let start = &start.counted(setup, target);
    let space = space::Space::explore(setup, scope, target, limits.configurations, progress)?;
    let arrangements = space.arrangements.len();
    let graph = graph::Graph::new(setup, space, start, target, limits.configurations, progress)?;
    let bounds = bound::Bounds::new(&graph);
    let sweep = Sweep::new(&graph, &bounds, Near(limits.near));
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
        near: limits.near,
        prefixes: account.prefixes,
        arrangements,
        configurations: graph.configurations,
        nodes: graph.nodes.len(),
    };
    let judge = compare::Judge {
        setup,
        target,
        start,
        scope,
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
        scope: scope.clone(),
        target,
        start: start.clone(),
        already: judge.already(),
        front: found,
        safest,
        named,
        size,
    })
}
