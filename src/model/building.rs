//! What a building puts where for cleaning hands: basins with soap, dispensers of hand rub, and how taps and dispensers are worked.

use super::Whereabouts;

/// What a piece of furniture is fixed up as: where it stands is then the building's to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fixture {
    /// The bowl of a basin.
    Basin,
    /// The tap of a basin.
    Tap,
    /// The soap dispenser of a basin.
    Soap,
    /// A dispenser of hand rub, or of what is taken in its place.
    Rub,
}

impl Fixture {
    /// Every fixture with the word files use for it.
    pub const ALL: [(&'static str, Fixture); 4] = [
        ("Basin", Fixture::Basin),
        ("Tap", Fixture::Tap),
        ("Soap", Fixture::Soap),
        ("Rub", Fixture::Rub),
    ];
}

/// How a tap is turned on, or a dispenser made to give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worked {
    /// By hand.
    Hand,
    /// By a long lever, with the elbow: what lies over the right forearm touches it.
    Elbow,
    /// By a sensor, or by somebody who helps: nothing touches it.
    Sensor,
}

impl Worked {
    /// Every way with the word files use for it.
    pub const ALL: [(&'static str, Worked); 3] = [
        ("Hand", Worked::Hand),
        ("Elbow", Worked::Elbow),
        ("Sensor", Worked::Sensor),
    ];
}

/// Where a building has what hands are cleaned with.
#[derive(Clone, Debug, PartialEq)]
pub struct Building {
    /// From where a basin with soap can be reached.
    pub basins: Vec<Whereabouts>,
    /// From where a dispenser of hand rub can be reached.
    pub dispensers: Vec<Whereabouts>,
    /// How taps are worked.
    pub taps: Worked,
    /// How dispensers of soap and rub are worked.
    pub pumps: Worked,
    /// Contact area of the elbow that works a tap or a dispenser, cm2.
    pub elbow: f64,
    /// Basis id.
    pub basis: String,
}

/// What a scenario or a sequence says of its building; what it leaves out is as usual.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OwnBuilding {
    /// From where a basin with soap can be reached.
    pub basins: Option<Vec<Whereabouts>>,
    /// From where a dispenser of hand rub can be reached.
    pub dispensers: Option<Vec<Whereabouts>>,
    /// How taps are worked; only a scenario says that.
    pub taps: Option<Worked>,
    /// How dispensers are worked; only a scenario says that.
    pub pumps: Option<Worked>,
}
