//! The folder of a register: a folder for each month, in it a file for each entry. Files are written beside their place and
//! moved into it whole, under names that nobody else can choose; nothing is locked and nothing is changed afterwards.

use std::io;
use std::path::{Path, PathBuf};

use crate::outside::files::{self, Kind};
use crate::outside::threads::parallel::*;
use crate::outside::write;

use super::Entry;

/// The name of the file with a register's own rules.
pub(super) const RULES: &str = "register.ron";
/// What a file begins with while it is being written.
pub(super) const HALF_WRITTEN: &str = ".smirch-";

/// A register.
#[derive(Clone, Debug)]
pub struct Register {
    folder: PathBuf,
}

impl Register {
    /// The register in a folder, which is made when the first entry is kept.
    pub fn at(folder: PathBuf) -> Register {
        Register { folder }
    }

    /// Where it is.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// True if its folder is there.
    pub fn is_there(&self) -> bool {
        files::is_folder(&self.folder)
    }

    /// The text of its own rules with its path, if it has any.
    ///
    /// # Errors
    /// The file is there but cannot be read.
    pub fn own_rules(&self) -> io::Result<Option<(String, String)>> {
        let path = self.folder.join(RULES);
        match files::read_text(&path) {
            Ok(text) => Ok(Some((path.display().to_string(), text))),
            Err(e) if matches!(e.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory) => Ok(None),
            Err(e) => Err(e),
        }
    }

    /// Keeps an entry. When this returns it is on the disk; keeping one again changes nothing.
    ///
    /// # Errors
    /// It cannot be written; nothing half of it is left under its name.
    pub fn keep(&self, entry: &Entry) -> io::Result<PathBuf> {
        let line = entry.line()?;
        self.keep_file(&entry.month(), &entry.file_name(), line.as_bytes())
    }

    /// Keeps the bytes of an entry under the name that it has.
    pub(super) fn keep_file(&self, month: &str, name: &str, bytes: &[u8]) -> io::Result<PathBuf> {
        let folder = self.folder.join(month);
        files::make_folders(&folder)?;
        let path = folder.join(name);
        write::apart(&path, bytes)?;
        Ok(path)
    }

    /// Every file that may be an entry, and every one that was never written to its end.
    pub(super) fn files(&self) -> io::Result<Files> {
        let mut found = Files::default();
        let mut folders = vec![self.folder.clone()];
        for entry in files::list(&self.folder)? {
            let entry = entry?;
            if entry.kind == Kind::Folder && is_month(&entry.name()) {
                folders.push(entry.path());
            }
        }
        folders.sort_unstable();
        let each: io::Result<Vec<Files>> = folders.par_iter().map(|folder| files_of(folder)).collect();
        for files in each? {
            found.entries.extend(files.entries);
            found.half_written.extend(files.half_written);
            found.odd.extend(files.odd);
        }
        // What lies beside the folders comes in between; the rest is in order, which this sort sees.
        found.in_order();
        Ok(found)
    }
}

/// What lies in a register.
#[derive(Debug, Default)]
pub(super) struct Files {
    /// Files that may be entries.
    pub entries: Vec<PathBuf>,
    /// Files that somebody writes just now, or never wrote to their end.
    pub half_written: Vec<PathBuf>,
    /// What has no business there.
    pub odd: Vec<PathBuf>,
}

impl Files {
    /// Puts them in the order of their bytes, so that whoever reads twice gets the same.
    fn in_order(&mut self) {
        for paths in [&mut self.entries, &mut self.half_written, &mut self.odd] {
            // Part by part takes ten times as long.
            paths.sort_by(|a, b| a.as_os_str().cmp(b.as_os_str()));
        }
    }
}

/// The files of one folder.
fn files_of(folder: &Path) -> io::Result<Files> {
    let mut found = Files::default();
    // It may have been removed since it was listed.
    for entry in files::list_if_there(folder)? {
        let entry = entry?;
        let name = entry.name();
        if name.starts_with(HALF_WRITTEN) {
            found.half_written.push(entry.path());
        } else if name.ends_with(".json") {
            // A link or a pipe is no entry; reading one might never end.
            match entry.kind {
                Kind::File => found.entries.push(entry.path()),
                _ => found.odd.push(entry.path()),
            }
        } else if name != RULES && entry.kind != Kind::Folder {
            found.odd.push(entry.path());
        }
    }
    found.in_order();
    Ok(found)
}

/// True for a name such as `2026-03`.
fn is_month(name: &str) -> bool {
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    name.len() == 7
        && name.is_char_boundary(4)
        && digits(&name[..4])
        && &name[4..5] == "-"
        && digits(&name[5..])
}
