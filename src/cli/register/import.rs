//! `smirch register import`.

use std::path::PathBuf;

use clap::Args;

use super::super::failure::Failure;
use super::opened::{Open, entries, say_left_out, unlisted};
use crate::register::Register;

/// Merge another register into this one
///
/// Every sound entry that is not here yet is taken over, once; what was forgotten here stays away. Nothing is changed there.
#[derive(Debug, Args)]
pub(super) struct Import {
    /// The folder of the other register
    from: PathBuf,
}

impl Import {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let other = Register::at(self.from);
        if !other.is_there() {
            return Err(Failure::Usage(format!(
                "{}: there is no register\n   hint: give the folder of one",
                other.folder().display()
            )));
        }
        let taken = open.register.import(&other).map_err(|e| unlisted(&other, &e))?;
        say_left_out(&taken.reading);
        println!("{} taken over", entries(taken.new));
        for (n, what) in [
            (taken.known, "here already"),
            (taken.forgotten, "left there, since somebody is to be forgotten"),
            (taken.removed, "removed here, since somebody was forgotten there"),
        ] {
            if n > 0 {
                println!("{} {what}", entries(n));
            }
        }
        Ok(())
    }
}
