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

/// Draws them within the part of the window that the scene has.
pub(super) fn draw(ui: &Ui, free: Rect, marks: &Marks) {
    let painter = ui.painter().with_clip_rect(free);
    for arrow in marks.arrows.iter().rev() {
        draw_arrow(ui, &painter, arrow);
    }
    names(ui, &painter, free, &marks.names);
}

/// Width of an arrow for an amount, points: a unit more for ten times as much.
fn width(count: u64) -> f32 {
    2.5 + 1.6 * (count.max(1) as f32).log10()
}

fn draw_arrow(ui: &Ui, painter: &Painter, arrow: &Arrow) {
    let t = Tokens::of(ui);
    let (ink, edge) = (t.accent, t.paper);
    let wide = width(arrow.count);
    let (from, to) = (arrow.from.0, arrow.to.0);
    let along = to - from;
    let length = along.length();
    let end = |at: Pos2, seen: bool| {
        painter.circle_filled(at, wide + 2.5, edge);
        if seen {
            painter.circle_filled(at, wide + 1.0, ink);
        } else {
            painter.circle_stroke(at, wide + 0.5, Stroke::new(1.5, ink));
        }
    };
    if length < 12.0 {
        // Both ends in one place of the picture: a ring says that something went on there.
        painter.circle_stroke(to, 11.0, Stroke::new(wide + 2.5, edge));
        painter.circle_stroke(to, 11.0, Stroke::new(wide, ink));
        words(ui, painter, to + vec2(16.0, -16.0), arrow.count);
        return;
    }
    let bow = Vec2::new(along.y, -along.x) * 0.22;
    let bend = from + along * 0.5 + bow;
    let tangent = (to - bend).normalized();
    let head = (wide * 3.0).clamp(9.0, 22.0).min(length * 0.5);
    let neck = to - tangent * head * 0.8;
    let curve = |stroke: Stroke| {
        let points = [from, bend, neck];
        painter.add(QuadraticBezierShape::from_points_stroke(
            points,
            false,
            Color32::TRANSPARENT,
            stroke,
        ));
    };
    curve(Stroke::new(wide + 2.5, edge));
    end(from, arrow.from.1);
    curve(Stroke::new(wide, ink));
    let across = tangent.rot90() * head * 0.55;
    let back = to - tangent * head;
    let tip = vec![to, back + across, back - across];
    let (fill, line) = if arrow.to.1 {
        (ink, Stroke::new(1.5, edge))
    } else {
        (edge, Stroke::new(1.5, ink))
    };
    painter.add(Shape::convex_polygon(tip, fill, line));
    words(ui, painter, from + along * 0.5 + bow * 0.62, arrow.count);
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
    // Columns stand beside what they name, since long lines are hard to follow; what lies over the scene keeps its
    // corners.
    let reach = widest + 80.0;
    let left = names.iter().map(|n| n.1.x).fold(f32::MAX, f32::min);
    let right = names.iter().map(|n| n.1.x).fold(f32::MIN, f32::max);
    let mut field = free.shrink(12.0);
    field.min.x = field.min.x.max(left - reach);
    field.max.x = field.max.x.min(right + reach);
    field.max.y -= 70.0;
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
