//! Mutated logs and content by the thousand: whatever is done to a log, playing it ends in a drill whose books balance or
//! in a fault with its line and a hint, and content that loads can be played; nothing panics or goes on without end.

use std::collections::BTreeSet;
use std::sync::Arc;

use serde_json::Value;
use smirch::content::{Content, embedded};
use smirch::drill::Drill;
use smirch::guidance::Score;
use smirch::model::Setup;
use smirch::record::{SEALED_FORMAT, shelf};

use crate::fixture::{Dice, Scratch, content};
use crate::logs::{join, lines, log, play_bytes, reseal};
use crate::logs_kept::of_format;

/// Values that nobody expects.
fn strange(dice: &mut Dice, strings: &[String]) -> Value {
    match dice.below(18) {
        0 => Value::Null,
        1 => Value::Bool(true),
        2 => 0.into(),
        3 => (-1).into(),
        4 => u64::MAX.into(),
        5 => i64::MIN.into(),
        6 => 1e308.into(),
        7 => (-1e308).into(),
        8 => 5e-324.into(),
        9 => "1e400".into(),
        10 => "NaN".into(),
        11 => "".into(),
        12 => "x".repeat(100_000).into(),
        13 => Value::Array(Vec::new()),
        14 => Value::Object(serde_json::Map::new()),
        15 => dice.fraction().into(),
        16 => dice.below(40).into(),
        _ => strings[dice.below(strings.len())].clone().into(),
    }
}

/// Changes one thing somewhere in a value.
fn mutate(value: &mut Value, dice: &mut Dice, strings: &[String]) {
    match value {
        Value::Object(fields) if !fields.is_empty() && dice.below(8) > 0 => {
            let keys: Vec<String> = fields.keys().cloned().collect();
            let key = &keys[dice.below(keys.len())];
            if dice.below(10) == 0 {
                let taken = fields.remove(key);
                if dice.below(2) == 0 {
                    let other = strings[dice.below(strings.len())].clone();
                    fields.insert(other, taken.unwrap_or_default());
                }
            } else if let Some(inner) = fields.get_mut(key) {
                mutate(inner, dice, strings);
            }
        }
        Value::Array(items) if !items.is_empty() && dice.below(4) > 0 => {
            let at = dice.below(items.len());
            mutate(&mut items[at], dice, strings);
        }
        other => *other = strange(dice, strings),
    }
}

/// Every string of a log, for mutations that mean something.
fn strings(lines: &[String]) -> Vec<String> {
    fn walk(value: &Value, out: &mut BTreeSet<String>) {
        match value {
            Value::String(text) if text.len() < 100 => {
                out.insert(text.clone());
            }
            Value::Array(items) => items.iter().for_each(|v| walk(v, out)),
            Value::Object(fields) => fields.iter().for_each(|(key, v)| {
                out.insert(key.clone());
                walk(v, out);
            }),
            _ => {}
        }
    }
    let mut out = BTreeSet::new();
    for line in lines {
        let value: Value = serde_json::from_str(line).unwrap_or_else(|e| panic!("{line}: {e}"));
        walk(&value, &mut out);
    }
    let sites = [
        "left-eye",
        "gown-chest",
        "bin-lid",
        "bleach-wipe",
        "palm",
        "Walk",
        "Wait",
        "Touch",
        "Clean",
    ];
    out.extend(sites.map(str::to_owned));
    out.into_iter().collect()
}

/// Mutations of whole lines.
fn shuffle(lines: &mut Vec<String>, dice: &mut Dice) {
    let at = dice.below(lines.len());
    match dice.below(4) {
        0 => {
            lines.remove(at);
        }
        1 => {
            let line = lines[at].clone();
            lines.insert(dice.below(lines.len()), line);
        }
        2 => lines.swap(at, 0),
        _ => lines[at] = "{\"back\":1,\"books\":\"\",\"seal\":\"\"}".to_owned(),
    }
}

