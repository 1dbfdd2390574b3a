//! What all things of the room share: its parts and paints, where its back wall stands, and how surfaces are added to it.

use bevy::math::{Vec2, Vec3};

use super::model::{self, Model, Paint, tag};
use super::solid::{shadow, sheet};
use super::surf::Surf;
use crate::palette;

/// Furniture with a surface, as in `assets/room.ron`; the last is scenery that is no site.
pub const PARTS: [&str; 21] = [
    "bed-rail",
    "bin-lid",
    "bin-pedal",
    "bin-lid-outside",
    "bin-pedal-outside",
    "rub-dispenser",
    "rub-dispenser-inside",
    "basin",
    "tap",
    "soap-dispenser",
    "basin-inside",
    "tap-inside",
    "soap-dispenser-inside",
    "door-handle-inside",
    "door-handle-outside",
    "chair",
    "phone",
    "pen",
    "id-badge",
    "floor",
    "scenery",
];

pub(super) const WALL_IN: usize = 0;
pub(super) const WALL_OUT: usize = 1;
pub(super) const TRIM: usize = 2;
pub(super) const STEEL: usize = 3;
pub(super) const YELLOW: usize = 4;
pub(super) const WHITE: usize = 5;
pub(super) const TEAL: usize = 6;
pub(super) const DARK: usize = 7;
pub(super) const DOOR: usize = 8;
pub(super) const LINEN: usize = 9;
pub(super) const SEAT: usize = 10;
pub(super) const SHADE: usize = 11;
pub(super) const LINE: usize = 12;
pub(super) const FLOOR_IN: usize = 13;
pub(super) const DADO: usize = 14;
pub(super) const FLOOR_OUT: usize = 15;

/// The part that is the floor. Specks of it are not drawn on it but on [`super::room::spill`]s, where something has met it.
pub const FLOOR: &str = "floor";

pub(super) const PAINTS: [Paint; 16] = [
    Paint::solid(palette::WALL_INSIDE, 0.0),
    Paint::solid(palette::WALL_OUTSIDE, 0.0),
    Paint::solid(palette::TRIM, 0.1),
    Paint::solid(palette::STEEL, 0.75),
    Paint::solid(palette::BIN, 0.30),
    Paint::solid(palette::WHITE, 0.40),
    Paint::solid(palette::TEAL, 0.35),
    Paint::solid(palette::DARK, 0.40),
    Paint::solid(palette::DOOR, 0.15),
    Paint::solid(palette::LINEN, 0.02),
    Paint::solid(palette::SEAT, 0.25),
    Paint::clear(palette::SHADOW, -1.0, 0.52),
    Paint::solid(palette::FLOOR_LINE, 0.10),
    Paint::solid(palette::FLOOR_INSIDE, 0.08),
    Paint::solid(palette::DADO, 0.0),
    Paint::solid(palette::FLOOR_OUTSIDE, 0.08),
];

/// Where the back wall stands, metres.
pub(super) const BACK: f32 = -1.45;
/// Height of the walls, beyond what any view shows, metres.
pub(super) const TOP: f32 = 3.95;
pub(super) fn t(part: &str, paint: usize) -> u16 {
    tag(model::index(&PARTS, part), false, paint)
}

pub(super) fn v(x: f32, y: f32, z: f32) -> Vec3 {
    Vec3::new(x, y, z)
}

pub(super) fn put(m: &mut Model, s: Surf) {
    m.add(&s, None);
}

/// Adds a surface that darkens towards a height, the way walls do near the floor.
pub(super) fn put_shaded(m: &mut Model, s: Surf, shade: impl Fn(Vec3) -> f32) {
    m.ao.extend(s.pos.iter().map(|p| shade(*p)));
    m.surf.join(&s);
}

pub(super) fn drop_shadow(m: &mut Model, centre: Vec3, size: Vec2) {
    let (s, full) = shadow(v(centre.x, 0.003, centre.z), size, t("scenery", SHADE));
    m.ao.extend(full);
    m.surf.join(&s);
}

/// How near the floor comes to the viewer, metres.
const NEAR: f32 = 5.0;

/// A strip of floor from the back wall to the viewer.
pub(super) fn ground(from: f32, to: f32, high: f32, tag: u16) -> Surf {
    let mut s = Surf::default();
    for (near, far) in [(NEAR, BACK + 0.7), (BACK + 0.7, BACK)] {
        s.join(&sheet(
            v(from, high, near),
            v(to - from, 0.0, 0.0),
            v(0.0, 0.0, far - near),
            1,
            1,
            tag,
        ));
    }
    s
}

/// How bright the floor is towards the back wall.
pub(super) fn near_wall(p: Vec3) -> f32 {
    0.80 + 0.20 * ((p.z - BACK) / 0.7).clamp(0.0, 1.0)
}
