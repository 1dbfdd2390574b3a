//! `smirch replay`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::content::Content;
use crate::guidance::Score;
use crate::record::replay;
use crate::report::score_text;

use super::Failure;

/// Verify a log by playing it again, and summarise it.
///
/// Every complete line must give the same books, to the last organism.
#[derive(Debug, Args)]
pub(super) struct Verify {
    /// The log
    log: PathBuf,
    /// Look at the attempt in the window: play, step, ask why and what if
    #[arg(long)]
    window: bool,
}

impl Verify {
    pub(super) fn run(self, content: Content, logs: Option<PathBuf>) -> Result<(), Failure> {
        let replayed = replay(&self.log, &content).map_err(|e| Failure::Faults(e.to_string()))?;
        if self.window {
            return super::window::open(content, logs, Some(self.log));
        }
        for note in &replayed.notes {
            eprintln!("note: {note}");
        }
        let drill = &replayed.drill;
        let setup = drill.setup();
        let Some(sequence) = setup.library.sequence(&setup.scenario.sequence) else {
            return Err(Failure::Faults(format!(
                "unknown sequence `{}`",
                setup.scenario.sequence
            )));
        };
        let score = Score::of(drill, sequence);
        let mut out = std::io::stdout().lock();
        writeln!(
            out,
            "{} actions replayed, books as written ({:016x}){}",
            drill.done().len(),
            drill.books().digest(),
            if replayed.ended { "" } else { ", not ended" }
        )?;
        writeln!(out)?;
        out.write_all(score_text(drill, sequence, &score).as_bytes())?;
        out.flush()?;
        Ok(())
    }
}
