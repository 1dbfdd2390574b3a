//! What a room, a scenario or a sequence says of where basins and dispensers are.

use crate::model::{Asked, Building, Library, OwnBuilding, Sequence, Setup, Whereabouts, Worked};

use super::record::{Decoder, Record};
use super::substance::{WHEREABOUTS, basis};
use super::tree::Node;

fn places(r: &mut Record<'_>, name: &str) -> Option<Vec<Whereabouts>> {
    let list = |d: &Decoder<'_>, n: &Node| {
        let at = d.list(n, "places to stand", |d, n| {
            d.choice(n, "place to stand", &WHEREABOUTS)
        });
        Some(at)
    };
    r.optional(name, list)
}

/// What is usual; the whole of it.
pub(super) fn usual(r: &mut Record<'_>, library: &Library) -> Option<Building> {
    r.optional("building", |d, node| {
        let mut r = d.record(node, "building");
        let place = |d: &Decoder<'_>, n: &Node| d.choice(n, "place to stand", &WHEREABOUTS);
        Some(Building {
            basins: r.list("basins", place),
            dispensers: r.list("dispensers", place),
            taps: r.choice("taps", &Worked::ALL),
            pumps: r.choice("pumps", &Worked::ALL),
            elbow: r.quantity("elbow", "cm2", 0.1..=200.0),
            basis: basis(&mut r, library),
        })
    })
}

/// How something is worked, where that may be said.
fn worked(r: &mut Record<'_>, name: &str, said: bool) -> Option<Worked> {
    if !said {
        return None;
    }
    r.optional(name, |d, n| d.choice(n, "way of working it", &Worked::ALL))
}

/// What a scenario says of its own, or a sequence, which says nothing of taps and dispensers.
pub(super) fn own(r: &mut Record<'_>, taps: bool) -> OwnBuilding {
    let read = r.optional("building", |d, node| {
        let mut r = d.record(node, "building");
        Some(OwnBuilding {
            basins: places(&mut r, "basins"),
            dispensers: places(&mut r, "dispensers"),
            taps: worked(&mut r, "taps", taps),
            pumps: worked(&mut r, "pumps", taps),
        })
    });
    read.unwrap_or_default()
}

/// A cleaning that a sequence asks for where the building has nothing to do it with, as a sentence.
pub(super) fn lacking(setup: &Setup, sequence: &Sequence) -> Option<String> {
    let mut here = setup.scenario.begin;
    for step in &sequence.steps {
        match &step.asked {
            Asked::PutOn { items, at, .. }
            | Asked::Check { items, at, .. }
            | Asked::Remove { items, at, .. } => {
                let worn = |id: &String| {
                    setup
                        .items
                        .iter()
                        .enumerate()
                        .any(|(i, _)| setup.definition(i).id == *id)
                };
                if let (Some(first), true) = (at.first(), items.iter().any(worn))
                    && !at.contains(&here)
                {
                    here = *first;
                }
            }
            Asked::Go { to, .. } => here = *to,
            Asked::Clean { products, .. } => {
                let known: Vec<_> = products
                    .iter()
                    .filter_map(|id| setup.library.product(id))
                    .collect();
                if known.is_empty() || known.iter().any(|p| !setup.sources(p, here).is_empty()) {
                    continue;
                }
                let words: Vec<&str> = known.iter().map(|p| p.label.as_str()).collect();
                return Some(format!(
                    "`{}` has hands cleaned with {} where this building has none ({})",
                    sequence.id,
                    words.join(" or "),
                    here.word()
                ));
            }
        }
    }
    None
}
