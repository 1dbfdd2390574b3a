//! `smirch replay`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::content::Content;
use crate::guidance::Score;
use crate::record::replay;
use crate::report::{many, score_text};

use super::Failure;
use super::window::Places;

/// Verify a log by playing it again, and summarise it.
///
/// Every complete line must give the same books, to the last organism. A log of an earlier smirch is played by today's
/// model, and said to be. The attempt is scored against the sequence that it was made under.
#[derive(Debug, Args)]
pub(super) struct Verify {
    /// The log
    log: PathBuf,
    /// Look at the attempt in the window: play, step, ask why and what if
    #[arg(long)]
    pub(super) window: bool,
}

impl Verify {
    pub(super) fn run(self, content: Content, places: Places) -> Result<(), Failure> {
        let replayed = replay(&self.log, &content).map_err(|e| Failure::Faults(e.to_string()))?;
        if self.window {
            return super::window::open(content, places, Some(self.log));
        }
        for note in &replayed.notes {
            eprintln!("note: {note}");
        }
        let drill = &replayed.drill;
        let wanted = &replayed.terms.sequence;
        let Some(sequence) = drill.setup().library.sequence(wanted) else {
            return Err(Failure::Faults(format!("unknown sequence `{wanted}`")));
        };
        let score = Score::of(drill, sequence);
        let mut out = std::io::stdout().lock();
        let count = many(drill.done().len() as u64, "action");
        let ended = if replayed.ended { "" } else { ", not ended" };
        if replayed.as_written {
            let books = drill.books().digest();
            writeln!(out, "{count} replayed, books as written ({books:016x}){ended}")?;
        } else {
            writeln!(
                out,
                "{count} played by today's model{ended}; counts and marks are today's, not those of that day"
            )?;
        }
        if let Some(desk) = &replayed.terms.desk {
            writeln!(out, "made in the window: {}", desk.words())?;
        }
        writeln!(out)?;
        out.write_all(score_text(drill, sequence, &score).as_bytes())?;
        out.flush()?;
        Ok(())
    }
}
