//! The room as a plate: floor in three zones with its painted lines, walls, door, bin, sink and the rest.
//!
//! x runs from the patient's side (negative) to the corridor (positive); the back wall stands at z = -1.45. The
//! wall between the two is cut away in front of the doorway, as in a drawing.

use bevy::math::{Mat3, Vec2, Vec3};

use super::bin;
use super::model::{self, Model, Paint, tag};
use super::solid::{bar, rounded, shadow, sheet, spun, turned};
use super::surf::Surf;

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

const WALL_IN: usize = 0;
const WALL_OUT: usize = 1;
const TRIM: usize = 2;
pub(super) const STEEL: usize = 3;
pub(super) const YELLOW: usize = 4;
pub(super) const WHITE: usize = 5;
const TEAL: usize = 6;
pub(super) const DARK: usize = 7;
const DOOR: usize = 8;
const LINEN: usize = 9;
const SEAT: usize = 10;
const SHADE: usize = 11;
const LINE: usize = 12;
const FLOOR_IN: usize = 13;
const FLOOR_MID: usize = 14;
const FLOOR_OUT: usize = 15;

const PAINTS: [Paint; 16] = [
    Paint::hex(0xE9E2D5, 0.0),
    Paint::hex(0xD9E2E1, 0.0),
    Paint::hex(0xF4F0E8, 0.1),
    Paint::hex(0xB4BABD, 0.75),
    Paint::hex(0xE3BE3F, 0.30),
    Paint::hex(0xF3F3F0, 0.40),
    Paint::hex(0x3E8A85, 0.35),
    Paint::hex(0x33393F, 0.40),
    Paint::hex(0xBFA784, 0.15),
    Paint::hex(0xF1F3F2, 0.02),
    Paint::hex(0x6E8C9A, 0.25),
    Paint {
        rgb: [0.10, 0.085, 0.075],
        alpha: 0.52,
        gloss: -1.0,
    },
    Paint::hex(0xB9573F, 0.10),
    Paint::hex(0xD8CCB9, 0.08),
    Paint::hex(0xCFCCC2, 0.08),
    Paint::hex(0xBFCBCB, 0.08),
];

const BACK: f32 = -1.45;
const TOP: f32 = 2.75;
/// Half the width of the doorway zone, metres.
pub const DOORWAY: f32 = 0.46;

pub(super) fn t(part: &str, paint: usize) -> u16 {
    tag(model::index(&PARTS, part), false, paint)
}

fn v(x: f32, y: f32, z: f32) -> Vec3 {
    Vec3::new(x, y, z)
}

/// Builds the room.
pub fn room() -> Model {
    let mut m = Model::new(&PARTS, &PAINTS);
    shell(&mut m);
    door(&mut m);
    drop_shadow(&mut m, bin::AT, Vec2::new(0.36, 0.30));
    bin::bin(&mut m);
    washing(&mut m);
    bed(&mut m);
    chair(&mut m, v(1.12, 0.0, -1.02));
    shelf(&mut m);
    m
}

pub(super) fn put(m: &mut Model, s: Surf) {
    m.add(&s, None);
}

/// Adds a surface that darkens towards a height, the way walls do near the floor.
fn put_shaded(m: &mut Model, s: Surf, shade: impl Fn(Vec3) -> f32) {
    m.ao.extend(s.pos.iter().map(|p| shade(*p)));
    m.surf.join(&s);
}

