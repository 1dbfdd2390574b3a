//! Where both arms are, and the ways a hand takes to a patch and back without passing through the body.

use bevy::prelude::*;

use super::kit::Keep;
use super::pose::{Closing, HandAim, Pose, ease};
use super::shape::field::smooth;
use super::shape::figure;
use super::shape::hand::Hand;
use super::stance::Stance;
use crate::model::Side;
use crate::view::stage::{Held, Stage};

/// Which hand acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hands {
    /// One hand.
    One(Side),
    /// Both together.
    Both,
}

/// Both arms, the body they hang on and the door of its room: where they are.
pub struct Arms {
    now: [HandAim; 2],
    /// How each hand keeps what it holds.
    keeps: [Option<Keep>; 2],
    /// What is held out to be seen.
    shows: Option<Held>,
    stance: Stance,
    /// How far the door of their room stands open, 0 to 1.
    door: f32,
    /// The pose as it stands; pieces are redrawn when it changes.
    pub pose: Pose,
}

impl Default for Arms {
    fn default() -> Self {
        Self {
            now: [ease(Side::Left), ease(Side::Right)],
            keeps: [None; 2],
            shows: None,
            stance: Stance::default(),
            door: 0.0,
            pose: Pose::at_ease(),
        }
    }
}

impl Arms {
    /// Where a hand is and how it is turned.
    pub fn aim(&self, side: Side) -> HandAim {
        self.now[slot(side)]
    }

    /// Puts a hand to an aim at once; what choreography builds on.
    pub fn set(&mut self, side: Side, aim: HandAim) {
        self.now[slot(side)] = aim;
        self.solve();
    }

    /// What the rest of the body does.
    pub fn stance(&self) -> &Stance {
        &self.stance
    }

    /// Puts the rest of the body into a stance at once.
    pub fn stand(&mut self, stance: Stance) {
        self.stance = stance;
        self.solve();
    }

    /// How far the door of their room stands open, 0 to 1.
    pub fn door(&self) -> f32 {
        self.door
    }

    /// Opens the door of their room so far, 0 to 1.
    pub(super) fn open_door(&mut self, to: f32) {
        self.door = to;
        self.solve();
    }

    fn solve(&mut self) {
        self.pose = Pose::of(self.now[0], self.now[1], &self.stance).with_door(self.door);
    }

    /// Hands at ease, standing upright.
    pub fn rest(&mut self) {
        self.now = Side::BOTH.map(|side| self.ease(side));
        self.stand(Stance::default());
    }

    /// A hand at ease, closed on what it holds.
    pub fn ease(&self, side: Side) -> HandAim {
        match self.shows {
            Some(held) => held_out(side, held),
            None => at_ease(side, self.keeps[slot(side)]),
        }
    }

    /// Closes hands at ease on what they hold now; `moving` if a technique has them.
    /// Holds them out, or no longer, as the stage wants.
    pub(super) fn keep(&mut self, stage: &Stage, moving: bool) {
        let keeps = Side::BOTH.map(|side| Keep::by(side, stage.items.iter()));
        if keeps == self.keeps && stage.shows == self.shows {
            return;
        }
        let were = Side::BOTH.map(|side| self.ease(side));
        self.keeps = keeps;
        self.shows = stage.shows;
        for side in Side::BOTH {
            if !moving && self.now[slot(side)] == were[slot(side)] {
                self.set(side, self.ease(side));
            }
        }
    }
}

/// A hand at ease that keeps something.
pub(super) fn at_ease(side: Side, keep: Option<Keep>) -> HandAim {
    let ease = ease(side);
    HandAim {
        closing: keep.map_or(ease.closing, Keep::closing),
        ..ease
    }
}

/// A hand held out before the chest, fingers up and spread a little, one side of it towards whoever looks.
fn held_out(side: Side, held: Held) -> HandAim {
    let s = if side == Side::Left { 1.0 } else { -1.0 };
    // Fingers up, leaning outwards a little.
    let along = Vec3::new(0.16 * s, 0.985, 0.06).normalize();
    let faces = match held {
        Held::Palms => Vec3::Z,
        Held::Backs => Vec3::NEG_Z,
    };
    let palm = (faces - along * faces.dot(along)).normalize();
    HandAim {
        wrist: Vec3::new(0.145 * s, 1.150, 0.300),
        turn: turned(side, along, palm).0,
        closing: Closing::OPEN,
    }
}

