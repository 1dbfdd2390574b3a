//! Pages at twice the size of text, and what must not be hidden or move.

use bevy_egui::egui;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use smirch::panels::{self, FromScene, Screen, Shown};
use smirch::view::{Command, Desk, LampUse, Tab};

use crate::panels::{attempt, desk};

/// A window of the usual size that tells what is left for the scene.
fn window<'a>(desk: Desk) -> Harness<'a, (Desk, Shown)> {
    // The harness keeps a margin of eight points around what it shows.
    let mut harness = Harness::builder()
        .with_size([1296.0, 736.0])
        .with_step_dt(0.1)
        .with_max_steps(8)
        .build_ui_state(
            |ui, (desk, shown): &mut (Desk, Shown)| {
                let screen = Screen::of(desk);
                let mut asked = Vec::new();
                *shown = panels::show(ui, &screen, &FromScene::default(), &mut asked);
                for command in asked {
                    desk.apply(command);
                }
            },
            (desk, Shown::default()),
        );
    harness.run_steps(4);
    harness
}

fn large(mut desk: Desk) -> Desk {
    for _ in 0..4 {
        desk.apply(Command::Larger);
    }
    desk
}

fn begun() -> Desk {
    let mut desk = desk();
    desk.apply(Command::Begin);
    desk
}

#[test]
fn at_twice_the_size_the_scene_keeps_more_than_half_of_the_height() {
    let mut replay = attempt();
    replay.apply(Command::Replay);
    for (name, desk, least) in [("drill", begun(), 0.55), ("replay", replay, 0.45)] {
        let harness = window(large(desk));
        let free = harness.state().1.free.expect("there is a scene");
        assert!(
            free.height() >= least * 720.0 && free.width() >= 500.0,
            "{name}: the scene has only {} x {} points",
            free.width(),
            free.height()
        );
    }
}

#[test]
fn at_twice_the_size_the_first_page_shows_at_least_three_scenarios() {
    let desk = large(desk());
    let names: Vec<String> = desk
        .start_view()
        .scenarios
        .iter()
        .take(3)
        .map(|s| s.label.clone())
        .collect();
    let harness = window(desk);
    let start = harness.get_by_label("Start").rect();
    for name in names {
        let rect = harness.get_by_label(&name).rect();
        assert!(
            rect.bottom() < start.top(),
            "`{name}` is at {rect:?}, beneath the buttons at {start:?}"
        );
    }
}

#[test]
fn buttons_over_and_under_the_scene_hide_nothing_of_it() {
    for desk in [begun(), large(begun())] {
        let harness = window(desk);
        let free = harness.state().1.free.expect("there is a scene");
        for name in ["Front", "Back", "Hands", "Face", "Names", "Trace", "Mirror"] {
            let button = harness.get_by_label(name).rect();
            assert!(
                !free.shrink(1.0).intersects(button),
                "`{name}` at {button:?} hides some of the scene at {free:?}"
            );
        }
    }
}

#[test]
fn the_buttons_for_the_size_of_text_stay_under_the_pointer() {
    let mut harness = window(desk());
    let place = |harness: &Harness<'_, (Desk, Shown)>, name| harness.get_by_label(name).rect();
    let before = ["Larger text", "Smaller text"].map(|name| place(&harness, name));
    for _ in 0..4 {
        harness.get_by_label("Larger text").click();
        harness.run_steps(3);
    }
    assert_eq!(harness.state().0.settings().text_scale, 200);
    let after = ["Larger text", "Smaller text"].map(|name| place(&harness, name));
    assert_eq!(before, after);
}

#[test]
fn what_if_is_not_cut_off() {
    for desk in [attempt(), large(attempt())] {
        let mut desk = desk;
        for command in [
            Command::Tab(Tab::WhatIf),
            Command::WhatIfStep(0),
            Command::WhatIfChange(0),
        ] {
            desk.apply(command);
        }
        let view = desk
            .debrief_view()
            .and_then(|v| v.what_if)
            .expect("the tab is open");
        let both = view.both.expect("a change was chosen");
        let harness = window(desk);
        // What is cut off is drawn beyond the clip of its panel.
        let mut seen = 0;
        for clipped in &harness.output().shapes {
            if let egui::Shape::Text(text) = &clipped.shape {
                let told = text.galley.text();
                let averages = both.rows.iter().flat_map(|r| [&r.averages.0, &r.averages.1]);
                if told == "As it was" || averages.clone().any(|a| a == told) {
                    let right = text.pos.x + text.galley.size().x;
                    assert!(
                        right <= clipped.clip_rect.right() + 0.5,
                        "`{told}` ends at {right}, its panel at {}",
                        clipped.clip_rect.right()
                    );
                    seen += 1;
                }
            }
        }
        assert!(seen > 0, "neither counts nor averages are drawn");
    }
}

#[test]
fn the_legend_of_the_lamp_hides_nothing_of_the_scene_and_its_coming_moves_nothing() {
    for large_type in [false, true] {
        let size = |desk| if large_type { large(desk) } else { desk };
        let mut replay = attempt();
        replay.apply(Command::Replay);
        let mut lit = desk();
        lit.apply(Command::Lamp(LampUse::On));
        lit.apply(Command::Begin);
        for (name, mut desk) in [("drill", size(lit)), ("replay", size(replay))] {
            assert!(desk.lamp(), "{name}: the lamp is on");
            let harness = window(desk);
            let free = harness.state().1.free.expect("there is a scene");
            let legend = harness.get_by_label_contains("Specks: patches of").rect();
            assert!(
                !free.shrink(1.0).intersects(legend) && legend.right() <= 1290.0,
                "{name}: the legend at {legend:?} hides some of the scene at {free:?}"
            );
            let front = harness.get_by_label("Front").rect();
            desk = harness.into_state().0;
            desk.apply(Command::LampSwitch);
            let harness = window(desk);
            assert!(harness.query_by_label_contains("Specks: patches of").is_none());
            assert_eq!(harness.state().1.free, Some(free), "{name}: the scene moves");
            assert_eq!(
                harness.get_by_label("Front").rect(),
                front,
                "{name}: buttons move"
            );
        }
    }
}

#[test]
fn at_twice_the_size_sheets_end_within_the_window() {
    for (name, command) in [
        ("keys", Command::Help),
        ("numbers", Command::Numbers),
        ("attempts", Command::Attempts),
    ] {
        for large_type in [false, true] {
            let mut desk = if large_type { large(desk()) } else { desk() };
            desk.apply(command.clone());
            let harness = window(desk);
            let close = harness.get_by_label("Close").rect();
            assert!(
                close.top() > 0.0 && close.bottom() <= 728.0 && close.right() <= 1288.0,
                "{name}, large {large_type}: `Close` is at {close:?}"
            );
        }
    }
}
