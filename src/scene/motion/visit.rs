//! Where each hand goes in a technique: the places it touches on its way, and what it takes hold of at the end of it.

use bevy::math::Vec3;

use super::ask::Perform;
use super::grip::{Grip, mirrored};
use super::manner::Manner;
use crate::model::{Side, Zone};
use crate::scene::pose::HandAim;
use crate::scene::reach::outward;
use crate::view::stage::{Stage, Surface};

/// Most places one hand visits; more would be a blur.
pub(super) const STOPS: usize = 3;

/// One place a hand goes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stop {
    /// How the hand comes to it.
    pub aim: HandAim,
    /// How it takes hold there.
    pub grip: Grip,
    /// Which way the surface faces there, figure space.
    pub normal: Vec3,
}

/// What a hand takes hold of.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// The hand.
    pub side: Side,
    /// Kit id of the item.
    pub item: String,
    /// Its part.
    pub part: String,
    /// The part's site.
    pub site: usize,
    /// How it is held.
    pub grip: Grip,
}

/// A place with the zones of the hand that meet it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Place {
    pub site: usize,
    pub zones: Vec<Zone>,
}

/// The places a hand touches, in order, each once with all the zones that meet it.
fn places(ask: &Perform, side: Side) -> Vec<Place> {
    let mut out: Vec<Place> = Vec::new();
    for touch in ask.touches.iter().filter(|t| t.hand == Some(side)) {
        let zone = touch.zone.unwrap_or(Zone::Fingertips);
        match out.iter_mut().find(|p| p.site == touch.site) {
            Some(place) => place.zones.push(zone),
            None => out.push(Place {
                site: touch.site,
                zones: vec![zone],
            }),
        }
    }
    out
}

/// True for a strap, a loop or a tie.
pub(super) fn is_band(part: &str) -> bool {
    part.ends_with("strap") || part.ends_with("loop") || part.ends_with("tie") || part.ends_with("ties")
}

/// The places a hand goes to, in order, and which of them it takes hold of: the last, and with it all other straps that it
/// has gathered. What it touches after that, it touches while the item moves.
pub(super) fn way(ask: &Perform, manner: Manner, side: Side, stage: &Stage) -> (Vec<Place>, Vec<Taken>) {
    let all = places(ask, side);
    let part = |site: usize| match stage.patches.get(site).map(|p| &p.surface) {
        Some(Surface::Part { item, part, .. }) if ask.becomes.iter().any(|i| i.id == *item) => {
            Some((item.clone(), part.clone()))
        }
        _ => None,
    };
    let first = |found: &dyn Fn(&str) -> bool| {
        all.iter()
            .position(|p| part(p.site).is_some_and(|(_, part)| found(&part)))
    };
    let last = match manner {
        Manner::Rub | Manner::Touch | Manner::Don => None,
        // A glove is drawn by its edge, whatever else is touched; an apron lifted by its bib.
        Manner::Peel => first(&|part| part == "cuff").or(first(&|_| true)),
        Manner::ApronOver => first(&|part| part == "bib"),
        Manner::GownCuffs => first(&|part| part.ends_with("cuff")),
        Manner::OverHead | Manner::Forward => {
            let bands = all
                .iter()
                .rposition(|p| part(p.site).is_some_and(|(_, part)| is_band(&part)));
            bands.or(first(&|_| true))
        }
        _ => first(&|_| true),
    };
    let Some(last) = last else {
        let mut all = all;
        all.truncate(STOPS);
        return (all, Vec::new());
    };
    let hook = manner == Manner::Peel
        && all[..=last]
            .iter()
            .any(|p| inner(stage, p.site) || part(p.site).is_none());
    let taken = |p: &Place| {
        let (item, part) = part(p.site)?;
        let grip = Grip::of(&p.zones, inner(stage, p.site));
        Some(Taken {
            side,
            item,
            site: p.site,
            grip: match (manner, grip) {
                (Manner::Peel, _) if hook => Grip::Hook,
                (Manner::Peel, _) => Grip::Pinch,
                (_, Grip::Hook) if part.ends_with("shoulder") => Grip::Gather,
                (Manner::Strip, Grip::Tip) => Grip::Pinch,
                _ if is_band(&part) => Grip::Pinch,
                (_, Grip::Pinch) if part.ends_with("-side") => Grip::Clasp,
                _ => grip,
            },
            part,
        })
    };
    let held = (0..=last).filter(|i| {
        let band = part(all[*i].site).is_some_and(|(_, part)| is_band(&part));
        *i == last || band && part(all[last].site).is_some_and(|(_, part)| is_band(&part))
    });
    // Two hands cannot reach each other's wrists at once: the right one begins.
    let begins = manner != Manner::GownCuffs || side == Side::Right;
    let held: Vec<Taken> = held.filter(|_| begins).filter_map(|i| taken(&all[i])).collect();
    let from = (last + 1).saturating_sub(STOPS);
    (all[from..=last].to_vec(), held)
}

/// Place and outer direction of a patch where the hand of a side meets it, figure space.
pub(super) type Spot<'a> = dyn Fn(Side, usize) -> Option<(Vec3, Vec3)> + 'a;

/// The stops of one hand.
pub(super) fn stops(
    ask: &Perform,
    side: Side,
    (places, taken): (&[Place], &[Taken]),
    stage: &Stage,
    spot: &Spot,
) -> Vec<Stop> {
    let both = |site: usize| {
        let by = |hand| ask.touches.iter().any(|t| t.site == site && t.hand == Some(hand));
        by(Side::Left) && by(Side::Right)
    };
    let stop = |place: &Place| {
        let (p, n) = spot(side, place.site)?;
        let inside = inner(stage, place.site);
        let normal = outward(p, if inside { -n } else { n });
        let same = spot(side.other(), place.site).is_some_and(|(other, _)| other == p);
        let apart = if same && both(place.site) {
            mirrored(side, Vec3::X * 0.05)
        } else {
            Vec3::ZERO
        };
        let grip = grip(place, taken, stage);
        Some(Stop {
            aim: grip.aim(side, p + apart, normal),
            grip,
            normal,
        })
    };
    places.iter().filter_map(stop).collect()
}

/// How a hand meets a place: as it will hold it, if it does.
pub(super) fn grip(place: &Place, taken: &[Taken], stage: &Stage) -> Grip {
    let held = taken.iter().find(|t| t.site == place.site);
    held.map_or_else(|| Grip::of(&place.zones, inner(stage, place.site)), |t| t.grip)
}

/// True for an inner face.
pub(super) fn inner(stage: &Stage, site: usize) -> bool {
    let surface = stage.patches.get(site).map(|p| &p.surface);
    matches!(surface, Some(Surface::Part { inside: true, .. }))
}