fn drop_shadow(m: &mut Model, centre: Vec3, size: Vec2) {
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
    let near_wall = |p: Vec3| 0.80 + 0.20 * ((p.z - BACK) / 0.7).clamp(0.0, 1.0);
    for (x0, x1, paint) in [
        (-6.0, -DOORWAY, FLOOR_IN),
        (-DOORWAY, DOORWAY, FLOOR_MID),
        (DOORWAY, 6.0, FLOOR_OUT),
    ] {
        let s = sheet(
            v(x0, 0.0, 5.0),
            v(x1 - x0, 0.0, 0.0),
            v(0.0, 0.0, BACK - 5.0),
            2,
            24,
            t("floor", paint),
        );
        put_shaded(m, s, near_wall);
    }
    // The painted line, and a thin one on the corridor's side.
    for (x, w, paint) in [(-DOORWAY, 0.060, LINE), (DOORWAY, 0.022, WHITE)] {
        let s = sheet(
            v(x - w / 2.0, 0.0016, 5.0),
            v(w, 0.0, 0.0),
            v(0.0, 0.0, BACK - 5.0),
            1,
            24,
            t("floor", paint),
        );
        put_shaded(m, s, near_wall);
    }
    let low = |p: Vec3| {
        let floor = 0.80 + 0.20 * (p.y / 0.6).clamp(0.0, 1.0);
        let corner = 0.86 + 0.14 * ((p.x.abs() - 0.06) / 0.5).clamp(0.0, 1.0);
        floor * corner
    };
    for (x0, x1, paint) in [(-6.0, 0.0, WALL_IN), (0.0, 6.0, WALL_OUT)] {
        put_shaded(
            m,
            sheet(
                v(x0, 0.0, BACK),
                v(x1 - x0, 0.0, 0.0),
                v(0.0, TOP + 1.2, 0.0),
                24,
                10,
                t("scenery", paint),
            ),
            low,
        );
        let (c, h) = ((x0 + x1) / 2.0, (x1 - x0) / 2.0);
        put(
            m,
            rounded(
                v(c, 0.05, BACK + 0.008),
                v(h, 0.05, 0.008),
                0.004,
                t("scenery", TRIM),
            ),
        );
    }
    // A rail along the wall, at the height of a trolley.
    put(
        m,
        rounded(
            v(-3.1, 0.92, BACK + 0.018),
            v(2.75, 0.045, 0.014),
            0.010,
            t("scenery", DOOR),
        ),
    );
}

fn door(m: &mut Model) {
    // The stub of the wall between, its cut end, and the frame.
    let stub = t("scenery", TRIM);
    put(
        m,
        rounded(
            v(0.0, 1.2, BACK + 0.16),
            v(0.055, 1.2, 0.16),
            0.006,
            t("scenery", WALL_OUT),
        ),
    );
    put(
        m,
        rounded(v(0.0, 1.06, BACK + 0.345), v(0.075, 1.06, 0.03), 0.008, stub),
    );
    put(
        m,
        rounded(v(0.0, 2.15, BACK + 0.53), v(0.075, 0.035, 0.215), 0.008, stub),
    );
    // The leaf stands open into the room.
    let hinge = v(0.0, 0.0, BACK + 0.39);
    let turn = Mat3::from_rotation_y(-0.72);
    let leaf = |s: Surf| spun(s, hinge, turn);
    let (w, z) = (0.80, hinge.z);
    put(
        m,
        leaf(rounded(
            v(0.0, 1.055, z + w / 2.0),
            v(0.021, 1.045, w / 2.0),
            0.006,
            t("scenery", DOOR),
        )),
    );
    for x in [-0.0225, 0.0225] {
        put(
            m,
            leaf(rounded(
                v(x, 1.52, z + w * 0.62),
                v(0.002, 0.30, 0.075),
                0.002,
                t("scenery", WALL_OUT),
            )),
        );
    }
    for (x, id) in [(-1.0f32, "door-handle-inside"), (1.0, "door-handle-outside")] {
        let (a, b) = (x * 0.030, x * 0.062);
        let zz = z + w - 0.085;
        put(
            m,
            leaf(rounded(
                v(x * 0.026, 1.02, zz),
                v(0.006, 0.085, 0.022),
                0.005,
                t(id, STEEL),
            )),
        );
        put(
            m,
            leaf(bar(
                &[
                    v(a, 1.03, zz),
                    v(b, 1.03, zz),
                    v(b + x * 0.004, 1.03, zz - 0.02),
                    v(b, 1.03, zz - 0.13),
                ],
                0.020,
                t(id, STEEL),
            )),
        );
    }
    drop_shadow(m, v(-0.28, 0.0, BACK + 0.70), Vec2::new(0.34, 0.34));
}

