//! How a hand takes hold: where on the hand the contact lies, how steeply it comes in, how far the fingers close.

use bevy::math::{Mat3, Quat, Vec3};

use crate::model::{Side, Zone};
use crate::scene::pose::{Closing, HandAim};
use crate::scene::shape::figure;

/// Where thumb and forefinger meet when they pinch, hand coordinates, metres.
pub(in crate::scene) const PINCHED: Vec3 = Vec3::new(0.122, 0.042, -0.039);

/// A way of taking hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grip {
    /// Between thumb and forefinger.
    Pinch,
    /// The same with the fingers laid along the surface.
    Clasp,
    /// Fingers slid beneath an edge, palm outwards.
    Hook,
    /// The same, and closed on the cloth.
    Gather,
    /// The whole palm laid on.
    Flat,
    /// The pads of the fingers pressed on.
    Press,
    /// The tip of a finger.
    Tip,
}

impl Grip {
    /// The grip of the zones that meet one place in a row; `beneath` if the place is an inner face.
    pub fn of(zones: &[Zone], beneath: bool) -> Grip {
        let has = |z| zones.contains(&z);
        if beneath && has(Zone::Fingertips) {
            Grip::Hook
        } else if has(Zone::Palm) {
            Grip::Flat
        } else if has(Zone::Thumb) && (has(Zone::Fingertips) || has(Zone::FingerPads)) {
            Grip::Pinch
        } else if has(Zone::FingerPads) {
            Grip::Press
        } else {
            Grip::Tip
        }
    }

    /// Contact in hand coordinates (m), share of the fingers' direction that lies along the surface, gap (m).
    fn measures(self) -> (Vec3, f32, f32) {
        match self {
            Grip::Pinch => (PINCHED, 0.62, 0.002),
            Grip::Clasp => (PINCHED, 0.96, 0.002),
            Grip::Hook | Grip::Gather => (Vec3::new(0.150, 0.010, -0.030), 0.96, -0.022),
            Grip::Flat => (Vec3::new(0.085, 0.0, -0.020), 0.985, 0.006),
            Grip::Press => (Vec3::new(0.135, 0.010, -0.030), 0.90, 0.004),
            Grip::Tip => (Vec3::new(0.155, 0.019, -0.036), 0.82, 0.006),
        }
    }

    /// How far the hand is closed as it comes to the place.
    pub fn coming(self) -> Closing {
        match self {
            Grip::Pinch | Grip::Clasp => Closing {
                thumb: 0.2,
                ..Closing::PINCH
            },
            Grip::Hook | Grip::Gather => Closing::fingers(0.04),
            Grip::Press => Closing::fingers(0.12),
            Grip::Flat | Grip::Tip => Closing::OPEN,
        }
    }

    /// How far it is closed once it holds what it came for.
    pub fn holding(self) -> Closing {
        match self {
            Grip::Pinch | Grip::Clasp | Grip::Tip => Closing::PINCH,
            Grip::Hook => Closing {
                thumb: 0.7,
                ..Closing::fingers(0.30)
            },
            Grip::Gather => Closing {
                thumb: 1.0,
                ..Closing::fingers(1.05)
            },
            Grip::Flat | Grip::Press => Closing {
                thumb: 0.9,
                ..Closing::fingers(1.35)
            },
        }
    }

    /// Where on the hand lies what it holds, hand coordinates, metres.
    pub fn held(self) -> Vec3 {
        match self {
            Grip::Pinch | Grip::Clasp | Grip::Tip => PINCHED,
            // On the pads of the fingers slid beneath it, which face outwards.
            Grip::Hook => Vec3::new(0.130, 0.012, -0.022),
            // Between the bent fingers and the thumb.
            Grip::Gather => Vec3::new(0.104, 0.012, -0.036),
            Grip::Flat => Vec3::new(0.092, 0.004, -0.028),
            Grip::Press => Vec3::new(0.120, 0.008, -0.034),
        }
    }

    /// The aim that takes hold at `point`, whose outer side faces `normal` (figure space, metres).
    pub fn aim(self, side: Side, point: Vec3, normal: Vec3) -> HandAim {
        let shoulder = mirrored(side, figure::SHOULDER);
        self.aim_from(side, point, normal, point - shoulder)
    }

