//! Looking back: where it ended, what was done, why, and next time.

use bevy_egui::egui::{
    Align, CentralPanel, CollapsingHeader, Color32, CornerRadius, Frame, Label, Layout, Margin, Panel,
    RichText, Sense, Stroke, StrokeKind, TextStyle, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

use crate::guidance::Group;
use crate::report::course_drawing;
use crate::view::debrief::{EndGroup, StepRow, WayRow};
use crate::view::why::WhyView;
use crate::view::words::count;
use crate::view::{Command, DebriefView, Tab};

use super::body::outline;
use super::focus::group;
use super::memory::changed;
use super::scroll::{begin_at, scroll};
use super::theme::Tokens;
use super::widgets::{
    Weight, attention_card, bold_font, card, caution, command_button, heading, number_row, paint_focus,
    row_button, soft, strong, title,
};
use super::{drawing, near_you, what_if, why};

/// The page.
pub fn page(ui: &mut Ui, view: &DebriefView, attempt: u64, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    Panel::top("debrief top")
        .frame(Frame::new().fill(t.card).inner_margin(Margin::symmetric(18, 8)))
        .show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                    group("debrief top").late().show(ui, |ui| {
                        command_button(ui, &Command::Again, Weight::Primary, 0.0, out);
                        command_button(ui, &Command::Home, Weight::Plain, 0.0, out);
                        if view.assessed {
                            command_button(ui, &Command::ToSheet, Weight::Plain, 0.0, out);
                        }
                    });
                    ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                        title(ui, "Debrief");
                        ui.vertical(|ui| {
                            ui.spacing_mut().item_spacing.y = 0.0;
                            let name = strong(ui, &view.title);
                            ui.add(Label::new(name).truncate());
                            let sub = soft(ui, &view.sub);
                            ui.add(Label::new(sub).truncate());
                        });
                    });
                });
            });
        });
    Panel::bottom("debrief caution")
        .frame(Frame::new().fill(t.paper).inner_margin(Margin::symmetric(18, 6)))
        .show(ui, |ui| {
            if let Some(kept) = &view.kept {
                let kept = soft(ui, kept);
                ui.add(Label::new(kept).truncate());
            }
            caution(ui);
        });
    let type_size = TextStyle::Body.resolve(ui.style()).size;
    let width = ui.available_width();
    let frame = |ui: &Ui| {
        Frame::new()
            .fill(Tokens::of(ui).paper)
            .inner_margin(Margin::same(10))
    };
    if width < type_size * 60.0 {
        CentralPanel::default().frame(frame(ui)).show(ui, |ui| {
            scroll("Debrief", attempt).show(ui, |ui| {
                apart(ui);
                goes(ui, view, out);
                where_it_ended(ui, view, out);
                on_the_way(ui, view);
                next_time(ui, view);
                let top = ui.cursor().top();
                tabs(ui, view, out);
                middle(ui, view, attempt, out);
                counted(ui, view);
                // It grows when it is known, and would move what is read if it stood above.
                sure(ui, view, out);
                if changed(ui.ctx(), "debrief tab", view.tab) {
                    // However far down the one before was read.
                    begin_at(ui, top);
                }
            });
        });
        return;
    }
    Panel::left("debrief left")
        .resizable(false)
        .exact_size(width * 0.27)
        .frame(frame(ui))
        .show_separator_line(false)
        .show(ui, |ui| {
            scroll("Where it ended", attempt).show(ui, |ui| {
                apart(ui);
                where_it_ended(ui, view, out);
                sure(ui, view, out);
            });
        });
    Panel::right("debrief right")
        .resizable(false)
        .exact_size(width * 0.26)
        .frame(frame(ui))
        .show_separator_line(false)
        .show(ui, |ui| {
            scroll("Next time", attempt).show(ui, |ui| {
                apart(ui);
                goes(ui, view, out);
                next_time(ui, view);
                on_the_way(ui, view);
                counted(ui, view);
            });
        });
    CentralPanel::default().frame(frame(ui)).show(ui, |ui| {
        tabs(ui, view, out);
        let name = match view.tab {
            Tab::Why => "Why",
            Tab::Steps => "What you did",
            Tab::WhatIf => "What if",
        };
        scroll(name, attempt).show(ui, |ui| {
            apart(ui);
            middle(ui, view, attempt, out);
        });
    });
}

