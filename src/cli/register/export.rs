//! `smirch register export`.

use std::path::PathBuf;

use clap::Args;
use serde_json::Value;

use crate::record::Code;
use crate::register::Entry;
use crate::report::register::{attempts_table, watched_table};
use crate::report::{many, xapi};

use super::super::failure::Failure;
use super::super::output::write_json;
use super::opened::{Open, Which, attempts, code, sheets, write_table};

/// Write attempts, or real people who were watched, in open formats for other programs
///
/// Nothing is sent anywhere. Statements are those of attempts and of real people with a code; an assessment is passed or failed as
/// whoever watched decided, or else by the local rule, and whether somebody is competent stays for a person to decide.
#[derive(Debug, Args)]
pub(super) struct Export {
    #[command(flatten)]
    which: Which,
    /// Only those of this person
    #[arg(long, value_name = "CODE", value_parser = code)]
    who: Option<Code>,
    /// Write a table as CSV (RFC 4180)
    #[arg(long, value_name = "OUT.csv", required_unless_present_any = ["json", "xapi", "watched"])]
    csv: Option<PathBuf>,
    /// Write the entries whole, as JSON: attempts, then sheets of whoever watched, of attempts and of real people
    #[arg(long, value_name = "OUT.json")]
    json: Option<PathBuf>,
    /// Write xAPI 1.0.3 statements, as JSON
    #[arg(long, value_name = "OUT.json")]
    xapi: Option<PathBuf>,
    /// Write a table of real people who were watched, a row for each step, as CSV: they are not in the table of attempts
    #[arg(long, value_name = "OUT.csv")]
    watched: Option<PathBuf>,
}

impl Export {
    pub(super) fn run(self, open: &Open) -> Result<(), Failure> {
        let group = self.which.group()?;
        let theirs = |entry: &Entry, code: &Code| entry.person.as_ref().is_some_and(|p| p.code == *code);
        let (entries, decided) = attempts(open, |entry, attempt| {
            group.holds(entry.person.as_ref(), attempt.began.date())
                && self.who.as_ref().is_none_or(|code| theirs(entry, code))
        })?;
        let rules = open.rules()?;
        let sheets_of_all = match self.json.is_some() || self.xapi.is_some() || self.watched.is_some() {
            false => Vec::new(),
            true => sheets(open, |entry, sheet| {
                group.holds(entry.person.as_ref(), sheet.began.date())
                    && self.who.as_ref().is_none_or(|code| theirs(entry, code))
            })?,
        };
        let is_real = |entry: &&Entry| entry.judged().is_some_and(|sheet| sheet.watching.is_real());
        let seen: Vec<Entry> = sheets_of_all.iter().filter(is_real).cloned().collect();
        if let Some(path) = &self.csv {
            write_table(path, &attempts_table(&entries, rules, &decided))?;
        }
        if let Some(path) = &self.json {
            let all: Vec<&Entry> = entries.iter().chain(&sheets_of_all).collect();
            let whole = serde_json::to_value(&all).map_err(|e| Failure::Faults(e.to_string()))?;
            write_json(path, &whole)?;
        }
        if let Some(path) = &self.xapi {
            let statements: Vec<Value> = entries
                .iter()
                .flat_map(|e| xapi::statements(e, rules, &decided))
                .chain(seen.iter().filter_map(|e| xapi::watched_statement(e, rules)))
                .collect();
            let now = crate::outside::clock::timestamp();
            let faults = xapi::faults(&statements, now);
            if !faults.is_empty() {
                return Err(Failure::Faults(format!(
                    "{}: not written, since no record store would take it:\n{}\n   hint: an entry dated in the future comes from \
                     a station whose clock is wrong; leave it out by `--to {}`",
                    path.display(),
                    faults.join("\n"),
                    crate::register::Moment::now().date()
                )));
            }
            println!(
                "{} written; scripts have none",
                many(statements.len() as u64, "statement")
            );
            write_json(path, &Value::Array(statements))?;
        }
        if self.csv.is_some() || self.json.is_some() {
            println!("{} written", many(entries.len() as u64, "attempt"));
        }
        if let Some(path) = &self.watched {
            write_table(path, &watched_table(&seen))?;
        }
        if self.json.is_some() {
            println!(
                "{} of whoever watched written",
                many(sheets_of_all.len() as u64, "sheet")
            );
        }
        if self.watched.is_some() {
            println!("{} of real people written", many(seen.len() as u64, "sheet"));
        }
        Ok(())
    }
}
