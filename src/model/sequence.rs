//! Named sequences: what a guidance document asks for, step by step.

use super::{OwnBuilding, Whereabouts};

/// What a step of a sequence asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Asked {
    /// Items that lie ready are put on.
    PutOn {
        /// Item definition ids; those that do not lie ready are ignored.
        items: Vec<String>,
        /// Techniques that the guidance supports. What one of them ties is to be tied before the work begins.
        accept: Vec<String>,
        /// Where it must be done; empty for anywhere.
        at: Vec<Whereabouts>,
        /// Parts that are to lie outermost once everything is on, such as a glove's cuff.
        on_top: Vec<String>,
    },
    /// What has been put on is checked.
    Check {
        /// Item definition ids; those that do not lie ready are ignored.
        items: Vec<String>,
        /// Techniques by which it is checked.
        accept: Vec<String>,
        /// Where it must be done; empty for anywhere.
        at: Vec<Whereabouts>,
    },
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

impl Asked {
    /// Items that are handled, the techniques that will do, and where; none where nothing of the kit is handled.
    pub fn handles(&self) -> Option<(&[String], &[String], &[Whereabouts])> {
        match self {
            Asked::PutOn {
                items, accept, at, ..
            }
            | Asked::Check { items, accept, at }
            | Asked::Remove { items, accept, at } => Some((items, accept, at)),
            Asked::Clean { .. } | Asked::Go { .. } => None,
        }
    }

    /// True if items are put on or checked, which is for before the work.
    pub fn dresses(&self) -> bool {
        matches!(self, Asked::PutOn { .. } | Asked::Check { .. })
    }
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
    /// Ids of the sequences whose steps it takes over, in order.
    pub follows: Vec<String>,
    /// Its steps in order.
    pub steps: Vec<AskedStep>,
    /// How it was read and where it differs from others.
    pub note: String,
}

impl Sequence {
    /// How many of its first steps are for before the work: those up to the last that puts something on or checks it, and the
    /// way in after that.
    pub fn before_work(&self) -> usize {
        let Some(last) = self.steps.iter().rposition(|step| step.asked.dresses()) else {
            return 0;
        };
        let goes_in =
            |step: &AskedStep| matches!(step.asked, Asked::Go { to, .. } if to == Whereabouts::Inside);
        let off = |step: &AskedStep| matches!(step.asked, Asked::Remove { .. });
        let mut rest = self.steps[last + 1..].iter();
        let found = rest.position(|step| goes_in(step) || off(step));
        match found {
            Some(n) if goes_in(&self.steps[last + 1 + n]) => last + 2 + n,
            _ => last + 1,
        }
    }

    /// True if it says how something is taken off.
    pub fn takes_off(&self) -> bool {
        self.steps
            .iter()
            .any(|step| matches!(step.asked, Asked::Remove { .. }))
    }
}
