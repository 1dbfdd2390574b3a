//! The desk and its commands.

use std::sync::Arc;

use super::super::settings::{LampUse, Use};
use super::super::sheet::SheetCommand;
use super::*;
use crate::drill::Action;
use crate::model::{Pace, Setup, Side};
use crate::register::Verdict;

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
        desk.apply(Command::Option(1, pace));
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
    desk.apply(Command::Walk(crate::model::Whereabouts::Doorway));
    desk.apply(Command::Wash);
    let view = desk.drill_view().expect("a drill");
    assert!(view.rub.is_none());
    let refusal = view.refusal.expect("there is no tap in the doorway");
    assert!(
        refusal.starts_with("There is no soap and water here"),
        "{refusal}"
    );
    assert_eq!(
        desk.drill().map(|d| d.done().len()),
        Some(1),
        "only the walk was done"
    );
}

#[test]
fn forearms_are_part_of_a_wash_where_they_are_bare() {
    let mut desk = desk();
    desk.apply(Command::Wash);
    let rub = desk
        .drill_view()
        .and_then(|v| v.rub)
        .expect("there is a basin inside");
    assert_eq!(rub.forearms, None, "the gown lies over them");

    let mut desk = Desk::new(content(), || 42);
    let bay = content()
        .library
        .scenarios
        .iter()
        .position(|s| s.id == "enteric-bay");
    desk.apply(Command::Scenario(bay.expect("a built-in scenario")));
    desk.apply(Command::Begin);
    desk.apply(Command::Wash);
    desk.apply(Command::Forearms(true));
    let view = |desk: &Desk| desk.drill_view().and_then(|v| v.rub).expect("under way");
    assert_eq!(
        (view(&desk).asked, view(&desk).forearms),
        (30.0, Some((true, 0.0)))
    );
    desk.apply(Command::RubFor(15.0));
    let half = view(&desk);
    assert_eq!(half.forearms, Some((true, 1.0)), "they come first");
    assert!(
        half.zones[0].1 == 1.0 && half.zones[5].1 == 0.0,
        "{:?}",
        half.zones
    );
    // What has begun is not begun again in another way.
    desk.apply(Command::Forearms(false));
    desk.apply(Command::RubDone);
    let done = desk.drill().and_then(|d| d.done().last()).expect("it was done");
    assert!(
        matches!(done.action, Action::Clean { forearms: true, seconds, .. } if seconds == 15.0),
        "{:?}",
        done.action
    );
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
            skip: vec![],
            forearms: false,
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
    for command in [
        Command::Begin,
        Command::GoOn,
        Command::Wait,
        Command::Finish,
        Command::FinishAnyway,
    ] {
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

/// The option with these words at a site that is chosen for it.
fn press(desk: &mut Desk, site: &str, words: &str) {
    let index = desk
        .drill()
        .and_then(|d| d.setup().site(site))
        .unwrap_or_else(|| panic!("there is no `{site}`"));
    desk.apply(Command::Choose(index));
    press_here(desk, words);
}

/// The same at what is chosen already.
fn press_here(desk: &mut Desk, words: &str) {
    let chosen = desk
        .drill_view()
        .and_then(|v| v.chosen)
        .expect("something is chosen");
    let choice = chosen.choices.iter().find(|c| c.label.contains(words));
    let choice = choice.unwrap_or_else(|| panic!("no `{words}` among {:#?}", chosen.choices));
    let pace = desk.drill_view().expect("a drill").pace;
    desk.apply(Command::Option(choice.number, pace));
}

fn chosen(desk: &Desk) -> String {
    desk.drill_view()
        .and_then(|v| v.chosen)
        .map_or_else(|| "nothing".to_owned(), |c| c.label)
}

/// Both gloves off and in the bin.
fn without_gloves() -> Desk {
    let mut desk = desk();
    press(&mut desk, "left-glove-cuff", "Take up a fold");
    press(&mut desk, "right-glove-cuff", "Ease two fingers in");
    press_here(&mut desk, "with the pedal");
    assert_eq!(chosen(&desk), "nothing", "nothing is left in a hand");
    desk
}

#[test]
fn a_hurry_is_asked_for_and_holds_for_one_step() {
    let mut desk = desk();
    desk.apply(Command::Hurry);
    assert_eq!(desk.drill_view().map(|v| v.pace), Some(Pace::Hurried));
    press(&mut desk, "left-glove-cuff", "Take up a fold");
    press_here(&mut desk, "with the pedal");
    let paces: Vec<Pace> = desk
        .drill()
        .expect("a drill")
        .done()
        .iter()
        .filter_map(|d| match d.action {
            Action::Do { pace, .. } => Some(pace),
            _ => None,
        })
        .collect();
    assert_eq!(paces, [Pace::Hurried, Pace::Steady]);
}

#[test]
fn after_a_step_the_next_part_is_chosen() {
    let mut desk = without_gloves();
    press(&mut desk, "gown-neck-tie", "Undo the neck tie");
    assert_eq!(chosen(&desk), "Gown, waist tie", "after the neck tie");
    press_here(&mut desk, "Undo the waist tie");
    press_here(&mut desk, "roll it inside out");
    press_here(&mut desk, "with the pedal");
    press(&mut desk, "goggles-strap", "strap at the back");
    press_here(&mut desk, "with the pedal");
    press(&mut desk, "respirator-front", "bottom strap");
    assert!(
        chosen(&desk).contains("top strap"),
        "after the bottom strap the {} is chosen",
        chosen(&desk)
    );
    press_here(&mut desk, "top strap forward");
    assert!(
        chosen(&desk).contains("espirator"),
        "what is in the hand is chosen"
    );
}

#[test]
fn a_refused_choice_leads_to_what_it_waits_for_and_does_nothing() {
    let mut desk = without_gloves();
    let many = desk.drill().map(|d| d.done().len());
    press(&mut desk, "gown-left-shoulder", "roll it inside out");
    assert_eq!(chosen(&desk), "Gown, neck tie");
    assert_eq!(desk.drill().map(|d| d.done().len()), many, "nothing was done");
}

#[test]
fn the_last_step_is_taken_back_with_what_it_dealt_with_but_not_in_an_assessment() {
    let mut desk = without_gloves();
    for _ in 0..4 {
        desk.apply(Command::Wait);
    }
    let (books, clock) = {
        let drill = desk.drill().expect("a drill");
        (drill.books().digest(), drill.state().clock)
    };
    let asked = desk.drill_view().and_then(|v| v.prompt);
    assert!(asked.is_some(), "something happens by now");
    desk.apply(Command::Answer(Side::Right));
    assert!(
        desk.drill_view().is_some_and(|v| v.prompt.is_none()),
        "it was answered"
    );
    desk.apply(Command::TakeBack);
    let drill = desk.drill().expect("a drill");
    assert_eq!((drill.books().digest(), drill.state().clock), (books, clock));
    let view = desk.drill_view().expect("a drill");
    assert_eq!(view.prompt, asked, "and it happens still");
    assert!(view.last.is_some_and(|l| l.starts_with("Taken back: ")));

    let mut assessed = Desk::new(content(), || 42);
    assessed.apply(Command::Lamp(LampUse::UntilTheEnd));
    assessed.apply(Command::Begin);
    press(&mut assessed, "left-glove-cuff", "Take up a fold");
    assert_eq!(assessed.drill_view().map(|v| v.takes_back), Some(false));
    assessed.apply(Command::TakeBack);
    assert_eq!(assessed.drill().map(|d| d.done().len()), Some(1));
    assert!(
        assessed
            .drill_view()
            .and_then(|v| v.refusal)
            .is_some_and(|r| r.contains("assessment"))
    );
}

#[test]
fn finishing_is_asked_while_something_is_left_and_no_second_press_answers_it() {
    let mut desk = desk();
    for _ in 0..3 {
        desk.apply(Command::Finish);
        assert_eq!(desk.page(), Page::Drill, "kit is still on");
    }
    let left = desk.drill_view().and_then(|v| v.finishing).expect("it is asked");
    assert!(left[0].starts_with("You still wear"), "{left:?}");
    desk.apply(Command::Unchoose);
    assert_eq!(desk.drill_view().and_then(|v| v.finishing), None);
    desk.apply(Command::Finish);
    desk.apply(Command::FinishAnyway);
    assert_eq!(desk.page(), Page::Debrief);
}

#[test]
fn a_rub_runs_on_the_clock_and_is_seen_while_it_is_held() {
    let mut desk = desk();
    desk.moved_by_a_scene();
    desk.apply(Command::Rub);
    desk.take_effects();
    desk.apply(Command::RubFor(0.5));
    assert_eq!(desk.take_effects(), [Effect::Rub("alcohol-rub".into())]);
    desk.apply(Command::RubFor(4.0));
    assert_eq!(desk.take_effects(), [], "it goes on");
    assert_eq!(desk.drill_view().map(|v| v.clock).as_deref(), Some("00:04"));
    desk.apply(Command::RubDone);
    assert_eq!(desk.take_effects(), [Effect::RubOver], "it is not seen twice");
    assert_eq!(desk.drill_view().map(|v| v.clock).as_deref(), Some("00:04"));
}

#[test]
fn counts_change_when_the_hands_have_been_seen_to_move() {
    let mut desk = Desk::new(content(), || 42);
    desk.moved_by_a_scene();
    desk.apply(Command::Lamp(LampUse::On));
    desk.apply(Command::Begin);
    let rows = |desk: &Desk| desk.drill_view().and_then(|v| v.now);
    let start = rows(&desk);
    press(&mut desk, "gown-chest", "Just touch it");
    assert_eq!(rows(&desk), start, "the hand is on its way");
    desk.apply(Command::Seen);
    let after = rows(&desk);
    assert_ne!(after, start);
    desk.apply(Command::Finish);
    desk.apply(Command::FinishAnyway);
    desk.apply(Command::Replay);
    let seen = |desk: &Desk| desk.replay_view().and_then(|v| v.now);
    assert_eq!(seen(&desk), start);
    desk.apply(Command::StepOn);
    assert_eq!(seen(&desk), start, "the hand is on its way");
    desk.apply(Command::Seen);
    assert_eq!(seen(&desk), after);
}

#[test]
fn what_was_chosen_in_a_drill_is_not_lit_in_what_is_looked_back_on() {
    let mut desk = desk();
    let site = desk.drill().and_then(|d| d.setup().site("respirator-front"));
    let site = site.expect("a respirator is worn");
    desk.apply(Command::Choose(site));
    assert_eq!(desk.chosen(), Some(site));
    for command in [Command::Finish, Command::FinishAnyway, Command::Replay] {
        desk.apply(command);
    }
    assert_eq!(desk.page(), Page::Replay);
    assert_eq!(desk.chosen(), None);
}

/// Whoever is assessed is told neither how long to rub nor what comes first.
#[test]
fn nothing_on_the_screen_helps_whoever_is_assessed() {
    for (purpose, told) in [(Use::AsSet, true), (Use::Assess, false)] {
        let mut desk = Desk::new(content(), || 42);
        desk.apply(Command::Purpose(purpose));
        desk.apply(Command::Begin);
        desk.apply(Command::Rub);
        let view = desk.drill_view().expect("a drill");
        let rub = view.rub.expect("the rub is set up");
        assert_eq!(rub.untold, !told, "{purpose:?}");
        assert_eq!(rub.title, "Rub your gloves", "both are still gloved");
        assert_eq!(view.sequence.is_some(), told, "{purpose:?}");
    }
}

/// What could not be kept where it should be is not said to be kept there.
#[test]
fn the_debrief_does_not_say_that_something_is_kept_which_is_not() {
    let mut desk = Desk::new(content(), || 42);
    desk.kept_in("/a/register".into());
    desk.apply(Command::Begin);
    desk.apply(Command::Wait);
    desk.apply(Command::FinishAnyway);
    let kept = |desk: &Desk| {
        desk.debrief_view()
            .and_then(|view| view.kept)
            .expect("it is said")
    };
    assert!(kept(&desk).starts_with("The result is kept"));
    desk.apply(Command::Trouble("the register cannot be written now".to_owned()));
    assert_eq!(kept(&desk), "The register cannot be written now");
    desk.apply(Command::Again);
    desk.apply(Command::FinishAnyway);
    assert!(kept(&desk).starts_with("Nothing was done"), "another attempt");
}

/// Whoever looks where results go is told under which name.
#[test]
fn the_first_page_says_where_results_go_and_what_the_station_is_called() {
    let mut desk = Desk::new(content(), || 42);
    assert_eq!(desk.start_view().kept, None);
    desk.kept_in("/a/register".into());
    assert_eq!(desk.start_view().kept.as_deref(), Some("/a/register"));
    desk.called("Room 4".to_owned());
    assert_eq!(
        desk.start_view().kept.as_deref(),
        Some("/a/register, with the name of this station (Room 4)")
    );
}

/// A way that the sequence does not ask for is told beside the step, on the assessor's page and in the debrief.
#[test]
fn a_step_done_another_way_is_not_simply_called_done() {
    let mut desk = Desk::new(content(), || 42);
    desk.apply(Command::Purpose(Use::Assess));
    desk.apply(Command::Begin);
    let pull = |desk: &mut Desk, site: &str| {
        let at = desk.drill().and_then(|d| d.setup().site(site));
        desk.apply(Command::Choose(at.expect("gloves are worn")));
        let chosen = desk.drill_view().and_then(|v| v.chosen);
        let choices = chosen.expect("it is chosen").choices;
        let pulled = choices.iter().find(|c| c.label.contains("by the fingertips"));
        let number = pulled.unwrap_or_else(|| panic!("{choices:?}")).number;
        desk.apply(Command::Option(number, Pace::Steady));
    };
    pull(&mut desk, "left-glove-fingertips");
    pull(&mut desk, "right-glove-fingertips");
    desk.apply(Command::FinishAnyway);
    let view = desk.sheet_view().expect("the assessor's page");
    assert!(
        view.steps[0].found.starts_with("Done another way, 00:"),
        "{:?}",
        view.steps[0]
    );
    assert_eq!(view.steps[0].verdict, Verdict::NotMet);
    desk.apply(Command::Sheet(SheetCommand::LookBack));
    desk.apply(Command::Tab(Tab::Steps));
    let debrief = desk.debrief_view().expect("it is looked back on");
    assert_eq!(debrief.steps[0].verdict, "done another way");
}

/// The assessor reads what was done, how, and why marks are lost by it.
#[test]
fn the_assessor_reads_what_was_done_and_what_was_lacking() {
    let mut desk = Desk::new(content(), || 42);
    desk.apply(Command::Purpose(Use::Assess));
    desk.apply(Command::Begin);
    let cuff = desk.drill().and_then(|d| d.setup().site("left-glove-cuff"));
    desk.apply(Command::Choose(cuff.expect("gloves are worn")));
    desk.apply(Command::Option(1, Pace::Hurried));
    desk.apply(Command::FinishAnyway);
    let view = desk.sheet_view().expect("the assessor's page");
    let [gloves, goggles, ..] = &view.steps[..] else {
        panic!("{:?}", view.steps)
    };
    assert_eq!(
        gloves.did,
        ["Left glove: take up a fold at the cuff and turn the glove inside out, in a hurry"]
    );
    let lacking = |words: &str| gloves.why.iter().any(|why| why.contains(words));
    assert!(
        lacking("right glove still on") && lacking("not put in the bin"),
        "{:?}",
        gloves.why
    );
    assert!(goggles.did.is_empty() && goggles.why.is_empty(), "{goggles:?}");
}

/// What was felt at a check stands where what was done last stands, and how it was in truth is told once all is over.
#[test]
fn what_is_felt_is_told() {
    let mut desk = Desk::new(content(), || 42);
    let door = content()
        .library
        .scenarios
        .iter()
        .position(|s| s.id == "from-the-door");
    desk.apply(Command::Scenario(door.expect("a built-in scenario")));
    desk.apply(Command::Begin);
    let did = |desk: &mut Desk, way: &str| {
        let drill = desk.drill().expect("a drill");
        let item = drill.setup().item("respirator").expect("it lies ready");
        let site = crate::view::handles::face_site(drill, item).expect("it has a face");
        let choices = crate::view::options(drill, site, Side::Right);
        let choice = choices.iter().find(|c| c.label.starts_with(way));
        let number = choice.unwrap_or_else(|| panic!("{way}: {choices:#?}")).number;
        desk.apply(Command::Choose(site));
        desk.apply(Command::Option(number, Pace::Steady));
        desk.drill_view()
            .and_then(|v| v.last)
            .expect("something was done")
    };
    assert!(did(&mut desk, "Both straps crossed").starts_with("Last: "));
    let told = did(&mut desk, "Lay both palms");
    let felt = desk.drill().and_then(|d| d.done().last()?.felt.first().cloned());
    let felt = felt.expect("it is a check");
    assert!(felt.there);
    assert_eq!(told, format!("Felt: {}", felt.words));
    assert!(did(&mut desk, "Lift both straps").starts_with("Last: "));
    desk.apply(Command::Finish);
    desk.apply(Command::FinishAnyway);
    let debrief = desk.debrief_view().expect("it is over");
    let row = debrief
        .steps
        .iter()
        .find(|row| row.ask.starts_with("Check the seal"));
    let notes = &row.expect("it is asked for").notes;
    let told = crate::view::words::sentence(&crate::report::felt_in_truth(&felt));
    assert!(notes.contains(&told), "{notes:?}");
}
