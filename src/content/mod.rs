//! RON files: read, check (every fault, with line and column), resolve into the model; the built-in content.
//!
//! RON is read by [`tree`], which keeps the place of everything, and decoded by hand with [`record`]: serde stops
//! at the first fault and knows no places, and a trainer who edits a file deserves all of them at once.

mod body;
mod building;
mod checklist;
mod curve;
mod doubt;
mod duel;
mod embedded;
pub mod fault;
mod gather;
mod ladder;
mod lesson;
mod load;
pub mod record;
mod refer;
mod register;
mod scenario;
mod sequence;
mod study;
mod substance;
mod technique;
pub mod tree;

pub use embedded::{embedded, is_built_in};
pub use load::{Checked, Content, Kind, LoadError};
