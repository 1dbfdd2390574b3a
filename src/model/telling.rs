//! When two ways are called much the same, and when there are too few repeats to call them anything.

/// How differences are put into words.
#[derive(Clone, Debug, PartialEq)]
pub struct Telling {
    /// Fewer repeats than this tell nothing.
    pub too_few: u64,
    /// Two numbers that differ by no more than this share of the larger are much the same.
    pub much_the_same: f64,
    /// So are two shares of people that differ by no more than this, 0 to 1.
    pub points: f64,
    /// Share of sets of values, 0 to 1, that must agree before it is said which way leaves less.
    pub most: f64,
    /// Share of them that must agree before it is said without reserve.
    pub nearly_all: f64,
    /// Basis id.
    pub basis: String,
}

impl Telling {
    /// True for two shares of people, 0 to 1, that are much the same.
    pub fn same_share(&self, a: f64, b: f64) -> bool {
        self.same_amount(a, b) || (a - b).abs() <= self.points + 1e-12
    }

    /// True for two amounts that are much the same.
    pub fn same_amount(&self, a: f64, b: f64) -> bool {
        (a - b).abs() <= self.much_the_same * a.max(b) + 1e-12
    }
}
