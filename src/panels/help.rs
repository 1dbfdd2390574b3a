//! Every key of a page, from the one list.

use bevy_egui::egui::{Context, Frame, Grid, Id, Margin, Modal, TextStyle};

use crate::view::command::ENTRIES;
use crate::view::{Command, Page};

use super::memory::openings;
use super::scroll::{left_in_sheet, scroll};
use super::widgets::{Weight, button, heading, strong};

/// The sheet of keys.
pub fn sheet(ctx: &Context, page: Page, out: &mut Vec<Command>) {
    let margin = Frame::popup(&ctx.global_style()).inner_margin(Margin::same(18));
    let modal = Modal::new(Id::new("keys")).frame(margin).show(ctx, |ui| {
        let (screen, size) = (ui.ctx().content_rect(), TextStyle::Body.resolve(ui.style()).size);
        ui.set_width((screen.width() * 0.86).min(56.0 * size));
        heading(ui, "Keys on this page");
        let most = left_in_sheet(ui);
        // From its top each time, wherever it was left.
        let opening = openings(ctx, "keys sheet");
        scroll("Keys", opening)
            .at_most(most)
            .takes_focus()
            .show(ui, |ui| {
                // Either column may take this much at most; longer text goes on in the next line.
                let most = 0.66 * ui.available_width();
                Grid::new("keys")
                    .num_columns(2)
                    .max_col_width(most)
                    .spacing([18.0, 6.0])
                    .show(ui, |ui| {
                        for entry in ENTRIES.iter().filter(|e| e.pages.contains(&page)) {
                            ui.label(strong(ui, entry.key.caption()));
                            ui.label(entry.tip);
                            ui.end_row();
                        }
                        if page == Page::Drill {
                            ui.label(strong(ui, "1 to 9"));
                            ui.label("Do what the list says, steadily; after P in a hurry");
                            ui.end_row();
                        }
                        ui.label(strong(ui, "Tab"));
                        ui.label("Go to the next list or button; Enter presses it");
                        ui.end_row();
                        ui.label(strong(ui, "Arrows"));
                        ui.label("Go through a list, or scroll");
                        ui.end_row();
                        ui.label(strong(ui, "Page Up and Page Down"));
                        ui.label("Scroll what you are in");
                        ui.end_row();
                    });
            });
        if button(ui, "Close", Some("Esc"), Weight::Primary, 0.0).clicked() {
            out.push(Command::Help);
        }
    });
    if modal.should_close() && !out.contains(&Command::Help) {
        out.push(Command::Help);
    }
}
