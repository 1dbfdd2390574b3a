//! Techniques as motion, looked at part of the way, at the end, and when cut short.
//!
//! With `SMIRCH_SHOTS` naming a folder, the frames looked at are written there as PNG files. With `SMIRCH_LOOK` as well,
//! such as `bin-by-pedal,walk:front,left`, only those techniques are drawn, from those sides, eight frames of each.

use std::time::Duration;

use bevy::ecs::message::Messages;
use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;
use smirch::app::picture::{Picture, Studio};
use smirch::content::Content;
use smirch::model::{Side, Whereabouts, Zone};
use smirch::scene::follow::Limb;
use smirch::scene::motion::manner::Manner;
use smirch::scene::piece::Piece;
use smirch::scene::pose::Pose;
use smirch::scene::shape::{bin, body, figure};
use smirch::scene::stance::Stance;
use smirch::scene::{
    Arms, Both, CameraWork, Figure, Hands, Loose, Motion, NamedView, News, Perform, PerformStop, Performed,
    SceneSettings, StageView, Touched,
};
use smirch::view::stage::{Stage, StageItemState, Surface, Who};

use crate::stage::{bare, site, wearing};
use crate::studio::studio;

const KIT: [&str; 4] = ["respirator", "visor", "gown", "glove"];

/// One technique as the tests ask for it: its item, what it touches, what the item becomes.
pub struct Case {
    pub technique: &'static str,
    item: &'static str,
    hands: Hands,
    touches: Vec<(Side, Zone, Surface)>,
    becomes: StageItemState,
    inverted: bool,
    pub before: Stage,
}

fn part(item: &str, part: &str, inside: bool) -> Surface {
    Surface::Part {
        item: item.into(),
        part: part.into(),
        inside,
    }
}

fn case(technique: &'static str, item: &'static str, hands: Hands, before: Stage) -> Case {
    Case {
        technique,
        item,
        hands,
        touches: vec![],
        becomes: StageItemState::Held(Side::Right),
        inverted: false,
        before,
    }
}

impl Case {
    fn touch(mut self, zone: Zone, surface: Surface) -> Case {
        let sides: &[Side] = match self.hands {
            Hands::One(Side::Left) => &[Side::Left],
            Hands::One(Side::Right) => &[Side::Right],
            Hands::Both => &Side::BOTH,
        };
        for side in sides {
            self.touches.push((*side, zone, surface.clone()));
        }
        self
    }

    fn into(mut self, state: StageItemState, inverted: bool) -> Case {
        (self.becomes, self.inverted) = (state, inverted);
        self
    }

    pub fn after(&self) -> Stage {
        let mut out = self.before.clone();
        for item in out.items.iter_mut().filter(|i| i.id == self.item) {
            item.state = self.becomes.clone();
            item.inverted = self.inverted;
        }
        out
    }

    pub fn ask(&self, hurried: bool) -> Perform {
        let n = self.touches.len() as f32;
        let touched = |(i, (side, zone, surface)): (usize, &(Side, Zone, Surface))| Touched {
            hand: Some(*side),
            zone: Some(*zone),
            site: site(&self.before, surface),
            at: (i as f32 + 0.5) / n,
        };
        let after = self.after();
        let changed = after.items.iter().zip(&self.before.items).filter(|(a, b)| a != b);
        Perform {
            who: Who::First,
            technique: self.technique.into(),
            becomes: changed.map(|(a, _)| a.clone()).collect(),
            hands: self.hands,
            touches: self.touches.iter().enumerate().map(touched).collect(),
            seconds: if hurried { 0.8 } else { 1.5 },
            hurried,
        }
    }
}

fn kit() -> Stage {
    wearing(bare(), &KIT)
}

fn holding(item: &str) -> Stage {
    let mut stage = kit();
    for i in stage.items.iter_mut().filter(|i| i.id == item) {
        i.state = StageItemState::Held(Side::Right);
        i.inverted = true;
    }
    stage
}

fn lying(item: &str) -> Stage {
    let mut stage = holding(item);
    for i in stage.items.iter_mut().filter(|i| i.id == item) {
        i.state = StageItemState::Floor(Whereabouts::Doorway);
    }
    stage
}

