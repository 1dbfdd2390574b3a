//! `smirch` without a command: the window.

use std::path::PathBuf;

use crate::content::Content;

use super::Failure;
#[cfg(feature = "gui")]
use super::logs::usual_logs;

#[cfg(feature = "gui")]
pub(super) fn open(content: Content, logs: Option<PathBuf>, log: Option<PathBuf>) -> Result<(), Failure> {
    crate::app::machine::ready().map_err(|unready| Failure::Faults(unready.to_string()))?;
    let logs = logs.or_else(usual_logs);
    if let Some(folder) = &logs {
        eprintln!("a log of each attempt goes to {}", folder.display());
    }
    crate::app::run_with(crate::app::AppOptions {
        logs,
        first: log.into_iter().map(crate::view::Command::OpenLog).collect(),
        ..crate::app::AppOptions::new(content)
    })
    .map_err(Failure::Faults)
}

#[cfg(not(feature = "gui"))]
pub(super) fn open(_content: Content, _logs: Option<PathBuf>, _log: Option<PathBuf>) -> Result<(), Failure> {
    Err(Failure::Usage(
        "this smirch was built without a window; see `smirch --help` for its commands".to_owned(),
    ))
}
