//! What is kept: logs of attempts, line by line, that survive a crash at any moment and can be replayed.

mod log;
mod replay;

pub use log::{LOG_FORMAT, LogWriter};
pub use replay::{Replay, ReplayError, replay};
