//! The first page: which scenario, whose sequence, and how it is to be played.

use crate::content::Content;
use crate::model::Scenario;
use crate::record::Id;

use super::attempts::AttemptRow;
use super::pass::{PassView, pass_view};
use super::practice::LadderView;
use super::settings::{Settings, Use};

/// A scenario to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct ScenarioCard {
    /// Index in the library.
    pub index: usize,
    /// Name for people.
    pub label: String,
    /// What is worn, innermost first, and what lies ready to be put on, in words.
    pub kit: String,
    /// True for a scenario that repeats a published study rather than teaches.
    pub study: bool,
    /// True if chosen.
    pub chosen: bool,
}

/// What the first page shows.
#[derive(Clone, Debug, PartialEq)]
pub struct StartView {
    /// All scenarios.
    pub scenarios: Vec<ScenarioCard>,
    /// Setting of the chosen one.
    pub setting: String,
    /// What is counted in it.
    pub organism: String,
    /// Sequences that fit it, its own first: label and whose guidance it is.
    pub sequences: Vec<(String, String)>,
    /// Everything chosen so far.
    pub settings: Settings,
    /// Where results are kept, if they are.
    pub kept: Option<String>,
    /// The attempt that was left last and can be taken up again.
    pub unfinished: Option<AttemptRow>,
    /// Sheets that were left unsigned: in words, and what they are known by.
    pub left_sheets: Vec<(String, Id)>,
    /// The ladder, where somebody practises.
    pub ladder: Option<LadderView>,
    /// The rule by which an assessment passes, as it can be set; none if the content has no rules.
    pub pass: Option<PassView>,
    /// What the number for chance is if none is typed, in words.
    pub usual_seed: String,
    /// Why it cannot start, if it cannot.
    pub refusal: Option<String>,
}

/// Ids of the sequences that fit a scenario, its own first.
pub fn sequence_ids(scenario: &Scenario) -> Vec<String> {
    std::iter::once(&scenario.sequence)
        .chain(&scenario.also)
        .cloned()
        .collect()
}

/// The first page for these settings.
pub fn start_view(content: &Content, settings: &Settings, refusal: Option<&str>) -> StartView {
    let library = &content.library;
    let scenarios = library
        .scenarios
        .iter()
        .enumerate()
        .map(|(index, scenario)| {
            let named = |lies_ready: bool| -> Vec<String> {
                let kit = scenario.kit.iter();
                kit.filter(|id| scenario.ready.contains(id) == lies_ready)
                    .filter_map(|id| library.item(id))
                    .map(|item| match item.each_side {
                        true => format!("{}s", item.label),
                        false => item.label.clone(),
                    })
                    .collect()
            };
            let kit: Vec<String> = [(false, "You wear"), (true, "To be put on")]
                .into_iter()
                .map(|(lies_ready, words)| (words, named(lies_ready)))
                .filter(|(_, named)| !named.is_empty())
                .map(|(words, named)| format!("{words}: {}", super::words::list(&named)))
                .collect();
            ScenarioCard {
                index,
                label: scenario.label.clone(),
                kit: kit.join(". "),
                study: scenario.id.starts_with("study-"),
                chosen: index == settings.scenario,
            }
        })
        .collect();
    let scenario = library.scenarios.get(settings.scenario);
    StartView {
        scenarios,
        setting: scenario.map_or_else(String::new, |s| s.setting.clone()),
        organism: scenario
            .and_then(|s| library.organism(&s.organism))
            .map_or_else(String::new, |o| format!("{}, counted in {}", o.label, o.unit)),
        sequences: scenario
            .map(|s| {
                sequence_ids(s)
                    .iter()
                    .filter_map(|id| library.sequence(id))
                    .map(|q| (q.label.clone(), q.authority.clone()))
                    .collect()
            })
            .unwrap_or_default(),
        settings: settings.clone(),
        kept: None,
        unfinished: None,
        left_sheets: Vec::new(),
        ladder: None,
        pass: library
            .register
            .as_ref()
            .map(|rules| pass_view(settings, &rules.pass)),
        usual_seed: match settings.purpose {
            Use::Assess => "the same for all",
            Use::AsSet | Use::Practise => "new each time",
        }
        .to_owned(),
        refusal: refusal.map(str::to_owned),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kit_that_lies_ready_is_not_said_to_be_worn() {
        let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let view = start_view(&content, &Settings::default(), None);
        let of = |id: &str| {
            let at = content.library.scenarios.iter().position(|s| s.id == id);
            view.scenarios[at.expect("it is built in")].kit.clone()
        };
        assert_eq!(
            of("from-the-door"),
            "To be put on: gown, respirator, goggles and gloves"
        );
        assert_eq!(
            of("respiratory-room"),
            "You wear: gown, respirator, goggles and gloves"
        );
    }
}
