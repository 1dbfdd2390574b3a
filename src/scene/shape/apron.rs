//! The thin apron: bib, waist and lap in front, a loop behind the neck and ties behind the waist.

use bevy::math::Vec3;

use super::body;
use super::field::{egg, melt, settle, smooth};
use super::gown;
use super::model::{self, Model, Paint, inner, tag};
use super::nets::nets;
use super::person;
use super::ribbon::{bow, hanging, strap};
use super::surf::NONE;

/// Part ids, as in `assets/items.ron`.
pub const PARTS: [&str; 5] = ["neck-loop", "bib", "waist", "lap", "waist-ties"];

const PAINTS: [Paint; 3] = [
    Paint::clear(0xF1F7FA, 0.55, 0.86),
    Paint::clear(0xDCE7EC, 0.35, 0.9),
    Paint::clear(0xF6FAFB, 0.4, 0.95),
];

const WAIST: f32 = 1.095;
const HEM: f32 = 0.47;

/// Asks for the apron as it hangs without a gown beneath it.
pub const BARE: &str = "bare";

/// Distance to the sheet's surface, taken as a closed body a little outside the gown, or over scrubs alone.
fn sheet(p: Vec3, bare: bool) -> f32 {
    let fold = smooth(1.05, HEM, p.y) * 0.004 * (p.x.atan2(p.z) * 9.0 + 1.0).sin();
    if bare {
        // From the hips down it hangs free of the legs.
        let fall = egg(p, Vec3::new(0.0, 0.55, 0.0), Vec3::new(0.205, 0.75, 0.150));
        melt(body::scrub_top(p) - 0.005, fall, 0.04) + fold
    } else {
        gown::body(p) - 0.011 + fold
    }
}

fn part(p: Vec3) -> Option<&'static str> {
    if p.z < -0.02 || p.y < HEM + 0.02 * smooth(0.0, 0.3, p.x.abs()) {
        return None;
    }
    // Half the sheet's width at this height: a narrow bib that sweeps out to the waist.
    let half = 0.098 + 0.075 * smooth(1.32, WAIST + 0.02, p.y) + 0.03 * smooth(WAIST, 0.6, p.y);
    // Round the body it is measured along the curve; the flat bib sideways, but no farther round than the rest.
    let round = p.x.atan2(p.z + 0.10).abs() * 0.19;
    let turn = round.max(p.x.abs() * smooth(WAIST - 0.01, WAIST + 0.06, p.y));
    if p.y > 1.362 - 0.02 * smooth(0.06, 0.0, p.x.abs()) || turn > half {
        return None;
    }
    Some(match p.y {
        y if y > 1.165 => "bib",
        y if y > 0.885 => "waist",
        _ => "lap",
    })
}

fn apron_tag(part: &str, paint: usize) -> u16 {
    tag(model::index(&PARTS, part), false, paint)
}

/// Builds the apron, with the named ties undone. A torn neck loop hangs forward.
pub fn apron(undone: &[String]) -> Model {
    let loose = |id: &str| undone.iter().any(|u| u == id);
    let bare = loose(BARE);
    let field = move |p: Vec3| sheet(p, bare);
    let under = move |p: Vec3| {
        if bare {
            body::scrub_top(p)
        } else {
            gown::body(p) - 0.008
        }
    };
    let label = |p: Vec3| part(p).map_or(NONE, |id| apron_tag(id, 0));
    let shell = nets(
        Vec3::new(-0.27, HEM - 0.03, -0.06),
        Vec3::new(0.27, 1.42, 0.30),
        0.0165,
        &field,
    )
    .cut(&label);
    let mut m = Model::new(&PARTS, &PAINTS);
    m.add(&shell.lined(0.0025, inner(1)), Some(&field));
    let on = |x: f32, y: f32, z: f32| settle(&field, Vec3::new(x, y, z), 0.002);
    let neck = apron_tag("neck-loop", 2);
    let lie = |p: Vec3| melt(under(p), person::bust(p) - 0.004, 0.02);
    let (a, b) = (on(0.088, 1.352, 0.12), on(-0.088, 1.352, 0.12));
    if loose("neck-loop") {
        m.add(&hanging(&[a, b], &field, 0.13, 0.016, neck), None);
    } else {
        let ring: Vec<Vec3> = [
            (0.088, 1.352, 0.115),
            (0.092, 1.42, 0.05),
            (0.078, 1.475, -0.03),
            (0.040, 1.485, -0.085),
            (0.0, 1.487, -0.10),
        ]
        .into_iter()
        .map(|(x, y, z)| Vec3::new(x, y, z))
        .collect();
        let mut whole = ring.clone();
        whole.extend(ring.iter().rev().skip(1).map(|p| Vec3::new(-p.x, p.y, p.z)));
        m.add(&strap(&whole, &lie, 0.004, 0.016, 0.004, neck), None);
    }
    let waist = apron_tag("waist-ties", 2);
    let reach = if loose("waist-ties") { 0.9 } else { 0.04 };
    for s in [-1.0f32, 1.0] {
        let band: Vec<Vec3> = (0..=12)
            .map(|i| {
                let a = 1.25 + (std::f32::consts::PI - reach - 1.25) * i as f32 / 12.0;
                on(s * a.sin() * 0.20, WAIST + 0.02, a.cos() * 0.17)
            })
            .collect();
        m.add(&strap(&band, &field, 0.002, 0.020, 0.004, waist), None);
    }
    if loose("waist-ties") {
        let ends = [on(0.15, WAIST + 0.02, -0.12), on(-0.15, WAIST + 0.02, -0.12)];
        m.add(&hanging(&ends, &field, 0.40, 0.020, waist), None);
    } else {
        m.add(
            &bow(on(0.0, WAIST + 0.02, -0.17), &field, 0.075, 0.020, waist),
            None,
        );
    }
    m
}
