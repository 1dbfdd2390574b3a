//! Sheets that are being written: on the disk after every tick, so that a stopped program loses nothing. A folder with one file
//! for each, held by the program that has it open. A sheet that was signed is one no more, and leaves for the register.

use std::io;
use std::path::{Path, PathBuf};

use super::Entry;
use super::entry::read;
use super::read::remove;
use crate::outside::files::{self, Growing, is_growing};
use crate::outside::write;
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

    fn signed_path(&self, sheet: Id) -> PathBuf {
        self.folder.join(format!("{sheet}.signed"))
    }

    fn held_path(&self, sheet: Id) -> PathBuf {
        self.folder.join(format!("{sheet}.open"))
    }

    /// Holds a sheet for this program, for as long as what this returns is there.
    ///
    /// # Errors
    /// Another program has it open ([`io::ErrorKind::WouldBlock`]), or the folder cannot be written.
    pub fn hold(&self, sheet: Id) -> io::Result<Growing> {
        files::make_folders(&self.folder)?;
        Growing::hold(&self.held_path(sheet))
    }

    /// Lets a sheet go that this program held: it can be opened by others.
    ///
    /// # Errors
    /// The file that told so cannot be removed.
    pub fn let_go(&self, sheet: Id, held: Growing) -> io::Result<()> {
        remove(&self.held_path(sheet))?;
        drop(held);
        Ok(())
    }

    /// A sheet is signed: it is no draft from now on, and waits to be kept. Nothing is lost whenever the program is stopped.
    ///
    /// # Errors
    /// It cannot be written; the draft stays.
    pub fn sign(&self, entry: &Entry) -> io::Result<()> {
        let Some(sheet) = entry.judged() else {
            return Ok(());
        };
        files::make_folders(&self.folder)?;
        write::whole(&self.signed_path(sheet.sheet), entry.line()?.as_bytes())?;
        remove(&self.path(sheet.sheet))
    }

    /// Sheets that were signed and wait to be kept.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn signed(&self) -> io::Result<Vec<Entry>> {
        self.with_ending("signed")
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
        remove(&self.path(sheet))?;
        remove(&self.signed_path(sheet))
    }

    /// Every unsigned sheet that can be read and that no program has open, the newest first.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn all(&self) -> io::Result<Vec<Entry>> {
        let mut found = self.with_ending("json")?;
        found.retain(|entry| {
            entry.judged().is_some_and(|judged| {
                let signed = files::is_file(&self.signed_path(judged.sheet));
                !signed && !is_growing(&self.held_path(judged.sheet))
            })
        });
        Ok(found)
    }

    /// Every sheet, signed or not, whoever has it open.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn every(&self) -> io::Result<Vec<Entry>> {
        let mut all = self.with_ending("json")?;
        all.extend(self.with_ending("signed")?);
        Ok(all)
    }

    fn with_ending(&self, ending: &str) -> io::Result<Vec<Entry>> {
        let mut found = Vec::new();
        for file in files::list_if_there(&self.folder)? {
            let path = file?.path();
            if path.extension().is_some_and(|e| e == ending)
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
