//! Of a hundred people: as many dots filled as people would get some.

use super::frame::frame;
use super::series;
use crate::analysis::{Comparison, Doubted, Interval};
use crate::report::drawing::{Anchor, Area, Drawing, Paint, Shape, Tone, Type};
use crate::report::ensemble::range_of_hundred;
use crate::report::words::{of_hundred, percent};

/// One of what is compared, and its chance.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance {
    /// Its name.
    pub name: String,
    /// Share of people, 0 to 1: the median of all sets of values where there are such, or else what was counted.
    pub probability: f64,
    /// How far it is unsure: the model's range where there are sets of values, or else counting noise.
    pub interval: Interval,
    /// True if the interval is the model's range.
    pub ranged: bool,
}

/// The chance of one of the ways that were compared, at a target by its place.
pub fn chance(
    name: String,
    comparison: &Comparison,
    doubted: Option<&Doubted>,
    way: usize,
    target: usize,
) -> Chance {
    let counted = &comparison.targets[target].contenders[way];
    match doubted.map(|doubted| doubted.ways[way][target].seen) {
        Some(seen) => Chance {
            name,
            probability: seen.median,
            interval: seen.range,
            ranged: true,
        },
        None => Chance {
            name,
            probability: counted.seen,
            interval: counted.seen_interval,
            ranged: false,
        },
    }
}

impl Chance {
    /// In words: of how many people it is told, and how sure that is.
    pub fn words(&self) -> [String; 2] {
        let (probability, interval) = (self.probability, self.interval);
        if !self.ranged {
            return [of_hundred(probability), percent(probability, interval)];
        }
        let median = range_of_hundred(Interval {
            low: probability,
            high: probability,
        });
        let median = median.trim_end_matches(" of 100 people");
        [range_of_hundred(interval), format!("median {median}")]
    }
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
        dots(&mut drawing, n, grid, chance);
        let below = inner.bottom() - 4.0;
        let [people, sure] = chance.words();
        let people = people.replace("over ", ">").replace("under ", "<");
        drawing.text(
            (middle, below - 46.0),
            Anchor::Middle,
            people,
            Type::bold(if shown.len() > 3 { 32.0 } else { 40.0 }),
        );
        drawing.text((middle, below), Anchor::Middle, sure, Type::plain(28.0));
    }
    drawing
}

/// A large mark for each person in nearly every set of values, a small one for each in some, a dot for all others.
fn dots(drawing: &mut Drawing, n: usize, grid: Area, chance: &Chance) {
    // Never all, unless it is.
    let whole = |share: f64| {
        let most = if share >= 1.0 { 100 } else { 99 };
        ((100.0 * share).round() as usize).min(most)
    };
    let (sure, perhaps) = match chance.ranged {
        true => (whole(chance.interval.low), whole(chance.interval.high)),
        false => (whole(chance.probability), 0),
    };
    let cell = grid.width / 10.0;
    for i in 0..100 {
        let (x, y) = (
            grid.x + cell * ((i % 10) as f64 + 0.5),
            grid.y + cell * ((i / 10) as f64 + 0.5),
        );
        if i < sure {
            series::mark(drawing, n, (x, y), cell * 0.34);
        } else if i < perhaps {
            series::mark(drawing, n, (x, y), cell * 0.2);
        } else {
            drawing.shapes.push(Shape::Circle {
                x,
                y,
                radius: cell * 0.08,
                paint: Paint::solid(Tone::Line),
            });
        }
    }
}
