//! The chosen site with its numbered options.

use bevy_egui::egui::text::LayoutJob;
use bevy_egui::egui::{
    Color32, CornerRadius, Id, Key, RichText, Shape, Stroke, TextFormat, TextStyle, Ui, WidgetInfo,
    WidgetType, pos2, vec2,
};

use crate::model::Pace;
use crate::view::drilling::Chosen;
use crate::view::{Choice, Command};

use super::hold::{HELD, press};
use super::theme::Tokens;
use super::widgets::{bold_font, heading, paint_cap, paint_focus, soft};

const NUMBERS: [Key; 9] = [
    Key::Num1,
    Key::Num2,
    Key::Num3,
    Key::Num4,
    Key::Num5,
    Key::Num6,
    Key::Num7,
    Key::Num8,
    Key::Num9,
];

/// The list for a site.
pub fn list(ui: &mut Ui, chosen: &Chosen, out: &mut Vec<Command>) {
    // The hand that most are done with is named once; the others say so themselves.
    let common = chosen
        .choices
        .iter()
        .find(|c| c.refused.is_none())
        .map_or("", |c| c.by.as_str());
    ui.horizontal_wrapped(|ui| {
        heading(ui, &chosen.label);
        ui.label(soft(ui, common));
    });
    for (n, choice) in chosen
        .choices
        .iter()
        .enumerate()
        .filter(|(_, c)| c.refused.is_none())
    {
        row(ui, chosen.site, n, choice, common, out);
    }
    if chosen.choices.iter().any(|c| c.paced && c.refused.is_none()) {
        ui.label(soft(
            ui,
            "Hold to do it steadily. A quick press does it in a hurry. Enter does it steadily",
        ));
    }
    not_now(ui, &chosen.choices);
}

/// What stands in the way of the rest, each reason once with all that it stops.
fn not_now(ui: &mut Ui, choices: &[Choice]) {
    let t = Tokens::of(ui);
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for choice in choices {
        let Some(reason) = choice.refused.as_deref() else {
            continue;
        };
        match reasons.iter_mut().find(|(r, _)| *r == reason) {
            Some((_, labels)) => labels.push(&choice.label),
            None => reasons.push((reason, vec![&choice.label])),
        }
    }
    for (reason, labels) in reasons {
        ui.add_space(2.0);
        ui.separator();
        ui.label(RichText::new(format!("Not now: {reason}")).small().color(t.ink));
        for label in labels {
            ui.label(soft(ui, format!("·  {label}")));
        }
    }
}

fn row(ui: &mut Ui, site: usize, n: usize, choice: &Choice, common: &str, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let pad = vec2(8.0, 6.0);
    let body = TextStyle::Body.resolve(ui.style());
    let small = TextStyle::Small.resolve(ui.style());
    let cap = small.size + 20.0;
    let ring = if choice.paced { 26.0 } else { 0.0 };
    let width = ui.available_width();
    let mut job = LayoutJob::default();
    job.wrap.max_width = (width - 2.0 * pad.x - cap - ring).max(80.0);
    job.append(&choice.label, 0.0, TextFormat::simple(body, t.ink));
    if choice.by != common {
        let by = format!("  {}", choice.by);
        job.append(&by, 0.0, TextFormat::simple(small, t.soft));
    }
    let galley = ui.painter().layout_job(job);
    let height = (galley.size().y + 2.0 * pad.y).max(ui.spacing().interact_size.y);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), HELD);
    let number = (n + 1).to_string();
    let name = format!("{number} {} {}", choice.label, choice.by);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, name.trim()));
    let mut ring_share = 0.0;
    if choice.paced {
        let id = Id::new(("option", site, n));
        let pressed = press(ui, id, &response, NUMBERS.get(n).copied());
        ring_share = pressed.ring;
        if let Some(pace) = pressed.pace {
            out.push(Command::Option(n, pace));
        }
    } else if response.clicked() || number_pressed(ui, n) {
        out.push(Command::Option(n, Pace::Steady));
    }
    let hot = response.hovered() || response.has_focus() || ring_share > 0.0;
    let ground = if hot { t.tint } else { Color32::TRANSPARENT };
    ui.painter().rect_filled(rect, CornerRadius::same(8), ground);
    paint_cap(ui, rect.left() + pad.x, rect.center().y, &number, t.ink, t.card);
    let at = pos2(rect.left() + pad.x + cap, rect.center().y - galley.size().y * 0.5);
    ui.painter().galley(at, galley, t.ink);
    if choice.paced && hot {
        let centre = pos2(rect.right() - pad.x - 10.0, rect.center().y);
        ui.painter().circle_stroke(centre, 9.0, Stroke::new(3.0, t.line));
        ui.painter()
            .add(arc(centre, 9.0, ring_share, Stroke::new(3.5, t.accent)));
    }
    paint_focus(ui, &response);
}

fn number_pressed(ui: &Ui, n: usize) -> bool {
    let Some(&key) = NUMBERS.get(n) else { return false };
    !ui.ctx().text_edit_focused()
        && ui.input(|i| {
            i.events.iter().any(|e| {
            matches!(e, bevy_egui::egui::Event::Key { key: k, pressed: true, repeat: false, modifiers, .. }
                if *k == key && !modifiers.ctrl && !modifiers.alt)
        })
        })
}

/// Part of a circle, clockwise from the top.
pub fn arc(centre: bevy_egui::egui::Pos2, radius: f32, share: f32, stroke: Stroke) -> Shape {
    let steps = (64.0 * share.clamp(0.0, 1.0)).ceil() as usize;
    let points = (0..=steps)
        .map(|i| {
            let turn = std::f32::consts::TAU * share.clamp(0.0, 1.0) * i as f32 / steps.max(1) as f32;
            centre + radius * vec2(turn.sin(), -turn.cos())
        })
        .collect();
    Shape::line(points, stroke)
}

/// What to read where no site is chosen.
pub fn nothing_chosen(ui: &mut Ui) {
    heading(ui, "Nothing chosen");
    ui.label("Point at something and click it, pick from what is still on, or press S for a list of everything in reach");
    let font = bold_font(ui, &TextStyle::Small);
    ui.label(RichText::new("Number keys pick what to do").font(font));
}
