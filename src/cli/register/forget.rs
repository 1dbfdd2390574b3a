//! `smirch register forget`.

use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;

use crate::outside::files;
use crate::record::{Code, forget_log, shelf};
use crate::register::{Drafts, Moment, Register, Whose, date_words, months_earlier};
use crate::report::{is_report_of, many, saved_beside};

use super::super::failure::Failure;
use super::super::logs::usual_waiting;
use super::opened::{Open, code, entries, unlisted};

/// Remove all that is kept of a person, or all that was kept long enough
///
/// Entries, the logs that they speak of, sheets that nobody signed and reports where the window saves them are deleted; what was
/// printed, or saved or copied elsewhere, is for you to find. What was forgotten stays away when another folder is merged in later; who
/// it was is not kept.
#[derive(Debug, Args)]
pub(super) struct Forget {
    /// The person's code
    #[arg(value_parser = code, required_unless_present = "old")]
    code: Option<Code>,
    /// Instead: what is older than the register's rules keep it, and logs that are, if their result is kept
    #[arg(long, conflicts_with = "code")]
    pub(super) old: bool,
}

impl Forget {
    pub(super) fn run(self, open: &Open, logs: Option<PathBuf>) -> Result<(), Failure> {
        let whose = match self.code {
            Some(code) => Whose::Of(code),
            None => Whose::Before(months_earlier(Moment::now().date(), open.rules()?.keep_months)),
        };
        let mut told = open
            .register
            .forget(&whose)
            .map_err(|e| unlisted(&open.register, &e))?;
        // What waits on this machine for a register that was away.
        let waiting = usual_waiting().map(Register::at).filter(Register::is_there);
        if let Some(waiting) = waiting {
            let here = waiting.forget(&whose).map_err(|e| unlisted(&waiting, &e))?;
            told.copies += here.entries + here.copies;
            told.logs.extend(here.logs);
        }
        if let (Whose::Of(code), Some(folder)) = (&whose, &logs) {
            let found = shelf(folder)
                .map_err(|e| Failure::Faults(format!("{}: cannot be listed: {e}", folder.display())))?;
            let theirs = found
                .iter()
                .filter(|log| log.person.as_ref().is_some_and(|p| p.code == *code));
            told.logs
                .extend(theirs.filter_map(|log| Some(log.path.file_name()?.to_string_lossy().into_owned())));
        }
        let (mut sheets, mut reports) = (0, Vec::new());
        if let (Whose::Of(code), Some(folder)) = (&whose, &logs) {
            sheets = forget_sheets(folder, code)?;
            reports = forget_reports(folder, code)?;
        }
        let elsewhere = told.damaged + told.half_written > 0
            || sheets > 0
            || !reports.is_empty()
            || !told.logs.is_empty();
        match (&whose, told.between) {
            (Whose::Of(code), None) if elsewhere => println!("the register keeps nothing of `{code}`"),
            (Whose::Of(code), None) => println!("nothing was kept of `{code}`"),
            (Whose::Before(day), None) => println!("nothing is older than {}", date_words(*day)),
            (_, Some((first, last))) => println!(
                "{} removed, from {} to {}",
                entries(told.entries),
                date_words(first),
                date_words(last)
            ),
        }
        if let (Whose::Before(_), Some(folder)) = (&whose, &logs) {
            let removed = old_logs(folder, open.rules()?.keep_log_days)?;
            if removed > 0 {
                println!("{} removed, whose results are kept", many(removed, "log"));
            }
        }
        if sheets > 0 {
            println!("{} removed that nobody had signed", many(sheets, "sheet"));
        }
        for name in &reports {
            println!("report removed: {name}");
        }
        for (n, noun) in [
            (told.copies, "copy of such an entry"),
            (told.half_written, "file never written to its end"),
            (told.damaged, "damaged or newer file that named the person"),
        ] {
            if n > 0 {
                println!("{n} removed: {noun}");
            }
        }
        if told.watched > 0 {
            eprintln!(
                "note: {} of other people name this code as who watched, and stay",
                many(told.watched as u64, "sheet")
            );
        }
        let mut left = Vec::new();
        for name in &told.logs {
            match logs.as_ref().map(|folder| forget_log(&folder.join(name))) {
                Some(Ok(true)) => println!("log removed: {name}"),
                Some(Err(e)) => left.push(format!("{name}: cannot be removed: {e}")),
                Some(Ok(false)) | None => left.push(format!("{name}: not in the logs of this machine")),
            }
        }
        for name in left {
            eprintln!("note: log {name}");
        }
        if !told.unread.is_empty() {
            eprintln!(
                "note: {} could not be read and stay; whom they speak of cannot be told",
                many(told.unread.len() as u64, "file")
            );
            for path in &told.unread {
                eprintln!("note:   {}", path.display());
            }
        }
        Ok(())
    }
}

/// Removes unsigned sheets of a person beside a folder of logs, and signed ones that wait to be kept; gives how many.
fn forget_sheets(logs: &Path, code: &Code) -> Result<u64, Failure> {
    let drafts = Drafts::beside(logs);
    let wrong =
        |e: std::io::Error| Failure::Faults(format!("{}: sheets cannot be removed: {e}", logs.display()));
    let mut removed = 0;
    for entry in drafts.every().map_err(wrong)? {
        let theirs = entry.person.as_ref().is_some_and(|p| p.code == *code);
        if let (true, Some(sheet)) = (theirs, entry.judged()) {
            drafts.remove(sheet.sheet).map_err(wrong)?;
            removed += 1;
        }
    }
    Ok(removed)
}

/// Removes reports of a person where the window saves them; gives their names.
fn forget_reports(logs: &Path, code: &Code) -> Result<Vec<String>, Failure> {
    let Some(folder) = saved_beside(logs) else {
        return Ok(Vec::new());
    };
    let wrong = |e: std::io::Error| Failure::Faults(format!("{}: {e}", folder.display()));
    let mut removed = Vec::new();
    for file in files::list_if_there(&folder).map_err(wrong)? {
        let path = file.map_err(wrong)?.path();
        let name = path
            .file_name()
            .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        if is_report_of(&name, code) {
            files::remove(&path).map_err(wrong)?;
            removed.push(name);
        }
    }
    removed.sort();
    Ok(removed)
}

/// Removes logs of attempts that are older than so many days and whose result is kept; gives how many.
fn old_logs(folder: &Path, days: u32) -> Result<u64, Failure> {
    let wrong = |path: &Path, e: &std::io::Error| Failure::Faults(format!("{}: {e}", path.display()));
    let age = Duration::from_secs(u64::from(days) * 86_400);
    let mut removed = 0;
    for log in shelf(folder).map_err(|e| wrong(folder, &e))? {
        let old = log.began.elapsed().is_ok_and(|since| since > age);
        if old && log.kept {
            forget_log(&log.path).map_err(|e| wrong(&log.path, &e))?;
            removed += 1;
        }
    }
    Ok(removed)
}
