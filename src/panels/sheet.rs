//! The page of whoever watches: steps to tick, critical errors, the decision, and a name to it.

use bevy_egui::egui::{
    Align, CentralPanel, Frame, Label, Layout, Margin, Panel, RichText, TextEdit, TextStyle, Ui,
};

use crate::register::{Decision, Verdict};
use crate::view::pass::PassView;
use crate::view::sheet::{SheetCritical, SheetStep};
use crate::view::{Command, SheetCommand, SheetView};

use super::focus::group;
use super::memory::{just_opened, memory};
use super::scroll::scroll;
use super::theme::Tokens;
use super::widgets::{
    Weight, attention_card, button, button_named, card, caution, command_button, heading, radio_row, soft,
    strong, title,
};

/// What a button on this page asks.
fn say(command: SheetCommand) -> Command {
    Command::Sheet(command)
}

/// The page.
pub fn page(ui: &mut Ui, view: &SheetView, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    Panel::top("sheet top")
        .frame(Frame::new().fill(t.card).inner_margin(Margin::symmetric(18, 8)))
        .show(ui, |ui| top(ui, view, out));
    Panel::bottom("sheet caution")
        .frame(Frame::new().fill(t.paper).inner_margin(Margin::symmetric(18, 6)))
        .show(ui, |ui| {
            caution(ui);
        });
    let frame = Frame::new().fill(t.paper).inner_margin(Margin::same(10));
    let type_size = TextStyle::Body.resolve(ui.style()).size;
    if ui.available_width() < type_size * 52.0 {
        CentralPanel::default().frame(frame).show(ui, |ui| {
            scroll("Sheet", 0).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 8.0;
                before(ui, view, out);
                steps(ui, view, out);
                after(ui, view, out);
            });
        });
        return;
    }
    Panel::right("sheet right")
        .resizable(false)
        .exact_size(ui.available_width() * 0.36)
        .frame(frame)
        .show_separator_line(false)
        .show(ui, |ui| {
            scroll("Decision", 0).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 8.0;
                after(ui, view, out);
            });
        });
    CentralPanel::default().frame(frame).show(ui, |ui| {
        scroll("Steps", 0).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 8.0;
            before(ui, view, out);
            steps(ui, view, out);
        });
    });
    if view.running {
        out.push(Command::Poll);
        ui.ctx()
            .request_repaint_after(std::time::Duration::from_millis(500));
    }
}

fn top(ui: &mut Ui, view: &SheetView, out: &mut Vec<Command>) {
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            group("sheet top").late().show(ui, |ui| {
                command_button(ui, &say(SheetCommand::Leave), Weight::Plain, 0.0, out);
                command_button(ui, &say(SheetCommand::Save), Weight::Plain, 0.0, out);
                if !view.real {
                    command_button(ui, &say(SheetCommand::LookBack), Weight::Plain, 0.0, out);
                }
            });
            ui.label(RichText::new(&view.clock).heading());
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                title(ui, &view.title);
                let sub = soft(ui, &view.sub);
                ui.add(Label::new(sub).truncate());
            });
        });
    });
}

/// Who is watched, and by what.
fn before(ui: &mut Ui, view: &SheetView, out: &mut Vec<Command>) {
    if view.signed.is_some() {
        return;
    }
    card(ui, |ui| {
        if !view.real {
            ui.label(strong(
                ui,
                "Filled in as the program found it: change what you saw otherwise, and say why",
            ));
        }
        ui.horizontal_wrapped(|ui| {
            // Each is a stop of its own, as fields are everywhere.
            for (n, (name, empty)) in [("Code", "nobody"), ("Ward", "none"), ("Group", "none")]
                .into_iter()
                .enumerate()
            {
                group(("sheet who", name)).show(ui, |ui| {
                    ui.horizontal(|ui| {
                        let mut typed = view.who[n].clone();
                        if text(ui, name, empty, &mut typed, 6.0) {
                            let mut who = view.who.clone();
                            who[n] = typed;
                            out.push(say(SheetCommand::Who(who)));
                        }
                    });
                });
            }
        });
        if view.who[0].trim().is_empty() {
            ui.label(soft(
                ui,
                "Without a code this is kept as nobody's: it cannot be found for a person later",
            ));
        }
        if view.real {
            ui.horizontal_wrapped(|ui| {
                ui.add_enabled_ui(view.fresh, |ui| {
                    let (caption, weight) = match view.waits {
                        true => ("They begin now", Weight::Primary),
                        false => ("They begin only now", Weight::Plain),
                    };
                    if button(ui, caption, None, weight, 0.0)
                        .on_hover_text("The clock begins, or begins anew")
                        .clicked()
                    {
                        out.push(say(SheetCommand::Begin));
                    }
                });
                let told = match view.waits {
                    true => "The clock stands. It begins with this, or with the first tick; the time of each tick is kept",
                    false => "Tick each step as you see it; the time of the tick is kept",
                };
                ui.label(soft(ui, told));
            });
        }
        if !view.by.is_empty() {
            watched_by(ui, view, out);
        }
        if let Some(pass) = &view.pass {
            by_rule(ui, pass, out);
        }
    });
}

