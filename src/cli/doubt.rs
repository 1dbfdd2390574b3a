//! `--doubt`: what every set of values of the ensemble gives, for one way or for two.

use std::io::Write;

use clap::Args;

use crate::analysis::{
    Asking, Doubt, Hang, Played, Progress, Ranged, Target, Versed, doubts, play_all, versed,
};
use crate::model::Setup;
use crate::report::{figure, range_of_hundred, source_line};

use super::people::label;
use super::{Failure, watched};

/// How doubt is played.
#[derive(Debug, Args)]
pub(super) struct Doubting {
    /// Also play every set of values that published counts leave, show how far their answers lie apart, and which
    /// constants that hangs on
    #[arg(long)]
    pub doubt: bool,
    /// With `--doubt`, repeats of each set of values
    #[arg(long, value_name = "N", requires = "doubt", default_value_t = 60, value_parser = clap::value_parser!(u64).range(10..=100_000))]
    pub doubt_repeats: u64,
}

impl Doubting {
    /// What every set gives for each of several ways.
    pub fn play(
        &self,
        asked: &[Asking<'_>],
        targets: &[Target],
        seed: u64,
    ) -> Result<Vec<Vec<Vec<Played>>>, Failure> {
        let progress = Progress::default();
        let sets = |asking: &Asking<'_>| {
            asking
                .setup
                .library
                .ensemble
                .as_ref()
                .map_or(0, |e| e.members.len())
        };
        let all: usize = asked.iter().map(sets).sum();
        let told = |done| format!("{done} of {all} sets of values");
        watched(&progress, told, || {
            asked
                .iter()
                .map(|&asking| play_all(asking, targets, self.doubt_repeats, seed, &progress))
                .collect::<Result<Vec<_>, String>>()
        })?
        .map_err(Failure::Faults)
    }

    /// What all sets give for one way, in numbers.
    pub fn of(&self, asking: Asking<'_>, targets: &[Target], seed: u64) -> Result<Vec<Doubt>, Failure> {
        let played = self.play(&[asking], targets, seed)?;
        doubts(asking, targets, &played[0]).map_err(Failure::Faults)
    }

    /// How the first way compares with another over all sets.
    pub fn between(
        &self,
        (first, second): (Asking<'_>, Asking<'_>),
        targets: &[Target],
        seed: u64,
    ) -> Result<Vec<Versed>, Failure> {
        let played = self.play(&[first, second], targets, seed)?;
        versed(first, targets, &played[0], &played[1]).map_err(Failure::Faults)
    }
}

/// How many sets of values there are.
fn sets(setup: &Setup) -> String {
    let sets = setup.library.ensemble.as_ref().map_or(0, |e| e.members.len());
    format!("{sets} sets of values")
}

/// Prints how unsure the answers for one way are.
pub(super) fn print(out: &mut impl Write, setup: &Setup, all: &[Doubt]) -> std::io::Result<()> {
    writeln!(
        out,
        "\nthe numbers above are for the stated values alone; how unsure the model is: by {}, the middle nine tenths",
        sets(setup)
    )?;
    for one in all {
        writeln!(out, "\n{} [{}]", label(one.target), one.target)?;
        writeln!(
            out,
            "  seen: {}",
            range_of_hundred(one.seen.range, one.seen.median)
        )?;
        writeln!(out, "  any: {}", range_of_hundred(one.any.range, one.any.median))?;
        if let Some(Ranged { median, range }) = one.mean {
            let (low, high) = (figure(range.low), figure(range.high));
            writeln!(out, "  mean: {low} to {high}, median {}", figure(median))?;
        }
        hangs(out, setup, &one.hangs)?;
    }
    Ok(())
}

fn hangs(out: &mut impl Write, setup: &Setup, hangs: &[Hang]) -> std::io::Result<()> {
    if hangs.is_empty() {
        return writeln!(out, "  hangs on: no constant by itself");
    }
    for hang in hangs {
        let goes = if hang.raises { "more" } else { "less" };
        let basis = hang.basis.as_deref().and_then(|id| setup.library.basis(id));
        let what = basis.map_or(String::new(), |basis| format!(" ({})", basis.what));
        writeln!(
            out,
            "  hangs on: {}{what}: {:.0} % of the doubt goes with it; {goes} there the more of it",
            hang.constant,
            100.0 * hang.share
        )?;
        if let Some(basis) = &hang.basis {
            writeln!(out, "    {}", source_line(&setup.library, basis))?;
        }
    }
    Ok(())
}

/// Prints how sure it is which of two ways leaves less.
pub(super) fn print_between(
    out: &mut impl Write,
    (first, second): (&str, &str),
    setup: &Setup,
    all: &[Versed],
) -> std::io::Result<()> {
    writeln!(
        out,
        "\nthe verdicts above are for the stated values alone; how sure the model is, by {}: which leaves less on average",
        sets(setup)
    )?;
    for one in all {
        let [less, same, more] = one.shares.map(|share| 100.0 * share);
        writeln!(out, "\n{} [{}]", label(one.target), one.target)?;
        writeln!(
            out,
            "  of 100 sets of values: {first} in {less:.0}, much the same in {same:.0}, {second} in {more:.0}: {}",
            sureness(setup, one.shares, (first, second))
        )?;
        if one.worth > 0.0 {
            writeln!(
                out,
                "  knowing every constant would be worth {} {} on average",
                figure(one.worth),
                setup.organism.unit
            )?;
            for (constant, worth) in &one.worths {
                writeln!(out, "    knowing {constant}: {}", figure(*worth))?;
            }
        }
    }
    Ok(())
}

/// How sure it is, in words: it takes most sets to say anything.
fn sureness(setup: &Setup, [less, same, more]: [f64; 3], (first, second): (&str, &str)) -> String {
    let unsure = || "this model cannot tell".to_owned();
    let Some(told) = &setup.library.telling else {
        return unsure();
    };
    let (agree, way) = if less > more {
        (less, first)
    } else {
        (more, second)
    };
    match agree {
        all if all >= told.nearly_all => format!("{way} leaves less in nearly all"),
        most if most >= told.most => format!("{way} leaves less in most"),
        _ if same >= told.most => "much the same in most".to_owned(),
        _ => unsure(),
    }
}
