//! Panels in a picture that is kept from frame to frame: finds where they have changed, and draws them nowhere else
//! than where the picture is drawn anew.

use std::ops::Range;

use bevy::prelude::*;
use bevy::render::{Render, RenderApp, RenderSystems};
use bevy_egui::egui::epaint::{Mesh, Primitive};
use bevy_egui::egui::{ClippedPrimitive, Rect as Area};
use bevy_egui::{EguiOutput, EguiPixelsPerPoint, EguiPostUpdateSet, EguiRenderOutput, PrimaryEguiContext};

use crate::scene::redraw::{Cut, CutSet, Stale};

pub(super) struct OverPlugin;

impl Plugin for OverPlugin {
    fn build(&self, app: &mut App) {
        app.add_systems(
            PostUpdate,
            note.after(EguiPostUpdateSet::ProcessOutput)
                .before(EguiPostUpdateSet::PostProcessOutput),
        );
        if let Some(render) = app.get_sub_app_mut(RenderApp) {
            render.add_systems(Render, clip.after(CutSet).in_set(RenderSystems::PrepareViews));
        }
    }
}

/// Notes where the panels differ from those of the frame before.
fn note(
    panels: Single<(&EguiRenderOutput, &EguiOutput), With<PrimaryEguiContext>>,
    mut before: Local<Vec<ClippedPrimitive>>,
    mut stale: ResMut<Stale>,
) {
    let (now, output) = *panels;
    if !now.textures_delta.is_empty() {
        stale.all();
    }
    match changed(&before, &now.paint_jobs) {
        Changed::Nowhere => return,
        Changed::Within(area) => stale.also(pixels(area, output.pixels_per_point)),
        Changed::Everywhere => stale.all(),
    }
    before.clone_from(&now.paint_jobs);
}

/// How one picture of the panels differs from another.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Changed {
    Nowhere,
    /// In this area, points of the window.
    Within(Area),
    Everywhere,
}

fn changed(before: &[ClippedPrimitive], now: &[ClippedPrimitive]) -> Changed {
    if before.len() != now.len() {
        return Changed::Everywhere;
    }
    let mut all = Area::NOTHING;
    for (a, b) in before.iter().zip(now) {
        let (Primitive::Mesh(old), Primitive::Mesh(new)) = (&a.primitive, &b.primitive) else {
            return Changed::Everywhere;
        };
        if old.texture_id != new.texture_id {
            return Changed::Everywhere;
        }
        if a.clip_rect != b.clip_rect {
            all |= a.clip_rect.intersect(old.calc_bounds()) | b.clip_rect.intersect(new.calc_bounds());
        } else if old != new {
            all |= a.clip_rect.intersect(between(old, new));
        }
    }
    if all.is_positive() {
        Changed::Within(all)
    } else {
        Changed::Nowhere
    }
}

/// What covers all triangles by which two meshes differ.
///
/// Shapes follow one another, so what is the same before and after a change need not be looked at.
fn between(old: &Mesh, new: &Mesh) -> Area {
    let (a, b) = (&old.vertices, &new.vertices);
    let head = a.iter().zip(b).take_while(|(a, b)| a == b).count();
    let most = a.len().min(b.len()) - head;
    let tail = a.iter().rev().zip(b.iter().rev());
    let tail = tail.take(most).take_while(|(a, b)| a == b).count();
    if head == a.len() && head == b.len() {
        // Corners alike, triangles not.
        return old.calc_bounds();
    }
    touching(old, head..a.len() - tail) | touching(new, head..b.len() - tail)
}

/// What covers the triangles that have one of these corners.
fn touching(mesh: &Mesh, corners: Range<usize>) -> Area {
    let mut all = Area::NOTHING;
    for triangle in mesh.indices.chunks_exact(3) {
        if triangle.iter().any(|i| corners.contains(&(*i as usize))) {
            for i in triangle {
                all.extend_with(mesh.vertices[*i as usize].pos);
            }
        }
    }
    all
}

