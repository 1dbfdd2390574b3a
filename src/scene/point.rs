//! Pointing: which site lies under the cursor, and clicks on it.

use std::f32::consts::PI;

use bevy::prelude::*;

use super::given::{SceneRect, StageView};
use super::marks::{Figure, Loose, OfSecond, SceneCamera};
use super::piece::Piece;
use super::sites::NOWHERE;
use crate::view::stage::{Stage, Surface};

/// The site under the cursor has changed; `None` when there is none.
#[derive(Message, Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pointed(pub Option<usize>);

/// A site was clicked: pressed and let go without a drag.
#[derive(Message, Clone, Copy, Debug, PartialEq, Eq)]
pub struct Picked {
    /// Index into `Stage::patches`.
    pub site: usize,
    /// Which button.
    pub button: MouseButton,
}

/// The site pointed at or chosen elsewhere (such as a text list); it is drawn lit up.
#[derive(Resource, Default, Debug, PartialEq, Eq)]
pub struct Lit(pub Option<usize>);

/// What the mouse is about.
#[derive(Resource, Default)]
pub struct Drag {
    /// True while a drag turns the person.
    pub turning: bool,
    from: Option<(MouseButton, Vec2, Option<usize>)>,
    last: Option<Vec2>,
    /// What part of the window the scene had then.
    shown: Option<URect>,
    hover: Option<usize>,
}

/// Cursor position within the window (logical pixels), if it is over the scene and pointing is on.
pub(super) fn over_scene(rect: &SceneRect, windows: &Query<&Window>) -> Option<Vec2> {
    if !rect.pointing {
        return None;
    }
    let window = windows.iter().next()?;
    let at = window.cursor_position()?;
    let scale = window.scale_factor();
    let inside = rect.physical.is_none_or(|r| {
        let p = at * scale;
        p.x >= r.min.x as f32 && p.y >= r.min.y as f32 && p.x < r.max.x as f32 && p.y < r.max.y as f32
    });
    inside.then_some(at)
}

/// Everything a ray can meet.
pub type Targets<'w, 's> =
    Query<'w, 's, (&'static Piece, Has<Loose>, &'static InheritedVisibility), Without<OfSecond>>;

/// The outermost site along a ray in the world.
pub fn site_on_ray(ray: Ray3d, pieces: &Targets, figure: &Transform) -> Option<usize> {
    nearest_on_ray(ray, pieces, figure, &|_| true)
}

/// The nearest along a ray of the sites asked for, whatever lies before it.
fn nearest_on_ray(
    ray: Ray3d,
    pieces: &Targets,
    figure: &Transform,
    among: &dyn Fn(u16) -> bool,
) -> Option<usize> {
    let back = figure.rotation.inverse();
    let own = (back * (ray.origin - figure.translation), back * *ray.direction);
    let mut best: Option<(f32, u16)> = None;
    for (piece, loose, seen) in pieces {
        if !seen.get() {
            continue;
        }
        let (from, dir) = if loose { (ray.origin, *ray.direction) } else { own };
        if let Some((d, site, _)) = piece.hit_among(from, dir, best.map_or(f32::MAX, |b| b.0), among) {
            best = Some((d, site));
        }
    }
    best.filter(|b| (b.1 as usize) < NOWHERE).map(|b| b.1 as usize)
}

/// The site at a position within the scene's own rectangle (logical pixels from its top left).
pub fn site_at(
    at: Vec2,
    camera: &Camera,
    camera_place: &GlobalTransform,
    pieces: &Targets,
    figure: &Transform,
) -> Option<usize> {
    let ray = camera.viewport_to_world(camera_place, at).ok()?;
    site_on_ray(ray, pieces, figure)
}

/// How far beside a tie, strap or loop it can be pointed at, logical pixels: half of the least size of what is pressed.
pub const LEEWAY: f32 = 8.0;

