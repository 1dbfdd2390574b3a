//! The chosen site with its numbered options.

use bevy_egui::egui::text::LayoutJob;
use bevy_egui::egui::{
    Color32, CornerRadius, Key, Response, RichText, TextFormat, TextStyle, Ui, WidgetInfo, WidgetType, pos2,
    vec2,
};

use crate::model::Pace;
use crate::view::drilling::Chosen;
use crate::view::{Choice, Command, DrillView};

use super::hold::{HELD, pressed, pressed_by_key, pressed_by_pointer};
use super::memory::rested;
use super::theme::Tokens;
use super::widgets::{Weight, bold_font, command_button, heading, paint_cap, paint_focus, soft};

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
pub fn list(ui: &mut Ui, view: &DrillView, chosen: &Chosen, out: &mut Vec<Command>) {
    // The hand that most are done with is named once; the others say so themselves.
    let possible = || chosen.choices.iter().filter(|c| c.refused.is_none());
    let common = possible().next().map_or("", |c| c.by.as_str());
    ui.horizontal_wrapped(|ui| {
        heading(ui, &chosen.label);
        ui.label(soft(ui, common));
    });
    if possible().any(|c| c.paced) {
        pace(ui, view, out);
    }
    let ready = Ready::of(ui, chosen, view.list_rest);
    let mut press = |number: usize, pressed: Pressed| {
        if ready.takes(pressed) && view.finishing.is_none() {
            out.push(Command::Option(number, view.pace));
        }
    };
    for choice in possible() {
        let pressed = row(ui, choice, common, view.pace == Pace::Hurried);
        press(choice.number, pressed);
    }
    not_now(ui, &chosen.choices, &mut press);
}

/// How the next thing is done: steadily, unless a hurry is asked for.
fn pace(ui: &mut Ui, view: &DrillView, out: &mut Vec<Command>) {
    let hurried = view.pace == Pace::Hurried;
    let weight = if hurried { Weight::Chosen } else { Weight::Plain };
    ui.horizontal_wrapped(|ui| {
        command_button(ui, &Command::Hurry, weight, 0.0, out);
        let how = if hurried {
            "The next thing is done in a hurry"
        } else {
            "Things are done steadily"
        };
        ui.label(soft(ui, how));
    });
}

/// Which presses count: none for a short while after the list has changed, and none by the pointer after it has moved: a
/// second click must not do what has just come under the pointer.
#[derive(Clone, Copy)]
struct Ready {
    by_key: bool,
    by_pointer: bool,
}

impl Ready {
    fn of(ui: &Ui, chosen: &Chosen, rest: f64) -> Ready {
        let shown: Vec<(usize, &str, bool)> = chosen
            .choices
            .iter()
            .map(|c| (c.number, c.label.as_str(), c.refused.is_some()))
            .collect();
        let same = rested(ui.ctx(), "choices", (chosen.site, shown), rest);
        let there = rested(ui.ctx(), "place of choices", ui.cursor().top() as i32, rest);
        Ready {
            by_key: same,
            by_pointer: same && there,
        }
    }

    /// True if one of these presses counts.
    fn takes(self, pressed: Pressed) -> bool {
        pressed.by_key && self.by_key || pressed.by_pointer && self.by_pointer
    }
}

/// How a row was pressed, if it was.
#[derive(Clone, Copy)]
struct Pressed {
    by_key: bool,
    by_pointer: bool,
}

/// What stands in the way of the rest, each reason once with all that it stops. What is refused can be pressed all the
/// same where it is known what has to be dealt with first: that is chosen then.
fn not_now(ui: &mut Ui, choices: &[Choice], press: &mut dyn FnMut(usize, Pressed)) {
    let t = Tokens::of(ui);
    let mut reasons: Vec<(&str, Vec<&Choice>)> = Vec::new();
    for choice in choices {
        let Some(reason) = choice.refused.as_deref() else {
            continue;
        };
        match reasons.iter_mut().find(|(r, _)| *r == reason) {
            Some((_, all)) => all.push(choice),
            None => reasons.push((reason, vec![choice])),
        }
    }
    for (reason, all) in reasons {
        ui.add_space(2.0);
        ui.separator();
        ui.label(RichText::new(format!("Not now: {reason}")).small().color(t.ink));
        for choice in all {
            if choice.first.is_some() {
                let pressed = refused(ui, choice);
                press(choice.number, pressed);
            } else {
                ui.label(soft(ui, format!("·  {}", choice.label)));
            }
        }
    }
}

