//! Makes the renderer draw a part of the scene into the picture of the frame before. Knows nothing of why.

use std::collections::HashMap;

use bevy::camera::{CameraOutputMode, ClearColorConfig, Viewport};
use bevy::prelude::*;
use bevy::render::camera::ExtractedCamera;
use bevy::render::render_resource::TextureId;
use bevy::render::sync_world::RenderEntity;
use bevy::render::view::{
    ExtractedView, RenderExtractedVisibleEntities, ViewTarget, collect_visible_cpu_culled_entities,
    prepare_view_targets,
};
use bevy::render::{ExtractSchedule, MainWorld, Render, RenderApp, RenderSystems};

use super::stale::{Stale, joined};

/// The rectangles of the target that are drawn this frame, in the render world.
///
/// Whoever draws over the scene in the same picture keeps to them: what lies outside is there already, and what lets
/// something shine through would be laid over itself.
#[derive(Resource, Clone, Debug, Default, PartialEq, Eq)]
pub enum Cut {
    /// Everything is drawn, as ever.
    #[default]
    Whole,
    /// Only these; none overlaps another.
    Parts(Vec<URect>),
}

/// Once it is known what is drawn: after this [`Cut`] holds for the frame.
#[derive(SystemSet, Clone, Debug, Hash, PartialEq, Eq)]
pub struct CutSet;

/// What has yet to be drawn, and how the picture was last drawn.
#[derive(Resource, Default)]
struct Due {
    /// The scene's camera, if its picture is kept from frame to frame.
    camera: Option<Entity>,
    whole: bool,
    scene: Option<URect>,
    also: Option<URect>,
    places: HashMap<Entity, URect>,
    /// What the camera had before it was narrowed: viewport, the same as numbers, and the projection.
    uncropped: Option<(Option<Viewport>, UVec4, Mat4)>,
    /// The texture that holds the picture.
    picture: Option<TextureId>,
    /// True if the picture drawn this frame is one that is kept.
    kept: bool,
}

pub(super) fn build(app: &mut App) {
    let Some(render) = app.get_sub_app_mut(RenderApp) else {
        return;
    };
    render
        .init_resource::<Due>()
        .init_resource::<Cut>()
        .add_systems(ExtractSchedule, take)
        .add_systems(
            Render,
            (
                crop.in_set(RenderSystems::PrepareAssets)
                    .before(collect_visible_cpu_culled_entities),
                check
                    .in_set(RenderSystems::PrepareViews)
                    .after(prepare_view_targets)
                    .in_set(CutSet),
            ),
        );
}

/// Takes over what has changed since the last frame.
fn take(mut world: ResMut<MainWorld>, mut due: ResMut<Due>) {
    let mut stale = world.resource_mut::<Stale>();
    due.places.clone_from(&stale.places);
    due.whole |= stale.whole > 0;
    due.scene = stale.scene.take().map_or(due.scene, |r| joined(due.scene, r));
    if stale.times > 0 {
        stale.times -= 1;
        due.scene = stale.again.map_or(due.scene, |r| joined(due.scene, r));
    }
    due.also = stale.also.take().map_or(due.also, |r| joined(due.also, r));
    stale.whole = stale.whole.saturating_sub(1);
    let camera = stale.camera;
    due.camera = camera.and_then(|camera| Some(world.get::<RenderEntity>(camera)?.id()));
}

/// Narrows the scene's camera to what has changed, and leaves out what is nowhere near.
fn crop(
    mut due: ResMut<Due>,
    mut cut: ResMut<Cut>,
    mut cameras: Query<(
        &mut ExtractedCamera,
        &mut ExtractedView,
        &mut RenderExtractedVisibleEntities,
    )>,
) {
    *cut = Cut::Whole;
    due.kept = false;
    let kept = due.camera.and_then(|entity| cameras.get_mut(entity).ok());
    // A camera that puts its picture on its target itself would put only the part there.
    let kept = kept.filter(|(camera, ..)| matches!(camera.output_mode, CameraOutputMode::Skip));
    let Some((mut camera, mut view, mut visible)) = kept else {
        // Whatever is drawn meanwhile, the picture is no longer the scene's.
        due.whole = true;
        return;
    };
    let (scene, also) = (due.scene.take(), due.also.take());
    due.kept = true;
    if std::mem::take(&mut due.whole) {
        return;
    }
    // The renderer must not wipe what is there.
    camera.clear_color = ClearColorConfig::None;
    let [x, y, width, height] = view.viewport.to_array();
    let field = URect::new(x, y, x + width, y + height);
    let (part, parts) = parts(field, scene, also);
    due.uncropped = Some((camera.viewport.clone(), view.viewport, view.clip_from_view));
    view.clip_from_view = narrowed(field, part) * view.clip_from_view;
    view.viewport = UVec4::from((part.min, part.size()));
    camera.viewport = Some(Viewport {
        physical_position: part.min,
        physical_size: part.size(),
        ..default()
    });
    for class in visible.classes.values_mut() {
        let near = |entity: &Entity| {
            let place = due.places.get(entity);
            place.is_none_or(|place| !place.intersect(part).is_empty())
        };
        class.entities.retain(|(_, entity)| near(&entity.id()));
    }
    *cut = Cut::Parts(parts);
}

