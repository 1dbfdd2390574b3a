//! Reading a register: every entry that is sound, once, whatever else lies there. What is damaged is named and left out.

use std::io;
use std::path::{Path, PathBuf};

use rustc_hash::FxHashSet;

use super::entry::{NoEntry, Sealed, read_sealed};
use super::{ENTRY_FORMAT, Entry, Register, What};
use crate::outside::files;
use crate::outside::threads::parallel::*;
use crate::record::Id;

/// Larger files are no entries, bytes.
const MOST: u64 = 4 * 1024 * 1024;

/// What was read.
#[derive(Clone, Debug)]
pub struct Reading<R> {
    /// What was made of each entry, in the order of their times; every entry once.
    pub found: Vec<R>,
    /// What is damaged and was left out.
    pub damage: Vec<Damage>,
    /// Entries of a newer format, left out.
    pub newer: Vec<PathBuf>,
    /// Files that were being written, now or when a station stopped.
    pub half_written: Vec<PathBuf>,
    /// What has no business in a register: passed over.
    pub odd: Vec<PathBuf>,
    /// Files of entries that had been forgotten and came back with another folder: left out.
    pub came_back: Vec<PathBuf>,
    /// The entries that tell what was forgotten.
    pub(super) tombstones: Vec<Entry>,
}

/// A file that was left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// The file.
    pub path: PathBuf,
    /// What is wrong, as a sentence.
    pub why: String,
}

/// One file as read.
enum One<R> {
    Found(Id, Option<R>),
    Forgotten(Entry),
    Newer(PathBuf),
    Damaged(Damage),
    Gone,
}

impl Register {
    /// Reads everything whole.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn read(&self) -> io::Result<Reading<Entry>> {
        self.read_as(|sealed, _| read_sealed::<Entry>(sealed).map(|entry| (entry.id, Some(entry))))
    }

    /// Reads every entry and makes something of its text, with which its id comes; which fields are taken is the maker's
    /// affair. Entries that only tell what was forgotten are not among them.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub(super) fn read_as<R: Send>(
        &self,
        make: impl Fn(Sealed<'_>, &Path) -> Result<(Id, Option<R>), NoEntry> + Sync,
    ) -> io::Result<Reading<R>> {
        self.read_with(|(), sealed, path| make(sealed, path))
    }

    /// The same where the maker remembers something from one entry to the next. The memory begins anew wherever the work is
    /// shared out, and is lost in the end; and what was made of an entry may be, too, where it was forgotten or is a copy.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub(super) fn read_with<R: Send, Memory: Default>(
        &self,
        make: impl Fn(&mut Memory, Sealed<'_>, &Path) -> Result<(Id, Option<R>), NoEntry> + Sync,
    ) -> io::Result<Reading<R>> {
        let files = self.files()?;
        // Written into its place at once: what is made of two hundred thousand files is not copied about.
        let mut ones: Vec<One<R>> = Vec::new();
        ones.resize_with(files.entries.len(), || One::Gone);
        ones.par_chunks_mut(AT_ONCE)
            .zip(files.entries.par_chunks(AT_ONCE))
            .with_min_len(16)
            .for_each_init(
                <([Vec<u8>; AT_ONCE], Memory)>::default,
                |(bytes, memory), (ones, paths)| {
                    some(ones, paths, bytes, |sealed, path| make(memory, sealed, path));
                },
            );
        let mut reading = Reading {
            found: Vec::new(),
            damage: Vec::new(),
            newer: Vec::new(),
            half_written: files.half_written,
            odd: files.odd,
            came_back: Vec::new(),
            tombstones: Vec::new(),
        };
        let forgotten: FxHashSet<Id> = ones
            .iter()
            .filter_map(|one| match one {
                One::Forgotten(entry) => Some(entry.forgets().iter().copied()),
                _ => None,
            })
            .flatten()
            .collect();
        let mut met = FxHashSet::with_capacity_and_hasher(ones.len(), Default::default());
        reading.found.reserve(ones.len());
        for (one, path) in ones.into_iter().zip(files.entries) {
            match one {
                One::Found(id, _) if forgotten.contains(&id) => reading.came_back.push(path),
                // A copy that merging or a careful person left: the same entry.
                One::Found(id, made) => {
                    if met.insert(id) {
                        reading.found.extend(made);
                    }
                }
                One::Newer(path) => reading.newer.push(path),
                One::Damaged(damage) => reading.damage.push(damage),
                One::Forgotten(entry) => {
                    if met.insert(entry.id) {
                        reading.tombstones.push(entry);
                    }
                }
                One::Gone => {}
            }
        }
        Ok(reading)
    }
}

