//! The short numbered list of what can be done at a site, in plain words; nothing is called right or wrong.

use crate::drill::{Action, Drill, State};
use crate::model::{
    Address, Does, Hands, Holding, ItemKind, ItemRef, Need, Owner, Pace, Setup, Side, SiteIndex, Step,
    Technique,
};

use super::touch;
use super::words::{hand, sentence};

/// Longest list of ways to take an item off where the site itself is no place to begin.
const MOST_BY_THE_WAY: usize = 7;

/// Something that can be done at a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What, in plain words.
    pub label: String,
    /// By which hand, such as `with your left hand`; empty where it goes without saying.
    pub by: String,
    /// What to do. A clean carries the usual doses and length, for the rub panel to start from.
    pub action: Action,
    /// True if it can be done steadily or in a hurry.
    pub paced: bool,
    /// Why it is impossible now, with what could be done about it.
    pub refused: Option<String>,
}

impl Choice {
    fn new(drill: &Drill, label: &str, by: String, action: Action) -> Choice {
        Choice {
            label: sentence(label),
            by,
            paced: matches!(action, Action::Do { .. }),
            refused: drill
                .check(&action)
                .err()
                .map(|refusal| sentence(&refusal.to_string())),
            action,
        }
    }

    /// The action at a pace.
    pub fn at(&self, pace: Pace) -> Action {
        match self.action.clone() {
            Action::Do {
                technique,
                item,
                hand,
                ..
            } => Action::Do {
                technique,
                item,
                hand,
                pace,
            },
            other => other,
        }
    }
}

/// What can be done at a site; `acting` is the hand preferred where either will do.
pub fn options(drill: &Drill, site: SiteIndex, acting: Side) -> Vec<Choice> {
    let (setup, state) = (drill.setup(), drill.state());
    let mut list = Vec::new();
    match setup.sites[site].owner {
        Owner::Part(item, part, _) => match state.items[item].holding {
            Holding::Held { .. } => discards(drill, acting, &mut list),
            _ => techniques(drill, item, part, acting, &mut list),
        },
        Owner::Body(place) => {
            if setup.zone_of_place(place).is_some() {
                cleanings(drill, None, &mut list);
            }
        }
        Owner::Room(piece) => {
            let id = setup.library.furniture[piece].id.as_str();
            if id.starts_with("bin-") || id == "floor" {
                discards(drill, acting, &mut list);
            }
            cleanings(drill, Some(id), &mut list);
        }
    }
    touches(drill, site, acting, &mut list);
    // What cannot be done now comes last, so that the number keys stay with what can.
    list.sort_by_key(|choice| choice.refused.is_some());
    list
}

/// Both free touches, the preferred hand first; a hand that cannot touch its own arm is left out.
fn touches(drill: &Drill, site: SiteIndex, acting: Side, list: &mut Vec<Choice>) {
    let choices: Vec<Choice> = [acting, acting.other()]
        .into_iter()
        .map(|side| {
            let by = format!("with {}", hand(side));
            Choice::new(drill, "just touch it", by, touch(drill, side, site))
        })
        .collect();
    if choices.iter().any(|c| c.refused.is_none()) {
        list.extend(choices.into_iter().filter(|c| c.refused.is_none()));
    } else if list.is_empty() {
        list.extend(choices.into_iter().take(1));
    }
}

/// Ways of getting rid of what is held.
fn discards(drill: &Drill, acting: Side, list: &mut Vec<Choice>) {
    let (setup, state) = (drill.setup(), drill.state());
    let full: Vec<Side> = Side::BOTH
        .into_iter()
        .filter(|&side| state.in_hand(side).next().is_some())
        .collect();
    let Some(hands) = (match full[..] {
        [] => None,
        [Side::Left] => Some(Hands::Left),
        [Side::Right] => Some(Hands::Right),
        _ => Some(Hands::Both),
    }) else {
        return;
    };
    for technique in setup
        .library
        .techniques
        .iter()
        .filter(|t| t.does == Does::Discards)
    {
        let fits = |h: Hands| technique.hands.contains(&h);
        let one = if acting == Side::Left {
            Hands::Left
        } else {
            Hands::Right
        };
        let chosen = if fits(hands) {
            hands
        } else if fits(one) {
            one
        } else {
            technique.hands[0]
        };
        let action = Action::Do {
            technique: technique.id.clone(),
            item: None,
            hand: Some(chosen),
            pace: Pace::Steady,
        };
        let choice = Choice::new(drill, &technique.label, by(chosen, None), action);
        if choice.refused.is_none() {
            list.push(choice);
        }
    }
}

