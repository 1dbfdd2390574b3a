//! One bone of the skeleton, and the turns it is made of.

use bevy::math::{Mat3, Vec3};

/// A turn about a joint: rest positions to posed ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bone {
    pub(super) turn: Mat3,
    shift: Vec3,
}

impl Bone {
    pub(super) const STILL: Bone = Bone {
        turn: Mat3::IDENTITY,
        shift: Vec3::ZERO,
    };

    pub(super) fn about(rest: Vec3, posed: Vec3, turn: Mat3) -> Bone {
        Bone {
            turn,
            shift: posed - turn * rest,
        }
    }

    /// The same on the other side.
    pub(super) fn mirrored(self) -> Bone {
        Bone {
            turn: reflected(self.turn),
            shift: flip(self.shift),
        }
    }

    /// Where a rest point goes.
    pub fn point(&self, p: Vec3) -> Vec3 {
        self.turn * p + self.shift
    }

    /// Which rest point went there, and which rest direction points that way.
    pub fn back(&self, p: Vec3, d: Vec3) -> (Vec3, Vec3) {
        let back = self.turn.transpose();
        (back * (p - self.shift), back * d)
    }

    /// Which way a rest direction points.
    pub fn turned(&self, d: Vec3) -> Vec3 {
        self.turn * d
    }
}

pub(super) fn flip(p: Vec3) -> Vec3 {
    Vec3::new(-p.x, p.y, p.z)
}

pub(super) fn frame(dir: Vec3, normal: Vec3) -> Mat3 {
    let n = (normal - dir * normal.dot(dir)).normalize_or(Vec3::X);
    Mat3::from_cols(dir, n, dir.cross(n))
}

pub(super) fn reflected(turn: Mat3) -> Mat3 {
    let reflect = Mat3::from_diagonal(Vec3::new(-1.0, 1.0, 1.0));
    reflect * turn * reflect
}
