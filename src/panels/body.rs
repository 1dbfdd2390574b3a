//! A plain outline of a body, front and back, with a mark wherever something ended.

use bevy_egui::egui::{
    Align2, Color32, Mesh, Painter, Pos2, Rect, Sense, Shape, Stroke, TextStyle, Ui, Vec2, pos2, vec2,
};

use crate::view::Command;
use crate::view::outline::Spot;
use crate::view::words::count;

use super::theme::Tokens;

/// Both views side by side, `height` high; pressing a mark asks why.
pub fn outline(ui: &mut Ui, spots: &[Spot], height: f32, out: &mut Vec<Command>) {
    both_sides(ui, height, |ui, top, tall, front| {
        for spot in spots.iter().filter(|s| s.front == front) {
            mark(ui, spot, place(top, tall, (spot.x, spot.y), front), tall, out);
        }
    });
}

/// The figure from the front and from behind, `height` high with their captions, and whatever is drawn on each: told where its top is and how
/// tall it is.
pub fn both_sides(ui: &mut Ui, height: f32, mut on: impl FnMut(&mut Ui, Pos2, f32, bool)) {
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
        on(ui, top, tall, front);
    }
}

/// From the front the wearer's left is at the viewer's right; from behind it is at the left.
pub fn place(top: Pos2, tall: f32, (x, y): (f32, f32), front: bool) -> Pos2 {
    let across = if front { x } else { -x };
    top + vec2(across, y) * tall
}

fn mark(ui: &Ui, spot: &Spot, at: Pos2, tall: f32, out: &mut Vec<Command>) {
    let t = Tokens::of(ui);
    let size = tall * (0.008 + 0.006 * (1.0 + spot.count as f32).log10());
    ui.painter()
        .circle(at, size, t.attention, Stroke::new(1.5, t.card));
    let hit = Rect::from_center_size(at, Vec2::splat((size * 2.0).max(14.0)));
    let id = ui.id().with(("spot", spot.site));
    let response =
        // The rows beneath say the same to the keyboard.
        ui.interact(hit, id, Sense::CLICK)
            .on_hover_text(format!("{}: {}", spot.label, count(spot.count)));
    if response.clicked() {
        out.push(Command::Why(spot.site));
    }
}

/// A standing figure from joined limbs: round ends, no face, neither sex.
fn figure(painter: &Painter, top: Pos2, tall: f32, t: &Tokens) {
    let both = |points: &[[f32; 3]]| {
        [1.0, -1.0].map(|side| points.iter().map(|[x, y, r]| [x * side, *y, *r]).collect())
    };
    let legs = both(&[[0.046, 0.47, 0.046], [0.050, 0.70, 0.032], [0.048, 0.92, 0.020]]);
    let feet = both(&[[0.048, 0.955, 0.019], [0.062, 0.975, 0.018]]);
    let arms = both(&[
        [0.098, 0.195, 0.032],
        [0.135, 0.325, 0.025],
        [0.172, 0.475, 0.017],
        [0.188, 0.520, 0.020],
        [0.196, 0.552, 0.012],
    ]);
    let thumbs = both(&[[0.172, 0.478, 0.012], [0.158, 0.512, 0.009]]);
    let sleeves = both(&[[0.088, 0.192, 0.034], [0.128, 0.285, 0.031]]);
    let ears = both(&[[0.044, 0.066, 0.010], [0.046, 0.070, 0.010]]);
    let neck = vec![[0.0, 0.10, 0.026], [0.0, 0.165, 0.028]];
    let head = vec![[0.0, 0.054, 0.046], [0.0, 0.082, 0.038]];
    let trunk = vec![
        [0.0, 0.215, 0.055],
        [0.0, 0.230, 0.088],
        [0.0, 0.300, 0.088],
        [0.0, 0.400, 0.082],
        [0.0, 0.440, 0.088],
    ];
    let shoulders = both(&[[0.0, 0.205, 0.045], [0.088, 0.196, 0.034]]);
    let hips = both(&[[0.0, 0.445, 0.060], [0.046, 0.47, 0.046]]);
    let skin: Vec<Vec<[f32; 3]>> = [arms, thumbs].concat();
    let body: Vec<Vec<[f32; 3]>> = [legs, hips.clone(), sleeves, shoulders, [trunk, Vec::new()]].concat();
    let above: Vec<Vec<[f32; 3]>> = [[head, Vec::new()], ears].concat();
    for (limbs, ink) in [
        (feet.to_vec(), t.ink),
        (skin, t.clay),
        (vec![neck], t.clay),
        (body, t.scrubs),
        (above, t.clay),
    ] {
        joined(painter, top, tall, &limbs, ink);
    }
}

/// Limbs of one colour without a seam: first with soft edges, then filled once more within them.
fn joined(painter: &Painter, top: Pos2, tall: f32, limbs: &[Vec<[f32; 3]>], ink: Color32) {
    let at = |[x, y, r]: [f32; 3]| (top + vec2(x, y) * tall, r * tall);
    let mut fill = Mesh::default();
    for limb in limbs {
        for pair in limb.windows(2) {
            let ((a, ra), (b, rb)) = (at(pair[0]), at(pair[1]));
            painter.circle_filled(a, ra, ink);
            painter.circle_filled(b, rb, ink);
            let corners = between(a, ra, b, rb);
            painter.add(Shape::convex_polygon(corners.to_vec(), ink, Stroke::NONE));
            fan(&mut fill, &around(a, ra - 0.6), ink);
            fan(&mut fill, &around(b, rb - 0.6), ink);
            fan(&mut fill, &between(a, ra - 0.6, b, rb - 0.6), ink);
        }
    }
    painter.add(Shape::mesh(fill));
}

/// What lies between the common tangents of two circles.
fn between(a: Pos2, ra: f32, b: Pos2, rb: f32) -> [Pos2; 4] {
    let along = (b - a).normalized();
    let across = vec2(-along.y, along.x);
    [a + across * ra, b + across * rb, b - across * rb, a - across * ra]
}

fn around(centre: Pos2, radius: f32) -> [Pos2; 32] {
    std::array::from_fn(|i| {
        let turn = std::f32::consts::TAU * i as f32 / 32.0;
        centre + radius.max(0.0) * vec2(turn.cos(), turn.sin())
    })
}

fn fan(mesh: &mut Mesh, points: &[Pos2], ink: Color32) {
    let first = mesh.vertices.len() as u32;
    for point in points {
        mesh.colored_vertex(*point, ink);
    }
    for i in 1..points.len() as u32 - 1 {
        mesh.add_triangle(first, first + i, first + i + 1);
    }
}
