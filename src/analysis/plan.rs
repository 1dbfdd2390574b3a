//! A plan: everything that a list of actions brings about, resolved once, to be run many times.

use std::sync::{Arc, OnceLock};

use crate::drill::{Action, ActiveFault, Planned, Refusal, State, enact, laws};
use crate::model::{Setup, SiteIndex};
use crate::transfer::{Event, Flow, Laws};

use super::target::{bare_hands, cleans_skin};

/// An action of a plan that cannot be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanError {
    /// Index of the action.
    pub action: usize,
    /// Why not.
    pub refusal: Refusal,
}

impl std::fmt::Display for PlanError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "action {} is refused: {}", self.action + 1, self.refusal)
    }
}

impl std::error::Error for PlanError {}

/// One event of a plan.
#[derive(Clone, Debug)]
pub(super) struct PlanEvent {
    /// Index of the action it belongs to.
    pub action: usize,
    /// The event as it is when nothing was wet at the start.
    pub event: Event,
    /// The same contact when one of its sites is wet; none where it makes no difference.
    pub wet: Option<Event>,
}

/// The moment before an action.
#[derive(Clone, Debug)]
pub(super) struct Pause {
    /// Index of the first event after it.
    pub event: usize,
    /// Skin of hands and wrists that nothing covers.
    pub bare_hands: Arc<[SiteIndex]>,
    /// True if the action cleans the skin of a hand.
    pub cleans_skin: bool,
    /// What is worn, innermost first.
    worn: Vec<usize>,
}

/// The laws of what an event draws, made ready when they are first needed: dry, and with one of its sites wet.
#[derive(Clone, Debug, Default)]
struct EventLaws {
    dry: OnceLock<Laws>,
    wet: OnceLock<Laws>,
}

/// Where a plan under way stood.
pub(super) struct Mark {
    end: State,
    actions: usize,
}

/// The events of a list of actions.
///
/// Which sites meet depends on the kit, the actions and the faults that are there, not on chance; only what is wet
/// at the start differs from run to run, and that is looked up when the plan is run.
#[derive(Clone, Debug)]
pub struct Plan {
    pub(super) events: Vec<PlanEvent>,
    /// One for each event.
    laws: Vec<EventLaws>,
    /// One for each action.
    pub(super) pauses: Vec<Pause>,
    /// The state at the end.
    pub end: State,
    /// The actions.
    pub actions: Vec<Action>,
}

impl Plan {
    /// Plans a list of actions for a kit with these faults.
    ///
    /// # Errors
    /// The first action that is physically impossible.
    pub fn new(setup: &Setup, faults: &[ActiveFault], actions: &[Action]) -> Result<Plan, PlanError> {
        let mut plan = Plan::begin(setup, faults);
        for (index, action) in actions.iter().enumerate() {
            plan.act(setup, action.clone()).map_err(|refusal| PlanError {
                action: index,
                refusal,
            })?;
        }
        Ok(plan)
    }

    /// A plan without any actions yet.
    pub(super) fn begin(setup: &Setup, faults: &[ActiveFault]) -> Plan {
        let mut end = State::dressed(setup);
        end.faults = faults.to_vec();
        Plan {
            events: Vec::new(),
            laws: Vec::new(),
            pauses: Vec::new(),
            end,
            actions: Vec::new(),
        }
    }

    /// Adds an action.
    ///
    /// # Errors
    /// What makes it physically impossible; the plan is then as it was.
    pub(super) fn act(&mut self, setup: &Setup, action: Action) -> Result<(), Refusal> {
        // What is bare changes only with what is worn.
        let bare_hands = match self.pauses.last() {
            Some(pause) if pause.worn == self.end.worn => pause.bare_hands.clone(),
            _ => bare_hands(setup, &self.end).into(),
        };
        let pause = Pause {
            event: self.events.len(),
            bare_hands,
            cleans_skin: cleans_skin(setup, &self.end, &action),
            worn: self.end.worn.clone(),
        };
        let planned = enact(setup, &mut self.end, &action)?;
        self.pauses.push(pause);
        for planned in planned {
            if let Planned::Flow(event) = planned {
                self.events.push(PlanEvent {
                    action: self.actions.len(),
                    wet: wetted(setup, &event),
                    event,
                });
                self.laws.push(EventLaws::default());
            }
        }
        self.actions.push(action);
        Ok(())
    }

