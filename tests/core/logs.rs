//! Logs: what is written plays again to the last organism, whatever is cut off or broken ends in words, and nothing
//! that was written is ever overwritten.

use std::path::Path;

use smirch::chance::Key;
use smirch::content::Content;
use smirch::drill::Drill;
use smirch::record::{LOG_FORMAT, LogWriter, Replay, ReplayError, Terms, replay};

use crate::fixture::{Dice, Scratch, content, script, setup};

pub const SCRIPT: &str = "classic-tracer/snatched-gloves-no-rub";
pub const SEED: u64 = 5;

/// A finished log as bytes, and the drill that it records.
pub fn log() -> (Vec<u8>, Drill) {
    let scratch = Scratch::new("log");
    let path = scratch.path("drill.log");
    let script = script(SCRIPT);
    let mut drill = Drill::begin(setup(&script.scenario), SEED);
    let mut log =
        LogWriter::create(&path, content(), &drill, &terms(&drill)).unwrap_or_else(|e| panic!("no log: {e}"));
    for action in &script.actions {
        drill
            .act(action.clone())
            .unwrap_or_else(|r| panic!("{SCRIPT}: {r}"));
        log.catch_up(&drill)
            .unwrap_or_else(|e| panic!("not written: {e}"));
    }
    log.end(&drill).unwrap_or_else(|e| panic!("not ended: {e}"));
    (
        std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display())),
        drill,
    )
}

/// The terms of a drill that is judged by its scenario's own sequence.
pub fn terms(drill: &Drill) -> Terms {
    Terms {
        sequence: drill.setup().scenario.sequence.clone(),
        ..Terms::default()
    }
}

/// Plays a built-in script, and leaves its log, whole.
pub fn log_script(name: &str, seed: u64, path: &Path) -> Drill {
    let script = script(name);
    let mut drill = Drill::begin(setup(&script.scenario), seed);
    let mut log = LogWriter::create(path, content(), &drill, &terms(&drill)).expect("it is new");
    for action in &script.actions {
        drill.act(action.clone()).unwrap_or_else(|e| panic!("{e}"));
        log.catch_up(&drill).expect("it is written");
    }
    log.end(&drill).expect("it is ended");
    drill
}

pub fn play_bytes(scratch: &Scratch, bytes: impl AsRef<[u8]>) -> Result<Replay, ReplayError> {
    replay(&scratch.write("replayed.log", bytes), content())
}

/// Expects a refusal at a line with all these words.
pub fn fails(scratch: &Scratch, bytes: impl AsRef<[u8]>, line: usize, words: &[&str]) {
    match play_bytes(scratch, bytes) {
        Ok(replay) => panic!(
            "a broken log ({words:?}) was accepted, with the notes {:?}",
            replay.notes
        ),
        Err(error) => {
            assert_eq!(error.line, line, "{error}");
            for word in words {
                assert!(
                    error.to_string().contains(word),
                    "\"{error}\" does not say `{word}`"
                );
            }
        }
    }
}

pub fn lines(bytes: &[u8]) -> Vec<String> {
    let text = std::str::from_utf8(bytes).unwrap_or_else(|e| panic!("a log is UTF-8: {e}"));
    text.lines().map(str::to_owned).collect()
}

pub fn join(lines: &[String]) -> String {
    lines.iter().map(|line| format!("{line}\n")).collect()
}

/// Lines with seals made anew, as by someone who means to deceive or by another program.
pub fn reseal(lines: &[String]) -> String {
    let mut seal = Key::of("smirch log");
    let mut out = String::new();
    for line in lines {
        let (text, _) = line
            .rsplit_once(",\"seal\":")
            .unwrap_or_else(|| panic!("a line without a seal: {line}"));
        seal = seal.named(text);
        out.push_str(&format!("{text},\"seal\":\"{:016x}\"}}\n", seal.0));
    }
    out
}

