//! The clock of a drill is exact: what a log says of it is what is played again.

use proptest::prelude::*;
use smirch::drill::{Action, Drill};
use smirch::record::LogWriter;

use crate::fixture::{Scratch, clean, content, play, setup};
use crate::logs::{play_bytes, terms};

const SCENARIO: &str = "classic-tracer";

#[test]
fn tenths_of_a_second_add_up_to_tenths_of_a_second() {
    let drill = play(SCENARIO, &[Action::Wait(1.3), Action::Wait(0.1)], 1);
    assert_eq!(drill.state().clock.to_string(), "1.4");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Waits and rubs of so many tenths of a second.
    #[test]
    fn any_waits_and_rubs_play_again(acts in prop::collection::vec((any::<bool>(), 1_u32..=600), 1..12)) {
        let mut drill = Drill::begin(setup(SCENARIO), 1);
        let scratch = Scratch::new("clock");
        let path = scratch.path("clock.log");
        let mut log = LogWriter::create(&path, content(), &drill, &terms(&drill)).expect("a new log");
        let mut tenths = 0;
        for (rub, length) in acts {
            let seconds = f64::from(length) / 10.0;
            let action = if rub { clean("alcohol-rub", seconds) } else { Action::Wait(seconds) };
            drill.act(action).expect("waits and rubs are possible at the start");
            log.catch_up(&drill).expect("written");
            tenths += length;
            prop_assert_eq!(drill.state().clock, f64::from(tenths) / 10.0, "the clock after {} tenths", tenths);
        }
        log.end(&drill).expect("ended");
        let bytes = std::fs::read(&path).expect("the log");
        let replay = play_bytes(&scratch, bytes).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(replay.drill.state().clock, drill.state().clock);
    }
}
