//! Chances with their intervals, one row per target.

use super::frame::{frame, legend, round_up};
use super::people::Chance;
use super::series;
use crate::report::drawing::{Anchor, Area, Drawing, Paint, SMALLEST_TEXT, Tone, Type};
use crate::report::ensemble::range_of_hundred;
use crate::report::typeface;
use crate::report::words::percentage;

/// What was asked about, with the chance of each that is compared, all in the same order.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The target in words.
    pub label: String,
    /// Chances, one for each that is compared.
    pub chances: Vec<Chance>,
}

/// Width of a column of figures, pixels.
const FIGURES: f64 = 124.0;

/// Marks with whiskers on one axis of percent that begins at zero. The figures stand at the right: beneath each other
/// where rows are high enough, or else in columns headed by the marks.
pub fn interval_picture(title: &str, beneath: &str, rows: &[Row]) -> Drawing {
    let (mut drawing, area) = frame(title, beneath);
    let count = rows
        .first()
        .map_or(0, |r| r.chances.len().min(super::MOST_SERIES));
    let names: Vec<&str> = rows
        .iter()
        .take(1)
        .flat_map(|r| r.chances.iter().take(count).map(|c| c.name.as_str()))
        .collect();
    let area = legend(&mut drawing, area, &names, false);
    drawing.rect(area, 16.0, Paint::edged(Tone::Card, Tone::Line, 2.0));
    let top = round_up(
        rows.iter()
            .flat_map(|r| r.chances.iter().map(|c| c.interval.high))
            .fold(0.01, f64::max),
    )
    .min(1.0);
    let high = (area.height - 72.0) / rows.len().max(1) as f64;
    let stacked = step(high, count) >= SMALLEST_TEXT;
    let (left, figures, head) = if stacked {
        (400.0, 150.0, 16.0)
    } else {
        (400.0, 26.0 + FIGURES * count as f64, 52.0)
    };
    // The right edge of the figures of each that is compared.
    let column = |n: usize| {
        let after = if stacked { 0 } else { count - 1 - n };
        area.right() - 20.0 - FIGURES * after as f64
    };
    for n in (0..count).filter(|_| !stacked) {
        series::mark(&mut drawing, n, (column(n) - 40.0, area.y + 30.0), 10.0);
    }
    let plot = Area::new(
        area.x + left,
        area.y + head,
        area.width - left - figures,
        area.height - 56.0 - head,
    );
    let x = |p: f64| plot.x + plot.width * (p / top).clamp(0.0, 1.0);
    for tick in 0..=4 {
        let value = top * f64::from(tick) / 4.0;
        let at = x(value);
        drawing.line(vec![(at, plot.y), (at, plot.bottom())], 2.0, Tone::Line);
        let label = percentage(value);
        drawing.text(
            (at, plot.bottom() + 38.0),
            Anchor::Middle,
            label,
            Type::soft(SMALLEST_TEXT),
        );
    }
    let pitch = plot.height / rows.len().max(1) as f64;
    for (r, row) in rows.iter().enumerate() {
        let middle = plot.y + pitch * (r as f64 + 0.5);
        if r > 0 {
            let y = plot.y + pitch * r as f64;
            drawing.line(
                vec![(area.x + 16.0, y), (area.right() - 16.0, y)],
                1.0,
                Tone::Line,
            );
        }
        let label = typeface::fit(&row.label, 30.0, false, left - 48.0);
        drawing.text(
            (plot.x - 24.0, middle + 10.0),
            Anchor::End,
            label,
            Type::plain(30.0),
        );
        let step = step(pitch, count);
        for (n, chance) in row.chances.iter().take(count).enumerate() {
            let y = middle + step * (n as f64 - (count as f64 - 1.0) / 2.0);
            drawing.line(
                vec![(x(chance.interval.low), y), (x(chance.interval.high), y)],
                4.0,
                series::tone(n),
            );
            series::mark(&mut drawing, n, (x(chance.probability), y), step.min(24.0) * 0.42);
            drawing.text(
                (column(n), if stacked { y } else { middle } + 8.0),
                Anchor::End,
                met(chance),
                Type::plain(SMALLEST_TEXT),
            );
        }
    }
    drawing
}

/// Distance between the marks of one row, pixels.
fn step(pitch: f64, count: usize) -> f64 {
    (pitch / (count.max(1) as f64 + 0.2)).min(30.0)
}

/// A chance in percent, or the range of one. What was met in no repeat is not nought: it lies below the upper end of its
/// interval.
fn met(chance: &Chance) -> String {
    if chance.ranged {
        let words = range_of_hundred(chance.interval);
        let words = words.trim_end_matches(" of 100 people");
        return format!(
            "{} %",
            words
                .replace(" to ", "\u{2013}")
                .replace("under ", "<")
                .replace("over ", ">")
        );
    }
    if chance.probability > 0.0 {
        percentage(chance.probability)
    } else {
        format!("< {}", percentage(chance.interval.high))
    }
}
