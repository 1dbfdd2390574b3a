//! The best orders of small kits by plain enumeration, with the rules of the space and the means of the events
//! written out once more, on their own.

use std::sync::Arc;

use smirch::analysis::{Scope, Start, Target};
use smirch::drill::{Action, Done, Drill, Happened, Planned, State, enact};
use smirch::guidance::Score;
use smirch::model::{
    Asked, Does, Hands, Holding, Load, OwnBuilding, Owner, Pace, Scenario, Sequence, Setup, Side,
    Start as StartLoad, Whereabouts, Zone,
};
use smirch::transfer::Flow;

use crate::fixture::{clean as clean_for, content};
use crate::orders::{find, kept, wide};

fn clean(product: &str) -> Action {
    clean_for(product, 20.0)
}

/// A small kit with loads where work would leave them, for one organism.
fn small(kit: &[&str], organism: &str) -> Arc<Setup> {
    let library = &content().library;
    let mut scenario: Scenario = library.scenario("enteric-bay").expect("it is built in").clone();
    scenario.kit = kit.iter().map(|id| (*id).to_owned()).collect();
    scenario.spares.clear();
    scenario.care.clear();
    scenario.faults.clear();
    // One basin is enough to have hands washed in one place and not in another.
    scenario.building = OwnBuilding::default();
    scenario.organism = organism.to_owned();
    let load = |site: &str, amount: u64, wet: f64| StartLoad {
        site: site.to_owned(),
        load: Load::Fixed(amount),
        wet,
    };
    scenario.start = [
        load("left-glove-palm", 20_000, 1800.0),
        load("right-glove-palm", 30_000, 1800.0),
        load("right-glove-fingertips", 5_000, 31.0),
        load("apron-bib", 8_000, 600.0),
        load("apron-lap", 4_000, 0.0),
        load("gown-chest", 8_000, 600.0),
        load("surgical-mask-front", 900, 12.0),
        load("left-fingertips", 40, 0.0),
        load("bin-pedal", 200, 0.0),
    ]
    .into_iter()
    .filter(|l| {
        kit.iter().any(|id| l.site.contains(id)) || l.site == "bin-pedal" || l.site == "left-fingertips"
    })
    .collect();
    Arc::new(Setup::new(library.clone(), &scenario).unwrap_or_else(|e| panic!("{kit:?}: {e}")))
}

/// Every protocol by plain recursion over what the drill allows, with means worked out here from the events.
struct Enumeration<'a> {
    setup: &'a Arc<Setup>,
    cleans: &'a [Action],
    target: Target,
    /// What is kept to, if anything: only what it accepts, as many cleans, and none of them in gloves.
    policy: Option<&'a Sequence>,
    /// What was counted on the way.
    so_far: f64,
    /// What was done on the way.
    done: Vec<Action>,
    /// (seconds, cleans, expected count).
    all: Vec<(f64, u32, f64)>,
}

