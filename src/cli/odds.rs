//! `smirch odds`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use crate::analysis::{
    Alone, Asking, Doing, Doubt, Doubted, Effect, Odds, Progress, TURNED_STARTS, Target, USUAL_REPEATS,
    USUAL_SEED, Way, alone, by_the_book, odds, sensitivity,
};
use crate::content::Content;
use crate::model::{CAVEAT, Class, Setup, Trainee};
use crate::report::{
    CAUTION, SCRIPT_LAPSES, TRACER_CAVEAT, counted_mean, counted_people, counted_share, decimals,
    exact_words, many, measure_words, percent, percentage, source_line, tornado_picture,
};

use super::ceiling;
use super::doubt::{self, Doubting};
use super::people::{find_target, label, people};
use super::{
    Failure, find_script, find_sequence, scenario, setup, unknown, watched, write_json, write_picture,
};

/// Starts of a sensitivity analysis, unless others are asked for.
const STARTS: u64 = 200;

/// Show how often contamination gets where, over many repeats, by counting and by the exact routes side by side.
#[derive(Debug, Args)]
pub(super) struct Repeat {
    /// A scenario, by id or as a file
    scenario: String,
    /// Repeat a script, a file or the name of a built-in one
    #[arg(long, value_name = "FILE", conflicts_with = "sequence")]
    script: Option<String>,
    /// Repeat this sequence; the scenario's own if neither is given
    #[arg(long, value_name = "ID")]
    sequence: Option<String>,
    /// The virtual trainee who does it; without one, hands that do it to the letter and usual practice are shown, one
    /// after the other
    #[arg(long, value_name = "ID")]
    trainee: Option<String>,
    /// How many repeats [default: 10000]; with `--sensitivity`, how many starts [default: 200];
    /// with `--ceiling`, [default: 400]
    #[arg(long, value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    repeats: Option<u64>,
    /// The number that all chance is drawn from: the same number gives the same result
    #[arg(long, default_value_t = USUAL_SEED)]
    seed: u64,
    /// Instead, turn every uncertain constant across its range and show what moves the target most, for hands that do
    /// it to the letter or for one `--trainee`
    #[arg(long, conflicts_with_all = ["dose_response", "doubt", "doubt_repeats", "stated"])]
    sensitivity: bool,
    /// Instead, put a great deal on one patch at a time and show in how many people any of it gets where
    #[arg(long, conflicts_with_all = ["sensitivity", "target", "svg", "dose_response", "doubt", "doubt_repeats", "stated"])]
    ceiling: bool,
    /// Show only this target; the target of the sensitivity analysis, any bare skin if left out
    #[arg(long, value_name = "TARGET")]
    target: Option<String>,
    /// Write the sensitivity analysis as a picture, SVG or PNG by its ending
    #[arg(long, value_name = "OUT", requires = "sensitivity")]
    svg: Option<PathBuf>,
    /// Also put the mean dose to the mucosa through this dose-response curve, with its caveats
    #[arg(long, value_name = "CURVE")]
    dose_response: Option<String>,
    #[command(flatten)]
    doubting: Doubting,
    /// Write the results as JSON
    #[arg(long, value_name = "OUT")]
    json: Option<PathBuf>,
}

/// Odds of one sort of people.
struct Crowd<'a> {
    trainee: &'a Trainee,
    odds: Odds,
}

