//! A contact of two sites as an event, with the leaks that follow from it.

use std::sync::Arc;

use crate::chance::Key;
use crate::model::{Efficiency, Owner, Setup, SiteIndex};
use crate::transfer::{Cause, Event, Extent, Flow, Spots};

use super::{Planned, State};

/// A contact between two sites and the leaks that follow from it.
#[expect(
    clippy::too_many_arguments,
    reason = "a contact simply has this many properties"
)]
pub(super) fn contact(
    setup: &Setup,
    state: &State,
    out: &mut Vec<Planned>,
    (a, b): (SiteIndex, SiteIndex),
    area: f64,
    slide: bool,
    (cause, chance): (Cause, f64),
    key: Key,
    at: f64,
) {
    if a == b || chance <= 0.0 {
        return;
    }
    out.push(Planned::Flow(contact_event(
        setup,
        state,
        (a, b),
        area,
        slide,
        (cause, chance, false),
        key,
        at,
    )));
    leaks(setup, state, out, &[a, b], chance, key, at);
    soaks(setup, state, out, &[(a, area), (b, area)], chance, key, at);
}

/// What goes through worn cloth to its inside, where it is wet and these areas of these sites are pressed or splashed.
pub(super) fn soaks(
    setup: &Setup,
    state: &State,
    out: &mut Vec<Planned>,
    pressed: &[(SiteIndex, f64)],
    chance: f64,
    key: Key,
    at: f64,
) {
    for &(site, area) in pressed {
        let Owner::Part(item, part, false) = setup.sites[site].owner else {
            continue;
        };
        let (Some(law), Some(inside)) = (setup.soak(site), setup.items[item].parts[part].inside) else {
            continue;
        };
        if !state.is_worn(item) {
            continue;
        }
        let wet = state.is_wet(site, at);
        out.push(Planned::Flow(Event {
            key: key.named("soak").within(site as u64),
            at,
            cause: Cause::Soak,
            chance,
            follows: true,
            flow: Flow::Contact {
                a: site,
                b: inside,
                share_a: (area / setup.sites[site].area).min(1.0),
                share_b: 0.0,
                wet,
                slide: false,
                ab: if wet { law } else { NOTHING },
                ba: NOTHING,
            },
            extent: None,
            spots: spots(setup, state, [Some(site), None]),
        }));
    }
}

/// What never moves.
const NOTHING: Efficiency = Efficiency { mean: 0.0, sd: 0.0 };

/// A small contact between two sites. What is only grazed finds no hole: a hole is far smaller than the patch that it is
/// in.
#[expect(
    clippy::too_many_arguments,
    reason = "a contact simply has this many properties"
)]
pub(super) fn graze(
    setup: &Setup,
    state: &State,
    out: &mut Vec<Planned>,
    (a, b): (SiteIndex, SiteIndex),
    area: f64,
    slide: bool,
    extent: &Arc<Extent>,
    key: Key,
    at: f64,
) {
    if a == b {
        return;
    }
    let law = (Cause::Graze, 1.0, false);
    let event = contact_event(setup, state, (a, b), area, slide, law, key, at);
    out.push(Planned::Flow(Event {
        extent: Some(extent.clone()),
        ..event
    }));
}

/// Fluid that flies from one site onto another and wets it, with what follows from that.
#[expect(
    clippy::too_many_arguments,
    reason = "a splash simply has this many properties"
)]
pub(super) fn splash(
    setup: &Setup,
    state: &mut State,
    out: &mut Vec<Planned>,
    (from, onto): (SiteIndex, SiteIndex),
    law: Efficiency,
    wet: f64,
    key: Key,
    at: f64,
) {
    out.push(Planned::Flow(Event {
        key,
        at,
        cause: Cause::Splash,
        chance: 1.0,
        follows: false,
        flow: Flow::Splash { from, onto, law, wet },
        extent: None,
        spots: None,
    }));
    state.wet_until[onto] = state.wet_until[onto].max(at + wet);
    leaks(setup, state, out, &[onto], 1.0, key, at);
    // What is splashed is wet at once, and all of it.
    let area = setup.sites[onto].area;
    soaks(setup, state, out, &[(onto, area)], 1.0, key, at);
}