pub fn cases() -> Vec<Case> {
    use Zone::{FingerPads, Fingertips, Palm, Thumb};
    let right = Hands::One(Side::Right);
    let mut one_bare = kit();
    for i in one_bare.items.iter_mut().filter(|i| i.id == "left-glove") {
        i.state = StageItemState::Binned;
    }
    vec![
        case("glove-pinch-peel", "left-glove", right, kit())
            .touch(Fingertips, part("left-glove", "cuff", false))
            .touch(Thumb, part("left-glove", "cuff", false))
            .into(StageItemState::Held(Side::Right), true),
        case("glove-snatch", "left-glove", right, kit())
            .touch(Fingertips, part("left-glove", "fingertips", false)),
        case("glove-hook-cuff", "right-glove", Hands::One(Side::Left), one_bare)
            .touch(Fingertips, part("right-glove", "cuff", true))
            .into(StageItemState::Held(Side::Left), true),
        case("gown-peel-inside", "gown", Hands::Both, kit())
            .touch(Fingertips, part("gown", "left-shoulder", true))
            .touch(Palm, part("gown", "chest", true))
            .into(StageItemState::Held(Side::Right), true),
        case("gown-pull-front", "gown", Hands::Both, kit()).touch(Palm, part("gown", "chest", false)),
        case("gown-undo-neck-tie", "gown", Hands::Both, kit())
            .touch(Fingertips, part("gown", "neck-tie", false))
            .into(StageItemState::Worn, false),
        case("eyewear-by-strap", "visor", Hands::Both, kit())
            .touch(Fingertips, part("visor", "strap", false)),
        case("respirator-top-strap-off", "respirator", Hands::Both, kit())
            .touch(Fingertips, part("respirator", "top-strap", false)),
        case("respirator-by-front", "respirator", right, kit())
            .touch(FingerPads, part("respirator", "front", false))
            .touch(Thumb, part("respirator", "front", false)),
        case(
            "apron-fold-down",
            "apron",
            Hands::Both,
            wearing(bare(), &["apron", "glove"]),
        )
        .touch(Fingertips, part("apron", "bib", true))
        .into(StageItemState::Held(Side::Right), true),
        case(
            "apron-break-loop",
            "apron",
            Hands::Both,
            wearing(bare(), &["apron", "glove"]),
        )
        .touch(Fingertips, part("apron", "neck-loop", false))
        .into(StageItemState::Worn, false),
        case("rub", "gown", Hands::Both, wearing(bare(), &["gown"])).into(StageItemState::Worn, false),
        case("bin-by-pedal", "gown", right, holding("gown")).into(StageItemState::Binned, true),
        case("bin-by-lid", "gown", right, holding("gown"))
            .touch(Fingertips, Surface::Room("bin-lid".into()))
            .into(StageItemState::Binned, true),
        case("bin-push-down", "gown", right, holding("gown")).into(StageItemState::Binned, true),
        case("bin-throw", "gown", right, holding("gown")).into(StageItemState::Binned, true),
        case(
            "overshoe-by-top-inside",
            "left-overshoe",
            right,
            wearing(bare(), &["overshoe", "glove"]),
        )
        .touch(Fingertips, part("left-overshoe", "upper", true))
        .into(StageItemState::Held(Side::Right), true),
        case("drop-on-floor", "gown", right, holding("gown"))
            .into(StageItemState::Floor(Whereabouts::Doorway), true),
        case("pick-up-from-floor", "gown", right, lying("gown"))
            .into(StageItemState::Held(Side::Right), true),
    ]
}

pub fn take(studio: &mut Studio) -> Picture {
    match studio.take() {
        Ok(picture) => picture,
        Err(why) => panic!("{why}"),
    }
}

/// Lets a time pass, in frames no longer than the clock allows; time stands still otherwise.
pub fn pass(studio: &mut Studio, seconds: f32) {
    let frames = (seconds / 0.2).ceil().max(1.0);
    let step = Duration::from_secs_f32(seconds / frames);
    let world = studio.app.world_mut();
    world.insert_resource(TimeUpdateStrategy::ManualDuration(step));
    for _ in 0..frames as usize {
        studio.app.update();
    }
    let world = studio.app.world_mut();
    world.insert_resource(TimeUpdateStrategy::ManualDuration(Duration::ZERO));
}

pub fn told(studio: &mut Studio) -> Vec<News> {
    let world = studio.app.world_mut();
    let all = world
        .resource_mut::<Messages<Performed>>()
        .drain()
        .collect::<Vec<_>>();
    all.into_iter().map(|Performed(_, news)| news).collect()
}

