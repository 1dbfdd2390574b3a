//! Hands that reach: the arm goes to a patch and comes back, and can be stopped at any moment.

use bevy::prelude::*;

use super::piece::Piece;
use super::pose::{HandAim, Pose, ease};
use super::shape::field::smooth;
use super::shape::figure;
use super::shape::hand::Hand;
use super::{Figure, Loose, SceneSettings};
use crate::model::Side;

/// Which hand acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hands {
    /// One hand.
    One(Side),
    /// Both together.
    Both,
}

/// Asks a hand to go to a patch and come back. A new request takes over from wherever the hand is.
#[derive(Message, Clone, Copy, Debug)]
pub struct Reach {
    /// Which hand.
    pub hand: Hands,
    /// The site touched, an index into `Stage::patches`.
    pub target: usize,
    /// Time there and back, seconds; 0.6 to 1.5 looks natural.
    pub seconds: f32,
    /// True to move in a hurried way: fast in, hardly a pause, fast back.
    pub hurried: bool,
}

/// Asks hands that are under way to come back at once.
#[derive(Message, Clone, Copy, Debug)]
pub struct ReachStop;

/// Tells that a hand has arrived at its patch (the moment to change the stage) or come back.
#[derive(Message, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reached {
    /// The hand touches the patch now.
    There(usize),
    /// The hand is at ease again.
    Back(usize),
}

#[derive(Clone, Copy, Debug)]
struct Trip {
    site: usize,
    from: HandAim,
    by: Vec3,
    to: HandAim,
    seconds: f32,
    hurried: bool,
    at: f32,
    told: bool,
}

/// Both arms: where they are and what they are about.
#[derive(Resource)]
pub struct Arms {
    now: [HandAim; 2],
    trip: [Option<Trip>; 2],
    /// The pose as it stands; pieces are redrawn when it changes.
    pub pose: Pose,
}

impl Default for Arms {
    fn default() -> Self {
        Self {
            now: [ease(Side::Left), ease(Side::Right)],
            trip: [None, None],
            pose: Pose::at_ease(),
        }
    }
}

impl Arms {
    /// True while a hand is under way.
    pub fn moving(&self) -> bool {
        self.trip.iter().any(Option::is_some)
    }

    /// Where a hand is and how it is turned.
    pub fn aim(&self, side: Side) -> HandAim {
        self.now[slot(side)]
    }

    /// Puts a hand to an aim at once; what choreography builds on.
    pub fn set(&mut self, side: Side, aim: HandAim) {
        self.now[slot(side)] = aim;
        self.trip[slot(side)] = None;
        self.pose = Pose::from_aims(self.now[0], self.now[1]);
    }
}

fn slot(side: Side) -> usize {
    usize::from(side == Side::Right)
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
    let (u, v, w) = figure::hand_axes();
    let rest = Mat3::from_cols(m(u), m(v), m(w));
    let thumb = if s > 0.0 {
        palm.cross(along)
    } else {
        along.cross(palm)
    };
    let posed = Mat3::from_cols(along, thumb, -palm);
    let turn = Quat::from_mat3(&(posed * rest.inverse())).normalize();
    let pad = Hand::touch_point();
    let pad = along * pad.x + thumb * pad.y - palm * pad.z;
    HandAim {
        wrist: point + normal * 0.006 - pad,
        turn,
        curl: 0.0,
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
        curl: a.curl + (b.curl - a.curl) * smooth(0.4, 1.0, t),
    }
}

pub(super) fn start(
    mut asked: MessageReader<Reach>,
    mut stop: MessageReader<ReachStop>,
    mut reached: MessageWriter<Reached>,
    settings: Res<SceneSettings>,
    mut arms: ResMut<Arms>,
    pieces: Query<(&Piece, Has<Loose>)>,
    figure: Single<&Transform, With<Figure>>,
) {
    let stopped = stop.read().count() > 0;
    if stopped {
        for trip in arms.trip.iter_mut().flatten() {
            trip.at = trip.at.max(0.62);
            trip.told = true;
        }
    }
    for ask in asked.read() {
        let Some((point, normal)) = pieces.iter().find_map(|(piece, loose)| {
            let (p, n) = piece.middle(ask.target as u16)?;
            // What stands in the room is brought into the figure's own space.
            let back = figure.rotation.inverse();
            let (p, n) = if loose {
                (back * (p - figure.translation), back * n)
            } else {
                (p, n)
            };
            Some((p, outward(p, n)))
        }) else {
            continue;
        };
        if settings.still {
            // No motion wanted: the touch is told, the picture stays.
            reached.write_batch([Reached::There(ask.target), Reached::Back(ask.target)]);
            continue;
        }
        let sides: &[Side] = match ask.hand {
            Hands::One(Side::Left) => &[Side::Left],
            Hands::One(Side::Right) => &[Side::Right],
            Hands::Both => &Side::BOTH,
        };
        for side in sides {
            let apart = if sides.len() == 2 {
                if *side == Side::Left { 0.045 } else { -0.045 }
            } else {
                0.0
            };
            let to = touch(*side, point + Vec3::X * apart, normal);
            let from = arms.now[slot(*side)];
            let trip = Trip {
                site: ask.target,
                from,
                by: waypoint(*side, from.wrist, to.wrist),
                to,
                seconds: ask.seconds.clamp(0.2, 6.0),
                hurried: ask.hurried,
                at: 0.0,
                told: false,
            };
            arms.trip[slot(*side)] = Some(trip);
        }
    }
}

pub(super) fn advance(
    time: Res<Time>,
    settings: Res<SceneSettings>,
    mut arms: ResMut<Arms>,
    mut reached: MessageWriter<Reached>,
) {
    if !arms.moving() {
        return;
    }
    for side in Side::BOTH {
        let i = slot(side);
        let Some(mut trip) = arms.trip[i] else { continue };
        trip.at = if settings.still {
            1.0
        } else {
            trip.at + time.delta_secs() / trip.seconds
        };
        let (arrive, leave) = if trip.hurried { (0.34, 0.42) } else { (0.42, 0.60) };
        if trip.at >= arrive && !trip.told {
            trip.told = true;
            reached.write(Reached::There(trip.site));
        }
        let home = ease(side);
        arms.now[i] = if trip.at < arrive {
            blend(
                trip.from,
                trip.by,
                trip.to,
                ease_curve(trip.at / arrive, trip.hurried),
            )
        } else if trip.at < leave {
            trip.to
        } else {
            let t = ((trip.at - leave) / (1.0 - leave)).min(1.0);
            blend(
                trip.to,
                waypoint(side, home.wrist, trip.to.wrist),
                home,
                ease_curve(t, trip.hurried),
            )
        };
        if trip.at >= 1.0 {
            arms.now[i] = home;
            arms.trip[i] = None;
            reached.write(Reached::Back(trip.site));
        } else {
            arms.trip[i] = Some(trip);
        }
    }
    let pose = Pose::from_aims(arms.now[0], arms.now[1]);
    if arms.pose != pose {
        arms.pose = pose;
    }
}
