//! A station that keeps entries: first on its own disk, then in the register, so that a share that is away at that
//! moment loses nothing. What waits is brought over the next time.

use std::borrow::Cow;
use std::io;
use std::path::{Path, PathBuf};

use crate::outside::files;
use crate::record::Label;

use super::entry::read;
use super::read::remove;
use super::{Entry, Register};

/// A register and the folder in which entries wait for it.
#[derive(Clone, Debug)]
pub struct Station {
    register: Register,
    waiting: Register,
    name: Option<Label>,
}

/// Where an entry is kept now.
#[derive(Debug)]
pub enum Keeping {
    /// In the register.
    Register(PathBuf),
    /// On this machine, since the register cannot be written now.
    Waiting(PathBuf, io::Error),
}

/// What came of bringing over what waited.
#[derive(Debug, Default)]
pub struct Delivered {
    /// Entries that are in the register now.
    pub entries: usize,
    /// Files that still wait, and why.
    pub left: Vec<(PathBuf, String)>,
}

impl Station {
    /// A station that keeps its entries in a register, and in a folder of its own while that is away.
    pub fn new(register: Register, waiting: PathBuf) -> Station {
        Station {
            register,
            waiting: Register::at(waiting),
            name: None,
        }
    }

    /// The same with a name, which stands in every entry that it keeps; with none nothing is said.
    pub fn named(self, name: Option<Label>) -> Station {
        Station { name, ..self }
    }

    /// Its name, if it has one.
    pub fn name(&self) -> Option<&Label> {
        self.name.as_ref()
    }

    /// The register.
    pub fn register(&self) -> &Register {
        &self.register
    }

    /// Keeps an entry, with the name of this station if it has none yet. When this returns it is on a disk, whatever happens next.
    ///
    /// # Errors
    /// It can be written neither there nor here.
    pub fn keep(&self, entry: &Entry) -> io::Result<Keeping> {
        let mut entry = Cow::Borrowed(entry);
        if entry.station.is_none() && self.name.is_some() {
            entry.to_mut().station.clone_from(&self.name);
        }
        let here = self.waiting.keep(&entry)?;
        match self.register.keep(&entry) {
            Ok(path) => {
                remove(&here)?;
                Ok(Keeping::Register(path))
            }
            Err(why) => Ok(Keeping::Waiting(here, why)),
        }
    }

    /// Brings over what waits. An entry that is in both places is the same entry, so stopping at any moment does no harm.
    ///
    /// # Errors
    /// The folder in which entries wait cannot be listed.
    pub fn deliver(&self) -> io::Result<Delivered> {
        let mut delivered = Delivered::default();
        if !self.waiting.is_there() {
            return Ok(delivered);
        }
        for path in self.waiting.files()?.entries {
            match self.bring(&path) {
                Ok(()) => delivered.entries += 1,
                Err(why) => delivered.left.push((path, why)),
            }
        }
        Ok(delivered)
    }

    fn bring(&self, path: &Path) -> Result<(), String> {
        let text = files::read_text(path).map_err(|e| format!("it cannot be read: {e}"))?;
        let entry: Entry = read(&text).map_err(|_| "it is damaged".to_owned())?;
        self.register
            .keep_file(&entry.month(), &entry.file_name(), text.as_bytes())
            .map_err(|e| format!("the register cannot be written: {e}"))?;
        remove(path).map_err(|e| format!("it is in the register, but cannot be removed here: {e}"))
    }
}