/// Shows a stage with nothing moving.
pub fn settle(studio: &mut Studio, stage: &Stage, view: NamedView) {
    studio.app.world_mut().resource_mut::<SceneSettings>().still = true;
    studio.show(stage.clone(), view);
    studio.app.world_mut().resource_mut::<SceneSettings>().still = false;
    pass(studio, 0.0);
    told(studio);
}

/// Shows the stage before a technique and asks for it.
fn begin(studio: &mut Studio, case: &Case, hurried: bool, still: bool) {
    settle(studio, &case.before, NamedView::Front);
    studio.app.world_mut().resource_mut::<SceneSettings>().still = still;
    studio.app.world_mut().write_message(case.ask(hurried));
    pass(studio, 0.0);
}

pub fn shot(picture: &Picture, name: &str) {
    if let Some(folder) = std::env::var_os("SMIRCH_SHOTS") {
        let path = std::path::Path::new(&folder).join(format!("{name}.png"));
        if let Err(why) = picture.save(&path) {
            panic!("{why}");
        }
    }
}

#[test]
fn every_technique_has_a_motion() {
    let content = match Content::builtin() {
        Ok(content) => content,
        Err(why) => panic!("the built-in content is sound: {why}"),
    };
    for technique in &content.library.techniques {
        let moves = content.library.motion(&technique.id).and_then(Manner::of);
        assert!(moves.is_some(), "{} has no motion", technique.id);
    }
    for product in &content.library.products {
        assert!(
            Manner::of(&product.verb).is_some(),
            "{} has no motion",
            product.verb
        );
    }
}

/// Where the middle of a patch is now, in its piece's own space.
fn spot(studio: &mut Studio, surface: &Surface) -> Vec3 {
    let world = studio.app.world_mut();
    let site = site(&world.resource::<StageView>().0, surface) as u16;
    let mut pieces = world.query::<&Piece>();
    match pieces.iter(world).find_map(|piece| piece.middle(site)) {
        Some((p, _)) => p,
        None => panic!("{surface:?} is not drawn"),
    }
}

/// The head comes forwards while something is lifted over it or drawn from it, and goes back to where it was.
fn leaning(studio: &mut Studio) {
    let crown = Surface::Body("hair-top".into());
    for case in cases() {
        let leans = Manner::of(case.technique).is_some_and(|m| m.nod() > 0.0);
        begin(studio, &case, false, false);
        let before = spot(studio, &crown);
        pass(studio, 0.75);
        let half_way = spot(studio, &crown);
        pass(studio, 0.45);
        studio.show(case.after(), NamedView::Front);
        pass(studio, 0.5);
        let (by, after) = (half_way.z - before.z, spot(studio, &crown));
        assert!(
            (by > 0.02) == leans,
            "{}: half-way the crown is {by} m farther forwards",
            case.technique
        );
        assert!(
            after == before,
            "{}: the head does not come back: {after}, not {before}",
            case.technique
        );
    }
}

/// The corners of a patch, in the room.
pub fn corners(studio: &mut Studio, surface: &Surface) -> Vec<Vec3> {
    found(studio, surface, false)
}

/// All corners of what a patch belongs to, in the room.
fn whole(studio: &mut Studio, surface: &Surface) -> Vec<Vec3> {
    found(studio, surface, true)
}

fn found(studio: &mut Studio, surface: &Surface, all: bool) -> Vec<Vec3> {
    let world = studio.app.world_mut();
    let site = site(&world.resource::<StageView>().0, surface) as u16;
    let mut root = world.query_filtered::<&Transform, With<Figure>>();
    let root = match root.single(world) {
        Ok(root) => *root,
        Err(why) => panic!("{why}"),
    };
    let mut pieces = world.query::<(&Piece, Has<Loose>)>();
    let mut out = Vec::new();
    for (piece, loose) in pieces.iter(world) {
        if !piece.sites.contains(&site) {
            continue;
        }
        let tris = piece.tris.iter().zip(&piece.sites);
        let tris = tris.filter(|(_, s)| all || **s == site);
        let of = tris.flat_map(|(t, _)| t.map(|v| piece.posed[v as usize]));
        out.extend(of.map(|p| if loose { p } else { root.transform_point(p) }));
    }
    assert!(!out.is_empty(), "{surface:?} is not drawn");
    out
}

