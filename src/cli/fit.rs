//! `smirch fit`.

use std::io::{IsTerminal, Write};

use clap::Args;

use crate::analysis::{Outcome, outcomes, parameters, search};
use crate::content::Content;
use crate::report::CAUTION;

use super::Failure;

/// Show what was fitted to tracer studies and how well their counts are met; look for better values on request.
#[derive(Debug, Args)]
pub(super) struct Fit {
    /// Repeats of each arm of each study
    #[arg(long, default_value_t = 20_000, value_parser = clap::value_parser!(u64).range(100..=1_000_000))]
    repeats: u64,
    /// The number that all chance is drawn from: the same number gives the same result
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Look for better values, trying so many sets, and print the best
    #[arg(long, value_name = "N")]
    search: Option<usize>,
}

impl Fit {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        let (library, parameters) = match self.search {
            None => ((*content.library).clone(), parameters(&content.library)),
            Some(sets) => {
                let watched = std::io::stderr().is_terminal();
                search(&content.library, sets, self.repeats, self.seed, |done, loss| {
                    if watched {
                        eprint!("\r{done} of {sets} sets tried, loss {loss:.3} ");
                    }
                })
                .map_err(Failure::Faults)?
            }
        };
        let outcomes = outcomes(&library, self.repeats, self.seed).map_err(Failure::Faults)?;
        let mut out = std::io::stdout().lock();
        writeln!(
            out,
            "{:<40} {:>12} {:>12}   bounds",
            "parameter", "value", "before"
        )?;
        for p in &parameters {
            let (low, high) = p.bounds;
            writeln!(
                out,
                "{:<40} {:>12.4} {:>12.4}   {low} to {high}",
                p.name, p.value, p.prior
            )?;
        }
        writeln!(out)?;
        writeln!(
            out,
            "{:<44} {:>9} {:>16} {:>7} {:>16}",
            "counted", "published", "interval", "ours", "sampling"
        )?;
        for o in &outcomes {
            writeln!(out, "{}", row(o))?;
        }
        writeln!(out)?;
        if self.search.is_some() {
            writeln!(
                out,
                "to paste into assets/fitted.ron, trainees.ron and scenarios/study-*.ron:"
            )?;
            for t in &library.tunings {
                let (low, high) = t.bounds;
                writeln!(
                    out,
                    "    {}: odds: {:.3}, bounds: ({low:?}, {high:?})",
                    t.id, t.odds
                )?;
            }
            for t in library
                .trainees
                .iter()
                .filter(|t| !t.poor_weights.is_empty() || t.poor > 0.0)
            {
                let weights: Vec<String> = t
                    .poor_weights
                    .iter()
                    .map(|(id, weight)| format!("(technique: \"{id}\", weight: {weight:.3})"))
                    .collect();
                writeln!(
                    out,
                    "    {}: poor: {:.3}, poor_weights: [{}], hurry: {:.3}",
                    t.id,
                    t.poor,
                    weights.join(", "),
                    t.hurry
                )?;
            }
            writeln!(out)?;
        }
        writeln!(
            out,
            "fitted, so no prediction; tracer tests technique and is no risk of infection"
        )?;
        writeln!(out, "{CAUTION}")?;
        out.flush()?;
        Ok(())
    }
}

fn row(o: &Outcome) -> String {
    let percent = |p: f64| format!("{:.1}", 100.0 * p);
    format!(
        "{:<44} {:>9} {:>16} {:>7} {:>16} {}{}",
        o.what,
        o.published.map_or("first".to_owned(), percent),
        match o.published {
            Some(_) => format!("{} to {}", percent(o.within.low), percent(o.within.high)),
            // That one site is ahead of the next has no interval: it holds or it does not.
            None => "ahead".to_owned(),
        },
        percent(o.ours),
        format!("{} to {}", percent(o.interval.low), percent(o.interval.high)),
        match (o.published.is_some(), o.is_inside()) {
            (true, true) => "inside",
            (true, false) => "OUTSIDE",
            (false, true) => "holds",
            (false, false) => "DOES NOT HOLD",
        },
        if o.fitted { "" } else { ", not fitted" }
    )
}
