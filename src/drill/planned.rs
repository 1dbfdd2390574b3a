//! What an action brings about, piece by piece.

use crate::model::Holding;
use crate::transfer::Event;

/// One thing that an action brings about.
#[derive(Clone, Debug, PartialEq)]
pub enum Planned {
    /// Something that can move or remove contamination.
    Flow(Event),
    /// An item goes somewhere.
    Item {
        /// Kit item index.
        item: usize,
        /// Where it was.
        from: Holding,
        /// Where it is now.
        to: Holding,
        /// Clock time, s.
        at: f64,
    },
    /// A fastening is undone or tied.
    Fastening {
        /// Kit item index.
        item: usize,
        /// Fastening index.
        fastening: usize,
        /// True if it is now undone.
        undone: bool,
        /// Clock time, s.
        at: f64,
    },
    /// An item is turned inside out.
    Inverted {
        /// Kit item index.
        item: usize,
        /// Clock time, s.
        at: f64,
    },
}
