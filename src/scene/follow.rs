//! Which bones each vertex follows, and how much. Knows the shape at rest, not how it moves.

use bevy::math::Vec3;

use super::shape::field::smooth;
use super::shape::figure::{self, ANKLE, KNEE, SHOULDER, left};
use super::shape::person::arm_share;
use super::shape::{bin, body, doorway};
use crate::model::Side;

/// From the wrist to where the fingers bend, metres.
pub(super) const KNUCKLES: f32 = 0.086;

/// From where to where an arm bends at the wrist, metres beyond it: so gently that a glove's edge over a cuff on the inner side
/// of a far bend is not folded into what it lies over.
const WRIST: (f32, f32) = (-0.112, 0.030);

/// The same of a leg and an overshoe at the ankle, metres above it.
const BENDS_AT_ANKLE: (f32, f32) = (0.160, -0.030);

/// Below this height cloth and legs move with the thighs, metres.
const HANGS: f32 = 0.945;
/// Below this height cloth before the body is pushed together where a thigh is lifted high, metres.
const BUNCHES: f32 = 1.30;
/// Below this height they follow them wholly, metres.
const THIGHS: f32 = 0.78;

/// What moves against the trunk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limb {
    /// Upper arm, forearm and hand of the left.
    LeftArm,
    /// The same of the right.
    RightArm,
    /// Neck and skull.
    Head,
    /// Thigh, shin and foot of the left.
    LeftLeg,
    /// The same of the right.
    RightLeg,
    /// Cloth that hangs round both legs: the left thigh and the right.
    Skirt,
    /// The lids of the bins, which belong to the room: inside and outside.
    Lid,
    /// The leaf of the door, which belongs to the room too.
    Door,
}

impl Limb {
    /// All limbs in the order of their bones.
    pub const ALL: [Limb; 8] = [
        Limb::LeftArm,
        Limb::RightArm,
        Limb::Head,
        Limb::LeftLeg,
        Limb::RightLeg,
        Limb::Skirt,
        Limb::Lid,
        Limb::Door,
    ];

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
    /// How far beyond the knuckles it lies on a finger of a hand that can close, metres; 0 elsewhere.
    pub finger: f32,
    /// How far cloth hangs off the legs it hangs round, metres; 0 elsewhere.
    pub loose: f32,
    /// How wholly it goes along with the thumb of a hand that can close.
    pub thumb: f32,
}

/// How far off the legs something must lie to hang from them rather than to turn with them, metres.
const LOOSE: f32 = 0.012;

/// How much of cloth that hangs round both legs goes along with the left one.
pub(super) fn left_share(p: Vec3) -> f32 {
    smooth(-0.09, 0.09, p.x)
}

/// Where across the hand (towards the thumb) forefinger and middle finger part, `along` it from the wrist, metres.
pub(super) fn index_edge(along: f32) -> f32 {
    0.0207 + 0.12 * (along - 0.090)
}

/// How wholly a point of the hand belongs to the thumb, hand coordinates.
fn thumb_share(q: Vec3) -> f32 {
    let edge = (0.038 + 0.35 * (q.x - 0.057)).min(0.0505);
    // Beyond the thumb's tip there is only the forefinger.
    smooth(-0.006, 0.005, q.y - edge) * smooth(0.030, 0.060, q.x) * smooth(0.130, 0.122, q.x)
}

impl Follow {
    /// Follows the trunk only.
    pub const TRUNK: Follow = Follow {
        weight: [1.0, 0.0, 0.0, 0.0],
        limb: Limb::LeftArm,
        finger: 0.0,
        loose: 0.0,
        thumb: 0.0,
    };

    /// Follows one hand only.
    pub fn hand(side: Side) -> Follow {
        Follow {
            weight: [0.0, 0.0, 0.0, 1.0],
            limb: Limb::arm(side),
            finger: 0.0,
            loose: 0.0,
            thumb: 0.0,
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
        let hand = smooth(WRIST.0, WRIST.1, (q - figure::wrist()).dot(turn)) * fore;
        let weight = [1.0 - arm, arm * (1.0 - fore), arm * (fore - hand), arm * hand];
        let in_hand = figure::to_hand(q);
        let closes = weight[3] > 0.99;
        let thumb = if closes { thumb_share(in_hand) } else { 0.0 };
        let beyond = (in_hand.x - KNUCKLES).max(0.0) * (1.0 - thumb);
        Follow {
            weight,
            limb: if p.x >= 0.0 { Limb::LeftArm } else { Limb::RightArm },
            loose: 0.0,
            finger: if closes { beyond } else { 0.0 },
            thumb,
        }
    }

    /// The same for what has no sleeves, however near an arm it lies.
    pub fn sheet(p: Vec3) -> Follow {
        if p.y < HANGS {
            return Follow::below(p);
        }
        let loose = body::trousers(p);
        if p.y < BUNCHES && loose > LOOSE {
            return Follow {
                limb: Limb::Skirt,
                loose,
                ..Follow::TRUNK
            };
        }
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
            loose: 0.0,
            thumb: 0.0,
        }
    }

    /// The following of a point below the hips: with one leg, or with the cloth that hangs round both.
    fn below(p: Vec3) -> Follow {
        let q = left(p);
        let loose = body::trousers(p);
        if loose > LOOSE && p.y > 0.30 {
            // As soon as the thighs do, or they would come through it.
            let hangs = smooth(HANGS, THIGHS, p.y);
            let share = left_share(p);
            return Follow {
                weight: [1.0 - hangs, hangs * share, hangs * (1.0 - share), 0.0],
                limb: Limb::Skirt,
                finger: 0.0,
                loose,
                thumb: 0.0,
            };
        }
        // Where the legs meet, neither draws the cloth along.
        let apart = smooth(0.0, 0.05, q.x).max(smooth(0.80, 0.70, p.y));
        let leg = smooth(HANGS, THIGHS, p.y) * apart;
        let shin = leg * smooth(KNEE.y + 0.06, KNEE.y - 0.06, p.y);
        let foot = shin * smooth(ANKLE.y + BENDS_AT_ANKLE.0, ANKLE.y + BENDS_AT_ANKLE.1, p.y);
        Follow {
            weight: [1.0 - leg, leg - shin, shin - foot, foot],
            limb: if p.x >= 0.0 { Limb::LeftLeg } else { Limb::RightLeg },
            finger: 0.0,
            loose: 0.0,
            thumb: 0.0,
        }
    }

    /// The following of a point of the room: lids and door move, nothing else does.
    pub fn in_room(p: Vec3) -> Follow {
        // Each lid has a bone of its own.
        let (limb, bone) = if let Some(lid) = bin::lid_of(p) {
            (Limb::Lid, 1 + lid)
        } else if doorway::is_leaf(p) {
            (Limb::Door, 1)
        } else {
            return Follow::TRUNK;
        };
        let mut weight = [0.0; 4];
        weight[bone] = 1.0;
        Follow {
            weight,
            limb,
            finger: 0.0,
            loose: 0.0,
            thumb: 0.0,
        }
    }

    /// True if it moves when the hand closes.
    pub fn closes(&self) -> bool {
        self.finger > 0.0 || self.thumb > 0.0
    }

    /// True if it never moves against the trunk.
    pub fn is_trunk(&self) -> bool {
        self.weight[0] > 0.999 && self.limb != Limb::Skirt
    }
}
