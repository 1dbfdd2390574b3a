//! Attempts that were logged leave their result, also when the program was stopped, and can be taken up again where they stood.

use std::fs;
use std::path::{Path, PathBuf};

use smirch::drill::{Action, Drill};
use smirch::outside::files::is_growing;
use smirch::record::{Code, LogWriter, Person, Terms, newest, note_kept, replay, shelf};
use smirch::register::{Entry, Register, Station, keep_left, keep_logged};

use crate::fixture::{Scratch, content, script, setup};

const SCRIPT: &str = "classic-tracer/uk-agp-good";

fn terms() -> Terms {
    Terms {
        sequence: setup("classic-tracer").scenario.sequence.clone(),
        person: Some(Person {
            code: Code::new("K7").unwrap_or_else(|e| panic!("{e}")),
            ward: None,
            group: None,
        }),
        ..Terms::default()
    }
}

fn station(scratch: &Scratch) -> Station {
    Station::new(Register::at(scratch.path("register")), scratch.path("waiting"))
}

/// A log with the first so many actions of a script, still open.
fn begin(path: &Path, actions: &[Action]) -> (LogWriter, Drill) {
    let mut drill = Drill::begin(setup("classic-tracer"), 5);
    let mut log = LogWriter::create(path, content(), &drill, &terms()).unwrap_or_else(|e| panic!("{e}"));
    go_on(&mut log, &mut drill, actions);
    (log, drill)
}

fn go_on(log: &mut LogWriter, drill: &mut Drill, actions: &[Action]) {
    for action in actions {
        drill.act(action.clone()).unwrap_or_else(|r| panic!("{r}"));
        log.catch_up(drill).unwrap_or_else(|e| panic!("{e}"));
    }
}

fn entries(scratch: &Scratch) -> Vec<Entry> {
    let reading = station(scratch)
        .register()
        .read()
        .unwrap_or_else(|e| panic!("{e}"));
    assert!(reading.damage.is_empty(), "{:?}", reading.damage);
    reading.found
}

fn logs(scratch: &Scratch) -> PathBuf {
    let folder = scratch.path("logs");
    fs::create_dir_all(&folder).unwrap_or_else(|e| panic!("{e}"));
    folder
}

#[test]
fn a_finished_attempt_leaves_its_result_once_and_its_log_says_so() {
    let scratch = Scratch::new("finished");
    let path = logs(&scratch).join("a.jsonl");
    let (log, drill) = begin(&path, &script(SCRIPT).actions);
    let attempt = log.attempt();
    log.end(&drill).unwrap_or_else(|e| panic!("{e}"));
    keep_logged(&station(&scratch), &path, content()).unwrap_or_else(|e| panic!("{e}"));
    let kept = entries(&scratch);
    let result = kept[0].attempt().expect("an attempt");
    assert!(result.finished && result.attempt == attempt && result.seed == 5);
    let log = result.log.as_ref().expect("a log");
    assert_eq!(
        (log.file.as_str(), log.books.as_str()),
        ("a.jsonl", format!("{:016x}", drill.books().digest()).as_str())
    );
    let again = replay(&path, content()).unwrap_or_else(|e| panic!("the log is broken by the note: {e}"));
    assert!(again.ended && again.as_written && !again.can_go_on());
    let found = &shelf(&logs(&scratch)).expect("listed")[0];
    assert!(
        found.kept
            && found.ended
            && found.judged.is_some()
            && found.actions == Some(script(SCRIPT).actions.len())
    );
    assert!(
        keep_left(&station(&scratch), &logs(&scratch), content())
            .expect("listed")
            .is_empty()
    );
    assert_eq!(entries(&scratch).len(), 1);
}

#[test]
fn what_a_stopped_program_left_is_kept_the_next_time_and_can_be_taken_up() {
    let scratch = Scratch::new("stopped");
    let path = logs(&scratch).join("a.jsonl");
    let actions = &script(SCRIPT).actions;
    let half = actions.len() / 2;
    let (log, _) = begin(&path, &actions[..half]);
    let attempt = log.attempt();
    assert!(
        is_growing(&path),
        "an open log can be told from one that was left"
    );
    assert!(
        keep_left(&station(&scratch), &logs(&scratch), content())
            .expect("listed")
            .is_empty()
    );
    drop(log);
    // Stopped in the middle of a line.
    let mut bytes = fs::read(&path).expect("read");
    bytes.extend_from_slice(b"{\"n\":99,\"acti");
    fs::write(&path, bytes).expect("torn");
    assert_eq!(
        keep_left(&station(&scratch), &logs(&scratch), content()).expect("listed"),
        std::slice::from_ref(&path)
    );
    assert!(
        keep_left(&station(&scratch), &logs(&scratch), content())
            .expect("listed")
            .is_empty()
    );
    let left = newest(&logs(&scratch)).expect("listed").expect("a log");
    assert!(left.can_go_on() && left.kept && left.actions == Some(half));
    let found = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
    assert!(found.can_go_on() && found.attempt == Some(attempt));
    let mut log = LogWriter::resume(&path, &found).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(log.attempt(), attempt);
    assert!(
        LogWriter::resume(&path, &found).is_err(),
        "two programs cannot go on with one attempt"
    );
    let mut drill = found.drill;
    go_on(&mut log, &mut drill, &actions[half..]);
    log.end(&drill).unwrap_or_else(|e| panic!("{e}"));
    let (straight, whole) = begin(&logs(&scratch).join("b.jsonl"), actions);
    drop(straight);
    assert_eq!(
        drill.books().digest(),
        whole.books().digest(),
        "going on is as if it had never stopped"
    );
    let found = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
    assert!(found.ended && found.as_written && found.drill.done().len() == actions.len());
    keep_logged(&station(&scratch), &path, content()).unwrap_or_else(|e| panic!("{e}"));
    let of_this: Vec<bool> = entries(&scratch)
        .iter()
        .filter_map(Entry::attempt)
        .filter(|a| a.attempt == attempt)
        .map(|a| a.finished)
        .collect();
    assert!(of_this.len() == 2 && of_this.contains(&true), "{of_this:?}");
}

#[test]
fn an_attempt_in_which_nothing_was_done_leaves_nothing() {
    let scratch = Scratch::new("nothing");
    let (log, _) = begin(&logs(&scratch).join("a.jsonl"), &[]);
    drop(log);
    assert!(
        keep_left(&station(&scratch), &logs(&scratch), content())
            .expect("listed")
            .is_empty()
    );
    assert!(!scratch.path("register").exists());
}

#[test]
fn a_note_of_keeping_breaks_no_seal_and_nothing_else_comes_after_an_end() {
    let scratch = Scratch::new("note");
    let path = logs(&scratch).join("a.jsonl");
    let (log, drill) = begin(&path, &script(SCRIPT).actions[..3]);
    let id = log.attempt();
    log.end(&drill).unwrap_or_else(|e| panic!("{e}"));
    let before = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
    for _ in 0..3 {
        let now = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
        assert!(note_kept(&path, &now, id).unwrap_or_else(|e| panic!("{e}")));
    }
    let text = std::fs::read(&path).expect("it can be read");
    assert!(
        !note_kept(&path, &before, id).unwrap_or_else(|e| panic!("{e}")),
        "it has gone on since: that is not its result any more"
    );
    assert_eq!(std::fs::read(&path).expect("it can be read"), text);
    let found = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
    assert!(found.ended);
    let there = &shelf(&logs(&scratch)).expect("listed")[0];
    assert!(there.kept && there.ended && there.actions == Some(3));
    assert!(
        LogWriter::resume(&path, &found).is_err(),
        "what was ended is over"
    );
}
