//! The hand: palm, four fingers and a thumb as one field, and the six zones every hand is divided into.

use bevy::math::Vec3;

use super::field::{cone, egg, melt, smooth};
use super::figure::{self, to_hand};

/// One finger: base and joints in hand coordinates (along, towards thumb, dorsal), with radii.
struct Finger {
    joint: [Vec3; 4],
    radius: [f32; 4],
}

/// The fingers index to little, then the thumb, relaxed.
fn fingers() -> [Finger; 5] {
    let finger = |u: f32, v: f32, len: f32, spread: f32, curl: f32, r: f32| {
        let mut joint = [Vec3::new(u, v, 0.001); 4];
        let mut bend: f32 = 0.10 + curl * 0.25;
        for (i, share) in [0.46, 0.30, 0.24].into_iter().enumerate() {
            let dir = Vec3::new(bend.cos() * spread.cos(), spread.sin(), -bend.sin());
            joint[i + 1] = joint[i] + dir * len * share;
            bend += curl;
        }
        Finger {
            joint,
            radius: [r * 1.02, r * 1.00, r * 0.93, r * 0.82],
        }
    };
    [
        finger(0.090, 0.0312, 0.070, 0.165, 0.22, 0.0077),
        finger(0.096, 0.0102, 0.078, 0.045, 0.27, 0.0079),
        finger(0.092, -0.0118, 0.072, -0.080, 0.34, 0.0077),
        finger(0.082, -0.0326, 0.058, -0.220, 0.40, 0.0070),
        Finger {
            joint: [
                Vec3::new(0.024, 0.026, -0.008),
                Vec3::new(0.057, 0.052, -0.018),
                Vec3::new(0.087, 0.064, -0.023),
                Vec3::new(0.109, 0.068, -0.029),
            ],
            radius: [0.0165, 0.0128, 0.0108, 0.0090],
        },
    ]
}

impl Finger {
    /// Distance to the finger; all but the thumb have a hint of a knuckle.
    fn field(&self, q: Vec3, knuckle: bool) -> f32 {
        let part = |s: usize| {
            cone(
                q,
                self.joint[s],
                self.joint[s + 1],
                self.radius[s],
                self.radius[s + 1],
            )
        };
        let one = melt(melt(part(0), part(1), 0.0025), part(2), 0.0025);
        if !knuckle {
            return one;
        }
        let bump = egg(
            q,
            self.joint[0] + Vec3::new(0.0, 0.0, 0.005),
            Vec3::new(0.011, 0.008, 0.009),
        );
        melt(one, bump, 0.008)
    }

    /// How far the finger is at the least.
    fn beyond(&self, q: Vec3) -> f32 {
        const FULLEST: f32 = 0.024;
        cone(q, self.joint[0], self.joint[3], FULLEST, FULLEST)
    }
}

/// Distance to the palm, hand coordinates.
fn palm(q: Vec3) -> f32 {
    let slab = |a: Vec3, b: Vec3, r: f32| cone(q, a, b, r, r);
    let mut palm = slab(Vec3::new(0.006, 0.010, 0.0), Vec3::new(0.086, 0.030, 0.0), 0.0135);
    palm = melt(
        palm,
        slab(
            Vec3::new(0.006, 0.000, 0.0),
            Vec3::new(0.090, 0.009, 0.001),
            0.0142,
        ),
        0.012,
    );
    palm = melt(
        palm,
        slab(
            Vec3::new(0.006, -0.008, 0.0),
            Vec3::new(0.086, -0.012, 0.0),
            0.0138,
        ),
        0.012,
    );
    palm = melt(
        palm,
        slab(
            Vec3::new(0.010, -0.014, -0.001),
            Vec3::new(0.076, -0.030, -0.001),
            0.0130,
        ),
        0.012,
    );
    // The two cushions of the palm: below the thumb, and along the little-finger edge.
    palm = melt(
        palm,
        egg(q, Vec3::new(0.036, 0.024, -0.011), Vec3::new(0.032, 0.017, 0.014)),
        0.014,
    );
    melt(
        palm,
        egg(
            q,
            Vec3::new(0.036, -0.022, -0.008),
            Vec3::new(0.034, 0.014, 0.012),
        ),
        0.014,
    )
}

