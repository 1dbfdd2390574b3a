//! Trunk, arms, legs and shoes: the fields below the neck, and the places they are divided into.

use bevy::math::Vec3;

use super::field::{ball, block, cone, egg, meet, melt, smooth};
use super::figure::{self, ANKLE, HIP, KNEE, SHOULDER, left};
use super::hand::forearm;

/// Distance to the trunk alone, without arms, neck or legs.
pub fn trunk(p: Vec3) -> f32 {
    let q = left(p);
    let mut d = egg(p, Vec3::new(0.0, 1.285, -0.008), Vec3::new(0.158, 0.190, 0.108));
    d = melt(
        d,
        egg(p, Vec3::new(0.0, 1.345, 0.005), Vec3::new(0.150, 0.095, 0.098)),
        0.05,
    );
    d = melt(
        d,
        egg(p, Vec3::new(0.0, 1.085, 0.004), Vec3::new(0.146, 0.160, 0.103)),
        0.08,
    );
    d = melt(
        d,
        egg(p, Vec3::new(0.0, 0.945, -0.008), Vec3::new(0.160, 0.115, 0.112)),
        0.07,
    );
    // Shoulders slope from the neck.
    d = melt(
        d,
        cone(
            q,
            Vec3::new(0.01, 1.452, -0.026),
            Vec3::new(0.136, 1.380, -0.020),
            0.042,
            0.048,
        ),
        0.05,
    );
    d
}

/// Distance to the left arm, bare, from shoulder to wrist.
pub fn arm(p: Vec3) -> f32 {
    let e = figure::elbow();
    let upper = cone(p, SHOULDER, e, 0.049, 0.0360);
    let upper = melt(
        upper,
        ball(p, SHOULDER + Vec3::new(-0.004, -0.004, 0.0), 0.053),
        0.03,
    );
    melt(upper, forearm(p), 0.012)
}

/// Distance to the upper arm only: what the short sleeves of the scrubs follow.
pub fn upper_arm(p: Vec3) -> f32 {
    let e = figure::elbow();
    melt(cone(p, SHOULDER, e, 0.053, 0.057), ball(p, SHOULDER, 0.055), 0.03)
}

/// Distance to both legs in trousers.
pub fn trousers(p: Vec3) -> f32 {
    let q = left(p);
    let thigh = cone(q, HIP, KNEE, 0.092, 0.073);
    let shin = cone(q, KNEE, ANKLE, 0.073, 0.064);
    let mut leg = melt(thigh, shin, 0.012);
    // A few folds where the cloth breaks over the shoe.
    if p.y < 0.34 {
        let low = smooth(0.34, 0.12, p.y);
        leg += low * 0.0035 * ((p.y * 95.0) + (q.x - 0.1) * 34.0 + p.z * 22.0).sin();
    }
    if p.y < 0.60 {
        // Seat and waist are too high up to be felt here.
        return leg;
    }
    let seat = egg(p, Vec3::new(0.0, 0.935, -0.010), Vec3::new(0.166, 0.110, 0.118));
    let waist = cone(
        p,
        Vec3::new(0.0, 1.04, 0.0),
        Vec3::new(0.0, 0.95, 0.0),
        0.115,
        0.12,
    );
    melt(melt(leg, seat, 0.05), waist, 0.05)
}

/// Distance to the scrub top: trunk and short sleeves, a little looser than the body. Below it goes on as cloth over the
/// trousers.
///
/// What cannot be felt within 9 cm of the cloth is left out.
pub fn scrub_top(p: Vec3) -> f32 {
    // It goes over the trousers, however wide they are.
    let below = |p: Vec3| trousers(p) - 0.006;
    let mut d = if p.y < 0.60 {
        below(p)
    } else if p.y < 1.35 {
        melt(shirt(p), below(p), 0.03)
    } else {
        shirt(p)
    };
    // Cloth hanging from chest to hip pulls into soft folds.
    if p.y < 1.18 {
        let fold = smooth(1.18, 0.92, p.y) * 0.0035;
        d += fold * (p.x.atan2(p.z) * 9.0 + p.y * 6.0).sin();
    }
    d
}

/// Distance to the scrub top without what it hangs over and without folds.
fn shirt(p: Vec3) -> f32 {
    let body = melt(
        trunk(p),
        egg(p, Vec3::new(0.0, 0.905, -0.010), Vec3::new(0.166, 0.150, 0.122)),
        0.06,
    );
    let sleeve = upper_arm(left(p)) - 0.004;
    melt(body - 0.012, sleeve, 0.055)
}

