//! How the body stands apart from its hands: the head's lean, where the whole person is put, and legs solved from where
//! the feet are.

use bevy::math::{Mat3, Quat, Vec3};
use bevy::prelude::Transform;

use super::bone::{Bone, flip, frame};
use super::shape::field::smooth;
use super::shape::figure::{ANKLE, HIP, KNEE};
use crate::model::Side;

/// The height about which the body bows.
const WAIST: Vec3 = Vec3::new(0.0, HIP.y, 0.0);

/// Where the whole person is put, seen from where they stand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Place {
    /// Steps aside, metres.
    pub shift: Vec3,
    /// Turn about the upright, radians.
    pub turn: f32,
    /// How far the body is bent forwards from the hips, radians.
    pub bow: f32,
}

impl Place {
    /// The same as a transform.
    pub fn transform(&self) -> Transform {
        let turn = Quat::from_rotation_y(self.turn);
        let rotation = turn * Quat::from_rotation_x(self.bow);
        Transform {
            translation: self.shift + turn * WAIST - rotation * WAIST,
            rotation,
            ..Transform::IDENTITY
        }
    }

    /// A point of the ground they stand on, seen from the body.
    pub fn seen(&self, p: Vec3) -> Vec3 {
        let to = self.transform();
        to.rotation.inverse() * (p - to.translation)
    }
}

/// Where a foot is, seen from where the person stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Foot {
    /// The ankle, metres.
    pub ankle: Vec3,
    /// Which way the toes point, radians about the upright.
    pub turn: f32,
    /// How far the toes point down, radians.
    pub pitch: f32,
    /// How far the knee points outwards, 0 to 1.
    pub out: f32,
}

impl Foot {
    /// Standing at ease.
    pub fn ease(side: Side) -> Foot {
        Foot {
            ankle: if side == Side::Left { ANKLE } else { flip(ANKLE) },
            turn: 0.0,
            pitch: 0.0,
            out: 0.0,
        }
    }

    /// Where the foot is that stands at ease beneath somebody put elsewhere.
    pub fn beneath(side: Side, place: &Place) -> Foot {
        let ease = Foot::ease(side);
        Foot {
            ankle: place.shift + Quat::from_rotation_y(place.turn) * ease.ankle,
            turn: place.turn,
            ..ease
        }
    }

    /// A share of the way to another, lifted on the way.
    pub fn step(self, to: Foot, t: f32) -> Foot {
        let t = smooth(0.0, 1.0, t);
        let far = ((to.ankle - self.ankle).length() * 0.4).min(0.10);
        let arc = 4.0 * t * (1.0 - t);
        Foot {
            ankle: self.ankle.lerp(to.ankle, t) + Vec3::Y * arc * far,
            turn: self.turn + (to.turn - self.turn) * t,
            pitch: self.pitch + (to.pitch - self.pitch) * t + arc * far * 2.0,
            out: self.out + (to.out - self.out) * t,
        }
    }
}

/// What the body does apart from the hands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stance {
    /// How far the head is bent forwards, radians.
    pub nod: f32,
    /// Where the person is put.
    pub place: Place,
    /// The left foot and the right.
    pub feet: [Foot; 2],
    /// How far the lids of the bins stand open, inside and outside, radians.
    pub lids: [f32; 2],
}

impl Default for Stance {
    fn default() -> Self {
        Self {
            nod: 0.0,
            place: Place::default(),
            feet: Side::BOTH.map(Foot::ease),
            lids: [0.0; 2],
        }
    }
}

impl Stance {
    /// Thigh, shin and foot of one side.
    pub(super) fn leg(&self, side: Side) -> [Bone; 3] {
        let foot = self.feet[usize::from(side == Side::Right)];
        if self.place == Place::default() && foot == Foot::ease(side) {
            return [Bone::STILL; 3];
        }
        let mirror = side == Side::Right;
        let m = |p: Vec3| if mirror { flip(p) } else { p };
        let s = if mirror { -1.0 } else { 1.0 };
        let ankle = m(self.place.seen(foot.ankle));
        let (thigh, shin) = ((KNEE - HIP).length(), (ANKLE - KNEE).length());
        let to = ankle - HIP;
        let len = to.length().clamp(0.16, (thigh + shin) * 0.9995);
        let dir = to.normalize_or(Vec3::NEG_Y);
        let along = (thigh * thigh - shin * shin + len * len) / (2.0 * len);
        let off = (thigh * thigh - along * along).max(0.0).sqrt();
        let yaw = (foot.turn - self.place.turn) * s;
        let pole = Vec3::new(yaw.sin() + foot.out * 1.6, 0.0, yaw.cos());
        let pole = Quat::from_rotation_x(-self.place.bow) * pole;
        let out = (pole - dir * pole.dot(dir)).normalize_or(Vec3::Z);
        let knee = HIP + dir * along + out * off;
        let ankle = HIP + dir * len;
        let (rest, posed) = (Vec3::Z.cross(ANKLE - HIP), out.cross(dir));
        let between = |a: Vec3, b: Vec3| frame(b.normalize(), posed) * frame(a.normalize(), rest).transpose();
        let attitude = Mat3::from_rotation_x(-self.place.bow)
            * Mat3::from_rotation_y(yaw)
            * Mat3::from_rotation_x(foot.pitch);
        let bones = [
            Bone::about(HIP, HIP, between(KNEE - HIP, knee - HIP)),
            Bone::about(KNEE, knee, between(ANKLE - KNEE, ankle - knee)),
            Bone::about(ANKLE, ankle, attitude),
        ];
        bones.map(|b| if mirror { b.mirrored() } else { b })
    }
}
