//! Words, lines and dots laid over a picture, in the house's type and tones. Knows pixels; nothing of drills.

use std::fmt::Write;
use std::sync::{Arc, OnceLock};

use bevy::math::{Rect, Vec2};
use bevy_egui::egui;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{self, fontdb};

use super::picture::{Picture, PictureError};
use crate::palette::{self, Colour};
use crate::panels::callouts::{Wanted, lay_out};
use crate::scene::labels::Label;
use crate::scene::sites::fullness;
use crate::view::words;

const FAMILY: &str = "Atkinson Hyperlegible";
const REGULAR: &[u8] = include_bytes!("../../assets/fonts/AtkinsonHyperlegible-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../assets/fonts/AtkinsonHyperlegible-Bold.ttf");

/// How words are set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Type {
    /// Size, pixels.
    pub size: f32,
    /// True for the bold face.
    pub bold: bool,
    /// Colour.
    pub fill: Colour,
}

/// A transparent board the size of a picture, filled with words and shapes and then laid over it.
#[derive(Clone, Debug)]
pub struct Board {
    width: u32,
    height: u32,
    svg: String,
}

impl Board {
    /// An empty board of a picture's size, pixels.
    pub fn new(width: u32, height: u32) -> Board {
        Board {
            width,
            height,
            svg: String::new(),
        }
    }

    /// One line of words, starting at the left end of its base line.
    pub fn words(&mut self, at: Vec2, text: &str, how: Type) {
        self.set(at, text, how, "start");
    }

    /// One line of words about the middle of its base line.
    pub fn centred(&mut self, at: Vec2, text: &str, how: Type) {
        self.set(at, text, how, "middle");
    }

    fn set(&mut self, at: Vec2, text: &str, how: Type, anchor: &str) {
        let _ = write!(
            self.svg,
            "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"{:.2}\" font-weight=\"{}\" fill=\"{}\" text-anchor=\"{anchor}\" xml:space=\"preserve\">{}</text>",
            at.x,
            at.y,
            how.size,
            if how.bold { 700 } else { 400 },
            how.fill,
            escape(text)
        );
    }

    /// A filled rectangle with rounded corners (radius in pixels).
    pub fn slab(&mut self, at: Rect, radius: f32, fill: Colour, opacity: f32) {
        let (min, size) = (at.min, at.size());
        let _ = write!(
            self.svg,
            "<rect x=\"{:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{:.2}\" rx=\"{radius:.2}\" fill=\"{fill}\" fill-opacity=\"{opacity}\"/>",
            min.x, min.y, size.x, size.y
        );
    }

    /// A line through points, pixels wide.
    pub fn line(&mut self, through: &[Vec2], width: f32, stroke: Colour) {
        let points: Vec<String> = through.iter().map(|p| format!("{:.2},{:.2}", p.x, p.y)).collect();
        let _ = write!(
            self.svg,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{width:.2}\" stroke-linejoin=\"round\"/>",
            points.join(" ")
        );
    }

    /// A filled circle.
    pub fn dot(&mut self, at: Vec2, radius: f32, fill: Colour) {
        let _ = write!(
            self.svg,
            "<circle cx=\"{:.2}\" cy=\"{:.2}\" r=\"{radius:.2}\" fill=\"{fill}\"/>",
            at.x, at.y
        );
    }

    /// Lays the board over a picture of its size.
    ///
    /// # Errors
    /// If the picture has another size, or the board cannot be drawn.
    pub fn lay_over(&self, picture: &mut Picture) -> Result<(), PictureError> {
        if (picture.width, picture.height) != (self.width, self.height) {
            return Err(PictureError::Words("the board has another size".to_owned()));
        }
        let tree = tree(self.width, self.height, &self.svg)?;
        let mut drawn = Pixmap::new(self.width, self.height)
            .ok_or_else(|| PictureError::Words("there is no room for it".to_owned()))?;
        resvg::render(&tree, Transform::identity(), &mut drawn.as_mut());
        for (under, over) in picture.rgba.chunks_exact_mut(4).zip(drawn.data().chunks_exact(4)) {
            // The drawn pixels already carry their alpha in their colours.
            let left = 255 - u32::from(over[3]);
            for (u, o) in under.iter_mut().zip(over) {
                *u = (u32::from(*o) + (u32::from(*u) * left + 127) / 255).min(255) as u8;
            }
        }
        Ok(())
    }
}