fn washing(m: &mut Model) {
    // Hand rub on the wall beside the door, with its drip tray.
    let r = v(0.36, 1.18, BACK + 0.055);
    put(
        m,
        rounded(
            r + v(0.0, 0.05, 0.0),
            v(0.058, 0.120, 0.050),
            0.020,
            t("rub-dispenser", WHITE),
        ),
    );
    put(
        m,
        rounded(
            r + v(0.0, 0.045, 0.0505),
            v(0.030, 0.070, 0.002),
            0.0019,
            t("rub-dispenser", TEAL),
        ),
    );
    put(
        m,
        rounded(
            r + v(0.0, -0.095, 0.020),
            v(0.046, 0.016, 0.048),
            0.012,
            t("rub-dispenser", TEAL),
        ),
    );
    put(
        m,
        rounded(
            r + v(0.0, -0.30, 0.015),
            v(0.062, 0.008, 0.062),
            0.007,
            t("scenery", WHITE),
        ),
    );
    put(
        m,
        rounded(
            r + v(0.0, -0.20, -0.047),
            v(0.030, 0.105, 0.004),
            0.004,
            t("scenery", WHITE),
        ),
    );
    // A rack of three glove boxes above.
    for (i, paint) in [(0.0f32, TEAL), (1.0, SEAT), (2.0, TEAL)] {
        let b = v(0.78 + i * 0.25, 1.62, BACK + 0.055);
        put(m, rounded(b, v(0.115, 0.062, 0.050), 0.006, t("scenery", WHITE)));
        put(
            m,
            rounded(
                b + v(0.0, -0.030, 0.0505),
                v(0.110, 0.026, 0.0015),
                0.0014,
                t("scenery", paint),
            ),
        );
        put(
            m,
            rounded(
                b + v(0.0, 0.016, 0.0505),
                v(0.050, 0.018, 0.0012),
                0.0011,
                t("scenery", DARK),
            ),
        );
    }
    // The sink, its tap and the soap.
    let s = v(1.72, 0.0, BACK);
    let profile = [
        (0.085, 0.60),
        (0.16, 0.70),
        (0.235, 0.80),
        (0.255, 0.862),
        (0.255, 0.880),
        (0.230, 0.880),
        (0.205, 0.840),
        (0.13, 0.770),
        (0.0, 0.755),
    ];
    let bowl = turned(
        s + v(0.0, 0.0, 0.235),
        &profile.map(|(r, y)| Vec2::new(r, y)),
        40,
        t("scenery", WHITE),
    );
    put_shaded(m, bowl, |p| {
        if p.y > 0.86 {
            1.0
        } else {
            0.80 + 0.2 * ((p.y - 0.6) / 0.28).clamp(0.0, 1.0)
        }
    });
    put(
        m,
        rounded(
            s + v(0.0, 0.93, 0.030),
            v(0.270, 0.10, 0.030),
            0.014,
            t("scenery", WHITE),
        ),
    );
    put(
        m,
        turned(
            s + v(0.0, 0.0, 0.13),
            &[Vec2::new(0.055, 0.02), Vec2::new(0.055, 0.66)],
            24,
            t("scenery", WHITE),
        ),
    );
    let tap = s + v(0.0, 1.0, 0.05);
    put(
        m,
        bar(
            &[
                tap,
                tap + v(0.0, 0.13, 0.005),
                tap + v(0.0, 0.185, 0.06),
                tap + v(0.0, 0.165, 0.135),
                tap + v(0.0, 0.125, 0.150),
            ],
            0.026,
            t("tap", STEEL),
        ),
    );
    put(
        m,
        rounded(
            tap + v(0.0, 0.010, 0.0),
            v(0.034, 0.014, 0.030),
            0.010,
            t("tap", STEEL),
        ),
    );
    put(
        m,
        bar(
            &[
                tap + v(0.030, 0.02, 0.0),
                tap + v(0.075, 0.035, 0.015),
                tap + v(0.135, 0.040, 0.045),
            ],
            0.014,
            t("tap", STEEL),
        ),
    );
    let soap = s + v(0.42, 1.17, 0.052);
    put(
        m,
        rounded(soap, v(0.054, 0.105, 0.048), 0.020, t("soap-dispenser", WHITE)),
    );
    put(
        m,
        rounded(
            soap + v(0.0, 0.02, 0.0485),
            v(0.026, 0.050, 0.002),
            0.0019,
            t("soap-dispenser", SEAT),
        ),
    );
    put(
        m,
        rounded(
            soap + v(0.0, -0.115, 0.018),
            v(0.042, 0.014, 0.045),
            0.011,
            t("soap-dispenser", SEAT),
        ),
    );
}