/// The rule to pass by, on request, until the first tick.
fn by_rule(ui: &mut Ui, pass: &PassView, out: &mut Vec<Command>) {
    let open = memory("the rule to pass by");
    let listed: bool = ui.data(|d| d.get_temp(open)).unwrap_or(false);
    group("sheet rule").show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            let caption = if listed {
                "Done with the rule"
            } else {
                "Another rule"
            };
            if button(ui, caption, None, Weight::Plain, 0.0)
                .on_hover_text("What it takes to pass; until the first tick")
                .clicked()
            {
                ui.data_mut(|d| d.insert_temp(open, !listed));
            }
            if !listed {
                let told = pass
                    .trouble
                    .as_ref()
                    .or(pass.less.as_ref())
                    .unwrap_or(&pass.words);
                ui.label(soft(ui, told));
            }
        });
    });
    if listed {
        super::pass::rule(ui, pass, out);
    }
}

/// By what a real person is watched: one line, so that the steps are in sight, and the whole list on request until the first tick.
fn watched_by(ui: &mut Ui, view: &SheetView, out: &mut Vec<Command>) {
    let at = view.by.iter().position(|(_, chosen)| *chosen);
    let open = memory("what it is watched by");
    let listed: bool = ui.data(|d| d.get_temp(open)).unwrap_or(false) && view.fresh;
    group("sheet by").at(at.filter(|_| listed)).show(ui, |ui| {
        if !listed {
            ui.horizontal_wrapped(|ui| {
                ui.add_enabled_ui(view.fresh, |ui| {
                    if button(ui, "By another", None, Weight::Plain, 0.0)
                        .on_hover_text(
                            "Another sequence, or a checklist for putting on; until the first tick",
                        )
                        .clicked()
                    {
                        ui.data_mut(|d| d.insert_temp(open, true));
                    }
                });
                ui.label(at.map_or("", |n| &view.by[n].0));
            });
            return;
        }
        ui.spacing_mut().item_spacing.y = 2.0;
        for (n, (label, chosen)) in view.by.iter().enumerate() {
            if radio_row(ui, *chosen, label, "").clicked() {
                out.push(say(SheetCommand::By(n)));
                ui.data_mut(|d| d.insert_temp(open, false));
            }
        }
    });
}

/// A field with its name; true if something was typed.
fn text(ui: &mut Ui, name: &str, empty: &str, typed: &mut String, wide: f32) -> bool {
    let name = ui.label(name);
    let width = wide * TextStyle::Body.resolve(ui.style()).size;
    let edit = TextEdit::singleline(typed)
        .desired_width(width)
        .hint_text(soft(ui, empty));
    ui.add(edit).labelled_by(name.id).changed()
}

fn steps(ui: &mut Ui, view: &SheetView, out: &mut Vec<Command>) {
    for (n, row) in view.steps.iter().enumerate() {
        let mut draw = |ui: &mut Ui| step(ui, view, n, row, out);
        if row.next {
            attention_card(ui, &mut draw);
        } else {
            card(ui, &mut draw);
        }
    }
}

