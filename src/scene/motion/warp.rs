//! An item between two states: where each point of its first shape lies at a moment of a technique.
//!
//! Garments end as the bundle, masks and gloves as the limp thing that the hand holds, so that the change from the
//! bent shape to the one drawn afterwards is not seen.

use bevy::math::Vec3;

use super::grip::mirrored;
use super::manner::Manner;
use super::worn;
use crate::model::Side;
use crate::scene::follow::Follow;
use crate::scene::kit;
use crate::scene::pose::Pose;
use crate::scene::shape::field::smooth;
use crate::scene::shape::figure;

/// Where an item is when the technique is over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// Where it was, or somewhere else on the body.
    Body,
    /// In a hand.
    Hand(Side),
    /// Under the lid of the bin, figure space, metres.
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
}

impl Warp {
    /// Where a rest point lies now, figure space.
    pub fn place(&self, p: Vec3, n: Vec3, follow: &Follow, pose: &Pose) -> Vec3 {
        let s = self.at;
        let plain = || pose.apply(p, n, follow).0;
        match self.manner {
            Manner::Bin | Manner::Throw | Manner::PushDown | Manner::Fall => {
                return self.let_go(plain(), pose);
            }
            _ => {}
        }
        let worn = match self.model.as_str() {
            "glove" | "inner-glove" => worn::glove(self, p, plain(), pose),
            "gown" => worn::gown(self.manner, s, p, follow, pose),
            "apron" => worn::apron(self.manner, s, p),
            "overshoe" => worn::overshoe(self.manner, s, p),
            // What leaves the face leaves it where the head is.
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
            _ => grip + kit::from_face(p, false),
        };
        pose.hand(hand).point(rest)
    }

    /// Something held that is let go: over to the bin and down into it, or down to the floor.
    fn let_go(&self, posed: Vec3, pose: &Pose) -> Vec3 {
        let s = self.at;
        let (End::Bin(to) | End::Floor(to)) = self.end else {
            return posed;
        };
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
        let high = if self.manner == Manner::Throw { 0.55 } else { 0.28 };
        let mouth = to + Vec3::Y * 0.30;
        let over = smooth(0.0, 0.75, s);
        let middle = from.lerp(mouth, over) + Vec3::Y * high * 4.0 * over * (1.0 - over) * 0.6;
        let middle = middle.lerp(to, smooth(0.70, 1.0, s));
        middle + (posed - from) * (1.0 - 0.75 * smooth(0.35, 1.0, s))
    }
}
