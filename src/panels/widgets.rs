//! Buttons with key caps, cards, headings: what every panel is made of.

use bevy_egui::egui::text::LayoutJob;
use bevy_egui::egui::{
    Align, Align2, Color32, CornerRadius, FontId, Frame, Layout, Margin, Rect, Response, RichText, Sense,
    Stroke, StrokeKind, TextFormat, TextStyle, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2,
};

use crate::view::command::entry;
use crate::view::{CAUTION_LINE, Command};

use super::theme::{Tokens, bold, capped, title_style};

/// How a button stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// An ordinary button.
    Plain,
    /// The one that leads on.
    Primary,
    /// One of several that is chosen.
    Chosen,
}

/// Font of a text style, in bold.
pub fn bold_font(ui: &Ui, style: &TextStyle) -> FontId {
    FontId::new(style.resolve(ui.style()).size, bold())
}

/// Bold text of body size.
pub fn strong(ui: &Ui, text: impl Into<String>) -> RichText {
    RichText::new(text).font(bold_font(ui, &TextStyle::Body))
}

/// Quiet text of small size.
pub fn soft(ui: &Ui, text: impl Into<String>) -> RichText {
    RichText::new(text).small().color(Tokens::of(ui).soft)
}

/// The cautions in one line at the foot of a page. They stay one line, however large the text.
pub fn caution(ui: &mut Ui) {
    capped(ui, 1.2, |ui| ui.label(soft(ui, CAUTION_LINE)));
}

/// A page title.
pub fn title(ui: &mut Ui, text: &str) -> Response {
    ui.label(RichText::new(text).text_style(title_style()))
}

/// A card's heading.
pub fn heading(ui: &mut Ui, text: &str) -> Response {
    ui.label(RichText::new(text).heading())
}

/// A frame for things that belong together.
pub fn card<R>(ui: &mut Ui, content: impl FnOnce(&mut Ui) -> R) -> R {
    let t = Tokens::of(ui);
    framed(ui, t.card, Stroke::new(1.0, t.line), content)
}

/// The same, to be noticed.
pub fn attention_card<R>(ui: &mut Ui, content: impl FnOnce(&mut Ui) -> R) -> R {
    let t = Tokens::of(ui);
    framed(ui, t.attention_ground, Stroke::new(1.5, t.attention), content)
}

/// A frame of any ground and edge.
pub fn framed<R>(ui: &mut Ui, ground: Color32, edge: Stroke, content: impl FnOnce(&mut Ui) -> R) -> R {
    Frame::new()
        .fill(ground)
        .stroke(edge)
        .corner_radius(CornerRadius::same(10))
        .inner_margin(Margin::symmetric(14, 10))
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            // Columns justify what is in them; text reads better ragged.
            ui.with_layout(Layout::top_down(Align::Min), content).inner
        })
        .inner
}

/// Size of a key cap.
fn cap_size(ui: &Ui, key: &str) -> Vec2 {
    let font = TextStyle::Small.resolve(ui.style());
    let galley = ui
        .painter()
        .layout_no_wrap(key.to_owned(), font, Color32::PLACEHOLDER);
    let height = galley.size().y + 4.0;
    vec2((galley.size().x + 10.0).max(height), height)
}

/// Paints a key cap with its left middle at a point.
pub fn paint_cap(ui: &Ui, left: f32, middle: f32, key: &str, ink: Color32, ground: Color32) {
    let size = cap_size(ui, key);
    let rect = Rect::from_min_size(pos2(left, middle - size.y * 0.5), size);
    ui.painter().rect(
        rect,
        4.0,
        ground,
        Stroke::new(1.0, ink.gamma_multiply(0.5)),
        StrokeKind::Inside,
    );
    let font = TextStyle::Small.resolve(ui.style());
    ui.painter()
        .text(rect.center(), Align2::CENTER_CENTER, key, font, ink);
}