impl Enumeration<'_> {
    fn mean(planned: &[Planned], counts: &mut [f64]) {
        for planned in planned {
            let Planned::Flow(event) = planned else { continue };
            match &event.flow {
                Flow::Contact {
                    a,
                    b,
                    share_a,
                    share_b,
                    ab,
                    ba,
                    ..
                } => {
                    // Small contacts: the mean over people and over goes, whose law is gamma with mean one.
                    let met = |share: f64| match &event.extent {
                        None => share,
                        Some(extent) => {
                            let of = |person: &f64| 1.0 - (1.0 + share * person / extent.go).powf(-extent.go);
                            extent.people.iter().map(of).sum::<f64>() / extent.people.len() as f64
                        }
                    };
                    let out = counts[*a] * met(*share_a) * ab.mean * event.chance;
                    let back = counts[*b] * met(*share_b) * ba.mean * event.chance;
                    counts[*a] += back - out;
                    counts[*b] += out - back;
                }
                Flow::Removal { site, law, .. } => counts[*site] *= law.mean_surviving(),
                Flow::Splash { .. } => panic!("nothing splashes after the care"),
            }
        }
    }

    fn step(
        &mut self,
        state: &State,
        counts: &[f64],
        action: &Action,
        cleaned: bool,
        busy: Option<usize>,
        cleans: u32,
    ) {
        let before = self.so_far;
        let counts_now = matches!(action, Action::Clean { .. }) && gloved(self.setup, state) < 2;
        if self.target == Target::HandsBeforeCleaning && counts_now {
            self.so_far += bare_hands(self.setup, state)
                .map(|site| counts[site])
                .sum::<f64>();
        }
        let (mut state, mut counts) = (state.clone(), counts.to_vec());
        if let Ok(planned) = enact(self.setup, &mut state, action) {
            Self::mean(&planned, &mut counts);
            self.done.push(action.clone());
            self.go(&state, &counts, cleaned, busy, cleans);
            self.done.pop();
        }
        self.so_far = before;
    }

    /// True if the policy has items of this kind come off so, or says nothing of them.
    fn accepts(&self, item: usize, technique: &str) -> bool {
        let id = &self.setup.definition(item).id;
        let steps = self.policy.iter().flat_map(|p| &p.steps);
        let mut said = steps
            .filter_map(|step| match &step.asked {
                Asked::Remove { items, accept, .. } if items.contains(id) => Some(accept),
                _ => None,
            })
            .peekable();
        said.peek().is_none() || said.any(|accept| accept.iter().any(|a| a == technique))
    }

    /// How often the policy cleans hands.
    fn asked(&self) -> u32 {
        let steps = self.policy.iter().flat_map(|p| &p.steps);
        steps.filter(|s| matches!(s.asked, Asked::Clean { .. })).count() as u32
    }

    /// True unless the policy, asked of the very attempt, calls something in it a critical error, or has hands cleaned
    /// at the end and they were not.
    fn is_fit_to_teach(&self) -> bool {
        let Some(policy) = self.policy else { return true };
        let mut drill = Drill::begin(self.setup.clone(), 1);
        for action in &self.done {
            drill.act(action.clone()).expect("it was possible a moment ago");
        }
        let off = |d: &Done| {
            let mut happened = d.happened.iter();
            happened.any(|h| {
                matches!(
                    h,
                    Happened::Item {
                        from: Holding::Worn,
                        ..
                    }
                )
            })
        };
        let last_off = drill.done().iter().rposition(off).expect("everything is off");
        let cleaned = drill.done()[last_off..]
            .iter()
            .any(|d| matches!(d.action, Action::Clean { .. }));
        cleaned && Score::of(&drill, policy).critical.is_empty()
    }

    fn handle(&mut self, state: &State, counts: &[f64], item: usize, cleans: u32) {
        let setup = self.setup;
        for technique in setup.library.techniques.iter().filter(|t| setup.applies(t, item)) {
            let busy = match technique.does {
                Does::TakesOff => None,
                Does::Loosens => Some(item),
                _ => continue,
            };
            if !self.accepts(item, &technique.id) {
                continue;
            }
            let action = Action::Do {
                technique: technique.id.clone(),
                item: Some(setup.items[item].id.clone()),
                hand: None,
                pace: Pace::Steady,
            };
            self.step(state, counts, &action, false, busy, cleans);
        }
    }

    fn go(&mut self, state: &State, counts: &[f64], cleaned: bool, busy: Option<usize>, cleans: u32) {
        let setup = self.setup;
        // In the kits tested the mask comes off outside, apron and gloves inside, by the sequences of the scenario,
        // which say nothing of a gown.
        let may = |item: usize| match setup.definition(item).id.as_str() {
            "gown" => true,
            "surgical-mask" => state.whereabouts == Whereabouts::Outside,
            _ => state.whereabouts == Whereabouts::Inside,
        };
        if let Some(item) = busy {
            return self.handle(state, counts, item, cleans);
        }
        if let [held, rest @ ..] = &state.held[..] {
            for &item in &state.worn {
                if rest.is_empty()
                    && setup.items[item].side.is_some()
                    && setup.items[item].item == setup.items[*held].item
                {
                    self.handle(state, counts, item, cleans);
                }
            }
            let full = |side: Side| state.in_hand(side).next().is_some();
            let bin = Action::Do {
                technique: "bin-by-pedal".to_owned(),
                item: None,
                hand: Some(match (full(Side::Left), full(Side::Right)) {
                    (true, true) => Hands::Both,
                    (true, false) => Hands::Left,
                    _ => Hands::Right,
                }),
                pace: Pace::Steady,
            };
            return self.step(state, counts, &bin, false, None, cleans);
        }
        if state.whereabouts == Whereabouts::Outside
            && cleans >= self.asked()
            && state.items.iter().all(|i| i.holding == Holding::Binned)
            && self.is_fit_to_teach()
        {
            let weights = self.target.weights(setup, state);
            let end: f64 = counts.iter().zip(&weights).map(|(n, w)| n * w).sum();
            self.all.push((state.clock, cleans, self.so_far + end));
        }
        for &item in &state.worn {
            if may(item) {
                self.handle(state, counts, item, cleans);
            }
        }
        self.step(
            state,
            counts,
            &Action::Walk(Whereabouts::Outside),
            false,
            None,
            cleans,
        );
        if !(cleaned || gloved(setup, state) > 0 && self.policy.is_some()) {
            for action in self.cleans {
                self.step(state, counts, action, true, None, cleans + 1);
            }
        }
    }

    fn front(&mut self) -> Vec<(f64, u32, f64)> {
        self.all
            .sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.total_cmp(&b.2)));
        let mut front: Vec<(f64, u32, f64)> = Vec::new();
        for &(seconds, cleans, risk) in &self.all {
            if !front.iter().any(|f| f.1 <= cleans && f.2 <= risk * (1.0 + 1e-12)) {
                front.push((seconds, cleans, risk));
            }
        }
        front
    }
}

