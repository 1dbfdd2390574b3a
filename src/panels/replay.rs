//! Seeing an attempt again: the scene, the list of what was done, and the controls.

use bevy_egui::egui::{Align, Frame, Label, Layout, Margin, Panel, Rect, Slider, TextStyle, Ui, vec2};

use crate::view::playback::Speed;
use crate::view::{Command, ReplayView};

use super::focus::group;
use super::overlay::{Over, bar, draw};
use super::screen::FromScene;
use super::scroll::scroll;
use super::theme::Tokens;
use super::widgets::{Weight, button, caution, command_button, heading, row_button, soft, strong, title};

/// Draws the page and returns what is left for the scene.
pub fn page(ui: &mut Ui, view: &ReplayView, attempt: u64, scene: &FromScene, out: &mut Vec<Command>) -> Rect {
    let t = Tokens::of(ui);
    let frame = |margin: Margin| Frame::new().fill(t.card).inner_margin(margin);
    Panel::top("replay top")
        .frame(frame(Margin::symmetric(18, 8)))
        .show(ui, |ui| top(ui, view, out));
    Panel::bottom("replay caution")
        .frame(frame(Margin::symmetric(18, 6)).fill(t.paper))
        .show(ui, caution);
    Panel::bottom("replay controls")
        .frame(frame(Margin::symmetric(18, 8)))
        .show(ui, |ui| controls(ui, view, out));
    let type_size = TextStyle::Body.resolve(ui.style()).size;
    let width = (type_size * 24.0).min(ui.available_width() * 0.45);
    Panel::right("replay side")
        .resizable(false)
        .exact_size(width)
        .frame(Frame::new().fill(t.paper).inner_margin(Margin::same(12)))
        .show(ui, |ui| steps(ui, view, attempt, out));
    let over = Over {
        lamp: view.lamp,
        lamp_may: true,
        seen_from: view.seen_from,
        mirror: None,
        names: view.names,
        trace: view.trace,
        now: view.now.as_deref(),
        just_now: view.just_now.as_ref(),
    };
    bar(ui, &over, out);
    let free = ui.available_rect_before_wrap();
    draw(ui, free, &over, scene);
    if view.playback.playing {
        // Time passes while it plays.
        let seconds = ui.input(|i| i.stable_dt).min(0.25);
        out.push(Command::Tick(seconds));
        ui.ctx().request_repaint();
    }
    free
}

fn top(ui: &mut Ui, view: &ReplayView, out: &mut Vec<Command>) {
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if view.shows_how {
                let now = button(ui, "Do it yourself", Some("F9"), Weight::Primary, 0.0);
                if now.clicked() {
                    out.push(Command::Begin);
                }
            }
            command_button(
                ui,
                &Command::Back,
                if view.shows_how {
                    Weight::Plain
                } else {
                    Weight::Primary
                },
                0.0,
                out,
            );
            let lamp = if view.lamp { "Lamp on" } else { "Lamp off" };
            let weight = if view.lamp { Weight::Chosen } else { Weight::Plain };
            if button(ui, lamp, Some("L"), weight, 0.0).clicked() {
                out.push(Command::LampSwitch);
            }
            title(ui, &view.clock);
            ui.with_layout(Layout::top_down(Align::Min), |ui| {
                ui.spacing_mut().item_spacing.y = 0.0;
                let name = strong(ui, &view.title);
                ui.add(Label::new(name).truncate());
                let sub = soft(ui, &view.sub);
                ui.add(Label::new(sub).truncate());
            });
        });
    });
}

fn controls(ui: &mut Ui, view: &ReplayView, out: &mut Vec<Command>) {
    let p = &view.playback;
    ui.horizontal_wrapped(|ui| {
        command_button(ui, &Command::StepBack, Weight::Plain, 0.0, out);
        let label = if p.playing { "Pause" } else { "Play" };
        if button(ui, label, Some("P"), Weight::Primary, 110.0).clicked() {
            out.push(Command::PlayPause);
        }
        command_button(ui, &Command::StepOn, Weight::Plain, 0.0, out);
        let mut at = p.at;
        let size = vec2(
            (ui.available_width() - 36.0 * ui.text_style_height(&TextStyle::Body)).max(120.0),
            ui.spacing().interact_size.y,
        );
        ui.scope(|ui| {
            ui.spacing_mut().slider_width = size.x;
            let line = Tokens::of(ui).line;
            ui.visuals_mut().widgets.inactive.bg_fill = line;
            let slider = Slider::new(&mut at, 0..=p.rows.len()).show_value(false);
            let named = ui.label(format!("Step {} of {}", p.at, p.rows.len()));
            if ui.add(slider).labelled_by(named.id).changed() {
                out.push(Command::Scrub(at));
            }
        });
        for (speed, label) in Speed::ALL {
            let short = match speed {
                Speed::Half => "½",
                Speed::Usual => "1",
                Speed::Double => "2",
                Speed::Fourfold => "4",
            };
            let weight = if p.speed == speed {
                Weight::Chosen
            } else {
                Weight::Plain
            };
            let named = super::widgets::button_named(ui, short, label, None, weight, 0.0);
            if named.on_hover_text(label).clicked() {
                out.push(Command::Speed(speed));
            }
        }
    });
    ui.label(strong(ui, &p.caption));
    if let Some(why) = &view.why {
        ui.label(why);
    }
}

fn steps(ui: &mut Ui, view: &ReplayView, attempt: u64, out: &mut Vec<Command>) {
    heading(ui, "What was done");
    for note in &view.notes {
        ui.label(soft(ui, note));
    }
    let at = view.playback.at.checked_sub(1);
    scroll("What was done", attempt).show(ui, |ui| {
        group("what was done").at(at).show(ui, |ui| rows(ui, view, out));
    });
}

fn rows(ui: &mut Ui, view: &ReplayView, out: &mut Vec<Command>) {
    let moved = ui.data_mut(|d| {
        let seen = d.get_temp_mut_or_insert_with(ui.id().with("at"), || usize::MAX);
        std::mem::replace(seen, view.playback.at) != view.playback.at
    });
    ui.spacing_mut().item_spacing.y = 2.0;
    for (n, (at, text)) in view.playback.rows.iter().enumerate() {
        let here = n + 1 == view.playback.at;
        let response = row_button(ui, &format!("{at}  {text}"), "", here);
        if here && moved {
            response.scroll_to_me(None);
        }
        if response.clicked() {
            out.push(Command::Scrub(n + 1));
        }
    }
}
