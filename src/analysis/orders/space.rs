//! Which protocols there are: arrangements of the kit and the actions that lead from one to the next.
//!
//! An arrangement is where every item is, what is undone, where the person stands, and what must follow before
//! anything else may. Each way on is an action that [`enact`] allows, with the very events it brings about; what is
//! wet is left open here and settled later. Knows nothing of counts.

use std::collections::HashMap;
use std::sync::Arc;

use crate::analysis::part::{Part, PartEvent, Parts};
use crate::analysis::script::discards;
use crate::analysis::{Progress, Target};
use crate::drill::{Action, ItemState, Planned, State, enact};
use crate::guidance::Watch;
use crate::model::{Does, Holding, Pace, Setup, SiteIndex, Whereabouts};

use super::scope::Scope;
use super::terms::OrdersError;

/// What may follow an arrangement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Phase {
    /// Anything; hands may be cleaned unless they were since the last removal, in this place.
    Free { cleaned: bool },
    /// The fastenings of an item are being undone; it comes off next.
    Busy(usize),
    /// Something is held: it is binned, or the other one of the pair follows.
    Full,
}

/// What of the past a policy asks about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Tally {
    /// How often hands were cleaned, up to as often as they must be.
    cleans: u32,
    /// How often gloves were cleaned, if that is bounded.
    gloved: u32,
    /// What critical errors depend on; as it was at the start if there is no policy.
    watch: Watch,
}

impl Tally {
    fn at_start() -> Tally {
        Tally {
            cleans: 0,
            gloved: 0,
            watch: Watch::at_start(),
        }
    }
}

/// One way on from an arrangement.
#[derive(Clone, Debug)]
pub(super) struct Way {
    /// Index into [`Space::actions`].
    pub action: usize,
    /// Arrangement it leads to.
    pub to: usize,
    /// Its length, s.
    pub seconds: f64,
    /// 1 for cleaning hands.
    pub cleans: u8,
    /// Sites of which the target counts what is there before it.
    pub counted: Vec<SiteIndex>,
    /// What it brings about, dry and wet, on a clock that starts with it: much of it is the same in many arrangements.
    pub part: Arc<Part>,
    /// Sites that it leaves wet, and for how long after its end, s.
    pub wets: Vec<(SiteIndex, f64)>,
}

/// An arrangement and the ways on from it.
#[derive(Clone, Debug)]
pub(super) struct Arrangement {
    /// Where every item is; the clock at zero and everything dry.
    pub state: State,
    phase: Phase,
    tally: Tally,
    /// True if everything is off and binned and the person is out.
    pub end: bool,
    /// Ways on.
    pub ways: Vec<Way>,
    /// Longest time to the end, s.
    pub longest: f64,
}

/// All arrangements that a kit can pass through. The first one is fully dressed.
#[derive(Clone, Debug)]
pub(super) struct Space {
    /// Arrangements in an order in which every way leads onwards.
    pub arrangements: Vec<Arrangement>,
    /// Every action that occurs.
    pub actions: Vec<Action>,
}

type Identity = (Vec<ItemState>, Vec<usize>, Whereabouts, Phase, Tally);

impl Space {
    /// Explores everything that a kit can pass through.
    ///
    /// # Errors
    /// More than `most` arrangements; a kit that cannot all be taken off; being stopped.
    pub fn explore(
        setup: &Setup,
        scope: &Scope,
        target: Target,
        most: usize,
        progress: &Progress,
    ) -> Result<Space, OrdersError> {
        let mut explorer = Explorer {
            setup,
            scope,
            target,
            arrangements: Vec::new(),
            by_identity: HashMap::new(),
            parts: Parts::default(),
            actions: Vec::new(),
        };
        let first = State::dressed(setup);
        explorer.arrangement(first, Phase::Free { cleaned: false }, Tally::at_start());
        let mut next = 0;
        while next < explorer.arrangements.len() {
            if explorer.arrangements.len() > most {
                return Err(OrdersError::TooMany {
                    what: "arrangements of the kit",
                    most: most as u128,
                });
            }
            if progress.stopped() {
                return Err(OrdersError::Stopped);
            }
            let ways = explorer.ways(next);
            explorer.arrangements[next].ways = ways;
            next += 1;
        }
        let space = Space {
            arrangements: explorer.arrangements,
            actions: explorer.actions,
        };
        space.onwards().ok_or_else(|| why_no_way(setup, scope))
    }

