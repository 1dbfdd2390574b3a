//! The way between inside, doorway and outside: walking, and the door that is opened and shut on it by its handles. Knows
//! the door as it is drawn and who stands where; what a walk does to the drill it does not know.

use std::collections::VecDeque;
use std::f32::consts::{PI, TAU};

use bevy::math::{Quat, Vec2, Vec3};
use bevy::prelude::*;

use super::given::{Both, SceneSettings, StageView};
use super::kit::zone_x;
use super::marks::{Figure, STAND_Z};
use super::motion::{Motion, errand::walking, grip::Grip};
use super::orbit::CameraWork;
use super::pose::{Closing, HandAim};
use super::reach::{Arms, blend};
use super::shape::doorway;
use super::shape::field::smooth;
use super::stance::{Place, Stance};
use crate::model::{Side, Whereabouts};
use crate::view::stage::{Stage, StageItemState, Who};

/// Length of two steps, metres, and how far the hands swing while walking, metres.
const STRIDE: f32 = 0.62;
const SWING: f32 = 0.085;
/// How fast people walk: metres a second at the end of a way, and so many more for each metre left.
const PACE: (f32, f32) = (1.15, 0.8);
/// How long a handle is worked, s; when the hand is on it, and when the leaf has swung, as shares of that.
const WORK: f32 = 0.95;
const ON: f32 = 0.34;
const SWUNG: f32 = 0.86;
/// When a hand lets go of a leaf that swings away from it, as a share of the same.
const LETS_GO: f32 = 0.54;
/// How far the door still stands open when a hand meets its inner handle to shut it: before, that lies behind the leaf.
const MET: f32 = 0.16;
/// How long the door takes by itself, s.
const SWINGS: f32 = 0.5;
/// How far people lean to a handle, radians.
const LEAN: f32 = 0.10;
/// How far the fingers close on a lever.
const GRASP: Closing = Closing {
    thumb: 0.6,
    ..Closing::fingers(0.75)
};
/// How far back an idle hand is kept from a leaf that moves, metres.
const KEPT: f32 = 0.12;
/// Farther left than this they are in the room.
const IN_ROOM: f32 = -0.20;
/// Shares of the way to a handle: when people leave the line on which they stand, and when they are as far along the room as
/// they go. So nobody walks through the bin.
const BEND: (f32, f32) = (0.70, 0.78);

/// Where somebody stands on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Spot {
    /// Along the room, and before the line on which people stand, metres.
    at: Vec2,
    /// Which way they face, radians from the viewer; none for the way they are turned.
    facing: Option<f32>,
}

/// Where the inner handle is within reach while the door is shut, between bin and door.
const INNER: Spot = Spot {
    at: Vec2::new(-0.345, -0.42),
    facing: Some(1.75),
};
/// Where the leaf goes past whoever has the inner handle.
const ASIDE: Spot = Spot {
    at: Vec2::new(-0.35, -0.31),
    facing: Some(1.75),
};
/// Where the outer handle is within reach while the door stands open.
const OUTER: Spot = Spot {
    at: Vec2::new(-0.05, -0.45),
    facing: Some(-1.80),
};
/// The same while it is shut.
const OUTSIDE: Spot = Spot {
    at: Vec2::new(0.28, -0.42),
    facing: Some(-2.05),
};

/// A part of the way.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Leg {
    from: Spot,
    to: Spot,
    /// The handle that is worked meanwhile.
    handle: Option<Handle>,
}

/// A handle, and what is done by it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Handle {
    outside: bool,
    opens: bool,
}

impl Handle {
    /// True if it is behind the leaf while the door stands open.
    fn hidden(self) -> bool {
        !self.outside && !self.opens
    }

    /// How far the door stands open, a share into working the handle.
    fn door(self, at: f32) -> f32 {
        if self.hidden() {
            return 1.0 - (1.0 - MET) * smooth(0.0, ON + 0.1, at) - MET * smooth(ON + 0.16, SWUNG, at);
        }
        let swung = smooth(ON, SWUNG, at);
        if self.opens { swung } else { 1.0 - swung }
    }

    /// How far it stood open when the hand was to be where it is now.
    fn held(self, door: f32) -> f32 {
        if self.hidden() { door.min(MET) } else { door }
    }

    /// How far a hand has come to it, 0 to 1.
    fn reached(self, at: f32) -> f32 {
        let leaves = if self.opens { LETS_GO } else { SWUNG };
        let comes = if self.hidden() { 0.12 } else { 0.0 };
        smooth(comes, ON + comes, at) * smooth(1.0, leaves, at)
    }
}

