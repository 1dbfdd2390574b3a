//! The way of both hands through a technique: out to each place touched, along with what moves, and home.

use bevy::math::Vec3;

use super::ask::Perform;
use super::errand::Errand;
use super::grip::{Grip, mirrored, rubbing};
use super::manner::Manner;
use super::meeting::{Meeting, yielded};
use super::visit::{self, Spot, Taken};
use super::worn;
use crate::model::Side;
use crate::scene::follow::{Follow, Limb};
use crate::scene::kit::Keep;
use crate::scene::pose::{Closing, HandAim, Pose, ease};
use crate::scene::reach::{Arms, Hands, at_ease, blend, ease_curve, waypoint};
use crate::scene::shape::bin;
use crate::scene::shape::field::smooth;
use crate::scene::shape::figure;
use crate::scene::stance::Stance;
use crate::view::stage::{Stage, StageItem, StageItemState};

/// Where both hands are at each moment of a technique.
pub struct Course {
    manner: Manner,
    errand: Errand,
    /// How far it has come, 0 to 1.
    pub at: f32,
    /// How long it takes, s.
    pub seconds: f32,
    hurried: bool,
    from: [HandAim; 2],
    stops: [Vec<HandAim>; 2],
    along: Vec3,
    acts: [bool; 2],
    /// The hand whose glove comes off, which is only held out.
    gives: Option<Side>,
    /// How each hand holds what it has come for, and which way the surface faces there.
    holds: [Option<(Grip, Vec3)>; 2],
    /// What the hands take hold of.
    pub taken: Vec<Taken>,
    /// How each hand keeps what it has before and after.
    keeps: [[Option<Keep>; 2]; 2],
}

/// Longest that a rub is held, s.
const HELD: f32 = 1800.0;
/// How long hands take to the dispenser and to each other, s.
const REACH: f32 = 0.72;
/// How long a held rub takes from palms to thumbs, s, and in how many circles, before it begins again.
const ROUND: (f32, f32) = (10.0, 17.0);

fn slot(side: Side) -> usize {
    usize::from(side == Side::Right)
}

fn sides(hands: Hands) -> &'static [Side] {
    match hands {
        Hands::One(Side::Left) => &[Side::Left],
        Hands::One(Side::Right) => &[Side::Right],
        Hands::Both => &Side::BOTH,
    }
}

