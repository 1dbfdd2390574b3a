//! Finds where the scene has changed since the last frame. Knows nothing of how it is drawn.

use std::collections::{HashMap, HashSet};

use bevy::camera::primitives::Aabb;
use bevy::math::{Affine3A, Vec3A};
use bevy::prelude::*;

use super::stale::{AFTER_NEWS, Stale, joined, keeps};
use crate::scene::given::StageView;
use crate::scene::marks::SceneCamera;
use crate::scene::material::PlateMaterial;
use crate::scene::piece::Piece;
use crate::scene::wear::Shown;

type Drawn<'a> = (
    Entity,
    &'a Mesh3d,
    Option<&'a Piece>,
    Option<&'a Aabb>,
    Ref<'a, GlobalTransform>,
    Ref<'a, InheritedVisibility>,
);

type Eye<'a> = (
    Entity,
    Ref<'a, Camera>,
    &'a Msaa,
    Ref<'a, GlobalTransform>,
    Ref<'a, Projection>,
);

/// Below this, in metres and shares of a turn, nothing has moved: no more than rounding.
const STILL: f32 = 1e-5;

/// Nearer than this to the plane of the eye, in metres, a place on the screen means nothing; nothing nearer than twice
/// that is drawn.
const BEHIND: f32 = 0.05;

/// Notes what has come, gone, moved or been bent, and all if anything else has changed.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
pub(super) fn find(
    camera: Option<Single<Eye, With<SceneCamera>>>,
    stage: Res<StageView>,
    drawn: Query<Drawn>,
    mut gone: RemovedComponents<Mesh3d>,
    mut bent: MessageReader<AssetEvent<Mesh>>,
    mut painted: MessageReader<AssetEvent<Image>>,
    mut lit: MessageReader<AssetEvent<PlateMaterial>>,
    shown: Res<Shown>,
    mut known: Local<HashMap<Entity, Affine3A>>,
    mut stale: ResMut<Stale>,
) {
    let Some(camera) = camera else { return };
    let (entity, eye, samples, at, projection) = &*camera;
    stale.camera = keeps(eye, samples, &stage).then_some(*entity);
    let repainted = std::mem::take(&mut stale.repainted);
    if stale.camera.is_none() {
        stale.all();
        stale.places.clear();
        known.clear();
        bent.clear();
        painted.clear();
        lit.clear();
        gone.clear();
        return;
    }
    let bent: HashSet<AssetId<Mesh>> = bent
        .read()
        .filter_map(|event| match event {
            AssetEvent::Added { id } | AssetEvent::Modified { id } => Some(*id),
            _ => None,
        })
        .collect();
    let elsewhere = eye.is_changed() || at.is_changed() || projection.is_changed();
    if elsewhere {
        stale.places.clear();
    }
    // What the picture of the sites has changed in is known, if anything is.
    let sites = shown.sites();
    let told = |id: AssetId<Image>| id == sites && !repainted.is_empty();
    let painted = painted.read().filter(|event| !told(image(event)));
    let others = [painted.count(), lit.read().count()];
    let mut all = elsewhere || others.iter().any(|n| *n > 0);
    for entity in gone.read() {
        stale.places.remove(&entity);
        all = true;
    }
    let field = eye.physical_viewport_rect().unwrap_or_default();
    let to_clip = eye.clip_from_view() * Mat4::from(at.affine().inverse());
    for (entity, mesh, piece, bounds, place, seen) in &drawn {
        let before = stale.places.get(&entity).copied().filter(|_| !seen.is_changed());
        // What stands still on something that moves has been worked out anew all the same.
        let now = place.affine();
        let moved = || known.get(&entity).is_none_or(|was| !was.abs_diff_eq(now, STILL));
        if before.is_some() && !(place.is_changed() && moved() || bent.contains(&mesh.id())) {
            continue;
        }
        known.insert(entity, now);
        let to_clip = to_clip * place.to_matrix();
        let here = match (piece, bounds) {
            (Some(piece), _) => covered(piece.posed.iter().copied(), &to_clip, field),
            (None, Some(bounds)) => covered(corners(bounds), &to_clip, field),
            (None, None) => field,
        };
        stale.places.insert(entity, here);
        match before {
            Some(before) => stale.scene = joined(joined(stale.scene, before), here),
            None => all = true,
        }
    }
    if !repainted.is_empty() {
        // The renderer may have it a frame late; meanwhile other sites may follow.
        if stale.times == 0 {
            stale.again = None;
        }
        for (_, _, piece, _, place, _) in &drawn {
            let Some(piece) = piece else { continue };
            let to_clip = to_clip * place.to_matrix();
            let here = covered(piece.showing(&repainted), &to_clip, field);
            stale.again = joined(stale.again, here);
        }
        stale.times = AFTER_NEWS;
    }
    if all {
        stale.all();
    }
}

fn image(event: &AssetEvent<Image>) -> AssetId<Image> {
    match event {
        AssetEvent::Added { id }
        | AssetEvent::Modified { id }
        | AssetEvent::Removed { id }
        | AssetEvent::Unused { id }
        | AssetEvent::LoadedWithDependencies { id } => *id,
    }
}

fn corners(bounds: &Aabb) -> impl Iterator<Item = Vec3> {
    let (middle, half) = (bounds.center, bounds.half_extents);
    (0..8).map(move |n| {
        let way = |bit: u32| if n & bit == 0 { -1.0 } else { 1.0 };
        Vec3::from(middle + half * Vec3A::new(way(1), way(2), way(4)))
    })
}

/// The pixels of a field that points cover, with one more all round; the whole field if any is beside or behind the
/// eye.
fn covered(points: impl Iterator<Item = Vec3>, to_clip: &Mat4, field: URect) -> URect {
    let mut seen = Rect::EMPTY;
    for p in points {
        let at = *to_clip * p.extend(1.0);
        if at.w < BEHIND {
            return field;
        }
        seen = seen.union_point(Vec2::new(at.x, -at.y) / at.w);
    }
    if !seen.min.is_finite() {
        return URect::default();
    }
    let size = field.size().as_vec2();
    let pixel = |p: Vec2| field.min.as_vec2() + (p.clamp(Vec2::splat(-1.0), Vec2::ONE) + 1.0) * 0.5 * size;
    let min = (pixel(seen.min).floor() - 1.0).max(Vec2::ZERO).as_uvec2();
    let max = (pixel(seen.max).ceil() + 1.0).as_uvec2();
    URect::from_corners(min, max).intersect(field)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIELD: URect = URect {
        min: UVec2::new(100, 0),
        max: UVec2::new(300, 100),
    };

    #[test]
    fn points_cover_their_pixels_and_one_more_all_round() {
        // A middle and a point half way to the upper right, seen straight on.
        let points = [Vec3::ZERO, Vec3::new(0.5, 0.5, 0.0)];
        let got = covered(points.into_iter(), &Mat4::IDENTITY, FIELD);
        assert_eq!(got, URect::new(199, 24, 251, 51));
    }

    #[test]
    fn what_is_out_of_the_field_covers_at_most_its_edge() {
        let got = covered([Vec3::new(7.0, 0.0, 0.0)].into_iter(), &Mat4::IDENTITY, FIELD);
        assert!(got.width() <= 1, "{got:?}");
    }

    #[test]
    fn what_is_behind_the_eye_covers_all() {
        let eye = Mat4::perspective_infinite_reverse_rh(0.5, 2.0, 0.1);
        assert_eq!(covered([Vec3::Z].into_iter(), &eye, FIELD), FIELD);
    }
}
