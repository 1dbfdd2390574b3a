//! `smirch check`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::content::Content;

use super::{Failure, count_words};

/// Check content files and report every fault, with its place and a hint.
///
/// Scenarios, sequences, scripts, techniques and all other content files are told apart by what is in them. Files
/// checked together see each other: a script can be checked with the scenario it is for.
#[derive(Debug, Args)]
pub(super) struct Check {
    /// Content files
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
}

impl Check {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        let checked = content.check(&self.files);
        let faults = &checked.faults;
        let mut out = std::io::stdout().lock();
        for fault in faults {
            writeln!(out, "{}", fault.to_string().trim_end())?;
        }
        out.flush()?;
        if faults.is_empty() {
            let files = |n: usize| {
                if n == 1 {
                    "1 file".to_owned()
                } else {
                    format!("{n} files")
                }
            };
            let beside = match checked.beside {
                0 => String::new(),
                n => format!(" with {} beside it", files(n)),
            };
            eprintln!("{} checked{beside}, no faults", files(checked.read));
            return Ok(());
        }
        Err(Failure::Faults(count_words(faults.len())))
    }
}