/// Text that is safe inside SVG; what XML cannot hold becomes a space.
fn escape(text: &str) -> String {
    text.chars()
        .fold(String::with_capacity(text.len()), |mut out, c| {
            match c {
                '&' => out.push_str("&amp;"),
                '<' => out.push_str("&lt;"),
                '>' => out.push_str("&gt;"),
                c if c.is_control() => out.push(' '),
                c => out.push(c),
            }
            out
        })
}

fn fonts() -> Arc<fontdb::Database> {
    static FONTS: OnceLock<Arc<fontdb::Database>> = OnceLock::new();
    FONTS
        .get_or_init(|| {
            let mut fonts = fontdb::Database::new();
            fonts.load_font_data(REGULAR.to_vec());
            fonts.load_font_data(BOLD.to_vec());
            Arc::new(fonts)
        })
        .clone()
}

fn tree(width: u32, height: u32, inside: &str) -> Result<usvg::Tree, PictureError> {
    let options = usvg::Options {
        font_family: FAMILY.to_owned(),
        fontdb: fonts(),
        ..usvg::Options::default()
    };
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\">{inside}</svg>"
    );
    usvg::Tree::from_str(&svg, &options).map_err(|e| PictureError::Words(e.to_string()))
}

/// How wide one line of words is, pixels.
pub fn width_of(text: &str, size: f32, bold: bool) -> f32 {
    let mut board = Board::new(8, 8);
    let how = Type {
        size,
        bold,
        fill: palette::DAY.ink,
    };
    board.words(Vec2::ZERO, text, how);
    tree(8, 8, &board.svg).map_or(0.0, |t| t.root().bounding_box().width())
}

/// Words broken into lines no wider than `width` pixels; a longer word has a line of its own.
pub fn broken(text: &str, size: f32, bold: bool, width: f32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        if let Some(last) = lines.last_mut() {
            let longer = format!("{last} {word}");
            if width_of(&longer, size, bold) <= width {
                *last = longer;
                continue;
            }
        }
        lines.push(word.to_owned());
    }
    lines
}

/// Names at the sides of a picture with lines to what they name; the least important are left out where there is no
/// room. None stands beside the legend, whose place is given where there is one: all stay above it or below.
///
/// Returns how many were left out.
pub fn callouts(board: &mut Board, labels: &[Label], lamp: bool, legend: Option<Rect>) -> usize {
    let tones = palette::page(lamp);
    let scale = scale(board);
    let (size, pad, line) = (15.0 * scale, 7.0 * scale, 19.0 * scale);
    let widest = board.width as f32 * 0.24;
    let texts: Vec<Vec<String>> = labels
        .iter()
        .map(|l| broken(&l.text, size, false, widest))
        .collect();
    let wanted: Vec<Wanted> = labels
        .iter()
        .zip(&texts)
        .map(|(label, lines)| {
            let wide = lines.iter().map(|l| width_of(l, size, false)).fold(0.0, f32::max);
            Wanted {
                at: egui::pos2(label.at.x, label.at.y),
                size: egui::vec2(wide + 2.0 * pad, line * lines.len() as f32 + 2.0 * pad),
            }
        })
        .collect();
    let margin = 14.0 * scale;
    // Columns stand beside what they name, since long lines are hard to follow.
    let reach = widest + 2.0 * pad + 70.0 * scale;
    let leftmost = labels.iter().map(|l| l.at.x).fold(f32::MAX, f32::min);
    let rightmost = labels.iter().map(|l| l.at.x).fold(0.0, f32::max);
    let height = board.height as f32;
    let (top, bottom) = match legend {
        Some(r) if r.center().y > height * 0.5 => (0.0, r.min.y),
        Some(r) => (r.max.y, height),
        None => (0.0, height),
    };
    let field = egui::Rect::from_min_max(
        egui::pos2((leftmost - reach).max(margin), top + margin),
        egui::pos2(
            (rightmost + reach).min(board.width as f32 - margin),
            bottom - margin,
        ),
    );
    let placed = lay_out(&wanted, field, 5.0 * scale);
    let at = |p: egui::Pos2| Vec2::new(p.x, p.y);
    for callout in &placed {
        board.line(&[at(callout.from), at(callout.to)], 3.6 * scale, tones.paper);
    }
    for callout in &placed {
        board.line(&[at(callout.from), at(callout.to)], 1.4 * scale, tones.ink);
        board.dot(at(callout.to), 4.2 * scale, tones.paper);
        board.dot(at(callout.to), 2.8 * scale, tones.ink);
    }
    let how = Type {
        size,
        bold: false,
        fill: tones.ink,
    };
    for callout in &placed {
        let slab = Rect::from_corners(at(callout.slab.min), at(callout.slab.max));
        board.slab(slab, 5.0 * scale, tones.paper, 0.94);
        let corner = slab.min + Vec2::new(pad, pad + size * 0.92);
        for (n, text) in texts[callout.which].iter().enumerate() {
            board.words(corner + Vec2::new(0.0, line * n as f32), text, how);
        }
    }
    labels.len() - placed.len()
}

