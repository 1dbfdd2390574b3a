//! `smirch` without a command: the window.

use crate::content::Content;

use super::Failure;

#[cfg(feature = "gui")]
pub(super) fn open(content: Content) -> Result<(), Failure> {
    crate::app::run(content).map_err(Failure::Faults)
}

#[cfg(not(feature = "gui"))]
pub(super) fn open(_content: Content) -> Result<(), Failure> {
    Err(Failure::Usage(
        "this smirch was built without a window; see `smirch --help` for its commands".to_owned(),
    ))
}
