//! Where attempts are recorded, what was set is remembered, and own content lies, if nothing else is said.

use std::path::PathBuf;

use crate::outside::{files, machine};
use crate::record::{Label, MOST_LABEL};

/// A folder of this name beside the program, if there is one.
fn beside(name: &str) -> Option<PathBuf> {
    Some(machine::program_folder()?.join(name)).filter(|folder| files::is_folder(folder))
}

/// Content that lies beside the program: in a folder `content`, unless that is empty.
pub(super) fn usual_content() -> Option<PathBuf> {
    beside("content").filter(|folder| files::list(folder).is_ok_and(|mut entries| entries.next().is_some()))
}

/// Where attempts are recorded.
pub(super) fn usual_logs() -> Option<PathBuf> {
    Some(state_folder()?.join("logs"))
}

/// Where results of attempts are kept.
pub(super) fn usual_register() -> Option<PathBuf> {
    Some(state_folder()?.join("register"))
}

/// Where results wait while the register is away.
pub(super) fn usual_waiting() -> Option<PathBuf> {
    Some(state_folder()?.join("waiting"))
}

/// Where what is recorded is kept: in a folder `kept` beside the program if there is one, as on a stick; else where
/// programs do so on this system, the state folder or the local application data.
pub(super) fn state_folder() -> Option<PathBuf> {
    if let Some(kept) = beside("kept") {
        return Some(kept);
    }
    let folder = |name: &str| {
        machine::variable(name)
            .map(PathBuf::from)
            .filter(|p| p.is_absolute())
    };
    let state = folder("XDG_STATE_HOME")
        .or_else(|| folder("LOCALAPPDATA"))
        .or_else(|| machine::home().map(|home| home.join(".local").join("state")))?;
    Some(state.join("smirch"))
}

/// The name of this station: as it was given, by `SMIRCH_STATION`, or by what the machine is called; none where an empty one was given or
/// the machine does not say.
pub(super) fn station_name(given: Option<&str>) -> Option<Label> {
    let said = given
        .map(str::to_owned)
        .or_else(|| machine::variable("SMIRCH_STATION")?.into_string().ok())
        .or_else(machine::host_name)?;
    Label::new(&fitted(&said), "a station").ok()
}

/// What a machine is called, with whatever a label cannot hold made a hyphen.
fn fitted(said: &str) -> String {
    let kept = |c: char| {
        if c.is_alphanumeric() || matches!(c, ' ' | '-' | '_' | '.') {
            c
        } else {
            '-'
        }
    };
    let fitted: String = said.trim().chars().take(MOST_LABEL).map(kept).collect();
    fitted.trim_matches(|c: char| !c.is_alphanumeric()).to_owned()
}

/// A station's name as it is given on the command line; empty for none.
pub(super) fn station(text: &str) -> Result<String, String> {
    match text.trim() {
        "" => Ok(String::new()),
        name => Label::new(name, "a station").map(|label| label.as_str().to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whatever_a_machine_is_called_becomes_a_name_or_none() {
        let name = |said: &str| station_name(Some(said)).map(|label| label.as_str().to_owned());
        assert_eq!(name("training-3").as_deref(), Some("training-3"));
        assert_eq!(name(" -room(4)/left\n").as_deref(), Some("room-4--left"));
        assert_eq!(name(&"x".repeat(300)).map(|n| n.len()), Some(MOST_LABEL));
        assert_eq!(name(""), None);
        assert_eq!(name("=()"), None);
        assert!(station("../x").is_err() && station("=1").is_err());
        assert_eq!(station(" "), Ok(String::new()));
    }
}
