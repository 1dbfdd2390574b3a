//! smirch: a training simulator for taking off personal protective equipment.
//!
//! The map of the house. Doors open only downwards:
//!
//! `cli > app > {scene, panels} > view > report > register > {analysis, record} > guidance > content > drill > transfer > chance > model > palette > outside`
//!
//! Colours for all of them are in [`palette`], which knows nothing.
//!
//! Everything except `panels`, `scene` and `app` builds without the `gui` feature and links no Bevy. The Bevy world
//! never holds the truth: one [`drill::Drill`] does, and window, script, log and every analysis go one way: action,
//! technique, events, books.

#![warn(missing_docs)]
#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        clippy::disallowed_types,
        reason = "tests reach for files and threads as they like"
    )
)]

pub mod analysis;
pub mod chance;
pub mod cli;
pub mod content;
pub mod drill;
pub mod guidance;
pub mod model;
pub mod outside;
pub mod palette;
pub mod record;
pub mod register;
pub mod report;
pub mod transfer;
pub mod view;

#[cfg(feature = "gui")]
pub mod app;
#[cfg(feature = "gui")]
pub mod panels;
#[cfg(feature = "gui")]
pub mod scene;
