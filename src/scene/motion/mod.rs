//! Techniques as motion: hands visit what they touch, and what comes off or is let go moves between two states.
//!
//! It is asked with [`Perform`], which lists the touches in order, and answers with [`Performed`]. What a technique
//! does to the drill it does not know: the picture at the end is the next stage's.

mod ask;
pub mod course;
pub mod errand;
pub mod grasp;
pub mod grip;
pub mod manner;
mod meeting;
pub mod visit;
pub mod warp;
mod worn;

use bevy::prelude::*;

pub use ask::{News, Perform, PerformStop, Performed, Touched};

use super::given::{Both, SceneSettings, StageView};
use super::kit;
use super::marks::{AWAY, Figure, Loose, OfItem, OfSecond, SecondRoot};
use super::orbit::CameraWork;
use super::piece::Piece;
use super::pose::Pose;
use super::reach::{Arms, Hands};
use super::shape::{bin, figure};
use super::stance::Stance;
use crate::model::{Side, Whereabouts};
use crate::view::stage::{Stage, StageItem, StageItemState, Surface, Who};
use course::Course;
use errand::Errand;
use grip::mirrored;
use manner::Manner;
use warp::{End, Warp};

/// How many moments of what is coming are looked at.
const MOMENTS: usize = 6;

/// The technique that a person's hands are about, if any.
#[derive(Default)]
pub struct Motion {
    course: Option<Course>,
    warps: Vec<Warp>,
    becomes: Vec<StageItem>,
    touches: Vec<Touched>,
    told: usize,
    done: bool,
    /// How far the person was turned from facing the camera at the beginning, radians.
    turn: f32,
}

impl Motion {
    /// True while hands or items are under way.
    pub fn moving(&self) -> bool {
        self.course.is_some()
    }

    /// True if a hand has a part in what is under way.
    pub fn acts(&self, side: Side) -> bool {
        let course = self.course.as_ref();
        course.is_some_and(|course| course.aim(side).is_some())
    }

    /// How the body stands and where its arms are now and in the next `seconds`, in even steps. Where only hands `at_work`
    /// matter, their ways from and to where they are at ease are left out, and there may be no moment. `turn` is how far
    /// the person is turned from facing the camera, radians.
    pub fn coming(&self, (seconds, at_work): (f32, bool), arms: &Arms, turn: f32) -> Vec<(Stance, Pose)> {
        let Some(course) = &self.course else {
            return Vec::new();
        };
        let then = course.at + seconds / course.seconds;
        let (from, to) = match at_work {
            true if course.at >= course.over() => return Vec::new(),
            true => (
                course.at.max(course.arrives()),
                then.max(course.arrives()).min(course.over()),
            ),
            false => (course.at, then.min(1.0)),
        };
        (0..MOMENTS)
            .map(|k| from + (to - from) * k as f32 / (MOMENTS - 1) as f32)
            .map(|at| course.moment(at, arms, turn - self.turn))
            .collect()
    }

    /// The bent shape of an item at this moment, if it has one.
    pub fn warp(&self, item: &str) -> Option<&Warp> {
        self.warps.iter().find(|w| w.item == item)
    }

    /// True if any item is bent now.
    pub fn bends(&self) -> bool {
        !self.warps.is_empty()
    }

    /// Items that have begun to come off the body: what they cover begins to show.
    pub fn coming_off(&self) -> Vec<String> {
        let begun = |w: &&Warp| w.at > 0.0 && matches!(w.end, End::Hand(_));
        let off = self.warps.iter().filter(begun);
        off.map(|w| w.item.clone()).collect()
    }

    /// Ends what is under way: hands at ease, no item bent. Nothing of it is told any more.
    fn end(&mut self, arms: &mut Arms) {
        if self.course.take().is_some() {
            arms.rest();
        }
        self.warps.clear();
    }
}