/// The pixels that an area reaches into, and one more all round.
fn pixels(area: Area, scale: f32) -> URect {
    let low = |v: f32| ((v * scale).floor() - 1.0).max(0.0) as u32;
    let high = |v: f32| ((v * scale).ceil() + 1.0).max(0.0) as u32;
    URect::new(
        low(area.min.x),
        low(area.min.y),
        high(area.max.x),
        high(area.max.y),
    )
}

/// Leaves of the panels what is drawn this frame.
fn clip(cut: Res<Cut>, mut panels: Query<(&mut EguiRenderOutput, &EguiPixelsPerPoint)>) {
    let Cut::Parts(parts) = &*cut else { return };
    for (mut output, scale) in &mut panels {
        let scale = scale.pixels_per_point;
        let parts = parts.iter().map(|part| {
            let corner = |p: UVec2| (p.as_vec2() / scale).to_array().into();
            Area::from_min_max(corner(part.min), corner(part.max))
        });
        let parts: Vec<Area> = parts.collect();
        let all = std::mem::take(&mut output.paint_jobs);
        for job in all {
            let bounds = match &job.primitive {
                Primitive::Mesh(mesh) => mesh.calc_bounds(),
                Primitive::Callback(callback) => callback.rect,
            };
            let of = |part: &Area| {
                let within = job.clip_rect.intersect(*part);
                (within.is_positive() && within.intersects(bounds)).then_some(within)
            };
            for clip_rect in parts.iter().filter_map(of) {
                output.paint_jobs.push(ClippedPrimitive {
                    clip_rect,
                    primitive: job.primitive.clone(),
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use bevy_egui::egui::{Color32, Pos2, pos2};

    use super::*;

    /// Squares with an edge of 10 points, in a mesh of their own that shows all of them.
    fn squares(at: &[Pos2], colour: Color32) -> ClippedPrimitive {
        let mut mesh = Mesh::default();
        for p in at {
            mesh.add_colored_rect(Area::from_min_max(*p, *p + [10.0, 10.0].into()), colour);
        }
        ClippedPrimitive {
            clip_rect: Area::EVERYTHING,
            primitive: Primitive::Mesh(mesh),
        }
    }

    #[test]
    fn what_is_the_same_has_changed_nowhere() {
        let one = [squares(&[pos2(0.0, 0.0), pos2(50.0, 0.0)], Color32::RED)];
        assert_eq!(changed(&one, &one.clone()), Changed::Nowhere);
    }

    #[test]
    fn a_shape_that_moves_has_changed_where_it_was_and_where_it_is() {
        let of = |y| {
            [squares(
                &[pos2(0.0, 0.0), pos2(50.0, y), pos2(90.0, 90.0)],
                Color32::RED,
            )]
        };
        let wanted = Area::from_min_max(pos2(50.0, 20.0), pos2(60.0, 50.0));
        assert_eq!(changed(&of(20.0), &of(40.0)), Changed::Within(wanted));
    }

    #[test]
    fn a_shape_that_comes_has_changed_where_it_is() {
        let before = [squares(&[pos2(0.0, 0.0), pos2(90.0, 90.0)], Color32::RED)];
        let after = [squares(
            &[pos2(0.0, 0.0), pos2(30.0, 30.0), pos2(90.0, 90.0)],
            Color32::RED,
        )];
        let wanted = Area::from_min_max(pos2(30.0, 30.0), pos2(40.0, 40.0));
        for (a, b) in [(&before, &after), (&after, &before)] {
            assert_eq!(changed(a, b), Changed::Within(wanted));
        }
    }

    #[test]
    fn a_colour_that_changes_has_changed_the_shape() {
        let of = |colour| [squares(&[pos2(5.0, 5.0)], colour)];
        let wanted = Area::from_min_max(pos2(5.0, 5.0), pos2(15.0, 15.0));
        assert_eq!(
            changed(&of(Color32::RED), &of(Color32::BLUE)),
            Changed::Within(wanted)
        );
    }

    #[test]
    fn more_or_fewer_meshes_change_everything() {
        let one = squares(&[pos2(5.0, 5.0)], Color32::RED);
        assert_eq!(changed(&[], std::slice::from_ref(&one)), Changed::Everywhere);
    }
}
