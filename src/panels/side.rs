//! The side column: what happened, the hands, the chosen site, what is still on, and what can always be done.

use bevy_egui::egui::{
    CornerRadius, Label, RichText, Sense, Stroke, StrokeKind, TextStyle, Ui, UiBuilder, WidgetInfo,
    WidgetType,
};

use crate::model::Side;
use crate::view::hands::HandCard;
use crate::view::words::sentence;
use crate::view::{Command, DrillView};

use super::focus::group;
use super::memory::rested;
use super::scroll::scroll;
use super::theme::{Tokens, capped};
use super::widgets::{
    Weight, attention_card, bold_font, button, button_named, card, command_button, framed, heading,
    paint_focus, soft, strong,
};
use super::{now, options, rub};

/// Lines of type that a column has room for if it is not low.
const LOW: f32 = 24.0;

/// True for a column that is low for its type: then what can be done comes first in it, and what always can scrolls too.
pub fn is_low(ui: &Ui) -> bool {
    ui.available_height() < LOW * TextStyle::Body.resolve(ui.style()).size
}

/// The column above its foot. With a `roomy` scene, where it is now is shown there instead.
pub fn column(ui: &mut Ui, view: &DrillView, (roomy, low): (bool, bool), out: &mut Vec<Command>) {
    let of = match &view.chosen {
        Some(chosen) if low => 1 + chosen.site as u64,
        _ => 0,
    };
    scroll("What can be done", of).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 10.0;
        if !low {
            group("hands").late().show(ui, |ui| hands(ui, view, out));
        }
        if let Some(rub) = &view.rub {
            // The ring comes after four doses and, where arms are bare, the choice about them: Space must not press a dose.
            group("rub")
                .at(Some(4 + usize::from(rub.forearms.is_some() && rub.held == 0.0)))
                .takes_focus()
                .show(ui, |ui| card(ui, |ui| rub::panel(ui, rub, out)));
        } else if let Some(list) = &view.list {
            group("in reach").at(Some(1)).takes_focus().show(ui, |ui| {
                card(ui, |ui| {
                    ui.horizontal(|ui| {
                        heading(ui, "Everything in reach");
                        if button(ui, "Close", Some("Esc"), Weight::Plain, 0.0).clicked() {
                            out.push(Command::List);
                        }
                    });
                    for kind in list {
                        ui.label(strong(ui, &kind.title));
                        ui.horizontal_wrapped(|ui| {
                            for known in &kind.sites {
                                let (short, name) = (&known.short, &known.label);
                                if button_named(ui, short, name, None, Weight::Plain, 0.0).clicked() {
                                    out.push(Command::Choose(known.site));
                                }
                            }
                        });
                    }
                })
            });
        } else if let Some(chosen) = &view.chosen {
            group("options").show(ui, |ui| card(ui, |ui| options::list(ui, view, chosen, out)));
        } else {
            card(ui, options::nothing_chosen);
        }
        if low {
            always(ui, out);
            group("hands").late().show(ui, |ui| hands(ui, view, out));
        }
        if let (Some(rows), false) = (&view.now, roomy) {
            card(ui, |ui| now::rows(ui, rows));
        }
        let at = view.still_on.iter().position(|item| item.chosen);
        group("still on")
            .at(at)
            .show(ui, |ui| card(ui, |ui| still_on(ui, view, out)));
    });
}

/// True if something happened that wants an answer, or something asked for is not possible.
pub fn has_news(view: &DrillView) -> bool {
    view.prompt.is_some() || view.refusal.is_some()
}

/// What happened and waits for an answer, and why something is not possible: in sight however the column is scrolled.
pub fn news(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    // It must leave room for the column, however large the text.
    capped(ui, 1.4, |ui| {
        prompt(ui, view, out);
        refusal(ui, view, out);
    });
}

/// What the sequence asks for next.
pub fn asked(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        if !view.told {
            if view.can_ask {
                group("what next").show(ui, |ui| {
                    command_button(ui, &Command::TellNext, Weight::Plain, 0.0, out);
                });
            } else {
                ui.label(soft(ui, "This went right lately: do it without a prompt"));
            }
            return;
        }
        ui.label(soft(ui, "Asked for next"));
        ui.label(
            view.asked
                .as_deref()
                .unwrap_or("Nothing more; finish when you are ready"),
        );
    });
}

/// What is always there at the column's foot.
pub fn foot(ui: &mut Ui, view: &DrillView, low: bool, out: &mut Vec<Command>) {
    if !low {
        always(ui, out);
    }
    // Always as high, so that nothing moves when something has been done.
    ui.horizontal(|ui| {
        if view.takes_back {
            // Enter on a focus that fell here of itself must not undo what was just done.
            group("take back").last().show(ui, |ui| {
                command_button(ui, &Command::TakeBack, Weight::Plain, 0.0, out);
            });
        }
        let last = view.last.as_deref().unwrap_or("Nothing done yet");
        ui.add(Label::new(soft(ui, last)).truncate()).on_hover_text(last);
    });
}

