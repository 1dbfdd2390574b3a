//! The logs of a folder, looked through without playing them: only the first line and the last ones are read.

use std::fs::File;
use std::io::{BufRead, BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use super::line::{Judged, LOG_FORMAT, Line};
use super::read::open;

/// A log that lies in a folder.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    /// The file.
    pub path: PathBuf,
    /// When the attempt began; when the file was last written, if the log does not say.
    pub began: SystemTime,
    /// Id of its scenario.
    pub scenario: String,
    /// Id of the sequence that judges it; none in logs of earlier formats.
    pub sequence: Option<String>,
    /// Its seed.
    pub seed: u64,
    /// How many actions were done; none if the last lines are broken.
    pub actions: Option<usize>,
    /// True if it was ended.
    pub ended: bool,
    /// How it was judged when it ended.
    pub judged: Option<Judged>,
    /// Its format. Whether its lines are sound shows only when it is played.
    pub format: u64,
}

impl Recorded {
    /// True if this program reads its format.
    pub fn readable(&self) -> bool {
        self.format <= LOG_FORMAT
    }

    /// True if it comes from an earlier smirch: its counts would be today's.
    pub fn earlier(&self) -> bool {
        self.format < LOG_FORMAT
    }

    /// True if nothing was done.
    pub fn empty(&self) -> bool {
        self.actions == Some(0)
    }
}

/// Longest header that is looked at, bytes.
const HEADER_LIMIT: u64 = 8 * 1024 * 1024;
/// How much of the end is looked at: several times the longest line after a header, bytes.
const TAIL: u64 = 16 * 1024;

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
    found.sort_by(|a, b| b.began.cmp(&a.began).then_with(|| a.path.cmp(&b.path)));
    Ok(found)
}

/// What the first line of a log and its last ones say.
fn recorded(path: &Path) -> Option<Recorded> {
    let mut file = open(path).ok()?;
    let about = file.metadata().ok()?;
    let mut head = String::new();
    BufReader::new((&mut file).take(HEADER_LIMIT))
        .read_line(&mut head)
        .ok()?;
    // A header of a newer format may have other fields; these have never changed.
    let header: serde_json::Value = serde_json::from_str(&head).ok()?;
    let number = |field: &str| header.get(field).and_then(serde_json::Value::as_u64);
    let word = |value: Option<&serde_json::Value>| Some(value?.as_str()?.to_owned());
    let (actions, ended, judged) = last(&mut file, head.len() as u64, about.len());
    Some(Recorded {
        path: path.to_owned(),
        began: match number("began") {
            Some(seconds) => UNIX_EPOCH.checked_add(Duration::from_secs(seconds))?,
            None => about.modified().ok()?,
        },
        scenario: word(header.get("scenario"))?,
        sequence: word(header.get("terms").and_then(|terms| terms.get("sequence"))),
        seed: number("seed")?,
        actions,
        ended,
        judged,
        format: number("smirch-log")?,
    })
}

/// How many actions there were, whether it was ended, and how it was judged, from the last complete line.
fn last(file: &mut File, head: u64, length: u64) -> (Option<usize>, bool, Option<Judged>) {
    let from = head.max(length.saturating_sub(TAIL));
    let mut tail = Vec::new();
    let read = file
        .seek(SeekFrom::Start(from))
        .and_then(|_| file.take(TAIL).read_to_end(&mut tail));
    if read.is_err() {
        return (None, false, None);
    }
    let complete = tail.iter().rposition(|b| *b == b'\n').map_or(0, |at| at);
    let lines = &tail[..complete];
    if lines.is_empty() {
        // Nothing but the header, unless a single line is longer than all others may be.
        return ((length - head < TAIL).then_some(0), false, None);
    }
    let start = lines.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    match serde_json::from_slice(&lines[start..]) {
        Ok(Line::Step { n, .. }) => (Some(n), false, None),
        Ok(Line::Back { back, .. }) => (Some(back), false, None),
        Ok(Line::End { end, judged, .. }) => (Some(end), true, judged),
        Err(_) => (None, false, None),
    }
}
