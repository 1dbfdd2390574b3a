//! How what is compared is told apart: by tone, and always by shape or hatching too, so that a grey copy still reads.

use crate::report::drawing::{Area, Drawing, Paint, Shape, Tone};

/// How many can be told apart on one picture.
pub const MOST_SERIES: usize = 4;

/// The tone of the n-th of what is compared.
pub fn tone(n: usize) -> Tone {
    if n.is_multiple_of(2) { Tone::A } else { Tone::B }
}

/// A mark around a point: filled circle, open square, open circle, filled diamond.
pub fn mark(drawing: &mut Drawing, n: usize, (x, y): (f64, f64), radius: f64) {
    let tone = tone(n);
    let open = Paint::edged(Tone::Card, tone, radius * 0.4);
    let shape = match n % MOST_SERIES {
        0 => Shape::Circle {
            x,
            y,
            radius,
            paint: Paint::solid(tone),
        },
        1 => Shape::Rect {
            area: Area::new(x, y, 0.0, 0.0).inset(-0.85 * radius),
            radius: 0.0,
            paint: open,
        },
        2 => Shape::Circle {
            x,
            y,
            radius: 0.85 * radius,
            paint: open,
        },
        _ => Shape::Polygon {
            points: vec![
                (x, y - 1.2 * radius),
                (x + 1.2 * radius, y),
                (x, y + 1.2 * radius),
                (x - 1.2 * radius, y),
            ],
            paint: Paint::solid(tone),
        },
    };
    drawing.shapes.push(shape);
}

/// A bar: solid, hatched one way, open, hatched the other way.
pub fn bar(drawing: &mut Drawing, n: usize, area: Area) {
    let tone = tone(n);
    let edge = Paint::edged(Tone::Card, tone, 3.0);
    match n % MOST_SERIES {
        0 => drawing.rect(area, 0.0, Paint::solid(tone)),
        1 => {
            drawing.rect(area, 0.0, edge);
            hatch(drawing, area, tone, false);
        }
        2 => drawing.rect(area, 0.0, edge),
        _ => {
            drawing.rect(area, 0.0, edge);
            hatch(drawing, area, tone, true);
        }
    }
}

/// Slanted lines that end at the edges of an area.
fn hatch(drawing: &mut Drawing, area: Area, tone: Tone, falling: bool) {
    const PITCH: f64 = 12.0;
    let mut at = PITCH;
    while at < area.width + area.height {
        // From the left or lower edge to the upper or right one, `at` along the diagonal.
        let (left, low) = ((at - area.height).max(0.0), at.min(area.height));
        let (right, high) = (at.min(area.width), (at - area.width).max(0.0));
        let place = |x: f64, y: f64| {
            let y = if falling { area.height - y } else { y };
            (area.x + x, area.y + y)
        };
        drawing.line(vec![place(left, low), place(right, high)], 4.0, tone);
        at += PITCH;
    }
}
