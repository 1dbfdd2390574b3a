//! Writing a log: a header, one line per action, and an end, each complete before the next begins.

use std::collections::BTreeMap;
use std::io;
use std::path::Path;
use std::time::UNIX_EPOCH;

use serde::Serialize;

use crate::chance::Key;
use crate::content::{Content, is_built_in};
use crate::drill::{Action, Drill};
use crate::guidance::Score;
use crate::outside::clock;
use crate::outside::files::Growing;

use super::line::{Header, Judged, LOG, LOG_FORMAT, Line, hex};
use super::replay::Replay;
use super::seal::{first, seal_of, sealed};
use super::terms::Terms;
use super::who::Id;

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
    file: Growing,
    sequence: String,
    attempt: Id,
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
        let file = Growing::create(path)?;
        let attempt = terms.attempt.unwrap_or_else(Id::fresh);
        let scenario = &drill.setup().scenario;
        let named = [&terms.sequence, &scenario.sequence];
        let mut needed: Vec<&String> = named.into_iter().chain(&scenario.also).collect();
        // And those that these follow.
        let mut at = 0;
        while let Some(&id) = needed.get(at) {
            let follows = content.library.sequence(id).map_or(&[][..], |s| &s.follows);
            let more: Vec<&String> = follows.iter().filter(|id| !needed.contains(id)).collect();
            needed.extend(more);
            at += 1;
        }
        let own = needed.into_iter().filter_map(|id| {
            let text = content.sequence_texts.get(id)?;
            (!is_built_in(text)).then(|| (id.clone(), text.clone()))
        });
        let header = Header {
            format: LOG_FORMAT,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            content: hex(content.digest),
            began: clock::now().duration_since(UNIX_EPOCH).ok().map(|d| d.as_secs()),
            attempt: Some(attempt),
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
            attempt,
            written: Vec::new(),
            seal: first(LOG),
        };
        log.line(&header)?;
        log.catch_up(drill)?;
        Ok(log)
    }

    /// Goes on with the log of an attempt that was broken off, where it stands; what was torn at its end is cut away.
    ///
    /// # Errors
    /// The file cannot be written, another program writes it just now ([`io::ErrorKind::WouldBlock`]), or it cannot be gone on
    /// with ([`io::ErrorKind::InvalidInput`]): it was ended, its counts are not as written, or it has no name for the attempt.
    pub fn resume(path: &Path, replay: &Replay) -> io::Result<LogWriter> {
        let (Some(end), Some(attempt)) = (replay.open_end, replay.attempt) else {
            return Err(io::ErrorKind::InvalidInput.into());
        };
        let mut file = Growing::again(path)?;
        file.cut(end.length)?;
        Ok(LogWriter {
            file,
            sequence: replay.terms.sequence.clone(),
            attempt,
            written: replay
                .drill
                .done()
                .iter()
                .map(|done| done.action.clone())
                .collect(),
            seal: end.seal,
        })
    }

    /// What the attempt is known by.
    pub fn attempt(&self) -> Id {
        self.attempt
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

    /// Notes that the next step was told on request.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn told(&mut self, step: &str) -> io::Result<()> {
        self.line(&Line::Told {
            told: step.to_owned(),
        })
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
        self.file.add(text.as_bytes())?;
        self.seal = seal;
        Ok(())
    }
}

/// Notes in a log that the result of its attempt as it was replayed was kept in a register. What was torn at its end is cut away.
/// False, and nothing is noted, if the log has gone on since, or goes on just now: then that is not its result any more.
///
/// # Errors
/// The file cannot be written, or its last line has no seal ([`io::ErrorKind::InvalidData`]).
pub fn note_kept(path: &Path, replayed: &Replay, entry: Id) -> io::Result<bool> {
    let mut file = match Growing::again(path) {
        Err(e) if e.kind() == io::ErrorKind::WouldBlock => return Ok(false),
        file => file?,
    };
    let (from, tail) = file.tail(LONGEST)?;
    let complete = tail.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    let last = tail[..complete].strip_suffix(b"\n").unwrap_or_default();
    let start = last.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    let before = std::str::from_utf8(&last[start..])
        .ok()
        .and_then(seal_of)
        .ok_or(io::ErrorKind::InvalidData)?;
    if replayed.seal != Some(before) {
        return Ok(false);
    }
    file.cut(from + complete as u64)?;
    let (text, _) = sealed(&Line::Kept { kept: entry }, before)?;
    file.add(text.as_bytes())?;
    Ok(true)
}

/// Longest line that is looked for at the end of a log, bytes: a header holds the scenario's text.
const LONGEST: u64 = 8 * 1024 * 1024;
