//! Arrangements of a kit that attempts pass through, and what every action brings about in each of them: worked out
//! when an attempt first comes by, and then known to all that follow.
//!
//! An arrangement is where everything is, without clock, wetness or how often things were done before. What an action
//! brings about depends on those in three ways only: its events happen so long after it began; a contact of something
//! wet has its wet form; and luck is named after how often the same was done before. So [`enact`] is asked once, dry and
//! at the beginning of time, and the rest is put in. A test holds attempts to the drills that they stand for.

use std::hash::{Hash, Hasher};
use std::sync::Arc;

use rustc_hash::{FxHashMap, FxHasher};

use crate::chance::Key;
use crate::drill::{
    Action, ActiveFault, Fault, ItemState, Planned, Refusal, State, Times, check, enact, later,
};
use crate::model::{Effect, Holding, Setup, SiteIndex, Whereabouts};

use super::part::{Part, PartEvent, Parts};
use super::target::{bare_hands, cleans_skin};

/// Arrangements of a kit with some faults, as far as they are known.
#[derive(Debug)]
pub(super) struct Atlas<'s> {
    setup: &'s Setup,
    spots: Vec<Spot>,
    ways: Vec<Way>,
    by_identity: FxHashMap<Identity, usize>,
    parts: Parts,
}

type Identity = (
    Vec<ItemState>,
    Vec<usize>,
    Vec<usize>,
    Whereabouts,
    Vec<SiteIndex>,
    Vec<Made>,
    Vec<Fault>,
);

/// A fault that came about as something was put on: its id, the item, and the part.
type Made = (String, Option<usize>, Option<usize>);

/// An arrangement.
#[derive(Debug)]
struct Spot {
    /// Where everything is; the clock at zero, everything dry and nothing done before.
    state: State,
    bare_hands: Arc<[SiteIndex]>,
    /// What has been asked about, by its mark or the next free one.
    asked: FxHashMap<u64, Asked>,
}

/// An action in an arrangement.
#[derive(Debug)]
struct Asked {
    action: Action,
    /// Index of the way for each number of times that the same was done before, or why it is impossible.
    ways: Result<Vec<usize>, Refusal>,
}

/// What an action brings about after the same was done so often before.
#[derive(Debug)]
struct Way {
    /// What luck is named after: how often each was done before, and how often this does it.
    times: Vec<(Key, u64, u64)>,
    /// What it brings about where everything worn is whole.
    whole: Brought,
    /// The same by the faults that it meets, each with its number among all of them.
    holed: Vec<(Vec<(usize, ActiveFault)>, Brought)>,
    /// Its length, s.
    seconds: f64,
    /// Where it leads.
    to: usize,
}

/// What an action brings about, whatever was wet before it.
#[derive(Debug)]
struct Brought {
    /// Where nothing was wet.
    dry: Arc<Part>,
    /// The same by which of its events met something wet.
    wetted: Vec<(Vec<bool>, Arc<Part>)>,
    /// Until when it leaves sites wet, on a clock that starts with it: a gap bares what else stays dry.
    wets: Vec<(SiteIndex, f64)>,
}

/// What is to be known of the past besides the arrangement.
#[derive(Clone, Debug)]
pub(super) struct Past {
    /// Index of the arrangement.
    pub spot: usize,
    /// Clock, s.
    pub clock: f64,
    /// How often each thing has been done.
    pub times: Times,
    /// Clock time until which each site is wet; at the start of an attempt everything counts as dry.
    pub wet_until: Vec<f64>,
    /// Clock time from which nothing is wet.
    pub dry_from: f64,
}

impl<'s> Atlas<'s> {
    /// Knows how attempts begin, and nothing else.
    pub fn new(setup: &'s Setup) -> Atlas<'s> {
        let mut atlas = Atlas {
            setup,
            spots: Vec::new(),
            ways: Vec::new(),
            by_identity: FxHashMap::default(),
            parts: Parts::default(),
        };
        atlas.spot(State::dressed(setup));
        atlas
    }

    /// The setup.
    pub fn setup(&self) -> &'s Setup {
        self.setup
    }