/// Hand hygiene: what is to be had at a dispenser or tap, or all of it when a bare hand was pointed at.
fn cleanings(drill: &Drill, at: Option<&str>, list: &mut Vec<Choice>) {
    for product in offered(drill.setup()) {
        let Some(product) = drill.setup().library.product(&product) else {
            continue;
        };
        if at.is_some_and(|id| id != product.touches && !(id == "soap-dispenser" && product.touches == "tap"))
        {
            continue;
        }
        let bare = |side| drill.state().glove(drill.setup(), side).is_none();
        if product.gloves_only && Side::BOTH.into_iter().any(bare) {
            continue;
        }
        let label = format!("{} your hands: {}", product.verb, product.label);
        list.push(Choice::new(
            drill,
            &label,
            String::new(),
            clean(drill, &product.id),
        ));
    }
}

/// A clean with a product's usual doses and length.
pub fn clean(drill: &Drill, product: &str) -> Action {
    let known = drill.setup().library.product(product);
    Action::Clean {
        product: product.to_owned(),
        doses: known.map_or(1, |p| p.doses),
        seconds: known.map_or(20.0, |p| p.seconds),
        skip: Vec::new(),
    }
}

/// Ids of the products that are to be had: those that any sequence of the scenario asks for.
pub fn offered(setup: &Setup) -> Vec<String> {
    let library = &setup.library;
    let scenario = &setup.scenario;
    let asked: Vec<&String> = std::iter::once(&scenario.sequence)
        .chain(&scenario.also)
        .filter_map(|id| library.sequence(id))
        .flat_map(|s| &s.steps)
        .filter_map(|step| match &step.asked {
            crate::model::Asked::Clean { products, .. } => Some(products),
            _ => None,
        })
        .flatten()
        .collect();
    library
        .products
        .iter()
        .filter(|p| asked.is_empty() || asked.contains(&&p.id))
        .map(|p| p.id.clone())
        .collect()
}

/// Ways of handling an item: those that concern the part, or for small items all of them.
fn techniques(drill: &Drill, item: usize, part: usize, acting: Side, list: &mut Vec<Choice>) {
    let (setup, state) = (drill.setup(), drill.state());
    let definition = setup.definition(item);
    let whole = matches!(
        definition.kind,
        ItemKind::Glove | ItemKind::Overshoe | ItemKind::EyeProtection
    );
    let possible: Vec<&Technique> = setup
        .library
        .techniques_for(definition)
        .filter(|t| sensible(setup, state, t, item))
        .collect();
    let here = |t: &&Technique| concerns(setup, t, item, part);
    let mut chosen: Vec<&Technique> = if whole {
        possible.clone()
    } else {
        possible.iter().copied().filter(here).collect()
    };
    if chosen.is_empty() {
        // A sleeve is no place to begin at, but whoever points at it may still want the item off.
        let off = possible
            .iter()
            .copied()
            .filter(|t| matches!(t.does, Does::TakesOff | Does::PicksUp));
        chosen.extend(off.take(MOST_BY_THE_WAY));
    }
    for technique in chosen {
        let hands = preferred(technique, acting);
        let action = Action::Do {
            technique: technique.id.clone(),
            item: Some(setup.items[item].id.clone()),
            hand: Some(hands),
            pace: Pace::Steady,
        };
        let by = by(hands, setup.items[item].side);
        list.push(Choice::new(drill, &technique.label, by, action));
    }
}

/// False for what makes no sense to offer in the item's present state, such as undoing a tie that is undone.
fn sensible(setup: &Setup, state: &State, technique: &Technique, item: usize) -> bool {
    let now = &state.items[item];
    let states = |n: &Need| {
        matches!(
            n,
            Need::Worn | Need::Dangling | Need::Held | Need::Boxed | Need::OnFloor
        )
    };
    let holds = |need: &Need| match need {
        Need::Worn => now.holding == Holding::Worn,
        Need::Dangling => now.holding == Holding::Dangling,
        Need::Held => matches!(now.holding, Holding::Held { .. }),
        Need::Boxed => now.holding == Holding::Boxed,
        Need::OnFloor => matches!(now.holding, Holding::Floor(_)),
        Need::AnyTied => now.undone.iter().any(|undone| !undone),
        Need::Tied(id) => setup
            .definition(item)
            .fastenings
            .iter()
            .position(|f| f.id == *id)
            .is_some_and(|f| !now.undone[f]),
        Need::WornToo(id) => setup.item(id).is_some(),
        Need::Undone(_) => true,
    };
    let placed = technique.needs.iter().any(states) || now.holding == Holding::Worn;
    placed && technique.needs.iter().all(holds)
}

