//! An item between two states: where each point of its first shape lies at a moment of a technique.
//!
//! Garments end as the bundle, masks and gloves as the limp thing that the hand holds, so that the change from the
//! bent shape to the one drawn afterwards is not seen.

use bevy::math::{Quat, Vec3};

use super::grip::mirrored;
use super::manner::Manner;
use super::worn;
use crate::model::Side;
use crate::scene::follow::Follow;
use crate::scene::kit;
use crate::scene::pose::Pose;
use crate::scene::shape::field::smooth;
use crate::scene::shape::figure;

/// How far below the rim an item comes to lie, metres.
const DEEP: f32 = 0.24;
/// Radius within which what is below the rim keeps, metres.
const THROAT: f32 = 0.115;

/// Where an item is when the technique is over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// Where it was, or somewhere else on the body.
    Body,
    /// In a hand.
    Hand(Side),
    /// In the bin; the middle of its opening at the height of the rim, figure space, metres.
    Bin(Vec3),
    /// On the floor, figure space, metres.
    Floor(Vec3),
}

/// One item on its way.
#[derive(Clone, Debug, PartialEq)]
pub struct Warp {
    /// Kit id.
    pub item: String,
    /// Item definition.
    pub model: String,
    /// The side it is worn on, if any.
    pub side: Option<Side>,
    /// The hand that holds it at the start, if one does; else the hand that acts.
    pub from: Side,
    /// How it moves.
    pub manner: Manner,
    /// Where it ends.
    pub end: End,
    /// True if it ends inside out.
    pub inverted: bool,
    /// How many things the hand that ends up with it holds already.
    pub order: usize,
    /// How far it has come, 0 to 1.
    pub at: f32,
    /// How far the figure has been turned since the beginning while the end stays where it was, radians.
    pub turned: f32,
}

impl Warp {
    /// Where a rest point lies now, figure space.
    pub fn place(&self, p: Vec3, n: Vec3, follow: &Follow, pose: &Pose) -> Vec3 {
        let s = self.at;
        let plain = || pose.apply(p, n, follow).0;
        if self.manner.lets_go() {
            return self.let_go(plain(), pose);
        }
        let worn = match self.model.as_str() {
            "glove" | "inner-glove" => worn::glove(self, p, plain(), pose),
            "gown" => worn::gown(self.manner, s, p, follow, pose),
            "apron" => worn::apron(self.manner, s, p),
            // What leaves foot or face leaves it where that is.
            "overshoe" => pose.apply(worn::overshoe(self.manner, s, p), n, follow).0,
            _ => pose.apply(worn::face(self.manner, s, p), n, follow).0,
        };
        let End::Hand(hand) = self.end else { return worn };
        let from = match self.model.as_str() {
            "gown" => 0.42,
            "glove" | "inner-glove" => 0.58,
            _ => 0.52,
        };
        worn.lerp(self.held(hand, p, n, pose), smooth(from, 1.0, s))
    }

    /// Where a rest point ends in the hand that holds the item.
    fn held(&self, hand: Side, p: Vec3, n: Vec3, pose: &Pose) -> Vec3 {
        let grip = kit::grip(hand, self.order);
        let rest = match self.model.as_str() {
            "glove" | "inner-glove" => {
                let side = self.side.unwrap_or(Side::Left);
                let q = figure::to_hand(mirrored(side, p));
                // Inside out is the mirror image; so is a right glove drawn as a left one.
                let q = if self.inverted {
                    Vec3::new(q.x, q.y, -q.z)
                } else {
                    q
                };
                grip + mirrored(side, kit::limp(figure::from_hand(q), false))
            }
            "gown" | "apron" | "overshoe" => {
                let half = kit::bundle_half(&self.model);
                let (middle, extent) = worn::extent(&self.model, p);
                let out = ((p - middle) / extent).normalize_or(Vec3::Y);
                // The lining ends outside if the roll is inside out, and the mirror image turns its faces out.
                let lining = n.dot(p - middle) < 0.0;
                let size = if lining == self.inverted { 0.94 } else { 0.86 };
                let flip = if self.inverted {
                    Vec3::new(-1.0, 1.0, 1.0)
                } else {
                    Vec3::ONE
                };
                grip + kit::bundle_hang(half) + half * out * flip * size
            }
            _ => grip + kit::from_face(&self.model, p, false),
        };
        pose.hand(hand).point(rest)
    }

    /// Something held that is let go: over to the bin and down into it, or down to the floor.
    fn let_go(&self, posed: Vec3, pose: &Pose) -> Vec3 {
        let s = self.at;
        let (End::Bin(to) | End::Floor(to)) = self.end else {
            return posed;
        };
        let to = Quat::from_rotation_y(-self.turned) * to;
        let from = pose.hand(self.from).point(kit::grip(self.from, 0));
        if let End::Floor(_) = self.end {
            let fall = s * s;
            let middle = Vec3::new(
                from.x + (to.x - from.x) * s,
                from.y + (to.y + 0.05 - from.y) * fall,
                from.z + (to.z - from.z) * s,
            );
            return middle + (posed - from);
        }
        // Over the opening, then down through it. What comes near the rim crumples to fit.
        let (over, down) = match self.manner {
            Manner::Throw => (smooth(0.0, 0.80, s), smooth(0.45, 1.0, s)),
            _ => (smooth(0.0, 0.45, s), s * s),
        };
        let high = from.y.max(to.y + 0.30);
        let arc = if self.manner == Manner::Throw {
            0.50 * over * (1.0 - over)
        } else {
            0.0
        };
        let level = from.lerp(to, over);
        let y = from.y + (high - from.y) * over + arc;
        let middle = Vec3::new(level.x, y + (to.y - DEEP - y) * down, level.z);
        let q = middle + (posed - from) * (1.0 - 0.60 * smooth(0.10, 0.75, down));
        let off = Vec3::new(q.x - to.x, 0.0, q.z - to.z);
        let room = THROAT + 3.0 * (q.y - to.y).max(0.0);
        let kept = off.clamp_length_max(if down > 0.0 { room } else { f32::MAX });
        Vec3::new(to.x + kept.x, q.y, to.z + kept.z)
    }
}
