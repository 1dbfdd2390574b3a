//! `smirch calibrate`.

use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};

use clap::Args;

use crate::analysis::{
    Interval, UnderWay, apart_as, calibrate, learnt, least_apart, lined_as, met, numbered_as, played,
};
use crate::content::Content;
use crate::model::{Ensemble, Library};
use crate::outside::files;
use crate::report::{CAUTION, ensemble_file, percent_range};

use super::{Failure, write_file};

/// Show how unsure the model is of its constants and how well published counts are met; weigh them anew on request.
///
/// An ensemble is a set of sets of values. Each constant is drawn from what is stated of it, and published counts let
/// those pass that meet them. `smirch odds --doubt` and `smirch compare --doubt` play every set.
#[derive(Debug, Args)]
pub(super) struct Calibrate {
    /// Weigh anew and write the ensemble here, to be put into assets/ensemble.ron; takes from minutes to an hour
    #[arg(long, value_name = "OUT")]
    out: Option<PathBuf>,
    /// Keep what is under way in this file, and go on from it if it is there
    #[arg(long, value_name = "FILE", requires = "out")]
    under_way: Option<PathBuf>,
    /// The number that all chance is drawn from: the same number gives the same ensemble
    #[arg(long, default_value_t = 1, requires = "out")]
    seed: u64,
}

impl Calibrate {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        let library = &content.library;
        let ensemble = match &self.out {
            None => library.ensemble.clone().ok_or_else(|| {
                Failure::Faults(
                    "this content has no ensemble\n   hint: `smirch calibrate --out ensemble.ron` makes one"
                        .to_owned(),
                )
            })?,
            Some(out) => {
                let ensemble = self.weigh(library)?;
                write_file(out, ensemble_file(&ensemble).as_bytes())?;
                ensemble
            }
        };
        let mut out = std::io::stdout().lock();
        show(&mut out, library, &ensemble)?;
        writeln!(out, "{CAUTION}")?;
        out.flush()?;
        Ok(())
    }

    fn weigh(&self, library: &Library) -> Result<Ensemble, Failure> {
        let begun = match &self.under_way {
            Some(path) if files::is_there(path) => read(path)?,
            _ => UnderWay::default(),
        };
        let watched = std::io::stderr().is_terminal();
        calibrate(library, self.seed, begun, |(under_way, without)| {
            let state = match without {
                None => under_way.all.as_ref(),
                Some(source) => under_way.without.get(source),
            };
            if let (true, Some(state)) = (watched, state) {
                let let_in = state.steps.last().unwrap_or(&0.0);
                let without = without.map_or(String::new(), |source| format!(", `{source}` left out"));
                eprintln!(
                    "step {}{without}: {let_in:.4} of the counts' weight let in",
                    state.steps.len()
                );
            }
            let Some(path) = &self.under_way else {
                return Ok(());
            };
            let text = serde_json::to_vec(under_way).map_err(|e| e.to_string())?;
            write_file(path, &text).map_err(|failure| match failure {
                Failure::Faults(why) | Failure::Usage(why) => why,
                Failure::Hangup => "nobody reads any more".to_owned(),
            })
        })
        .map_err(Failure::Faults)
    }
}

fn read(path: &Path) -> Result<UnderWay, Failure> {
    let text =
        files::read(path).map_err(|e| Failure::Faults(format!("{}: cannot be read: {e}", path.display())))?;
    serde_json::from_slice(&text).map_err(|e| {
        Failure::Faults(format!(
            "{}:{}:{}: this is no calibration under way: {e}\n   hint: leave the file out to begin anew",
            path.display(),
            e.line(),
            e.column()
        ))
    })
}

fn show(out: &mut impl Write, library: &Library, ensemble: &Ensemble) -> std::io::Result<()> {
    let all = &ensemble.members;
    let first = |n: usize| {
        !all[..n]
            .iter()
            .any(|m| (&m.numbers, &m.scores) == (&all[n].numbers, &all[n].scores))
    };
    let apart = (0..all.len()).filter(|&n| first(n)).count();
    writeln!(
        out,
        "{} sets of values, {} of them different; {} steps, {:.0} % of the last strides taken",
        ensemble.members.len(),
        apart,
        ensemble.steps.len() - 1,
        100.0 * ensemble.taken
    )?;
    let (weighed, names) = played(ensemble);
    if let (Some(together), Some(lines)) = (apart_as(&weighed), lined_as(&weighed)) {
        writeln!(
            out,
            "by the {} constants that studies play they count as {together:.0} sets that were drawn apart by how these go together, as\n\
             {lines:.0} by how alike those are that were copies of one once, and as {:.0} by what is each contact's own",
            names.len(),
            numbered_as(all)
        )?;
    }
    if let Some((n, apart)) = least_apart(&weighed) {
        writeln!(
            out,
            "they are least apart in \"{}\": there they count as {apart:.0}",
            names[n]
        )?;
    }
    writeln!(out)?;
    writeln!(
        out,
        "{:<48} {:>9} {:>14} {:>20} {:>21} {:>21} {:>5}",
        "counted",
        "published",
        "interval",
        "by all (5 to 95 %)",
        "by the other studies",
        "of as many, elsewhere",
        "sets"
    )?;
    for one in met(library, ensemble) {
        let count = one.count;
        let range = |median, (low, high)| percent_range(median, Interval { low, high });
        writeln!(
            out,
            "{:<48} {:>9} {:>14} {:>20} {:>21} {:>21} {:>5}",
            count.what,
            count
                .share
                .map_or("first".to_owned(), |s| format!("{:.1}", 100.0 * s)),
            format!("{:.1} to {:.1}", 100.0 * count.within.0, 100.0 * count.within.1),
            percent_range(one.all.0, one.all.1),
            one.without
                .map_or("not worked out".to_owned(), |p| range(p.median, p.range)),
            one.without.map_or(String::new(), |p| format!(
                "{:.1} to {:.1}",
                100.0 * p.counted.0,
                100.0 * p.counted.1
            )),
            one.without.map_or(String::new(), |p| format!("{:.0}", p.sets)),
        )?;
    }
    writeln!(
        out,
        "\nby the other studies: the share in the model; of as many, elsewhere: what would be counted among as many people in a study\n\
         as far from others as studies are; sets: as how many sets drawn apart it was predicted by"
    )?;
    writeln!(
        out,
        "\nwhat the counts say of each constant, as standard scores: -1.6 to 1.6 and a spread of 1 if nothing\n{:<52} {:>7} {:>16} {:>8}",
        "constant", "median", "5 to 95 %", "spread"
    )?;
    for one in learnt(ensemble) {
        let (median, range) = one.score;
        writeln!(
            out,
            "{:<52} {median:>7.2} {:>16} {:>8.2}",
            one.constant,
            format!("{:.2} to {:.2}", range.low, range.high),
            one.spread
        )?;
    }
    writeln!(out)
}