    /// How every attempt begins.
    pub fn begin(&self) -> Past {
        Past {
            spot: 0,
            clock: 0.0,
            times: Times::default(),
            wet_until: vec![0.0; self.setup.sites.len()],
            dry_from: 0.0,
        }
    }

    /// Where everything is in an arrangement. The clock is at zero, everything is dry and nothing has been done.
    pub fn state(&self, spot: usize) -> &State {
        &self.spots[spot].state
    }

    /// The state with all of the past.
    pub fn state_after(&self, past: &Past) -> State {
        let mut state = self.spots[past.spot].state.clone();
        state.clock = past.clock;
        state.times.clone_from(&past.times);
        state.wet_until.clone_from(&past.wet_until);
        state
    }

    /// Whether an action is possible in an arrangement.
    ///
    /// # Errors
    /// What makes it physically impossible.
    pub fn check(&mut self, spot: usize, action: &Action) -> Result<(), Refusal> {
        let mark = self.mark(spot, action);
        let here = &mut self.spots[spot];
        let setup = self.setup;
        let asked = here.asked.entry(mark).or_insert_with(|| Asked {
            action: action.clone(),
            // What is only asked about is not worked out.
            ways: check(setup, &here.state, action).map(|()| Vec::new()),
        });
        asked.ways.as_ref().map(|_| ()).map_err(Clone::clone)
    }

    /// The mark under which an action is, or would be, known in an arrangement.
    fn mark(&self, spot: usize, action: &Action) -> u64 {
        let asked = &self.spots[spot].asked;
        let mut mark = mark(action);
        while asked.get(&mark).is_some_and(|asked| asked.action != *action) {
            mark = mark.wrapping_add(1);
        }
        mark
    }

    /// Does an action in kit with these faults: moves the past on and returns what it brings about. What is possible, and
    /// where it leads, are the same with all faults.
    ///
    /// # Errors
    /// What makes it physically impossible; the past is then as it was.
    pub fn act(
        &mut self,
        past: &mut Past,
        action: &Action,
        faults: &[ActiveFault],
    ) -> Result<Arc<Part>, Refusal> {
        let index = self.way(past.spot, action, &past.times)?;
        let state = &self.spots[past.spot].state;
        let met = met(self.setup, state, action, &self.ways[index].whole.dry, faults);
        if !met.is_empty() && !self.ways[index].holed.iter().any(|(known, _)| *known == met) {
            let (holed, _) = self.enacted(past.spot, action, &past.times, faults)?;
            self.ways[index].holed.push((met.clone(), holed));
        }
        let way = &mut self.ways[index];
        let brought = match way.holed.iter_mut().find(|(known, _)| *known == met) {
            Some((_, holed)) => holed,
            None => &mut way.whole,
        };
        let part = brought.part(past, &mut self.parts);
        let began = past.clock;
        for &(signature, _, more) in &way.times {
            past.times.add(signature, more);
        }
        for &(site, until) in &brought.wets {
            let until = began + until;
            past.wet_until[site] = past.wet_until[site].max(until);
            past.dry_from = past.dry_from.max(until);
        }
        past.clock = later(began, way.seconds);
        past.spot = way.to;
        Ok(part)
    }

