//! `smirch compare`.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use serde_json::json;

use crate::analysis::{
    Comparison, Contender, Interval, MOST_REPEATS, Progress, Target, TargetComparison, Way, by_the_book,
    compare,
};
use crate::content::Content;
use crate::drill::Action;
use crate::model::{Duel, DuelWay, Sequence, Setup, Trainee};
use crate::report::{
    CAUTION, Chance, MOST_SERIES, Row, TRACER_CAVEAT, interval_picture, of_hundred, percent,
};

use super::{Failure, find_script, scenario, setup, unknown, watched, write_file, write_picture};

/// Show which of two or more ways brings less where, each repeat with the same start and the same luck for all.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// A scenario, by id or as a file
    #[arg(required_unless_present = "preset", conflicts_with = "preset")]
    scenario: Option<String>,
    /// Sequences, names of scripts or script files; two or more. SCENARIO/NAME does it in another scenario, as with
    /// other kit
    #[arg(required_unless_present = "preset", value_name = "WAY")]
    ways: Vec<String>,
    /// A pair made ready for a class, with what is known of it; `smirch list duels` shows them
    #[arg(long, value_name = "ID")]
    preset: Option<String>,
    /// How many repeats
    #[arg(long, default_value_t = 10_000)]
    repeats: u64,
    /// The virtual trainee who follows the sequences; without one they are followed to the letter
    #[arg(long, value_name = "ID")]
    trainee: Option<String>,
    /// The seed of all luck
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Show only this target
    #[arg(long, value_name = "TARGET")]
    target: Option<String>,
    /// Write the results as JSON
    #[arg(long, value_name = "OUT")]
    json: Option<PathBuf>,
    /// Write the results as CSV, one line per target and way
    #[arg(long, value_name = "OUT")]
    csv: Option<PathBuf>,
    /// Write the chances as a picture, SVG or PNG by its ending
    #[arg(long, value_name = "OUT")]
    svg: Option<PathBuf>,
}

/// A way that was found.
struct Found<'a> {
    /// Its name for people.
    label: String,
    setup: Arc<Setup>,
    done: Deed<'a>,
}

/// What is done.
enum Deed<'a> {
    Actions(Vec<Action>),
    Attempts(&'a Sequence, &'a Trainee),
}

impl Compare {
    pub(super) fn run(mut self, content: &Content) -> Result<(), Failure> {
        let duel = self.preset(content)?;
        self.check_numbers()?;
        let targets = self.targets()?;
        let (content, id) = scenario(content, self.scenario.as_deref().unwrap_or_default())?;
        let setup = setup(&content, &id)?;
        let trainee = self.trainee(&content)?;
        let mut found = self
            .ways
            .iter()
            .map(|way| find(&content, &setup, way, trainee))
            .collect::<Result<Vec<Found<'_>>, Failure>>()?;
        for (found, side) in found.iter_mut().zip(duel.iter().flat_map(|d| &d.sides)) {
            found.label.clone_from(&side.label);
        }
        if let Some(other) = found.iter().find(|f| f.setup.organism.id != setup.organism.id) {
            return Err(Failure::Usage(format!(
                "`{}` has {}, but `{id}` has {}: their counts cannot be compared\n   hint: name a scenario with the same organism",
                other.setup.scenario.id, other.setup.organism.label, setup.organism.label
            )));
        }
        let contenders: Vec<Contender<'_>> = found.iter().map(contender).collect();
        let progress = Progress::default();
        let told = |done| format!("{done} of {} repeats", self.repeats);
        let result = watched(&progress, told, || {
            compare(&contenders, &targets, self.repeats, self.seed, &progress)
        })?
        .map_err(Failure::Faults)?;

        if let Some(path) = &self.json {
            let value = json!({
                "format": 1, "scenario": id, "ways": self.ways, "trainee": self.trainee, "seed": self.seed,
                "caution": CAUTION, "unit": setup.organism.unit, "seen_from": setup.organism.seen_from,
                "comparison": result,
            });
            let mut text =
                serde_json::to_string_pretty(&value).map_err(|e| Failure::Faults(e.to_string()))?;
            text.push('\n');
            write_file(path, text.as_bytes())?;
        }
        if let Some(path) = &self.csv {
            write_file(path, &table(&result).map_err(|e| Failure::Faults(e.to_string()))?)?;
        }
        if let Some(path) = &self.svg {
            write_picture(path, &picture(&setup, &result))?;
        }
        let mut out = std::io::stdout().lock();
        writeln!(out, "{}, {}", setup.scenario.label, setup.organism.label)?;
        writeln!(
            out,
            "{} repeats, each with the same start and the same luck for all",
            result.repeats
        )?;
        for target in &result.targets {
            print(&mut out, &result, target, setup.organism.seen_from)?;
        }
        writeln!(out)?;
        if let Some(duel) = duel {
            writeln!(out, "known: {}", duel.known)?;
            writeln!(out, "open:  {}", duel.open)?;
            for source in duel.sources.iter().filter_map(|id| setup.library.source(id)) {
                writeln!(out, "  {}", source.cite)?;
            }
            writeln!(out)?;
        }
        if setup.organism.class == crate::model::Class::Tracer {
            writeln!(out, "{TRACER_CAVEAT}")?;
        }
        writeln!(out, "{CAUTION}")?;
        out.flush()?;
        Ok(())
    }

