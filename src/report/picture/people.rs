//! Of a hundred people: as many dots filled as people would get some.

use super::frame::frame;
use super::series;
use crate::analysis::Interval;
use crate::report::drawing::{Anchor, Area, Drawing, Paint, Shape, Tone, Type};
use crate::report::words::{of_hundred, percent};

/// One of what is compared, and its chance.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance {
    /// Its name.
    pub name: String,
    /// Share of people, 0 to 1.
    pub probability: f64,
    /// 95 % interval of it.
    pub interval: Interval,
}

/// Ten rows of ten dots for each of up to [`MOST_SERIES`](super::MOST_SERIES), beside percentage and interval.
pub fn people_picture(title: &str, beneath: &str, chances: &[Chance]) -> Drawing {
    let (mut drawing, area) = frame(title, beneath);
    let shown = &chances[..chances.len().min(super::MOST_SERIES)];
    for (n, (chance, column)) in shown.iter().zip(area.columns(shown.len(), 28.0)).enumerate() {
        drawing.rect(column, 16.0, Paint::edged(Tone::Card, Tone::Line, 2.0));
        let middle = column.x + column.width / 2.0;
        let inner = column.inset(24.0);
        drawing.paragraph(
            (middle, inner.y + 26.0),
            Anchor::Middle,
            &chance.name,
            Type::bold(30.0),
            inner.width,
            2,
        );
        let words = 150.0;
        let side = inner.width.min(inner.height - 80.0 - words);
        let grid = Area::new(middle - side / 2.0, inner.y + 84.0, side, side);
        dots(&mut drawing, n, grid, chance.probability);
        let below = inner.bottom() - 4.0;
        drawing.text(
            (middle, below - 46.0),
            Anchor::Middle,
            of_hundred(chance.probability),
            Type::bold(if shown.len() > 3 { 32.0 } else { 40.0 }),
        );
        drawing.text(
            (middle, below),
            Anchor::Middle,
            percent(chance.probability, chance.interval),
            Type::plain(28.0),
        );
    }
    drawing
}

fn dots(drawing: &mut Drawing, n: usize, grid: Area, probability: f64) {
    // Never all, unless it is.
    let most = if probability >= 1.0 { 100 } else { 99 };
    let filled = ((100.0 * probability).round() as usize).min(most);
    let cell = grid.width / 10.0;
    for i in 0..100 {
        let (x, y) = (
            grid.x + cell * ((i % 10) as f64 + 0.5),
            grid.y + cell * ((i / 10) as f64 + 0.5),
        );
        if i < filled {
            series::mark(drawing, n, (x, y), cell * 0.34);
        } else {
            drawing.shapes.push(Shape::Circle {
                x,
                y,
                radius: cell * 0.12,
                paint: Paint::solid(Tone::Line),
            });
        }
    }
}