/// True if a technique is meant to touch or undo this part, by either hand.
fn concerns(setup: &Setup, technique: &Technique, item: usize, part: usize) -> bool {
    let id = &setup.items[item].parts[part].id;
    let names = |address: &Address| match address {
        Address::Part {
            item: ItemRef::Handled,
            part: Some(name),
            ..
        } => Side::BOTH.into_iter().any(|side| name.for_side(side) == *id),
        _ => false,
    };
    technique.steps.iter().any(|step| match step {
        Step::Contact {
            a, b, chance: None, ..
        } => {
            let by_hand = |x: &Address| matches!(x, Address::Hand(..));
            (by_hand(a) && names(b)) || (by_hand(b) && names(a))
        }
        // Ties that break when the front is pulled are not what the hands go to.
        Step::Undo(fastening) | Step::Tie(fastening) if technique.does == Does::Loosens => setup
            .definition(item)
            .fastenings
            .iter()
            .any(|f| f.id == *fastening && f.part == *id),
        _ => false,
    })
}

/// The technique's usual hands, or the preferred one where a single hand is usual and either will do.
fn preferred(technique: &Technique, acting: Side) -> Hands {
    let one = if acting == Side::Left {
        Hands::Left
    } else {
        Hands::Right
    };
    match technique.hands[0] {
        Hands::Left | Hands::Right if technique.hands.contains(&one) => one,
        usual => usual,
    }
}

fn by(hands: Hands, worn_on: Option<Side>) -> String {
    match hands {
        Hands::Both => "with both hands".to_owned(),
        one => one
            .sides(worn_on)
            .first()
            .map_or_else(String::new, |&side| format!("with {}", hand(side))),
    }
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::drill;
    use super::*;

    fn labels(choices: &[Choice]) -> Vec<&str> {
        choices.iter().map(|c| c.label.as_str()).collect()
    }

    #[test]
    fn a_glove_lists_its_techniques_and_a_touch_by_the_other_hand() {
        let drill = drill("respiratory-room");
        let site = drill.setup().site("left-glove-cuff").expect("the kit has gloves");
        let choices = options(&drill, site, Side::Right);
        let labels = labels(&choices);
        assert!(
            labels.contains(&"Take up a fold at the cuff and turn the glove inside out"),
            "{labels:?}"
        );
        assert!(
            labels.contains(&"Hook a finger under the cuff and pull it off"),
            "{labels:?}"
        );
        assert!(labels.contains(&"Just touch it"), "{labels:?}");
        assert!(
            choices.iter().all(|c| c.by == "with your right hand"),
            "{choices:?}"
        );
    }

    #[test]
    fn what_is_impossible_says_why_and_what_to_do() {
        let drill = drill("respiratory-room");
        let site = drill.setup().site("gown-chest").expect("the kit has a gown");
        let choices = options(&drill, site, Side::Right);
        let refused: Vec<&String> = choices.iter().filter_map(|c| c.refused.as_ref()).collect();
        assert!(
            refused.iter().any(|r| r.contains("lies over")) || refused.iter().any(|r| r.contains("held by")),
            "{choices:#?}"
        );
    }

    #[test]
    fn nothing_held_offers_nothing_to_throw_away() {
        let drill = drill("respiratory-room");
        let site = drill.setup().site("bin-pedal").expect("the room has a bin");
        assert!(
            options(&drill, site, Side::Right)
                .iter()
                .all(|c| c.label == "Just touch it")
        );
    }

    #[test]
    fn every_worn_item_can_be_begun_from_some_site_of_it() {
        for scenario in [
            "respiratory-room",
            "enteric-bay",
            "classic-tracer",
            "double-gloves",
        ] {
            let drill = drill(scenario);
            for (i, item) in drill.setup().items.iter().enumerate() {
                if !drill.state().is_worn(i) {
                    continue;
                }
                let offered: usize = item
                    .parts
                    .iter()
                    .flat_map(|p| options(&drill, p.outside, Side::Right))
                    .filter(|c| matches!(c.action, Action::Do { .. }))
                    .count();
                assert!(
                    offered > 0,
                    "{scenario}: nothing can be done with the {}",
                    item.label
                );
            }
        }
    }

    #[test]
    fn no_list_needs_more_than_the_nine_number_keys() {
        for scenario in [
            "respiratory-room",
            "enteric-bay",
            "classic-tracer",
            "double-gloves",
        ] {
            let drill = drill(scenario);
            for site in 0..drill.setup().sites.len() {
                let choices = options(&drill, site, Side::Right);
                assert!(
                    choices.len() <= 9,
                    "{}: {:?}",
                    drill.setup().sites[site].label,
                    labels(&choices)
                );
            }
        }
    }
}
