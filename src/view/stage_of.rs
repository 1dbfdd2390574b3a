//! The picture of a moment of a drill, for the scene.

use crate::drill::{Action, Drill, Happened};
use crate::model::{Holding, Owner, Setup, Side, SiteIndex, Zone};

use crate::transfer::{Cause, Flow};

use super::stage::{Fall, Near, Patch, Stage, StageItem, StageItemState, Surface};

/// Free touch of a site with the fingers of a hand, palm side.
pub fn touch(drill: &Drill, hand: Side, site: SiteIndex) -> Action {
    let setup = drill.setup();
    Action::Touch {
        hand,
        with: Zone::FingerPads,
        site: setup.sites[site].id.clone(),
        area: setup.library.manners.touch_area(Zone::FingerPads),
    }
}

/// True if hands took an item from the body by its front: they touched that and nothing it is fastened by.
fn taken_by_front(drill: &Drill, item: usize) -> bool {
    let setup = drill.setup();
    let id = &setup.items[item].id;
    let about = |action: &Action| matches!(action, Action::Do { item: Some(named), .. } if named == id);
    let Some(done) = drill.done().iter().rfind(|done| about(&done.action)) else {
        return false;
    };
    let is_hand = |site: SiteIndex| match setup.sites[site].owner {
        Owner::Body(place) => setup.zone_of_place(place).is_some(),
        Owner::Part(other, ..) => other != item && setup.items[other].side.is_some(),
        Owner::Room(_) => false,
    };
    let part = |site: SiteIndex| match setup.sites[site].owner {
        Owner::Part(of, part, _) if of == item => Some(setup.items[item].parts[part].id.as_str()),
        _ => None,
    };
    let (mut front, mut fastening) = (false, false);
    for (event, outcome) in done.flows() {
        let Flow::Contact { a, b, .. } = event.flow else {
            continue;
        };
        if !outcome.happened || event.cause != Cause::Touch {
            continue;
        }
        for (hand, taken) in [(a, b), (b, a)] {
            match part(taken).filter(|_| is_hand(hand)) {
                Some("front") => front = true,
                Some(_) => fastening = true,
                None => {}
            }
        }
    }
    front && !fastening
}

/// Where things have met the floor so far, each place once.
fn fallen(drill: &Drill) -> Vec<Fall> {
    let setup = drill.setup();
    let floor = |site: SiteIndex| matches!(setup.sites[site].owner, Owner::Room(piece) if setup.library.furniture[piece].id == "floor");
    let mut out: Vec<Fall> = Vec::new();
    for done in drill.done() {
        let met = done.flows().any(|(event, outcome)| {
            // Of what is only grazed or shaken off, something must have got there.
            let small = matches!(event.cause, Cause::Graze | Cause::Shed);
            let there = outcome.happened && (!small || outcome.moved_ab > 0);
            there && matches!(event.flow, Flow::Contact { a, b, .. } if floor(a) || floor(b))
        });
        if !met {
            continue;
        }
        let moved = done.happened.iter().filter_map(|happened| match *happened {
            Happened::Item { item, from, to, .. } => match (from, to) {
                (_, Holding::Floor(at)) | (Holding::Floor(at), _) => Some(Fall {
                    at,
                    near: Near::Item(item),
                }),
                // What is thrown at the bin sheds before it.
                (_, Holding::Binned) => Some(Fall {
                    at: done.whereabouts,
                    near: Near::Bin,
                }),
                _ => None,
            },
            _ => None,
        });
        let mut places: Vec<Fall> = moved.collect();
        if places.is_empty() {
            places.push(Fall {
                at: done.whereabouts,
                near: Near::Feet,
            });
        }
        for place in places {
            if !out.contains(&place) {
                out.push(place);
            }
        }
    }
    out
}

/// Everything the scene needs to draw this moment.
pub fn stage_of(drill: &Drill, lamp: bool) -> Stage {
    let (setup, state) = (drill.setup(), drill.state());
    let at_start = &drill.beginning().state.wet_until;
    let totals = drill.books().totals();
    let patches = setup
        .sites
        .iter()
        .enumerate()
        .map(|(i, site)| Patch {
            surface: match site.owner {
                Owner::Body(place) => Surface::Body(setup.library.places[place].id.clone()),
                Owner::Part(item, part, inside) => Surface::Part {
                    item: setup.items[item].id.clone(),
                    part: setup.definition(item).parts[part].look().to_owned(),
                    inside,
                },
                Owner::Room(piece) => Surface::Room(setup.library.furniture[piece].id.clone()),
            },
            label: site.label.clone(),
            count: totals[i],
            absent: matches!(site.owner, Owner::Room(piece) if setup.reach(piece).is_empty()),
            thin: match site.owner {
                Owner::Part(item, part, _) => {
                    let part = &setup.items[item].parts[part];
                    let all = &setup.definition(item).fastenings;
                    !part.covers && all.iter().any(|f| f.part == part.id)
                }
                _ => false,
            },
            reachable: Side::BOTH
                .into_iter()
                .any(|side| drill.check(&touch(drill, side, i)).is_ok()),
        })
        .collect();
    let items = setup
        .items
        .iter()
        .zip(&state.items)
        .enumerate()
        .map(|(i, (kit, now))| StageItem {
            id: kit.id.clone(),
            model: setup.definition(i).look().to_owned(),
            side: kit.side,
            state: match now.holding {
                Holding::Worn => StageItemState::Worn,
                Holding::Dangling => StageItemState::Dangling,
                Holding::Held {
                    left: true,
                    right: false,
                } => StageItemState::Held(Side::Left),
                Holding::Held { .. } => StageItemState::Held(Side::Right),
                Holding::Binned => StageItemState::Binned,
                Holding::Floor(at) => StageItemState::Floor(at),
                Holding::Boxed => StageItemState::Boxed,
            },
            undone: looks(setup, i, |fastening| now.undone[fastening]),
            knotted: looks(setup, i, |fastening| state.is_knotted(i, fastening)),
            inverted: now.inverted,
            by_front: matches!(now.holding, Holding::Held { .. }) && taken_by_front(drill, i),
        })
        .collect();
    Stage {
        shows: None,
        patches,
        items,
        // Only where kit is put on in the attempt can it lie otherwise than its scenario has it.
        over: match setup.lies_ready() && !state.worn.is_sorted() {
            true => state.worn.clone(),
            false => Vec::new(),
        },
        whereabouts: state.whereabouts,
        lamp,
        seen_from: setup.organism.seen_from,
        fell: fallen(drill),
        wet: (0..setup.sites.len())
            // Only what was wetted in the drill itself, by a rub or a wash: what was wet at the start is wet with what
            // the lamp is there to show, and nothing else may give it away.
            .filter(|&site| state.is_wet(site, state.clock) && state.wet_until[site] > at_start[site])
            .collect(),
    }
}

/// What those fastenings of an item are drawn as that a condition holds for.
fn looks(setup: &Setup, item: usize, so: impl Fn(usize) -> bool) -> Vec<String> {
    let definition = setup.definition(item);
    let all = definition.fastenings.iter().enumerate();
    let held = all.filter(|&(n, _)| so(n));
    held.map(|(_, fastening)| definition.look_of(fastening)).collect()
}
