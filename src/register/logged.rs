//! Results of attempts that were logged: made from the log itself, so that what a register says is what the log shows, and so
//! that an attempt whose program was stopped leaves its result the next time somebody looks.

use std::path::{Path, PathBuf};

use crate::content::Content;
use crate::outside::files::is_growing;
use crate::record::{note_kept, replay, shelf};

use super::{About, Attempt, Entry, Keeping, Moment, Station, What};

/// Keeps the result of an attempt as its log stands, and notes that in the log. Nothing is kept of one in which nothing was done.
///
/// # Errors
/// A sentence: the log cannot be played, or nothing can be written.
pub fn keep_logged(station: &Station, log: &Path, content: &Content) -> Result<Option<Keeping>, String> {
    let found = replay(log, content).map_err(|e| e.to_string())?;
    let Some(attempt) = found.attempt else {
        return Err(format!(
            "{}: a log of this format has no name for its attempt",
            log.display()
        ));
    };
    if found.drill.done().is_empty() {
        return Ok(None);
    }
    let library = &found.drill.setup().library;
    let sequence = library
        .sequence(&found.terms.sequence)
        .ok_or_else(|| format!("{}: its sequence is not known here", log.display()))?;
    let about = About {
        attempt,
        began: found
            .began
            .and_then(Moment::of_seconds)
            .unwrap_or_else(Moment::now),
        finished: found.ended,
        content: content.digest,
        terms: &found.terms,
        told: found.told.clone(),
        log: log.file_name().map(|name| name.to_string_lossy().into_owned()),
    };
    // What cannot be done again, as where the content is another now, is judged all the same.
    let result = Attempt::of(&found.drill, sequence, about.clone())
        .unwrap_or_else(|_| Attempt::as_judged(&found.drill, sequence, about));
    let entry = Entry::new(found.terms.person.clone(), What::Attempt(Box::new(result)));
    let kept = station
        .keep(&entry)
        .map_err(|e| format!("the result cannot be kept anywhere: {e}"))?;
    // If this fails, or the log has gone on, the result is kept once more the next time, as an entry of the same attempt.
    note_kept(log, &found, entry.id)
        .map_err(|e| format!("{}: the log cannot be written: {e}", log.display()))?;
    Ok(Some(kept))
}

/// Keeps the results of all attempts in a folder of logs that have none yet, those left out that are under way. What cannot be
/// read is passed over: it is listed with the attempts.
///
/// # Errors
/// The folder cannot be listed.
pub fn keep_left(station: &Station, logs: &Path, content: &Content) -> std::io::Result<Vec<PathBuf>> {
    let mut kept = Vec::new();
    for found in shelf(logs)? {
        let due = found.attempt.is_some() && !found.kept && !found.empty() && !is_growing(&found.path);
        if due && matches!(keep_logged(station, &found.path, content), Ok(Some(_))) {
            kept.push(found.path);
        }
    }
    Ok(kept)
}
