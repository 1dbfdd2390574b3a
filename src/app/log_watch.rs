//! A log of each drill, complete after every action, so that a crash loses nothing.

use std::path::PathBuf;

use bevy::log::warn;

use crate::content::Content;
use crate::drill::Drill;
use crate::record::LogWriter;
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

    /// A name that is still free: scenario, luck, and a number where needed.
    fn free_path(&self, drill: &Drill) -> PathBuf {
        let stem = format!("{}-{}", drill.setup().scenario.id, drill.seed());
        let numbered = |n: u32| {
            let name = if n == 1 {
                format!("{stem}.jsonl")
            } else {
                format!("{stem}-{n}.jsonl")
            };
            self.folder.join(name)
        };
        (1..)
            .map(numbered)
            .find(|p| !p.exists())
            .unwrap_or_else(|| numbered(1))
    }
}

impl Watch for LogWatch {
    fn began(&mut self, drill: &Drill) {
        let path = self.free_path(drill);
        let made = std::fs::create_dir_all(&self.folder)
            .and_then(|()| LogWriter::create(&path, &self.content, drill));
        self.open = match made {
            Ok(log) => Some(log),
            Err(error) => {
                warn!("{} cannot be written: {error}", path.display());
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

    fn ended(&mut self, drill: &Drill) {
        if let Some(log) = self.open.take()
            && let Err(error) = log.end(drill)
        {
            warn!("the log could not be ended: {error}");
        }
    }
}
