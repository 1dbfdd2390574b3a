//! The head: skull, jaw, nose, lips, eyes, ears and a short cap of hair, as one field with a paint map.

use bevy::math::Vec3;

use super::field::{ball, cone, egg, meet, melt, scoop, smooth};
use super::figure::left;

/// What a point of the head is painted as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeadPaint {
    /// Bare skin.
    Skin,
    /// The lips.
    Lips,
    /// The pale of the eye.
    White,
    /// The dark of the eye.
    Dark,
    /// Hair of the head, and eyebrows.
    Hair,
}

/// The head is modelled at one size and drawn a little larger, which reads as friendlier.
pub const SCALE: f32 = 1.07;
const ROOT: Vec3 = Vec3::new(0.0, 1.47, -0.015);

/// World coordinates (at rest) to the head's own.
pub fn to_head(p: Vec3) -> Vec3 {
    ROOT + (p - ROOT) / SCALE
}

/// The head's own coordinates to the world's (at rest).
pub fn from_head(p: Vec3) -> Vec3 {
    ROOT + (p - ROOT) * SCALE
}

/// Centre of the left eye, in the head's own coordinates as everything in this file.
pub const EYE: Vec3 = Vec3::new(0.0320, 1.6245, 0.0735);
const EYE_R: f32 = 0.0150;

/// Distance to the neck, from the collarbones to the skull.
pub fn neck(p: Vec3) -> f32 {
    cone(
        p,
        Vec3::new(0.0, 1.40, -0.022),
        Vec3::new(0.0, 1.555, -0.004),
        0.056,
        0.048,
    )
}

/// Distance to the bald head without ears or features: what goggles, masks and straps lie on.
pub fn skull(p: Vec3) -> f32 {
    let mut d = egg(
        p,
        Vec3::new(0.0, 1.650, -0.006),
        Vec3::new(0.0775, 0.0900, 0.0985),
    );
    // The face: brow to chin, narrowing.
    d = melt(
        d,
        egg(p, Vec3::new(0.0, 1.595, 0.030), Vec3::new(0.0645, 0.078, 0.0625)),
        0.035,
    );
    let jaw = cone(
        left(p),
        Vec3::new(0.040, 1.568, 0.000),
        Vec3::new(0.009, 1.535, 0.058),
        0.0235,
        0.022,
    );
    d = melt(d, jaw, 0.032);
    d = melt(d, ball(p, Vec3::new(0.0, 1.533, 0.066), 0.0195), 0.026);
    d
}

/// Distance to the head and neck with every feature, hair included.
pub fn head(p: Vec3) -> f32 {
    let q = left(p);
    let mut d = skull(p);
    if within(q, Vec3::new(0.022, 1.602, 0.080), 0.068, d, 0.026) {
        d = face(p, q, d);
    }
    // Ears: a tilted shell with its hollow.
    if within(q, EAR, 0.046, d, 0.008) {
        d = melt(d, ear(q), 0.008);
    }
    d = melt(d, neck(p), 0.03);
    // The least that the line of the hair lies above this point, whatever the rest of it says.
    let line = match p.z {
        z if z > 0.046 => 1.670,
        z if z > 0.0 => 1.618,
        _ => 1.560,
    };
    if (line - p.y) * 0.7 > 0.007 + d.abs() {
        return d;
    }
    melt(d, hair(p), 0.007)
}

/// Whether what lies within a ball can be felt where the distance to all else is `d`, if it is melted in over `k`.
fn within(p: Vec3, centre: Vec3, radius: f32, d: f32, k: f32) -> bool {
    let reach = radius + k + d.abs();
    (p - centre).length_squared() < reach * reach
}

