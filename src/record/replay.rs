//! Reading a log back: every complete line is played again and must give the same books.

use std::fmt;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::sync::Arc;

use crate::content::Content;
use crate::drill::Drill;
use crate::model::Setup;

use super::log::{Header, LOG_FORMAT, Line, hex};

/// Lines longer than this are no log lines.
const LINE_LIMIT: u64 = 4 * 1024 * 1024;

/// A log played again.
#[derive(Debug)]
pub struct Replay {
    /// The drill as it stood after the last complete line.
    pub drill: Drill,
    /// True if the attempt was ended rather than broken off.
    pub ended: bool,
    /// What is worth saying: a torn last line, other content.
    pub notes: Vec<String>,
}

/// Why a log cannot be replayed, or where it departs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReplayError {
    /// The file.
    pub file: String,
    /// Line number, from 1; 0 for the file as a whole.
    pub line: usize,
    /// What is wrong.
    pub brief: String,
    /// What to do.
    pub hint: Option<String>,
}

impl fmt::Display for ReplayError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: {}", self.file, self.brief)?,
            line => write!(f, "{}:{line}: {}", self.file, self.brief)?,
        }
        match &self.hint {
            Some(hint) => write!(f, "\n   hint: {hint}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for ReplayError {}

/// Plays a log again.
///
/// A last line without its line end was being written when the program stopped; it is left out and noted.
///
/// # Errors
/// The file cannot be read, is no log or a newer one, a complete line is broken, or the books differ.
pub fn replay(path: &Path, content: &Content) -> Result<Replay, ReplayError> {
    let file = path.display().to_string();
    let fail = |line: usize, brief: String, hint: Option<&str>| ReplayError {
        file: file.clone(),
        line,
        brief,
        hint: hint.map(str::to_owned),
    };
    let opened = std::fs::File::open(path).map_err(|e| fail(0, format!("cannot be read: {e}"), None))?;
    if opened.metadata().is_ok_and(|m| m.is_dir()) {
        return Err(fail(0, "this is a folder, not a log".to_owned(), None));
    }
    let mut lines = Lines {
        reader: BufReader::new(opened),
        number: 0,
    };
    let mut notes = Vec::new();

    let header = match lines.next().map_err(|e| fail(1, e, None))? {
        Next::Line(text) => text,
        Next::Torn | Next::End => return Err(fail(0, "this log has no complete line".to_owned(), None)),
    };
    let no_log = "a log begins with a line that holds `smirch-log`";
    let value: serde_json::Value =
        serde_json::from_str(&header).map_err(|e| fail(1, format!("this is no log: {e}"), Some(no_log)))?;
    match value.get("smirch-log").and_then(serde_json::Value::as_u64) {
        Some(format) if format > LOG_FORMAT => {
            let brief = format!("this log has format {format}; this smirch reads up to {LOG_FORMAT}");
            return Err(fail(1, brief, Some("use a newer smirch")));
        }
        // The same seed gave other luck then, so the books cannot come out as they did.
        Some(format @ 1..LOG_FORMAT) => {
            let brief = format!("this log has format {format}, whose luck was drawn in another way");
            return Err(fail(1, brief, Some("replay it with the smirch that wrote it")));
        }
        Some(LOG_FORMAT) => {}
        _ => return Err(fail(1, "this is no log".to_owned(), Some(no_log))),
    }
    let header: Header =
        serde_json::from_value(value).map_err(|e| fail(1, format!("the header is broken: {e}"), None))?;
    if header.content != hex(content.digest) {
        notes.push("the log was made with other content; it is replayed with what is here".to_owned());
    }
    let built_in = content
        .scenario_texts
        .get(&header.scenario)
        .is_some_and(|text| *text == header.text);
    let own;
    let content = if header.text.is_empty() || built_in {
        content
    } else {
        let name = format!("{file}, scenario");
        own = content
            .scenario_text(&name, &header.text)
            .map_err(|e| {
                fail(
                    1,
                    format!("the log's scenario does not fit this content:\n{e}"),
                    None,
                )
            })?
            .0;
        &own
    };
    let scenario = content
        .library
        .scenario(&header.scenario)
        .ok_or_else(|| fail(1, format!("unknown scenario `{}`", header.scenario), None))?;
    let setup = Setup::new(content.library.clone(), scenario).map_err(|e| fail(1, e.to_string(), None))?;
    let mut drill = Drill::begin(Arc::new(setup), header.seed);
    let other = "the log was made with other content or another version of smirch, or it was changed";
    if header.books != hex(drill.books().digest()) {
        return Err(fail(1, "the books differ at the start".to_owned(), Some(other)));
    }

    let mut ended = false;
    loop {
        let text = match lines.next().map_err(|e| fail(lines.number, e, None))? {
            Next::End => break,
            Next::Torn => {
                notes.push(format!("line {} is torn; it is left out", lines.number));
                break;
            }
            Next::Line(text) => text,
        };
        let number = lines.number;
        if ended {
            return Err(fail(number, "there is a line after the end".to_owned(), None));
        }
        let line: Line =
            serde_json::from_str(&text).map_err(|_| fail(number, "this is no log line".to_owned(), None))?;
        let (books, clock) = match line {
            Line::Step {
                n,
                action,
                clock,
                books,
            } => {
                if n != drill.done().len() + 1 {
                    let brief = format!(
                        "action {n} is here where action {} should be",
                        drill.done().len() + 1
                    );
                    return Err(fail(number, brief, None));
                }
                drill
                    .act(action)
                    .map_err(|r| fail(number, format!("this action is refused: {r}"), Some(other)))?;
                (books, clock)
            }
            Line::End { end, books } => {
                if end != drill.done().len() {
                    let brief = format!(
                        "the end speaks of {end} actions; there are {}",
                        drill.done().len()
                    );
                    return Err(fail(number, brief, None));
                }
                ended = true;
                (books, drill.state().clock)
            }
        };
        if !books.is_empty() && books != hex(drill.books().digest()) {
            return Err(fail(
                number,
                "the books differ after this line".to_owned(),
                Some(other),
            ));
        }
        if clock != drill.state().clock {
            let brief = format!(
                "the clock says {clock} s where {} s have passed",
                drill.state().clock
            );
            return Err(fail(number, brief, Some(other)));
        }
    }
    if !ended {
        notes.push(format!(
            "the log ends after {} actions without an end line",
            drill.done().len()
        ));
    }
    Ok(Replay { drill, ended, notes })
}

struct Lines<R> {
    reader: R,
    number: usize,
}

enum Next {
    Line(String),
    Torn,
    End,
}

impl<R: BufRead> Lines<R> {
    fn next(&mut self) -> Result<Next, String> {
        let mut bytes = Vec::new();
        self.number += 1;
        let read = (&mut self.reader).take(LINE_LIMIT).read_until(b'\n', &mut bytes);
        match read {
            Err(e) => Err(format!("cannot be read: {e}")),
            Ok(0) => Ok(Next::End),
            Ok(_) if bytes.last() == Some(&b'\n') => {
                bytes.pop();
                String::from_utf8(bytes)
                    .map(Next::Line)
                    .map_err(|_| "this line is not UTF-8 text".to_owned())
            }
            Ok(n) if n as u64 == LINE_LIMIT => Err("this line is too long for a log".to_owned()),
            Ok(_) => Ok(Next::Torn),
        }
    }
}
