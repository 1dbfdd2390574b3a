//! The desk, as a resource: the only thing in the world that knows the drill.

use bevy::prelude::*;

use crate::view::Desk;

/// The one desk of the window.
#[derive(Resource, Debug)]
pub struct TheDesk(pub Desk);
