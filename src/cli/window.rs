//! `smirch` without a command: the window.

use std::path::PathBuf;

use crate::content::Content;

use super::Failure;
use super::logs::station;
#[cfg(feature = "gui")]
use super::logs::{state_folder, station_name, usual_logs, usual_register, usual_waiting};
#[cfg(feature = "gui")]
use crate::register::{Register, Station};

/// Where the window keeps what it writes.
#[derive(Clone, Debug, clap::Args)]
pub(super) struct Places {
    /// The folder into which the window writes a log of each attempt; by default in the user's own state folder
    #[arg(long, global = true, value_name = "DIR")]
    pub(super) logs: Option<PathBuf>,
    /// The file in which the window remembers text size, lamp and its own size; by default in the user's own state folder
    #[arg(long, global = true, value_name = "FILE")]
    pub(super) settings: Option<PathBuf>,
    /// The folder of the register in which results of attempts are kept; by default in the user's own state folder
    #[arg(long, global = true, value_name = "DIR")]
    pub(super) register: Option<PathBuf>,
    /// What this station is called in the results that it keeps, such as "Room 4"; by default `SMIRCH_STATION`, or else what the machine is
    /// called. An empty name is none
    #[arg(long, global = true, value_name = "NAME", value_parser = station)]
    pub(super) station: Option<String>,
}

#[cfg(feature = "gui")]
pub(super) fn open(content: Content, places: Places, log: Option<PathBuf>) -> Result<(), Failure> {
    crate::app::machine::ready().map_err(|unready| Failure::Faults(unready.to_string()))?;
    let logs = places.logs.or_else(usual_logs);
    if let Some(folder) = &logs {
        eprintln!("a log of each attempt goes to {}", folder.display());
    }
    let station = places.register.or_else(usual_register).and_then(|folder| {
        let name = station_name(places.station.as_deref());
        match &name {
            Some(name) => eprintln!(
                "results are kept in {}, as those of the station {}",
                folder.display(),
                name.as_str()
            ),
            None => eprintln!("results are kept in {}", folder.display()),
        }
        Some(Station::new(Register::at(folder), usual_waiting()?).named(name))
    });
    // A register's own rules hold in the window too.
    let mut aside = None;
    let content = match &station {
        Some(station) => match super::register::opened::with_own_rules(&content, station.register()) {
            Ok(content) => content,
            Err(why) => {
                let told = format!(
                    "The register's own rules cannot be read, so the usual ones hold: {}",
                    why.words()
                );
                eprintln!("note: {told}");
                aside = Some(told);
                content
            }
        },
        None => content,
    };
    let settings = places
        .settings
        .or_else(|| Some(state_folder()?.join("settings.ron")));
    let mut kept = settings
        .map(|file| crate::app::memory::recall(&file))
        .unwrap_or_default();
    if let Some(notice) = &kept.notice {
        eprintln!("note: {notice}");
    }
    // By which rules people pass matters more than what the window remembers.
    kept.notice = aside.or(kept.notice);
    crate::app::run_with(crate::app::AppOptions {
        logs,
        station,
        kept,
        first: log.into_iter().map(crate::view::Command::OpenLog).collect(),
        ..crate::app::AppOptions::new(content)
    })
    .map_err(Failure::Faults)
}

#[cfg(not(feature = "gui"))]
pub(super) fn open(_content: Content, places: Places, _log: Option<PathBuf>) -> Result<(), Failure> {
    let Places {
        logs: _,
        settings: _,
        register: _,
        station: _,
    } = places;
    Err(Failure::Usage(
        "this smirch was built without a window; see `smirch --help` for its commands".to_owned(),
    ))
}
