//! What commands do on the page of best orders.

use crate::analysis::{Limits, Orders, Scope, Start, Target, orders};
use crate::model::{Sequence, Setup};
use crate::report::{best_answer, best_picture, scope_words};

use super::super::command::{Command, Page};
use super::super::orders::orders_view;
use super::super::work::Work;
use super::{Desk, Effect};

/// Starts over which the mean load is taken.
const STARTS: u64 = 1000;

/// What orders can be told apart by.
fn targets() -> impl Iterator<Item = Target> {
    Target::ALL.into_iter().map(|(_, t)| t).filter(|t| t.is_linear())
}

/// What is asked at first: the count that shows what cleaning hands is for.
pub(super) fn first_target() -> usize {
    targets()
        .position(|t| t == Target::HandsBeforeCleaning)
        .unwrap_or(0)
}

/// The search for the best orders of a kit.
#[derive(Debug)]
pub(super) struct Search {
    setup: std::sync::Arc<Setup>,
    target: usize,
    wide: bool,
    scope: Scope,
    work: Option<Work<Orders>>,
    found: Option<Result<Orders, String>>,
}

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
    pub view: Option<super::super::orders::OrdersView>,
    /// The answer as a picture.
    pub picture: Option<crate::report::Drawing>,
    /// Why nothing was found.
    pub trouble: Option<String>,
    /// What was told last, such as where a picture was saved.
    pub told: Option<String>,
}

impl Search {
    fn begin(setup: std::sync::Arc<Setup>, target: usize, wide: bool) -> Search {
        let scope = match sequences(&setup)[..] {
            [policy, ..] if !wide => Scope::policy(&setup, policy),
            ref all => Scope::wide(&setup, all),
        };
        let (shared, within) = (setup.clone(), scope.clone());
        let work = Work::start(1, move |progress| {
            let start = Start::mean(&shared, STARTS, 1);
            let at = targets().nth(target).unwrap_or(Target::HandsBeforeCleaning);
            let all = sequences(&shared);
            orders(&shared, &all, &within, at, &start, Limits::default(), progress).map_err(|e| e.to_string())
        });
        Search {
            setup,
            target,
            wide,
            scope,
            work: Some(work),
            found: None,
        }
    }

    /// True while the search goes on.
    pub(super) fn working(&self) -> bool {
        self.work.is_some()
    }

    fn poll(&mut self) {
        if let Some(result) = self.work.as_mut().and_then(Work::take) {
            self.found = Some(result);
            self.work = None;
        }
    }

    fn page(&self, told: Option<String>) -> OrdersPage {
        let (view, picture) = match &self.found {
            Some(Ok(found)) => {
                let title = format!("Best orders: {}", self.setup.scenario.label);
                (
                    Some(orders_view(&self.setup, found, false)),
                    Some(best_picture(&title, &best_answer(&self.setup, found))),
                )
            }
            _ => (None, None),
        };
        OrdersPage {
            scenario: self.setup.scenario.label.clone(),
            targets: targets()
                .enumerate()
                .map(|(n, t)| (super::super::words::sentence(t.label()), n == self.target))
                .collect(),
            wide: self.wide,
            scope: scope_words(&self.scope),
            working: self.work.as_ref().map(Work::done),
            view,
            picture,
            trouble: match &self.found {
                Some(Err(why)) => Some(super::super::words::sentence(why)),
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

impl Desk {
    /// Looks for the best orders of the chosen scenario's kit.
    pub(super) fn open_orders(&mut self, target: usize, wide: bool) {
        let library = self.content.library.clone();
        let Some(scenario) = library.scenarios.get(self.settings.scenario) else {
            self.refusal = Some("There is no scenario to look at".to_owned());
            return;
        };
        match Setup::new(library.clone(), scenario) {
            Ok(setup) => {
                self.search = Some(Search::begin(
                    setup.into(),
                    target.min(targets().count() - 1),
                    wide,
                ));
                self.told = None;
                self.page = Page::Orders;
            }
            Err(error) => self.refusal = Some(format!("This scenario cannot be set up: {error}")),
        }
    }

    pub(super) fn apply_to_orders(&mut self, command: Command) {
        match command {
            Command::OrdersFor(target) => {
                let wide = self.search.as_ref().is_some_and(|s| s.wide);
                self.open_orders(target, wide);
            }
            Command::OrdersWide(wide) => {
                let target = self.search.as_ref().map_or_else(first_target, |s| s.target);
                self.open_orders(target, wide);
            }
            Command::Back => {
                // Whoever leaves waits no longer: the search is stopped.
                self.search = None;
                self.page = Page::Start;
            }
            Command::Poll => {
                if let Some(search) = &mut self.search {
                    search.poll();
                    self.revision += 1;
                }
            }
            Command::SavePicture => {
                if let Some(picture) = self.orders_page().and_then(|page| page.picture) {
                    self.effects
                        .push(Effect::Save("smirch-best-orders".to_owned(), picture));
                }
            }
            _ => {}
        }
    }

    /// The page of best orders, if it is open.
    pub fn orders_page(&self) -> Option<OrdersPage> {
        Some(self.search.as_ref()?.page(self.told.clone()))
    }
}
