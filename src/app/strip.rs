//! A whole drill on one sheet: a frame a step, numbered, with what was done beneath. Knows pixels; nothing of drills.

use bevy::math::{Rect, Vec2};

use super::caption::{Board, Type, broken, speck_legend};
use super::picture::{Picture, PictureError};
use crate::palette::{self, Colour};

/// What stands above and below the frames.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    /// What the sheet is of.
    pub title: String,
    /// How it was made, in a line.
    pub details: String,
    /// The line at the bottom.
    pub caution: String,
    /// True for the tones under the lamp, with the legend of specks.
    pub lamp: bool,
    /// Counts below this are not seen under the lamp.
    pub seen_from: u64,
}

/// Most pixels a sheet may have: about what programs still open and printers still take.
pub const MOST_PIXELS: u64 = 120_000_000;

/// Width over height of a sheet of paper on its side.
const PAPER: f32 = std::f32::consts::SQRT_2;

/// A sheet planned for a number of frames, filled one by one.
#[derive(Clone, Debug)]
pub struct Sheet {
    heading: Heading,
    captions: Vec<Vec<String>>,
    frame: Vec2,
    /// Pixels of one unit; a frame is 360 units wide.
    unit: f32,
    columns: usize,
    cell: Vec2,
    caution: Vec<String>,
    picture: Picture,
}

impl Sheet {
    /// Plans a sheet with one caption for each frame; `width` and `height` are those of a frame, pixels.
    ///
    /// # Errors
    /// If it would be larger than [`MOST_PIXELS`].
    pub fn new(
        heading: Heading,
        captions: &[String],
        width: u32,
        height: u32,
    ) -> Result<Sheet, PictureError> {
        let frame = Vec2::new(width as f32, height as f32);
        let unit = frame.x / 360.0;
        let captions: Vec<Vec<String>> = captions
            .iter()
            .enumerate()
            .map(|(n, text)| broken(&format!("{n}. {text}"), 18.0 * unit, false, frame.x))
            .collect();
        let lines = captions.iter().map(Vec::len).max().unwrap_or(1);
        let cell = frame + Vec2::new(20.0, 44.0 + 23.0 * lines as f32) * unit;
        let shape = |columns: usize| {
            let rows = captions.len().div_ceil(columns);
            let ratio = columns as f32 * cell.x / (rows as f32 * cell.y + 190.0 * unit);
            (ratio / PAPER).ln().abs()
        };
        let columns = (1..=captions.len().max(1))
            .min_by(|a, b| shape(*a).total_cmp(&shape(*b)))
            .unwrap_or(1);
        let rows = captions.len().div_ceil(columns);
        let wide = 20.0 * unit + columns as f32 * cell.x;
        let caution = broken(&heading.caution, 18.0 * unit, false, wide - 40.0 * unit);
        let legend = if heading.lamp { 130.0 * unit } else { 0.0 };
        let tall = 104.0 * unit + rows as f32 * cell.y + legend + (24.0 * caution.len() as f32 + 26.0) * unit;
        let size = (wide.ceil() as u32, tall.ceil() as u32);
        let pixels = u64::from(size.0) * u64::from(size.1);
        if pixels > MOST_PIXELS {
            return Err(PictureError::TooLarge(size.0, size.1));
        }
        let [red, green, blue] = palette::page(heading.lamp).paper.bytes();
        Ok(Sheet {
            heading,
            captions,
            frame,
            unit,
            columns,
            cell,
            caution,
            picture: Picture {
                width: size.0,
                height: size.1,
                rgba: [red, green, blue, 255].repeat(pixels as usize),
            },
        })
    }

    fn corner(&self, n: usize) -> Vec2 {
        let (column, row) = (n % self.columns, n / self.columns);
        Vec2::new(20.0, 104.0) * self.unit + self.cell * Vec2::new(column as f32, row as f32)
    }

    /// Puts a frame in its place.
    pub fn place(&mut self, n: usize, frame: &Picture) {
        let corner = self.corner(n).floor();
        let (left, top) = (corner.x as usize, corner.y as usize);
        let wide = (frame.width as usize).min(self.picture.width as usize - left) * 4;
        for row in 0..(frame.height as usize).min(self.picture.height as usize - top) {
            let to = ((top + row) * self.picture.width as usize + left) * 4;
            let from = row * frame.width as usize * 4;
            self.picture.rgba[to..to + wide].copy_from_slice(&frame.rgba[from..from + wide]);
        }
    }

    /// The sheet with its words.
    ///
    /// # Errors
    /// If the words cannot be drawn.
    pub fn finish(mut self) -> Result<Picture, PictureError> {
        let tones = palette::page(self.heading.lamp);
        let u = self.unit;
        let how = |size: f32, bold: bool, fill: Colour| Type {
            size: size * u,
            bold,
            fill,
        };
        let mut board = Board::new(self.picture.width, self.picture.height);
        board.words(
            Vec2::new(20.0, 50.0) * u,
            &self.heading.title,
            how(32.0, true, tones.ink),
        );
        board.words(
            Vec2::new(20.0, 82.0) * u,
            &self.heading.details,
            how(19.0, false, tones.soft),
        );
        for (n, lines) in self.captions.iter().enumerate() {
            let under = self.corner(n) + Vec2::new(0.0, self.frame.y);
            for (k, line) in lines.iter().enumerate() {
                let at = under + Vec2::new(0.0, 26.0 + 23.0 * k as f32) * u;
                board.words(at, line, how(18.0, false, tones.ink));
            }
            let rule = under + Vec2::new(0.0, 4.0 * u);
            board.line(&[rule, rule + Vec2::new(self.frame.x, 0.0)], 2.0 * u, tones.soft);
        }
        let foot = self.picture.height as f32 - (24.0 * self.caution.len() as f32 + 8.0) * u;
        if self.heading.lamp {
            speck_legend(
                &mut board,
                Rect::from_corners(
                    Vec2::new(20.0 * u, foot - 132.0 * u),
                    Vec2::new(20.0 * u, foot - 24.0 * u),
                ),
                self.heading.seen_from,
            );
        }
        for (k, line) in self.caution.iter().enumerate() {
            let at = Vec2::new(20.0 * u, foot + 12.0 * u + 24.0 * k as f32 * u);
            board.words(at, line, how(18.0, false, tones.soft));
        }
        board.lay_over(&mut self.picture)?;
        Ok(self.picture)
    }
}
