//! The window without a pointer: where Tab, arrows and Esc lead, and what scrolls.

use bevy_egui::egui;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use smirch::drill::Action;
use smirch::model::Whereabouts;
use smirch::view::{Command, Desk, Page, Tab};

use crate::panels::{attempt, desk, press, window};

/// Name of what has the focus.
fn focused(harness: &Harness<'_, Desk>) -> Option<String> {
    let node = harness
        .query_all(egui_kittest::kittest::By::new())
        .find(|n| n.is_focused())?;
    node.accesskit_node().label()
}

fn begun() -> Desk {
    let mut desk = desk();
    desk.apply(Command::Begin);
    desk
}

/// Names of the garments as the page has them.
fn garments(harness: &Harness<'_, Desk>) -> Vec<String> {
    let view = harness.state().drill_view().expect("a drill is open");
    let name = |item: &smirch::view::hands::StillOn| match item.place {
        Some(place) => format!("{}, {place}", item.label),
        None => item.label.clone(),
    };
    view.still_on.iter().map(name).collect()
}

#[test]
fn the_first_tab_of_a_drill_is_not_finish_and_a_garment_is_at_most_four_tabs_away() {
    let mut harness = window(begun(), [1280.0, 720.0]);
    harness.run_steps(2);
    let garments = garments(&harness);
    let mut way = Vec::new();
    for _ in 0..4 {
        press(&mut harness, egui::Key::Tab);
        let name = focused(&harness).expect("Tab gives something the focus");
        assert_ne!(name, "Finish", "after {way:?}");
        way.push(name);
    }
    assert!(
        way.iter().any(|name| garments.contains(name)),
        "four Tabs come to {way:?}, but to none of {garments:?}"
    );
}

#[test]
fn arrows_go_through_a_list_and_stay_in_it() {
    let mut harness = window(begun(), [1280.0, 720.0]);
    harness.run_steps(2);
    let garments = garments(&harness);
    while focused(&harness).is_none_or(|name| !garments.contains(&name)) {
        press(&mut harness, egui::Key::Tab);
    }
    press(&mut harness, egui::Key::Home);
    let mut seen = vec![focused(&harness).expect("a garment has the focus")];
    for _ in 0..garments.len() {
        press(&mut harness, egui::Key::ArrowDown);
        seen.push(focused(&harness).expect("a garment has the focus"));
    }
    let last = garments.last().cloned();
    assert_eq!(seen[..garments.len()], garments, "one after the other");
    assert_eq!(seen.last(), last.as_ref(), "the last is the end");
}

#[test]
fn the_list_of_what_is_in_reach_takes_the_focus_and_gives_it_back() {
    let mut harness = window(begun(), [1280.0, 720.0]);
    harness.run_steps(2);
    let garments = garments(&harness);
    while focused(&harness).is_none_or(|name| !garments.contains(&name)) {
        press(&mut harness, egui::Key::Tab);
    }
    let before = focused(&harness);
    press(&mut harness, egui::Key::S);
    harness.run_steps(2);
    let view = harness.state().drill_view().expect("a drill is open");
    let first = &view.list.expect("the list is open")[0].sites[0];
    assert_eq!(
        focused(&harness).as_ref(),
        Some(&first.label),
        "S leads into the list"
    );
    press(&mut harness, egui::Key::Escape);
    harness.run_steps(2);
    assert!(harness.state().drill_view().is_some_and(|v| v.list.is_none()));
    assert_eq!(
        focused(&harness),
        before,
        "Esc leads back to where the keyboard was"
    );
}

#[test]
fn the_focus_outlives_esc_and_an_itch() {
    let mut harness = window(begun(), [1280.0, 720.0]);
    harness.run_steps(2);
    let garments = garments(&harness);
    while focused(&harness).is_none_or(|name| !garments.contains(&name)) {
        press(&mut harness, egui::Key::Tab);
    }
    let before = focused(&harness);
    press(&mut harness, egui::Key::Escape);
    harness.run_steps(2);
    assert_eq!(focused(&harness), before, "after Esc");
    for _ in 0..4 {
        press(&mut harness, egui::Key::Period);
    }
    harness.run_steps(2);
    assert!(
        harness.state().drill_view().is_some_and(|v| v.prompt.is_some()),
        "something itches by now"
    );
    assert_eq!(focused(&harness), before, "while it itches");
    press(&mut harness, egui::Key::C);
    harness.run_steps(2);
    assert_eq!(focused(&harness), before, "once that is over");
}