/// How the go compares with those before, where somebody practises by the ladder.
fn goes(ui: &mut Ui, view: &DebriefView, out: &mut Vec<Command>) {
    let Some(goes) = &view.goes else { return };
    card(ui, |ui| {
        heading(ui, "Your goes");
        if goes.working {
            ui.label(soft(ui, "Working out what this go leads to"));
            out.push(Command::Poll);
            ui.ctx()
                .request_repaint_after(std::time::Duration::from_millis(100));
            return;
        }
        for line in &goes.lines {
            ui.label(line);
        }
        ui.label(strong(ui, &goes.next));
        if let Some(plot) = &goes.plot {
            let width = ui.available_width();
            drawing::show(ui, plot, width, &goes.spoken);
        }
    });
}

/// Cards stand apart.
fn apart(ui: &mut Ui) {
    ui.spacing_mut().item_spacing.y = 10.0;
}

/// What the middle shows, to be chosen.
fn tabs(ui: &mut Ui, view: &DebriefView, out: &mut Vec<Command>) {
    const ALL: [Tab; 3] = [Tab::Why, Tab::Steps, Tab::WhatIf];
    let at = ALL.iter().position(|tab| *tab == view.tab);
    group("tabs").at(at).show(ui, |ui| tab_row(ui, view, &ALL, out));
}

fn tab_row(ui: &mut Ui, view: &DebriefView, all: &[Tab], out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        for &tab in all {
            let weight = if view.tab == tab {
                Weight::Chosen
            } else {
                Weight::Plain
            };
            command_button(ui, &Command::Tab(tab), weight, 0.0, out);
        }
        command_button(ui, &Command::Replay, Weight::Plain, 0.0, out);
    });
}

fn middle(ui: &mut Ui, view: &DebriefView, attempt: u64, out: &mut Vec<Command>) {
    group(("middle", view.tab, attempt)).show(ui, |ui| shown(ui, view, out));
}

fn shown(ui: &mut Ui, view: &DebriefView, out: &mut Vec<Command>) {
    match view.tab {
        Tab::Why => {
            critical(ui, view);
            if let Some(why) = &view.why {
                why::card_of(ui, why, out);
            }
            if let Some(near) = &view.near {
                near_you::card_of(ui, near, &view.unit, out);
            }
        }
        Tab::Steps => what_you_did(ui, view, out),
        Tab::WhatIf => {
            if let Some(what_if) = &view.what_if {
                what_if::card_of(ui, what_if, out);
            }
        }
    }
}

fn where_it_ended(ui: &mut Ui, view: &DebriefView, out: &mut Vec<Command>) {
    group("where it ended").show(ui, |ui| places(ui, view, out));
}

fn places(ui: &mut Ui, view: &DebriefView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, "Where it ended");
        ui.label(soft(ui, format!("In {}. Press a line to see why", view.unit)));
        let height = (ui.available_width() * 0.95).clamp(220.0, 380.0);
        outline(ui, &view.spots, height, out);
        ui.spacing_mut().item_spacing.y = 2.0;
        for group in view.groups.iter().filter(|g| g.group.is_person()) {
            end_group(ui, group, view.why.as_ref(), out);
        }
        ui.add_space(6.0);
        for group in view.groups.iter().filter(|g| !g.group.is_person() && g.count > 0) {
            end_group(ui, group, view.why.as_ref(), out);
        }
        let t = Tokens::of(ui);
        for (label, n) in [
            ("Killed by hand rub", view.removed.0),
            ("Washed away", view.removed.1),
        ] {
            if n > 0 {
                number_row(ui, label, &count(n), t.ink, false);
            }
        }
    });
}

fn end_group(ui: &mut Ui, group: &EndGroup, why: Option<&WhyView>, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let grave = group.count > 0 && group.group <= Group::Lips;
    let ink = if group.count == 0 {
        t.soft
    } else if grave {
        t.attention
    } else {
        t.ink
    };
    let seen = if group.count > 0 && !group.seen {
        ", too little to be seen"
    } else {
        ""
    };
    number_row(
        ui,
        &format!("{}{seen}", group.label),
        &count(group.count),
        ink,
        group.count > 0,
    );
    if !group.group.is_person() {
        return;
    }
    for site in &group.sites {
        let chosen = why.is_some_and(|w| w.site == Some(site.site));
        if site_row(ui, &site.label, site.count, chosen).clicked() {
            out.push(Command::Why(site.site));
        }
    }
}

