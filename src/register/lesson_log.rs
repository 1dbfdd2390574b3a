//! What was counted so far in a lesson that is being given: on the disk after every hand, so that a program that is stopped loses
//! none. A file for each lesson, a line for each change with all that would be kept; it goes once that is kept.

use std::io;
use std::path::{Path, PathBuf};

use crate::outside::files::{self, Growing};
use crate::record::Id;

use super::{Entry, Station};

/// Longest line, bytes.
const LONGEST: u64 = 1024 * 1024;

/// The lesson that is given just now.
#[derive(Debug)]
pub struct LessonLog {
    file: Growing,
    path: PathBuf,
}

fn folder(logs: &Path) -> PathBuf {
    logs.join("lessons")
}

impl LessonLog {
    /// Begins one beside a folder of logs.
    ///
    /// # Errors
    /// The file cannot be made.
    pub fn begin(logs: &Path) -> io::Result<LessonLog> {
        let folder = folder(logs);
        files::make_folders(&folder)?;
        let path = folder.join(format!("{}.jsonl", Id::fresh()));
        let file = Growing::create(&path)?;
        Ok(LessonLog { file, path })
    }

    /// What would be kept if the lesson ended now.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn stands(&mut self, entries: &[Entry]) -> io::Result<()> {
        let mut line = serde_json::to_string(entries)?;
        line.push('\n');
        self.file.add(line.as_bytes())
    }

    /// It is kept elsewhere now.
    ///
    /// # Errors
    /// The file cannot be removed.
    pub fn over(self) -> io::Result<()> {
        // Held until it is gone, so that nobody who opens meanwhile takes it for one that was left.
        files::remove(&self.path)?;
        drop(self.file);
        Ok(())
    }
}

/// Keeps what was counted in lessons whose program was stopped, and removes their files; those that are given just now are left
/// alone. Returns how many entries were kept.
///
/// # Errors
/// The folder cannot be listed, or something cannot be kept: then its file stays.
pub fn keep_lessons_left(station: &Station, logs: &Path) -> io::Result<usize> {
    let mut kept = 0;
    for found in files::list_if_there(&folder(logs))? {
        let path = found?.path();
        if path.extension().is_none_or(|e| e != "jsonl") {
            continue;
        }
        let mut left = match Growing::again(&path) {
            // It is given just now, another program keeps it, or it is kept already.
            Err(e) if matches!(e.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::NotFound) => continue,
            left => left?,
        };
        let (_, tail) = left.tail(LONGEST)?;
        let text = String::from_utf8_lossy(&tail);
        // What was torn at the end has no end of its line, or is no list.
        let last = text
            .split_inclusive('\n')
            .rev()
            .filter(|line| line.ends_with('\n'))
            .find_map(|line| serde_json::from_str::<Vec<Entry>>(line).ok());
        for entry in last.unwrap_or_default() {
            station.keep(&entry)?;
            kept += 1;
        }
        files::remove(&path)?;
    }
    Ok(kept)
}
