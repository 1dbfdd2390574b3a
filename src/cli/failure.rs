//! How commands end when not fine.

use std::io;

use crate::content::LoadError;

/// How a command ended, if not fine.
#[derive(Debug)]
pub(super) enum Failure {
    /// Faults were found; the message is complete.
    Faults(String),
    /// The command was used wrongly.
    Usage(String),
    /// Nobody reads the output any more.
    Hangup,
}

impl Failure {
    /// What it says, if anything.
    pub(super) fn words(&self) -> &str {
        match self {
            Failure::Faults(message) | Failure::Usage(message) => message,
            Failure::Hangup => "",
        }
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Failure {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Failure::Hangup,
            _ => Failure::Faults(format!("cannot write: {error}")),
        }
    }
}

impl From<LoadError> for Failure {
    fn from(error: LoadError) -> Failure {
        Failure::Faults(format!("{error}\n{}", count_words(error.count)))
    }
}

/// A number of faults, in words.
pub(super) fn count_words(count: usize) -> String {
    if count == 1 {
        "1 fault".to_owned()
    } else {
        format!("{count} faults")
    }
}
