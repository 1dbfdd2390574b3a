//! The sheet of recorded attempts.

use std::path::Path;

use bevy_egui::egui::{Context, Frame, Id, Margin, Modal, Ui};

use crate::view::attempts::AttemptRow;
use crate::view::{AttemptsView, Command};

use super::focus::group;
use super::scroll::{left_in_sheet, scroll};
use super::widgets::{Weight, button, heading, row_button, soft, strong};

fn rows(ui: &mut Ui, view: &AttemptsView, out: &mut Vec<Command>) {
    for row in &view.rows {
        match &row.path {
            Some(path) => {
                if row_button(ui, &row.label, &row.note, false).clicked() {
                    out.push(Command::OpenLog(path.clone()));
                }
                if row.can_go_on {
                    go_on(ui, row, path, out);
                }
            }
            None => {
                ui.label(strong(ui, &row.label));
                ui.label(soft(ui, &row.note));
            }
        }
    }
}

/// The button that takes an attempt up where it was broken off.
pub fn go_on(ui: &mut Ui, row: &AttemptRow, path: &Path, out: &mut Vec<Command>) {
    let pressed = button(ui, "Go on with it", None, Weight::Plain, 0.0)
        .on_hover_text(format!("Take up where it was broken off: {}", row.label));
    if pressed.clicked() {
        out.push(Command::TakeUp(path.to_owned()));
    }
}

/// The sheet.
pub fn sheet(ctx: &Context, view: &AttemptsView, out: &mut Vec<Command>) {
    let margin = Frame::popup(&ctx.global_style()).inner_margin(Margin::same(18));
    let modal = Modal::new(Id::new("attempts")).frame(margin).show(ctx, |ui| {
        let screen = ui.ctx().content_rect();
        ui.set_width((screen.width() * 0.7).min(820.0));
        heading(ui, "Recorded attempts");
        ui.label(soft(ui, &view.told));
        let most = left_in_sheet(ui);
        scroll("Attempts", 0).at_most(most).show(ui, |ui| {
            group("attempts").takes_focus().show(ui, |ui| rows(ui, view, out))
        });
        if button(ui, "Close", Some("F6"), Weight::Primary, 0.0).clicked() {
            out.push(Command::Attempts);
        }
    });
    if modal.should_close() && !out.contains(&Command::Attempts) {
        out.push(Command::Attempts);
    }
}