#[test]
fn a_space_bar_that_is_held_does_not_stop_a_rub_that_needs_no_holding() {
    let mut desk = begun();
    desk.apply(Command::HandsFree(true));
    let mut harness = window(desk, [1280.0, 720.0]);
    press(&mut harness, egui::Key::R);
    harness.run_steps(2);
    harness.key_down(egui::Key::Space);
    for _ in 0..40 {
        // What a keyboard does while a key is held.
        harness.key_down(egui::Key::Space);
        harness.run_steps(1);
    }
    harness.key_up(egui::Key::Space);
    harness.run_steps(2);
    let view = harness.state().drill_view().expect("a drill is open");
    let rub = view.rub.expect("it goes on though the key is up");
    assert!(rub.held > 3.0, "only {} s in four", rub.held);
    press(&mut harness, egui::Key::Space);
    harness.run_steps(1);
    let done = harness.state().drill().and_then(|d| d.done().last().cloned());
    assert!(
        done.is_some_and(|d| matches!(d.action, Action::Clean { .. })),
        "another press ends it"
    );
}

/// The highest and the lowest place at which a text of a panel is drawn.
fn top_of(harness: &Harness<'_, Desk>, label: &str) -> f32 {
    harness.get_by_label(label).rect().top()
}

#[test]
fn the_sheet_of_keys_scrolls_by_keyboard() {
    let mut harness = window(begun(), [1280.0, 720.0]);
    press(&mut harness, egui::Key::F1);
    harness.run_steps(3);
    let before = top_of(&harness, "See the front");
    press(&mut harness, egui::Key::PageDown);
    harness.run_steps(2);
    let after = top_of(&harness, "See the front");
    assert!(
        after < before - 50.0,
        "Page Down moves it from {before} to {after}"
    );
    press(&mut harness, egui::Key::F1);
    harness.run_steps(2);
    assert!(!harness.state().help());
}

#[test]
fn panels_of_the_debrief_scroll_by_keyboard_and_the_next_debrief_begins_at_its_top() {
    let mut harness = window(attempt(), [1280.0, 720.0]);
    harness.run_steps(2);
    let top = top_of(&harness, "Next time");
    for _ in 0..12 {
        press(&mut harness, egui::Key::Tab);
        if focused(&harness).is_some_and(|name| name.starts_with("Next time: ")) {
            break;
        }
    }
    assert!(
        focused(&harness).is_some_and(|name| name.starts_with("Next time: ")),
        "Tab never comes to the panel, but to {:?}",
        focused(&harness)
    );
    press(&mut harness, egui::Key::ArrowDown);
    harness.run_steps(2);
    let scrolled = top_of(&harness, "Next time");
    assert!(
        scrolled < top - 10.0,
        "an arrow moves it from {top} to {scrolled}"
    );

    press(&mut harness, egui::Key::A);
    assert_eq!(harness.state().page(), Page::Drill);
    press(&mut harness, egui::Key::F9);
    harness.get_by_label("Finish all the same").click();
    harness.run_steps(2);
    assert_eq!(harness.state().page(), Page::Debrief);
    assert_eq!(focused(&harness), None, "the focus is the last debrief's");
    assert_eq!(
        top_of(&harness, "Next time"),
        top,
        "the scroll is the last debrief's"
    );
}

#[test]
fn in_one_column_a_tab_that_is_chosen_begins_at_its_top() {
    let mut desk = attempt();
    desk.apply(Command::LargeType);
    for _ in 0..4 {
        desk.apply(Command::Larger);
    }
    let mut harness = window(desk, [1280.0, 720.0]);
    // What is worked out beside the window stands above the tabs, and makes its card longer once it is known.
    let known = |harness: &Harness<'_, Desk>| {
        let view = harness.state().debrief_view();
        view.and_then(|view| view.sure)
            .is_some_and(|sure| sure.working.is_none())
    };
    for _ in 0..3000 {
        harness.run_steps(2);
        if known(&harness) {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    assert!(known(&harness), "it is never known how sure the model is");
    harness.run_steps(2);
    let tabs = |harness: &Harness<'_, Desk>| {
        let bar = harness.get_by_label("Try again").rect().bottom();
        let named = harness.query_all_by_label("What you did");
        // What it shows may have the tab's name too.
        let top = named.map(|node| node.rect().top()).fold(f32::MAX, f32::min);
        (top - bar, bar)
    };
    let (first, bar) = tabs(&harness);
    assert!(
        first > 0.0,
        "a debrief opens on what is beneath its tabs, {first} from the bar"
    );
    for (key, other) in [
        (egui::Key::Num2, egui::Key::Num3),
        (egui::Key::Num3, egui::Key::Num1),
    ] {
        press(&mut harness, key);
        harness.run_steps(2);
        for down in [0, 9] {
            let pointer = egui::Event::PointerMoved(egui::pos2(600.0, 500.0));
            let wheel = egui::Event::MouseWheel {
                unit: egui::MouseWheelUnit::Page,
                delta: egui::vec2(0.0, -1.0),
                phase: egui::TouchPhase::Move,
                modifiers: egui::Modifiers::NONE,
            };
            for _ in 0..down {
                harness.event(pointer.clone());
                harness.event(wheel.clone());
                harness.run_steps(3);
            }
            let before = tabs(&harness).0;
            assert!(down == 0 || before < -100.0, "the wheel has left it at {before}");
            press(&mut harness, other);
            harness.run_steps(2);
            let now = tabs(&harness).0;
            assert!(
                (0.0..60.0).contains(&now),
                "{down} pages down: the tabs are {now} from the bar that ends at {bar}"
            );
            press(&mut harness, key);
            harness.run_steps(2);
        }
    }
}

