//! Where it is now, with the lamp on.

use bevy_egui::egui::Ui;

use crate::view::now::NowRow;
use crate::view::words::{count, lower};

use super::theme::Tokens;
use super::widgets::{heading, number_row};

/// The person first, then the kit, then the room.
pub fn rows(ui: &mut Ui, rows: &[NowRow]) {
    let t = Tokens::of(ui);
    heading(ui, "Where it is now");
    ui.spacing_mut().item_spacing.y = 0.0;
    for row in rows {
        let on_you = row.person && row.count > 0;
        let label = if on_you {
            format!("On you: {}", lower(&row.label))
        } else {
            row.label.clone()
        };
        let ink = if on_you {
            t.accent
        } else if row.count == 0 {
            t.soft
        } else {
            t.ink
        };
        number_row(ui, &label, &count(row.count), ink, on_you);
    }
}
