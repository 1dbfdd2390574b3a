//! Writing results down: JSON and CSV for machines, text for people. Knows what happened, decides nothing.

mod constants;
mod json;
mod score_text;
mod tornado;
mod touches;
mod words;

pub use constants::{Constant, constants};
pub use json::attempt_json;
pub use score_text::score_text;
pub use tornado::tornado_svg;
pub use touches::touches_csv;
pub use words::{CAUTION, source_line};
