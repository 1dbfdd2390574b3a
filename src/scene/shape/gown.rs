//! The long-sleeved gown: a loose shell over trunk and arms that falls to below the knee, tied behind.

use bevy::math::{Vec2, Vec3};

use super::body;
use super::cuff;
use super::field::{cone, meet, melt, normal, settle, smooth};
use super::figure::{self, SHOULDER, left};
use super::hand::round_forearm;
use super::model::{self, Model, Paint, inner, tag};
use super::nets::nets;
use super::person;
use super::ribbon::{band, bow, hanging, is_knotted, knot, strap};
use super::surf::NONE;
use crate::palette;

/// Part ids, as in `assets/items.ron`.
pub const PARTS: [&str; 15] = [
    "neck-tie",
    "waist-tie",
    "chest",
    "abdomen",
    "lower-front",
    "left-shoulder",
    "right-shoulder",
    "left-upper-sleeve",
    "right-upper-sleeve",
    "left-lower-sleeve",
    "right-lower-sleeve",
    "left-cuff",
    "right-cuff",
    "upper-back",
    "lower-back",
];

const PAINTS: [Paint; 5] = [
    Paint::solid(palette::GOWN, 0.08),
    Paint::solid(palette::GOWN_INSIDE, 0.03),
    Paint::solid(palette::GOWN_TIE, 0.03),
    Paint::solid(palette::GOWN_SEAM, 0.06),
    Paint::solid(palette::GOWN_GROOVE, 0.03),
];

/// Where the sleeve's cloth ends on the cuff: 0 is the elbow, 1 the wrist.
const SLEEVE_ENDS: f32 = 0.688;
/// Height of the hem, metres.
const HEM: f32 = 0.400;
/// How far the hem waves up and down, metres.
const HEM_WAVE: f32 = 0.012;
const WAIST: f32 = 1.075;
/// Where the waist tie is sewn on, radians from the middle of the front.
const SEWN: f32 = 1.32;

/// Folds of the skirt round the body: -1.45 in a valley to 1.45 on a ridge, `turn` radians from the middle of the front.
fn fold(turn: f32, y: f32) -> f32 {
    (turn * 7.0 + 0.6).sin() + 0.45 * (turn * 11.0 + y * 3.0 + 2.0).sin()
}

/// Distance to the skirt, with folds that deepen towards the hem.
fn skirt(p: Vec3) -> f32 {
    let t = smooth(1.12, HEM, p.y);
    let deepens = t * (0.0045 + 0.0125 * smooth(0.95, HEM, p.y));
    let out = t * fold(p.x.atan2(p.z), p.y) * deepens;
    let wide = 0.176 + t * 0.078 + out;
    let deep = 0.134 + t * 0.060 + out;
    let r = (p.x / wide).hypot((p.z + 0.006) / deep);
    let side = (r - 1.0) * deep.min(wide) * 0.92;
    meet(side, (p.y - 1.16).max(HEM - 0.06 - p.y), 0.05)
}

/// Distance to the left sleeve: loose above, gathered into a knitted cuff at the wrist.
fn sleeve(q: Vec3) -> f32 {
    let (e, w, d) = (figure::elbow(), figure::wrist(), figure::fore_dir());
    let upper = cone(q, SHOULDER + Vec3::new(-0.01, 0.0, 0.0), e, 0.071, 0.064);
    let lower = cone(q, e, w - d * 0.112, 0.064, 0.046);
    // Gathers where the elbow bends and where the cloth meets the cuff.
    let t = figure::fore_t(q);
    let bend = smooth(0.10, 0.0, (q - e).length());
    let gather = smooth(0.36, 0.54, t) * smooth(0.68, 0.60, t);
    let ripple = (bend * 0.0030 + gather * 0.0022) * (t * 62.0 + figure::upper_t(q) * 20.0).sin();
    let cloth = melt(upper, lower, 0.015) + ripple;
    // Nothing above the middle of the forearm is near the cuff.
    if t < 0.3 {
        cloth
    } else {
        melt(cloth, cuff::field(q), 0.009)
    }
}

