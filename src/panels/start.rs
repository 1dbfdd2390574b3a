//! The first page: scenario, sequence, lamp, and the cautions.

use bevy_egui::egui::{
    Align, CentralPanel, CollapsingHeader, Frame, Layout, Margin, Panel, RichText, TextEdit, TextStyle, Ui,
};

use crate::view::settings::Use;
use crate::view::start::ScenarioCard;
use crate::view::{CAUTIONS, ClockSpeed, Command, LampUse, StartView};

use super::focus::group;
use super::scroll::scroll;
use super::theme::{LAMP, LIGHT, Scale, Tokens, capped, style};
use super::widgets::{Weight, button, card, command_button, heading, radio_row, soft, strong, title};

/// The page.
pub fn page(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    Panel::top("start top")
        .frame(Frame::new().fill(t.card).inner_margin(Margin::symmetric(24, 12)))
        .show(ui, |ui| {
            group("start top").late().show(ui, |ui| top(ui, out));
        });
    Panel::bottom("start foot")
        .frame(Frame::new().fill(t.card).inner_margin(Margin::symmetric(24, 10)))
        .show(ui, |ui| foot(ui, view, out));
    CentralPanel::default()
        .frame(Frame::new().fill(t.paper).inner_margin(Margin::symmetric(24, 14)))
        .show(ui, |ui| {
            scroll("Choices", 0).show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 10.0;
                unfinished(ui, view, out);
                unsigned(ui, view, out);
                let type_size = TextStyle::Body.resolve(ui.style()).size;
                let columns = ((ui.available_width() / (type_size * 23.0)) as usize).clamp(1, 3);
                if columns == 1 {
                    scenarios(ui, view, out);
                    purpose(ui, view, out);
                    sequences(ui, view, out);
                    who(ui, view, out);
                    manner(ui, view, out);
                    return;
                }
                ui.columns(columns, |columns| {
                    for column in columns.iter_mut() {
                        column.spacing_mut().item_spacing.y = 10.0;
                    }
                    scenarios(&mut columns[0], view, out);
                    sequences(&mut columns[1], view, out);
                    who(&mut columns[1], view, out);
                    let last = columns.len() - 1;
                    purpose(&mut columns[last], view, out);
                    manner(
                        if last == 1 {
                            &mut columns[0]
                        } else {
                            &mut columns[2]
                        },
                        view,
                        out,
                    );
                });
            });
        });
}

/// What applies everywhere. The buttons for the size of text keep their own, at the corner: what is pressed twice must
/// not move from under the pointer.
fn top(ui: &mut Ui, out: &mut Vec<Command>) {
    ui.horizontal_top(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Min), |ui| {
            sized(ui, |ui| {
                command_button(ui, &Command::Larger, Weight::Plain, 0.0, out);
                command_button(ui, &Command::Smaller, Weight::Plain, 0.0, out);
            });
            ui.with_layout(Layout::left_to_right(Align::Min).with_main_wrap(true), |ui| {
                title(ui, "smirch");
                for command in [Command::Attempts, Command::LargeType, Command::Help] {
                    command_button(ui, &command, Weight::Plain, 0.0, out);
                }
            });
        });
    });
}

/// Draws with type of one size, whatever the scale.
fn sized(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    let scale = Scale {
        large: false,
        percent: 100,
    };
    ui.scope(|ui| {
        let dark = ui.visuals().dark_mode;
        let tokens = if dark { LAMP } else { LIGHT };
        ui.set_style(style(&tokens, scale, dark));
        content(ui);
    });
}

fn scenarios(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let at = view.scenarios.iter().position(|s| s.chosen);
    group("scenarios")
        .at(at)
        .show(ui, |ui| scenario_card(ui, view, out));
}

fn scenario_card(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, "Scenario");
        ui.spacing_mut().item_spacing.y = 2.0;
        let study_chosen = view.scenarios.iter().any(|s| s.study && s.chosen);
        for scenario in view.scenarios.iter().filter(|s| !s.study) {
            scenario_row(ui, scenario, out);
        }
        if view.scenarios.iter().any(|s| s.study) {
            let title = soft(ui, "Published studies, to be repeated");
            CollapsingHeader::new(title)
                .id_salt("studies")
                .default_open(study_chosen)
                .show(ui, |ui| {
                    for scenario in view.scenarios.iter().filter(|s| s.study) {
                        scenario_row(ui, scenario, out);
                    }
                });
        }
        ui.add_space(6.0);
        ui.label(&view.setting);
        ui.add_space(4.0);
        ui.label(soft(ui, format!("Looked for on it: {}", view.organism)));
    });
}

