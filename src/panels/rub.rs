//! The rub panel: doses, then hold while the ring fills and zone after zone is covered.

use bevy_egui::egui::{
    Align2, Checkbox, CornerRadius, Event, Key, PointerButton, Pos2, Rect, Response, Shape, Stroke,
    StrokeKind, TextStyle, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

use crate::model::Zone;
use crate::view::Command;
use crate::view::rub::RubView;
use crate::view::words::sentence;

use super::hold::HELD;
use super::memory::{just_opened, memory};
use super::theme::Tokens;
use super::widgets::{Weight, bold_font, button, button_named, heading, paint_focus, soft};

/// The panel.
pub fn panel(ui: &mut Ui, view: &RubView, out: &mut Vec<Command>) {
    heading(ui, &view.title);
    ui.label(soft(ui, format!("With {}, {:.1} ml", view.product, view.amount)));
    ui.horizontal_wrapped(|ui| {
        ui.label("Doses");
        for doses in 1..=4_u32 {
            let weight = if doses == view.doses {
                Weight::Chosen
            } else {
                Weight::Plain
            };
            let name = if doses == 1 {
                "1 dose".to_owned()
            } else {
                format!("{doses} doses")
            };
            if button_named(ui, &doses.to_string(), &name, None, weight, 40.0).clicked() && view.held == 0.0 {
                out.push(Command::Doses(doses));
            }
        }
    });
    if let Some((mut too, _)) = view.forearms {
        let asked = ui.add_enabled(view.held == 0.0, Checkbox::new(&mut too, "Bare forearms first"));
        if asked.changed() {
            out.push(Command::Forearms(too));
        }
    }
    let ring = ring(ui, view);
    let going = follow(ui, view, &ring, out);
    if going {
        let speed = if view.speed > 1.0 {
            format!(", {:.0} times faster", view.speed)
        } else {
            String::new()
        };
        let stop = if view.hands_free {
            "Press again to stop"
        } else {
            "Let go to stop"
        };
        ui.label(soft(ui, format!("{stop}{speed}")));
    } else if view.hands_free {
        ui.label(soft(ui, "Press the ring, or Space, to start and again to stop"));
    } else {
        ui.label(soft(ui, "Hold the ring, or Space, to go on; letting go ends it"));
    }
    ui.horizontal_wrapped(|ui| {
        let mut free = view.hands_free;
        if ui.checkbox(&mut free, "Without holding down").changed() {
            out.push(Command::HandsFree(free));
        }
        if view.held == 0.0 && button(ui, "Leave it", Some("Esc"), Weight::Plain, 0.0).clicked() {
            out.push(Command::Unchoose);
        }
    });
}

/// Turns holding, or a press to start and one to stop, into seconds of rubbing. True while it goes on.
fn follow(ui: &Ui, view: &RubView, ring: &Response, out: &mut Vec<Command>) -> bool {
    let id = memory("rub");
    // What was under way when the panel was closed is over.
    let opened = just_opened(ui.ctx(), "rub panel");
    let before: Option<f64> = ui.data(|d| d.get_temp::<Option<f64>>(id)).flatten();
    let before = before.filter(|_| !opened);
    let typing = ui.ctx().text_edit_focused();
    let space_down = !typing && ui.input(|i| i.key_down(Key::Space));
    let going = if view.hands_free {
        // A key that is held down repeats itself, and each time would click a ring that has the focus.
        let pressed = ring.clicked_by(PointerButton::Primary)
            || (!typing && pressed_anew(ui, Key::Space))
            || (ring.has_focus() && pressed_anew(ui, Key::Enter));
        before.is_some() != pressed
    } else {
        ring.is_pointer_button_down_on() || space_down
    };
    let now = ui.input(|i| i.time);
    if let Some(last) = before {
        out.push(Command::RubFor((now - last).max(0.0) * view.speed));
    }
    let going = going && !view.full;
    if before.is_some() && !going {
        out.push(Command::RubDone);
    }
    if going {
        ui.ctx().request_repaint();
    }
    ui.data_mut(|d| d.insert_temp(id, going.then_some(now)));
    going
}

/// True if a key went down in this frame, and was not down before.
fn pressed_anew(ui: &Ui, wanted: Key) -> bool {
    ui.input(|i| {
        i.events.iter().any(
            |event| matches!(event, Event::Key { key, pressed: true, repeat: false, .. } if *key == wanted),
        )
    })
}

fn ring(ui: &mut Ui, view: &RubView) -> Response {
    let t = Tokens::of(ui);
    let size = 9.0 * TextStyle::Body.resolve(ui.style()).size;
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(vec2(width, size), HELD);
    let how = if view.hands_free { "Press to" } else { "Hold to" };
    let name = match view.untold {
        true => format!("{how} {}, {:.0} seconds", view.verb, view.held),
        false => format!(
            "{how} {}, {:.0} of {:.0} seconds",
            view.verb, view.held, view.asked
        ),
    };
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &name));
    let painter = ui.painter();
    let radius = size * 0.44;
    let centre = pos2(rect.left() + radius + 8.0, rect.center().y);
    // Like a second hand where nothing says how far it is.
    let share = match view.untold {
        true => (view.held / 60.0).fract() as f32,
        false => (view.held / view.asked) as f32,
    };
    painter.circle(
        centre,
        radius - 8.0,
        if response.hovered() { t.tint } else { t.paper },
        Stroke::NONE,
    );
    painter.circle_stroke(centre, radius - 4.0, Stroke::new(7.0, t.line));
    painter.add(arc(
        centre,
        radius - 4.0,
        share.min(1.0),
        Stroke::new(8.0, t.accent),
    ));
    let title = bold_font(ui, &TextStyle::Heading);
    let small = TextStyle::Small.resolve(ui.style());
    if view.untold {
        let held = format!("{:.0} s", view.held);
        painter.text(centre, Align2::CENTER_CENTER, held, title, t.ink);
        paint_focus(ui, &response);
        return response;
    }
    painter.text(
        centre,
        Align2::CENTER_BOTTOM,
        format!("{:.0} s", view.held),
        title,
        t.ink,
    );
    painter.text(
        centre + vec2(0.0, 2.0),
        Align2::CENTER_TOP,
        format!("of {:.0} s", view.asked),
        small,
        t.soft,
    );
    zones(
        ui,
        view,
        Rect::from_min_max(pos2(centre.x + radius + 12.0, rect.top()), rect.max),
    );
    paint_focus(ui, &response);
    response
}