/// What can be done whatever is chosen.
fn always(ui: &mut Ui, out: &mut Vec<Command>) {
    group("always").late().show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 6.0;
            for command in [
                Command::Rub,
                Command::Wash,
                Command::GoOn,
                Command::Wait,
                Command::List,
            ] {
                command_button(ui, &command, Weight::Plain, 0.0, out);
            }
        })
    });
}

fn prompt(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    let Some(prompt) = &view.prompt else { return };
    // A second click must not answer what has just come under the pointer.
    let ready = rested(ui.ctx(), "happening", &prompt.say, view.list_rest);
    // Enter on a focus that fell here of itself must not touch the face.
    group("happening").at(Some(2)).show(ui, |ui| {
        attention_card(ui, |ui| {
            heading(ui, &prompt.say);
            ui.label(soft(ui, format!("A hand that answers touches: {}", prompt.what)));
            ui.horizontal_wrapped(|ui| {
                for (command, label, key) in [
                    (Command::Answer(Side::Left), "Left hand", "Z"),
                    (Command::Answer(Side::Right), "Right hand", "X"),
                    (Command::LetBe, "Let it be", "C"),
                ] {
                    let name = match &command {
                        Command::Answer(side) => format!("Answer with your {} hand", side.word()),
                        _ => label.to_owned(),
                    };
                    if button_named(ui, label, &name, Some(key), Weight::Plain, 0.0).clicked() && ready {
                        out.push(command);
                    }
                }
            });
        })
    });
}

fn refusal(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    let Some(reason) = &view.refusal else { return };
    group("refusal").show(ui, |ui| {
        attention_card(ui, |ui| {
            let t = Tokens::of(ui);
            ui.label(RichText::new(format!("Not possible: {reason}")).color(t.ink));
            if button(ui, "All right", None, Weight::Plain, 0.0).clicked() {
                out.push(Command::Dismiss);
            }
        })
    });
}

fn hands(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    let narrow = ui.available_width() < 15.0 * ui.text_style_height(&TextStyle::Body);
    if narrow {
        for hand in &view.hands {
            hand_card(ui, hand, out);
        }
    } else {
        ui.columns(2, |columns| {
            for (ui, hand) in columns.iter_mut().zip(&view.hands) {
                hand_card(ui, hand, out);
            }
        });
    }
}

fn hand_card(ui: &mut Ui, hand: &HandCard, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let id = ui.id().with(("hand", hand.side.word()));
    let edge = if hand.acting {
        Stroke::new(3.0, t.accent)
    } else {
        Stroke::new(1.0, t.line)
    };
    let which = sentence(&format!("{} hand", hand.side.word()));
    let inner = ui.scope_builder(UiBuilder::new(), |ui| {
        framed(ui, t.card, edge, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            let which = if hand.acting {
                format!("{which} · acting")
            } else {
                which.clone()
            };
            ui.label(soft(ui, which));
            ui.label(strong(ui, &hand.on));
            ui.label(RichText::new(&hand.holds).small());
            if let Some(carries) = &hand.carries {
                let font = bold_font(ui, &TextStyle::Small);
                ui.label(RichText::new(carries).font(font).color(t.speck));
            }
            if let Some(site) = hand.held_site
                && button(ui, "What to do with it", None, Weight::Plain, 0.0).clicked()
            {
                out.push(Command::Choose(site));
            }
        });
    });
    if hand.held_site.is_some() {
        return;
    }
    let response = ui.interact(inner.response.rect, id, Sense::click());
    let acts = if hand.acting {
        "acting"
    } else {
        "press to let it act"
    };
    let text = format!("{which}, {acts}, {}, {}", hand.on, hand.holds);
    response.widget_info(|| WidgetInfo::selected(WidgetType::Button, true, hand.acting, &text));
    if response.hovered() && !hand.acting {
        let stroke = Stroke::new(2.0, t.accent);
        ui.painter()
            .rect_stroke(response.rect, CornerRadius::same(10), stroke, StrokeKind::Inside);
    }
    if response.clicked() && !hand.acting {
        out.push(Command::Acting(hand.side));
    }
    paint_focus(ui, &response);
}

fn still_on(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    heading(ui, "Not in the bin yet");
    if view.still_on.is_empty() {
        ui.label("Everything is in the bin");
        return;
    }
    ui.horizontal_wrapped(|ui| {
        for item in &view.still_on {
            let label = match item.place {
                Some(place) => format!("{}, {place}", item.label),
                None => item.label.clone(),
            };
            let weight = if item.chosen {
                Weight::Chosen
            } else {
                Weight::Plain
            };
            if button(ui, &label, None, weight, 0.0).clicked() {
                out.push(Command::Choose(item.site));
            }
        }
    });
}
