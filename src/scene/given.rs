//! What the scene is given from outside: the stage to draw, settings, and the rectangle it may draw into. Knows nothing of
//! how any of it is drawn.

use bevy::prelude::*;
use bevy::render::renderer::RenderAdapterInfo;

use crate::view::stage::{Stage, Who};

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

/// Smoothness against speed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Quality {
    /// Edges are not smoothed: for machines without a graphics card.
    Plain,
    /// Edges are smoothed with four samples.
    #[default]
    Fine,
}

impl Quality {
    /// What suits the machine: a graphics card smooths edges for nothing, a processor alone had better not.
    pub fn suited(adapter: &RenderAdapterInfo) -> Quality {
        // Bevy does not pass on the type of this field, so it is read by its name.
        if format!("{:?}", adapter.device_type) == "Cpu" {
            Quality::Plain
        } else {
            Quality::Fine
        }
    }
}
