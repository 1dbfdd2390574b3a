//! The camera: named views, turning, zooming, the mirror switch, and the rectangle it draws into.
//!
//! Turning left and right turns the person like a figure on a stand, so the room stays composed as a plate; turning
//! up and down tilts the camera.

use bevy::camera::{CameraProjection, ClearColorConfig, SubCameraView, Viewport};
use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::input::mouse::{MouseMotion, MouseScrollUnit, MouseWheel};
use bevy::math::Vec3A;
use bevy::prelude::*;

use super::point::{Drag, over_scene};
use super::reach::Arms;
use super::shape::field::smooth;
use super::{Both, Figure, Quality, SceneRect, SceneSettings, StageView};
use crate::palette;
use crate::view::stage::Who;

/// Marks the camera that draws the scene.
#[derive(Component)]
pub struct SceneCamera;

/// Views with a name and a key.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum NamedView {
    /// The whole person from the front.
    #[default]
    Front,
    /// From behind.
    Back,
    /// The wearer's left side.
    Left,
    /// The wearer's right side.
    Right,
    /// Both hands, close.
    Hands,
    /// The face, close.
    Face,
}

impl NamedView {
    /// All views in the order of their keys.
    pub const ALL: [NamedView; 6] = [
        Self::Front,
        Self::Back,
        Self::Left,
        Self::Right,
        Self::Hands,
        Self::Face,
    ];

    /// The word people read.
    pub fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
            Self::Left => "left",
            Self::Right => "right",
            Self::Hands => "hands",
            Self::Face => "face",
        }
    }

    fn orbit(self) -> Orbit {
        let pi = std::f32::consts::PI;
        let whole = |turn| Orbit {
            turn,
            tilt: 0.085,
            height: 0.915,
            span: 2.16,
            follow: 0.72,
        };
        match self {
            Self::Front => whole(0.0),
            Self::Back => whole(pi),
            // The wearer's left (+x) comes to face the camera.
            Self::Left => whole(-pi * 0.5),
            Self::Right => whole(pi * 0.5),
            Self::Hands => Orbit {
                turn: 0.0,
                tilt: 0.40,
                height: 0.965,
                span: 0.56,
                follow: 1.0,
            },
            Self::Face => Orbit {
                turn: -0.30,
                tilt: 0.06,
                height: 1.605,
                span: 0.50,
                follow: 1.0,
            },
        }
    }
}

/// Where the camera looks from, in the terms people move it by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Orbit {
    /// How far the person is turned from facing the camera, radians.
    pub turn: f32,
    /// How far the camera looks down, radians.
    pub tilt: f32,
    /// Height of the point it looks at, metres.
    pub height: f32,
    /// Height of the picture at the person, metres.
    pub span: f32,
    /// How closely it follows the person sideways, 0 to 1.
    pub follow: f32,
}

impl Orbit {
    fn blend(self, to: Orbit, t: f32) -> Orbit {
        let mix = |a: f32, b: f32| a + (b - a) * t;
        let pi = std::f32::consts::PI;
        let short = (to.turn - self.turn + pi).rem_euclid(2.0 * pi) - pi;
        Orbit {
            turn: self.turn + short * t,
            tilt: mix(self.tilt, to.tilt),
            height: mix(self.height, to.height),
            span: mix(self.span, to.span),
            follow: mix(self.follow, to.follow),
        }
    }
}

/// The camera's present place and where it is going.
#[derive(Resource)]
pub struct CameraWork {
    /// Present place.
    pub now: Orbit,
    goal: Orbit,
    start: Orbit,
    /// 0 at the start of a move, 1 at its end.
    progress: f32,
    /// The last named view asked for.
    pub view: NamedView,
}

impl Default for CameraWork {
    fn default() -> Self {
        let at = NamedView::Front.orbit();
        Self {
            now: at,
            goal: at,
            start: at,
            progress: 1.0,
            view: NamedView::Front,
        }
    }
}

impl CameraWork {
    /// Moves to a named view: smoothly, or at once with `instant`.
    pub fn go(&mut self, view: NamedView, instant: bool) {
        self.view = view;
        self.aim(view.orbit(), instant);
    }

    /// Moves to any place.
    pub fn aim(&mut self, orbit: Orbit, instant: bool) {
        self.start = self.now;
        self.goal = orbit;
        self.progress = if instant { 1.0 } else { 0.0 };
        if instant {
            self.now = orbit;
        }
    }

    /// Turns and tilts at once, radians.
    pub fn turn(&mut self, sideways: f32, down: f32) {
        let mut to = self.now;
        to.turn += sideways;
        to.tilt = (to.tilt + down).clamp(-0.12, 1.25);
        self.aim(to, true);
    }

    /// Zooms at once; below 1 comes closer.
    pub fn zoom(&mut self, factor: f32) {
        let mut to = self.now;
        to.span = (to.span * factor).clamp(0.18, 3.2);
        to.follow = (1.0 - (to.span - 0.8) * 0.21).clamp(0.55, 1.0);
        self.aim(to, true);
    }

    /// True while a move is under way.
    pub fn moving(&self) -> bool {
        self.progress < 1.0
    }
}

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
pub(super) fn glide(
    time: Res<Time>,
    settings: Res<SceneSettings>,
    arms: Res<Both<Arms>>,
    mut work: ResMut<CameraWork>,
    mut figure: Single<(&Figure, &mut Transform), Without<SceneCamera>>,
    mut camera: Single<&mut Transform, With<SceneCamera>>,
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
    let wanted = Transform::from_xyz(stand.x, 0.0, super::STAND_Z).with_rotation(turn) * body.transform();
    if **place != wanted {
        **place = wanted;
    }
    let distance = now.span / (2.0 * (FOV * 0.5).tan());
    // Close views go along to the bin and back, those of the hands with what is before the body.
    let before = BEFORE * smooth(1.5, 1.2, now.height);
    let gone = body.shift + Quat::from_rotation_y(body.turn) * before - before;
    let along = turn * gone * smooth(WIDE.0, WIDE.1, now.span);
    let focus = Vec3::new(stand.x * now.follow, now.height, super::STAND_Z) + along;
    let (s, c) = now.tilt.sin_cos();
    let eye = focus + Vec3::new(0.0, s * distance, c * distance);
    let wanted = Transform::from_translation(eye).looking_at(focus, Vec3::Y);
    if **camera != wanted {
        **camera = wanted;
    }
}
