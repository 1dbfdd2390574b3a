//! `smirch odds --ceiling`: from which patch anything gets where, with a great deal on that patch alone.

use std::io::Write;

use serde_json::{Value, json};

use crate::analysis::{CEILING_LOAD, Ceiling, Haven, Progress, Way, ceiling, havens};
use crate::model::{Setup, Trainee};
use crate::report::{CAUTION, many};

use super::{Failure, watched};

/// Repeats, unless others are asked for: chances are exact in each, so few are enough.
pub(super) const REPEATS: u64 = 400;

/// Ceilings of one sort of people.
pub(super) struct Ceilings<'a> {
    trainee: &'a Trainee,
    rows: Vec<Ceiling>,
}

/// Works them out, for each of these people in their way.
pub(super) fn ceilings<'a>(
    setup: &Setup,
    ways: &[(&'a Trainee, Way<'_>)],
    repeats: u64,
    seed: u64,
) -> Result<Vec<Ceilings<'a>>, Failure> {
    let progress = Progress::default();
    let all = repeats * ways.len() as u64;
    let told = |done| format!("{done} of {}", many(all, "repeat"));
    watched(&progress, told, || {
        ways.iter()
            .map(|(trainee, way)| {
                let rows = ceiling(setup, way, &havens(setup), CEILING_LOAD, repeats, seed, &progress)?;
                Ok(Ceilings { trainee, rows })
            })
            .collect::<Result<Vec<_>, String>>()
    })?
    .map_err(Failure::Faults)
}

/// As JSON.
pub(super) fn as_json(setup: &Setup, way: &str, repeats: u64, seed: u64, all: &[Ceilings<'_>]) -> Value {
    let words: Vec<&str> = havens(setup).into_iter().map(Haven::word).collect();
    let people: Vec<Value> = all
        .iter()
        .map(|c| json!({ "trainee": c.trainee.id, "label": c.trainee.label, "ceilings": c.rows }))
        .collect();
    json!({
        "format": 2, "scenario": setup.scenario.id, "way": way, "seed": seed, "repeats": repeats, "caution": CAUTION,
        "load": CEILING_LOAD, "havens": words, "people": people,
    })
}

/// As a table of people of 100.
pub(super) fn print(
    out: &mut impl Write,
    setup: &Setup,
    repeats: u64,
    all: &[Ceilings<'_>],
) -> std::io::Result<()> {
    writeln!(
        out,
        "{CEILING_LOAD:.0} {} on one patch at a time, nothing elsewhere: in how many of 100 people at least one gets\n\
         there at any moment, whether or not it is washed off later. It tells which paths of the model are open and\n\
         which are shut, not how likely they are in life: the chances and areas of its contacts are assumptions.\n\
         `none`: in none of {}.",
        setup.organism.unit,
        many(repeats, "repeat")
    )?;
    let havens = havens(setup);
    let widths: Vec<usize> = havens.iter().map(|h| h.label().len().max(5)).collect();
    for c in all {
        let wide = c
            .rows
            .iter()
            .map(|row| row.label.chars().count())
            .max()
            .unwrap_or(0);
        for wet in [false, true] {
            write!(
                out,
                "\n{}, {}\n{:wide$}",
                c.trainee.label,
                if wet { "patch wet throughout" } else { "all dry" },
                "from"
            )?;
            for (haven, width) in havens.iter().zip(&widths) {
                write!(out, "  {:>width$}", haven.label())?;
            }
            writeln!(out)?;
            for row in c.rows.iter().filter(|row| row.wet == wet) {
                write!(out, "{:wide$}", row.label)?;
                for (reach, width) in row.reached.iter().zip(&widths) {
                    write!(out, "  {:>width$}", share(reach.share))?;
                }
                writeln!(out)?;
            }
        }
    }
    Ok(())
}

/// People of 100, with one figure more where they are few.
fn share(share: f64) -> String {
    let of_hundred = 100.0 * share;
    match of_hundred {
        0.0 => "none".to_owned(),
        x if x < 0.1 => "<0.1".to_owned(),
        x if x < 9.95 => format!("{x:.1}"),
        x => format!("{x:.0}"),
    }
}