    /// What an action brings about in an arrangement when things were done so often before, worked out if need be: its
    /// index among the ways.
    fn way(&mut self, spot: usize, action: &Action, times: &Times) -> Result<usize, Refusal> {
        let mark = self.mark(spot, action);
        let known = self.spots[spot].asked.get(&mark).map(|asked| &asked.ways);
        match known {
            Some(Err(refusal)) => return Err(refusal.clone()),
            Some(Ok(ways)) => {
                if let Some(&found) = ways.iter().find(|&&way| self.ways[way].follows(times)) {
                    return Ok(found);
                }
            }
            None => {}
        }
        let made = self.work_out(spot, action, times).map(|way| {
            self.ways.push(way);
            self.ways.len() - 1
        });
        let asked = self.spots[spot].asked.entry(mark).or_insert_with(|| Asked {
            action: action.clone(),
            ways: Ok(Vec::new()),
        });
        match (&mut asked.ways, &made) {
            (Ok(ways), Ok(way)) => ways.push(*way),
            (ways, Err(refusal)) => *ways = Err(refusal.clone()),
            (Err(_), Ok(_)) => {}
        }
        made
    }

    /// What an action brings about in an arrangement with these faults, where nothing was wet before; and the state that
    /// it leads to.
    fn enacted(
        &mut self,
        spot: usize,
        action: &Action,
        times: &Times,
        faults: &[ActiveFault],
    ) -> Result<(Brought, State), Refusal> {
        let setup = self.setup;
        let before = &self.spots[spot];
        let mut state = before.state.clone();
        state.times.clone_from(times);
        state.faults = faults.to_vec();
        let gap = faults
            .iter()
            .any(|fault| fault.is_gap() && !state.is_mended(fault));
        let (bare_hands, cleans) = match gap {
            true => (
                bare_hands(setup, &state).into(),
                cleans_skin(setup, &state, action),
            ),
            false => (
                before.bare_hands.clone(),
                cleans_skin(setup, &before.state, action),
            ),
        };
        let planned = enact(setup, &mut state, action)?;
        let events = planned.into_iter().filter_map(|planned| match planned {
            Planned::Flow(event) => Some(self.parts.event(PartEvent::new(setup, event))),
            _ => None,
        });
        let dry = Part::new(events.collect(), bare_hands, cleans);
        let brought = Brought {
            dry: self.parts.shared(dry),
            wetted: Vec::new(),
            wets: (0..state.wet_until.len())
                .filter(|&site| state.wet_until[site] > 0.0)
                .map(|site| (site, state.wet_until[site]))
                .collect(),
        };
        Ok((brought, state))
    }

    fn work_out(&mut self, spot: usize, action: &Action, times: &Times) -> Result<Way, Refusal> {
        let (whole, state) = self.enacted(spot, action, times, &[])?;
        let way = Way {
            times: state.times.since(times).collect(),
            whole,
            holed: Vec::new(),
            seconds: state.clock,
            to: self.spot(state),
        };
        Ok(way)
    }

    /// The arrangement of a state, new or known.
    fn spot(&mut self, mut state: State) -> usize {
        for item in state.items.iter_mut().filter(|i| i.holding == Holding::Binned) {
            // What lies in the bin is not handled again: how it got there makes no difference.
            item.undone.fill(false);
            item.knotted.fill(false);
            item.inverted = false;
        }
        let made = state.made.iter().map(|f| (f.fault.clone(), f.item, f.part));
        let identity = (
            state.items.clone(),
            state.worn.clone(),
            state.held.clone(),
            state.whereabouts,
            state.smeared.clone(),
            made.collect(),
            state.mended.clone(),
        );
        if let Some(&known) = self.by_identity.get(&identity) {
            return known;
        }
        state.clock = 0.0;
        state.times = Times::default();
        state.wet_until.fill(0.0);
        let spot = self.spots.len();
        self.spots.push(Spot {
            bare_hands: bare_hands(self.setup, &state).into(),
            state,
            asked: FxHashMap::default(),
        });
        self.by_identity.insert(identity, spot);
        spot
    }
}

