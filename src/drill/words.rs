//! Words for where things and people are.

use crate::model::{Hands, Holding, KitItem, Whereabouts};

/// Where a person stands, in words that end "you are ...".
pub(super) fn standing(at: Whereabouts) -> &'static str {
    match at {
        Whereabouts::Inside => "inside",
        Whereabouts::Doorway => "in the doorway",
        Whereabouts::Outside => "outside",
    }
}

/// Which hand or hands, in words that end "with ...".
pub(super) fn hands_words(hands: Hands) -> &'static str {
    match hands {
        Hands::Left => "your left hand",
        Hands::Right => "your right hand",
        Hands::Both => "both hands",
        Hands::Opposite => "the other hand",
    }
}

/// Where an item is, in words that end "the gown is ...".
fn holding_words(holding: Holding) -> String {
    match holding {
        Holding::Worn => "on".to_owned(),
        Holding::Dangling => "hanging at your neck".to_owned(),
        Holding::Held {
            left: true,
            right: true,
        } => "in both your hands".to_owned(),
        Holding::Held { left: true, .. } => "in your left hand".to_owned(),
        Holding::Held { .. } => "in your right hand".to_owned(),
        Holding::Binned => "in the bin".to_owned(),
        Holding::Floor(at) => format!("on the floor {}", standing(at)),
        Holding::Boxed => "still in its box".to_owned(),
    }
}

/// Where a kit item is, in words that end "the gown is ...".
pub(super) fn item_words(item: &KitItem, holding: Holding) -> String {
    match holding {
        Holding::Boxed if item.ready => "not on yet, and lies ready".to_owned(),
        other => holding_words(other),
    }
}