#[test]
fn a_log_plays_again_to_the_last_organism() {
    let (bytes, drill) = log();
    let replayed = play_bytes(&Scratch::new("again"), bytes).unwrap_or_else(|e| panic!("{e}"));
    assert!(replayed.ended, "the log was ended");
    assert_eq!(
        replayed.notes,
        Vec::<String>::new(),
        "a whole log of this content needs no notes"
    );
    assert_eq!(replayed.drill.books(), drill.books());
    assert_eq!(replayed.drill.state(), drill.state());
    assert_eq!(replayed.drill.done(), drill.done());
}

#[test]
fn a_log_cut_at_any_byte_keeps_every_complete_line() {
    let (bytes, drill) = log();
    let scratch = Scratch::new("cut");
    // Books after each number of actions, to compare with.
    let mut digests = Vec::new();
    let mut again = Drill::begin(drill.setup().clone(), SEED);
    digests.push(again.books().digest());
    for done in drill.done() {
        again.act(done.action.clone()).unwrap_or_else(|r| panic!("{r}"));
        digests.push(again.books().digest());
    }
    for cut in 0..=bytes.len() {
        let complete = bytes[..cut].iter().filter(|&&b| b == b'\n').count();
        match play_bytes(&scratch, &bytes[..cut]) {
            Err(error) => assert!(
                complete == 0,
                "cut at byte {cut}, {complete} complete lines are lost: {error}"
            ),
            Ok(replayed) => {
                let actions = complete.saturating_sub(1).min(drill.done().len());
                assert_eq!(
                    replayed.drill.done().len(),
                    actions,
                    "cut at byte {cut}: actions kept"
                );
                assert_eq!(
                    replayed.drill.books().digest(),
                    digests[actions],
                    "cut at byte {cut}: other books"
                );
                assert_eq!(replayed.ended, cut == bytes.len(), "cut at byte {cut}: ended");
                let torn = bytes[..cut].last() != Some(&b'\n');
                let noted = replayed.notes.iter().any(|n| n.contains("torn"));
                assert_eq!(noted, torn, "cut at byte {cut}: notes {:?}", replayed.notes);
            }
        }
    }
}

#[test]
fn no_flipped_bit_goes_unnoticed_in_the_books_and_none_panics() {
    let (bytes, drill) = log();
    let scratch = Scratch::new("flip");
    let mut dice = Dice(7);
    // The scenario's text is most of the first line; bits of the lines after it are tried more often.
    let header = bytes.iter().position(|&b| b == b'\n').unwrap_or(0);
    for n in 0..3000 {
        let at = if n % 3 == 0 {
            dice.below(header)
        } else {
            header + dice.below(bytes.len() - header)
        };
        let bit = dice.below(8);
        let mut flipped = bytes.clone();
        flipped[at] ^= 1 << bit;
        match play_bytes(&scratch, &flipped) {
            Err(error) => assert!(
                !error.brief.is_empty(),
                "bit {bit} of byte {at}: an error without words"
            ),
            // What nobody relies on (a label, the clock, the version) may change; the books may not.
            Ok(replayed) => {
                let whole = replayed.drill.done().len() == drill.done().len();
                let same = replayed.drill.books().digest() == drill.books().digest();
                let lost_end =
                    !replayed.ended && replayed.notes.iter().any(|n| n.contains("without an end line"));
                assert!(
                    (whole && same) || lost_end,
                    "bit {bit} of byte {at} flipped: accepted with {} actions and other books, notes {:?}",
                    replayed.drill.done().len(),
                    replayed.notes
                );
            }
        }
    }
}