    /// The space in an order in which every way leads onwards, without what never ends. None if nothing ends.
    fn onwards(self) -> Option<Space> {
        let n = self.arrangements.len();
        // Depth-first, children before parents; every action takes something off, undoes, cleans or walks, and none
        // of these can be taken back, so there are no circles.
        let mut order = Vec::with_capacity(n);
        let mut seen = vec![false; n];
        let mut stack = vec![(0, 0)];
        seen[0] = true;
        while let Some((at, way)) = stack.pop() {
            if let Some(next) = self.arrangements[at].ways.get(way) {
                stack.push((at, way + 1));
                if !seen[next.to] {
                    seen[next.to] = true;
                    stack.push((next.to, 0));
                }
            } else {
                order.push(at);
            }
        }
        let mut ends = vec![false; n];
        for &at in &order {
            let here = &self.arrangements[at];
            ends[at] = here.end || here.ways.iter().any(|w| ends[w.to]);
        }
        if !ends[0] {
            return None;
        }
        let mut place = vec![usize::MAX; n];
        let kept: Vec<usize> = order.iter().rev().copied().filter(|&at| ends[at]).collect();
        for (new, &old) in kept.iter().enumerate() {
            place[old] = new;
        }
        let mut old: Vec<Option<Arrangement>> = self.arrangements.into_iter().map(Some).collect();
        let mut arrangements: Vec<Arrangement> = kept.iter().filter_map(|&at| old[at].take()).collect();
        for here in &mut arrangements {
            here.ways.retain(|w| ends[w.to]);
            for way in &mut here.ways {
                way.to = place[way.to];
            }
        }
        for at in (0..arrangements.len()).rev() {
            arrangements[at].longest = arrangements[at]
                .ways
                .iter()
                .map(|w| w.seconds + arrangements[w.to].longest)
                .fold(0.0, f64::max);
        }
        Some(Space {
            arrangements,
            actions: self.actions,
        })
    }
}

/// Why nothing leads to the end: items that stay on, or products that cannot clean the hands that a policy has cleaned.
fn why_no_way(setup: &Setup, scope: &Scope) -> OrdersError {
    let items = stuck(setup, scope);
    let product = |action: &Action| match action {
        Action::Clean { product, .. } => setup.library.product(product),
        _ => None,
    };
    let products: Vec<_> = scope.skin.iter().filter_map(product).collect();
    let hands_are_due = scope.policy.as_ref().is_some_and(|kept| kept.least_cleans > 0);
    match items.is_empty() && hands_are_due && products.iter().all(|p| p.gloves_only) {
        true => OrdersError::NotForSkin(products.iter().map(|p| p.label.clone()).collect()),
        false => OrdersError::NoWay(items),
    }
}

/// Which items no technique in scope takes off.
fn stuck(setup: &Setup, scope: &Scope) -> Vec<String> {
    (0..setup.items.len())
        .filter(|&i| !setup.items[i].spare)
        .filter(|&i| {
            !setup
                .library
                .techniques
                .iter()
                .any(|t| t.does == Does::TakesOff && setup.applies(t, i) && scope.accepts(i, &t.id))
        })
        .map(|i| setup.items[i].label.clone())
        .collect()
}

struct Explorer<'a> {
    setup: &'a Setup,
    scope: &'a Scope,
    target: Target,
    arrangements: Vec<Arrangement>,
    by_identity: HashMap<Identity, usize>,
    parts: Parts,
    actions: Vec<Action>,
}