#[expect(
    clippy::too_many_arguments,
    clippy::type_complexity,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn start(
    mut asked: MessageReader<Perform>,
    mut stop: MessageReader<PerformStop>,
    mut told: MessageWriter<Performed>,
    settings: Res<SceneSettings>,
    work: Res<CameraWork>,
    stage: Res<StageView>,
    mut arms: ResMut<Both<Arms>>,
    mut motion: ResMut<Both<Motion>>,
    pieces: Query<(&Piece, Has<Loose>, Option<&OfItem>, Has<OfSecond>)>,
    roots: Query<(&Transform, Has<OfSecond>), Or<(With<Figure>, With<SecondRoot>)>>,
) {
    let stops: Vec<Who> = stop.read().map(|s| s.0).collect();
    let asked: Vec<&Perform> = asked.read().collect();
    for who in Who::BOTH {
        let (arms, motion) = (arms.of_mut(who), motion.of_mut(who));
        let put = arms.stance().place.transform();
        if stops.contains(&who) || settings.still {
            motion.end(arms);
        }
        let Some(ask) = asked.iter().rfind(|ask| ask.who == who) else {
            continue;
        };
        motion.end(arms);
        motion.turn = work.now.turn;
        if settings.still {
            // No motion wanted: all is told at once, the picture stays.
            told.write_batch((0..ask.touches.len()).map(|n| Performed(who, News::Touch(n))));
            told.write_batch([News::Done, News::Home].map(|news| Performed(who, news)));
            continue;
        }
        let second = who == Who::Second;
        let Some((root, _)) = roots.iter().find(|(_, of)| *of == second) else {
            continue;
        };
        let Some(stage) = stage.of(who) else { continue };
        let mine = pieces.iter().filter(|(.., of)| *of == second);
        // From where they stand, wherever the body was just now.
        let stand = Transform::from_matrix(root.to_matrix() * put.to_matrix().inverse());
        begin(
            ask,
            motion,
            arms,
            stage,
            &stand,
            mine.map(|(piece, loose, of, _)| (piece, loose, of.map(|of| of.0.as_str()))),
        );
    }
}

/// Where a garment is taken on the left shoulder, metres.
const SHOULDER: Vec3 = Vec3::new(0.135, 1.43, 0.045);
/// The tip of the middle finger, and a place above it and before it, hand coordinates, metres.
const MIDDLE_TIP: Vec3 = Vec3::new(0.168, 0.012, -0.018);
const ABOVE_TIP: Vec3 = Vec3::new(0.192, 0.012, 0.014);

