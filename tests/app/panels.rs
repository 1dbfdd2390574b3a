//! The panels as people without a pointer or a screen meet them: by name, by key, by size of type.

use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use smirch::content::Content;
use smirch::drill::Action;
use smirch::model::Pace;
use smirch::panels::{self, FromScene, Screen, egui_key};
use smirch::record::{LogWriter, Terms};
use smirch::view::class::Stage;
use smirch::view::command::ENTRIES;
use smirch::view::settings::Use;
use smirch::view::{Command, Desk, LampUse, Page, Tab};

use bevy_egui::egui;

/// Seconds per frame in these tests.
const FRAME: f32 = 0.1;

pub fn desk() -> Desk {
    let content =
        Content::builtin().unwrap_or_else(|faults| panic!("the built-in content is sound: {faults}"));
    Desk::new(content, || 7)
}

pub fn window<'a>(desk: Desk, size: [f32; 2]) -> Harness<'a, Desk> {
    Harness::builder()
        .with_size(size)
        .with_step_dt(FRAME)
        .with_max_steps(8)
        .build_ui_state(
            |ui, desk: &mut Desk| {
                let screen = Screen::of(desk);
                let mut asked = Vec::new();
                panels::show(ui, &screen, &FromScene::default(), &mut asked);
                for command in asked {
                    desk.apply(command);
                }
            },
            desk,
        )
}

pub fn press(harness: &mut Harness<'_, Desk>, key: egui::Key) {
    harness.key_press(key);
    harness.run_steps(2);
}

/// Goes on with Tab from list to list, and through each with the arrows, until the widget of this name has the focus.
pub fn tab_to(harness: &mut Harness<'_, Desk>, label: &str) {
    let there = |harness: &Harness<'_, Desk>| harness.query_all_by_label(label).any(|node| node.is_focused());
    let focused = |harness: &Harness<'_, Desk>| {
        let all = harness.query_all(egui_kittest::kittest::By::new());
        all.filter(|node| node.is_focused())
            .map(|node| node.accesskit_node().id())
            .next()
    };
    for _ in 0..30 {
        press(harness, egui::Key::Tab);
        press(harness, egui::Key::Home);
        let mut before = None;
        while before != focused(harness) {
            if there(harness) {
                return;
            }
            before = focused(harness);
            press(harness, egui::Key::ArrowDown);
        }
    }
    panic!("neither Tab nor arrows come to `{label}`");
}

/// Holds the pointer's button on a place for so many frames; meanwhile the pointer trembles.
fn hold(harness: &mut Harness<'_, Desk>, at: egui::Pos2, frames: usize) {
    let button = |pos, pressed| egui::Event::PointerButton {
        pos,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: egui::Modifiers::NONE,
    };
    harness.event(egui::Event::PointerMoved(at));
    harness.run_steps(2);
    harness.event(button(at, true));
    let mut now = at;
    for n in 0..frames {
        now = at + egui::vec2(if n % 2 == 0 { 9.0 } else { -9.0 }, 0.0);
        harness.event(egui::Event::PointerMoved(now));
        harness.run_steps(1);
    }
    harness.event(button(now, false));
    harness.run_steps(3);
}

#[test]
fn what_is_held_with_the_pointer_goes_on_for_as_long_as_it_is_held_even_if_the_hand_trembles() {
    let mut harness = window(desk(), [1280.0, 720.0]);
    press(&mut harness, egui::Key::F9);
    let last = |harness: &Harness<'_, Desk>| {
        let done = harness.state().drill().and_then(|d| d.done().last());
        done.map(|done| done.action.clone())
    };

    press(&mut harness, egui::Key::R);
    let ring = harness.get_by_label_contains("Hold to ").rect();
    hold(&mut harness, egui::pos2(ring.left() + 60.0, ring.center().y), 60);
    let rubbed = last(&harness);
    assert!(
        matches!(rubbed, Some(Action::Clean { seconds, .. }) if seconds > 5.0 && seconds < 7.0),
        "held for six seconds, but {rubbed:?}"
    );

    harness.get_by_label("Left glove").click();
    harness.run_steps(3);
    let row = harness.get_by_label_contains("Take up a fold").rect();
    hold(&mut harness, row.center(), 12);
    let peeled = last(&harness);
    assert!(
        matches!(
            peeled,
            Some(Action::Do {
                pace: Pace::Steady,
                ..
            })
        ),
        "held for more than a second, but {peeled:?}"
    );
}

