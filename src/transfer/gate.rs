//! Whether something happens at all.

use crate::chance::{Key, Luck, Purpose, uniform};

/// What decides whether an event happens, if it does not follow another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    /// Identity for luck.
    pub key: Key,
    /// Probability.
    pub chance: f64,
}

impl Gate {
    /// Whether it happens with this luck.
    #[inline]
    pub fn opens(self, luck: Luck) -> bool {
        self.chance >= 1.0 || uniform(&mut luck.stream(self.key, Purpose::Happens)) < self.chance
    }
}