/// Lets the features of the face into a head whose distance is `d`; `q` is the point on the left.
fn face(p: Vec3, q: Vec3, mut d: f32) -> f32 {
    // Brow ridge and cheekbones, very soft.
    if within(q, Vec3::new(0.028, 1.648, 0.072), 0.033, d, 0.022) {
        let brow = cone(
            q,
            Vec3::new(0.008, 1.648, 0.080),
            Vec3::new(0.048, 1.648, 0.062),
            0.010,
            0.009,
        );
        d = melt(d, brow, 0.022);
    }
    d = melt(d, ball(q, Vec3::new(0.041, 1.592, 0.058), 0.018), 0.026);
    // Eye sockets, then eyes and lids.
    if within(q, EYE + Vec3::new(0.0, 0.0, 0.010), 0.027, d, 0.014) {
        d = scoop(
            d,
            egg(
                q,
                EYE + Vec3::new(0.0, 0.0005, 0.0195),
                Vec3::new(0.0225, 0.0145, 0.0135),
            ),
            0.014,
        );
        d = melt(d, ball(q, EYE, EYE_R), 0.0025);
    }
    if within(q, Vec3::new(0.004, 1.607, 0.096), 0.039, d, 0.014) {
        d = nose(p, q, d);
    }
    if within(q, Vec3::new(0.010, 1.556, 0.090), 0.024, d, 0.006) {
        d = mouth(p, q, d);
    }
    d
}

/// The nose: bridge, tip, wings, and the nostrils let into them.
fn nose(p: Vec3, q: Vec3, mut d: f32) -> f32 {
    d = melt(
        d,
        cone(
            p,
            Vec3::new(0.0, 1.634, 0.084),
            Vec3::new(0.0, 1.592, 0.1045),
            0.0075,
            0.0115,
        ),
        0.014,
    );
    d = melt(d, ball(q, Vec3::new(0.0110, 1.5865, 0.0950), 0.0085), 0.009);
    scoop(
        d,
        egg(
            q,
            Vec3::new(0.0068, 1.5795, 0.1010),
            Vec3::new(0.0032, 0.0034, 0.0046),
        ),
        0.003,
    )
}

/// The lips: two soft rolls with a line between them.
fn mouth(p: Vec3, q: Vec3, d: f32) -> f32 {
    let bow = |y: f32, z: f32, r: f32, w: f32, sag: f32| {
        let x = q.x / w;
        egg(
            p + Vec3::new(0.0, sag * x * x, 0.0075 * x * x),
            Vec3::new(0.0, y, z),
            Vec3::new(w, r, r * 1.25),
        )
    };
    let lips = bow(1.5605, 0.0915, 0.0050, 0.0240, -0.0016).min(bow(1.5522, 0.0908, 0.0060, 0.0205, -0.0042));
    scoop(
        melt(d, lips, 0.006),
        cone(
            q,
            Vec3::new(0.0, 1.5562, 0.1015),
            Vec3::new(0.022, 1.5582, 0.0885),
            0.0010,
            0.0010,
        ),
        0.003,
    )
}

/// Middle of the left ear.
const EAR: Vec3 = Vec3::new(0.0795, 1.6030, -0.0130);

fn ear(q: Vec3) -> f32 {
    let r = q - EAR;
    // Turn the shell a little forwards and lean it back.
    let r = Vec3::new(r.x * 0.90 + r.z * 0.42, r.y + r.z * 0.18, r.z * 0.92 - r.x * 0.40);
    let shell = egg(r, Vec3::ZERO, Vec3::new(0.0085, 0.0310, 0.0185));
    let hollow = egg(
        r,
        Vec3::new(0.0088, 0.004, 0.003),
        Vec3::new(0.0065, 0.0195, 0.0100),
    );
    let lobe = ball(r, Vec3::new(-0.001, -0.0255, 0.004), 0.0085);
    scoop(melt(shell, lobe, 0.008), hollow, 0.005)
}

/// Distance to the cap of hair: thicker on top, short at the sides and nape.
pub fn hair(p: Vec3) -> f32 {
    let q = left(p);
    let cap = egg(
        p,
        Vec3::new(0.0, 1.654, -0.012),
        Vec3::new(0.0840, 0.0965, 0.1050),
    );
    // Kept: above a line that runs from the forehead down past the temple to the ear, and on to the nape.
    let line = 1.618 - smooth(-0.018, -0.075, q.z) * 0.058
        + smooth(0.000, 0.046, q.z) * 0.052
        + smooth(0.046, 0.078, q.z) * 0.026;
    meet(cap, (line - q.y) * 0.7, 0.010)
}