/// Skin of hands and wrists that nothing covers.
fn bare_hands<'a>(setup: &'a Setup, state: &'a State) -> impl Iterator<Item = usize> + 'a {
    let zones = Side::BOTH
        .into_iter()
        .flat_map(|side| Zone::ALL.map(|zone| (side, zone)));
    zones
        .map(|(side, zone)| setup.zone_place(side, zone))
        .filter(|&place| state.top(setup, place, None).is_none())
        .map(|place| state.outermost(setup, place, None))
}

/// How many palms a glove covers.
fn gloved(setup: &Setup, state: &State) -> usize {
    let covered = |side: &Side| {
        state
            .top(setup, setup.zone_place(*side, Zone::Palm), None)
            .is_some()
    };
    Side::BOTH.iter().filter(|side| covered(side)).count()
}

fn agrees_with_enumeration(kit: &[&str], organism: &str, cleans: &[Action], target: Target) {
    let setup = small(kit, organism);
    let scope = wide(&setup).with_cleans(cleans);
    agrees(&setup, &scope, cleans, None, target);
}

/// The same for orders of what the scenario's own sequence asks for.
fn agrees_within_policy(kit: &[&str], organism: &str, target: Target) {
    let setup = small(kit, organism);
    let scope = kept(&setup);
    let policy = setup.library.sequence(&setup.scenario.sequence);
    agrees(&setup, &scope, &scope.skin, policy, target);
}

