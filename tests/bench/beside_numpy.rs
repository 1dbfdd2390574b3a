//! Repeats of one drill, and of two orders beside each other, here and in plain vectorised NumPy in the same run.
//!
//! `cargo bench --no-default-features --bench beside_numpy` writes each drill's events for the Python program beside
//! this file, runs both and prints the ratios. It needs `python3` with NumPy; without it only our own time is shown.

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "tests reach for files and threads as they like"
)]

use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

use serde_json::json;
use smirch::analysis::{
    Aim, Contender, ExactLaw, Plan, Progress, Runner, Target, Way, compare, mean_interval,
};
use smirch::chance::Luck;
use smirch::content::Content;
use smirch::drill::{Action, Beginning};
use smirch::model::Setup;
use smirch::transfer::Flow;

/// Repeats for our own time: so many rounds of so many. The fastest round counts, here and in NumPy, since a machine
/// that does other things slows both down by turns.
const ROUNDS: u64 = 20;
const REPEATS: u64 = 2_500;

/// Full doffings from a small kit to a large one; in those with an itch the mucosa is reached now and then.
const SCRIPTS: [&str; 5] = [
    "enteric-bay/mask-first",
    "respiratory-room/rubbed-eye",
    "classic-tracer/rubbed-eye",
    "respiratory-room/uk-agp-good",
    "double-gloves/practice-order-good",
];

fn main() {
    let content = Content::builtin().expect("built-in content has no faults");
    for name in SCRIPTS {
        beside(&content, name);
    }
    two_orders(
        &content,
        "classic-tracer",
        ["us-gloves-first-good", "uk-agp-good"],
    );
}

/// A script made ready, with one beginning.
struct Case {
    setup: Arc<Setup>,
    actions: Vec<Action>,
    beginning: Beginning,
    plan: Plan,
}

fn case(content: &Content, name: &str) -> Case {
    let script = &content.scripts[name];
    let scenario = content
        .library
        .scenario(&script.scenario)
        .expect("scripts name scenarios");
    let setup = Arc::new(Setup::new(content.library.clone(), scenario).expect("scenarios can be set up"));
    let beginning = Beginning::draw(&setup, Luck::new(1));
    let plan = Plan::new(&setup, &beginning.state.faults, &script.actions).expect("scripts can be played");
    Case {
        actions: script.actions.clone(),
        setup,
        beginning,
        plan,
    }
}

/// Ten thousand repeats of two orders from a fixed start, a class's question: here with the same luck for both and on
/// both targets at once, on all cores and on one; in NumPy each with its own luck, on one target.
fn two_orders(content: &Content, scenario: &str, scripts: [&str; 2]) {
    const TWO: u64 = 10_000;
    let cases = scripts.map(|script| case(content, &format!("{scenario}/{script}")));
    let contenders = [&cases[0], &cases[1]].map(|case| Contender {
        label: String::new(),
        setup: &case.setup,
        way: Way::Script(&case.actions),
    });
    let run = || {
        let targets = [Target::AnySkin, Target::Mucosa];
        compare(&contenders, &targets, TWO, 1, &Progress::default()).expect("both can be played")
    };
    let timed = || {
        let best = (0..5).map(|_| {
            let began = Instant::now();
            std::hint::black_box(run());
            began.elapsed().as_secs_f64()
        });
        best.fold(f64::INFINITY, f64::min)
    };
    let all = timed();
    let one = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("one thread can be had")
        .install(timed);
    let p = run().targets[0]
        .contenders
        .iter()
        .map(|c| c.probability)
        .collect::<Vec<_>>();
    println!(
        "{scenario}, {} and {}: {TWO} repeats of both",
        scripts[0], scripts[1]
    );
    println!(
        "  here:  {all:.3} s on {} cores, {one:.3} s on one, P(skin reached) {p:.4?}",
        rayon::current_num_threads()
    );
    let drills = cases.each_ref().map(|case| {
        let skin = Target::AnySkin.weights(&case.setup, &case.plan.end);
        exported(&case.setup, &case.beginning, &case.plan, &skin)
    });
    if let Some(result) = numpy(&drills) {
        let theirs = result["seconds"].as_f64().unwrap_or(f64::NAN);
        println!("  NumPy: {theirs:.2} s on one, P(skin reached) {}", result["p"]);
        println!("  ratio: {:.0}, per core {:.0}", theirs / all, theirs / one);
    }
}

