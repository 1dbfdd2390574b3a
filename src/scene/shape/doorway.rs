//! The partition between room and corridor, cut away in front of the doorway as in a drawing; its frame, the door, the
//! threshold and the sign beside it. The door is modelled shut.

use bevy::math::{Vec2, Vec3};

use super::model::Model;
use super::plate::{
    BACK, DARK, DOOR, SHADE, STEEL, TOP, TRIM, WALL_IN, WALL_OUT, WHITE, ground, near_wall, put, put_shaded,
    t, v,
};
use super::solid::{bar, rounded, shadow, sheet, slab};
use super::surf::Surf;

/// Half the thickness of the partition, metres.
pub(super) const WALL: f32 = 0.08;
/// Where the doorway begins; how high it is; how far the wall above it is drawn, metres.
const JAMB: f32 = BACK + 0.45;
const HEAD: f32 = 1.98;
const CUT: f32 = JAMB + 0.62;
/// What the door's leaf turns about, an upright: it is hung on the room's side and opens into the room.
pub const HINGE: Vec3 = Vec3::new(-WALL, 0.0, JAMB + 0.012);
/// How far the leaf turns until it stands open, radians.
pub const OPEN: f32 = -0.78;
/// Width of the leaf and half its thickness, metres.
const LEAF: f32 = 0.74;
const THICK: f32 = 0.021;
/// The middle of a lever while the door is shut: how far from the leaf's middle, how high, how far from the hinge, metres.
const LEVER: Vec3 = Vec3::new(0.062, 1.03, LEAF - 0.160);
/// Half the thickness of a lever, metres.
pub const LEVER_HALF: f32 = 0.010;
/// Height of the leaf's shadow above the floor, where nothing else lies, and half its size, metres.
const SHADOW: f32 = 0.0035;
const SHADE_HALF: Vec2 = Vec2::new(0.12, LEAF / 2.0 + 0.05);

/// Adds the partition with its doorway to the room.
pub(super) fn doorway(m: &mut Model) {
    partition(m);
    leaf(m);
    sign(m);
}

fn partition(m: &mut Model) {
    let scenery = |paint| t("scenery", paint);
    // Its two faces have the colours of the sides they belong to.
    for (x, paint, z) in [(-WALL, WALL_IN, 1.0), (WALL, WALL_OUT, -1.0)] {
        for (from, to, low, high) in [(BACK, JAMB, 0.0, HEAD), (BACK, CUT, HEAD, TOP)] {
            let (along, start) = ((to - from) * z, if z > 0.0 { from } else { to });
            let s = sheet(
                v(x, low, start),
                v(0.0, 0.0, along),
                v(0.0, high - low, 0.0),
                1,
                1,
                scenery(paint),
            );
            put_shaded(m, s, |p| near_wall(p) * (0.86 + 0.14 * p.y.clamp(0.0, 1.0)));
        }
        let out = x + 0.016 * x.signum();
        put(
            m,
            slab(
                v(x.min(out), 0.0, BACK),
                v(x.max(out), 0.10, JAMB - 0.07),
                scenery(TRIM),
            ),
        );
    }
    put(
        m,
        sheet(
            v(-WALL, HEAD, CUT),
            v(2.0 * WALL, 0.0, 0.0),
            v(0.0, TOP - HEAD, 0.0),
            1,
            1,
            scenery(TRIM),
        ),
    );
    // The frame: a post as wide as the wall and a little more, a head that runs towards the viewer, and in both the
    // dark seal of the rebate the leaf shuts into.
    let lining = WALL + 0.014;
    put(
        m,
        rounded(
            v(0.0, HEAD / 2.0, JAMB - 0.035),
            v(lining, HEAD / 2.0, 0.035),
            0.006,
            scenery(TRIM),
        ),
    );
    put(
        m,
        slab(
            v(-lining, HEAD, JAMB - 0.07),
            v(lining, HEAD + 0.06, CUT + 0.002),
            scenery(TRIM),
        ),
    );
    let stop = -WALL + 0.050;
    put(
        m,
        slab(
            v(stop, 0.0, JAMB),
            v(stop + 0.009, HEAD, JAMB + 0.006),
            scenery(DARK),
        ),
    );
    put(
        m,
        slab(
            v(stop, HEAD - 0.006, JAMB),
            v(stop + 0.009, HEAD, CUT),
            scenery(DARK),
        ),
    );
    put(
        m,
        slab(
            v(stop + 0.009, 0.0, JAMB),
            v(WALL - 0.012, HEAD, JAMB + 0.012),
            scenery(WHITE),
        ),
    );
    // The threshold goes on under where the wall is cut away: it parts the floors from end to end.
    put_shaded(m, ground(-WALL, WALL, 0.0, t("floor", DARK)), |_| 1.0);
    for x in [-WALL + 0.018, WALL - 0.030] {
        put_shaded(m, ground(x, x + 0.012, 0.0016, t("floor", STEEL)), near_wall);
    }
}

/// The middle of a lever while the door is shut, on the corridor's side or the room's.
pub fn lever(outside: bool) -> Vec3 {
    let side = if outside { 1.0 } else { -1.0 };
    HINGE + LEVER * Vec3::new(side, 1.0, 1.0)
}

/// True for a point of the leaf, its handles or its shadow while it is shut.
pub fn is_leaf(p: Vec3) -> bool {
    let q = p - HINGE;
    if (q.y - SHADOW).abs() < 0.0002 {
        return q.x.abs() < SHADE_HALF.x + 0.001 && (q.z - LEAF / 2.0).abs() < SHADE_HALF.y + 0.001;
    }
    // Beside the hinge stands the frame.
    let clear = q.z > 0.001 || q.x.abs() < THICK + 0.001;
    let high = q.y > 0.010 && q.y < HEAD - 0.011;
    clear && high && q.x.abs() < 0.13 && (-0.0005..LEAF + 0.001).contains(&q.z)
}

