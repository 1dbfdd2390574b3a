//! The desk and its commands.

use super::*;
use crate::drill::Action;
use crate::model::{Pace, Side};

fn content() -> Content {
    Content::builtin().unwrap_or_else(|e| panic!("the built-in content is sound: {e}"))
}

/// A fresh drill of a built-in scenario.
pub fn drill(scenario: &str) -> Drill {
    let library = content().library;
    let scenario = library.scenario(scenario).expect("a built-in scenario");
    let setup = Setup::new(library.clone(), scenario).expect("a built-in scenario sets up");
    Drill::begin(Arc::new(setup), 42)
}

/// A built-in script played to its end.
pub fn play(script: &str, seed: u64) -> Drill {
    let content = content();
    let script = content.scripts.get(script).expect("a built-in script");
    let library = content.library.clone();
    let scenario = library.scenario(&script.scenario).expect("a built-in scenario");
    let setup = Setup::new(library.clone(), scenario).expect("a built-in scenario sets up");
    let mut drill = Drill::begin(Arc::new(setup), seed);
    for action in &script.actions {
        drill
            .act(action.clone())
            .unwrap_or_else(|refusal| panic!("{action:?}: {refusal}"));
    }
    drill
}

fn desk() -> Desk {
    let mut desk = Desk::new(content(), || 42);
    desk.apply(Command::Begin);
    assert_eq!(desk.page(), Page::Drill);
    desk
}

#[test]
fn an_option_is_done_at_the_pace_asked_for() {
    for pace in [Pace::Steady, Pace::Hurried] {
        let mut desk = desk();
        let site = desk
            .drill()
            .and_then(|d| d.setup().site("left-glove-cuff"))
            .expect("gloves");
        desk.apply(Command::Choose(site));
        desk.apply(Command::Option(0, pace));
        let done = desk.drill().and_then(|d| d.done().last()).expect("it was done");
        assert!(
            matches!(done.action, Action::Do { pace: p, .. } if p == pace),
            "{done:?}"
        );
    }
}

#[test]
fn a_refusal_is_a_sentence_and_changes_nothing() {
    let mut desk = desk();
    desk.apply(Command::Wash);
    let view = desk.drill_view().expect("a drill");
    assert!(view.rub.is_none());
    let refusal = view.refusal.expect("there is no tap inside");
    assert!(
        refusal.starts_with("There is no soap and water here"),
        "{refusal}"
    );
    assert!(desk.drill().is_some_and(|d| d.done().is_empty()));
}

#[test]
fn a_rub_let_go_early_is_as_long_as_it_was_held() {
    let mut desk = desk();
    desk.apply(Command::Rub);
    desk.apply(Command::Doses(1));
    for _ in 0..7 {
        desk.apply(Command::RubFor(1.0));
    }
    desk.apply(Command::RubDone);
    let done = desk.drill().and_then(|d| d.done().last()).expect("it was done");
    assert_eq!(
        done.action,
        Action::Clean {
            product: "alcohol-rub".into(),
            doses: 1,
            seconds: 7.0,
            skip: vec![]
        }
    );
}

#[test]
fn the_lamp_obeys_the_way_it_was_set() {
    for (lamp, switched, peeked) in [
        (LampUse::On, false, true),
        (LampUse::Peek, false, true),
        (LampUse::UntilTheEnd, false, false),
    ] {
        let mut desk = Desk::new(content(), || 1);
        desk.apply(Command::Lamp(lamp));
        desk.apply(Command::Begin);
        assert_eq!(desk.lamp(), lamp == LampUse::On);
        desk.apply(Command::Peek(true));
        assert_eq!(desk.lamp(), peeked, "{lamp:?} peeked");
        desk.apply(Command::Peek(false));
        desk.apply(Command::LampSwitch);
        assert_eq!(desk.lamp(), switched, "{lamp:?} switched");
    }
}

#[test]
fn what_happens_waits_for_an_answer_by_a_hand_or_none() {
    let mut desk = desk();
    for _ in 0..4 {
        desk.apply(Command::Wait);
    }
    let prompt = desk
        .drill_view()
        .and_then(|v| v.prompt)
        .expect("20 seconds have passed");
    assert_eq!(prompt.say, "Your cheek itches");
    desk.apply(Command::Answer(Side::Left));
    assert!(desk.drill_view().is_some_and(|v| v.prompt.is_none()));
    let done = desk.drill().and_then(|d| d.done().last()).expect("it was done");
    assert!(
        matches!(done.action, Action::Touch { hand: Side::Left, .. }),
        "{done:?}"
    );
}

#[test]
fn a_watcher_hears_of_every_step() {
    #[derive(Default)]
    struct Count(Arc<std::sync::Mutex<(u32, u32, u32)>>);
    impl Watch for Count {
        fn began(&mut self, _: &Drill, _: &Terms) {
            self.0.lock().expect("no panic elsewhere").0 += 1;
        }
        fn acted(&mut self, _: &Drill) {
            self.0.lock().expect("no panic elsewhere").1 += 1;
        }
        fn ended(&mut self, _: &Drill) {
            self.0.lock().expect("no panic elsewhere").2 += 1;
        }
    }
    let count = Count::default();
    let seen = count.0.clone();
    let mut desk = Desk::new(content(), || 1);
    desk.watched_by(Box::new(count));
    for command in [Command::Begin, Command::GoOn, Command::Wait, Command::Finish] {
        desk.apply(command);
    }
    assert_eq!(*seen.lock().expect("no panic elsewhere"), (1, 2, 1));
}

#[test]
fn a_seed_that_is_no_number_says_so_and_starts_nothing() {
    let mut desk = Desk::new(content(), || 1);
    desk.apply(Command::Seed("lucky".into()));
    desk.apply(Command::Begin);
    assert_eq!(desk.page(), Page::Start);
    assert!(desk.start_view().refusal.is_some_and(|r| r.contains("lucky")));
}

#[test]
fn text_grows_and_shrinks_by_steps_within_bounds() {
    let mut desk = Desk::new(content(), || 1);
    let mut sizes = Vec::new();
    for command in std::iter::repeat_n(Command::Larger, 5).chain(std::iter::repeat_n(Command::Smaller, 6)) {
        desk.apply(command);
        sizes.push(desk.settings().text_scale);
    }
    assert_eq!(sizes, [125, 150, 175, 200, 200, 175, 150, 125, 100, 100, 100]);
}
