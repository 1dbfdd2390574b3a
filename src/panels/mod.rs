//! Panels: egui only. Functions that draw a view and append the commands that were asked for.
//!
//! Nothing here knows Bevy or the drill. [`show`] draws a whole page, and so runs the same in the window and in tests.

mod attempts;
mod body;
pub mod callouts;
mod class;
mod debrief;
mod drawing;
mod drill;
mod finish;
mod focus;
mod help;
pub mod hold;
mod keys;
mod lesson;
pub mod marks;
mod memory;
mod near_you;
mod now;
mod numbers;
mod options;
mod orders;
mod overlay;
mod pass;
mod replay;
mod rub;
mod screen;
mod scroll;
mod sheet;
mod side;
mod start;
pub mod theme;
mod top;
mod what_if;
mod why;
mod widgets;

pub use keys::egui_key;
pub use marks::Marks;
pub use screen::{FromScene, Screen, Shown};

use bevy_egui::egui::Ui;

use crate::view::{Command, Page};

/// Draws the page and appends what was asked for.
pub fn show(ui: &mut Ui, screen: &Screen, scene: &FromScene, out: &mut Vec<Command>) -> Shown {
    let lamp = screen.drill.as_ref().is_some_and(|d| d.lamp)
        || screen.replay.as_ref().is_some_and(|r| r.lamp)
        || screen.class.as_ref().is_some_and(|c| c.lamp);
    if !theme::ready(ui, screen.scale, lamp) {
        return Shown::default();
    }
    let sideways = !matches!(screen.page, Page::Replay | Page::Class | Page::Lesson);
    focus::begin(ui.ctx(), screen.attempt * 16 + screen.page as u64, sideways);
    keys::read(ui.ctx(), screen, out);
    let mut shown = Shown::default();
    if screen.teaching {
        lesson::goes_on(ui, screen.page, out);
    }
    match screen.page {
        Page::Start => {
            if let Some(view) = &screen.start {
                start::page(ui, view, out);
            }
        }
        Page::Drill => {
            if let Some(view) = &screen.drill {
                shown.free = Some(drill::page(ui, view, scene, out));
            }
        }
        Page::Debrief => {
            if let Some(view) = &screen.debrief {
                debrief::page(ui, view, screen.attempt, out);
            }
        }
        Page::Orders => {
            if let Some(view) = &screen.orders {
                orders::page(ui, view, out);
            }
        }
        Page::Lesson => {
            if let Some(view) = &screen.lesson {
                lesson::page(ui, view, out);
            }
        }
        Page::Class => {
            if let Some(view) = &screen.class {
                shown.free = class::page(ui, view, out);
            }
        }
        Page::Sheet => {
            if let Some(view) = &screen.sheet {
                sheet::page(ui, view, out);
            }
        }
        Page::Replay => {
            if let Some(view) = &screen.replay {
                shown.free = Some(replay::page(ui, view, screen.attempt, scene, out));
            }
        }
    }
    if let Some(view) = &screen.numbers {
        numbers::sheet(ui.ctx(), view, out);
    }
    if let Some(view) = &screen.attempts {
        attempts::sheet(ui.ctx(), view, out);
    }
    if screen.help {
        help::sheet(ui.ctx(), screen.page, out);
    }
    focus::end(ui.ctx(), ui.layer_id());
    shown
}
