//! Tests of the core: no window, no Bevy. One file per property; `fixture` holds what they share.

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "tests reach for files and threads as they like"
)]

mod again;
mod already_there;
mod analysis;
mod arrival;
mod before;
mod broken;
mod building;
mod ceiling;
mod cli;
mod cli_compare;
mod cli_drill;
mod cli_odds;
mod clock;
mod compare;
mod conservation;
mod content;
mod desk_kills;
mod doors;
mod doubt;
mod drawing;
mod dressing;
mod dressing_slips;
mod duels;
mod editions;
mod emergent;
mod fixture;
mod golden;
mod grazes;
mod guidance;
mod kills;
mod layers;
mod ledger;
mod lessons;
mod logged;
mod logs;
mod logs_kept;
mod model;
mod mutated;
mod orders;
mod orders_plain;
mod orders_shown;
mod outputs;
mod own_content;
mod own_kit;
mod planted;
mod put_on;
mod reference;
mod refusals;
mod register;
mod register_cli;
mod reproductions;
mod seal;
mod sheets;
mod slips;
mod soak;
mod spots;
mod taken_back;
mod techniques;
mod twin;
mod ward;
mod wet;
mod what_if;
mod wording;
mod worked;
mod worked_rows;
