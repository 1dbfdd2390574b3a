//! Panels: egui only. Functions that draw a view and append the commands that were asked for.
