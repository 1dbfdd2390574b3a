//! A picture of which only a part is drawn again is the picture drawn whole.

use bevy::camera::{CameraOutputMode, ClearColorConfig, RenderTarget};
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::prelude::*;
use smirch::app::picture::{Picture, Studio};
use smirch::scene::redraw::Stale;
use smirch::scene::{CameraWork, Lit, NamedView, News, Orbit, Quality, SceneCamera, SceneSettings};
use smirch::view::stage::{Stage, Surface};

use crate::holds;
use crate::motion::{pass, settle, shot, take, told};
use crate::studio::studio;

/// A studio in which the scene's picture is kept, as in a window without a graphics card: another camera puts it on the
/// target.
fn keeping(width: u32, height: u32) -> Option<Studio> {
    let mut studio = studio(width, height)?;
    let world = studio.app.world_mut();
    world.resource_mut::<SceneSettings>().quality = Quality::Plain;
    let mut cameras = world.query_filtered::<(Entity, &RenderTarget), With<SceneCamera>>();
    let found = cameras
        .single(world)
        .map(|(camera, target)| (camera, target.clone()));
    let (camera, target) = match found {
        Ok(found) => found,
        Err(why) => panic!("the scene has one camera: {why}"),
    };
    if let Some(mut camera) = world.get_mut::<Camera>(camera) {
        camera.output_mode = CameraOutputMode::Skip;
    }
    world.spawn((
        Camera2d,
        Camera {
            order: 1,
            clear_color: ClearColorConfig::None,
            ..default()
        },
        target,
        Msaa::Off,
        Tonemapping::None,
    ));
    Some(studio)
}

/// Lets all that may be under way come to the renderer, and tells if it draws in parts by then.
fn quiet(studio: &mut Studio) -> bool {
    for _ in 0..8 {
        pass(studio, 0.0);
    }
    studio.app.world().resource::<Stale>().in_parts()
}

/// Shows a stage in which nothing moves, drawn in parts by the end.
fn stand(studio: &mut Studio, stage: &Stage) {
    settle(studio, stage, NamedView::Front);
    assert!(quiet(studio), "nothing moves, and yet all is drawn");
}

/// How many pixels of two pictures differ by more than rounding.
fn differing(one: &Picture, other: &Picture) -> usize {
    let pixels = one.rgba.chunks(4).zip(other.rgba.chunks(4));
    let apart = |(a, b): &(&[u8], &[u8])| a.iter().zip(*b).any(|(a, b)| a.abs_diff(*b) > 12);
    pixels.filter(apart).count()
}

/// Pixels at edges may fall to the other side where a narrowed view rounds otherwise.
const ROUNDED: usize = 10;
/// At least so many pixels change in a technique; fewer would show nothing.
const MOVED: usize = 800;

/// The picture as it stands, and the same drawn whole.
fn both(studio: &mut Studio, what: &str) -> Picture {
    let in_parts = studio.app.world().resource::<Stale>().in_parts();
    assert!(in_parts, "{what}: the picture is drawn whole anyway");
    let parts = take(studio);
    studio.app.world_mut().resource_mut::<Stale>().all();
    assert!(quiet(studio), "{what}: drawn whole for ever");
    let whole = take(studio);
    shot(&parts, &format!("parts-{what}"));
    shot(&whole, &format!("whole-{what}"));
    let n = differing(&parts, &whole);
    assert!(
        n <= ROUNDED,
        "{what}: {n} pixels are not what they are if all is drawn"
    );
    whole
}

#[test]
fn a_picture_drawn_in_parts_is_the_picture_drawn_whole() {
    let Some(mut studio) = keeping(480, 400) else {
        return;
    };
    for technique in [
        "glove-slide-under",
        "bin-by-pedal",
        "gown-peel-inside",
        "eyewear-by-strap",
    ] {
        let (before, ask, after): (Stage, _, Stage) = holds::played_out(technique);
        settle(&mut studio, &before, NamedView::Front);
        assert!(
            quiet(&mut studio),
            "{technique}: nothing moves, and yet all is drawn"
        );
        let still = both(&mut studio, &format!("{technique}-before"));
        studio.app.world_mut().write_message(ask.clone());
        pass(&mut studio, 0.0);
        let mut moved = 0;
        for step in 1..=10 {
            for _ in 0..4 {
                pass(&mut studio, ask.seconds / 44.0);
            }
            if told(&mut studio).contains(&News::Done) {
                studio.show(after.clone(), NamedView::Front);
                assert!(
                    quiet(&mut studio),
                    "{technique} {step}: drawn whole after it is done"
                );
            }
            if step % 2 == 0 {
                let picture = both(&mut studio, &format!("{technique}-{step}"));
                moved = moved.max(differing(&still, &picture));
            }
        }
        assert!(
            moved > MOVED,
            "{technique}: only {moved} pixels ever change, so nothing is shown"
        );
    }
}

#[test]
fn a_person_who_turns_leaves_nothing_behind() {
    let Some(mut studio) = keeping(480, 400) else {
        return;
    };
    let (stage, ..) = holds::played_out("glove-pinch-peel");
    stand(&mut studio, &stage);
    for step in 1..=5 {
        let mut work = studio.app.world_mut().resource_mut::<CameraWork>();
        let turned = Orbit {
            turn: work.now.turn + 0.5,
            ..work.now
        };
        work.aim(turned, true);
        pass(&mut studio, 0.0);
        both(&mut studio, &format!("turn-{step}"));
    }
}

#[test]
fn a_site_that_lights_up_is_drawn_alone_and_as_if_all_were() {
    let Some(mut studio) = keeping(480, 400) else {
        return;
    };
    let (stage, ..) = holds::played_out("glove-pinch-peel");
    stand(&mut studio, &stage);
    let dark = both(&mut studio, "unlit");
    let mut seen = 0;
    for site in (0..stage.patches.len()).step_by(7).map(Some).chain([None]) {
        studio.app.world_mut().resource_mut::<Lit>().0 = site;
        pass(&mut studio, 0.0);
        let lit = both(&mut studio, &format!("lit-{site:?}"));
        seen += usize::from(differing(&dark, &lit) > ROUNDED);
    }
    assert!(seen > 5, "only {seen} sites show when they light up");
}

#[test]
fn specks_that_come_under_the_lamp_are_drawn_alone_and_as_if_all_were() {
    let Some(mut studio) = keeping(480, 400) else {
        return;
    };
    let (mut stage, ..) = holds::played_out("glove-pinch-peel");
    stage.lamp = true;
    stand(&mut studio, &stage);
    let clean = both(&mut studio, "clean");
    let mut seen = 0;
    // Places with specks of the floor come and go, which draws all.
    let floor = Surface::Room("floor".into());
    let drawn_alone = |site: &usize| stage.patches[*site].surface != floor;
    let sites: Vec<usize> = (3..stage.patches.len()).step_by(11).filter(drawn_alone).collect();
    for site in sites {
        stage.patches[site].count = 40_000;
        studio.show(stage.clone(), NamedView::Front);
        let loaded = both(&mut studio, &format!("loaded-{site}"));
        seen += usize::from(differing(&clean, &loaded) > ROUNDED);
    }
    assert!(seen > 5, "only {seen} sites show what they carry");
}