fn bed(m: &mut Model) {
    // The foot of a bed, coming in from the left.
    drop_shadow(m, v(-2.35, 0.0, -0.62), Vec2::new(1.0, 0.75));
    let foot = v(-1.62, 0.0, -0.66);
    put(
        m,
        rounded(
            foot + v(-0.90, 0.55, 0.0),
            v(0.90, 0.085, 0.42),
            0.060,
            t("scenery", LINEN),
        ),
    );
    put(
        m,
        rounded(
            foot + v(-0.86, 0.58, 0.0),
            v(0.80, 0.090, 0.45),
            0.070,
            t("scenery", SEAT),
        ),
    );
    put(
        m,
        rounded(
            foot + v(-0.90, 0.40, 0.0),
            v(0.90, 0.050, 0.40),
            0.020,
            t("scenery", WHITE),
        ),
    );
    put(
        m,
        rounded(
            foot + v(0.035, 0.58, 0.0),
            v(0.022, 0.27, 0.45),
            0.020,
            t("scenery", DOOR),
        ),
    );
    for z in [-0.36, 0.36] {
        put(
            m,
            bar(
                &[foot + v(-0.12, 0.36, z), foot + v(-0.12, 0.09, z)],
                0.040,
                t("scenery", STEEL),
            ),
        );
        put(
            m,
            turned(
                foot + v(-0.12, 0.0, z),
                &[
                    Vec2::new(0.0, 0.0),
                    Vec2::new(0.042, 0.012),
                    Vec2::new(0.050, 0.05),
                    Vec2::new(0.042, 0.085),
                    Vec2::new(0.0, 0.10),
                ],
                20,
                t("scenery", DARK),
            ),
        );
    }
    // The rail along the near side.
    let z = 0.47;
    let rail = t("bed-rail", STEEL);
    put(
        m,
        bar(
            &[
                foot + v(-0.16, 0.48, z),
                foot + v(-0.16, 0.88, z),
                foot + v(-0.20, 0.94, z),
                foot + v(-0.30, 0.955, z),
                foot + v(-1.2, 0.955, z),
            ],
            0.032,
            rail,
        ),
    );
    put(
        m,
        bar(&[foot + v(-0.16, 0.72, z), foot + v(-1.2, 0.72, z)], 0.020, rail),
    );
    for x in [-0.40, -0.62, -0.84, -1.06] {
        put(
            m,
            bar(&[foot + v(x, 0.52, z), foot + v(x, 0.955, z)], 0.016, rail),
        );
    }
}

fn chair(m: &mut Model, at: Vec3) {
    drop_shadow(m, at, Vec2::new(0.36, 0.33));
    let seat = t("chair", SEAT);
    let leg = t("chair", STEEL);
    put(
        m,
        rounded(at + v(0.0, 0.455, 0.01), v(0.215, 0.022, 0.205), 0.022, seat),
    );
    put(
        m,
        spun(
            rounded(at + v(0.0, 0.72, -0.205), v(0.205, 0.155, 0.016), 0.016, seat),
            at + v(0.0, 0.5, -0.2),
            Mat3::from_rotation_x(-0.16),
        ),
    );
    for x in [-0.185f32, 0.185] {
        put(
            m,
            bar(&[at + v(x * 1.05, 0.0, 0.19), at + v(x, 0.43, 0.17)], 0.022, leg),
        );
        put(
            m,
            bar(
                &[
                    at + v(x * 1.05, 0.0, -0.22),
                    at + v(x, 0.44, -0.18),
                    at + v(x, 0.66, -0.225),
                ],
                0.022,
                leg,
            ),
        );
    }
}

