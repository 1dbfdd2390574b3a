//! Where one goes to handle an item: to a tie that is still tied, to where it is taken off, or to its biggest face.

use crate::drill::{Action, Done, Drill, First, Happened};
use crate::model::{Does, Holding, SiteIndex, Whereabouts};

use super::ways::sensible;

/// The site of an item that one would first reach for.
pub fn handle_site(drill: &Drill, item: usize) -> Option<SiteIndex> {
    let (setup, state) = (drill.setup(), drill.state());
    if state.items[item].holding != Holding::Worn {
        return face_site(drill, item);
    }
    let kit = &setup.items[item];
    let tied = setup
        .definition(item)
        .fastenings
        .iter()
        .zip(&state.items[item].undone)
        .find(|&(_, &undone)| !undone)
        .and_then(|(fastening, _)| kit.part(&fastening.part));
    // Who is dressing has its ties to see to; who is undressing has undone them.
    let dressing = kit.ready
        && !drill
            .done()
            .iter()
            .any(|d| d.action == Action::Walk(Whereabouts::Inside));
    let open = setup
        .definition(item)
        .fastenings
        .iter()
        .zip(&state.items[item].undone)
        .find(|&(_, &undone)| undone && dressing)
        .and_then(|(fastening, _)| kit.part(&fastening.part));
    let part = open
        .or(tied)
        .or_else(|| kit.part("cuff"))
        .or_else(|| off_from(drill, item));
    match part {
        Some(part) => Some(kit.parts[part].outside),
        None => face_site(drill, item),
    }
}

/// The part from which most ways lead to taking an item off; the first of several.
fn off_from(drill: &Drill, item: usize) -> Option<usize> {
    let (setup, state) = (drill.setup(), drill.state());
    let many = |part: usize| {
        sensible(setup, state, item, part)
            .iter()
            .filter(|way| way.here && way.technique.does == Does::TakesOff)
            .count()
    };
    (0..setup.items[item].parts.len())
        .rev()
        .max_by_key(|&part| many(part))
        .filter(|&part| many(part) > 0)
}

/// The outside of an item's biggest part.
pub fn face_site(drill: &Drill, item: usize) -> Option<SiteIndex> {
    let setup = drill.setup();
    setup.items[item]
        .parts
        .iter()
        .map(|p| p.outside)
        .max_by(|&a, &b| setup.sites[a].area.total_cmp(&setup.sites[b].area))
}

/// The site to go to for what something refused waits for.
pub fn site_of(drill: &Drill, first: First) -> Option<SiteIndex> {
    match first {
        First::Site(site) => Some(site),
        First::Item(item) => handle_site(drill, item),
    }
}

/// Where to go on after something was done to an item: to the next tie, to where it comes off once all are undone, to
/// what the hand then holds. None if that which was chosen stays chosen.
pub fn next_after(drill: &Drill, done: &Done) -> Option<SiteIndex> {
    let (setup, state) = (drill.setup(), drill.state());
    let Action::Do { item, .. } = &done.action else {
        return None;
    };
    let loosened = done.happened.iter().any(|h| {
        matches!(h, Happened::Fastening { .. })
            || matches!(h, Happened::Item { to, .. } if *to != Holding::Binned)
    });
    match item.as_ref().and_then(|id| setup.item(id)) {
        Some(item) if loosened => handle_site(drill, item),
        Some(_) => None,
        // Something was thrown away: what is left in a hand comes next, or what fell beside the bin.
        None => {
            let left = state.held.last().copied();
            let fell = done.happened.iter().find_map(|h| match h {
                Happened::Item {
                    item,
                    to: Holding::Floor(_),
                    ..
                } => Some(*item),
                _ => None,
            });
            left.or(fell).and_then(|item| face_site(drill, item))
        }
    }
}
