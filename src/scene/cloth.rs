//! How cloth that hangs round both legs gives way to them. Knows two thighs and how loosely a place hangs, no garment.
//!
//! A thigh takes up the slack first, then pushes the cloth before it; the cloth on its other side follows a little. From
//! the knee on it hangs. Before a thigh lifted high it is bent with it, and pushed together before the belly.

use bevy::math::Vec3;

use super::bone::Bone;
use super::follow::{Follow, Limb, left_share};
use super::pose::Pose;
use super::shape::field::smooth;
use super::shape::figure::{ANKLE, HIP, KNEE};

/// Most slack that a thigh takes up before cloth gives way, metres: beyond it the whole skirt is drawn along. It is little,
/// so that two layers that hang at a distance from the legs have the same.
const SLACK: f32 = 0.022;
/// Share of what lies between leg and cloth that is slack: a leg turned is wider than one that hangs.
const TAKEN: f32 = 0.35;
/// Least distance from a leg at which cloth lies, metres, and how much of what it hangs off is added to it: so what is worn
/// over other cloth stays over it where both are pushed.
const LEAST: f32 = 0.007;
const ADDED: f32 = 0.25;
/// Share of a thigh's way that cloth on the far side of it follows.
const FOLLOWS: f32 = 0.35;
/// Height over which cloth ceases to turn with the thigh and begins to hang, above and below the knee, metres.
const BENDS: f32 = 0.05;

/// Position and normal of a rest vertex in a pose: cloth round the legs hangs, all else follows its bones.
pub(super) fn placed(p: Vec3, n: Vec3, follow: &Follow, pose: &Pose) -> (Vec3, Vec3) {
    if follow.limb != Limb::Skirt {
        return pose.apply(p, n, follow);
    }
    let thighs = pose.limb(Limb::Skirt);
    if thighs.iter().all(|bone| *bone == Bone::STILL) {
        return (p, n);
    }
    let (mut q, mut m) = (p, n);
    let left = left_share(p);
    let down = [0, 1].map(|i| thighs[i].turned(Vec3::NEG_Y));
    // Whoever bows or crouches has turned both alike.
    let apart = smooth(HIGH.0, HIGH.1, down[0].dot(down[1]));
    for (i, (side, share)) in [(1.0, left), (-1.0, 1.0 - left)].into_iter().enumerate() {
        if thighs[i] != Bone::STILL {
            let thigh = Thigh::new(&thighs[i], side, apart);
            let weight = follow.weight[1 + i];
            let (way, turns) = thigh.takes(p, follow.loose, weight, share);
            q += way;
            m += (thighs[i].turned(n) - n) * (weight * turns);
        }
    }
    let hangs = follow.weight[1] + follow.weight[2];
    let least = LEAST + ADDED * follow.loose;
    let high = down.map(|way| smooth(HIGH.0, HIGH.1, -way.y));
    for (i, (limb, side)) in [(Limb::LeftLeg, 1.0), (Limb::RightLeg, -1.0)]
        .into_iter()
        .enumerate()
    {
        let bones = pose.limb(limb);
        // Whoever crouches has lifted both.
        let lifted = high[i] * (1.0 - high[1 - i]) * apart;
        for (n, (bone, part)) in bones.iter().zip(LEG).enumerate() {
            let part = part.mirrored(side, least);
            let way = match n {
                0 => part.pushed(q, p, bone, 0.0),
                // Of a leg that is lifted high, all below the knee is before the cloth.
                1 => part.pushed(q, p, bone, lifted),
                _ => part.pushed_back(q, bone) * lifted,
            };
            q += way * hangs;
        }
    }
    (q, m.normalize_or(n))
}

/// How far a thigh is lifted when all before its hip begins to be bent with it and when it is wholly, as the cosine of its
/// angle with how it hangs. Less far, cloth is shifted with it.
const BENT: (f32, f32) = (0.935, 0.70);
/// The same for where cloth lies round the thigh: the cosine of its angle with where the thigh goes.
const BEFORE: (f32, f32) = (-0.5, 0.2);
/// How far one thigh alone is lifted when cloth no longer bends with it, as its angle with how it hangs, from and to: shin and
/// foot are before the cloth then and push it back, radians.
const TOO_FAR: (f32, f32) = (2.1, 2.3);
/// How far before the hip the line lies about which all is bent, metres: before all that is worn there.
const LINE: f32 = 0.19;
/// By how much what lies between that line and a thigh is pushed together, and from which angle to which it comes to that,
/// radians. Else the line would rise to the chin.
const PRESSED: f32 = 0.8;
const PRESSES: (f32, f32) = (1.0, 2.2);
/// How far a thigh is lifted when cloth turns with it that is not bent with it, as the cosine of its angle with how it hangs.
const TURNS: (f32, f32) = (0.80, 0.45);

