//! What lies over the scene: view buttons, the legend of specks, the last touch, and the label at the pointer.

use bevy_egui::egui::{
    Align2, Area, Context, CornerRadius, Frame, Galley, Id, Margin, Order, Panel, Pos2, Rect, Sense, Stroke,
    TextStyle, Ui, UiKind, WidgetInfo, WidgetType, pos2, vec2,
};

use crate::view::command::entry;
use crate::view::now::{JustNow, NowRow};
use crate::view::words::{count, list, many, sentence};
use crate::view::{Command, DrillView, LampUse, NamedView};

use super::focus::group;
use super::screen::FromScene;
use super::theme::{Tokens, capped};
use super::widgets::{Weight, bold_font, button, card, soft, strong};
use super::{marks, now};

/// What lies over the scene, on any page that shows it.
#[derive(Clone, Copy, Debug)]
pub struct Over<'a> {
    /// True while the lamp shines.
    pub lamp: bool,
    /// True if it may shine at all, so that its legend has a place.
    pub lamp_may: bool,
    /// Counts below this are not seen under the lamp.
    pub seen_from: u64,
    /// Whether the picture is mirrored; none where it cannot be.
    pub mirror: Option<bool>,
    /// True while names are written beside what is seen.
    pub names: bool,
    /// True while the last action's flow is shown under the lamp.
    pub trace: bool,
    /// Where it is now, if that may be told.
    pub now: Option<&'a [NowRow]>,
    /// What the last action moved, if that may be told.
    pub just_now: Option<&'a JustNow>,
}

impl<'a> Over<'a> {
    /// What lies over the scene of a drill.
    pub fn of(view: &'a DrillView) -> Over<'a> {
        Over {
            lamp: view.lamp,
            lamp_may: view.lamp_use != LampUse::UntilTheEnd,
            seen_from: view.seen_from,
            mirror: Some(view.mirror),
            names: view.names,
            trace: view.trace,
            now: view.now.as_deref(),
            just_now: view.just_now.as_ref(),
        }
    }
}

/// The buttons for views, in a bar beneath the scene, where they hide nothing.
pub fn bar(ui: &mut Ui, view: &Over<'_>, out: &mut Vec<Command>) {
    Panel::bottom("views")
        .frame(
            Frame::new()
                .fill(Tokens::of(ui).paper)
                .inner_margin(Margin::symmetric(8, 6)),
        )
        .show(ui, |ui| {
            capped(ui, 1.2, |ui| {
                group("views").late().show(ui, |ui| views(ui, view, out))
            });
        });
}

/// Everything over the scene's rectangle.
pub fn draw(ui: &Ui, free: Rect, view: &Over<'_>, scene: &FromScene) {
    let ctx = ui.ctx();
    marks::draw(ui, free, beside_cards(ctx, free, view), &scene.marks);
    if let Some(just_now) = view.just_now {
        over(ctx, "just now", free, Align2::RIGHT_TOP, |ui| {
            last_touch(ui, free, just_now)
        });
    }
    if let (Some(rows), true) = (view.now, roomy(ui, free, view.names)) {
        let width = 14.0 * TextStyle::Body.resolve(ui.style()).size;
        over(ctx, "where now", free, Align2::LEFT_TOP, |ui| {
            ui.set_max_width(width);
            card(ui, |ui| now::rows(ui, rows));
        });
    }
    if let Some(pointed) = &scene.pointed {
        label(ui, free, pointed);
    }
}

/// What cards leave of the scene's rectangle for names: what lies beneath a card cannot be read.
fn beside_cards(ctx: &Context, free: Rect, view: &Over<'_>) -> Rect {
    let card = |name: &'static str| ctx.memory(|m| m.area_rect(Id::new(("over the scene", name))));
    let mut field = free;
    if let Some(rect) = card("just now").filter(|_| view.just_now.is_some()) {
        field.min.y = field.min.y.max(rect.bottom());
    }
    field
}

/// True if the scene leaves room beside the person: not where names stand there, which tell the counts as well.
pub fn roomy(ui: &Ui, free: Rect, names: bool) -> bool {
    !names && free.width() > 48.0 * TextStyle::Body.resolve(ui.style()).size
}

fn over(ctx: &Context, name: &'static str, free: Rect, corner: Align2, content: impl FnOnce(&mut Ui)) {
    let at = corner.pos_in_rect(&free.shrink(14.0));
    Area::new(Id::new(("over the scene", name)))
        .kind(UiKind::GenericArea)
        .order(Order::Middle)
        .pivot(corner)
        .fixed_pos(at)
        .constrain_to(free)
        .fade_in(false)
        .show(ctx, content);
}

fn views(ui: &mut Ui, view: &Over<'_>, out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        let named = [
            NamedView::Front,
            NamedView::Back,
            NamedView::Left,
            NamedView::Right,
            NamedView::Hands,
            NamedView::Face,
        ];
        let mirror = view.mirror.map(|on| (Command::Mirror, on));
        // There with the lamp off as well, or buttons would move when it is switched.
        let trace = (Command::Trace, view.trace);
        let switches = [Some((Command::Names, view.names)), Some(trace), mirror];
        let views = named.map(|n| (Command::View(n), false));
        for (command, on) in views.into_iter().chain(switches.into_iter().flatten()) {
            let Some(entry) = entry(&command) else { continue };
            let weight = if on { Weight::Chosen } else { Weight::Plain };
            let tip = format!("{} ({})", entry.tip, entry.key.caption());
            if button(ui, entry.label, None, weight, 0.0)
                .on_hover_text(tip)
                .clicked()
            {
                out.push(command);
            }
        }
        if view.lamp_may {
            legend(ui, view.lamp, view.seen_from);
        }
    });
}

