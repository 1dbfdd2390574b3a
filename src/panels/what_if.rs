//! What if: choose a step, choose a change, see both outcomes.

use bevy_egui::egui::{Align, Label, Layout, RichText, Ui, vec2};

use crate::view::Command;
use crate::view::what_if::{BothView, WhatIfView, taken_along};
use crate::view::words::count;

use super::theme::Tokens;
use super::widgets::{attention_card, card, heading, row_button, soft, strong};

/// The card.
pub fn card_of(ui: &mut Ui, view: &WhatIfView, out: &mut Vec<Command>) {
    if let Some(both) = &view.both {
        outcome(ui, both);
    }
    card(ui, |ui| {
        heading(ui, "What if");
        ui.label(soft(
            ui,
            "Choose a step, then what you might have done instead. Chance stays the same",
        ));
        for (n, (at, text)) in view.steps.iter().enumerate() {
            let chosen = view.chosen == Some(n);
            if row_button(ui, &format!("{at}  {text}"), "", chosen).clicked() {
                out.push(Command::WhatIfStep(n));
            }
            if chosen {
                ui.indent(("changes", n), |ui| changes(ui, view, out));
            }
        }
        if view.steps.is_empty() {
            ui.label("Nothing was done, so nothing could be done differently");
        }
    });
}

fn changes(ui: &mut Ui, view: &WhatIfView, out: &mut Vec<Command>) {
    for (n, change) in view.changes.iter().enumerate() {
        let remark = change.average_words.trim_start_matches("it makes ");
        if row_button(ui, &change.label, remark, view.change == Some(n)).clicked() {
            out.push(Command::WhatIfChange(n));
        }
    }
    if view.changes.is_empty() {
        ui.label(soft(ui, "Nothing else was possible here"));
    }
}

fn outcome(ui: &mut Ui, both: &BothView) {
    attention_card(ui, |ui| {
        let t = Tokens::of(ui);
        ui.label(RichText::new(&both.label).heading().color(t.ink));
        ui.label(strong(ui, &both.verdict));
        ui.label(&both.time);
        if let Some(along) = taken_along(both) {
            ui.label(soft(ui, along));
        }
        ui.separator();
        cells(ui, [soft(ui, ""), soft(ui, "As it was"), soft(ui, "What if")]);
        for row in &both.rows {
            cells(
                ui,
                [
                    RichText::new(&row.label),
                    strong(ui, count(row.counts.0)),
                    strong(ui, count(row.counts.1)),
                ],
            );
            let (was, now) = &row.averages;
            cells(ui, [soft(ui, "on average"), soft(ui, was), soft(ui, now)]);
        }
        ui.separator();
        ui.label(soft(
            ui,
            "Counts are this attempt's, by the same chance; averages are over all chances, from the same start",
        ));
    });
}

/// A row of a name and two values, as wide as there is room, each broken into lines where it must be.
fn cells(ui: &mut Ui, texts: [RichText; 3]) {
    let gap = ui.spacing().item_spacing.x;
    let room = ui.available_width() - 2.0 * gap;
    ui.horizontal_top(|ui| {
        for (text, share) in texts.into_iter().zip([0.5, 0.25, 0.25]) {
            let layout = Layout::top_down(Align::Min);
            ui.allocate_ui_with_layout(vec2(room * share, 0.0), layout, |ui| {
                ui.set_width(room * share);
                ui.add(Label::new(text).wrap());
            });
        }
    });
}