impl Course {
    /// Lays the way out from where the hands are. `spot` answers place and outer direction of a patch where the person
    /// stands upright; `mouth` is the middle of the bin's opening, or where something lies on the floor that is picked up,
    /// seen from where the person stands by then; `holder` the hand
    /// that holds what is let go.
    #[expect(
        clippy::too_many_arguments,
        reason = "what a way depends on, each of its own kind"
    )]
    pub fn new(
        ask: &Perform,
        manner: Manner,
        errand: Errand,
        stage: &Stage,
        arms: &Arms,
        spot: &Spot,
        mouth: Vec3,
        holder: Option<Side>,
    ) -> Course {
        let from = Side::BOTH.map(|side| arms.aim(side));
        // By the time a hand is there, the head is bent and a foot may be lifted.
        let bent = Stance {
            nod: manner.nod(),
            ..errand.at_work()
        };
        let bent = Pose::of(from[0], from[1], &bent);
        let spot = |side, site| {
            let (p, n) = spot(side, site)?;
            let follow = Follow::of(p);
            let goes = !matches!(follow.limb, Limb::LeftArm | Limb::RightArm) && !follow.is_trunk();
            Some(if goes { bent.apply(p, n, &follow) } else { (p, n) })
        };
        let mut stops = [Vec::new(), Vec::new()];
        let mut holds = [None; 2];
        let mut taken: Vec<Taken> = Vec::new();
        let mut places = [Vec::new(), Vec::new()];
        for side in sides(ask.hands) {
            let (way, mine) = visit::way(ask, manner, *side, stage);
            let found = visit::stops(ask, *side, (&way, &mine), stage, &spot);
            let last = found.last().filter(|_| !mine.is_empty());
            holds[slot(*side)] = last.map(|stop| (stop.grip, stop.normal));
            stops[slot(*side)] = found.iter().map(|stop| stop.aim).collect();
            places[slot(*side)] = way;
            taken.extend(mine);
        }
        let keeps = Side::BOTH.map(|side| {
            let next = |i: &StageItem| ask.becomes.iter().find(|n| n.id == i.id).unwrap_or(i).clone();
            let then: Vec<StageItem> = stage.items.iter().map(next).collect();
            [Keep::by(side, stage.items.iter()), Keep::by(side, then.iter())]
        });
        if manner == Manner::PickUp {
            for side in sides(ask.hands) {
                stops[slot(*side)] = vec![lifting_up(*side, mouth, &errand.at_work())];
            }
        }
        if manner.lets_go() {
            let both = ask.hands == Hands::Both;
            for side in Side::BOTH {
                let acts = sides(ask.hands).contains(&side);
                let mut way = Vec::new();
                if manner == Manner::LiftLid && acts && (!both || holder != Some(side)) {
                    way.push(lifting(side, mouth));
                }
                if acts && manner != Manner::LiftLid || holder == Some(side) {
                    way.push(letting_go(manner, side, mouth));
                }
                stops[slot(side)] = way;
            }
        }
        // A glove is drawn along the fingers of the hand that wears it, held out to meet the other.
        // What the hand that gives it holds may go along.
        let worn = |i: &&StageItem| {
            let now = stage.items.iter().find(|now| now.id == i.id);
            i.side.is_some() && now.is_some_and(|now| now.state == StageItemState::Worn)
        };
        let worn_on = ask.becomes.iter().find(worn).and_then(|i| i.side);
        let worn_on = worn_on.unwrap_or(Side::Left);
        let glove = matches!(manner, Manner::Peel | Manner::Strip);
        let mut along = arms
            .pose
            .hand(worn_on)
            .turned(mirrored(worn_on, figure::hand_axes().0));
        if glove && ask.hands == Hands::One(worn_on.other()) {
            let meeting = Meeting::new(worn_on, arms, manner == Manner::Strip);
            let found = meeting.visits((&places[slot(worn_on.other())], &taken), stage, &spot);
            holds[slot(worn_on.other())] = found.last().map(|stop| (stop.grip, stop.normal));
            stops[slot(worn_on.other())] = found.iter().map(|stop| stop.aim).collect();
            stops[slot(worn_on)] = vec![meeting.aim];
            along = meeting.along();
        }
        Course {
            manner,
            errand,
            at: 0.0,
            seconds: ask
                .seconds
                .clamp(0.2, if manner == Manner::Rub { HELD } else { 6.0 }),
            hurried: ask.hurried,
            from,
            acts: Side::BOTH.map(|side| !stops[slot(side)].is_empty() || manner == Manner::Rub),
            stops,
            along,
            gives: glove.then_some(worn_on),
            holds,
            taken,
            keeps,
        }
    }

    /// Moves the place where a hand takes hold, metres; never far.
    pub fn shift(&mut self, side: Side, by: Vec3) {
        if let Some(stop) = self.stops[slot(side)].last_mut() {
            stop.wrist += by.clamp_length_max(0.08);
        }
    }

    /// The pose in which the hands take hold.
    pub fn met(&self, arms: &Arms) -> Pose {
        let at = self.leaves() * 0.86;
        let [left, right] = Side::BOTH.map(|side| match self.acts[slot(side)] {
            true => self.working(side, at),
            false => arms.aim(side),
        });
        Pose::of(left, right, &self.stance_at(0.0, at))
    }

    /// How firmly the hands hold what they take, 0 to 1.
    pub fn firm(&self) -> f32 {
        let at = self.at / self.leaves();
        smooth(0.86, 0.93, at)
    }

    /// When touches happen, as shares of the whole.
    pub fn touching(&self) -> (f32, f32) {
        (0.18, self.over() - 0.02)
    }

    /// When the last stop is left and the item begins to move, as a share of the whole.
    fn leaves(&self) -> f32 {
        match self.manner {
            Manner::Touch | Manner::Don => 0.60,
            Manner::Fall => 0.28,
            Manner::PickUp => 0.66,
            _ => 0.40,
        }
    }

    /// How far the room has gone round the body when the person has been turned by `turned`, radians: not at all where
    /// the body keeps its place in the room.
    pub fn follows_turn(&self, turned: f32) -> f32 {
        match self.errand {
            Errand::Bin { .. } | Errand::Stoop(_) => 0.0,
            _ => turned,
        }
    }

    /// What the rest of the body does now; `turned` is how far the person has been turned since the beginning, radians.
    pub fn stance(&self, turned: f32) -> Stance {
        self.stance_at(turned, self.at)
    }

    fn stance_at(&self, turned: f32, at: f32) -> Stance {
        let down = smooth(0.04, self.leaves() * 0.85, at);
        let up = smooth(self.over() - 0.12, 0.97, at);
        Stance {
            nod: self.manner.nod() * down * (1.0 - up),
            ..self.errand.turned(turned).stance(at)
        }
    }

    /// When all has happened and the hands go home.
    pub fn over(&self) -> f32 {
        match self.manner {
            Manner::Touch | Manner::Don => 0.62,
            Manner::PickUp => 0.74,
            Manner::Rub => 0.86,
            // They walk back once it is in the bin.
            Manner::Bin | Manner::LiftLid | Manner::PushDown | Manner::Throw => 0.74,
            _ => 0.80,
        }
    }

    /// How far what moves has come, 0 to 1.
    pub fn item_share(&self) -> f32 {
        let t = ((self.at - self.leaves()) / (self.over() - self.leaves())).clamp(0.0, 1.0);
        if self.hurried { 1.0 - (1.0 - t).powi(2) } else { t }
    }

    /// Where a hand is; `None` if it has no part in the technique.
    pub fn aim(&self, side: Side) -> Option<HandAim> {
        self.aim_at(side, self.at)
    }

    /// How the body stands and where its arms are at a moment; `turned` as for [`Course::stance`].
    pub fn moment(&self, at: f32, arms: &Arms, turned: f32) -> (Stance, Pose) {
        let stance = self.stance_at(turned, at);
        let [left, right] = Side::BOTH.map(|side| self.aim_at(side, at).unwrap_or(arms.aim(side)));
        (stance, Pose::of(left, right, &stance))
    }

    /// When the first hand has come to where it works, as a share of the whole.
    pub fn arrives(&self) -> f32 {
        if self.manner == Manner::Rub {
            return self.reaches().1;
        }
        let acting = self.stops.iter().filter(|stops| !stops.is_empty());
        acting
            .map(|stops| self.leaves() * reached(stops.len()))
            .fold(self.leaves(), f32::min)
    }

    /// When hands that are to be rubbed have met, and when they are at the dispenser, as shares of the whole.
    fn reaches(&self) -> (f32, f32) {
        let begin = (REACH / self.seconds).min(0.24);
        (begin, begin * 0.58)
    }

    fn aim_at(&self, side: Side, at: f32) -> Option<HandAim> {
        let i = slot(side);
        if !self.acts[i] {
            return None;
        }
        let (at, over) = (at.min(1.0), self.over());
        if at >= over {
            let last = self.working(side, over);
            let t = ease_curve((at - over) / (1.0 - over), self.hurried);
            let home = at_ease(side, self.keeps[i][1]);
            return Some(blend(last, waypoint(side, home.wrist, last.wrist), home, t));
        }
        Some(self.working(side, at))
    }

    /// How far a hand is closed, `s` into the item's motion, if it holds something or has held it.
    fn closed(&self, side: Side, coming: Closing, at: f32) -> Closing {
        let i = slot(side);
        let (s, [before, after]) = (self.share(at), self.keeps[i]);
        if self.manner.lets_go() {
            let keep = before.map_or(coming, Keep::closing);
            return keep.lerp(Closing::fingers(0.1), smooth(0.0, 0.12, s));
        }
        let Some((grip, _)) = self.holds[i] else {
            return before.map_or(coming, Keep::closing);
        };
        let held = coming.lerp(grip.holding(), smooth(0.84, 0.92, at / self.leaves()));
        match after {
            Some(keep) => held.lerp(keep.closing(), smooth(0.60, 0.95, s)),
            None => held.lerp(Closing::fingers(0.25), smooth(0.86, 1.0, s)),
        }
    }

    /// How far a hand has drawn what it holds away from where it lay, before it goes on its way (m).
    fn tugged(&self, side: Side, at: f32) -> Vec3 {
        let Some((grip, normal)) = self.holds[slot(side)] else {
            return Vec3::ZERO;
        };
        // What is stiff is not drawn out of its shape, nor a glove off the fingers before they slip.
        let stiff =
            |part: &str| part == "front" || part == "edge" || part == "band" || part.ends_with("-side");
        let far = match grip {
            Grip::Hook => 0.012,
            _ if self.manner == Manner::Strip => 0.0,
            _ if self.taken.iter().any(|t| t.side == side && stiff(&t.part)) => 0.0,
            _ => 0.030,
        };
        normal * (far * smooth(0.90, 1.0, at / self.leaves()))
    }

    /// Where a hand is before it goes home, and how far it is closed.
    fn working(&self, side: Side, at: f32) -> HandAim {
        let aim = self.going(side, at);
        HandAim {
            closing: if self.manner == Manner::Rub {
                aim.closing
            } else {
                self.closed(side, aim.closing, at)
            },
            ..aim
        }
    }

    /// Where a hand is on its way.
    fn going(&self, side: Side, at: f32) -> HandAim {
        let i = slot(side);
        let step = |a: HandAim, b: HandAim, t: f32| {
            let near = (a.wrist - b.wrist).length() < 0.12;
            let by = if near {
                (a.wrist + b.wrist) * 0.5
            } else {
                waypoint(side, a.wrist, b.wrist)
            };
            blend(a, by, b, ease_curve(t.clamp(0.0, 1.0), self.hurried))
        };
        if self.manner == Manner::Rub {
            // Out to the dispenser first, if a hand goes there, then both together.
            let (begin, there) = self.reaches();
            let start = match self.stops[i].first() {
                Some(stop) if at < there => return step(self.from[i], *stop, at / there),
                Some(stop) => *stop,
                None => self.from[i],
            };
            let t = (at - begin) / (self.over() - begin);
            // What is held goes through all of it again and again.
            let rounds = (t * self.seconds / ROUND.0).max(0.0);
            let rub = if self.seconds > 6.0 {
                rubbing(side, rounds.fract(), ROUND.1)
            } else {
                rubbing(side, t.clamp(0.0, 1.0), if self.hurried { 5.0 } else { 7.0 })
            };
            return if t < 0.0 {
                step(start, rub, (at - there) / (begin - there))
            } else {
                rub
            };
        }
        let stops = &self.stops[i];
        let leaves = self.leaves();
        let n = stops.len();
        let first = leaves * reached(n);
        if at < first {
            return step(self.from[i], stops[0], at / first);
        }
        let each = (leaves - first) / n.max(2) as f32;
        let k = (((at - first) / each) as usize).min(n - 1);
        let t = (at - first) / each - k as f32;
        if at < leaves && k + 1 < n {
            // Half of the time at a place, half on the way to the next.
            return step(stops[k], stops[k + 1], (t - 0.4) / 0.6);
        }
        let mut aim = stops[n - 1];
        if self.gives == Some(side) {
            aim.wrist -= self.along * yielded(self.share(at));
            return aim;
        }
        aim.wrist += self.tugged(side, at) + self.carried(side, self.share(at));
        aim
    }

    fn share(&self, at: f32) -> f32 {
        let t = ((at - self.leaves()) / (self.over() - self.leaves())).clamp(0.0, 1.0);
        if self.hurried { 1.0 - (1.0 - t).powi(2) } else { t }
    }

    /// How far the item has drawn the hand from where it took hold (m), `s` into its motion.
    fn carried(&self, side: Side, s: f32) -> Vec3 {
        let out = if side == Side::Left { 1.0 } else { -1.0 };
        let (up, s1) = (smooth(0.0, 0.45, s), smooth(0.0, 1.0, s));
        match self.manner {
            Manner::Peel | Manner::Strip => {
                self.along * (worn::drawn(self.manner, s) - yielded(s))
                    + Vec3::Y * (0.06 * smooth(0.5, 1.0, s))
            }
            Manner::Untie => Vec3::new(out * 0.17, 0.03, -0.01) * s1,
            Manner::BibFalls => Vec3::new(out * 0.10, 0.02, 0.05) * s1,
            Manner::StrapOver | Manner::OverHead => Vec3::new(
                0.0,
                0.14 * (std::f32::consts::PI * s1).sin() - 0.10 * smooth(0.6, 1.0, s),
                0.40 * s1,
            ),
            Manner::Forward => Vec3::new(0.0, -0.12 * smooth(0.5, 1.0, s), 0.20 * s1),
            Manner::Springs => Vec3::new(0.0, -0.20 * smooth(0.4, 1.0, s), 0.18 * up),
            Manner::GownRoll => Vec3::new(out * -0.02, -0.34 * s1, 0.24 * s1),
            Manner::GownDown => Vec3::new(out * 0.04, -0.40 * s1, 0.16 * s1),
            Manner::GownArms => Vec3::new(out * -0.05, -0.30 * s1, 0.24 * smooth(0.1, 1.0, s)),
            Manner::GownCuffs => Vec3::new(
                out * 0.12 * (std::f32::consts::PI * s).sin(),
                -0.05 * s1,
                0.10 * s1,
            ),
            Manner::GownFront => Vec3::new(0.0, -0.16 * s1, 0.26 * up),
            Manner::GownOver | Manner::ApronOver => Vec3::new(
                0.0,
                0.55 * smooth(0.0, 0.6, s) - 0.40 * smooth(0.65, 1.0, s),
                0.16 * s1,
            ),
            Manner::ApronFold => Vec3::new(out * -0.04, -0.03, 0.06) * smooth(0.10, 0.80, s),
            Manner::ApronFront => Vec3::new(0.0, -0.14 * s1, 0.24 * up),
            Manner::Lower => Vec3::new(0.0, -0.125, -0.012) * s1,
            Manner::Raise => Vec3::new(0.0, 0.125, 0.012) * s1,
            Manner::Nudge => Vec3::new(0.003, 0.007, 0.0) * (std::f32::consts::PI * s).sin(),
            Manner::ShoeRoll | Manner::ShoePull => Vec3::new(0.0, 0.06, 0.10) * s1,
            // Twice, as deep as the wrist.
            Manner::PushDown => {
                let again = smooth(0.50, 0.62, s) * smooth(0.74, 0.62, s);
                let down = smooth(0.05, 0.45, s) * smooth(1.0, 0.86, s);
                Vec3::new(0.0, PUSHED * (down - 0.30 * again), 0.03 * down)
            }
            Manner::Throw => Vec3::new(0.0, 0.10, 0.04) * smooth(0.0, 0.3, s),
            Manner::Bin
            | Manner::LiftLid
            | Manner::Fall
            | Manner::Don
            | Manner::PickUp
            | Manner::Rub
            | Manner::Touch => Vec3::ZERO,
        }
    }
}

