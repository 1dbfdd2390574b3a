//! Names and arrows over the scene.

use bevy_egui::egui::epaint::QuadraticBezierShape;
use bevy_egui::egui::{
    Color32, CornerRadius, Galley, Painter, Pos2, Rect, Shape, Stroke, TextStyle, Ui, Vec2, vec2,
};
use std::sync::Arc;

use crate::view::words::count;

use super::callouts::{Wanted, lay_out};
use super::theme::Tokens;
use super::widgets::bold_font;

/// What is drawn over the scene, in points of the window.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marks {
    /// Names with the places they belong to, the most important first.
    pub names: Vec<(String, Pos2)>,
    /// What went from where to where.
    pub arrows: Vec<Arrow>,
}

/// What went from one place to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrow {
    /// Where it came from, and whether that is in sight.
    pub from: (Pos2, bool),
    /// Where it went to, and whether that is in sight.
    pub to: (Pos2, bool),
    /// How much.
    pub count: u64,
}

/// Draws them within the part of the window that the scene has; names stand where nothing else lies over it.
pub(super) fn draw(ui: &Ui, free: Rect, clear: Rect, marks: &Marks) {
    let painter = ui.painter().with_clip_rect(free);
    for (n, arrow) in marks.arrows.iter().enumerate().rev() {
        draw_arrow(ui, &painter, n, arrow);
    }
    names(ui, &painter, clear, &marks.names);
}

/// Width of an arrow for an amount, points: a unit more for ten times as much.
fn width(count: u64) -> f32 {
    1.5 + 1.1 * (count.max(1) as f32).log10()
}

/// How far the first arrow bows out at least, points, and how much farther each next one does: between patches that lie
/// close together arrows would hide one another, and those.
const BOW: (f32, f32) = (34.0, 20.0);

/// Draws the nth arrow. Every other one bows to the other side.
fn draw_arrow(ui: &Ui, painter: &Painter, n: usize, arrow: &Arrow) {
    let t = Tokens::of(ui);
    let (ink, edge) = (t.accent, t.paper);
    let wide = width(arrow.count);
    let (from, to) = (arrow.from.0, arrow.to.0);
    let along = to - from;
    let length = along.length();
    let aside = if length < 4.0 {
        Vec2::RIGHT
    } else {
        Vec2::new(along.y, -along.x) / length
    };
    // To the right of the picture and to the left by turns.
    let side = if n.is_multiple_of(2) == (aside.x >= 0.0) {
        1.0
    } else {
        -1.0
    };
    let bow = aside * side * (0.22 * length).max(BOW.0 + BOW.1 * n as f32);
    // The curve passes half as far out as the point that bends it.
    let bend = from + along * 0.5 + bow * 2.0;
    let tangent = (to - bend).normalized();
    let head = (wide * 2.6).clamp(8.0, 18.0);
    let curve = |stroke: Stroke| {
        let points = [from, bend, to - tangent * head * 0.8];
        painter.add(QuadraticBezierShape::from_points_stroke(
            points,
            false,
            Color32::TRANSPARENT,
            stroke,
        ));
    };
    curve(Stroke::new(wide + 2.5, edge));
    curve(Stroke::new(wide, ink));
    let seen = |seen: bool| if seen { ink } else { edge };
    painter.circle(from, wide * 0.5 + 2.0, seen(arrow.from.1), Stroke::new(1.5, ink));
    let across = tangent.rot90() * head * 0.5;
    let back = to - tangent * head;
    let tip = vec![to, back + across, back - across];
    painter.add(Shape::convex_polygon(
        tip,
        seen(arrow.to.1),
        Stroke::new(1.5, ink),
    ));
    words(ui, painter, from + along * 0.5 + bow, arrow.count);
}

/// How much, on a ground of its own.
fn words(ui: &Ui, painter: &Painter, at: Pos2, amount: u64) {
    let t = Tokens::of(ui);
    let font = bold_font(ui, &TextStyle::Body);
    let galley = painter.layout_no_wrap(count(amount), font, t.label_ink);
    let slab = Rect::from_center_size(at, galley.size() + vec2(12.0, 4.0));
    painter.rect_filled(slab, CornerRadius::same(6), t.label_ground);
    painter.galley(slab.min + vec2(6.0, 2.0), galley, t.label_ink);
}

fn names(ui: &Ui, painter: &Painter, free: Rect, names: &[(String, Pos2)]) {
    if names.is_empty() {
        return;
    }
    let t = Tokens::of(ui);
    let font = TextStyle::Body.resolve(ui.style());
    let widest = free.width() * 0.24;
    let galleys: Vec<Arc<Galley>> = names
        .iter()
        .map(|(text, _)| painter.layout(text.clone(), font.clone(), t.label_ink, widest))
        .collect();
    let wanted: Vec<Wanted> = names
        .iter()
        .zip(&galleys)
        .map(|((_, at), galley)| Wanted {
            at: *at,
            size: galley.size() + vec2(16.0, 8.0),
        })
        .collect();
    // Columns stand beside what they name, since long lines are hard to follow.
    let reach = widest + 80.0;
    let left = names.iter().map(|n| n.1.x).fold(f32::MAX, f32::min);
    let right = names.iter().map(|n| n.1.x).fold(f32::MIN, f32::max);
    let mut field = free.shrink(12.0);
    field.min.x = field.min.x.max(left - reach);
    field.max.x = field.max.x.min(right + reach);
    let placed = lay_out(&wanted, field, 5.0);
    for callout in &placed {
        painter.line_segment([callout.from, callout.to], Stroke::new(3.6, t.label_ground));
    }
    for callout in &placed {
        painter.line_segment([callout.from, callout.to], Stroke::new(1.4, t.label_ink));
        painter.circle_filled(callout.to, 4.2, t.label_ground);
        painter.circle_filled(callout.to, 2.8, t.label_ink);
    }
    for callout in &placed {
        painter.rect_filled(callout.slab, CornerRadius::same(6), t.label_ground);
        let galley = galleys[callout.which].clone();
        painter.galley(callout.slab.min + vec2(8.0, 4.0), galley, t.label_ink);
    }
}
