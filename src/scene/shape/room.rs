//! The room as a plate: two floors and the painted line, two back walls, and all that stands before them.
//!
//! x runs from the patient's side (negative) to the corridor (positive); the back wall stands at z = -1.45. Warm
//! colours are inside, cool ones outside.

use bevy::math::{Vec2, Vec3};

use super::bin;
use super::doorway::{WALL, doorway};
use super::furniture::{basins, bed, chair, drip, shelf, washing};
use super::model::{Model, Paint};
use super::plate::{
    BACK, DADO, DOOR, FLOOR, FLOOR_IN, FLOOR_OUT, LINE, PAINTS, PARTS, SEAT, TOP, TRIM, WALL_IN, WALL_OUT,
    drop_shadow, ground, near_wall, put, put_shaded, t, v,
};
use super::solid::{bar, rounded, shadow, sheet, slab};
use crate::palette;

/// How far walls and floor go to either side, metres.
const FAR: f32 = 6.0;
/// Where the corridor's darker paint ends and its rail runs; where walls grow darker towards the floor, and how far
/// from the corner, metres.
const RAIL: f32 = 0.80;
const LOW: f32 = 0.6;
const CORNER: f32 = 0.5;
/// Half the width of the doorway zone, metres.
pub const DOORWAY: f32 = 0.46;

/// Builds the room.
pub fn room() -> Model {
    let mut m = Model::new(&PARTS, &PAINTS);
    beyond(&mut m);
    shell(&mut m);
    doorway(&mut m);
    for at in [bin::AT, bin::OUTSIDE] {
        drop_shadow(&mut m, at, Vec2::new(0.36, 0.30));
    }
    bin::bins(&mut m);
    washing(&mut m);
    basins(&mut m);
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

/// How far round its middle a place on the floor shows specks, metres.
pub const SPILL: f32 = 0.30;

/// A place on the floor about the origin that shows the floor's specks and nothing else, fewer towards its rim; `wide`
/// metres round.
pub fn spill(wide: f32) -> Model {
    let mut m = Model::new(&PARTS, &[Paint::clear(palette::SHADOW, -1.0, -1.0)]);
    let (s, full) = shadow(Vec3::Y * 0.005, Vec2::splat(wide), t(FLOOR, 0));
    m.ao.extend(full);
    m.surf.join(&s);
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
            v(-3.625, 0.92, BACK + 0.018),
            v(2.225, 0.045, 0.014),
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
