//! What commands write: never over what they read, never over a log or content, always whole; and attempts are listed.

use std::path::Path;

use crate::cli::{run, text};
use crate::fixture::{Scratch, content};

const SCRIPT: &str = "(format: 1, scenario: \"classic-tracer\", label: \"one\", actions: [Do(technique: \"glove-snatch\", item: \"left-glove\")])";

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn nothing_is_written_over_what_is_read() {
    let scratch = Scratch::new("over");
    let script = scratch.write("script.txt", SCRIPT);
    let scenario = scratch.write("scenario.txt", &content().scenario_texts["classic-tracer"]);
    let log = scratch.path("attempt.jsonl");
    let script_text = text(&script);
    let refused = |arguments: &[&str], words: &[&str], kept: &Path| {
        let before = read(kept);
        run(arguments).ends(2).complains(words);
        assert_eq!(
            read(kept),
            before,
            "smirch {arguments:?} changed {}",
            kept.display()
        );
    };
    for flag in ["--json", "--touches"] {
        refused(
            &[
                "drill",
                "classic-tracer",
                "--script",
                script_text,
                flag,
                script_text,
            ],
            &[flag, "which this command reads", "hint:"],
            &script,
        );
        refused(
            &[
                "drill",
                "./../over.ron",
                "--script",
                script_text,
                &format!("{flag}={script_text}"),
            ],
            &["which this command reads"],
            &script,
        );
    }
    refused(
        &["orders", text(&scenario), "--svg", text(&scenario)],
        &["--svg", "which this command reads"],
        &scenario,
    );
    refused(
        &[
            "compare",
            "classic-tracer",
            script_text,
            "uk-agp",
            "--csv",
            script_text,
        ],
        &["--csv", "which this command reads"],
        &script,
    );
    refused(
        &["picture", text(&scenario), "--out", text(&scenario)],
        &["--out", "which this command reads"],
        &scenario,
    );
    let both = text(&scratch.path("both.out")).to_owned();
    run(&[
        "drill",
        "classic-tracer",
        "--script",
        script_text,
        "--json",
        &both,
        "--touches",
        &both,
    ])
    .ends(2)
    .complains(&["--json", "--touches", "both write"]);
    // Logs and content files are kept whatever was asked.
    run(&[
        "drill",
        "classic-tracer",
        "--script",
        script_text,
        "--log",
        text(&log),
    ])
    .ends(0);
    let mine = scratch.write("mine.ron", "(format: 1)");
    for (kept, words) in [(&log, "the log of an attempt"), (&mine, "a content file")] {
        let before = read(kept);
        let said = run(&[
            "drill",
            "classic-tracer",
            "--script",
            script_text,
            "--json",
            text(kept),
        ])
        .ends(2);
        assert!(said.err.contains(words), "{}", said.whole());
        assert_eq!(read(kept), before);
    }
}

#[cfg(unix)]
#[test]
fn a_link_to_what_is_read_is_what_is_read_and_other_links_stay() {
    let scratch = Scratch::new("links");
    let script = scratch.write("script.txt", SCRIPT);
    let (soft, hard) = (scratch.path("soft.json"), scratch.path("hard.json"));
    std::os::unix::fs::symlink(&script, &soft).unwrap_or_else(|e| panic!("{e}"));
    std::fs::hard_link(&script, &hard).unwrap_or_else(|e| panic!("{e}"));
    for link in [&soft, &hard] {
        run(&[
            "drill",
            "classic-tracer",
            "--script",
            text(&script),
            "--json",
            text(link),
        ])
        .ends(2)
        .complains(&["which this command reads"]);
        assert_eq!(read(&script), SCRIPT);
    }
    let (real, link) = (scratch.write("real.json", "old"), scratch.path("link.json"));
    std::os::unix::fs::symlink("real.json", &link).unwrap_or_else(|e| panic!("{e}"));
    run(&[
        "drill",
        "classic-tracer",
        "--script",
        text(&script),
        "--json",
        text(&link),
    ])
    .ends(0);
    assert!(link.is_symlink(), "the link was replaced");
    assert!(
        read(&real).contains("classic-tracer"),
        "what the link leads to was not written"
    );
}

