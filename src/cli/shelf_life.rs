//! `smirch shelf-life`.

use std::io::Write;

use clap::Args;

use crate::analysis::{acceleration, chamber_days, temperature_gap};
use crate::content::Content;

use super::Failure;

/// Work out what accelerated ageing in a chamber stands for (ASTM F1980).
///
/// Filters age by this rule as far as is known; straps, nose foam and fit do not.
#[derive(Debug, Args)]
pub(super) struct ShelfLife {
    /// Years in store that are claimed
    #[arg(long, default_value_t = 5.0)]
    years: f64,
    /// Chamber temperature, degrees C
    #[arg(long, default_value_t = 55.0)]
    chamber: f64,
    /// Store temperature, degrees C
    #[arg(long, default_value_t = 25.0)]
    store: f64,
    /// Factor per 10 degrees; 2 by convention
    #[arg(long, default_value_t = 2.0)]
    q10: f64,
    /// Days the items were really in the chamber: also show what that stands for
    #[arg(long)]
    days: Option<f64>,
}

impl ShelfLife {
    pub(super) fn run(self, _content: &Content) -> Result<(), Failure> {
        let wrong = |what: &str| {
            Err(Failure::Usage(format!(
                "{what}\n   hint: see `smirch shelf-life --help`"
            )))
        };
        if !(self.q10.is_finite() && self.q10 > 1.0 && self.q10 <= 10.0) {
            return wrong("--q10 must be above 1 and at most 10");
        }
        if !(self.years > 0.0 && self.years <= 100.0) {
            return wrong("--years must be above 0 and at most 100");
        }
        let plausible = |t: f64| (-30.0..=120.0).contains(&t);
        if !plausible(self.chamber) || !plausible(self.store) || self.chamber <= self.store {
            return wrong("--chamber must be above --store, both between -30 and 120 degrees C");
        }
        if self.days.is_some_and(|d| !(d > 0.0 && d < 100_000.0)) {
            return wrong("--days must be above 0");
        }
        let mut out = std::io::stdout().lock();
        let factor = acceleration(self.q10, self.chamber, self.store);
        writeln!(out, "acceleration factor\t{factor:.2}")?;
        let days = chamber_days(self.years, self.q10, self.chamber, self.store);
        writeln!(out, "days in the chamber for {} years\t{days:.1}", self.years)?;
        if let Some(days) = self.days {
            writeln!(out, "{days} days stand for\t{:.2} years", days * factor / 365.0)?;
            let needed = self.years * 365.0 / days;
            let gap = temperature_gap(self.q10, needed);
            writeln!(
                out,
                "{} years in {days} days needs\ta factor of {needed:.1}, a chamber at {:.0} degrees C",
                self.years,
                self.store + gap
            )?;
            if self.store + gap > 60.0 {
                writeln!(
                    out,
                    "caution\tabove the usual ceiling of 60 degrees C; the rule is not trusted there"
                )?;
            }
        }
        if self.chamber > 60.0 {
            writeln!(
                out,
                "caution\ta chamber above 60 degrees C is outside what the standard advises"
            )?;
        }
        writeln!(
            out,
            "source\tASTM F1980, read in secondary sources; Q10 = 2 is a convention"
        )?;
        writeln!(
            out,
            "not covered\tstraps, nose foam and fit age differently from filters; follow the manufacturer"
        )?;
        out.flush()?;
        Ok(())
    }
}
