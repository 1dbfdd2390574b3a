//! How unsure the model is: what every set of values of the ensemble gives, for one way or for several.

use std::collections::BTreeSet;
use std::io::Write;

use clap::Args;

use crate::analysis::{
    Alone, Asking, Doubt, Doubted, Hang, Interval, Progress, Target, Versed, doubt_work, doubted, sets_of,
    usual_doubt_repeats,
};
use crate::model::Setup;
use crate::report::{
    ALONE_HEADING, alone_words, figure, gain_words, hang_words, hangs_of_words, many, most_alone,
    range_of_figures, ranged_people, sets_words, source_line,
};

use super::people::label;
use super::{Failure, watched};

/// How doubt is played and told.
#[derive(Debug, Args)]
pub(super) struct Doubting {
    /// Also show which constants the answers hang on; of a comparison, what knowing each would be worth
    #[arg(long, conflicts_with = "stated")]
    pub doubt: bool,
    /// Repeats of each set of values, of which whoever never lapses plays three fifths [default: 20, fewer if few repeats
    /// are asked for]
    #[arg(long, value_name = "N", conflicts_with = "stated", value_parser = clap::value_parser!(u64).range(10..=100_000))]
    pub doubt_repeats: Option<u64>,
    /// Play the stated values alone: numbers without the model's range
    #[arg(long)]
    pub stated: bool,
}

impl Doubting {
    /// What every set gives for each of several ways; none where that was not asked, or the content has no ensemble.
    pub fn of(
        &self,
        asked: &[Asking<'_>],
        targets: &[Target],
        repeats: u64,
        seed: u64,
    ) -> Result<Option<Doubted>, Failure> {
        if self.stated {
            return Ok(None);
        }
        let repeats = self.doubt_repeats.unwrap_or_else(|| usual_doubt_repeats(repeats));
        let sets = asked.iter().map(|asking| sets_of(asking.setup)).sum();
        let people: BTreeSet<&str> = asked.iter().map(|asking| asking.trainee).collect();
        let all = many(doubt_work(sets, people.len(), repeats), "repeat");
        let progress = Progress::default();
        let told = |done| format!("{done} of {all} with other versions of the model");
        watched(&progress, told, || {
            doubted(asked, targets, repeats, seed, &progress)
        })?
        .map_err(Failure::Faults)
    }

    /// What ranges are of, or why there are none.
    pub fn heading(&self, setup: &Setup) -> String {
        match sets_of(setup) {
            _ if self.stated => "the stated values alone: how unsure they are is not in these numbers".to_owned(),
            0 => "this content has no ensemble, so how unsure the model is is not in these numbers; `smirch calibrate --out ensemble.ron` makes one".to_owned(),
            sets => sets_words(setup, sets),
        }
    }
}

/// What stands above the numbers of the stated values, which need not lie within the range of the versions that fit what was
/// counted.
pub(super) fn stated_words(
    setup: &Setup,
    doubt: &Doubt,
    (seen, mean): (f64, Option<f64>),
    repeats: u64,
) -> &'static str {
    let outside = |range: Interval, value: f64, same: &dyn Fn(f64, f64) -> bool| {
        let nearest = value.clamp(range.low, range.high);
        nearest != value && !same(nearest, value)
    };
    let told = setup.library.telling.as_ref();
    let same_share = |a: f64, b: f64| told.is_some_and(|t| t.same_share(a, b));
    let same_amount = |a: f64, b: f64| told.is_some_and(|t| t.same_amount(a, b));
    let enough = told.is_none_or(|told| repeats >= told.too_few);
    let people = enough && outside(doubt.seen.range, seen, &same_share);
    let amount = doubt.mean.zip(mean).filter(|_| enough);
    let amount = amount.is_some_and(|(told, mean)| outside(told.range, mean, &same_amount));
    match (people, amount) {
        (false, false) => "with the stated values, and counting noise:",
        (true, false) => {
            "with the stated values, whose share of people lies outside that range, and counting noise:"
        }
        (false, true) => "with the stated values, whose mean lies outside that range, and counting noise:",
        (true, true) => "with the stated values, which lie outside these ranges, and counting noise:",
    }
}

