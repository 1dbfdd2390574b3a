//! A lesson: what stands on the wall, hands to be counted, what a step opens, and the exercise with lotion and a lamp. The trainer's
//! notes are shown only when they are asked for.

use bevy_egui::egui::{
    Align, CentralPanel, DragValue, FontId, Frame, Label, Layout, Margin, Panel, Rect, RichText, Sense,
    Stroke, StrokeKind, TextStyle, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2,
};

use crate::view::exercise::{ExerciseView, PlaceView};
use crate::view::lesson::{LessonPage, LessonView, MOST_HANDS, ShownView};
use crate::view::{Command, Page};

use super::body::{both_sides, place as place_at};
use super::drawing;
use super::focus::group;
use super::memory::memory;
use super::scroll::scroll;
use super::theme::{Tokens, bold};
use super::widgets::{
    Weight, attention_card, button, button_named, card, caution, command_button, heading, radio_row, soft,
    strong,
};

/// The page.
pub fn page(ui: &mut Ui, page: &LessonPage, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let bar = |fill| Frame::new().fill(fill).inner_margin(Margin::symmetric(18, 8));
    Panel::top("lesson top")
        .frame(bar(t.card))
        .show(ui, |ui| top(ui, page, out));
    Panel::bottom("lesson caution")
        .frame(bar(t.paper))
        .show(ui, caution);
    if let Some(lesson) = &page.lesson {
        Panel::bottom("lesson controls")
            .frame(bar(t.card))
            .show(ui, |ui| controls(ui, lesson, out));
    }
    let frame = Frame::new().fill(t.paper).inner_margin(Margin::same(14));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let at = page.lesson.as_ref().map_or(0, |l| l.at.0 as u64);
        scroll("Lesson", at).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 10.0;
            for told in [&page.told, &page.refusal].into_iter().flatten() {
                ui.label(strong(ui, told));
            }
            match &page.lesson {
                None => lessons(ui, page, out),
                Some(lesson) => step(ui, lesson, out),
            }
        });
    });
}

fn top(ui: &mut Ui, page: &LessonPage, out: &mut Vec<Command>) {
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            group("lesson top").late().show(ui, |ui| {
                command_button(ui, &Command::Back, Weight::Plain, 0.0, out);
                command_button(ui, &Command::FullScreen, Weight::Plain, 0.0, out);
                command_button(ui, &Command::LargeType, Weight::Plain, 0.0, out);
            });
            if let Some(lesson) = &page.lesson {
                let (step, whole) = &lesson.used;
                let times = format!(
                    "{step} of {} min · {whole} of {} min",
                    lesson.planned.0, lesson.planned.1
                );
                ui.label(soft(ui, times));
            }
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let name = page.lesson.as_ref().map_or("Lessons", |l| l.title.as_str());
                ui.add(Label::new(RichText::new(name).heading()).truncate());
            });
        });
    });
}

/// While a lesson is open its time passes, and there is a way back to it from whatever page is shown.
pub fn goes_on(ui: &mut Ui, page: Page, out: &mut Vec<Command>) {
    let now = ui.input(|i| i.time);
    let before = ui.data_mut(|d| std::mem::replace(d.get_temp_mut_or(memory("lesson clock"), now), now));
    // A gap is a lesson that was ended and another that was begun, or a machine that slept.
    if (0.0..LONGEST_GAP).contains(&(now - before)) {
        out.push(Command::LessonTick(now - before));
    }
    ui.ctx().request_repaint_after(std::time::Duration::from_secs(1));
    if page != Page::Lesson {
        let t = Tokens::of(ui);
        Panel::top("lesson is open")
            .frame(Frame::new().fill(t.tint).inner_margin(Margin::symmetric(18, 4)))
            .show(ui, |ui| {
                ui.horizontal(|ui| {
                    group("to lesson").late().show(ui, |ui| {
                        if button(ui, "Back to the lesson", Some("F5"), Weight::Plain, 0.0).clicked() {
                            out.push(Command::ToLesson);
                        }
                    });
                    ui.label(soft(ui, "A lesson is open"));
                });
            });
    }
}

/// Longest time between two pictures that counts as time of a lesson, s.
const LONGEST_GAP: f64 = 30.0;

/// Lessons to choose from.
fn lessons(ui: &mut Ui, page: &LessonPage, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, "Which lesson?");
        ui.spacing_mut().item_spacing.y = 2.0;
        group("lessons").takes_focus().show(ui, |ui| {
            for (n, lesson) in page.lessons.iter().enumerate() {
                let label = format!("{}, {} min", lesson.label, lesson.minutes);
                if radio_row(ui, lesson.on, &label, &lesson.audience).clicked() {
                    out.push(Command::Lesson(n));
                }
            }
        });
        ui.label(soft(
            ui,
            "Lessons are files that can be changed. Notes to print beside the projector: smirch lesson notes",
        ));
    });
}

