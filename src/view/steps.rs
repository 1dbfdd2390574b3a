//! What was done, in words: one sentence per action.

use crate::drill::{Action, Drill};
use crate::model::{Hands, Pace, Setup};

use super::words::{sentence, standing};

/// An action as a sentence without a full stop.
pub fn describe(setup: &Setup, action: &Action) -> String {
    let library = &setup.library;
    let text = match action {
        Action::Do {
            technique,
            item,
            hand,
            pace,
        } => {
            let label = library
                .technique(technique)
                .map_or(technique.as_str(), |t| t.label.as_str());
            let item = item
                .as_ref()
                .and_then(|id| setup.item(id))
                .map(|i| format!("{}: ", setup.items[i].label))
                .unwrap_or_default();
            let by = match hand {
                Some(Hands::Left) => ", left hand",
                Some(Hands::Right) => ", right hand",
                Some(Hands::Both | Hands::Opposite) | None => "",
            };
            let pace = if *pace == Pace::Hurried {
                ", in a hurry"
            } else {
                ""
            };
            format!("{item}{label}{by}{pace}")
        }
        Action::Touch { hand, site, .. } => {
            let what = setup
                .site(site)
                .map_or(site.as_str(), |s| setup.sites[s].label.as_str());
            format!("touched the {what} with your {} hand", hand.word())
        }
        Action::Clean {
            product,
            doses,
            seconds,
            skip,
            forearms,
        } => {
            let known = library.product(product);
            let verb = known.map_or("clean", |p| p.verb.as_str());
            let what = known.map_or(product.as_str(), |p| p.label.as_str());
            let doses = if *doses == 1 {
                "1 dose".to_owned()
            } else {
                format!("{doses} doses")
            };
            let also = if *forearms { ", forearms first" } else { "" };
            let left_out = if skip.is_empty() {
                ""
            } else {
                ", with zones left out"
            };
            format!("{verb} with {what}, {doses}, {seconds:.0} s{also}{left_out}")
        }
        Action::Walk(to) => format!(
            "went {}",
            if standing(*to).starts_with("in the") {
                "to the doorway"
            } else {
                standing(*to)
            }
        ),
        Action::Wait(seconds) => format!("waited {seconds:.0} s"),
    };
    sentence(&text)
}

/// Citations behind a basis, or how firm it is where there are none.
pub fn sources(drill: &Drill, basis: &str) -> String {
    let library = &drill.setup().library;
    let Some(basis) = library.basis(basis) else {
        return String::new();
    };
    let cites: Vec<&str> = basis
        .sources
        .iter()
        .filter_map(|id| library.source(id))
        .map(|s| s.cite.as_str())
        .collect();
    if cites.is_empty() {
        format!("no published source: {}", basis.what)
    } else {
        cites.join("; ")
    }
}
