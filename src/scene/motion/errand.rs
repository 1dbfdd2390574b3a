//! The way of the feet through a technique: to the bin and back with a foot on its pedal, or one foot lifted.

use bevy::math::{Quat, Vec3};

use super::manner::Manner;
use crate::model::Side;
use crate::scene::shape::bin;
use crate::scene::shape::field::smooth;
use crate::scene::stance::{Foot, Place, Stance};

/// How far beside the bin's middle people stand, and how much they sink to reach its pedal, metres.
const BESIDE: f32 = 0.38;
const SINK: f32 = 0.025;
/// From the ankle forwards to the ball of the foot, metres.
const BALL: f32 = 0.125;
/// How far apart two prints of one foot lie, metres.
const STRIDE: f32 = 0.50;
/// How far the lid opens, radians.
const OPEN: f32 = 1.35;
/// How far the body bends over a bin whose content it pushes down, radians.
const PUSHING: f32 = 0.42;
/// How far the body bends to a lifted foot, radians.
const BOW: f32 = 0.92;
/// How far it bends and sinks to the floor (radians, metres), and how far before it and beside its middle a hand then comes
/// down, metres.
const DOWN: (f32, f32) = (1.22, 0.42);
const BEFORE: f32 = 0.43;
const ASIDE: f32 = 0.10;

/// What the feet are about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Errand {
    /// Nothing.
    Stand,
    /// One foot is lifted to the hands.
    Lift(Side),
    /// Down to something on the floor, beside which they step first.
    Stoop(Place),
    /// Over to the bin, which the foot opens, or else a hand.
    Bin {
        /// Where to.
        to: Place,
        /// The right foot on the pedal, if it is used.
        pedal: Option<Foot>,
        /// True if it is the one in the corridor.
        outside: bool,
    },
}

impl Errand {
    /// What a technique asks of the feet. `bin` is where the bin stands, and `towards` the direction out of its front,
    /// both seen from where the person stands; `shoe` the side of an overshoe.
    pub fn of(manner: Manner, shoe: Option<Side>, bin: Vec3, towards: Vec3) -> Errand {
        match manner {
            Manner::ShoeRoll | Manner::ShoePull => Errand::Lift(shoe.unwrap_or(Side::Right)),
            Manner::Bin | Manner::PushDown | Manner::LiftLid | Manner::Throw => {
                // They come to that side of the bin on which they stand, and turn to it.
                let across = Vec3::Y.cross(towards);
                let s = if bin.dot(across) <= 0.0 { 1.0 } else { -1.0 };
                let facing = -across * s;
                let to = Place {
                    shift: bin + across * s * BESIDE + towards * (0.20 + 0.09 * s) - Vec3::Y * SINK,
                    turn: facing.x.atan2(facing.z),
                    bow: if manner == Manner::PushDown { PUSHING } else { 0.0 },
                };
                let pedal = Foot {
                    ankle: bin + Vec3::Y * (bin::PEDAL.y + 0.085) + towards * bin::PEDAL.z - facing * BALL,
                    turn: to.turn,
                    pitch: 0.06,
                    out: 0.0,
                };
                Errand::Bin {
                    to,
                    pedal: (manner != Manner::LiftLid).then_some(pedal),
                    outside: false,
                }
            }
            _ => Errand::Stand,
        }
    }

    /// The same at the bin in the corridor.
    pub fn in_corridor(mut self) -> Errand {
        if let Errand::Bin { outside, .. } = &mut self {
            *outside = true;
        }
        self
    }

    /// Down to a place on the floor, seen from where the person stands, with the hand of a side.
    pub fn down(to: Vec3, hand: Side) -> Errand {
        let aside = if hand == Side::Left { ASIDE } else { -ASIDE };
        Errand::Stoop(Place {
            shift: Vec3::new(to.x - aside, 0.0, to.z - BEFORE),
            ..Place::default()
        })
    }

    /// The same for somebody who has been turned by `by` radians since, with the room where it was.
    pub fn turned(self, by: f32) -> Errand {
        let back = Quat::from_rotation_y(-by);
        if let Errand::Stoop(mut to) = self {
            to.shift = back * to.shift;
            to.turn -= by;
            return Errand::Stoop(to);
        }
        let Errand::Bin {
            mut to,
            mut pedal,
            outside,
        } = self
        else {
            return self;
        };
        to.shift = back * to.shift;
        to.turn -= by;
        if let Some(foot) = &mut pedal {
            foot.ankle = back * foot.ankle;
            foot.turn -= by;
        }
        Errand::Bin { to, pedal, outside }
    }

    /// How the body stands when the hands are at work.
    pub fn at_work(&self) -> Stance {
        self.stance(0.5)
    }

