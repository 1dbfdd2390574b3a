//! Removing entries: all of a person, or all that were kept long enough. What was removed stays away, also when a folder
//! that still has it is merged in later; who it was is not kept.

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use super::brief::{Brief, BriefWhat};
use super::read::remove;
use super::{Entry, Register, What};
use crate::outside::files;
use crate::record::{Code, Id};

/// What was removed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Forgotten {
    /// Entries.
    pub entries: usize,
    /// Date of the first and of the last of them.
    pub between: Option<(Date, Date)>,
    /// Copies of them, and of what had been forgotten before and came back.
    pub copies: usize,
    /// Files never written to their end that spoke of the person.
    pub half_written: usize,
    /// Damaged files, and those of a newer program, that spoke of the person.
    pub damaged: usize,
    /// Sheets of other people that name the person as who watched; they stay.
    pub watched: usize,
    /// Names of the logs that the entries spoke of.
    pub logs: BTreeSet<String>,
    /// Damaged or newer files that were left, since whom they speak of cannot be told.
    pub unread: Vec<PathBuf>,
}

/// Which entries are to go.
#[derive(Clone, Debug)]
pub enum Whose {
    /// Those of a person.
    Of(Code),
    /// Those written before a date.
    Before(Date),
}

/// An entry that is to go.
struct Gone {
    id: Id,
    path: PathBuf,
    date: Date,
    log: Option<String>,
}

impl Register {
    /// Removes entries and whatever else speaks of them. Stopped half-way, doing it again does the rest.
    ///
    /// # Errors
    /// The folder cannot be listed, or something cannot be removed.
    pub fn forget(&self, whose: &Whose) -> io::Result<Forgotten> {
        let read = self.read_as(|sealed, path| {
            let brief = Brief::of(sealed)?;
            let (id, date) = (brief.id, brief.at.date());
            let theirs = match whose {
                Whose::Of(code) => brief.person.as_ref().is_some_and(|p| p.code == *code),
                // A date from before there was this program is a wrong clock's, and nobody knows how old the entry is.
                Whose::Before(before) => date < *before && !brief.at.is_before_the_program(),
            };
            let gone = || Gone {
                id,
                path: path.to_owned(),
                date,
                log: log_of(sealed.text),
            };
            Ok((id, theirs.then(gone)))
        })?;
        let mut told = Forgotten {
            entries: read.found.len(),
            ..Forgotten::default()
        };
        for gone in &read.found {
            told.logs.extend(gone.log.clone());
            let (first, last) = told.between.unwrap_or((gone.date, gone.date));
            told.between = Some((first.min(gone.date), last.max(gone.date)));
        }
        let ids: BTreeSet<Id> = read.found.iter().map(|gone| gone.id).collect();
        if !ids.is_empty() {
            // First that they are gone, then that they go: whoever reads in between finds them gone.
            self.keep(&Entry::new(None, What::Forgotten(ids.iter().copied().collect())))?;
        }
        for gone in &read.found {
            remove(&gone.path)?;
        }
        // Copies count as come back now.
        let again = self.read_as(|sealed, _| Brief::of(sealed).map(|brief| (brief.id, None::<()>)))?;
        for path in &again.came_back {
            remove(path)?;
        }
        told.copies = again.came_back.len();
        if let Whose::Of(code) = whose {
            for path in &again.half_written {
                if speaks_of(path, code) {
                    remove(path)?;
                    told.half_written += 1;
                }
            }
        }
        let unread = again.damage.into_iter().map(|d| d.path).chain(again.newer);
        for path in unread {
            match whose {
                Whose::Of(code) if speaks_of(&path, code) => {
                    remove(&path)?;
                    told.damaged += 1;
                }
                _ => told.unread.push(path),
            }
        }
        if let Whose::Of(code) = whose {
            let watched = self.read_as(|sealed, _| {
                let brief = Brief::of(sealed)?;
                let by = match &brief.what {
                    BriefWhat::Judged(sheet) => sheet.observer.as_ref() == Some(code),
                    _ => false,
                };
                Ok((brief.id, by.then_some(())))
            })?;
            told.watched = watched.found.len();
        }
        Ok(told)
    }
}

/// The name of the log that an entry speaks of.
fn log_of(text: &str) -> Option<String> {
    let entry: Entry = super::entry::read(text).ok()?;
    entry.attempt()?.log.as_ref().map(|log| log.file.clone())
}

/// True if a file that was not written to its end names a person.
fn speaks_of(path: &Path, code: &Code) -> bool {
    let text = files::read(path).unwrap_or_default();
    let text = String::from_utf8_lossy(&text).to_lowercase();
    text.contains(&format!("\"code\":\"{}\"", code.folded()))
}
