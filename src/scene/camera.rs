//! The camera: steering and gliding, the mirror switch, and the rectangle it draws into.
//!
//! Turning left and right turns the person like a figure on a stand, so the room stays composed as a plate; turning
//! up and down tilts the camera.

use bevy::camera::{CameraProjection, ClearColorConfig, SubCameraView, Viewport};
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::input::mouse::{MouseMotion, MouseScrollUnit, MouseWheel};
use bevy::math::Vec3A;
use bevy::prelude::*;

use super::given::{Both, Quality, SceneRect, SceneSettings, StageView};
use super::heeded;
use super::marks::{Figure, STAND_Z, SceneCamera};
use super::motion::Motion;
use super::orbit::{Angle, CameraWork, Heed};
use super::point::{Drag, over_scene};
use super::reach::Arms;
use super::shape::field::smooth;
use super::stance::Place;
use crate::palette;
use crate::view::stage::Who;

/// Vertical angle of view, radians.
const FOV: f32 = 0.44;

/// A perspective that can show its picture as a mirror would.
#[derive(Clone, Debug)]
struct Lens {
    plain: PerspectiveProjection,
    mirror: bool,
}

impl Lens {
    fn flip(&self, m: Mat4) -> Mat4 {
        if self.mirror {
            Mat4::from_scale(Vec3::new(-1.0, 1.0, 1.0)) * m
        } else {
            m
        }
    }
}

impl CameraProjection for Lens {
    fn get_clip_from_view(&self) -> Mat4 {
        self.flip(self.plain.get_clip_from_view())
    }

    fn get_clip_from_view_for_sub(&self, sub: &SubCameraView) -> Mat4 {
        self.flip(self.plain.get_clip_from_view_for_sub(sub))
    }

    fn update(&mut self, width: f32, height: f32) {
        self.plain.update(width, height);
    }

    fn far(&self) -> f32 {
        self.plain.far()
    }

    fn get_frustum_corners(&self, near: f32, far: f32) -> [Vec3A; 8] {
        self.plain.get_frustum_corners(near, far)
    }
}

pub(super) fn lens(mirror: bool) -> Projection {
    let plain = PerspectiveProjection {
        fov: FOV,
        near: 0.10,
        far: 40.0,
        ..default()
    };
    Projection::custom(Lens { plain, mirror })
}

/// Background by day and under the lamp.
pub fn background(lamp: bool) -> Color {
    let colour = if lamp {
        palette::LAMP.paper
    } else {
        palette::BEHIND
    };
    let [red, green, blue] = colour.bytes();
    Color::srgb_u8(red, green, blue)
}

pub(super) fn spawn(mut commands: Commands, settings: Res<SceneSettings>) {
    commands.spawn((
        SceneCamera,
        Camera3d::default(),
        Camera {
            clear_color: ClearColorConfig::Custom(background(false)),
            ..default()
        },
        lens(settings.mirror),
        Tonemapping::None,
        msaa(settings.quality),
        Transform::default(),
    ));
}

pub(super) fn msaa(quality: Quality) -> Msaa {
    match quality {
        Quality::Plain => Msaa::Off,
        Quality::Fine => Msaa::Sample4,
    }
}

type CameraParts<'a> = (&'a mut Camera, &'a mut Projection, &'a mut Msaa);

/// Applies settings, lamp and rectangle to the camera when they change.
pub(super) fn fit(
    settings: Res<SceneSettings>,
    rect: Res<SceneRect>,
    stage: Res<StageView>,
    mut camera: Single<CameraParts, With<SceneCamera>>,
) {
    if !(settings.is_changed() || rect.is_changed() || stage.is_changed()) {
        return;
    }
    let (cam, projection, sampling) = &mut *camera;
    // What stays as it was is not written: a camera that has changed is drawn whole.
    let clear = background(stage.0.lamp);
    if !matches!(cam.clear_color, ClearColorConfig::Custom(now) if now == clear) {
        cam.clear_color = ClearColorConfig::Custom(clear);
    }
    if cam.invert_culling != settings.mirror {
        cam.invert_culling = settings.mirror;
        **projection = lens(settings.mirror);
    }
    if **sampling != msaa(settings.quality) {
        **sampling = msaa(settings.quality);
    }
    let shown = match (rect.physical, &stage.1) {
        (Some(whole), Some(_)) => Some(halves(whole)[0]),
        (whole, _) => whole,
    };
    let wanted = viewport(shown);
    let place = |v: &Option<Viewport>| v.as_ref().map(|v| (v.physical_position, v.physical_size));
    if place(&cam.viewport) != place(&wanted) {
        cam.viewport = wanted;
    }
}

/// A rectangle as the left and the right half.
pub(super) fn halves(whole: URect) -> [URect; 2] {
    let middle = (whole.min.x + whole.max.x) / 2;
    [
        URect::new(whole.min.x, whole.min.y, middle, whole.max.y),
        URect::new(middle, whole.min.y, whole.max.x, whole.max.y),
    ]
}

