//! The front of the best orders: what reaches the target, on a logarithmic scale, against time. The shape of a mark
//! says how often hands are cleaned; named sequences are hollow, larger and named beside the plot.

use super::frame::frame;
use crate::analysis::{Orders, Place, Protocol};
use crate::report::drawing::{Anchor, Area, Drawing, Paint, SMALLEST_TEXT, Shape, Tone, Type};
use crate::report::typeface;
use crate::report::words::figure;

/// The number of cleans from which all marks look alike.
const MOST_SHAPES: u32 = 6;

/// Height of one name beside the plot: two lines and a little.
const PITCH: f64 = 68.0;

/// The front and, beside it, the named sequences that take everything off.
pub fn front_picture(title: &str, unit: &str, orders: &Orders) -> Drawing {
    let beneath = format!(
        "expected {unit} at the end on {}, for this kit and load; nothing is quicker, shorter of cleaning and lower \
         than a solid mark. A model's expectation: trials on the order hardly exist",
        orders.target.label()
    );
    let (mut drawing, area) = frame(title, &beneath);
    let named: Vec<(&str, &Protocol)> = orders
        .named
        .iter()
        .filter_map(|n| match &n.standing {
            Ok(s) if !matches!(s.place, Place::LeavesOn(_)) => Some((n.label.as_str(), &s.protocol)),
            _ => None,
        })
        .collect();
    let all: Vec<&Protocol> = orders.front.iter().chain(named.iter().map(|n| n.1)).collect();
    let most = all.iter().map(|p| p.cleans).max().unwrap_or(0);
    let area = cleans_legend(&mut drawing, area, most.min(MOST_SHAPES));
    drawing.rect(area, 16.0, Paint::edged(Tone::Card, Tone::Line, 2.0));
    let beside = if named.is_empty() { 40.0 } else { 560.0 };
    let plot = Area::new(
        area.x + 130.0,
        area.y + 24.0,
        area.width - 130.0 - beside,
        area.height - 100.0,
    );
    let scale = Scale::new(plot, &all);
    axes(&mut drawing, &scale);
    for p in &orders.front {
        mark(
            &mut drawing,
            scale.point(p),
            p.cleans,
            9.0,
            Paint::edged(Tone::A, Tone::Card, 2.0),
        );
    }
    names(&mut drawing, &scale, &named);
    drawing
}

/// What the shapes mean, along the top of an area; returns what is left of it.
fn cleans_legend(drawing: &mut Drawing, area: Area, most: u32) -> Area {
    for cleans in 0..=most {
        let x = area.x + 18.0 + 235.0 * f64::from(cleans);
        let words = match cleans {
            0 => "no clean".to_owned(),
            1 => "1 clean".to_owned(),
            MOST_SHAPES => format!("{cleans} or more"),
            n => format!("{n} cleans"),
        };
        mark(drawing, (x, area.y + 22.0), cleans, 11.0, Paint::solid(Tone::A));
        drawing.text((x + 26.0, area.y + 31.0), Anchor::Start, words, Type::bold(26.0));
    }
    Area::new(area.x, area.y + 54.0, area.width, area.height - 54.0)
}

fn axes(drawing: &mut Drawing, scale: &Scale) {
    let plot = scale.plot;
    for value in scale.decades() {
        let y = scale.y(value);
        drawing.line(vec![(plot.x, y), (plot.right(), y)], 2.0, Tone::Line);
        let at = (plot.x - 14.0, y + 9.0);
        drawing.text(at, Anchor::End, figure(value), Type::soft(SMALLEST_TEXT));
    }
    for seconds in scale.times() {
        let x = scale.x(seconds);
        drawing.line(
            vec![(x, plot.bottom()), (x, plot.bottom() + 10.0)],
            2.0,
            Tone::Ink,
        );
        let words = format!("{seconds} s");
        drawing.text(
            (x, plot.bottom() + 42.0),
            Anchor::Middle,
            words,
            Type::soft(SMALLEST_TEXT),
        );
    }
    let corner = vec![
        (plot.x, plot.y),
        (plot.x, plot.bottom()),
        (plot.right(), plot.bottom()),
    ];
    drawing.line(corner, 3.0, Tone::Ink);
}

