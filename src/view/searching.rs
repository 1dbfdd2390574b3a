//! The search for the best orders of a kit, and its page as it stands.

use std::sync::Arc;

use crate::analysis::{Limits, Orders, Scope, Start, Target, USUAL_SEED, Weighed, orders, weigh};
use crate::model::{Sequence, Setup};
use crate::report::{Drawing, best_answer, best_picture, same_count, scope_words};

use super::orders::{OrdersView, orders_view};
use super::words::sentence;
use super::work::{Answer, Work};

/// Starts over which the mean load is taken.
const STARTS: u64 = 1000;

/// What orders of a kit can be told apart by.
pub fn targets(setup: &Setup) -> impl Iterator<Item = Target> + '_ {
    Target::of_kit(setup).filter(|t| t.is_linear())
}

/// What is asked at first: the count that shows what cleaning hands is for.
pub fn first_target(setup: &Setup) -> usize {
    targets(setup)
        .position(|t| t == Target::HandsBeforeCleaning)
        .unwrap_or(0)
}

/// The search for the best orders of a kit.
#[derive(Debug)]
pub struct Search {
    setup: Arc<Setup>,
    target: usize,
    wide: bool,
    scope: Scope,
    answer: Answer<Found>,
}

/// What was found, and what sets of values say of it; none where the content has none.
type Found = (Orders, Option<Weighed>);

/// The page as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct OrdersPage {
    /// Name of the scenario.
    pub scenario: String,
    /// Targets, with the one chosen.
    pub targets: Vec<(String, bool)>,
    /// True if what the policy does not ask for is searched as well.
    pub wide: bool,
    /// Which orders are searched.
    pub scope: String,
    /// Beginnings looked at so far, while the search goes on.
    pub working: Option<u64>,
    /// What was found.
    pub view: Option<OrdersView>,
    /// The answer as a picture.
    pub picture: Option<Drawing>,
    /// Why nothing was found.
    pub trouble: Option<String>,
    /// What was told last, such as where a picture was saved.
    pub told: Option<String>,
}

impl Search {
    /// Begins to look for the orders that keep the nth target cleanest; `wide` if what the policy does not ask for is
    /// searched as well.
    pub fn begin(setup: Arc<Setup>, target: usize, wide: bool) -> Search {
        let scope = match sequences(&setup)[..] {
            [policy, ..] if !wide => Scope::policy(&setup, policy),
            ref all => Scope::wide(&setup, all),
        };
        let (shared, within) = (setup.clone(), scope.clone());
        let answer = Answer::start(1, move |progress| {
            let start = Start::mean(&shared, STARTS, USUAL_SEED);
            let at = targets(&shared)
                .nth(target)
                .unwrap_or(Target::HandsBeforeCleaning);
            let all = sequences(&shared);
            let limits = Limits::of(&within);
            let found = orders(&shared, &all, &within, at, &start, limits, progress);
            let found = found.map_err(|e| e.to_string())?;
            let same = |a, b| same_count(&shared, a, b);
            let weighed = weigh(&shared, &found, same, USUAL_SEED, progress)?;
            Ok((found, weighed))
        });
        Search {
            setup,
            target,
            wide,
            scope,
            answer,
        }
    }

    /// True while the search goes on.
    pub fn working(&self) -> bool {
        self.answer.working().is_some()
    }

    /// Takes what has been found, if the search has come to its end.
    pub fn poll(&mut self) {
        self.answer.poll();
    }

    /// Which of the targets is to be kept clean.
    pub fn target(&self) -> usize {
        self.target
    }

    /// True if what the policy does not ask for is searched as well.
    pub fn wide(&self) -> bool {
        self.wide
    }

    /// The page, with what was told last.
    pub fn page(&self, told: Option<String>) -> OrdersPage {
        let (view, picture) = match self.answer.found() {
            Some(Ok((found, weighed))) => {
                let weighed = weighed.as_ref();
                let title = format!("Best orders: {}", self.setup.scenario.label);
                (
                    Some(orders_view(&self.setup, found, weighed, false)),
                    Some(best_picture(&title, &best_answer(&self.setup, found, weighed))),
                )
            }
            _ => (None, None),
        };
        OrdersPage {
            scenario: self.setup.scenario.label.clone(),
            targets: targets(&self.setup)
                .enumerate()
                .map(|(n, t)| (sentence(t.label()), n == self.target))
                .collect(),
            wide: self.wide,
            scope: scope_words(&self.scope),
            working: self.answer.working().map(Work::done),
            view,
            picture,
            trouble: match self.answer.found() {
                Some(Err(why)) => Some(sentence(why)),
                _ => None,
            },
            told,
        }
    }
}

/// The sequences of a scenario, its own first.
fn sequences(setup: &Setup) -> Vec<&Sequence> {
    std::iter::once(&setup.scenario.sequence)
        .chain(&setup.scenario.also)
        .filter_map(|id| setup.library.sequence(id))
        .collect()
}
