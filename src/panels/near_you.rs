//! How near it came where nothing ended on the person.

use bevy_egui::egui::Ui;

use crate::view::Command;
use crate::view::near_you::NearView;
use crate::view::words::count;

use super::widgets::{card, heading, row_button, soft, strong};

/// The card: each thing that was clean and met some, with the most that was there.
pub fn card_of(ui: &mut Ui, near: &NearView, unit: &str, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, "Nothing is left on you");
        if near.rows.is_empty() {
            ui.label("Nothing that was clean at the start has met any");
            return;
        }
        ui.label(if near.on_person {
            "Some was on you for a while, and came off again"
        } else {
            "At no moment was any on you"
        });
        ui.add_space(4.0);
        ui.label(strong(ui, "How near it came"));
        ui.label(soft(
            ui,
            format!("What was clean and met some, nearest to you first, with the most that was there after any step, in {unit}. Press one to see it again"),
        ));
        for row in &near.rows {
            let left = match row.left {
                left if left == row.most => String::new(),
                0 => ", none at the end".to_owned(),
                left => format!(", {} at the end", count(left)),
            };
            let label = format!("{}\n{}  {}", row.label, row.at, row.text);
            let remark = format!("{}{left}", count(row.most));
            if row_button(ui, &label, &remark, false).clicked() {
                out.push(Command::See(row.action));
            }
        }
        if near.more > 0 {
            ui.label(soft(ui, format!("{} more met some", near.more)));
        }
    });
}
