//! The logs of a folder, looked through without playing them: only the first line and the last ones are read.

use std::io::{BufRead, BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use super::line::{Judged, LOG_FORMAT, Line, SEALED_FORMAT};
use super::read::open;
use super::{Id, Person};
use crate::outside::files::{self, Reading};

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
    /// What the attempt is known by; none in logs of formats before 5.
    pub attempt: Option<Id>,
    /// Who did it, if they gave a code.
    pub person: Option<Person>,
    /// True if it was ended.
    pub ended: bool,
    /// True if its result as it stands was kept in a register.
    pub kept: bool,
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
        self.format < SEALED_FORMAT
    }

    /// True if it can be taken up again, as far as its first line and its last ones tell.
    pub fn can_go_on(&self) -> bool {
        self.attempt.is_some() && !self.ended && self.readable() && self.actions.is_some_and(|n| n > 0)
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
    let entries = files::list_if_there(folder)?.into_iter();
    let mut found: Vec<Recorded> = entries
        .filter_map(|entry| recorded(&entry.ok()?.path()))
        .collect();
    found.sort_by(|a, b| b.began.cmp(&a.began).then_with(|| a.path.cmp(&b.path)));
    Ok(found)
}

/// The log of a folder that was written last.
///
/// # Errors
/// The folder is there but cannot be read.
pub fn newest(folder: &Path) -> std::io::Result<Option<Recorded>> {
    let written = files::list_if_there(folder)?.into_iter().filter_map(|entry| {
        let entry = entry.ok()?;
        Some((entry.written()?, entry.path()))
    });
    Ok(written.max().and_then(|(_, path)| recorded(&path)))
}

/// Removes a log; false if there is none. Nothing else is ever removed by this.
///
/// # Errors
/// It cannot be removed, or is no log.
pub fn forget_log(path: &Path) -> std::io::Result<bool> {
    match files::kind(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(false),
        there => there?,
    };
    if recorded(path).is_none() {
        return Err(std::io::Error::other("this is no log"));
    }
    files::remove(path)
}

/// What the first line of a log and its last ones say.
fn recorded(path: &Path) -> Option<Recorded> {
    let mut file = open(path).ok()?;
    let length = file.length().ok()?;
    let mut head = String::new();
    BufReader::new((&mut file).take(HEADER_LIMIT))
        .read_line(&mut head)
        .ok()?;
    // A header of a newer format may have other fields; these have never changed.
    let header: serde_json::Value = serde_json::from_str(&head).ok()?;
    let number = |field: &str| header.get(field).and_then(serde_json::Value::as_u64);
    let word = |value: Option<&serde_json::Value>| Some(value?.as_str()?.to_owned());
    let last = last(&mut file, head.len() as u64, length);
    let terms = header.get("terms");
    Some(Recorded {
        path: path.to_owned(),
        began: match number("began") {
            Some(seconds) => UNIX_EPOCH.checked_add(Duration::from_secs(seconds))?,
            None => file.written()?,
        },
        scenario: word(header.get("scenario"))?,
        sequence: word(terms.and_then(|terms| terms.get("sequence"))),
        seed: number("seed")?,
        attempt: header
            .get("attempt")
            .and_then(serde_json::Value::as_str)
            .and_then(|id| Id::parse(id).ok()),
        person: terms
            .and_then(|terms| terms.get("person"))
            .and_then(|person| serde_json::from_value(person.clone()).ok()),
        actions: last.actions,
        ended: last.ended,
        kept: last.kept,
        judged: last.judged,
        format: number("smirch-log")?,
    })
}

/// What the last complete line says.
#[derive(Default)]
struct Last {
    /// How many actions there were.
    actions: Option<usize>,
    /// Whether the attempt was ended.
    ended: bool,
    /// Whether its result was kept.
    kept: bool,
    /// How it was judged.
    judged: Option<Judged>,
}

fn last(file: &mut Reading, head: u64, length: u64) -> Last {
    let from = head.max(length.saturating_sub(TAIL));
    let mut tail = Vec::new();
    let read = file
        .seek(SeekFrom::Start(from))
        .and_then(|_| file.take(TAIL).read_to_end(&mut tail));
    if read.is_err() {
        return Last::default();
    }
    let complete = tail.iter().rposition(|b| *b == b'\n').map_or(0, |at| at);
    let lines = &tail[..complete];
    if lines.is_empty() {
        // Nothing but the header, unless a single line is longer than all others may be.
        return Last {
            actions: (length - head < TAIL).then_some(0),
            ..Last::default()
        };
    }
    let mut found = Last::default();
    for line in lines.rsplit(|b| *b == b'\n') {
        match serde_json::from_slice(line) {
            Ok(Line::Kept { .. }) if !found.kept => {
                found.kept = true;
                continue;
            }
            Ok(Line::Step { n, .. }) => found.actions = Some(n),
            Ok(Line::Back { back, .. }) => found.actions = Some(back),
            Ok(Line::End { end, judged, .. }) => {
                (found.actions, found.ended, found.judged) = (Some(end), true, judged);
            }
            // Once more the same, or nothing that could be a line.
            Ok(Line::Kept { .. } | Line::Told { .. }) => continue,
            Err(_) => {}
        }
        return found;
    }
    // Kept, and nothing was done.
    found.actions = (length - head < TAIL).then_some(0);
    found
}