/// The site that is meant at a position: a thin one, if any is in sight within the [`LEEWAY`], else the one right there.
pub fn site_meant(
    at: Vec2,
    stage: &Stage,
    camera: &Camera,
    camera_place: &GlobalTransform,
    pieces: &Targets,
    figure: &Transform,
) -> Option<usize> {
    let thin = |site: usize| stage.patches.get(site).is_some_and(|p| p.thin && p.reachable);
    let right_there = site_at(at, camera, camera_place, pieces, figure);
    if right_there.is_some_and(thin) {
        return right_there;
    }
    // Rings round the position, the nearest first; what is found there must be in sight.
    let rings = [LEEWAY * 0.5, LEEWAY].into_iter();
    let around = rings.flat_map(|radius| (0..8).map(move |n| Vec2::from_angle(n as f32 * PI / 4.0) * radius));
    let found = around.map(|off| at + off).find_map(|near| {
        let ray = camera.viewport_to_world(camera_place, near).ok()?;
        let site = nearest_on_ray(ray, pieces, figure, &|site| thin(site as usize))?;
        (site_on_ray(ray, pieces, figure) == Some(site)).then_some(site)
    });
    found.or(right_there)
}

/// Middle of a site's patch in the world, and the direction it faces; `None` if it is not drawn now.
pub fn middle_of(site: usize, pieces: &Targets, figure: &Transform) -> Option<(Vec3, Vec3)> {
    pieces.iter().find_map(|(piece, loose, _)| {
        let (p, n) = piece.middle(site as u16)?;
        Some(if loose {
            (p, n)
        } else {
            (figure.transform_point(p), figure.rotation * n)
        })
    })
}

/// Where a site is on the screen: logical pixels from the top left of the scene's rectangle.
///
/// The middle of its patch if that can be seen, else another spot that can, else the middle all the same.
pub fn screen_position_of(
    site: usize,
    camera: &Camera,
    camera_place: &GlobalTransform,
    pieces: &Targets,
    figure: &Transform,
) -> Option<Vec2> {
    let mut first = None;
    for (piece, loose, _) in pieces {
        for (p, _) in piece.spots(site as u16) {
            let p = if loose { p } else { figure.transform_point(p) };
            let Ok(at) = camera.world_to_viewport(camera_place, p) else {
                continue;
            };
            first = first.or(Some(at));
            if site_at(at, camera, camera_place, pieces, figure) == Some(site) {
                return Some(at);
            }
        }
    }
    first
}

/// Follows the cursor: highlight, `Pointed`, `Picked`, and the start and end of a turning drag.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn follow(
    rect: Res<SceneRect>,
    windows: Query<&Window>,
    buttons: Res<ButtonInput<MouseButton>>,
    stage: Res<StageView>,
    pieces: Targets,
    changed: Query<(), Changed<Piece>>,
    figure: Single<Ref<Transform>, (With<Figure>, Without<SceneCamera>)>,
    camera: Single<(&Camera, Ref<GlobalTransform>), With<SceneCamera>>,
    mut drag: ResMut<Drag>,
    mut lit: ResMut<Lit>,
    mut pointed: MessageWriter<Pointed>,
    mut picked: MessageWriter<Picked>,
) {
    let (cam, place) = &*camera;
    let at = over_scene(&rect, &windows);
    let shown = cam.physical_viewport_rect();
    let fresh = at != drag.last
        || shown != drag.shown
        || place.is_changed()
        || figure.is_changed()
        || !changed.is_empty()
        || stage.is_changed();
    if fresh && !drag.turning {
        drag.last = at;
        drag.shown = shown;
        // The camera takes positions in the window and leaves its viewport's corner out itself.
        let hover = at.and_then(|p| site_meant(p, &stage.0, cam, place, &pieces, &figure));
        if hover != drag.hover {
            drag.hover = hover;
            pointed.write(Pointed(hover));
            lit.0 = hover;
        }
    }
    for button in [MouseButton::Left, MouseButton::Right, MouseButton::Middle] {
        if buttons.just_pressed(button)
            && let Some(p) = at
        {
            drag.from = Some((button, p, drag.hover));
            drag.turning = button != MouseButton::Left;
        }
    }
    if let Some((button, start, site)) = drag.from {
        let moved = at.is_some_and(|p| p.distance(start) > 5.0);
        let empty = site.is_none_or(|s| is_floor(&stage, s));
        if moved && empty {
            drag.turning = true;
        }
        if buttons.just_released(button) || !buttons.pressed(button) {
            if !moved
                && at.is_some()
                && let Some(site) = site
            {
                picked.write(Picked { site, button });
            }
            drag.from = None;
            drag.turning = false;
        }
    }
}

fn is_floor(stage: &StageView, site: usize) -> bool {
    stage
        .0
        .patches
        .get(site)
        .is_some_and(|p| p.surface == Surface::Room("floor".into()))
}