    /// Takes scenario and ways from the preset that was asked for, if one was.
    fn preset<'a>(&mut self, content: &'a Content) -> Result<Option<&'a Duel>, Failure> {
        let Some(id) = &self.preset else { return Ok(None) };
        let duels = &content.library.duels;
        let duel = content
            .library
            .duel(id)
            .ok_or_else(|| Failure::Usage(unknown("preset", id, duels.iter().map(|d| d.id.as_str()))))?;
        self.scenario = Some(duel.scenario.clone());
        self.ways = duel
            .sides
            .iter()
            .map(|side| {
                let (DuelWay::Sequence(name) | DuelWay::Script(name)) = &side.way;
                match &side.scenario {
                    Some(scenario) => format!("{scenario}/{name}"),
                    None => name.clone(),
                }
            })
            .collect();
        eprintln!("{}: {}", duel.label, duel.question);
        Ok(Some(duel))
    }

    fn check_numbers(&self) -> Result<(), Failure> {
        let wrong = |message: String| Err(Failure::Usage(message));
        if self.ways.len() < 2 {
            return wrong(format!(
                "there is only `{}` to compare\n   hint: name two sequences or scripts; `smirch list` shows them",
                self.ways.join(" ")
            ));
        }
        for (n, way) in self.ways.iter().enumerate() {
            if self.ways[..n].contains(way) {
                return wrong(format!(
                    "`{way}` is named twice\n   hint: a way compared with itself is equal in every repeat; name another"
                ));
            }
        }
        if self.repeats == 0 {
            return wrong("no repeats were asked for\n   hint: leave `--repeats` out for 10000".to_owned());
        }
        if self.repeats > MOST_REPEATS {
            return wrong(format!(
                "{} repeats are too many\n   hint: at most {MOST_REPEATS}, since every repeat is kept in memory",
                self.repeats
            ));
        }
        if self.svg.is_some() && self.ways.len() > MOST_SERIES {
            return wrong(format!(
                "{} ways cannot be told apart in one picture\n   hint: at most {MOST_SERIES}; or leave `--svg` out",
                self.ways.len()
            ));
        }
        Ok(())
    }

    fn targets(&self) -> Result<Vec<Target>, Failure> {
        let Some(wanted) = &self.target else {
            return Ok(Target::ALL.iter().map(|(_, t)| *t).collect());
        };
        match Target::ALL.iter().find(|(word, _)| word == wanted) {
            Some(&(_, target)) => Ok(vec![target]),
            None => Err(Failure::Usage(unknown(
                "target",
                wanted,
                Target::ALL.iter().map(|(word, _)| *word),
            ))),
        }
    }

    fn trainee<'a>(&self, content: &'a Content) -> Result<Option<&'a Trainee>, Failure> {
        let Some(wanted) = &self.trainee else {
            return Ok(None);
        };
        let trainees = &content.library.trainees;
        content
            .library
            .trainee(wanted)
            .map(Some)
            .ok_or_else(|| Failure::Usage(unknown("trainee", wanted, trainees.iter().map(|t| t.id.as_str()))))
    }
}