/// When a hand is at the first of so many places, as a share of the time until it leaves the last.
fn reached(places: usize) -> f32 {
    if places == 1 { 0.80 } else { 0.55 }
}

/// How far a hand goes down that pushes down what is in the bin, metres.
const PUSHED: f32 = -0.33;

/// The aim from which a held thing is let go; `mouth` is the middle of the bin's opening.
fn letting_go(manner: Manner, side: Side, mouth: Vec3) -> HandAim {
    let home = ease(side);
    let out = if side == Side::Left { 1.0 } else { -1.0 };
    let to = match manner {
        Manner::Throw => home.wrist + Vec3::new(0.02 * out, 0.16, 0.06),
        Manner::Fall => home.wrist + Vec3::new(0.03 * out, -0.02, 0.10),
        Manner::PushDown => mouth + Vec3::new(0.02 * out, 0.34, -0.06),
        _ => mouth + Vec3::new(0.045 * out, 0.40, -0.09),
    };
    HandAim { wrist: to, ..home }
}

/// The aim that takes something from the floor at a place, seen from the body.
fn lifting_up(side: Side, at: Vec3, stance: &Stance) -> HandAim {
    let up = stance.place.transform().rotation.inverse() * Vec3::Y;
    Grip::Pinch.aim(side, at, up)
}

/// The aim that takes the lid by its edge, from beside the bin.
fn lifting(side: Side, mouth: Vec3) -> HandAim {
    let edge = mouth + Vec3::new(0.0, 0.05, -bin::WALLS.x);
    let mut aim = Grip::Pinch.aim(side, edge, Vec3::Y);
    aim.wrist += Vec3::Y * 0.02;
    aim
}
