//! What was fitted: factors on groups of brush chances, kept apart from the chances written in the techniques.

use super::{Address, How, Name, Step, Technique};

/// A factor on the odds of a group of brushes.
///
/// Odds, not chances, are multiplied: a chance then stays below one whatever the factor, never and always stay what
/// they are, and a factor can be taken back exactly by its inverse.
#[derive(Clone, Debug, PartialEq)]
pub struct Tuning {
    /// Kebab-case id.
    pub id: String,
    /// Which brushes, in words.
    pub what: String,
    /// Techniques whose brushes are meant.
    pub techniques: Vec<String>,
    /// Only brushes that touch one of these places, named as in the techniques; all if empty.
    pub touching: Vec<String>,
    /// True if only the chances at hurried pace are meant.
    pub hurried_only: bool,
    /// The factor.
    pub odds: f64,
    /// Smallest and largest factor that a fit may try.
    pub bounds: (f64, f64),
    /// Basis id.
    pub basis: String,
}

impl Tuning {
    /// Multiplies the odds of the brushes that are meant by `factor`.
    pub fn apply(&self, techniques: &mut [Technique], factor: f64) {
        for technique in techniques {
            if !self.techniques.contains(&technique.id) {
                continue;
            }
            for step in &mut technique.steps {
                let Step::Contact {
                    a,
                    b,
                    how: How::Brush { steady, hurried },
                    ..
                } = step
                else {
                    continue;
                };
                if !(self.touching.is_empty() || self.names(a) || self.names(b)) {
                    continue;
                }
                if !self.hurried_only {
                    *steady = with_odds(*steady, factor);
                }
                *hurried = with_odds(*hurried, factor);
            }
        }
    }

    fn names(&self, address: &Address) -> bool {
        match address {
            Address::Place(Name { name, .. }) => self.touching.contains(name),
            _ => false,
        }
    }
}

/// A chance with its odds multiplied.
fn with_odds(chance: f64, factor: f64) -> f64 {
    factor * chance / (1.0 - chance + factor * chance)
}
