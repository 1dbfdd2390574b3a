//! Named sequences: what a guidance document asks for, step by step.

use super::{OwnBuilding, Whereabouts};

/// What a step of a sequence asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Asked {
    /// Items are taken off.
    Remove {
        /// Item definition ids; those not in the kit are ignored.
        items: Vec<String>,
        /// Techniques that the guidance supports.
        accept: Vec<String>,
        /// Where it must be done; empty for anywhere.
        at: Vec<Whereabouts>,
    },
    /// Hands are cleaned.
    Clean {
        /// Product ids that will do.
        products: Vec<String>,
        /// Least length, s.
        seconds: f64,
        /// Item definition ids of gloves that may be cleaned in place of bare hands; none for bare hands only.
        gloves: Vec<String>,
        /// True if bare forearms are to be cleaned with the hands.
        forearms: bool,
    },
    /// The person goes somewhere.
    Go {
        /// Where to.
        to: Whereabouts,
        /// True if a hand that has worked the door on a walk is taken for unclean.
        door_soils: bool,
    },
}

/// A step with its words and reason.
#[derive(Clone, Debug, PartialEq)]
pub struct AskedStep {
    /// Kebab-case id within the sequence.
    pub id: String,
    /// What is asked, in plain words.
    pub ask: String,
    /// The reason, as a sentence for a trainer.
    pub why: String,
    /// Basis id.
    pub basis: String,
    /// What counts as doing it.
    pub asked: Asked,
}

/// A named sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Sequence {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Whose guidance it is.
    pub authority: String,
    /// Basis id.
    pub basis: String,
    /// Where the building that it was written for has basins and dispensers, beside where these usually are.
    pub building: OwnBuilding,
    /// Its steps in order.
    pub steps: Vec<AskedStep>,
    /// How it was read and where it differs from others.
    pub note: String,
}
