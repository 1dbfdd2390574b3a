//! `smirch compare`.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use serde_json::json;

use crate::analysis::{
    Asking, Comparison, Contender, Doubted, MOST_REPEATS, Pair, Progress, Side, Target, USUAL_REPEATS,
    USUAL_SEED, Verdict, by_the_book, compare,
};
use crate::content::Content;
use crate::model::{Duel, DuelWay, Setup, Trainee};
use crate::outside::files;
use crate::report::{
    CAUTION, Drawing, MOST_SERIES, Row, TRACER_CAVEAT, by_repeat, chance, counted_mean, counted_people,
    counted_share, decimals, exact_words, interval_picture, many, mean_words, measure_words, scripts_words,
    sets_words, told_pair,
};

use super::doubt::{self, Doubting};
use super::people::{find_target, label, people};
use super::{
    Failure, find_script, find_sequence, scenario, setup, unknown, watched, write_file, write_json,
    write_picture,
};

/// Show which of two or more ways brings less where, each repeat with the same start and the same draws of chance for all.
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
    #[arg(long, default_value_t = USUAL_REPEATS)]
    repeats: u64,
    /// The virtual trainee who does it; without one, hands that do it to the letter and usual practice are shown, one
    /// after the other
    #[arg(long, value_name = "ID")]
    trainee: Option<String>,
    /// The number that all chance is drawn from: the same number gives the same result
    #[arg(long, default_value_t = USUAL_SEED)]
    seed: u64,
    /// Show only this target
    #[arg(long, value_name = "TARGET")]
    target: Option<String>,
    #[command(flatten)]
    doubting: Doubting,
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

/// All ways done by one sort of people.
struct Crowd<'a> {
    trainee: &'a Trainee,
    comparison: Comparison,
    /// What sets of values say of it, where that was asked.
    doubted: Option<Doubted>,
}