#[test]
fn what_gets_the_focus_comes_into_sight() {
    let mut desk = attempt();
    desk.apply(Command::Tab(Tab::WhatIf));
    let mut harness = window(desk, [1280.0, 400.0]);
    harness.run_steps(2);
    let view = harness
        .state()
        .debrief_view()
        .and_then(|v| v.what_if)
        .expect("the tab is open");
    let (at, text) = view.steps.last().cloned().expect("something was done");
    let last = format!("{at}  {text}");
    for _ in 0..12 {
        press(&mut harness, egui::Key::Tab);
        press(&mut harness, egui::Key::End);
        if focused(&harness).as_ref() == Some(&last) {
            break;
        }
    }
    harness.run_steps(2);
    let rect = harness.get_by_label(&last).rect();
    assert!(
        rect.top() >= 0.0 && rect.bottom() <= 400.0,
        "`{last}` has the focus at {rect:?}"
    );
}

#[test]
fn an_itch_and_a_refusal_are_in_sight_however_the_column_is_scrolled() {
    for scale in [0, 4] {
        let mut desk = begun();
        for _ in 0..scale {
            desk.apply(Command::Larger);
        }
        // There is no basin in the doorway, so washing is refused there.
        desk.apply(Command::Walk(Whereabouts::Doorway));
        desk.apply(Command::List);
        let mut harness = window(desk, [1280.0, 720.0]);
        harness.run_steps(2);
        for _ in 0..12 {
            press(&mut harness, egui::Key::Tab);
            if focused(&harness).is_some_and(|name| name.starts_with("What can be done: ")) {
                break;
            }
        }
        press(&mut harness, egui::Key::End);
        harness.run_steps(2);
        let top = harness.get_by_label("Everything in reach").rect().top();
        assert!(top < 0.0, "the column is not scrolled: its list is at {top}");
        for _ in 0..4 {
            press(&mut harness, egui::Key::Period);
        }
        harness.run_steps(2);
        // In a low column what always can be done scrolls with the rest.
        let foot = match scale {
            0 => harness.get_by_label("Rub").rect().top(),
            _ => harness.get_by_label("Take back").rect().top(),
        };
        let asked = harness.get_by_label("Asked for next").rect().bottom();
        let answer = harness.get_by_label("Answer with your left hand").rect();
        assert!(
            answer.top() > asked && answer.bottom() < foot,
            "scale {scale}: the itch is at {answer:?}, between {asked} and {foot}"
        );
        press(&mut harness, egui::Key::C);
        press(&mut harness, egui::Key::W);
        harness.run_steps(2);
        let told = harness.get_by_label_contains("Not possible: ").rect();
        assert!(
            told.top() > asked && told.bottom() < foot,
            "scale {scale}: the refusal is at {told:?}, between {asked} and {foot}"
        );
    }
}

/// At twice the size, in the smallest usual window, what can be done with what was just chosen is in sight.
#[test]
fn at_twice_the_size_there_is_something_to_press() {
    let mut desk = begun();
    for _ in 0..4 {
        desk.apply(Command::Larger);
    }
    let cuff = desk.drill().and_then(|d| d.setup().site("left-glove-cuff"));
    desk.apply(Command::Choose(cuff.expect("gloves are worn")));
    let mut harness = window(desk, [1280.0, 720.0]);
    harness.run_steps(3);
    let foot = harness.get_by_label("Take back").rect().top();
    let first = harness.get_by_label_contains("Take up a fold at the cuff").rect();
    let asked = harness.get_by_label("Asked for next").rect().bottom();
    assert!(
        first.top() > asked && first.top() + 20.0 < foot,
        "it is at {first:?}, between {asked} and {foot}"
    );
}

#[test]
fn the_page_of_best_orders_scrolls_by_keyboard() {
    let pages = crate::panels::pages();
    let (_, best) = pages.into_iter().last().expect("there are pages");
    assert_eq!(best.page(), Page::Orders);
    let mut harness = window(best, [1280.0, 400.0]);
    harness.run_steps(2);
    let before = top_of(&harness, "Count it out");
    for _ in 0..40 {
        press(&mut harness, egui::Key::Tab);
        if focused(&harness).is_some_and(|name| name.starts_with("Best orders: ")) {
            break;
        }
    }
    press(&mut harness, egui::Key::PageDown);
    harness.run_steps(2);
    let after = top_of(&harness, "Count it out");
    assert!(
        after < before - 50.0,
        "Page Down moves it from {before} to {after}"
    );
}