#[test]
fn from_the_first_page_to_the_debrief_by_keyboard_alone() {
    let mut harness = window(desk(), [1280.0, 720.0]);
    press(&mut harness, egui::Key::F9);
    assert_eq!(harness.state().page(), Page::Drill);
    let numbers = [
        egui::Key::Num1,
        egui::Key::Num2,
        egui::Key::Num3,
        egui::Key::Num4,
        egui::Key::Num5,
        egui::Key::Num6,
        egui::Key::Num7,
        egui::Key::Num8,
        egui::Key::Num9,
    ];
    for _ in 0..40 {
        let view = harness.state().drill_view().expect("a drill is open");
        // What is in hand comes first, then whatever is outermost.
        let next = view
            .still_on
            .iter()
            .find(|item| item.place == Some("in hand"))
            .or(view.still_on.first());
        let Some(item) = next else { break };
        let name = match item.place {
            Some(place) => format!("{}, {place}", item.label),
            None => item.label.clone(),
        };
        tab_to(&mut harness, &name);
        press(&mut harness, egui::Key::Enter);
        let view = harness.state().drill_view().expect("a drill is open");
        let chosen = view.chosen.expect("a site was chosen");
        let choice = chosen
            .choices
            .iter()
            .find(|c| c.refused.is_none() && matches!(c.action, Action::Do { .. }))
            .unwrap_or_else(|| {
                panic!(
                    "nothing can be done at the {}: {:#?}",
                    chosen.label, chosen.choices
                )
            });
        // A list that has just changed takes no choice.
        harness.run_steps(4);
        press(&mut harness, numbers[choice.number - 1]);
    }
    let view = harness.state().drill_view().expect("a drill is open");
    assert!(
        view.still_on.is_empty(),
        "not everything came off: {:?}",
        view.still_on
    );

    press(&mut harness, egui::Key::R);
    harness.key_down(egui::Key::Space);
    harness.run_steps(220);
    harness.key_up(egui::Key::Space);
    harness.run_steps(2);
    let done = harness
        .state()
        .drill()
        .and_then(|d| d.done().last())
        .expect("hands were rubbed");
    assert!(
        matches!(done.action, Action::Clean { seconds, .. } if seconds > 20.0 && seconds < 24.0),
        "{:?}",
        done.action
    );

    press(&mut harness, egui::Key::F9);
    if harness.state().page() == Page::Drill {
        // The sequence asks for more cleaning than this.
        tab_to(&mut harness, "Finish all the same");
        press(&mut harness, egui::Key::Enter);
    }
    assert_eq!(harness.state().page(), Page::Debrief);
    harness.get_by_label("Where it ended");
    harness.get_by_label("Next time");
    press(&mut harness, egui::Key::A);
    assert_eq!(harness.state().page(), Page::Drill, "trying again starts anew");
}

/// A drill with the left glove's cuff chosen, and its list ready to be chosen from.
fn at_the_cuff<'a>() -> Harness<'a, Desk> {
    let mut desk = desk();
    desk.apply(Command::Begin);
    let site = desk
        .drill()
        .and_then(|d| d.setup().site("left-glove-cuff"))
        .expect("gloves");
    desk.apply(Command::Choose(site));
    let mut harness = window(desk, [1280.0, 720.0]);
    harness.run_steps(5);
    harness
}

fn done(harness: &Harness<'_, Desk>) -> Vec<Action> {
    let drill = harness.state().drill().expect("a drill is open");
    drill.done().iter().map(|d| d.action.clone()).collect()
}

