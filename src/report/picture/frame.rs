//! What every picture has: a title, a line beneath it, what the marks mean, and the caution; the rest is content.

use super::series;
use crate::report::drawing::{Anchor, Area, Drawing, LINE_PITCH, SMALLEST_TEXT, Type};
use crate::report::{CAUTION, typeface};

/// Distance of content from the edges, pixels.
const MARGIN: f64 = 72.0;

/// A picture with its title, a line of second rank beneath and the caution at the foot; and the area left.
pub(super) fn frame(title: &str, beneath: &str) -> (Drawing, Area) {
    let mut drawing = Drawing::new();
    let width = drawing.width - 2.0 * MARGIN;
    let mut y = drawing.paragraph((MARGIN, 96.0), Anchor::Start, title, Type::bold(48.0), width, 2);
    y = drawing.paragraph(
        (MARGIN, y - 8.0),
        Anchor::Start,
        beneath,
        Type::soft(30.0),
        width,
        2,
    );
    let lines = typeface::wrap(CAUTION, SMALLEST_TEXT, false, width).len();
    let foot = drawing.height - 36.0 - SMALLEST_TEXT * LINE_PITCH * (lines as f64 - 1.0);
    drawing.paragraph(
        (MARGIN, foot),
        Anchor::Start,
        CAUTION,
        Type::soft(SMALLEST_TEXT),
        width,
        lines,
    );
    let bottom = foot - SMALLEST_TEXT - 24.0;
    (drawing, Area::new(MARGIN, y - 8.0, width, bottom - y + 8.0))
}

/// Names with their marks along the top of an area; returns what is left of it.
pub(super) fn legend(drawing: &mut Drawing, area: Area, names: &[&str], bars: bool) -> Area {
    const SIZE: f64 = 28.0;
    let mut most = 0;
    for (n, column) in area.columns(names.len(), 24.0).into_iter().enumerate() {
        if bars {
            series::bar(drawing, n, Area::new(column.x + 4.0, column.y + 8.0, 36.0, 24.0));
        } else {
            series::mark(drawing, n, (column.x + 22.0, column.y + 20.0), 13.0);
        }
        let width = column.width - 56.0;
        let at = (column.x + 56.0, column.y + 30.0);
        drawing.paragraph(at, Anchor::Start, names[n], Type::bold(SIZE), width, 2);
        most = most.max(typeface::fit_lines(names[n], SIZE, true, width, 2).len());
    }
    let taken = 20.0 + SIZE * LINE_PITCH * most as f64;
    Area::new(area.x, area.y + taken, area.width, area.height - taken)
}

/// A round number at or above a value: 1, 2 or 5 times a power of ten.
pub(super) fn round_up(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 1.0;
    }
    let power = libm::pow(10.0, libm::floor(libm::log10(value)));
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * power)
        .find(|&top| top >= value * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}