fn beside(content: &Content, name: &str) {
    let Case {
        setup,
        beginning,
        plan,
        ..
    } = case(content, name);
    let mucosa = Target::Mucosa.weights(&setup, &plan.end);

    let mut runner = Runner::new(&plan, &beginning);
    let (mut reached, mut ours) = (0_u64, f64::INFINITY);
    for round in 0..ROUNDS {
        let began = Instant::now();
        for seed in 0..REPEATS {
            let books = runner.run(Luck::new(round * REPEATS + seed));
            reached += u64::from((0..mucosa.len()).any(|s| mucosa[s] > 0.0 && books.any(s)));
        }
        ours = ours.min(began.elapsed().as_secs_f64() / REPEATS as f64);
    }
    println!(
        "{name}: {} events, {} sites, {} sources",
        plan.len(),
        setup.sites.len(),
        beginning.books.sources().len()
    );
    println!(
        "  here:  {:.2} us a repeat, {:.0} million touches a second, P(mucosa reached) {:.4}",
        ours * 1e6,
        plan.len() as f64 / ours / 1e6,
        reached as f64 / (ROUNDS * REPEATS) as f64
    );
    let law = exact_law(&plan, &beginning, &Aim::new(&setup, &plan, Target::Mucosa));
    let Some(result) = numpy(&[exported(&setup, &beginning, &plan, &mucosa)]) else {
        return;
    };
    let [theirs, p] = ["seconds_per_repeat", "p"].map(|key| result[key].as_f64().unwrap_or(f64::NAN));
    println!(
        "  NumPy: {:.1} us a repeat, P(mucosa reached) {p:.4}",
        theirs * 1e6
    );
    println!("  ratio per core: {:.0}", theirs / ours);
    if let Some((exact, seconds)) = law {
        // Counting needs n repeats with 1.96 sqrt(p (1 - p) / n) = 0.01 p.
        let needed = (1.96_f64 / 0.01).powi(2) * (1.0 - exact) / exact;
        println!(
            "  to an interval of 1 % of it either side: {needed:.0} repeats, {:.2} s by counting in NumPy; ratio {:.0}",
            needed * theirs,
            needed * theirs / seconds
        );
    }
}

/// The probability by the exact law, to a 95 % interval within 1 % of it on either side, and how long that takes, s.
/// None where the mucosa is hardly ever reached, so that neither way gets there.
fn exact_law(plan: &Plan, beginning: &Beginning, mucosa: &Aim) -> Option<(f64, f64)> {
    let began = Instant::now();
    let mut law = ExactLaw::new(plan, beginning, std::slice::from_ref(mucosa));
    let mut draws: Vec<f64> = Vec::new();
    loop {
        // Looked at now and then.
        for _ in 0..draws.len().max(200) / 2 {
            draws.push(law.reached(Luck::new(draws.len() as u64))[0]);
        }
        let (mean, interval) = mean_interval(&draws);
        if mean > 0.0 && interval.high - mean <= 0.01 * mean {
            let seconds = began.elapsed().as_secs_f64();
            println!(
                "  exact law: {mean:.5} ({:.5} to {:.5}) after {} draws of {} events that matter, {:.1} ms",
                interval.low,
                interval.high,
                draws.len(),
                law.len(),
                seconds * 1e3
            );
            return Some((mean, seconds));
        }
        if draws.len() > 5_000_000 {
            println!("  exact law: {mean:.2e}, too seldom for an interval of 1 % of it");
            return None;
        }
    }
}

/// A drill's events as the program in Python reads them.
fn exported(setup: &Setup, beginning: &Beginning, plan: &Plan, target: &[f64]) -> serde_json::Value {
    let wet = &beginning.state.wet_until;
    let events: Vec<_> = (0..plan.len())
        .filter_map(|i| plan.event_when(i, wet))
        .map(|event| match &event.flow {
            Flow::Contact {
                a,
                b,
                share_a,
                share_b,
                ab,
                ba,
                ..
            } => json!({
                "kind": "contact", "a": a, "b": b, "share_a": share_a, "share_b": share_b,
                "ab": [ab.mean, ab.sd], "ba": [ba.mean, ba.sd], "chance": event.chance, "follows": event.follows,
                "people": event.extent.as_ref().map(|e| e.people), "goes": event.extent.as_ref().map(|e| e.go),
            }),
            Flow::Splash { from, onto, law, .. } => json!({
                "kind": "contact", "a": from, "b": onto, "share_a": 1.0, "share_b": 0.0,
                "ab": [law.mean, law.sd], "ba": [0.0, 0.0], "chance": event.chance, "follows": event.follows, "people": null,
            }),
            Flow::Removal { site, law, .. } => json!({
                "kind": "removal", "a": site, "mean": law.mean, "sd": law.sd,
                "missed": [law.missed.mean, law.missed.sd], "partial": law.partial,
                "chance": event.chance, "follows": event.follows,
            }),
        })
        .collect();
    json!({
        "sites": setup.sites.len(),
        "start": beginning.books.sources().iter().zip(beginning.books.start()).collect::<Vec<_>>(),
        "target": (0..target.len()).filter(|&s| target[s] > 0.0).collect::<Vec<_>>(),
        "events": events,
    })
}

/// What the program in Python finds; none if it or NumPy is not here.
fn numpy(drills: &[serde_json::Value]) -> Option<serde_json::Value> {
    let path = std::env::temp_dir().join(format!("smirch-bench-{}.json", std::process::id()));
    std::fs::write(&path, json!(drills).to_string()).expect("the temporary folder can be written");
    let program = "tests/bench/numpy_drill.py";
    let output = Command::new("python3")
        .args([program, &path.to_string_lossy()])
        .output();
    let _ = std::fs::remove_file(&path);
    let Ok(output) = output else {
        println!("  NumPy was not run: python3 is not here");
        return None;
    };
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        println!("  NumPy was not run: {}", said.lines().last().unwrap_or(""));
        return None;
    }
    Some(serde_json::from_slice(&output.stdout).expect("the program prints JSON"))
}