/// A choice that can be done.
fn row(ui: &mut Ui, choice: &Choice, common: &str, hurried: bool) -> Pressed {
    let t = Tokens::of(ui);
    let body = TextStyle::Body.resolve(ui.style());
    let small = TextStyle::Small.resolve(ui.style());
    let mut job = LayoutJob::default();
    job.append(&choice.label, 0.0, TextFormat::simple(body, t.ink));
    if choice.by != common {
        let by = format!("  {}", choice.by);
        job.append(&by, 0.0, TextFormat::simple(small, t.soft));
    }
    let name = format!("{} {} {}", choice.number, choice.label, choice.by);
    let how = if hurried && choice.paced {
        ", in a hurry"
    } else {
        ""
    };
    pressable(ui, choice.number, job, &format!("{}{how}", name.trim()), 6.0).0
}

/// A choice that waits for something.
fn refused(ui: &mut Ui, choice: &Choice) -> Pressed {
    let t = Tokens::of(ui);
    let small = TextStyle::Small.resolve(ui.style());
    let leads = choice.first.as_ref().map_or("", |(_, label)| label.as_str());
    let mut job = LayoutJob::default();
    job.append(&choice.label, 0.0, TextFormat::simple(small, t.soft));
    let name = format!("{} {}, not now, go to: {leads}", choice.number, choice.label);
    let (pressed, response) = pressable(ui, choice.number, job, &name, 2.0);
    response.on_hover_text(format!("Go to: {leads}"));
    pressed
}

/// A numbered row, pressed by itself or by its number.
fn pressable(ui: &mut Ui, number: usize, mut job: LayoutJob, name: &str, tall: f32) -> (Pressed, Response) {
    let t = Tokens::of(ui);
    let pad = vec2(8.0, tall);
    let small = TextStyle::Small.resolve(ui.style());
    let cap = small.size + 20.0;
    let width = ui.available_width();
    job.wrap.max_width = (width - 2.0 * pad.x - cap).max(80.0);
    let galley = ui.painter().layout_job(job);
    let height = (galley.size().y + 2.0 * pad.y).max(ui.spacing().interact_size.y);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), HELD);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, name));
    let hot = response.hovered() || response.has_focus();
    let ground = if hot { t.tint } else { Color32::TRANSPARENT };
    ui.painter().rect_filled(rect, CornerRadius::same(8), ground);
    let key = NUMBERS.get(number.wrapping_sub(1)).copied();
    if key.is_some() {
        let (left, middle) = (rect.left() + pad.x, rect.center().y);
        paint_cap(ui, left, middle, &number.to_string(), t.ink, t.card);
    }
    let at = pos2(rect.left() + pad.x + cap, rect.center().y - galley.size().y * 0.5);
    ui.painter().galley(at, galley, t.ink);
    paint_focus(ui, &response);
    let pressed = Pressed {
        by_key: key.is_some_and(|key| pressed(ui, key)) || pressed_by_key(ui, &response),
        by_pointer: pressed_by_pointer(ui, &response),
    };
    (pressed, response)
}

/// What to read where no site is chosen.
pub fn nothing_chosen(ui: &mut Ui) {
    heading(ui, "Nothing chosen");
    ui.label("Point at something and click it, pick from what is not in the bin yet, or press S for a list of everything in reach");
    let font = bold_font(ui, &TextStyle::Small);
    ui.label(RichText::new("Number keys pick what to do").font(font));
}