/// Distance to the gown's body without its sleeves.
pub fn body(p: Vec3) -> f32 {
    let d = melt(body::trunk(p) - 0.027, skirt(p), 0.06);
    // The waist tie draws the cloth in a little.
    d + 0.010 * (-((p.y - WAIST) / 0.030).powi(2)).exp() * smooth(0.24, 0.19, p.x.abs())
}

/// Distance to the whole gown as a closed body.
pub fn field(p: Vec3) -> f32 {
    melt(body(p), sleeve(left(p)), 0.055)
}

/// The round opening for the neck, seen from above: half widths and the middle, metres. It leaves a finger's
/// breadth of room at most, so that nothing shows between cloth and skin.
const NECK: Vec2 = Vec2::new(0.0665, 0.0685);
const NECK_MIDDLE: f32 = -0.0145;

/// Above the gown's neckline.
fn neck_open(p: Vec3) -> bool {
    let ring = (p.x / NECK.x).hypot((p.z - NECK_MIDDLE) / NECK.y);
    p.y > 1.36 && ring < 1.0
}

/// Where the gown's cloth ends round the neck, `turn` radians from the middle of the front towards the left;
/// `wider` than 1 is as much farther down the cloth.
fn neck_edge(turn: f32, wider: f32) -> Vec3 {
    let at = |y: f32| {
        Vec3::new(
            turn.sin() * NECK.x * wider,
            y,
            NECK_MIDDLE + turn.cos() * NECK.y * wider,
        )
    };
    let (mut low, mut high) = (1.38, 1.54);
    for _ in 0..12 {
        let middle = (low + high) * 0.5;
        if field(at(middle)) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    at(low)
}

fn part(p: Vec3) -> Option<(&'static str, usize)> {
    let q = left(p);
    let side = p.x >= 0.0;
    let pick = |l, r| if side { l } else { r };
    // Where cloth hangs out in a fold it reaches lower.
    let hem = HEM
        + if p.y < HEM + HEM_WAVE {
            -HEM_WAVE * 0.7 * fold(p.x.atan2(p.z), HEM)
        } else {
            0.0
        };
    if p.y < hem || neck_open(p) {
        return None;
    }
    if body::shoulder_side(q) > 0.0 || figure::past_elbow(q) && body::figure_arm(q) < 0.04 {
        let t = figure::fore_t(q);
        if figure::past_elbow(q) {
            return match t {
                t if t > SLEEVE_ENDS => None,
                _ => Some((pick("left-lower-sleeve", "right-lower-sleeve"), 0)),
            };
        }
        if figure::upper_t(q) > 0.22 {
            return Some((pick("left-upper-sleeve", "right-upper-sleeve"), 0));
        }
        return Some((pick("left-shoulder", "right-shoulder"), 0));
    }
    let front = p.z > body::side_line(p);
    Some(match body::place(p) {
        "left-shoulder" | "left-upper-arm" | "left-forearm" => ("left-shoulder", 0),
        "right-shoulder" | "right-upper-arm" | "right-forearm" => ("right-shoulder", 0),
        _ if !front => (if p.y > 1.165 { "upper-back" } else { "lower-back" }, 0),
        _ if p.y > 1.165 => ("chest", 0),
        _ if p.y > 0.885 => ("abdomen", 0),
        _ => ("lower-front", 0),
    })
}

fn gown_tag(part: &str, paint: usize) -> u16 {
    tag(model::index(&PARTS, part), false, paint)
}

/// Builds the gown, with the named ties undone.
pub fn gown(undone: &[String]) -> Model {
    let mut m = cloth();
    m.join(&trims(undone));
    m
}

/// The gown's cloth: body and sleeves.
pub fn cloth() -> Model {
    let label = |p: Vec3| part(p).map_or(NONE, |(id, paint)| gown_tag(id, paint));
    let shell = nets(
        Vec3::new(-0.46, HEM - 0.04, -0.26),
        Vec3::new(0.46, 1.54, 0.30),
        0.0180,
        &field,
    );
    let shell = shell.cut(&label).lined(0.0035, inner(1));
    let mut m = Model::new(&PARTS, &PAINTS);
    let shade = |p: Vec3| field(p).min(if p.y > 1.42 { person::bust(p) } else { f32::MAX });
    m.add(&shell, Some(&shade));
    m
}

/// What is sewn to the cloth, with the named ties undone or knotted: cuffs, seams and ties. Their edges are looked at closely.
pub fn trims(undone: &[String]) -> Model {
    let mut m = Model::new(&PARTS, &PAINTS);
    cuffs(&mut m);
    let loose = |id: &str| undone.iter().any(|u| u == id);
    let tie = |id: &str, at: Vec3, size: f32, width: f32, tag: u16| match is_knotted(undone, id) {
        true => knot(at, &field, size * 0.9, width, tag),
        false => bow(at, &field, size, width, tag),
    };
    let on = |x: f32, y: f32, z: f32| settle(&field, Vec3::new(x, y, z), 0.004);
    // The neck: a bound edge that carries the tie, and the bow.
    let neck = gown_tag("neck-tie", 2);
    let ring: Vec<Vec3> = (0..=34)
        .map(|i| neck_edge(std::f32::consts::PI * (i as f32 / 17.0 - 1.0), 1.035))
        .collect();
    m.add(
        &band(&ring, |p| normal(&field, p, 0.004), 0.015, 0.006, neck),
        None,
    );
    let nape = neck_edge(std::f32::consts::PI, 1.05);
    if loose("neck-tie") {
        let ends = [-0.022f32, 0.022].map(|x| on(x, nape.y, nape.z));
        m.add(&hanging(&ends, &field, 0.22, 0.014, neck), None);
    } else {
        m.add(
            &tie("neck-tie", on(0.0, nape.y, nape.z), 0.052, 0.014, neck),
            None,
        );
    }
    // Down the back one edge lies over the other.
    let flap = [
        neck_edge(std::f32::consts::PI + 0.47, 1.06),
        on(-0.032, 1.165, -0.22),
        on(-0.032, HEM + 0.004, -0.22),
    ];
    for (part, ends) in ["upper-back", "lower-back"].into_iter().zip(flap.windows(2)) {
        let edge: Vec<Vec3> = (0..=14).map(|i| ends[0].lerp(ends[1], i as f32 / 14.0)).collect();
        m.add(
            &strap(&edge, &field, 0.0004, 0.007, 0.0035, gown_tag(part, 3)),
            None,
        );
    }
    // The waist: sewn on at either side of the front, a band goes round to the back.
    let waist = gown_tag("waist-tie", 2);
    let reach = if loose("waist-tie") { 0.55 } else { 0.04 };
    for s in [-1.0f32, 1.0] {
        let band: Vec<Vec3> = (0..=14)
            .map(|i| {
                let a = SEWN + (std::f32::consts::PI - reach - SEWN) * i as f32 / 14.0;
                on(s * a.sin() * 0.19, WAIST, a.cos() * 0.16)
            })
            .collect();
        m.add(&strap(&band, &field, 0.003, 0.024, 0.004, waist), None);
    }
    if loose("waist-tie") {
        m.add(
            &hanging(
                &[on(0.11, WAIST, -0.15), on(-0.11, WAIST, -0.15)],
                &field,
                0.46,
                0.022,
                waist,
            ),
            None,
        );
    } else {
        m.add(
            &tie("waist-tie", on(0.0, WAIST, -0.16), 0.085, 0.022, waist),
            None,
        );
    }
    m
}

/// The knitted cuffs, and the seams where the sleeves are gathered onto them.
fn cuffs(m: &mut Model) {
    let tag_of = |id: &str, inside, paint| tag(model::index(&PARTS, id), inside, paint);
    let knit = cuff::cuff(
        [tag_of("left-cuff", false, 2), tag_of("left-cuff", false, 4)],
        tag_of("left-cuff", true, 1),
    );
    let ring = round_forearm(&|p| field(p), SLEEVE_ENDS - 0.010, 22);
    let seam = band(
        &ring,
        |p| normal(&field, p, 0.003),
        0.010,
        0.0045,
        tag_of("left-lower-sleeve", false, 3),
    );
    let mut left = Model::new(&PARTS, &PAINTS);
    left.add(&knit, Some(&|p| sleeve(p)));
    left.add(&seam, None);
    m.join(&left);
    m.join(&left.mirrored());
}
