//! The door of the room: what is touched when somebody walks through it.

use super::Zone;

/// How the door is opened and closed. A walk between the room and the doorway touches the inner handle, a walk between
/// the doorway and the corridor the outer one: going out, the door is opened by the first and closed by the second.
#[derive(Clone, Debug, PartialEq)]
pub struct Door {
    /// Furniture id of the handle inside.
    pub inside: String,
    /// Furniture id of the handle outside.
    pub outside: String,
    /// Zones of the hand that close on a handle, each with its contact area in cm2.
    pub hand: Vec<(Zone, f64)>,
    /// Contact area of the elbow that works a handle while both hands are full, cm2.
    pub elbow: f64,
    /// Basis id.
    pub basis: String,
}
