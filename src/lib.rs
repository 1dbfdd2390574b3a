//! smirch: a training simulator for taking off personal protective equipment.
//!
//! The map of the house. Doors open only downwards:
//! `cli > app > {scene, panels > view} > report > {analysis, record, guidance} > drill > {transfer, content} > {chance, model}`.
//! Everything except `panels`, `scene` and `app` builds without the `gui` feature and links no Bevy.

pub mod chance;
pub mod content;
pub mod drill;
pub mod guidance;
pub mod model;
pub mod transfer;
pub mod view;

#[cfg(feature = "gui")]
pub mod app;
#[cfg(feature = "gui")]
pub mod scene;