fn highest(corners: &[Vec3]) -> f32 {
    corners.iter().fold(f32::MIN, |y, p| y.max(p.y))
}

pub fn lowest(corners: &[Vec3]) -> f32 {
    corners.iter().fold(f32::MAX, |y, p| y.min(p.y))
}

/// Least distance between corners of two lists.
pub fn gap(a: &[Vec3], b: &[Vec3]) -> f32 {
    let near = |p: &Vec3| b.iter().fold(f32::MAX, |d, q| d.min(p.distance(*q)));
    a.iter().map(near).fold(f32::MAX, f32::min)
}

/// What is let go falls through the open lid and is never outside the bin's walls below its rim.
fn falling(studio: &mut Studio) {
    let room = |id: &str| Surface::Room(id.into());
    let everywhere = [Whereabouts::Doorway, Whereabouts::Inside, Whereabouts::Outside];
    for (technique, places) in [
        ("bin-by-pedal", &everywhere[..]),
        ("bin-by-lid", &everywhere[..1]),
        ("bin-throw", &everywhere[..1]),
        ("bin-push-down", &everywhere[1..2]),
    ] {
        for at in places {
            let mut before = holding("gown");
            before.whereabouts = *at;
            // Past the shut door it is the bin of the corridor.
            let (lid, pedal) = match at {
                Whereabouts::Outside => ("bin-lid-outside", "bin-pedal-outside"),
                _ => ("bin-lid", "bin-pedal"),
            };
            let case = case(technique, "gown", Hands::One(Side::Right), before)
                .touch(Zone::Fingertips, room(lid))
                .into(StageItemState::Binned, true);
            begin(studio, &case, false, false);
            let shut = highest(&corners(studio, &room(lid)));
            let (mut passed, mut pressed, mut lifted) = (false, f32::MAX, f32::MAX);
            loop {
                pass(studio, 0.05);
                // Whoever looks on may turn the person meanwhile; the bin stays where it is.
                let mut work = studio.app.world_mut().resource_mut::<CameraWork>();
                work.turn(0.03, 0.0);
                if told(studio).contains(&News::Done) {
                    break;
                }
                let item = whole(studio, &part("gown", "chest", false));
                let open = highest(&corners(studio, &room(lid))) - shut;
                let sole = corners(studio, &Surface::Body("right-shoe-sole".into()));
                pressed = pressed.min(gap(&sole, &corners(studio, &room(pedal))));
                let hand = corners(studio, &part("right-glove", "fingertips", false));
                lifted = lifted.min(gap(&hand, &corners(studio, &room(lid))));
                let motion = studio.app.world().resource::<Both<Motion>>();
                let falls = motion.of(Who::First).warp("gown").is_some_and(|w| w.at > 0.0);
                for p in item.iter().filter(|p| falls && p.y < bin::RIM) {
                    let off = *p - bin::at(*at);
                    assert!(
                        off.x.abs() < bin::WALLS.x && off.z.abs() < bin::WALLS.y,
                        "{technique}, {at:?}: a corner below the rim lies outside the bin, {off} from its middle"
                    );
                }
                if falls && lowest(&item) < bin::RIM - 0.01 && highest(&item) > bin::RIM {
                    passed = true;
                    assert!(
                        open > 0.10,
                        "{technique}, {at:?}: the item passes the rim while the lid stands only {open} m open"
                    );
                }
            }
            assert!(passed, "{technique}, {at:?}: the item never passes the rim");
            // No lid opens by itself: a foot or a hand does it.
            let by_foot = technique != "bin-by-lid";
            assert!(
                (pressed < 0.03) == by_foot,
                "{technique}, {at:?}: the sole came within {pressed} m of the pedal"
            );
            let by_hand = lifted < 0.06;
            assert!(
                by_foot || by_hand,
                "{technique}, {at:?}: the lid opened with no foot on the pedal and the hand {lifted} m away"
            );
            studio.show(case.after(), NamedView::Front);
            pass(studio, 0.5);
            let lid = highest(&corners(studio, &room("bin-lid")));
            assert!(lid == shut, "{technique}, {at:?}: the lid is not shut afterwards");
        }
    }
}