/// How far the palm is at the least: it lies within this box.
fn beyond_palm(q: Vec3) -> f32 {
    const LOW: Vec3 = Vec3::new(-0.012, -0.048, -0.030);
    const HIGH: Vec3 = Vec3::new(0.107, 0.048, 0.018);
    (LOW - q).max(q - HIGH).max(Vec3::ZERO).length()
}

/// Distance to the hand alone, in hand coordinates. What is too far away to be felt is not looked at.
fn hand_local(q: Vec3, fingers: &[Finger; 5]) -> f32 {
    let web = 1e-4 + 0.011 * smooth(0.128, 0.107, q.x);
    let least: [f32; 5] = std::array::from_fn(|i| fingers[i].beyond(q));
    let nearest = (0..4).fold(0, |near, i| if least[i] < least[near] { i } else { near });
    // The palm is melted with fingers over at most 16 mm, fingers with one another over the web.
    let one = fingers[nearest].field(q, true);
    let palm = (beyond_palm(q) < one + 0.020).then(|| palm(q));
    let (by_palm, by_finger) = (palm.unwrap_or(f32::MAX) + 0.028, one + 2.0 * web);
    // Fingers melt into one another only where the web of skin is.
    let mut four = f32::MAX;
    for (i, finger) in fingers[..4].iter().enumerate() {
        if i != nearest && least[i] >= by_palm.min(by_finger) {
            continue;
        }
        let this = if i == nearest { one } else { finger.field(q, true) };
        four = if four == f32::MAX {
            this
        } else {
            melt(four, this, web)
        };
    }
    let four = palm.map_or(four, |palm| melt(four, palm, 0.008));
    if least[4] >= palm.map_or(four, |_| by_palm) {
        return four;
    }
    let thumb = fingers[4].field(q, false);
    four.min(palm.map_or(thumb, |palm| melt(thumb, palm, 0.016)))
}

/// Distance to the left hand, wrist and forearm.
pub struct Hand {
    fingers: [Finger; 5],
}

impl Default for Hand {
    fn default() -> Self {
        Self { fingers: fingers() }
    }
}

impl Hand {
    /// The field of hand and forearm together, world coordinates at rest.
    pub fn field(&self, p: Vec3) -> f32 {
        let q = to_hand(p);
        let hand = hand_local(q, &self.fingers);
        // Nothing of the forearm reaches farther than this towards the fingers.
        if q.x - 0.0366 > hand + 0.016 {
            return hand;
        }
        melt(hand, forearm(p), 0.016)
    }

    /// The zone of a point: `fingertips`, `thumb`, `finger-pads`, `palm`, `back-of-hand` or `wrist`, or `None`
    /// above the wrist on the forearm.
    pub fn zone(&self, p: Vec3) -> Option<&'static str> {
        let q = to_hand(p);
        if figure::fore_t(p) < 0.80 {
            return None;
        }
        if q.x < 0.004 {
            return Some("wrist");
        }
        let (mut best, mut at, mut tip, mut dorsal) = (f32::MAX, 9usize, 0.0, 0.0);
        for (i, f) in self.fingers.iter().enumerate() {
            for s in 0..3 {
                let (a, b) = (f.joint[s], f.joint[s + 1]);
                let d = cone(q, a, b, f.radius[s], f.radius[s + 1]);
                if d < best {
                    let t = ((q - a).dot(b - a) / (b - a).length_squared()).max(0.0);
                    (best, at) = (d, i);
                    tip = s as f32 + t;
                    // "Up" for a curled segment is square to the segment, in the plane of the curl.
                    let up = Vec3::Y.cross(b - a).normalize_or(Vec3::Z) * -1.0;
                    dorsal = (q - a.lerp(b, t)).dot(up);
                }
            }
        }
        if at == 4 && tip > 0.55 {
            return Some("thumb");
        }
        if at < 4 && q.x > self.fingers[at].joint[0].x + 0.004 {
            if tip > 2.35 {
                return Some("fingertips");
            }
            return Some(if dorsal > 0.0015 {
                "back-of-hand"
            } else {
                "finger-pads"
            });
        }
        Some(if q.z > -0.001 { "back-of-hand" } else { "palm" })
    }

    /// True on a fingernail.
    pub fn nail(&self, p: Vec3) -> bool {
        let q = to_hand(p);
        self.fingers.iter().enumerate().any(|(i, f)| {
            let (a, b) = (f.joint[2], f.joint[3]);
            let dir = (b - a).normalize();
            let side = if i == 4 {
                Vec3::new(0.0, 0.25, 1.0)
            } else {
                Vec3::Z
            };
            let up = (side - dir * side.dot(dir)).normalize();
            let across = dir.cross(up);
            let r = q - b - up * f.radius[3] * 0.80;
            let (x, y) = (
                r.dot(dir) / (f.radius[3] * 0.92),
                r.dot(across) / (f.radius[3] * 0.66),
            );
            r.dot(up) > -0.0035 && x.abs().powi(3) + y.abs().powi(3) < 1.0
        })
    }

    /// Where the pad of the index finger is, hand coordinates: the point that touches things.
    pub fn touch_point() -> Vec3 {
        let f = fingers();
        f[0].joint[3].lerp(f[1].joint[3], 0.5) - Vec3::new(0.0, 0.0, 0.004)
    }
}

