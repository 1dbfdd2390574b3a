//! What screens show, as plain data and text. Knows the model, the drill and guidance; knows neither Bevy nor egui.
//!
//! A [`Desk`] is all that a person at the screen has open: the page, the settings, the one drill. It takes
//! [`Command`]s, whoever gives them (menu, key, pointer, test), and makes the views that panels draw.

pub mod advice;
pub mod attempts;
pub mod borne;
pub mod choices;
pub mod class;
pub mod command;
pub mod debrief;
mod desk;
pub mod drilling;
pub mod exercise;
pub mod finish;
pub mod handles;
pub mod hands;
pub mod lesson;
mod log_watch;
pub mod near_you;
pub mod now;
pub mod numbers;
pub mod orders;
pub mod outline;
pub mod pass;
pub mod playback;
pub mod practice;
pub mod remembered;
mod reorder;
pub mod replaying;
pub mod rub;
pub mod searching;
pub mod settings;
pub mod sheet;
pub mod sites;
pub mod stage;
mod stage_of;
pub mod start;
pub mod steps;
pub mod sure;
pub mod trace;
pub mod ways;
pub mod what_if;
pub mod why;
pub mod words;
pub mod work;

pub use attempts::AttemptsView;
pub use choices::{Choice, options};
pub use class::ClassView;
pub use command::{Command, Page, Tab};
pub use debrief::DebriefView;
pub use desk::{Desk, Effect, Watch};
pub use drilling::DrillView;
pub use lesson::LessonPage;
pub use log_watch::{LogWatch, Tell};
pub use numbers::NumbersView;
pub use replaying::ReplayView;
pub use searching::OrdersPage;
pub use settings::{ClockSpeed, LampUse, NamedView, Settings};
pub use sheet::{SheetCommand, SheetView};
pub use stage_of::{stage_of, touch};
pub use start::StartView;

/// The cautions that every screen can show and the first one always does.
pub const CAUTIONS: [&str; 5] = [
    "Training aid, not a clinical device",
    "The numbers are modelled and uncertain",
    "Follow your local infection control policy and the maker's instructions",
    "Fit testing and sign-off are for competent persons",
    "Never practise with real contamination",
];

/// The same in one line, for the foot of a page.
pub const CAUTION_LINE: &str = "Training aid. Modelled and uncertain. Follow your local policy and competent persons. Never practise with real contamination.";