fn scenario_row(ui: &mut Ui, scenario: &ScenarioCard, out: &mut Vec<Command>) {
    if radio_row(ui, scenario.chosen, &scenario.label, &scenario.kit).clicked() {
        out.push(Command::Scenario(scenario.index));
    }
}

fn sequences(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let at = Some(view.settings.sequence);
    group("sequences")
        .at(at)
        .show(ui, |ui| sequence_card(ui, view, out));
}

fn sequence_card(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, "Which sequence to follow");
        ui.spacing_mut().item_spacing.y = 2.0;
        for (n, (label, authority)) in view.sequences.iter().enumerate() {
            let chosen = n == view.settings.sequence;
            let note = if chosen { authority.as_str() } else { "" };
            if radio_row(ui, chosen, label, note).clicked() {
                out.push(Command::Sequence(n));
            }
        }
        ui.label(soft(ui, "Guidance differs. Your local policy comes first"));
    });
}

fn manner(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let settings = &view.settings;
    card(ui, |ui| {
        if settings.purpose == Use::AsSet {
            lamp_and_clock(ui, view, out);
        }
        let mut still = settings.still;
        if ui.checkbox(&mut still, "No motion").changed() {
            out.push(Command::Still);
        }
        ui.horizontal_wrapped(|ui| {
            let name = ui.label("Number for chance");
            let mut seed = settings.seed.clone();
            let edit = TextEdit::singleline(&mut seed)
                .desired_width(160.0)
                .hint_text(soft(ui, &view.usual_seed));
            if ui.add(edit).labelled_by(name.id).changed() {
                out.push(Command::Seed(seed));
            }
        });
        ui.label(soft(
            ui,
            "How much goes over at each touch is drawn by chance. The same number draws the same again",
        ));
    });
}

/// What is chosen of help and time where nothing else sets it.
fn lamp_and_clock(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let settings = &view.settings;
    {
        heading(ui, "The lamp");
        ui.spacing_mut().item_spacing.y = 2.0;
        let at = LampUse::ALL.iter().position(|(lamp, _)| *lamp == settings.lamp);
        group("lamp use").at(at).show(ui, |ui| {
            for (lamp, label) in LampUse::ALL {
                if radio_row(ui, settings.lamp == lamp, label, "").clicked() {
                    out.push(Command::Lamp(lamp));
                }
            }
        });
        ui.add_space(8.0);
        heading(ui, "Clock while you rub");
        let at = ClockSpeed::ALL
            .iter()
            .position(|(speed, _)| *speed == settings.clock);
        group("clock").at(at).show(ui, |ui| {
            for (speed, label) in ClockSpeed::ALL {
                if radio_row(ui, settings.clock == speed, label, "").clicked() {
                    out.push(Command::Clock(speed));
                }
            }
        });
        ui.add_space(8.0);
        ui.spacing_mut().item_spacing.y = 8.0;
        let mut hints = settings.hints;
        if ui
            .checkbox(&mut hints, "Show what the sequence asks for next")
            .changed()
        {
            out.push(Command::Hints(hints));
        }
    }
}

/// What the attempt is for.
fn purpose(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let settings = &view.settings;
    card(ui, |ui| {
        heading(ui, "What for");
        ui.spacing_mut().item_spacing.y = 2.0;
        let at = Use::ALL.iter().position(|(p, ..)| *p == settings.purpose);
        group("purpose").at(at).show(ui, |ui| {
            for (purpose, label, note) in Use::ALL {
                let chosen = settings.purpose == purpose;
                if radio_row(ui, chosen, label, if chosen { note } else { "" }).clicked() {
                    out.push(Command::Purpose(purpose));
                }
            }
        });
        if let Some(ladder) = &view.ladder {
            ui.add_space(4.0);
            for (n, (label, next)) in ladder.rungs.iter().enumerate() {
                let text = format!("{}. {label}", n + 1);
                ui.label(if *next { strong(ui, text) } else { soft(ui, text) });
            }
            ui.label(&ladder.say);
            ui.label(soft(ui, &ladder.told));
            if ladder.reading {
                ui.label(soft(ui, "Looking for your earlier goes"));
                out.push(Command::Poll);
                ui.ctx()
                    .request_repaint_after(std::time::Duration::from_millis(100));
            }
        }
        if settings.purpose == Use::Assess {
            ui.add_space(4.0);
            field(
                ui,
                "Your initials",
                "",
                &settings.observer,
                Command::Observer,
                out,
            );
            if let Some(pass) = &view.pass {
                super::pass::rule(ui, pass, out);
            }
        }
    });
}