/// Prints how far sets of values lie apart for one target.
pub(super) fn print(out: &mut impl Write, doubt: &Doubt, indent: &str) -> std::io::Result<()> {
    writeln!(out, "{indent}seen: {}", ranged_people(doubt.seen))?;
    writeln!(out, "{indent}any: {}", ranged_people(doubt.any))?;
    if let Some(mean) = doubt.mean {
        let range = range_of_figures(mean.range);
        writeln!(out, "{indent}mean: {range}, median {}", figure(mean.median))?;
    }
    Ok(())
}

/// Prints the constants on which one way's answers hang.
pub(super) fn print_hangs(out: &mut impl Write, setup: &Setup, all: &[Doubt]) -> std::io::Result<()> {
    writeln!(
        out,
        "\nwhat the answers hang on, by how much of how far versions of the model differ goes with each:"
    )?;
    for one in all {
        writeln!(
            out,
            "\n{} [{}]: {}",
            label(one.target),
            one.target,
            hangs_of_words(one.hangs_of)
        )?;
        hangs(out, setup, &one.hangs)?;
    }
    Ok(())
}

/// Prints, for each target, the constants that move it most by themselves, all others in their middle.
pub(super) fn print_alone(
    out: &mut impl Write,
    setup: &Setup,
    targets: &[Target],
    all: &[Alone],
) -> std::io::Result<()> {
    writeln!(out, "\n{ALONE_HEADING}:")?;
    for (t, target) in targets.iter().enumerate() {
        writeln!(out, "\n{} [{}]", target.label(), target.word())?;
        let most = most_alone(&setup.library, all, t);
        if most.is_empty() {
            writeln!(out, "  nothing by itself by more than is told apart")?;
        }
        for one in most {
            writeln!(out, "  {}", alone_words(one, t))?;
            writeln!(out, "    {}", named(setup, &one.constant, one.basis.as_deref()))?;
        }
    }
    Ok(())
}

fn hangs(out: &mut impl Write, setup: &Setup, hangs: &[Hang]) -> std::io::Result<()> {
    if hangs.is_empty() {
        return writeln!(out, "  on no constant by itself");
    }
    for hang in hangs {
        writeln!(out, "  {}", hang_words(hang))?;
        writeln!(out, "    {}", named(setup, &hang.constant, hang.basis.as_deref()))?;
    }
    Ok(())
}

/// A constant by its name in the content, with where it comes from.
fn named(setup: &Setup, constant: &str, basis: Option<&str>) -> String {
    match basis {
        Some(basis) => format!("{constant}: {}", source_line(&setup.library, basis)),
        None => format!("{constant}: fitted to published counts"),
    }
}

/// Prints what knowing constants would be worth for the choice between two ways.
pub(super) fn print_worth(
    out: &mut impl Write,
    (first, second): (&str, &str),
    setup: &Setup,
    all: &[Versed],
) -> std::io::Result<()> {
    writeln!(
        out,
        "\nwhat it would be worth to know, for whoever takes {first} or {second}, whichever brings enough to be seen to fewer people:"
    )?;
    for one in all {
        writeln!(out, "\n{} [{}]", label(one.target), one.target)?;
        match one.worth.is_more_than_chance() {
            true => writeln!(out, "  every constant: {}", gain_words(one.worth))?,
            false => writeln!(
                out,
                "  nothing that this many repeats of each version can tell from chance"
            )?,
        }
        for worth in &one.worths {
            writeln!(out, "  {}: {}", worth.words, gain_words(worth.worth))?;
            writeln!(
                out,
                "    {}",
                named(setup, &worth.constant, worth.basis.as_deref())
            )?;
        }
    }
    Ok(())
}