#[test]
fn lines_that_are_swapped_doubled_or_left_out_are_noticed_where_they_stand() {
    let (bytes, _) = log();
    let scratch = Scratch::new("lines");
    let lines = lines(&bytes);
    let mut swapped = lines.clone();
    swapped.swap(3, 4);
    fails(
        &scratch,
        join(&swapped),
        4,
        &["action 4 is here where action 3 should be"],
    );
    let mut doubled = lines.clone();
    doubled.insert(3, lines[3].clone());
    fails(
        &scratch,
        join(&doubled),
        5,
        &["action 3 is here where action 4 should be"],
    );
    let mut missing = lines.clone();
    missing.remove(2);
    fails(
        &scratch,
        join(&missing),
        3,
        &["action 3 is here where action 2 should be"],
    );
    let mut after = lines.clone();
    after.push(lines[1].clone());
    fails(&scratch, join(&after), after.len(), &["a line after the end"]);
    let mut short = lines.clone();
    short.remove(lines.len() - 2);
    fails(&scratch, join(&short), short.len(), &["the end speaks of"]);
}

#[test]
fn a_changed_action_or_seed_departs_where_it_was_changed() {
    let (bytes, _) = log();
    let scratch = Scratch::new("changed");
    let lines = lines(&bytes);
    let mut other = lines.clone();
    other[1] = lines[1].replace("glove-snatch", "glove-pinch-peel");
    assert_ne!(
        other[1], lines[1],
        "the first action of {SCRIPT} is expected to be a snatched glove"
    );
    fails(
        &scratch,
        join(&other),
        2,
        &["was changed after it was written", "hint:"],
    );
    fails(&scratch, reseal(&other), 2, &["books differ", "hint:"]);
    let mut refused = lines.clone();
    refused[1] = lines[1].replace("left-glove", "gown");
    fails(&scratch, reseal(&refused), 2, &["refused"]);
    let mut seed = lines.clone();
    seed[0] = lines[0].replace(&format!("\"seed\":{SEED}"), "\"seed\":6");
    assert_ne!(seed[0], lines[0], "the header is expected to name the seed");
    assert!(
        play_bytes(&scratch, join(&seed)).is_err(),
        "a log with another seed was accepted"
    );
}

#[test]
fn a_log_without_an_end_is_kept_and_said_to_have_none() {
    let (bytes, drill) = log();
    let lines = lines(&bytes);
    let open = join(&lines[..lines.len() - 1]);
    let replayed = play_bytes(&Scratch::new("open"), open).unwrap_or_else(|e| panic!("{e}"));
    assert!(!replayed.ended);
    assert_eq!(replayed.drill.books(), drill.books());
    assert!(
        replayed.notes.iter().any(|n| n.contains("without an end line")),
        "{:?}",
        replayed.notes
    );
}

#[test]
fn a_newer_format_says_to_use_a_newer_program() {
    let (bytes, _) = log();
    let scratch = Scratch::new("newer");
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let marked = |format: &str| text.replacen(&format!("\"smirch-log\":{LOG_FORMAT}"), format, 1);
    fails(
        &scratch,
        marked("\"smirch-log\":99"),
        1,
        &["format 99", "hint: use a newer smirch"],
    );
    for no_format in [
        "\"smirch-log\":0",
        "\"smirch-log\":-1",
        "\"smirch-log\":\"one\"",
        "\"some-log\":1",
    ] {
        fails(&scratch, marked(no_format), 1, &["this is no log", "hint:"]);
    }
}

#[test]
fn other_content_is_noted() {
    let (bytes, drill) = log();
    let text = String::from_utf8_lossy(&bytes);
    let own = format!("{:016x}", content().digest);
    assert!(text.contains(&own), "the header names the content's digest");
    let other = lines(text.replacen(&own, "0000000000000000", 1).as_bytes());
    let replayed = play_bytes(&Scratch::new("content"), reseal(&other)).unwrap_or_else(|e| panic!("{e}"));
    assert!(
        replayed.notes.iter().any(|n| n.contains("other content")),
        "{:?}",
        replayed.notes
    );
    assert!(replayed.as_written, "the books are the same all the same");
    assert_eq!(replayed.drill.books(), drill.books());
    // Where they are not, it is played by what is here, and said so.
    let departs: Vec<String> = other
        .iter()
        .map(|line| line.replace("\"books\":\"", "\"books\":\"f"))
        .collect();
    let replayed = play_bytes(&Scratch::new("content"), reseal(&departs)).unwrap_or_else(|e| panic!("{e}"));
    assert!(
        !replayed.as_written && replayed.notes.iter().any(|n| n.contains("today's model")),
        "{:?}",
        replayed.notes
    );
    assert_eq!(replayed.drill.books(), drill.books());
}