/// A site that can be asked about.
fn site_row(ui: &mut Ui, label: &str, n: u64, chosen: bool) -> bevy_egui::egui::Response {
    let t = Tokens::of(ui);
    let font = TextStyle::Small.resolve(ui.style());
    let width = ui.available_width();
    let height = (font.size + 12.0).max(26.0);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::click());
    let name = format!("Why: {label}, {}", count(n));
    response.widget_info(|| WidgetInfo::selected(WidgetType::Button, true, chosen, &name));
    let ground = if chosen || response.hovered() {
        t.tint
    } else {
        Color32::TRANSPARENT
    };
    ui.painter().rect_filled(rect, CornerRadius::same(6), ground);
    if chosen {
        ui.painter().rect_stroke(
            rect,
            CornerRadius::same(6),
            Stroke::new(1.5, t.accent),
            StrokeKind::Inside,
        );
    }
    let galley = ui
        .painter()
        .layout(label.to_owned(), font.clone(), t.ink, width - 80.0);
    ui.painter().galley(
        pos2(rect.left() + 12.0, rect.center().y - galley.size().y * 0.5),
        galley,
        t.ink,
    );
    let number = ui.painter().layout_no_wrap(count(n), font, t.ink);
    let at = pos2(
        rect.right() - number.size().x - 8.0,
        rect.center().y - number.size().y * 0.5,
    );
    ui.painter().galley(at, number, t.ink);
    paint_focus(ui, &response);
    response
}

fn critical(ui: &mut Ui, view: &DebriefView) {
    if view.critical.is_empty() {
        return;
    }
    attention_card(ui, |ui| {
        let t = Tokens::of(ui);
        heading(ui, "Critical errors");
        for line in &view.critical {
            ui.label(RichText::new(format!("!  {line}")).color(t.ink));
        }
    });
}

fn what_you_did(ui: &mut Ui, view: &DebriefView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, "What you did");
        ui.label(soft(ui, format!("Beside: {}", view.sequence)));
        let size = ui.text_style_height(&TextStyle::Body) * 0.8;
        let width = ui.available_width();
        let picture = course_drawing(&view.course, f64::from(width), f64::from(size));
        drawing::show(
            ui,
            &picture,
            width,
            "Each step that was asked, with a line to what was done for it",
        );
        for (n, step) in view.steps.iter().enumerate() {
            step_row(ui, n, step);
        }
        CollapsingHeader::new(strong(ui, "Everything in order"))
            .id_salt("everything")
            .default_open(true)
            .show(ui, |ui| {
                for (n, row) in view.done.iter().enumerate() {
                    let carried = if row.carried > 0 {
                        format!("+{}", count(row.carried))
                    } else {
                        String::new()
                    };
                    if row_button(ui, &format!("{}  {}", row.at, row.text), &carried, false)
                        .on_hover_text("See it again")
                        .clicked()
                    {
                        out.push(Command::See(n));
                    }
                }
                ui.label(soft(
                    ui,
                    "Numbers are what an action brought on to you. Press one to see it again",
                ));
            });
    });
}

fn step_row(ui: &mut Ui, n: usize, step: &StepRow) {
    let t = Tokens::of(ui);
    ui.separator();
    ui.horizontal_top(|ui| {
        let (ink, ground) = if step.departs {
            (t.attention, t.attention_ground)
        } else {
            (t.accent, t.tint)
        };
        chip(ui, step.verdict, ink, ground);
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            ui.label(strong(ui, format!("{}. {}", n + 1, step.ask)));
            if let Some(done) = &step.done {
                ui.label(soft(ui, done));
            }
            for note in &step.notes {
                ui.label(RichText::new(note).small().color(t.attention));
            }
            if step.departs {
                ui.label(RichText::new(format!("Why it is asked: {}", step.why)).small());
                ui.label(soft(ui, format!("Source: {}", step.source)));
            } else {
                CollapsingHeader::new(soft(ui, "Why it is asked"))
                    .id_salt(("why", n))
                    .show(ui, |ui| {
                        ui.label(RichText::new(&step.why).small());
                        ui.label(soft(ui, format!("Source: {}", step.source)));
                    });
            }
        });
    });
}

