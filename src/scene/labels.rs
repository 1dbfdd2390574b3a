//! What deserves a name in a picture, and where on it places are seen. Plain data for whoever draws it; knows no type
//! and no colours.

use bevy::ecs::system::SystemParam;
use bevy::prelude::*;

use super::given::StageView;
use super::marks::{Figure, SceneCamera};
use super::point::{Targets, middle_of, site_at};
use crate::view::stage::{Stage, StageItemState, Surface};
use crate::view::words;

/// One thing to be named.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The site its line ends on, an index into `Stage::patches`.
    pub site: usize,
    /// What it says.
    pub text: String,
    /// Where its line ends: logical pixels of the window or picture.
    pub at: Vec2,
}

/// What is read from the world to find labels.
#[derive(SystemParam)]
pub struct Seen<'w, 's> {
    stage: Res<'w, StageView>,
    pieces: Targets<'w, 's>,
    figure: Single<'w, 's, &'static Transform, (With<Figure>, Without<SceneCamera>)>,
    camera: Single<'w, 's, (&'static Camera, &'static GlobalTransform), With<SceneCamera>>,
}

/// What deserves a name in the picture as it is, the most important first: with the lamp on the patches that can be
/// seen to carry something, most first; then items worn, dangling or held of which nothing is named yet.
///
/// `most` is how many loaded patches are looked at. Run it once after a stage or a view has settled, since it casts many
/// rays.
pub fn labels(In(most): In<usize>, seen: Seen) -> Vec<Label> {
    let stage = &seen.stage.0;
    let mut out = Vec::new();
    if stage.lamp {
        let mut loaded: Vec<usize> = (0..stage.patches.len())
            .filter(|i| stage.patches[*i].count >= stage.seen_from.max(1))
            .collect();
        loaded.sort_by_key(|i| (std::cmp::Reverse(stage.patches[*i].count), *i));
        out.extend(loaded.into_iter().take(most).filter_map(|site| {
            let patch = &stage.patches[site];
            Some(Label {
                site,
                text: format!("{}: {}", patch.label, words::count(patch.count)),
                at: middle(&seen.spots(&[site]))?.1,
            })
        }));
    }
    for item in &stage.items {
        let here = matches!(
            item.state,
            StageItemState::Worn | StageItemState::Dangling | StageItemState::Held(_)
        );
        let sites = sites_of(stage, &item.id);
        if !here || out.iter().any(|l| sites.contains(&l.site)) {
            continue;
        }
        if let Some((site, at)) = middle(&seen.spots(&sites)) {
            out.push(Label {
                site,
                text: name_of(&stage.patches[site].label),
                at,
            });
        }
    }
    out
}

/// Where a site is on the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Logical pixels of the window or picture.
    pub at: Vec2,
    /// False if something is in front of it.
    pub seen: bool,
}

/// Where sites are on the screen as it is; none for those that are not drawn or out of the picture.
pub fn spots(In(sites): In<Vec<usize>>, seen: Seen) -> Vec<Option<Spot>> {
    let (camera, place) = *seen.camera;
    let spot = |site: usize| {
        if let Some((_, at)) = middle(&seen.spots(&[site])) {
            return Some(Spot { at, seen: true });
        }
        let (p, _) = middle_of(site, &seen.pieces, &seen.figure)?;
        let at = camera.world_to_viewport(place, p).ok()?;
        camera
            .logical_viewport_rect()?
            .contains(at)
            .then_some(Spot { at, seen: false })
    };
    sites.into_iter().map(spot).collect()
}

/// Where the corners of everything that moves with the person are on the screen: logical pixels of the window or
/// picture.
pub fn corners_of_figure(seen: Seen) -> Vec<Vec2> {
    let (camera, place) = *seen.camera;
    let on = seen.pieces.iter().filter(|(_, loose, _)| !loose);
    on.flat_map(|(piece, ..)| &piece.posed)
        .filter_map(|p| {
            camera
                .world_to_viewport(place, seen.figure.transform_point(*p))
                .ok()
        })
        .collect()
}

/// A patch's label begins with its item's name.
fn name_of(label: &str) -> String {
    label.split(',').next().unwrap_or(label).to_owned()
}

fn sites_of(stage: &Stage, id: &str) -> Vec<usize> {
    let of = |s: &Surface| matches!(s, Surface::Part { item, .. } if item == id);
    (0..stage.patches.len())
        .filter(|i| of(&stage.patches[*i].surface))
        .collect()
}

/// The spot nearest the middle of all.
fn middle(spots: &[(usize, Vec2)]) -> Option<(usize, Vec2)> {
    let mean = spots.iter().map(|s| s.1).sum::<Vec2>() / spots.len().max(1) as f32;
    spots
        .iter()
        .copied()
        .min_by(|a, b| a.1.distance_squared(mean).total_cmp(&b.1.distance_squared(mean)))
}

impl Seen<'_, '_> {
    /// Spots of some sites that nothing covers, on the screen.
    fn spots(&self, sites: &[usize]) -> Vec<(usize, Vec2)> {
        let (camera, place) = *self.camera;
        let field = camera.logical_viewport_rect().unwrap_or_default();
        let mut out = Vec::new();
        for &site in sites {
            for (piece, loose, _) in &self.pieces {
                for (p, _) in piece.spots(site as u16) {
                    let p = if loose { p } else { self.figure.transform_point(p) };
                    let Ok(at) = camera.world_to_viewport(place, p) else {
                        continue;
                    };
                    if field.contains(at)
                        && site_at(at, camera, place, &self.pieces, &self.figure) == Some(site)
                    {
                        out.push((site, at));
                    }
                }
            }
        }
        out
    }
}