/// A thigh that cloth gives way to.
struct Thigh<'a> {
    bone: &'a Bone,
    /// Its hip and its knee at rest.
    hip: Vec3,
    knee: Vec3,
    /// How far it is lifted, radians.
    angle: f32,
    /// How far it is lifted alone and too far, 0 to 1.
    alone: f32,
}

impl Thigh<'_> {
    /// The thigh of a side (1 left, -1 right); `apart` tells how far both are turned differently.
    fn new(bone: &Bone, side: f32, apart: f32) -> Thigh<'_> {
        let m = Vec3::new(side, 1.0, 1.0);
        let angle = bone.turned(Vec3::Y).y.clamp(-1.0, 1.0).acos();
        Thigh {
            bone,
            hip: HIP * m,
            knee: KNEE * m,
            angle,
            alone: apart * smooth(TOO_FAR.0, TOO_FAR.1, angle),
        }
    }

    /// How far it takes cloth at `p` along that hangs from it by `weight`, and lies on its side by `share`; and how much of its
    /// turn that shares.
    fn takes(&self, p: Vec3, loose: f32, weight: f32, share: f32) -> (Vec3, f32) {
        // Below the knee it goes where the knee goes.
        let low = (KNEE.y - p.y) / BENDS;
        let below = match low {
            l if l <= -1.0 => 0.0,
            l if l >= 1.0 => l,
            l => (l + 1.0) * (l + 1.0) * 0.25,
        } * BENDS;
        let at = p + Vec3::Y * below;
        let along = ((HIP.y - at.y) / (HIP.y - KNEE.y)).clamp(0.0, 1.0);
        let bone = self.hip.lerp(self.knee, along);
        let cos = self.angle.cos();
        // It goes along with the bone behind it; only over a thigh raised high it is turned, too.
        let turns = smooth(TURNS.0, TURNS.1, cos) * self.alone;
        let moved = (self.bone.point(bone) - bone).lerp(self.bone.point(at) - at, turns);
        let level = |v: Vec3| Vec3::new(v.x, 0.0, v.z).normalize_or(Vec3::ZERO);
        let goes = |way: Vec3| level(p - bone).dot(level(way));
        let ahead = goes(self.bone.point(self.knee) - self.knee);
        let before = ahead + (goes(moved) - ahead) * self.alone;
        let follows = FOLLOWS + (1.0 - FOLLOWS) * smooth(-0.7, 0.2, before);
        let far = moved.length();
        let slack = (loose * TAKEN).min(SLACK).min(far) * before.max(0.0);
        let shifted = if far < 1e-6 {
            Vec3::ZERO
        } else {
            moved * (follows - slack / far) * weight
        };
        let bent = smooth(BENT.0, BENT.1, cos) * smooth(BEFORE.0, BEFORE.1, ahead) * (1.0 - self.alone);
        if bent <= 0.0 {
            return (shifted, follows);
        }
        (shifted.lerp((self.bent(at) - at) * share, bent), follows)
    }

    /// Where `p` goes as all before the hip is bent with the thigh about a line before it. Nothing changes places with what
    /// lies before or behind it, so layers keep their order however tight the crease is: what hangs before the belly is pushed
    /// together there.
    fn bent(&self, p: Vec3) -> Vec3 {
        let to = self.bone.turned(Vec3::NEG_Y);
        let Some(axis) = Vec3::NEG_Y.cross(to).try_normalize() else {
            return p;
        };
        let front = axis.cross(Vec3::NEG_Y);
        let off = p - self.hip;
        let (ahead, up, aside) = (off.dot(front), off.y, off.dot(axis));
        let pressed = 1.0 + (PRESSED - 1.0) * smooth(PRESSES.0, PRESSES.1, self.angle);
        let (sin, cos) = self.angle.sin_cos();
        // The line is as far before the trunk as, pressed, before the thigh: so far above the hip, and so far along the thigh.
        let high = LINE * (pressed - cos) / sin.max(1e-3);
        let low = LINE * sin - high * cos;
        let t = ((high - up) / (high + low)).clamp(0.0, 1.0);
        let (sin, cos) = (self.angle * t).sin_cos();
        let within = (ahead - LINE) * (1.0 + (pressed - 1.0) * t);
        let (above, below) = ((up - high).max(0.0), (up + low).min(0.0));
        let ahead = LINE + within * cos - below * sin;
        let up = high + within * sin + below * cos + above;
        self.hip + front * ahead + Vec3::Y * up + axis * aside
    }
}