/// What lies between a person in the room and where they go. `open` tells whether the door is.
fn way(from: Spot, to: Whereabouts, open: bool) -> VecDeque<Leg> {
    let inside = from.at.x < IN_ROOM;
    // The door is open for whoever stands in the doorway, and for nobody else.
    let opened_outside =
        (!open && (to == Whereabouts::Doorway || inside != (to == Whereabouts::Inside))).then_some(!inside);
    let shut_outside = match to {
        Whereabouts::Doorway => None,
        _ if !open && opened_outside.is_none() => None,
        _ => Some(to == Whereabouts::Outside),
    };
    let mut out = VecDeque::new();
    let mut here = from;
    let mut go = |to: Spot, handle: Option<Handle>| {
        out.push_back(Leg {
            from: here,
            to,
            handle,
        });
        here = to;
    };
    for (outside, opens) in [(opened_outside, true), (shut_outside, false)] {
        let Some(outside) = outside else { continue };
        let (first, then) = match (outside, opens) {
            (false, true) => (INNER, ASIDE),
            (false, false) => (ASIDE, INNER),
            (true, true) => (OUTSIDE, OUTSIDE),
            (true, false) => (OUTER, OUTSIDE),
        };
        go(first, None);
        go(then, Some(Handle { outside, opens }));
    }
    let at = Vec2::new(zone_x(to), 0.0);
    go(Spot { at, facing: None }, None);
    out
}

/// How far somebody has come along the room and across it, a share of the way to a handle.
fn bent(share: f32) -> (f32, f32) {
    ((share / BEND.1).min(1.0), smooth(BEND.0, 1.0, share))
}

/// The hand that works a handle: the right one if there is a choice; none while both are full.
fn free_hand(stage: &Stage) -> Option<Side> {
    let full = |side: Side| stage.items.iter().any(|i| i.state == StageItemState::Held(side));
    [Side::Right, Side::Left].into_iter().find(|side| !full(*side))
}

/// An angle as one between half a turn either way, radians.
fn wrapped(angle: f32) -> f32 {
    (angle + PI).rem_euclid(TAU) - PI
}

impl Leg {
    fn length(&self) -> f32 {
        self.from.at.distance(self.to.at)
    }

    /// Where they are, having gone so many metres.
    fn at(&self, gone: f32) -> Vec2 {
        let share = gone / self.length().max(1e-6);
        let (along, across) = match (self.from.facing, self.to.facing) {
            (None, Some(_)) => bent(share),
            (Some(_), None) => {
                let (along, across) = bent(1.0 - share);
                (1.0 - along, 1.0 - across)
            }
            _ => (share, share),
        };
        self.from.at + (self.to.at - self.from.at) * Vec2::new(along, across)
    }

    /// How they stand then, leaning by `bow`; `turn` is how far they are turned from facing the viewer, radians.
    fn stance(&self, gone: f32, bow: f32, turn: f32) -> Stance {
        let length = self.length();
        let [from, to] = [self.from, self.to].map(|spot| spot.facing.unwrap_or(turn));
        let share = smooth(0.0, 1.0, gone / length.max(1e-6));
        let back = Quat::from_rotation_y(-turn);
        let ahead = (gone + 0.01).min(length);
        let along = (self.at(ahead) - self.at(ahead - 0.02)).normalize_or_zero();
        let place = Place {
            shift: back * Vec3::new(0.0, 0.0, self.at(gone).y),
            turn: from - turn + wrapped(to - from) * share,
            bow,
        };
        walking(
            back * Vec3::new(along.x, 0.0, along.y),
            (gone, length - gone),
            STRIDE,
            place,
        )
    }
}

/// The aim that lays a hand on a lever; `put` takes what is in the room to the body, and the door is open by a share.
fn on_lever(side: Side, outside: bool, door: f32, put: &Transform) -> HandAim {
    let turn = Quat::from_rotation_y(doorway::OPEN * door);
    let lever = doorway::HINGE + turn * (doorway::lever(outside) - doorway::HINGE);
    let out = turn * if outside { Vec3::X } else { Vec3::NEG_X };
    // The palm lies on it from above and before, the fingers along it.
    let facing = (out + Vec3::Y * 0.8).normalize();
    let along = turn * Vec3::NEG_Z;
    Grip::Flat.aim_from(
        side,
        put.transform_point(lever + facing * doorway::LEVER_HALF),
        put.rotation * facing,
        put.rotation * along,
    )
}

/// How a person walks at present.
#[derive(Default)]
pub struct Gait {
    /// True from the first step to the last, and until the door stands still.
    pub walking: bool,
    /// False until the person has been put where a stage has them.
    placed: bool,
    goal: Whereabouts,
    /// What is left of the way, and how far the first part of it has been gone: metres, or a share of working a handle.
    way: VecDeque<Leg>,
    gone: f32,
    at: Vec2,
}

/// What somebody does for a moment, apart from walking.
pub(super) struct Moment {
    /// How long it is, s.
    pub seconds: f32,
    /// How far they are turned from facing the viewer, radians.
    pub turn: f32,
    /// True if their hands are about something else.
    pub busy: bool,
    /// True if nothing is to be seen on its way.
    pub still: bool,
}

impl Gait {
    /// Puts the person where the next stage has them instead of letting them walk, and the door as it is then.
    pub fn leap(&mut self) {
        self.placed = false;
    }

    /// True if the person is where a stage has them.
    pub(super) fn settled(&self, stage: &Stage) -> bool {
        self.placed && !self.walking && self.goal == stage.whereabouts
    }

