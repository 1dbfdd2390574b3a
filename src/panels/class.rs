//! Two ways side by side for a class: choose, ask, watch in step, then the odds.

use bevy_egui::egui::{
    CentralPanel, ComboBox, CornerRadius, FontId, Frame, Margin, Panel, Rect, RichText, Stroke, TextFormat,
    TextStyle, Ui, pos2, text::LayoutJob, vec2,
};

use crate::view::Command;
use crate::view::class::{ClassView, Drawn, Guess, OddsView, OwnPair, SideView, Stage};

use super::focus::group;
use super::scroll::scroll;
use super::theme::{Tokens, bold, capped};
use super::widgets::{
    Weight, button, card, caution, command_button, heading, radio_row, soft, strong, title,
};
use super::{drawing, overlay};

/// Draws the page and returns what is left for the two scenes.
pub fn page(ui: &mut Ui, view: &ClassView, out: &mut Vec<Command>) -> Option<Rect> {
    let t = Tokens::of(ui);
    if let (true, Stage::Odds, Some(odds)) = (view.whole, view.stage, &view.odds) {
        whole(ui, odds);
        return None;
    }
    let bar = |fill| Frame::new().fill(fill).inner_margin(Margin::symmetric(18, 8));
    Panel::top("class top").frame(bar(t.card)).show(ui, |ui| {
        group("class top").late().show(ui, |ui| top(ui, view, out))
    });
    Panel::bottom("class caution")
        .frame(bar(t.paper))
        .show(ui, caution);
    match view.stage {
        Stage::Odds => {
            odds_page(ui, view, out);
            None
        }
        Stage::Predict | Stage::Watch => {
            Panel::bottom("class controls")
                .frame(bar(t.card))
                .show(ui, |ui| controls(ui, view, out));
            if view.stage == Stage::Predict {
                let type_size = TextStyle::Body.resolve(ui.style()).size;
                Panel::left("class duels")
                    .resizable(false)
                    .exact_size((type_size * 20.0).min(ui.available_width() * 0.4))
                    .frame(Frame::new().fill(t.paper).inner_margin(Margin::same(12)))
                    .show(ui, |ui| duels(ui, view, out));
            }
            captions(ui, view, bar(t.card));
            let free = ui.available_rect_before_wrap();
            parted(ui, free);
            landed(ui, free, view);
            if view.playing {
                let seconds = ui.input(|i| i.stable_dt).min(0.25);
                out.push(Command::Tick(seconds));
                ui.ctx().request_repaint();
            }
            Some(free)
        }
    }
}

fn top(ui: &mut Ui, view: &ClassView, out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        title(ui, "Side by side");
        for (stage, command, label, key) in [
            (Stage::Predict, Command::ClassStage(Stage::Predict), "Ask", "1"),
            (Stage::Watch, Command::ClassStage(Stage::Watch), "Watch", "2"),
            (Stage::Odds, Command::ClassStage(Stage::Odds), "Odds", "3"),
        ] {
            let weight = if view.stage == stage {
                Weight::Chosen
            } else {
                Weight::Plain
            };
            if button(ui, label, Some(key), weight, 0.0).clicked() {
                out.push(command);
            }
        }
        command_button(ui, &Command::LargeType, Weight::Plain, 0.0, out);
        command_button(ui, &Command::Numbers, Weight::Plain, 0.0, out);
        command_button(ui, &Command::Back, Weight::Plain, 0.0, out);
    });
    ui.label(RichText::new(&view.question).heading());
    ui.label(soft(ui, &view.sub));
}

fn duels(ui: &mut Ui, view: &ClassView, out: &mut Vec<Command>) {
    scroll("What to compare", 0).show(ui, |ui| {
        let at = view.duels.iter().position(|(_, chosen)| *chosen);
        group("duels").at(at).show(ui, |ui| {
            card(ui, |ui| {
                heading(ui, "What to compare");
                for (n, (label, chosen)) in view.duels.iter().enumerate() {
                    if radio_row(ui, *chosen, label, "").clicked() {
                        out.push(Command::Duel(n));
                    }
                }
            });
        });
        ui.add_space(8.0);
        if let Some(pair) = &view.own {
            card(ui, |ui| own(ui, pair, out));
            ui.add_space(8.0);
        }
        group("guess").show(ui, |ui| {
            card(ui, |ui| {
                heading(ui, "What does the class say?");
                for (guess, label) in [
                    (Guess::First, view.labels[0].as_str()),
                    (Guess::Second, view.labels[1].as_str()),
                    (Guess::Same, "Much the same"),
                ] {
                    if radio_row(ui, view.guess == Some(guess), label, "").clicked() {
                        out.push(Command::Guess(guess));
                    }
                }
                ui.label(soft(ui, "Which brings less on to the skin"));
            })
        });
    });
}

