//! Whoever tries again does the same once more, even after a program that was killed in the middle of the first go.

use std::sync::{Arc, Mutex};

use smirch::drill::Drill;
use smirch::record::{Purpose, Terms};
use smirch::view::settings::Use;
use smirch::view::{Command, Desk, LogWatch, Page, Watch};

use crate::fixture::{Scratch, content};

/// Remembers under which terms attempts began.
#[derive(Clone, Default)]
struct Began(Arc<Mutex<Vec<(String, Terms)>>>);

impl Watch for Began {
    fn began(&mut self, drill: &Drill, terms: &Terms) {
        let id = drill.setup().scenario.id.clone();
        self.0.lock().expect("nobody panicked").push((id, terms.clone()));
    }
    fn acted(&mut self, _: &Drill) {}
    fn ended(&mut self, _: &Drill) {}
}

fn desk(scratch: &Scratch, began: &Began) -> Desk {
    let mut desk = Desk::new(content().clone(), || 7);
    let logs = scratch.path("logs");
    std::fs::create_dir_all(&logs).expect("it can be made");
    desk.recorded_in(logs.clone());
    desk.watched_by(Box::new(LogWatch::new(logs, content().clone(), None, |told| {
        panic!("{told}")
    })));
    desk.watched_by(Box::new(began.clone()));
    desk
}

#[test]
fn whoever_tries_again_is_the_same_person_at_the_same_thing() {
    for (purpose, wanted) in [
        (Use::Practise, Purpose::Practice),
        (Use::AsSet, Purpose::Practice),
    ] {
        let (scratch, began) = (Scratch::new("again"), Began::default());
        {
            let mut desk = desk(&scratch, &began);
            let scenarios = &content().library.scenarios;
            let at = scenarios.iter().position(|s| s.id == "respiratory-room");
            desk.apply(Command::Scenario(at.expect("built in")));
            desk.apply(Command::Sequence(1));
            desk.apply(Command::Purpose(purpose));
            desk.apply(Command::Code("k7".to_owned()));
            desk.apply(Command::Begin);
            if desk.page() == Page::Replay {
                desk.apply(Command::Begin);
            }
            desk.apply(Command::Wait);
        }
        let first = began.0.lock().expect("nobody panicked")[0].clone();
        let mut desk = desk(&scratch, &began);
        let left = desk.start_view().unfinished.and_then(|row| row.path);
        desk.apply(Command::TakeUp(left.expect("it was left")));
        assert_eq!(desk.page(), Page::Drill);
        desk.apply(Command::FinishAnyway);
        assert_eq!(desk.page(), Page::Debrief);
        desk.apply(Command::Again);
        let all = began.0.lock().expect("nobody panicked").clone();
        let (scenario, terms) = all.last().expect("it began");
        assert_eq!(all.len(), 2, "{purpose:?}");
        assert_eq!((scenario, &terms.sequence), (&first.0, &first.1.sequence));
        assert_eq!(terms.person, first.1.person);
        assert_eq!(terms.purpose, wanted);
        assert_eq!(terms.rung.is_some(), purpose == Use::Practise, "{purpose:?}");
    }
}
