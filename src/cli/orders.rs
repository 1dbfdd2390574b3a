//! `smirch orders`.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::analysis::{Limits, Orders, OrdersError, Progress, Scope, Start, Target, Weighed, orders, weigh};
use crate::content::Content;
use crate::drill::Action;
use crate::model::{Class, Sequence, Setup};
use crate::report::{
    CAUTION, ORDERS_CAVEAT, TRACER_CAVEAT, alike_words, best_answer, best_change_words, best_picture, listed,
    named_words, order_words, orders_json, risk_words, same_count, size_words, step_words,
};

use super::{Failure, find_sequence, scenario, setup, unknown, watched, write_json, write_picture};

/// Find the orders of taking off that nothing else beats in what reaches the target, in time and in cleans at once.
///
/// Searched is every order of what a named policy asks for: each item by a technique that it accepts and where it has
/// it come off, hands cleaned in any of the gaps between removals with what it uses and at least as often, gloves
/// cleaned only where and as often as it cleans them. `--any-way` searches every technique and cleaning that the drill
/// allows. Steady pace, usual hands, no fault in the kit, everything binned at once, out of the room once. Each is judged by
/// the exact expectation of the drill's own events. Nothing of the space is left out unseen: what is not followed to the end is ruled out, and counted; with `--any-way` an order may stand for one that leaves up to a thousandth less, unless `--exact` is given.
#[derive(Debug, Args)]
pub(super) struct Best {
    /// A scenario, by id or as a file
    scenario: String,
    /// What should be kept clean
    #[arg(long, value_name = "TARGET", default_value = "hands-before-cleaning")]
    target: String,
    /// The policy to keep to, a sequence by id. By default the scenario's own
    #[arg(long, value_name = "ID", conflicts_with = "any_way")]
    sequence: Option<String>,
    /// Search any technique and any cleaning too, fewer cleans and cleaned gloves included; needs a target at the end,
    /// such as `--target any-skin`
    #[arg(long)]
    any_way: bool,
    /// With --any-way, let no order stand for one that leaves up to a thousandth less: slower, and more to hold
    #[arg(long, requires = "any_way")]
    exact: bool,
    /// Allow this product for cleaning hands; can be given more than once. By default what the policy asks for, or with --any-way what the scenario's sequences do
    #[arg(long = "product", value_name = "ID")]
    products: Vec<String>,
    /// Take the mean load of so many drawn starts
    #[arg(long, default_value_t = 1000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    starts: u64,
    /// The seed of the starts
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Judge by the stated values alone, not by all sets of values that published counts leave
    #[arg(long)]
    stated: bool,
    /// Count it out: list the orders that nothing beats, where named sequences stand, and what was searched
    #[arg(long)]
    details: bool,
    /// The same, and list all of the front, not only what can be told apart
    #[arg(long)]
    all: bool,
    /// Print every action of each order that is listed
    #[arg(long)]
    steps: bool,
    /// Give up when more beginnings of protocols than this would have to be kept
    #[arg(long, value_name = "N", default_value_t = Limits::default().prefixes)]
    limit: usize,
    /// Write the results as JSON
    #[arg(long, value_name = "OUT")]
    json: Option<PathBuf>,
    /// Write the answer as a picture, SVG or PNG by the ending of the name
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
        if let Some(id) = &self.sequence {
            find_sequence(&setup, id)?;
        }
        let policy = self.sequence.as_ref().unwrap_or(&setup.scenario.sequence);
        let others = std::iter::once(&setup.scenario.sequence).chain(&setup.scenario.also);
        let ids = std::iter::once(policy).chain(others.filter(|id| *id != policy));
        let sequences: Vec<&Sequence> = ids.filter_map(|id| setup.library.sequence(id)).collect();
        let mut scope = match sequences[..] {
            [policy, ..] if !self.any_way => Scope::policy(&setup, policy),
            _ => Scope::wide(&setup, &sequences),
        };
        if !self.products.is_empty() {
            let wanted = known.iter().filter(|p| self.products.contains(&p.id));
            let cleans: Vec<Action> = wanted
                .map(|p| Action::Clean {
                    product: p.id.clone(),
                    doses: p.doses,
                    seconds: p.seconds,
                    skip: Vec::new(),
                    forearms: false,
                })
                .collect();
            scope = scope.with_cleans(&cleans);
        }
        let start = Start::mean(&setup, self.starts, self.seed);
        let limits = Limits {
            prefixes: self.limit,
            ..if self.exact {
                Limits::default()
            } else {
                Limits::of(&scope)
            }
        };
        let progress = Progress::default();
        let told = |done| format!("{done} beginnings looked at");
        let found = watched(&progress, told, || {
            orders(&setup, &sequences, &scope, target, &start, limits, &progress)
        })?;
        let orders = match found {
            Err(
                error @ (OrdersError::TooMany { .. }
                | OrdersError::NoSum(_)
                | OrdersError::NotForSkin(_)
                | OrdersError::RewardsFewer(_)
                | OrdersError::LiesReady),
            ) => {
                return Err(Failure::Usage(error.to_string()));
            }
            Err(error) => return Err(Failure::Faults(error.to_string())),
            Ok(orders) => orders,
        };
        let same = |a, b| same_count(&setup, a, b);
        let weighed = match self.stated {
            true => None,
            false => weigh(&setup, &orders, same, self.seed, &progress).map_err(Failure::Faults)?,
        };
        let weighed = weighed.as_ref();
        if let Some(path) = &self.json {
            let value = orders_json(&setup, &orders, weighed);
            write_json(path, &value)?;
        }
        if let Some(path) = &self.svg {
            let title = format!("Best orders: {}", setup.scenario.label);
            write_picture(
                path,
                &best_picture(&title, &best_answer(&setup, &orders, weighed)),
            )?;
        }
        self.print(&setup, &orders, weighed)
    }

    fn print(&self, setup: &Setup, orders: &Orders, weighed: Option<&Weighed>) -> Result<(), Failure> {
        let mut out = std::io::stdout().lock();
        let answer = best_answer(setup, orders, weighed);
        writeln!(out, "{}, {}", setup.scenario.label, setup.organism.label)?;
        for line in [&answer.sentence, &answer.scope, &answer.measure] {
            writeln!(out, "{line}")?;
        }
        for card in &answer.cards {
            writeln!(out)?;
            writeln!(out, "{}: {}", card.title, card.figures)?;
            if !card.agreed.is_empty() {
                writeln!(out, "  {}", card.agreed)?;
            }
            if !card.otherwise.is_empty() && !answer.by_steps {
                writeln!(out, "  {}", card.otherwise)?;
            }
            let steps = match answer.by_steps {
                true => &card.steps,
                false => &card.order,
            };
            for (n, step) in steps.iter().enumerate() {
                writeln!(out, "  {}. {step}", n + 1)?;
            }
        }
        writeln!(out)?;
        if self.details || self.all || self.steps {
            self.count_out(setup, orders, &mut out)?;
        } else {
            writeln!(
                out,
                "--details counts it out: every order that nothing beats, and what was searched"
            )?;
        }
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

    /// Every order that nothing beats, what one clean more or less does, where named sequences stand, and the account
    /// of what was searched.
    fn count_out(&self, setup: &Setup, orders: &Orders, out: &mut impl Write) -> Result<(), Failure> {
        let shown = listed(setup, orders, self.all);
        let fewer = orders.scope.policy.is_none();
        writeln!(
            out,
            "{} {} on {} before anything is done",
            risk_words(orders.already),
            setup.organism.unit,
            orders.target.label()
        )?;
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
        for alike in alike_words(setup, orders, &shown) {
            writeln!(out, "{alike}")?;
        }
        let hidden = orders.front.len() - shown.len();
        if hidden > 0 {
            let are = if hidden == 1 { "is" } else { "are" };
            writeln!(
                out,
                "{hidden} more {are} much the same as one that is listed (--all shows them)"
            )?;
        }
        for n in shown.iter().filter(|_| self.steps) {
            writeln!(out)?;
            writeln!(out, "number {}, step by step", n + 1)?;
            for step in step_words(setup, &orders.front[*n].actions) {
                writeln!(out, "  {step}")?;
            }
        }
        if let Some((safest, _)) = orders.safest(|_, _| false) {
            writeln!(out)?;
            writeln!(out, "one clean more or less in the safest")?;
            for words in best_change_words(setup, &orders.front[safest], &orders.safest, fewer) {
                writeln!(out, "  {words}")?;
            }
        }
        writeln!(out)?;
        for named in &orders.named {
            writeln!(out, "{}", named_words(setup, orders, named))?;
            if let Ok(standing) = &named.standing {
                for words in best_change_words(setup, &standing.protocol, &standing.changes, fewer) {
                    writeln!(out, "  {words}")?;
                }
            }
        }
        writeln!(out)?;
        writeln!(out, "{}", size_words(&orders.size))?;
        Ok(())
    }
}
