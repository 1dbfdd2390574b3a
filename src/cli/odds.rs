//! `smirch odds`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use crate::analysis::{Effect, Odds, Progress, Target, Way, by_the_book, odds, sensitivity};
use crate::content::Content;
use crate::model::{CAVEAT, Setup};
use crate::report::{CAUTION, TRACER_CAVEAT, source_line, tornado_picture};

use super::{Failure, find_script, scenario, setup, unknown, watched, write_file, write_picture};

/// Show how often contamination gets where, over many repeats, by counting and by the exact routes side by side.
#[derive(Debug, Args)]
pub(super) struct Repeat {
    /// A scenario, by id or as a file
    scenario: String,
    /// Repeat a script, a file or the name of a built-in one
    #[arg(long, value_name = "FILE", conflicts_with = "sequence")]
    script: Option<String>,
    /// Repeat a trainee at this sequence; the scenario's own if neither is given
    #[arg(long, value_name = "ID")]
    sequence: Option<String>,
    /// The virtual trainee
    #[arg(long, value_name = "ID", default_value = "flawless")]
    trainee: String,
    /// How many repeats
    #[arg(long, default_value_t = 10_000, value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    repeats: u64,
    /// The seed of all luck
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Instead, turn every uncertain constant across its range and show what moves the target most
    #[arg(long)]
    sensitivity: bool,
    /// The target of the sensitivity analysis
    #[arg(long, value_name = "TARGET", default_value = "any-skin")]
    target: String,
    /// Write the sensitivity analysis as a picture, SVG or PNG by its ending
    #[arg(long, value_name = "OUT", requires = "sensitivity")]
    svg: Option<PathBuf>,
    /// Also put the mean dose to the mucosa through this dose-response curve, with its caveats
    #[arg(long, value_name = "CURVE")]
    dose_response: Option<String>,
    /// Write the results as JSON
    #[arg(long, value_name = "OUT")]
    json: Option<PathBuf>,
}

impl Repeat {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        let (content, id) = scenario(content, &self.scenario)?;
        let setup = setup(&content, &id)?;
        let library = &content.library;
        let script = match &self.script {
            Some(script) => Some(find_script(&content, script, &id)?),
            None => None,
        };
        let wanted = self.sequence.as_deref().unwrap_or(&setup.scenario.sequence);
        let sequence = library.sequence(wanted).ok_or_else(|| {
            Failure::Usage(unknown(
                "sequence",
                wanted,
                library.sequences.iter().map(|s| s.id.as_str()),
            ))
        })?;
        let trainee = library.trainee(&self.trainee).ok_or_else(|| {
            Failure::Usage(unknown(
                "trainee",
                &self.trainee,
                library.trainees.iter().map(|t| t.id.as_str()),
            ))
        })?;
        let way = match &script {
            Some(script) => Way::Script(&script.actions),
            None => Way::Rehearsed(sequence, trainee),
        };
        if self.sensitivity {
            let actions = match &script {
                Some(script) => script.actions.clone(),
                None => by_the_book(&setup, sequence).map_err(|r| Failure::Faults(r.to_string()))?,
            };
            return self.what_matters(&setup, &actions);
        }
        let curve = match &self.dose_response {
            None => None,
            Some(id) => Some(library.curve(id).ok_or_else(|| {
                Failure::Usage(unknown(
                    "dose-response curve",
                    id,
                    library.curves.iter().map(|c| c.id.as_str()),
                ))
            })?),
        };
        let targets: Vec<Target> = Target::ALL.iter().map(|(_, t)| *t).collect();
        let progress = Progress::default();
        let told = |done| format!("{done} of {} repeats", self.repeats);
        let result = watched(&progress, told, || {
            odds(&setup, &way, &targets, self.repeats, self.seed, &progress)
        })?
        .map_err(Failure::Faults)?;
        let way_word = match &script {
            Some(script) => format!("script: {}", script.label),
            None => format!("sequence: {}, trainee: {}", sequence.label, trainee.label),
        };
        if let Some(path) = &self.json {
            let value = json!({
                "format": 1, "scenario": id, "way": way_word, "seed": self.seed, "caution": CAUTION,
                "unit": setup.organism.unit, "seen_from": setup.organism.seen_from, "odds": result,
            });
            let mut text =
                serde_json::to_string_pretty(&value).map_err(|e| Failure::Faults(e.to_string()))?;
            text.push('\n');
            write_file(path, text.as_bytes())?;
        }
        let mut out = std::io::stdout().lock();
        writeln!(out, "{}, {}", setup.scenario.label, setup.organism.label)?;
        writeln!(out, "{way_word}")?;
        print(&mut out, &result, setup.organism.seen_from)?;
        let mucosa = result.targets.iter().find(|t| t.target == "mucosa");
        if let (Some(curve), Some(dose)) = (curve, mucosa.and_then(|t| t.expected)) {
            writeln!(
                out,
                "dose-response, if one count were one of its {}: {}, {}",
                curve.unit, curve.label, curve.endpoint
            )?;
            writeln!(
                out,
                "  at the mean dose of {dose:.4}: {:.3e}",
                curve.probability(dose)
            )?;
            writeln!(out, "  {}", source_line(library, &curve.basis))?;
            writeln!(out, "  {CAVEAT}")?;
        }
        if setup.organism.class == crate::model::Class::Tracer {
            writeln!(out, "{TRACER_CAVEAT}")?;
        }
        writeln!(out, "{CAUTION}")?;
        out.flush()?;
        Ok(())
    }
}