/// Four patches of specks, each ten times as many as the one before. Its place is kept while the lamp is off, so that
/// nothing moves when it is switched.
pub fn legend(ui: &mut Ui, lamp: bool, seen_from: u64) {
    let t = Tokens::of(ui);
    let font = TextStyle::Small.resolve(ui.style());
    let words = |text: String, ink| ui.painter().layout_no_wrap(text, font.clone(), ink);
    let name = words("Specks".to_owned(), t.soft);
    let first = seen_from.max(1);
    let second = if first < 10 { 10 } else { first * 10 };
    let counts = [first, second, second * 10, second * 100].map(|n| words(count(n), t.ink));
    let (patch, gap) = (vec2(20.0, 20.0), 3.0);
    let each: f32 = counts.iter().map(|c| patch.x + c.size().x + 3.0 * gap).sum();
    let size = vec2(
        name.size().x + gap + each,
        ui.spacing().interact_size.y.max(patch.y),
    );
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    if !lamp {
        return;
    }
    let spoken = format!(
        "Specks: patches of {}",
        list(&counts.each_ref().map(|c| c.text().to_owned()))
    );
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Label, true, &spoken));
    let middle = rect.center().y;
    let mut left = rect.left() + gap;
    let write = |left: f32, text: &std::sync::Arc<Galley>, ink| {
        ui.painter()
            .galley(pos2(left, middle - text.size().y * 0.5), text.clone(), ink);
    };
    write(left, &name, t.soft);
    left += name.size().x + 2.0 * gap;
    for (n, told) in (0_u32..).zip(&counts) {
        let ground = Rect::from_min_size(pos2(left, middle - patch.y * 0.5), patch);
        for i in 0..[2, 6, 14, 30][n as usize] {
            let (x, y) = (scatter(i, 1, n), scatter(i, 2, n));
            let size = 1.0 + scatter(i, 3, n) * 0.9;
            let at = ground.min + vec2(x, y) * ground.size();
            ui.painter().circle_filled(at, size, t.speck);
        }
        left += patch.x + gap;
        write(left, told, t.ink);
        left += told.size().x + 2.0 * gap;
    }
}

/// A fixed scatter, so that nothing flickers.
fn scatter(i: u32, axis: u32, patch: u32) -> f32 {
    let mut x =
        i.wrapping_mul(0x9E37_79B9) ^ axis.wrapping_mul(0x85EB_CA6B) ^ patch.wrapping_mul(0xC2B2_AE35);
    x ^= x >> 15;
    x = x.wrapping_mul(0x2C1B_3C6D);
    x ^= x >> 12;
    (x % 1000) as f32 / 1000.0
}

fn last_touch(ui: &mut Ui, free: Rect, just_now: &JustNow) {
    let t = Tokens::of(ui);
    ui.set_max_width((free.width() * 0.42).max(220.0));
    let edge = if just_now.person {
        Stroke::new(2.0, t.attention)
    } else {
        Stroke::new(1.0, t.line)
    };
    Frame::new()
        .fill(t.card)
        .stroke(edge)
        .corner_radius(CornerRadius::same(10))
        .inner_margin(Margin::symmetric(14, 10))
        .show(ui, |ui| {
            ui.label(soft(
                ui,
                if just_now.person {
                    "Just now, on to you"
                } else {
                    "Just now"
                },
            ));
            ui.label(strong(ui, format!("From: {}", just_now.from)));
            ui.label(strong(ui, format!("To: {}", sentence(&just_now.to))));
            ui.label(format!("{}, {}", many(just_now.count, "speck"), just_now.how));
        });
}

/// The name of what is pointed at, beside the pointer.
fn label(ui: &Ui, free: Rect, text: &str) {
    let Some(pointer) = ui.ctx().pointer_hover_pos().filter(|&p| free.contains(p)) else {
        return;
    };
    let t = Tokens::of(ui);
    let font = bold_font(ui, &TextStyle::Body);
    let painter = ui.ctx().layer_painter(bevy_egui::egui::LayerId::new(
        Order::Tooltip,
        Id::new("site label"),
    ));
    let galley = painter.layout_no_wrap(text.to_owned(), font, t.label_ink);
    let size = galley.size() + vec2(20.0, 12.0);
    let mut at: Pos2 = pointer + vec2(16.0, 18.0);
    at.x = at.x.min(free.right() - size.x - 6.0).max(free.left() + 6.0);
    if at.y + size.y > free.bottom() - 6.0 {
        at.y = pointer.y - size.y - 10.0;
    }
    painter.rect_filled(
        Rect::from_min_size(at, size),
        CornerRadius::same(8),
        t.label_ground,
    );
    painter.galley(at + vec2(10.0, 6.0), galley, t.label_ink);
}
