//! Attempts recorded earlier, to be looked at again.

use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use crate::model::Library;
use crate::record::{Recorded, shelf};
use crate::register::Moment;

use super::words::{many, sentence};

/// Most attempts that are listed in the window.
const MOST: usize = 50;

/// What the sheet of attempts shows.
#[derive(Clone, Debug, PartialEq)]
pub struct AttemptsView {
    /// Where they lie, or why there are none.
    pub told: String,
    /// The newest, first.
    pub rows: Vec<AttemptRow>,
}

/// One attempt.
#[derive(Clone, Debug, PartialEq)]
pub struct AttemptRow {
    /// When it was and its scenario.
    pub label: String,
    /// Its sequence, marks, whether it was finished, its luck, and what is to know before it is opened.
    pub note: String,
    /// Its log; none if this program cannot read it.
    pub path: Option<PathBuf>,
    /// True if it was broken off and can be taken up again.
    pub can_go_on: bool,
}

/// The attempts in a folder as they are at a time.
pub fn attempts_view(library: &Library, folder: Option<&Path>, now: SystemTime) -> AttemptsView {
    let Some(folder) = folder else {
        return AttemptsView {
            told: "Attempts are not recorded".to_owned(),
            rows: Vec::new(),
        };
    };
    let found = match shelf(folder) {
        Ok(found) => found,
        Err(error) => {
            return AttemptsView {
                told: format!("{} cannot be read: {error}", folder.display()),
                rows: Vec::new(),
            };
        }
    };
    let done: Vec<&Recorded> = found.iter().filter(|r| !r.empty()).collect();
    let told = match done.len() {
        0 => format!("None yet. Each attempt is recorded in {}", folder.display()),
        n if n > MOST => format!("The newest {MOST} of {n} in {}", folder.display()),
        _ => format!("Recorded in {}", folder.display()),
    };
    AttemptsView {
        told,
        rows: done.iter().take(MOST).map(|r| row(library, r, now)).collect(),
    }
}

/// An attempt as it is listed at a time.
pub fn row(library: &Library, recorded: &Recorded, now: SystemTime) -> AttemptRow {
    let scenario = library.scenario(&recorded.scenario);
    let ago = now.duration_since(recorded.began).unwrap_or_default();
    let mut words: Vec<String> = Vec::new();
    if let Some(person) = &recorded.person {
        words.push(person.code.to_string());
    }
    if let Some(id) = &recorded.sequence {
        let known = library.sequence(id);
        words.push(known.map_or_else(|| id.clone(), |s| s.label.clone()));
    }
    if let Some(judged) = recorded.judged {
        words.push(match (judged.critical, judged.marks) {
            (0, Some(marks)) => format!("{marks} of {} marks", judged.of),
            (n, _) => format!("no marks: {}", many(n as u64, "critical error")),
        });
    }
    words.push(match (recorded.ended, recorded.actions) {
        (true, _) => "finished".to_owned(),
        (false, Some(1)) => "not finished, 1 step".to_owned(),
        (false, Some(n)) => format!("not finished, {}", many(n as u64, "step")),
        (false, None) => "not finished, the end cannot be read".to_owned(),
    });
    words.push(format!("chance number {}", recorded.seed));
    if !recorded.readable() {
        words.push("made by a newer smirch, which can open it".to_owned());
    } else if recorded.earlier() {
        words.push("from an earlier smirch: counts and marks will be today's".to_owned());
    }
    AttemptRow {
        label: format!(
            "{} · {}",
            date(recorded.began),
            scenario.map_or(recorded.scenario.as_str(), |s| s.label.as_str())
        ),
        note: format!("{} · {}", sentence(&since(ago)), words.join(" · ")),
        path: recorded.readable().then(|| recorded.path.clone()),
        can_go_on: recorded.can_go_on(),
    }
}

/// A day and time of day by this machine's local time, such as `26 November 2026, 10:31`.
pub fn date(at: SystemTime) -> String {
    let seconds = at.duration_since(UNIX_EPOCH).unwrap_or_default().as_secs();
    Moment::of_seconds(seconds).map_or_else(|| "long ago".to_owned(), Moment::words)
}

/// How long ago, in words, such as `3 hours ago`.
fn since(ago: Duration) -> String {
    const UNITS: [(u64, &str); 3] = [(86_400, "day"), (3_600, "hour"), (60, "minute")];
    let seconds = ago.as_secs();
    UNITS.iter().find(|(length, _)| seconds >= *length).map_or_else(
        || "just now".to_owned(),
        |(length, unit)| {
            let n = seconds / length;
            let many = if n == 1 { "" } else { "s" };
            format!("{n} {unit}{many} ago")
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_past_are_told_in_the_largest_whole_unit() {
        let told = |seconds| since(Duration::from_secs(seconds));
        assert_eq!(told(59), "just now");
        assert_eq!(told(60), "1 minute ago");
        assert_eq!(told(7_199), "1 hour ago");
        assert_eq!(told(200_000), "2 days ago");
    }

    #[test]
    fn without_a_folder_or_logs_it_says_so() {
        let content = crate::content::Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let view = |folder: Option<&Path>| attempts_view(&content.library, folder, SystemTime::now());
        assert_eq!(view(None).told, "Attempts are not recorded");
        let none = view(Some(Path::new("no-such-folder")));
        assert!(
            none.told.starts_with("None yet") && none.rows.is_empty(),
            "{none:?}"
        );
    }
}