/// A rectangle as a viewport; none where it is empty or the whole target.
pub(super) fn viewport(rect: Option<URect>) -> Option<Viewport> {
    rect.filter(|r| r.width() > 0 && r.height() > 0)
        .map(|r| Viewport {
            physical_position: r.min,
            physical_size: r.size(),
            ..default()
        })
}

/// Drag and wheel.
pub(super) fn steer(
    mut work: ResMut<CameraWork>,
    settings: Res<SceneSettings>,
    rect: Res<SceneRect>,
    drag: Res<Drag>,
    windows: Query<&Window>,
    mut motion: MessageReader<MouseMotion>,
    mut wheel: MessageReader<MouseWheel>,
) {
    let moved: Vec2 = motion.read().map(|m| m.delta).sum();
    let turned: f32 = wheel
        .read()
        .map(|w| {
            if w.unit == MouseScrollUnit::Line {
                w.y
            } else {
                w.y / 60.0
            }
        })
        .sum();
    if drag.turning && moved != Vec2::ZERO {
        let side = if settings.mirror { -1.0 } else { 1.0 };
        work.turn(moved.x * 0.008 * side, moved.y * 0.005);
    }
    if turned != 0.0 && over_scene(&rect, &windows).is_some() {
        work.zoom(0.88f32.powf(turned));
    }
}

/// Heights of the picture at the person between which it begins to go along with them, metres.
const WIDE: (f32, f32) = (1.6, 1.0);

/// Where hands are before the body, metres.
const BEFORE: Vec3 = Vec3::new(0.0, 0.0, 0.34);

/// Moves camera and figure along; does nothing when nothing moves.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn glide(
    time: Res<Time>,
    settings: Res<SceneSettings>,
    arms: Res<Both<Arms>>,
    motion: Res<Both<Motion>>,
    stage: Res<StageView>,
    mut work: ResMut<CameraWork>,
    mut figure: Single<(&Figure, &mut Transform), Without<SceneCamera>>,
    mut camera: Single<(&mut Transform, &Camera), With<SceneCamera>>,
) {
    if work.progress < 1.0 {
        let step = if settings.still {
            1.0
        } else {
            time.delta_secs() / 0.45
        };
        work.progress = (work.progress + step).min(1.0);
        let t = smooth(0.0, 1.0, work.progress);
        work.now = work.start.blend(work.goal, t);
    }
    let now = work.now;
    let (stand, place) = &mut *figure;
    let turn = Quat::from_rotation_y(now.turn);
    let body = arms.of(Who::First).stance().place;
    let wanted = Transform::from_xyz(stand.x, 0.0, STAND_Z).with_rotation(turn) * body.transform();
    if **place != wanted {
        **place = wanted;
    }
    // Close views go along to the bin and back, those of the hands with what is before the body.
    let before = BEFORE * smooth(1.5, 1.2, now.height);
    let along = |body: Place| {
        let gone = body.shift + Quat::from_rotation_y(body.turn) * before - before;
        turn * gone * smooth(WIDE.0, WIDE.1, now.span)
    };
    let (s, c) = now.tilt.sin_cos();
    let (up, near) = (Vec3::new(0.0, c, -s), Vec3::new(0.0, s, c));
    // Both people stand in rooms alike, and their cameras look from the same side.
    let heeded = Who::BOTH
        .into_iter()
        .filter(|who| now.span < WIDE.1 && stage.of(*who).is_some() && !settings.still)
        .flat_map(|who| heeded::points(motion.of(who), arms.of(who), &now));
    let points: Vec<Vec3> = heeded
        .map(|(body, p)| turn * p - (Vec3::Y * now.height + along(body)))
        .map(|p| Vec3::new(p.x, p.dot(up), p.dot(near)))
        .collect();
    let (at, cam) = &mut *camera;
    let size = cam.logical_viewport_size().unwrap_or(Vec2::ONE);
    let angle = Angle {
        open: (FOV * 0.5).tan(),
        wide: size.x / size.y.max(1.0),
    };
    let wanted = Heed::of(&points, now.span, angle);
    let heed = if settings.still {
        wanted
    } else {
        work.heed.nearer(wanted, time.delta_secs())
    };
    if heed != work.heed {
        work.heed = heed;
    }
    let distance = (now.span + heed.wider) / (2.0 * angle.open);
    let focus = Vec3::new(stand.x * now.follow, now.height, STAND_Z)
        + along(body)
        + Vec3::X * heed.shift.x
        + up * heed.shift.y;
    let eye = focus + near * distance;
    let wanted = Transform::from_translation(eye).looking_at(focus, Vec3::Y);
    if **at != wanted {
        **at = wanted;
    }
}