/// Presses and lets go of the pointer's button, a frame each.
fn click(harness: &mut Harness<'_, Desk>, at: egui::Pos2) {
    harness.hover_at(at);
    for pressed in [true, false] {
        harness.event(egui::Event::PointerButton {
            pos: at,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: egui::Modifiers::NONE,
        });
        harness.run_steps(1);
    }
}

#[test]
fn a_press_is_steady_however_long_it_is_and_hurry_is_asked_for() {
    for (frames, hurry) in [(1, false), (9, false), (1, true)] {
        for by_key in [true, false] {
            let mut harness = at_the_cuff();
            if hurry {
                press(&mut harness, egui::Key::P);
            }
            if by_key {
                harness.key_down(egui::Key::Num1);
                harness.run_steps(frames);
                harness.key_up(egui::Key::Num1);
                harness.run_steps(2);
            } else {
                let row = harness.get_by_label_contains("1 Take up a fold").rect();
                hold(&mut harness, row.center(), frames);
            }
            let done = done(&harness);
            let wanted = if hurry { Pace::Hurried } else { Pace::Steady };
            assert!(
                matches!(done[..], [Action::Do { pace, .. }] if pace == wanted),
                "{frames} frames, hurry {hurry}, key {by_key}: {done:?}"
            );
        }
    }
}

#[test]
fn a_double_click_does_one_thing_whatever_comes_under_the_pointer() {
    let mut harness = at_the_cuff();
    let at = harness.get_by_label_contains("1 Take up a fold").rect().center();
    for _ in 0..2 {
        click(&mut harness, at);
    }
    assert_eq!(done(&harness).len(), 1, "by pointer: {:?}", done(&harness));

    let mut harness = at_the_cuff();
    for _ in 0..2 {
        harness.key_press(egui::Key::Num1);
        harness.run_steps(1);
    }
    assert_eq!(done(&harness).len(), 1, "by key: {:?}", done(&harness));
    harness.run_steps(5);
    press(&mut harness, egui::Key::Num1);
    assert_eq!(done(&harness).len(), 2, "later it is meant");
}

#[test]
fn finishing_by_accident_is_asked_about() {
    let mut harness = window(desk(), [1280.0, 720.0]);
    for _ in 0..4 {
        press(&mut harness, egui::Key::F9);
    }
    assert_eq!(
        harness.state().page(),
        Page::Drill,
        "F9 again and again ends nothing"
    );
    harness.get_by_label("Finish all the same");
    for _ in 0..2 {
        press(&mut harness, egui::Key::Enter);
    }
    assert_eq!(
        harness.state().page(),
        Page::Drill,
        "Enter goes on with the drill"
    );
    assert!(
        harness.query_by_label("Finish all the same").is_none(),
        "the question is answered"
    );
    press(&mut harness, egui::Key::F9);
    press(&mut harness, egui::Key::R);
    assert!(
        harness
            .state()
            .drill_view()
            .is_some_and(|v| v.rub.is_none() && v.finishing.is_some()),
        "a question is answered before anything else is done"
    );
    press(&mut harness, egui::Key::Escape);
    press(&mut harness, egui::Key::F9);
    harness.get_by_label("Finish all the same").click();
    harness.run_steps(3);
    assert_eq!(harness.state().page(), Page::Debrief);
}

#[test]
fn a_step_is_taken_back_by_key_and_not_in_an_assessment() {
    let mut harness = at_the_cuff();
    press(&mut harness, egui::Key::Num1);
    harness.get_by_label("Take back");
    harness.key_press_modifiers(egui::Modifiers::CTRL, egui::Key::Z);
    harness.run_steps(2);
    assert_eq!(done(&harness), [], "it is as if it had not been done");

    let mut assessed = desk();
    assessed.apply(Command::Lamp(LampUse::UntilTheEnd));
    assessed.apply(Command::Begin);
    assessed.apply(Command::Wait);
    let mut harness = window(assessed, [1280.0, 720.0]);
    assert!(harness.query_by_label("Take back").is_none(), "it is not offered");
    harness.key_press_modifiers(egui::Modifiers::CTRL, egui::Key::Z);
    harness.run_steps(2);
    assert_eq!(done(&harness).len(), 1, "what was done stays done");
}

