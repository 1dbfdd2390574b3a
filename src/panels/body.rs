//! A plain outline of a body, front and back, with a mark wherever something ended.

use bevy_egui::egui::{
    Align2, Color32, Painter, Pos2, Rect, Sense, Shape, Stroke, TextStyle, Ui, Vec2, pos2, vec2,
};

use crate::view::Command;
use crate::view::outline::Spot;
use crate::view::words::count;

use super::theme::Tokens;

/// Both views side by side, `height` high; pressing a mark asks why.
pub fn outline(ui: &mut Ui, spots: &[Spot], height: f32, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let width = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let caption = TextStyle::Small.resolve(ui.style());
    let tall = height - caption.size - 10.0;
    for (front, share, word) in [(true, 0.27, "front"), (false, 0.73, "back")] {
        let top = pos2(rect.left() + rect.width() * share, rect.top() + 2.0);
        figure(ui.painter(), top, tall, &t);
        let at = pos2(top.x, rect.bottom());
        ui.painter()
            .text(at, Align2::CENTER_BOTTOM, word, caption.clone(), t.soft);
        for spot in spots.iter().filter(|s| s.front == front) {
            mark(ui, spot, place(top, tall, spot, front), tall, out);
        }
    }
}

/// From the front the wearer's left is at the viewer's right; from behind it is at the left.
fn place(top: Pos2, tall: f32, spot: &Spot, front: bool) -> Pos2 {
    let across = if front { spot.x } else { -spot.x };
    top + vec2(across, spot.y) * tall
}

fn mark(ui: &Ui, spot: &Spot, at: Pos2, tall: f32, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let size = tall * (0.008 + 0.006 * (1.0 + spot.count as f32).log10());
    ui.painter()
        .circle(at, size, t.attention, Stroke::new(1.5, t.card));
    let hit = Rect::from_center_size(at, Vec2::splat((size * 2.0).max(14.0)));
    let id = ui.id().with(("spot", spot.site));
    let response =
        ui.interact(hit, id, Sense::click())
            .on_hover_text(format!("{}: {}", spot.label, count(spot.count)));
    if response.clicked() {
        out.push(Command::Why(spot.site));
    }
}

/// A standing figure from joined limbs: round ends, no face, neither sex.
fn figure(painter: &Painter, top: Pos2, tall: f32, t: &Tokens) {
    let at = |x: f32, y: f32| top + vec2(x, y) * tall;
    let limb = |points: &[(f32, f32, f32)], ink: Color32| {
        for pair in points.windows(2) {
            let ((x0, y0, r0), (x1, y1, r1)) = (pair[0], pair[1]);
            taper(painter, at(x0, y0), r0 * tall, at(x1, y1), r1 * tall, ink);
        }
    };
    for side in [-1.0, 1.0] {
        limb(
            &[
                (0.046 * side, 0.47, 0.046),
                (0.050 * side, 0.70, 0.032),
                (0.048 * side, 0.92, 0.020),
            ],
            t.scrubs,
        );
        limb(
            &[(0.048 * side, 0.955, 0.019), (0.062 * side, 0.975, 0.018)],
            t.ink,
        );
        limb(
            &[
                (0.098 * side, 0.195, 0.032),
                (0.135 * side, 0.325, 0.025),
                (0.170 * side, 0.462, 0.018),
            ],
            t.clay,
        );
        limb(
            &[
                (0.172 * side, 0.475, 0.018),
                (0.188 * side, 0.520, 0.021),
                (0.196 * side, 0.552, 0.012),
            ],
            t.clay,
        );
        limb(
            &[(0.172 * side, 0.478, 0.011), (0.158 * side, 0.512, 0.009)],
            t.clay,
        );
        limb(
            &[(0.088 * side, 0.192, 0.034), (0.128 * side, 0.285, 0.031)],
            t.scrubs,
        );
    }
    limb(&[(0.0, 0.10, 0.026), (0.0, 0.165, 0.028)], t.clay);
    let trunk = [
        (-0.030, 0.158),
        (-0.100, 0.170),
        (-0.112, 0.205),
        (-0.092, 0.300),
        (-0.086, 0.400),
        (-0.094, 0.490),
        (0.094, 0.490),
        (0.086, 0.400),
        (0.092, 0.300),
        (0.112, 0.205),
        (0.100, 0.170),
        (0.030, 0.158),
    ];
    let points = trunk.iter().map(|&(x, y)| at(x, y)).collect();
    painter.add(Shape::convex_polygon(points, t.scrubs, Stroke::NONE));
    limb(&[(0.0, 0.054, 0.046), (0.0, 0.082, 0.038)], t.clay);
    for side in [-1.0, 1.0] {
        painter.circle_filled(at(0.047 * side, 0.068), 0.010 * tall, t.clay);
    }
}

/// Two circles and what lies between their tangents.
fn taper(painter: &Painter, a: Pos2, ra: f32, b: Pos2, rb: f32, ink: Color32) {
    painter.circle_filled(a, ra, ink);
    painter.circle_filled(b, rb, ink);
    let along = (b - a).normalized();
    let across = vec2(-along.y, along.x);
    let points = vec![a + across * ra, b + across * rb, b - across * rb, a - across * ra];
    painter.add(Shape::convex_polygon(points, ink, Stroke::NONE));
}
