//! Draws again only what has changed: the picture of the frame before is kept, and of the scene no more is drawn than
//! the rectangle in which something has moved.
//!
//! On a machine without a graphics card most of a frame is pixels, and most pixels are a room that stands still. What
//! is not known to be the same is drawn whole. Whoever draws over the scene in the same picture says with
//! [`Stale::also`] where that has changed, and keeps to [`Cut`] when drawing.

mod crop;
mod find;
pub(super) mod stale;

use bevy::prelude::*;

pub use crop::{Cut, CutSet};
pub use stale::{Stale, keeps};

pub(super) struct RedrawPlugin;

impl Plugin for RedrawPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Stale>().add_systems(Last, find::find);
        crop::build(app);
    }
}