#[test]
fn what_is_refused_can_be_pressed_to_go_to_what_it_waits_for() {
    let mut desk = desk();
    desk.apply(Command::Begin);
    let site = |desk: &Desk, id: &str| desk.drill().and_then(|d| d.setup().site(id)).expect("a site");
    let shoulder = site(&desk, "gown-left-shoulder");
    desk.apply(Command::Choose(shoulder));
    let mut harness = window(desk, [1280.0, 900.0]);
    harness.run_steps(5);
    let row = harness
        .query_all_by_label_contains("roll it inside out, not now, go to: ")
        .next();
    row.expect("the refused way is a button").click();
    harness.run_steps(3);
    let chosen = harness.state().chosen();
    assert_ne!(chosen, Some(shoulder), "it led nowhere");
    assert_eq!(done(&harness), [], "and nothing was done");
}

#[test]
fn a_rub_without_holding_goes_on_while_space_repeats_itself() {
    let mut desk = desk();
    for command in [Command::HandsFree(true), Command::Begin, Command::Rub] {
        desk.apply(command);
    }
    let mut harness = window(desk, [1280.0, 720.0]);
    let space = |pressed, repeat| egui::Event::Key {
        key: egui::Key::Space,
        physical_key: None,
        pressed,
        repeat,
        modifiers: egui::Modifiers::NONE,
    };
    harness.event(space(true, false));
    for _ in 0..40 {
        harness.run_steps(1);
        harness.event(space(true, true));
    }
    harness.event(space(false, false));
    harness.run_steps(2);
    assert_eq!(done(&harness), [], "it goes on though the key was held");
    press(&mut harness, egui::Key::Space);
    let done = done(&harness);
    assert!(
        matches!(done[..], [Action::Clean { seconds, .. }] if seconds > 3.5),
        "the second press ends it: {done:?}"
    );
}

#[test]
fn what_is_asked_next_stays_in_sight_however_long_the_column_grows() {
    for size in [[1280.0, 720.0], [1024.0, 640.0]] {
        let mut desk = desk();
        for command in [Command::Lamp(LampUse::On), Command::Begin, Command::List] {
            desk.apply(command);
        }
        let harness = window(desk, size);
        let rect = harness.get_by_label("Asked for next").rect();
        assert!(
            rect.top() > 0.0 && rect.bottom() < size[1] * 0.4,
            "at {size:?} it is at {rect:?}"
        );
    }
}

#[test]
fn every_command_of_the_list_has_a_key_that_egui_knows() {
    for entry in ENTRIES {
        assert!(egui_key(entry.key).is_some(), "{:?} has no key", entry.command);
    }
}

#[test]
fn the_lamp_shines_only_while_its_key_is_held() {
    let mut desk = desk();
    desk.apply(Command::Lamp(LampUse::Peek));
    desk.apply(Command::Begin);
    let mut harness = window(desk, [1280.0, 720.0]);
    harness.key_down(egui::Key::L);
    harness.run_steps(3);
    assert!(harness.state().lamp());
    harness.get_by_label("Where it is now");
    harness.key_up(egui::Key::L);
    harness.run_steps(3);
    assert!(!harness.state().lamp());
}

/// Text shapes, also those nested in others.
pub fn texts(shape: &egui::Shape, found: &mut Vec<(String, f32)>) {
    match shape {
        egui::Shape::Vec(shapes) => shapes.iter().for_each(|s| texts(s, found)),
        egui::Shape::Text(text) => {
            for section in &text.galley.job.sections {
                found.push((text.galley.text().to_owned(), section.format.font_id.size));
            }
        }
        _ => {}
    }
}

