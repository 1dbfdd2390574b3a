//! Which protocols are asked about: those that keep to a named policy, or all that the drill allows.
//!
//! A protocol keeps to a policy if every item comes off by a technique that the policy accepts, where it asks for
//! that; if hands are cleaned with what it uses, at least as often as it cleans them; and if gloves are cleaned only
//! where the policy cleans the like, with what it uses on them and no more often; and if nothing in it is a critical error
//! that following the policy is not. Only the order is free. Does not know what protocols come to.

use crate::analysis::by_the_book;
use crate::drill::{Action, State, enact, in_full};
use crate::guidance::{CriticalKind, Watch};
use crate::model::{Asked, Class, Fate, Product, Sequence, Setup, Side, Whereabouts, Zone};

/// The protocols that are asked about.
#[derive(Clone, Debug, PartialEq)]
pub struct Scope {
    /// The policy that is kept to; none if there is no such bound.
    pub policy: Option<Kept>,
    /// Ways of cleaning bare hands.
    pub skin: Vec<Action>,
    /// Ways of cleaning hands in gloves.
    pub gloved: Vec<Action>,
    /// For each item, where it may come off.
    pub(super) places: Vec<Vec<Whereabouts>>,
    /// Where one may stand besides the place of the beginning.
    pub(super) stops: Vec<Whereabouts>,
    /// Where protocols end; none if that is where they begin.
    pub(super) end: Option<Whereabouts>,
}

/// What keeping to a policy means for one kit.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Sequence id.
    pub sequence: String,
    /// Name for people.
    pub label: String,
    /// For each item, the techniques that are accepted; none where the policy says nothing of it.
    pub(super) accepted: Vec<Option<Vec<String>>>,
    /// How often hands are cleaned at least.
    pub least_cleans: u32,
    /// How often gloves are cleaned at most.
    pub most_gloved: u32,
    /// Item definition ids of gloves that may be cleaned.
    pub gloves: Vec<String>,
    /// The policy itself, which says what is a critical error.
    pub(super) asks: Sequence,
    /// True if hands are cleaned after everything else, and so they are in every protocol.
    pub cleans_last: bool,
    /// Critical errors that are one even when the policy is followed to the letter with this kit; no other is made.
    pub allowed: Vec<CriticalKind>,
    /// Where hands may be washed: where the policy has them washed. A basin that is nearer is not for hands whose sleeves
    /// and apron are still on.
    pub washes_at: Vec<Whereabouts>,
}

/// A cleaning that a sequence asks for: the ways that will do, and the gloves it is done over when the kit follows
/// the sequence to the letter and the sequence allows it.
struct Cleaning {
    ways: Vec<Action>,
    /// The product that it is done with when the sequence is followed to the letter.
    first: Option<String>,
    over: Vec<String>,
    /// Where it is done then.
    at: Option<Whereabouts>,
}

impl Scope {
    /// Orders of what one policy asks for.
    pub fn policy(setup: &Setup, policy: &Sequence) -> Scope {
        let mut cleanings = cleanings(setup, policy);
        if setup.organism.class == Class::Tracer {
            // A rub lifts no lotion and soap does, so a product says nothing there: skin is cleaned with what the policy is followed with.
            for cleaning in cleanings.iter_mut().filter(|c| c.over.is_empty()) {
                let first = cleaning.first.clone();
                cleaning.ways.retain(
                    |way| matches!(way, Action::Clean { product, .. } if Some(product) == first.as_ref()),
                );
            }
        }
        let of = |gloved: bool| {
            let asked = cleanings.iter().filter(|c| c.over.is_empty() != gloved);
            distinct(asked.flat_map(|c| &c.ways))
        };
        let mut gloves: Vec<String> = cleanings.iter().flat_map(|c| c.over.clone()).collect();
        gloves.sort();
        gloves.dedup();
        let accepted = |item: usize| {
            let id = &setup.definition(item).id;
            let said = policy.steps.iter().filter_map(|step| match &step.asked {
                Asked::Remove { items, accept, .. } if items.contains(id) => Some(accept),
                _ => None,
            });
            let all: Vec<String> = said.flatten().cloned().collect();
            (!all.is_empty()).then_some(all)
        };
        Scope {
            policy: Some(Kept {
                sequence: policy.id.clone(),
                label: policy.label.clone(),
                accepted: (0..setup.items.len()).map(accepted).collect(),
                least_cleans: cleanings.len() as u32,
                most_gloved: cleanings.iter().filter(|c| !c.over.is_empty()).count() as u32,
                gloves,
                asks: policy.clone(),
                cleans_last: policy
                    .steps
                    .last()
                    .is_some_and(|s| matches!(s.asked, Asked::Clean { .. })),
                allowed: by_itself(setup, policy),
                washes_at: cleanings
                    .iter()
                    .filter(|c| c.ways.iter().any(|way| is_wash(setup, way)))
                    .flat_map(|c| c.at.map_or(Whereabouts::ALL.to_vec(), |at| vec![at]))
                    .collect(),
            }),
            skin: of(false),
            gloved: of(true),
            ..Scope::whereabouts(setup, &[policy])
        }
    }

