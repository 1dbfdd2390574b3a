//! Writing what commands make, and telling how far long work is.

use std::io::{self, IsTerminal};
use std::path::Path;
use std::time::Duration;

use serde_json::Value;

use crate::analysis::Progress;
use crate::outside::threads::while_working;
use crate::outside::write;
use crate::report::{Drawing, png, svg};

use super::failure::Failure;

/// Writes a file whole or not at all, and never over a log or a content file.
pub(super) fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write::whole(path, bytes).map_err(|e| {
        let message = format!("{}: cannot be written: {e}", path.display());
        match e.kind() {
            io::ErrorKind::IsADirectory | io::ErrorKind::AlreadyExists => Failure::Usage(message),
            _ => Failure::Faults(message),
        }
    })
}

/// Writes a value as JSON for people to read too.
pub(super) fn write_json(path: &Path, value: &Value) -> Result<(), Failure> {
    let mut text = serde_json::to_string_pretty(value).map_err(|e| Failure::Faults(e.to_string()))?;
    text.push('\n');
    write_file(path, text.as_bytes())
}

/// Does long work while whoever watches is told how far it is: progress is talk, and of no use in a file.
///
/// # Errors
/// The computation broke off.
pub(super) fn watched<T: Send>(
    progress: &Progress,
    told: impl Fn(u64) -> String,
    work: impl FnOnce() -> T + Send,
) -> Result<T, Failure> {
    let seen = io::stderr().is_terminal();
    let tell = || eprint!("\r{}", told(progress.done()));
    let found = while_working(Duration::from_millis(20), work, || {
        if seen {
            tell();
        }
    });
    if seen {
        tell();
        eprintln!();
    }
    found.ok_or_else(|| Failure::Faults("the computation broke off".to_owned()))
}

/// Writes a picture as SVG, or as PNG if the name ends so.
pub(super) fn write_picture(path: &Path, drawing: &Drawing) -> Result<(), Failure> {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default();
    match ending.to_ascii_lowercase().as_str() {
        "png" => write_file(path, &png(drawing).map_err(Failure::Faults)?),
        "svg" => write_file(path, svg(drawing).as_bytes()),
        _ => Err(Failure::Usage(format!(
            "{}: a picture is written as SVG or PNG\n   hint: let the name end in `.svg` or `.png`",
            path.display()
        ))),
    }
}
