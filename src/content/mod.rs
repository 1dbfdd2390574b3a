//! RON files: read, check (every fault, with line and column), resolve into the model; the built-in content.
//!
//! RON is read by [`tree`], which keeps the place of everything, and decoded by hand with [`record`]: serde stops
//! at the first fault and knows no places, and a trainer who edits a file deserves all of them at once.

mod body;
mod curve;
mod duel;
pub mod fault;
mod load;
pub mod record;
mod refer;
mod scenario;
mod sequence;
mod substance;
mod technique;
pub mod tree;

pub use load::{Content, Kind, LoadError};
