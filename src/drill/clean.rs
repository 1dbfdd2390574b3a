//! Hand hygiene: taking the product, hands rubbing each other, what each zone loses, and drying.

use crate::chance::Key;
use crate::model::{Efficiency, ItemKind, Owner, Product, Setup, Side, SiteIndex, Zone};
use crate::transfer::{Cause, Event, Flow, Removal};

use super::contact::contact;
use super::{First, Planned, Refusal, State};

pub(super) fn clean(
    setup: &Setup,
    state: &mut State,
    product: &str,
    doses: u32,
    seconds: f64,
    skip: &[Zone],
) -> Result<Vec<Planned>, Refusal> {
    let product = setup
        .library
        .product(product)
        .ok_or_else(|| Refusal::new(format!("there is no hand hygiene product `{product}`")))?;
    if !(1..=10).contains(&doses) {
        return Err(Refusal::new("take between 1 and 10 doses"));
    }
    if !(0.1..=600.0).contains(&seconds) {
        return Err(Refusal::new("cleaning hands lasts between 0.1 and 600 seconds"));
    }
    if !product.at.contains(&state.whereabouts) {
        let places: Vec<&str> = product.at.iter().map(|w| w.word()).collect();
        return Err(Refusal::new(format!("there is no {} here", product.label))
            .hint(format!("it can be had {}", places.join(" or "))));
    }
    if let Some((side, item)) = Side::BOTH
        .into_iter()
        .find_map(|side| state.in_hand(side).next().map(|i| (side, i)))
    {
        return Err(Refusal::new(format!(
            "your {} hand is full: it holds the {}",
            side.word(),
            setup.items[item].label
        ))
        .hint("put it in the bin first")
        .waits_for(First::Item(item)));
    }
    if product.gloves_only
        && let Some(side) = Side::BOTH
            .into_iter()
            .find(|&side| state.glove(setup, side).is_none())
    {
        return Err(Refusal::new(format!(
            "your {} hand is bare, and {} is not for skin",
            side.word(),
            product.label
        ))
        .hint("clean bare hands with hand rub, or with soap and water"));
    }
    let dispenser = setup
        .furniture(&product.touches)
        .ok_or_else(|| Refusal::new(format!("there is no `{}` in this room", product.touches)))?;
    let signature = Key::of("clean").named(&product.id);
    let key = signature.within(state.occurrence(signature));
    let began = state.clock;
    let mut out = Vec::new();

    let taking = state.outermost(setup, setup.zone_place(Side::Right, Zone::Palm), None);
    let touch = (Cause::Touch, 1.0);
    contact(
        setup,
        state,
        &mut out,
        (taking, dispenser),
        product.touch_area,
        false,
        touch,
        key.named("take"),
        began,
    );

    let amount = product.dose_ml * f64::from(doses);
    let covered = coverage(product, seconds, skip);
    let zones: Vec<(Side, Zone, SiteIndex, f64)> = Side::BOTH
        .into_iter()
        .flat_map(|side| covered.iter().map(move |&(zone, share)| (side, zone, share)))
        .filter_map(|(side, zone, share)| {
            hand_surface(setup, state, side, zone).map(|site| (side, zone, site, share))
        })
        .collect();

    // Hands are wet from the moment the product is on them, so what they carry smears before it goes.
    let dries = began + Product::interpolate(&product.dries, amount);
    for &(_, _, site, share) in &zones {
        if share > 0.0 {
            state.wet_until[site] = state.wet_until[site].max(dries);
        }
    }
    mix(
        setup,
        state,
        &mut out,
        product,
        &zones,
        key,
        began + seconds / 3.0,
    );

    let Some(reduction) = product
        .reductions
        .iter()
        .find(|r| r.class == setup.organism.class)
    else {
        return Err(Refusal::new(format!(
            "nothing is known of {} against this organism",
            product.label
        )));
    };
    let factor = Product::interpolate(&reduction.by_amount, amount)
        * Product::interpolate(&reduction.by_seconds, seconds);
    let missed_by_amount = Product::interpolate(&product.missed, amount);
    for &(side, zone, site, share) in &zones {
        let missed = 1.0 - share * (1.0 - missed_by_amount);
        let law = Removal {
            mean: reduction.mean * factor,
            sd: reduction.sd * factor,
            missed: Efficiency {
                mean: missed,
                sd: if share > 0.0 { product.missed_sd } else { 0.0 },
            },
            partial: if share > 0.0 { reduction.missed } else { 0.0 },
        };
        out.push(Planned::Flow(Event {
            key: key.named(zone.word()).within(side as u64),
            at: began + seconds,
            cause: Cause::Hygiene,
            chance: 1.0,
            follows: false,
            flow: Flow::Removal {
                site,
                law,
                fate: product.fate,
            },
        }));
    }
    state.pass(seconds);
    Ok(out)
}

/// How much of each zone the time reaches: zones are covered one after another over the asked length. Zones left
/// out are not covered at all.
pub fn coverage(product: &Product, seconds: f64, skip: &[Zone]) -> Vec<(Zone, f64)> {
    let each = product.seconds / product.order.len() as f64;
    product
        .order
        .iter()
        .enumerate()
        .map(|(n, &zone)| {
            let share = if skip.contains(&zone) {
                0.0
            } else {
                (seconds / each - n as f64).clamp(0.0, 1.0)
            };
            (zone, share)
        })
        .collect()
}

/// The surface that is cleaned at a zone: skin, or the glove over it; nothing if a sleeve covers it.
fn hand_surface(setup: &Setup, state: &State, side: Side, zone: Zone) -> Option<SiteIndex> {
    let site = state.outermost(setup, setup.zone_place(side, zone), None);
    match setup.sites[site].owner {
        Owner::Body(_) => Some(site),
        Owner::Part(item, ..) if setup.definition(item).kind == ItemKind::Glove => Some(site),
        _ => None,
    }
}

/// Each palm meets every other zone of the other hand, and the palms each other.
fn mix(
    setup: &Setup,
    state: &State,
    out: &mut Vec<Planned>,
    product: &Product,
    zones: &[(Side, Zone, SiteIndex, f64)],
    key: Key,
    at: f64,
) {
    let palm = |side: Side| {
        zones
            .iter()
            .find(|z| z.0 == side && z.1 == Zone::Palm && z.3 > 0.0)
            .map(|z| z.2)
    };
    let (Some(left), Some(right)) = (palm(Side::Left), palm(Side::Right)) else {
        return;
    };
    let law = (Cause::Mixing, 1.0);
    contact(
        setup,
        state,
        out,
        (left, right),
        product.mixing.area,
        true,
        law,
        key.named("palms"),
        at,
    );
    for &(side, zone, site, share) in zones {
        if zone != Zone::Palm && share > 0.0 {
            let other = if side == Side::Left { right } else { left };
            let key = key.named("mix").named(zone.word()).within(side as u64);
            contact(
                setup,
                state,
                out,
                (other, site),
                product.mixing.area * share,
                true,
                law,
                key,
                at,
            );
        }
    }
}
