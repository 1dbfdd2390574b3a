//! A log of each drill, complete after every action, so that a crash loses nothing; and the result of each, kept in the
//! register beside the screen once it is over, or the next time if the program was stopped. Sheets and lessons likewise.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::content::Content;
use crate::drill::Drill;
use crate::outside::files::{self, Growing};
use crate::outside::threads::Beside;
use crate::record::{Id, LogWriter, Replay, Terms};
use crate::register::{
    Drafts, Entry, Keeping, LessonLog, Station, keep_left, keep_lessons_left, keep_logged,
};

use super::Watch;

/// Who is told what cannot be written, and why.
pub type Tell = Arc<dyn Fn(&str) + Send + Sync>;

/// Writes one file per drill into a folder.
pub struct LogWatch {
    folder: PathBuf,
    content: Arc<Content>,
    station: Option<Arc<Station>>,
    tell: Tell,
    open: Option<(LogWriter, PathBuf)>,
    /// The sheet that is open, held for this program.
    sheet: Option<(Id, Growing)>,
    /// The lesson that is given.
    lesson: Option<LessonLog>,
    /// Results that are being kept.
    at_work: Vec<Beside<()>>,
}

impl LogWatch {
    /// Logs into a folder, which is made when the first drill begins. With a station, results are kept there: those of earlier
    /// attempts that have none yet first. What cannot be written is told.
    pub fn new(
        folder: PathBuf,
        content: Content,
        station: Option<Station>,
        tell: impl Fn(&str) + Send + Sync + 'static,
    ) -> LogWatch {
        let mut watch = LogWatch {
            folder,
            content: Arc::new(content),
            station: station.map(Arc::new),
            tell: Arc::new(tell),
            open: None,
            sheet: None,
            lesson: None,
            at_work: Vec::new(),
        };
        watch.keep_what_was_left();
        watch
    }

    /// Does something at the station beside everything else; nothing without one.
    fn beside(&mut self, work: impl FnOnce(&Station, Tell) + Send + 'static) {
        let Some(station) = self.station.clone() else {
            return;
        };
        let tell = self.tell.clone();
        self.at_work.retain(|work| !work.is_done());
        self.at_work.push(Beside::begin(move || work(&station, tell)));
    }

    fn keep_what_was_left(&mut self) {
        let (folder, content) = (self.folder.clone(), self.content.clone());
        self.beside(move |station, tell| {
            match station.deliver() {
                Ok(delivered) => {
                    for (path, why) in delivered.left {
                        tell(&format!("{} still waits for the register: {why}", path.display()));
                    }
                }
                Err(error) => tell(&format!("what waits for the register cannot be listed: {error}")),
            }
            if let Err(error) = keep_left(station, &folder, &content) {
                tell(&format!("logs of earlier attempts cannot be listed: {error}"));
            }
            if let Err(error) = keep_signed(station, &Drafts::beside(&folder)) {
                tell(&format!("sheets that were signed cannot be kept: {error}"));
            }
            if let Err(error) = keep_lessons_left(station, &folder) {
                tell(&format!(
                    "what was counted in earlier lessons cannot be kept: {error}"
                ));
            }
        });
    }

    /// Keeps the result of an attempt whose log is closed.
    fn keep(&mut self, log: PathBuf) {
        let content = self.content.clone();
        self.beside(move |station, tell| match keep_logged(station, &log, &content) {
            Ok(Some(Keeping::Waiting(path, error))) => tell(&format!(
                "the register cannot be written now ({error}); the result waits in {} and goes there the next time",
                path.display()
            )),
            Ok(_) => {}
            Err(why) => tell(&format!("the result of this attempt could not be kept: {why}")),
        });
    }

    /// Closes what is open, and keeps it as it stands.
    fn leave(&mut self) {
        if let Some((log, path)) = self.open.take() {
            drop(log);
            self.keep(path);
        }
    }

    /// Has something written into the open log; one that cannot be written is closed.
    fn write(&mut self, write: impl FnOnce(&mut LogWriter) -> std::io::Result<()>) {
        if let Some((log, _)) = &mut self.open
            && let Err(error) = write(log)
        {
            (self.tell)(&format!("the log cannot be written any more: {error}"));
            self.open = None;
        }
    }

    fn drafts(&self) -> Drafts {
        Drafts::beside(&self.folder)
    }