/// Paints the edge that shows keyboard focus.
pub fn paint_focus(ui: &Ui, response: &Response) {
    if response.has_focus() {
        let t = Tokens::of(ui);
        ui.painter().rect_stroke(
            response.rect.expand(2.0),
            CornerRadius::same(10),
            Stroke::new(2.5, t.accent),
            StrokeKind::Outside,
        );
    }
}

/// A button with an optional key cap; `width` is a least width.
pub fn button(ui: &mut Ui, label: &str, key: Option<&str>, weight: Weight, width: f32) -> Response {
    button_named(ui, label, label, key, weight, width)
}

/// A button whose name for assistive technology says more than its caption.
pub fn button_named(
    ui: &mut Ui,
    label: &str,
    name: &str,
    key: Option<&str>,
    weight: Weight,
    width: f32,
) -> Response {
    let t = Tokens::of(ui);
    let pad = vec2(10.0, 7.0);
    let style = TextStyle::Button;
    let font = if weight == Weight::Plain {
        style.resolve(ui.style())
    } else {
        bold_font(ui, &style)
    };
    let cap = key.map(|k| cap_size(ui, k) + vec2(7.0, 0.0)).unwrap_or_default();
    let room = (ui.available_width() - 2.0 * pad.x - cap.x).max(40.0);
    let galley = ui
        .painter()
        .layout(label.to_owned(), font, Color32::PLACEHOLDER, room);
    let inner = vec2(galley.size().x + cap.x, galley.size().y.max(cap.y));
    let least = vec2(width, ui.spacing().interact_size.y);
    let (rect, response) = ui.allocate_exact_size((inner + 2.0 * pad).max(least), Sense::click());
    response.widget_info(|| {
        if weight == Weight::Plain {
            WidgetInfo::labeled(WidgetType::Button, true, name)
        } else {
            WidgetInfo::selected(WidgetType::Button, true, weight == Weight::Chosen, name)
        }
    });
    let hot = response.hovered() || response.is_pointer_button_down_on();
    let (ground, edge, ink) = match weight {
        Weight::Primary => (t.accent, t.accent, t.on_accent),
        Weight::Chosen => (t.tint, t.accent, t.ink),
        Weight::Plain if hot => (t.tint, t.accent, t.ink),
        Weight::Plain => (t.card, t.soft, t.ink),
    };
    let edge = Stroke::new(if weight == Weight::Chosen || hot { 2.0 } else { 1.0 }, edge);
    ui.painter()
        .rect(rect, CornerRadius::same(8), ground, edge, StrokeKind::Inside);
    let left = rect.center().x - inner.x * 0.5;
    if let Some(key) = key {
        let cap_ground = if weight == Weight::Primary {
            t.accent
        } else {
            t.paper
        };
        paint_cap(ui, left, rect.center().y, key, ink, cap_ground);
    }
    let at = pos2(left + cap.x, rect.center().y - galley.size().y * 0.5);
    ui.painter().galley_with_override_text_color(at, galley, ink);
    paint_focus(ui, &response);
    response
}

/// The button of a command of the list: caption, key and tooltip come from there.
pub fn command_button(ui: &mut Ui, command: &Command, weight: Weight, width: f32, out: &mut Vec<Command>) {
    let Some(entry) = entry(command) else { return };
    let response =
        button(ui, entry.label, Some(&entry.key.caption()), weight, width).on_hover_text(entry.tip);
    if response.clicked() {
        out.push(command.clone());
    }
}