#[test]
fn a_script_that_is_not_known_names_the_nearest_and_not_everything() {
    let unknown = |name: &str| {
        let said = run(&["drill", "classic-tracer", "--script", name]).ends(2);
        let hint = said
            .err
            .lines()
            .find(|l| l.contains("hint:"))
            .unwrap_or_default()
            .to_owned();
        assert!(!hint.is_empty(), "{}", said.whole());
        hint
    };
    let near = unknown("no-rubb");
    assert!(near.ends_with("`no-rub`"), "{near}");
    assert!(unknown("classic-tracer/no-rob").contains("`classic-tracer/no-rub`"));
    // A script of another scenario is named with it.
    let elsewhere = content()
        .scripts
        .keys()
        .filter_map(|name| name.split_once('/'))
        .find(|(whose, short)| {
            *whose != "classic-tracer" && !content().scripts.contains_key(&format!("classic-tracer/{short}"))
        });
    let (whose, short) = elsewhere.unwrap_or_else(|| panic!("all scenarios have the same scripts"));
    let hint = unknown(&format!("{short}x"));
    assert!(
        hint.contains(&format!("{short}`")) && hint.contains('/'),
        "{whose}/{short}: {hint}"
    );
    let nothing = unknown("zzzzzzzzzzzzzzzz");
    assert!(
        nothing.contains("no-rub") && nothing.contains("smirch list scripts") && !nothing.contains("enteric"),
        "{nothing}"
    );
}

#[test]
fn recorded_attempts_are_listed_with_date_sequence_and_marks() {
    let scratch = Scratch::new("attempts");
    let play = |name: &str, script: &str, sequence: &str| {
        let log = scratch.path(name);
        run(&[
            "drill",
            "classic-tracer",
            "--script",
            script,
            "--sequence",
            sequence,
            "--log",
            text(&log),
        ])
        .ends(0);
        log
    };
    let whole = play("whole.jsonl", "uk-agp-good", "uk-agp");
    let broken_off = play("broken-off.jsonl", "no-rub", "us-2020");
    let erred = play("erred.jsonl", "no-rub", "uk-agp");
    let lines = |path: &Path| read(path).lines().map(str::to_owned).collect::<Vec<_>>();
    let first = lines(&broken_off)[..4].join("\n");
    std::fs::write(&broken_off, format!("{first}\n")).unwrap_or_else(|e| panic!("{e}"));
    let empty = scratch.write("empty.jsonl", format!("{}\n", lines(&whole)[0]));
    let folder = whole.parent().unwrap_or_else(|| panic!("it lies in a folder"));
    let said = run(&["--logs", text(folder), "list", "attempts"])
        .ends(0)
        .quietly();
    let row = |path: &Path| {
        let start = format!("{}\t", path.display());
        said.out
            .lines()
            .find(|l| l.starts_with(&start))
            .map(str::to_owned)
    };
    let library = &content().library;
    let label = |id: &str| library.sequence(id).map_or(String::new(), |s| s.label.clone());
    let marks = read(&whole)
        .lines()
        .last()
        .and_then(|line| serde_json::from_str::<serde_json::Value>(line).ok())
        .and_then(|end| end["marks"].as_f64())
        .unwrap_or_else(|| panic!("the end has no marks"));
    for (path, words) in [
        (
            &whole,
            vec![
                label("uk-agp"),
                format!("{marks} of 100 marks"),
                "finished".to_owned(),
                "Just now".to_owned(),
            ],
        ),
        (&erred, vec!["no marks: ".to_owned(), "critical error".to_owned()]),
        (
            &broken_off,
            vec![label("us-2020"), "not finished, 3 steps".to_owned()],
        ),
    ] {
        let row = row(path).unwrap_or_else(|| panic!("{} is not listed: {}", path.display(), said.whole()));
        for word in words {
            assert!(row.contains(&word), "{row:?} lacks {word:?}");
        }
    }
    assert_eq!(
        row(&empty),
        None,
        "an attempt in which nothing was done is left out"
    );
    // The marks of the list are those of the replay.
    run(&["replay", text(&whole)])
        .ends(0)
        .quietly()
        .prints(&[&format!("{marks}")]);
}

#[test]
fn a_replay_is_scored_by_the_sequence_of_the_drill() {
    let scratch = Scratch::new("scored");
    for sequence in ["uk-agp", "us-2020", "manitoba", "us-gloves-first"] {
        let log = scratch.path(&format!("{sequence}.jsonl"));
        let drill = [
            "drill",
            "classic-tracer",
            "--script",
            "no-rub",
            "--sequence",
            sequence,
            "--log",
            text(&log),
        ];
        let played = run(&drill).ends(0);
        let again = run(&["replay", text(&log)]).ends(0).quietly();
        assert!(
            again.out.ends_with(&played.out),
            "judged by {sequence}, then otherwise:\n{}\n{}",
            played.whole(),
            again.whole()
        );
    }
}