/// Every page worth looking at, with the state that opens it.
pub fn pages() -> Vec<(&'static str, Desk)> {
    let mut pages = vec![("start", desk())];
    for (name, lamp) in [("drill", LampUse::Peek), ("lamp", LampUse::On)] {
        let mut desk = desk();
        desk.apply(Command::Lamp(lamp));
        desk.apply(Command::Begin);
        let site = desk
            .drill()
            .and_then(|d| d.setup().site("left-glove-cuff"))
            .expect("gloves");
        desk.apply(Command::Choose(site));
        desk.apply(Command::Option(1, Pace::Hurried));
        pages.push((name, desk));
    }
    for (name, command) in [
        ("rub", Command::Rub),
        ("list", Command::List),
        ("refusal", Command::Wash),
    ] {
        let mut desk = desk();
        desk.apply(Command::Begin);
        desk.apply(command);
        pages.push((name, desk));
    }
    let mut last = desk();
    for command in [Command::Begin, Command::GoOn, Command::FinishAnyway] {
        last.apply(command);
    }
    pages.push(("debrief", last));
    for (name, commands) in [
        ("why", vec![]),
        ("steps", vec![Command::Tab(Tab::Steps)]),
        ("what if", vec![Command::WhatIfStep(0), Command::WhatIfChange(0)]),
        ("replay", vec![Command::See(1)]),
        ("numbers", vec![Command::Numbers]),
        ("attempts", vec![Command::Attempts]),
    ] {
        let mut desk = attempt();
        for command in commands {
            desk.apply(command);
        }
        pages.push((name, desk));
    }
    for (name, stages) in [
        ("class asks", vec![]),
        ("class watches", vec![Stage::Watch]),
        ("class odds", vec![Stage::Odds]),
    ] {
        let mut desk = desk();
        desk.apply(Command::Class);
        for stage in stages {
            desk.apply(Command::ClassStage(stage));
        }
        while desk.working() {
            desk.apply(Command::Poll);
            std::thread::yield_now();
        }
        pages.push((name, desk));
    }
    for (name, purpose) in [("practise", Use::Practise), ("assess", Use::Assess)] {
        let mut desk = desk();
        desk.apply(Command::Purpose(purpose));
        pages.push((name, desk));
    }
    for (name, steps) in [
        ("lessons", None),
        ("lesson asks", Some(2)),
        ("lesson exercise", Some(usize::MAX)),
    ] {
        let mut desk = desk();
        desk.apply(Command::Lessons);
        if let Some(steps) = steps {
            desk.apply(Command::Lesson(0));
            let lesson = |desk: &Desk| desk.lesson_page().and_then(|p| p.lesson).expect("it is open");
            let last = lesson(&desk).at.1;
            for _ in 0..steps.min(last) {
                if steps > last && lesson(&desk).exercise.is_some() {
                    break;
                }
                desk.apply(Command::LessonOn);
            }
        }
        pages.push((name, desk));
    }
    let mut shown = desk();
    shown.apply(Command::Purpose(Use::Practise));
    shown.apply(Command::Begin);
    shown.apply(Command::StepOn);
    pages.push(("shown", shown));
    let mut assessed = desk();
    for command in [
        Command::Purpose(Use::Assess),
        Command::Begin,
        Command::FinishAnyway,
    ] {
        assessed.apply(command);
    }
    pages.push(("sheet", assessed));
    let mut watched = desk();
    watched.apply(Command::Observe);
    pages.push(("watching", watched));
    let mut best = desk();
    let small = best
        .content()
        .library
        .scenarios
        .iter()
        .position(|s| s.id == "enteric-bay");
    best.apply(Command::Scenario(small.expect("a built-in scenario")));
    best.apply(Command::Orders);
    while best.working() {
        best.apply(Command::Poll);
        std::thread::yield_now();
    }
    assert!(
        best.orders_page().is_some_and(|p| p.view.is_some()),
        "the best orders are found"
    );
    pages.push(("best order", best));
    pages
}

/// A short attempt that soils the person, at its debrief.
pub fn attempt() -> Desk {
    let mut desk = desk();
    desk.apply(Command::Lamp(LampUse::On));
    desk.apply(Command::Begin);
    let site = |desk: &Desk, id: &str| desk.drill().and_then(|d| d.setup().site(id)).expect("a site");
    for (id, times) in [("gown-chest", 1), ("left-cheek", 2), ("lips", 1)] {
        let chosen = site(&desk, id);
        for _ in 0..times {
            desk.apply(Command::Choose(chosen));
            desk.apply(Command::Option(9, Pace::Steady));
        }
    }
    desk.apply(Command::FinishAnyway);
    assert_eq!(desk.page(), Page::Debrief);
    desk
}