/// One of several choices, as a row with a mark that needs no colour.
pub fn radio_row(ui: &mut Ui, chosen: bool, label: &str, note: &str) -> Response {
    let t = Tokens::of(ui);
    let pad = vec2(10.0, 7.0);
    let mark = ui.spacing().icon_width;
    let width = ui.available_width();
    let mut job = LayoutJob::default();
    job.wrap.max_width = (width - 2.0 * pad.x - mark - 8.0).max(60.0);
    let body = TextStyle::Body.resolve(ui.style());
    let font = if chosen {
        bold_font(ui, &TextStyle::Body)
    } else {
        body
    };
    job.append(label, 0.0, TextFormat::simple(font, t.ink));
    if !note.is_empty() {
        let small = TextStyle::Small.resolve(ui.style());
        job.append(&format!("\n{note}"), 0.0, TextFormat::simple(small, t.soft));
    }
    let galley = ui.painter().layout_job(job);
    let height = (galley.size().y + 2.0 * pad.y).max(ui.spacing().interact_size.y);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::click());
    response.widget_info(|| WidgetInfo::selected(WidgetType::RadioButton, true, chosen, label));
    let ground = if chosen || response.hovered() {
        t.tint
    } else {
        Color32::TRANSPARENT
    };
    ui.painter().rect_filled(rect, CornerRadius::same(8), ground);
    let centre = pos2(rect.left() + pad.x + mark * 0.5, rect.center().y);
    ui.painter().circle(
        centre,
        mark * 0.5 - 1.0,
        t.card,
        Stroke::new(1.5, if chosen { t.accent } else { t.soft }),
    );
    if chosen {
        ui.painter().circle_filled(centre, mark * 0.26, t.accent);
    }
    let at = pos2(
        rect.left() + pad.x + mark + 8.0,
        rect.center().y - galley.size().y * 0.5,
    );
    ui.painter().galley(at, galley, t.ink);
    paint_focus(ui, &response);
    response
}

/// A row that can be pressed, with a remark at the right.
pub fn row_button(ui: &mut Ui, label: &str, remark: &str, chosen: bool) -> Response {
    let t = Tokens::of(ui);
    let font = TextStyle::Body.resolve(ui.style());
    let width = ui.available_width();
    let remark_galley = ui.painter().layout(
        remark.to_owned(),
        TextStyle::Small.resolve(ui.style()),
        t.soft,
        width * 0.45,
    );
    let room = (width - remark_galley.size().x - 28.0).max(60.0);
    let galley = ui.painter().layout(label.to_owned(), font, t.ink, room);
    let height = (galley.size().y.max(remark_galley.size().y) + 8.0).max(ui.spacing().interact_size.y * 0.8);
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::click());
    let name = if remark.is_empty() {
        label.to_owned()
    } else {
        format!("{label}, {remark}")
    };
    response.widget_info(|| WidgetInfo::selected(WidgetType::Button, true, chosen, &name));
    let ground = if chosen || response.hovered() {
        t.tint
    } else {
        Color32::TRANSPARENT
    };
    let edge = if chosen {
        Stroke::new(1.5, t.accent)
    } else {
        Stroke::NONE
    };
    ui.painter()
        .rect(rect, CornerRadius::same(6), ground, edge, StrokeKind::Inside);
    let middle = |size: Vec2| rect.center().y - size.y * 0.5;
    ui.painter()
        .galley(pos2(rect.left() + 10.0, middle(galley.size())), galley, t.ink);
    let left = rect.right() - remark_galley.size().x - 8.0;
    let top = middle(remark_galley.size());
    ui.painter().galley(pos2(left, top), remark_galley, t.soft);
    paint_focus(ui, &response);
    response
}

/// A line with a name and, at the right, a number.
pub fn number_row(ui: &mut Ui, label: &str, number: &str, ink: Color32, heavy: bool) -> Response {
    let font = if heavy {
        bold_font(ui, &TextStyle::Body)
    } else {
        TextStyle::Body.resolve(ui.style())
    };
    let width = ui.available_width();
    let number = ui
        .painter()
        .layout_no_wrap(number.to_owned(), bold_font(ui, &TextStyle::Body), ink);
    let room = (width - number.size().x - 12.0).max(60.0);
    let galley = ui.painter().layout(label.to_owned(), font, ink, room);
    let height = galley.size().y.max(number.size().y) + 4.0;
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let text = format!("{label}: {}", number.text());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &text));
    ui.painter().galley(rect.min + vec2(0.0, 2.0), galley, ink);
    ui.painter().galley(
        pos2(rect.right() - number.size().x, rect.top() + 2.0),
        number,
        ink,
    );
    response
}
