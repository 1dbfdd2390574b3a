//! Writing a log: a header, one line per action, and an end, each complete before the next begins.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::content::Content;
use crate::drill::{Action, Drill};

/// The log format this program writes and reads; earlier ones drew their luck in other ways and cannot be replayed.
pub const LOG_FORMAT: u64 = 3;

/// The first line of a log: everything needed to play it again.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Header {
    /// Format number; its name also marks the file as a log.
    #[serde(rename = "smirch-log")]
    pub format: u64,
    /// Version of the program that wrote it.
    pub program: String,
    /// Digest of the content it ran with.
    pub content: String,
    /// Scenario id.
    pub scenario: String,
    /// The scenario's text, so that the log stands alone.
    #[serde(default)]
    pub text: String,
    /// Seed.
    pub seed: u64,
    /// Digest of the books at the start.
    pub books: String,
}

/// A line after an action, or the last line.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(untagged)]
pub(super) enum Line {
    /// An action and the books after it.
    Step {
        /// Number of the action, from 1.
        n: usize,
        /// What was done.
        action: Action,
        /// Clock after it, s.
        clock: f64,
        /// Digest of the books after it.
        books: String,
    },
    /// The attempt was ended.
    End {
        /// How many actions there were.
        end: usize,
        /// Digest of the books.
        books: String,
    },
}

pub(super) fn hex(digest: u64) -> String {
    format!("{digest:016x}")
}

/// Writes a log as a drill goes on.
#[derive(Debug)]
pub struct LogWriter {
    file: File,
    written: usize,
}

impl LogWriter {
    /// Starts a log for a drill that has just begun.
    ///
    /// # Errors
    /// The file cannot be written, or exists already: a log is a record and never overwritten.
    pub fn create(path: &Path, content: &Content, drill: &Drill) -> io::Result<LogWriter> {
        let file = OpenOptions::new().write(true).create_new(true).open(path)?;
        let scenario = &drill.setup().scenario;
        let header = Header {
            format: LOG_FORMAT,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            content: hex(content.digest),
            scenario: scenario.id.clone(),
            text: content
                .scenario_texts
                .get(&scenario.id)
                .cloned()
                .unwrap_or_default(),
            seed: drill.seed(),
            books: hex(drill.beginning().books.digest()),
        };
        let mut log = LogWriter { file, written: 0 };
        log.line(&header)?;
        log.catch_up(drill)?;
        Ok(log)
    }

    /// Writes the actions done since the last call.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn catch_up(&mut self, drill: &Drill) -> io::Result<()> {
        let done = drill.done();
        while self.written < done.len() {
            let n = self.written + 1;
            // Only the newest line can carry a digest; in a window that is every line.
            let books = if n == done.len() {
                hex(drill.books().digest())
            } else {
                String::new()
            };
            let (action, clock) = (done[n - 1].action.clone(), done[n - 1].ended);
            self.line(&Line::Step {
                n,
                action,
                clock,
                books,
            })?;
            self.written = n;
        }
        Ok(())
    }

    /// Ends the log.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn end(mut self, drill: &Drill) -> io::Result<()> {
        self.catch_up(drill)?;
        self.line(&Line::End {
            end: drill.done().len(),
            books: hex(drill.books().digest()),
        })
    }

    /// One line, on the disk before this returns.
    fn line(&mut self, line: &impl Serialize) -> io::Result<()> {
        let mut text = serde_json::to_string(line)?;
        text.push('\n');
        self.file.write_all(text.as_bytes())?;
        self.file.sync_data()
    }
}
