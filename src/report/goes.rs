//! The plot of somebody's goes: marks, and what the model expects of people who do the very same.

use crate::register::Go;

use super::drawing::{Anchor, Area, Drawing, Paint, Shape, Tone, Type};

/// Most goes that are shown, the latest.
const MOST: usize = 20;

/// Two rows over the same goes: share of the marks (a cross beneath where a critical error left none), and of 100 people who do the very
/// same, how many get enough on bare skin to be seen.
pub fn goes_drawing(goes: &[Go]) -> Drawing {
    let goes = &goes[goes.len().saturating_sub(MOST)..];
    let (left, right, row) = (110.0, 860.0, 190.0);
    let mut drawing = Drawing {
        width: 900.0,
        height: 2.0 * row + 80.0,
        shapes: Vec::new(),
    };
    let page = Area::new(0.0, 0.0, drawing.width, drawing.height);
    drawing.rect(page, 0.0, Paint::solid(Tone::Card));
    let x = |n: usize| {
        let last = goes.len().saturating_sub(1).max(1) as f64;
        left + (right - left) * n as f64 / last
    };
    type Value = fn(&Go) -> Option<f64>;
    let rows: [(&str, Value); 2] = [
        ("Marks, %", |go: &Go| go.marks.map(|m| 100.0 * m)),
        (
            "Of 100 people who do the same, with enough on skin to be seen",
            // What reached somebody who still wears kit says little.
            |go: &Go| go.complete.then_some(100.0 * go.people),
        ),
    ];
    for (n, (name, value)) in rows.into_iter().enumerate() {
        let top = 40.0 + n as f64 * (row + 10.0);
        let bottom = top + row - 50.0;
        let y = |value: f64| bottom - (bottom - top) * value / 100.0;
        drawing.text((20.0, top - 14.0), Anchor::Start, name, Type::bold(20.0));
        for tick in [0.0, 50.0, 100.0] {
            drawing.line(vec![(left, y(tick)), (right, y(tick))], 1.0, Tone::Line);
            drawing.text(
                (left - 12.0, y(tick) + 7.0),
                Anchor::End,
                format!("{tick:.0}"),
                Type::soft(20.0),
            );
        }
        let points: Vec<(f64, f64)> = goes
            .iter()
            .enumerate()
            .filter_map(|(n, go)| Some((x(n), y(value(go)?))))
            .collect();
        if points.len() > 1 {
            drawing.line(points.clone(), 3.0, Tone::Accent);
        }
        for (x, y) in points {
            drawing.shapes.push(Shape::Circle {
                x,
                y,
                radius: 7.0,
                paint: Paint::solid(Tone::Accent),
            });
        }
        for (n, _) in goes.iter().enumerate().filter(|(_, go)| value(go).is_none()) {
            let (x, y) = (x(n), bottom);
            for (dx, dy) in [(-8.0, -8.0), (-8.0, 8.0)] {
                drawing.line(vec![(x + dx, y + dy), (x - dx, y - dy)], 3.0, Tone::Attention);
            }
        }
    }
    let foot = drawing.height - 14.0;
    drawing.text((left, foot), Anchor::Start, "Earlier", Type::soft(20.0));
    drawing.text(
        (right, foot),
        Anchor::End,
        "Latest. A cross: a critical error, no marks",
        Type::soft(20.0),
    );
    drawing
}
