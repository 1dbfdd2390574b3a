//! Writing a log: a header, one line per action, and an end, each complete before the next begins.

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use serde::Serialize;

use crate::chance::Key;
use crate::content::{Content, is_built_in};
use crate::drill::{Action, Drill};
use crate::guidance::Score;

use super::line::{Header, Judged, LOG_FORMAT, Line, first_seal, hex, sealed};
use super::terms::Terms;

/// The digest of the books, if they are those after the line that it is for.
fn digest_if(newest: bool, drill: &Drill) -> String {
    if newest {
        hex(drill.books().digest())
    } else {
        String::new()
    }
}

/// Writes a log as a drill goes on.
#[derive(Debug)]
pub struct LogWriter {
    file: File,
    sequence: String,
    /// The actions that stand in the log, those taken back left out.
    written: Vec<Action>,
    seal: Key,
}

impl LogWriter {
    /// Starts a log for a drill that has just begun.
    ///
    /// # Errors
    /// The file cannot be written, or exists already: a log is a record and never overwritten.
    pub fn create(path: &Path, content: &Content, drill: &Drill, terms: &Terms) -> io::Result<LogWriter> {
        let file = OpenOptions::new().write(true).create_new(true).open(path)?;
        let scenario = &drill.setup().scenario;
        let needed = [&terms.sequence, &scenario.sequence];
        let own = needed.into_iter().chain(&scenario.also).filter_map(|id| {
            let text = content.sequence_texts.get(id)?;
            (!is_built_in(text)).then(|| (id.clone(), text.clone()))
        });
        let header = Header {
            format: LOG_FORMAT,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            content: hex(content.digest),
            began: SystemTime::now()
                .duration_since(UNIX_EPOCH)
                .ok()
                .map(|d| d.as_secs()),
            scenario: scenario.id.clone(),
            terms: Some(terms.clone()),
            text: content
                .scenario_texts
                .get(&scenario.id)
                .cloned()
                .unwrap_or_default(),
            sequences: own.collect::<BTreeMap<_, _>>(),
            seed: drill.seed(),
            books: hex(drill.beginning().books.digest()),
        };
        let mut log = LogWriter {
            file,
            sequence: terms.sequence.clone(),
            written: Vec::new(),
            seal: first_seal(),
        };
        log.line(&header)?;
        log.catch_up(drill)?;
        Ok(log)
    }

    /// Writes the actions done, or taken back, since the last call.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn catch_up(&mut self, drill: &Drill) -> io::Result<()> {
        let done = drill.done();
        let pairs = self.written.iter().zip(done);
        let kept = pairs
            .take_while(|(written, done)| **written == done.action)
            .count();
        if kept < self.written.len() {
            self.written.truncate(kept);
            // Only the newest line can carry a digest; in a window that is every line.
            let books = digest_if(kept == done.len(), drill);
            self.line(&Line::Back { back: kept, books })?;
        }
        for (at, done) in done.iter().enumerate().skip(kept) {
            self.line(&Line::Step {
                n: at + 1,
                action: done.action.clone(),
                clock: done.ended,
                books: digest_if(at + 1 == drill.done().len(), drill),
            })?;
            self.written.push(done.action.clone());
        }
        Ok(())
    }

    /// Ends the log, with how the attempt is judged.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn end(mut self, drill: &Drill) -> io::Result<()> {
        self.catch_up(drill)?;
        let judged = drill.setup().library.sequence(&self.sequence).map(|sequence| {
            let score = Score::of(drill, sequence);
            Judged {
                marks: score.marks(),
                of: score.full,
                critical: score.critical.len(),
            }
        });
        self.line(&Line::End {
            end: drill.done().len(),
            books: hex(drill.books().digest()),
            judged,
        })
    }

    /// One line, on the disk before this returns.
    fn line(&mut self, line: &impl Serialize) -> io::Result<()> {
        let (text, seal) = sealed(line, self.seal)?;
        self.file.write_all(text.as_bytes())?;
        self.file.sync_data()?;
        self.seal = seal;
        Ok(())
    }
}
