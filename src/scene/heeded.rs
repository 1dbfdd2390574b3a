//! What a close view keeps in sight while hands are at work: the hands, and the face or what lies between them.

use bevy::math::Vec3;

use super::follow::Limb;
use super::motion::{Motion, grip::mirrored};
use super::orbit::Orbit;
use super::pose::Pose;
use super::reach::Arms;
use super::shape::figure;
use super::stance::Place;
use crate::model::Side;

/// How far ahead of hands at work a close view looks, seconds: it comes after them with a delay, and is to be there before
/// them.
const AHEAD: f32 = 0.45;
/// Height of what a view looks at, above which it is one of the face, metres.
const FACE: f32 = 1.45;

/// The outline of a hand, with what lies in its fingers: hand coordinates, metres.
const HAND: [Vec3; 4] = [
    Vec3::new(0.0, 0.0, 0.0),
    Vec3::new(0.22, 0.0, 0.0),
    Vec3::new(0.10, 0.07, -0.02),
    Vec3::new(0.09, -0.05, 0.0),
];
/// The outline of the face: brow, chin and one ear, metres.
const FACE_OUTLINE: [Vec3; 3] = [
    Vec3::new(0.0, 1.70, 0.09),
    Vec3::new(0.0, 1.50, 0.09),
    Vec3::new(0.075, 1.60, 0.02),
];

/// What a view is to have in its picture now and in a moment, seen from where the person stands, and where the body is put
/// by then. Nothing while no hand is at work.
pub(super) fn points(motion: &Motion, arms: &Arms, view: &Orbit) -> Vec<(Place, Vec3)> {
    let face = view.height > FACE;
    let acts: Vec<Side> = Side::BOTH.into_iter().filter(|side| motion.acts(*side)).collect();
    if acts.is_empty() {
        return Vec::new();
    }
    // A view of the face waits for hands to come into it and lets them go, one of the hands goes along with both.
    let coming = motion.coming((AHEAD, face), arms, view.turn);
    let mut out = Vec::new();
    if face && !coming.is_empty() {
        // The face is still where it is, however far down it will be.
        let place = arms.stance().place;
        out.extend(head(&arms.pose).map(|p| (place, place.transform().transform_point(p))));
    }
    for (stance, pose) in coming {
        let put = stance.place.transform();
        let mut add = |p: Vec3| out.push((stance.place, put.transform_point(p)));
        for side in Side::BOTH.into_iter().filter(|side| !face || acts.contains(side)) {
            hand(&pose, side).for_each(&mut add);
        }
        if face {
            head(&pose).for_each(&mut add);
        }
    }
    out
}

/// The outline of a hand as it is posed.
fn hand(pose: &Pose, side: Side) -> impl Iterator<Item = Vec3> {
    let bone = pose.hand(side);
    HAND.into_iter()
        .map(move |q| bone.point(mirrored(side, figure::from_hand(q))))
}

/// The outline of the face as it is posed.
fn head(pose: &Pose) -> impl Iterator<Item = Vec3> {
    let skull = &pose.limb(Limb::Head)[1];
    let both = |p: Vec3| Side::BOTH.map(|side| mirrored(side, p));
    FACE_OUTLINE.into_iter().flat_map(both).map(|p| skull.point(p))
}
