//! What the machine says of itself and of whoever uses it.

use std::ffi::OsString;
use std::io::IsTerminal;
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

/// The folder that the program itself lies in.
pub fn program_folder() -> Option<PathBuf> {
    Some(std::env::current_exe().ok()?.parent()?.to_owned())
}

/// True if the program was started without anything said, in a text window that the system opened for it and closes again
/// when it ends, as by a double-click on Windows.
pub fn closes_when_done() -> bool {
    cfg!(windows) && std::env::args_os().len() <= 1 && std::io::stdin().is_terminal()
}
