//! An ensemble as a content file, and ranges over its members in words.

use std::fmt::Write;

use crate::analysis::Interval;
use crate::model::Ensemble;

/// An ensemble as the content file that it is read from.
pub fn ensemble_file(ensemble: &Ensemble) -> String {
    let words = |all: &[String]| {
        all.iter()
            .map(|w| format!("        {w:?},\n"))
            .collect::<String>()
    };
    let numbers = |all: &[f64]| {
        let each: Vec<String> = all.iter().map(|n| format!("{n}")).collect();
        each.join(", ")
    };
    let mut text = String::from(
        "// Sets of values for all that is unsure, as published counts leave them; written by `smirch calibrate --out`, from the\n\
         // method of doubt.ron. Each has standard scores for the constants that were weighed: 0 is the stated value, -1.645 and\n\
         // 1.645 are the ends of the stated range; what the counts say nothing of is drawn by its number. `shares` and `errors`\n\
         // are what it gives for the counts, and `predicted` is each count from the other studies alone.\n(\n    format: 1,\n",
    );
    let _ = writeln!(text, "    constants: [\n{}    ],", words(&ensemble.constants));
    let _ = writeln!(text, "    counts: [\n{}    ],", words(&ensemble.counts));
    let _ = writeln!(text, "    steps: [{}],", numbers(&ensemble.steps));
    let _ = writeln!(text, "    taken: {},", ensemble.taken);
    text.push_str("    members: [\n");
    for m in &ensemble.members {
        let _ = writeln!(
            text,
            "        (number: {}, scores: [{}], shares: [{}], errors: [{}]),",
            m.number,
            numbers(&m.scores),
            numbers(&m.shares),
            numbers(&m.errors)
        );
    }
    text.push_str("    ],\n    predicted: [\n");
    for p in &ensemble.predicted {
        let (low, high) = p.range;
        let _ = writeln!(
            text,
            "        (count: {:?}, median: {}, low: {low}, high: {high}),",
            p.count, p.median
        );
    }
    let _ = writeln!(text, "    ],\n    basis: {:?},\n)", ensemble.basis);
    text
}

/// A median with its range over members, both shares, in per cent.
pub fn percent_range(median: f64, range: Interval) -> String {
    format!(
        "{:.1} ({:.1} to {:.1})",
        100.0 * median,
        100.0 * range.low,
        100.0 * range.high
    )
}

/// A range of shares of people as people count them, such as `of 100 people 20 to 60, median 34`.
pub fn range_of_hundred(range: Interval, median: f64) -> String {
    let whole = |share: f64| (100.0 * share.clamp(0.0, 1.0)).round();
    let (low, high) = (whole(range.low), whole(range.high));
    if low == high {
        return format!("of 100 people {low:.0}");
    }
    format!("of 100 people {low:.0} to {high:.0}, median {:.0}", whole(median))
}
