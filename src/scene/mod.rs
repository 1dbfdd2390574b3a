//! The drawn scene: a person in the kit, the room, the lamp, the camera, and pointing at places.
//!
//! It reads a [`StageView`] and answers with messages; it never asks the drill anything. Add [`ScenePlugin`] to an
//! app with a renderer, write the stage, and read [`Pointed`], [`Picked`] and [`Performed`].

mod apart;
mod border;
pub mod camera;
mod cloth;
pub mod follow;
pub mod kit;
pub mod labels;
pub mod material;
pub mod motion;
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

pub use camera::{CameraWork, NamedView, Orbit, SceneCamera};
pub use motion::{Motion, News, Perform, PerformStop, Performed, Touched};
pub use point::{Lit, Picked, Pointed, screen_position_of, site_at};
pub use quality::Quality;
pub use reach::{Arms, Hands};
pub use wear::Gait;

use crate::view::stage::{Stage, Who};

/// How far in front of the room's middle the person stands, metres.
pub(crate) const STAND_Z: f32 = 0.35;

/// What to draw. Write a new stage after each action; only what differs is redone.
///
/// With a second stage the picture is halved: two people in two rooms alike, seen from the same side. The second
/// costs nothing while there is none.
#[derive(Resource, Default)]
pub struct StageView(pub Stage, pub Option<Stage>);

impl StageView {
    /// The stage of a person; the second has one only while two are shown.
    pub fn of(&self, who: Who) -> Option<&Stage> {
        match who {
            Who::First => Some(&self.0),
            Who::Second => self.1.as_ref(),
        }
    }

    /// The same, to be changed.
    pub fn of_mut(&mut self, who: Who) -> Option<&mut Stage> {
        match who {
            Who::First => Some(&mut self.0),
            Who::Second => self.1.as_mut(),
        }
    }
}

/// One for each person.
#[derive(Resource, Default)]
pub struct Both<T: Send + Sync + 'static>([T; 2]);

impl<T: Send + Sync + 'static> Both<T> {
    /// That of a person.
    pub fn of(&self, who: Who) -> &T {
        &self.0[who as usize]
    }

    /// The same, to be changed.
    pub fn of_mut(&mut self, who: Who) -> &mut T {
        &mut self.0[who as usize]
    }
}

/// Costs and manners of the scene.
#[derive(Resource, Clone, Debug, PartialEq)]
pub struct SceneSettings {
    /// True to skip all motion: hands stay, views change at once.
    pub still: bool,
    /// True to show the picture as a mirror would.
    pub mirror: bool,
    /// Smoothness against speed.
    pub quality: Quality,
}

impl Default for SceneSettings {
    fn default() -> Self {
        Self {
            still: false,
            mirror: false,
            quality: Quality::Fine,
        }
    }
}

/// The rectangle of the window (or target) the scene may draw into and be pointed at in.
#[derive(Resource, Clone, Copy, Debug, PartialEq)]
pub struct SceneRect {
    /// In physical pixels; `None` for all of it.
    pub physical: Option<URect>,
    /// False while a panel or a menu has the cursor.
    pub pointing: bool,
}

impl Default for SceneRect {
    fn default() -> Self {
        Self {
            physical: None,
            pointing: true,
        }
    }
}

/// The person's own root: everything worn or held moves with it.
#[derive(Component)]
pub struct Figure {
    /// Where along the room the person stands now, metres.
    pub x: f32,
}

/// Marks pieces that stand in the room rather than on the person.
#[derive(Component)]
pub struct Loose;

/// The item, by its id within the kit, that a piece belongs to.
#[derive(Component)]
pub(crate) struct OfItem(pub String);

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
                    wear::walk,
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
