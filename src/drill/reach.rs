//! What a hand can touch: the outermost surface, within reach, not its own arm.

use crate::model::{Holding, Owner, Setup, Side, SiteIndex};

use super::words::item_words;
use super::{First, Refusal, State};

/// Arm places that a hand cannot reach on its own side.
const OWN_ARM: [&str; 2] = ["forearm", "upper-arm"];

/// Checks that a hand can touch a site now.
///
/// # Errors
/// What stands between them.
pub(super) fn reach(setup: &Setup, state: &State, hand: Side, target: SiteIndex) -> Result<(), Refusal> {
    let site = &setup.sites[target];
    match site.owner {
        Owner::Room(index) => {
            let piece = &setup.library.furniture[index];
            let at = setup.reach(index);
            if at.is_empty() {
                return Err(Refusal::new(format!(
                    "the {} is not part of this drill",
                    piece.label
                )));
            }
            if !at.contains(&state.whereabouts) {
                return Err(
                    Refusal::new(format!("the {} is out of reach from here", piece.label))
                        .hint(format!("it can be reached {}", at_words(at))),
                );
            }
            Ok(())
        }
        Owner::Body(place) => {
            own_arm(setup, hand, place)?;
            match state.top(setup, place, None) {
                Some((item, _)) => Err(Refusal::new(format!(
                    "the {} cannot be reached through the {}",
                    site.label, setup.items[item].label
                ))
                .waits_for(First::Item(item))),
                None => Ok(()),
            }
        }
        Owner::Part(item, part, inside) => {
            let kit = &setup.items[item];
            match state.items[item].holding {
                Holding::Worn => {
                    if inside {
                        return Err(Refusal::new(format!(
                            "the inside of the {} lies against you",
                            kit.label
                        )));
                    }
                    if let Some(over) = state.over(setup, item, part) {
                        return Err(Refusal::new(format!(
                            "the {} cannot be reached through the {}",
                            site.label, setup.items[over].label
                        ))
                        .waits_for(First::Item(over)));
                    }
                    let places = &kit.parts[part].places;
                    if places.iter().all(|&place| own_arm(setup, hand, place).is_err()) {
                        return own_arm(setup, hand, places[0]);
                    }
                    Ok(())
                }
                Holding::Held { .. } | Holding::Dangling => Ok(()),
                Holding::Floor(at) if at == state.whereabouts => Ok(()),
                elsewhere => Err(Refusal::new(format!(
                    "the {} is {}",
                    kit.label,
                    item_words(kit, elsewhere)
                ))),
            }
        }
    }
}

fn own_arm(setup: &Setup, hand: Side, place: usize) -> Result<(), Refusal> {
    let id = &setup.library.places[place].id;
    let own_zone = setup.zone_of_place(place).is_some_and(|(side, _)| side == hand);
    let own_arm = OWN_ARM
        .iter()
        .any(|part| *id == format!("{}-{part}", hand.word()));
    if own_zone || own_arm {
        return Err(Refusal::new(format!(
            "your {} hand cannot touch itself or its own arm",
            hand.word()
        )));
    }
    Ok(())
}

pub(super) fn at_words(at: &[crate::model::Whereabouts]) -> String {
    let words: Vec<&str> = at.iter().map(|w| w.word()).collect();
    words.join(" or ")
}
