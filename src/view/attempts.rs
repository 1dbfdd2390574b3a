//! Attempts recorded earlier, to be looked at again.

use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use crate::model::Library;
use crate::record::{Recorded, shelf};

use super::words::sentence;

/// Most attempts that are listed.
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
    /// Its scenario.
    pub label: String,
    /// When it was, with which luck, and why it cannot be opened, if so.
    pub note: String,
    /// Its log; none if this program cannot read it.
    pub path: Option<PathBuf>,
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
    let told = match found.len() {
        0 => format!("None yet. Each attempt is recorded in {}", folder.display()),
        n if n > MOST => format!("The newest {MOST} of {n} in {}", folder.display()),
        _ => format!("Recorded in {}", folder.display()),
    };
    AttemptsView {
        told,
        rows: found.iter().take(MOST).map(|r| row(library, r, now)).collect(),
    }
}

fn row(library: &Library, recorded: &Recorded, now: SystemTime) -> AttemptRow {
    let scenario = library.scenario(&recorded.scenario);
    let ago = now.duration_since(recorded.written).unwrap_or_default();
    let mut note = format!("{}, luck {}", sentence(&since(ago)), recorded.seed);
    if !recorded.readable {
        note.push_str(". Made by another version of smirch, which can open it");
    }
    AttemptRow {
        label: scenario.map_or_else(|| recorded.scenario.clone(), |s| s.label.clone()),
        note,
        path: recorded.readable.then(|| recorded.path.clone()),
    }
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
