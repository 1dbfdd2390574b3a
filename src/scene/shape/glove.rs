//! The glove, outer and inner: the hand's own field a little larger, with a rolled edge.

use bevy::math::Vec3;

use super::field::{cone, melt, normal, smooth};
use super::figure;
use super::hand::{Hand, round_forearm};
use super::model::{self, Model, Paint, inner, is_inside, tag};
use super::nets::nets;
use super::person;
use super::ribbon::band;
use super::surf::NONE;
use crate::palette;

/// Part ids, as in `assets/items.ron`.
pub const PARTS: [&str; 6] = ["fingertips", "thumb", "finger-pads", "palm", "back", "cuff"];

const OUTER: [Paint; 3] = [
    Paint::solid(palette::GLOVE, 0.42),
    Paint::solid(palette::GLOVE_INSIDE, 0.25),
    Paint::solid(palette::GLOVE_BEAD, 0.42),
];
const INNER: [Paint; 3] = [
    Paint::solid(palette::UNDERGLOVE, 0.40),
    Paint::solid(palette::UNDERGLOVE_INSIDE, 0.25),
    Paint::solid(palette::UNDERGLOVE_BEAD, 0.40),
];

/// Where a glove ends, or with `under` the inner glove: in lengths of the forearm from the elbow.
pub fn edge(under: bool) -> f32 {
    if under { 0.90 } else { 0.775 }
}

/// Builds the left glove, or with `under` the thinner inner glove.
pub fn glove(under: bool) -> Model {
    let hand = Hand::default();
    let grow = if under { 0.0008 } else { 0.0015 };
    let edge = edge(under);
    let (w, d) = (figure::wrist(), figure::fore_dir());
    let field = |p: Vec3| {
        let skin = hand.field(p) - grow;
        if under {
            return skin;
        }
        // Loose over the gown's cuff, with small wrinkles at the wrist.
        let t = figure::fore_t(p);
        let wrinkle = 0.0008 * smooth(0.82, 0.92, t) * smooth(1.12, 1.0, t) * (t * 100.0).sin();
        let sleeve = cone(p, w - d * 0.072, w + d * 0.012, 0.0430, 0.0375) + wrinkle;
        melt(skin, sleeve, 0.020)
    };
    let label = |p: Vec3| {
        let t = figure::fore_t(p);
        if t < edge {
            return NONE;
        }
        let part = match hand.zone(p) {
            Some("fingertips") => "fingertips",
            Some("thumb") => "thumb",
            Some("finger-pads") => "finger-pads",
            Some("palm") => "palm",
            Some("back-of-hand") => "back",
            _ => "cuff",
        };
        tag(model::index(&PARTS, part), false, 0)
    };
    let (lo, hi) = person::hand_box();
    let surf = nets(lo - 0.01, hi + 0.01, 0.0041, &field)
        .cut(&label)
        .lined(0.0009, inner(1));
    let mut m = Model::new(&PARTS, if under { &INNER } else { &OUTER });
    // The inside shows when it is turned out, and then lies in the light.
    let mut lit = vec![false; surf.pos.len()];
    for (tri, _) in surf.tris.iter().zip(&surf.tags).filter(|(_, t)| is_inside(**t)) {
        tri.iter().for_each(|v| lit[*v as usize] = true);
    }
    m.add_partly(&surf, &field, &lit);
    // The edge is rolled: a bead of its own keeps it clean whatever the mesh.
    let thick = if under { 0.0036 } else { 0.0050 };
    let ring = round_forearm(&field, edge + 0.004, 36);
    let bead = band(
        &ring,
        |p| normal(&field, p, 0.003),
        thick,
        thick,
        tag(model::index(&PARTS, "cuff"), false, 2),
    );
    m.add(&bead, None);
    m
}
