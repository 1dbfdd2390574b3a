//! The skeleton: its bones, arms solved from where the hands should be, and the head that leans.

use bevy::math::{Mat3, Quat, Vec3};

use super::bone::{Bone, flip, frame, reflected};
use super::follow::{self, Follow, KNUCKLES, Limb};
use super::shape::field::smooth;
use super::shape::figure::{self, SHOULDER};
use super::shape::{bin, doorway};
use super::stance::Stance;
use crate::model::Side;

/// The trunk, then three for each limb in the order of [`Limb::ALL`].
pub const BONES: usize = 1 + 3 * Limb::ALL.len();
/// The middle of the turns a hand makes about its forearm from how it was modelled, radians, the left one's.
const SUPINE: f32 = -1.2;
/// Length over which a closing hand spreads its bend, metres.
const FINGER: f32 = 0.085;

/// One hand's aim: where its wrist is and how it is turned from rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HandAim {
    /// Wrist position, figure space, metres.
    pub wrist: Vec3,
    /// Turn from the rest attitude.
    pub turn: Quat,
    /// How far it is closed.
    pub closing: Closing,
}

/// How far a hand is closed from its relaxed shape.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Closing {
    /// The forefinger: 0 not at all, 1 its tip turned by a radian.
    pub index: f32,
    /// The same of the other three fingers.
    pub others: f32,
    /// The thumb: 0 not at all, 1 its pad laid on that of a pinching forefinger.
    pub thumb: f32,
}

impl Closing {
    /// Relaxed.
    pub const OPEN: Closing = Closing::fingers(0.0);
    /// Thumb and forefinger meet with their pads, the other fingers out of the way.
    pub const PINCH: Closing = Closing {
        index: 1.10,
        others: 1.55,
        thumb: 1.0,
    };
    /// All fingers closed round something thin.
    pub const FIST: Closing = Closing {
        index: 2.10,
        others: 2.30,
        thumb: 1.25,
    };

    /// All four fingers alike, the thumb relaxed.
    pub const fn fingers(by: f32) -> Closing {
        Closing {
            index: by,
            others: by,
            thumb: 0.0,
        }
    }

    /// A share of the way to another.
    pub fn lerp(self, to: Closing, t: f32) -> Closing {
        let mix = |a: f32, b: f32| a + (b - a) * t;
        Closing {
            index: mix(self.index, to.index),
            others: mix(self.others, to.others),
            thumb: mix(self.thumb, to.thumb),
        }
    }
}

/// All bones of one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Bones in the order of [`BONES`].
    pub bones: [Bone; BONES],
    /// How far the left and the right hand are closed.
    pub closing: [Closing; 2],
}

/// Where a closing thumb turns, hand coordinates (m), and how: about what and how far when it meets the forefinger (rad).
const THUMB: Vec3 = Vec3::new(0.024, 0.026, -0.008);
const OPPOSED: (Vec3, f32) = (Vec3::new(-0.325, 0.190, -0.926), 0.29);

/// A rest point and its normal with fingers and thumb of its hand closed towards the palm.
fn close(p: Vec3, n: Vec3, follow: &Follow, closing: Closing) -> (Vec3, Vec3) {
    let m = |p: Vec3| {
        if follow.limb == Limb::LeftArm { p } else { flip(p) }
    };
    let q = figure::to_hand(m(p));
    let (u, v, w) = figure::hand_axes();
    let n = m(n);
    let mut n = Vec3::new(n.dot(u), n.dot(v), n.dot(w));
    let mut bent = q;
    let index = smooth(-0.003, 0.003, q.y - follow::index_edge(q.x));
    let curl = closing.others + (closing.index - closing.others) * index;
    if follow.finger > 0.0 && curl.abs() > 0.01 {
        let turn = curl * follow.finger / FINGER;
        let (sin, cos) = turn.sin_cos();
        let radius = FINGER / curl;
        bent = Vec3::new(
            KNUCKLES + (radius + q.z) * sin,
            q.y,
            (radius + q.z) * cos - radius,
        );
        n = Vec3::new(n.x * cos + n.z * sin, n.y, n.z * cos - n.x * sin);
    }
    if follow.thumb > 0.0 && closing.thumb != 0.0 {
        let (axis, far) = OPPOSED;
        let turn = Quat::from_axis_angle(axis.normalize(), far * closing.thumb * follow.thumb);
        bent = THUMB + turn * (bent - THUMB);
        n = turn * n;
    }
    (m(figure::from_hand(bent)), m(u * n.x + v * n.y + w * n.z))
}

