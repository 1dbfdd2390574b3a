//! Speed of the core: touches, whole drills, the exact routes. Run with `cargo bench --no-default-features`.

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "tests reach for files and threads as they like"
)]

use std::sync::Arc;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use smirch::analysis::{
    Aim, Coefficients, Contender, Limits, Plan, Progress, Runner, Scope, Start, Target, Way, adjoint, blame,
    by_the_book, compare, expectation, odds, orders,
};
use smirch::chance::Luck;
use smirch::content::Content;
use smirch::drill::{Beginning, Drill};
use smirch::model::{Sequence, Setup};

fn main() {
    divan::main();
}

/// Scripts from a small kit to a large one.
const SCRIPTS: [&str; 3] = [
    "enteric-bay/uk-droplet-good",
    "respiratory-room/uk-agp-good",
    "double-gloves/practice-order-good",
];

struct Case {
    setup: Arc<Setup>,
    actions: Vec<smirch::drill::Action>,
    beginning: Beginning,
    plan: Plan,
}

fn case(name: &str) -> Case {
    let content = Content::builtin().expect("built-in content has no faults");
    let script = &content.scripts[name];
    let scenario = content
        .library
        .scenario(&script.scenario)
        .expect("scripts name scenarios");
    let setup = Arc::new(Setup::new(content.library.clone(), scenario).expect("scenarios can be set up"));
    let beginning = Beginning::draw(&setup, Luck::new(1));
    let plan = Plan::new(&setup, &beginning.state.faults, &script.actions).expect("scripts can be played");
    Case {
        setup,
        actions: script.actions.clone(),
        beginning,
        plan,
    }
}

#[divan::bench(args = SCRIPTS)]
fn a_drill_as_a_trainee_lives_it(bencher: Bencher<'_, '_>, name: &str) {
    let case = case(name);
    bencher.counter(ItemsCount::new(case.plan.len())).bench_local(|| {
        let mut drill = Drill::begin(case.setup.clone(), black_box(1));
        for action in &case.actions {
            drill.act(action.clone()).expect("scripts can be played");
        }
        drill.books().digest()
    });
}

#[divan::bench(args = SCRIPTS)]
fn a_repeat_of_a_planned_drill(bencher: Bencher<'_, '_>, name: &str) {
    let case = case(name);
    let mut seed = 0;
    let mut runner = Runner::new(&case.plan, &case.beginning);
    bencher.counter(ItemsCount::new(case.plan.len())).bench_local(|| {
        seed += 1;
        black_box(runner.run(Luck::new(seed)));
    });
}

#[divan::bench(args = SCRIPTS)]
fn the_exact_expectation(bencher: Bencher<'_, '_>, name: &str) {
    let case = case(name);
    let start: Vec<f64> = case.beginning.books.totals().iter().map(|&n| n as f64).collect();
    bencher.counter(ItemsCount::new(case.plan.len())).bench_local(|| {
        expectation(
            &case.plan,
            &case.beginning.state.wet_until,
            black_box(&start),
            Coefficients::Mean,
        )
    });
}

#[divan::bench(args = SCRIPTS)]
fn the_exact_law_of_one_draw(bencher: Bencher<'_, '_>, name: &str) {
    let case = case(name);
    let aim = Aim::new(&case.setup, &case.plan, Target::Mucosa);
    let moments = aim.linear().expect("it is a sum");
    let mut seed = 0;
    bencher.bench_local(|| {
        seed += 1;
        let with = Coefficients::Drawn(Luck::new(seed));
        adjoint(
            &case.plan,
            &case.beginning.state.wet_until,
            black_box(moments),
            with,
        )
    });
}

#[divan::bench(args = SCRIPTS)]
fn blame_of_every_touch(bencher: Bencher<'_, '_>, name: &str) {
    let case = case(name);
    let start: Vec<f64> = case.beginning.books.totals().iter().map(|&n| n as f64).collect();
    let aim = Aim::new(&case.setup, &case.plan, Target::AnySkin);
    let moments = aim.linear().expect("it is a sum");
    bencher.bench_local(|| {
        blame(
            &case.plan,
            &case.beginning.state.wet_until,
            black_box(&start),
            moments,
        )
    });
}

#[divan::bench]
fn a_thousand_repeats_with_odds(bencher: Bencher<'_, '_>) {
    let case = case("classic-tracer/uk-agp-good");
    let targets: Vec<Target> = Target::ALL.iter().map(|(_, t)| *t).collect();
    bencher.counter(ItemsCount::new(1000_usize)).bench_local(|| {
        odds(
            &case.setup,
            &Way::Script(&case.actions),
            &targets,
            1000,
            1,
            &Progress::default(),
        )
    });
}

#[divan::bench]
fn a_sequence_turned_into_actions(bencher: Bencher<'_, '_>) {
    let case = case("respiratory-room/uk-agp-good");
    let sequence = case
        .setup
        .library
        .sequence("uk-agp")
        .expect("the sequence is built in")
        .clone();
    bencher.bench_local(|| by_the_book(&case.setup, black_box(&sequence)));
}

/// From a small kit to the fullest one, orders of what the policy asks for.
#[divan::bench(args = ["enteric-bay", "classic-tracer", "double-gloves"], sample_count = 3, sample_size = 1)]
fn the_best_orders(bencher: Bencher<'_, '_>, scenario: &str) {
    let content = Content::builtin().expect("built-in content has no faults");
    let scenario = content
        .library
        .scenario(scenario)
        .expect("the scenario is built in");
    let setup = Setup::new(content.library.clone(), scenario).expect("scenarios can be set up");
    let ids = std::iter::once(&scenario.sequence).chain(&scenario.also);
    let sequences: Vec<&Sequence> = ids.filter_map(|id| setup.library.sequence(id)).collect();
    let scope = Scope::policy(&setup, sequences[0]);
    let start = Start::mean(&setup, 100, 1);
    bencher.bench_local(|| {
        let found = orders(
            &setup,
            &sequences,
            &scope,
            black_box(Target::HandsBeforeCleaning),
            &start,
            Limits::default(),
            &Progress::default(),
        );
        found.expect("the kit can be taken off").front.len()
    });
}

/// Two orders over ten thousand repeats with all targets, on all cores: a fixed start, and one drawn with care.
#[divan::bench(args = ["classic-tracer", "respiratory-room"], sample_count = 5)]
fn two_orders_compared(bencher: Bencher<'_, '_>, scenario: &str) {
    const REPEATS: u64 = 10_000;
    let case = case(&format!("{scenario}/uk-agp-good"));
    let other = crate::case(&format!("{scenario}/us-gloves-first-good"));
    let targets: Vec<Target> = Target::ALL.iter().map(|(_, t)| *t).collect();
    let contenders = [&case, &other].map(|case| Contender {
        label: String::new(),
        setup: &case.setup,
        way: Way::Script(&case.actions),
    });
    bencher
        .counter(ItemsCount::new(REPEATS))
        .bench_local(|| compare(&contenders, &targets, REPEATS, black_box(1), &Progress::default()));
}