fn agrees(setup: &Arc<Setup>, scope: &Scope, cleans: &[Action], policy: Option<&Sequence>, target: Target) {
    let start = Start::mean(setup, 1, 1);
    let found = find(setup, target, scope, &start);
    let mut plain = Enumeration {
        setup,
        cleans,
        target,
        policy,
        so_far: 0.0,
        done: Vec::new(),
        all: Vec::new(),
    };
    let mut state = State::dressed(setup);
    state.wet_until.clone_from(&start.wet_until);
    // What things of the room that count had already is brought by nobody.
    let of_room = target.weights(setup, &state);
    let brought = |(site, &count): (usize, &f64)| match setup.sites[site].owner {
        Owner::Room(_) if of_room[site] > 0.0 => 0.0,
        _ => count,
    };
    let counts: Vec<f64> = start.counts.iter().enumerate().map(brought).collect();
    plain.go(&state, &counts, false, None, 0);
    let kit = &setup.scenario.kit;
    let case = format!("{kit:?}, {}, {}", setup.organism.id, target.word());
    assert_eq!(
        found.size.protocols,
        plain.all.len() as u128,
        "{case}: another number of protocols"
    );
    assert!(
        found.size.complete(),
        "{case}: {:?} does not account for every protocol",
        found.size
    );
    let front = plain.front();
    let points: Vec<(f64, u32, f64)> = found
        .front
        .iter()
        .map(|p| (p.seconds, p.cleans, p.risk))
        .collect();
    assert_eq!(
        points.len(),
        front.len(),
        "{case}: found {points:?}, by enumeration {front:?}"
    );
    for (a, b) in points.iter().zip(&front) {
        assert!(
            // Rounding of how bad a prefix could still have become is not told.
            a.0 == b.0 && a.1 == b.1 && (a.2 - b.2).abs() <= 1e-9 * b.2,
            "{case}: found {a:?}, by enumeration {b:?}"
        );
    }
}

#[test]
fn the_front_is_that_of_plain_enumeration() {
    let both = [clean("alcohol-rub"), clean("soap-and-water")];
    for target in [Target::AnySkin, Target::Mucosa, Target::Clothing, Target::Room] {
        agrees_with_enumeration(&["apron", "surgical-mask"], "enteric-virus", &both, target);
    }
    agrees_with_enumeration(
        &["surgical-mask", "glove"],
        "respiratory-virus",
        &both,
        Target::AnySkin,
    );
    agrees_with_enumeration(&["gown", "glove"], "tracer", &[], Target::AnySkin);
    agrees_with_enumeration(&["gown", "surgical-mask"], "tracer", &both[1..], Target::FaceSkin);
    agrees_with_enumeration(
        &["apron", "surgical-mask", "glove"],
        "enteric-virus",
        &both[1..],
        Target::Hands,
    );
}

/// Things that others touch, and what is handed on to a patient at the end.
#[test]
fn the_front_is_that_of_enumeration_for_what_others_meet() {
    let both = [clean("alcohol-rub"), clean("soap-and-water")];
    for target in [Target::Others, Target::NextPatient] {
        agrees_with_enumeration(&["apron", "surgical-mask"], "enteric-virus", &both, target);
        agrees_with_enumeration(&["surgical-mask", "glove"], "tracer", &both[1..], target);
    }
}

/// Orders of what the policy asks for, with the policy's rules written out once more here.
#[test]
fn the_front_within_a_policy_is_that_of_enumeration() {
    for target in [Target::HandsBeforeCleaning, Target::AnySkin] {
        agrees_within_policy(&["apron", "surgical-mask"], "enteric-virus", target);
        agrees_within_policy(&["apron", "surgical-mask", "glove"], "tracer", target);
    }
}

/// Long wetness from a product that dries slowly makes configurations differ; the front must not.
#[test]
fn the_front_is_that_of_enumeration_when_hands_stay_wet() {
    let chlorine = [clean("chlorine-solution")];
    agrees_with_enumeration(
        &["apron", "surgical-mask"],
        "enteric-virus",
        &chlorine,
        Target::AnySkin,
    );
    agrees_with_enumeration(&["surgical-mask", "glove"], "tracer", &chlorine, Target::AnySkin);
}
