//! The overshoe: a loose plastic bag over the shoe, gathered by elastic at the ankle.

use bevy::math::Vec3;

use super::body;
use super::field::{melt, noise};
use super::model::{Model, Paint, inner, tag};
use super::nets::nets;
use super::surf::NONE;
use crate::palette;

/// Part ids, as in `assets/items.ron`.
pub const PARTS: [&str; 2] = ["upper", "sole"];

const PAINTS: [Paint; 3] = [
    Paint::solid(palette::OVERSHOE, 0.40),
    Paint::solid(palette::OVERSHOE_INSIDE, 0.25),
    Paint::solid(palette::OVERSHOE_SOLE, 0.30),
];

/// Builds the left overshoe.
pub fn overshoe() -> Model {
    let cuff = |p: Vec3| {
        let r = (p - Vec3::new(0.106, 0.0, -0.026)) * Vec3::new(1.0, 0.0, 0.92);
        (r.length() - 0.0755).max((p.y - 0.150).max(0.03 - p.y))
    };
    let field = |p: Vec3| {
        let crease = noise(p * 55.0) * 0.0024 + (p.y * 190.0 + p.z * 90.0).sin() * 0.0012;
        melt(body::shoe(p) - 0.009, cuff(p), 0.05) + crease
    };
    let label = |p: Vec3| {
        if p.y > 0.142 {
            return NONE;
        }
        if p.y < 0.012 {
            tag(1, false, 2)
        } else {
            tag(0, false, if p.y > 0.133 { 2 } else { 0 })
        }
    };
    let surf = nets(
        Vec3::new(0.0, -0.02, -0.16),
        Vec3::new(0.24, 0.17, 0.25),
        0.0075,
        &field,
    )
    .cut(&label);
    let mut m = Model::new(&PARTS, &PAINTS);
    m.add(&surf.lined(0.001, inner(1)), Some(&field));
    m
}
