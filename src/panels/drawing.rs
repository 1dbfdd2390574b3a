//! Paints a drawing with egui, in the tokens of the page.

use bevy_egui::egui::epaint::{Mesh, PathShape, PathStroke, Vertex, WHITE_UV};
use bevy_egui::egui::{
    Align2, Color32, CornerRadius, FontFamily, FontId, Pos2, Rect, Sense, Shape as Painted, Stroke,
    StrokeKind, Ui, WidgetInfo, WidgetType, pos2, vec2,
};

use crate::palette;
use crate::report::Drawing;
use crate::report::drawing::{Anchor, Paint, Shape, Tone, band};

use super::theme::{bold, ink};

/// Shows a drawing, scaled to `width`; `name` is read out in its place.
pub fn show(ui: &mut Ui, drawing: &Drawing, width: f32, name: &str) {
    let scale = width / drawing.width as f32;
    let (rect, response) = ui.allocate_exact_size(vec2(width, drawing.height as f32 * scale), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, name));
    if ui.is_rect_visible(rect) {
        paint(ui, drawing, rect, scale);
    }
}

fn paint(ui: &Ui, drawing: &Drawing, rect: Rect, scale: f32) {
    let page = palette::page(ui.visuals().dark_mode);
    let tone = |tone: Tone| ink(tone.on(page));
    let at = |x: f64, y: f64| pos2(rect.left() + x as f32 * scale, rect.top() + y as f32 * scale);
    let painter = ui.painter().with_clip_rect(rect.intersect(ui.clip_rect()));
    let filled = |paint: &Paint| paint.fill.map_or(Color32::TRANSPARENT, tone);
    let edge = |paint: &Paint| {
        paint.edge.map_or(Stroke::NONE, |(edge, width)| {
            Stroke::new(width as f32 * scale, tone(edge))
        })
    };
    for shape in &drawing.shapes {
        match shape {
            Shape::Rect { area, radius, paint } => {
                let corner = at(area.x, area.y);
                let size = vec2(area.width as f32, area.height as f32) * scale;
                painter.rect(
                    Rect::from_min_size(corner, size),
                    CornerRadius::same((*radius as f32 * scale) as u8),
                    filled(paint),
                    edge(paint),
                    StrokeKind::Middle,
                );
            }
            Shape::Circle { x, y, radius, paint } => {
                painter.circle(at(*x, *y), *radius as f32 * scale, filled(paint), edge(paint));
            }
            Shape::Polygon { points, paint } => {
                let points: Vec<Pos2> = points.iter().map(|p| at(p.0, p.1)).collect();
                painter.add(Painted::convex_polygon(points, filled(paint), edge(paint)));
            }
            Shape::Line {
                points,
                width,
                tone: of,
            } => {
                let points: Vec<Pos2> = points.iter().map(|p| at(p.0, p.1)).collect();
                let stroke = PathStroke::new((*width as f32 * scale).max(1.0), tone(*of));
                painter.add(PathShape::line(points, stroke));
            }
            Shape::Ribbon {
                from,
                to,
                tone: of,
                opacity,
            } => {
                let ink = tone(*of).gamma_multiply(*opacity as f32);
                painter.add(ribbon(&band(*from, *to, 24), at, ink));
            }
            Shape::Text {
                x,
                y,
                text,
                size,
                bold: heavy,
                anchor,
                tone: of,
            } => {
                let family = if *heavy { bold() } else { FontFamily::Proportional };
                let align = match anchor {
                    Anchor::Start => Align2::LEFT_CENTER,
                    Anchor::Middle => Align2::CENTER_CENTER,
                    Anchor::End => Align2::RIGHT_CENTER,
                };
                // The drawing names a baseline; the middle of the letters lies a third of the size above it.
                let middle = at(*x, y - size * 0.34);
                painter.text(
                    middle,
                    align,
                    text,
                    FontId::new(*size as f32 * scale, family),
                    tone(*of),
                );
            }
        }
    }
}

/// A point of an upper and of a lower edge.
type Edges = ((f64, f64), (f64, f64));

fn ribbon(edges: &[Edges], at: impl Fn(f64, f64) -> Pos2, ink: Color32) -> Mesh {
    let mut mesh = Mesh::default();
    for (upper, lower) in edges {
        for point in [upper, lower] {
            mesh.vertices.push(Vertex {
                pos: at(point.0, point.1),
                uv: WHITE_UV,
                color: ink,
            });
        }
    }
    for i in 0..edges.len().saturating_sub(1) as u32 {
        let k = i * 2;
        mesh.add_triangle(k, k + 1, k + 2);
        mesh.add_triangle(k + 1, k + 2, k + 3);
    }
    mesh
}
