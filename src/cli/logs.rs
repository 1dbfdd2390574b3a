//! Where attempts are recorded, what was set is remembered, and own content lies, if nothing else is said.

use std::path::PathBuf;

use crate::outside::{files, machine};

/// A folder of this name beside the program, if there is one.
fn beside(name: &str) -> Option<PathBuf> {
    Some(machine::program_folder()?.join(name)).filter(|folder| files::is_folder(folder))
}

/// Content that lies beside the program: in a folder `content`, unless that is empty.
pub(super) fn usual_content() -> Option<PathBuf> {
    beside("content").filter(|folder| files::list(folder).is_ok_and(|mut entries| entries.next().is_some()))
}

/// Where attempts are recorded.
pub(super) fn usual_logs() -> Option<PathBuf> {
    Some(state_folder()?.join("logs"))
}

/// Where results of attempts are kept.
pub(super) fn usual_register() -> Option<PathBuf> {
    Some(state_folder()?.join("register"))
}

/// Where results wait while the register is away.
pub(super) fn usual_waiting() -> Option<PathBuf> {
    Some(state_folder()?.join("waiting"))
}

/// Where what is recorded is kept: in a folder `kept` beside the program if there is one, as on a stick; else where
/// programs do so on this system, the state folder or the local application data.
pub(super) fn state_folder() -> Option<PathBuf> {
    if let Some(kept) = beside("kept") {
        return Some(kept);
    }
    let folder = |name: &str| {
        machine::variable(name)
            .map(PathBuf::from)
            .filter(|p| p.is_absolute())
    };
    let state = folder("XDG_STATE_HOME")
        .or_else(|| folder("LOCALAPPDATA"))
        .or_else(|| machine::home().map(|home| home.join(".local").join("state")))?;
    Some(state.join("smirch"))
}