/// Any two ways of the scenario that was chosen on the first page.
fn own(ui: &mut Ui, pair: &OwnPair, out: &mut Vec<Command>) {
    heading(ui, "Your own pair");
    ui.label(soft(ui, &pair.scenario));
    for side in 0..2 {
        let mut chosen = pair.chosen;
        let text = pair.ways.get(chosen[side]).map_or("", String::as_str);
        let name = ["Left side", "Right side"][side];
        let width = ui.available_width() - 16.0;
        let label = ui.label(name);
        let combo = ComboBox::from_id_salt(name)
            .selected_text(text)
            .width(width)
            .truncate()
            .show_ui(ui, |ui| {
                for (n, way) in pair.ways.iter().enumerate() {
                    ui.selectable_value(&mut chosen[side], n, way);
                }
            });
        combo.response.labelled_by(label.id);
        if chosen != pair.chosen {
            out.push(Command::OwnPair(chosen));
        }
    }
    if !pair.on && button(ui, "Show this pair", None, Weight::Plain, 0.0).clicked() {
        out.push(Command::OwnPair(pair.chosen));
    }
}

fn controls(ui: &mut Ui, view: &ClassView, out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        if view.stage == Stage::Predict {
            if button(ui, "Watch both", Some("2"), Weight::Primary, 160.0).clicked() {
                out.push(Command::ClassStage(Stage::Watch));
            }
            return;
        }
        command_button(ui, &Command::StepBack, Weight::Plain, 0.0, out);
        let label = if view.playing { "Pause" } else { "Play" };
        if button(ui, label, Some("P"), Weight::Primary, 110.0).clicked() {
            out.push(Command::PlayPause);
        }
        command_button(ui, &Command::StepOn, Weight::Plain, 0.0, out);
        let weight = if view.ended {
            Weight::Primary
        } else {
            Weight::Plain
        };
        if button(ui, "Show the odds", Some("3"), weight, 0.0).clicked() {
            out.push(Command::ClassStage(Stage::Odds));
        }
        overlay::legend(ui, view.lamp, view.seen_from);
    });
}

/// What each side is and where it stands, beneath its half of the scene, so that no leg and nothing dropped is covered. As
/// high whatever is said, or the scenes would jump.
fn captions(ui: &mut Ui, view: &ClassView, frame: Frame) {
    const MOST: f32 = 1.3;
    let size = |style: TextStyle| style.resolve(ui.style()).size;
    let cap = (MOST * 16.0 / size(TextStyle::Body)).min(1.0);
    // A heading, a step of two lines and a line of counts, with what the frame and the gaps between them take.
    let high = cap * 1.35 * (size(TextStyle::Heading) + 3.0 * size(TextStyle::Body)) + 24.0;
    Panel::bottom("class sides")
        .resizable(false)
        .exact_size(high)
        .frame(frame)
        .show(ui, |ui| {
            capped(ui, MOST, |ui| {
                ui.spacing_mut().item_spacing.y = 2.0;
                // Nothing here is pressed: rows are as high as their text.
                ui.spacing_mut().interact_size.y = 0.0;
                ui.columns(view.sides.len(), |columns| {
                    for (ui, side) in columns.iter_mut().zip(&view.sides) {
                        caption(ui, side);
                    }
                });
            });
        });
}

/// The line between the two scenes.
fn parted(ui: &Ui, free: Rect) {
    let t = Tokens::of(ui);
    let x = free.center().x;
    ui.painter().line_segment(
        [pos2(x, free.top()), pos2(x, free.bottom())],
        Stroke::new(2.0, t.line),
    );
}

/// Where it landed, over each half of the scene once both have come to their end: read from the back of a room.
fn landed(ui: &Ui, free: Rect, view: &ClassView) {
    if !(view.ended && view.lamp) {
        return;
    }
    let t = Tokens::of(ui);
    let size = (free.height() * 0.05).clamp(16.0, 44.0);
    for (n, side) in view.sides.iter().enumerate() {
        let left = free.left() + free.width() * 0.5 * n as f32;
        let room = free.width() * 0.5 - 2.0 * size;
        let mut job = LayoutJob::default();
        job.wrap.max_width = room;
        let big = TextFormat::simple(FontId::new(size * 1.5, bold()), t.label_ink);
        let small = TextFormat::simple(FontId::new(size * 0.62, bold()), t.label_ink);
        job.append(&format!("{} on skin", side.on_skin.0), 0.0, big);
        job.append("\nin this one go of each", 0.0, small.clone());
        if side.unseen {
            job.append("\ntoo few on any one place to be seen", 0.0, small.clone());
        }
        for (place, count) in &side.landed {
            job.append(&format!("\n{place}: {count}"), 0.0, small.clone());
        }
        let galley = ui.painter().layout_job(job);
        let ground = Rect::from_min_size(
            pos2(left + size * 0.5, free.top() + size * 0.4),
            galley.size() + vec2(size, size * 0.6),
        );
        ui.painter()
            .rect_filled(ground, CornerRadius::same(8), t.label_ground.gamma_multiply(0.85));
        let at = ground.min + vec2(size * 0.5, size * 0.3);
        ui.painter().galley(at, galley, t.label_ink);
    }
}

