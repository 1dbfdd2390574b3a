//! How contamination moves: events, and the books they change.
//!
//! An [`Event`] is one contact, splash or removal with its laws, resolved to site indices. [`Books`] hold a whole
//! number of organisms per site and source; applying an event moves or removes some of them by chance and loses
//! none. Nothing here knows what a glove is.

mod books;
mod event;
mod extent;
mod gate;
mod held;
mod removal;
mod spots;

pub use books::{Books, Imbalance, Moved};
pub use event::{Cause, Drawn, Event, Flow, Laws, Outcome};
pub use extent::Extent;
pub use gate::Gate;
pub use removal::Removal;
pub use spots::{Spots, care_repeats, care_step};
