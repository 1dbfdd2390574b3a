//! Repeats of one drill here and in plain vectorised NumPy, in the same run on one core each.
//!
//! `cargo bench --no-default-features --bench beside_numpy` writes the drill's events for the Python program beside
//! this file, runs both and prints the ratio. It needs `python3` with NumPy; without it only our own time is shown.

use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

use serde_json::json;
use smirch::analysis::{Coefficients, Plan, Target, adjoint, mean_interval};
use smirch::chance::Luck;
use smirch::content::Content;
use smirch::drill::Beginning;
use smirch::model::Setup;
use smirch::transfer::Flow;

/// Repeats for our own time.
const REPEATS: u64 = 20_000;

fn main() {
    // A script in which contamination has a real chance of reaching the mucosa, so that an interval can be had.
    let name = "classic-tracer/face-touch";
    let content = Content::builtin().expect("built-in content has no faults");
    let script = &content.scripts[name];
    let scenario = content
        .library
        .scenario(&script.scenario)
        .expect("scripts name scenarios");
    let setup = Arc::new(Setup::new(content.library.clone(), scenario).expect("scenarios can be set up"));
    let beginning = Beginning::draw(&setup, Luck::new(1));
    let plan = Plan::new(&setup, &beginning.state.faults, &script.actions).expect("scripts can be played");
    let wet = &beginning.state.wet_until;
    let mucosa = Target::Mucosa.weights(&setup, &plan.end);

    let began = Instant::now();
    let mut reached = 0_u64;
    for seed in 0..REPEATS {
        let books = plan.run(&beginning, Luck::new(seed));
        reached += u64::from((0..mucosa.len()).any(|s| mucosa[s] > 0.0 && books.any(s)));
    }
    let ours = began.elapsed().as_secs_f64() / REPEATS as f64;
    let p = reached as f64 / REPEATS as f64;
    println!(
        "{name}: {} events, {:.1} us a repeat here, P(mucosa reached) {p:.4}",
        plan.len(),
        ours * 1e6
    );
    println!("{:.1} million touches a second", plan.len() as f64 / ours / 1e6);

    let began = Instant::now();
    let totals = beginning.books.totals();
    let mut law = Vec::new();
    // Until the 95 % interval of the probability is within 1 % of it on either side, looked at now and then.
    let (exact, interval) = loop {
        for _ in 0..law.len().max(200) / 2 {
            let luck = Luck::new(law.len() as u64);
            let worth = adjoint(&plan, wet, &mucosa, Coefficients::Drawn(luck));
            let none: f64 = totals
                .iter()
                .zip(&worth)
                .map(|(&n, &q)| n as f64 * (-q.clamp(0.0, 1.0)).ln_1p())
                .sum();
            law.push(-none.exp_m1());
        }
        let (mean, interval) = mean_interval(&law);
        if interval.high - mean <= 0.01 * mean || law.len() > 1_000_000 {
            break (mean, interval);
        }
    };
    let ours_law = began.elapsed().as_secs_f64();
    println!(
        "exact law: {exact:.4} ({:.4} to {:.4}) after {} draws, {:.1} ms",
        interval.low,
        interval.high,
        law.len(),
        ours_law * 1e3
    );

    let events: Vec<_> = (0..plan.len())
        .map(|i| {
            let (_, event) = plan.event(i);
            let event = plan.event_when(i, wet).unwrap_or(event);
            match &event.flow {
                Flow::Contact { a, b, share_a, share_b, ab, ba, .. } => json!({
                    "kind": "contact", "a": a, "b": b, "share_a": share_a, "share_b": share_b,
                    "ab": [ab.mean, ab.sd], "ba": [ba.mean, ba.sd], "chance": event.chance, "follows": event.follows,
                }),
                Flow::Splash { from, onto, law, .. } => json!({
                    "kind": "contact", "a": from, "b": onto, "share_a": 1.0, "share_b": 0.0,
                    "ab": [law.mean, law.sd], "ba": [0.0, 0.0], "chance": event.chance, "follows": event.follows,
                }),
                Flow::Removal { site, law, .. } => json!({
                    "kind": "removal", "a": site, "mean": law.mean, "sd": law.sd,
                    "missed": [law.missed.mean, law.missed.sd], "partial": law.partial,
                    "chance": event.chance, "follows": event.follows,
                }),
            }
        })
        .collect();
    let sources = beginning.books.sources();
    let drill = json!({
        "sites": setup.sites.len(),
        "start": sources.iter().zip(beginning.books.start()).collect::<Vec<_>>(),
        "target": (0..mucosa.len()).filter(|&s| mucosa[s] > 0.0).collect::<Vec<_>>(),
        "events": events,
    });
    let path = std::env::temp_dir().join(format!("smirch-bench-{}.json", std::process::id()));
    std::fs::write(&path, drill.to_string()).expect("the temporary folder can be written");
    let program = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/numpy_drill.py");
    let output = Command::new("python3")
        .args([program, &path.to_string_lossy()])
        .output();
    let _ = std::fs::remove_file(&path);
    let Ok(output) = output else {
        println!("NumPy was not run: python3 is not here");
        return;
    };
    if !output.status.success() {
        println!(
            "NumPy was not run: {}",
            String::from_utf8_lossy(&output.stderr)
                .lines()
                .last()
                .unwrap_or("")
        );
        return;
    }
    let result: serde_json::Value = serde_json::from_slice(&output.stdout).expect("the program prints JSON");
    let (theirs, reached) = (
        result["seconds_per_repeat"].as_f64().unwrap_or(0.0),
        result["p"].as_f64().unwrap_or(0.0),
    );
    println!(
        "NumPy: {:.1} us a repeat, P(mucosa reached) {reached:.4}",
        theirs * 1e6
    );
    println!("ratio per core: {:.0}", theirs / ours);
    // Counting needs n repeats with 1.96 sqrt(p (1 - p) / n) = 0.01 p.
    let needed = (1.96_f64 / 0.01).powi(2) * (1.0 - exact) / exact;
    println!(
        "to an interval of 1 % either side: {:.0} repeats, {:.2} s by counting in NumPy; ratio {:.0}",
        needed,
        needed * theirs,
        needed * theirs / ours_law
    );
}
