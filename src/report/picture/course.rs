//! What was asked beside what was done: the steps in their order on the left, the attempt along its clock on the right,
//! and a line from each step to what fulfilled it. Lines that cross are steps out of order; a step without a line is
//! missing.

use crate::report::drawing::{Anchor, Area, Drawing, LINE_PITCH, Paint, Tone, Type};
use crate::report::typeface;

/// One step that was asked.
#[derive(Clone, Debug, PartialEq)]
pub struct AskedStep {
    /// What was asked, in a few words.
    pub label: String,
    /// How it went, such as `done` or `missed`.
    pub verdict: &'static str,
    /// True if something departs from what was asked.
    pub departs: bool,
    /// Index of what fulfilled it among what was done, if anything did.
    pub by: Option<usize>,
}

/// What was asked and what was done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CourseParts {
    /// In the order of the sequence.
    pub asked: Vec<AskedStep>,
    /// In the order of the clock: when, and what.
    pub done: Vec<(String, String)>,
}

/// Draws both columns and the lines between, `width` wide, with text of a size.
pub fn course_drawing(parts: &CourseParts, width: f64, size: f64) -> Drawing {
    let pitch = size * LINE_PITCH * 1.25;
    let rows = parts.asked.len().max(parts.done.len()).max(1) as f64;
    let top = size * 2.2;
    let height = top + pitch * rows + size * 0.6;
    let mut drawing = Drawing {
        width,
        height,
        shapes: Vec::new(),
    };
    drawing.rect(Area::new(0.0, 0.0, width, height), 0.0, Paint::solid(Tone::Card));
    let (left, right) = (width * 0.40, width * 0.54);
    drawing.text(
        (0.0, size),
        Anchor::Start,
        "Asked, in order",
        Type::soft(size * 0.92),
    );
    drawing.text(
        (right, size),
        Anchor::Start,
        "Done, by the clock",
        Type::soft(size * 0.92),
    );
    let baseline = |row: usize| top + pitch * (row as f64 + 0.5) + size * 0.34;
    let middle = |row: usize| top + pitch * (row as f64 + 0.5);
    for (n, step) in parts.asked.iter().enumerate() {
        if let Some(by) = step.by {
            let tone = if step.departs {
                Tone::Attention
            } else {
                Tone::Accent
            };
            let from = (left + size * 0.6, middle(n));
            let to = (right - size * 0.6, middle(by));
            drawing.line(vec![from, to], if step.departs { 3.0 } else { 2.0 }, tone);
        }
        let words = format!("{}. {}", n + 1, step.label);
        let verdict = typeface::width(step.verdict, size, true) + size;
        let words = typeface::fit(&words, size, false, left - verdict);
        drawing.text((0.0, baseline(n)), Anchor::Start, words, Type::plain(size));
        let tone = if step.departs {
            Tone::Attention
        } else {
            Tone::Accent
        };
        let type_ = Type {
            tone,
            ..Type::bold(size)
        };
        drawing.text((left, baseline(n)), Anchor::End, step.verdict, type_);
    }
    for (n, (at, what)) in parts.done.iter().enumerate() {
        let words = typeface::fit(&format!("{at}  {what}"), size, false, width - right);
        drawing.text((right, baseline(n)), Anchor::Start, words, Type::plain(size));
    }
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::drawing::Shape;

    #[test]
    fn everything_lies_inside_and_each_fulfilled_step_has_its_line() {
        let asked = |n: usize, by| AskedStep {
            label: format!("take off the thing with a very long name indeed number {n}, slowly"),
            verdict: if by { "done" } else { "missed" },
            departs: !by,
            by: by.then_some(9 - n),
        };
        let parts = CourseParts {
            asked: (0..8).map(|n| asked(n, n != 3)).collect(),
            done: (0..10)
                .map(|n| {
                    (
                        format!("00:{n:02}"),
                        "something was done with a hand and it took a while".to_owned(),
                    )
                })
                .collect(),
        };
        let drawing = course_drawing(&parts, 700.0, 16.0);
        let canvas = Area::new(0.0, 0.0, drawing.width, drawing.height);
        for shape in &drawing.shapes {
            assert!(canvas.holds(&shape.extent()), "{shape:?} leaves the picture");
        }
        let lines = drawing
            .shapes
            .iter()
            .filter(|s| matches!(s, Shape::Line { .. }))
            .count();
        assert_eq!(lines, 7, "one line for each step but the missed one");
    }
}
