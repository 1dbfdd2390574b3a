//! The sheet of where the numbers come from.

use std::time::Duration;

use bevy_egui::egui::{Context, Frame, Id, Margin, Modal, RichText, TextEdit, Ui};

use crate::model::Status;
use crate::view::numbers::{NumberGroup, Numbers, status_word};
use crate::view::sure::HangList;
use crate::view::words::sentence;
use crate::view::{Command, NumbersView};

use super::scroll::{left_in_sheet, scroll};
use super::theme::Tokens;
use super::widgets::{Weight, button, heading, number_row, soft, strong};

/// The sheet.
pub fn sheet(ctx: &Context, view: &NumbersView, out: &mut Vec<Command>) {
    let margin = Frame::popup(&ctx.global_style()).inner_margin(Margin::same(18));
    let modal = Modal::new(Id::new("numbers")).frame(margin).show(ctx, |ui| {
        let screen = ui.ctx().content_rect();
        ui.set_width((screen.width() * 0.8).min(1100.0));
        head(ui, view, out);
        let most = left_in_sheet(ui);
        scroll("Numbers", 0).at_most(most).takes_focus().show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 4.0;
            if let Some(share) = view.turning {
                let done = format!(
                    "Working out what each constant does by itself: {:.0} %",
                    100.0 * share
                );
                ui.label(soft(ui, done));
                out.push(Command::Poll);
                ui.ctx().request_repaint_after(Duration::from_millis(200));
            }
            for list in &view.hangs {
                hang(ui, list);
            }
            for each in &view.groups {
                group(ui, each);
            }
            if view.groups.is_empty() {
                ui.label("No number fits. Fewer words find more");
            }
        });
        if button(ui, "Close", Some("F4"), Weight::Primary, 0.0).clicked() {
            out.push(Command::Numbers);
        }
    });
    if modal.should_close() && !out.contains(&Command::Numbers) {
        out.push(Command::Numbers);
    }
}

fn head(ui: &mut Ui, view: &NumbersView, out: &mut Vec<Command>) {
    let ask = |out: &mut Vec<Command>, asked: Numbers| out.push(Command::NumbersAsk(asked));
    heading(ui, "Where the numbers come from");
    if let Some((what, _)) = &view.asked.about {
        ui.horizontal_wrapped(|ui| {
            ui.label(strong(ui, format!("What bears on: {what}")));
            if button(ui, "Show all numbers", None, Weight::Plain, 0.0).clicked() {
                ask(
                    out,
                    Numbers {
                        about: None,
                        ..view.asked.clone()
                    },
                );
            }
        });
    }
    ui.horizontal_wrapped(|ui| {
        let name = ui.label("Find");
        let mut find = view.asked.find.clone();
        let edit = TextEdit::singleline(&mut find)
            .desired_width(260.0)
            .hint_text(soft(ui, "such as rub spore"));
        if ui.add(edit).labelled_by(name.id).changed() {
            ask(
                out,
                Numbers {
                    find,
                    ..view.asked.clone()
                },
            );
        }
        let all = [None]
            .into_iter()
            .chain(Status::ALL.iter().map(|(_, s)| Some(*s)));
        for status in all {
            let label = status.map_or_else(|| "All".to_owned(), |s| sentence(status_word(s)));
            let weight = if view.asked.status == status {
                Weight::Chosen
            } else {
                Weight::Plain
            };
            if button(ui, &label, None, weight, 0.0).clicked() {
                ask(
                    out,
                    Numbers {
                        status,
                        ..view.asked.clone()
                    },
                );
            }
        }
    });
    ui.label(soft(ui, format!("{} of {} numbers", view.found, view.all)));
}

fn hang(ui: &mut Ui, list: &HangList) {
    let t = Tokens::of(ui);
    ui.separator();
    ui.label(strong(ui, &list.heading));
    for (n, (what, source)) in list.lines.iter().enumerate() {
        ui.label(format!("{}. {what}", n + 1));
        if !source.is_empty() {
            ui.label(RichText::new(source).small().color(t.accent));
        }
    }
}

fn group(ui: &mut Ui, group: &NumberGroup) {
    let t = Tokens::of(ui);
    ui.separator();
    ui.label(strong(ui, &group.what));
    ui.label(RichText::new(&group.source).small().color(t.accent));
    for note in &group.notes {
        ui.label(soft(ui, note));
    }
    for (what, value) in &group.numbers {
        number_row(ui, what, value, t.ink, false);
    }
}
