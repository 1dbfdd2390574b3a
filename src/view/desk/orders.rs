//! What commands do on the page of best orders.

use crate::model::Setup;

use super::super::command::{Command, Page};
use super::super::searching::{OrdersPage, Search, first_target, targets};
use super::{Desk, Effect};

impl Desk {
    /// Looks for the best orders of the chosen scenario's kit, by what is asked at first if no target is given.
    pub(super) fn open_orders(&mut self, target: Option<usize>, wide: bool) {
        let library = self.content.library.clone();
        let Some(scenario) = library.scenarios.get(self.settings.scenario) else {
            self.refusal = Some("There is no scenario to look at".to_owned());
            return;
        };
        match Setup::new(library.clone(), scenario) {
            Ok(setup) => {
                let all = targets(&setup).count();
                let target = target
                    .filter(|t| *t < all)
                    .unwrap_or_else(|| first_target(&setup));
                self.search = Some(Search::begin(setup.into(), target, wide));
                self.told = None;
                self.page = Page::Orders;
            }
            Err(error) => self.refusal = Some(format!("This scenario cannot be set up: {error}")),
        }
    }

    pub(super) fn apply_to_orders(&mut self, command: Command) {
        match command {
            Command::OrdersFor(target) => {
                let wide = self.search.as_ref().is_some_and(Search::wide);
                self.open_orders(Some(target), wide);
            }
            Command::OrdersWide(wide) => {
                let target = self.search.as_ref().map(Search::target);
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