#[test]
fn no_text_is_drawn_smaller_than_fourteen_points() {
    for (name, desk) in pages() {
        let harness = window(desk, [1280.0, 720.0]);
        let mut found = Vec::new();
        for clipped in &harness.output().shapes {
            texts(&clipped.shape, &mut found);
        }
        assert!(found.len() > 10, "{name}: there is hardly any text");
        for (text, size) in found {
            // A picture for a projector is scaled to the window; its own smallest text is tested where it is made.
            let least = if ["class odds", "best order"].contains(&name) {
                9.0
            } else {
                14.0
            };
            assert!(size >= least, "{name}: `{text}` is drawn at {size} points");
        }
    }
}

#[test]
fn the_pages_hold_together_at_twice_the_size_and_in_large_type() {
    for (name, mut desk) in pages() {
        desk.apply(Command::LargeType);
        for _ in 0..4 {
            desk.apply(Command::Larger);
        }
        let page = desk.page();
        let harness = window(desk, [1024.0, 640.0]);
        let wanted = match page {
            Page::Start => "Start",
            Page::Drill => "Finish",
            Page::Debrief => "Try again",
            Page::Replay | Page::Class | Page::Orders => "Close",
            Page::Sheet => "Leave",
            Page::Lesson => "Close",
        };
        let rect = harness.get_by_label(wanted).rect();
        assert!(
            rect.right() <= 1025.0 && rect.bottom() <= 641.0,
            "{name}: `{wanted}` is at {rect:?}"
        );
    }
}

#[test]
fn an_attempt_is_seen_again_by_keyboard_alone() {
    let mut harness = window(attempt(), [1280.0, 720.0]);
    let whole = harness.state().drill().map(|d| d.books().digest());
    press(&mut harness, egui::Key::R);
    assert_eq!(harness.state().page(), Page::Replay);
    let at = |harness: &Harness<'_, Desk>| harness.state().playback().map(|p| p.at());
    press(&mut harness, egui::Key::ArrowRight);
    press(&mut harness, egui::Key::ArrowRight);
    assert_eq!(at(&harness), Some(2));
    press(&mut harness, egui::Key::ArrowLeft);
    assert_eq!(at(&harness), Some(1));
    press(&mut harness, egui::Key::P);
    harness.run_steps(300);
    let playback = harness.state().playback().expect("it is seen again");
    assert!(
        !playback.playing() && playback.at() == playback.len(),
        "it played to its end"
    );
    assert_eq!(
        Some(playback.now().books().digest()),
        whole,
        "and ended with the same books"
    );
    press(&mut harness, egui::Key::Escape);
    assert_eq!(harness.state().page(), Page::Debrief);
}

#[test]
fn what_if_is_asked_with_the_keyboard_and_answered_beside_what_was() {
    let mut harness = window(attempt(), [1920.0, 1080.0]);
    press(&mut harness, egui::Key::Num3);
    let view = harness
        .state()
        .debrief_view()
        .and_then(|v| v.what_if)
        .expect("the tab is open");
    let (at, text) = view.steps.last().cloned().expect("something was done");
    tab_to(&mut harness, &format!("{at}  {text}"));
    press(&mut harness, egui::Key::Enter);
    let view = harness
        .state()
        .debrief_view()
        .and_then(|v| v.what_if)
        .expect("the tab is open");
    let n = view
        .changes
        .iter()
        .position(|c| c.label == "Leave it out")
        .expect("it can be left out");
    let change = &view.changes[n];
    let remark = change.average_words.trim_start_matches("it makes ");
    tab_to(&mut harness, &format!("{}, {remark}", change.label));
    press(&mut harness, egui::Key::Enter);
    let view = harness
        .state()
        .debrief_view()
        .and_then(|v| v.what_if)
        .expect("the tab is open");
    let both = view.both.expect("both outcomes are shown");
    let lips = both
        .rows
        .iter()
        .find(|r| r.label.starts_with("Eyes"))
        .expect("a row");
    assert!(lips.counts.1 <= lips.counts.0, "{lips:?}");
    harness.get_by_label("As it was");
}

