//! An attempt under way: the plan that is being made, step by step, and the state that it has come to.

use crate::drill::{Action, ActiveFault, Refusal, State};
use crate::model::Setup;

use super::Plan;
use super::atlas::{Atlas, Past};
use super::plan::{Placed, PlanError};

/// A plan under way. Everything it meets is remembered in the atlas, for the next one.
#[derive(Debug)]
pub(super) struct Route<'a, 's> {
    atlas: &'a mut Atlas<'s>,
    faults: &'a [ActiveFault],
    past: Past,
    parts: Vec<Placed>,
    actions: Vec<Action>,
}

/// Where a route stood.
pub(super) struct Mark {
    past: Past,
    actions: usize,
}

impl<'a, 's> Route<'a, 's> {
    /// A route without any actions yet, in whole kit.
    pub fn begin(atlas: &'a mut Atlas<'s>) -> Route<'a, 's> {
        Route::with(atlas, &[])
    }

    /// The same in kit with these faults.
    fn with(atlas: &'a mut Atlas<'s>, faults: &'a [ActiveFault]) -> Route<'a, 's> {
        Route {
            past: atlas.begin(),
            atlas,
            faults,
            parts: Vec::new(),
            actions: Vec::new(),
        }
    }

    /// The setup.
    pub fn setup(&self) -> &'s Setup {
        self.atlas.setup()
    }

    /// What has been done so far.
    pub fn actions(&self) -> &[Action] {
        &self.actions
    }

    /// Where everything is now. It knows nothing of the past: its clock is at zero and everything in it is dry.
    pub fn arrangement(&self) -> &State {
        self.atlas.state(self.past.spot)
    }

    /// Whether an action is possible now.
    ///
    /// # Errors
    /// What makes it physically impossible.
    pub fn check(&mut self, action: &Action) -> Result<(), Refusal> {
        self.atlas.check(self.past.spot, action)
    }

    /// Adds an action.
    ///
    /// # Errors
    /// What makes it physically impossible; the route is then as it was.
    pub fn act(&mut self, action: Action) -> Result<(), Refusal> {
        let began = self.past.clock;
        let part = self.atlas.act(&mut self.past, &action, self.faults)?;
        let first = self.parts.last().map_or(0, |p| p.first + p.part.events().len());
        self.parts.push(Placed { part, began, first });
        self.actions.push(action);
        Ok(())
    }

    /// Where the route stands, to come back to.
    pub fn mark(&self) -> Mark {
        Mark {
            past: self.past.clone(),
            actions: self.actions.len(),
        }
    }

    /// Goes back to where the route stood, as if later actions had never been added.
    pub fn back_to(&mut self, mark: Mark) {
        self.past = mark.past;
        self.parts.truncate(mark.actions);
        self.actions.truncate(mark.actions);
    }

    /// The plan that it has come to.
    pub fn plan(self) -> Plan {
        let mut end = self.atlas.state_after(&self.past);
        end.faults = self.faults.to_vec();
        Plan {
            end,
            parts: self.parts,
            actions: self.actions,
        }
    }
}

impl Plan {
    /// Plans a list of actions for a kit with these faults.
    ///
    /// # Errors
    /// The first action that is physically impossible.
    pub fn new(setup: &Setup, faults: &[ActiveFault], actions: &[Action]) -> Result<Plan, PlanError> {
        Plan::within(&mut Atlas::new(setup), faults, actions)
    }

    /// The same with what is known already.
    ///
    /// # Errors
    /// The first action that is physically impossible.
    pub(super) fn within(
        atlas: &mut Atlas<'_>,
        faults: &[ActiveFault],
        actions: &[Action],
    ) -> Result<Plan, PlanError> {
        let mut route = Route::with(atlas, faults);
        for (index, action) in actions.iter().enumerate() {
            route.act(action.clone()).map_err(|refusal| PlanError {
                action: index,
                refusal,
            })?;
        }
        Ok(route.plan())
    }
}
