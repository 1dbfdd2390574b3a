//! What was asked, what was done, and what came of it: the score, in parts that are never merged.
//!
//! This module reads a finished or running drill and judges nothing that the books do not show, except against a
//! named sequence, and then says whose sequence it is.

mod align;
mod asks;
mod claims;
mod critical;
mod deduct;
mod hygiene;
mod near;
mod reached;
mod score;
mod step;
mod watch;
mod work;

pub use align::{Match, Order, align, is_of_kit};
pub use claims::bears_out;
pub use critical::{Critical, CriticalKind};
pub use deduct::Deduction;
pub use hygiene::{Cleaning, Hands, Soiled};
pub use reached::{Group, Reached, carried_to_person};
pub use score::{FaceTouch, Score};
pub use step::{Poor, StepResult};
pub use watch::Watch;
pub use work::dresses;
