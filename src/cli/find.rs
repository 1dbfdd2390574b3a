//! Finding what was asked for by name or as a file.

use std::path::Path;
use std::sync::Arc;

use crate::content::Content;
use crate::content::fault::{nearest, nearest_hint, quoted};
use crate::drill::Script;
use crate::model::{Sequence, Setup};
use crate::outside::files;

use super::failure::Failure;
use super::logs::usual_content;

/// The built-in content, with a folder laid over it if one is given or lies beside the program.
pub(super) fn content(folder: Option<&Path>) -> Result<Content, Failure> {
    match folder.map(Path::to_owned).or_else(usual_content) {
        None => Content::builtin(),
        Some(folder) => Content::with_folder(&folder),
    }
    .map_err(Failure::from)
}

/// The content with the scenario that was asked for, a built-in id or a file, and its id.
pub(super) fn scenario(content: &Content, wanted: &str) -> Result<(Content, String), Failure> {
    if content.library.scenario(wanted).is_some() {
        return Ok((content.clone(), wanted.to_owned()));
    }
    let path = Path::new(wanted);
    if files::is_there(path) || wanted.contains(['/', '\\']) || wanted.ends_with(".ron") {
        return Ok(content.scenario_file(path)?);
    }
    Err(Failure::Usage(unknown(
        "scenario",
        wanted,
        content.library.scenarios.iter().map(|s| s.id.as_str()),
    )))
}

/// A message about a name that is not known, with the nearest that is or those there are.
pub(super) fn unknown<'k>(noun: &str, wanted: &str, known: impl Iterator<Item = &'k str> + Clone) -> String {
    let all = || format!("there are {}", known.clone().collect::<Vec<_>>().join(", "));
    let hint = nearest_hint(wanted, known.clone()).unwrap_or_else(all);
    format!("unknown {noun} {}\n   hint: {hint}", quoted(wanted))
}

/// A sequence by id, for the kit of a scenario.
pub(super) fn find_sequence<'a>(setup: &'a Setup, wanted: &str) -> Result<&'a Sequence, Failure> {
    let all = &setup.library.sequences;
    let Some(sequence) = setup.library.sequence(wanted) else {
        return Err(Failure::Usage(unknown(
            "sequence",
            wanted,
            all.iter().map(|s| s.id.as_str()),
        )));
    };
    if setup.is_served_by(sequence) {
        return Ok(sequence);
    }
    let made_for = std::iter::once(&setup.scenario.sequence).chain(&setup.scenario.also);
    Err(Failure::Usage(format!(
        "`{wanted}` asks for nothing that is worn in `{}`\n   hint: `{}` is made for {}",
        setup.scenario.id,
        setup.scenario.id,
        made_for.cloned().collect::<Vec<_>>().join(", ")
    )))
}

/// A script by file or by the name of a built-in one, checked in the scenario it is to be played in.
pub(super) fn find_script(content: &Content, wanted: &str, scenario: &str) -> Result<Script, Failure> {
    let path = Path::new(wanted);
    // A folder of that name is no script.
    if !files::is_file(path) {
        let name = wanted.trim_end_matches(".ron");
        let here = format!("{scenario}/{name}");
        if let Some(script) = content.scripts.get(name).or_else(|| content.scripts.get(&here)) {
            return Ok(script.clone());
        }
        if !files::is_there(path) && !wanted.ends_with(".ron") {
            return Err(Failure::Usage(unknown_script(content, wanted, scenario)));
        }
    }
    Ok(content.script_file(path, scenario)?)
}

/// A message about a script that is not known: the nearest of its scenario, then of any, then all of its scenario.
fn unknown_script(content: &Content, wanted: &str, scenario: &str) -> String {
    let names = || content.scripts.keys().map(String::as_str);
    let short = |name: &'_ str| {
        name.rsplit_once('/')
            .map_or(name.to_owned(), |(_, short)| short.to_owned())
    };
    let of_scenario: Vec<String> = names()
        .filter(|name| name.rsplit_once('/').is_some_and(|(whose, _)| whose == scenario))
        .map(short)
        .collect();
    let elsewhere = || {
        let near = nearest(
            &short(wanted),
            names().map(short).collect::<Vec<_>>().iter().map(String::as_str),
        )?;
        let whole = names().find(|name| short(name) == near)?;
        Some(format!("the nearest known name is {}", quoted(whole)))
    };
    let hint = nearest_hint(wanted, of_scenario.iter().map(String::as_str))
        .or_else(|| nearest_hint(wanted, names()))
        .or_else(elsewhere)
        .unwrap_or_else(|| {
            let here = if of_scenario.is_empty() {
                format!("there are none for {}", quoted(scenario))
            } else {
                format!("for {} there are {}", quoted(scenario), of_scenario.join(", "))
            };
            format!("{here}; `smirch list scripts` shows all")
        });
    format!("unknown script {}\n   hint: {hint}", quoted(wanted))
}

/// The scenario made concrete.
pub(super) fn setup(content: &Content, scenario: &str) -> Result<Arc<Setup>, Failure> {
    let scenario = content
        .library
        .scenario(scenario)
        .ok_or_else(|| Failure::Usage(unknown("scenario", scenario, std::iter::empty())))?;
    Setup::new(content.library.clone(), scenario)
        .map(Arc::new)
        .map_err(|e| Failure::Faults(e.to_string()))
}
