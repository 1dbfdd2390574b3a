//! A log of each drill, complete after every action, so that a crash loses nothing; and the result of each, kept in the
//! register beside the window once it is over, or the next time if the program was stopped.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use bevy::log::warn;

use crate::content::Content;
use crate::drill::Drill;
use crate::outside::files;
use crate::outside::threads::Beside;
use crate::record::{Id, LogWriter, Replay, Terms};
use crate::register::{Drafts, Entry, Keeping, Station, keep_left, keep_logged};
use crate::view::Watch;

/// Writes one file per drill into a folder.
pub struct LogWatch {
    folder: PathBuf,
    content: Arc<Content>,
    station: Option<Arc<Station>>,
    open: Option<(LogWriter, PathBuf)>,
    /// Results that are being kept.
    at_work: Vec<Beside<()>>,
}

impl LogWatch {
    /// Logs into a folder, which is made when the first drill begins. With a station, results are kept there: those of earlier
    /// attempts that have none yet first.
    pub fn new(folder: PathBuf, content: Content, station: Option<Station>) -> LogWatch {
        let mut watch = LogWatch {
            folder,
            content: Arc::new(content),
            station: station.map(Arc::new),
            open: None,
            at_work: Vec::new(),
        };
        watch.keep_what_was_left();
        watch
    }

    fn keep_what_was_left(&mut self) {
        let Some(station) = self.station.clone() else {
            return;
        };
        let (folder, content) = (self.folder.clone(), self.content.clone());
        self.at_work.push(Beside::begin(move || {
            match station.deliver() {
                Ok(delivered) => {
                    for (path, why) in delivered.left {
                        warn!("{} still waits for the register: {why}", path.display());
                    }
                }
                Err(error) => warn!("what waits for the register cannot be listed: {error}"),
            }
            if let Err(error) = keep_left(&station, &folder, &content) {
                warn!("logs of earlier attempts cannot be listed: {error}");
            }
        }));
    }

    /// Keeps the result of an attempt whose log is closed.
    fn keep(&mut self, log: PathBuf) {
        let Some(station) = self.station.clone() else {
            return;
        };
        let content = self.content.clone();
        self.at_work.retain(|work| !work.is_done());
        self.at_work.push(Beside::begin(move || {
            match keep_logged(&station, &log, &content) {
                Ok(Some(Keeping::Waiting(path, error))) => {
                    warn!(
                        "the register cannot be written now ({error}); the result waits in {} and goes there the next time",
                        path.display()
                    );
                }
                Ok(_) => {}
                Err(why) => warn!("the result of this attempt could not be kept: {why}"),
            }
        }));
    }

    /// Closes what is open, and keeps it as it stands.
    fn leave(&mut self) {
        if let Some((log, path)) = self.open.take() {
            drop(log);
            self.keep(path);
        }
    }

    /// A new log: scenario, luck, and a number where that name is taken, by this window or another.
    fn create(&self, drill: &Drill, terms: &Terms) -> std::io::Result<(LogWriter, PathBuf)> {
        files::make_folders(&self.folder)?;
        let stem = format!("{}-{}", drill.setup().scenario.id, drill.seed());
        let mut n = 1;
        loop {
            let name = if n == 1 {
                format!("{stem}.jsonl")
            } else {
                format!("{stem}-{n}.jsonl")
            };
            let path = self.folder.join(name);
            match LogWriter::create(&path, &self.content, drill, terms) {
                Err(error) if error.kind() == ErrorKind::AlreadyExists => n += 1,
                made => return Ok((made?, path)),
            }
        }
    }
}

impl Watch for LogWatch {
    fn began(&mut self, drill: &Drill, terms: &Terms) {
        self.leave();
        self.open = match self.create(drill, terms) {
            Ok(log) => Some(log),
            Err(error) => {
                warn!("no log can be written in {}: {error}", self.folder.display());
                None
            }
        };
    }

    fn resumed(&mut self, path: &Path, replay: &Replay) {
        self.leave();
        self.open = match LogWriter::resume(path, replay) {
            Ok(log) => Some((log, path.to_owned())),
            Err(error) => {
                warn!("{}: the log cannot be gone on with: {error}", path.display());
                None
            }
        };
    }

    fn acted(&mut self, drill: &Drill) {
        if let Some((log, _)) = &mut self.open
            && let Err(error) = log.catch_up(drill)
        {
            warn!("the log cannot be written any more: {error}");
            self.open = None;
        }
    }

    fn took_back(&mut self, drill: &Drill) {
        self.acted(drill);
    }

    fn told(&mut self, step: &str) {
        if let Some((log, _)) = &mut self.open
            && let Err(error) = log.told(step)
        {
            warn!("the log cannot be written any more: {error}");
            self.open = None;
        }
    }

    fn drafted(&mut self, entry: &Entry) {
        if let Err(error) = Drafts::beside(&self.folder).keep(entry) {
            warn!("a sheet cannot be kept as it stands: {error}");
        }
    }

    fn discarded(&mut self, sheet: Id) {
        if let Err(error) = Drafts::beside(&self.folder).remove(sheet) {
            warn!("a sheet cannot be removed: {error}");
        }
    }

    fn keeps(&mut self, entry: &Entry) -> Option<Result<String, String>> {
        let station = self.station.as_ref()?;
        Some(match station.keep(entry) {
            Ok(Keeping::Register(path)) => Ok(format!("Signed, and kept in {}", path.display())),
            Ok(Keeping::Waiting(path, error)) => Ok(format!(
                "Signed. The register cannot be written now ({error}); it waits in {} and goes there the next time",
                path.display()
            )),
            Err(error) => Err(format!(
                "it cannot be kept: {error}; save the report, and sign when there is room"
            )),
        })
    }

    fn ended(&mut self, drill: &Drill) {
        let Some((log, path)) = self.open.take() else {
            return;
        };
        match log.end(drill) {
            Ok(()) => self.keep(path),
            Err(error) => warn!("the log could not be ended: {error}"),
        }
    }

    fn taught(&mut self, entry: &Entry) {
        let Some(station) = self.station.clone() else {
            return;
        };
        let entry = entry.clone();
        self.at_work.push(Beside::begin(move || {
            if let Err(error) = station.keep(&entry) {
                warn!("what was counted in the lesson could not be kept: {error}");
            }
        }));
    }
}

impl Drop for LogWatch {
    fn drop(&mut self) {
        self.leave();
        for work in self.at_work.drain(..) {
            let _ = work.wait();
        }
    }
}
