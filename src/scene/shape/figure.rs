//! The figure's measures: where its joints are at rest, and the hand's own directions.
//!
//! The person faces +z, the wearer's left is +x, y is up, the floor is y = 0; all in metres. Everything is given
//! for the left side; the right is its mirror image.

use bevy::math::Vec3;

/// Shoulder joint.
pub const SHOULDER: Vec3 = Vec3::new(0.161, 1.382, -0.018);
/// Length of the upper arm.
pub const UPPER: f32 = 0.285;
/// Length of the forearm.
pub const FORE: f32 = 0.25;
/// From the wrist to the tip of the middle finger.
pub const HAND: f32 = 0.178;
/// Hip joint.
pub const HIP: Vec3 = Vec3::new(0.088, 0.90, -0.002);
/// Knee at rest.
pub const KNEE: Vec3 = Vec3::new(0.100, 0.49, 0.004);
/// Ankle at rest.
pub const ANKLE: Vec3 = Vec3::new(0.105, 0.085, -0.022);

/// Where the neck begins to bend.
pub const NECK: Vec3 = Vec3::new(0.0, 1.440, -0.030);
/// Where the head nods upon the neck.
pub const SKULL: Vec3 = Vec3::new(0.0, 1.548, -0.008);

/// Elbow at rest.
pub fn elbow() -> Vec3 {
    SHOULDER + Vec3::new(0.56, -0.82, -0.10).normalize() * UPPER
}

/// Wrist at rest.
pub fn wrist() -> Vec3 {
    elbow() + fore_dir() * FORE
}

/// Unit direction from elbow to wrist at rest.
pub fn fore_dir() -> Vec3 {
    Vec3::new(-0.22, -0.50, 0.84).normalize()
}

/// The hand's frame at rest: along the fingers, towards the thumb, out of the back of the hand.
pub fn hand_axes() -> (Vec3, Vec3, Vec3) {
    let along = Vec3::new(-0.14, -0.58, 0.80).normalize();
    let palm = Vec3::new(-0.80, -0.42, -0.42);
    let palm = (palm - along * palm.dot(along)).normalize();
    (along, palm.cross(along), -palm)
}

/// A point in the hand's own coordinates: along, towards the thumb, dorsal; from the wrist.
pub fn to_hand(p: Vec3) -> Vec3 {
    let (u, v, w) = hand_axes();
    let q = p - wrist();
    Vec3::new(q.dot(u), q.dot(v), q.dot(w))
}

/// The world position (at rest) of a point in the hand's own coordinates.
pub fn from_hand(q: Vec3) -> Vec3 {
    let (u, v, w) = hand_axes();
    wrist() + u * q.x + v * q.y + w * q.z
}

/// How far along the upper arm a point lies: 0 at the shoulder, 1 at the elbow.
pub fn upper_t(p: Vec3) -> f32 {
    (p - SHOULDER).dot((elbow() - SHOULDER).normalize()) / UPPER
}

/// How far along the forearm a point lies: 0 at the elbow, 1 at the wrist.
pub fn fore_t(p: Vec3) -> f32 {
    (p - elbow()).dot(fore_dir()) / FORE
}

/// The left-hand version of a point: itself, or its mirror image if it lies on the right.
pub fn left(p: Vec3) -> Vec3 {
    Vec3::new(p.x.abs(), p.y, p.z)
}

/// True beyond the bend of the elbow, towards the hand.
pub fn past_elbow(p: Vec3) -> bool {
    let bend = fore_dir() + (elbow() - SHOULDER).normalize();
    (p - elbow()).dot(bend) > 0.0
}
