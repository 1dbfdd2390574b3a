//! `smirch orders`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::analysis::{Limits, Orders, OrdersError, Progress, Start, Target, cleans_asked, orders};
use crate::content::Content;
use crate::drill::Action;
use crate::model::{Class, Sequence, Setup};
use crate::report::{
    CAUTION, ORDERS_CAVEAT, TRACER_CAVEAT, best_change_words, front_picture, named_words, order_words,
    orders_json, risk_words, size_words, step_words,
};

use super::{Failure, scenario, setup, unknown, watched, write_file, write_picture};

/// Find the orders of taking off that nothing else beats in what reaches the target, in time and in cleans at once.
///
/// Searched are all orders that the drill allows, all techniques for each item, and hand cleaning in any of the gaps
/// between removals: steady pace, usual hands, an intact kit, everything binned at once, each item where one of the
/// scenario's sequences has it come off, out of the room once. Each is judged by the exact expectation of the drill's
/// own events. Nothing of the space is left out unseen: what is not followed to the end is ruled out, and counted.
#[derive(Debug, Args)]
pub(super) struct Best {
    /// A scenario, by id or as a file
    scenario: String,
    /// What should be kept clean
    #[arg(long, value_name = "TARGET", default_value = "any-skin")]
    target: String,
    /// Allow this product for cleaning hands; can be given more than once. By default what the scenario's sequences ask for
    #[arg(long = "product", value_name = "ID")]
    products: Vec<String>,
    /// Take the mean load of so many drawn starts
    #[arg(long, default_value_t = 1000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    starts: u64,
    /// The seed of the starts
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// List all of the front, not only what differs by a hundredth
    #[arg(long)]
    all: bool,
    /// Print each listed protocol step by step, not only the quickest and the safest
    #[arg(long)]
    steps: bool,
    /// Give up when more beginnings of protocols than this would have to be kept
    #[arg(long, value_name = "N", default_value_t = Limits::default().prefixes)]
    limit: usize,
    /// Write the results as JSON
    #[arg(long, value_name = "OUT")]
    json: Option<PathBuf>,
    /// Write the front as a plot, SVG or PNG by the ending of the name
    #[arg(long, value_name = "OUT")]
    svg: Option<PathBuf>,
}

impl Best {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        let (content, id) = scenario(content, &self.scenario)?;
        let setup = setup(&content, &id)?;
        let Some(&(_, target)) = Target::ALL.iter().find(|(word, _)| *word == self.target) else {
            let words = Target::ALL.iter().map(|(word, _)| *word);
            return Err(Failure::Usage(unknown("target", &self.target, words)));
        };
        let known = &setup.library.products;
        if let Some(wanted) = self.products.iter().find(|p| setup.library.product(p).is_none()) {
            let words = known.iter().map(|p| p.id.as_str());
            return Err(Failure::Usage(unknown("product", wanted, words)));
        }
        let ids = std::iter::once(&setup.scenario.sequence).chain(&setup.scenario.also);
        let sequences: Vec<&Sequence> = ids.filter_map(|id| setup.library.sequence(id)).collect();
        let cleans = if self.products.is_empty() {
            cleans_asked(&setup, &sequences)
        } else {
            let wanted = known.iter().filter(|p| self.products.contains(&p.id));
            wanted
                .map(|p| Action::Clean {
                    product: p.id.clone(),
                    doses: p.doses,
                    seconds: p.seconds,
                    skip: Vec::new(),
                })
                .collect()
        };
        let start = Start::mean(&setup, self.starts, self.seed);
        let limits = Limits {
            prefixes: self.limit,
            ..Limits::default()
        };
        let progress = Progress::default();
        let told = |done| format!("{done} beginnings looked at");
        let found = watched(&progress, told, || {
            orders(&setup, &sequences, &cleans, target, &start, limits, &progress)
        })?;
        let orders = match found {
            Err(error @ OrdersError::TooMany { .. }) => return Err(Failure::Usage(error.to_string())),
            Err(error) => return Err(Failure::Faults(error.to_string())),
            Ok(orders) => orders,
        };
        if let Some(path) = &self.json {
            let value = orders_json(&setup, &start, &cleans, &orders);
            let mut text =
                serde_json::to_string_pretty(&value).map_err(|e| Failure::Faults(e.to_string()))?;
            text.push('\n');
            write_file(path, text.as_bytes())?;
        }
        if let Some(path) = &self.svg {
            let title = format!("Best orders: {}", setup.scenario.label);
            write_picture(path, &front_picture(&title, &setup.organism.unit, &orders))?;
        }
        self.print(&setup, &start, &orders)
    }

    fn print(&self, setup: &Setup, start: &Start, orders: &Orders) -> Result<(), Failure> {
        let mut out = std::io::stdout().lock();
        let shown: Vec<usize> = if self.all {
            (0..orders.front.len()).collect()
        } else {
            orders.distinct(0.99)
        };
        let (first, last) = (shown.first(), shown.last());
        writeln!(out, "{}, {}", setup.scenario.label, setup.organism.label)?;
        writeln!(
            out,
            "expected {} at the target `{}` ({}), from the mean load of {} starts; {} there before anything is done",
            setup.organism.unit,
            orders.target.word(),
            orders.target.label(),
            start.starts,
            risk_words(orders.already)
        )?;
        writeln!(out)?;
        writeln!(
            out,
            "{:>4} {:>12} {:>8} {:>7}  order",
            "no.", "expected", "seconds", "cleans"
        )?;
        for n in &shown {
            let p = &orders.front[*n];
            writeln!(
                out,
                "{:>4} {:>12} {:>8} {:>7}  {}",
                n + 1,
                risk_words(p.risk),
                p.seconds,
                p.cleans,
                order_words(setup, &p.actions)
            )?;
        }
        let hidden = orders.front.len() - shown.len();
        if hidden > 0 {
            writeln!(
                out,
                "{hidden} more carry hardly less than one that is listed (--all shows them)"
            )?;
        }
        for n in &shown {
            if self.steps || Some(n) == first || Some(n) == last {
                writeln!(out)?;
                writeln!(out, "number {}, step by step", n + 1)?;
                for step in step_words(setup, &orders.front[*n].actions) {
                    writeln!(out, "  {step}")?;
                }
            }
        }
        if let Some(safest) = orders.front.iter().min_by(|a, b| a.risk.total_cmp(&b.risk)) {
            writeln!(out)?;
            writeln!(out, "one clean more or less in the safest")?;
            for words in best_change_words(setup, safest, &orders.safest) {
                writeln!(out, "  {words}")?;
            }
        }
        writeln!(out)?;
        for named in &orders.named {
            writeln!(out, "{}", named_words(orders, named))?;
            if let Ok(standing) = &named.standing {
                for words in best_change_words(setup, &standing.protocol, &standing.changes) {
                    writeln!(out, "  {words}")?;
                }
            }
        }
        writeln!(out)?;
        writeln!(out, "{}", size_words(&orders.size))?;
        if orders.front.iter().all(|p| p.risk <= 0.0) {
            writeln!(
                out,
                "even the quickest carries nothing there: --target any-skin or --target hands tells them apart"
            )?;
        }
        if setup.organism.class == Class::Tracer {
            writeln!(out, "{TRACER_CAVEAT}")?;
        }
        writeln!(out, "{ORDERS_CAVEAT}")?;
        writeln!(out, "{CAUTION}")?;
        out.flush()?;
        Ok(())
    }
}