    /// Where the plan stands, to come back to.
    pub(super) fn mark(&self) -> Mark {
        Mark {
            end: self.end.clone(),
            actions: self.actions.len(),
        }
    }

    /// Goes back to where the plan stood, as if later actions had never been added.
    pub(super) fn back_to(&mut self, mark: Mark) {
        self.end = mark.end;
        if let Some(pause) = self.pauses.get(mark.actions) {
            self.events.truncate(pause.event);
            self.laws.truncate(pause.event);
        }
        self.pauses.truncate(mark.actions);
        self.actions.truncate(mark.actions);
    }

    /// How many events it has.
    pub fn len(&self) -> usize {
        self.events.len()
    }

    /// The plan with one event left out, all else as it was.
    pub fn without(&self, index: usize) -> Plan {
        let mut plan = self.clone();
        if index < plan.events.len() {
            plan.events.remove(index);
            plan.laws.remove(index);
            for pause in plan.pauses.iter_mut().filter(|pause| pause.event > index) {
                pause.event -= 1;
            }
        }
        plan
    }

    /// True if nothing can move in it.
    pub fn is_empty(&self) -> bool {
        self.events.is_empty()
    }

    /// The action that an event belongs to, and the event.
    pub fn event(&self, index: usize) -> (usize, &Event) {
        (self.events[index].action, &self.events[index].event)
    }

    /// The event as it is with what was wet at the start; none if there is no such event.
    pub fn event_when(&self, index: usize, wet_until: &[f64]) -> Option<&Event> {
        self.events.get(index).map(|event| self.actual(event, wet_until))
    }

    /// The event as it is with what was wet at the start.
    pub(super) fn actual<'a>(&'a self, event: &'a PlanEvent, wet_until: &[f64]) -> &'a Event {
        let (Some(wet), Flow::Contact { a, b, .. }) = (&event.wet, &event.event.flow) else {
            return &event.event;
        };
        let at = event.event.at;
        if at < wet_until[*a] || at < wet_until[*b] {
            wet
        } else {
            &event.event
        }
    }

    /// The laws of an event as it is with what was wet at the start.
    pub(super) fn actual_laws(&self, index: usize, wet_until: &[f64]) -> &Laws {
        let planned = &self.events[index];
        let event = self.actual(planned, wet_until);
        let laws = &self.laws[index];
        let known = if std::ptr::eq(event, &planned.event) {
            &laws.dry
        } else {
            &laws.wet
        };
        known.get_or_init(|| event.laws())
    }

    /// All events, in order, as they are with what was wet at the start.
    pub(super) fn actual_events<'a>(&'a self, wet_until: &'a [f64]) -> impl Iterator<Item = &'a Event> {
        self.events.iter().map(|event| self.actual(event, wet_until))
    }

    /// Events in groups that happen together: a contact and the leaks that follow it.
    pub(super) fn groups(&self) -> impl DoubleEndedIterator<Item = std::ops::Range<usize>> + Clone + '_ {
        let starts: Vec<usize> = (0..self.events.len())
            .filter(|&i| !self.events[i].event.follows)
            .collect();
        let ends: Vec<usize> = starts
            .iter()
            .skip(1)
            .copied()
            .chain([self.events.len()])
            .collect();
        starts
            .into_iter()
            .zip(ends)
            .map(|(start, end)| start..end)
            .collect::<Vec<_>>()
            .into_iter()
    }
}

/// The wet form of a dry contact.
pub(super) fn wetted(setup: &Setup, event: &Event) -> Option<Event> {
    let Flow::Contact {
        a,
        b,
        share_a,
        share_b,
        wet: false,
        slide,
        ..
    } = event.flow
    else {
        return None;
    };
    let (ab, ba) = laws(setup, a, b, slide, true);
    let flow = Flow::Contact {
        a,
        b,
        share_a,
        share_b,
        wet: true,
        slide,
        ab,
        ba,
    };
    (flow_differs(&flow, &event.flow)).then(|| Event {
        flow,
        ..event.clone()
    })
}

fn flow_differs(wet: &Flow, dry: &Flow) -> bool {
    match (wet, dry) {
        (
            Flow::Contact { ab, ba, .. },
            Flow::Contact {
                ab: dry_ab,
                ba: dry_ba,
                ..
            },
        ) => ab != dry_ab || ba != dry_ba,
        _ => false,
    }
}
