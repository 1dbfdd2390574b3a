//! The clock on the wall and one that only runs on.

use std::time::{Duration, Instant, SystemTime};

use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};

/// Now, by this machine's clock; it may be wrong, and it may be set back.
pub fn now() -> SystemTime {
    SystemTime::now()
}

/// The same as a point in time that dates are told from.
pub fn timestamp() -> Timestamp {
    Timestamp::try_from(now()).unwrap_or(Timestamp::UNIX_EPOCH)
}

/// What local time is ahead of Greenwich by at a moment, as this machine is set.
pub fn offset_at(at: Timestamp) -> Offset {
    TimeZone::system().to_offset(at)
}

/// Measures how long something takes, whatever becomes of the clock on the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stopwatch(Instant);

impl Stopwatch {
    /// Begins now.
    pub fn start() -> Stopwatch {
        Stopwatch(Instant::now())
    }

    /// How long it has run.
    pub fn passed(self) -> Duration {
        self.0.elapsed()
    }
}
