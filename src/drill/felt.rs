//! What is felt at a check of what is on. It moves nothing, and so it is the one thing in an attempt that chance decides about and
//! that is no event.

use crate::chance::{Key, Luck, Purpose, uniform};
use crate::model::{Setup, Technique};

use super::{Action, State};

/// What somebody felt at a check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Felt {
    /// Kit item index.
    pub item: usize,
    /// Id of the fault that the check looks for.
    pub fault: String,
    /// True if it was felt.
    pub felt: bool,
    /// True if it is there.
    pub there: bool,
    /// What it felt like, as a clause.
    pub words: String,
}

/// What an action feels as things are, if it is a check. `before` is all that was done until then.
///
/// A check is drawn for how the item sits, not for how often it is tried: who did not feel a leak feels none the next time either,
/// until the item has been put on or set again. Of checks in a row nothing has been published but that they do not go apart.
pub fn felt<'a>(
    setup: &Setup,
    state: &State,
    action: &Action,
    before: impl Iterator<Item = &'a Action>,
    luck: Luck,
) -> Option<Felt> {
    let (technique, item) = handled(setup, action)?;
    let feel = technique.feels.as_ref()?;
    let set = |action: &&Action| {
        handled(setup, action).is_some_and(|(way, of)| of == item && way.dresses() && !way.checks())
    };
    let times = before.filter(set).count() as u64;
    let key = Key::of("felt")
        .named(&technique.id)
        .named(&setup.items[item].id)
        .within(times);
    let there = state
        .every_fault()
        .any(|fault| fault.item == item && fault.fault == feel.fault);
    let chance = if there { feel.finds } else { feel.alarms };
    let felt = uniform(&mut luck.stream(key, Purpose::Felt)) < chance;
    Some(Felt {
        item,
        fault: feel.fault.clone(),
        felt,
        there,
        words: if felt {
            feel.some.clone()
        } else {
            feel.none.clone()
        },
    })
}

/// The technique of an action, and the kit item it is done to.
fn handled<'s>(setup: &'s Setup, action: &Action) -> Option<(&'s Technique, usize)> {
    match action {
        Action::Do {
            technique,
            item: Some(item),
            ..
        } => Some((setup.library.technique(technique)?, setup.item(item)?)),
        _ => None,
    }
}
