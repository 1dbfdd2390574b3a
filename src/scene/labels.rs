//! Callouts: what deserves a name in a picture, where it is seen, and where its name stands. Plain data for whoever
//! draws it; knows no type and no colours.

use bevy::ecs::system::SystemParam;
use bevy::prelude::*;

use super::camera::SceneCamera;
use super::point::{Targets, site_at};
use super::{Figure, StageView};
use crate::view::stage::{Stage, StageItemState, Surface};
use crate::view::words;

/// One thing to be named.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The site its line ends on, an index into `Stage::patches`.
    pub site: usize,
    /// What it says.
    pub text: String,
    /// Where its line ends: logical pixels from the top left of the scene's rectangle.
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
/// A system without input; run it once after a stage or a view has settled, since it casts many rays.
pub fn labels(seen: Seen) -> Vec<Label> {
    let stage = &seen.stage.0;
    let mut out = Vec::new();
    if stage.lamp {
        let mut loaded: Vec<usize> = (0..stage.patches.len())
            .filter(|i| stage.patches[*i].count >= stage.seen_from.max(1))
            .collect();
        loaded.sort_by_key(|i| (std::cmp::Reverse(stage.patches[*i].count), *i));
        out.extend(loaded.into_iter().filter_map(|site| {
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

/// Where the corners of everything that moves with the person are on the screen: logical pixels from the top left of
/// the scene's rectangle.
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
        let field = camera.logical_viewport_size().unwrap_or_default();
        let mut out = Vec::new();
        for &site in sites {
            for (piece, loose, _) in &self.pieces {
                for (p, _) in piece.spots(site as u16) {
                    let p = if loose { p } else { self.figure.transform_point(p) };
                    let Ok(at) = camera.world_to_viewport(place, p) else {
                        continue;
                    };
                    let inside = at.min_element() >= 0.0 && at.x <= field.x && at.y <= field.y;
                    if inside && site_at(at, camera, place, &self.pieces, &self.figure) == Some(site) {
                        out.push((site, at));
                    }
                }
            }
        }
        out
    }
}

/// A name to be placed: where its line ends, and the room its words take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Where the line ends, pixels.
    pub at: Vec2,
    /// Width and height of the words with their margins, pixels.
    pub size: Vec2,
}

/// A name in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Callout {
    /// Which of the wanted ones it is.
    pub which: usize,
    /// Where its words stand.
    pub slab: Rect,
    /// Where its line begins, at the slab's inner edge.
    pub from: Vec2,
    /// Where its line ends.
    pub to: Vec2,
}

/// Places names in two columns at the sides of a field, none over another. Lines of one column that cross are swapped
/// where that helps; in a crowd of names of unlike height some crossings remain.
///
/// `wanted` begins with the most important. Where not all fit, the last are left out. `gap` is the least distance
/// between two names, in pixels. The same input gives the same places.
pub fn lay_out(wanted: &[Wanted], field: Rect, gap: f32) -> Vec<Callout> {
    for many in (1..=wanted.len()).rev() {
        // The leftmost half of the lines' ends goes to the left.
        let mut order: Vec<usize> = (0..many).collect();
        order.sort_by(|a, b| wanted[*a].at.x.total_cmp(&wanted[*b].at.x).then(a.cmp(b)));
        let (left, right) = order.split_at(many / 2);
        let columns = (
            column(wanted, left, field, gap, true),
            column(wanted, right, field, gap, false),
        );
        if let (Some(mut all), Some(more)) = columns {
            all.extend(more);
            return all;
        }
    }
    Vec::new()
}

fn column(wanted: &[Wanted], which: &[usize], field: Rect, gap: f32, left: bool) -> Option<Vec<Callout>> {
    let tall: f32 = which.iter().map(|i| wanted[*i].size.y + gap).sum::<f32>() - gap;
    if tall > field.height() {
        return None;
    }
    let mut order = which.to_vec();
    order.sort_by(|a, b| wanted[*a].at.y.total_cmp(&wanted[*b].at.y).then(a.cmp(b)));
    let mut placed = stack(wanted, &order, field, gap, left);
    // Among names of one height each swap of two crossing lines makes the lines shorter, so this ends; the bound is for
    // names of unlike height.
    for _ in 0..which.len() * which.len() {
        let crossing = (0..placed.len())
            .flat_map(|a| (a + 1..placed.len()).map(move |b| (a, b)))
            .find(|&(a, b)| cross(&placed[a], &placed[b]));
        let Some((a, b)) = crossing else { break };
        order.swap(a, b);
        placed = stack(wanted, &order, field, gap, left);
    }
    Some(placed)
}

/// Names of one column from top to bottom, each as near as can be to the height of its line's end: the places with the
/// least sum of squared shifts (pooling neighbours that would overlap).
fn stack(wanted: &[Wanted], order: &[usize], field: Rect, gap: f32, left: bool) -> Vec<Callout> {
    let mut pools: Vec<(f32, usize)> = Vec::new();
    let mut above = 0.0;
    for i in order {
        let size = wanted[*i].size;
        pools.push((wanted[*i].at.y - size.y * 0.5 - above, 1));
        above += size.y + gap;
        while let [.., a, b] = pools[..]
            && a.0 > b.0
        {
            pools.truncate(pools.len() - 2);
            let many = a.1 + b.1;
            pools.push(((a.0 * a.1 as f32 + b.0 * b.1 as f32) / many as f32, many));
        }
    }
    let lowest = (field.max.y - (above - gap)).max(field.min.y);
    let tops = pools.iter().flat_map(|p| std::iter::repeat_n(p.0, p.1));
    let mut above = 0.0;
    order
        .iter()
        .zip(tops)
        .map(|(&which, top)| {
            let Wanted { at, size } = wanted[which];
            let y = top.clamp(field.min.y, lowest) + above;
            above += size.y + gap;
            let x = if left { field.min.x } else { field.max.x - size.x };
            let slab = Rect::from_corners(Vec2::new(x, y), Vec2::new(x, y) + size);
            let edge = if left { slab.max.x } else { slab.min.x };
            Callout {
                which,
                slab,
                from: Vec2::new(edge, y + size.y * 0.5),
                to: at,
            }
        })
        .collect()
}

fn cross(a: &Callout, b: &Callout) -> bool {
    let side = |p: Vec2, q: Vec2, r: Vec2| (q - p).perp_dot(r - p);
    side(a.from, a.to, b.from) * side(a.from, a.to, b.to) < 0.0
        && side(b.from, b.to, a.from) * side(b.from, b.to, a.to) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn field() -> Rect {
        Rect::new(10.0, 10.0, 1000.0, 700.0)
    }

    fn any_wanted() -> impl Strategy<Value = Vec<Wanted>> {
        let one =
            (0.0f32..1000.0, 0.0f32..700.0, 40.0f32..300.0, 18.0f32..50.0).prop_map(|(x, y, w, h)| Wanted {
                at: Vec2::new(x, y),
                size: Vec2::new(w, h),
            });
        prop::collection::vec(one, 0..50)
    }

    proptest! {
        #[test]
        fn no_two_names_overlap_and_all_stay_in_the_field(wanted in any_wanted()) {
            let placed = lay_out(&wanted, field(), 4.0);
            prop_assert!(wanted.is_empty() || !placed.is_empty(), "nothing was placed");
            for (i, a) in placed.iter().enumerate() {
                prop_assert!(a.slab.min.cmpge(field().min - 0.01).all(), "{a:?} leaves the field");
                prop_assert!(a.slab.max.cmple(field().max + 0.01).all(), "{a:?} leaves the field");
                for b in &placed[i + 1..] {
                    let over = a.slab.intersect(b.slab);
                    prop_assert!(over.width() <= 0.01 || over.height() <= 0.01, "{a:?} lies over {b:?}");
                }
            }
            prop_assert_eq!(&placed, &lay_out(&wanted, field(), 4.0), "the same input gave other places");
        }

        #[test]
        fn what_is_left_out_is_the_least_important(wanted in any_wanted()) {
            let mut which: Vec<usize> = lay_out(&wanted, field(), 4.0).iter().map(|c| c.which).collect();
            which.sort_unstable();
            let many = which.len();
            prop_assert_eq!(which, (0..many).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_name_alone_stands_level_with_what_it_names() {
        let wanted = [Wanted {
            at: Vec2::new(300.0, 200.0),
            size: Vec2::new(100.0, 20.0),
        }];
        let placed = lay_out(&wanted, field(), 4.0);
        assert_eq!(placed[0].from.y, 200.0);
    }
}
