//! What a sequence asks about an action: the way, the place, and clean hands before it.

use crate::drill::{Action, State};
use crate::model::{Asked, AskedStep, ItemKind, Sequence, Setup, Whereabouts};

/// The step of the sequence that takes an item off.
pub(super) fn step_for(setup: &Setup, sequence: &Sequence, item: usize) -> Option<usize> {
    let id = &setup.definition(item).id;
    sequence
        .steps
        .iter()
        .position(|s| matches!(&s.asked, Asked::Remove { items, .. } if items.contains(id)))
}

/// Where the sequence has an item come off; none if it does not ask for it.
pub(super) fn place_for<'a>(setup: &Setup, sequence: &'a Sequence, item: usize) -> Option<&'a [Whereabouts]> {
    match &sequence.steps[step_for(setup, sequence, item)?].asked {
        Asked::Remove { at, .. } => Some(at),
        _ => None,
    }
}

/// The first step that goes outside.
fn leaving(sequence: &Sequence) -> Option<usize> {
    let leaves = |step: &AskedStep| {
        matches!(
            step.asked,
            Asked::Go {
                to: Whereabouts::Outside,
                ..
            }
        )
    };
    sequence.steps.iter().position(leaves)
}

/// True if the sequence has an item off before anybody goes out, by the place that it states or, without one, by its order;
/// none if it says nothing of the item.
pub(super) fn off_before_leaving(setup: &Setup, sequence: &Sequence, item: usize) -> Option<bool> {
    let step = step_for(setup, sequence, item)?;
    let at = place_for(setup, sequence, item).unwrap_or_default();
    Some(match at {
        [] => leaving(sequence).is_some_and(|out| step < out),
        at => !at.contains(&Whereabouts::Outside),
    })
}

/// True if the sequence has hands cleaned before anybody goes out.
pub(super) fn clean_hands_before_leaving(sequence: &Sequence) -> bool {
    let before = &sequence.steps[..leaving(sequence).unwrap_or(0)];
    // A glove that is cleaned is still a glove: what counts is a cleaning after the last removal in there.
    let removes = |step: &AskedStep| matches!(step.asked, Asked::Remove { .. });
    let last = before.iter().rposition(removes).unwrap_or(0);
    before[last..]
        .iter()
        .any(|step| matches!(step.asked, Asked::Clean { .. }))
}

/// True if the sequence has hands cleaned in the room, after the last thing that comes off in there and before the door.
pub(super) fn clean_hands_before_the_door(sequence: &Sequence) -> bool {
    let goes = |step: &AskedStep| matches!(step.asked, Asked::Go { .. });
    let before = &sequence.steps[..sequence.steps.iter().position(goes).unwrap_or(0)];
    let in_there = |step: &AskedStep| match &step.asked {
        Asked::Remove { at, .. } => !at.contains(&Whereabouts::Outside),
        _ => false,
    };
    let last = before.iter().rposition(in_there);
    last.is_some_and(|last| {
        before[last..]
            .iter()
            .any(|step| matches!(step.asked, Asked::Clean { .. }))
    })
}

/// True if an action is a technique that the sequence accepts for its item.
pub(super) fn accepts(setup: &Setup, sequence: &Sequence, action: &Action) -> bool {
    accepting_step(setup, sequence, action).is_some()
}

fn accepting_step(setup: &Setup, sequence: &Sequence, action: &Action) -> Option<usize> {
    let Action::Do {
        technique,
        item: Some(item),
        ..
    } = action
    else {
        return None;
    };
    let id = &setup.definition(setup.item(item)?).id;
    sequence.steps.iter().position(|s| {
        matches!(&s.asked, Asked::Remove { items, accept, .. } if items.contains(id) && accept.contains(technique))
    })
}

/// True if the sequence asks for clean hands before the step that an action belongs to: a rub that nobody asked for
/// was not skipped. What belongs to no step counts if the sequence asks for clean hands at all.
pub(super) fn clean_hands_before(setup: &Setup, sequence: &Sequence, action: &Action) -> bool {
    let item = match action {
        Action::Do { item: Some(id), .. } => setup.item(id),
        Action::Touch { site, .. } => setup.site(site).and_then(|site| State::item_of(setup, site)),
        _ => None,
    };
    let step = item.and_then(|item| step_for(setup, sequence, item));
    let before = &sequence.steps[..step.unwrap_or(sequence.steps.len())];
    before.iter().any(|s| matches!(s.asked, Asked::Clean { .. }))
}

/// True unless the sequence itself has this done in gloves that nobody has cleaned: then it asks for the way, and
/// neither takes gloves off nor has anything cleaned before it.
pub(super) fn no_dirty_gloves_at(setup: &Setup, sequence: &Sequence, action: &Action) -> bool {
    let Some(step) = accepting_step(setup, sequence, action) else {
        return true;
    };
    let is_glove = |id: &String| {
        setup
            .library
            .items
            .iter()
            .any(|i| i.id == *id && i.kind == ItemKind::Glove)
    };
    sequence.steps[..step].iter().any(|s| match &s.asked {
        Asked::Clean { .. } => true,
        Asked::Remove { items, .. } => items.iter().any(is_glove),
        Asked::PutOn { .. } | Asked::Check { .. } | Asked::Go { .. } => false,
    })
}

/// Where someone stands, to end a sentence with.
pub(super) fn standing(at: Whereabouts) -> &'static str {
    match at {
        Whereabouts::Inside => "inside the room",
        Whereabouts::Doorway => "in the doorway",
        Whereabouts::Outside => "outside",
    }
}

/// Where a sequence has hands cleaned.
#[derive(Clone, Copy, Debug)]
pub(super) struct CleanedHands {
    /// Anywhere.
    pub at_all: bool,
    /// Once the last thing has come off.
    pub at_last: bool,
}

/// Where a sequence has hands cleaned.
pub(super) fn cleaned_hands(sequence: &Sequence) -> CleanedHands {
    let cleans = |step: &AskedStep| matches!(step.asked, Asked::Clean { .. });
    let removes = |step: &AskedStep| matches!(step.asked, Asked::Remove { .. });
    let last = sequence.steps.iter().rposition(removes).unwrap_or(0);
    CleanedHands {
        at_all: sequence.steps.iter().any(cleans),
        at_last: sequence.steps[last..].iter().any(cleans),
    }
}
