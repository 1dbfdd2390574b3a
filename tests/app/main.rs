//! Tests of the drawn scene under a real (software is enough) graphics adapter.

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "tests reach for files and threads as they like"
)]

mod heed;
mod holds;
mod keyboard;
mod layers;
mod motion;
mod panels;
mod parts;
mod passage;
mod picture;
mod scene;
mod sheets;
mod size;
mod stage;
mod studio;
mod window;
