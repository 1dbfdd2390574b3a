//! Walking, and the door on the way: whoever goes from the room into the doorway opens it by the inner handle, and
//! whoever goes from the doorway into the corridor closes it by the outer handle.

use crate::chance::Key;
use crate::model::{Door, Setup, Side, SiteIndex, Whereabouts};
use crate::transfer::Cause;

use super::contact::contact;
use super::words::standing;
use super::{Planned, Refusal, State};

/// Walks, past the doorway if need be.
///
/// # Errors
/// The person stands there already.
pub(super) fn walk(setup: &Setup, state: &mut State, to: Whereabouts) -> Result<Vec<Planned>, Refusal> {
    if state.whereabouts == to {
        return Err(Refusal::new(format!("you are already {}", standing(to))));
    }
    let mut out = Vec::new();
    let (began, seconds) = (state.clock, setup.library.manners.walk_seconds);
    let mut walked = 0.0;
    while state.whereabouts != to {
        let next = match (state.whereabouts, to) {
            (Whereabouts::Doorway, _) => to,
            _ => Whereabouts::Doorway,
        };
        if let Some(door) = &setup.library.door {
            let inner = [state.whereabouts, next].contains(&Whereabouts::Inside);
            let handle = if inner { &door.inside } else { &door.outside };
            if let Some(site) = setup.furniture(handle) {
                work(
                    setup,
                    state,
                    &mut out,
                    door,
                    site,
                    began + (walked + seconds / 2.0),
                );
            }
        }
        walked += seconds;
        state.whereabouts = next;
    }
    state.pass(walked);
    Ok(out)
}

/// A handle is worked by a free hand, the right one if there is a choice, or by the right elbow.
fn work(setup: &Setup, state: &mut State, out: &mut Vec<Planned>, door: &Door, handle: SiteIndex, at: f64) {
    let free = [Side::Right, Side::Left]
        .into_iter()
        .find(|&side| state.in_hand(side).next().is_none());
    let touching: Vec<(SiteIndex, f64)> = match free {
        Some(side) => door
            .hand
            .iter()
            .map(|&(zone, area)| (state.outermost(setup, setup.zone_place(side, zone), None), area))
            .collect(),
        None => setup
            .place("right-forearm")
            .map(|place| (state.outermost(setup, place, None), door.elbow))
            .into_iter()
            .collect(),
    };
    let by = free.map_or("elbow", Side::word);
    let signature = Key::of("door").named(&setup.sites[handle].id).named(by);
    let key = signature.within(state.occurrence(signature));
    for (n, (site, area)) in touching.into_iter().enumerate() {
        let law = (Cause::Touch, 1.0);
        contact(
            setup,
            state,
            out,
            (site, handle),
            area,
            false,
            law,
            key.within(n as u64),
            at,
        );
    }
}