/// How far a thigh has been lifted when shin and foot come before the cloth, as the cosine of its angle with the body and
/// with the other thigh, from and to.
const HIGH: (f32, f32) = (0.75, 0.45);

/// A part of the left leg in trousers and shoe: from, to, and how thick there, metres.
#[derive(Clone, Copy)]
struct Part {
    from: Vec3,
    to: Vec3,
    thick: (f32, f32),
}

/// Thigh, shin and foot.
const LEG: [Part; 3] = [
    Part {
        from: HIP,
        to: KNEE,
        thick: (0.092, 0.073),
    },
    Part {
        from: KNEE,
        to: ANKLE,
        thick: (0.073, 0.064),
    },
    Part {
        from: Vec3::new(0.106, 0.045, -0.045),
        to: Vec3::new(0.128, 0.036, 0.125),
        thick: (0.056, 0.056),
    },
];

impl Part {
    /// The same on a side (1 left, -1 right), thicker by `least` metres.
    fn mirrored(self, side: f32, least: f32) -> Part {
        let m = |p: Vec3| p * Vec3::new(side, 1.0, 1.0);
        Part {
            from: m(self.from),
            to: m(self.to),
            thick: (self.thick.0 + least, self.thick.1 + least),
        }
    }

    /// From its middle line to a point in its own place at rest, and how thick it is there.
    fn out(&self, r: Vec3) -> (Vec3, f32) {
        let along = self.to - self.from;
        let k = ((r - self.from).dot(along) / along.length_squared()).clamp(0.0, 1.0);
        let thick = self.thick.0 + (self.thick.1 - self.thick.0) * k;
        (r - (self.from + along * k), thick)
    }

    /// How far cloth at `q`, which hung at `p`, is pushed out of it: on the side on which it hung, or by a share `behind` it.
    fn pushed(&self, q: Vec3, p: Vec3, bone: &Bone, behind: f32) -> Vec3 {
        let (out, thick) = self.out(bone.back(q, Vec3::Y).0);
        let gap = thick - out.length();
        if gap <= 0.0 {
            return Vec3::ZERO;
        }
        let along = (self.to - self.from).normalize_or(Vec3::NEG_Y);
        let hung = p - self.from;
        let hung = (hung - along * hung.dot(along)).normalize_or(Vec3::Z);
        let deep = smooth(0.5, 0.9, gap / thick);
        let to = out.normalize_or(hung).lerp(hung, deep).normalize_or(hung) * thick;
        let aside = bone.turned(to - out);
        if behind <= 0.0 {
            return aside;
        }
        // Half-way between the two it would still be within.
        let back = self.pushed_back(q, bone);
        let there = |way: Vec3| self.out(bone.back(q + way, Vec3::Y).0).0;
        let between = there(aside).lerp(there(back), behind);
        let kept = between.normalize_or(hung) * thick - between;
        aside.lerp(back, behind) + bone.turned(kept)
    }