/// Of two people side by side, only the second goes to the bin and opens its lid.
fn second_bins(studio: &mut Studio) {
    let case = case("bin-by-pedal", "gown", Hands::One(Side::Right), holding("gown"))
        .into(StageItemState::Binned, true);
    studio.app.world_mut().resource_mut::<SceneSettings>().still = true;
    studio.show_pair([case.before.clone(), case.before.clone()], NamedView::Front);
    studio.app.world_mut().resource_mut::<SceneSettings>().still = false;
    let ask = Perform {
        who: Who::Second,
        ..case.ask(false)
    };
    studio.app.world_mut().write_message(ask);
    pass(studio, 0.0);
    pass(studio, 0.75);
    let arms = studio.app.world().resource::<Both<Arms>>();
    assert!(
        arms.of(Who::Second).stance().lids[0] > 1.0,
        "the second's lid stays shut"
    );
    assert_eq!(
        *arms.of(Who::First).stance(),
        Stance::default(),
        "the first moves along with the second"
    );
    shot(&take(studio), "second-bins");
    pass(studio, 1.0);
}

/// For an overshoe the foot comes up and the hand down to it; afterwards both feet stand level.
fn lifting(studio: &mut Studio) {
    for case in cases().iter().filter(|c| c.item == "left-overshoe") {
        begin(studio, case, false, false);
        pass(studio, 0.60);
        let upper = corners(studio, &part("left-overshoe", "upper", false));
        let fingers = corners(studio, &part("right-glove", "fingertips", false));
        assert!(
            lowest(&upper) > 0.20,
            "{}: the foot is not lifted",
            case.technique
        );
        let gap = gap(&upper, &fingers);
        assert!(
            gap < 0.03,
            "{}: the fingers stay {gap} m from the overshoe",
            case.technique
        );
        pass(studio, 0.70);
        studio.show(case.after(), NamedView::Front);
        pass(studio, 0.5);
        level(studio, case.technique);
    }
}

/// Whoever picks something up goes down to it: it is in the hand when it has been taken, and both feet stand on the floor.
fn picking_up(studio: &mut Studio) {
    for case in cases().iter().filter(|c| c.technique == "pick-up-from-floor") {
        begin(studio, case, false, false);
        while !told(studio).contains(&News::Done) {
            pass(studio, 0.03);
        }
        let item = whole(studio, &part(case.item, "chest", false));
        let fingers = corners(studio, &part("right-glove", "fingertips", false));
        let gap = gap(&item, &fingers);
        assert!(gap < 0.05, "the fingers take it from {gap} m away");
        for side in ["left", "right"] {
            let sole = lowest(&corners(studio, &Surface::Body(format!("{side}-shoe-sole"))));
            assert!(sole.abs() < 0.03, "the {side} foot is {sole} m above the floor");
        }
        studio.show(case.after(), NamedView::Front);
        pass(studio, 1.0);
        level(studio, case.technique);
    }
}

/// Taking hold of the other hand's glove, the arm passes neither through the body nor through the other arm.
fn crossing(studio: &mut Studio) {
    for case in cases() {
        let Hands::One(acting) = case.hands else { continue };
        let manner = Manner::of(case.technique);
        if !matches!(manner, Some(Manner::Peel | Manner::Strip)) {
            continue;
        }
        begin(studio, &case, false, false);
        for moment in [0.45, 0.58] {
            pass(studio, if moment == 0.45 { 0.45 } else { 0.13 });
            let pose = studio.app.world().resource::<Both<Arms>>().of(Who::First).pose;
            let points = |side: Side| {
                let m = |p: Vec3| {
                    if side == Side::Left {
                        p
                    } else {
                        p * Vec3::new(-1.0, 1.0, 1.0)
                    }
                };
                let fore = pose.limb(Limb::arm(side))[1];
                (0..=20)
                    .map(|i| figure::elbow().lerp(figure::wrist(), i as f32 / 20.0))
                    .map(|p| fore.point(m(p)))
                    .collect::<Vec<_>>()
            };
            let (mine, other) = (points(acting), points(acting.other()));
            let apart = gap(&mine, &other);
            assert!(
                apart > 0.07,
                "{}, {moment} s: the forearms come within {apart} m of each other",
                case.technique
            );
            let deepest = mine.iter().fold(f32::MAX, |d, p| d.min(body::trunk(*p)));
            assert!(
                deepest > 0.035,
                "{}, {moment} s: the forearm's middle lies {deepest} m from the body",
                case.technique
            );
        }
    }
}