#[test]
fn a_trainer_gets_from_the_first_page_to_the_odds_by_keyboard_alone() {
    // The harness keeps a margin of eight points around what it shows.
    let mut harness = window(desk(), [1936.0, 1096.0]);
    press(&mut harness, egui::Key::F8);
    assert_eq!(harness.state().page(), Page::Class);
    tab_to(&mut harness, "Much the same");
    press(&mut harness, egui::Key::Enter);
    press(&mut harness, egui::Key::Num2);
    press(&mut harness, egui::Key::ArrowRight);
    let view = harness.state().class_view().expect("the page is open");
    assert!(view.sides.iter().all(|s| s.at.0 > 0), "both went on");
    press(&mut harness, egui::Key::Num3);
    while harness.state().working() {
        harness.run_steps(1);
    }
    harness.run_steps(2);
    let view = harness.state().class_view().expect("the page is open");
    let odds = view.odds.expect("the odds are there");
    press(&mut harness, egui::Key::W);
    let mut found = Vec::new();
    for clipped in &harness.output().shapes {
        texts(&clipped.shape, &mut found);
    }
    assert!(found.len() > 5, "the picture is there");
    for (text, size) in found {
        assert!(
            size >= 23.9,
            "`{text}` is drawn at {size} points, too small for the back of a room"
        );
    }
    press(&mut harness, egui::Key::W);
    assert!(
        odds.guess
            .is_some_and(|g| g.starts_with("The class said: much the same"))
    );
    assert!(
        harness.query_all_by_label(odds.spoken.as_str()).count() > 0,
        "the odds are told in words"
    );
}

#[test]
fn numbers_open_from_any_page_and_can_be_narrowed() {
    for (name, desk) in pages() {
        if name == "numbers" || name == "rub" {
            continue;
        }
        let mut harness = window(desk, [1280.0, 720.0]);
        press(&mut harness, egui::Key::F4);
        let view = harness.state().numbers_view();
        let view = view.unwrap_or_else(|| panic!("{name}: F4 opens the numbers"));
        assert!(view.found > 0, "{name}: nothing bears on this");
        press(&mut harness, egui::Key::F4);
        assert!(harness.state().numbers_view().is_none(), "{name}: F4 closes them");
    }
}

