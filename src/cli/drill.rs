//! `smirch drill`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::content::Content;
use crate::drill::Drill;
use crate::guidance::Score;
use crate::record::{LogWriter, Terms};
use crate::report::{attempt_json, score_text, touches_csv};

use super::{Failure, find_script, scenario, setup, unknown, write_file, write_json};

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
}

impl Play {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
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
        let Some(sequence) = content.library.sequence(wanted) else {
            let known = content.library.sequences.iter().map(|s| s.id.as_str());
            return Err(Failure::Usage(unknown("sequence", wanted, known)));
        };
        let mut drill = Drill::begin(setup.clone(), self.seed);
        let terms = Terms {
            sequence: sequence.id.clone(),
            desk: None,
            script: Some(self.script.clone()),
        };
        let mut log = match &self.log {
            None => None,
            Some(path) => Some(LogWriter::create(path, &content, &drill, &terms).map_err(|e| {
                let hint = match e.kind() {
                    std::io::ErrorKind::AlreadyExists => {
                        "\n   hint: a log is never overwritten; choose another name"
                    }
                    _ => "",
                };
                Failure::Faults(format!(
                    "{}: the log cannot be written: {e}{hint}",
                    path.display()
                ))
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
        if let Some(log) = log {
            log.end(&drill)?;
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
