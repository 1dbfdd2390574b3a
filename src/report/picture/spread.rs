//! How counts spread over repeats: bars side by side in bins that grow, none apart.

use super::frame::{frame, legend, round_up};
use super::series;
use crate::analysis::{Histogram, lowest};
use crate::report::drawing::{Anchor, Area, Drawing, Paint, SMALLEST_TEXT, Tone, Type};
use crate::report::typeface;
use crate::report::words::{count as grouped, percentage};

/// Histograms of up to [`MOST_SERIES`](super::MOST_SERIES), by name, of the counts in a unit.
pub fn spread_picture(title: &str, beneath: &str, unit: &str, all: &[(String, Histogram)]) -> Drawing {
    let (mut drawing, area) = frame(title, beneath);
    let shown = &all[..all.len().min(super::MOST_SERIES)];
    let names: Vec<&str> = shown.iter().map(|(name, _)| name.as_str()).collect();
    let area = legend(&mut drawing, area, &names, true);
    drawing.rect(area, 16.0, Paint::edged(Tone::Card, Tone::Line, 2.0));
    let bins = shown
        .iter()
        .map(|(_, h)| h.counts.len())
        .max()
        .unwrap_or(1)
        .max(2);
    let highest = shown
        .iter()
        .flat_map(|(_, h)| (0..bins).map(|b| h.share(b)))
        .fold(0.01, f64::max);
    let top = round_up(highest).min(1.0);
    let plot = Area::new(
        area.x + 120.0,
        area.y + 32.0,
        area.width - 150.0,
        area.height - 132.0,
    );
    let y = |share: f64| plot.bottom() - plot.height * share / top;
    for tick in 0..=4 {
        let value = top * f64::from(tick) / 4.0;
        drawing.line(
            vec![(plot.x, y(value)), (plot.right(), y(value))],
            2.0,
            Tone::Line,
        );
        drawing.text(
            (plot.x - 16.0, y(value) + 8.0),
            Anchor::End,
            percentage(value),
            Type::soft(SMALLEST_TEXT),
        );
    }
    // Half a bin of room sets the bin of none apart.
    let pitch = plot.width / (bins as f64 + 0.5);
    let start = |bin: usize| plot.x + pitch * (bin as f64 + if bin > 0 { 0.5 } else { 0.0 });
    let bar = pitch * 0.86 / shown.len().max(1) as f64;
    for (n, (_, histogram)) in shown.iter().enumerate() {
        for bin in 0..bins {
            let share = histogram.share(bin);
            if share > 0.0 {
                let area = Area::new(
                    start(bin) + pitch * 0.07 + bar * n as f64,
                    y(share),
                    bar - 3.0,
                    plot.bottom() - y(share),
                );
                series::bar(&mut drawing, n, area);
            }
        }
    }
    let label = |bin: usize| match (bin, lowest(bin + 1) - lowest(bin)) {
        (0, _) => "none".to_owned(),
        (_, 1) => grouped(lowest(bin)),
        _ => format!("{}+", grouped(lowest(bin))),
    };
    let mut free = f64::NEG_INFINITY;
    for bin in 0..bins {
        let (text, middle) = (label(bin), start(bin) + pitch / 2.0);
        let half = typeface::width(&text, SMALLEST_TEXT, false) / 2.0;
        // Where bins are narrow, labels that would touch the one before are left out.
        if middle - half > free && middle + half <= area.right() - 4.0 {
            drawing.text(
                (middle, plot.bottom() + 36.0),
                Anchor::Middle,
                text,
                Type::plain(SMALLEST_TEXT),
            );
            free = middle + half + 10.0;
        }
    }
    let words = format!("{unit} at the end; bins grow as 1, 2, 5, 10, each up to the next; share of repeats");
    drawing.text(
        (plot.x, plot.bottom() + 80.0),
        Anchor::Start,
        typeface::fit(&words, 26.0, false, plot.width),
        Type::soft(26.0),
    );
    drawing
}
