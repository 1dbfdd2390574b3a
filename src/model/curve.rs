//! Dose-response curves: an optional extra, off by default, each with its unit, endpoint and caveats.

/// What must be said wherever a curve is used.
pub const CAVEAT: &str = "a dose-response curve holds for its own organism, unit, route and endpoint; counts here are \
not in its unit unless the scenario says so, and no curve was measured for a finger on an eye";

/// The shape of a curve. Doses in the curve's own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// `1 - exp(-dose / k)`.
    Exponential {
        /// Dose scale, above 0.
        k: f64,
    },
    /// `1 - (1 + dose / N50 * (2^(1/a) - 1))^-a`.
    BetaPoisson {
        /// Shape, above 0.
        a: f64,
        /// Dose at which half show the endpoint, above 0.
        n50: f64,
    },
}

/// A published curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Kebab-case id.
    pub id: String,
    /// Organism and in whom, for people.
    pub label: String,
    /// What happens to the share that the curve gives, such as a cold.
    pub endpoint: String,
    /// Unit of the dose.
    pub unit: String,
    /// The curve.
    pub law: Law,
    /// Basis id.
    pub basis: String,
}

impl Curve {
    /// Probability of the curve's endpoint, 0 to 1, at a dose of at least 0 in the curve's unit.
    pub fn probability(&self, dose: f64) -> f64 {
        match self.law {
            Law::Exponential { k } => -libm::expm1(-dose / k),
            Law::BetaPoisson { a, n50 } => {
                let spread = libm::expm1(std::f64::consts::LN_2 / a);
                -libm::expm1(-a * libm::log1p(dose / n50 * spread))
            }
        }
    }

    /// The dose, in the curve's unit, at which a share from 0 to below 1 shows the endpoint.
    pub fn dose_for(&self, share: f64) -> f64 {
        match self.law {
            Law::Exponential { k } => -k * libm::log1p(-share),
            Law::BetaPoisson { a, n50 } => {
                let spread = libm::expm1(std::f64::consts::LN_2 / a);
                n50 * libm::expm1(-libm::log1p(-share) / a) / spread
            }
        }
    }
}