/// Makes sure that the picture to be drawn into is the one drawn into before.
fn check(
    mut due: ResMut<Due>,
    mut cut: ResMut<Cut>,
    mut cameras: Query<(&mut ExtractedCamera, &mut ExtractedView, &ViewTarget)>,
) {
    let uncropped = due.uncropped.take();
    if !due.kept {
        return;
    }
    let kept = due.camera.and_then(|entity| cameras.get_mut(entity).ok());
    let Some((mut camera, mut view, target)) = kept else {
        // Nothing is drawn.
        due.whole = true;
        return;
    };
    let picture = target.main_texture().id();
    let known = due.picture.replace(picture) == Some(picture);
    if let Some((viewport, pixels, lens)) = uncropped
        && !known
    {
        // What has been left out is drawn with the next frame.
        (camera.viewport, view.viewport, view.clip_from_view) = (viewport, pixels, lens);
        due.whole = true;
        *cut = Cut::Whole;
    }
}

/// What is drawn of the scene, and all that is drawn, if the scene has changed in one place and what lies over and
/// beside it in another.
fn parts(field: URect, scene: Option<URect>, also: Option<URect>) -> (URect, Vec<URect>) {
    // The renderer cannot draw nothing, so it draws at least one pixel.
    let pixel = URect::from_corners(field.min, field.min + 1);
    let within = [scene, also].map(|r| r.map_or(URect::default(), |r| r.intersect(field)));
    let part = within.into_iter().fold(None, joined).unwrap_or(pixel);
    match also.filter(|r| !r.is_empty()) {
        Some(also) if !also.intersect(part).is_empty() => {
            let both = also.union(part);
            (both.intersect(field), vec![both])
        }
        also => (part, [part].into_iter().chain(also).collect()),
    }
}

/// Turns the view of a field into that of a part of it.
fn narrowed(field: URect, part: URect) -> Mat4 {
    let (size, of) = (field.size().as_vec2(), part.size().as_vec2());
    let grown = size / of;
    // Middle of the part as the renderer counts: from -1 to 1, upwards.
    let middle = (part.min + part.max).as_vec2() * 0.5 - field.min.as_vec2();
    let middle = (middle / size * 2.0 - 1.0) * Vec2::new(1.0, -1.0);
    Mat4::from_scale(grown.extend(1.0)) * Mat4::from_translation(-middle.extend(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIELD: URect = URect {
        min: UVec2::new(200, 0),
        max: UVec2::new(1000, 600),
    };

    fn rect(x: u32, y: u32, to_x: u32, to_y: u32) -> URect {
        URect::new(x, y, to_x, to_y)
    }

    #[test]
    fn what_changes_over_the_scene_is_drawn_with_the_scene_beneath() {
        let over = rect(900, 500, 1100, 700);
        let (part, all) = parts(FIELD, Some(rect(400, 100, 500, 400)), Some(over));
        assert_eq!(part, rect(400, 100, 1000, 600));
        assert_eq!(all, [rect(400, 100, 1100, 700)]);
    }

    #[test]
    fn what_changes_beside_the_scene_leaves_it_alone() {
        let beside = rect(0, 0, 100, 50);
        let (part, all) = parts(FIELD, None, Some(beside));
        assert_eq!(part.size(), UVec2::ONE, "as little as can be");
        assert_eq!(all, [part, beside]);
    }

    #[test]
    fn parts_never_overlap_and_hold_all_that_has_changed() {
        let some = [
            None,
            Some(rect(0, 0, 150, 90)),
            Some(rect(100, 50, 300, 80)),
            Some(rect(400, 100, 500, 400)),
            Some(rect(450, 300, 1200, 650)),
            Some(rect(1100, 0, 1200, 20)),
        ];
        for scene in some {
            for also in some {
                let (part, all) = parts(FIELD, scene, also);
                let inside = |r: URect| all.iter().any(|a| a.intersect(r) == r);
                assert!(!part.is_empty() && part.intersect(FIELD) == part, "{part:?}");
                assert!(inside(part), "{scene:?} {also:?}: {part:?} {all:?}");
                assert!(scene.is_none_or(|r| r.intersect(FIELD).is_empty() || inside(r.intersect(FIELD))));
                assert!(also.is_none_or(inside), "{scene:?} {also:?}: {all:?}");
                for (n, a) in all.iter().enumerate() {
                    assert!(all[..n].iter().all(|b| a.intersect(*b).is_empty()), "{all:?}");
                    // The scene is drawn wherever anything over it is.
                    assert!(a.intersect(FIELD).is_empty() || a.intersect(FIELD) == part);
                }
            }
        }
    }

    #[test]
    fn a_narrowed_view_shows_the_same_at_the_same_pixel() {
        let part = rect(300, 120, 420, 500);
        let pixel = |clip: Vec4, of: URect| {
            let ndc = Vec2::new(clip.x, -clip.y) / clip.w;
            of.min.as_vec2() + (ndc + 1.0) * 0.5 * of.size().as_vec2()
        };
        for clip in [Vec4::new(0.1, -0.7, 0.3, 1.0), Vec4::new(-2.0, 1.0, 0.1, 3.5)] {
            let (whole, cropped) = (pixel(clip, FIELD), pixel(narrowed(FIELD, part) * clip, part));
            assert!(whole.distance(cropped) < 1e-3, "{whole} and {cropped}");
        }
    }
}
