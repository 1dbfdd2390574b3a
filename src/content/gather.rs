//! Content files of a folder, however it is made: links that lead back, pipes, and folders too deep or too large end in
//! faults and never in waiting or in memory.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::outside::files::{self, Kind};
use crate::outside::machine;

use super::fault::Faults;

/// How deep folders may be nested.
const DEPTH: usize = 12;
/// How many entries of any kind are looked at.
const ENTRIES: usize = 50_000;
/// How many content files are read.
const FILES: usize = 2_000;

/// Every .ron file below a folder, sorted. What cannot be read is a fault.
pub(super) fn gather(folder: &Path, faults: &Faults) -> Vec<PathBuf> {
    let mut walk = Walk {
        faults,
        files: Vec::new(),
        seen: BTreeMap::new(),
        entries: 0,
        full: false,
    };
    walk.folder(folder, 0);
    walk.files.sort();
    walk.files
}

struct Walk<'a> {
    faults: &'a Faults,
    files: Vec<PathBuf>,
    /// Folders read so far by their true path, with the path by which they were come to.
    seen: BTreeMap<PathBuf, PathBuf>,
    entries: usize,
    full: bool,
}

impl Walk<'_> {
    fn fault(&self, path: &Path, brief: String, hint: &str) {
        self.faults.report_file(&path.display().to_string(), brief, hint);
    }

    fn folder(&mut self, folder: &Path, depth: usize) {
        let entries = match files::real(folder).and_then(|real| Ok((real, files::list(folder)?))) {
            Ok((real, entries)) => {
                if let Some(had) = self.seen.get(&real) {
                    let brief = format!("this is the folder `{}` once more", had.display());
                    return self.fault(folder, brief, "remove the link; each folder is read once");
                }
                self.seen.insert(real, folder.to_owned());
                entries
            }
            Err(error) => {
                return self.fault(
                    folder,
                    format!("cannot be read: {error}"),
                    "name a folder that is there and may be read",
                );
            }
        };
        if depth > DEPTH {
            let brief = format!("this folder lies more than {DEPTH} folders deep");
            return self.fault(
                folder,
                brief,
                "give a folder that holds content files and little else",
            );
        }
        // In the order of their names, so that the same folder always gives the same faults.
        let mut paths = Vec::new();
        for entry in entries.flatten() {
            self.entries += 1;
            if self.entries > ENTRIES {
                return self.overflow(
                    folder,
                    format!("there are more than {ENTRIES} files and folders here"),
                );
            }
            paths.push(entry.path());
        }
        paths.sort();
        for path in paths {
            if self.full {
                return;
            }
            self.entry(folder, path, depth);
        }
    }

    fn entry(&mut self, folder: &Path, path: PathBuf, depth: usize) {
        let content = path.extension().is_some_and(|e| e == "ron");
        match files::kind(&path) {
            Ok(Kind::Folder) => self.folder(&path, depth + 1),
            Ok(_) if !content => {}
            Ok(Kind::File) if self.files.len() == FILES => {
                self.overflow(folder, format!("there are more than {FILES} content files here"));
            }
            // A pipe or a device is reported where it is read.
            Ok(_) => self.files.push(path),
            Err(error) if content => {
                let brief = format!("this file cannot be read: {error}");
                self.fault(&path, brief, "mend or remove the link, or let the file be read");
            }
            // A link that leads nowhere and has nothing to do with content.
            Err(_) => {}
        }
    }

    fn overflow(&mut self, folder: &Path, brief: String) {
        self.full = true;
        self.fault(
            folder,
            brief,
            "give a folder that holds content files and little else",
        );
    }
}

/// The folder of content that a file belongs to, if it lies in its `scenarios` or `assets` as in the built-in content.
pub(super) fn home(file: &Path) -> Option<PathBuf> {
    let whole = std::path::absolute(file).ok()?;
    let part = whole.ancestors().skip(1).find(|folder| {
        folder
            .file_name()
            .is_some_and(|name| name == "scenarios" || name == "assets")
    })?;
    let home = part.parent()?;
    // As short as it can be said from here.
    let here = machine::here();
    let short = here.and_then(|here| home.strip_prefix(here).ok().map(Path::to_owned));
    Some(short.unwrap_or_else(|| home.to_owned()))
}

/// Content files that lie beside the given ones in their folders of content, these left out.
pub(super) fn beside(files: &[PathBuf], faults: &Faults) -> Vec<PathBuf> {
    let real = |path: &Path| files::real(path).ok();
    let given: Vec<PathBuf> = files.iter().filter_map(|file| real(file)).collect();
    let mut homes: Vec<PathBuf> = files.iter().filter_map(|file| home(file)).collect();
    homes.sort();
    homes.dedup();
    homes
        .iter()
        .flat_map(|home| content_of(home, faults))
        .filter(|file| !real(file).is_some_and(|file| given.contains(&file)))
        .collect()
}

/// Content files in the `assets` and `scenarios` of a folder of content.
pub(super) fn content_of(home: &Path, faults: &Faults) -> Vec<PathBuf> {
    let parts = ["assets", "scenarios"].map(|part| home.join(part));
    parts
        .iter()
        .filter(|part| files::is_folder(part))
        .flat_map(|part| gather(part, faults))
        .collect()
}

/// A file's path as it is said within a folder of content, such as `assets/body.ron`.
pub(super) fn relative(file: &Path, folder: &Path) -> String {
    let inside = file.strip_prefix(folder).unwrap_or(file);
    inside.to_string_lossy().replace('\\', "/")
}
