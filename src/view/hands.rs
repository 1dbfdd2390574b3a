//! The two hands: what is on them, what they hold, and with the lamp on what they carry. And what is still on.

use crate::drill::Drill;
use crate::model::{Holding, Side, SiteIndex, Zone};

use super::handles::{face_site, handle_site};
use super::words::{many, sentence};

/// One hand.
#[derive(Clone, Debug, PartialEq)]
pub struct HandCard {
    /// Which hand.
    pub side: Side,
    /// True for the hand that acts where there is a choice.
    pub acting: bool,
    /// What is on it, such as `Glove on` or `Bare`.
    pub on: String,
    /// What it holds.
    pub holds: String,
    /// The newest thing in it, by a site of it, to choose what becomes of it.
    pub held_site: Option<SiteIndex>,
    /// What it carries, if that may be shown.
    pub carries: Option<String>,
}

/// Both hands, left first.
pub fn hand_cards(drill: &Drill, acting: Side, lamp: bool) -> [HandCard; 2] {
    Side::BOTH.map(|side| {
        let (setup, state) = (drill.setup(), drill.state());
        let glove = state.glove(setup, side);
        let held: Vec<usize> = state.in_hand(side).collect();
        let words: Vec<String> = held
            .iter()
            .map(|&i| format!("the {}", setup.items[i].label))
            .collect();
        HandCard {
            side,
            acting: acting == side,
            on: glove.map_or_else(
                || "Bare".to_owned(),
                |item| sentence(&format!("{} on", setup.definition(item).label)),
            ),
            holds: if words.is_empty() {
                "holds nothing".to_owned()
            } else {
                format!("holds {}", super::words::list(&words))
            },
            held_site: held.last().and_then(|&item| face_site(drill, item)),
            carries: lamp.then(|| carried(drill, side)),
        }
    })
}

/// What the outermost surface of a hand carries, and where most of it is.
fn carried(drill: &Drill, side: Side) -> String {
    let (setup, state) = (drill.setup(), drill.state());
    let zones = Zone::ALL.map(|zone| {
        let site = state.outermost(setup, setup.zone_place(side, zone), None);
        (zone, drill.books().total(site))
    });
    let sum: u64 = zones.iter().map(|z| z.1).sum();
    match zones.iter().max_by_key(|z| z.1) {
        Some(&(zone, most)) if most > 0 && most < sum => {
            format!("{}, most at the {}", many(sum, "speck"), zone.label())
        }
        Some(&(zone, most)) if most > 0 => format!("{} at the {}", many(most, "speck"), zone.label()),
        _ => "no specks".to_owned(),
    }
}

/// Something that is not yet in the bin.
#[derive(Clone, Debug, PartialEq)]
pub struct StillOn {
    /// Name for people.
    pub label: String,
    /// Where it is, if it is not simply on.
    pub place: Option<&'static str>,
    /// A site of it, to choose what to do with it.
    pub site: SiteIndex,
    /// True if it is the chosen one.
    pub chosen: bool,
}

/// What is worn, outermost first; then what hangs, is held, lies on the floor or waits in a box.
pub fn still_on(drill: &Drill, chosen: Option<SiteIndex>) -> Vec<StillOn> {
    let (setup, state) = (drill.setup(), drill.state());
    let worn = state.worn.iter().rev().copied();
    let others =
        (0..setup.items.len()).filter(|&i| !state.is_worn(i) && state.items[i].holding != Holding::Binned);
    worn.chain(others)
        .filter_map(|item| {
            let kit = &setup.items[item];
            let site = handle_site(drill, item)?;
            let mine =
                chosen.is_some_and(|c| kit.parts.iter().any(|p| p.outside == c || p.inside == Some(c)));
            Some(StillOn {
                label: sentence(&kit.label),
                place: match state.items[item].holding {
                    Holding::Worn | Holding::Binned => None,
                    Holding::Dangling => Some("hanging"),
                    Holding::Held { .. } => Some("in hand"),
                    Holding::Floor(_) => Some("on the floor"),
                    Holding::Boxed if kit.ready => Some("lies ready"),
                    Holding::Boxed => Some("in its box"),
                },
                site,
                chosen: mine,
            })
        })
        .collect()
}