/// Distance to the left shoe.
pub fn shoe(p: Vec3) -> f32 {
    let q = left(p);
    // Toes point a little outwards.
    let c = Vec3::new(0.108, 0.0, 0.0);
    let r = q - c;
    let r = Vec3::new(r.x * 0.985 - r.z * 0.17, r.y, r.z * 0.985 + r.x * 0.17);
    let heel = egg(r, Vec3::new(0.0, 0.046, -0.048), Vec3::new(0.038, 0.052, 0.046));
    let toe = egg(r, Vec3::new(0.002, 0.032, 0.122), Vec3::new(0.045, 0.036, 0.060));
    let vamp = cone(
        r,
        Vec3::new(0.0, 0.062, -0.02),
        Vec3::new(0.0, 0.034, 0.12),
        0.041,
        0.033,
    );
    let upper = melt(melt(heel, toe, 0.05), vamp, 0.05);
    let sole = block(
        r,
        Vec3::new(0.0, 0.011, 0.038),
        Vec3::new(0.041, 0.011, 0.135),
        0.010,
    );
    let outline = melt(
        egg(r, Vec3::new(0.0, 0.012, -0.045), Vec3::new(0.040, 0.1, 0.052)),
        egg(r, Vec3::new(0.002, 0.012, 0.105), Vec3::new(0.048, 0.1, 0.080)),
        0.06,
    );
    let sole = meet(sole, outline, 0.006);
    meet(melt(upper, sole, 0.006), -p.y + 0.0015, 0.004)
}

/// The place id of a point on trunk, arms or legs.
pub fn place(p: Vec3) -> &'static str {
    let side = p.x >= 0.0;
    let pick = |l, r| if side { l } else { r };
    let q = left(p);
    if shoulder_side(q) > 0.0 {
        let t = figure::upper_t(q);
        if figure::past_elbow(q) || t > SLEEVE_END {
            return pick("left-forearm", "right-forearm");
        }
        if t > 0.22 {
            return pick("left-upper-arm", "right-upper-arm");
        }
        return pick("left-shoulder", "right-shoulder");
    }
    if p.y < 0.09 {
        return shoe_place(p);
    }
    if p.y < 0.885 {
        let thigh = p.y > KNEE.y;
        return if thigh {
            pick("left-thigh", "right-thigh")
        } else {
            pick("left-lower-leg", "right-lower-leg")
        };
    }
    if p.y > 1.30 && q.x > 0.105 + (1.42 - p.y).max(0.0) * 0.42 {
        return pick("left-shoulder", "right-shoulder");
    }
    if p.z > side_line(p) {
        if p.y > 1.165 { "chest" } else { "abdomen" }
    } else if p.y > 1.165 {
        "upper-back"
    } else {
        "lower-back"
    }
}

/// Where front gives way to back, seen from the side: over the shoulders a little behind the middle.
pub fn side_line(p: Vec3) -> f32 {
    -0.012 - smooth(1.36, 1.46, p.y) * 0.012
}

/// Share of the upper arm the scrub sleeve covers.
pub const SLEEVE_END: f32 = 0.66;

/// Positive where a point belongs to the left arm rather than to the trunk (both at rest).
pub fn shoulder_side(q: Vec3) -> f32 {
    if figure::upper_t(q) < 0.06 && !figure::past_elbow(q) {
        return -1.0;
    }
    let core = egg(q, Vec3::new(0.0, 1.20, 0.0), Vec3::new(0.150, 0.30, 0.11)).min(skirt_core(q));
    core - figure_arm(q)
}

/// Plain distance to the arm's bones with a typical thickness; cheap enough to call everywhere.
pub fn figure_arm(q: Vec3) -> f32 {
    let (e, w) = (figure::elbow(), figure::wrist());
    let tip = figure::from_hand(Vec3::new(0.16, 0.0, -0.03));
    cone(q, SHOULDER, e, 0.05, 0.045)
        .min(cone(q, e, w, 0.045, 0.035))
        .min(cone(q, w, tip, 0.04, 0.04))
}

fn skirt_core(q: Vec3) -> f32 {
    cone(
        q,
        Vec3::new(0.0, 1.00, 0.0),
        Vec3::new(0.0, 0.30, 0.0),
        0.17,
        0.23,
    )
}

/// The place id of a point on a shoe.
pub fn shoe_place(p: Vec3) -> &'static str {
    match (p.x >= 0.0, p.y < 0.020) {
        (true, true) => "left-shoe-sole",
        (true, false) => "left-shoe-upper",
        (false, true) => "right-shoe-sole",
        (false, false) => "right-shoe-upper",
    }
}