fn caption(ui: &mut Ui, side: &SideView) {
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(&side.label).heading());
        ui.label(soft(
            ui,
            format!("{} · step {} of {}", side.clock, side.at.0, side.at.1),
        ));
    });
    ui.label(strong(ui, &side.caption));
    ui.horizontal_wrapped(|ui| {
        ui.label(strong(ui, format!("On skin: {}", side.on_skin.0)));
        ui.label(format!("Eyes, nostrils, lips: {}", side.on_skin.1));
    });
}

fn odds_page(ui: &mut Ui, view: &ClassView, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let frame = Frame::new().fill(t.paper).inner_margin(Margin::same(12));
    let type_size = TextStyle::Body.resolve(ui.style()).size;
    Panel::right("class note")
        .resizable(false)
        .exact_size((type_size * 22.0).min(ui.available_width() * 0.42))
        .frame(frame)
        .show(ui, |ui| {
            scroll("What is known", 0).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 8.0;
                if let Some(odds) = &view.odds {
                    told(ui, odds, out);
                }
                if !view.known.is_empty() {
                    note(ui, view);
                }
            });
        });
    CentralPanel::default().frame(frame).show(ui, |ui| {
        if let Some(share) = view.working {
            ui.label(strong(ui, format!("Counting: {:.0} %", 100.0 * share)));
            out.push(Command::Poll);
            ui.ctx().request_repaint();
            return;
        }
        if let Some(trouble) = &view.trouble {
            ui.label(strong(ui, trouble));
        }
        let Some(odds) = &view.odds else { return };
        ui.horizontal_wrapped(|ui| {
            for (drawn, label) in [
                (Drawn::People, "Of 100 people"),
                (Drawn::Intervals, "Every place"),
                (Drawn::Spread, "How much"),
            ] {
                let weight = if odds.drawn == drawn {
                    Weight::Chosen
                } else {
                    Weight::Plain
                };
                if button(ui, label, None, weight, 0.0).clicked() {
                    out.push(Command::OddsDrawn(drawn));
                }
            }
            command_button(ui, &Command::Whole, Weight::Plain, 0.0, out);
            if button(ui, "Save the picture", Some("S"), Weight::Plain, 0.0).clicked() {
                out.push(Command::SavePicture);
            }
            if let Some(told) = &view.told {
                ui.label(soft(ui, told));
            }
        });
        let room = ui.available_size();
        let width = room
            .x
            .min(room.y * (odds.picture.width / odds.picture.height) as f32);
        drawing::show(ui, &odds.picture, width, &odds.spoken);
    });
}

/// The picture alone, as large as the window: at 1920 by 1080 no text is smaller than 24 pixels.
fn whole(ui: &mut Ui, odds: &OddsView) {
    let frame = Frame::new().fill(Tokens::of(ui).paper);
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let room = ui.available_size();
        let width = room
            .x
            .min(room.y * (odds.picture.width / odds.picture.height) as f32);
        ui.vertical_centered(|ui| drawing::show(ui, &odds.picture, width, &odds.spoken));
    });
}

fn told(ui: &mut Ui, odds: &OddsView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        if let Some(guess) = &odds.guess {
            ui.label(strong(ui, guess));
            ui.add_space(4.0);
        }
        ui.label(soft(ui, format!("Of people: {}", odds.measure)));
        for (people, verdict) in &odds.verdicts {
            ui.label(strong(ui, people));
            ui.label(RichText::new(verdict).heading());
        }
        ui.label(soft(ui, odds.so_says));
        if let Some(sure) = &odds.sure {
            ui.label(soft(ui, sure));
        }
        if let Some(scripts) = &odds.scripts {
            ui.label(soft(ui, scripts));
        }
        if let Some(stress) = &odds.stress {
            ui.label(soft(ui, stress));
        }
    });
    card(ui, |ui| {
        heading(ui, "Where");
        ui.spacing_mut().item_spacing.y = 2.0;
        for (n, (label, chosen)) in odds.targets.iter().enumerate() {
            if radio_row(ui, *chosen, label, "").clicked() {
                out.push(Command::OddsTarget(n));
            }
        }
    });
}

fn note(ui: &mut Ui, view: &ClassView) {
    card(ui, |ui| {
        heading(ui, "What is known");
        ui.label(&view.known);
        heading(ui, "What is open");
        ui.label(&view.open);
        for source in &view.sources {
            ui.label(soft(ui, source));
        }
    });
}