    /// How the body stands at a moment of a technique, 0 to 1.
    pub fn stance(&self, at: f32) -> Stance {
        let mut out = Stance::default();
        match *self {
            Errand::Stand => {}
            Errand::Lift(side) => {
                let up = smooth(0.02, 0.30, at) * smooth(0.98, 0.78, at);
                out.place.bow = BOW * up;
                let (i, s) = match side {
                    Side::Left => (0, 1.0),
                    Side::Right => (1, -1.0),
                };
                let high = Foot {
                    ankle: Vec3::new(s * 0.05, 0.73, 0.27),
                    turn: -s * 0.25,
                    pitch: 0.35,
                    out: 0.55,
                };
                let low = out.feet[i];
                out.feet[i] = Foot {
                    ankle: low.ankle.lerp(high.ankle, up) + Vec3::Z * (0.12 * up * (1.0 - up)),
                    turn: high.turn * up,
                    pitch: high.pitch * up,
                    out: high.out * up,
                };
            }
            Errand::Stoop(to) => {
                let (there, back) = ((at - 0.01) / 0.24, (at - 0.80) / 0.19);
                let t = if back > 0.0 { 1.0 - back } else { there };
                (out.place, out.feet) = way(&to, t.clamp(0.0, 1.0));
                let low = smooth(0.20, 0.48, at) * smooth(0.98, 0.76, at);
                out.place.bow = DOWN.0 * low;
                out.place.shift.y -= DOWN.1 * low;
            }
            Errand::Bin { to, pedal, outside } => {
                let (there, back) = ((at - 0.01) / 0.26, (at - 0.745) / 0.245);
                (out.place, out.feet) = if back > 0.0 {
                    way(&to, 1.0 - back.min(1.0))
                } else {
                    way(&to, there.clamp(0.0, 1.0))
                };
                if let Some(foot) = pedal
                    && back <= 0.0
                {
                    let pressed = smooth(0.26, 0.33, at) * smooth(0.745, 0.69, at);
                    out.feet[1] = out.feet[1].step(foot, pressed);
                }
                out.lids[usize::from(outside)] = OPEN * smooth(0.29, 0.39, at) * smooth(0.82, 0.72, at);
            }
        }
        out
    }
}

/// A share of the way to a place, foot before foot.
fn way(to: &Place, t: f32) -> (Place, [Foot; 2]) {
    let on = |t: f32| Place {
        shift: to.shift * t,
        turn: to.turn * t,
        bow: to.bow * t,
    };
    let paces = (to.shift.length() / STRIDE).ceil().clamp(1.0, 6.0);
    let k = (t * paces).floor().min(paces - 1.0);
    let within = (t * paces - k) * 2.0;
    let feet = Side::BOTH.map(|side| {
        let late = if side == Side::Left { 1.0 } else { 0.0 };
        let print = |k: f32| {
            let mut at = on(k / paces);
            at.shift.y = 0.0;
            Foot::beneath(side, &at)
        };
        print(k).step(print(k + 1.0), (within - late).clamp(0.0, 1.0))
    });
    (on((t + smooth(0.0, 1.0, t)) * 0.5), feet)
}

/// How far a foot is before the body while walking (m) and how high (m), `left` metres before the end; `other` for the
/// foot that goes half a stride later.
pub fn tread(left: f32, stride: f32, other: bool) -> (f32, f32) {
    let f = (left / stride + if other { 0.5 } else { 0.0 }).rem_euclid(1.0);
    let reach = stride * 0.25;
    if f < 0.5 {
        // On the ground it stays where it is while the body passes over it.
        ((f * 4.0 - 1.0) * reach, 0.0)
    } else {
        let t = (1.0 - f) * 2.0;
        (
            (smooth(0.0, 1.0, t) * 2.0 - 1.0) * reach,
            0.075 * (std::f32::consts::PI * t).sin(),
        )
    }
}

/// The feet and turn of somebody walking along `along` (unit, level, seen from where they stand), `gone` metres from the
/// start and `left` before the end, who is put at a place meanwhile.
pub fn walking(along: Vec3, (gone, left): (f32, f32), stride: f32, put: Place) -> Stance {
    let fade = smooth(0.0, 0.25, left) * smooth(0.0, 0.15, gone);
    let pi = std::f32::consts::PI;
    let way = (along.x.atan2(along.z) - put.turn + pi).rem_euclid(2.0 * pi) - pi;
    // They turn where they go, unless that is behind them: then they step backwards.
    let turns = 0.8 * smooth(0.0, 0.35, left) * smooth(0.0, 0.25, gone) * smooth(2.3, 1.6, way.abs());
    let mut place = put;
    place.turn += way * turns;
    let feet = Side::BOTH.map(|side| {
        let (before, high) = tread(left, stride, side == Side::Right);
        let mut foot = Foot::beneath(side, &place);
        foot.ankle += (along * before + Vec3::Y * high) * fade;
        let ahead = Quat::from_rotation_y(place.turn) * Vec3::Z;
        foot.pitch = (high * 3.0 * ahead.dot(along)) * fade;
        foot
    });
    place.shift.y -= 0.022 * fade;
    Stance {
        place,
        feet,
        ..Stance::default()
    }
}