    /// How far cloth at `q` is pushed back to lie behind it.
    fn pushed_back(&self, q: Vec3, bone: &Bone) -> Vec3 {
        let (r, back) = bone.back(q, Vec3::NEG_Z);
        let (out, thick) = self.out(r);
        let (along, over) = (out.dot(back), out.length_squared() - thick * thick);
        if over >= 0.0 {
            return Vec3::ZERO;
        }
        Vec3::NEG_Z * ((along * along - over).sqrt() - along)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Side;
    use crate::scene::motion::errand::walking;
    use crate::scene::pose::ease;
    use crate::scene::shape::gown;
    use crate::scene::shape::model::{Model, part_of};
    use crate::scene::stance::Place;
    use crate::scene::store::{Which, shape};

    /// Longer than anybody walks here, metres.
    const LONG: f32 = 0.80;

    /// Every moment of a step in every direction.
    fn steps() -> impl Iterator<Item = (String, Pose)> {
        [Vec3::X, Vec3::NEG_X, Vec3::Z, Vec3::NEG_Z]
            .into_iter()
            .flat_map(|along| {
                (0..8).map(move |k| {
                    let stance = walking(along, (1.0, 1.0 + LONG * k as f32 / 8.0), LONG, Place::default());
                    let pose = Pose::of(ease(Side::Left), ease(Side::Right), &stance);
                    (format!("{k} eighths of a step along {along}"), pose)
                })
            })
    }

    /// Triangles of the named parts in a pose.
    fn posed(model: &Model, parts: &[&str], pose: &Pose) -> Vec<[Vec3; 3]> {
        let surf = &model.surf;
        let at: Vec<Vec3> = surf
            .pos
            .iter()
            .zip(&surf.nrm)
            .map(|(p, n)| placed(*p, *n, &Follow::of(*p), pose).0)
            .collect();
        let named = surf
            .tris
            .iter()
            .zip(&surf.tags)
            .filter(|(_, tag)| parts.contains(&model.parts[part_of(**tag)]));
        named.map(|(tri, _)| tri.map(|v| at[v as usize])).collect()
    }

    fn meets(from: Vec3, way: Vec3, [a, b, c]: [Vec3; 3]) -> bool {
        let (u, v) = (b - a, c - a);
        let h = way.cross(v);
        let det = u.dot(h);
        if det.abs() < 1e-12 {
            return false;
        }
        let s = from - a;
        let (x, k) = (s.dot(h) / det, s.cross(u));
        let y = way.dot(k) / det;
        x >= 0.0 && y >= 0.0 && x + y <= 1.0 && v.dot(k) / det > 0.0
    }

    #[test]
    fn no_leg_comes_through_the_skirt_on_long_steps() {
        let gown = gown::cloth();
        let person = shape(&Which::Person).expect("the person is known");
        for (when, pose) in steps() {
            let skirt = posed(&gown, &["abdomen", "lower-front", "lower-back"], &pose);
            let legs = posed(
                &person.model,
                &["left-thigh", "right-thigh", "left-lower-leg", "right-lower-leg"],
                &pose,
            );
            // Higher than the hem, lower than where cloth and legs begin to move.
            let within = legs
                .iter()
                .map(|t| t[0])
                .filter(|p| p.y > 0.45 && p.y < 0.85)
                .step_by(3);
            for p in within {
                let free = (0..8).find(|k| {
                    let (sin, cos) = (*k as f32 * std::f32::consts::FRAC_PI_4 + 0.1).sin_cos();
                    // A little upwards, or it might leave under a lifted hem.
                    let way = Vec3::new(sin, 0.4, cos);
                    !skirt.iter().any(|t| meets(p, way, *t))
                });
                assert!(
                    free.is_none(),
                    "{when}: the leg at {p} is not within the skirt: nothing hangs {} eighths of a turn round from the front",
                    free.unwrap_or_default()
                );
            }
        }
    }

    #[test]
    fn cloth_hangs_from_the_raised_knee_instead_of_swinging_out() {
        let front = Vec3::new(0.09, 0.41, 0.19);
        let follow = Follow::of(front);
        assert_eq!(follow.limb, Limb::Skirt, "the hem does not hang round the legs");
        for (when, pose) in steps() {
            let knee = pose.limb(Limb::LeftLeg)[0].point(KNEE).z - KNEE.z;
            let (at, _) = placed(front, Vec3::Z, &follow, &pose);
            let gone = (at.z - front.z).abs();
            assert!(
                gone <= knee.abs() + 0.02,
                "{when}: the hem before a knee that has gone {knee} m has gone {gone} m"
            );
        }
    }

    #[test]
    fn at_rest_nothing_moves() {
        for p in [
            Vec3::new(0.1, 0.5, 0.18),
            Vec3::new(-0.2, 0.41, 0.0),
            Vec3::new(0.0, 0.7, -0.17),
        ] {
            let (q, n) = placed(p, Vec3::Z, &Follow::of(p), &Pose::REST);
            assert!(
                q.abs_diff_eq(p, 1e-6) && n.abs_diff_eq(Vec3::Z, 1e-6),
                "{p} has moved to {q}"
            );
        }
    }
}
