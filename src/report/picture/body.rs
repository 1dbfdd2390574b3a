//! A body from the front and from behind, with how many of a group had something where.

use super::frame::frame;
use crate::report::drawing::{Anchor, Area, Drawing, Paint, SMALLEST_TEXT, Shape, Tone, Type};
use crate::report::typeface;
use crate::report::words::{count, many};

/// A place where somebody had something.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyMark {
    /// The place.
    pub label: String,
    /// True on the front, false behind.
    pub front: bool,
    /// Across, the wearer's left positive, and down from the top of the head, as shares of the figure's height.
    pub at: (f64, f64),
    /// How many people, or attempts.
    pub hits: u64,
}

/// Rows of the list at most.
const MOST: usize = 20;

/// Both figures with a mark at each place, larger where more people had something, and a list of the places with their
/// counts, the commonest first.
pub fn body_picture(title: &str, beneath: &str, marks: &[BodyMark], of: u64) -> Drawing {
    let (mut drawing, area) = frame(title, beneath);
    let width = area.height * 0.5;
    for (n, (front, name)) in [(true, "From the front"), (false, "From behind")]
        .iter()
        .enumerate()
    {
        let column = Area::new(area.x + (width + 28.0) * n as f64, area.y, width, area.height);
        drawing.rect(column, 16.0, Paint::edged(Tone::Card, Tone::Line, 2.0));
        let middle = column.x + width / 2.0;
        drawing.text((middle, column.y + 44.0), Anchor::Middle, *name, Type::bold(28.0));
        let figure = Area::new(middle, column.y + 72.0, 0.0, column.height - 96.0);
        body(&mut drawing, figure);
        // A wearer's left is on the right of whoever looks at the front.
        let side = if *front { 1.0 } else { -1.0 };
        for mark in marks.iter().filter(|mark| mark.front == *front) {
            let share = mark.hits as f64 / of.max(1) as f64;
            drawing.shapes.push(Shape::Circle {
                x: figure.x + side * mark.at.0 * figure.height,
                y: figure.y + mark.at.1 * figure.height,
                // Its area goes with the share.
                radius: 4.0 + 14.0 * libm::sqrt(share.clamp(0.0, 1.0)),
                paint: Paint::edged(Tone::Attention, Tone::Card, 1.5),
            });
        }
    }
    let left = area.x + 2.0 * width + 84.0;
    list(
        &mut drawing,
        Area::new(left, area.y, area.right() - left, area.height),
        marks,
        of,
    );
    drawing
}

fn list(drawing: &mut Drawing, area: Area, marks: &[BodyMark], of: u64) {
    let mut rows: Vec<&BodyMark> = marks.iter().collect();
    rows.sort_by(|a, b| b.hits.cmp(&a.hits).then_with(|| a.label.cmp(&b.label)));
    let pitch = 36.0;
    let room = ((area.height - 40.0) / pitch) as usize;
    let shown = rows.len().min(MOST).min(room.saturating_sub(1));
    if rows.is_empty() {
        drawing.text(
            (area.x, area.y + 40.0),
            Anchor::Start,
            "Nowhere",
            Type::bold(30.0),
        );
    }
    for (n, row) in rows.iter().take(shown).enumerate() {
        let y = area.y + 40.0 + pitch * n as f64;
        let label = typeface::fit(&row.label, 28.0, false, area.width - 180.0);
        drawing.text((area.x, y), Anchor::Start, label, Type::plain(28.0));
        let told = format!("{} of {}", count(row.hits), count(of));
        drawing.text((area.right(), y), Anchor::End, told, Type::bold(28.0));
    }
    if rows.len() > shown {
        let more = format!("and {}", many((rows.len() - shown) as u64, "more place"));
        let y = area.y + 40.0 + pitch * shown as f64;
        drawing.text((area.x, y), Anchor::Start, more, Type::soft(SMALLEST_TEXT));
    }
}