fn step(ui: &mut Ui, view: &SheetView, n: usize, row: &SheetStep, out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(strong(ui, format!("{}. {}", n + 1, row.ask)));
        if !row.found.is_empty() {
            ui.label(soft(ui, &row.found));
        }
        if row.overruled {
            ui.label(soft(ui, "(you say otherwise)"));
        }
    });
    if !row.did.is_empty() {
        ui.label(soft(ui, row.did.join("; ")));
    }
    for why in &row.why {
        ui.label(soft(ui, why));
    }
    if view.signed.is_some() {
        ui.label(sentence_of(row.verdict));
        if !row.remark.is_empty() {
            ui.label(soft(ui, &row.remark));
        }
        return;
    }
    let at = view.at[n];
    let offered: &[Verdict] = if view.real {
        &[
            Verdict::Met,
            Verdict::NotMet,
            Verdict::NotSeen,
            Verdict::NotApplicable,
        ]
    } else {
        &[Verdict::Met, Verdict::NotMet, Verdict::NotSeen]
    };
    group(("sheet step", n)).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            for &verdict in offered {
                let chosen = row.verdict == verdict;
                let weight = if chosen { Weight::Chosen } else { Weight::Plain };
                let label = sentence_of(verdict);
                let shown = match chosen {
                    true => format!("\u{2022} {label}"),
                    false => label.to_owned(),
                };
                let name = format!("{label}: {}", row.ask);
                if button_named(ui, &shown, &name, None, weight, 0.0).clicked() && !chosen {
                    out.push(say(SheetCommand::Say(at, verdict)));
                }
            }
            let mut remark = row.remark.clone();
            let hint = if row.overruled { "Why?" } else { "Remark" };
            if remark_field(ui, hint, &format!("Remark on {}", row.ask), &mut remark) {
                out.push(say(SheetCommand::Remark(at, remark)));
            }
        });
    });
}

fn remark_field(ui: &mut Ui, hint: &str, name: &str, typed: &mut String) -> bool {
    // What is left of the row, or a row of its own where little is.
    let left = ui.available_size_before_wrap().x - 8.0;
    let width = if left < 140.0 {
        ui.max_rect().width() - 8.0
    } else {
        left
    };
    let edit = TextEdit::singleline(typed)
        .desired_width(width)
        .hint_text(soft(ui, hint));
    let response = ui.add(edit);
    response.widget_info(|| {
        bevy_egui::egui::WidgetInfo::labeled(bevy_egui::egui::WidgetType::TextEdit, true, name)
    });
    response.changed()
}

fn sentence_of(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Met => "As asked",
        Verdict::NotMet => "Not as asked",
        Verdict::NotSeen => "Not seen",
        Verdict::NotApplicable => "Not in this kit",
    }
}

