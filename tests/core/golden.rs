//! Golden digests: every built-in script must end with exactly the same books everywhere and always.
//!
//! Debug and release, one thread and many, this platform and the next: run the suite in each and the file stays.

use std::fmt::Write;
use std::path::Path;

use crate::fixture::{content, play_script};

const SEEDS: [u64; 2] = [1, 20_260];

const HEADER: &str = "\
# The books at the end of every built-in script: script, seed, number of actions, digest.
# Written by `SMIRCH_BLESS=1 cargo test --test core golden`; a changed line is a changed result.
";

fn line(script: &str, seed: u64) -> String {
    let drill = play_script(script, seed);
    format!(
        "{script} {seed} {} {:016x}",
        drill.done().len(),
        drill.books().digest()
    )
}

fn lines() -> Vec<String> {
    content()
        .scripts
        .keys()
        .flat_map(|script| SEEDS.map(|seed| line(script, seed)))
        .collect()
}

#[test]
fn every_built_in_script_ends_with_the_books_on_record() {
    let path = Path::new("tests/data/digests.txt");
    let found = lines();
    if std::env::var_os("SMIRCH_BLESS").is_some_and(|v| v == "1") {
        let text = format!("{HEADER}{}\n", found.join("\n"));
        std::fs::write(path, text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        return;
    }
    let recorded = std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let recorded: Vec<&str> = recorded.lines().filter(|l| !l.starts_with('#')).collect();

    // Script and seed name a line; the rest of it is the result.
    let name = |line: &str| line.splitn(3, ' ').take(2).collect::<Vec<_>>().join(" ");
    let mut differences = String::new();
    let mut count = 0;
    let mut differs = |message: String| {
        count += 1;
        if count <= 12 {
            let _ = writeln!(differences, "  {message}");
        }
    };
    for line in &found {
        match recorded.iter().find(|r| name(r) == name(line)) {
            None => differs(format!("new:      {line}")),
            Some(had) if had != line => differs(format!("recorded: {had}\n  now:      {line}")),
            Some(_) => {}
        }
    }
    for had in &recorded {
        if !found.iter().any(|line| name(line) == name(had)) {
            differs(format!("gone:     {had}"));
        }
    }
    assert!(
        count == 0,
        "the results of {count} of {} played scripts changed (script, seed, actions, digest):\n{differences}\
         \n\
         Every recorded log and every published number that rests on these scripts changes with them.\n\
         If you meant to change content or the model: look at what changed (`smirch drill SCENARIO --script NAME \
         --touches out.csv` before and after), then record the new results on purpose with\n\
         \n    SMIRCH_BLESS=1 cargo test --test core golden\n\
         \n\
         and say why in the commit. If you did not mean to, something now draws luck in another order or under \
         another key, uses a platform's own floating point (use libm), or depends on threads or hash order.",
        found.len()
    );
}

#[test]
fn the_books_are_the_same_when_four_threads_play_at_once() {
    let alone = lines();
    let together: Vec<Vec<String>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(lines)).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().unwrap_or_default())
            .collect()
    });
    for (n, lines) in together.iter().enumerate() {
        for (alone, line) in alone.iter().zip(lines) {
            assert_eq!(
                alone, line,
                "thread {n} of 4 got other books than one thread alone: a drill must share nothing that changes"
            );
        }
        assert_eq!(alone.len(), lines.len(), "thread {n} of 4 did not finish");
    }
}
