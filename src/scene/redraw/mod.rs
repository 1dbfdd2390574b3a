//! Draws again only what has changed: the picture of the frame before is kept, and of the scene no more is drawn than
//! the rectangle in which something has moved.
//!
//! On a machine without a graphics card most of a frame is pixels, and most pixels are a room that stands still. What
//! is not known to be the same is drawn whole. Whoever draws over the scene in the same picture says with
//! [`Stale::also`] where that has changed, and keeps to [`Cut`] when drawing.

mod crop;
mod find;

use std::collections::HashMap;

use bevy::prelude::*;

pub use crop::{Cut, CutSet};

use super::StageView;

/// What of the picture is no longer true, in pixels of the target.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct Stale {
    /// The camera whose picture is kept from frame to frame, if any is.
    camera: Option<Entity>,
    /// Where each mesh is in the picture, as the camera stands.
    places: HashMap<Entity, URect>,
    /// Frames still to be drawn whole.
    whole: u8,
    /// Where something of the scene has moved.
    scene: Option<URect>,
    /// Where something drawn over or beside the scene has changed.
    also: Option<URect>,
    /// Sites that look otherwise than in the frame before.
    repainted: Vec<u16>,
    /// Where sites have been repainted lately, and in how many frames that is still to be drawn.
    again: Option<URect>,
    times: u8,
}

/// Frames drawn whole after news of any kind: some reach the renderer a frame late, and one more may be on its way
/// meanwhile.
const AFTER_NEWS: u8 = 4;

impl Stale {
    /// Nothing of the picture is known to be the same, in this frame and the next few.
    pub fn all(&mut self) {
        self.whole = AFTER_NEWS;
    }

    /// True if the frame before was drawn in parts.
    pub fn in_parts(&self) -> bool {
        self.camera.is_some() && self.whole == 0
    }

    /// These sites look otherwise from now on, and nothing else that is painted does.
    pub fn repaint(&mut self, sites: impl IntoIterator<Item = u16>) {
        self.repainted.extend(sites);
    }

    /// Something drawn over or beside the scene has changed here.
    pub fn also(&mut self, here: URect) {
        self.also = joined(self.also, here);
    }
}

/// True if the picture that this camera draws is kept from frame to frame: one person, edges not smoothed. With a
/// graphics card nothing is gained by it.
pub fn keeps(camera: &Camera, samples: &Msaa, stage: &StageView) -> bool {
    camera.is_active && *samples == Msaa::Off && stage.1.is_none()
}

/// Both rectangles and what lies between them; what is empty counts for nothing.
fn joined(one: Option<URect>, other: URect) -> Option<URect> {
    if other.is_empty() {
        return one;
    }
    Some(one.map_or(other, |one| one.union(other)))
}

pub(super) struct RedrawPlugin;

impl Plugin for RedrawPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Stale>().add_systems(Last, find::find);
        crop::build(app);
    }
}