/// How much larger than at 1200 x 720 words are set on a board.
fn scale(board: &Board) -> f32 {
    (board.width as f32 / 1200.0).min(board.height as f32 / 720.0)
}

/// Height of the legend of the lamp where words are of their usual size, pixels.
const LEGEND: f32 = 104.0;

/// From one sample of the legend to the next, where words are of their usual size, pixels.
const LEGEND_PITCH: f32 = 70.0;
/// How many samples the legend has.
const SAMPLES: u32 = 7;

/// Where the legend of the lamp stands in a picture: in the corner that covers least of the figure, whose corners are
/// seen at the given places (pixels). The lower corners come before the upper ones, the left before the right.
pub fn legend_room(board: &Board, figure: &[Vec2]) -> Rect {
    let scale = scale(board);
    let margin = 14.0 * scale;
    let size = Vec2::new(LEGEND_PITCH * SAMPLES as f32 + 20.0, LEGEND) * scale;
    let far = Vec2::new(board.width as f32, board.height as f32) - size - margin;
    let corners = [
        Vec2::new(margin, far.y),
        far,
        Vec2::splat(margin),
        Vec2::new(far.x, margin),
    ];
    let covers = |corner: Vec2| {
        let room = Rect::from_corners(corner, corner + size).inflate(margin * 0.5);
        figure.iter().filter(|p| room.contains(**p)).count()
    };
    let corner = corners.into_iter().min_by_key(|c| covers(*c)).unwrap_or(far);
    Rect::from_corners(corner, corner + size)
}

/// Area of the patch the legend's samples stand for, m2: about a palm.
const SAMPLE_AREA: f32 = 0.01;
/// Cells along one edge of a sample.
const SAMPLE_CELLS: u32 = 9;

/// The legend of the lamp: what 1, 10, ... 1 000 000 look like. It stands at the left of the room given and is as
/// high as that. `seen_from` as in the stage.
pub fn speck_legend(board: &mut Board, room: Rect, seen_from: u64) {
    let tones = &palette::LAMP;
    let scale = room.height() / LEGEND;
    let px = |n: f32| n * scale;
    let pitch = px(LEGEND_PITCH);
    let size = Vec2::new(pitch * SAMPLES as f32 + px(20.0), px(LEGEND));
    let corner = room.min;
    board.slab(
        Rect::from_corners(corner, corner + size),
        px(8.0),
        tones.paper,
        0.86,
    );
    let title = Type {
        size: px(14.0),
        bold: true,
        fill: tones.ink,
    };
    let title_text = if seen_from > 1 {
        format!(
            "How much one patch carries; less than {} does not show",
            words::count(seen_from)
        )
    } else {
        "How much one patch carries".to_owned()
    };
    board.words(corner + Vec2::new(px(12.0), px(21.0)), &title_text, title);
    let edge = px(46.0);
    for step in 0..SAMPLES {
        let count = 10u64.pow(step);
        let middle = corner.x + px(10.0) + pitch * (step as f32 + 0.5);
        let top = corner.y + px(30.0);
        let left = Vec2::new(middle - edge / 2.0, top);
        board.slab(
            Rect::from_corners(left, left + Vec2::splat(edge)),
            px(4.0),
            tones.sample,
            1.0,
        );
        if count >= seen_from {
            specks(board, left, edge, fullness(count, SAMPLE_AREA), tones.accent);
        }
        let how = Type {
            size: px(14.0),
            bold: false,
            fill: tones.ink,
        };
        board.centred(
            Vec2::new(middle, top + edge + px(17.0)),
            &words::count(count),
            how,
        );
    }
}

