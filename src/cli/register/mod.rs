//! `smirch register`: a file for each of its commands.

mod agree;
mod check;
mod due;
mod export;
mod forget;
mod import;
mod list;
pub(super) mod opened;
mod report;
mod sheets;
mod show;
mod taught;

use clap::{Args, Subcommand};

use crate::content::Content;

use super::failure::Failure;
use super::logs::usual_logs;
use super::window::Places;

/// Look into a register of attempts, and keep it in order
///
/// A register is a folder with a small file for each attempt. Any number of stations can write into one; two of them are
/// merged by laying one over the other. Codes stand for people.
#[derive(Debug, Args)]
pub(super) struct Registered {
    #[command(subcommand)]
    command: Asked,
}

#[derive(Debug, Subcommand)]
enum Asked {
    List(list::List),
    Show(show::Show),
    Sheets(sheets::Sheets),
    Agree(agree::Agree),
    Taught(taught::Taught),
    Due(due::WhoIsDue),
    Report(report::Report),
    Export(export::Export),
    Import(import::Import),
    Forget(forget::Forget),
    Check(check::Check),
}

impl Registered {
    /// True if it has to do with the folder of attempts.
    pub(super) fn heeds_logs(&self) -> bool {
        matches!(self.command, Asked::Forget(_))
    }

    pub(super) fn run(self, content: &Content, places: Places) -> Result<(), Failure> {
        let open = match self.command {
            // What is kept is there, and can be looked at and removed, whatever is wrong with a rule.
            Asked::List(_)
            | Asked::Show(_)
            | Asked::Sheets(_)
            | Asked::Agree(_)
            | Asked::Taught(_)
            | Asked::Check(_)
            | Asked::Forget(forget::Forget { old: false, .. }) => {
                opened::open_by_any_rules(content, places.register)?
            }
            _ => opened::open(content, places.register)?,
        };
        match self.command {
            Asked::List(list) => list.run(&open),
            Asked::Show(show) => show.run(&open),
            Asked::Sheets(sheets) => sheets.run(&open),
            Asked::Agree(agree) => agree.run(&open),
            Asked::Taught(taught) => taught.run(&open),
            Asked::Due(due) => due.run(&open),
            Asked::Report(report) => report.run(&open),
            Asked::Export(export) => export.run(&open),
            Asked::Import(import) => import.run(&open),
            Asked::Forget(forget) => forget.run(&open, places.logs.or_else(usual_logs)),
            Asked::Check(check) => check.run(&open),
        }
    }
}
