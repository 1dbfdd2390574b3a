//! `smirch register show`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::record::Code;
use crate::register::Entry;
use crate::report::register::{LOCAL_RULE, attempts_table, entry_text, sheet_text};

use super::super::failure::Failure;
use super::opened::{Open, attempts, code, sheets, write_table};

/// Show everything that is kept of one person
#[derive(Debug, Args)]
pub(super) struct Show {
    /// The person's code
    #[arg(value_parser = code)]
    code: Code,
    /// Write the list of their attempts as CSV
    #[arg(long, value_name = "OUT.csv")]
    csv: Option<PathBuf>,
}

impl Show {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let theirs = |entry: &Entry| entry.person.as_ref().is_some_and(|p| p.code == self.code);
        let (entries, decided) = attempts(open, |entry, _| theirs(entry))?;
        let watched = sheets(open, |entry, _| theirs(entry))?;
        if entries.is_empty() && watched.is_empty() {
            return Err(Failure::Usage(format!(
                "{}: nothing is kept of `{}`\n   hint: `smirch register list` shows all codes",
                open.register.folder().display(),
                self.code
            )));
        }
        let rules = open.rules()?;
        if let Some(path) = &self.csv {
            write_table(path, &attempts_table(&entries, rules, &decided))?;
        }
        let mut out = std::io::stdout().lock();
        for (n, entry) in entries.iter().enumerate() {
            if n > 0 {
                writeln!(out)?;
            }
            out.write_all(entry_text(entry, rules, &decided).as_bytes())?;
        }
        for sheet in watched.iter().filter_map(Entry::judged) {
            out.write_all(format!("\n{}", sheet_text(sheet)).as_bytes())?;
        }
        out.flush()?;
        eprintln!("note: {LOCAL_RULE}");
        Ok(())
    }
}
