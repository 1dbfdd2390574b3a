//! Tests of the core: no window, no Bevy. One file per property; `fixture` holds what they share.

mod analysis;
mod arrival;
mod broken;
mod cli;
mod cli_drill;
mod conservation;
mod content;
mod emergent;
mod fixture;
mod golden;
mod layers;
mod ledger;
mod logs;
mod model;
mod orders;
mod orders_plain;
mod orders_shown;
mod planted;
mod reference;
mod refusals;
mod reproductions;
mod twin;
mod wet;
mod worked;
mod worked_rows;
