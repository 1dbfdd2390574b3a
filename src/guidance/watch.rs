//! Hands while a plan is made: what they are before each action, and which actions would be critical errors. An attempt
//! is judged by the same rules; here there is none yet, and no chance.

use crate::drill::{Action, Done, Happened, Planned, State};
use crate::model::{Fate, Holding, Sequence, Setup, Side};
use crate::transfer::Outcome;

use super::asks;
use super::critical::{CriticalKind, all_off, kinds, soiled_again};
use super::hygiene::{Hands, counts};

/// What of the past a critical error depends on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Watch {
    /// For each hand, whether it is unclean in the sense of guidance.
    unclean: [bool; 2],
    /// For each hand, whether it has become so again since bare hands were cleaned last; none while they have not been.
    again: [bool; 2],
    /// What was done to bare hands since something last came off.
    last: Last,
}

/// Cleanings of bare hands since something last came off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
enum Last {
    /// None.
    Nothing,
    /// At least one, but none that carries off what it loosens.
    Rubbed,
    /// At least one that does.
    Washed,
}

impl Watch {
    /// Before anything is done: gloves have been at work.
    pub fn at_start() -> Watch {
        Watch {
            unclean: [true; 2],
            again: [false; 2],
            last: Last::Nothing,
        }
    }

    /// Takes one more action into account: what it is done in, the action, and what it brings about. Returns what it
    /// would be called by a sequence.
    pub fn sees(
        &mut self,
        setup: &Setup,
        sequence: &Sequence,
        before: &State,
        action: &Action,
        planned: &[Planned],
    ) -> Vec<CriticalKind> {
        let mut hands = Hands::of(setup, &before.worn, self.unclean).holding(&before.held);
        let done = Done {
            action: action.clone(),
            began: before.clock,
            ended: before.clock,
            whereabouts: before.whereabouts,
            // As if nothing had moved: the rules ask what met, not what it brought.
            happened: planned
                .iter()
                .map(|planned| Happened::of(planned.clone(), |_| Outcome::default()))
                .collect(),
            felt: Vec::new(),
        };
        let found = kinds(setup, sequence, &done, &hands);
        let bare = Side::BOTH.into_iter().all(|side| hands.glove(side).is_none());
        hands.after(setup, sequence, &done);
        for side in Side::BOTH {
            let touched = hands
                .soiled(side)
                .is_some_and(|soiled| soiled_again(setup, soiled));
            let again = &mut self.again[side as usize];
            *again = (*again || !self.unclean[side as usize]) && touched;
        }
        self.unclean = Side::BOTH.map(|side| hands.soiled(side).is_some());
        if came_off(setup, &done) {
            self.last = Last::Nothing;
        }
        if let Action::Clean { product, .. } = action
            && bare
            && counts(setup, sequence, action)
        {
            let lifts = setup
                .library
                .product(product)
                .is_some_and(|p| p.fate == Fate::WashedAway);
            self.last = self.last.max(if lifts { Last::Washed } else { Last::Rubbed });
        }
        if self.last == Last::Nothing {
            self.again = [false; 2];
        }
        found
    }

    /// What ending now, with everything as it is, would be called: hands that were not cleaned once all was off, or only rubbed
    /// although what is on them stands up to alcohol.
    pub fn at_end(&self, setup: &Setup, sequence: &Sequence, state: &State) -> Option<CriticalKind> {
        let bare = Side::BOTH
            .into_iter()
            .all(|side| state.glove(setup, side).is_none());
        let asked = asks::cleaned_hands(sequence);
        match self.last {
            _ if !asked.at_all || !bare => None,
            Last::Nothing => {
                (asked.at_last && all_off(setup, sequence, state)).then_some(CriticalKind::LeftUncleaned)
            }
            Last::Rubbed if setup.organism.needs_soap => Some(CriticalKind::NotWashed),
            _ if asked.at_last && self.again != [false; 2] && all_off(setup, sequence, state) => {
                Some(CriticalKind::LeftUncleaned)
            }
            Last::Rubbed | Last::Washed => None,
        }
    }

    /// True if bare hands were cleaned since something last came off.
    pub fn cleaned_last(&self) -> bool {
        self.last > Last::Nothing
    }
}

/// True if something that was worn at the start came off.
fn came_off(setup: &Setup, done: &Done) -> bool {
    done.happened
        .iter()
        .any(|h| matches!(h, Happened::Item { item, from: Holding::Worn, .. } if !setup.items[*item].spare))
}
