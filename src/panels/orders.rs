//! The best orders for a kit: the answer as cards; on request every order that nothing beats and where named sequences
//! lie.

use bevy_egui::egui::{CentralPanel, CollapsingHeader, Frame, Margin, Panel, RichText, TextStyle, Ui};

use crate::view::orders::{OrderRow, OrdersView};
use crate::view::{Command, OrdersPage};

use super::focus::group;
use super::scroll::scroll;
use super::theme::Tokens;
use super::widgets::{Weight, button, card, caution, command_button, heading, soft, strong, title};

/// The page.
pub fn page(ui: &mut Ui, page: &OrdersPage, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    // With large type in a low window the choices would leave no room for the answer: they scroll with it.
    let large = ui.available_height() < 30.0 * TextStyle::Body.resolve(ui.style()).size;
    let bar = |fill| Frame::new().fill(fill).inner_margin(Margin::symmetric(18, 8));
    Panel::top("orders top").frame(bar(t.card)).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            title(ui, "Best order");
            ui.label(strong(ui, &page.scenario));
            command_button(ui, &Command::Numbers, Weight::Plain, 0.0, out);
            command_button(ui, &Command::Back, Weight::Plain, 0.0, out);
        });
        if !large {
            choices(ui, page, out);
        }
    });
    Panel::bottom("orders caution")
        .frame(bar(t.paper))
        .show(ui, caution);
    let frame = Frame::new().fill(t.paper).inner_margin(Margin::same(12));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let of = page.targets.iter().position(|(_, chosen)| *chosen).unwrap_or(0) as u64;
        scroll("Best orders", 2 * of + u64::from(page.wide)).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 10.0;
            if large {
                choices(ui, page, out);
            }
            if let Some(done) = page.working {
                let text = format!("{}: {done} beginnings so far", page.scope);
                ui.label(strong(ui, text));
                ui.label("Close stops it");
                out.push(Command::Poll);
                ui.ctx().request_repaint();
                return;
            }
            if let Some(trouble) = &page.trouble {
                ui.label(strong(ui, trouble));
            }
            if let Some(view) = &page.view {
                found(ui, page, view, out);
            }
        });
    });
}

/// What to keep clean, and which protocols to look among.
fn choices(ui: &mut Ui, page: &OrdersPage, out: &mut Vec<Command>) {
    let at = page.targets.iter().position(|(_, chosen)| *chosen);
    group("order targets").at(at).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.label("Keep clean:");
            for (n, (label, chosen)) in page.targets.iter().enumerate() {
                let weight = if *chosen { Weight::Chosen } else { Weight::Plain };
                if button(ui, label, None, weight, 0.0).clicked() {
                    out.push(Command::OrdersFor(n));
                }
            }
        });
    });
    ui.horizontal_wrapped(|ui| {
        for (wide, label) in [
            (false, "Only what the policy asks for, in any order"),
            (true, "Any technique, any cleaning"),
        ] {
            let weight = if page.wide == wide {
                Weight::Chosen
            } else {
                Weight::Plain
            };
            if button(ui, label, None, weight, 0.0).clicked() {
                out.push(Command::OrdersWide(wide));
            }
        }
    });
}

fn found(ui: &mut Ui, page: &OrdersPage, view: &OrdersView, out: &mut Vec<Command>) {
    let answer = &view.answer;
    card(ui, |ui| {
        heading(ui, &answer.sentence);
        ui.label(&answer.scope);
        ui.label(&answer.measure);
        ui.label(soft(ui, view.caveat));
        ui.horizontal_wrapped(|ui| {
            if button(ui, "Save the picture", Some("S"), Weight::Plain, 0.0).clicked() {
                out.push(Command::SavePicture);
            }
            if let Some(told) = &page.told {
                ui.label(soft(ui, told));
            }
        });
    });
    let type_size = TextStyle::Body.resolve(ui.style()).size;
    let side_by_side = ui.available_width() >= type_size * 22.0 * answer.cards.len() as f32;
    let columns = if side_by_side { answer.cards.len() } else { 1 };
    ui.columns(columns.max(1), |columns| {
        let all = columns.len();
        for (n, way) in answer.cards.iter().enumerate() {
            card(&mut columns[n % all], |ui| {
                heading(ui, &way.title);
                ui.label(&way.figures);
                if !way.otherwise.is_empty() {
                    ui.label(strong(ui, &way.otherwise));
                }
                if !way.agreed.is_empty() {
                    ui.label(soft(ui, &way.agreed));
                }
                for (n, step) in way.order.iter().enumerate() {
                    ui.label(format!("{}. {step}", n + 1));
                }
                by_step(ui, &way.steps, ("card", n));
            });
        }
    });
    CollapsingHeader::new("Count it out")
        .id_salt("count it out")
        .show(ui, |ui| details(ui, view));
}

fn details(ui: &mut Ui, view: &OrdersView) {
    card(ui, |ui| {
        ui.label(&view.about);
        ui.label(&view.space);
    });
    card(ui, |ui| {
        heading(ui, "Named sequences");
        for row in &view.named {
            order(ui, row, ("named", row.name.as_deref().unwrap_or("")));
        }
        for line in &view.refused {
            ui.label(soft(ui, line));
        }
    });
    card(ui, |ui| {
        heading(ui, "Nothing that was searched beats these");
        for row in &view.front {
            order(ui, row, ("front", row.number));
        }
        ui.label(soft(ui, &view.hidden));
    });
}

fn by_step(ui: &mut Ui, steps: &[String], salt: impl std::hash::Hash + std::fmt::Debug) {
    CollapsingHeader::new(soft(ui, "Step by step"))
        .id_salt(salt)
        .show(ui, |ui| {
            for (n, step) in steps.iter().enumerate() {
                ui.label(format!("{}. {step}", n + 1));
            }
        });
}

fn order(ui: &mut Ui, row: &OrderRow, salt: impl std::hash::Hash + std::fmt::Debug) {
    let t = Tokens::of(ui);
    ui.separator();
    let name = match (&row.name, row.number) {
        (Some(name), _) => name.clone(),
        (None, Some(n)) => format!("{n}."),
        (None, None) => String::new(),
    };
    ui.label(strong(ui, format!("{name} {}", row.order)));
    let cleans = match row.cleans {
        1 => "hands cleaned once".to_owned(),
        n => format!("hands cleaned {n} times"),
    };
    ui.label(format!("{} expected, {}, {cleans}", row.expected, row.time));
    if !row.relation.is_empty() {
        ui.label(RichText::new(&row.relation).color(t.attention));
    }
    for line in &row.cleaning {
        ui.label(soft(ui, line));
    }
    by_step(ui, &row.steps, salt);
}
