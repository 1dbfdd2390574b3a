//! The rule that an assessment passes by, to be set before it begins.

use bevy_egui::egui::{TextEdit, TextStyle, Ui};

use crate::view::Command;
use crate::view::pass::PassView;

use super::focus::group;
use super::theme::Tokens;
use super::widgets::{Weight, button, button_named, soft, strong};

/// A field for the mark with presses that lower and raise it, a switch for each cleaning that no marks make up for, and what it comes to.
pub(super) fn rule(ui: &mut Ui, view: &PassView, out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        group("pass mark").show(ui, |ui| {
            ui.horizontal(|ui| {
                let name = ui.label("Pass mark, % of the marks");
                let mut typed = view.mark.clone();
                let width = 3.0 * TextStyle::Body.resolve(ui.style()).size;
                let usual = view.usual.trim_end_matches(" %");
                let edit = TextEdit::singleline(&mut typed)
                    .desired_width(width)
                    .hint_text(soft(ui, usual));
                if ui.add(edit).labelled_by(name.id).changed() {
                    out.push(Command::PassMark(typed));
                }
            });
        });
        group("pass steps").show(ui, |ui| {
            ui.horizontal(|ui| {
                let steps = [("\u{2212}", "A lower pass mark"), ("+", "A higher pass mark")];
                for ((shown, name), to) in steps.into_iter().zip(&view.beside) {
                    ui.add_enabled_ui(to.is_some(), |ui| {
                        let pressed = button_named(ui, shown, name, None, Weight::Plain, 0.0)
                            .on_hover_text(name)
                            .clicked();
                        if let (true, Some(to)) = (pressed, to) {
                            out.push(Command::PassMark(to.clone()));
                        }
                    });
                }
            });
        });
    });
    if !view.guards.is_empty() {
        ui.label(soft(ui, "Whatever the marks, no critical error and:"));
    }
    group("pass guards").show(ui, |ui| {
        for &(clean, words, on) in &view.guards {
            let mut now = on;
            if ui.checkbox(&mut now, words).changed() {
                out.push(Command::PassClean(clean, now));
            }
        }
    });
    if view.set {
        group("pass usual").show(ui, |ui| {
            if button(ui, "The usual rule", None, Weight::Plain, 0.0).clicked() {
                out.push(Command::PassUsual);
            }
        });
    }
    let ink = Tokens::of(ui).attention;
    for said in view.trouble.iter().chain(&view.less) {
        ui.label(strong(ui, said).color(ink));
    }
    if !view.words.is_empty() {
        ui.label(soft(ui, &view.words));
    }
}