/// A sequence, or else a script, in the scenario it names or else in this one.
fn find<'a>(
    content: &'a Content,
    setup: &Arc<Setup>,
    wanted: &str,
    trainee: Option<&'a Trainee>,
) -> Result<Found<'a>, Failure> {
    let library = &content.library;
    if let Some((elsewhere, way)) = wanted.split_once('/')
        && !Path::new(wanted).exists()
        && elsewhere != setup.scenario.id
        && library.scenario(elsewhere).is_some()
    {
        let elsewhere = super::setup(content, elsewhere)?;
        let mut found = find(content, &elsewhere, way, trainee)?;
        found.label = format!("{} ({})", found.label, elsewhere.scenario.label);
        return Ok(found);
    }
    let scenario = &setup.scenario.id;
    let found = |label: String, done| Found {
        label,
        setup: setup.clone(),
        done,
    };
    let Some(sequence) = library.sequence(wanted) else {
        let script_like = Path::new(wanted).exists() || wanted.ends_with(".ron");
        let name = format!("{scenario}/{wanted}");
        if !script_like && !content.scripts.contains_key(wanted) && !content.scripts.contains_key(&name) {
            // Scripts of this scenario are known by their short names, so those count for what is nearest.
            let short = content
                .scripts
                .keys()
                .map(|key| key.strip_prefix(&format!("{scenario}/")).unwrap_or(key));
            let known: Vec<&str> = library
                .sequences
                .iter()
                .map(|s| s.id.as_str())
                .chain(short)
                .collect();
            return Err(Failure::Usage(unknown(
                "sequence or script",
                wanted,
                known.iter().copied(),
            )));
        }
        let script = find_script(content, wanted, scenario)?;
        return Ok(found(script.label, Deed::Actions(script.actions)));
    };
    // A trainee leaves out what cannot be done, so whether the kit serves at all is asked without one.
    let actions = by_the_book(setup, sequence).map_err(|refusal| {
        let offered: Vec<&str> = [&setup.scenario.sequence]
            .into_iter()
            .chain(&setup.scenario.also)
            .map(String::as_str)
            .collect();
        Failure::Faults(format!(
            "sequence `{wanted}`: step {}\n   hint: `{scenario}` is made for {}",
            refusal.reason,
            offered.join(", ")
        ))
    })?;
    Ok(match trainee {
        None => found(sequence.label.clone(), Deed::Actions(actions)),
        Some(trainee) => {
            let label = format!("{}, {}", sequence.label, trainee.label);
            found(label, Deed::Attempts(sequence, trainee))
        }
    })
}

fn contender<'a>(found: &'a Found<'_>) -> Contender<'a> {
    Contender {
        label: found.label.clone(),
        setup: &found.setup,
        way: match &found.done {
            Deed::Actions(actions) => Way::Script(actions),
            Deed::Attempts(sequence, trainee) => Way::Rehearsed(sequence, trainee),
        },
    }
}

fn label(word: &str) -> &str {
    let target = Target::ALL.iter().find(|(w, _)| *w == word);
    target.map_or(word, |(_, target)| target.label())
}

