//! The NumPy twin: the same arithmetic written a second time in another language, from the exported files alone.
//!
//! Runs where `python3` with NumPy is there; otherwise it says that it was skipped, and fails if the environment has
//! `SMIRCH_TWIN=required`.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Output};

use smirch::analysis::{Coefficients, Plan, expectation};
use smirch::drill::{Action, Drill};

use crate::fixture::{Scratch, content, play_script, spattered};
use crate::ledger::exports;

/// True if the twin can run here; says so if not.
fn twin_is_here() -> bool {
    let there = Command::new("python3")
        .args(["-c", "import numpy"])
        .output()
        .is_ok_and(|output| output.status.success());
    if !there {
        let required = std::env::var_os("SMIRCH_TWIN").is_some_and(|v| v == "required");
        assert!(
            !required,
            "SMIRCH_TWIN=required, but there is no python3 with numpy: `pip install numpy`"
        );
        println!("skipped: there is no python3 with numpy");
    }
    there
}

fn run_twin(json: &Path, csv: &Path) -> Output {
    let script = Path::new("tests/twin/twin.py");
    Command::new("python3")
        .arg(script)
        .args([json, csv])
        .output()
        .unwrap_or_else(|e| panic!("the twin does not run: {e}"))
}

/// Expected end counts by site, as the twin works them out from the exports of a drill.
fn twin_expects(drill: &Drill) -> BTreeMap<String, f64> {
    let scratch = Scratch::new("twin");
    let (json, csv) = exports(drill);
    let output = run_twin(
        &scratch.write("attempt.json", json),
        &scratch.write("touches.csv", csv),
    );
    let (out, err) = (
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr),
    );
    assert!(
        output.status.success(),
        "{}, seed {}: the twin disagrees: {err}",
        drill.setup().scenario.id,
        drill.seed()
    );
    out.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let mean = cells.get(3).and_then(|cell| cell.parse().ok());
            (
                cells[0].to_owned(),
                mean.unwrap_or_else(|| panic!("the twin printed {line:?}")),
            )
        })
        .collect()
}

#[test]
fn the_twin_agrees_with_end_counts_and_expectations() {
    if !twin_is_here() {
        return;
    }
    let spattered = |actions: &[Action], seed: u64| {
        let mut drill = Drill::begin(spattered(), seed);
        for action in actions {
            drill.act(action.clone()).unwrap_or_else(|e| panic!("{e}"));
        }
        drill
    };
    for name in [
        "spattered-gown/gown-by-front",
        "classic-tracer/slip-after-slip",
        "classic-tracer/us-gown-with-gloves-good",
        "respiratory-room/rubbed-eye",
        "enteric-bay/hurried",
        "double-gloves/double-glove-order-good",
    ] {
        // Among these seeds some have faults, whose leaks follow the touch before them.
        for seed in 1..=4 {
            let drill = match name.strip_prefix("spattered-gown/") {
                Some(script) => {
                    let known = &content().scripts[&format!("classic-tracer/{script}")];
                    spattered(&known.actions, seed)
                }
                None => play_script(name, seed),
            };
            let twin = twin_expects(&drill);
            let setup = drill.setup();
            let beginning = drill.beginning();
            let actions: Vec<_> = drill.done().iter().map(|done| done.action.clone()).collect();
            let plan = Plan::new(setup, &beginning.state.faults, &actions)
                .unwrap_or_else(|e| panic!("{name}, seed {seed}: no plan: {e:?}"));
            let start: Vec<f64> = beginning
                .books
                .totals()
                .iter()
                .map(|&count| count as f64)
                .collect();
            let own = expectation(&plan, &beginning.state.wet_until, &start, Coefficients::Mean);
            let total: f64 = start.iter().sum();
            for (site, &own) in setup.sites.iter().zip(&own) {
                let twin = twin.get(&site.id).copied().unwrap_or(0.0);
                assert!(
                    (own - twin).abs() <= 1e-9 * twin.max(1e-6 * total),
                    "{name}, seed {seed}: `{}` ends with {own} on average by `expectation`, with {twin} by the twin",
                    site.id
                );
            }
        }
    }
}