/// Begins a technique from where the hands are.
fn begin<'a>(
    ask: &Perform,
    motion: &mut Motion,
    arms: &Arms,
    stage: &Stage,
    stand: &Transform,
    pieces: impl Iterator<Item = (&'a Piece, bool, Option<&'a str>)> + Clone,
) {
    let manner = Manner::of(&ask.technique).unwrap_or_else(|| Manner::guess(ask.becomes.first()));
    let back = stand.rotation.inverse();
    let into_figure = |p: Vec3| back * (p - stand.translation);
    // Where a hand meets a patch, in the figure's own space, and which way its outer side faces there.
    let spot = |side: Side, site: usize| {
        if let Some(Surface::Part { item, part, .. }) = stage.patches.get(site).map(|patch| &patch.surface)
            && part == "fingertips"
            && let Some(of) = stage.items.iter().find(|i| i.id == *item).and_then(|i| i.side)
        {
            // A glove is taken by the tip of its middle finger, from above.
            let hand = arms.pose.hand(of);
            let there = |q: Vec3| mirrored(of, figure::from_hand(q));
            let above = there(ABOVE_TIP) - there(MIDDLE_TIP);
            return Some((hand.point(there(MIDDLE_TIP)), hand.turned(above).normalize()));
        }
        pieces.clone().find_map(|(piece, loose, _)| {
            let (p, n) = match stage.patches.get(site).map(|patch| &patch.surface) {
                // Straps, loops and ties are taken at the back, where they come together.
                Some(Surface::Part { part, .. }) if visit::is_band(part) => piece.rearmost(site as u16)?,
                // A gown is taken where it lies on top of the shoulders, in front.
                Some(Surface::Part { part, .. }) if part.ends_with("shoulder") => {
                    let left = if part.starts_with("left") { 1.0 } else { -1.0 };
                    piece.nearest(site as u16, SHOULDER * Vec3::new(left, 1.0, 1.0))?
                }
                // An apron is folded down and lifted by the corners of its bib.
                Some(Surface::Part { part, .. })
                    if part == "bib" && matches!(manner, Manner::ApronFold | Manner::ApronOver) =>
                {
                    piece.nearest(site as u16, mirrored(side, worn::BIB))?
                }
                _ => piece.middle(site as u16)?,
            };
            Some(if loose { (into_figure(p), back * n) } else { (p, n) })
        })
    };
    // The second room stands aside of the first, with its own bin.
    let room = match ask.who {
        Who::First => Vec3::ZERO,
        Who::Second => Vec3::X * AWAY,
    };
    let into_figure = |p: Vec3| into_figure(p + room);
    let waste = bin::at(stage.whereabouts);
    let shoe = ask.becomes.first().and_then(|i| i.side);
    // Where the thing lies that is picked up.
    let lies = stage
        .items
        .iter()
        .enumerate()
        .find_map(|(nth, item)| match item.state {
            StageItemState::Floor(at) if ask.becomes.iter().any(|next| next.id == item.id) => {
                Some(kit::floor_spot(at, nth) + Vec3::Y * LYING)
            }
            _ => None,
        });
    let errand = match (manner, lies) {
        (Manner::PickUp, Some(lies)) => Errand::down(into_figure(lies), acting(ask.hands)),
        _ => {
            let errand = Errand::of(manner, shoe, into_figure(waste), back * Vec3::Z);
            match stage.whereabouts {
                Whereabouts::Outside => errand.in_corridor(),
                _ => errand,
            }
        }
    };
    let place = errand.at_work().place;
    let into_body = |p: Vec3| place.seen(into_figure(p));
    motion.warps = warps(ask, manner, stage, &into_body);
    let mouth = match (manner, lies) {
        (Manner::PickUp, Some(lies)) => into_body(lies),
        _ => into_body(waste + Vec3::Y * bin::RIM),
    };
    let holder = motion.warps.first().map(|w| w.from);
    let mut course = Course::new(ask, manner, errand, stage, arms, &spot, mouth, holder);
    let mut met = course.met(arms);
    for warp in &mut motion.warps {
        let taken: Vec<_> = course
            .taken
            .iter()
            .filter(|t| t.item == warp.item)
            .cloned()
            .collect();
        if taken.is_empty() || manner.lets_go() {
            continue;
        }
        let of = pieces
            .clone()
            .filter(|(_, _, item)| *item == Some(warp.item.as_str()));
        let of = of.map(|(piece, ..)| piece);
        // What lies on an arm moves as that arm comes: the hands go where it will be.
        for _ in 0..4 {
            let found = grasp::grasps(&warp.model, &taken, &met, of.clone());
            for side in Side::BOTH {
                if let Some(grasp) = found.iter().rfind(|g| g.side == side) {
                    course.shift(side, grasp.missed(&met));
                }
            }
            met = course.met(arms);
        }
        warp.grasps = grasp::grasps(&warp.model, &taken, &met, of.clone());
        grasp::spread(&mut warp.grasps, &warp.model, manner, of);
    }
    motion.course = Some(course);
    motion.becomes.clone_from(&ask.becomes);
    motion.touches.clone_from(&ask.touches);
    motion.told = 0;
    motion.done = false;
}

/// How high above the floor something that lies there is taken, metres.
const LYING: f32 = 0.05;

/// The hand that acts, or one of both.
fn acting(hands: Hands) -> Side {
    match hands {
        Hands::One(side) => side,
        Hands::Both => Side::Right,
    }
}