/// A respirator hangs by its strap, clear of the hand that holds it.
fn hanging(studio: &mut Studio) {
    let mut stage = kit();
    for item in stage.items.iter_mut().filter(|i| i.id == "respirator") {
        item.state = StageItemState::Held(Side::Right);
    }
    studio.show(stage, NamedView::Front);
    pass(studio, 0.0);
    let front = corners(studio, &part("respirator", "front", false));
    let strap = corners(studio, &part("respirator", "top-strap", false));
    for zone in ["fingertips", "finger-pads", "palm", "thumb"] {
        let hand = corners(studio, &part("right-glove", zone, false));
        let gap = gap(&front, &hand);
        assert!(
            gap > 0.03,
            "the held respirator's front is {gap} m from the {zone}"
        );
    }
    let palm = corners(studio, &part("right-glove", "finger-pads", false));
    let gap = gap(&strap, &palm);
    assert!(gap < 0.03, "the strap is {gap} m from the fingers that hold it");
}

/// Both soles stand on the floor beside each other.
fn level(studio: &mut Studio, after: &str) {
    let [l, r] = ["left", "right"].map(|side| Surface::Body(format!("{side}-shoe-sole")));
    let (l, r) = (spot(studio, &l), spot(studio, &r));
    assert!(
        l.abs_diff_eq(Vec3::new(-r.x, r.y, r.z), 1e-4),
        "after {after} the feet are not level: {l} and {r}"
    );
}

/// Eight frames of each technique asked for, from each side asked for, to be looked at.
fn look(asked: &str) {
    let Some(mut studio) = studio(480, 480) else {
        return;
    };
    let (techniques, views) = asked.split_once(':').unwrap_or((asked, "front"));
    let wanted = |name: &str, list: &str| list.split(',').any(|one| one == name);
    for view in NamedView::ALL.into_iter().filter(|v| wanted(v.word(), views)) {
        for (name, from, to) in [
            ("walk", Whereabouts::Inside, Whereabouts::Outside),
            ("walk-back", Whereabouts::Outside, Whereabouts::Inside),
        ] {
            if wanted(name, techniques) {
                set_out(&mut studio, view, kit(), (from, to));
                for frame in 10..40 {
                    pass(&mut studio, 0.12);
                    shot(&take(&mut studio), &format!("{name}-{}-{frame}", view.word()));
                }
            }
        }
        for case in cases().iter().filter(|c| wanted(c.technique, techniques)) {
            begin(&mut studio, case, false, false);
            studio.show(case.before.clone(), view);
            for frame in 1..=8 {
                pass(&mut studio, 1.5 / 8.5);
                if told(&mut studio).contains(&News::Done) {
                    studio.show(case.after(), view);
                }
                let name = format!("{}-{}-{frame}", case.technique, view.word());
                shot(&take(&mut studio), &name);
            }
        }
    }
}

