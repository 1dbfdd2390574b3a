//! What can be laid side by side.

use crate::content::Content;
use crate::model::{Duel, DuelSide, DuelWay};

use super::super::words::sentence;

/// Everything that can be laid side by side in a scenario: sequences that its kit can follow, then scripts.
pub fn ways(content: &Content, scenario: &str) -> Vec<DuelSide> {
    let library = &content.library;
    let Some(known) = library.scenario(scenario) else {
        return Vec::new();
    };
    let ids = std::iter::once(&known.sequence).chain(&known.also);
    let sequences = ids.filter_map(|id| library.sequence(id)).map(|s| DuelSide {
        label: s.label.clone(),
        scenario: None,
        put_on: Vec::new(),
        way: DuelWay::Sequence(s.id.clone()),
        shows: Vec::new(),
    });
    let scripts = content
        .scripts
        .iter()
        .filter(|(_, s)| s.scenario == scenario)
        .map(|(name, s)| DuelSide {
            label: sentence(&s.label),
            scenario: None,
            put_on: Vec::new(),
            way: DuelWay::Script(name.rsplit('/').next().unwrap_or(name).to_owned()),
            shows: Vec::new(),
        });
    sequences.chain(scripts).collect()
}

/// A pair of one's own choosing; nothing is known of it beforehand.
pub fn own_duel(content: &Content, scenario: &str, chosen: [usize; 2]) -> Option<Duel> {
    let ways = ways(content, scenario);
    let side = |n: usize| ways.get(chosen[n]).cloned();
    Some(Duel {
        id: OWN.to_owned(),
        label: "Your own pair".to_owned(),
        scenario: scenario.to_owned(),
        question: "Which of the two brings less on to the skin?".to_owned(),
        sides: vec![side(0)?, side(1)?],
        known: String::new(),
        open: String::new(),
        sources: Vec::new(),
    })
}

/// The id of a pair of one's own choosing.
pub const OWN: &str = "own-pair";

/// A choice of one's own, as the page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnPair {
    /// Name of the scenario.
    pub scenario: String,
    /// Everything that can be chosen.
    pub ways: Vec<String>,
    /// What is chosen for either side.
    pub chosen: [usize; 2],
    /// True if this pair is shown.
    pub on: bool,
}
