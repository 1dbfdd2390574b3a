//! One attempt: actions, the techniques they carry out, what is refused, the events that follow and the clock.
//!
//! There is one path: [`Action`] to technique to [`Event`](crate::transfer::Event)s to
//! [`Books`](crate::transfer::Books). The window, scripts, replays and every analysis take it.

mod action;
mod attempt;
mod begin;
mod clean;
mod contact;
mod enact;
pub mod exact;
mod felt;
mod planned;
mod reach;
mod refusal;
mod resolve;
mod state;
mod times;
mod walk;
mod words;

pub use action::{Action, Script};
pub use attempt::{Done, Drill, Happened};
pub use begin::Beginning;
pub use clean::{coverage, forearms_bare, in_full};
pub(crate) use contact::laws;
pub use enact::{check, enact};
pub use felt::{Felt, felt};
pub use planned::Planned;
pub use refusal::{First, Refusal};
pub(crate) use state::later;
pub use state::{ActiveFault, Fault, ItemState, State};
pub use times::Times;
