//! Where the numbers come from: every constant under the basis it names, narrowed to what is looked at.

use std::collections::BTreeSet;

use crate::drill::{Action, Drill};
use crate::model::{Library, Owner, Setup, SiteIndex, Status};
use crate::report::{constants, source_line};
use crate::transfer::{Cause, Event, Flow};

use super::choices::options;
use super::sure::HangList;
use super::words::sentence;

/// What is being looked for among the numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Numbers {
    /// Words that must all occur.
    pub find: String,
    /// Only numbers this firm.
    pub status: Option<Status>,
    /// Only what bears on something: its name, and the ids of the bases.
    pub about: Option<(String, BTreeSet<String>)>,
}

/// One basis with the numbers that name it.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberGroup {
    /// What its numbers mean.
    pub what: String,
    /// How firm, from where and how it was read, as one line.
    pub source: String,
    /// Conditions, plausible range and remarks, each as a sentence.
    pub notes: Vec<String>,
    /// The numbers: what, and value with spread and unit.
    pub numbers: Vec<(String, String)>,
}

/// What the sheet of numbers shows.
#[derive(Clone, Debug, PartialEq)]
pub struct NumbersView {
    /// What is being looked for.
    pub asked: Numbers,
    /// How many numbers there are in all.
    pub all: usize,
    /// How many of them are shown.
    pub found: usize,
    /// Those, by basis, in the order of the evidence file.
    pub groups: Vec<NumberGroup>,
    /// What the answers that are on the page hang on, if any are.
    pub hangs: Vec<HangList>,
    /// Share done of working out what each constant does to them by itself, while it goes on.
    pub turning: Option<f32>,
}

/// How firm a number is, in a word for people.
pub fn status_word(status: Status) -> &'static str {
    match status {
        Status::Measured => "measured",
        Status::Convention => "convention",
        Status::Assumption => "assumption",
        Status::Fitted => "fitted",
    }
}

/// The numbers that fit what is looked for.
pub fn numbers_view(library: &Library, asked: &Numbers) -> NumbersView {
    let all = constants(library);
    let words: Vec<String> = asked
        .find
        .to_lowercase()
        .split_whitespace()
        .map(str::to_owned)
        .collect();
    let mut groups = Vec::new();
    for basis in &library.bases {
        if asked.status.is_some_and(|s| s != basis.status) {
            continue;
        }
        if asked
            .about
            .as_ref()
            .is_some_and(|(_, ids)| !ids.contains(&basis.id))
        {
            continue;
        }
        let source = source_line(library, &basis.id);
        let ground = format!("{} {} {} {}", basis.what, source, basis.note, basis.conditions).to_lowercase();
        let numbers: Vec<(String, String)> = all
            .iter()
            .filter(|c| c.basis == basis.id)
            .filter(|c| {
                let what = c.what.to_lowercase();
                words.iter().all(|w| what.contains(w) || ground.contains(w))
            })
            .map(|c| {
                let spread = c.spread.map(|s| format!(" (spread {s})")).unwrap_or_default();
                (c.what.clone(), format!("{} {}{spread}", c.value, c.unit))
            })
            .collect();
        if numbers.is_empty() {
            continue;
        }
        let mut notes = Vec::new();
        if !basis.conditions.is_empty() {
            notes.push(format!("Conditions: {}", basis.conditions));
        }
        if let Some((low, high)) = basis.range {
            notes.push(format!("Plausible from {low} to {high} {}", basis.unit));
        }
        if !basis.note.is_empty() {
            notes.push(sentence(&basis.note));
        }
        groups.push(NumberGroup {
            what: sentence(&basis.what),
            source,
            notes,
            numbers,
        });
    }
    NumbersView {
        asked: asked.clone(),
        all: all.len(),
        found: groups.iter().map(|g| g.numbers.len()).sum(),
        groups,
        hangs: Vec::new(),
        turning: None,
    }
}

/// Ids of the bases behind what can happen at a site now: its area, the efficiencies of its material, and the
/// techniques and products that can be used there.
pub fn bearing_on(drill: &Drill, site: SiteIndex, acting: crate::model::Side) -> BTreeSet<String> {
    let setup = drill.setup();
    let library = &setup.library;
    let mut ids = BTreeSet::from([area_basis(setup, site).to_owned(), library.manners.basis.clone()]);
    let material = setup.sites[site].material;
    for other in 0..library.materials.len() {
        for (from, to) in [(material, other), (other, material)] {
            ids.insert(library.transfers[setup.efficiencies.row(from, to)].basis.clone());
        }
    }
    for choice in options(drill, site, acting) {
        ids.extend(behind_action(setup, &choice.action));
    }
    ids
}

