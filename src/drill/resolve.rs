//! From addresses to sites: what `act.fingertips` is right now.

use crate::model::{Address, ItemRef, Setup, Side, SiteIndex, Who};

use super::State;

/// Whose hands and which item an address is read for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    /// The acting hand.
    pub acting: Side,
    /// The item being handled, if any.
    pub item: Option<usize>,
}

/// The sites an address means now, each with its share of the contact area. Empty if it means nothing, such as a
/// held item when nothing is held.
pub(super) fn sites(setup: &Setup, state: &State, frame: Frame, address: &Address) -> Vec<(SiteIndex, f64)> {
    let one = |site: Option<SiteIndex>| site.map(|s| (s, 1.0)).into_iter().collect();
    match address {
        Address::Hand(who, zone) => {
            let side = match who {
                Who::Acting => frame.acting,
                Who::Other => frame.acting.other(),
            };
            one(Some(state.outermost(setup, setup.zone_place(side, *zone), None)))
        }
        Address::Place(name) => {
            let place = setup.place(&name.for_side(frame.acting));
            one(place.map(|place| state.outermost(setup, place, frame.item)))
        }
        Address::Room(id) => one(setup.furniture_at(id, state.whereabouts)),
        Address::Under(name) => {
            let Some(item) = frame.item else { return Vec::new() };
            let kit = &setup.items[item];
            let Some(part) = kit.part(&name.for_side(frame.acting)) else {
                return Vec::new();
            };
            let places = &kit.parts[part].places;
            places
                .iter()
                .map(|&place| (state.beneath(setup, item, place), 1.0 / places.len() as f64))
                .collect()
        }
        Address::Part { item, part, inside } => {
            let Some(item) = item_ref(setup, state, frame, item) else {
                return Vec::new();
            };
            let kit = &setup.items[item];
            let Some(name) = part else {
                return faces(setup, state, item);
            };
            let Some(part) = kit.part(&name.for_side(frame.acting)) else {
                return Vec::new();
            };
            one(if *inside {
                kit.parts[part].inside
            } else {
                Some(kit.parts[part].outside)
            })
        }
    }
}

/// What an item touches with as a whole, each with its share: as many of its parts as come to a set share of its area,
/// largest first, and no fewer than a set number, with the face that is outermost, which is the inside once it is inverted.
fn faces(setup: &Setup, state: &State, item: usize) -> Vec<(SiteIndex, f64)> {
    let manners = &setup.library.manners;
    let mut all: Vec<(SiteIndex, f64)> = setup.items[item]
        .parts
        .iter()
        .map(|part| {
            let turned = part.inside.filter(|_| state.items[item].inverted);
            (turned.unwrap_or(part.outside), setup.sites[part.outside].area)
        })
        .collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    let whole: f64 = all.iter().map(|(_, area)| area).sum();
    let (mut met, mut parts) = (0.0, 0);
    all.retain(|(_, area)| {
        let wanted = met < manners.bundle_share * whole || parts < manners.bundle_parts;
        met += if wanted { *area } else { 0.0 };
        parts += 1;
        wanted
    });
    all.iter().map(|&(site, area)| (site, area / met)).collect()
}

/// The item a reference means now.
pub(super) fn item_ref(setup: &Setup, state: &State, frame: Frame, item: &ItemRef) -> Option<usize> {
    match item {
        ItemRef::Handled => frame.item,
        ItemRef::Held => state.in_hand(frame.acting).last(),
        ItemRef::Named(id) => setup.item(id),
    }
}
