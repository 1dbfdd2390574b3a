//! Words that people read: no jargon that nothing explains, and one thing is not told as several.

use std::path::{Path, PathBuf};

use crate::cli::run;

/// Words that nobody reads: `luck` for what is drawn by chance, and the pads of fingers.
const UNREAD: [&str; 3] = ["luck", "finger pad", "fingerpad"];

/// Folders whose text reaches people.
const SPEAK: [&str; 9] = [
    "src/app",
    "src/cli",
    "src/panels",
    "src/view",
    "src/report",
    "src/record",
    "src/drill",
    "src/guidance",
    "src/content",
];

fn files(folder: &Path, ending: &str, out: &mut Vec<PathBuf>) {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    for path in entries.flatten().map(|entry| entry.path()) {
        if path.is_dir() {
            files(&path, ending, out);
        } else if path.extension().is_some_and(|e| e == ending) {
            out.push(path);
        }
    }
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// What stands in double quotes on a line.
fn quoted(line: &str) -> String {
    line.split('"').skip(1).step_by(2).collect::<Vec<_>>().join(" ")
}

#[test]
fn no_jargon_reaches_people() {
    let mut sources = Vec::new();
    SPEAK.iter().for_each(|f| files(Path::new(f), "rs", &mut sources));
    let mut read_by_people = 0;
    for path in sources.iter().filter(|p| !p.ends_with("tests.rs")) {
        // Help texts of the command line are documentation of its fields.
        let help = path.starts_with("src/cli");
        let text = read(path);
        let before_tests = text.split("#[cfg(test)]").next().unwrap_or_default();
        for line in before_tests.lines() {
            let line = line.trim();
            let comment = line.strip_prefix("///").filter(|_| help);
            let said = if line.starts_with("//") {
                comment.unwrap_or_default().to_lowercase()
            } else {
                quoted(line).to_lowercase()
            };
            read_by_people += usize::from(!said.is_empty());
            for word in UNREAD {
                assert!(!said.contains(word), "{}: {line}", path.display());
            }
        }
    }
    let mut content = Vec::new();
    ["assets", "scenarios"]
        .iter()
        .for_each(|f| files(Path::new(f), "ron", &mut content));
    content.push("README.md".into());
    for path in &content {
        let text = read(path).to_lowercase();
        for word in UNREAD {
            assert!(!text.contains(word), "{}: {word}", path.display());
        }
    }
    assert!(read_by_people > 1000, "{read_by_people}: the lines are not found");
}

/// One repeat, one step, one action; and nothing rounds to nought with a sign.
#[test]
fn one_is_not_told_as_several_and_nought_has_no_sign() {
    let commands: [&[&str]; 4] = [
        &[
            "compare",
            "classic-tracer",
            "us-gloves-first",
            "uk-agp",
            "--repeats",
            "1",
        ],
        &[
            "compare",
            "classic-tracer",
            "us-gloves-first",
            "us-2020",
            "--repeats",
            "300",
            "--seed",
            "3",
        ],
        &["odds", "classic-tracer", "--repeats", "1"],
        &[
            "odds",
            "classic-tracer",
            "--sequence",
            "uk-agp",
            "--repeats",
            "1",
            "--trainee",
            "usual",
        ],
    ];
    let mut ones = 0;
    for command in commands {
        let out = run(command).ends(0).out;
        let words: Vec<&str> = out.split_whitespace().collect();
        for pair in words.windows(2) {
            let second = pair[1].trim_end_matches([',', ';', '.', ')']);
            if pair[0].trim_start_matches('(') == "1" {
                ones += 1;
                let several = ["repeats", "steps", "actions", "items", "ways", "people"].contains(&second);
                assert!(!several, "{command:?}: {} {}", pair[0], pair[1]);
            }
        }
        for word in &words {
            let number = word.trim_matches(['(', ')', ',', ';']);
            let nought = number.parse::<f64>().is_ok_and(|n| n == 0.0);
            assert!(!(nought && number.starts_with('-')), "{command:?}: {number}");
        }
    }
    assert!(ones >= 3, "{ones}: no single repeat is told");
}
