//! Dose-response curves: an optional extra, off by default, each with its units, endpoint and caveats.

/// The shape of a curve. Doses in the curve's own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// `1 - exp(-dose / k)`.
    Exponential {
        /// Dose scale.
        k: f64,
    },
    /// `1 - (1 + dose / N50 * (2^(1/a) - 1))^-a`.
    BetaPoisson {
        /// Shape.
        a: f64,
        /// Dose at which half are infected.
        n50: f64,
    },
}

/// A published curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    /// Kebab-case id.
    pub id: &'static str,
    /// What was measured, in whom, in which unit.
    pub about: &'static str,
    /// Citation.
    pub source: &'static str,
    /// The curve.
    pub law: Law,
}

/// What must be said wherever a curve is used.
pub const CAVEAT: &str = "a dose-response curve holds for its own organism, unit, route and endpoint; counts here are \
not in its unit unless the scenario says so, and no curve was measured for a finger on an eye";

impl Curve {
    /// The curves that can be chosen. Parameters as printed: natural logarithms in Watanabe 2010.
    pub const ALL: [Curve; 5] = [
        Curve {
            id: "sars-1-mouse",
            about: "SARS coronavirus 1 and a mouse coronavirus, death of mice, plaque-forming units, by the nose",
            source: "Watanabe et al. 2010, Risk Anal 30:1129-38, doi 10.1111/j.1539-6924.2010.01427.x",
            law: Law::Exponential { k: 410.0 },
        },
        Curve {
            id: "coronavirus-229e-human",
            about: "human coronavirus 229E, a cold in volunteers of 18 to 50 years, TCID50, by the nose",
            source: "Watanabe et al. 2010, Risk Anal 30:1129-38, doi 10.1111/j.1539-6924.2010.01427.x",
            // exp(2.92)
            law: Law::Exponential {
                k: 18.541_287_372_137_6,
            },
        },
        Curve {
            id: "rhinovirus-14",
            about: "rhinovirus 14, infection of volunteers, TCID50, by the nose",
            source: "QMRA handbook after Hendley et al. 1972 (read in a secondary source)",
            law: Law::BetaPoisson { a: 0.252, n50: 3.83 },
        },
        Curve {
            id: "rhinovirus-39",
            about: "rhinovirus 39, infection of volunteers, TCID50, by the nose",
            source: "QMRA handbook after Hendley et al. 1972 (read in a secondary source)",
            law: Law::BetaPoisson { a: 0.701, n50: 0.19 },
        },
        Curve {
            id: "adenovirus-4",
            about: "adenovirus 4, infection of volunteers, TCID50, inhaled",
            source: "QMRA handbook (read in a secondary source)",
            law: Law::Exponential { k: 1.0 / 0.607 },
        },
    ];

    /// The curve with this id.
    pub fn find(id: &str) -> Option<Curve> {
        Curve::ALL.into_iter().find(|c| c.id == id)
    }

    /// Probability of the curve's endpoint at a dose of at least 0, in the curve's unit.
    pub fn probability(&self, dose: f64) -> f64 {
        match self.law {
            Law::Exponential { k } => -libm::expm1(-dose / k),
            Law::BetaPoisson { a, n50 } => {
                1.0 - libm::pow(1.0 + dose / n50 * (libm::pow(2.0, 1.0 / a) - 1.0), -a)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(id: &str) -> Curve {
        Curve::find(id).unwrap_or_else(|| panic!("no curve {id}"))
    }

    /// Watanabe et al. 2010, table II: k = 4.1e2 with D10 = 43 and D50 = 280; tolerances as for printed 2-digit
    /// parameters.
    #[test]
    fn the_mouse_curve_gives_its_published_doses() {
        let c = curve("sars-1-mouse");
        assert!((c.probability(43.0) - 0.10).abs() < 0.003);
        assert!((c.probability(280.0) - 0.50).abs() < 0.012);
        // Vectors computed from the formula in double precision.
        for (dose, p) in [
            (1.0, 0.002_436),
            (10.0, 0.024_095),
            (43.0, 0.099_566),
            (1000.0, 0.912_754),
        ] {
            assert!(
                (c.probability(dose) - p).abs() < 5e-7,
                "P({dose}) = {}",
                c.probability(dose)
            );
        }
    }

    /// The same table: ln k = 2.92 for 229E; vectors computed from the formula.
    #[test]
    fn the_human_coronavirus_curve_matches_its_vectors() {
        let c = curve("coronavirus-229e-human");
        for (dose, p) in [
            (1.0, 0.052_505),
            (10.0, 0.416_865),
            (43.0, 0.901_643),
            (100.0, 0.995_453),
        ] {
            assert!(
                (c.probability(dose) - p).abs() < 5e-7,
                "P({dose}) = {}",
                c.probability(dose)
            );
        }
    }

    /// QMRA handbook parameters: half at N50 by definition; vectors computed from the formula.
    #[test]
    fn rhinovirus_curves_match_their_vectors_and_are_one_half_at_n50() {
        for (id, points) in [
            (
                "rhinovirus-14",
                [
                    (0.1, 0.078_39),
                    (1.0, 0.327_42),
                    (3.83, 0.5),
                    (10.0, 0.603_41),
                    (100.0, 0.776_71),
                ],
            ),
            (
                "rhinovirus-39",
                [
                    (0.1, 0.359_60),
                    (0.19, 0.5),
                    (1.0, 0.799_30),
                    (10.0, 0.957_28),
                    (0.0, 0.0),
                ],
            ),
        ] {
            for (dose, p) in points {
                let found = curve(id).probability(dose);
                assert!((found - p).abs() < 6e-6, "{id}: P({dose}) = {found}, not {p}");
            }
        }
    }

    /// QMRA handbook: adenovirus 4 has r = 0.607 and a published ID50 of 1.14.
    #[test]
    fn adenovirus_has_its_published_median_dose() {
        assert!((curve("adenovirus-4").probability(1.14) - 0.5).abs() < 0.001);
    }
}
