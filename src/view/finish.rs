//! What is still to be done when somebody wants to finish: kit that is not in the bin, and hands.

use crate::drill::{Action, Drill};
use crate::guidance::{Order, align};
use crate::model::{Asked, Holding, Sequence, Side, Whereabouts};

use super::words::{list, standing};

/// What is left to do, a sentence for each; empty if nothing is.
pub fn left_to_do(drill: &Drill, sequence: &Sequence, assessed: bool) -> Vec<String> {
    let mut left = kit(drill);
    // Whoever is assessed is not told what the sequence asks.
    if !assessed && hands_are_due(drill, sequence) {
        left.push("Your hands are to be cleaned yet".to_owned());
    }
    left
}

fn kit(drill: &Drill) -> Vec<String> {
    let (setup, state) = (drill.setup(), drill.state());
    let named = |pick: &dyn Fn(Holding) -> bool| -> Vec<String> {
        (0..setup.items.len())
            .filter(|&i| pick(state.items[i].holding))
            .map(|i| format!("the {}", setup.items[i].label))
            .collect()
    };
    let mut left = Vec::new();
    let mut worn = named(&|h| h == Holding::Worn);
    worn.reverse();
    if !worn.is_empty() {
        left.push(format!("You still wear {}", list(&worn)));
    }
    let hanging = named(&|h| h == Holding::Dangling);
    if !hanging.is_empty() {
        left.push(format!("At your neck hangs {}", list(&hanging)));
    }
    for side in Side::BOTH {
        // What both hands hold is told once.
        let held = named(&|h| match (h, side) {
            (Holding::Held { left, .. }, Side::Left) => left,
            (Holding::Held { left, right }, Side::Right) => right && !left,
            _ => false,
        });
        if !held.is_empty() {
            left.push(format!("Your {} hand still holds {}", side.word(), list(&held)));
        }
    }
    for at in Whereabouts::ALL {
        let fallen = named(&|h| h == Holding::Floor(at));
        if !fallen.is_empty() {
            left.push(format!("Left on the floor {}: {}", standing(at), list(&fallen)));
        }
    }
    left
}

/// True if hands have done something since they were last cleaned, or if a cleaning is the next thing asked.
fn hands_are_due(drill: &Drill, sequence: &Sequence) -> bool {
    let done = drill.done();
    let last = |is: &dyn Fn(&Action) -> bool| done.iter().rposition(|d| is(&d.action));
    let cleaned = last(&|a| matches!(a, Action::Clean { .. }));
    let used = last(&|a| matches!(a, Action::Do { .. } | Action::Touch { .. }));
    let asked = align(drill, sequence)
        .iter()
        .find(|m| m.order == Order::Missed)
        .is_some_and(|m| matches!(sequence.steps[m.step].asked, Asked::Clean { .. }));
    used > cleaned || asked
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::{drill, play};
    use super::*;

    fn left(drill: &Drill) -> Vec<String> {
        let setup = drill.setup();
        let sequence = setup.library.sequence(&setup.scenario.sequence);
        left_to_do(drill, sequence.expect("a built-in sequence"), false)
    }

    #[test]
    fn a_drill_that_has_just_begun_has_all_kit_left() {
        let left = left(&drill("classic-tracer"));
        assert!(
            left.first()
                .is_some_and(|l| l.starts_with("You still wear the ") && l.contains("gown")),
            "{left:?}"
        );
    }

    #[test]
    fn hands_are_due_after_the_last_thing_they_did() {
        let mut drill = play("classic-tracer/uk-agp-good", 5);
        assert_eq!(
            left(&drill),
            Vec::<String>::new(),
            "a good attempt leaves nothing"
        );
        drill
            .act(super::super::touch(
                &drill,
                Side::Left,
                drill.setup().site("phone").expect("a phone"),
            ))
            .expect("the phone is at hand");
        assert_eq!(left(&drill), ["Your hands are to be cleaned yet"]);
    }

    #[test]
    fn what_lies_on_the_floor_or_is_held_is_told() {
        let mut drill = drill("classic-tracer");
        for (technique, item) in [
            ("glove-pinch-peel", Some("left-glove")),
            ("drop-on-floor", None),
            ("glove-slide-under", Some("right-glove")),
        ] {
            drill
                .act(Action::Do {
                    technique: technique.into(),
                    item: item.map(str::to_owned),
                    hand: if item.is_none() {
                        Some(crate::model::Hands::Right)
                    } else {
                        None
                    },
                    pace: crate::model::Pace::Steady,
                })
                .unwrap_or_else(|e| panic!("{technique}: {e}"));
        }
        let left = left(&drill);
        for told in ["Your left hand still holds the right glove", "Left on the floor"] {
            assert!(
                left.iter().any(|l| l.contains(told)),
                "`{told}` is missing from {left:?}"
            );
        }
    }
}