/// Plays a mutated log and holds what comes of it to its promise.
fn hold(scratch: &Scratch, n: usize, text: &[u8]) -> bool {
    match play_bytes(scratch, text) {
        Ok(replayed) => {
            assert_eq!(
                replayed.drill.books().balance(),
                Ok(()),
                "mutation {n}: the books"
            );
            let state = replayed.drill.state();
            assert!(
                state.clock.is_finite() && state.clock >= 0.0,
                "mutation {n}: {}",
                state.clock
            );
            true
        }
        Err(error) => {
            let told = error.to_string();
            let lines = text.iter().filter(|b| **b == b'\n').count() + 1;
            assert!(
                error.line <= lines,
                "mutation {n}: a line that is not there: {told}"
            );
            assert!(
                !error.brief.is_empty() && error.hint.is_some(),
                "mutation {n}: no hint: {told}"
            );
            assert!(
                told.len() < 200_000,
                "mutation {n}: {} bytes of fault",
                told.len()
            );
            false
        }
    }
}

/// Bytes that mean something in a log, and some that do not.
const SIGNS: &[u8] = b"{}[]\",:\\09.e-\n\x00\xff a";

/// `SMIRCH_MUTATIONS` asks for more than the usual number.
fn how_many(usual: usize) -> usize {
    let asked = std::env::var("SMIRCH_MUTATIONS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(usual)
}

#[test]
fn mutated_logs_play_or_end_in_a_fault_with_line_and_hint() {
    let (bytes, _) = log();
    let scratch = Scratch::new("mutated");
    let mut dice = Dice(17);
    let whole = lines(&bytes);
    let strings = strings(&whole);
    let mut played = 0;
    let count = how_many(3000);
    for n in 0..count {
        let format = 1 + dice.below(SEALED_FORMAT as usize) as u64;
        let mut mutated = match format {
            SEALED_FORMAT => whole.clone(),
            format => lines(of_format(format, &bytes).as_bytes()),
        };
        for _ in 0..=dice.below(3) {
            if dice.below(6) == 0 && mutated.len() > 2 {
                shuffle(&mut mutated, &mut dice);
            } else {
                let at = dice.below(mutated.len());
                let Ok(mut value) = serde_json::from_str::<Value>(&mutated[at]) else {
                    continue;
                };
                mutate(&mut value, &mut dice, &strings);
                mutated[at] = value.to_string();
            }
        }
        // Sealed anew, or what is wrong would never be reached.
        let sealed = format == SEALED_FORMAT && mutated.iter().all(|l| l.contains(",\"seal\":"));
        let text = if sealed { reseal(&mutated) } else { join(&mutated) };
        played += usize::from(hold(&scratch, n, text.as_bytes()));
    }
    assert!(
        played > count / 20 && played < count,
        "{played} of {count} mutated logs play: the mutations do too much or too little"
    );
}

#[test]
fn logs_with_damaged_bytes_play_or_end_in_a_fault_with_line_and_hint() {
    let (bytes, _) = log();
    let scratch = Scratch::new("damaged");
    let mut dice = Dice(23);
    for n in 0..how_many(2000) {
        let mut damaged = if dice.below(2) == 0 {
            bytes.clone()
        } else {
            of_format(3, &bytes).into_bytes()
        };
        for _ in 0..=dice.below(4) {
            let at = dice.below(damaged.len());
            let length = dice.below(12).min(damaged.len() - at);
            let with: Vec<u8> = (0..dice.below(6))
                .map(|_| SIGNS[dice.below(SIGNS.len())])
                .collect();
            damaged.splice(at..at + length, with);
        }
        hold(&scratch, n, &damaged);
        // The list of attempts looks at it too, and needs no sound log.
        if n % 20 == 0 {
            scratch.write("replayed.log", &damaged);
            shelf(&scratch.path("")).unwrap_or_else(|e| panic!("mutation {n}: {e}"));
        }
    }
}

/// The content is not changed by what logs bring with them.
#[test]
fn a_log_with_a_scenario_of_its_own_leaves_the_content_as_it_was() {
    let before = content().digest;
    let (bytes, _) = log();
    let text = String::from_utf8_lossy(&bytes).replacen("The classic tracer exercise", "Another exercise", 1);
    let replayed = play_bytes(&Scratch::new("brought"), reseal(&lines(text.as_bytes())));
    let replayed = replayed.unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(replayed.drill.setup().scenario.label, "Another exercise");
    assert_eq!(content().digest, before);
    let label = content()
        .library
        .scenario("classic-tracer")
        .map(|s| s.label.as_str());
    assert_eq!(label, Some("The classic tracer exercise"));
}

/// Content that loads, however it was mutated, can be played: what would make the model fall over is a fault of the file.
#[test]
fn mutated_content_that_loads_can_be_played_and_scored() {
    let scratch = Scratch::new("mutated-content");
    let mut dice = Dice(31);
    let files: Vec<(String, String)> = embedded()
        .into_iter()
        .filter(|(name, _)| name.starts_with("assets/") || name.ends_with("classic-tracer.ron"))
        .map(|(name, bytes)| (name, String::from_utf8_lossy(bytes).into_owned()))
        .collect();
    let (mut loaded, count) = (0, how_many(250));
    for n in 0..count {
        let (name, text) = &files[dice.below(files.len())];
        let mine = scratch.path(&format!("mine-{n}"));
        let path = mine.join(name);
        let folder = path.parent().unwrap_or(&mine);
        std::fs::create_dir_all(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
        let mutated = mutated_text(text, &mut dice);
        std::fs::write(&path, &mutated).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        match Content::with_folder(&mine) {
            Err(error) => assert!(
                error.count > 0 && !error.faults.is_empty(),
                "mutation {n} of {name}"
            ),
            Ok(content) => {
                loaded += 1;
                play_all(&content, &format!("mutation {n} of {name}"));
            }
        }
        let _ = std::fs::remove_dir_all(&mine);
    }
    assert!(
        loaded > count / 20 && loaded < count,
        "{loaded} of {count} mutated folders load: the mutations do too much or too little"
    );
}

/// A whole line left out or doubled, a number changed, or two words exchanged: what a trainer might do.
fn mutated_text(text: &str, dice: &mut Dice) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let at = dice.below(lines.len());
    match dice.below(4) {
        0 => {
            lines.remove(at);
        }
        1 => lines.insert(at, lines[at].clone()),
        2 => {
            let digits: Vec<usize> = text
                .match_indices(|c: char| c.is_ascii_digit())
                .map(|(i, _)| i)
                .collect();
            if digits.is_empty() {
                return text.to_owned();
            }
            let at = digits[dice.below(digits.len())];
            let with = ["0", "9", "99", "0.0", "1e6", "-1"][dice.below(6)];
            return format!("{}{with}{}", &text[..at], &text[at + 1..]);
        }
        _ => {
            let words: Vec<&str> = text
                .split('"')
                .skip(1)
                .step_by(2)
                .filter(|w| w.len() < 30)
                .collect();
            let (from, to) = (words[dice.below(words.len())], words[dice.below(words.len())]);
            return text.replacen(&format!("\"{from}\""), &format!("\"{to}\""), 1 + dice.below(2));
        }
    }
    lines.join("\n")
}

/// Plays scripts of the content as far as they go, and scores them by every sequence.
fn play_all(content: &Content, what: &str) {
    for name in [
        "classic-tracer/no-rub",
        "classic-tracer/gown-by-front",
        "respiratory-room/rubbed-eye",
    ] {
        let Some(script) = content.scripts.get(name) else {
            continue;
        };
        let Some(scenario) = content.library.scenario(&script.scenario) else {
            continue;
        };
        let Ok(setup) = Setup::new(content.library.clone(), scenario) else {
            panic!("{what}: `{name}` loads and its scenario cannot be set up");
        };
        let mut drill = Drill::begin(Arc::new(setup), 1);
        for action in &script.actions {
            if drill.act(action.clone()).is_err() {
                break;
            }
        }
        assert_eq!(
            drill.books().balance(),
            Ok(()),
            "{what}: the books after `{name}`"
        );
        for sequence in &content.library.sequences {
            let score = Score::of(&drill, sequence);
            assert!(
                score.lost().is_finite(),
                "{what}: marks lost by `{}`",
                sequence.id
            );
        }
    }
}