impl Repeat {
    fn what_matters(&self, setup: &Setup, actions: &[crate::drill::Action]) -> Result<(), Failure> {
        let Some(&(_, target)) = Target::ALL.iter().find(|(word, _)| *word == self.target) else {
            return Err(Failure::Usage(unknown(
                "target",
                &self.target,
                Target::ALL.iter().map(|(word, _)| *word),
            )));
        };
        // The mean is exact for each start, so a few hundred starts do what takes many more repeats to count.
        let starts = self.repeats.min(200);
        eprintln!("turning every uncertain constant, {starts} starts each");
        let effects: Vec<Effect> =
            sensitivity(setup, actions, target, starts, self.seed).map_err(Failure::Faults)?;
        if let Some(path) = &self.svg {
            let title = format!("What matters for {}: {}", target.label(), setup.scenario.label);
            write_picture(path, &tornado_picture(&title, &setup.organism.unit, &effects))?;
        }
        let mut out = std::io::stdout().lock();
        writeln!(
            out,
            "constant\tvalue\tlow\thigh\tmean at value\tmean at low\tmean at high\tbasis"
        )?;
        for e in &effects {
            writeln!(
                out,
                "{}\t{}\t{}\t{}\t{:.6}\t{:.6}\t{:.6}\t{}",
                e.constant, e.value, e.range.0, e.range.1, e.at_value, e.at_range.0, e.at_range.1, e.basis
            )?;
        }
        out.flush()?;
        Ok(())
    }
}

fn print(out: &mut impl Write, odds: &Odds, seen_from: u64) -> std::io::Result<()> {
    writeln!(
        out,
        "{} repeats, {:.1} % with a lapse",
        odds.repeats,
        100.0 * odds.lapses
    )?;
    writeln!(out)?;
    writeln!(
        out,
        "{:<22} {:>24} {:>24} {:>24} {:>22} {:>10} {:>8} {:>16}",
        "target",
        "any, counted %",
        "any, exact law %",
        format!("seen ({seen_from} or more) %"),
        "mean, counted",
        "expected",
        "median",
        "5 to 95 %"
    )?;
    let percent = |p: f64, i: crate::analysis::Interval| {
        format!(
            "{:.2} ({:.2} to {:.2})",
            100.0 * p,
            100.0 * i.low.max(0.0),
            100.0 * i.high.min(1.0)
        )
    };
    for t in &odds.targets {
        writeln!(
            out,
            "{:<22} {:>24} {:>24} {:>24} {:>22} {:>10} {:>8} {:>16}",
            t.target,
            percent(t.probability, t.interval),
            percent(t.law, t.law_interval),
            percent(t.seen, t.seen_interval),
            format!(
                "{:.3} ({:.3} to {:.3})",
                t.counts.mean,
                t.counts.mean_interval.low.max(0.0),
                t.counts.mean_interval.high
            ),
            t.expected
                .map_or_else(|| "none".to_owned(), |mean| format!("{mean:.3}")),
            t.counts.median,
            format!("{} to {}", t.counts.p05, t.counts.p95)
        )?;
    }
    writeln!(out)
}