/// A number that equal actions share and others hardly ever do, since comparing words takes longer.
fn mark(action: &Action) -> u64 {
    let mut hasher = FxHasher::default();
    match action {
        Action::Do {
            technique,
            item,
            hand,
            pace,
        } => (technique, item, hand, pace).hash(&mut hasher),
        Action::Touch {
            hand,
            with,
            site,
            area,
        } => (hand, with, site, area.to_bits()).hash(&mut hasher),
        Action::Clean {
            product,
            doses,
            seconds,
            skip,
            forearms,
        } => (product, doses, seconds.to_bits(), skip, forearms).hash(&mut hasher),
        Action::Walk(to) => to.hash(&mut hasher),
        Action::Wait(seconds) => seconds.to_bits().hash(&mut hasher),
    }
    hasher.finish()
}

impl Way {
    /// True if what luck is named after has been done as often before as it had when this was worked out.
    fn follows(&self, times: &Times) -> bool {
        self.times
            .iter()
            .all(|&(signature, before, _)| times.of(signature) == before)
    }
}

/// Which of these faults what an action brings about with whole kit may meet, with their numbers: a hole is met by what
/// touches the outside of its part, a gap bares hands for all that follows, and what cleaning leaves out is met by cleaning. What
/// has been put right is met by nothing.
fn met(
    setup: &Setup,
    state: &State,
    action: &Action,
    whole: &Part,
    faults: &[ActiveFault],
) -> Vec<(usize, ActiveFault)> {
    let there = |fault: &ActiveFault| !state.is_mended(fault);
    let gap = faults.iter().any(|fault| fault.is_gap() && there(fault));
    let cleans = matches!(action, Action::Clean { .. });
    let hinders = |fault: &ActiveFault| {
        let effect = setup.library.fault(&fault.fault).map(|fault| &fault.effect);
        matches!(effect, Some(Effect::Misses { .. }))
    };
    let met = faults.iter().enumerate().filter(|(_, fault)| {
        let (Some(item), Some(part)) = (fault.item, fault.part) else {
            return there(fault) && cleans && hinders(fault);
        };
        let outside = setup.items[item].parts[part].outside as u32;
        let touches = || {
            let mut heads = whole.heads().iter();
            heads.any(|head| head.a == outside || head.b == outside)
        };
        there(fault) && (gap || touches())
    });
    met.map(|(n, fault)| (n, fault.clone())).collect()
}