/// Distance to the bare forearm.
pub fn forearm(p: Vec3) -> f32 {
    let (e, w, d) = (figure::elbow(), figure::wrist(), figure::fore_dir());
    // Fullest a third of the way down, then slim to the wrist. Little melting: where bars overlap it would swell them.
    let full = e + d * 0.075;
    let slim = w - d * 0.060;
    let mut arm = melt(
        cone(p, e, full, 0.0335, 0.0365),
        cone(p, full, slim, 0.0365, 0.0265),
        0.006,
    );
    arm = melt(arm, cone(p, slim, w - d * 0.02, 0.0265, 0.0245), 0.006);
    let (u, v, w_axis) = figure::hand_axes();
    // The wrist is wider than it is deep.
    let q = p - w;
    let flat = Vec3::new(q.dot(u), q.dot(v) * 0.86, q.dot(w_axis) * 1.12);
    arm = melt(
        arm,
        cone(
            flat,
            Vec3::new(-0.035, 0.0, 0.0),
            Vec3::new(0.012, 0.0, 0.0),
            0.0258,
            0.0245,
        ),
        0.010,
    );
    arm
}

/// Points round the forearm, the last one the first again, where a field's surface stands at `t` along it (0 elbow,
/// 1 wrist); `steps` of them to a turn.
pub fn round_forearm(field: &dyn Fn(Vec3) -> f32, t: f32, steps: usize) -> Vec<Vec3> {
    let (along, _, _) = figure::hand_axes();
    let d = figure::fore_dir();
    let centre = figure::elbow() + d * (t * figure::FORE);
    let u = along.cross(d).normalize_or(d.any_orthonormal_vector());
    let v = d.cross(u);
    (0..=steps)
        .map(|i| {
            let (s, c) = (i as f32 / steps as f32 * std::f32::consts::TAU).sin_cos();
            let out = u * c + v * s;
            let (mut low, mut high) = (0.0, 0.10);
            for _ in 0..14 {
                let middle = (low + high) * 0.5;
                if field(centre + out * middle) < 0.0 {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            centre + out * low
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shape::person::hand_box;

    /// The hand's field with nothing left out.
    fn all_of(hand: &Hand, p: Vec3) -> f32 {
        let q = to_hand(p);
        let web = 1e-4 + 0.011 * smooth(0.128, 0.107, q.x);
        let one = |i: usize| hand.fingers[i].field(q, i < 4);
        let four = (1..4).fold(one(0), |four, i| melt(four, one(i), web));
        let fingers = melt(four, palm(q), 0.008).min(melt(one(4), palm(q), 0.016));
        melt(fingers, forearm(p), 0.016)
    }

    #[test]
    fn what_is_left_out_of_the_field_would_not_be_felt() {
        let hand = Hand::default();
        let (low, high) = hand_box();
        let n = ((high - low) / 0.0043).as_ivec3();
        for i in 0..n.x * n.y * n.z {
            let at = Vec3::new((i % n.x) as f32, (i / n.x % n.y) as f32, (i / n.x / n.y) as f32);
            let p = low + at * 0.0043;
            let (short, whole) = (hand.field(p), all_of(&hand, p));
            assert!(
                short == whole || whole.abs() > 0.07,
                "{short} m instead of {whole} m at {p}, {} in hand coordinates",
                to_hand(p)
            );
        }
    }
}
