//! The room as a plate: two floors and the painted line, two back walls, and all that stands before them.
//!
//! x runs from the patient's side (negative) to the corridor (positive); the back wall stands at z = -1.45. Warm
//! colours are inside, cool ones outside.

use bevy::math::{Vec2, Vec3};

use super::bin;
use super::doorway::{WALL, doorway};
use super::furniture::{bed, chair, drip, shelf, washing};
use super::model::{self, Model, Paint, tag};
use super::solid::{bar, rounded, shadow, sheet, slab};
use super::surf::Surf;
use crate::palette;

/// Furniture with a surface, as in `assets/room.ron`; the last is scenery that is no site.
pub const PARTS: [&str; 14] = [
    "bed-rail",
    "bin-lid",
    "bin-pedal",
    "rub-dispenser",
    "tap",
    "soap-dispenser",
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
const SHADE: usize = 11;
const LINE: usize = 12;
const FLOOR_IN: usize = 13;
const DADO: usize = 14;
const FLOOR_OUT: usize = 15;

const PAINTS: [Paint; 16] = [
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
/// How far walls and floor go to either side, and how near the floor comes, metres.
const FAR: f32 = 6.0;
const NEAR: f32 = 5.0;
/// Where the corridor's darker paint ends and its rail runs; where walls grow darker towards the floor, and how far
/// from the corner, metres.
const RAIL: f32 = 0.80;
const LOW: f32 = 0.6;
const CORNER: f32 = 0.5;
/// Half the width of the doorway zone, metres.
pub const DOORWAY: f32 = 0.46;

pub(super) fn t(part: &str, paint: usize) -> u16 {
    tag(model::index(&PARTS, part), false, paint)
}

pub(super) fn v(x: f32, y: f32, z: f32) -> Vec3 {
    Vec3::new(x, y, z)
}

/// Builds the room.
pub fn room() -> Model {
    let mut m = Model::new(&PARTS, &PAINTS);
    beyond(&mut m);
    shell(&mut m);
    doorway(&mut m);
    drop_shadow(&mut m, bin::AT, Vec2::new(0.36, 0.30));
    bin::bin(&mut m);
    washing(&mut m);
    bed(&mut m);
    drip(&mut m);
    chair(&mut m, v(1.12, 0.0, -1.02));
    shelf(&mut m);
    m
}

/// What is seen past the ends of walls and floor: a box round everything, so that the room covers all of any picture
/// and whatever moves is wholly painted over. It is lit alike everywhere.
fn beyond(m: &mut Model) {
    const HALF: f32 = 15.0;
    for axis in [Vec3::X, Vec3::Y, Vec3::Z] {
        let (u, w) = (
            Vec3::new(axis.y, axis.z, axis.x),
            Vec3::new(axis.z, axis.x, axis.y),
        );
        for (side, u, w) in [(axis, w, u), (-axis, u, w)] {
            let corner = (side - u - w) * HALF;
            let mut s = sheet(
                corner,
                u * 2.0 * HALF,
                w * 2.0 * HALF,
                1,
                1,
                t("scenery", WALL_IN),
            );
            s.nrm.fill(Vec3::Z);
            put(m, s);
        }
    }
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

/// The soft shadow under the person; it belongs to the figure, not the room. It is round, so that it stays as it is when
/// the person turns.
pub fn body_shadow() -> Model {
    let mut m = Model::new(&PARTS, &PAINTS);
    drop_shadow(&mut m, Vec3::ZERO, Vec2::splat(0.46));
    m
}

/// The darker shadow under each foot, with toes to +z.
pub fn feet_shadow() -> Model {
    let mut m = Model::new(&PARTS, &PAINTS);
    for x in [0.11, -0.11] {
        drop_shadow(&mut m, v(x, 0.0, 0.04), Vec2::new(0.12, 0.22));
    }
    m
}

fn shell(m: &mut Model) {
    for (from, to, wall, floor) in [(-FAR, -WALL, WALL_IN, FLOOR_IN), (WALL, FAR, WALL_OUT, FLOOR_OUT)] {
        put_shaded(m, ground(from, to, 0.0, t("floor", floor)), near_wall);
        let away = |x: f32| ((x.abs() - WALL) / CORNER).clamp(0.0, 1.0);
        let shade = |p: Vec3| (0.80 + 0.20 * (p.y / LOW).clamp(0.0, 1.0)) * (0.86 + 0.14 * away(p.x));
        // Corridors are painted darker where trolleys pass.
        let rows: &[(f32, f32, usize)] = if wall == WALL_IN {
            &[(0.0, LOW, WALL_IN), (LOW, TOP, WALL_IN)]
        } else {
            &[(0.0, LOW, DADO), (LOW, RAIL, DADO), (RAIL, TOP, WALL_OUT)]
        };
        let near = CORNER.copysign(from + to);
        let mut columns = [from, to, WALL.copysign(near) + near];
        columns.sort_by(f32::total_cmp);
        for (low, high, paint) in rows {
            for pair in columns.windows(2) {
                let (across, up) = (v(pair[1] - pair[0], 0.0, 0.0), v(0.0, high - low, 0.0));
                let s = sheet(v(pair[0], *low, BACK), across, up, 1, 1, t("scenery", *paint));
                put_shaded(m, s, shade);
            }
        }
        put(
            m,
            slab(v(from, 0.0, BACK), v(to, 0.10, BACK + 0.016), t("scenery", TRIM)),
        );
    }
    put_shaded(
        m,
        ground(-DOORWAY - 0.03, -DOORWAY + 0.03, 0.0016, t("floor", LINE)),
        near_wall,
    );
    // A board along the wall behind the bed; a rail to hold on to along the corridor, which the sink interrupts.
    put(
        m,
        rounded(
            v(-3.1, 0.92, BACK + 0.018),
            v(2.75, 0.045, 0.014),
            0.010,
            t("scenery", DOOR),
        ),
    );
    for (from, to) in [(0.20, 1.36), (2.24, FAR)] {
        let (wall, out) = (BACK + 0.004, BACK + 0.062);
        let path = [
            v(from, RAIL, wall),
            v(from + 0.03, RAIL, out),
            v(to - 0.03, RAIL, out),
            v(to, RAIL, wall),
        ];
        for pair in path.windows(2) {
            put(m, bar(pair, 0.046, t("scenery", SEAT)));
        }
    }
}

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