fn controls(ui: &mut Ui, lesson: &LessonView, out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        group("lesson controls").show(ui, |ui| {
            command_button(ui, &Command::LessonBack, Weight::Plain, 0.0, out);
            let last = lesson.at.0 == lesson.at.1;
            let onward = if lesson.opens.is_some() || last {
                Weight::Plain
            } else {
                Weight::Primary
            };
            if let Some(opens) = lesson.opens
                && button(ui, opens.label(), Some("O"), Weight::Primary, 0.0).clicked()
            {
                out.push(Command::LessonOpen);
            }
            command_button(ui, &Command::LessonOn, onward, 0.0, out);
            command_button(ui, &Command::Notes, Weight::Plain, 0.0, out);
            let ends = if last { Weight::Primary } else { Weight::Plain };
            command_button(ui, &Command::LessonEnd, ends, 0.0, out);
        });
        dots(ui, lesson);
        if let Some(minutes) = lesson.behind {
            ui.label(soft(ui, format!("{minutes} min behind the plan")));
        }
    });
}

/// How far the lesson is: a dot for each step, as wide as its minutes.
fn dots(ui: &mut Ui, lesson: &LessonView) {
    let t = Tokens::of(ui);
    let told = format!("Step {} of {}: {}", lesson.at.0, lesson.at.1, lesson.sort);
    ui.label(soft(ui, &told));
    let unit = 9.0;
    let minutes: u32 = lesson.steps.iter().map(|(_, minutes, _)| (*minutes).max(1)).sum();
    let width = unit * minutes as f32 + 3.0 * lesson.steps.len() as f32;
    if width > ui.available_width() {
        return;
    }
    let (rect, response) = ui.allocate_exact_size(vec2(width, 12.0), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &told));
    let mut left = rect.left();
    for (n, (_, minutes, here)) in lesson.steps.iter().enumerate() {
        let size = vec2(unit * (*minutes).max(1) as f32, 12.0);
        let ink = match (here, n + 1 < lesson.at.0) {
            (true, _) => t.accent,
            (false, true) => t.soft,
            (false, false) => t.line,
        };
        ui.painter()
            .rect_filled(Rect::from_min_size(pos2(left, rect.top()), size), 5.0, ink);
        left += size.x + 3.0;
    }
}

fn step(ui: &mut Ui, lesson: &LessonView, out: &mut Vec<Command>) {
    let wide = ui.available_width();
    let big = wall(ui);
    // Lines as long as are read with ease, in the middle of the wall.
    let column = if lesson.exercise.is_some() {
        wide
    } else {
        (big * 34.0).min(wide)
    };
    ui.horizontal_top(|ui| {
        ui.add_space(((wide - column) * 0.5).max(0.0));
        ui.vertical(|ui| {
            ui.set_width(column);
            ui.spacing_mut().item_spacing.y = big * 0.45;
            if lesson.exercise.is_none() {
                ui.add_space(ui.ctx().content_rect().height() * 0.05);
            }
            shown(ui, &lesson.shown, big, out);
            if let Some(exercise) = &lesson.exercise {
                self::exercise(ui, exercise, out);
            }
            if let Some(notes) = &lesson.notes {
                attention_card(ui, |ui| {
                    ui.label(strong(ui, "For the trainer"));
                    ui.label(notes);
                });
            }
        });
    });
}

/// Size of what is read across a room: a share of the window's height, and never smaller than other text.
fn wall(ui: &Ui) -> f32 {
    let body = TextStyle::Body.resolve(ui.style()).size;
    let high = ui.ctx().content_rect().height();
    (high * 0.036).clamp(body * 1.25, body * 3.0)
}

/// What stands on the wall: large, and little of it.
fn shown(ui: &mut Ui, shown: &ShownView, big: f32, out: &mut Vec<Command>) {
    let strong_size = FontId::new(big * 1.4, bold());
    ui.label(RichText::new(&shown.heading).font(strong_size));
    if !shown.text.is_empty() {
        ui.label(RichText::new(&shown.text).size(big));
    }
    if !shown.answers.is_empty() {
        group("hands").show(ui, |ui| {
            for (n, answer) in shown.answers.iter().enumerate() {
                card(ui, |ui| {
                    ui.horizontal(|ui| {
                        let mut hands = answer.hands;
                        let field = DragValue::new(&mut hands).range(0..=MOST_HANDS).speed(0.2);
                        ui.style_mut().override_font_id = Some(FontId::new(big, bold()));
                        let response = ui.add_sized(vec2(big * 2.6, big * 1.5), field);
                        ui.style_mut().override_font_id = None;
                        response.widget_info(|| {
                            WidgetInfo::labeled(
                                WidgetType::DragValue,
                                true,
                                format!("Hands for: {}", answer.text),
                            )
                        });
                        if response.changed() {
                            out.push(Command::Hands(n, hands));
                        }
                        let name = format!("One more hand for: {}", answer.text);
                        let key = (n + 1).to_string();
                        if button_named(ui, "+1", &name, Some(&key), Weight::Plain, 0.0).clicked() {
                            out.push(Command::OneHand(n));
                        }
                        let name = format!("One hand less for: {}", answer.text);
                        ui.add_enabled_ui(answer.hands > 0, |ui| {
                            if button_named(ui, "\u{2212}1", &name, None, Weight::Plain, 0.0).clicked() {
                                out.push(Command::Hands(n, answer.hands - 1));
                            }
                        });
                        ui.label(RichText::new(&answer.text).size(big));
                    });
                });
            }
        });
        ui.label(soft(
            ui,
            format!("{} in all; counts only, no names", hands_words(shown.total)),
        ));
    }
    for claim in &shown.claims {
        card(ui, |ui| {
            ui.label(RichText::new(&claim.text).size(big * 0.9));
            for from in &claim.from {
                ui.label(soft(ui, from));
            }
        });
    }
    for result in &shown.results {
        card(ui, |ui| ui.label(RichText::new(result).size(big * 0.9)));
    }
    for source in &shown.sources {
        ui.label(soft(ui, source));
    }
}

