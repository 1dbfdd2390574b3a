//! What is there: places, materials, organisms, items and the sites they make. Types only; nothing moves here.

mod side;

pub use side::{Side, Whereabouts};