/// One renderer for every picture: starting it is what costs.
#[test]
fn techniques_move_and_end_where_the_next_stage_is() {
    if let Ok(asked) = std::env::var("SMIRCH_LOOK") {
        return look(&asked);
    }
    let looked_at = std::env::var_os("SMIRCH_SHOTS").is_some();
    let (width, height) = if looked_at { (1280, 720) } else { (480, 360) };
    let Some(mut studio) = studio(width, height) else {
        return;
    };
    let mut middles: Vec<(&str, &str, Picture)> = Vec::new();
    for case in cases() {
        begin(&mut studio, &case, false, false);
        let start = take(&mut studio);
        let mut middle = start.clone();
        for (step, by) in [(25, 0.25), (50, 0.25), (75, 0.25)] {
            pass(&mut studio, 1.5 * by);
            if step == 50 || looked_at {
                let frame = take(&mut studio);
                shot(&frame, &format!("{}-{step}", case.technique));
                if step == 50 {
                    middle = frame;
                }
            }
        }
        assert!(middle != start, "{}: nothing has moved half-way", case.technique);
        pass(&mut studio, 0.18);
        assert!(
            told(&mut studio).contains(&News::Done),
            "{}: the end was not told",
            case.technique
        );
        studio.show(case.after(), NamedView::Front);
        pass(&mut studio, 1.0);
        assert!(
            !studio
                .app
                .world()
                .resource::<Both<Motion>>()
                .of(Who::First)
                .moving(),
            "{}: it does not end",
            case.technique
        );
        let end = take(&mut studio);
        assert!(middle != end, "{}: it is over half-way", case.technique);
        studio.show(bare(), NamedView::Front);
        studio.show(case.after(), NamedView::Front);
        let direct = take(&mut studio);
        assert!(
            end == direct,
            "{}: the end differs from the next stage's picture",
            case.technique
        );

        // Cut short, it ends just there too.
        begin(&mut studio, &case, true, false);
        pass(&mut studio, 0.4);
        studio.app.world_mut().write_message(PerformStop(Who::First));
        studio.show(case.after(), NamedView::Front);
        let cut = take(&mut studio);
        assert!(
            cut == direct,
            "{}: cut short, the picture differs from the next stage's",
            case.technique
        );
        for (other, item, picture) in &middles {
            assert!(
                *item != case.item || *picture != middle,
                "{other} and {} look alike half-way",
                case.technique
            );
        }
        middles.push((case.technique, case.item, middle));
    }
    leaning(&mut studio);
    falling(&mut studio);
    lifting(&mut studio);
    picking_up(&mut studio);
    crossing(&mut studio);
    hanging(&mut studio);
    pace_and_stillness(&mut studio);
    walking(&mut studio);
    second_bins(&mut studio);
}

/// Somebody is asked to go somewhere else.
fn set_out(studio: &mut Studio, view: NamedView, mut stage: Stage, (from, to): (Whereabouts, Whereabouts)) {
    pass(studio, 0.0);
    stage.whereabouts = from;
    settle(studio, &stage, view);
    stage.whereabouts = to;
    studio.show(stage, view);
}

/// Arms swing while the person walks, and are at ease on arrival.
fn walking(studio: &mut Studio) {
    let out = (Whereabouts::Inside, Whereabouts::Outside);
    set_out(studio, NamedView::Front, kit(), out);
    pass(studio, 0.15);
    let ease = Pose::at_ease();
    let pose = |studio: &Studio| studio.app.world().resource::<Both<Arms>>().of(Who::First).pose;
    shot(&take(studio), "walk");
    assert!(pose(studio) != ease, "the arms hang still while walking");
    let mut apart = (0.0f32, 0.0f32);
    for _ in 0..8 {
        let [l, r] =
            ["left", "right"].map(|side| corners(studio, &Surface::Body(format!("{side}-shoe-sole"))));
        let ahead = |c: &[Vec3]| c.iter().fold(f32::MIN, |x, p| x.max(p.x));
        let by = ahead(&l) - ahead(&r);
        apart = (apart.0.min(by), apart.1.max(by));
        let floor = lowest(&l).min(lowest(&r));
        assert!(
            floor.abs() < 0.02,
            "while walking the lower foot is {floor} m above the floor"
        );
        pass(studio, 0.06);
    }
    assert!(
        apart.0 < -0.05 && apart.1 > 0.05,
        "the feet do not step before each other in turn: {apart:?}"
    );
    pass(studio, 6.0);
    assert!(pose(studio) == ease, "the arms are not at ease after walking");
    level(studio, "walking");
}

/// Hurried is quicker than steady; without motion nothing moves, and all is told at once.
fn pace_and_stillness(studio: &mut Studio) {
    let Some(case) = cases().into_iter().next() else {
        return;
    };
    let mut ends = Vec::new();
    for hurried in [false, true] {
        begin(studio, &case, hurried, false);
        let mut frames = 0;
        while !told(studio).contains(&News::Done) {
            pass(studio, 0.05);
            frames += 1;
            assert!(frames < 100, "the technique never ends");
        }
        ends.push(frames);
    }
    assert!(
        ends[1] < ends[0],
        "hurried takes {} frames, steady {}",
        ends[1],
        ends[0]
    );
    begin(studio, &case, false, true);
    let news = told(studio);
    let n = case.touches.len();
    let mut wanted: Vec<News> = (0..n).map(News::Touch).collect();
    wanted.extend([News::Done, News::Home]);
    assert_eq!(news, wanted, "without motion all is told at once");
    let before = take(studio);
    pass(studio, 0.7);
    assert!(
        before == take(studio),
        "something moves although no motion is wanted"
    );
}
