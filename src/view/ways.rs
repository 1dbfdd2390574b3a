//! The ways in which an item is handled from one of its parts, each with a number that it keeps for that part.

use crate::drill::State;
use crate::model::{Address, Does, Holding, How, ItemKind, ItemRef, Need, Setup, Side, Step, Technique};

/// Number of the free touch: it is the same everywhere.
pub const TOUCH: usize = 9;

/// Most ways of one list, so that each has a number key beside the touch.
const MOST: usize = 8;

/// A way, and its number.
#[derive(Clone, Copy, Debug)]
pub struct Way<'a> {
    /// Number for people, from 1. It is the same however things stand, so that what was pressed once can be pressed
    /// again without looking.
    pub number: usize,
    /// What is done.
    pub technique: &'a Technique,
    /// True if the hands go to this very part.
    pub here: bool,
}

/// The number of the nth way of a list, counted from 0: that of the touch is left out.
pub fn number(n: usize) -> usize {
    if n + 1 < TOUCH { n + 1 } else { n + 2 }
}

/// Every way that there is for a part of an item that is worn, held and so on: those that go to this part first, then
/// those that take the item off from elsewhere.
pub fn ways<'a>(setup: &'a Setup, item: usize, part: usize, holding: Holding) -> Vec<Way<'a>> {
    let definition = setup.definition(item);
    let whole = match definition.kind {
        // What is not worn is handled as one thing.
        _ if holding != Holding::Worn => true,
        ItemKind::Glove | ItemKind::Overshoe | ItemKind::EyeProtection => true,
        // Straps and loops are within reach of whoever thinks of the mask as one thing.
        ItemKind::Respirator | ItemKind::Mask => setup.items[item].parts[part].covers,
        _ => false,
    };
    let all: Vec<&Technique> = setup
        .library
        .techniques_for(definition)
        .filter(|t| needed(t) == Placed::of(holding))
        // What fastens and checks kit that is on is for attempts in which it is put on.
        .filter(|t| setup.lies_ready() || !dresses(t))
        .collect();
    let here = |t: &&&Technique| whole || concerns(setup, t, item, part);
    let (mut first, others): (Vec<&Technique>, Vec<&Technique>) = all.iter().partition(|t| here(t));
    // Where there are more than keys, what goes to another part is within reach there.
    if first.len() > MOST && setup.lies_ready() {
        first.sort_by_key(|t| !concerns(setup, t, item, part));
    }
    // A sleeve is no place to begin at, but whoever points at it may still want the item off.
    let off = others.into_iter().filter(|t| t.does == Does::TakesOff);
    let many = first.len();
    first
        .into_iter()
        .chain(off)
        .take(MOST)
        .enumerate()
        .map(|(n, technique)| Way {
            number: number(n),
            technique,
            here: n < many,
        })
        .collect()
}

/// The ways that make sense as things stand: those that go to this part, or if there are none, those that take the
/// item off from elsewhere.
pub fn sensible<'a>(setup: &'a Setup, state: &State, item: usize, part: usize) -> Vec<Way<'a>> {
    let mut list = ways(setup, item, part, state.items[item].holding);
    list.retain(|way| makes_sense(setup, state, way.technique, item));
    if list.iter().any(|way| way.here) {
        list.retain(|way| way.here);
    }
    list
}

/// True for what is done to kit that is on already, as part of putting it on.
fn dresses(technique: &Technique) -> bool {
    technique.does == Does::PutsOn && needed(technique) == Placed::Worn
}

/// Where an item must be for a technique.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Placed {
    Worn,
    Dangling,
    Held,
    Boxed,
    Floor,
    Binned,
}

impl Placed {
    fn of(holding: Holding) -> Placed {
        match holding {
            Holding::Worn => Placed::Worn,
            Holding::Dangling => Placed::Dangling,
            Holding::Held { .. } => Placed::Held,
            Holding::Boxed => Placed::Boxed,
            Holding::Floor(_) => Placed::Floor,
            Holding::Binned => Placed::Binned,
        }
    }
}

fn needed(technique: &Technique) -> Placed {
    let place = |need: &Need| match need {
        Need::Worn => Some(Placed::Worn),
        Need::Dangling => Some(Placed::Dangling),
        Need::Held => Some(Placed::Held),
        Need::Boxed => Some(Placed::Boxed),
        Need::OnFloor => Some(Placed::Floor),
        Need::Undone(_)
        | Need::Tied(_)
        | Need::AnyTied
        | Need::WornToo(_)
        | Need::Bare(_)
        | Need::Covered(_) => None,
    };
    technique.needs.iter().find_map(place).unwrap_or(Placed::Worn)
}

/// False for what cannot be meant any more, such as undoing a tie that is undone.
fn makes_sense(setup: &Setup, state: &State, technique: &Technique, item: usize) -> bool {
    let now = &state.items[item];
    technique.needs.iter().all(|need| match need {
        Need::Tied(id) => setup
            .definition(item)
            .fastenings
            .iter()
            .position(|f| f.id == *id)
            .is_some_and(|f| !now.undone[f]),
        Need::WornToo(id) => setup.item(id).is_some_and(|other| state.is_worn(other)),
        Need::AnyTied => now.undone.iter().any(|undone| !undone),
        // What is tied can be undone, and then it goes.
        Need::Undone(_) if technique.does != Does::PutsOn => true,
        // Who ties what is tied would have to undo it first, and does not mean that.
        Need::Undone(id) => setup
            .definition(item)
            .fastenings
            .iter()
            .position(|f| f.id == *id)
            .is_some_and(|f| now.undone[f]),
        Need::Worn
        | Need::Dangling
        | Need::Held
        | Need::Boxed
        | Need::OnFloor
        | Need::Bare(_)
        | Need::Covered(_) => true,
    })
}

/// True if a technique is meant to touch or undo this part, by either hand.
fn concerns(setup: &Setup, technique: &Technique, item: usize, part: usize) -> bool {
    let id = &setup.items[item].parts[part].id;
    let names = |address: &Address| match address {
        Address::Part {
            item: ItemRef::Handled,
            part: Some(name),
            ..
        } => Side::BOTH.into_iter().any(|side| name.for_side(side) == *id),
        _ => false,
    };
    technique.steps.iter().any(|step| match step {
        Step::Contact {
            a,
            b,
            how: How::Meant,
            ..
        } => {
            let by_hand = |x: &Address| matches!(x, Address::Hand(..));
            (by_hand(a) && names(b)) || (by_hand(b) && names(a))
        }
        // Ties that break when the front is pulled are not what the hands go to.
        Step::Undo(fastening) | Step::Tie(fastening) if technique.does == Does::Loosens => setup
            .definition(item)
            .fastenings
            .iter()
            .any(|f| f.id == *fastening && f.part == *id),
        _ => false,
    })
}
