//! What matters: one pair of bars per constant, longest on top.

use super::frame::{frame, legend, round_up};
use super::series;
use crate::analysis::Effect;
use crate::report::drawing::{Anchor, Area, Drawing, Paint, SMALLEST_TEXT, Tone, Type};
use crate::report::typeface;
use crate::report::words::figure;

/// How many constants fit so that they can be read.
const MOST: usize = 14;

/// The largest effects of a sensitivity analysis, sorted as they come.
pub fn tornado_picture(title: &str, unit: &str, effects: &[Effect]) -> Drawing {
    let beneath = format!("mean {unit} at the end, one constant at a time across its range");
    let (mut drawing, area) = frame(title, &beneath);
    let ends = ["constant at the high end", "constant at the low end"];
    let area = legend(&mut drawing, area, &ends, true);
    drawing.rect(area, 16.0, Paint::edged(Tone::Card, Tone::Line, 2.0));
    let shown = &effects[..effects.len().min(MOST)];
    let top = shown
        .iter()
        .flat_map(|e| [e.at_range.0, e.at_range.1, e.at_value])
        .fold(0.0_f64, f64::max);
    let top = round_up(top);
    let left = 760.0;
    let plot = Area::new(
        area.x + left,
        area.y + 12.0,
        area.width - left - 60.0,
        area.height - 60.0,
    );
    let x = |value: f64| plot.x + plot.width * (value / top).clamp(0.0, 1.0);
    for tick in 0..=4 {
        let value = top * f64::from(tick) / 4.0;
        drawing.line(
            vec![(x(value), plot.y), (x(value), plot.bottom())],
            2.0,
            Tone::Line,
        );
        drawing.text(
            (x(value), plot.bottom() + 34.0),
            Anchor::Middle,
            figure(value),
            Type::soft(SMALLEST_TEXT),
        );
    }
    let pitch = plot.height / MOST as f64;
    for (row, effect) in shown.iter().enumerate() {
        let y = plot.y + pitch * row as f64;
        let label = typeface::fit(&effect.words, SMALLEST_TEXT, false, left - 40.0);
        drawing.text(
            (plot.x - 16.0, y + pitch / 2.0 + 8.0),
            Anchor::End,
            label,
            Type::plain(SMALLEST_TEXT),
        );
        for (n, value) in [effect.at_range.1, effect.at_range.0].into_iter().enumerate() {
            let (a, b) = (x(value.min(effect.at_value)), x(value.max(effect.at_value)));
            series::bar(
                &mut drawing,
                n,
                Area::new(a, y + pitch * 0.16, (b - a).max(0.5), pitch * 0.68),
            );
        }
    }
    if let Some(first) = shown.first() {
        let at = x(first.at_value);
        let end = plot.y + pitch * shown.len() as f64;
        drawing.line(vec![(at, plot.y), (at, end)], 3.0, Tone::Ink);
    }
    drawing
}
