//! What if: no change changes nothing, every change keeps the luck of all the rest, and gains are exact.

use smirch::analysis::{Edit, Target, alternatives, end_of, what_if, worth};
use smirch::drill::{Action, Drill};

use crate::fixture::{content, setup};

fn played(name: &str, seed: u64) -> (Drill, Vec<Action>) {
    let script = &content().scripts[name];
    let mut drill = Drill::begin(setup(&script.scenario), seed);
    for action in &script.actions {
        if let Err(refusal) = drill.act(action.clone()) {
            panic!("{name}: {refusal}");
        }
    }
    (drill, script.actions.clone())
}

const TARGETS: [Target; 2] = [Target::AnySkin, Target::Mucosa];

#[test]
fn a_change_that_changes_nothing_gives_the_identical_run() {
    for name in content().scripts.keys() {
        let (drill, actions) = played(name, 6);
        let end = end_of(drill.setup(), drill.beginning(), 6, &actions, &TARGETS);
        let end = end.unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(end.digest, drill.books().digest(), "{name}: the attempt itself");
        let same = Edit::Replace(0, vec![actions[0].clone()]);
        let again = what_if(drill.setup(), drill.beginning(), 6, &actions, &same, &TARGETS);
        let again = again.unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(again.end, end, "{name}: the first action replaced by itself");
        assert!(again.left_out.is_empty());
    }
}

#[test]
fn leaving_out_the_face_touch_leaves_the_face_clean_with_the_same_luck() {
    let (drill, actions) = played("classic-tracer/face-touch", 3);
    let touch = actions
        .iter()
        .position(|a| matches!(a, Action::Touch { .. }))
        .unwrap_or_else(|| panic!("the script touches the face"));
    let now =
        end_of(drill.setup(), drill.beginning(), 3, &actions, &TARGETS).unwrap_or_else(|e| panic!("{e}"));
    let then = what_if(
        drill.setup(),
        drill.beginning(),
        3,
        &actions,
        &Edit::Remove(touch),
        &TARGETS,
    )
    .unwrap_or_else(|e| panic!("{e}"));
    assert!(
        now.counts[1] > 0 && then.end.counts[1] == 0,
        "{:?} {:?}",
        now,
        then.end
    );
    assert!(then.end.expected[1] < now.expected[1]);
}

#[test]
fn what_becomes_impossible_is_left_out_and_named() {
    let (drill, actions) = played("respiratory-room/uk-agp-good", 3);
    let first = actions
        .iter()
        .position(|a| matches!(a, Action::Do { item: Some(_), .. }))
        .unwrap_or_else(|| panic!("the script takes something off"));
    let then = what_if(
        drill.setup(),
        drill.beginning(),
        3,
        &actions,
        &Edit::Remove(first),
        &TARGETS,
    )
    .unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(then.actions.len() + then.left_out.len() + 1, actions.len());
    assert!(
        then.left_out
            .iter()
            .all(|(i, why)| *i > first && !why.to_string().is_empty())
    );
}

#[test]
fn impossible_changes_say_why() {
    let (drill, actions) = played("respiratory-room/uk-agp-good", 3);
    let try_it = |edit: Edit| what_if(drill.setup(), drill.beginning(), 3, &actions, &edit, &TARGETS);
    let beyond = try_it(Edit::Remove(500)).err().unwrap_or_default();
    assert!(beyond.contains("there is no step 501"), "{beyond}");
    let wash = Action::Clean {
        product: "soap-and-water".into(),
        doses: 1,
        seconds: 40.0,
        skip: vec![],
        // The gown lies over them.
        forearms: true,
    };
    let inside = try_it(Edit::Insert(0, wash)).err().unwrap_or_default();
    assert!(inside.starts_with("that is impossible there"), "{inside}");
}

#[test]
fn every_alternative_is_possible_and_gains_are_those_of_the_expectation() {
    for name in [
        "respiratory-room/hurried",
        "enteric-bay/apron-by-front",
        "double-gloves/no-rub",
    ] {
        let (drill, actions) = played(name, 2);
        let (setup, beginning) = (drill.setup(), drill.beginning());
        let faults = &beginning.state.faults;
        for i in 0..actions.len() {
            for edit in alternatives(setup, faults, &actions, i) {
                let then = what_if(setup, beginning, 2, &actions, &edit, &TARGETS);
                let then = then.unwrap_or_else(|e| panic!("{name}: {edit:?}: {e}"));
                assert!(
                    then.left_out.is_empty(),
                    "{name}: {edit:?} makes {:?} impossible",
                    then.left_out
                );
            }
        }
        let now = end_of(setup, beginning, 2, &actions, &[Target::AnySkin]).unwrap_or_else(|e| panic!("{e}"));
        let list = worth(setup, beginning, &actions, Target::AnySkin);
        assert!(!list.is_empty(), "{name}: nothing could be better");
        assert!(
            list.windows(2).all(|w| w[0].fewer >= w[1].fewer),
            "{name}: not in order"
        );
        for w in list.iter().take(5) {
            let then = what_if(setup, beginning, 2, &actions, &w.edit, &[Target::AnySkin]);
            let then = then.unwrap_or_else(|e| panic!("{name}: {e}"));
            let gain = now.expected[0] - then.end.expected[0];
            assert!(
                (gain - w.fewer).abs() <= 1e-9 * now.expected[0],
                "{name}: {} beside {gain}",
                w.fewer
            );
        }
    }
}