fn hands_words(hands: u32) -> String {
    match hands {
        1 => "1 hand".to_owned(),
        n => format!("{n} hands"),
    }
}

/// Who glowed where: a tap on the map for each place, a key for the next person.
fn exercise(ui: &mut Ui, view: &ExerciseView, out: &mut Vec<Command>) {
    let size = TextStyle::Body.resolve(ui.style()).size;
    let beside = ui.available_width() > size * 52.0;
    if beside {
        ui.columns(2, |columns| {
            card(&mut columns[0], |ui| entry(ui, view, out));
            card(&mut columns[1], |ui| counted(ui, view, out));
        });
    } else {
        card(ui, |ui| entry(ui, view, out));
        card(ui, |ui| counted(ui, view, out));
    }
}

fn entry(ui: &mut Ui, view: &ExerciseView, out: &mut Vec<Command>) {
    heading(ui, &format!("Person {}", view.people + 1));
    ui.label(soft(ui, "Tap where it glows on this person"));
    group("person").show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            command_button(ui, &Command::NextPerson, Weight::Primary, 0.0, out);
            command_button(ui, &Command::GlowNowhere, Weight::Plain, 0.0, out);
            command_button(ui, &Command::UndoPerson, Weight::Plain, 0.0, out);
        });
    });
    map(ui, &view.places, out);
    ui.label(soft(ui, "The same places as a list"));
    group("places").late().show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            for place in &view.places {
                let weight = if place.marked {
                    Weight::Chosen
                } else {
                    Weight::Plain
                };
                if button(ui, &place.label, None, weight, 0.0).clicked() {
                    out.push(Command::Glow(place.id.clone()));
                }
            }
        });
    });
}

/// The outline from both sides, with a place to press for each.
fn map(ui: &mut Ui, places: &[PlaceView], out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let width = ui.available_width();
    let caption = TextStyle::Small.resolve(ui.style()).size;
    let tall = (width * 0.82).min(ui.ctx().content_rect().height() * 0.62);
    both_sides(ui, tall + caption + 10.0, |ui, top, tall, front| {
        for place in places.iter().filter(|p| p.front == front) {
            let at = place_at(top, tall, (place.x, place.y), front);
            let hit = Rect::from_center_size(at, Vec2::splat(18.0));
            let response = ui
                .interact(hit, ui.id().with(("glow", &place.id)), Sense::CLICK)
                .on_hover_text(&place.label);
            response.widget_info(|| {
                WidgetInfo::selected(
                    WidgetType::Checkbox,
                    true,
                    place.marked,
                    format!("{} on the map", place.label),
                )
            });
            let ring = Stroke::new(1.5, t.ink);
            if place.marked {
                ui.painter().circle(at, 8.0, t.attention, ring);
            } else {
                ui.painter().circle(at, 5.0, t.card, ring);
            }
            if response.hovered() {
                let edge = Stroke::new(2.0, t.accent);
                ui.painter().rect_stroke(hit, 9.0, edge, StrokeKind::Outside);
            }
            if response.clicked() {
                out.push(Command::Glow(place.id.clone()));
            }
        }
    });
}

fn counted(ui: &mut Ui, view: &ExerciseView, out: &mut Vec<Command>) {
    let people = match view.people {
        1 => "1 person entered".to_owned(),
        n => format!("{n} people entered"),
    };
    heading(ui, &people);
    for (label, count) in &view.counts {
        ui.label(format!("{label}: {count}"));
    }
    if let Some(share) = view.working {
        ui.label(strong(
            ui,
            format!("Working out what the model expects: {:.0} %", 100.0 * share),
        ));
        out.push(Command::Poll);
        ui.ctx().request_repaint();
    } else {
        group("compare").show(ui, |ui| {
            command_button(ui, &Command::ExerciseCompare, Weight::Plain, 0.0, out);
        });
    }
    if let Some(trouble) = &view.trouble {
        ui.label(strong(ui, trouble));
    }
    for row in &view.compared {
        ui.label(&row.sentence);
    }
    if let Some(picture) = &view.picture {
        let told: Vec<String> = view
            .counts
            .iter()
            .map(|(label, count)| format!("{label}: {count}"))
            .collect();
        drawing::show(ui, picture, ui.available_width(), &told.join(", "));
    }
}
