//! What is kept: logs of attempts, line by line, that survive a crash at any moment and can be replayed.

mod log;
mod replay;
mod shelf;

pub use log::{LOG_FORMAT, LogWriter};
pub use replay::{Replay, ReplayError, replay};
pub use shelf::{Recorded, shelf};