    /// The same with the fingers coming in as nearly along `way` as the surface lets them.
    pub fn aim_from(self, side: Side, point: Vec3, normal: Vec3, way: Vec3) -> HandAim {
        let (contact, slant, gap) = self.measures();
        let way = way.normalize_or(Vec3::Z);
        let tangent = (way - normal * way.dot(normal)).normalize_or(normal.any_orthonormal_vector());
        let along = (tangent * slant - normal * (1.0 - slant * slant).sqrt()).normalize();
        let facing = if matches!(self, Grip::Hook | Grip::Gather) {
            normal
        } else {
            -normal
        };
        let palm = (facing - along * facing.dot(along)).normalize_or(Vec3::NEG_Y);
        let hand = facing_aim(side, Vec3::ZERO, along, palm);
        let thumb = thumb(side, along, palm);
        HandAim {
            wrist: point + normal * gap - (along * contact.x + thumb * contact.y - palm * contact.z),
            closing: self.coming(),
            ..hand
        }
    }
}

/// A left-hand point or its mirror image for the right.
pub fn mirrored(side: Side, p: Vec3) -> Vec3 {
    match side {
        Side::Left => p,
        Side::Right => Vec3::new(-p.x, p.y, p.z),
    }
}

fn thumb(side: Side, along: Vec3, palm: Vec3) -> Vec3 {
    match side {
        Side::Left => palm.cross(along),
        Side::Right => along.cross(palm),
    }
}

/// The aim with the wrist at a place, fingers along `along` and the palm facing `palm` (unit vectors, square).
pub fn facing_aim(side: Side, wrist: Vec3, along: Vec3, palm: Vec3) -> HandAim {
    let (u, v, w) = figure::hand_axes();
    let rest = Mat3::from_cols(mirrored(side, u), mirrored(side, v), mirrored(side, w));
    let posed = Mat3::from_cols(along, thumb(side, along, palm), -palm);
    HandAim {
        wrist,
        turn: Quat::from_mat3(&(posed * rest.inverse())).normalize(),
        closing: Closing::OPEN,
    }
}

/// The hand's place while both rub together: palm on palm in circles, then fingers across, then round the thumbs.
///
/// `t` runs from 0 to 1; `turns` is how many circles that is.
pub fn rubbing(side: Side, t: f32, turns: f32) -> HandAim {
    let s = if side == Side::Left { 1.0 } else { -1.0 };
    let a = t * turns * std::f32::consts::TAU;
    let (sin, cos) = a.sin_cos();
    let (middle, gap) = (Vec3::new(0.0, 1.13, 0.245), 0.020);
    let flat = |slip: Vec3, lean: f32| {
        let along = Vec3::new(-s * 0.10, lean, 1.0).normalize();
        let palm = Vec3::new(-s, 0.0, 0.0);
        let palm = (palm - along * palm.dot(along)).normalize();
        facing_aim(side, middle + Vec3::new(s * gap, 0.0, 0.0) + slip, along, palm)
    };
    if t < 0.40 {
        flat(Vec3::new(0.0, 0.022 * sin * s, 0.026 * cos * s), 0.35)
    } else if t < 0.70 {
        // Fingers pass between one another: one hand higher and turned across the other.
        let mut aim = flat(Vec3::new(0.0, 0.004 * s, 0.034 * sin * s), 0.35 + 0.55 * s);
        aim.closing = Closing::fingers(0.25);
        aim
    } else {
        // One hand closes round the other's thumb; they change over half-way.
        let closing = (t < 0.85) == (side == Side::Left);
        let slip = if closing {
            Vec3::new(-s * 0.012, 0.045 + 0.012 * sin, 0.004 * cos)
        } else {
            Vec3::new(0.0, -0.018, 0.0)
        };
        let mut aim = flat(slip, if closing { 0.05 + 0.25 * cos } else { 0.45 });
        aim.closing = Closing::fingers(if closing { 0.9 } else { 0.05 });
        aim
    }
}