/// A word on a ground of its own, as wide as the widest of its kind.
fn chip(ui: &mut Ui, word: &str, ink: Color32, ground: Color32) {
    let font = bold_font(ui, &TextStyle::Small);
    let width = font.size * 5.4;
    let galley = ui.painter().layout(word.to_owned(), font, ink, width - 10.0);
    let (rect, response) = ui.allocate_exact_size(vec2(width, galley.size().y + 8.0), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, word));
    ui.painter().rect_filled(rect, CornerRadius::same(6), ground);
    ui.painter()
        .galley(rect.center() - galley.size() * 0.5, galley, ink);
}

fn next_time(ui: &mut Ui, view: &DebriefView) {
    card(ui, |ui| {
        heading(ui, "Next time");
        if let Some(well) = &view.well {
            ui.label(soft(ui, "What went well"));
            ui.label(well);
            ui.add_space(4.0);
            ui.label(soft(ui, "What to practise"));
        }
        for (n, text) in view.next.iter().enumerate() {
            ui.horizontal_top(|ui| {
                ui.label(strong(ui, format!("{}.", n + 1)));
                ui.add(Label::new(text).wrap());
            });
        }
    });
}

/// What a count at the end hides.
fn on_the_way(ui: &mut Ui, view: &DebriefView) {
    card(ui, |ui| {
        heading(ui, "On the way, and what others get");
        ui.label(soft(ui, format!("In {}", view.unit)));
        ui.spacing_mut().item_spacing.y = 2.0;
        for row in &view.way {
            way_row(ui, row);
        }
    });
}

fn way_row(ui: &mut Ui, row: &WayRow) {
    let t = Tokens::of(ui);
    let ink = if row.count == 0 { t.soft } else { t.ink };
    let seen = if row.count > 0 && !row.seen {
        ", too little to be seen"
    } else {
        ""
    };
    let label = format!("{}{seen}", row.label);
    number_row(ui, &label, &count(row.count), ink, row.count > 0);
    Frame::new()
        .inner_margin(Margin {
            left: 14,
            ..Margin::ZERO
        })
        .show(ui, |ui| {
            for (when, n) in &row.moments {
                number_row(ui, when, &count(*n), t.soft, false);
            }
            if row.count > 0 && row.moments.len() > 1 {
                ui.label(soft(ui, "What a cleaning leaves counts again at the next"));
            }
        });
}

/// How sure the model is of these actions, whatever luck this attempt had.
fn sure(ui: &mut Ui, view: &DebriefView, out: &mut Vec<Command>) {
    card(ui, |ui| {
        heading(ui, "The same again, by others");
        let Some(sure) = view.sure.as_ref().filter(|sure| sure.working.is_none()) else {
            let share = view.sure.as_ref().and_then(|sure| sure.working).unwrap_or(0.0);
            ui.label(soft(
                ui,
                format!("Working out how sure the model is: {:.0} %", 100.0 * share),
            ));
            out.push(Command::Poll);
            ui.ctx().request_repaint();
            return;
        };
        ui.label(soft(ui, &sure.of));
        for (place, people, mean) in &sure.rows {
            ui.label(strong(ui, place));
            ui.label(people);
            if !mean.is_empty() {
                ui.label(mean);
            }
        }
        ui.label(soft(ui, &sure.about));
    });
}

fn counted(ui: &mut Ui, view: &DebriefView) {
    card(ui, |ui| {
        let t = Tokens::of(ui);
        heading(ui, "Marks for the sequence");
        for line in &view.marks {
            ui.label(strong(ui, line));
        }
        for (reason, marks) in &view.deductions {
            number_row(ui, reason, &format!("−{marks}"), t.ink, false);
        }
        ui.label(soft(
            ui,
            "Marks are for learning the sequence. What reached you is the result",
        ));
    });
    card(ui, |ui| {
        heading(ui, "Clean hands");
        for line in &view.hygiene {
            ui.label(line);
        }
    });
    card(ui, |ui| {
        heading(ui, "Hands at the face");
        if view.face.is_empty() {
            ui.label("None beside what the kit needs");
        }
        for line in &view.face {
            ui.label(line);
        }
    });
}
