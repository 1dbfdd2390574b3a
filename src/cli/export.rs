//! `smirch export`.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use crate::content::embedded;
use crate::outside::{files, write};

use super::Failure;

/// Write the content that smirch carries into a new folder: files to start from when making your own.
///
/// Change what you need and delete the rest: what is missing from a folder given with `--content` is taken from smirch.
#[derive(Debug, Args)]
pub(super) struct Export {
    /// The folder to make; nothing that exists is written over
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

impl Export {
    pub(super) fn run(self) -> Result<(), Failure> {
        let folder = &self.folder;
        make_empty(folder)?;
        let fail = |path: &Path, e: io::Error| {
            Failure::Faults(format!("{}: cannot be written: {e}", path.display()))
        };
        let files = embedded();
        for (name, bytes) in &files {
            let path = folder.join(name);
            if let Some(parent) = path.parent() {
                files::make_folders(parent).map_err(|e| fail(parent, e))?;
            }
            write::new(&path, bytes).map_err(|e| fail(&path, e))?;
        }
        let mut out = io::stdout().lock();
        for (name, _) in &files {
            writeln!(out, "{}", folder.join(name).display())?;
        }
        out.flush()?;
        eprintln!(
            "{} files written; `smirch check FILE` checks what you change, `smirch --content {}` opens the window with it",
            files.len(),
            folder.display()
        );
        Ok(())
    }
}

/// Makes the folder, or finds it empty.
fn make_empty(folder: &Path) -> Result<(), Failure> {
    let refuse = |why: &str| {
        Failure::Usage(format!(
            "{}: {why}\n   hint: give the name of a new folder; nothing is ever written over",
            folder.display()
        ))
    };
    match files::make_folder(folder) {
        Ok(()) => Ok(()),
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {
            let there = files::list(folder).map(|mut entries| entries.next().is_some());
            match there {
                Ok(false) => Ok(()),
                Ok(true) => Err(refuse("this folder is not empty")),
                Err(_) => Err(refuse("there is something of this name already")),
            }
        }
        Err(e) => Err(Failure::Faults(format!(
            "{}: cannot be made: {e}",
            folder.display()
        ))),
    }
}
