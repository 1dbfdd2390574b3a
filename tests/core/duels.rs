//! Pairs for a class: what label and question say of a side is what the side plays.

use smirch::analysis::by_the_book;
use smirch::drill::Drill;
use smirch::guidance::bears_out;
use smirch::model::{Duel, DuelSide, DuelWay};

use crate::fixture::{content, play, script, setup};

/// A side of a pair, played to its end.
fn played(duel: &Duel, side: &DuelSide) -> Drill {
    let scenario = duel.scenario_of(side);
    let actions = match &side.way {
        DuelWay::Script(name) => script(&format!("{scenario}/{name}")).actions.clone(),
        DuelWay::Sequence(id) => {
            let sequence = content().library.sequence(id);
            let sequence = sequence.unwrap_or_else(|| panic!("{}: no sequence `{id}`", duel.id));
            by_the_book(&setup(scenario), sequence).unwrap_or_else(|e| panic!("{}: {id}: {e}", duel.id))
        }
    };
    play(scenario, &actions, 1)
}

#[test]
fn what_is_said_of_a_side_is_what_it_plays() {
    for duel in &content().library.duels {
        for side in &duel.sides {
            assert!(
                !side.shows.is_empty(),
                "{}: nothing can be checked of `{}`",
                duel.id,
                side.label
            );
            let drill = played(duel, side);
            for claim in &side.shows {
                if let Err(instead) = bears_out(&drill, claim) {
                    panic!("{}: `{}` says {claim:?}, but {instead}", duel.id, side.label);
                }
            }
        }
    }
}

#[test]
fn labels_that_changed_places_would_be_noticed() {
    for duel in &content().library.duels {
        let [one, other] = &duel.sides[..] else {
            panic!("{}: a pair has two sides", duel.id);
        };
        for (label, plays) in [(one, other), (other, one)] {
            let drill = played(duel, plays);
            assert!(
                label.shows.iter().any(|claim| bears_out(&drill, claim).is_err()),
                "{}: `{}` would be believed of what `{}` plays",
                duel.id,
                label.label,
                plays.label
            );
        }
    }
}