/// Named sequences: their marks, and their names to the right, in the order of the marks and apart from each other.
fn names(drawing: &mut Drawing, scale: &Scale, named: &[(&str, &Protocol)]) {
    let plot = scale.plot;
    let mut sorted: Vec<&(&str, &Protocol)> = named.iter().collect();
    sorted.sort_by(|a, b| {
        scale
            .y(a.1.risk)
            .total_cmp(&scale.y(b.1.risk))
            .then(a.1.seconds.total_cmp(&b.1.seconds))
    });
    let left = plot.right() + 70.0;
    let last = plot.bottom() - PITCH * sorted.len() as f64;
    let mut next = plot.y;
    for (rank, (label, p)) in sorted.iter().enumerate() {
        let (x, y) = scale.point(p);
        let at = (y - PITCH / 2.0).min(last + PITCH * rank as f64).max(next);
        next = at + PITCH;
        let middle = at + PITCH / 2.0;
        drawing.line(
            vec![(x, y), (plot.right() + 20.0, middle), (left - 8.0, middle)],
            2.0,
            Tone::Soft,
        );
        mark(
            drawing,
            (x, y),
            p.cleans,
            15.0,
            Paint::edged(Tone::Card, Tone::B, 5.0),
        );
        let width = drawing.width - left - 90.0;
        let lines = typeface::fit_lines(label, SMALLEST_TEXT, false, width, 2).len();
        let top = middle + 8.0 - 15.0 * (lines.max(1) - 1) as f64;
        let type_ = Type::plain(SMALLEST_TEXT);
        drawing.paragraph((left, top), Anchor::Start, label, type_, width, 2);
    }
}

/// A mark whose shape tells the number of cleans.
fn mark(drawing: &mut Drawing, (x, y): (f64, f64), cleans: u32, radius: f64, paint: Paint) {
    let polygon = |corners: u32, turn: f64| {
        let corner = |k: u32| {
            let angle = std::f64::consts::TAU * (f64::from(k) / f64::from(corners) + turn);
            let reach = 1.25 * radius;
            (x + reach * libm::sin(angle), y - reach * libm::cos(angle))
        };
        Shape::Polygon {
            points: (0..corners).map(corner).collect(),
            paint,
        }
    };
    drawing.shapes.push(match cleans.min(MOST_SHAPES) {
        0 => Shape::Circle { x, y, radius, paint },
        1 => polygon(3, 0.0),
        2 => polygon(4, 0.125),
        3 => polygon(4, 0.0),
        4 => polygon(3, 0.5),
        5 => polygon(5, 0.0),
        _ => polygon(6, 0.0),
    });
}

/// Where things are drawn.
struct Scale {
    plot: Area,
    /// Powers of ten at the bottom and at the top.
    powers: (f64, f64),
    /// First and last time, s, and the distance of its ticks.
    times: (f64, f64),
    step: f64,
    /// True if something carries nothing at all, which no logarithm shows: it gets a line of its own at the foot.
    nothing: bool,
}

impl Scale {
    fn new(plot: Area, all: &[&Protocol]) -> Scale {
        let some: Vec<f64> = all
            .iter()
            .map(|p| p.risk)
            .filter(|r| *r > 0.0)
            .map(libm::log10)
            .collect();
        let low = some.iter().copied().fold(f64::INFINITY, f64::min);
        let high = some.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (low, high) = if some.is_empty() {
            (-1.0, 0.0)
        } else {
            (low.floor(), high.ceil())
        };
        let from = all.iter().map(|p| p.seconds).fold(f64::INFINITY, f64::min);
        let to = all.iter().map(|p| p.seconds).fold(0.0, f64::max);
        let from = if from.is_finite() { from } else { 0.0 };
        let step = [5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0]
            .into_iter()
            .find(|step| (to - from) / step <= 9.0)
            .unwrap_or(1000.0);
        let from = (from / step).floor() * step;
        Scale {
            plot,
            powers: (low, high.max(low + 1.0)),
            times: (from, ((to / step).ceil() * step).max(from + step)),
            step,
            nothing: all.iter().any(|p| p.risk <= 0.0),
        }
    }

    fn point(&self, protocol: &Protocol) -> (f64, f64) {
        (self.x(protocol.seconds), self.y(protocol.risk))
    }

    fn y(&self, risk: f64) -> f64 {
        if risk <= 0.0 {
            return self.plot.bottom() - 16.0;
        }
        let floor = self.plot.bottom() - if self.nothing { 64.0 } else { 0.0 };
        let (low, high) = self.powers;
        floor - (floor - self.plot.y) * (libm::log10(risk) - low) / (high - low)
    }

    fn x(&self, seconds: f64) -> f64 {
        let (from, to) = self.times;
        self.plot.x + self.plot.width * (seconds - from) / (to - from)
    }

    /// What horizontal lines stand for.
    fn decades(&self) -> Vec<f64> {
        let (low, high) = self.powers;
        let every = ((high - low) / 8.0).ceil().max(1.0) as usize;
        let powers = (low as i32..=high as i32).step_by(every);
        let mut all: Vec<f64> = powers.map(|p| libm::pow(10.0, f64::from(p))).collect();
        if self.nothing {
            all.push(0.0);
        }
        all
    }

    fn times(&self) -> Vec<f64> {
        let (from, to) = self.times;
        let ticks = ((to - from) / self.step).round() as usize;
        (0..=ticks).map(|k| from + self.step * k as f64).collect()
    }
}
