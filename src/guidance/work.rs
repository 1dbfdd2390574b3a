//! Where putting on ends and the work begins.

use crate::drill::{Action, Done, Drill, State, enact};
use crate::model::{AskedStep, Does, Sequence, Setup, Step, Whereabouts};

/// The action with which the work begins, where kit was put on before it: going in to the patient, or the first care. As many
/// as there are actions if it has not begun; 0 where kit is worn from the start, since then the work is over.
pub(super) fn begins(setup: &Setup, done: &[Done]) -> usize {
    if !setup.lies_ready() {
        return 0;
    }
    let found = done.iter().position(|done| match &done.action {
        Action::Walk(Whereabouts::Inside) => true,
        Action::Do { technique, .. } => setup
            .library
            .technique(technique)
            .is_some_and(|technique| technique.does == Does::Cares),
        _ => false,
    });
    found.unwrap_or(done.len())
}

/// True if an action belongs to putting on: it came before the work, or began it.
pub(super) fn is_before(setup: &Setup, done: &[Done], action: usize) -> bool {
    setup.lies_ready() && action <= begins(setup, done)
}

/// Everything but the counts at the moment at which the work began, or now if it has not.
pub(super) fn state_at(drill: &Drill) -> State {
    let setup = drill.setup();
    let mut state = drill.beginning().state.clone();
    for done in &drill.done()[..begins(setup, drill.done())] {
        // What was possible once is possible again.
        let _ = enact(setup, &mut state, &done.action);
    }
    state
}

/// True if one of these ways ties a fastening.
pub(super) fn ties(setup: &Setup, accept: &[String], fastening: &str) -> bool {
    let ways = accept.iter().filter_map(|id| setup.library.technique(id));
    let mut steps = ways.flat_map(|technique| &technique.steps);
    steps.any(|step| matches!(step, Step::Tie(tied) if tied == fastening))
}

/// True if a technique belongs to putting on, whenever it is done: it is for what lies ready, or a step that puts on or checks
/// asks for it.
pub(super) fn puts_on(setup: &Setup, sequence: &Sequence, technique: &str) -> bool {
    let asked = |step: &AskedStep| {
        let accept = step.asked.handles().map(|(_, accept, _)| accept);
        step.asked.dresses() && accept.is_some_and(|accept| accept.iter().any(|id| id == technique))
    };
    sequence.steps.iter().any(asked)
        || setup
            .library
            .technique(technique)
            .is_some_and(|technique| technique.is_for_boxed())
}

/// True if an action of a drill belongs to putting on, as a sequence has it.
pub fn dresses(drill: &Drill, sequence: &Sequence, action: usize) -> bool {
    let (setup, done) = (drill.setup(), drill.done());
    let asked = |action: &Action| match action {
        Action::Do { technique, .. } => puts_on(setup, sequence, technique),
        _ => false,
    };
    is_before(setup, done, action) || done.get(action).is_some_and(|done| asked(&done.action))
}
