//! Broken content: whatever is in a file, checking it ends in faults with places, never in a panic; and what is found
//! to be without fault can be played.

use std::sync::Arc;

use proptest::prelude::*;
use smirch::content::Checked;
use smirch::content::fault::Fault;
use smirch::drill::Drill;
use smirch::model::Setup;

use crate::fixture::{Dice, Scratch, content};

/// Every content file that the program carries, from the sources: path and text.
pub fn files() -> &'static [(String, String)] {
    static FILES: std::sync::LazyLock<Vec<(String, String)>> = std::sync::LazyLock::new(|| {
        let mut found = Vec::new();
        let mut folders = vec![std::path::PathBuf::from("assets"), "scenarios".into()];
        while let Some(folder) = folders.pop() {
            let entries = std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
            for path in entries.flatten().map(|entry| entry.path()) {
                if path.is_dir() {
                    folders.push(path);
                } else if path.extension().is_some_and(|e| e == "ron") {
                    let text =
                        std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
                    found.push((path.display().to_string(), text));
                }
            }
        }
        found.sort();
        found
    });
    &FILES
}

/// One way to spoil a text: a sort and where, in thousandths of its length or as seeds for choosing.
type Spoil = (u8, u16, u16);

const BITS: [&str; 30] = [
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    "\"",
    "'",
    "#",
    "//",
    "/*",
    "*/",
    "\\",
    "r#\"",
    "-",
    "1e999",
    "NaN",
    "-0.0",
    "99999999999999999999",
    "0x",
    "Some(",
    "\u{0}",
    "\u{202e}",
    "\u{1b}[31m",
    "\u{1F9A0}",
    "\t",
    "\r",
    "format: 7,",
];

fn spoil(text: &str, (sort, x, y): Spoil) -> String {
    let at = |n: u16| text.floor_char_boundary(text.len() * usize::from(n) / 65_536);
    let (a, b) = (at(x.min(y)), at(x.max(y)));
    let bit = BITS[usize::from(y) % BITS.len()];
    match sort % 8 {
        // A bit put in, a little cut out, the end lost, a piece doubled, two words exchanged, numbers changed.
        0 | 1 => format!("{}{bit}{}", &text[..a], &text[a..]),
        2 => {
            let end = text.floor_char_boundary((a + 1 + usize::from(y) % 30).min(text.len()));
            format!("{}{}", &text[..a], &text[end..])
        }
        3 => text[..a].to_owned(),
        4 => {
            let end = text.floor_char_boundary((a + usize::from(y) % 300).min(text.len()));
            format!("{}{}{}", &text[..end], &text[a..end], &text[end..])
        }
        5 => {
            let words: Vec<&str> = text.split_whitespace().collect();
            if words.is_empty() {
                return text.to_owned();
            }
            let (one, other) = (
                words[usize::from(x) % words.len()],
                words[usize::from(y) % words.len()],
            );
            text.replacen(one, other, 1)
        }
        6 => {
            let digits: Vec<usize> = text
                .match_indices(|c: char| c.is_ascii_digit())
                .map(|(i, _)| i)
                .collect();
            let Some(&at) = digits.get(usize::from(x) % digits.len().max(1)) else {
                return text.to_owned();
            };
            format!(
                "{}{}{}",
                &text[..at],
                ["-3", "1e12", "0", "1e-320", "7.5", "4294967296"][usize::from(y) % 6],
                &text[at + 1..]
            )
        }
        _ => format!("{}{}", &text[..a], &text[b..]),
    }
}

/// What must hold of every fault: words, and a place inside the text if it has one.
fn well_formed(fault: &Fault, text: &str) -> Result<(), TestCaseError> {
    prop_assert!(!fault.brief.is_empty(), "a fault without words: {fault:?}");
    prop_assert!(
        fault.hint.len() > 8,
        "a fault that does not say what to do: {fault:?}"
    );
    prop_assert!(
        fault.line <= text.lines().count() + 1,
        "line {} is beyond the end: {fault}",
        fault.line
    );
    let shown = fault.to_string();
    let control = shown.chars().find(|c| c.is_control() && *c != '\n');
    prop_assert!(
        control.is_none(),
        "a fault sends {control:?} to the terminal: {shown:?}"
    );
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_spoiled_file_ends_in_faults_with_places_or_can_be_played(
        file in any::<prop::sample::Index>(),
        spoils in prop::collection::vec(any::<Spoil>(), 1..4),
    ) {
        let (name, text) = file.get(files());
        let spoiled = spoils.into_iter().fold(text.clone(), |text, how| spoil(&text, how));
        let scratch = Scratch::new("spoiled");
        let path = scratch.write("spoiled.ron", &spoiled);
        let Checked { read, faults, .. } = content().check(std::slice::from_ref(&path));
        for fault in &faults {
            well_formed(fault, &spoiled)?;
        }
        prop_assert!(read == 1 || !faults.is_empty(), "{name}: neither read nor faulted");
        // A scenario in which nothing was found must be one that can be set up and begun.
        if faults.is_empty()
            && name.contains("scenarios/")
            && !name.contains("scripts/")
            && let Ok((with, id)) = content().scenario_file(&path)
        {
            let scenario = with.library.scenario(&id).cloned();
            let setup = scenario.map(|s| Setup::new(with.library.clone(), &s));
            let Some(Ok(setup)) = setup else {
                return Err(TestCaseError::fail(format!("{name}: passes the check, cannot be set up: {setup:?}")));
            };
            let drill = Drill::begin(Arc::new(setup), 1);
            prop_assert_eq!(drill.books().balance(), Ok(()));
        }
    }
}

/// Random bytes are no content either, and neither is a file without end.
#[test]
fn noise_and_huge_files_end_in_one_clear_fault() {
    let scratch = Scratch::new("noise");
    let mut dice = Dice(11);
    for n in 0..200 {
        let bytes: Vec<u8> = (0..dice.below(2000)).map(|_| dice.next() as u8).collect();
        let path = scratch.write("noise.ron", &bytes);
        let faults = content().check(&[path]).faults;
        assert!(!faults.is_empty(), "noise {n} passed as content");
    }
    let cases: [(&str, Vec<u8>); 5] = [
        ("larger than", b"(".repeat(5 << 20)),
        ("nested", b"(a:".repeat(100_000)),
        ("not text", b"(\0)".to_vec()),
        ("UTF-16", b"\xff\xfe(\0)\0".to_vec()),
        ("", Vec::new()),
    ];
    for (words, bytes) in cases {
        let path = scratch.write("huge.ron", bytes);
        let faults = content().check(&[path]).faults;
        let all: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert!(
            !all.is_empty(),
            "a file that should be faulted for being {words:?} passed"
        );
        assert!(
            words.is_empty() || all.iter().any(|f| f.contains(words)),
            "no word of {words:?} in {all:?}"
        );
    }
}
