//! What screens show, as plain data and text. Knows the model and the drill; knows neither Bevy nor egui.

pub mod stage;
