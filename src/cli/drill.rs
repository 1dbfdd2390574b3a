//! `smirch drill`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::content::Content;
use crate::drill::Drill;
use crate::guidance::Score;
use crate::record::{Code, Id, Label, LogWriter, Person, Purpose, Terms};
use crate::register::{About, Attempt, Entry, Moment, Register, What};
use crate::report::{attempt_json, score_text, touches_csv};

use super::logs::station_name;
use super::window::Places;
use super::{Failure, find_script, find_sequence, scenario, setup, write_file, write_json};

/// Play a script without a window and print the score.
#[derive(Debug, Args)]
pub(super) struct Play {
    /// A scenario, by id or as a file
    scenario: String,
    /// A script, as a file or by the name of a built-in one
    #[arg(long, value_name = "FILE")]
    script: String,
    /// The number that its chance is drawn from: the same number gives the same drill
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// The sequence to score against; if left out, the one the script names, or else the scenario's own
    #[arg(long, value_name = "ID")]
    sequence: Option<String>,
    /// Write everything about the attempt as JSON
    #[arg(long, value_name = "OUT")]
    json: Option<PathBuf>,
    /// Write every event as CSV
    #[arg(long, value_name = "OUT.csv")]
    touches: Option<PathBuf>,
    /// Write a log; an existing file is never overwritten
    #[arg(long, value_name = "OUT")]
    log: Option<PathBuf>,
    /// Keep the result in the register as that of this person; only with `--register`
    #[arg(long, value_name = "CODE", value_parser = Code::new)]
    who: Option<Code>,
    /// The ward of this person
    #[arg(long, requires = "who", value_parser = |text: &str| Label::new(text, "a ward"))]
    ward: Option<Label>,
    /// The group of this person, such as a profession
    #[arg(long, requires = "who", value_parser = |text: &str| Label::new(text, "a group"))]
    group: Option<Label>,
}

impl Play {
    pub(super) fn run(self, content: &Content, places: Places) -> Result<(), Failure> {
        let Places {
            register, station, ..
        } = places;
        if self.who.is_some() && register.is_none() {
            return Err(Failure::Usage(
                "`--who` names somebody in a register\n   hint: say which by `--register DIR`".to_owned(),
            ));
        }
        let began = Moment::now();
        let (content, id) = scenario(content, &self.scenario)?;
        let script = find_script(&content, &self.script, &id)?;
        if script.scenario != id {
            eprintln!(
                "note: this script was written for the scenario `{}`",
                script.scenario
            );
        }
        let setup = setup(&content, &id)?;
        let own = script.sequence.as_ref().unwrap_or(&setup.scenario.sequence);
        let wanted = self.sequence.as_ref().unwrap_or(own);
        let sequence = find_sequence(&setup, wanted)?;
        let mut drill = Drill::begin(setup.clone(), self.seed);
        let terms = Terms {
            sequence: sequence.id.clone(),
            purpose: Purpose::Script,
            person: self.who.clone().map(|code| Person {
                code,
                ward: self.ward.clone(),
                group: self.group.clone(),
            }),
            desk: None,
            rung: None,
            pass: None,
            attempt: None,
            script: Some(self.script.clone()),
        };
        let mut log = match &self.log {
            None => None,
            Some(path) => Some(LogWriter::create(path, &content, &drill, &terms).map_err(|e| {
                Failure::Faults(match e.kind() {
                    std::io::ErrorKind::AlreadyExists => format!(
                        "{}: there is a file of this name already, and a log is never overwritten\n   hint: choose another name",
                        path.display()
                    ),
                    _ => format!("{}: the log cannot be written: {e}", path.display()),
                })
            })?),
        };
        let mut refused = None;
        for (n, action) in script.actions.iter().enumerate() {
            if let Err(refusal) = drill.act(action.clone()) {
                refused = Some(format!(
                    "action {} is refused: {refusal}\nwhat was done before it is reported",
                    n + 1
                ));
                break;
            }
            if let Some(log) = &mut log {
                log.catch_up(&drill)?;
            }
        }
        let attempt = log.as_ref().map_or_else(Id::fresh, LogWriter::attempt);
        if let Some(log) = log {
            log.end(&drill)?;
        }
        if let Some(folder) = register {
            let name = |path: &PathBuf| Some(path.file_name()?.to_string_lossy().into_owned());
            let about = About {
                attempt,
                began,
                finished: refused.is_none(),
                content: content.digest,
                terms: &terms,
                told: Vec::new(),
                log: self.log.as_ref().and_then(name),
            };
            let result = Attempt::of(&drill, sequence, about).map_err(Failure::Faults)?;
            let entry = Entry {
                station: station_name(station.as_deref()),
                ..Entry::new(terms.person.clone(), What::Attempt(Box::new(result)))
            };
            let path = Register::at(folder.clone()).keep(&entry).map_err(|e| {
                Failure::Faults(format!(
                    "{}: the register cannot be written: {e}",
                    folder.display()
                ))
            })?;
            eprintln!("kept in {}", path.display());
        }
        let score = Score::of(&drill, sequence);
        if let Some(path) = &self.json {
            write_json(path, &attempt_json(&drill, sequence, &score))?;
        }
        if let Some(path) = &self.touches {
            let mut bytes = Vec::new();
            touches_csv(&drill, &mut bytes).map_err(|e| Failure::Faults(e.to_string()))?;
            write_file(path, &bytes)?;
        }
        let mut out = std::io::stdout().lock();
        out.write_all(score_text(&drill, sequence, &score).as_bytes())?;
        out.flush()?;
        match refused {
            None => Ok(()),
            Some(message) => Err(Failure::Faults(message)),
        }
    }
}