/// Ids of the bases behind an action: the technique's or the product's.
pub fn behind_action(setup: &Setup, action: &Action) -> Vec<String> {
    let library = &setup.library;
    match action {
        Action::Do { technique, .. } => library
            .technique(technique)
            .map(|t| vec![t.basis.clone()])
            .unwrap_or_default(),
        Action::Clean { product, .. } => library
            .product(product)
            .map(|p| {
                let class = setup.organism.class;
                let reductions = p.reductions.iter().filter(|r| r.class == class);
                let mut ids = vec![p.basis.clone(), p.mixing.basis.clone()];
                ids.extend(reductions.map(|r| r.basis.clone()));
                ids
            })
            .unwrap_or_default(),
        Action::Touch { .. } | Action::Walk(_) | Action::Wait(_) => vec![library.manners.basis.clone()],
    }
}

/// Where the numbers behind one event of an action come from, a line for each.
pub fn behind_event(setup: &Setup, action: &Action, event: &Event) -> Vec<String> {
    let library = &setup.library;
    let mut ids: Vec<(String, String)> = Vec::new();
    if let Flow::Contact { a, b, .. } | Flow::Splash { from: a, onto: b, .. } = event.flow {
        let (from, to) = (setup.sites[a].material, setup.sites[b].material);
        for (from, to) in [(from, to), (to, from)] {
            let basis = &library.transfers[setup.efficiencies.row(from, to)].basis;
            let what = format!(
                "From {} to {}",
                library.materials[from].label, library.materials[to].label
            );
            if !ids.iter().any(|(id, _)| id == basis) {
                ids.push((basis.clone(), what));
            }
        }
    }
    let by = match event.cause {
        Cause::Brush => "How large the brush and how often",
        Cause::Graze => "How large the small contact",
        Cause::Shed => "How much is shaken off",
        _ => "How large the contact",
    };
    ids.extend(
        behind_action(setup, action)
            .into_iter()
            .map(|id| (id, by.to_owned())),
    );
    if event.spots.is_some() {
        ids.push((
            setup.scenario.basis.clone(),
            "In how many spots it lay".to_owned(),
        ));
    }
    ids.into_iter()
        .map(|(id, what)| format!("{what}: {}", source_line(library, &id)))
        .collect()
}

/// The basis of a site's area.
fn area_basis(setup: &Setup, site: SiteIndex) -> &str {
    let library = &setup.library;
    match setup.sites[site].owner {
        Owner::Body(place) => &library.places[place].basis,
        Owner::Part(item, ..) => &setup.definition(item).basis,
        Owner::Room(piece) => &library.furniture[piece].basis,
    }
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::{drill, play};
    use super::*;
    use crate::model::Side;

    #[test]
    fn every_number_is_found_under_a_basis() {
        let drill = drill("classic-tracer");
        let view = numbers_view(&drill.setup().library, &Numbers::default());
        assert_eq!(view.found, view.all);
        assert!(view.groups.iter().all(|g| !g.source.is_empty()));
    }

    #[test]
    fn words_and_firmness_narrow_the_list() {
        let drill = drill("classic-tracer");
        let library = &drill.setup().library;
        let asked = Numbers {
            find: "rub enveloped".to_owned(),
            status: Some(Status::Measured),
            about: None,
        };
        let view = numbers_view(library, &asked);
        assert!(
            0 < view.found && view.found < view.all / 10,
            "{} found",
            view.found
        );
        let none = Numbers {
            find: "zebra".to_owned(),
            ..Numbers::default()
        };
        assert_eq!(numbers_view(library, &none).found, 0);
    }

    #[test]
    fn a_chosen_site_brings_its_area_its_material_and_what_can_be_done() {
        let drill = drill("classic-tracer");
        let setup = drill.setup();
        let site = setup.site("left-glove-cuff").expect("gloves are worn");
        let ids = bearing_on(&drill, site, Side::Right);
        for wanted in [
            "tracer-transfer",
            setup
                .definition(setup.item("left-glove").expect("worn"))
                .basis
                .as_str(),
        ] {
            assert!(ids.contains(wanted), "no `{wanted}` among {ids:?}");
        }
        let library = &setup.library;
        assert!(ids.iter().all(|id| library.basis(id).is_some()), "{ids:?}");
    }

    #[test]
    fn every_event_of_a_drill_has_sources_behind_it() {
        let drill = play("respiratory-room/no-rub", 3);
        for done in drill.done() {
            for (event, _) in done.flows() {
                let lines = behind_event(drill.setup(), &done.action, event);
                assert!(
                    !lines.is_empty() && lines.iter().all(|l| !l.ends_with(": ")),
                    "{lines:?}"
                );
            }
        }
    }
}
