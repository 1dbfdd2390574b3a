//! The world outside the program: files, clocks, threads, and what the machine says of itself. Nothing else in `src` reaches
//! for them, so that each has one place to be changed for a machine that has them otherwise, such as a browser.
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "this is the place where they are reached"
)]

pub mod clock;
pub mod files;
pub mod machine;
pub mod threads;
pub mod write;