impl Explorer<'_> {
    /// The arrangement of a state, new or known.
    fn arrangement(&mut self, state: State, phase: Phase, tally: Tally) -> usize {
        let mut items = state.items.clone();
        for item in items.iter_mut().filter(|i| i.holding == Holding::Binned) {
            // What lies in the bin is not handled again: how it got there makes no difference.
            item.undone.fill(false);
            item.knotted.fill(false);
            item.inverted = false;
        }
        let identity = (items.clone(), state.held.clone(), state.whereabouts, phase, tally);
        if let Some(&known) = self.by_identity.get(&identity) {
            return known;
        }
        let mut clean = State::dressed(self.setup);
        clean.items = items;
        clean.worn = state.worn;
        clean.held = state.held;
        clean.whereabouts = state.whereabouts;
        let off = |holding: Holding| matches!(holding, Holding::Binned | Holding::Boxed | Holding::Floor(_));
        let end = matches!(phase, Phase::Free { .. })
            && tally.cleans == self.least_cleans()
            && self.scope.end.is_none_or(|end| clean.whereabouts == end)
            && self.may_end(&tally, &clean)
            && clean.items.iter().all(|i| off(i.holding));
        let index = self.arrangements.len();
        self.arrangements.push(Arrangement {
            state: clean,
            phase,
            tally,
            end,
            ways: Vec::new(),
            longest: 0.0,
        });
        self.by_identity.insert(identity, index);
        index
    }

    fn least_cleans(&self) -> u32 {
        self.scope.policy.as_ref().map_or(0, |p| p.least_cleans)
    }

    /// True unless a policy would have hands cleaned at the end, or calls ending so a critical error that keeping to it
    /// is not.
    fn may_end(&self, tally: &Tally, state: &State) -> bool {
        self.scope.policy.as_ref().is_none_or(|policy| {
            let called = tally.watch.at_end(self.setup, &policy.asks, state);
            called.is_none_or(|kind| policy.allowed.contains(&kind))
                && (!policy.cleans_last || tally.watch.cleaned_last())
        })
    }

    fn ways(&mut self, from: usize) -> Vec<Way> {
        let state = self.arrangements[from].state.clone();
        let tally = self.arrangements[from].tally;
        let mut ways = Vec::new();
        match self.arrangements[from].phase {
            Phase::Free { cleaned } => {
                for item in state.worn.clone() {
                    if self.scope.places[item].contains(&state.whereabouts) {
                        self.handle(&state, tally, item, &mut ways);
                    }
                }
                for to in self.scope.stops.clone() {
                    if to as u8 > state.whereabouts as u8 {
                        self.add(&state, tally, Action::Walk(to), after_removal, &mut ways);
                    }
                }
                if !cleaned {
                    let scope = self.scope;
                    let (cleans, gloved) = scope.cleans_now(self.setup, &state, tally.gloved);
                    let after = Tally {
                        cleans: (tally.cleans + 1).min(self.least_cleans()),
                        gloved: tally.gloved + u32::from(gloved && scope.policy.is_some()),
                        ..tally
                    };
                    for clean in cleans {
                        self.add(
                            &state,
                            after,
                            clean.clone(),
                            |_| Phase::Free { cleaned: true },
                            &mut ways,
                        );
                    }
                }
            }
            Phase::Busy(item) => self.handle(&state, tally, item, &mut ways),
            Phase::Full => {
                for item in state.worn.clone() {
                    let this = &self.setup.items[item];
                    // One of a pair in the hand, nothing else: the other may follow.
                    let pair = this.side.is_some()
                        && state.held.len() == 1
                        && self.setup.items[state.held[0]].item == this.item
                        && self.scope.places[item].contains(&state.whereabouts);
                    if pair {
                        self.handle(&state, tally, item, &mut ways);
                    }
                }
                let possible = |action: &Action| enact(self.setup, &mut state.clone(), action).is_ok();
                let bins = discards(self.setup, &state).into_iter().flatten();
                if let Some(bin) = bins.into_iter().find(possible) {
                    self.add(&state, tally, bin, after_removal, &mut ways);
                }
            }
        }
        ways
    }

    /// Every way of undoing a fastening of an item or of taking it off.
    fn handle(&mut self, state: &State, tally: Tally, item: usize, ways: &mut Vec<Way>) {
        let setup = self.setup;
        let id = setup.items[item].id.clone();
        for technique in setup.library.techniques_for(setup.definition(item)) {
            if !self.scope.accepts(item, &technique.id) {
                continue;
            }
            let action = Action::Do {
                technique: technique.id.clone(),
                item: Some(id.clone()),
                hand: None,
                pace: Pace::Steady,
            };
            match technique.does {
                Does::TakesOff => self.add(state, tally, action, after_removal, ways),
                Does::Loosens => {
                    let tied = |s: &State| s.items[item].undone.iter().filter(|u| !**u).count();
                    let mut after = state.clone();
                    // What undoes nothing could be repeated for ever.
                    if enact(setup, &mut after, &action).is_ok() && tied(&after) < tied(state) {
                        self.add(state, tally, action, |_| Phase::Busy(item), ways);
                    }
                }
                Does::PutsOn
                | Does::Adjusts
                | Does::Discards
                | Does::PicksUp
                | Does::Cares
                | Does::Prepares => {}
            }
        }
    }

    fn add(
        &mut self,
        state: &State,
        mut tally: Tally,
        action: Action,
        then: impl Fn(&State) -> Phase,
        ways: &mut Vec<Way>,
    ) {
        let mut after = state.clone();
        let Ok(planned) = enact(self.setup, &mut after, &action) else {
            return;
        };
        if let Some(policy) = &self.scope.policy {
            let called = tally
                .watch
                .sees(self.setup, &policy.asks, state, &action, &planned);
            if called.iter().any(|kind| !policy.allowed.contains(kind)) {
                return;
            }
        }
        let seconds = after.clock;
        let wets = after
            .wet_until
            .iter()
            .enumerate()
            .filter(|(_, until)| **until > seconds)
            .map(|(site, until)| (site, until - seconds))
            .collect();
        let events = planned
            .into_iter()
            .filter_map(|p| match p {
                Planned::Flow(event) => Some(self.parts.event(PartEvent::new(self.setup, event))),
                _ => None,
            })
            .collect();
        // Which hands are bare and what is cleaned is asked of the target.
        let part = self.parts.shared(Part::new(events, Arc::new([]), false));
        let counted = self.target.counted_before(self.setup, state, &action);
        let cleans = u8::from(matches!(action, Action::Clean { .. }));
        let known = self.actions.iter().position(|a| *a == action);
        let action = known.unwrap_or_else(|| {
            self.actions.push(action);
            self.actions.len() - 1
        });
        let phase = then(&after);
        let to = self.arrangement(after, phase, tally);
        ways.push(Way {
            action,
            to,
            seconds,
            cleans,
            counted,
            part,
            wets,
        });
    }
}

/// What follows a removal, a discard or a walk: full hands are emptied first.
fn after_removal(state: &State) -> Phase {
    if state.held.is_empty() {
        Phase::Free { cleaned: false }
    } else {
        Phase::Full
    }
}
