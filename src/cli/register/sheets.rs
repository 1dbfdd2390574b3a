//! `smirch register sheets`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::record::Code;
use crate::register::Entry;
use crate::report::register::{LOCAL_RULE, sheets_table};
use crate::report::{judged_drawing, judged_html, png, svg};

use super::super::failure::Failure;
use super::super::output::write_file;
use super::opened::{Open, Which, code, sheets, write_table};

/// List what was said by whoever watched, or write the latest as a page to print
#[derive(Debug, Args)]
pub(super) struct Sheets {
    #[command(flatten)]
    which: Which,
    /// Only those of this person
    #[arg(long, value_name = "CODE", value_parser = code)]
    who: Option<Code>,
    /// Write the list as CSV
    #[arg(long, value_name = "OUT.csv")]
    csv: Option<PathBuf>,
    /// Write the latest of a person as a page that prints on one sheet of A4
    #[arg(long, value_name = "OUT.html", requires = "who")]
    html: Option<PathBuf>,
    /// Write the figure of the latest of a person
    #[arg(long, value_name = "OUT.svg", requires = "who")]
    svg: Option<PathBuf>,
    /// The same as PNG
    #[arg(long, value_name = "OUT.png", requires = "who")]
    png: Option<PathBuf>,
}

impl Sheets {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let group = self.which.group()?;
        let theirs = |entry: &Entry, code: &Code| entry.person.as_ref().is_some_and(|p| p.code == *code);
        let entries = sheets(open, |entry, sheet| {
            group.holds(entry.person.as_ref(), sheet.began.date())
                && self.who.as_ref().is_none_or(|code| theirs(entry, code))
        })?;
        let table = sheets_table(&entries);
        if let Some(path) = &self.csv {
            write_table(path, &table)?;
        }
        let latest = entries.last().and_then(|entry| Some((entry, entry.judged()?)));
        if self.html.is_some() || self.svg.is_some() || self.png.is_some() {
            let Some((entry, judged)) = latest else {
                return Err(Failure::Usage(format!(
                    "{}: there is no sheet of this person\n   hint: `smirch register sheets` lists all of them",
                    open.register.folder().display()
                )));
            };
            let drawing = judged_drawing(judged);
            if let Some(path) = &self.html {
                write_file(
                    path,
                    judged_html(entry.person.as_ref(), judged, Some(entry.at)).as_bytes(),
                )?;
            }
            if let Some(path) = &self.svg {
                write_file(path, svg(&drawing).as_bytes())?;
            }
            if let Some(path) = &self.png {
                write_file(path, &png(&drawing).map_err(Failure::Faults)?)?;
            }
        }
        let mut out = std::io::stdout().lock();
        out.write_all(table.text().as_bytes())?;
        out.flush()?;
        eprintln!("note: {LOCAL_RULE}");
        Ok(())
    }
}
