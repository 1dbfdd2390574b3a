//! `smirch register due`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use crate::record::{Code, Label};
use crate::register::{Moment, due};
use crate::report::due_calendar;
use crate::report::register::{NO_TRIAL, due_table};

use super::super::failure::Failure;
use super::super::output::write_file;
use super::opened::{Open, code, date, group, say_left_out, unlisted, ward, write_table};

/// List who is due for practice again, the longest due first
///
/// One line for each person and sequence. Practice and assessments count, classes and scripts do not.
#[derive(Debug, Args)]
pub(super) struct WhoIsDue {
    /// Only who is due by this day, such as 2026-03-01 [default: today]
    #[arg(long, value_parser = date, value_name = "DATE", conflicts_with = "all")]
    by: Option<Date>,
    /// Everybody, with the day on which they will be due
    #[arg(long)]
    all: bool,
    /// Only what is due for this person, as for a calendar of their own
    #[arg(long, value_name = "CODE", value_parser = code)]
    who: Option<Code>,
    /// Only those of this ward
    #[arg(long, value_parser = ward)]
    ward: Option<Label>,
    /// Only those of this group, such as a profession
    #[arg(long, value_parser = group)]
    group: Option<Label>,
    /// Write the list as CSV
    #[arg(long, value_name = "OUT.csv")]
    csv: Option<PathBuf>,
    /// Write the dates as a calendar file (iCalendar, RFC 5545)
    #[arg(long, value_name = "OUT.ics")]
    ics: Option<PathBuf>,
}

impl WhoIsDue {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let now = Moment::now();
        let list = due(&open.register, open.rules()?, now).map_err(|e| unlisted(&open.register, &e))?;
        say_left_out(&list.reading);
        let by = self.by.unwrap_or_else(|| now.date());
        let mut rows = list.rows;
        let all = rows.len();
        rows.retain(|row| {
            (self.all || row.due <= by)
                && self.who.as_ref().is_none_or(|code| *code == row.code)
                && Label::takes(self.ward.as_ref(), row.ward.as_ref())
                && Label::takes(self.group.as_ref(), row.group.as_ref())
        });
        let table = due_table(&rows);
        if let Some(path) = &self.csv {
            write_table(path, &table)?;
        }
        if let Some(path) = &self.ics {
            write_file(path, due_calendar(&rows, now).as_bytes())?;
        }
        let mut out = std::io::stdout().lock();
        out.write_all(table.text().as_bytes())?;
        out.flush()?;
        eprintln!("note: {} of {all} lines; {NO_TRIAL}", rows.len());
        if list.nobodys > 0 {
            eprintln!(
                "note: {} made without a code are nobody's",
                crate::report::many(list.nobodys as u64, "attempt")
            );
        }
        if list.ahead > 0 {
            eprintln!(
                "note: {} dated later than now, and that date is not used\n   hint: set the clock of the station that wrote them",
                crate::report::many(list.ahead as u64, "attempt")
            );
        }
        Ok(())
    }
}
