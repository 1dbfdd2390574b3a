//! `smirch list`.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::content::Content;
use crate::model::Technique;
use crate::outside::{clock, files};
use crate::record::shelf;
use crate::view::attempts::row;

use super::logs::usual_logs;
use super::{Failure, scenario, setup};

/// Show what there is, one a line: id, then a tab, then its name.
#[derive(Debug, Args)]
pub(super) struct List {
    /// What to show; everything but attempts if left out
    what: Option<What>,
    /// The scenario whose sites are shown, an id or a file [default: respiratory-room]
    #[arg(long)]
    scenario: Option<String>,
}

/// The scenario whose sites are shown unless another is asked for.
const SITES_OF: &str = "respiratory-room";

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum What {
    Scenarios,
    Scripts,
    Sequences,
    Items,
    Techniques,
    Organisms,
    Products,
    Duels,
    /// Checklists for whoever watches a real person.
    Checklists,
    Lessons,
    Sites,
    Attempts,
}

impl List {
    /// True if attempts are asked for.
    pub(super) fn shows_attempts(&self) -> bool {
        self.what == Some(What::Attempts)
    }

    pub(super) fn run(self, content: &Content, logs: Option<PathBuf>) -> Result<(), Failure> {
        if self.scenario.is_some() && self.what.is_some_and(|what| what != What::Sites) {
            return Err(Failure::Usage(
                "only sites are listed for a scenario\n   hint: `smirch list sites --scenario ...`"
                    .to_owned(),
            ));
        }
        let library = &content.library;
        let mut out = std::io::stdout().lock();
        for what in What::value_variants() {
            let asked = match self.what {
                Some(wanted) => wanted == *what,
                None => *what != What::Attempts,
            };
            if !asked {
                continue;
            }
            let rows: Vec<(String, String)> = match what {
                What::Scenarios => library
                    .scenarios
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Duels => library
                    .duels
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Checklists => library
                    .checklists
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Lessons => library
                    .lessons
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Scripts => content
                    .scripts
                    .iter()
                    .map(|(id, s)| (id.clone(), s.label.clone()))
                    .collect(),
                What::Sequences => library
                    .sequences
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Items => library
                    .items
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Techniques => library
                    .techniques
                    .iter()
                    .map(|t| (t.id.clone(), technique(t)))
                    .collect(),
                What::Organisms => library
                    .organisms
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Products => library
                    .products
                    .iter()
                    .map(|x| (x.id.clone(), x.label.clone()))
                    .collect(),
                What::Attempts => attempts(content, logs.clone())?,
                What::Sites => {
                    let (content, id) = scenario(content, self.scenario.as_deref().unwrap_or(SITES_OF))?;
                    let setup = setup(&content, &id)?;
                    setup
                        .sites
                        .iter()
                        .map(|s| (s.id.clone(), s.label.clone()))
                        .collect()
                }
            };
            if self.what.is_none() {
                let title = what
                    .to_possible_value()
                    .map(|v| v.get_name().to_owned())
                    .unwrap_or_default();
                writeln!(out, "# {title}")?;
            }
            for (id, label) in rows {
                writeln!(out, "{id}\t{label}")?;
            }
            if self.what.is_none() {
                writeln!(out)?;
            }
        }
        out.flush()?;
        Ok(())
    }
}

/// What a technique is and is for, and which contacts were considered in it and left out.
fn technique(t: &Technique) -> String {
    let left_out: Vec<String> = t.left_out.iter().map(|l| l.line()).collect();
    let mut text = format!("{} [{}]", t.label, t.items.join(", "));
    if !left_out.is_empty() {
        text.push_str("\tleft out: ");
        text.push_str(&left_out.join("; "));
    }
    text
}

/// The attempts recorded in a folder, newest first; those in which nothing was done are left out.
fn attempts(content: &Content, logs: Option<PathBuf>) -> Result<Vec<(String, String)>, Failure> {
    if let Some(named) = logs.as_ref().filter(|folder| !files::is_folder(folder)) {
        return Err(Failure::Usage(format!(
            "{}: there is no such folder\n   hint: name the folder into which the window writes logs",
            named.display()
        )));
    }
    let folder = logs.or_else(usual_logs).ok_or_else(|| {
        Failure::Usage("attempts have no usual folder here\n   hint: say which with `--logs DIR`".to_owned())
    })?;
    let found =
        shelf(&folder).map_err(|e| Failure::Faults(format!("{}: cannot be read: {e}", folder.display())))?;
    let now = clock::now();
    Ok(found
        .iter()
        .filter(|recorded| !recorded.empty())
        .map(|recorded| {
            let row = row(&content.library, recorded, now);
            (
                recorded.path.display().to_string(),
                format!("{} · {}", row.label, row.note),
            )
        })
        .collect())
}
