//! Pictures of results for a projector: each one drawing of 1920 by 1080 that reads in grey and carries the caution.

mod best;
mod body;
mod course;
mod flow;
mod frame;
mod intervals;
mod people;
mod places;
mod series;
mod spread;
mod tornado;

pub use best::best_picture;
pub use body::{BodyMark, body_picture};
pub use course::{AskedStep, CourseParts, course_drawing};
pub use flow::{FlowParts, flow_drawing};
pub use intervals::{Row, interval_picture};
pub use people::{Chance, chance, people_picture};
pub use places::place_on_body;
pub use series::MOST_SERIES;
pub use spread::spread_picture;
pub use tornado::tornado_picture;
