//! Hand hygiene: taking the product, hands rubbing each other, what each zone loses, and drying.

use crate::chance::Key;
use crate::model::{
    Effect, Efficiency, Fixture, ItemKind, Owner, Product, Reduction, Setup, Side, SiteIndex, Worked, Zone,
};
use crate::transfer::{Cause, Event, Flow, Removal};

use super::contact::contact;
use super::reach::at_words;
use super::{Action, ActiveFault, First, Planned, Refusal, State};

/// How hands are cleaned.
#[derive(Clone, Copy)]
pub(super) struct Way<'a> {
    /// Doses taken.
    pub doses: u32,
    /// How long in all, s.
    pub seconds: f64,
    /// Zones left out.
    pub skip: &'a [Zone],
    /// True if the forearms are cleaned too.
    pub forearms: bool,
}

/// A surface that is cleaned.
struct Cleaned {
    side: Side,
    /// The zone of the hand; none for a forearm.
    zone: Option<Zone>,
    site: SiteIndex,
    /// Share of it that is reached.
    share: f64,
}

pub(super) fn clean(
    setup: &Setup,
    state: &mut State,
    product: &str,
    way: Way<'_>,
) -> Result<Vec<Planned>, Refusal> {
    let product = setup
        .library
        .product(product)
        .ok_or_else(|| Refusal::new(format!("there is no hand hygiene product `{product}`")))?;
    if !(1..=10).contains(&way.doses) {
        return Err(Refusal::new("take between 1 and 10 doses"));
    }
    if !(0.1..=600.0).contains(&way.seconds) {
        return Err(Refusal::new("cleaning hands lasts between 0.1 and 600 seconds"));
    }
    let taken_from = setup.sources(product, state.whereabouts);
    if taken_from.is_empty() {
        let refusal = Refusal::new(format!("there is no {} here", product.label));
        return Err(match &setup.had(product)[..] {
            [] => refusal.hint("this building has none"),
            places => refusal.hint(format!("it can be had {}", at_words(places))),
        });
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
    let arms = if way.forearms {
        bare_forearms(setup, state, product)?
    } else {
        Vec::new()
    };
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
    let signature = Key::of("clean").named(&product.id);
    let key = signature.within(state.occurrence(signature));
    let began = state.clock;
    let mut out = Vec::new();
    take(setup, state, &mut out, &taken_from, key.named("take"), began);

    // The forearms come first, so that what runs off them is washed off the hands too.
    let for_arms = product
        .forearms
        .as_ref()
        .filter(|_| way.forearms)
        .map_or(0.0, |f| f.seconds.min(way.seconds));
    let for_hands = way.seconds - for_arms;
    let arms: Vec<Cleaned> = arms
        .into_iter()
        .map(|(side, site)| Cleaned {
            side,
            zone: None,
            site,
            share: product.forearms.as_ref().map_or(0.0, |f| for_arms / f.seconds),
        })
        .collect();
    let covered = coverage(product, for_hands, way.skip);
    let left_out = missed(setup, state);
    let zones: Vec<Cleaned> = Side::BOTH
        .into_iter()
        .flat_map(|side| covered.iter().map(move |&(zone, share)| (side, zone, share)))
        .filter_map(|(side, zone, share)| {
            let site = hand_surface(setup, state, side, zone)?;
            Some(Cleaned {
                side,
                zone: Some(zone),
                site,
                share: if left_out.contains(&site) { 0.0 } else { share },
            })
        })
        .collect();

    // Hands are wet from the moment the product is on them, so what they carry smears before it goes.
    let amount = product.dose_ml * f64::from(way.doses);
    let dries = began + Product::interpolate(&product.dries, amount);
    for cleaned in arms.iter().chain(&zones).filter(|c| c.share > 0.0) {
        state.wet_until[cleaned.site] = state.wet_until[cleaned.site].max(dries);
        state.smear(setup, cleaned.site);
    }
    if let Some(forearms) = &product.forearms {
        for arm in &arms {
            let palm = state.outermost(setup, setup.zone_place(arm.side.other(), Zone::Palm), None);
            let (key, at) = (
                key.named("forearm").within(arm.side as u64),
                began + for_arms / 3.0,
            );
            let law = (Cause::Mixing, 1.0);
            contact(
                setup,
                state,
                &mut out,
                (palm, arm.site),
                forearms.area,
                true,
                law,
                key,
                at,
            );
        }
    }
    let removal = |cleaned: &Cleaned, seconds: f64, at: f64| {
        removed(product, reduction, amount, seconds, cleaned, key, at)
    };
    out.extend(arms.iter().map(|c| removal(c, for_arms, began + for_arms)));
    mix(
        setup,
        state,
        &mut out,
        product,
        &zones,
        key,
        began + (for_arms + for_hands / 3.0),
    );
    out.extend(zones.iter().map(|c| removal(c, for_hands, began + way.seconds)));
    state.pass(way.seconds);
    Ok(out)
}

/// The places of skin that cleaning leaves out, such as what is under a watch.
fn missed(setup: &Setup, state: &State) -> Vec<SiteIndex> {
    let places = |fault: &ActiveFault| match setup.library.fault(&fault.fault).map(|f| &f.effect) {
        Some(Effect::Misses { places }) => places.iter().filter_map(|id| setup.place(id)).collect(),
        _ => Vec::new(),
    };
    state.every_fault().flat_map(places).collect()
}

/// What is touched to get the product: by the right palm, but for what is worked in another way.
fn take(setup: &Setup, state: &State, out: &mut Vec<Planned>, from: &[(SiteIndex, f64)], key: Key, at: f64) {
    let palm = state.outermost(setup, setup.zone_place(Side::Right, Zone::Palm), None);
    for (n, &(site, area)) in from.iter().enumerate() {
        let fixture = match setup.sites[site].owner {
            Owner::Room(piece) => setup.library.furniture[piece].fixture,
            _ => None,
        };
        let worked = match (&setup.building, fixture) {
            (Some(building), Some(Fixture::Tap)) => building.taps,
            (Some(building), Some(Fixture::Soap | Fixture::Rub)) => building.pumps,
            _ => Worked::Hand,
        };
        let elbow = setup.building.as_ref().map_or(area, |building| building.elbow);
        let by = match worked {
            Worked::Hand => Some((palm, area)),
            Worked::Elbow => setup
                .place("right-forearm")
                .map(|place| (state.outermost(setup, place, None), elbow)),
            Worked::Sensor => None,
        };
        // The first keeps its luck whatever else is touched.
        let key = if n == 0 { key } else { key.within(n as u64) };
        if let Some((by, area)) = by {
            let law = (Cause::Touch, 1.0);
            contact(setup, state, out, (by, site), area, false, law, key, at);
        }
    }
}

/// The forearms, if they are bare and the product is for them.
fn bare_forearms(setup: &Setup, state: &State, product: &Product) -> Result<Vec<(Side, SiteIndex)>, Refusal> {
    if product.forearms.is_none() {
        return Err(
            Refusal::new(format!("nothing is known of {} on forearms", product.label))
                .hint("wash them with soap and water"),
        );
    }
    let mut arms = Vec::new();
    for side in Side::BOTH {
        let Some(place) = setup.place(&format!("{}-forearm", side.word())) else {
            continue;
        };
        if let Some((item, _)) = state.top(setup, place, None) {
            return Err(Refusal::new(format!(
                "your {} forearm is under the {}",
                side.word(),
                setup.items[item].label
            ))
            .waits_for(First::Item(item)));
        }
        arms.push((side, state.outermost(setup, place, None)));
    }
    Ok(arms)
}

/// What a cleaning of so many seconds takes off one surface.
fn removed(
    product: &Product,
    reduction: &Reduction,
    amount: f64,
    seconds: f64,
    cleaned: &Cleaned,
    key: Key,
    at: f64,
) -> Planned {
    let factor = Product::interpolate(&reduction.by_amount, amount)
        * Product::interpolate(&reduction.by_seconds, seconds);
    let reached = cleaned.share > 0.0;
    let law = Removal {
        mean: reduction.mean * factor,
        sd: reduction.sd * factor,
        missed: Efficiency {
            mean: 1.0 - cleaned.share * (1.0 - Product::interpolate(&product.missed, amount)),
            sd: if reached { product.missed_sd } else { 0.0 },
        },
        partial: if reached { reduction.missed } else { 0.0 },
    };
    Planned::Flow(Event {
        key: key
            .named(cleaned.zone.map_or("forearm", Zone::word))
            .within(cleaned.side as u64),
        at,
        cause: Cause::Hygiene,
        chance: 1.0,
        follows: false,
        flow: Flow::Removal {
            site: cleaned.site,
            law,
            fate: product.fate,
        },
        extent: None,
        spots: None,
    })
}

/// True if nothing lies over either forearm.
pub fn forearms_bare(setup: &Setup, state: &State) -> bool {
    Side::BOTH.into_iter().all(|side| {
        setup
            .place(&format!("{}-forearm", side.word()))
            .is_none_or(|place| state.top(setup, place, None).is_none())
    })
}

/// A cleaning in full with a product: its usual doses, for `seconds` or as long as is usual if that is longer; with
/// bare forearms, which take their own time, if these are wanted, can be had, and the product is for them.
pub fn in_full(setup: &Setup, state: &State, product: &Product, seconds: f64, forearms: bool) -> Action {
    let arms = product
        .forearms
        .as_ref()
        .filter(|_| forearms && forearms_bare(setup, state));
    Action::Clean {
        product: product.id.clone(),
        doses: product.doses,
        seconds: seconds.max(product.seconds) + arms.map_or(0.0, |f| f.seconds),
        skip: Vec::new(),
        forearms: arms.is_some(),
    }
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
    zones: &[Cleaned],
    key: Key,
    at: f64,
) {
    let palm = |side: Side| {
        zones
            .iter()
            .find(|c| c.side == side && c.zone == Some(Zone::Palm) && c.share > 0.0)
            .map(|c| c.site)
    };
    let (Some(left), Some(right)) = (palm(Side::Left), palm(Side::Right)) else {
        return;
    };
    let law = (Cause::Mixing, 1.0);
    let area = product.mixing.area;
    let palms = (left, right);
    contact(setup, state, out, palms, area, true, law, key.named("palms"), at);
    for cleaned in zones.iter().filter(|c| c.share > 0.0) {
        let Some(zone) = cleaned.zone.filter(|&zone| zone != Zone::Palm) else {
            continue;
        };
        let other = if cleaned.side == Side::Left { right } else { left };
        let key = key.named("mix").named(zone.word()).within(cleaned.side as u64);
        let area = area * cleaned.share;
        contact(setup, state, out, (other, cleaned.site), area, true, law, key, at);
    }
}
