//! The desk, as a resource: the only thing in the world that knows the drill.

use std::sync::{Arc, Mutex, PoisonError};

use bevy::prelude::*;

use crate::view::Desk;

/// The one desk of the window.
#[derive(Resource, Debug)]
pub struct TheDesk(pub Desk);

/// What could not be kept where it should be, told by whoever keeps it beside everything else until the desk hears of it.
#[derive(Resource, Clone, Debug, Default)]
pub struct Troubles(Arc<Mutex<Vec<String>>>);

impl Troubles {
    /// Something could not be kept.
    pub fn put(&self, told: &str) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.push(told.to_owned());
    }

    /// What was told since the last time.
    pub fn take(&self) -> Vec<String> {
        std::mem::take(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}
