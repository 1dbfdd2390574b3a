//! The last action can be taken back, and then nothing of it is left.

use smirch::drill::Drill;

use crate::fixture::{script, setup};

#[test]
fn what_is_taken_back_leaves_the_drill_as_it_was_and_comes_out_the_same_when_done_again() {
    for name in ["classic-tracer/face-touch", "double-gloves/practice-order-good"] {
        let script = script(name);
        let mut drill = Drill::begin(setup(&script.scenario), 11);
        assert_eq!(drill.take_back(), None, "{name}: nothing was done yet");
        for action in &script.actions {
            let (state, books) = (drill.state().clone(), drill.books().digest());
            drill.act(action.clone()).expect("a built-in script plays");
            let after = drill.books().digest();
            assert_eq!(drill.take_back().as_ref(), Some(action));
            assert_eq!(
                *drill.state(),
                state,
                "{name}: {action:?} leaves something behind"
            );
            assert_eq!(
                drill.books().digest(),
                books,
                "{name}: {action:?} leaves counts behind"
            );
            drill
                .act(action.clone())
                .expect("what was possible is possible again");
            assert_eq!(
                drill.books().digest(),
                after,
                "{name}: {action:?} comes out another way when done again"
            );
        }
    }
}
