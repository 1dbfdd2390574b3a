//! The two long questions about the fullest kit, each beside a plain way of answering it in the same run: odds of people
//! with lapses beside attempts that share nothing, and the best orders beside playing every protocol.
//!
//! `cargo bench --no-default-features --bench beside_plain`. Times are processor time of all threads, so that a busy
//! machine changes little, and the longest time on the clock is told too.

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "tests reach for files and threads as they like"
)]

use std::time::Instant;

use smirch::analysis::{
    Aim, Coefficients, Counter, ExactLaw, Limits, Orders, Plan, Progress, Scope, Start, Target, Way,
    expected, odds, orders, rehearse,
};
use smirch::chance::{Key, Luck};
use smirch::content::Content;
use smirch::drill::Beginning;
use smirch::model::{Sequence, Setup};

const SCENARIO: &str = "double-gloves";
const REPEATS: u64 = 10_000;
/// Repeats that share nothing: fewer, since they take so long.
const PLAIN: u64 = 1_000;

fn main() {
    let content = Content::builtin().expect("built-in content has no faults");
    let scenario = content.library.scenario(SCENARIO).expect("it is built in");
    let setup = Setup::new(content.library.clone(), scenario).expect("it can be set up");
    let ids = std::iter::once(&scenario.sequence).chain(&scenario.also);
    let sequences: Vec<&Sequence> = ids.filter_map(|id| setup.library.sequence(id)).collect();
    people(&setup, sequences[0]);
    let scopes = [
        (
            "within the policy",
            Scope::policy(&setup, sequences[0]),
            Target::HandsBeforeCleaning,
        ),
        ("any way at all", Scope::wide(&setup, &sequences), Target::AnySkin),
    ];
    for (name, scope, target) in scopes {
        best(&setup, &sequences, name, &scope, target);
    }
}

/// Odds of usual practice at all targets.
fn people(setup: &Setup, sequence: &Sequence) {
    let trainee = setup.library.trainee("usual").expect("it is built in");
    let targets: Vec<Target> = Target::ALL.iter().map(|(_, t)| *t).collect();
    let way = Way::Rehearsed(sequence, trainee);
    let (shared, ours) = timed(|| odds(setup, &way, &targets, REPEATS, 1, &Progress::default()));
    let shared = shared.expect("usual practice can be done");
    let (counts, plain) = timed(|| {
        let each = (0..PLAIN).map(|n| {
            let luck = Luck::new(Key(1).within(n).0);
            let beginning = Beginning::draw(setup, luck);
            let did = rehearse(setup, sequence, trainee, luck).expect("usual practice can be done");
            let plan = Plan::new(setup, &beginning.state.faults, &did.actions).expect("it was just done");
            let aims = Aim::all(setup, &plan, &targets);
            let (wet, totals) = (&beginning.state.wet_until, beginning.books.totals());
            let start: Vec<f64> = totals.iter().map(|&n| n as f64).collect();
            std::hint::black_box(expected(&plan, wet, &start, &aims, Coefficients::Mean));
            std::hint::black_box(ExactLaw::new(&plan, &beginning, &aims).reached(luck));
            let found = Counter::new(&plan, &beginning, &aims, setup.organism.seen_from).count(luck);
            u64::from(found[0].count > 0)
        });
        each.sum::<u64>()
    });
    println!(
        "{SCENARIO}, usual practice: {REPEATS} repeats at {} targets",
        targets.len()
    );
    println!(
        "  P({} reached) {:.3}; {:.3} of the first {PLAIN}",
        targets[0].word(),
        shared.targets[0].probability,
        counts as f64 / PLAIN as f64
    );
    let each = [ours.processor / REPEATS as f64, plain.processor / PLAIN as f64];
    println!(
        "  {:.2} s on the clock; {:.0} us of processor time a repeat, {:.0} us where attempts share nothing; ratio {:.1}",
        ours.clock,
        each[0] * 1e6,
        each[1] * 1e6,
        each[1] / each[0]
    );
}

/// The best orders of the kit, beside what it would take to play every one.
fn best(setup: &Setup, sequences: &[&Sequence], name: &str, scope: &Scope, target: Target) {
    let start = Start::mean(setup, 1000, 1);
    let (found, ours) = timed(|| {
        let (limits, progress) = (Limits::default(), Progress::default());
        orders(setup, sequences, scope, target, &start, limits, &progress)
    });
    let found: Orders = found.expect("the kit can be taken off");
    let protocol = &found.front[0].actions;
    let (_, plain) = timed(|| {
        for _ in 0..PLAIN {
            let plan = Plan::new(setup, &[], protocol).expect("the front can be played");
            let aim = Aim::new(setup, &plan, target);
            let (wet, counts) = (&start.wet_until, &start.counts);
            std::hint::black_box(expected(&plan, wet, counts, &[aim], Coefficients::Mean));
        }
    });
    let size = &found.size;
    println!(
        "{SCENARIO}, best orders, {name}, {}: {} protocols, {} nodes, {} beginnings, {} on the front, complete: {}",
        target.word(),
        size.protocols,
        size.nodes,
        size.prefixes,
        found.front.len(),
        size.complete()
    );
    println!(
        "  {:.2} s on the clock, {:.2} s of processor time; playing each protocol would take {:.1e} s; most memory so far {}",
        ours.clock,
        ours.processor,
        plain.processor / PLAIN as f64 * size.protocols as f64,
        most_memory()
    );
}

/// Seconds that something took.
struct Took {
    clock: f64,
    processor: f64,
}

fn timed<T>(work: impl FnOnce() -> T) -> (T, Took) {
    let (began, used) = (Instant::now(), processor());
    let result = std::hint::black_box(work());
    let took = Took {
        clock: began.elapsed().as_secs_f64(),
        processor: processor() - used,
    };
    (result, took)
}

/// Processor time of all threads so far, s: by the kernel's account in hundredths, so only for what takes longer.
/// Not a number where there is no such account.
fn processor() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = stat.rsplit(')').next().unwrap_or_default();
    let ticks = |n: usize| {
        after_name
            .split_whitespace()
            .nth(n)
            .and_then(|t| t.parse::<f64>().ok())
    };
    ticks(11)
        .zip(ticks(12))
        .map_or(f64::NAN, |(user, system)| (user + system) / 100.0)
}

/// The most memory that this program has held.
fn most_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.map_or_else(|| "unknown".to_owned(), |kilobytes| kilobytes.trim().to_owned())
}