/// What bends during the technique.
fn warps(ask: &Perform, manner: Manner, stage: &Stage, into_figure: &dyn Fn(Vec3) -> Vec3) -> Vec<Warp> {
    if !manner.moves_item() {
        return Vec::new();
    }
    let acting = acting(ask.hands);
    let mut out: Vec<Warp> = Vec::new();
    for next in &ask.becomes {
        let Some(now) = stage.items.iter().find(|i| i.id == next.id) else {
            continue;
        };
        let held = |side: Side| {
            let same = |i: &&StageItem| i.state == StageItemState::Held(side) && i.id != next.id;
            stage.items.iter().filter(same).count()
        };
        let (end, order) = match next.state {
            StageItemState::Held(side) => (End::Hand(side), held(side)),
            StageItemState::Binned => {
                let waste = bin::at(stage.whereabouts);
                (End::Bin(into_figure(waste + Vec3::Y * bin::RIM)), 0)
            }
            StageItemState::Floor(at) => {
                let nth = stage.items.iter().position(|i| i.id == next.id).unwrap_or(0);
                (End::Floor(into_figure(kit::floor_spot(at, nth))), 0)
            }
            _ => (End::Body, 0),
        };
        // What goes along with the item of the technique, such as gloves inside a gown, moves as suits itself.
        let own = match (&now.state, manner) {
            (StageItemState::Worn, _) if now.model.ends_with("glove") && manner != Manner::Strip => {
                Manner::Peel
            }
            _ => manner,
        };
        out.push(Warp {
            item: next.id.clone(),
            model: now.model.clone(),
            side: now.side,
            from: match now.state {
                StageItemState::Held(side) => side,
                _ => acting,
            },
            manner: own,
            end,
            inverted: next.inverted,
            front: kit::foremost(&now.model).filter(|_| next.by_front),
            order,
            hung: match now.state {
                StageItemState::Held(side) => {
                    let before = stage.items.iter().take_while(|i| i.id != now.id);
                    let held = before.filter(|i| i.state == now.state).count();
                    Some(kit::grip(side, &now.model, held))
                }
                _ => None,
            },
            grasps: Vec::new(),
            at: 0.0,
            firm: 0.0,
            turned: 0.0,
        });
    }
    out
}

pub(super) fn advance(
    time: Res<Time>,
    stage: Res<StageView>,
    work: Res<CameraWork>,
    mut arms: ResMut<Both<Arms>>,
    mut motion: ResMut<Both<Motion>>,
    mut told: MessageWriter<Performed>,
) {
    for who in Who::BOTH {
        // Nothing is marked as changed while nothing moves.
        if motion.of(who).course.is_none() {
            continue;
        }
        let Some(stage) = stage.of(who) else { continue };
        let mut tell = |news| {
            told.write(Performed(who, news));
        };
        go_on(
            (time.delta_secs(), work.now.turn),
            stage,
            arms.of_mut(who),
            motion.of_mut(who),
            &mut tell,
        );
    }
}

/// Lets a technique go on for some seconds, with the person turned so far from facing the camera (radians).
fn go_on(
    (seconds, turn): (f32, f32),
    stage: &Stage,
    arms: &mut Arms,
    motion: &mut Motion,
    tell: &mut dyn FnMut(News),
) {
    let Some(course) = &mut motion.course else { return };
    course.at += seconds / course.seconds;
    let (at, over) = (course.at, course.over());
    for side in Side::BOTH {
        if let Some(aim) = course.aim(side) {
            arms.set(side, aim);
        }
    }
    let turned = turn - motion.turn;
    arms.stand(course.stance(turned));
    let aside = course.follows_turn(turned);
    let share = course.item_share();
    let firm = course.firm();
    for warp in &mut motion.warps {
        (warp.at, warp.firm, warp.turned) = (share, firm, aside);
    }
    // Once the stage has caught up, the new shape is drawn as it is.
    let (becomes, shown) = (&motion.becomes, &stage.items);
    motion.warps.retain(|w| {
        let next = becomes.iter().find(|i| i.id == w.item);
        let now = shown.iter().find(|i| i.id == w.item);
        w.manner == Manner::Nudge && at < over || next != now
    });
    let span = course.touching();
    while motion.told < motion.touches.len()
        && at >= span.0 + (span.1 - span.0) * motion.touches[motion.told].at
    {
        tell(News::Touch(motion.told));
        motion.told += 1;
    }
    if at >= over && !motion.done {
        for n in motion.told..motion.touches.len() {
            tell(News::Touch(n));
        }
        motion.told = motion.touches.len();
        motion.done = true;
        tell(News::Done);
    }
    if at >= 1.0 {
        motion.course = None;
        motion.warps.clear();
        tell(News::Home);
        arms.rest();
    }
}