fn picture(setup: &Setup, result: &Comparison) -> crate::report::Drawing {
    let rows: Vec<Row> = result
        .targets
        .iter()
        .map(|t| Row {
            label: label(t.target).to_owned(),
            chances: result
                .contenders
                .iter()
                .zip(&t.contenders)
                .map(|(name, brought)| Chance {
                    name: name.clone(),
                    probability: brought.probability,
                    interval: brought.interval,
                })
                .collect(),
        })
        .collect();
    let beneath = format!(
        "{}, {}; {} repeats with the same luck for all",
        setup.scenario.label, setup.organism.label, result.repeats
    );
    interval_picture("How often anything gets there", &beneath, &rows)
}

fn between(value: f64, interval: Interval) -> String {
    format!("{value:.3} ({:.3} to {:.3})", interval.low, interval.high)
}

/// A mean by the exact expectation, if the target has one.
fn exactly(mean: Option<f64>) -> String {
    mean.map_or_else(|| "no exact mean".to_owned(), |mean| format!("exactly {mean:.3}"))
}

fn print(
    out: &mut impl Write,
    result: &Comparison,
    target: &TargetComparison,
    seen_from: u64,
) -> std::io::Result<()> {
    writeln!(out, "\n{} [{}]", label(target.target), target.target)?;
    for (name, b) in result.contenders.iter().zip(&target.contenders) {
        writeln!(out, "  {name}")?;
        writeln!(
            out,
            "    any: {}, {}; {seen_from} or more on a site: {}",
            of_hundred(b.probability),
            percent(b.probability, b.interval),
            percent(b.seen, b.seen_interval)
        )?;
        writeln!(
            out,
            "    mean {}, {}; median {:.1}, 5 to 95 % {:.1} to {:.1}",
            between(b.counts.mean, b.counts.mean_interval),
            exactly(b.expected),
            b.counts.median,
            b.counts.p05,
            b.counts.p95
        )?;
    }
    for pair in &target.pairs {
        writeln!(out, "  {}", pair.sentence)?;
        writeln!(
            out,
            "    first fewer {}, as many {}, more {}",
            percent(pair.fewer.share, pair.fewer.interval),
            percent(pair.equal.share, pair.equal.interval),
            percent(pair.more.share, pair.more.interval)
        )?;
        writeln!(
            out,
            "    first less second: mean {}, {}; chance {} points",
            between(pair.means.difference, pair.means.interval),
            exactly(pair.expected.map(|d| d.difference)),
            between(
                100.0 * pair.chances.difference,
                Interval {
                    low: 100.0 * pair.chances.interval.low,
                    high: 100.0 * pair.chances.interval.high,
                }
            )
        )?;
    }
    Ok(())
}

fn table(result: &Comparison) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record([
        "format",
        "target",
        "way",
        "repeats",
        "probability",
        "probability_low",
        "probability_high",
        "seen",
        "seen_low",
        "seen_high",
        "mean",
        "mean_low",
        "mean_high",
        "expected",
        "median",
        "p05",
        "p95",
    ])?;
    for target in &result.targets {
        for (name, b) in result.contenders.iter().zip(&target.contenders) {
            let mut record = vec![
                "1".to_owned(),
                target.target.to_owned(),
                name.clone(),
                result.repeats.to_string(),
            ];
            let (mean, median) = (b.counts.mean_interval, b.counts.median);
            record.extend(
                [
                    Some(b.probability),
                    Some(b.interval.low),
                    Some(b.interval.high),
                    Some(b.seen),
                    Some(b.seen_interval.low),
                    Some(b.seen_interval.high),
                    Some(b.counts.mean),
                    Some(mean.low),
                    Some(mean.high),
                    b.expected,
                    Some(median),
                    Some(b.counts.p05),
                    Some(b.counts.p95),
                ]
                .map(|value| value.map_or_else(String::new, |value| value.to_string())),
            );
            csv.write_record(&record)?;
        }
    }
    Ok(csv.into_inner()?)
}