impl Brought {
    /// What it brings about after this past: the same for all in which the same was wet.
    fn part(&mut self, past: &Past, parts: &mut Parts) -> Arc<Part> {
        if past.clock >= past.dry_from {
            return self.dry.clone();
        }
        let wet = self.dry.wetted(past.clock, &past.wet_until);
        if !wet.contains(&true) {
            return self.dry.clone();
        }
        if let Some((_, part)) = self.wetted.iter().find(|(known, _)| *known == wet) {
            return part.clone();
        }
        let events = self.dry.events().iter().zip(&wet);
        let events = events.map(|(event, &is_wet)| match is_wet.then(|| event.wet()).flatten() {
            Some(wet) => parts.event(PartEvent::fixed(wet.event.clone())),
            None => event.clone(),
        });
        let events = events.collect();
        let bare_hands = self.dry.bare_hands.clone();
        let part = parts.shared(Part::new(events, bare_hands, self.dry.cleans_skin));
        self.wetted.push((wet, part.clone()));
        part
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::trainee::{attempt, lapsed};
    use crate::analysis::{Plan, by_the_book};
    use crate::chance::Luck;
    use crate::content::Content;

    /// What the rules say of a plan's actions, one after another, without an atlas.
    fn assert_as_enacted(setup: &Setup, faults: &[ActiveFault], plan: &Plan, case: &str) {
        let mut state = State::dressed(setup);
        state.faults = faults.to_vec();
        for (action, placed) in plan.actions.iter().zip(&plan.parts) {
            let (began, bare) = (state.clock, bare_hands(setup, &state));
            let cleans = cleans_skin(setup, &state, action);
            let planned =
                enact(setup, &mut state, action).unwrap_or_else(|e| panic!("{case}: {action:?}: {e}"));
            let flows: Vec<_> = planned
                .into_iter()
                .filter_map(|planned| match planned {
                    Planned::Flow(event) => Some(event),
                    _ => None,
                })
                .collect();
            let part = &placed.part;
            assert_eq!(
                (placed.began, &part.bare_hands[..], part.cleans_skin),
                (began, &bare[..], cleans),
                "{case}"
            );
            assert_eq!(part.events().len(), flows.len(), "{case}: {action:?}");
            for (event, flow) in part.events().iter().zip(flows) {
                assert_eq!(began + event.event.at, flow.at, "{case}: {action:?}");
                let event = PartEvent::new(
                    setup,
                    crate::transfer::Event {
                        at: flow.at,
                        ..event.event.clone()
                    },
                );
                assert_eq!(event.event, flow, "{case}: {action:?}");
            }
        }
        for item in state.items.iter_mut().filter(|i| i.holding == Holding::Binned) {
            item.undone.fill(false);
            item.knotted.fill(false);
            item.inverted = false;
        }
        assert_eq!(plan.end, state, "{case}: the end");
    }

    /// Attempts that share an atlas are what the rules make of their actions, to the last bit: with lapses that make them
    /// differ, rubs that wet hands for what follows, the same thing done again, and faults.
    #[test]
    fn attempts_that_share_an_atlas_are_what_the_rules_make_of_each_alone() {
        let content = Content::builtin().expect("built-in content has no faults");
        let trainee = content.library.trainee("usual").expect("it is built in");
        let (mut wet, mut again, mut holed) = (0, 0, 0);
        for scenario in &content.library.scenarios {
            let setup = Setup::new(content.library.clone(), scenario).expect("it can be set up");
            let sequence = setup
                .library
                .sequence(&scenario.sequence)
                .expect("it is built in");
            let mut atlas = Atlas::new(&setup);
            let book = by_the_book(&setup, sequence).unwrap_or_default();
            let every: Vec<ActiveFault> = (0..setup.items.len())
                .flat_map(|item| (0..setup.items[item].parts.len()).map(move |part| (item, part)))
                .enumerate()
                .map(|(n, (item, part))| ActiveFault {
                    fault: "a fault".to_owned(),
                    item: Some(item),
                    part: Some(part),
                    leak: (n % 3 < 2).then_some(0.01),
                    by: None,
                })
                .collect();
            for seed in 0..40 {
                let (case, luck) = (format!("{}, seed {seed}", scenario.id), Luck::new(seed));
                let mut plans = vec![lapsed(&mut atlas, &book, trainee, luck).0];
                plans.extend(attempt(&mut atlas, sequence, trainee, luck, &[]).map(|(plan, _)| plan));
                // One, two or three faults, other ones every time, and some of them met again.
                let at = (seed as usize / 2 * 7) % every.len();
                let faults: Vec<ActiveFault> = every
                    .iter()
                    .cycle()
                    .skip(at)
                    .step_by(5)
                    .take(1 + seed as usize % 3)
                    .cloned()
                    .collect();
                for plan in &plans {
                    assert_as_enacted(&setup, &[], plan, &case);
                    let holed =
                        Plan::within(&mut atlas, &faults, &plan.actions).expect("a fault hinders nothing");
                    assert_as_enacted(&setup, &faults, &holed, &case);
                }
            }
            let ways = || atlas.ways.iter();
            wet += ways().filter(|way| !way.whole.wetted.is_empty()).count();
            holed += ways().filter(|way| way.holed.len() > 1).count();
            again += ways()
                .filter(|way| way.times.iter().any(|&(_, before, _)| before > 0))
                .count();
            let asked: usize = atlas.spots.iter().map(|spot| spot.asked.len()).sum();
            assert!(asked < 4000, "{}: {asked} are hardly shared", scenario.id);
        }
        assert!(
            wet > 0 && again > 0 && holed > 0,
            "{wet} wet, {again} done again, {holed} with faults: the test misses what it is for"
        );
    }
}
