//! What is kept: logs of attempts, line by line, that survive a crash at any moment and can be replayed; and files that
//! are written whole or not at all.

pub mod keep;
mod line;
mod log;
mod read;
mod replay;
mod shelf;
mod terms;

pub use line::{Judged, LOG_FORMAT};
pub use log::LogWriter;
pub use replay::{Replay, ReplayError, replay};
pub use shelf::{Recorded, shelf};
pub use terms::{ClockSpeed, DeskTerms, LampUse, Terms};
