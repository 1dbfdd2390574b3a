//! egui only: what screens look like.
