//! The partition between room and corridor, cut away in front of the doorway as in a drawing; its frame, the open door,
//! the threshold and the sign beside it.

use bevy::math::{Mat3, Vec2, Vec3};

use super::model::Model;
use super::plate::{
    BACK, DARK, DOOR, STEEL, TOP, TRIM, WALL_IN, WALL_OUT, WHITE, drop_shadow, ground, near_wall, put,
    put_shaded, t, v,
};
use super::solid::{bar, rounded, sheet, slab, spun};
use super::surf::Surf;

/// Half the thickness of the partition, metres.
pub(super) const WALL: f32 = 0.08;
/// Where the doorway begins; how high it is; how far the wall above it is drawn, metres.
const JAMB: f32 = BACK + 0.45;
const HEAD: f32 = 1.98;
const CUT: f32 = JAMB + 0.62;
/// Width of the door's leaf, metres, and how far it stands open, radians.
const LEAF: f32 = 0.74;
const OPEN: f32 = -0.78;

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

fn leaf(m: &mut Model) {
    // It is hung on the room's side and stands open into the room.
    let hinge = v(-WALL, 0.0, JAMB + 0.012);
    let turn = Mat3::from_rotation_y(OPEN);
    let leaf = |s: Surf| spun(s, hinge, turn);
    let (x, z) = (hinge.x, hinge.z);
    let on = |from: f32, to: f32| (v(x + from, 0.0, z), v(x + to, 0.0, z));
    let thick = 0.021;
    put(
        m,
        leaf(rounded(
            v(x, HEAD / 2.0, z + LEAF / 2.0),
            v(thick, HEAD / 2.0 - 0.012, LEAF / 2.0),
            0.006,
            t("scenery", DOOR),
        )),
    );
    for side in [-1.0f32, 1.0] {
        let face = |near: f32, far: f32, from: Vec2, to: Vec2, paint: usize| {
            let (a, b) = on(side * (thick + near), side * (thick + far));
            let low = v(a.x.min(b.x), from.y, z + from.x);
            leaf(slab(low, v(a.x.max(b.x), to.y, z + to.x), t("scenery", paint)))
        };
        // A pane in its bead, and a plate where trolleys push.
        put(
            m,
            face(0.0, 0.003, Vec2::new(0.405, 1.185), Vec2::new(0.575, 1.815), TRIM),
        );
        put(
            m,
            face(
                0.0,
                0.005,
                Vec2::new(0.420, 1.200),
                Vec2::new(0.560, 1.800),
                WALL_OUT,
            ),
        );
        put(
            m,
            face(
                0.0,
                0.002,
                Vec2::new(0.030, 0.030),
                Vec2::new(LEAF - 0.030, 0.260),
                STEEL,
            ),
        );
    }
    for (side, id) in [(-1.0f32, "door-handle-inside"), (1.0, "door-handle-outside")] {
        let (a, b) = (x + side * 0.030, x + side * 0.062);
        let zz = z + LEAF - 0.085;
        put(
            m,
            leaf(rounded(
                v(x + side * 0.026, 1.02, zz),
                v(0.006, 0.085, 0.022),
                0.005,
                t(id, STEEL),
            )),
        );
        let lever = [
            v(a, 1.03, zz),
            v(b, 1.03, zz),
            v(b + side * 0.004, 1.03, zz - 0.02),
            v(b, 1.03, zz - 0.13),
        ];
        put(m, leaf(bar(&lever, 0.020, t(id, STEEL))));
    }
    drop_shadow(m, v(-0.36, 0.0, JAMB + 0.28), Vec2::new(0.34, 0.34));
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
