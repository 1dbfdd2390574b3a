//! A picture as plain data: a few primitives in named tones, so that one description serves files and the window.
//! Knows nothing of what is shown, nor of who paints it.

use super::typeface;
use crate::palette::{Colour, Page};

/// Width of a picture for a projector, pixels.
pub const WIDTH: f64 = 1920.0;
/// Height of a picture for a projector, pixels.
pub const HEIGHT: f64 = 1080.0;
/// The smallest text that is read from the back of a room on such a picture, pixels.
pub const SMALLEST_TEXT: f64 = 24.0;

/// What a colour is for. Painters choose the colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tone {
    /// The ground.
    Paper,
    /// A raised area that carries content.
    Card,
    /// Text and marks that must be seen first.
    Ink,
    /// Text of second rank.
    Soft,
    /// Rules, axes and empty marks.
    Line,
    /// What belongs together, and what to follow.
    Accent,
    /// What to look out for.
    Attention,
    /// The first of two that are compared; darker than the second in greyscale.
    A,
    /// The second of two that are compared.
    B,
}

impl Tone {
    /// Every tone.
    pub const ALL: [Tone; 9] = [
        Tone::Paper,
        Tone::Card,
        Tone::Ink,
        Tone::Soft,
        Tone::Line,
        Tone::Accent,
        Tone::Attention,
        Tone::A,
        Tone::B,
    ];

    /// Its colour on a page.
    pub fn on(self, page: &Page) -> Colour {
        match self {
            Tone::Paper => page.paper,
            Tone::Card => page.card,
            Tone::Ink => page.ink,
            Tone::Soft => page.soft,
            Tone::Line => page.line,
            Tone::Accent | Tone::A => page.accent,
            Tone::Attention => page.attention,
            Tone::B => page.second,
        }
    }
}

/// How an area looks: filled, edged, or both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paint {
    /// Tone inside; none lets through what lies beneath.
    pub fill: Option<Tone>,
    /// Tone and width in pixels of a line along the edge.
    pub edge: Option<(Tone, f64)>,
}

impl Paint {
    /// Filled with a tone.
    pub fn solid(tone: Tone) -> Paint {
        Paint {
            fill: Some(tone),
            edge: None,
        }
    }

    /// An edge of some width around one tone.
    pub fn edged(fill: Tone, edge: Tone, width: f64) -> Paint {
        Paint {
            fill: Some(fill),
            edge: Some((edge, width)),
        }
    }
}

/// Which point of a text its position names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// A primitive; all lengths in pixels, x to the right and y downwards.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A rectangle with rounded corners.
    Rect {
        /// Where.
        area: Area,
        /// Radius of the corners.
        radius: f64,
        /// How it looks.
        paint: Paint,
    },
    /// A circle.
    Circle {
        /// Centre.
        x: f64,
        /// Centre.
        y: f64,
        /// Radius.
        radius: f64,
        /// How it looks.
        paint: Paint,
    },
    /// A convex polygon.
    Polygon {
        /// Its corners in order.
        points: Vec<(f64, f64)>,
        /// How it looks.
        paint: Paint,
    },
    /// A line through points.
    Line {
        /// Its points in order.
        points: Vec<(f64, f64)>,
        /// Width.
        width: f64,
        /// Tone.
        tone: Tone,
    },
    /// A band from one upright edge to another further right; see [`band`].
    Ribbon {
        /// Left edge: x, top and bottom.
        from: (f64, f64, f64),
        /// Right edge: x, top and bottom.
        to: (f64, f64, f64),
        /// Tone.
        tone: Tone,
        /// How much it covers, 0 to 1.
        opacity: f64,
    },
    /// One line of text.
    Text {
        /// Position of its anchor.
        x: f64,
        /// Baseline.
        y: f64,
        /// The words.
        text: String,
        /// Size.
        size: f64,
        /// True for the bold face.
        bold: bool,
        /// What `x` names.
        anchor: Anchor,
        /// Tone.
        tone: Tone,
    },
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Area {
    /// A rectangle by its corner and size.
    pub fn new(x: f64, y: f64, width: f64, height: f64) -> Area {
        Area { x, y, width, height }
    }

    /// Right edge.
    pub fn right(&self) -> f64 {
        self.x + self.width
    }

    /// Lower edge.
    pub fn bottom(&self) -> f64 {
        self.y + self.height
    }

    /// The same, smaller by some pixels on every side.
    pub fn inset(&self, by: f64) -> Area {
        Area::new(
            self.x + by,
            self.y + by,
            self.width - 2.0 * by,
            self.height - 2.0 * by,
        )
    }

    /// True if `other` lies wholly inside.
    pub fn holds(&self, other: &Area) -> bool {
        self.x <= other.x
            && self.y <= other.y
            && other.right() <= self.right()
            && other.bottom() <= self.bottom()
    }

    /// True if the two share more than an edge.
    pub fn overlaps(&self, other: &Area) -> bool {
        self.x < other.right() && other.x < self.right() && self.y < other.bottom() && other.y < self.bottom()
    }

    /// Divides it into columns of equal width with a gap between them.
    pub fn columns(&self, count: usize, gap: f64) -> Vec<Area> {
        let width = (self.width - gap * (count.max(1) - 1) as f64) / count.max(1) as f64;
        (0..count)
            .map(|i| Area::new(self.x + (width + gap) * i as f64, self.y, width, self.height))
            .collect()
    }

    fn around(points: impl Iterator<Item = (f64, f64)>, margin: f64) -> Area {
        let mut corners = (f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY);
        for (x, y) in points {
            corners = (
                corners.0.min(x),
                corners.1.min(y),
                corners.2.max(x),
                corners.3.max(y),
            );
        }
        Area::new(corners.0, corners.1, corners.2 - corners.0, corners.3 - corners.1).inset(-margin)
    }
}

