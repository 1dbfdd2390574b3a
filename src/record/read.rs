//! Reading a log line by line, whatever the file holds.

use std::io::{BufRead, BufReader, Read};
use std::path::Path;

use crate::outside::files::{self, Kind, Reading};

/// Lines longer than this, in bytes, are no log lines.
const LINE_LIMIT: u64 = 8 * 1024 * 1024;

/// A file that is read line by line.
#[derive(Debug)]
pub(super) struct Lines<R> {
    reader: R,
    /// Number of the line read last, from 1.
    pub number: usize,
}

/// What comes next.
#[derive(Debug)]
pub(super) enum Next {
    /// A complete line, without its end.
    Line(String),
    /// A last line without its end: it was being written when the program stopped.
    Torn,
    /// Nothing.
    End,
}

/// Opens a file to be read; only what is a file, since others may never give an end.
///
/// # Errors
/// Why it cannot be read, in words.
pub(super) fn open(path: &Path) -> Result<Reading, String> {
    match files::kind(path).map_err(|e| format!("cannot be read: {e}"))? {
        Kind::File => {}
        Kind::Folder => return Err("this is a folder, not a log".to_owned()),
        Kind::Other => return Err("this is a pipe or a device, not a log".to_owned()),
    }
    Reading::of(path).map_err(|e| format!("cannot be read: {e}"))
}

impl Lines<BufReader<Reading>> {
    pub fn of(file: Reading) -> Self {
        Lines {
            reader: BufReader::new(file),
            number: 0,
        }
    }
}

impl<R: BufRead> Lines<R> {
    /// The next line.
    ///
    /// # Errors
    /// Why it cannot be read, in words.
    pub fn next(&mut self) -> Result<Next, String> {
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