/// How many files are looked at together, see [`Sealed::each`].
const AT_ONCE: usize = 8;

fn some<R>(
    ones: &mut [One<R>],
    paths: &[PathBuf],
    bytes: &mut [Vec<u8>; AT_ONCE],
    mut make: impl FnMut(Sealed<'_>, &Path) -> Result<(Id, Option<R>), NoEntry>,
) {
    let mut whole: [Option<One<R>>; AT_ONCE] = [const { None }; AT_ONCE];
    for (n, path) in paths.iter().enumerate() {
        whole[n] = unread(path, &mut bytes[n]);
    }
    let texts: [Option<&str>; AT_ONCE] = std::array::from_fn(|n| std::str::from_utf8(&bytes[n]).ok());
    let sealed = Sealed::each(texts.map(Option::unwrap_or_default));
    let each = paths.iter().zip(whole).zip(texts.into_iter().zip(sealed));
    for (into, ((path, unread), (text, sealed))) in ones.iter_mut().zip(each) {
        *into = match (unread, text) {
            (Some(unread), _) => unread,
            (None, None) => damaged(path, "it is no text".to_owned()),
            (None, Some(_)) => one(path, sealed, &mut make),
        };
    }
}

fn damaged<R>(path: &Path, why: String) -> One<R> {
    One::Damaged(Damage {
        path: path.to_owned(),
        why,
    })
}

/// Reads the bytes of a file; if they cannot be read, why.
fn unread<R>(path: &Path, bytes: &mut Vec<u8>) -> Option<One<R>> {
    bytes.clear();
    match files::read_at_most(path, MOST, bytes) {
        // Removed since it was listed.
        Err(e) if e.kind() == io::ErrorKind::NotFound => Some(One::Gone),
        Err(e) => Some(damaged(path, format!("it cannot be read: {e}"))),
        Ok(length) if length > MOST => Some(damaged(path, "it is too long for an entry".to_owned())),
        Ok(_) => None,
    }
}

fn one<R>(
    path: &Path,
    sealed: Sealed<'_>,
    make: &mut impl FnMut(Sealed<'_>, &Path) -> Result<(Id, Option<R>), NoEntry>,
) -> One<R> {
    let made = if sealed.tells("forgotten") {
        read_sealed::<Entry>(sealed).map(|entry| match &entry.what {
            What::Forgotten(_) => One::Forgotten(entry),
            _ => One::Gone,
        })
    } else {
        make(sealed, path).map(|(id, made)| One::Found(id, made))
    };
    match made {
        Ok(one) => one,
        Err(NoEntry::Newer(_)) => One::Newer(path.to_owned()),
        Err(NoEntry::Broken(why)) => damaged(path, why),
    }
}

impl<R> Reading<R> {
    /// What was made of the entries, and all the rest.
    pub(super) fn apart(self) -> (Vec<R>, Reading<()>) {
        let rest = Reading {
            found: Vec::new(),
            damage: self.damage,
            newer: self.newer,
            half_written: self.half_written,
            odd: self.odd,
            came_back: self.came_back,
            tombstones: self.tombstones,
        };
        (self.found, rest)
    }

    /// What was left out, a line for each sort and each damaged file; empty if nothing was.
    pub fn left_out(&self) -> Vec<String> {
        let mut lines: Vec<String> = self
            .damage
            .iter()
            .map(|d| format!("{}: left out: {}", d.path.display(), d.why))
            .collect();
        for path in &self.newer {
            lines.push(format!(
                "{}: left out: its format is newer than {ENTRY_FORMAT}; use a newer smirch",
                path.display()
            ));
        }
        lines
    }
}

/// Removes a file that was listed; one that is gone already is as good.
pub(super) fn remove(path: &Path) -> io::Result<()> {
    files::remove(path).map(|_| ())
}
