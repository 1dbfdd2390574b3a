//! The way between inside, doorway and outside: the door opens and shuts with it, by a hand on its handle.

use std::sync::Arc;

use bevy::ecs::system::RunSystemOnce;
use bevy::prelude::*;
use smirch::app::picture::Studio;
use smirch::content::Content;
use smirch::drill::{Action, Drill};
use smirch::model::{Setup, Side, Whereabouts};
use smirch::scene::kit;
use smirch::scene::piece::Piece;
use smirch::scene::point::{self, Targets};
use smirch::scene::pose::Pose;
use smirch::scene::shape::{bin, doorway};
use smirch::scene::{
    Arms, Both, Figure, Gait, Hands, Loose, NamedView, Perform, SceneCamera, SceneSettings, StageView,
};
use smirch::view::stage::{Stage, StageItemState, Surface, Who};
use smirch::view::stage_of;

use crate::motion::{corners, gap, lowest, pass, settle, take};
use crate::stage::{bare, site, wearing};
use crate::studio::studio;

const EVERYWHERE: [Whereabouts; 3] = [Whereabouts::Inside, Whereabouts::Doorway, Whereabouts::Outside];

fn somebody(at: Whereabouts) -> Stage {
    let mut stage = wearing(bare(), &["respirator", "gown", "glove"]);
    stage.whereabouts = at;
    stage
}

fn handle(outside: bool) -> Surface {
    let side = if outside { "outside" } else { "inside" };
    Surface::Room(format!("door-handle-{side}"))
}

fn door(studio: &Studio, who: Who) -> f32 {
    studio.app.world().resource::<Both<Arms>>().of(who).door()
}

fn walks(studio: &Studio) -> bool {
    studio.app.world().resource::<Both<Gait>>().of(Who::First).walking
}

/// The middle of a handle, in the room.
fn middle(studio: &mut Studio, outside: bool) -> Vec3 {
    let all = corners(studio, &handle(outside));
    all.iter().sum::<Vec3>() / all.len() as f32
}

/// Corners of whatever of a hand may lie on a handle.
fn hand(studio: &mut Studio, side: Side) -> Vec<Vec3> {
    let zones = ["palm", "fingertips", "finger-pads", "thumb"];
    let of = |part: &str| Surface::Part {
        item: format!("{}-glove", side.word()),
        part: part.into(),
        inside: false,
    };
    zones.iter().flat_map(|part| corners(studio, &of(part))).collect()
}

#[test]
fn the_door_is_drawn_as_the_drill_has_it() {
    let content = Content::builtin().unwrap_or_else(|why| panic!("the built-in content is sound: {why}"));
    let Some(scenario) = content.library.scenario("respiratory-room").cloned() else {
        panic!("there is no scenario `respiratory-room`");
    };
    let setup = Setup::new(content.library.clone(), &scenario).unwrap_or_else(|e| panic!("{e}"));
    let mut drill = Drill::begin(Arc::new(setup), 7);
    for to in [Whereabouts::Doorway, Whereabouts::Outside, Whereabouts::Inside] {
        if let Err(why) = drill.act(Action::Walk(to)) {
            panic!("{why}");
        }
        assert_eq!(
            stage_of(&drill, false).door_is_open(),
            drill.state().door_is_open(),
            "{to:?}"
        );
    }
    let Some(mut studio) = studio(480, 360) else {
        return;
    };
    for at in EVERYWHERE {
        let mut stage = somebody(at);
        stage.lamp = true;
        for outside in [false, true] {
            let nth = site(&stage, &handle(outside));
            stage.patches[nth].count = 5_000;
        }
        settle(&mut studio, &stage, NamedView::Front);
        for outside in [false, true] {
            let off = middle(&mut studio, outside) - doorway::HINGE;
            if at == Whereabouts::Doorway {
                assert!(
                    off.x < -0.3,
                    "{at:?}: a handle is {off} from the hinge, not in the room"
                );
            } else {
                assert!(
                    off.x.abs() < 0.08 && off.z > 0.4,
                    "{at:?}: a handle is {off} from the hinge"
                );
            }
        }
        // What sits on a handle is seen where the handle is.
        let picture = take(&mut studio);
        let glows = |c: &[u8]| c[1] > 150 && c[0] > 100 && c[2] < 140;
        let lit = picture.rgba.chunks(4).enumerate().filter(|(_, c)| glows(c));
        let lit: Vec<Vec2> = lit
            .map(|(i, _)| Vec2::new((i % 480) as f32, (i / 480) as f32))
            .collect();
        assert!(lit.len() > 3, "{at:?}: {} pixels glow", lit.len());
        let at_handle = [false, true].map(|outside| {
            let nth = site(&stage, &handle(outside));
            let found = studio.app.world_mut().run_system_once_with(place, nth);
            found.unwrap_or_else(|why| panic!("{why}"))
        });
        for p in lit {
            let far = at_handle.iter().flatten().map(|q| q.distance(p));
            let far = far.fold(f32::MAX, f32::min);
            assert!(far < 24.0, "{at:?}: specks glow {far} pixels from the handles");
        }
    }
}

