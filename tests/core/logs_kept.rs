//! What a log keeps besides the books: times to the last bit, the sequence and settings, steps taken back, marks; and what
//! becomes of logs of earlier formats.

use std::path::Path;

use smirch::content::Content;
use smirch::drill::{Action, Drill};
use smirch::guidance::Score;
use smirch::model::{Sequence, Side, Zone};
use smirch::record::{ClockSpeed, DeskTerms, LampUse, LogWriter, SEALED_FORMAT, Terms, replay, shelf};

use crate::fixture::{Dice, Scratch, content, script, setup};
use crate::logs::{SCRIPT, SEED, fails, join, lines, log, play_bytes, terms};

/// A log as a smirch of an earlier format wrote it: no terms, no seals, and other luck.
pub fn of_format(format: u64, bytes: &[u8]) -> String {
    let mut lines = lines(bytes);
    for (n, line) in lines.iter_mut().enumerate() {
        let mut value: serde_json::Value =
            serde_json::from_str(line).unwrap_or_else(|e| panic!("{line}: {e}"));
        let fields = value
            .as_object_mut()
            .unwrap_or_else(|| panic!("a line is a bracket of fields"));
        for later in ["seal", "terms", "began", "marks", "of", "critical"] {
            fields.remove(later);
        }
        fields.insert("books".to_owned(), "00000000000000aa".into());
        if n == 0 {
            fields.insert("smirch-log".to_owned(), format.into());
        }
        *line = value.to_string();
    }
    join(&lines)
}

fn sequence_of(drill: &Drill) -> &Sequence {
    let setup = drill.setup();
    setup
        .library
        .sequence(&setup.scenario.sequence)
        .unwrap_or_else(|| panic!("a scenario has a sequence"))
}

/// Writes a log of some actions under some terms and gives its lines.
fn lines_of(actions: &[Action], terms: impl Fn(&Drill) -> Terms) -> Vec<String> {
    let scratch = Scratch::new("lines-of");
    let path = scratch.path("a.log");
    let mut drill = Drill::begin(setup("classic-tracer"), SEED);
    let mut log =
        LogWriter::create(&path, content(), &drill, &terms(&drill)).unwrap_or_else(|e| panic!("{e}"));
    for action in actions {
        drill
            .act(action.clone())
            .unwrap_or_else(|r| panic!("{action:?}: {r}"));
        log.catch_up(&drill).unwrap_or_else(|e| panic!("{e}"));
    }
    log.end(&drill).unwrap_or_else(|e| panic!("{e}"));
    lines(&std::fs::read(&path).unwrap_or_else(|e| panic!("{e}")))
}

/// Times that no binary number meets, added up: what is written must be read to the last bit.
#[test]
fn sound_logs_replay_whatever_their_times_and_areas() {
    let scratch = Scratch::new("times");
    let wait = |seconds| Action::Wait(seconds);
    let rub = |seconds| Action::Clean {
        product: "alcohol-rub".to_owned(),
        doses: 2,
        seconds,
        skip: Vec::new(),
        forearms: false,
    };
    let touch = |area| Action::Touch {
        hand: Side::Left,
        with: Zone::Fingertips,
        site: "gown-chest".to_owned(),
        area,
    };
    let mut actions = vec![wait(1.3), wait(0.1)];
    actions.extend((1..=200).map(|n| rub(0.1 * f64::from(n))));
    let mut dice = Dice(9);
    for _ in 0..200 {
        actions.push(wait(0.1 + 9.0 * dice.fraction()));
        actions.push(touch(0.01 + 9.0 * dice.fraction()));
        actions.push(rub(0.1 + 40.0 * dice.fraction()));
    }
    let lines = lines_of(&actions, terms);
    let replayed = play_bytes(&scratch, join(&lines)).unwrap_or_else(|e| panic!("a sound log: {e}"));
    let played: Vec<&Action> = replayed.drill.done().iter().map(|d| &d.action).collect();
    assert_eq!(played, actions.iter().collect::<Vec<_>>());
    assert!(
        replayed.as_written && replayed.notes.is_empty(),
        "{:?}",
        replayed.notes
    );
}

