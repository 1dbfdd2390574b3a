//! The drawn scene: a person in the kit, the room, the lamp, the camera, and pointing at places.
//!
//! It reads a [`StageView`] and answers with messages; it never asks the drill anything. Add [`ScenePlugin`] to an
//! app with a renderer, write the stage, and read [`Pointed`], [`Picked`] and [`Performed`].

mod apart;
mod bone;
mod border;
pub mod camera;
mod cloth;
pub mod follow;
mod given;
mod heeded;
pub mod kit;
pub mod labels;
mod make;
mod marks;
pub mod material;
pub mod motion;
mod orbit;
mod passage;
pub mod piece;
pub mod point;
pub mod pose;
pub mod quality;
pub mod reach;
pub mod redraw;
mod second;
pub mod shape;
pub mod sites;
pub mod stance;
mod store;
mod thin;
mod wear;

use bevy::prelude::*;

pub use given::{Both, Quality, SceneRect, SceneSettings, StageView};
pub use marks::{Figure, Loose, SceneCamera};
pub use motion::{Motion, News, Perform, PerformStop, Performed, Touched};
pub use orbit::{CameraWork, NamedView, Orbit};
pub use passage::Gait;
pub use point::{Lit, Picked, Pointed, screen_position_of, site_at};
pub use reach::{Arms, Hands};

/// Begins to make the shapes that most drills begin with, on threads of their own. What opens a scene may say so before
/// it does anything else.
pub fn begin() {
    store::begin();
}

/// Draws a [`StageView`]. Needs Bevy's renderer; works with or without a window.
pub struct ScenePlugin;

impl Plugin for ScenePlugin {
    fn build(&self, app: &mut App) {
        store::begin();
        app.add_plugins((material::PlateMaterialPlugin, redraw::RedrawPlugin))
            .init_resource::<StageView>()
            .init_resource::<SceneSettings>()
            .init_resource::<SceneRect>()
            .init_resource::<CameraWork>()
            .init_resource::<Both<Arms>>()
            .init_resource::<Both<Motion>>()
            .init_resource::<Both<Gait>>()
            .init_resource::<Lit>()
            .init_resource::<quality::FrameTimes>()
            .init_resource::<point::Drag>()
            .init_resource::<kit::Wardrobe>()
            .init_resource::<wear::Shown>()
            .init_resource::<second::Second>()
            .add_message::<Pointed>()
            .add_message::<Picked>()
            .add_message::<Perform>()
            .add_message::<PerformStop>()
            .add_message::<Performed>()
            .add_systems(Startup, (camera::spawn, wear::set_up))
            .add_systems(
                Update,
                (second::follow, second::fit, second::light, wear::ground)
                    .chain()
                    .after(wear::paint_sites),
            )
            .add_systems(
                Update,
                (
                    wear::follow_stage,
                    passage::walk,
                    motion::start,
                    motion::advance,
                    wear::repose,
                    camera::fit,
                    point::follow,
                    camera::steer,
                    quality::watch,
                    camera::glide,
                    wear::hide,
                    wear::paint_sites,
                    wear::light,
                )
                    .chain(),
            );
    }
}