fn place(
    wanted: In<usize>,
    pieces: Targets,
    figure: Single<&Transform, (With<Figure>, Without<SceneCamera>)>,
    camera: Single<(&Camera, &GlobalTransform), With<SceneCamera>>,
) -> Option<Vec2> {
    let (cam, place) = *camera;
    point::screen_position_of(*wanted, cam, place, &pieces, &figure)
}

/// What is told of somebody who walks: how near the hand that may work them came to the inner and the outer handle while
/// the door moved, metres.
fn walk(studio: &mut Studio, stage: &Stage, to: Whereabouts, side: Side) -> [f32; 2] {
    settle(studio, stage, NamedView::Front);
    let from = stage.whereabouts;
    studio.app.world_mut().resource_mut::<StageView>().0.whereabouts = to;
    let (mut nearest, mut seconds) = ([f32::MAX; 2], 0.0);
    loop {
        let before = door(studio, Who::First);
        pass(studio, 0.04);
        seconds += 0.04;
        let (now, what) = (
            door(studio, Who::First),
            format!("{from:?} to {to:?}, {seconds:.2} s"),
        );
        if now != before {
            let fingers = hand(studio, side);
            for (n, outside) in [false, true].into_iter().enumerate() {
                let lever = corners(studio, &handle(outside));
                nearest[n] = nearest[n].min(gap(&lever, &fingers));
            }
        }
        let soles = ["left", "right"].map(|side| Surface::Body(format!("{side}-shoe-sole")));
        let floor = soles.map(|sole| lowest(&corners(studio, &sole)));
        let floor = floor[0].min(floor[1]);
        assert!(
            floor.abs() < 0.025,
            "{what}: the lower foot is {floor} m above the floor"
        );
        clear(studio, now, &what);
        if !walks(studio) {
            break;
        }
        assert!(seconds < 8.0, "{what}: they never arrive");
    }
    nearest
}

/// How far into the bin's outline the hem of a gown may hang that brushes it, metres.
const BRUSH: f32 = 0.09;

/// Nothing of a person is within the leaf or the bin, but for hands.
fn clear(studio: &mut Studio, open: f32, when: &str) {
    let back = Quat::from_rotation_y(-doorway::OPEN * open);
    let world = studio.app.world_mut();
    let mut root = world.query_filtered::<&Transform, With<Figure>>();
    let root = root.single(world).copied().unwrap_or_else(|why| panic!("{why}"));
    let mut pieces = world.query_filtered::<&Piece, Without<Loose>>();
    for piece in pieces.iter(world) {
        for p in piece.posed.iter().map(|p| root.transform_point(*p)) {
            let q = back * (p - doorway::HINGE);
            let within = q.x.abs() < 0.02 && (0.0..0.74).contains(&q.z) && (0.02..1.95).contains(&q.y);
            let hand = (0.78..1.15).contains(&p.y);
            assert!(
                !within || hand,
                "{when}: {p} is within the leaf, {q} from its hinge"
            );
            for at in [bin::AT, bin::OUTSIDE] {
                let off = p - at;
                let within = off.x.abs() < bin::WALLS.x - BRUSH && off.z.abs() < bin::WALLS.y - BRUSH;
                assert!(
                    !within || p.y > bin::RIM || p.y < 0.02,
                    "{when}: {p} is within a bin, {off} from its middle"
                );
            }
        }
    }
}

