//! The best orders for a kit: the front as a picture, each protocol in words, and where named sequences lie.

use bevy_egui::egui::{CentralPanel, CollapsingHeader, Frame, Margin, Panel, RichText, ScrollArea, Ui};

use crate::view::orders::{OrderRow, OrdersView};
use crate::view::{Command, OrdersPage};

use super::drawing;
use super::theme::Tokens;
use super::widgets::{Weight, button, card, caution, command_button, heading, soft, strong, title};

/// The page.
pub fn page(ui: &mut Ui, page: &OrdersPage, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let bar = |fill| Frame::new().fill(fill).inner_margin(Margin::symmetric(18, 8));
    Panel::top("orders top").frame(bar(t.card)).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            title(ui, "Best order");
            ui.label(strong(ui, &page.scenario));
            command_button(ui, &Command::Numbers, Weight::Plain, 0.0, out);
            command_button(ui, &Command::Back, Weight::Plain, 0.0, out);
        });
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
    Panel::bottom("orders caution")
        .frame(bar(t.paper))
        .show(ui, caution);
    let frame = Frame::new().fill(t.paper).inner_margin(Margin::same(12));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        if let Some(done) = page.working {
            let text =
                format!("Looking at every order, technique and place for a rub: {done} beginnings so far");
            ui.label(strong(ui, text));
            ui.label("Close stops it. A large kit takes half a minute");
            out.push(Command::Poll);
            ui.ctx().request_repaint();
            return;
        }
        if let Some(trouble) = &page.trouble {
            ui.label(strong(ui, trouble));
        }
        let Some(view) = &page.view else { return };
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 10.0;
            found(ui, page, view, out);
        });
    });
}

fn found(ui: &mut Ui, page: &OrdersPage, view: &OrdersView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, &view.heading);
        ui.label(&view.about);
        ui.label(&view.space);
        ui.label(strong(ui, view.caveat));
        ui.horizontal_wrapped(|ui| {
            if button(ui, "Save the picture", Some("S"), Weight::Plain, 0.0).clicked() {
                out.push(Command::SavePicture);
            }
            if let Some(told) = &page.told {
                ui.label(soft(ui, told));
            }
        });
    });
    if let Some(picture) = &page.picture {
        let width = ui.available_width().min(1200.0);
        drawing::show(
            ui,
            picture,
            width,
            "Expected count against time, one mark for each order that nothing beats",
        );
    }
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
        heading(ui, "Nothing beats these");
        for row in &view.front {
            order(ui, row, ("front", row.number));
        }
        ui.label(soft(ui, &view.hidden));
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
    CollapsingHeader::new(soft(ui, "Step by step"))
        .id_salt(salt)
        .show(ui, |ui| {
            for (n, step) in row.steps.iter().enumerate() {
                ui.label(format!("{}. {step}", n + 1));
            }
        });
}
