//! Two hands that meet before the body: one held out with its glove, the other coming across to take hold of it.

use bevy::math::Vec3;

use super::grip::{Grip, facing_aim, mirrored};
use super::visit::{Place, STOPS, Spot, Stop, Taken, grip, inner};
use crate::model::Side;
use crate::scene::bone::Bone;
use crate::scene::pose::{Closing, HandAim, Pose};
use crate::scene::reach::Arms;
use crate::scene::shape::field::smooth;
use crate::scene::shape::figure;
use crate::scene::stance::Stance;
use crate::view::stage::Stage;

/// Where the wrist of the hand held out is, its fingers' direction and its palm's; for a left hand, metres.
const WRIST: Vec3 = Vec3::new(0.135, 1.055, 0.370);
const FINGERS: Vec3 = Vec3::new(-0.50, -0.16, 0.85);
const PALM: Vec3 = Vec3::new(-0.30, -0.94, -0.10);
/// Which side of that wrist is taken hold of: above, towards the other hand and away from the body.
const TAKEN: Vec3 = Vec3::new(-0.42, 0.74, 0.52);
/// Which way the fingers that take hold come in.
const ACROSS: Vec3 = Vec3::new(0.86, -0.12, 0.50);
/// The same for fingers slid beneath its edge.
const BENEATH: Vec3 = Vec3::new(0.44, -0.18, 0.84);
/// How far from the wrist's middle a cuff lies, its outside and beneath it, and up to where along the hand it is one,
/// metres.
const ROUND: (f32, f32) = (0.040, 0.026);
const CUFF: f32 = 0.03;

/// How much nearer a hand is held out if the other goes to its fingers, which it would not reach else, metres.
const NEARER: f32 = 0.09;

/// How far the hand held out draws back out of its glove, `s` into the technique, metres.
pub(super) fn yielded(s: f32) -> f32 {
    0.12 * smooth(0.05, 0.75, s)
}

/// The hand held out: how, and where its own points were and will be.
pub(super) struct Meeting {
    side: Side,
    /// The aim of the hand held out.
    pub aim: HandAim,
    was: Bone,
    is: Bone,
}

impl Meeting {
    /// The hand of a side held out from where both are now; nearer if the other goes to its `fingers`.
    pub fn new(side: Side, arms: &Arms, fingers: bool) -> Meeting {
        let nearer = if fingers { NEARER } else { 0.0 };
        let along = mirrored(side, FINGERS.normalize());
        let palm = mirrored(side, PALM);
        let palm = (palm - along * palm.dot(along)).normalize_or(Vec3::NEG_Y);
        let aim = HandAim {
            closing: arms.aim(side).closing.lerp(Closing::OPEN, 0.5),
            ..facing_aim(side, mirrored(side, WRIST) - along * nearer, along, palm)
        };
        let pose = match side {
            Side::Left => Pose::of(aim, arms.aim(Side::Right), &Stance::default()),
            Side::Right => Pose::of(arms.aim(Side::Left), aim, &Stance::default()),
        };
        Meeting {
            side,
            aim,
            was: *arms.pose.hand(side),
            is: *pose.hand(side),
        }
    }

    /// Which way the fingers of the hand held out point.
    pub fn along(&self) -> Vec3 {
        self.is.turned(mirrored(self.side, figure::hand_axes().0))
    }

    /// The aims of the other hand at the places it touches there, in order.
    pub fn visits(&self, (places, taken): (&[Place], &[Taken]), stage: &Stage, spot: &Spot) -> Vec<Stop> {
        let acting = self.side.other();
        let stops = places.iter().filter_map(|place| {
            let (p, n) = spot(acting, place.site)?;
            let grip = grip(place, taken, stage);
            let inside = grip == Grip::Hook || inner(stage, place.site);
            let (rest, out) = self.was.back(p, if inside { -n } else { n });
            let q = figure::to_hand(mirrored(self.side, rest));
            let (p, n) = if q.x < CUFF {
                // A cuff goes all round: it is taken where the other hand comes from.
                let middle = mirrored(self.side, figure::from_hand(Vec3::new(q.x, 0.0, 0.0)));
                let n = mirrored(self.side, TAKEN.normalize());
                let far = if inside { ROUND.1 } else { ROUND.0 };
                (self.is.point(middle) + n * far, n)
            } else {
                (self.is.point(rest), self.is.turned(out))
            };
            let way = if grip == Grip::Hook { BENEATH } else { ACROSS };
            Some(Stop {
                aim: grip.aim_from(acting, p, n, mirrored(self.side, way)),
                grip,
                normal: n,
            })
        });
        stops.take(STOPS).collect()
    }
}