impl Compare {
    pub(super) fn run(mut self, content: &Content) -> Result<(), Failure> {
        let duel = self.preset(content)?;
        self.check_numbers()?;
        let named = self.scenario.as_deref().unwrap_or_default();
        let before = &content.library;
        let (content, id) = scenario(content, named)?;
        if named != id
            && before.scenario(&id).is_some()
            && before.scenario(&id) != content.library.scenario(&id)
        {
            let twice = format!("{id}/");
            if let Some(way) = self.ways.iter().find(|way| way.starts_with(&twice)) {
                return Err(Failure::Usage(format!(
                    "`{way}` could be meant for {named} or for the scenario `{id}` that was there before\n   hint: give the scenario in {named} an id of its own"
                )));
            }
        }
        let setup = setup(&content, &id)?;
        let targets = self.targets(&setup)?;
        let people = people(&content.library, self.trainee.as_deref())?;
        let found = match duel {
            Some(duel) => Side::both(&content, duel).map_err(Failure::Faults)?.to_vec(),
            None => self
                .ways
                .iter()
                .map(|way| find(&content, &setup, way))
                .collect::<Result<Vec<Side>, Failure>>()?,
        };
        if let Some(other) = found.iter().find(|f| f.setup.organism.id != setup.organism.id) {
            return Err(Failure::Usage(format!(
                "`{}` has {}, but `{id}` has {}: their counts cannot be compared\n   hint: name a scenario with the same organism",
                other.setup.scenario.id, other.setup.organism.label, setup.organism.label
            )));
        }
        let progress = Progress::default();
        let all = self.repeats * people.len() as u64;
        let told = |done| format!("{done} of {}", many(all, "repeat"));
        let mut crowds = watched(&progress, told, || {
            people
                .iter()
                .map(|&trainee| {
                    let contenders: Vec<Contender<'_>> =
                        found.iter().map(|side| side.contender(trainee)).collect();
                    let comparison = compare(&contenders, &targets, self.repeats, self.seed, &progress)?;
                    Ok(Crowd {
                        trainee,
                        comparison,
                        doubted: None,
                    })
                })
                .collect::<Result<Vec<Crowd<'_>>, String>>()
        })?
        .map_err(Failure::Faults)?;
        for crowd in &mut crowds {
            let asked: Vec<Asking<'_>> = found.iter().map(|side| side.asking(crowd.trainee)).collect();
            crowd.doubted = self.doubting.of(&asked, &targets, self.repeats, self.seed)?;
        }

        if let Some(path) = &self.json {
            let people: Vec<_> = crowds
                .iter()
                .map(|crowd| crowd_json(&setup, &found, crowd))
                .collect();
            let value = json!({
                "format": 3, "scenario": id, "ways": self.ways, "seed": self.seed,
                "caution": CAUTION, "unit": setup.organism.unit, "seen_from": setup.organism.seen_from,
                "people": people,
            });
            write_json(path, &value)?;
        }
        if let Some(path) = &self.csv {
            write_file(path, &table(&crowds).map_err(|e| Failure::Faults(e.to_string()))?)?;
        }
        if let Some(path) = &self.svg {
            write_picture(path, &picture(&setup, &crowds))?;
        }
        let mut out = std::io::stdout().lock();
        writeln!(out, "{}, {}", setup.scenario.label, setup.organism.label)?;
        writeln!(
            out,
            "{}, each with the same start and the same draws of chance for all",
            many(self.repeats, "repeat")
        )?;
        writeln!(out, "counted of people: {}", measure_words(&setup.organism))?;
        writeln!(out, "{}", self.doubting.heading(&setup))?;
        for crowd in &crowds {
            writeln!(out, "\ntrainee: {}", crowd.trainee.label)?;
            if let Some(words) = scripts_words(&found).filter(|_| !crowd.trainee.is_flawless()) {
                writeln!(out, "{words}")?;
            }
            for n in 0..crowd.comparison.targets.len() {
                print(&mut out, &setup, &found, crowd, n)?;
            }
            let Some(doubted) = crowd.doubted.as_ref().filter(|_| self.doubting.doubt) else {
                continue;
            };
            let pairs = (0..found.len()).flat_map(|a| (a + 1..found.len()).map(move |b| (a, b)));
            for ((a, b), versed) in pairs.zip(&doubted.pairs) {
                let labels = (found[a].label.as_str(), found[b].label.as_str());
                doubt::print_worth(&mut out, labels, &setup, versed)?;
            }
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
            // The sides of a preset may differ in how their kit was put on alone.
            if self.preset.is_none() && self.ways[..n].contains(way) {
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

    fn targets(&self, setup: &Setup) -> Result<Vec<Target>, Failure> {
        match &self.target {
            None => Ok(Target::of_kit(setup).collect()),
            Some(wanted) => Ok(vec![find_target(setup, wanted)?]),
        }
    }
}

/// A sequence, or else a script, in the scenario it names or else in this one.
fn find(content: &Content, setup: &Arc<Setup>, wanted: &str) -> Result<Side, Failure> {
    let library = &content.library;
    if let Some((elsewhere, way)) = wanted.split_once('/')
        && !files::is_there(Path::new(wanted))
        && elsewhere != setup.scenario.id
        && library.scenario(elsewhere).is_some()
    {
        let elsewhere = super::setup(content, elsewhere)?;
        let mut found = find(content, &elsewhere, way)?;
        found.label = format!("{} ({})", found.label, elsewhere.scenario.label);
        return Ok(found);
    }
    let scenario = &setup.scenario.id;
    if let Some((elsewhere, way)) = wanted.split_once('/')
        && elsewhere == scenario
        && library.sequence(way).is_some()
    {
        return Err(Failure::Usage(format!(
            "`{wanted}` is `{way}` in the very scenario that is compared in\n   hint: leave `{scenario}/` out; a scenario of a file takes \
             the place of the built-in one with its id, so give the file another id to lay both side by side"
        )));
    }
    let Some(sequence) = library.sequence(wanted) else {
        let script_like = files::is_there(Path::new(wanted)) || wanted.ends_with(".ron");
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
        return Ok(Side {
            label: script.label,
            setup: setup.clone(),
            actions: script.actions,
            sequence: None,
        });
    };
    let sequence = find_sequence(setup, &sequence.id)?;
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
    Ok(Side {
        label: sequence.label.clone(),
        setup: setup.clone(),
        actions,
        sequence: Some(sequence.id.clone()),
    })
}

/// One sort of people with all sentences.
fn crowd_json(setup: &Setup, found: &[Side], crowd: &Crowd<'_>) -> serde_json::Value {
    let comparison = &crowd.comparison;
    let all = comparison.targets.iter().enumerate();
    let verdicts: Vec<_> = all
        .flat_map(|(t, target)| target.pairs.iter().enumerate().map(move |(p, pair)| (t, p, pair)))
        .map(|(t, p, pair)| {
            let (verdict, sentence) = match unlike(found, pair) {
                Some(why) => (Verdict::Unsure, why),
                None => told_pair(&setup.library, comparison, crowd.doubted.as_ref(), t, p),
            };
            json!({
                "target": comparison.targets[t].target, "first": pair.first, "second": pair.second,
                "verdict": verdict, "sentence": sentence,
            })
        })
        .collect();
    json!({
        "trainee": crowd.trainee.id, "label": crowd.trainee.label, "comparison": comparison, "verdicts": verdicts,
        "doubt": crowd.doubted,
    })
}

/// Why two of the ways are no match for each other, if they are none.
fn unlike(found: &[Side], pair: &Pair) -> Option<String> {
    found[pair.first].unlike(&found[pair.second])
}

/// What people are called beside each other.
fn people_word(trainee: &Trainee) -> &str {
    trainee.people.as_deref().unwrap_or(&trainee.label)
}

/// Chances of all ways, done by all sorts of people if they fit into one picture, or else by the first.
fn picture(setup: &Setup, crowds: &[Crowd<'_>]) -> Drawing {
    let ways = crowds.first().map_or(0, |c| c.comparison.contenders.len());
    let fitting = (MOST_SERIES / ways.max(1)).clamp(1, crowds.len().max(1));
    let shown = &crowds[..crowds.len().min(fitting)];
    let targets = shown.first().map_or(&[][..], |c| &c.comparison.targets);
    let rows: Vec<Row> = targets
        .iter()
        .enumerate()
        .map(|(t, target)| Row {
            label: label(target.target).to_owned(),
            chances: (0..ways)
                .flat_map(|way| shown.iter().map(move |crowd| (way, crowd)))
                .map(|(way, crowd)| {
                    let name = &crowd.comparison.contenders[way];
                    let name = match shown {
                        [_] => name.clone(),
                        _ => format!("{name}, {}", people_word(crowd.trainee)),
                    };
                    chance(name, &crowd.comparison, crowd.doubted.as_ref(), way, t)
                })
                .collect(),
        })
        .collect();
    let who: Vec<&str> = shown.iter().map(|c| people_word(c.trainee)).collect();
    let sets = shown.first().and_then(|c| c.doubted.as_ref());
    let beneath = format!(
        "{}, {}; {}; {}",
        setup.scenario.label,
        setup.organism.label,
        who.join(" and "),
        match sets {
            Some(doubted) => sets_words(setup, doubted.sets),
            None => format!(
                "{} with the same draws of chance for all",
                many(shown.first().map_or(0, |c| c.comparison.repeats), "repeat")
            ),
        }
    );
    let title = format!("Who gets {}", measure_words(&setup.organism));
    interval_picture(&title, &beneath, &rows)
}

fn print(
    out: &mut impl Write,
    setup: &Setup,
    found: &[Side],
    crowd: &Crowd<'_>,
    n: usize,
) -> std::io::Result<()> {
    let result = &crowd.comparison;
    let target = &result.targets[n];
    let telling = setup.library.telling.as_ref();
    writeln!(out, "\n{} [{}]", label(target.target), target.target)?;
    for (way, (name, b)) in result.contenders.iter().zip(&target.contenders).enumerate() {
        writeln!(out, "  {name}")?;
        if let Some(doubted) = &crowd.doubted {
            doubt::print(out, &doubted.ways[way][n], "    ")?;
            let stated = (b.seen, b.expected);
            let words = doubt::stated_words(setup, &doubted.ways[way][n], stated, result.repeats);
            writeln!(out, "    {words}")?;
        }
        writeln!(
            out,
            "    seen: {}; any: {}",
            counted_people(telling, b.seen, b.seen_interval, result.repeats),
            counted_share(telling, b.probability, b.interval, result.repeats)
        )?;
        writeln!(
            out,
            "    mean {}, {}; median {:.0}, 5 to 95 % {:.0} to {:.0}",
            counted_mean(telling, b.counts.mean, b.counts.mean_interval, result.repeats),
            exact_words(b.expected),
            b.counts.median,
            b.counts.p05,
            b.counts.p95
        )?;
    }
    for (p, pair) in target.pairs.iter().enumerate() {
        if let Some(why) = unlike(found, pair) {
            writeln!(out, "  {why}")?;
            continue;
        }
        writeln!(
            out,
            "  {}",
            told_pair(&setup.library, &crowd.comparison, crowd.doubted.as_ref(), n, p).1
        )?;
        if crowd.doubted.is_some() {
            writeln!(out, "    with the stated values:")?;
        }
        writeln!(out, "    {}", by_repeat(result, pair))?;
        if pair.verdict == Verdict::TooFew {
            continue;
        }
        let points = pair.seen.interval;
        writeln!(
            out,
            "    first less second: seen {} points ({} to {}); mean {}, {}",
            decimals(100.0 * pair.seen.difference, 1),
            decimals(100.0 * points.low, 1),
            decimals(100.0 * points.high, 1),
            mean_words(pair.means.difference, pair.means.interval),
            exact_words(pair.expected.map(|d| d.difference)),
        )?;
    }
    Ok(())
}

fn table(crowds: &[Crowd<'_>]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record([
        "format",
        "target",
        "way",
        "trainee",
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
        "model_seen",
        "model_seen_low",
        "model_seen_high",
    ])?;
    for crowd in crowds {
        let result = &crowd.comparison;
        for (t, target) in result.targets.iter().enumerate() {
            for (way, (name, b)) in result.contenders.iter().zip(&target.contenders).enumerate() {
                let model = crowd.doubted.as_ref().map(|doubted| doubted.ways[way][t].seen);
                let mut record = vec![
                    "3".to_owned(),
                    target.target.to_owned(),
                    name.clone(),
                    crowd.trainee.id.clone(),
                    result.repeats.to_string(),
                ];
                // One repeat has no interval of its mean.
                let mean = b.counts.mean_interval;
                let ends = [mean.low, mean.high].map(|end| Some(end).filter(|end| end.is_finite()));
                record.extend(
                    [
                        Some(b.probability),
                        Some(b.interval.low),
                        Some(b.interval.high),
                        Some(b.seen),
                        Some(b.seen_interval.low),
                        Some(b.seen_interval.high),
                        Some(b.counts.mean),
                        ends[0],
                        ends[1],
                        b.expected,
                        Some(b.counts.median),
                        Some(b.counts.p05),
                        Some(b.counts.p95),
                        model.map(|m| m.median),
                        model.map(|m| m.range.low),
                        model.map(|m| m.range.high),
                    ]
                    .map(|value| value.map_or_else(String::new, |value| value.to_string())),
                );
                csv.write_record(&record)?;
            }
        }
    }
    Ok(csv.into_inner()?)
}
