//! What a trainee can do, as data: the same in the window, in scripts and in logs.

use serde::{Deserialize, Serialize};

use crate::model::{Hands, Pace, Side, Whereabouts, Zone};

use super::exact;

/// One thing the trainee does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Action {
    /// Carries a technique out.
    Do {
        /// Technique id.
        technique: String,
        /// Kit item id; none for techniques that act on what is held.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        item: Option<String>,
        /// Acting hand; none for the technique's default.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hand: Option<Hands>,
        /// How fast.
        #[serde(default)]
        pace: Pace,
    },
    /// Touches something with a hand.
    Touch {
        /// Which hand.
        hand: Side,
        /// With which zone of it.
        #[serde(with = "zone_word")]
        with: Zone,
        /// Site id.
        site: String,
        /// Contact area, cm2.
        #[serde(with = "exact")]
        area: f64,
    },
    /// Cleans the hands, or the gloves on them.
    Clean {
        /// Product id.
        product: String,
        /// Doses taken.
        doses: u32,
        /// How long, s.
        #[serde(with = "exact")]
        seconds: f64,
        /// Zones left out, on both hands.
        #[serde(default, skip_serializing_if = "Vec::is_empty", with = "zone_words")]
        skip: Vec<Zone>,
        /// True if bare forearms are cleaned too; the first part of the time goes to them.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        forearms: bool,
    },
    /// Goes somewhere.
    Walk(Whereabouts),
    /// Stands still for so many seconds.
    Wait(#[serde(with = "exact")] f64),
}

impl Action {
    /// The same at a pace, if it is a technique.
    pub fn at(self, pace: Pace) -> Action {
        match self {
            Action::Do {
                technique,
                item,
                hand,
                ..
            } => Action::Do {
                technique,
                item,
                hand,
                pace,
            },
            other => other,
        }
    }
}

/// A list of actions to play.
#[derive(Clone, Debug, PartialEq)]
pub struct Script {
    /// Scenario id it was written for.
    pub scenario: String,
    /// Name for people.
    pub label: String,
    /// The sequence that it follows or departs from, by id; the scenario's own if none is named.
    pub sequence: Option<String>,
    /// What to do, in order.
    pub actions: Vec<Action>,
}

mod zone_word {
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    use crate::model::Zone;

    pub fn serialize<S: Serializer>(zone: &Zone, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(zone.word())
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Zone, D::Error> {
        let word = String::deserialize(deserializer)?;
        Zone::from_word(&word).ok_or_else(|| D::Error::custom(format!("`{word}` is not a zone of the hand")))
    }
}

mod zone_words {
    use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

    use crate::model::Zone;

    pub fn serialize<S: Serializer>(zones: &[Zone], serializer: S) -> Result<S::Ok, S::Error> {
        zones
            .iter()
            .map(|z| z.word())
            .collect::<Vec<_>>()
            .serialize(serializer)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<Zone>, D::Error> {
        Vec::<String>::deserialize(deserializer)?
            .iter()
            .map(|word| {
                Zone::from_word(word)
                    .ok_or_else(|| D::Error::custom(format!("`{word}` is not a zone of the hand")))
            })
            .collect()
    }
}