#[test]
fn a_recorded_attempt_is_opened_from_the_first_page() {
    let folder = std::env::temp_dir().join(format!("smirch-attempts-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("the temporary folder can be written");
    let mut first = desk();
    first.apply(Command::Begin);
    // One in which nothing was done is not listed.
    first.apply(Command::Wait);
    let drill = first.drill().expect("it has begun");
    let label = drill.setup().scenario.label.clone();
    let path = folder.join("one.jsonl");
    let terms = Terms {
        sequence: drill.setup().scenario.sequence.clone(),
        desk: Some(first.settings().terms()),
        ..Terms::default()
    };
    let mut log = LogWriter::create(&path, first.content(), drill, &terms).expect("it can be written");
    // One in which nothing was done would not be listed.
    first.apply(Command::Wait);
    let drill = first.drill().expect("it goes on");
    log.catch_up(drill).expect("it can be written");
    log.end(drill).expect("it can be ended");

    let mut desk = desk();
    desk.recorded_in(folder.clone());
    let mut harness = window(desk, [1280.0, 720.0]);
    press(&mut harness, egui::Key::F6);
    let view = harness
        .state()
        .attempts_view()
        .cloned()
        .expect("F6 opens the list");
    assert_eq!(view.rows.len(), 1, "{view:?}");
    assert!(view.rows[0].label.contains(&label), "{view:?}");
    press(&mut harness, egui::Key::F6);
    assert!(harness.state().attempts_view().is_none(), "F6 closes it");
    press(&mut harness, egui::Key::F6);
    let named = format!("{}, {}", view.rows[0].label, view.rows[0].note);
    harness.get_by_label(&named).click();
    harness.run();
    assert_eq!(harness.state().page(), Page::Replay, "a press opens the attempt");
    let _ = std::fs::remove_dir_all(&folder);
}

#[test]
fn an_attempt_that_was_broken_off_is_taken_up_from_the_first_page() {
    let folder = std::env::temp_dir().join(format!("smirch-unfinished-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("the temporary folder can be written");
    let mut first = desk();
    first.apply(Command::Code("K7".to_owned()));
    first.apply(Command::Lamp(LampUse::On));
    first.apply(Command::Begin);
    first.apply(Command::Wait);
    let drill = first.drill().expect("it has begun");
    let terms = Terms {
        sequence: drill.setup().scenario.sequence.clone(),
        person: first.settings().person().expect("a code"),
        desk: Some(first.settings().terms()),
        ..Terms::default()
    };
    let path = folder.join("one.jsonl");
    drop(LogWriter::create(&path, first.content(), drill, &terms).expect("it can be written"));

    let mut desk = desk();
    desk.recorded_in(folder.clone());
    let mut harness = window(desk, [1280.0, 720.0]);
    harness.get_by_label("Go on with it").click();
    harness.run();
    let desk = harness.state();
    assert_eq!(desk.page(), Page::Drill);
    let gone_on = desk.drill().expect("it goes on");
    assert_eq!(gone_on.books().digest(), drill.books().digest());
    assert_eq!(gone_on.done().len(), 1);
    assert_eq!(desk.settings().code, "K7");
    assert!(desk.lamp(), "under the terms that it was begun under");
    let _ = std::fs::remove_dir_all(&folder);
}

#[test]
fn a_code_that_cannot_be_one_is_refused_before_anything_begins() {
    let mut desk = desk();
    desk.apply(Command::Code("../K7".to_owned()));
    desk.apply(Command::Begin);
    assert_eq!(desk.page(), Page::Start);
    let why = desk.start_view().refusal.expect("it says why");
    assert!(why.contains("no path"), "{why}");
    desk.apply(Command::Code(" K7 ".to_owned()));
    desk.apply(Command::Ward("4 a".to_owned()));
    desk.apply(Command::Begin);
    assert_eq!(desk.page(), Page::Drill);
}

#[test]
fn every_button_has_a_name_for_assistive_technology() {
    for (name, desk) in pages() {
        let harness = window(desk, [1280.0, 720.0]);
        for node in harness.query_all_by_role(egui::accesskit::Role::Button) {
            let label = node.accesskit_node().label().unwrap_or_default();
            assert!(!label.trim().is_empty(), "{name}: a button has no name");
        }
    }
}

/// The size of the type in which a text is drawn, points.
fn size_of(harness: &Harness<'_, Desk>, wanted: &str) -> f32 {
    let mut found = Vec::new();
    for clipped in &harness.output().shapes {
        texts(&clipped.shape, &mut found);
    }
    let of = found.iter().find(|(text, _)| text == wanted);
    of.unwrap_or_else(|| panic!("`{wanted}` is not drawn")).1
}

#[test]
fn text_is_made_larger_and_smaller_by_key_and_by_button() {
    let mut harness = window(desk(), [1280.0, 720.0]);
    let usual = size_of(&harness, "Scenario");
    harness.key_press_modifiers(egui::Modifiers::CTRL, egui::Key::Equals);
    harness.run_steps(3);
    let larger = size_of(&harness, "Scenario");
    assert!(larger > usual * 1.2, "Ctrl + makes {usual} points {larger}");
    harness.get_by_label("Larger text").click();
    harness.run_steps(3);
    let largest = size_of(&harness, "Scenario");
    assert!(
        largest > larger * 1.15,
        "the button makes {larger} points {largest}"
    );
    harness.get_by_label("Smaller text").click();
    harness.run_steps(3);
    harness.key_press_modifiers(egui::Modifiers::CTRL, egui::Key::Minus);
    harness.run_steps(3);
    assert_eq!(size_of(&harness, "Scenario"), usual, "and back again");
}
