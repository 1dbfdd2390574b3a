//! What is kept: logs of attempts, line by line, that survive a crash at any moment and can be replayed.

mod code;
mod line;
mod log;
mod read;
mod replay;
pub(crate) mod seal;
mod shelf;
mod terms;
mod who;

pub use code::{Code, Label, MOST_CODE, MOST_LABEL};
pub use line::{Judged, LOG_FORMAT, SEALED_FORMAT};
pub use log::{LogWriter, note_kept};
pub use replay::{Replay, ReplayError, replay};
pub use shelf::{Recorded, forget_log, newest, shelf};
pub use terms::{ClockSpeed, DeskTerms, LampUse, PassTerms, RungTerms, Terms};
pub use who::{Id, Person, Purpose};