/// Whose attempt it will be. Nobody has to say.
fn who(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let settings = &view.settings;
    card(ui, |ui| {
        heading(
            ui,
            match settings.purpose {
                Use::Assess => "Who is assessed",
                _ => "Who you are",
            },
        );
        ui.horizontal_wrapped(|ui| {
            // Each is a stop of its own, as fields are everywhere.
            for (name, empty, typed, command) in [
                (
                    "Code",
                    "nobody",
                    &settings.code,
                    Command::Code as fn(String) -> Command,
                ),
                ("Ward", "none", &settings.ward, Command::Ward),
                ("Group", "none", &settings.group, Command::Group),
            ] {
                group(("who", name)).show(ui, |ui| field(ui, name, empty, typed, command, out));
            }
        });
        ui.label(soft(
            ui,
            match &view.kept {
                Some(folder) => format!(
                    "A code or nickname that your trainer gave you, not your name. Results are kept in {folder}; nothing is sent \
                     anywhere"
                ),
                None => "Results are not kept".to_owned(),
            },
        ));
    });
}

/// A short text with its name before it.
fn field(
    ui: &mut Ui,
    name: &str,
    empty: &str,
    text: &str,
    command: fn(String) -> Command,
    out: &mut Vec<Command>,
) {
    // The name stays beside its field, however narrow the card.
    ui.horizontal(|ui| {
        let name = ui.label(name);
        let mut typed = text.to_owned();
        let width = 5.0 * TextStyle::Body.resolve(ui.style()).size;
        let edit = TextEdit::singleline(&mut typed)
            .desired_width(width)
            .hint_text(soft(ui, empty));
        if ui.add(edit).labelled_by(name.id).changed() {
            out.push(command(typed));
        }
    });
}

/// The attempt that was left last, to be taken up again.
fn unfinished(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let Some((row, path)) = view
        .unfinished
        .as_ref()
        .and_then(|row| Some((row, row.path.as_ref()?)))
    else {
        return;
    };
    card(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            ui.label(strong(ui, "An attempt was not finished"));
            ui.label(format!("{} · {}", row.label, row.note));
            group("unfinished").show(ui, |ui| super::attempts::go_on(ui, row, path, out));
        });
    });
}

/// Sheets that were left unsigned.
fn unsigned(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    for (n, (told, id)) in view.left_sheets.iter().take(3).enumerate() {
        card(ui, |ui| {
            ui.horizontal_wrapped(|ui| {
                ui.label(strong(ui, "A sheet is not signed"));
                ui.label(told);
                group(("unsigned", n)).show(ui, |ui| {
                    if button(ui, "Open it", None, Weight::Plain, 0.0).clicked() {
                        out.push(Command::OpenSheet(*id));
                    }
                });
            });
        });
    }
}

fn foot(ui: &mut Ui, view: &StartView, out: &mut Vec<Command>) {
    let beside = ui.available_width() > 110.0 * TextStyle::Body.resolve(ui.style()).size;
    ui.horizontal(|ui| {
        group("start foot").show(ui, |ui| {
            let response = button(ui, "Start", Some("F9"), Weight::Primary, 180.0);
            if response
                .on_hover_text("Begin the drill with these choices")
                .clicked()
            {
                out.push(Command::Begin);
            }
            command_button(ui, &Command::Lessons, Weight::Plain, 0.0, out);
            command_button(ui, &Command::Class, Weight::Plain, 0.0, out);
            command_button(ui, &Command::Orders, Weight::Plain, 0.0, out);
            command_button(ui, &Command::Observe, Weight::Plain, 0.0, out);
        });
        if beside {
            ui.vertical(|ui| cautions(ui, view));
        }
    });
    if !beside {
        cautions(ui, view);
    }
}

/// Always in sight, and in full ink; with larger text they take no more lines than they must.
fn cautions(ui: &mut Ui, view: &StartView) {
    let t = Tokens::of(ui);
    if let Some(reason) = &view.refusal {
        ui.label(strong(ui, reason).color(t.attention));
    }
    capped(ui, 1.25, |ui| {
        let text = format!("{}.", CAUTIONS.join(". "));
        ui.label(RichText::new(text).small().color(t.ink));
    });
}
