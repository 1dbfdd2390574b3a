//! Pairs for a class: what label and question say of a side is what the side plays.

use smirch::analysis::Side;
use smirch::drill::Drill;
use smirch::guidance::bears_out;
use smirch::model::Duel;

use crate::fixture::content;

/// Both sides of a pair, each played to its end.
fn played(duel: &Duel) -> [Drill; 2] {
    let sides = Side::both(content(), duel).unwrap_or_else(|e| panic!("{}: {e}", duel.id));
    sides.map(|side| {
        let mut drill = Drill::begin(side.setup.clone(), 1);
        for action in &side.actions {
            let done = drill.act(action.clone());
            done.unwrap_or_else(|e| panic!("{}, {}: {e}", duel.id, side.label));
        }
        drill
    })
}

#[test]
fn what_is_said_of_a_side_is_what_it_plays() {
    for duel in &content().library.duels {
        for (side, drill) in duel.sides.iter().zip(played(duel)) {
            assert!(
                !side.shows.is_empty(),
                "{}: nothing can be checked of `{}`",
                duel.id,
                side.label
            );
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
        let [first, second] = played(duel);
        for (label, plays, drill) in [(one, other, second), (other, one, first)] {
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
