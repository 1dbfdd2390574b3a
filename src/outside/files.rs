//! Files and folders: read, listed, locked, made and removed. Writing whole files is in [`super::write`].

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// What lies under a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A file.
    File,
    /// A folder.
    Folder,
    /// A pipe, a device or, where links are not followed, a link.
    Other,
}

impl From<fs::FileType> for Kind {
    fn from(kind: fs::FileType) -> Kind {
        if kind.is_file() {
            Kind::File
        } else if kind.is_dir() {
            Kind::Folder
        } else {
            Kind::Other
        }
    }
}

/// What lies in a folder under one name.
#[derive(Debug)]
pub struct Found {
    /// What it is; links are not followed.
    pub kind: Kind,
    entry: fs::DirEntry,
}

impl Found {
    /// Its path.
    pub fn path(&self) -> PathBuf {
        self.entry.path()
    }

    /// Its name.
    pub fn name(&self) -> String {
        self.entry.file_name().to_string_lossy().into_owned()
    }

    /// When it was last written, if that can be told.
    pub fn written(&self) -> Option<SystemTime> {
        self.entry.metadata().ok()?.modified().ok()
    }
}

/// What is at a path, links followed.
///
/// # Errors
/// There is nothing, or it may not be looked at.
pub fn kind(path: &Path) -> io::Result<Kind> {
    fs::metadata(path).map(|about| about.file_type().into())
}

/// True if there is anything at a path, links followed.
pub fn is_there(path: &Path) -> bool {
    path.exists()
}

/// True if there is a file at a path, links followed.
pub fn is_file(path: &Path) -> bool {
    path.is_file()
}

/// True if there is a folder at a path, links followed.
pub fn is_folder(path: &Path) -> bool {
    path.is_dir()
}

/// The path without links; the file must be there.
///
/// # Errors
/// It is not there, or its folders may not be looked at.
pub fn real(path: &Path) -> io::Result<PathBuf> {
    fs::canonicalize(path)
}

/// True if two names are those of one file on the disk.
pub fn are_one(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let (Ok(a), Ok(b)) = (a.metadata(), b.metadata()) else {
            return false;
        };
        a.is_file() && (a.dev(), a.ino()) == (b.dev(), b.ino())
    }
    #[cfg(not(unix))]
    {
        let (Ok(a), Ok(b)) = (real(a), real(b)) else {
            return false;
        };
        a == b && a.is_file()
    }
}

/// What lies in a folder, in no order.
///
/// # Errors
/// The folder is not there or may not be read; an entry cannot be looked at.
pub fn list(folder: &Path) -> io::Result<impl Iterator<Item = io::Result<Found>> + use<>> {
    let entries = fs::read_dir(folder)?;
    Ok(entries.map(|entry| {
        let entry = entry?;
        Ok(Found {
            kind: entry.file_type()?.into(),
            entry,
        })
    }))
}

/// The same; a folder that is not there has nothing in it.
///
/// # Errors
/// The folder is there but may not be read.
pub fn list_if_there(folder: &Path) -> io::Result<Vec<io::Result<Found>>> {
    match list(folder) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(Vec::new()),
        entries => Ok(entries?.collect()),
    }
}

/// The bytes of a file.
///
/// # Errors
/// It cannot be read.
pub fn read(path: &Path) -> io::Result<Vec<u8>> {
    fs::read(path)
}

/// The text of a file.
///
/// # Errors
/// It cannot be read, or is no text.
pub fn read_text(path: &Path) -> io::Result<String> {
    fs::read_to_string(path)
}

/// Reads a file to its end, or up to so many bytes and one more, which tells that there are more; they are laid behind what
/// is in `bytes`. Returns how many were read.
///
/// # Errors
/// It cannot be read.
pub fn read_at_most(path: &Path, most: u64, bytes: &mut Vec<u8>) -> io::Result<u64> {
    let read = File::open(path)?
        .take(most.saturating_add(1))
        .read_to_end(bytes)?;
    Ok(read as u64)
}

/// Makes a folder; the one above it must be there.
///
/// # Errors
/// It is there already, or cannot be made.
pub fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir(path)
}

/// Makes a folder and those above it, where they are not there.
///
/// # Errors
/// They cannot be made.
pub fn make_folders(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)
}

/// Removes a file; true if it was there.
///
/// # Errors
/// It is there and cannot be removed.
pub fn remove(path: &Path) -> io::Result<bool> {
    match fs::remove_file(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(false),
        done => done.map(|()| true),
    }
}

/// A file that is read.
#[derive(Debug)]
pub struct Reading(File);

impl Reading {
    /// Opens it.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn of(path: &Path) -> io::Result<Reading> {
        File::open(path).map(Reading)
    }

    /// How long it is, bytes.
    ///
    /// # Errors
    /// The system does not say.
    pub fn length(&self) -> io::Result<u64> {
        self.0.metadata().map(|about| about.len())
    }

    /// When it was last written, if that can be told.
    pub fn written(&self) -> Option<SystemTime> {
        self.0.metadata().ok()?.modified().ok()
    }
}

impl Read for Reading {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.0.read(buffer)
    }
}

impl Seek for Reading {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.0.seek(to)
    }
}

/// A file that grows at its end, by this program alone for as long as this is held: the system takes the claim back when
/// the program stops, however it stops.
#[derive(Debug)]
pub struct Growing(File);

impl Growing {
    /// Makes a new file.
    ///
    /// # Errors
    /// It is there already, or cannot be made.
    pub fn create(path: &Path) -> io::Result<Growing> {
        claimed(OpenOptions::new().write(true).create_new(true).open(path)?)
    }

    /// Opens a file, made if there is none.
    ///
    /// # Errors
    /// It cannot be opened, or another program holds it ([`io::ErrorKind::WouldBlock`]).
    pub fn hold(path: &Path) -> io::Result<Growing> {
        let mut options = OpenOptions::new();
        claimed(options.write(true).create(true).truncate(false).open(path)?)
    }

    /// Goes on with a file that is there.
    ///
    /// # Errors
    /// It cannot be opened, or another program writes it ([`io::ErrorKind::WouldBlock`]).
    pub fn again(path: &Path) -> io::Result<Growing> {
        claimed(OpenOptions::new().read(true).write(true).open(path)?)
    }

    /// Its last bytes, at most so many, and where they begin.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn tail(&mut self, most: u64) -> io::Result<(u64, Vec<u8>)> {
        let from = self.0.metadata()?.len().saturating_sub(most);
        self.0.seek(SeekFrom::Start(from))?;
        let mut tail = Vec::new();
        self.0.read_to_end(&mut tail)?;
        Ok((from, tail))
    }

    /// Cuts away what comes after so many bytes.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn cut(&mut self, length: u64) -> io::Result<()> {
        self.0.set_len(length)
    }

    /// Adds bytes at the end; they are on the disk when this returns.
    ///
    /// # Errors
    /// They cannot be written.
    pub fn add(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.seek(SeekFrom::End(0))?;
        self.0.write_all(bytes)?;
        self.0.sync_data()
    }
}

fn claimed(file: File) -> io::Result<Growing> {
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => Err(io::ErrorKind::WouldBlock.into()),
        // Some shares have no locks; then nobody can be told.
        Ok(()) | Err(TryLockError::Error(_)) => Ok(Growing(file)),
    }
}

/// True if a program holds a [`Growing`] file of this name just now.
pub fn is_growing(path: &Path) -> bool {
    File::open(path).is_ok_and(|file| matches!(file.try_lock_shared(), Err(TryLockError::WouldBlock)))
}