/// Part of a circle, clockwise from the top.
fn arc(centre: Pos2, radius: f32, share: f32, stroke: Stroke) -> Shape {
    let steps = (64.0 * share.clamp(0.0, 1.0)).ceil() as usize;
    let points = (0..=steps)
        .map(|i| {
            let turn = std::f32::consts::TAU * share.clamp(0.0, 1.0) * i as f32 / steps.max(1) as f32;
            centre + radius * vec2(turn.sin(), -turn.cos())
        })
        .collect();
    Shape::line(points, stroke)
}

/// The zones in turn, each with a bar that fills, a tick once it is covered, and its name.
fn zones(ui: &Ui, view: &RubView, rect: Rect) {
    let t = Tokens::of(ui);
    let font = TextStyle::Small.resolve(ui.style());
    let arms = view
        .forearms
        .filter(|(too, _)| *too)
        .map(|(_, share)| ("forearms", share));
    let zones = view.zones.iter().map(|(zone, share)| (zone_words(*zone), *share));
    let rows: Vec<(&str, f64)> = arms.into_iter().chain(zones).collect();
    let step = rect.height() / rows.len().max(1) as f32;
    for (n, (words, share)) in rows.into_iter().enumerate() {
        let middle = rect.top() + step * (n as f32 + 0.5);
        let bar = Rect::from_center_size(
            pos2(rect.left() + 22.0, middle),
            vec2(44.0, (step * 0.5).min(12.0)),
        );
        ui.painter().rect(
            bar,
            CornerRadius::same(4),
            t.paper,
            Stroke::new(1.0, t.soft),
            StrokeKind::Inside,
        );
        let mut full = bar;
        full.set_width(bar.width() * share as f32);
        ui.painter().rect_filled(full, CornerRadius::same(4), t.accent);
        let done = if share >= 1.0 { "✔ " } else { "" };
        let ink = if share > 0.0 { t.ink } else { t.soft };
        ui.painter().text(
            pos2(bar.right() + 8.0, middle),
            Align2::LEFT_CENTER,
            format!("{done}{}", sentence(words)),
            font.clone(),
            ink,
        );
    }
}

fn zone_words(zone: Zone) -> &'static str {
    match zone {
        Zone::Palm => "palms",
        Zone::BackOfHand => "backs of hands",
        Zone::FingerPads => "fingers, palm side",
        Zone::Thumb => "thumbs",
        Zone::Fingertips => "fingertips",
        Zone::Wrist => "wrists",
    }
}
