//! Sheets that are being written: on the disk after every tick, so that a stopped program loses nothing. A folder with one file
//! for each; a sheet that was signed leaves it for the register.

use std::io;
use std::path::{Path, PathBuf};

use super::Entry;
use super::entry::read;
use super::read::remove;
use crate::outside::{files, write};
use crate::record::Id;

/// The folder of sheets that are not signed yet.
#[derive(Clone, Debug)]
pub struct Drafts {
    folder: PathBuf,
}

impl Drafts {
    /// The drafts beside a folder of logs.
    pub fn beside(logs: &Path) -> Drafts {
        Drafts {
            folder: logs.join("sheets"),
        }
    }

    fn path(&self, sheet: Id) -> PathBuf {
        self.folder.join(format!("{sheet}.json"))
    }

    /// Keeps a sheet as it stands, in place of what was kept of it before. What is no sheet is not kept.
    ///
    /// # Errors
    /// It cannot be written; what was kept before stays.
    pub fn keep(&self, entry: &Entry) -> io::Result<()> {
        let Some(sheet) = entry.judged() else {
            return Ok(());
        };
        files::make_folders(&self.folder)?;
        write::whole(&self.path(sheet.sheet), entry.line()?.as_bytes())
    }

    /// Removes a sheet that is kept elsewhere now, or that nobody wants.
    ///
    /// # Errors
    /// It cannot be removed.
    pub fn remove(&self, sheet: Id) -> io::Result<()> {
        remove(&self.path(sheet))
    }

    /// Every sheet that can be read, the newest first.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn all(&self) -> io::Result<Vec<Entry>> {
        let mut found = Vec::new();
        for file in files::list_if_there(&self.folder)? {
            let path = file?.path;
            if path.extension().is_some_and(|e| e == "json")
                && let Ok(text) = files::read_text(&path)
                && let Ok(entry) = read::<Entry>(&text)
                && entry.judged().is_some()
            {
                found.push(entry);
            }
        }
        found.sort_by_key(|entry| std::cmp::Reverse(entry.at.millis()));
        Ok(found)
    }
}
