//! Two ways side by side for a class: what is asked, both attempts in step, and then the odds.

mod crowd;
mod landed;
mod odds;
mod pairs;
mod shown;
mod staged;

pub use crowd::TARGETS;
pub use odds::OddsView;
pub use pairs::{OWN, OwnPair, own_duel, ways};
pub use shown::{ClassView, SideView};
pub use staged::{Class, Drawn, Guess, Stage};