impl Repeat {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        if self.svg.is_some() && !self.sensitivity {
            return Err(Failure::Usage(
                "there is a picture of what matters alone\n   hint: add `--sensitivity`, or leave `--svg` out".to_owned(),
            ));
        }
        let (content, id) = scenario(content, &self.scenario)?;
        let setup = setup(&content, &id)?;
        let library = &content.library;
        let script = match &self.script {
            Some(script) => Some(find_script(&content, script, &id)?),
            None => None,
        };
        let wanted = self.sequence.as_deref().unwrap_or(&setup.scenario.sequence);
        let sequence = find_sequence(&setup, wanted)?;
        let target = self
            .target
            .as_deref()
            .map(|wanted| find_target(&setup, wanted))
            .transpose()?;
        let mut people = people(library, self.trainee.as_deref())?;
        if self.sensitivity {
            // One table: of hands that do it to the letter, if nobody else is asked for.
            people.truncate(1);
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
        if curve.is_some() && setup.organism.class == Class::Tracer {
            return Err(Failure::Usage(format!(
                "{} is no organism, so nobody is infected by a dose of it\n   hint: leave `--dose-response` out",
                setup.organism.label
            )));
        }
        let targets: Vec<Target> = match (target, curve) {
            (Some(target), None) => vec![target],
            // The curve needs the dose to the mucosa.
            (Some(target), Some(_)) if target != Target::Mucosa => vec![target, Target::Mucosa],
            (Some(target), Some(_)) => vec![target],
            (None, _) => Target::of_kit(&setup).collect(),
        };
        let repeats = self.repeats.unwrap_or(USUAL_REPEATS);
        // Whoever has no lapses does the same every time, which need not be found out anew.
        let book = match &script {
            Some(script) => Some(script.actions.clone()),
            None => by_the_book(&setup, sequence).ok(),
        };
        let way_of = |trainee| match (&script, &book) {
            (_, Some(actions)) if Trainee::is_flawless(trainee) => Way::Script(actions),
            (Some(script), _) => Way::Lapsed(&script.actions, trainee),
            _ => Way::Rehearsed(sequence, trainee),
        };
        let way_word = match &script {
            Some(script) => format!("script: {}", script.label),
            None => format!("sequence: {}", sequence.label),
        };
        if self.ceiling && setup.lies_ready() {
            return Err(Failure::Usage(
                "`--ceiling` puts a great deal on what is worn at the start, and here the kit lies ready\n   hint: ask about a scenario that begins with the same kit on"
                    .to_owned(),
            ));
        }
        if self.ceiling {
            let ways: Vec<_> = people.iter().map(|&trainee| (trainee, way_of(trainee))).collect();
            return self.paths(&setup, &way_word, &ways);
        }
        let asked: Vec<Asking<'_>> = people
            .iter()
            .map(|trainee| Asking {
                setup: &setup,
                doing: match (&script, &book) {
                    (Some(script), _) => Doing::Script(&script.actions),
                    (None, Some(actions)) if trainee.is_flawless() => Doing::Script(actions),
                    _ => Doing::Sequence(&sequence.id),
                },
                trainee: &trainee.id,
            })
            .collect();
        if self.sensitivity {
            return self.what_matters(asked[0], &people[0].label, target.unwrap_or(Target::AnySkin));
        }
        let progress = Progress::default();
        let all = repeats * people.len() as u64;
        let told = |done| format!("{done} of {}", many(all, "repeat"));
        let crowds = watched(&progress, told, || {
            people
                .iter()
                .map(|&trainee| {
                    let odds = odds(&setup, &way_of(trainee), &targets, repeats, self.seed, &progress)?;
                    Ok(Crowd { trainee, odds })
                })
                .collect::<Result<Vec<Crowd<'_>>, String>>()
        })?
        .map_err(Failure::Faults)?;
        let doubted = self.doubting.of(&asked, &targets, repeats, self.seed)?;
        let turned: Option<Vec<Vec<Alone>>> = match (self.doubting.doubt, &doubted) {
            (true, Some(_)) => {
                let turning = Progress::default();
                let all = watched(
                    &turning,
                    |done| format!("{done} constants turned"),
                    || {
                        let each = asked.iter();
                        let turned =
                            each.map(|asking| alone(*asking, &targets, TURNED_STARTS, self.seed, &turning));
                        turned.collect::<Result<_, String>>()
                    },
                )?;
                Some(all.map_err(Failure::Faults)?)
            }
            _ => None,
        };
        let doubts = |n: usize| doubted.as_ref().map(|doubted: &Doubted| &doubted.ways[n][..]);
        if let Some(path) = &self.json {
            let people: Vec<_> = crowds
                .iter()
                .enumerate()
                .map(|(n, c)| {
                    json!({
                        "trainee": c.trainee.id, "label": c.trainee.label, "odds": c.odds, "doubt": doubts(n),
                        "alone": turned.as_ref().map(|turned| &turned[n]),
                    })
                })
                .collect();
            let value = json!({
                "format": 3, "scenario": id, "way": way_word, "seed": self.seed, "caution": CAUTION,
                "unit": setup.organism.unit, "seen_from": setup.organism.seen_from,
                "sets": doubted.as_ref().map(|d| d.sets), "doubt_repeats": doubted.as_ref().map(|d| d.repeats),
                "people": people,
            });
            write_json(path, &value)?;
        }
        let mut out = std::io::stdout().lock();
        writeln!(out, "{}, {}", setup.scenario.label, setup.organism.label)?;
        writeln!(out, "{way_word}")?;
        if script.is_some() && people.iter().any(|trainee| !trainee.is_flawless()) {
            writeln!(out, "{SCRIPT_LAPSES}")?;
        }
        writeln!(out, "seen: {}", measure_words(&setup.organism))?;
        writeln!(out, "{}", self.doubting.heading(&setup))?;
        for (n, crowd) in crowds.iter().enumerate() {
            writeln!(out, "\ntrainee: {}", crowd.trainee.label)?;
            print(&mut out, &setup, &crowd.odds, doubts(n))?;
            if let (true, Some(doubts)) = (self.doubting.doubt, doubts(n)) {
                doubt::print_hangs(&mut out, &setup, doubts)?;
                if let Some(turned) = &turned {
                    doubt::print_alone(&mut out, &setup, &targets, &turned[n])?;
                }
            }
            let mucosa = crowd.odds.targets.iter().find(|t| t.target == "mucosa");
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
        }
        writeln!(out)?;
        if setup.organism.class == crate::model::Class::Tracer {
            writeln!(out, "{TRACER_CAVEAT}")?;
        }
        writeln!(out, "{CAUTION}")?;
        out.flush()?;
        Ok(())
    }
}

