//! `smirch register report`.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use crate::record::Purpose;
use crate::register::{Group, Moment, tally};
use crate::report::cohort_report;

use super::super::failure::Failure;
use super::super::output::write_file;
use super::opened::{Open, Which, date, say_left_out, unlisted, write_table};

/// Report on a group: how many pass, which steps are missed most, where it ended up
///
/// Real people who were watched have parts of their own, whatever attempts were made for. Small groups are not told of, and nobody is ranked.
#[derive(Debug, Args)]
pub(super) struct Report {
    #[command(flatten)]
    which: Which,
    /// Only attempts made for this; everything but scripts if left out
    #[arg(long, value_name = "PURPOSE")]
    purpose: Option<Made>,
    /// Only attempts judged by this sequence
    #[arg(long, value_name = "ID")]
    sequence: Option<String>,
    /// Also compare what was before this day with what came from it on, such as that of a training
    #[arg(long, value_name = "DATE", value_parser = date)]
    split: Option<Date>,
    /// Write the report as a page that needs nothing but itself
    #[arg(long, value_name = "OUT.html")]
    html: Option<PathBuf>,
    /// Write its numbers as CSV
    #[arg(long, value_name = "OUT.csv")]
    csv: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Made {
    Practice,
    Assessment,
    Class,
    Script,
}

impl Report {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let library = &open.content.library;
        if let Some(id) = &self.sequence
            && library.sequence(id).is_none()
        {
            let known = library.sequences.iter().map(|s| s.id.as_str());
            return Err(Failure::Usage(super::super::find::unknown("sequence", id, known)));
        }
        let group = Group {
            purpose: self.purpose.map(|made| match made {
                Made::Practice => Purpose::Practice,
                Made::Assessment => Purpose::Assessment,
                Made::Class => Purpose::Class,
                Made::Script => Purpose::Script,
            }),
            sequence: self.sequence,
            split: self.split,
            ..self.which.group()?
        };
        let rules = open.rules()?;
        let (tally, reading) =
            tally(&open.register, rules, &group).map_err(|e| unlisted(&open.register, &e))?;
        say_left_out(&reading);
        let report = cohort_report(library, rules, &group, &tally, Moment::now()).map_err(|why| {
            Failure::Faults(format!("{why}\n   hint: take a larger group or a longer time"))
        })?;
        if let Some(path) = &self.html {
            write_file(path, report.html().as_bytes())?;
        }
        if let Some(path) = &self.csv {
            write_table(path, &report.table())?;
        }
        let mut out = std::io::stdout().lock();
        out.write_all(report.text().as_bytes())?;
        out.flush()?;
        Ok(())
    }
}
