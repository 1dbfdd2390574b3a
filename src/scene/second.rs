//! The second of two people side by side: a room of its own out of sight of the first, seen from the same side by a
//! camera of its own in the right half. Nothing of it exists while there is no second stage.

use bevy::camera::RenderTarget;
use bevy::prelude::*;

use super::camera::{background, halves, lens, msaa, viewport};
use super::given::{Both, SceneRect, SceneSettings, StageView};
use super::kit::{Wardrobe, zone_x};
use super::marks::{AWAY, Figure, OfSecond, STAND_Z, SceneCamera, SecondRoot};
use super::material::PlateMaterial;
use super::motion::Motion;
use super::orbit::CameraWork;
use super::passage::{Gait, Moment};
use super::piece::Piece;
use super::reach::Arms;
use super::wear::{self, Dresser, Shown, uncovered};
use crate::view::stage::Who;

/// Marks the camera of the second.
#[derive(Component)]
pub(super) struct SecondCamera;

/// What is drawn of the second, once there has been one.
#[derive(Resource, Default)]
pub(super) struct Second {
    shown: Option<Shown>,
    root: Option<Entity>,
}

/// Dresses the second person as the second stage says.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn follow(
    mut commands: Commands,
    stage: Res<StageView>,
    settings: Res<SceneSettings>,
    mut arms: ResMut<Both<Arms>>,
    motion: Res<Both<Motion>>,
    mut was_off: Local<Vec<String>>,
    work: Res<CameraWork>,
    first: Single<&RenderTarget, With<SceneCamera>>,
    mut second: ResMut<Second>,
    mut images: ResMut<Assets<Image>>,
    mut materials: ResMut<Assets<PlateMaterial>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut wardrobe: ResMut<Wardrobe>,
    pieces: Query<(&Piece, &Mesh3d), With<OfSecond>>,
    fresh: Query<(), (Added<Piece>, With<OfSecond>)>,
) {
    let off = motion.of(Who::Second).coming_off();
    // Pieces come into being a frame after they are asked for, so their patches are filled in then.
    let afar = wear::afar(&settings, &work);
    let alike = second.shown.as_ref().is_none_or(|shown| shown.afar == afar);
    if !stage.is_changed() && fresh.is_empty() && alike && off == *was_off {
        return;
    }
    let Some(wanted) = &stage.1 else { return };
    let Second { shown, root } = &mut *second;
    let shown = shown.get_or_insert_with(|| Shown::made(&mut images, &mut materials));
    let root = *root.get_or_insert_with(|| {
        commands.spawn((
            SecondCamera,
            Camera3d::default(),
            Camera {
                // Before the first, which has order 0, and so before the panels.
                order: -1,
                is_active: false,
                ..default()
            },
            lens(settings.mirror),
            bevy::core_pipeline::tonemapping::Tonemapping::None,
            msaa(settings.quality),
            first.clone(),
            Transform::default(),
        ));
        let at = Transform::from_xyz(AWAY, 0.0, STAND_Z);
        shown.spawn_root(&mut commands, &mut meshes, (SecondRoot { x: 0.0 }, OfSecond, at))
    });
    if stage.is_changed() {
        let arms = arms.of_mut(Who::Second);
        arms.keep(wanted, motion.of(Who::Second).moving());
        let mut dresser = Dresser {
            commands: &mut commands,
            meshes: &mut meshes,
            wardrobe: &mut wardrobe,
            root,
            room: Transform::from_xyz(AWAY, 0.0, 0.0),
            pose: arms.pose,
            quality: settings.quality,
        };
        dresser.dress(wanted, shown, OfSecond);
    }
    shown.leave_out(&uncovered(wanted, &off), afar, pieces.iter(), true, &mut meshes);
    *was_off = off;
    shown.paint(wanted, None, &mut images);
}

/// Lights the second person's room as its stage and the settings ask.
pub(super) fn light(
    stage: Res<StageView>,
    settings: Res<SceneSettings>,
    second: Res<Second>,
    mut materials: ResMut<Assets<PlateMaterial>>,
) {
    if let (Some(shown), Some(stage)) = (&second.shown, &stage.1) {
        shown.light(stage.lamp, settings.quality, &mut materials);
    }
}

type CameraParts<'a> = (
    &'a mut Camera,
    &'a mut Projection,
    &'a mut Msaa,
    &'a mut Transform,
);

type FirstParts<'a> = (&'a Camera, &'a Transform);
type FirstOnly = (With<SceneCamera>, Without<SecondCamera>);
type RootOnly = (With<SecondRoot>, Without<SecondCamera>, Without<SceneCamera>);

/// Gives the second camera the right half, the first one's place, and what it may show.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn fit(
    settings: Res<SceneSettings>,
    rect: Res<SceneRect>,
    time: Res<Time>,
    stage: Res<StageView>,
    work: Res<CameraWork>,
    motion: Res<Both<Motion>>,
    mut arms: ResMut<Both<Arms>>,
    mut gait: ResMut<Both<Gait>>,
    first: Single<FirstParts, FirstOnly>,
    figure: Single<&Figure>,
    mut camera: Query<CameraParts, (With<SecondCamera>, Without<SceneCamera>)>,
    mut root: Query<(&mut SecondRoot, &mut Transform), RootOnly>,
) {
    let Ok((mut cam, mut projection, mut sampling, mut place)) = camera.single_mut() else {
        return;
    };
    let (one, at) = *first;
    let active = one.is_active && stage.1.is_some();
    if cam.is_active != active {
        cam.is_active = active;
    }
    let Some(wanted) = stage.1.as_ref().filter(|_| active) else {
        return;
    };
    let mut x = zone_x(wanted.whereabouts);
    if let Ok((mut person, mut root)) = root.single_mut() {
        if !gait.of(Who::Second).settled(wanted) {
            let moment = Moment {
                seconds: time.delta_secs(),
                turn: work.now.turn,
                busy: motion.of(Who::Second).moving(),
                still: settings.still,
            };
            let gait = gait.of_mut(Who::Second);
            x = gait.step(wanted, &moment, arms.of_mut(Who::Second));
            person.x = x;
        }
        let put = arms.of(Who::Second).stance().place.transform();
        let stand = Transform::from_xyz(AWAY + x, 0.0, STAND_Z)
            .with_rotation(Quat::from_rotation_y(work.now.turn))
            * put;
        if *root != stand {
            *root = stand;
        }
    }
    // The first camera follows its own person; this one follows the second as closely.
    let mut wanted_place = *at;
    wanted_place.translation.x += AWAY + (x - figure.x) * work.now.follow;
    if *place != wanted_place {
        *place = wanted_place;
    }
    if !(settings.is_changed() || rect.is_changed() || stage.is_changed()) {
        return;
    }
    cam.clear_color = bevy::camera::ClearColorConfig::Custom(background(wanted.lamp));
    if cam.invert_culling != settings.mirror {
        cam.invert_culling = settings.mirror;
        *projection = lens(settings.mirror);
    }
    if *sampling != msaa(settings.quality) {
        *sampling = msaa(settings.quality);
    }
    cam.viewport = viewport(rect.physical.map(|whole| halves(whole)[1]));
}