fn shelf(m: &mut Model) {
    // A small shelf by the door with the things people forget are contaminated: phone, pen, badge on its hook.
    let s = v(0.66, 1.10, BACK + 0.085);
    put(m, rounded(s, v(0.165, 0.010, 0.085), 0.008, t("scenery", DOOR)));
    put(
        m,
        rounded(
            s + v(0.0, -0.045, -0.072),
            v(0.150, 0.040, 0.010),
            0.006,
            t("scenery", DOOR),
        ),
    );
    let lean = Mat3::from_rotation_x(-0.22);
    let phone = s + v(-0.085, 0.088, -0.018);
    put(
        m,
        spun(
            rounded(phone, v(0.040, 0.078, 0.0055), 0.0052, t("phone", DARK)),
            phone,
            lean,
        ),
    );
    put(
        m,
        spun(
            rounded(
                phone + v(0.0, 0.002, 0.0056),
                v(0.034, 0.066, 0.0008),
                0.0007,
                t("phone", SEAT),
            ),
            phone,
            lean,
        ),
    );
    // The pen stands in a cup.
    let cup = s + v(0.020, 0.010, 0.010);
    put(
        m,
        turned(
            cup,
            &[
                Vec2::new(0.026, 0.0),
                Vec2::new(0.029, 0.082),
                Vec2::new(0.026, 0.082),
                Vec2::new(0.024, 0.010),
                Vec2::new(0.0, 0.010),
            ],
            24,
            t("scenery", WHITE),
        ),
    );
    put(
        m,
        bar(
            &[cup + v(-0.006, 0.012, 0.0), cup + v(0.016, 0.165, -0.004)],
            0.012,
            t("pen", TEAL),
        ),
    );
    put(
        m,
        bar(
            &[cup + v(0.016, 0.165, -0.004), cup + v(0.0195, 0.190, -0.005)],
            0.009,
            t("pen", DARK),
        ),
    );
    let hook = s + v(0.118, -0.025, 0.020);
    put(
        m,
        bar(
            &[
                hook + v(0.0, 0.012, -0.03),
                hook + v(0.0, 0.0, 0.0),
                hook + v(0.0, 0.012, 0.008),
            ],
            0.008,
            t("scenery", STEEL),
        ),
    );
    put(
        m,
        bar(
            &[
                hook + v(0.0, 0.004, 0.004),
                hook + v(-0.020, -0.10, 0.004),
                hook + v(0.0, -0.175, 0.004),
            ],
            0.006,
            t("id-badge", TEAL),
        ),
    );
    put(
        m,
        bar(
            &[
                hook + v(0.0, 0.004, 0.004),
                hook + v(0.020, -0.10, 0.004),
                hook + v(0.0, -0.175, 0.004),
            ],
            0.006,
            t("id-badge", TEAL),
        ),
    );
    let card = hook + v(0.0, -0.222, 0.006);
    put(
        m,
        rounded(card, v(0.034, 0.048, 0.0025), 0.0024, t("id-badge", WHITE)),
    );
    put(
        m,
        rounded(
            card + v(0.0, 0.006, 0.003),
            v(0.015, 0.019, 0.0008),
            0.0007,
            t("id-badge", SEAT),
        ),
    );
    put(
        m,
        rounded(
            card + v(0.0, -0.030, 0.003),
            v(0.024, 0.0045, 0.0008),
            0.0007,
            t("id-badge", DARK),
        ),
    );
}
