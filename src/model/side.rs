//! Left and right, and where in the room a person stands.

use serde::{Deserialize, Serialize};

/// The wearer's left or right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Side {
    /// The wearer's left.
    Left,
    /// The wearer's right.
    Right,
}

impl Side {
    /// Both sides, left first.
    pub const BOTH: [Side; 2] = [Side::Left, Side::Right];

    /// The other side.
    pub fn other(self) -> Side {
        match self {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
        }
    }

    /// `left` or `right`, as it stands in ids and in sentences.
    pub fn word(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
        }
    }
}

/// Where the person stands: in the patient's room, in its doorway or anteroom, or in the corridor.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Whereabouts {
    /// In the patient's room.
    #[default]
    Inside,
    /// In the doorway or anteroom.
    Doorway,
    /// In the corridor, door closed behind.
    Outside,
}

impl Whereabouts {
    /// All three, from the patient outwards.
    pub const ALL: [Whereabouts; 3] = [Whereabouts::Inside, Whereabouts::Doorway, Whereabouts::Outside];

    /// The word people read.
    pub fn word(self) -> &'static str {
        match self {
            Whereabouts::Inside => "inside",
            Whereabouts::Doorway => "doorway",
            Whereabouts::Outside => "outside",
        }
    }
}
