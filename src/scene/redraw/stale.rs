//! What of the picture is no longer true, and who says so.

use std::collections::HashMap;

use bevy::prelude::*;

use crate::scene::given::StageView;

/// What of the picture is no longer true, in pixels of the target.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub struct Stale {
    /// The camera whose picture is kept from frame to frame, if any is.
    pub(super) camera: Option<Entity>,
    /// Where each mesh is in the picture, as the camera stands.
    pub(super) places: HashMap<Entity, URect>,
    /// Frames still to be drawn whole.
    pub(super) whole: u8,
    /// Where something of the scene has moved.
    pub(super) scene: Option<URect>,
    /// Where something drawn over or beside the scene has changed.
    pub(super) also: Option<URect>,
    /// Sites that look otherwise than in the frame before.
    pub(super) repainted: Vec<u16>,
    /// Where sites have been repainted lately, and in how many frames that is still to be drawn.
    pub(super) again: Option<URect>,
    pub(super) times: u8,
}

/// Frames drawn whole after news of any kind: some reach the renderer a frame late, and one more may be on its way
/// meanwhile.
pub(super) const AFTER_NEWS: u8 = 4;

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
pub(super) fn joined(one: Option<URect>, other: URect) -> Option<URect> {
    if other.is_empty() {
        return one;
    }
    Some(one.map_or(other, |one| one.union(other)))
}
