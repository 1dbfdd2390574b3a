//! Why it is where it is: a flow, and every touch with its share.

use bevy_egui::egui::{RichText, Ui};

use crate::report::flow_drawing;
use crate::view::Command;
use crate::view::why::WhyView;
use crate::view::words::{count, lower};

use super::drawing;
use super::theme::Tokens;
use super::widgets::{card, heading, row_button, soft, strong};

/// The card of one place.
pub fn card_of(ui: &mut Ui, why: &WhyView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        let t = Tokens::of(ui);
        ui.horizontal_wrapped(|ui| {
            heading(ui, "Why:");
            let text = format!("{} on the {}", count(why.count), lower(&why.label));
            ui.label(RichText::new(text).heading().color(t.accent));
        });
        if why.count == 0 {
            ui.label("Nothing is there");
            return;
        }
        let size = ui.text_style_height(&bevy_egui::egui::TextStyle::Body) * 0.8;
        let width = ui.available_width();
        let lines = why.flow.sources.len().max(why.flow.stops.len()).clamp(2, 6) as f32;
        let height = size * (3.0 + 2.4 * lines);
        let picture = flow_drawing(&why.flow, f64::from(width), f64::from(height), f64::from(size));
        drawing::show(ui, &picture, width, &spoken(why));
        ui.label(soft(ui, "Counted in this run; nothing is counted twice"));
        if why.touches.is_empty() {
            return;
        }
        ui.add_space(4.0);
        ui.label(strong(ui, "Touches that carried it, with their shares"));
        for touch in &why.touches {
            let label = format!("{}  {}\n{}", touch.at, touch.text, touch.way);
            let response = row_button(ui, &label, &touch.percent, false).on_hover_ui(|ui| {
                ui.label("Press to see it again");
                for line in &touch.sources {
                    ui.label(soft(ui, line));
                }
            });
            if response.clicked() {
                out.push(Command::See(touch.action));
            }
        }
        if let Some(small) = &why.small {
            ui.label(soft(ui, small));
        }
        if let Some(unmoved) = &why.unmoved {
            ui.label(soft(ui, unmoved));
        }
    });
}

/// The flow in words.
fn spoken(why: &WhyView) -> String {
    let part = |list: &[(String, f64)]| {
        list.iter()
            .map(|(label, amount)| format!("{label} {amount:.0}"))
            .collect::<Vec<_>>()
            .join(", ")
    };
    format!(
        "At the start: {}. Came from: {}. Ended on {}",
        part(&why.flow.sources),
        part(&why.flow.stops),
        why.flow.end
    )
}
