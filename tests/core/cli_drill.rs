//! Drills and replays on the command line: what they write, what they never overwrite, and what they cannot read.

use std::path::Path;

use crate::cli::{run, text};
use crate::fixture::Scratch;

const DRILL: [&str; 4] = ["drill", "classic-tracer", "--script", "no-rub"];

#[test]
fn a_drill_prints_its_score_and_writes_what_was_asked_for() {
    let scratch = Scratch::new("drill");
    let (json, csv, log) = (
        scratch.path("out.json"),
        scratch.path("out.csv"),
        scratch.path("out.log"),
    );
    let files = [
        "--json",
        text(&json),
        "--touches",
        text(&csv),
        "--log",
        text(&log),
        "--seed",
        "7",
    ];
    let said = run(&[&DRILL[..], &files[..]].concat()).ends(0).quietly();
    assert!(!said.out.is_empty(), "{}", said.whole());

    let read =
        |path: &Path| std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let json: serde_json::Value = serde_json::from_str(&read(&json)).unwrap_or_else(|e| panic!("JSON: {e}"));
    assert_eq!(json["seed"], 7);
    assert_eq!(json["scenario"], "classic-tracer");
    assert!(
        json["caution"]
            .as_str()
            .is_some_and(|c| c.contains("not a clinical device"))
    );
    assert!(
        read(&csv).starts_with("step,kind,technique,"),
        "the CSV begins with its column names"
    );

    let replayed = run(&["replay", text(&log)]).ends(0).quietly();
    let books = json["books"].as_str().unwrap_or_default().to_owned();
    replayed.prints(&["15 actions replayed", &books]);
}

#[test]
fn the_same_drill_prints_the_same_and_another_seed_something_else() {
    let with = |seed: &str| run(&[&DRILL[..], &["--seed", seed][..]].concat()).ends(0).out;
    assert_eq!(with("3"), with("3"));
    assert_ne!(with("3"), with("4"));
}

#[test]
fn a_script_is_scored_by_the_sequence_that_it_names_unless_another_is_asked_for() {
    let scratch = Scratch::new("scored");
    let judged_by = |name: &str, more: &[&str]| {
        let out = scratch.path(name);
        run(&[&DRILL[..], &["--json", text(&out)], more].concat()).ends(0);
        let read = std::fs::read_to_string(&out).unwrap_or_else(|e| panic!("{name}: {e}"));
        let json: serde_json::Value = serde_json::from_str(&read).unwrap_or_else(|e| panic!("{name}: {e}"));
        json["score"]["sequence"].as_str().unwrap_or_default().to_owned()
    };
    // The scenario's own sequence is another one.
    assert_eq!(judged_by("own.json", &[]), "uk-agp");
    assert_eq!(judged_by("asked.json", &["--sequence", "manitoba"]), "manitoba");
    let script = scratch.write(
        "unnamed.ron",
        "(format: 1, scenario: \"classic-tracer\", sequence: \"uk-agb\", actions: [])",
    );
    run(&["drill", "classic-tracer", "--script", text(&script)])
        .ends(1)
        .complains(&["unnamed.ron:1:", "uk-agb", "uk-agp"]);
}

#[test]
fn a_log_is_never_overwritten_and_the_message_says_so() {
    let scratch = Scratch::new("kept");
    let log = scratch.write("old.log", "kept\n");
    run(&[&DRILL[..], &["--log", text(&log)][..]].concat())
        .ends(1)
        .complains(&[
            "old.log",
            "a log is never overwritten",
            "hint: choose another name",
        ]);
    assert_eq!(std::fs::read_to_string(&log).unwrap_or_default(), "kept\n");
}

#[test]
fn what_cannot_be_written_is_named() {
    let scratch = Scratch::new("unwritable");
    let into = scratch.path("no/such/folder/out.json");
    let said = run(&[&DRILL[..], &["--json", text(&into)][..]].concat()).ends(1);
    assert!(
        said.err.contains("out.json: cannot be written"),
        "{}",
        said.whole()
    );
    let folder = scratch.path("folder");
    std::fs::create_dir(&folder).unwrap_or_else(|e| panic!("{e}"));
    let said = run(&[&DRILL[..], &["--touches", text(&folder)][..]].concat()).ends(2);
    assert!(said.err.contains("this is a folder"), "{}", said.whole());
}

#[test]
fn a_broken_script_or_scenario_file_ends_with_1_and_its_faults() {
    let scratch = Scratch::new("broken");
    let script = scratch.write(
        "broken.ron",
        "(format: 1, scenario: \"classic-tracer\", actions: [Fly(Up)])",
    );
    run(&["drill", "classic-tracer", "--script", text(&script)])
        .ends(1)
        .complains(&["broken.ron:1:", "Fly", "1 fault"]);
    run(&["drill", text(&script), "--script", "no-rub"])
        .ends(1)
        .complains(&["a scenario was expected"]);
    run(&["drill", "classic-tracer", "--script", "gone.ron"])
        .ends(1)
        .complains(&["gone.ron", "no such file"]);
    run(&["drill", "gone.ron", "--script", "no-rub"])
        .ends(1)
        .complains(&["gone.ron", "no such file"]);
    run(&["--content", "no/such/folder", "list"])
        .ends(1)
        .complains(&["no/such/folder", "cannot be read"]);
}

#[test]
fn an_action_that_is_impossible_in_the_scenario_played_is_a_fault_of_the_script() {
    let scratch = Scratch::new("refused");
    let script = scratch.write(
        "refused.ron",
        "(format: 1, scenario: \"classic-tracer\", actions: [Do(technique: \"gown-peel-inside\", item: \"gown\")])",
    );
    let said = run(&["drill", "classic-tracer", "--script", text(&script)]).ends(1);
    said.complains(&["refused.ron:1:", "still held by its neck tie", "hint:"]);
}

#[test]
fn replay_of_anything_but_a_whole_log_says_what_it_is() {
    let scratch = Scratch::new("replay");
    run(&["replay", "no/such.log"])
        .ends(1)
        .complains(&["no/such.log", "cannot be read"]);
    run(&["replay", text(&scratch.path(""))])
        .ends(1)
        .complains(&["this is a folder"]);
    let csv = scratch.write("touches.csv", "step,kind\n");
    run(&["replay", text(&csv)])
        .ends(1)
        .complains(&["this is no log", "hint:"]);

    let log = scratch.path("whole.log");
    run(&[&DRILL[..], &["--log", text(&log)][..]].concat()).ends(0);
    let whole = std::fs::read(&log).unwrap_or_default();
    let torn = scratch.write("torn.log", &whole[..whole.len() * 9 / 10]);
    let said = run(&["replay", text(&torn)]).ends(0);
    assert!(
        said.err.contains("note: ") && said.err.contains("torn"),
        "{}",
        said.whole()
    );
    said.prints(&["not ended"]);
}
