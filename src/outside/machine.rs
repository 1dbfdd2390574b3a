//! What the machine says of itself and of whoever uses it.

use std::ffi::OsString;
use std::path::PathBuf;

/// A variable of the environment, if it is set.
pub fn variable(name: &str) -> Option<OsString> {
    std::env::var_os(name)
}

/// The user's own folder.
pub fn home() -> Option<PathBuf> {
    std::env::home_dir()
}

/// The folder that the program was started in.
pub fn here() -> Option<PathBuf> {
    std::env::current_dir().ok()
}