fn slot(side: Side) -> usize {
    usize::from(side == Side::Right)
}

/// The turn from rest of a hand whose fingers point along one way and whose palm faces another, and where its thumb is then.
fn turned(side: Side, along: Vec3, palm: Vec3) -> (Quat, Vec3) {
    let s = if side == Side::Left { 1.0 } else { -1.0 };
    let m = |p: Vec3| Vec3::new(p.x * s, p.y, p.z);
    let (u, v, w) = figure::hand_axes();
    let rest = Mat3::from_cols(m(u), m(v), m(w));
    let thumb = palm.cross(along) * s;
    let posed = Mat3::from_cols(along, thumb, -palm);
    (Quat::from_mat3(&(posed * rest.inverse())).normalize(), thumb)
}

/// The aim that lays the pad of the index finger on `point`, whose surface faces `normal` (figure space).
pub fn touch(side: Side, point: Vec3, normal: Vec3) -> HandAim {
    let s = if side == Side::Left { 1.0 } else { -1.0 };
    let m = |p: Vec3| Vec3::new(p.x * s, p.y, p.z);
    let shoulder = m(figure::SHOULDER);
    // Fingers come in at a slant: partly along the arm's own direction, partly straight onto the surface.
    let arm = (point - shoulder).normalize_or(Vec3::Z);
    let tangent = (arm - normal * arm.dot(normal)).normalize_or(normal.any_orthonormal_vector());
    let along = (tangent * 0.82 - normal * 0.57).normalize();
    let palm = (-normal - along * (-normal).dot(along)).normalize_or(Vec3::NEG_Y);
    let (turn, thumb) = turned(side, along, palm);
    let pad = Hand::touch_point();
    let pad = along * pad.x + thumb * pad.y - palm * pad.z;
    HandAim {
        wrist: point + normal * 0.006 - pad,
        turn,
        closing: Closing::OPEN,
    }
}

/// The normal to approach a point by: behind the body, bows and straps face every way, so straight out is safer.
pub(super) fn outward(p: Vec3, n: Vec3) -> Vec3 {
    if p.z > -0.03 || Vec3::new(p.x, 0.0, p.z).length() > 0.30 {
        return n;
    }
    Vec3::new(p.x * 0.6, if p.y > 1.55 { 0.05 } else { 0.0 }, p.z).normalize_or(n)
}

/// A waypoint that keeps the hand from passing through the body on its way.
pub(super) fn waypoint(side: Side, from: Vec3, to: Vec3) -> Vec3 {
    let s = if side == Side::Left { 1.0 } else { -1.0 };
    let middle = (from + to) * 0.5;
    let flat = Vec3::new(middle.x, 0.0, middle.z);
    let behind = smooth(0.02, -0.12, to.z);
    let out = flat.normalize_or(Vec3::Z) * (0.10 + 0.05 * behind);
    middle + out.lerp(Vec3::new(s * 0.34 - middle.x * 0.6, 0.02, 0.03), behind)
}

pub(super) fn ease_curve(t: f32, hurried: bool) -> f32 {
    if hurried {
        1.0 - (1.0 - t).powi(3)
    } else {
        t * t * t * (t * (6.0 * t - 15.0) + 10.0)
    }
}

pub(super) fn blend(a: HandAim, by: Vec3, b: HandAim, t: f32) -> HandAim {
    let p = a.wrist * (1.0 - t) * (1.0 - t) + by * (2.0 * t * (1.0 - t)) + b.wrist * t * t;
    HandAim {
        wrist: p,
        turn: a.turn.slerp(b.turn, smooth(0.0, 0.85, t)),
        closing: a.closing.lerp(b.closing, smooth(0.4, 1.0, t)),
    }
}
