//! Broken content: whatever is in a file, checking it ends in faults with places, never in a panic; and what is found
//! to be without fault can be played.

use std::sync::Arc;

use proptest::prelude::*;
use smirch::content::fault::Fault;
use smirch::drill::Drill;
use smirch::model::Setup;

use crate::fixture::{Dice, Scratch, content};

/// Every content file that the program carries, from the sources: path and text.
fn files() -> &'static [(String, String)] {
    static FILES: std::sync::LazyLock<Vec<(String, String)>> = std::sync::LazyLock::new(|| {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut found = Vec::new();
        let mut folders = vec![root.join("assets"), root.join("scenarios")];
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
        let (read, faults) = content().check(std::slice::from_ref(&path));
        for fault in &faults {
            well_formed(fault, &spoiled)?;
        }
        prop_assert!(read == 1 || !faults.is_empty(), "{name}: neither read nor faulted");
        // A scenario in which nothing was found must be one that can be set up and begun.
        if faults.is_empty() && name.contains("scenarios/") && !name.contains("scripts/") {
            if let Ok((with, id)) = content().scenario_file(&path) {
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
}

/// Random bytes are no content either, and neither is a file without end.
#[test]
fn noise_and_huge_files_end_in_one_clear_fault() {
    let scratch = Scratch::new("noise");
    let mut dice = Dice(11);
    for n in 0..200 {
        let bytes: Vec<u8> = (0..dice.below(2000)).map(|_| dice.next() as u8).collect();
        let path = scratch.write("noise.ron", &bytes);
        let (_, faults) = content().check(&[path]);
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
        let (_, faults) = content().check(&[path]);
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

/// A fault that was planted: the text to find and what to put there, then what must be said of it.
struct Planted {
    find: &'static str,
    put: &'static str,
    at: &'static str,
    brief: &'static str,
    hint: &'static str,
}

/// Plants all faults in one file and expects each to be reported at its line and column, with its hint.
fn all_are_found(name: &str, planted: &[Planted]) {
    let (path, text) = files()
        .iter()
        .find(|(path, _)| path.ends_with(name))
        .unwrap_or_else(|| panic!("there is no content file {name}"));
    let mut spoiled = text.clone();
    for p in planted {
        assert!(
            spoiled.contains(p.find),
            "{path} no longer holds {:?}, in which a fault is planted here",
            p.find
        );
        spoiled = spoiled.replacen(p.find, p.put, 1);
    }
    let scratch = Scratch::new("planted");
    let file = scratch.write("planted.ron", &spoiled);
    let (_, faults) = content().check(std::slice::from_ref(&file));
    let shown: String = faults.iter().map(|f| format!("{f}\n")).collect();
    for p in planted {
        let put = spoiled
            .find(p.put)
            .unwrap_or_else(|| panic!("{:?} was not planted", p.put));
        let inside = p
            .put
            .find(p.at)
            .unwrap_or_else(|| panic!("{:?} is not in {:?}", p.at, p.put));
        let before = &spoiled[..put + inside];
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|&c| c != '\n').count() + 1;
        let place = format!("{}:{line}:{column}: ", file.display());
        let found = faults.iter().find(|f| f.to_string().starts_with(&place));
        let found =
            found.unwrap_or_else(|| panic!("nothing is reported at {place}{}\n\nall:\n{shown}", p.brief));
        assert!(
            found.brief.contains(p.brief),
            "at {place}\"{}\" does not say \"{}\"",
            found.brief,
            p.brief
        );
        let hint = found.hint.clone().unwrap_or_default();
        assert!(
            hint.contains(p.hint),
            "at {place}the hint \"{hint}\" does not say \"{}\"",
            p.hint
        );
    }
    assert_eq!(
        faults.len(),
        planted.len(),
        "{} faults were planted, these were found:\n{shown}",
        planted.len()
    );
}

#[test]
fn every_fault_planted_in_a_scenario_is_found_where_it_stands() {
    all_are_found(
        "scenarios/classic-tracer.ron",
        &[
            Planted {
                find: "sequence: \"us-gloves-first\"",
                put: "sequence: \"us-glove-first\"",
                at: "\"us-glove-first\"",
                brief: "unknown sequence `us-glove-first`",
                hint: "`us-gloves-first`",
            },
            Planted {
                find: "\"left-glove-palm\"",
                put: "\"left-glove-plam\"",
                at: "\"left-glove-plam\"",
                brief: "unknown site `left-glove-plam`",
                hint: "`left-glove-palm`",
            },
            Planted {
                find: "amount: 8000,",
                put: "amount: -8000,",
                at: "-8000",
                brief: "",
                hint: "",
            },
            Planted {
                find: "fault: \"cuff-gap\"",
                put: "fault: \"cuf-gap\"",
                at: "\"cuf-gap\"",
                brief: "unknown fault `cuf-gap`",
                hint: "`cuff-gap`",
            },
            Planted {
                find: "chance: 0.05",
                put: "chance: 1.05",
                at: "1.05",
                brief: "1",
                hint: "",
            },
            Planted {
                find: "site: \"right-cheek\"",
                put: "site: \"right-cheak\"",
                at: "\"right-cheak\"",
                brief: "unknown site `right-cheak`",
                hint: "`right-cheek`",
            },
        ],
    );
}

#[test]
fn an_unknown_organism_is_found_with_the_nearest_one_that_is_known() {
    all_are_found(
        "scenarios/enteric-bay.ron",
        &[Planted {
            find: "organism: \"enteric-virus\"",
            put: "organism: \"enteric-vires\"",
            at: "\"enteric-vires\"",
            brief: "unknown organism `enteric-vires`",
            hint: "`enteric-virus`",
        }],
    );
}

#[test]
fn every_fault_planted_in_a_script_is_found_where_it_stands() {
    all_are_found(
        "classic-tracer/rubbed-eye.ron",
        &[
            Planted {
                find: "\"glove-snatch\", item: \"left-glove\"",
                put: "\"glove-snath\", item: \"left-glove\"",
                at: "\"glove-snath\"",
                brief: "unknown technique `glove-snath`",
                hint: "`glove-snatch`",
            },
            Planted {
                find: "\"glove-snatch\", item: \"right-glove\"",
                put: "\"glove-snatch\", item: \"rihgt-glove\"",
                at: "\"rihgt-glove\"",
                brief: "unknown item of this kit `rihgt-glove`",
                hint: "`right-glove`",
            },
            Planted {
                find: "with: \"fingertips\"",
                put: "with: \"fingertip\"",
                at: "\"fingertip\"",
                brief: "unknown hand zone `fingertip`",
                hint: "`fingertips`",
            },
            Planted {
                find: "Walk(Outside)",
                put: "Walk(Outsid)",
                at: "Outsid",
                brief: "Outsid",
                hint: "Outside",
            },
            Planted {
                find: "seconds: 40.0",
                put: "seconds: 4000.0",
                at: "4000.0",
                brief: "",
                hint: "",
            },
        ],
    );
}

#[test]
fn an_impossible_action_of_a_script_is_found_where_it_stands() {
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("classic-tracer/no-rub.ron"))
        .unwrap_or(&files()[0]);
    let undo = "Do(technique: \"gown-undo-waist-tie\", item: \"gown\"),";
    let spoiled = text.replacen(undo, "Wait(1.0),", 1);
    assert_ne!(&spoiled, text, "the script is expected to undo the waist tie");
    let scratch = Scratch::new("impossible");
    let (_, faults) = content().check(&[scratch.write("script.ron", &spoiled)]);
    let peel = spoiled.find("Do(technique: \"gown-peel-inside\"").unwrap_or(0);
    let line = spoiled[..peel].matches('\n').count() + 1;
    let found = faults
        .iter()
        .find(|f| f.line == line)
        .map(ToString::to_string)
        .unwrap_or_default();
    assert!(
        found.contains("cannot be done here") && found.contains("waist tie"),
        "line {line} takes a tied gown off; found there: {found:?}"
    );
}

#[test]
fn every_fault_planted_in_techniques_is_found_where_it_stands() {
    all_are_found(
        "assets/techniques/gloves.ron",
        &[
            Planted {
                find: "does: TakesOff",
                put: "does: TakeOff",
                at: "TakeOff",
                brief: "TakeOff",
                hint: "TakesOff",
            },
            Planted {
                find: "a: \"act.fingertips\", b: \"item.cuff\"",
                put: "a: \"act.fingertip\", b: \"item.cuff\"",
                at: "\"act.fingertip\"",
                brief: "`fingertip`",
                hint: "act.palm",
            },
            Planted {
                find: "b: \"item.palm\", area: 1.5",
                put: "b: \"item.plam\", area: 1.5",
                at: "\"item.plam\"",
                brief: "plam",
                hint: "palm",
            },
            Planted {
                find: "chance: 0.05",
                put: "chance: 5.0",
                at: "5.0",
                brief: "",
                hint: "",
            },
            Planted {
                find: "basis: \"technique-gloves-recommended\"",
                put: "basis: \"technique-gloves-recomended\"",
                at: "\"technique-gloves-recomended\"",
                brief: "unknown basis `technique-gloves-recomended`",
                hint: "`technique-gloves-recommended`",
            },
        ],
    );
}

#[test]
fn every_fault_planted_in_a_sequence_is_found_where_it_stands() {
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("sequences/uk-agp.ron"))
        .unwrap_or(&files()[0]);
    assert!(
        text.contains("glove-pinch-peel"),
        "uk-agp.ron is expected to accept `glove-pinch-peel`"
    );
    all_are_found(
        "assets/sequences/uk-agp.ron",
        &[
            Planted {
                find: "\"glove-pinch-peel\"",
                put: "\"glove-pinch-pel\"",
                at: "\"glove-pinch-pel\"",
                brief: "unknown technique `glove-pinch-pel`",
                hint: "`glove-pinch-peel`",
            },
            Planted {
                find: "\"alcohol-rub\"",
                put: "\"alcohl-rub\"",
                at: "\"alcohl-rub\"",
                brief: "unknown product `alcohl-rub`",
                hint: "`alcohol-rub`",
            },
        ],
    );
}

#[test]
fn files_checked_together_see_each_other() {
    let scratch = Scratch::new("together");
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("scenarios/classic-tracer.ron"))
        .unwrap_or(&files()[0]);
    let scenario = scratch.write(
        "ours.ron",
        text.replacen("id: \"classic-tracer\"", "id: \"ours\"", 1),
    );
    let (_, text) = files()
        .iter()
        .find(|(p, _)| p.ends_with("classic-tracer/no-rub.ron"))
        .unwrap_or(&files()[0]);
    let script = scratch.write("script.ron", text.replacen("\"classic-tracer\"", "\"ours\"", 1));
    let (read, faults) = content().check(&[script.clone(), scenario]);
    let shown: String = faults.iter().map(|f| format!("{f}\n")).collect();
    assert_eq!(
        (read, shown.as_str()),
        (2, ""),
        "a script is checked with the scenario it is for"
    );
    let (_, faults) = content().check(&[script]);
    assert!(
        faults.iter().any(|f| f.brief.contains("unknown scenario `ours`")),
        "alone it names nothing known"
    );
}
