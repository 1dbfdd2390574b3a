//! A log of each drill, complete after every action, so that a crash loses nothing.

use std::io::ErrorKind;
use std::path::PathBuf;

use bevy::log::warn;

use crate::content::Content;
use crate::drill::Drill;
use crate::record::{LogWriter, Terms};
use crate::view::Watch;

/// Writes one file per drill into a folder.
pub struct LogWatch {
    folder: PathBuf,
    content: Content,
    open: Option<LogWriter>,
}

impl LogWatch {
    /// Logs into a folder, which is made when the first drill begins.
    pub fn new(folder: PathBuf, content: Content) -> LogWatch {
        LogWatch {
            folder,
            content,
            open: None,
        }
    }

    /// A new log: scenario, luck, and a number where that name is taken, by this window or another.
    fn create(&self, drill: &Drill, terms: &Terms) -> std::io::Result<LogWriter> {
        std::fs::create_dir_all(&self.folder)?;
        let stem = format!("{}-{}", drill.setup().scenario.id, drill.seed());
        let mut n = 1;
        loop {
            let name = if n == 1 {
                format!("{stem}.jsonl")
            } else {
                format!("{stem}-{n}.jsonl")
            };
            match LogWriter::create(&self.folder.join(name), &self.content, drill, terms) {
                Err(error) if error.kind() == ErrorKind::AlreadyExists => n += 1,
                made => return made,
            }
        }
    }
}

impl Watch for LogWatch {
    fn began(&mut self, drill: &Drill, terms: &Terms) {
        self.open = match self.create(drill, terms) {
            Ok(log) => Some(log),
            Err(error) => {
                warn!("no log can be written in {}: {error}", self.folder.display());
                None
            }
        };
    }

    fn acted(&mut self, drill: &Drill) {
        if let Some(log) = &mut self.open
            && let Err(error) = log.catch_up(drill)
        {
            warn!("the log cannot be written any more: {error}");
            self.open = None;
        }
    }

    fn took_back(&mut self, drill: &Drill) {
        self.acted(drill);
    }

    fn ended(&mut self, drill: &Drill) {
        if let Some(log) = self.open.take()
            && let Err(error) = log.end(drill)
        {
            warn!("the log could not be ended: {error}");
        }
    }
}