/// True where painted borders need finer triangles than the face's shape does: eyes, brows and lips (world
/// coordinates at rest).
pub fn fine(p: Vec3) -> bool {
    let h = to_head(p);
    let q = left(h);
    let eye = (q.x - EYE.x).abs() < 0.022 && h.y > 1.612 && h.y < 1.656;
    let lips = q.x < 0.029 && h.y > 1.541 && h.y < 1.571;
    h.z > 0.05 && (eye || lips)
}

/// How a point on the head's surface is painted.
pub fn paint(p: Vec3) -> HeadPaint {
    let q = left(p);
    if hair(p) < 0.0022 {
        return HeadPaint::Hair;
    }
    let e = q - EYE;
    if p.z > 0.05 {
        let (x, y) = (e.x / 0.0125, (e.y + 0.0010) / 0.0054);
        let almond = x.abs().powf(2.2) + y.abs().powf(2.0);
        if almond < 1.0 {
            let iris = (e.x + 0.0004).hypot(e.y + 0.0006);
            return if iris < 0.0060 {
                HeadPaint::Dark
            } else {
                HeadPaint::White
            };
        }
        if e.y > 0.0025 && almond < 1.26 {
            return HeadPaint::Dark;
        }
    }
    // Eyebrows: a soft arc above each eye.
    let b = (q.x - 0.033) / 0.0195;
    if p.z > 0.05 && b.abs() < 1.0 {
        let arc = 1.6480 + 0.0030 * (1.0 - (b + 0.1) * (b + 0.1)) - 0.0010 * b;
        if (q.y - arc).abs() < 0.0031 * (1.0 - b * b * b * b) * (1.1 - 0.35 * b) {
            return HeadPaint::Hair;
        }
    }
    let x = q.x / 0.0235;
    if p.z > 0.06 && x < 1.0 {
        let top = 1.5652 - 0.0042 * x * x - 0.0016 * (-(q.x * q.x) / 0.00002).exp();
        let bottom = 1.5464 + 0.0112 * x * x;
        if q.y < top && q.y > bottom {
            return HeadPaint::Lips;
        }
    }
    HeadPaint::Skin
}

/// The place id of a point on head or neck.
pub fn place(p: Vec3) -> &'static str {
    let side = p.x >= 0.0;
    let q = left(p);
    let paint = paint(p);
    let e = q - EYE;
    if e.z > 0.0 && ball(q, EYE, EYE_R) < 0.002 && (e.x / 0.0145).powi(2) + (e.y / 0.0092).powi(2) < 1.0 {
        return if side { "left-eye" } else { "right-eye" };
    }
    if paint == HeadPaint::Lips {
        return "lips";
    }
    if ear(q) < 0.0015 && q.x > 0.070 {
        return if side { "left-ear" } else { "right-ear" };
    }
    let above_hairline = hair(p) < 0.0022;
    if above_hairline || (q.z < -0.01 && q.y > 1.585) || (q.y > 1.69 && q.z < 0.03) {
        let top = p.y + 0.45 * p.z > 1.675;
        return if top { "hair-top" } else { "hair-back" };
    }
    if p.z > 0.085 && q.x < 0.014 && p.y < 1.5855 && p.y > 1.571 {
        return "nostrils";
    }
    // Under the jaw and round the neck.
    if p.y < 1.515 + (0.045 - p.z).max(0.0) * 0.55 || p.z < -0.005 && p.y < 1.585 {
        return if p.z > -0.012 { "neck-front" } else { "neck-back" };
    }
    if p.y > 1.637 {
        return "forehead";
    }
    if p.y < 1.5480 && q.x < 0.030 {
        return "chin";
    }
    if side { "left-cheek" } else { "right-cheek" }
}

/// Scalp, hair and ears: what a strap lies on.
pub fn scalp(p: Vec3) -> f32 {
    melt(hair(p).min(skull(p)), neck(p), 0.03)
}