/// A scenario that is not built in travels with its log.
#[test]
fn a_log_of_a_scenario_from_a_file_stands_alone() {
    let scratch = Scratch::new("own");
    let text = content().scenario_texts["classic-tracer"]
        .replace("\"classic-tracer\",\n    label", "\"ours\",\n    label");
    let (with_ours, id): (Content, String) = content()
        .scenario_file(&scratch.write("ours.ron", text))
        .unwrap_or_else(|e| panic!("the scenario does not load:\n{e}"));
    assert_eq!(id, "ours");
    let scenario = with_ours
        .library
        .scenario("ours")
        .unwrap_or_else(|| panic!("`ours` was not added"));
    let setup =
        smirch::model::Setup::new(with_ours.library.clone(), scenario).unwrap_or_else(|e| panic!("{e}"));
    let mut drill = Drill::begin(std::sync::Arc::new(setup), 3);
    let path = scratch.path("ours.log");
    let log = LogWriter::create(&path, &with_ours, &drill, &terms(&drill)).unwrap_or_else(|e| panic!("{e}"));
    drill
        .act(script(SCRIPT).actions[0].clone())
        .unwrap_or_else(|r| panic!("{r}"));
    log.end(&drill).unwrap_or_else(|e| panic!("{e}"));
    let replayed = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(replayed.drill.books(), drill.books());
}

#[test]
fn an_existing_file_is_never_overwritten() {
    let scratch = Scratch::new("kept");
    let path = scratch.write("kept.log", "somebody's work\n");
    let drill = Drill::begin(setup("classic-tracer"), 1);
    let error = LogWriter::create(&path, content(), &drill, &terms(&drill)).err();
    assert_eq!(error.map(|e| e.kind()), Some(std::io::ErrorKind::AlreadyExists));
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        kept, "somebody's work\n",
        "a refused log must leave the file as it was"
    );
}

#[test]
fn what_is_no_log_at_all_ends_in_words() {
    let scratch = Scratch::new("no-log");
    let deep = format!("{}\n", "[".repeat(200_000));
    let cases: [(&[u8], usize, &str); 8] = [
        (b"", 0, "no complete line"),
        (b"{\"smirch-log\":1", 0, "no complete line"),
        (b"\n", 1, "no log"),
        (b"{}\n", 1, "no log"),
        (b"{\"smirch-log\":4}\n", 1, "header is broken"),
        (b"\xff\xfe\x00\n", 1, "not UTF-8"),
        (b"step,kind\n1,touch\n", 1, "no log"),
        (deep.as_bytes(), 1, "no log"),
    ];
    for (bytes, line, words) in cases {
        fails(&scratch, bytes, line, &[words]);
    }
    let huge = vec![b'x'; 9 << 20];
    fails(&scratch, huge, 1, &["too long for a log"]);
    let folder = replay(&std::env::temp_dir(), content())
        .err()
        .map(|e| e.to_string())
        .unwrap_or_default();
    assert!(
        folder.contains("this is a folder") || folder.contains("cannot be read"),
        "{folder}"
    );
    let missing = replay(Path::new("no/such.log"), content())
        .err()
        .map(|e| e.to_string())
        .unwrap_or_default();
    assert!(
        missing.contains("no/such.log") && missing.contains("cannot be read"),
        "{missing}"
    );
}
