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

/// The name that the machine has among others, if it says one: what it is called by itself (`localhost`) is none.
pub fn host_name() -> Option<String> {
    let said = |name: &str| variable(name)?.into_string().ok();
    let written = |path: &str| std::fs::read_to_string(path).ok();
    [
        // As Windows has it, then Linux, then whatever shells hand on.
        said("COMPUTERNAME"),
        written("/proc/sys/kernel/hostname"),
        written("/etc/hostname"),
        said("HOSTNAME"),
    ]
    .into_iter()
    .flatten()
    .map(|name| name.trim().to_owned())
    .find(|name| !name.is_empty() && !name.starts_with("localhost"))
}

/// True if the program was started without anything said, in a text window that the system opened for it and closes again
/// when it ends, as by a double-click on Windows.
pub fn closes_when_done() -> bool {
    cfg!(windows) && std::env::args_os().len() <= 1 && std::io::stdin().is_terminal()
}
