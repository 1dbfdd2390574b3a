//! Names and arrows for the picture as it stands: found once it has come to rest, and gone as soon as it moves.

use bevy::ecs::system::RunSystemOnce;
use bevy::prelude::*;
use bevy::window::RequestRedraw;
use bevy_egui::egui;

use super::TheDesk;
use super::bridge::at_rest;
use crate::panels::Marks;
use crate::panels::marks::Arrow;
use crate::scene::labels::{Label, Spot, labels, spots};
use crate::scene::{SceneCamera, SceneRect};
use crate::view::trace::Flown;

/// Loaded patches that get a name in the window; a picture in a file has room for more.
const MOST_PATCHES: usize = 12;
/// Arrows shown at once: more could not be told apart.
const MOST_ARROWS: usize = 5;

pub(super) struct MarksPlugin;

impl Plugin for MarksPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Found>().add_systems(First, find);
    }
}

/// What was found, and for which picture.
#[derive(Resource, Default)]
struct Found {
    asked: Option<Asked>,
    /// Where the camera was in the frame before; marks are only looked for in a picture that stands still.
    before: Option<(GlobalTransform, Option<URect>)>,
    names: Vec<Label>,
    arrows: Vec<(Spot, Spot, u64)>,
}

/// All that marks depend on.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Asked {
    revision: u64,
    camera: GlobalTransform,
    rect: Option<URect>,
    names: bool,
}

/// Looks for marks if they are wanted and the picture has come to rest.
fn find(world: &mut World) {
    let desk = &world.resource::<TheDesk>().0;
    let (names, flows, revision) = (desk.named(), desk.traced(), desk.revision());
    let wanted = names || !flows.is_empty();
    let rest = at_rest(world);
    let here = asked(world, revision, names);
    let now = here.filter(|_| wanted && rest);
    if wanted && !rest {
        // It has to be looked at again, until it has come to rest.
        world.write_message(RequestRedraw);
    }
    let mut found = world.resource_mut::<Found>();
    let place = here.map(|here| (here.camera, here.rect));
    let still = found.before == place;
    found.before = place;
    if found.asked == now {
        return;
    }
    found.names.clear();
    found.arrows.clear();
    found.asked = None;
    if now.is_none() {
        return;
    }
    // Once more when it stands still; and what was found has to be drawn.
    world.write_message(RequestRedraw);
    if !still {
        return;
    }
    let names = if names {
        world
            .run_system_once_with(labels, MOST_PATCHES)
            .unwrap_or_default()
    } else {
        Vec::new()
    };
    let arrows = arrows(world, &flows);
    let mut found = world.resource_mut::<Found>();
    (found.asked, found.names, found.arrows) = (now, names, arrows);
}

fn asked(world: &mut World, revision: u64, names: bool) -> Option<Asked> {
    let mut cameras = world.query_filtered::<&GlobalTransform, With<SceneCamera>>();
    let camera = *cameras.single(world).ok()?;
    let rect = world.resource::<SceneRect>().physical;
    Some(Asked {
        revision,
        camera,
        rect,
        names,
    })
}

fn arrows(world: &mut World, flows: &[Flown]) -> Vec<(Spot, Spot, u64)> {
    // Some ends are out of the picture; each place that is looked for costs rays.
    let flows = &flows[..flows.len().min(2 * MOST_ARROWS)];
    let sites: Vec<usize> = flows.iter().flat_map(|f| [f.from, f.to]).collect();
    let places = world.run_system_once_with(spots, sites).unwrap_or_default();
    let all = flows.iter().zip(places.chunks_exact(2));
    all.filter_map(|(flow, ends)| Some((ends[0]?, ends[1]?, flow.count)))
        .take(MOST_ARROWS)
        .collect()
}

/// What was found, in points of the window.
pub(super) fn placed(world: &World) -> Marks {
    let found = world.resource::<Found>();
    let point = |at: Vec2| egui::pos2(at.x, at.y);
    Marks {
        names: found
            .names
            .iter()
            .map(|l| (l.text.clone(), point(l.at)))
            .collect(),
        arrows: found
            .arrows
            .iter()
            .map(|(from, to, count)| Arrow {
                from: (point(from.at), from.seen),
                to: (point(to.at), to.seen),
                count: *count,
            })
            .collect(),
    }
}