/// A plain figure around an upright line at `x`, from the top of the head down to the soles.
fn body(drawing: &mut Drawing, area: Area) {
    let at = |x: f64, y: f64| (area.x + x * area.height, area.y + y * area.height);
    let thick = |share: f64| share * area.height;
    let head = at(0.0, 0.065);
    for side in [-1.0, 1.0] {
        let arm = vec![
            at(side * 0.098, 0.185),
            at(side * 0.135, 0.3),
            at(side * 0.172, 0.468),
        ];
        drawing.line(arm, thick(0.05), Tone::Line);
        let hand = vec![at(side * 0.172, 0.468), at(side * 0.195, 0.545)];
        drawing.line(hand, thick(0.036), Tone::Line);
        let leg = vec![at(side * 0.05, 0.5), at(side * 0.048, 0.98)];
        drawing.line(leg, thick(0.075), Tone::Line);
    }
    drawing.shapes.push(Shape::Polygon {
        points: [
            (-0.115, 0.165),
            (0.115, 0.165),
            (0.085, 0.35),
            (0.092, 0.52),
            (-0.092, 0.52),
            (-0.085, 0.35),
        ]
        .map(|(x, y)| at(x, y))
        .into(),
        paint: Paint::solid(Tone::Line),
    });
    drawing.line(vec![at(0.0, 0.12), at(0.0, 0.17)], thick(0.055), Tone::Line);
    drawing.shapes.push(Shape::Circle {
        x: head.0,
        y: head.1,
        radius: thick(0.06),
        paint: Paint::solid(Tone::Line),
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark(label: String, x: f64, hits: u64) -> BodyMark {
        BodyMark {
            label,
            front: true,
            at: (x, 0.5),
            hits,
        }
    }

    /// Radii and centres of the marks.
    fn circles(drawing: &Drawing) -> Vec<(f64, f64)> {
        let marks = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Circle { x, radius, paint, .. } if paint.fill == Some(Tone::Attention) => {
                Some((*x, *radius))
            }
            _ => None,
        });
        marks.collect()
    }

    #[test]
    fn nothing_leaves_the_picture_and_no_words_lie_over_others() {
        let marks: Vec<BodyMark> = (0..46)
            .map(|n| mark(format!("a place with a long name, number {n}"), 0.2, 1 + n % 7))
            .collect();
        let drawing = body_picture(
            "Where it glowed",
            "the scenario · a long name of a sequence",
            &marks,
            12,
        );
        let whole = Area::new(0.0, 0.0, drawing.width, drawing.height);
        let texts: Vec<Area> = drawing
            .shapes
            .iter()
            .filter(|s| matches!(s, Shape::Text { .. }))
            .map(Shape::extent)
            .collect();
        for shape in &drawing.shapes {
            assert!(whole.holds(&shape.extent()), "{shape:?}");
        }
        for (n, one) in texts.iter().enumerate() {
            assert!(texts[..n].iter().all(|other| !one.overlaps(other)), "{one:?}");
        }
        assert!(
            drawing
                .shapes
                .iter()
                .any(|s| matches!(s, Shape::Text { text, .. } if text.starts_with("and "))),
            "what is left out is said"
        );
    }

    #[test]
    fn more_people_make_a_larger_mark_and_a_left_side_lies_right() {
        let marks = [
            mark("left palm".to_owned(), 0.18, 8),
            mark("right palm".to_owned(), -0.18, 2),
        ];
        let drawing = body_picture("t", "b", &marks, 8);
        let found = circles(&drawing);
        // 4 + 14 * sqrt(8/8) and 4 + 14 * sqrt(2/8).
        assert_eq!([found[0].1, found[1].1], [18.0, 11.0]);
        assert!(found[0].0 > found[1].0);
        let behind: Vec<BodyMark> = marks
            .iter()
            .cloned()
            .map(|m| BodyMark { front: false, ..m })
            .collect();
        let found = circles(&body_picture("t", "b", &behind, 8));
        assert!(
            found[0].0 < found[1].0,
            "seen from behind it is the other way round"
        );
    }
}
