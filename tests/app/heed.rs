//! Close views follow hands at work: whatever is done, the hands that do it are in the picture, and so is the face in a view
//! of the face.

use bevy::prelude::*;
use smirch::app::picture::Studio;
use smirch::model::Side;
use smirch::scene::{Both, Motion, NamedView, News, Perform, SceneCamera};
use smirch::view::stage::{Stage, Surface, Who};

use crate::motion::{cases, corners, pass, settle, told};
use crate::studio::studio;

/// How long one step of a technique is here, s.
const STEP: f32 = 0.1;
/// How long hands may take to come into a view of the face, as a share of what they do; and a view to come back after it, s.
const COMING: f32 = 0.33;
const RETURNS: f32 = 3.0;
/// Share of a hand's corners that are to be in the picture: a fingertip may be cut off, no more.
const MOST: f32 = 0.95;

/// Everything that hands do, as it is asked of the scene: name, the stage before it, what is asked, the stage after it.
fn everything() -> Vec<(&'static str, Stage, Perform, Stage)> {
    let mut out: Vec<_> = crate::holds::all_played();
    for case in cases() {
        if out.iter().all(|(name, ..)| *name != case.technique) {
            out.push((case.technique, case.before.clone(), case.ask(false), case.after()));
        }
    }
    out
}

fn camera(studio: &mut Studio) -> Transform {
    let world = studio.app.world_mut();
    let mut cameras = world.query_filtered::<&Transform, With<SceneCamera>>();
    cameras
        .single(world)
        .copied()
        .unwrap_or_else(|why| panic!("{why}"))
}

/// The share of points of the room that are within the picture.
fn in_sight(studio: &mut Studio, points: &[Vec3]) -> f32 {
    let place = GlobalTransform::from(camera(studio));
    let world = studio.app.world_mut();
    let mut cameras = world.query_filtered::<&Camera, With<SceneCamera>>();
    let Ok(camera) = cameras.single(world) else {
        panic!("there is one camera")
    };
    let seen = |p: &&Vec3| {
        let ndc = camera.world_to_ndc(&place, **p);
        ndc.is_some_and(|at| at.x.abs() < 1.0 && at.y.abs() < 1.0)
    };
    points.iter().filter(seen).count() as f32 / points.len() as f32
}

/// True while hands are on their way.
fn motion(studio: &Studio) -> bool {
    let motion = studio.app.world().resource::<Both<Motion>>();
    motion.of(Who::First).moving()
}

/// The corners of a hand, with or without a glove: those of the person's skin move along with it, whether drawn or not.
fn hand(studio: &mut Studio, side: Side) -> Vec<Vec3> {
    ["fingertips", "thumb", "back-of-hand", "palm"]
        .iter()
        .flat_map(|zone| corners(studio, &Surface::Body(format!("{}-{zone}", side.word()))))
        .collect()
}

/// What a view does not keep in sight while something is done.
fn lost(
    studio: &mut Studio,
    view: NamedView,
    name: &str,
    before: &Stage,
    ask: &Perform,
    after: &Stage,
) -> Vec<String> {
    settle(studio, before, view);
    let home = camera(studio);
    studio.app.world_mut().write_message(ask.clone());
    pass(studio, 0.0);
    let face = view == NamedView::Face;
    let sides: Vec<Side> = Side::BOTH
        .into_iter()
        .filter(|side| !face || ask.touches.iter().any(|touch| touch.hand == Some(*side)))
        .collect();
    let mut out = Vec::new();
    let (mut done, mut since) = (false, 0.0);
    for step in 1..200 {
        pass(studio, STEP);
        let news = told(studio);
        if news.contains(&News::Done) {
            done = true;
            studio.show(after.clone(), view);
        }
        if done {
            since += STEP;
        }
        // A view of the face lets hands come into it and go home; one of the hands goes along with them.
        let at_work = if face {
            !done && step as f32 * STEP > ask.seconds * COMING
        } else {
            !done || motion(studio)
        };
        if !motion(studio) && (camera(studio) == home || since > RETURNS) {
            break;
        }
        if !at_work {
            continue;
        }
        let mut say = |what: String| {
            if out.len() < 2 {
                out.push(format!("{name} in the {} view, at {step}: {what}", view.word()));
            }
        };
        for side in &sides {
            let hand = hand(studio, *side);
            let seen = in_sight(studio, &hand);
            if seen < MOST {
                say(format!("{:.0} % of the {} hand", seen * 100.0, side.word()));
            }
        }
        for place in ["forehead", "chin"].iter().filter(|_| face) {
            let face = corners(studio, &Surface::Body((*place).to_owned()));
            let seen = in_sight(studio, &face);
            if seen < 0.5 {
                say(format!("{:.0} % of the {place}", seen * 100.0));
            }
        }
    }
    if camera(studio) != home {
        out.push(format!("{name}: the {} view does not come back", view.word()));
    }
    out
}

#[test]
fn close_views_keep_what_hands_do_in_sight() {
    let Some(mut studio) = studio(80, 60) else {
        return;
    };
    let mut out = Vec::new();
    for (name, before, ask, after) in everything() {
        for view in [NamedView::Face, NamedView::Hands] {
            out.extend(lost(&mut studio, view, name, &before, &ask, &after));
        }
    }
    assert!(out.is_empty(), "out of the picture:\n{}", out.join("\n"));
}
