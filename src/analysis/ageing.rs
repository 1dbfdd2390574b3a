//! Shelf life by accelerated ageing: the arithmetic of ASTM F1980, and what it does not say.
//!
//! Filters age by it as far as anyone knows; straps, nose foam and fit do not.

/// Acceleration factor of a chamber: how many days of storage one day stands for.
///
/// `q10` is the factor per 10 degrees (2 by convention, ASTM F1980), temperatures in degrees Celsius.
pub fn acceleration(q10: f64, chamber: f64, store: f64) -> f64 {
    q10.powf((chamber - store) / 10.0)
}

/// Days in the chamber that stand for so many years in store, with a year of 365 days.
pub fn chamber_days(years: f64, q10: f64, chamber: f64, store: f64) -> f64 {
    years * 365.0 / acceleration(q10, chamber, store)
}

/// How far above the store the chamber must be, in degrees, for an acceleration factor.
pub fn temperature_gap(q10: f64, factor: f64) -> f64 {
    10.0 * factor.ln() / q10.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked examples of ASTM F1980 in circulation: 55 and 25 degrees give 8.0 and 45.6 days for a year; 60 and 22
    /// give 13.93 and 26.2 days, in a mask ageing report after YY/T 0681.1 that elsewhere prints 8.0 for this case
    /// and states 25 degrees: recomputed, not copied. Tolerances are the last printed digit.
    #[test]
    fn published_pairs_of_temperatures_give_their_published_factors() {
        for (chamber, store, factor, days) in [
            (55.0, 25.0, 8.0, 45.6),
            (55.0, 22.0, 9.85, 37.1),
            (60.0, 22.0, 13.93, 26.2),
            (60.0, 25.0, 11.31, 32.3),
        ] {
            let (f, d) = (
                acceleration(2.0, chamber, store),
                chamber_days(1.0, 2.0, chamber, store),
            );
            assert!(
                (f - factor).abs() < 0.006,
                "{chamber} over {store}: factor {f}, published {factor}"
            );
            assert!(
                (d - days).abs() < 0.06,
                "{chamber} over {store}: {d} days, published {days}"
            );
        }
    }

    /// Two years at 55 over 25 degrees are 91.25 days (published example).
    #[test]
    fn two_years_take_the_published_quarter_of_a_year() {
        assert!((chamber_days(2.0, 2.0, 55.0, 25.0) - 91.25).abs() < 1e-9);
    }

    /// Common practice, no source: two months for five years and one week for one year. With Q10 = 2 they need the
    /// chamber 49 and 57 degrees above the store: from 25 degrees both break the usual ceiling of 60.
    #[test]
    fn rules_of_the_trade_need_chambers_hotter_than_the_standard_allows() {
        let five_years_in_two_months = temperature_gap(2.0, 30.0);
        let a_year_in_a_week = temperature_gap(2.0, 52.0);
        assert!(
            (five_years_in_two_months - 49.0).abs() < 0.1,
            "{five_years_in_two_months}"
        );
        assert!((a_year_in_a_week - 57.0).abs() < 0.1, "{a_year_in_a_week}");
        assert!(25.0 + five_years_in_two_months > 60.0 && 25.0 + a_year_in_a_week > 60.0);
    }
}