/// A touch of the face that is turned into a wait leaves the books as they are if hand and face are clean; the record
/// shows it all the same.
#[test]
fn a_face_touch_turned_into_a_wait_is_noticed() {
    let scratch = Scratch::new("face");
    let face = Action::Touch {
        hand: Side::Left,
        with: Zone::Fingertips,
        site: "left-cheek".to_owned(),
        area: 3.0,
    };
    let actions = [face, Action::Wait(2.0)];
    let lines = lines_of(&actions, terms);
    let (start, _) = lines[1]
        .split_once("\"action\":")
        .unwrap_or_else(|| panic!("{}", lines[1]));
    let (_, end) = lines[1]
        .split_once(",\"clock\"")
        .unwrap_or_else(|| panic!("{}", lines[1]));
    let mut forged = lines.clone();
    forged[1] = format!("{start}\"action\":{{\"Wait\":1.0}},\"clock\"{end}");
    fails(
        &scratch,
        join(&forged),
        2,
        &["was changed after it was written", "hint:"],
    );
    // Any other character, too.
    let whole = join(&lines);
    let mut dice = Dice(3);
    for _ in 0..500 {
        let at = dice.below(whole.len());
        let mut bytes = whole.clone().into_bytes();
        bytes[at] = b'0' + dice.below(10) as u8;
        if bytes != whole.as_bytes() && whole.as_bytes()[at] != b'\n' {
            let played = play_bytes(&scratch, &bytes);
            assert!(
                played.is_err(),
                "byte {at} was changed and the log replays as written"
            );
        }
    }
}

#[test]
fn an_attempt_is_judged_by_the_sequence_that_it_was_made_under() {
    let scratch = Scratch::new("judged");
    let script = script("classic-tracer/no-rub");
    let mut marks = std::collections::BTreeSet::new();
    for sequence in &content().library.sequences {
        let lines = lines_of(&script.actions, |_| Terms {
            sequence: sequence.id.clone(),
            desk: Some(DeskTerms {
                lamp: LampUse::UntilTheEnd,
                clock: ClockSpeed::Fast,
                ..DeskTerms::default()
            }),
            ..Terms::default()
        });
        let replayed = play_bytes(&scratch, join(&lines)).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(replayed.terms.sequence, sequence.id);
        let desk = replayed
            .terms
            .desk
            .unwrap_or_else(|| panic!("the settings are in the log"));
        assert_eq!((desk.lamp, desk.clock), (LampUse::UntilTheEnd, ClockSpeed::Fast));
        let then = Score::of(
            &crate::fixture::play_script("classic-tracer/no-rub", SEED),
            sequence,
        );
        let now = Score::of(&replayed.drill, sequence);
        assert_eq!(now, then, "judged by `{}`", sequence.id);
        marks.insert(now.lost().to_bits());
    }
    assert!(
        marks.len() > 1,
        "no two sequences judge it differently, so this test shows nothing"
    );
}

#[test]
fn steps_taken_back_are_kept_in_the_log_and_undone_in_the_replay() {
    let scratch = Scratch::new("back");
    let path = scratch.path("back.log");
    let script = script("classic-tracer/no-rub");
    let mut drill = Drill::begin(setup("classic-tracer"), SEED);
    let mut log =
        LogWriter::create(&path, content(), &drill, &terms(&drill)).unwrap_or_else(|e| panic!("{e}"));
    for action in &script.actions[..3] {
        drill.act(action.clone()).unwrap_or_else(|r| panic!("{r}"));
        log.catch_up(&drill).unwrap_or_else(|e| panic!("{e}"));
    }
    drill.take_back();
    drill.take_back();
    log.catch_up(&drill).unwrap_or_else(|e| panic!("{e}"));
    drill.act(Action::Wait(2.0)).unwrap_or_else(|r| panic!("{r}"));
    log.catch_up(&drill).unwrap_or_else(|e| panic!("{e}"));
    // One step is taken back and another done before the log hears of it.
    drill.take_back();
    drill.act(Action::Wait(3.0)).unwrap_or_else(|r| panic!("{r}"));
    log.end(&drill).unwrap_or_else(|e| panic!("{e}"));
    let replayed = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(replayed.drill.done(), drill.done());
    let found = shelf(&scratch.path("")).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(found[0].actions, Some(2));
}

#[test]
fn a_log_of_an_earlier_format_is_played_by_todays_model_and_says_so() {
    let (bytes, drill) = log();
    let scratch = Scratch::new("earlier");
    for format in 1..SEALED_FORMAT {
        let replayed = play_bytes(&scratch, of_format(format, &bytes)).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(
            replayed.drill.done(),
            drill.done(),
            "format {format}: the actions"
        );
        assert!(!replayed.as_written && replayed.ended, "format {format}");
        for words in ["today's model", "not those of that day", "the scenario's own"] {
            assert!(
                replayed.notes.iter().any(|n| n.contains(words)),
                "format {format} does not say {words:?}: {:?}",
                replayed.notes
            );
        }
    }
    // What can no longer be done ends the play there, and what came before is kept.
    let gone = of_format(3, &bytes).replacen("glove-snatch", "glove-of-old", 2);
    let second = lines(gone.as_bytes())
        .iter()
        .position(|line| line.contains("glove-of-old"))
        .unwrap_or_else(|| panic!("{SCRIPT} snatches gloves"));
    let replayed = play_bytes(&scratch, gone).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(replayed.drill.done().len(), second - 1);
    assert!(
        replayed
            .notes
            .iter()
            .any(|n| n.contains("cannot be done in today's model")),
        "{:?}",
        replayed.notes
    );
}

