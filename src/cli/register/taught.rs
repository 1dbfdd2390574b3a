//! `smirch register taught`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::register::{Entry, What};
use crate::report::register::{exercises_table, lessons_table};

use super::super::failure::Failure;
use super::opened::{Open, Which, say_left_out, unlisted, write_table};

/// List lessons with the hands that went up, or lamp exercises with who glowed where; no names are kept of either
#[derive(Debug, Args)]
pub(super) struct Taught {
    #[command(flatten)]
    which: Which,
    /// Lamp exercises instead, one line for each person
    #[arg(long)]
    exercises: bool,
    /// Write the list as CSV
    #[arg(long, value_name = "OUT.csv")]
    csv: Option<PathBuf>,
}

impl Taught {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        if self.which.group.is_some() {
            return Err(Failure::Usage(
                "of a lesson no groups are kept\n   hint: leave `--group` out".to_owned(),
            ));
        }
        let group = self.which.group()?;
        let reading = open.register.read().map_err(|e| unlisted(&open.register, &e))?;
        say_left_out(&reading);
        let asked = |entry: &&Entry| {
            let (ward, began) = match &entry.what {
                What::Lesson(given) => (given.ward.as_ref(), given.began),
                What::Exercise(exercise) => (exercise.ward.as_ref(), exercise.began),
                _ => return false,
            };
            group.holds_at(ward, None, began.date())
        };
        let entries: Vec<&Entry> = reading.found.iter().filter(asked).collect();
        let table = match self.exercises {
            true => exercises_table(&entries),
            false => lessons_table(&entries),
        };
        if let Some(path) = &self.csv {
            write_table(path, &table)?;
        }
        let mut out = std::io::stdout().lock();
        out.write_all(table.text().as_bytes())?;
        out.flush()?;
        Ok(())
    }
}
