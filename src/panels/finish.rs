//! The question whether to finish although something is left to do.

use bevy_egui::egui::{Context, Frame, Id, Margin, Modal};

use crate::view::Command;

use super::memory::just_opened;
use super::widgets::{Weight, button, heading};

/// The sheet that asks. What goes on with the drill has the focus, so that a key pressed twice does no harm.
pub fn sheet(ctx: &Context, left: &[String], out: &mut Vec<Command>) {
    let margin = Frame::popup(&ctx.global_style()).inner_margin(Margin::same(18));
    let opened = just_opened(ctx, "finish sheet");
    let modal = Modal::new(Id::new("finish")).frame(margin).show(ctx, |ui| {
        ui.set_max_width(ui.ctx().content_rect().width() * 0.6);
        heading(ui, "Finish already?");
        ui.add_space(4.0);
        for line in left {
            ui.label(line);
        }
        ui.add_space(10.0);
        ui.horizontal_wrapped(|ui| {
            let stay = button(ui, "Go on with the drill", Some("Esc"), Weight::Primary, 0.0);
            if opened {
                stay.request_focus();
            }
            if stay.clicked() && !opened {
                out.push(Command::Unchoose);
            }
            let finish = button(ui, "Finish all the same", None, Weight::Plain, 0.0);
            if finish.clicked() && !opened {
                out.push(Command::FinishAnyway);
            }
        });
    });
    if modal.should_close() && !out.contains(&Command::Unchoose) {
        out.push(Command::Unchoose);
    }
}
