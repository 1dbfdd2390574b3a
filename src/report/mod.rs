//! Writing results down: JSON and CSV for machines, text for people. Knows what happened, decides nothing.

mod constants;
pub mod drawing;
mod image;
mod json;
mod picture;
mod score_text;
mod touches;
pub mod typeface;
mod words;

pub use constants::{Constant, constants};
pub use drawing::Drawing;
pub use image::{png, svg};
pub use json::attempt_json;
pub use picture::{
    Chance, FlowParts, MOST_SERIES, Row, flow_drawing, interval_picture, people_picture, spread_picture,
    tornado_picture,
};
pub use score_text::score_text;
pub use touches::touches_csv;
pub use words::{CAUTION, count, figure, of_hundred, percent, percentage, source_line};
