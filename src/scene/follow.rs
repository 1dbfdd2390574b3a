//! Which bones each vertex follows, and how much. Knows the shape at rest, not how it moves.

use bevy::math::Vec3;

use super::shape::field::smooth;
use super::shape::figure::{self, SHOULDER, left};
use super::shape::person::arm_share;
use crate::model::Side;

/// From the wrist to where the fingers bend, metres.
pub(super) const KNUCKLES: f32 = 0.086;

/// What moves against the trunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limb {
    /// Upper arm, forearm and hand of the left.
    LeftArm,
    /// The same of the right.
    RightArm,
    /// Neck and skull.
    Head,
}

impl Limb {
    /// All limbs in the order of their bones.
    pub const ALL: [Limb; 3] = [Limb::LeftArm, Limb::RightArm, Limb::Head];

    /// Index of its first bone.
    pub fn first(self) -> usize {
        1 + 3 * self as usize
    }

    /// Its own bit, to count limbs up in a byte.
    pub fn bit(self) -> u8 {
        1 << self as u8
    }

    /// The arm of a side.
    pub fn arm(side: Side) -> Limb {
        match side {
            Side::Left => Limb::LeftArm,
            Side::Right => Limb::RightArm,
        }
    }
}

/// Which bones a vertex follows, and how much: the trunk's, and those of one limb.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Follow {
    /// Weights of the trunk and the limb's three bones; they sum to 1.
    pub weight: [f32; 4],
    /// The limb.
    pub limb: Limb,
    /// How far beyond the knuckles it lies on a hand that can close, metres; 0 elsewhere.
    pub finger: f32,
}

impl Follow {
    /// Follows the trunk only.
    pub const TRUNK: Follow = Follow {
        weight: [1.0, 0.0, 0.0, 0.0],
        limb: Limb::LeftArm,
        finger: 0.0,
    };

    /// Follows one hand only.
    pub fn hand(side: Side) -> Follow {
        Follow {
            weight: [0.0, 0.0, 0.0, 1.0],
            limb: Limb::arm(side),
            finger: 0.0,
        }
    }

    /// The natural following of a point at rest.
    pub fn of(p: Vec3) -> Follow {
        let arm = arm_share(p);
        if arm <= 0.001 {
            return Follow::sheet(p);
        }
        let q = left(p);
        let upper_dir = (figure::elbow() - SHOULDER).normalize();
        let bend = (upper_dir + figure::fore_dir()).normalize();
        let fore = smooth(-0.045, 0.045, (q - figure::elbow()).dot(bend));
        let turn = (figure::fore_dir() + figure::hand_axes().0).normalize();
        let hand = smooth(-0.070, 0.012, (q - figure::wrist()).dot(turn)) * fore;
        let weight = [1.0 - arm, arm * (1.0 - fore), arm * (fore - hand), arm * hand];
        let beyond = figure::to_hand(q).x - KNUCKLES;
        Follow {
            weight,
            limb: if p.x >= 0.0 { Limb::LeftArm } else { Limb::RightArm },
            finger: if weight[3] > 0.99 { beyond.max(0.0) } else { 0.0 },
        }
    }

    /// The same for what has no sleeves, however near an arm it lies.
    pub fn sheet(p: Vec3) -> Follow {
        let neck = smooth(1.425, 1.485, p.y);
        if neck <= 0.0 {
            return Follow::TRUNK;
        }
        // The line between neck and skull runs from under the chin up to the nape; what stands off the face, such
        // as a visor, belongs to the head however low it hangs.
        let high = p.y + 0.5 * p.z + 0.12 * smooth(0.06, 0.10, p.z);
        let skull = neck * smooth(1.478, 1.548, high);
        Follow {
            weight: [1.0 - neck, neck - skull, skull, 0.0],
            limb: Limb::Head,
            finger: 0.0,
        }
    }

    /// True if it never moves against the trunk.
    pub fn is_trunk(&self) -> bool {
        self.weight[0] > 0.999
    }
}
