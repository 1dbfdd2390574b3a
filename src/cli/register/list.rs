//! `smirch register list`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::report::register::{LOCAL_RULE, attempts_table};

use super::super::failure::Failure;
use super::opened::{Open, Which, attempts, write_table};

/// List attempts, one a line, in the order of time
#[derive(Debug, Args)]
pub(super) struct List {
    #[command(flatten)]
    which: Which,
    /// Write the list as CSV
    #[arg(long, value_name = "OUT.csv")]
    csv: Option<PathBuf>,
}

impl List {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let group = self.which.group()?;
        let (entries, decided) = attempts(open, |entry, attempt| {
            group.holds(entry.person.as_ref(), attempt.began.date())
        })?;
        let table = attempts_table(&entries, open.rules()?, &decided);
        if let Some(path) = &self.csv {
            write_table(path, &table)?;
        }
        let mut out = std::io::stdout().lock();
        out.write_all(table.text().as_bytes())?;
        out.flush()?;
        eprintln!("note: {LOCAL_RULE}");
        Ok(())
    }
}
