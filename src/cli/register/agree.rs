//! `smirch register agree`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::register::agreements;
use crate::report::register::{KAPPA_WARNING, agreement_table, agreement_text};

use super::super::failure::Failure;
use super::opened::{Open, Which, sheets, write_table};

/// Tell how far two people agree who watched the same person at the same time
///
/// Sheets belong together if they are of one person, by one sequence or checklist, by different observers, and begun within
/// ten minutes of each other.
#[derive(Debug, Args)]
pub(super) struct Agree {
    #[command(flatten)]
    which: Which,
    /// Write it as CSV, a line for each step
    #[arg(long, value_name = "OUT.csv")]
    csv: Option<PathBuf>,
}

impl Agree {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let group = self.which.group()?;
        let entries = sheets(open, |entry, sheet| {
            group.holds(entry.person.as_ref(), sheet.began.date())
        })?;
        let found = agreements(&entries);
        if found.is_empty() {
            return Err(Failure::Usage(format!(
                "{}: no two sheets belong together\n   hint: two observers watch the same person, each with a page of their own, \
                 begin within ten minutes of each other and give the same code",
                open.register.folder().display()
            )));
        }
        if let Some(path) = &self.csv {
            write_table(path, &agreement_table(&found))?;
        }
        let mut out = std::io::stdout().lock();
        for agreements in &found {
            out.write_all(agreement_text(agreements).as_bytes())?;
        }
        out.flush()?;
        eprintln!("note: {KAPPA_WARNING}");
        Ok(())
    }
}