impl Shape {
    /// The smallest upright rectangle around it; of a text, around its letters.
    pub fn extent(&self) -> Area {
        match self {
            Shape::Rect { area, paint, .. } => area.inset(-edge(paint)),
            Shape::Circle { x, y, radius, paint } => {
                Area::around([(*x, *y)].into_iter(), radius + edge(paint))
            }
            Shape::Polygon { points, paint } => Area::around(points.iter().copied(), edge(paint)),
            Shape::Line { points, width, .. } => Area::around(points.iter().copied(), width / 2.0),
            Shape::Ribbon { from, to, .. } => Area::around(
                [(from.0, from.1), (from.0, from.2), (to.0, to.1), (to.0, to.2)].into_iter(),
                0.0,
            ),
            Shape::Text {
                x,
                y,
                text,
                size,
                bold,
                anchor,
                ..
            } => {
                let width = typeface::width(text, *size, *bold);
                let left = match anchor {
                    Anchor::Start => *x,
                    Anchor::Middle => x - width / 2.0,
                    Anchor::End => x - width,
                };
                Area::new(
                    left,
                    y - typeface::RISE * size,
                    width,
                    (typeface::RISE + typeface::FALL) * size,
                )
            }
        }
    }
}

/// How far an edge reaches beyond the area.
fn edge(paint: &Paint) -> f64 {
    paint.edge.map_or(0.0, |(_, width)| width / 2.0)
}

/// The upper and lower edge of a ribbon as `pieces + 1` pairs of points, for painters without curves: a cubic with
/// level ends whose control points lie halfway across.
pub fn band(from: (f64, f64, f64), to: (f64, f64, f64), pieces: usize) -> Vec<((f64, f64), (f64, f64))> {
    (0..=pieces)
        .map(|i| {
            let t = i as f64 / pieces.max(1) as f64;
            let s = 1.0 - t;
            let half = (from.0 + to.0) / 2.0;
            let cubic = |a: f64, b: f64, c: f64, d: f64| {
                s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
            };
            let x = cubic(from.0, half, half, to.0);
            (
                (x, cubic(from.1, from.1, to.1, to.1)),
                (x, cubic(from.2, from.2, to.2, to.2)),
            )
        })
        .collect()
}

/// A picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Width, pixels.
    pub width: f64,
    /// Height, pixels.
    pub height: f64,
    /// What is on it, from the back to the front.
    pub shapes: Vec<Shape>,
}

impl Drawing {
    /// An empty picture for a projector.
    pub fn new() -> Drawing {
        let mut drawing = Drawing {
            width: WIDTH,
            height: HEIGHT,
            shapes: Vec::new(),
        };
        drawing.rect(Area::new(0.0, 0.0, WIDTH, HEIGHT), 0.0, Paint::solid(Tone::Paper));
        drawing
    }

    /// Adds a rectangle.
    pub fn rect(&mut self, area: Area, radius: f64, paint: Paint) {
        self.shapes.push(Shape::Rect { area, radius, paint });
    }

    /// Adds a line.
    pub fn line(&mut self, points: Vec<(f64, f64)>, width: f64, tone: Tone) {
        self.shapes.push(Shape::Line { points, width, tone });
    }

    /// Adds a line of text.
    pub fn text(&mut self, (x, y): (f64, f64), anchor: Anchor, text: impl Into<String>, type_: Type) {
        self.shapes.push(Shape::Text {
            x,
            y,
            text: text.into(),
            size: type_.size,
            bold: type_.bold,
            anchor,
            tone: type_.tone,
        });
    }

    /// Adds lines of text, wrapped to a width and cut after `most` lines; returns the baseline below the last.
    pub fn paragraph(
        &mut self,
        (x, y): (f64, f64),
        anchor: Anchor,
        text: &str,
        type_: Type,
        width: f64,
        most: usize,
    ) -> f64 {
        let lines = typeface::fit_lines(text, type_.size, type_.bold, width, most);
        let pitch = type_.size * LINE_PITCH;
        for (i, line) in lines.iter().enumerate() {
            self.text((x, y + pitch * i as f64), anchor, line.as_str(), type_);
        }
        y + pitch * lines.len() as f64
    }
}

impl Default for Drawing {
    fn default() -> Drawing {
        Drawing::new()
    }
}

/// Distance of lines as a multiple of the text size.
pub const LINE_PITCH: f64 = 1.25;

/// Size, weight and tone of a text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Type {
    /// Size, pixels.
    pub size: f64,
    /// True for the bold face.
    pub bold: bool,
    /// Tone.
    pub tone: Tone,
}

impl Type {
    /// Regular in ink.
    pub fn plain(size: f64) -> Type {
        Type {
            size,
            bold: false,
            tone: Tone::Ink,
        }
    }

    /// Bold in ink.
    pub fn bold(size: f64) -> Type {
        Type {
            size,
            bold: true,
            tone: Tone::Ink,
        }
    }

    /// Regular and of second rank.
    pub fn soft(size: f64) -> Type {
        Type {
            size,
            bold: false,
            tone: Tone::Soft,
        }
    }
}