#[test]
fn whoever_passes_works_the_handles_and_walks_through_an_open_door() {
    use Whereabouts::{Doorway, Inside, Outside};
    let Some(mut studio) = studio(320, 240) else {
        return;
    };
    let (inner, outer) = ([true, false], [false, true]);
    for (from, to, works) in [
        (Inside, Doorway, inner),
        (Doorway, Outside, outer),
        (Outside, Doorway, outer),
        (Doorway, Inside, inner),
        (Inside, Outside, [true, true]),
        (Outside, Inside, [true, true]),
    ] {
        let nearest = walk(&mut studio, &somebody(from), to, Side::Right);
        for (near, works) in nearest.into_iter().zip(works) {
            assert!(
                !works || near < 0.02,
                "{from:?} to {to:?}: the hand comes within {near} m of a handle that it works"
            );
        }
        let open = door(&studio, Who::First);
        assert_eq!(open, if to == Doorway { 1.0 } else { 0.0 }, "{from:?} to {to:?}");
        let pose = studio.app.world().resource::<Both<Arms>>().of(Who::First).pose;
        assert!(
            pose == Pose::at_ease().with_door(open),
            "{from:?} to {to:?}: they are not at ease afterwards"
        );
    }
    // The other hand does it if the right one is full.
    let mut stage = somebody(Doorway);
    for item in stage.items.iter_mut().filter(|i| i.id == "respirator") {
        item.state = StageItemState::Held(Side::Right);
    }
    let nearest = walk(&mut studio, &stage, Outside, Side::Left);
    assert!(nearest[1] < 0.02, "the left hand comes within {} m", nearest[1]);
}

#[test]
fn who_leaps_to_another_moment_is_there_at_once_and_so_is_the_door() {
    let Some(mut studio) = studio(320, 240) else {
        return;
    };
    settle(&mut studio, &somebody(Whereabouts::Outside), NamedView::Front);
    for (to, open) in [(Whereabouts::Doorway, 1.0), (Whereabouts::Outside, 0.0)] {
        let world = studio.app.world_mut();
        world.resource_mut::<Both<Gait>>().of_mut(Who::First).leap();
        world.resource_mut::<StageView>().0.whereabouts = to;
        pass(&mut studio, 0.0);
        assert_eq!(door(&studio, Who::First), open, "{to:?}");
        assert!(!walks(&studio), "{to:?}: they walk");
    }
    // Whoever is called back on the way turns back.
    studio.app.world_mut().resource_mut::<StageView>().0.whereabouts = Whereabouts::Inside;
    pass(&mut studio, 1.0);
    studio.app.world_mut().resource_mut::<StageView>().0.whereabouts = Whereabouts::Outside;
    pass(&mut studio, 6.0);
    assert!(!walks(&studio) && door(&studio, Who::First) == 0.0);
    assert_eq!(stands(&mut studio), kit::zone_x(Whereabouts::Outside));
    // Whoever does something else on the way arrives all the same, and finds the door as it should be.
    studio.app.world_mut().resource_mut::<StageView>().0.whereabouts = Whereabouts::Doorway;
    pass(&mut studio, 0.2);
    studio.app.world_mut().write_message(Perform {
        who: Who::First,
        technique: "rub".into(),
        becomes: vec![],
        hands: Hands::Both,
        touches: vec![],
        seconds: 0.4,
        hurried: true,
    });
    pass(&mut studio, 3.0);
    assert!(!walks(&studio) && door(&studio, Who::First) == 1.0);
    assert_eq!(stands(&mut studio), kit::zone_x(Whereabouts::Doorway));
}

/// Where along the room the person stands, metres.
fn stands(studio: &mut Studio) -> f32 {
    let world = studio.app.world_mut();
    let mut figure = world.query::<&Figure>();
    figure.single(world).map_or(f32::NAN, |figure| figure.x)
}

#[test]
fn of_two_people_each_has_a_door_of_their_own() {
    let Some(mut studio) = studio(480, 240) else {
        return;
    };
    let pair = [Whereabouts::Doorway, Whereabouts::Outside].map(somebody);
    studio.show_pair(pair, NamedView::Front);
    assert_eq!(Who::BOTH.map(|who| door(&studio, who)), [1.0, 0.0]);
    studio.app.world_mut().resource_mut::<SceneSettings>().still = false;
    if let Some(second) = &mut studio.app.world_mut().resource_mut::<StageView>().1 {
        second.whereabouts = Whereabouts::Doorway;
    }
    pass(&mut studio, 4.0);
    assert_eq!(Who::BOTH.map(|who| door(&studio, who)), [1.0, 1.0]);
}
