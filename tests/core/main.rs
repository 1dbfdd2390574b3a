//! Tests of the core: no window, no Bevy. One file per property; `fixture` holds what they share.

mod broken;
mod cli;
mod conservation;
mod content;
mod emergent;
mod fixture;
mod golden;
mod layers;
mod ledger;
mod model;
mod wet;
mod logs;
mod worked;