    /// A new log: scenario, luck, and a number where that name is taken, by this program or another.
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
                (self.tell)(&format!(
                    "no log can be written in {}: {error}",
                    self.folder.display()
                ));
                None
            }
        };
    }

    fn resumed(&mut self, path: &Path, replay: &Replay) {
        self.leave();
        self.open = match LogWriter::resume(path, replay) {
            Ok(log) => Some((log, path.to_owned())),
            Err(error) => {
                (self.tell)(&format!(
                    "{}: the log cannot be gone on with: {error}",
                    path.display()
                ));
                None
            }
        };
    }

    fn acted(&mut self, drill: &Drill) {
        self.write(|log| log.catch_up(drill));
    }

    fn took_back(&mut self, drill: &Drill) {
        self.acted(drill);
    }

    fn told(&mut self, step: &str) {
        self.write(|log| log.told(step));
    }

    fn drafted(&mut self, entry: &Entry) {
        if let Some(sheet) = entry.judged() {
            self.opens(sheet.sheet);
        }
        if let Err(error) = self.drafts().keep(entry) {
            (self.tell)(&format!("a sheet cannot be kept as it stands: {error}"));
        }
    }

    fn opens(&mut self, sheet: Id) -> bool {
        if self.sheet.as_ref().is_some_and(|(held, _)| *held == sheet) {
            return true;
        }
        self.puts_away();
        match self.drafts().hold(sheet) {
            Ok(held) => self.sheet = Some((sheet, held)),
            Err(error) if error.kind() == ErrorKind::WouldBlock => return false,
            // Then nobody else is told that it is open.
            Err(error) => (self.tell)(&format!("a sheet cannot be held: {error}")),
        }
        true
    }

    fn puts_away(&mut self) {
        if let Some((sheet, held)) = self.sheet.take()
            && let Err(error) = self.drafts().let_go(sheet, held)
        {
            (self.tell)(&format!("a sheet cannot be let go: {error}"));
        }
    }

    fn discarded(&mut self, sheet: Id) {
        if let Err(error) = self.drafts().remove(sheet) {
            (self.tell)(&format!("a sheet cannot be removed: {error}"));
        }
    }

    fn keeps(&mut self, entry: &Entry) -> Option<Result<String, String>> {
        let station = self.station.as_ref()?;
        let drafts = self.drafts();
        if let Err(error) = drafts.sign(entry) {
            return Some(Err(format!(
                "it cannot be kept: {error}; save the report, and sign when there is room"
            )));
        }
        let kept = station.keep(entry);
        if let (Ok(_), Some(sheet)) = (&kept, entry.judged()) {
            // If this fails it is kept once more the next time, as the same entry.
            if let Err(error) = drafts.remove(sheet.sheet) {
                (self.tell)(&format!("a sheet cannot be removed: {error}"));
            }
        }
        Some(Ok(match kept {
            Ok(Keeping::Register(path)) => format!("Signed, and kept in {}", path.display()),
            Ok(Keeping::Waiting(path, error)) => format!(
                "Signed. The register cannot be written now ({error}); it waits in {} and goes there the next time",
                path.display()
            ),
            Err(error) => format!(
                "Signed. It can be kept neither in the register nor for it now ({error}); it stays with the unsigned sheets, as \
                 signed, and goes there the next time"
            ),
        }))
    }

    fn ended(&mut self, drill: &Drill) {
        let Some((log, path)) = self.open.take() else {
            return;
        };
        match log.end(drill) {
            Ok(()) => self.keep(path),
            Err(error) => (self.tell)(&format!("the log could not be ended: {error}")),
        }
    }

    fn teaching(&mut self, so_far: &[Entry]) {
        if self.station.is_none() {
            return;
        }
        let begun = match self.lesson.take() {
            Some(log) => Ok(log),
            None => LessonLog::begin(&self.folder),
        };
        let stands = begun.and_then(|mut log| log.stands(so_far).map(|()| log));
        match stands {
            Ok(log) => self.lesson = Some(log),
            Err(error) => (self.tell)(&format!(
                "what is counted in the lesson cannot be written: {error}"
            )),
        }
    }

    fn taught(&mut self, entries: &[Entry]) {
        let (entries, log) = (entries.to_vec(), self.lesson.take());
        self.beside(move |station, tell| {
            for entry in &entries {
                if let Err(error) = station.keep(entry) {
                    // What was written so far stays, and is kept the next time.
                    tell(&format!(
                        "what was counted in the lesson could not be kept: {error}"
                    ));
                    return;
                }
            }
            if let Some(Err(error)) = log.map(LessonLog::over) {
                tell(&format!(
                    "what was written of the lesson cannot be removed: {error}"
                ));
            }
        });
    }
}

/// Keeps sheets that were signed when a program was stopped.
fn keep_signed(station: &Station, drafts: &Drafts) -> std::io::Result<()> {
    for entry in drafts.signed()? {
        station.keep(&entry)?;
        if let Some(sheet) = entry.judged() {
            drafts.remove(sheet.sheet)?;
        }
    }
    Ok(())
}

impl Drop for LogWatch {
    fn drop(&mut self) {
        self.puts_away();
        self.leave();
        for work in self.at_work.drain(..) {
            let _ = work.wait();
        }
    }
}