/// What is decided, and by whom.
fn after(ui: &mut Ui, view: &SheetView, out: &mut Vec<Command>) {
    if !view.critical.is_empty() {
        card(ui, |ui| {
            heading(ui, "Critical errors");
            if view.signed.is_none() {
                let how = match view.real {
                    true => "Tick what you saw",
                    false => "A ticked one stands. They are worded as the person will read them.",
                };
                ui.label(soft(ui, how));
            }
            if view.signed.is_some() && !view.critical.iter().any(|c| c.stands || c.found) {
                ui.label("None");
            }
            for (n, critical) in view.critical.iter().enumerate() {
                one_critical(ui, view, n, critical, out);
            }
        });
    }
    card(ui, |ui| {
        heading(ui, &view.marks);
        ui.label(soft(ui, &view.rule));
    });
    if let Some(signed) = &view.signed {
        card(ui, |ui| {
            heading(ui, decided(view.decision));
            if !view.comment.is_empty() {
                ui.label(&view.comment);
            }
            let who = match view.who[0].trim() {
                "" => "nobody named".to_owned(),
                code => code.to_owned(),
            };
            ui.label(strong(ui, format!("Of {who}, signed by {}", view.observer)));
            ui.label(signed);
            if let Some(told) = &view.told {
                ui.label(soft(ui, told));
            }
        });
        return;
    }
    card(ui, |ui| {
        heading(ui, "Your decision");
        let at = Decision::ALL.iter().position(|(d, _)| *d == view.decision);
        ui.spacing_mut().item_spacing.y = 2.0;
        group("decision").at(at).show(ui, |ui| {
            for (decision, _) in Decision::ALL {
                if radio_row(ui, view.decision == decision, decided(decision), "").clicked() {
                    out.push(say(SheetCommand::Decide(decision)));
                }
            }
        });
        ui.add_space(4.0);
        let mut comment = view.comment.clone();
        let name = ui.label("Comment");
        group("comment").show(ui, |ui| {
            let edit = TextEdit::multiline(&mut comment)
                .desired_rows(2)
                .desired_width(ui.available_width() - 8.0);
            if ui.add(edit).labelled_by(name.id).changed() {
                out.push(say(SheetCommand::Comment(comment)));
            }
        });
    });
    card(ui, |ui| {
        heading(ui, "Your name to it");
        group("sign").show(ui, |ui| {
            ui.horizontal_wrapped(|ui| {
                let mut observer = view.observer.clone();
                if text(ui, "Initials or code", "", &mut observer, 7.0) {
                    out.push(say(SheetCommand::Observer(observer)));
                }
                command_button(ui, &say(SheetCommand::Sign), Weight::Primary, 0.0, out);
            });
        });
        // What signing asked for stands out once it was tried.
        for (n, wanting) in view.wanting.iter().enumerate() {
            if n == 0 && view.trouble.is_some() {
                let ink = Tokens::of(ui).attention;
                ui.label(strong(ui, wanting).color(ink));
            } else {
                ui.label(soft(ui, wanting));
            }
        }
        if let Some(trouble) = view.trouble.as_ref().filter(|t| !view.wanting.contains(t)) {
            let t = Tokens::of(ui);
            ui.label(strong(ui, trouble).color(t.attention));
        }
        if let Some(told) = &view.told {
            ui.label(soft(ui, told));
        }
    });
    if view.real {
        card(ui, |ui| {
            group("throw away").last().show(ui, |ui| throw_away(ui, out));
        });
    }
}

/// A sheet is thrown away by a second press, in another place than the first.
fn throw_away(ui: &mut Ui, out: &mut Vec<Command>) {
    let asked = memory("throw the sheet away");
    let sure: bool = ui.data(|d| d.get_temp(asked)).unwrap_or(false) && !just_opened(ui.ctx(), "sheet page");
    if !sure {
        if button(ui, "Throw this sheet away", None, Weight::Plain, 0.0).clicked() {
            ui.data_mut(|d| d.insert_temp(asked, true));
        }
        return;
    }
    ui.label("Nothing of it will be kept");
    ui.horizontal_wrapped(|ui| {
        if button(ui, "Keep it", None, Weight::Plain, 0.0).clicked() {
            ui.data_mut(|d| d.insert_temp(asked, false));
        }
        if button(ui, "Yes, throw it away", None, Weight::Plain, 0.0).clicked() {
            ui.data_mut(|d| d.insert_temp(asked, false));
            out.push(say(SheetCommand::Discard));
        }
    });
}

fn one_critical(ui: &mut Ui, view: &SheetView, n: usize, critical: &SheetCritical, out: &mut Vec<Command>) {
    if view.signed.is_some() {
        if critical.stands || critical.found {
            let stands = if critical.stands { "" } else { " (does not stand)" };
            ui.label(format!("{}{stands}", critical.what));
            if !critical.remark.is_empty() {
                ui.label(soft(ui, &critical.remark));
            }
        }
        return;
    }
    let mut stands = critical.stands;
    if ui.checkbox(&mut stands, &critical.what).changed() {
        out.push(say(SheetCommand::Stands(n, stands)));
    }
    if critical.found && !critical.stands {
        let mut remark = critical.remark.clone();
        if remark_field(ui, "Why?", &format!("Why not: {}", critical.what), &mut remark) {
            out.push(say(SheetCommand::CriticalRemark(n, remark)));
        }
    }
}

fn decided(decision: Decision) -> &'static str {
    match decision {
        Decision::Open => "Not decided yet",
        Decision::Passed => "Passed",
        Decision::Again => "To be practised and seen again",
    }
}