impl Repeat {
    fn paths(&self, setup: &Setup, way_word: &str, ways: &[(&Trainee, Way<'_>)]) -> Result<(), Failure> {
        let repeats = self.repeats.unwrap_or(ceiling::REPEATS);
        let all = ceiling::ceilings(setup, ways, repeats, self.seed)?;
        if let Some(path) = &self.json {
            let value = ceiling::as_json(setup, way_word, repeats, self.seed, &all);
            write_json(path, &value)?;
        }
        let mut out = std::io::stdout().lock();
        writeln!(
            out,
            "{}, {}\n{way_word}",
            setup.scenario.label, setup.organism.label
        )?;
        ceiling::print(&mut out, setup, repeats, &all)?;
        writeln!(out, "\n{CAUTION}")?;
        out.flush()?;
        Ok(())
    }

    fn what_matters(&self, asking: Asking<'_>, who: &str, target: Target) -> Result<(), Failure> {
        let setup = asking.setup;
        // The mean is exact for each start, so a few hundred starts do what takes many more repeats to count.
        let starts = self.repeats.unwrap_or(STARTS);
        eprintln!("turning every uncertain constant, {starts} starts each; trainee: {who}");
        let effects: Vec<Effect> = sensitivity(asking, target, starts, self.seed).map_err(Failure::Faults)?;
        if let Some(path) = &self.svg {
            let title = format!("What matters for {}: {}", target.label(), setup.scenario.label);
            write_picture(path, &tornado_picture(&title, &setup.organism.unit, &effects))?;
        }
        if let Some(path) = &self.json {
            let value = json!({
                "format": 3, "scenario": setup.scenario.id, "seed": self.seed, "caution": CAUTION,
                "unit": setup.organism.unit, "target": target.word(), "trainee": asking.trainee, "starts": starts, "sensitivity": effects,
            });
            write_json(path, &value)?;
        }
        let mut out = std::io::stdout().lock();
        writeln!(
            out,
            "constant\tvalue\tlow\thigh\tmean at value\tmean at low\tmean at high\tseen in % at value\tat low\tat high\tbasis"
        )?;
        for e in &effects {
            writeln!(
                out,
                "{}\t{}\t{}\t{}\t{:.6}\t{:.6}\t{:.6}\t{:.1}\t{:.1}\t{:.1}\t{}",
                e.constant,
                e.value,
                e.range.0,
                e.range.1,
                e.at_value,
                e.at_range.0,
                e.at_range.1,
                100.0 * e.share_at_value,
                100.0 * e.share_at_range.0,
                100.0 * e.share_at_range.1,
                e.basis
            )?;
        }
        out.flush()?;
        Ok(())
    }
}

fn print(out: &mut impl Write, setup: &Setup, odds: &Odds, doubts: Option<&[Doubt]>) -> std::io::Result<()> {
    let telling = setup.library.telling.as_ref();
    writeln!(
        out,
        "{}, {} with a lapse",
        many(odds.repeats, "repeat"),
        match telling {
            Some(telling) if odds.repeats < telling.too_few => {
                format!("{:.0} of them", odds.lapses * odds.repeats as f64)
            }
            _ => percentage(odds.lapses),
        }
    )?;
    for (n, t) in odds.targets.iter().enumerate() {
        writeln!(out, "\n{} [{}]", label(t.target), t.target)?;
        if let Some(about) = Target::of_word(t.target).and_then(Target::about) {
            writeln!(out, "  {about}")?;
        }
        if let Some(doubts) = doubts {
            doubt::print(out, &doubts[n], "  ")?;
            writeln!(
                out,
                "  {}",
                doubt::stated_words(setup, &doubts[n], (t.seen, t.expected), odds.repeats)
            )?;
        }
        writeln!(
            out,
            "  seen: {}",
            counted_people(telling, t.seen, t.seen_interval, odds.repeats)
        )?;
        writeln!(
            out,
            "  any: counted {}; exact law {}",
            counted_share(telling, t.probability, t.interval, odds.repeats),
            percent(t.law, t.law_interval)
        )?;
        writeln!(
            out,
            "  mean {}, {}; median {:.0}, 5 to 95 % {:.0} to {:.0}",
            counted_mean(telling, t.counts.mean, t.counts.mean_interval, odds.repeats),
            exact_words(t.expected),
            t.counts.median,
            t.counts.p05,
            t.counts.p95
        )?;
        if t.places[2..].iter().any(|share| *share > 0.0) {
            let what = match Target::of_word(t.target) {
                Some(Target::TwoPlaces) => "places",
                _ => "patches",
            };
            let [none, one, two, three, more] = t.places.map(|share| decimals(100.0 * share, 1));
            writeln!(
                out,
                "  {what} with so much: none in {none} %, one in {one}, two in {two}, three in {three}, more in {more}"
            )?;
        }
        for moment in &t.moments {
            let when = match moment.cleaning {
                Some(n) => format!("before cleaning {n} of bare hands"),
                None => "at the end".to_owned(),
            };
            writeln!(
                out,
                "    {when}: seen in {}, mean {} ({} had it)",
                percentage(moment.seen),
                decimals(moment.mean, 3),
                many(moment.repeats, "repeat")
            )?;
        }
    }
    writeln!(out)
}
