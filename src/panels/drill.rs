//! The drill page: bars above and below, the column at the side, and a free rectangle for the scene.

use bevy_egui::egui::{Frame, Margin, Panel, Rect, Stroke, TextStyle, Ui};

use crate::view::{Command, DrillView};

use super::screen::FromScene;
use super::theme::Tokens;
use super::widgets::caution;
use super::{finish, overlay, side, top};

/// Draws the page and returns what is left for the scene.
pub fn page(ui: &mut Ui, view: &DrillView, scene: &FromScene, out: &mut Vec<Command>) -> Rect {
    let t = Tokens::of(ui);
    let bar = |margin: Margin| {
        Frame::new()
            .fill(t.card)
            .inner_margin(margin)
            .stroke(Stroke::NONE)
    };
    Panel::top("drill top")
        .frame(bar(Margin::symmetric(18, 8)))
        .show(ui, |ui| top::bar(ui, view, out));
    Panel::bottom("drill caution")
        .frame(bar(Margin::symmetric(18, 6)).fill(t.paper))
        .show(ui, |ui| {
            caution(ui);
        });
    let width = side_width(ui);
    let mut left = ui.available_rect_before_wrap();
    left.max.x -= width;
    let roomy = overlay::roomy(ui, left, view.names);
    Panel::right("drill side")
        .resizable(false)
        .exact_size(width)
        .frame(Frame::new().fill(t.paper).inner_margin(Margin::same(12)))
        .show(ui, |ui| {
            let low = side::is_low(ui);
            Panel::bottom("drill foot")
                .frame(Frame::new().fill(t.paper).inner_margin(Margin {
                    top: 8,
                    ..Margin::ZERO
                }))
                .show_separator_line(false)
                .show(ui, |ui| side::foot(ui, view, low, out));
            if view.hints {
                // It stays in sight, however long the column grows.
                Panel::top("drill asked")
                    .frame(Frame::new().fill(t.paper).inner_margin(Margin {
                        bottom: 8,
                        ..Margin::ZERO
                    }))
                    .show_separator_line(false)
                    .show(ui, |ui| side::asked(ui, view, out));
            }
            if side::has_news(view) {
                // Below what is pressed, so that nothing moves under the pointer when it comes.
                Panel::bottom("drill news")
                    .frame(Frame::new().fill(t.paper).inner_margin(Margin {
                        top: 8,
                        ..Margin::ZERO
                    }))
                    .show_separator_line(false)
                    .show(ui, |ui| side::news(ui, view, out));
            }
            side::column(ui, view, (roomy, low), out);
        });
    if let Some(left) = &view.finishing {
        finish::sheet(ui.ctx(), left, out);
    }
    let over = overlay::Over::of(view);
    overlay::bar(ui, &over, out);
    let free = ui.available_rect_before_wrap();
    overlay::draw(ui, free, &over, scene);
    free
}

/// The column grows with the type, but never takes more than half of the window.
fn side_width(ui: &Ui) -> f32 {
    let type_size = TextStyle::Body.resolve(ui.style()).size;
    (type_size * 27.5).min(ui.available_width() * 0.5)
}
