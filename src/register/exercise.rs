//! What an exercise with real lotion and a real lamp leaves: where each person glowed. No names, and no codes either.

use serde::{Deserialize, Serialize};

use crate::record::Label;

use super::{Moment, Named};

/// An exercise.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Exercise {
    /// The scenario that it is like.
    pub scenario: Named,
    /// The sequence that people went by.
    pub sequence: Named,
    /// When it began, by the station's clock.
    pub began: Moment,
    /// The lesson that it belonged to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lesson: Option<Named>,
    /// Where it was held, if that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ward: Option<Label>,
    /// For each person the ids of the places that glowed; of one who glowed nowhere, none.
    pub people: Vec<Vec<String>>,
}

impl Exercise {
    /// How many people glowed at any of these places.
    pub fn glowed(&self, places: &[&str]) -> u64 {
        let there = |person: &&Vec<String>| person.iter().any(|place| places.contains(&place.as_str()));
        self.people.iter().filter(there).count() as u64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_person_counts_once_however_many_places_glow() {
        let named = || Named {
            id: "x".to_owned(),
            label: "x".to_owned(),
        };
        let exercise = Exercise {
            scenario: named(),
            sequence: named(),
            began: Moment::now(),
            lesson: None,
            ward: None,
            people: [&["left-palm", "right-palm"][..], &["neck-back"], &[]]
                .map(|places| places.iter().map(|p| (*p).to_owned()).collect())
                .into(),
        };
        assert_eq!(exercise.glowed(&["left-palm", "right-palm"]), 1);
        assert_eq!(exercise.glowed(&["left-palm", "neck-back"]), 2);
        assert_eq!(exercise.glowed(&["chin"]), 0);
    }
}
