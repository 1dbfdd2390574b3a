//! What the commands of a register share: opening it with its rules, choosing attempts, and what is said of what was left out.

use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;
use jiff::civil::Date;

use crate::content::Content;
use crate::model::RegisterRules;
use crate::record::{Code, Label};
use crate::register::{Attempt, Decisions, Entry, Group, Judged, Reading, Register, furthest};
use crate::report::Table;

use super::super::failure::Failure;
use super::super::logs::usual_register;
use super::super::output::write_file;

/// A register with the rules that hold for it.
pub(super) struct Open {
    pub register: Register,
    pub content: Content,
}

impl Open {
    pub fn rules(&self) -> Result<&RegisterRules, Failure> {
        self.content.library.register.as_ref().ok_or_else(|| {
            Failure::Faults(
                "this content has no rules for a register\n   hint: see assets/register.ron".to_owned(),
            )
        })
    }
}

/// The register in a folder that is there, with its own rules over those of the content.
pub(super) fn open(content: &Content, folder: Option<PathBuf>) -> Result<Open, Failure> {
    let register = there(folder)?;
    let content = with_own_rules(content, &register)?;
    Ok(Open { register, content })
}

/// The same where its own rules may be left aside if they cannot be read; that is said.
pub(super) fn open_by_any_rules(content: &Content, folder: Option<PathBuf>) -> Result<Open, Failure> {
    let register = there(folder)?;
    let content = with_own_rules(content, &register).unwrap_or_else(|why| {
        eprintln!(
            "note: the register's own rules are left aside, and the usual ones hold: {}",
            why.words()
        );
        content.clone()
    });
    Ok(Open { register, content })
}

/// A register that is there.
fn there(folder: Option<PathBuf>) -> Result<Register, Failure> {
    let Some(folder) = folder.or_else(usual_register) else {
        return Err(Failure::Usage(
            "there is no folder of the user's own here\n   hint: say where the register is by `--register DIR`".to_owned(),
        ));
    };
    let register = Register::at(folder);
    let at = register.folder().display().to_string();
    if !register.is_there() {
        return Err(Failure::Usage(format!(
            "{at}: there is no register\n   hint: give the folder of one by `--register DIR`; the window and `smirch drill \
             --register DIR` make one when they keep the first attempt"
        )));
    }
    Ok(register)
}

/// The content with a register's own rules over its own.
pub fn with_own_rules(content: &Content, register: &Register) -> Result<Content, Failure> {
    let at = register.folder().display();
    match register.own_rules() {
        Ok(None) => Ok(content.clone()),
        Ok(Some((path, text))) => {
            let mut with = content.with_texts(&[(path, text)])?;
            // The rules of a register have no part in what is played.
            with.digest = content.digest;
            let mut library = (*content.library).clone();
            library.register.clone_from(&with.library.register);
            with.library = Arc::new(library);
            Ok(with)
        }
        Err(e) => Err(Failure::Faults(format!("{at}: its rules cannot be read: {e}"))),
    }
}

/// A date as it is given on the command line.
pub(super) fn date(text: &str) -> Result<Date, String> {
    text.parse()
        .map_err(|_| format!("`{text}` is no date; write one such as 2026-03-01"))
}

pub(super) fn code(text: &str) -> Result<Code, String> {
    Code::new(text)
}

pub(super) fn ward(text: &str) -> Result<Label, String> {
    Label::new(text, "a ward")
}

pub(super) fn group(text: &str) -> Result<Label, String> {
    Label::new(text, "a group")
}

/// Which attempts are asked about.
#[derive(Debug, Args)]
pub(super) struct Which {
    /// Only those of this ward
    #[arg(long, value_parser = ward)]
    pub ward: Option<Label>,
    /// Only those of this group, such as a profession
    #[arg(long, value_parser = group)]
    pub group: Option<Label>,
    /// Only those from this day on, such as 2026-03-01
    #[arg(long, value_parser = date, value_name = "DATE")]
    pub from: Option<Date>,
    /// Only those up to and with this day
    #[arg(long, value_parser = date, value_name = "DATE")]
    pub to: Option<Date>,
}

impl Which {
    /// The group that is asked about.
    pub fn group(self) -> Result<Group, Failure> {
        match (self.from, self.to) {
            (Some(from), Some(to)) if to < from => Err(Failure::Usage(format!(
                "--to {to} is before --from {from}\n   hint: exchange them"
            ))),
            (from, to) => Ok(Group {
                ward: self.ward,
                group: self.group,
                from,
                to,
                ..Group::default()
            }),
        }
    }
}

/// What was kept of the attempts that are asked about, in the order of time: one that was taken up again as far as it came; and
/// all that was decided of any.
pub(super) fn attempts(
    open: &Open,
    asked: impl Fn(&Entry, &Attempt) -> bool,
) -> Result<(Vec<Entry>, Decisions), Failure> {
    let reading = open.register.read().map_err(|e| unlisted(&open.register, &e))?;
    say_left_out(&reading);
    let decided = Decisions::of_entries(&reading.found);
    let mut entries = furthest(reading.found);
    entries.retain(|entry| entry.attempt().is_some_and(|attempt| asked(entry, attempt)));
    entries.sort_by_key(|entry| entry.attempt().map(|attempt| attempt.began.millis()));
    Ok((entries, decided))
}

/// What was said by whoever watched, of those asked about, in the order of time.
pub(super) fn sheets(open: &Open, asked: impl Fn(&Entry, &Judged) -> bool) -> Result<Vec<Entry>, Failure> {
    let reading = open.register.read().map_err(|e| unlisted(&open.register, &e))?;
    say_left_out(&reading);
    let mut entries = reading.found;
    entries.retain(|entry| entry.judged().is_some_and(|sheet| asked(entry, sheet)));
    entries.sort_by_key(|entry| entry.judged().map(|sheet| sheet.began.millis()));
    Ok(entries)
}

/// Says on standard error what was left out.
pub(super) fn say_left_out<R>(reading: &Reading<R>) {
    for line in reading.left_out() {
        eprintln!("note: {line}");
    }
    if !reading.damage.is_empty() || !reading.newer.is_empty() {
        eprintln!("   hint: `smirch register check` tells more");
    }
}

/// A number of entries, in words.
pub(super) fn entries(number: usize) -> String {
    match number {
        1 => "1 entry".to_owned(),
        n => format!("{} entries", crate::report::count(n as u64)),
    }
}

/// What goes wrong when a register is listed.
pub(super) fn unlisted(register: &Register, error: &std::io::Error) -> Failure {
    Failure::Faults(format!(
        "{}: this register cannot be read: {error}",
        register.folder().display()
    ))
}

/// Writes a table where it is asked for.
pub(super) fn write_table(path: &std::path::Path, table: &Table) -> Result<(), Failure> {
    write_file(path, &table.csv().map_err(Failure::Faults)?)
}