fn leaf(m: &mut Model) {
    let Vec3 { x, z, .. } = HINGE;
    put(
        m,
        rounded(
            v(x, HEAD / 2.0, z + LEAF / 2.0),
            v(THICK, HEAD / 2.0 - 0.012, LEAF / 2.0),
            0.006,
            t("scenery", DOOR),
        ),
    );
    for side in [-1.0f32, 1.0] {
        let mut face = |out: f32, from: Vec2, to: Vec2, paint: usize| {
            let (a, b) = (x + side * THICK, x + side * (THICK + out));
            let low = v(a.min(b), from.y, z + from.x);
            put(m, slab(low, v(a.max(b), to.y, z + to.x), t("scenery", paint)));
        };
        // A pane in its bead, and a plate where trolleys push.
        face(0.003, Vec2::new(0.405, 1.185), Vec2::new(0.575, 1.815), TRIM);
        face(0.005, Vec2::new(0.420, 1.200), Vec2::new(0.560, 1.800), WALL_OUT);
        face(
            0.002,
            Vec2::new(0.030, 0.030),
            Vec2::new(LEAF - 0.030, 0.260),
            STEEL,
        );
    }
    for (side, id) in [(-1.0f32, "door-handle-inside"), (1.0, "door-handle-outside")] {
        let (a, b) = (x + side * 0.030, x + side * LEVER.x);
        let zz = z + LEAF - 0.085;
        put(
            m,
            rounded(
                v(x + side * 0.026, 1.02, zz),
                v(0.006, 0.085, 0.022),
                0.005,
                t(id, STEEL),
            ),
        );
        let lever = [
            v(a, LEVER.y, zz),
            v(b, LEVER.y, zz),
            v(b + side * 0.004, LEVER.y, zz - 0.02),
            v(b, LEVER.y, zz - 0.13),
        ];
        put(m, bar(&lever, 2.0 * LEVER_HALF, t(id, STEEL)));
    }
    let middle = v(x, SHADOW, z + LEAF / 2.0);
    let (s, full) = shadow(middle, SHADE_HALF, t("scenery", SHADE));
    m.ao.extend(full);
    m.surf.join(&s);
}

/// A plate on the corridor's wall: somebody lies in a bed, this way.
fn sign(m: &mut Model) {
    let at = v(0.345, 1.66, BACK);
    let mut plate = |x: f32, y: f32, half: Vec2, out: f32, paint: usize| {
        let corner = at + v(x - half.x, y - half.y, out);
        let (across, up) = (v(2.0 * half.x, 0.0, 0.0), v(0.0, 2.0 * half.y, 0.0));
        put(m, sheet(corner, across, up, 1, 1, t("scenery", paint)));
    };
    plate(0.0, 0.0, Vec2::new(0.165, 0.100), 0.008, WHITE);
    let mut mark = |x: f32, y: f32, wide: f32, high: f32| plate(x, y, Vec2::new(wide, high), 0.010, DARK);
    // The bed: its head, its foot, what one lies on; and who lies on it, head and body.
    mark(-0.035, -0.005, 0.006, 0.052);
    mark(0.135, -0.025, 0.006, 0.032);
    mark(0.050, -0.028, 0.085, 0.008);
    mark(-0.008, 0.006, 0.014, 0.014);
    mark(0.070, 0.000, 0.052, 0.012);
    // The arrow: a shaft and a point.
    mark(-0.095, 0.0, 0.028, 0.007);
    let point = [
        v(-0.145, 0.0, 0.010),
        v(-0.108, -0.030, 0.010),
        v(-0.108, 0.030, 0.010),
    ];
    let surf = Surf {
        pos: point.map(|p| at + p).to_vec(),
        nrm: vec![Vec3::Z; 3],
        tris: vec![[0, 1, 2]],
        tags: vec![t("scenery", DARK)],
    };
    put(m, surf);
}

#[cfg(test)]
mod tests {
    use super::super::model::part_of;
    use super::super::plate::{PAINTS, PARTS};
    use super::super::room;
    use super::*;

    fn alone() -> Model {
        let mut m = Model::new(&PARTS, &PAINTS);
        leaf(&mut m);
        m
    }

    #[test]
    fn the_leaf_turns_as_one_and_nothing_else_does() {
        let room = room::room();
        let mut turning = 0;
        for (tri, tag) in room.surf.tris.iter().zip(&room.surf.tags) {
            let leaf = tri.map(|v| is_leaf(room.surf.pos[v as usize]));
            assert!(
                leaf.iter().all(|l| *l == leaf[0]),
                "a triangle at {} is torn when the door opens",
                room.surf.pos[tri[0] as usize]
            );
            let handle = room.parts[part_of(*tag)].starts_with("door-handle");
            assert!(
                leaf[0] || !handle,
                "a handle stays where it is when the door opens"
            );
            turning += usize::from(leaf[0]);
        }
        assert_eq!(
            turning,
            alone().surf.tris.len(),
            "something turns that is not of the door"
        );
    }

    #[test]
    fn levers_are_where_a_hand_finds_them() {
        let alone = alone();
        for outside in [false, true] {
            let near = alone.surf.pos.iter().map(|p| p.distance(lever(outside)));
            let gap = near.fold(f32::MAX, f32::min);
            assert!(gap < 0.05, "the lever is {gap} m from where hands go");
        }
    }
}