    /// Everything that the drill allows, each item where one of these sequences has it come off, hands cleaned with
    /// what any of them uses. What they use on gloves alone never goes on skin.
    pub fn wide(setup: &Setup, sequences: &[&Sequence]) -> Scope {
        let cleanings: Vec<Cleaning> = sequences.iter().flat_map(|s| cleanings(setup, s)).collect();
        let mut all = distinct(cleanings.iter().flat_map(|c| &c.ways));
        let mut skin = distinct(
            cleanings
                .iter()
                .filter(|c| c.over.is_empty())
                .flat_map(|c| &c.ways),
        );
        if all.is_empty() {
            all = setup
                .library
                .products
                .iter()
                .map(|p| full(setup, p, p.seconds, false))
                .collect();
            skin.clone_from(&all);
        }
        Scope {
            policy: None,
            skin,
            gloved: all,
            ..Scope::whereabouts(setup, sequences)
        }
    }

    /// The same with these ways of cleaning hands, bare or in gloves that may be cleaned.
    pub fn with_cleans(mut self, cleans: &[Action]) -> Scope {
        self.skin = cleans.to_vec();
        self.gloved = cleans.to_vec();
        self
    }

    /// Every way of cleaning hands.
    pub fn cleans(&self) -> Vec<Action> {
        distinct(self.skin.iter().chain(&self.gloved))
    }

    fn whereabouts(setup: &Setup, sequences: &[&Sequence]) -> Scope {
        let places: Vec<Vec<Whereabouts>> = (0..setup.items.len())
            .map(|item| places(setup, sequences, item))
            .collect();
        let begin = setup.scenario.begin;
        let out = Whereabouts::Outside;
        let leaves = sequences
            .iter()
            .flat_map(|s| &s.steps)
            .any(|step| match &step.asked {
                Asked::Go { to, .. } => *to == out,
                Asked::Remove { at, .. } => at.contains(&out) && !at.contains(&begin),
                Asked::PutOn { .. } | Asked::Check { .. } | Asked::Clean { .. } => false,
            });
        let end = (leaves || sequences.is_empty()).then_some(out);
        let mut kit = (0..setup.items.len()).filter(|&i| !setup.items[i].spare);
        let doorway =
            kit.any(|i| !places[i].contains(&begin) && !end.is_some_and(|end| places[i].contains(&end)));
        let stops = doorway
            .then_some(Whereabouts::Doorway)
            .into_iter()
            .chain(end)
            .collect();
        Scope {
            policy: None,
            skin: Vec::new(),
            gloved: Vec::new(),
            places,
            stops,
            end,
        }
    }

    /// True if an item may come off, or be loosened, by this technique.
    pub(super) fn accepts(&self, item: usize, technique: &str) -> bool {
        let accepted = self.policy.as_ref().and_then(|p| p.accepted[item].as_ref());
        accepted.is_none_or(|ids| ids.iter().any(|id| id == technique))
    }

    /// The ways in which hands may be cleaned now, and whether that cleans gloves.
    pub(super) fn cleans_now(&self, setup: &Setup, state: &State, gloved: u32) -> (Vec<&Action>, bool) {
        let here = |way: &&Action| {
            let washes_here = |p: &Kept| p.washes_at.contains(&state.whereabouts);
            self.policy.as_ref().is_none_or(washes_here) || !is_wash(setup, way)
        };
        let over = over_gloves(setup, state);
        if over.is_empty() {
            return (self.skin.iter().filter(here).collect(), false);
        }
        let allowed = self
            .policy
            .as_ref()
            .is_none_or(|p| gloved < p.most_gloved && over.iter().all(|id| p.gloves.contains(id)));
        let ways = self.gloved.iter().filter(here);
        (if allowed { ways.collect() } else { Vec::new() }, true)
    }
}