/// Many drills from the same start must average to what the twin expects.
#[test]
fn the_average_of_many_drills_is_what_the_twin_expects() {
    if !twin_is_here() {
        return;
    }
    let name = "classic-tracer/snatched-gloves-no-rub";
    // Fixed loads: only faults make starts differ, so drills without any have one start.
    let drills: Vec<Drill> = (1..=900)
        .map(|seed| play_script(name, seed))
        .filter(|drill| drill.beginning().state.faults.is_empty())
        .collect();
    let first = drills
        .first()
        .unwrap_or_else(|| panic!("{name}: a fault in every drill"));
    let twin = twin_expects(first);
    let setup = first.setup();
    let n = drills.len() as f64;
    let mut compared = 0;
    for (index, site) in setup.sites.iter().enumerate() {
        let counts: Vec<f64> = drills
            .iter()
            .map(|drill| drill.books().total(index) as f64)
            .collect();
        let mean = counts.iter().sum::<f64>() / n;
        let variance = counts.iter().map(|c| (c - mean).powi(2)).sum::<f64>() / (n - 1.0);
        let expected = twin.get(&site.id).copied().unwrap_or(0.0);
        // Where drills rarely leave anything the normal interval means little; the bulk is compared.
        let some = counts.iter().filter(|&&c| c > 0.0).count();
        if some < 100 {
            continue;
        }
        compared += 1;
        // Where nothing moves there is no sampling error, and means of events that may happen round in the last digits.
        let error = (variance / n).sqrt();
        assert!(
            (mean - expected).abs() <= 5.0 * error + 1e-9 * expected,
            "{name}: `{}` ends with {mean:.3} on average of {n} drills (standard error {error:.3}); the twin expects \
             {expected:.3}. Draws and means no longer belong together, or events that happen together are not grouped.",
            site.id
        );
    }
    assert!(compared >= 20, "only {compared} sites carried enough to compare");
}

#[test]
fn the_twin_notices_a_doctored_count() {
    if !twin_is_here() {
        return;
    }
    let (json, csv) = exports(&play_script("classic-tracer/no-rub", 1));
    let scratch = Scratch::new("doctored");
    let (json, csv) = (scratch.write("attempt.json", json), csv.trim_end().to_owned());
    // One touch left out: the last row that moved something.
    let lines: Vec<&str> = csv.lines().collect();
    let moved = |line: &&str| {
        line.split(',')
            .nth(17)
            .is_some_and(|cell| !matches!(cell, "" | "0" | "moved_ab"))
    };
    let last = lines
        .iter()
        .rposition(moved)
        .unwrap_or_else(|| panic!("nothing moved"));
    let short: Vec<&str> = lines
        .iter()
        .enumerate()
        .filter(|(n, _)| *n != last)
        .map(|(_, line)| *line)
        .collect();
    let output = run_twin(&json, &scratch.write("touches.csv", short.join("\n")));
    let err = String::from_utf8_lossy(&output.stderr);
    assert_eq!(
        output.status.code(),
        Some(1),
        "a touch was left out and the twin did not notice: {err}"
    );
    assert!(
        err.contains("by the JSON, but with"),
        "the twin does not say what differs: {err}"
    );
}

/// The plan behind the expectations is the drill's: the same books to the last organism.
#[test]
fn a_plan_runs_to_the_books_of_the_drill() {
    for (name, script) in &content().scripts {
        for seed in [1, 8] {
            let drill = play_script(name, seed);
            let beginning = drill.beginning();
            let plan = Plan::new(drill.setup(), &beginning.state.faults, &script.actions)
                .unwrap_or_else(|e| panic!("{name}, seed {seed}: no plan: {e:?}"));
            let books = plan.run(beginning, smirch::chance::Luck::new(seed));
            assert!(
                books == *drill.books(),
                "{name}, seed {seed}: the plan's books are not the drill's"
            );
        }
    }
}
