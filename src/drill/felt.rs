//! What is found at a check: felt at what is on, or seen on somebody and on what lies ready. It moves nothing, and so it is the one
//! thing in an attempt that chance decides about and that is no event.

use crate::chance::{Key, Luck, Purpose, uniform};
use crate::model::{Feel, Holding, Need, Setup, Sought, Technique};

use super::{Action, State};

/// What somebody found at a check, or did not find.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Felt {
    /// Kit item index; none if it is about the person.
    pub item: Option<usize>,
    /// What the check looks for.
    pub sought: Sought,
    /// True if it is a matter of looking, false if it is one of feeling.
    pub seen: bool,
    /// True if it was found.
    pub felt: bool,
    /// True if it is there.
    pub there: bool,
    /// What was found, as a clause; empty if nothing was and there is nothing to say of that.
    pub words: String,
    /// What would have been told if it had been found.
    pub would: String,
}

/// What an action finds as things are, if it is a check. `before` is all that was done until then.
///
/// A check is drawn for how things are, not for how often it is tried: who did not feel a leak feels none the next time either,
/// until the item has been put on or set again, and a colleague who overlooked a tie overlooks it until it has been seen to. Of
/// checks in a row nothing has been published but that they do not go apart.
pub fn felt<'a>(
    setup: &Setup,
    state: &State,
    action: &Action,
    before: impl Iterator<Item = &'a Action> + Clone,
    luck: Luck,
) -> Vec<Felt> {
    let Some((technique, handled)) = done_to(setup, action) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for feel in &technique.feels {
        for item in on_what(setup, state, technique, handled, feel) {
            let there = is_there(setup, state, item, &feel.sought);
            let set = |action: &&Action| changes(setup, action, item, &feel.sought);
            let times = before.clone().filter(set).count() as u64;
            let id = item.map_or("person", |item| setup.items[item].id.as_str());
            let (kind, sought) = feel.sought.named();
            let (key, purpose) = match technique.looks {
                true => (
                    Key::of("seen").named(&technique.id).named(kind).named(sought),
                    Purpose::Seen,
                ),
                false => (Key::of("felt").named(&technique.id), Purpose::Felt),
            };
            let key = key.named(id).within(times);
            let chance = if there { feel.finds } else { feel.alarms };
            let found = uniform(&mut luck.stream(key, purpose)) < chance;
            let of_item = |words: &str| match item.filter(|_| technique.looks && !words.is_empty()) {
                Some(item) => format!("{}: {words}", setup.items[item].label),
                None => words.to_owned(),
            };
            all.push(Felt {
                item,
                sought: feel.sought.clone(),
                seen: technique.looks,
                felt: found,
                there,
                words: of_item(if found { &feel.some } else { &feel.none }),
                would: of_item(&feel.some),
            });
        }
    }
    all
}

/// The items on which something is looked for, or nothing for the person.
fn on_what(
    setup: &Setup,
    state: &State,
    technique: &Technique,
    handled: Option<usize>,
    feel: &Feel,
) -> Vec<Option<usize>> {
    if handled.is_some() || feel.of.is_empty() {
        return vec![handled];
    }
    let wanted = match technique.needs.contains(&Need::Boxed) {
        true => Holding::Boxed,
        false => Holding::Worn,
    };
    let is_one = |&item: &usize| {
        let definition = setup.definition(item);
        let named = |id: &String| *id == definition.id || definition.like.contains(id);
        !setup.items[item].spare && state.items[item].holding == wanted && feel.of.iter().any(named)
    };
    (0..setup.items.len()).filter(is_one).map(Some).collect()
}

/// True if what is looked for is there.
fn is_there(setup: &Setup, state: &State, item: Option<usize>, sought: &Sought) -> bool {
    match (sought, item) {
        (Sought::Fault(id), _) => state
            .every_fault()
            .any(|fault| fault.item == item && fault.fault == *id),
        (Sought::Open(id), Some(item)) => {
            let mut fastenings = setup.definition(item).fastenings.iter();
            let fastening = fastenings.position(|f| f.id == *id);
            fastening.is_some_and(|f| state.items[item].undone[f])
        }
        (Sought::Covered(id), Some(item)) => {
            let part = setup.items[item].part(id);
            part.is_some_and(|part| state.over(setup, item, part).is_some())
        }
        (Sought::Beneath(id), Some(item)) => {
            let mut over = state.worn.iter().skip_while(|&&worn| worn != item).skip(1);
            over.any(|&other| {
                let other = setup.definition(other);
                other.id == *id || other.like.contains(id)
            })
        }
        (_, None) => false,
    }
}

/// True if an action does something to an item, or to what is looked for on the person, and does not just look.
fn changes(setup: &Setup, action: &Action, item: Option<usize>, sought: &Sought) -> bool {
    let Some((way, of)) = done_to(setup, action) else {
        return false;
    };
    let (_, id) = sought.named();
    match item {
        Some(_) => of == item && (way.dresses() || way.prepares()) && !way.checks(),
        None => way.remedies(id),
    }
}

/// The technique of an action, and the kit item it is done to.
fn done_to<'s>(setup: &'s Setup, action: &Action) -> Option<(&'s Technique, Option<usize>)> {
    let Action::Do { technique, item, .. } = action else {
        return None;
    };
    let item = match item {
        Some(item) => Some(setup.item(item)?),
        None => None,
    };
    Some((setup.library.technique(technique)?, item))
}