/// Definition ids of what covers the palms.
pub(super) fn over_gloves(setup: &Setup, state: &State) -> Vec<String> {
    let over = |side| state.top(setup, setup.zone_place(side, Zone::Palm), None);
    let mut ids: Vec<String> = Side::BOTH
        .into_iter()
        .filter_map(over)
        .map(|(item, _)| setup.definition(item).id.clone())
        .collect();
    ids.dedup();
    ids
}

/// True for what carries off rather than kills.
fn is_wash(setup: &Setup, way: &Action) -> bool {
    matches!(way, Action::Clean { product, .. }
        if setup.library.product(product).is_some_and(|p| p.fate == Fate::WashedAway))
}

/// A cleaning in full; of the forearms only if nothing in the kit ever lies over them.
fn full(setup: &Setup, product: &Product, seconds: f64, forearms: bool) -> Action {
    in_full(setup, &State::dressed(setup), product, seconds, forearms)
}

fn distinct<'a>(cleans: impl Iterator<Item = &'a Action>) -> Vec<Action> {
    let mut out: Vec<Action> = Vec::new();
    for clean in cleans {
        if !out.contains(clean) {
            out.push(clean.clone());
        }
    }
    out
}

/// The critical errors that following a sequence to the letter is.
fn by_itself(setup: &Setup, sequence: &Sequence) -> Vec<CriticalKind> {
    let (mut state, mut watch) = (State::dressed(setup), Watch::at_start());
    let mut found = Vec::new();
    for action in by_the_book(setup, sequence).unwrap_or_default() {
        let before = state.clone();
        let Ok(planned) = enact(setup, &mut state, &action) else {
            break;
        };
        found.extend(watch.sees(setup, sequence, &before, &action, &planned));
    }
    found.extend(watch.at_end(setup, sequence, &state));
    found
}

/// The cleanings of a sequence. Where this kit cannot follow it, all are of bare hands.
fn cleanings(setup: &Setup, sequence: &Sequence) -> Vec<Cleaning> {
    let mut over: Vec<(Vec<String>, Whereabouts, String)> = Vec::new();
    let mut state = State::dressed(setup);
    for action in by_the_book(setup, sequence).unwrap_or_default() {
        if let Action::Clean { product, .. } = &action {
            over.push((over_gloves(setup, &state), state.whereabouts, product.clone()));
        }
        // What follows the sequence to the letter was possible a moment ago.
        let _ = enact(setup, &mut state, &action);
    }
    let mut over = over.into_iter();
    let asked = sequence.steps.iter().filter_map(|step| match &step.asked {
        Asked::Clean {
            products,
            seconds,
            gloves,
            forearms,
        } => Some((products, *seconds, gloves, *forearms)),
        _ => None,
    });
    asked
        .map(|(products, seconds, gloves, forearms)| {
            let done = over.next();
            Cleaning {
                first: done.as_ref().map(|done| done.2.clone()),
                ways: setup
                    .library
                    .products
                    .iter()
                    .filter(|p| products.contains(&p.id))
                    .map(|p| full(setup, p, seconds, forearms))
                    .collect(),
                at: done.as_ref().map(|(_, at, _)| *at),
                over: done
                    .map(|(over, ..)| over)
                    .filter(|over| over.iter().all(|id| gloves.contains(id)))
                    .unwrap_or_default(),
            }
        })
        .collect()
}

/// Where a kit item may come off: wherever one of the sequences asks for it, or anywhere if none says.
fn places(setup: &Setup, sequences: &[&Sequence], item: usize) -> Vec<Whereabouts> {
    let id = &setup.definition(item).id;
    let mut said: Vec<Whereabouts> = Vec::new();
    for step in sequences.iter().flat_map(|s| &s.steps) {
        if let Asked::Remove { items, at, .. } = &step.asked
            && items.contains(id)
        {
            if at.is_empty() {
                return Whereabouts::ALL.to_vec();
            }
            said.extend(at);
        }
    }
    if said.is_empty() {
        Whereabouts::ALL.to_vec()
    } else {
        said
    }
}
