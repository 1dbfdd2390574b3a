//! What if: choose a step, choose a change, see both outcomes.

use bevy_egui::egui::{Grid, RichText, Ui};

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
            "Choose a step, then what you might have done instead. The luck stays the same",
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
        Grid::new("both outcomes")
            .num_columns(5)
            .spacing([22.0, 6.0])
            .show(ui, |ui| {
                for head in [
                    "",
                    "As it was",
                    "What if",
                    "On average, as it was",
                    "On average, what if",
                ] {
                    ui.label(soft(ui, head));
                }
                ui.end_row();
                for row in &both.rows {
                    ui.label(&row.label);
                    ui.label(strong(ui, count(row.counts.0)));
                    ui.label(strong(ui, count(row.counts.1)));
                    ui.label(&row.averages.0);
                    ui.label(&row.averages.1);
                    ui.end_row();
                }
            });
        ui.label(soft(
            ui,
            "The first two are this run's luck; averages are exact, from the same start",
        ));
    });
}
