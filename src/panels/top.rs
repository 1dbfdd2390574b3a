//! The bar at the top of a drill: what it is, where one stands, the clock, the lamp, the end.

use bevy_egui::egui::{Align, Label, Layout, RichText, Ui};

use crate::model::Whereabouts;
use crate::view::words::sentence;
use crate::view::{Command, DrillView, LampUse};

use super::focus::group;
use super::hold::HELD;
use super::memory::memory;
use super::theme::{bold, capped};
use super::widgets::{Weight, button_named, command_button, soft};

/// The whole bar.
pub fn bar(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    let wide = ui.available_width() > 54.0 * ui.text_style_height(&bevy_egui::egui::TextStyle::Body);
    if wide {
        ui.horizontal(|ui| {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                group("finish").last().show(ui, |ui| finish(ui, out));
                group("lamp").late().show(ui, |ui| lamp(ui, view, out));
                clock(ui, view);
                ui.add_space(4.0);
                group("places").late().show(ui, |ui| {
                    for at in Whereabouts::ALL.into_iter().rev() {
                        place(ui, view, at, out);
                    }
                });
                ui.add_space(8.0);
                ui.with_layout(Layout::top_down(Align::Min), |ui| names(ui, view));
            });
        });
    } else {
        names(ui, view);
        let lamp_and_end = |ui: &mut Ui, out: &mut Vec<Command>| {
            group("lamp").late().show(ui, |ui| lamp(ui, view, out));
            group("finish").last().show(ui, |ui| finish(ui, out));
        };
        let one = ui.available_width() > 25.0 * ui.text_style_height(&bevy_egui::egui::TextStyle::Body);
        ui.horizontal(|ui| {
            group("places").late().show(ui, |ui| {
                for at in Whereabouts::ALL {
                    place(ui, view, at, out);
                }
            });
            clock(ui, view);
            if one {
                lamp_and_end(ui, out);
            }
        });
        if !one {
            ui.horizontal(|ui| lamp_and_end(ui, out));
        }
    }
}

fn names(ui: &mut Ui, view: &DrillView) {
    ui.scope(|ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        ui.add(Label::new(RichText::new(&view.title).heading()).truncate());
        capped(ui, 1.3, |ui| {
            // From where one looks, a leaf in its frame is hard to tell from one that is open.
            let door = if view.door_open { "open" } else { "shut" };
            let by = view.sequence.iter().map(|label| format!(" · {label}"));
            let sequence = soft(ui, format!("The door is {door}{}", by.collect::<String>()));
            ui.add(Label::new(sequence).truncate());
        });
    });
}

fn place(ui: &mut Ui, view: &DrillView, at: Whereabouts, out: &mut Vec<Command>) {
    let here = view.whereabouts == at;
    let command = Command::Walk(at);
    let entry = crate::view::command::entry(&command);
    let label = sentence(at.word());
    let name = if here {
        format!("{label}, you are here")
    } else {
        format!("Go: {label}")
    };
    let weight = if here { Weight::Primary } else { Weight::Plain };
    let response = button_named(ui, &label, &name, None, weight, 0.0);
    let tip = entry.map_or_else(String::new, |e| format!("{} ({})", e.tip, e.key.caption()));
    if response.on_hover_text(tip).clicked() && !here {
        out.push(command);
    }
}

fn clock(ui: &mut Ui, view: &DrillView) {
    let text = RichText::new(&view.clock).heading().family(bold());
    ui.add(Label::new(text))
        .on_hover_text("Time in the drill; every action takes its own");
}

fn finish(ui: &mut Ui, out: &mut Vec<Command>) {
    command_button(ui, &Command::Finish, Weight::Plain, 0.0, out);
}

/// A switch, a button to hold, or nothing that can be pressed, as the lamp was set.
fn lamp(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    let (label, tip) = match (view.lamp_use, view.lamp) {
        (LampUse::On, true) => ("Lamp on", "Switch the lamp off (L)"),
        (LampUse::On, false) => ("Lamp off", "Switch the lamp on (L)"),
        (LampUse::Peek, true) if view.hands_free => ("Lamp on", "Switch the lamp off (L)"),
        (LampUse::Peek, false) if view.hands_free => ("Lamp off", "Switch the lamp on (L)"),
        (LampUse::Peek, true) => ("Lamp on", "Let go to switch it off"),
        (LampUse::Peek, false) => ("Hold for lamp", "Hold this, or L, to peek"),
        (LampUse::UntilTheEnd, _) => {
            ui.label(soft(ui, "Lamp at the end"))
                .on_hover_text("What is there is shown when the drill is over");
            return;
        }
    };
    let weight = if view.lamp { Weight::Primary } else { Weight::Plain };
    let response = button_named(ui, label, label, Some("L"), weight, 0.0).on_hover_text(tip);
    if view.lamp_use == LampUse::On || view.hands_free {
        if response.clicked() {
            out.push(Command::LampSwitch);
        }
    } else {
        let down = response.interact(HELD).is_pointer_button_down_on();
        ui.data_mut(|d| d.insert_temp(memory("lamp button"), down));
    }
}
