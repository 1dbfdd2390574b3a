//! What stands in the room and hangs on its walls: hand rub, basins, bed, chair, shelf. Knows no wall but the one behind.

use bevy::math::{Mat3, Vec2, Vec3};

use super::model::Model;
use super::plate::{BACK, DARK, DOOR, LINEN, SEAT, STEEL, TEAL, WHITE, drop_shadow, put, put_shaded, t, v};
use super::solid::{bar, rounded, slab, spun, turned};

pub(super) fn washing(m: &mut Model) {
    // Hand rub on the wall to either side of the door, with drip trays.
    rub(m, v(0.36, 1.18, BACK + 0.055), "rub-dispenser");
    rub(m, v(-0.36, 1.18, BACK + 0.055), "rub-dispenser-inside");
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
}

/// A dispenser of hand rub with its drip tray.
fn rub(m: &mut Model, r: Vec3, part: &str) {
    put(
        m,
        rounded(
            r + v(0.0, 0.05, 0.0),
            v(0.058, 0.120, 0.050),
            0.020,
            t(part, WHITE),
        ),
    );
    put(
        m,
        rounded(
            r + v(0.0, 0.045, 0.0505),
            v(0.030, 0.070, 0.002),
            0.0019,
            t(part, TEAL),
        ),
    );
    put(
        m,
        rounded(
            r + v(0.0, -0.095, 0.020),
            v(0.046, 0.016, 0.048),
            0.012,
            t(part, TEAL),
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
}

/// A basin with its tap and soap: in the corridor, and one inside beside the bed.
pub(super) fn basins(m: &mut Model) {
    basin(m, v(1.72, 0.0, BACK), 0.42, ["basin", "tap", "soap-dispenser"]);
    let inside = ["basin-inside", "tap-inside", "soap-dispenser-inside"];
    basin(m, v(-0.86, 0.0, BACK), -0.42, inside);
}

/// A basin on the wall; the soap hangs so far to the side of it.
fn basin(m: &mut Model, s: Vec3, to_soap: f32, [basin, tap_id, soap_id]: [&str; 3]) {
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
        t(basin, WHITE),
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
            t(basin, WHITE),
        ),
    );
    put(
        m,
        turned(
            s + v(0.0, 0.0, 0.13),
            &[Vec2::new(0.055, 0.02), Vec2::new(0.055, 0.66)],
            24,
            t(basin, WHITE),
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
            t(tap_id, STEEL),
        ),
    );
    put(
        m,
        rounded(
            tap + v(0.0, 0.010, 0.0),
            v(0.034, 0.014, 0.030),
            0.010,
            t(tap_id, STEEL),
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
            t(tap_id, STEEL),
        ),
    );
    let soap = s + v(to_soap, 1.17, 0.052);
    put(m, rounded(soap, v(0.054, 0.105, 0.048), 0.020, t(soap_id, WHITE)));
    put(
        m,
        rounded(
            soap + v(0.0, 0.02, 0.0485),
            v(0.026, 0.050, 0.002),
            0.0019,
            t(soap_id, SEAT),
        ),
    );
    put(
        m,
        rounded(
            soap + v(0.0, -0.115, 0.018),
            v(0.042, 0.014, 0.045),
            0.011,
            t(soap_id, SEAT),
        ),
    );
}

pub(super) fn bed(m: &mut Model) {
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

/// A drip stand behind the bed.
pub(super) fn drip(m: &mut Model) {
    let foot = v(-2.02, 0.0, -1.22);
    let steel = t("scenery", STEEL);
    for half in [v(0.23, 0.012, 0.014), v(0.014, 0.012, 0.15)] {
        put(
            m,
            slab(
                foot - half * v(1.0, 0.0, 1.0),
                foot + half * v(1.0, 2.0, 1.0),
                steel,
            ),
        );
    }
    let pole = [Vec2::new(0.011, 0.0), Vec2::new(0.011, 1.86)];
    put(m, turned(foot, &pole, 8, steel));
    put(
        m,
        slab(
            foot + v(-0.10, 1.834, -0.005),
            foot + v(0.10, 1.846, 0.005),
            steel,
        ),
    );
    let bag = foot + v(0.085, 1.66, 0.0);
    put(
        m,
        rounded(bag, v(0.052, 0.105, 0.016), 0.012, t("scenery", WHITE)),
    );
    put(
        m,
        slab(
            bag + v(-0.034, -0.050, 0.0),
            bag + v(0.034, 0.040, 0.017),
            t("scenery", SEAT),
        ),
    );
    put(
        m,
        slab(bag + v(-0.004, 0.10, -0.003), bag + v(0.004, 0.18, 0.003), steel),
    );
    // Not in use: its tube hangs in a loop back over the pole.
    let tube = [
        bag + v(0.0, -0.10, 0.0),
        bag + v(-0.008, -0.46, 0.02),
        bag + v(-0.040, -0.58, 0.03),
        bag + v(-0.078, -0.50, 0.03),
        bag + v(-0.085, -0.02, 0.0),
    ];
    put(m, bar(&tube, 0.009, t("scenery", WHITE)));
}

pub(super) fn chair(m: &mut Model, at: Vec3) {
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

pub(super) fn shelf(m: &mut Model) {
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