/// How the forearm rolls about its own length to go half-way with the hand, so that neither wrist nor elbow wrings its
/// sleeve; in left-hand coordinates.
fn rolled(fore: Mat3, hand: Mat3) -> Mat3 {
    let along = figure::fore_dir();
    let between = Quat::from_mat3(&(fore.transpose() * hand));
    let pi = std::f32::consts::PI;
    let roll = 2.0 * between.xyz().dot(along).atan2(between.w);
    // A palm turns up much farther than down. Where both ways meet, the roll must not jump from one to the other.
    let roll = (roll - SUPINE + pi).rem_euclid(2.0 * pi) - pi;
    let jump = smooth(pi, 2.5, roll.abs());
    Mat3::from_axis_angle(along, 0.5 * (roll + SUPINE) * jump)
}

/// Solves one arm; works in left-hand coordinates and mirrors for the right.
fn arm(aim: HandAim, pole: Vec3, side: Side) -> [Bone; 3] {
    let mirror = side == Side::Right;
    let m = |p: Vec3| if mirror { flip(p) } else { p };
    let wrist = m(aim.wrist);
    let (u, f) = (figure::UPPER, figure::FORE);
    let to = wrist - SHOULDER;
    let len = to.length().clamp(0.16, (u + f) * 0.992);
    let dir = to.normalize_or(Vec3::Z);
    let along = (u * u - f * f + len * len) / (2.0 * len);
    let off = (u * u - along * along).max(0.0).sqrt();
    let out = (pole - dir * pole.dot(dir)).normalize_or(Vec3::X);
    let elbow = SHOULDER + dir * along + out * off;
    let wrist = SHOULDER + dir * len;
    let rest_e = figure::elbow();
    let rest_w = figure::wrist();
    let rest_n = (rest_e - SHOULDER).cross(rest_w - rest_e);
    let posed_n = (elbow - SHOULDER).cross(wrist - elbow);
    let posed_n = if posed_n.length_squared() < 1e-7 {
        dir.cross(out)
    } else {
        posed_n
    };
    let between =
        |ra: Vec3, pa: Vec3| frame(pa.normalize(), posed_n) * frame(ra.normalize(), rest_n).transpose();
    let upper = between(rest_e - SHOULDER, elbow - SHOULDER);
    let fore = between(rest_w - rest_e, wrist - elbow);
    let turn = Mat3::from_quat(aim.turn);
    let fore = fore * rolled(fore, if mirror { reflected(turn) } else { turn });
    let bones = [
        Bone::about(SHOULDER, SHOULDER, upper),
        Bone::about(rest_e, elbow, fore),
    ];
    let [upper, fore] = bones.map(|b| if mirror { b.mirrored() } else { b });
    let hand = Bone::about(m(rest_w), m(wrist), turn);
    [upper, fore, hand]
}

/// The hand's attitude at ease: where the relaxed arm carries it, its back turned a little forwards, the fingers
/// gently closed. Nobody stands like a mirror image, so the right hand is held a little higher and more closed.
pub fn ease(side: Side) -> HandAim {
    let (s, wrist, down, roll, curl) = match side {
        Side::Left => (1.0, Vec3::new(0.226, 0.968, 0.146), 0.26, 0.40, 0.16),
        Side::Right => (-1.0, Vec3::new(-0.208, 0.992, 0.172), 0.14, 0.26, 0.34),
    };
    let closing = Closing::fingers(curl);
    let along = figure::hand_axes().0 * Vec3::new(s, 1.0, 1.0);
    let turn = Quat::from_rotation_x(down) * Quat::from_axis_angle(along, roll * s);
    HandAim { wrist, turn, closing }
}

/// Where elbows point for a hand at `wrist` (left-hand coordinates): back and down at ease, out to the side when
/// reaching behind the back or across the front, up and out when reaching behind the neck or over the head.
fn pole(wrist: Vec3) -> Vec3 {
    let behind = smooth(0.02, -0.12, wrist.z);
    let high = smooth(1.30, 1.55, wrist.y + behind * 0.12);
    let across = smooth(0.12, -0.03, wrist.x) * smooth(0.12, 0.25, wrist.z);
    let low = Vec3::new(0.46, -0.45, -0.72).lerp(Vec3::new(0.95, -0.10, -0.25), behind);
    let low = low.lerp(Vec3::new(0.95, -0.30, -0.10), across);
    let up = Vec3::new(0.90, -0.15, 0.20).lerp(Vec3::new(0.75, 0.85, 0.10), behind);
    low.lerp(up, high)
}