/// A sequence that is not built in travels with the log of an attempt that it judges.
#[test]
fn a_log_judged_by_a_sequence_of_ones_own_stands_alone() {
    let scratch = Scratch::new("own-sequence");
    std::fs::create_dir_all(scratch.path("mine/assets/sequences")).unwrap_or_else(|e| panic!("{e}"));
    let uk = content().sequence_texts["uk-agp"].replacen("\"uk-agp\"", "\"our-ward\"", 1);
    scratch.write("mine/assets/sequences/our-ward.ron", uk);
    let mine = Content::with_folder(&scratch.path("mine")).unwrap_or_else(|e| panic!("{e}"));
    let scenario = mine
        .library
        .scenario("classic-tracer")
        .unwrap_or_else(|| panic!("built in"));
    let made = smirch::model::Setup::new(mine.library.clone(), scenario).unwrap_or_else(|e| panic!("{e}"));
    let mut drill = Drill::begin(std::sync::Arc::new(made), 3);
    let path = scratch.path("ours.log");
    let ours = Terms {
        sequence: "our-ward".to_owned(),
        ..Terms::default()
    };
    let log = LogWriter::create(&path, &mine, &drill, &ours).unwrap_or_else(|e| panic!("{e}"));
    drill.act(Action::Wait(1.0)).unwrap_or_else(|r| panic!("{r}"));
    log.end(&drill).unwrap_or_else(|e| panic!("{e}"));
    let replayed = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(replayed.terms.sequence, "our-ward");
    assert!(replayed.drill.setup().library.sequence("our-ward").is_some());
}

/// Hundreds of logs are listed from their first and last lines: a file that is nothing but actions is not read through.
#[test]
fn a_shelf_reads_only_the_ends_of_long_logs() {
    let scratch = Scratch::new("long");
    let lines = lines_of(&[Action::Wait(1.0)], terms);
    let middle = format!("{}\n", "not a line of a log ".repeat(1000));
    let text = format!("{}\n{}{}\n", lines[0], middle.repeat(100), lines[lines.len() - 1]);
    scratch.write("long.jsonl", text);
    let found = shelf(&scratch.path("")).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(
        (found.len(), found[0].ended, found[0].actions),
        (1, true, Some(1))
    );
}

#[test]
fn a_shelf_lists_logs_newest_first_and_passes_over_the_rest() {
    let scratch = Scratch::new("shelf");
    let (bytes, drill) = log();
    let old = of_format(1, &bytes);
    let first = scratch.write("first.jsonl", old);
    let empty = lines(&bytes)[..1].to_vec();
    let nothing = scratch.write("nothing.jsonl", join(&empty));
    let second = scratch.write("second.jsonl", &bytes);
    scratch.write("notes.txt", "no log");
    let earlier = std::time::SystemTime::now() - std::time::Duration::from_secs(60);
    let file = std::fs::File::options()
        .append(true)
        .open(&first)
        .expect("it was just written");
    file.set_modified(earlier).expect("its time can be set");
    let folder = first.parent().expect("it lies in a folder");
    let found = shelf(folder).unwrap_or_else(|e| panic!("{e}"));
    let paths: Vec<&Path> = found.iter().map(|r| r.path.as_path()).collect();
    assert_eq!(
        paths,
        [nothing.as_path(), second.as_path(), first.as_path()],
        "those of one second by name"
    );
    let told: Vec<_> = found
        .iter()
        .map(|r| (r.earlier(), r.actions, r.ended, r.empty()))
        .collect();
    let all = Some(drill.done().len());
    assert_eq!(
        told,
        [
            (false, Some(0), false, true),
            (false, all, true, false),
            (true, all, true, false)
        ]
    );
    let score = Score::of(&drill, sequence_of(&drill));
    let judged = found[1]
        .judged
        .unwrap_or_else(|| panic!("the marks are in the log"));
    assert_eq!((judged.marks, judged.of), (score.marks(), score.full));
    assert_eq!(judged.critical, score.critical.len());
    assert_eq!(found[0].scenario, drill.setup().scenario.id);
    assert_eq!(found[0].seed, drill.seed());
    assert_eq!(
        shelf(&folder.join("none")).ok(),
        Some(Vec::new()),
        "no folder has no logs"
    );
}
