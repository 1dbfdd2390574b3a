//! Where attempts are recorded, and what was set is remembered, if nothing else is said.

use crate::outside::machine;

use std::path::PathBuf;

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

/// Where programs keep what they record on this system: the state folder, or the local application data.
pub(super) fn state_folder() -> Option<PathBuf> {
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
