//! The logs of a folder, looked through without playing them.

use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::log::{Header, LOG_FORMAT};

/// A log that lies in a folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The file.
    pub path: PathBuf,
    /// When it was last written.
    pub written: SystemTime,
    /// Id of its scenario.
    pub scenario: String,
    /// Its seed.
    pub seed: u64,
    /// True if this program reads its format. Whether its lines are sound shows only when it is played.
    pub readable: bool,
}

/// Longest header that is looked at, bytes.
const HEADER_LIMIT: u64 = 4 * 1024 * 1024;

/// The logs of a folder, newest first. Other files are passed over; a folder that is not there has none.
///
/// # Errors
/// The folder is there but cannot be read.
pub fn shelf(folder: &Path) -> std::io::Result<Vec<Recorded>> {
    let entries = match std::fs::read_dir(folder) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries?,
    };
    let mut found: Vec<Recorded> = entries
        .filter_map(|entry| recorded(&entry.ok()?.path()))
        .collect();
    found.sort_by(|a, b| b.written.cmp(&a.written).then_with(|| a.path.cmp(&b.path)));
    Ok(found)
}

/// What the first line of a log says.
fn recorded(path: &Path) -> Option<Recorded> {
    let file = File::open(path).ok()?;
    let about = file.metadata().ok()?;
    if !about.is_file() {
        return None;
    }
    let mut line = String::new();
    BufReader::new(file.take(HEADER_LIMIT))
        .read_line(&mut line)
        .ok()?;
    let header: Header = serde_json::from_str(&line).ok()?;
    Some(Recorded {
        path: path.to_owned(),
        written: about.modified().ok()?,
        scenario: header.scenario,
        seed: header.seed,
        readable: header.format == LOG_FORMAT,
    })
}