/// How the areas of small contacts vary.
pub(super) fn extent(setup: &Setup) -> Arc<Extent> {
    let grazes = &setup.library.grazes;
    Arc::new(Extent::new(grazes.people, grazes.goes))
}

/// What comes off a site as its item is snapped, torn or let fall: the mean share of what sits there.
pub(super) fn shed(
    extent: &Arc<Extent>,
    out: &mut Vec<Planned>,
    (from, onto): (SiteIndex, SiteIndex),
    share: f64,
    key: Key,
    at: f64,
) {
    if from == onto || share <= 0.0 {
        return;
    }
    out.push(Planned::Flow(Event {
        key,
        at,
        cause: Cause::Shed,
        chance: 1.0,
        follows: false,
        flow: Flow::Contact {
            a: from,
            b: onto,
            share_a: share,
            share_b: 0.0,
            wet: false,
            slide: false,
            ab: Efficiency { mean: 1.0, sd: 0.0 },
            ba: NOTHING,
        },
        extent: Some(extent.clone()),
        // What is shaken off comes off everywhere alike.
        spots: None,
    }));
}

/// The passages through faults that follow when these sites are touched or splashed.
pub(super) fn leaks(
    setup: &Setup,
    state: &State,
    out: &mut Vec<Planned>,
    touched: &[SiteIndex],
    chance: f64,
    key: Key,
    at: f64,
) {
    for (given, fault) in state.numbered_faults() {
        let (Some(area), Some(item), Some(part)) = (fault.leak, fault.item, fault.part) else {
            continue;
        };
        if !state.is_worn(item) {
            continue;
        }
        let part = &setup.items[item].parts[part];
        if !touched.contains(&part.outside) {
            continue;
        }
        for &place in &part.places {
            let below = state.beneath(setup, item, place);
            let share = area / part.places.len() as f64;
            let law = (Cause::Leak, chance, true);
            // What was made has a name of its own, so that luck does not depend on how many were given.
            let key = match given {
                Some(n) => key.named("leak").within(n as u64),
                None => key.named("made").named(&fault.fault).within(item as u64),
            };
            let key = key.within(place as u64);
            out.push(Planned::Flow(contact_event(
                setup,
                state,
                (part.outside, below),
                share,
                false,
                law,
                key,
                at,
            )));
        }
    }
}

#[expect(
    clippy::too_many_arguments,
    reason = "a contact simply has this many properties"
)]
fn contact_event(
    setup: &Setup,
    state: &State,
    (a, b): (SiteIndex, SiteIndex),
    area: f64,
    slide: bool,
    (cause, chance, follows): (Cause, f64, bool),
    key: Key,
    at: f64,
) -> Event {
    let wet = state.is_wet(a, at) || state.is_wet(b, at);
    let (ab, ba) = laws(setup, a, b, slide, wet);
    let most = if cause == Cause::Graze { f64::INFINITY } else { 1.0 };
    let share = |site: SiteIndex| (area / setup.sites[site].area).min(most);
    Event {
        key,
        at,
        cause,
        chance,
        follows,
        flow: Flow::Contact {
            a,
            b,
            share_a: share(a),
            share_b: share(b),
            wet,
            slide,
            ab,
            ba,
        },
        extent: None,
        spots: match cause {
            // Hands that rub each other spread what is on them.
            Cause::Mixing => None,
            _ => spots(setup, state, [Some(a), Some(b)]),
        },
    }
}

/// The spots in which lies what is on these sites, unless they have been rubbed since.
fn spots(setup: &Setup, state: &State, sites: [Option<SiteIndex>; 2]) -> Option<Arc<[Option<Spots>; 2]>> {
    let spots = sites.map(|site| {
        site.filter(|site| !state.smeared.contains(site))
            .and_then(|site| Spots::on(setup, site))
    });
    spots.iter().any(Option::is_some).then(|| Arc::new(spots))
}

/// The laws of the efficiencies of a contact, there and back.
pub(crate) fn laws(
    setup: &Setup,
    a: SiteIndex,
    b: SiteIndex,
    slide: bool,
    wet: bool,
) -> (Efficiency, Efficiency) {
    let law = |from: SiteIndex, to: SiteIndex| {
        let material = |site: SiteIndex| setup.sites[site].material;
        setup.efficiencies.get(material(from), material(to), wet, slide)
    };
    (law(a, b), law(b, a))
}