    /// Brings a person nearer to where the stage has them; answers where along the room they are now, metres.
    pub(super) fn step(&mut self, stage: &Stage, moment: &Moment, arms: &mut Arms) -> f32 {
        let goal = Vec2::new(zone_x(stage.whereabouts), 0.0);
        let open = f32::from(u8::from(stage.door_is_open()));
        if !self.placed || moment.still {
            *self = Gait {
                placed: true,
                goal: stage.whereabouts,
                at: goal,
                walking: self.walking,
                ..Gait::default()
            };
            self.end(moment, arms);
            arms.open_door(open);
            return goal.x;
        }
        if self.goal != stage.whereabouts {
            self.goal = stage.whereabouts;
            let here = Spot {
                at: self.at,
                facing: None,
            };
            (self.way, self.gone) = (way(here, self.goal, arms.door() > 0.5), 0.0);
            self.walking = true;
        }
        if moment.busy {
            // The hands leave no time for the door.
            self.way.clear();
        }
        if self.way.is_empty() {
            let left = goal.x - self.at.x;
            let step = moment.seconds * (PACE.0 + left.abs() * PACE.1);
            self.at = Vec2::new(self.at.x + left.clamp(-step, step), 0.0);
        } else {
            self.go(stage, moment, arms);
        }
        if self.way.is_empty() {
            let step = moment.seconds / SWINGS;
            let left = open - arms.door();
            if left != 0.0 {
                arms.open_door(arms.door() + left.clamp(-step, step));
            }
            if self.at.x == goal.x && left.abs() <= step {
                self.end(moment, arms);
            }
        }
        self.at.x
    }

    /// The walk is over.
    fn end(&mut self, moment: &Moment, arms: &mut Arms) {
        if std::mem::take(&mut self.walking) && !moment.busy {
            arms.rest();
        }
    }

    /// A moment of the first part of the way.
    fn go(&mut self, stage: &Stage, moment: &Moment, arms: &mut Arms) {
        let Some(leg) = self.way.front().copied() else {
            return;
        };
        let hand = leg.handle.zip(free_hand(stage));
        let (gone, bow, length) = match leg.handle {
            None => {
                let left = leg.length() - self.gone;
                self.gone += (moment.seconds * (PACE.0 + left * PACE.1)).min(left);
                (self.gone, 0.0, leg.length())
            }
            Some(handle) => {
                self.gone = (self.gone + moment.seconds / WORK).min(1.0);
                arms.open_door(handle.door(self.gone));
                let swung = smooth(ON, SWUNG, self.gone);
                (leg.length() * swung, LEAN * handle.reached(self.gone), 1.0)
            }
        };
        self.at = leg.at(gone);
        let bow = if hand.is_some() { bow } else { 0.0 };
        let stance = leg.stance(gone, bow, moment.turn);
        let left = leg.length() - gone;
        let by = (left / STRIDE * TAU).sin() * smooth(0.0, 0.25, left) * SWING;
        // Hands are kept out of the way of the leaf.
        let kept = smooth(0.0, 0.2, self.gone) * smooth(1.0, 0.85, self.gone);
        let back = if leg.handle.is_some() { KEPT * kept } else { 0.0 };
        for (side, way) in [(Side::Left, 1.0), (Side::Right, -1.0)] {
            let mut aim = arms.ease(side);
            aim.wrist += Vec3::new(0.0, by.abs() * 0.2, by * way - back);
            arms.set(side, aim);
        }
        arms.stand(stance);
        if let Some((handle, side)) = hand {
            let turned = Transform::from_rotation(Quat::from_rotation_y(moment.turn));
            let stand = Transform::from_xyz(self.at.x, 0.0, STAND_Z) * turned * stance.place.transform();
            let put = Transform::from_matrix(stand.to_matrix().inverse());
            let there = on_lever(side, handle.outside, handle.held(arms.door()), &put);
            let home = arms.aim(side);
            let reached = handle.reached(self.gone);
            let firm = smooth(0.7, 1.0, reached);
            let middle = (home.wrist + there.wrist) * 0.5 + Vec3::Y * 0.05;
            arms.set(
                side,
                HandAim {
                    closing: home.closing.lerp(GRASP, firm),
                    ..blend(home, middle, there, reached)
                },
            );
        }
        if self.gone >= length {
            self.way.pop_front();
            self.gone = 0.0;
        }
    }
}

/// Moves the person between inside, doorway and outside.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn walk(
    time: Res<Time>,
    settings: Res<SceneSettings>,
    stage: Res<StageView>,
    work: Res<CameraWork>,
    motion: Res<Both<Motion>>,
    mut arms: ResMut<Both<Arms>>,
    mut gait: ResMut<Both<Gait>>,
    mut figure: Single<&mut Figure>,
) {
    if gait.of(Who::First).settled(&stage.0) {
        return;
    }
    let moment = Moment {
        seconds: time.delta_secs(),
        turn: work.now.turn,
        busy: motion.of(Who::First).moving(),
        still: settings.still,
    };
    let gait = gait.of_mut(Who::First);
    figure.x = gait.step(&stage.0, &moment, arms.of_mut(Who::First));
}
