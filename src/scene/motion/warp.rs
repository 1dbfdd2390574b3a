//! An item between two states: where each point of its first shape lies at a moment of a technique.
//!
//! Garments end as the bundle, masks and gloves as the limp thing that the hand holds, so that the change from the
//! bent shape to the one drawn afterwards is not seen.

use bevy::math::{Quat, Vec3};

use super::grasp::{Grasp, drawn};
use super::grip::mirrored;
use super::manner::Manner;
use super::visit::is_band;
use super::worn;
use crate::model::Side;
use crate::scene::follow::Follow;
use crate::scene::kit::{self, Hung};
use crate::scene::pose::Pose;
use crate::scene::shape::bundle;
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
    /// The point of its front that it ends up held by, figure space at rest; `None` if it hangs otherwise.
    pub front: Option<Vec3>,
    /// How many things the hand that ends up with it holds already.
    pub order: usize,
    /// How far it has come, 0 to 1.
    pub at: f32,
    /// Where the hand holds it at the start, figure space at rest; `None` if it is worn then.
    pub hung: Option<Vec3>,
    /// Which hands hold it, and where.
    pub grasps: Vec<Grasp>,
    /// How firmly, 0 to 1.
    pub firm: f32,
    /// How far the figure has been turned since the beginning while the end stays where it was, radians.
    pub turned: f32,
}

/// An item at one moment: where each of its points lies in a pose.
pub struct Bent<'a> {
    warp: &'a Warp,
    pose: &'a Pose,
    /// How far each grasp draws what it holds.
    drawn: Vec<Vec3>,
    /// Where a hand has the edge of a glove.
    edge: Option<Vec3>,
    /// From where the item ends up, to where it would with the held corner still in the fingers.
    kept: Vec3,
}

impl Warp {
    /// The item as it is now.
    pub fn now<'a>(&'a self, pose: &'a Pose) -> Bent<'a> {
        let mut out = Bent {
            warp: self,
            pose,
            drawn: Vec::new(),
            kept: Vec3::ZERO,
            edge: self
                .grasps
                .first()
                .map(|g| g.contact(pose))
                .filter(|_| self.firm > 0.0),
        };
        if self.firm > 0.0 {
            let worn = |g: &Grasp| {
                let (p, n, follow) = g.anchor();
                out.worn(g.clear(), *p, *n, follow)
            };
            out.drawn = drawn(&self.grasps, pose, &worn);
            if let End::Hand(hand) = self.end
                && let Some(g) = self.grasps.iter().find(|g| g.side == hand)
            {
                let (p, n, _) = g.anchor();
                out.kept = g.contact(pose) - self.held(hand, *p, *n, pose);
            }
        }
        out
    }

    /// How far what lay hidden beneath it has come to the light, 0 to 1.
    pub fn opened(&self) -> f32 {
        match self.end {
            End::Hand(_) => smooth(0.15, 0.60, self.at),
            _ => 0.0,
        }
    }

    /// Where a hand holds it when it has come off.
    fn grip(&self, hand: Side) -> Vec3 {
        kit::grip(hand, &self.model, self.order)
    }
}

impl Bent<'_> {
    /// Where a rest point lies now, figure space; `corner` is its index, and true in the see-through piece.
    pub fn place(&self, (clear, corner): (bool, usize), p: Vec3, n: Vec3, follow: &Follow) -> Vec3 {
        let Bent { warp, pose, .. } = self;
        if let Some(at) = warp.hung {
            let here = pose.hung(warp.from, at, p);
            let End::Hand(to) = warp.end else {
                return warp.let_go(here, pose);
            };
            // It goes along inside what is drawn off the hand that held it.
            let there = pose.hung(to, warp.grip(to), p - at + warp.grip(to));
            return here.lerp(there, smooth(0.55, 1.0, warp.at));
        }
        let mut worn = self.worn(clear, p, n, follow);
        for (grasp, by) in warp.grasps.iter().zip(&self.drawn) {
            worn += *by * (grasp.weight(clear, corner) * warp.firm);
        }
        let End::Hand(hand) = warp.end else { return worn };
        let from = match warp.model.as_str() {
            "gown" => 0.45,
            "glove" | "inner-glove" => 0.58,
            _ => 0.52,
        };
        let share = smooth(from, 1.0, warp.at);
        worn.lerp(warp.held(hand, p, n, pose), share) + self.kept * (share * smooth(1.0, 0.70, share))
    }

    /// Where the manner of the technique has a rest point, of the see-through piece or the solid one, whatever the hands
    /// do.
    fn worn(&self, clear: bool, p: Vec3, n: Vec3, follow: &Follow) -> Vec3 {
        let Bent { warp, pose, .. } = self;
        let s = warp.at;
        match (warp.manner, warp.model.as_str()) {
            (Manner::Untie, _) => pose.apply(p, n, follow).0,
            (_, "glove" | "inner-glove") => {
                let side = warp.side.unwrap_or(Side::Left);
                let plain = pose.apply(p, n, follow).0;
                worn::glove(warp.manner, (s, side), (p, n), plain, pose, self.edge)
            }
            (_, "gown") => {
                let on = worn::gown(warp.manner, s, p, follow, pose);
                let side = if p.x >= 0.0 { Side::Left } else { Side::Right };
                let held = warp.grasps.iter().find(|g| g.side == side && warp.firm > 0.0);
                match held {
                    Some(grasp) => {
                        let hung = worn::emptied(p, grasp.anchor().0) + grasp.contact(pose);
                        on.lerp(hung, worn::emptying(warp.manner, s, follow))
                    }
                    None => on,
                }
            }
            (_, "apron") => worn::apron(warp.manner, s, p, !clear),
            // What leaves foot or face leaves it where that is.
            (_, "overshoe") => pose.apply(worn::overshoe(warp.manner, s, p), n, follow).0,
            _ => {
                let led = warp.grasps.iter().any(|g| is_band(&g.part));
                pose.apply(worn::face(warp.manner, s, p, led), n, follow).0
            }
        }
    }
}

impl Warp {
    /// Where a rest point ends in the hand that holds the item.
    fn held(&self, hand: Side, p: Vec3, n: Vec3, pose: &Pose) -> Vec3 {
        let grip = self.grip(hand);
        let rest = match self.model.as_str() {
            "glove" | "inner-glove" => {
                let side = self.side.unwrap_or(Side::Left);
                let p = if self.inverted {
                    p - n * (2.0 * worn::FACES)
                } else {
                    p
                };
                let q = figure::to_hand(mirrored(side, p));
                // The limp glove is a mirror image of the worn one, which turns its inner faces out: just what is wanted
                // of one that is inside out. Any other is mirrored once more.
                let q = if self.inverted {
                    q
                } else {
                    Vec3::new(q.x, q.y, -q.z)
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
                grip + kit::bundle_hang(half) + bundle::crumpled(half, out * flip) * size
            }
            _ => grip + kit::from_face(&self.model, p, self.front.map_or(Hung::Strap, Hung::Front)),
        };
        pose.hung(hand, grip, rest)
    }

    /// Something held that is let go: over to the bin and down into it, or down to the floor.
    fn let_go(&self, posed: Vec3, pose: &Pose) -> Vec3 {
        let s = self.at;
        let (End::Bin(to) | End::Floor(to)) = self.end else {
            return posed;
        };
        let to = Quat::from_rotation_y(-self.turned) * to;
        let from = pose
            .hand(self.from)
            .point(self.hung.unwrap_or_else(|| self.grip(self.from)));
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
            0.80 * over * (1.0 - over)
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