/// Fills a share of the cells of a square with specks, always the same ones first.
fn specks(board: &mut Board, corner: Vec2, edge: f32, full: f32, fill: Colour) {
    let cell = edge / SAMPLE_CELLS as f32;
    let cells = SAMPLE_CELLS * SAMPLE_CELLS;
    let many = ((full * cells as f32).round() as u32).clamp(1, cells);
    let mut order: Vec<u32> = (0..cells).collect();
    // Multiplying by an odd number near 2^32 over the golden ratio scatters neighbours.
    order.sort_by_key(|n| (n + 1).wrapping_mul(0x9E37_79B9) ^ (n * n).wrapping_mul(0x85EB_CA77));
    for at in &order[..many as usize] {
        let place = Vec2::new((at % SAMPLE_CELLS) as f32, (at / SAMPLE_CELLS) as f32);
        board.dot(corner + (place + 0.5) * cell, cell * 0.36, fill);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_legend_keeps_off_the_figure() {
        let board = Board::new(1280, 720);
        let usual = legend_room(&board, &[]);
        assert!(
            usual.max.x < 640.0 && usual.min.y > 360.0,
            "with nothing in the way it stands bottom left: {usual:?}"
        );
        let mut figure = vec![usual.center()];
        for _ in 0..3 {
            let room = legend_room(&board, &figure);
            assert!(
                figure.iter().all(|p| !room.contains(*p)),
                "{room:?} covers one of {figure:?} although a corner is free"
            );
            figure.push(room.center());
        }
        figure.extend([figure[0], figure[1], figure[3]]);
        let least = legend_room(&board, &figure);
        assert!(
            least.contains(figure[2]),
            "with all corners taken {least:?} is not the one that covers least"
        );
    }

    #[test]
    fn words_are_drawn_with_the_bundled_typeface() {
        let mut picture = Picture {
            width: 120,
            height: 40,
            rgba: [245, 242, 236, 255].repeat(120 * 40),
        };
        let mut board = Board::new(120, 40);
        let how = Type {
            size: 20.0,
            bold: true,
            fill: palette::DAY.ink,
        };
        board.words(Vec2::new(4.0, 28.0), "a < b & c", how);
        board.lay_over(&mut picture).expect("the board fits");
        let dark = picture.rgba.chunks(4).filter(|c| c[0] < 60).count();
        assert!(dark > 60, "only {dark} pixels of ink: the typeface was not found");
        assert!(
            picture.rgba.chunks(4).all(|c| c[3] == 255),
            "the picture became see-through"
        );
    }

    #[test]
    fn longer_words_are_wider_and_lines_break_to_fit() {
        assert!(width_of("gown", 16.0, false) < width_of("gown, chest", 16.0, false));
        assert!(width_of("gown", 16.0, false) < width_of("gown", 16.0, true));
        let text = "left glove: pinch the cuff and peel it off inside out";
        let lines = broken(text, 16.0, false, 150.0);
        assert!(lines.len() > 1, "{lines:?}");
        assert!(
            lines.iter().all(|l| width_of(l, 16.0, false) <= 150.0),
            "{lines:?}"
        );
        assert_eq!(lines.join(" "), text, "breaking lines loses words");
    }
}