/// Neck and head bent forwards by `nod` radians in all: half of it at the root of the neck, half under the skull.
fn head(nod: f32) -> [Bone; 3] {
    if nod == 0.0 {
        return [Bone::STILL; 3];
    }
    let (half, whole) = (Mat3::from_rotation_x(nod * 0.5), Mat3::from_rotation_x(nod));
    let neck = Bone::about(figure::NECK, figure::NECK, half);
    let skull = Bone::about(figure::SKULL, neck.point(figure::SKULL), whole);
    [neck, skull, Bone::STILL]
}

impl Pose {
    /// Everything as it was modelled.
    pub const REST: Pose = Pose {
        bones: [Bone::STILL; BONES],
        closing: [Closing::OPEN; 2],
    };

    /// The pose that puts both hands where they aim.
    pub fn of(l: HandAim, r: HandAim, stance: &Stance) -> Pose {
        let mut out = Pose::REST;
        out.closing = [l.closing, r.closing];
        let legs = Side::BOTH.map(|side| stance.leg(side));
        let lid = |n: usize| {
            let (open, hinge) = (stance.lids[n], bin::hinges()[n]);
            match open == 0.0 {
                true => Bone::STILL,
                false => Bone::about(hinge, hinge, Mat3::from_rotation_x(-open)),
            }
        };
        for (limb, bones) in [
            (Limb::LeftLeg, legs[0]),
            (Limb::RightLeg, legs[1]),
            (Limb::Skirt, [legs[0][0], legs[1][0], Bone::STILL]),
            (Limb::Lid, [lid(0), lid(1), Bone::STILL]),
            (Limb::LeftArm, arm(l, pole(l.wrist), Side::Left)),
            (Limb::RightArm, arm(r, pole(flip(r.wrist)), Side::Right)),
            (Limb::Head, head(stance.nod)),
        ] {
            out.bones[limb.first()..limb.first() + 3].copy_from_slice(&bones);
        }
        out
    }

    /// The same with the door open by a share of how far it goes.
    pub fn with_door(mut self, open: f32) -> Pose {
        let turn = Mat3::from_rotation_y(doorway::OPEN * open);
        self.bones[Limb::Door.first()] = if open == 0.0 {
            Bone::STILL
        } else {
            Bone::about(doorway::HINGE, doorway::HINGE, turn)
        };
        self
    }

    /// Standing at ease, hands in front.
    pub fn at_ease() -> Pose {
        Pose::of(ease(Side::Left), ease(Side::Right), &Stance::default())
    }

    /// The three bones of a limb, the one nearest the trunk first.
    pub fn limb(&self, limb: Limb) -> &[Bone] {
        &self.bones[limb.first()..limb.first() + 3]
    }

    /// The bone of one hand.
    pub fn hand(&self, side: Side) -> &Bone {
        &self.limb(Limb::arm(side))[2]
    }

    /// Where a point goes that hangs from a hand: it keeps upright, however the hand is turned. `at` is where the hand
    /// holds it at rest.
    pub fn hung(&self, side: Side, at: Vec3, p: Vec3) -> Vec3 {
        p + self.hand(side).point(at) - at
    }

    /// How far a limb's hand is closed.
    fn closed(&self, limb: Limb) -> Closing {
        match limb {
            Limb::LeftArm => self.closing[0],
            Limb::RightArm => self.closing[1],
            _ => Closing::OPEN,
        }
    }

    /// Which limbs are elsewhere than in another pose, as bits of [`Limb::bit`].
    pub fn differs(&self, other: &Pose) -> u8 {
        let moved = |l: &Limb| self.limb(*l) != other.limb(*l) || self.closed(*l) != other.closed(*l);
        Limb::ALL.into_iter().filter(moved).map(Limb::bit).sum()
    }

    /// Position and normal of a rest vertex in this pose.
    pub fn apply(&self, p: Vec3, n: Vec3, follow: &Follow) -> (Vec3, Vec3) {
        let w = follow.weight;
        let closing = self.closed(follow.limb);
        let (p, n) = if follow.closes() && closing != Closing::OPEN {
            close(p, n, follow, closing)
        } else {
            (p, n)
        };
        let (mut q, mut m) = (p * w[0], n * w[0]);
        for (bone, weight) in self.limb(follow.limb).iter().zip(&w[1..]) {
            if *weight > 0.0 {
                q += bone.point(p) * *weight;
                m += bone.turn * n * *weight;
            }
        }
        (q, m.normalize_or(n))
    }
}
