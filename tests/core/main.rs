//! Tests of the core: no window, no Bevy. One file per property; `fixture` holds what they share.

mod analysis;
mod broken;
mod cli;
mod cli_compare;
mod cli_drill;
mod compare;
mod conservation;
mod content;
mod emergent;
mod fixture;
mod golden;
mod layers;
mod ledger;
mod logs;
mod model;
mod planted;
mod reference;
mod refusals;
mod reproductions;
mod twin;
mod wet;
mod worked;
mod worked_rows;
