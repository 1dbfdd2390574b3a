//! The next patient: what one ordinary contact of a hand is taken to be.

use super::{Side, Zone};

/// One ordinary contact of a hand or of both with the next patient's bare skin.
#[derive(Clone, Debug, PartialEq)]
pub struct NextContact {
    /// The hands: one or both.
    pub hands: Vec<Side>,
    /// Zones of each that touch, each with its contact area in cm2.
    pub areas: Vec<(Zone, f64)>,
    /// Id of the material touched.
    pub onto: String,
    /// Basis id.
    pub basis: String,
}
