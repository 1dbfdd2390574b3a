//! Merging: what another folder has and this one has not. The union of two folders is the same whoever begins.

use std::collections::HashSet;
use std::io;

use crate::outside::files;
use crate::record::Id;

use super::brief::Brief;
use super::entry::read_sealed;
use super::read::remove;
use super::{Entry, Reading, Register};

/// What came of a merge.
#[derive(Debug)]
pub struct Imported {
    /// Entries taken over.
    pub new: usize,
    /// Entries that were here already.
    pub known: usize,
    /// Entries left there, since they were forgotten here or there.
    pub forgotten: usize,
    /// Entries removed here, since they were forgotten there.
    pub removed: usize,
    /// What was read there, and what was left out.
    pub reading: Reading<()>,
}

impl Register {
    /// Takes over every sound entry of another register, with what was forgotten there.
    ///
    /// # Errors
    /// A folder cannot be listed, or this one cannot be written.
    pub fn import(&self, other: &Register) -> io::Result<Imported> {
        let (mut here, mut gone): (HashSet<Id>, HashSet<Id>) = Default::default();
        if self.is_there() {
            let (ids, rest) = self
                .read_as(|sealed, _| Brief::of(sealed).map(|brief| (brief.id, Some(brief.id))))?
                .apart();
            here.extend(
                ids.into_iter()
                    .chain(rest.tombstones.iter().map(|entry| entry.id)),
            );
            gone.extend(rest.tombstones.iter().flat_map(Entry::forgets));
        }
        let (found, reading) = other
            .read_as(|sealed, path| {
                let entry: Entry = read_sealed(sealed)?;
                Ok((entry.id, Some((entry, path.to_owned()))))
            })?
            .apart();
        // What was forgotten there comes first, so that nothing shows here in between that is gone there.
        let unheard = |entry: &&Entry| !here.contains(&entry.id);
        let mut removed = 0;
        for tombstone in reading.tombstones.iter().filter(unheard) {
            self.keep(tombstone)?;
            gone.extend(tombstone.forgets());
            removed += tombstone.forgets().iter().filter(|id| here.contains(id)).count();
        }
        if removed > 0 {
            let again = self.read_as(|sealed, _| Brief::of(sealed).map(|brief| (brief.id, None::<()>)))?;
            for path in &again.came_back {
                remove(path)?;
            }
        }
        let (mut new, mut known, mut forgotten) = (0, 0, 0);
        for (entry, path) in &found {
            if gone.contains(&entry.id) {
                forgotten += 1;
            } else if here.contains(&entry.id) {
                known += 1;
            } else {
                // Byte for byte, also what a newer program put into it.
                self.keep_file(&entry.month(), &entry.file_name(), &files::read(path)?)?;
                new += 1;
            }
        }
        Ok(Imported {
            new,
            known,
            forgotten,
            removed,
            reading,
        })
    }
}
