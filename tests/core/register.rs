//! The register: what is kept reads on its own, folders merge by being laid together, damage is named and costs nothing else, and
//! what was forgotten stays away.

use std::fs;
use std::path::{Path, PathBuf};

use smirch::guidance::Score;
use smirch::model::RegisterRules;
use smirch::record::{Code, Id, Label, Person, Purpose, Terms};
use smirch::register::{
    About, Attempt, Entry, Group, Halves, Keeping, Moment, Register, Share, Short, Standing, Station, What,
    Whose, due, furthest, tally,
};
use smirch::report::cohort_report;

use crate::fixture::{Scratch, content, play_script, script};

fn rules() -> &'static RegisterRules {
    content().library.register.as_ref().expect("rules")
}

fn moment(text: &str) -> Moment {
    Moment::parse(text).unwrap_or_else(|e| panic!("{e}"))
}

fn person(code: &str) -> Person {
    Person {
        code: Code::new(code).unwrap_or_else(|e| panic!("{e}")),
        ward: Some(Label::new("4 a", "a ward").unwrap_or_else(|e| panic!("{e}"))),
        group: None,
    }
}

/// What a built-in script leaves, as practice.
pub fn attempt(name: &str, seed: u64) -> Attempt {
    let drill = play_script(name, seed);
    let wanted = script(name)
        .sequence
        .as_ref()
        .unwrap_or(&drill.setup().scenario.sequence);
    let sequence = content().library.sequence(wanted).expect("a sequence");
    let terms = Terms {
        sequence: sequence.id.clone(),
        purpose: Purpose::Practice,
        ..Terms::default()
    };
    let about = About {
        attempt: Id::fresh(),
        began: Moment::now(),
        finished: true,
        content: content().digest,
        told: Vec::new(),
        terms: &terms,
        log: Some("a.jsonl".to_owned()),
    };
    Attempt::of(&drill, sequence, about).unwrap_or_else(|e| panic!("{name}: {e}"))
}

pub fn entry(code: Option<&str>, attempt: Attempt, at: &str) -> Entry {
    let mut entry = Entry::new(code.map(person), What::Attempt(Box::new(attempt)));
    entry.at = moment(at);
    entry
}

fn keep(register: &Register, entry: &Entry) -> PathBuf {
    register.keep(entry).unwrap_or_else(|e| panic!("not kept: {e}"))
}

fn codes(register: &Register) -> Vec<String> {
    let reading = register.read().unwrap_or_else(|e| panic!("not read: {e}"));
    assert!(reading.damage.is_empty(), "{:?}", reading.damage);
    let mut codes: Vec<String> = reading
        .found
        .iter()
        .map(|e| e.person.as_ref().map_or(String::new(), |p| p.code.to_string()))
        .collect();
    codes.sort();
    codes
}

/// Lays one folder over another, as a person would.
fn lay_over(from: &Path, to: &Path) {
    for entry in fs::read_dir(from).expect("listed") {
        let entry = entry.expect("an entry");
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            fs::create_dir_all(&target).expect("made");
            lay_over(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).expect("copied");
        }
    }
}

#[test]
fn what_is_kept_is_what_the_score_says_and_reads_back_the_same() {
    let scratch = Scratch::new("kept");
    let register = Register::at(scratch.path("register"));
    for (name, seed) in [
        ("respiratory-room/uk-agp-good", 1),
        ("respiratory-room/rubbed-eye", 2),
    ] {
        let drill = play_script(name, seed);
        let wanted = script(name)
            .sequence
            .as_ref()
            .unwrap_or(&drill.setup().scenario.sequence);
        let score = Score::of(&drill, content().library.sequence(wanted).expect("a sequence"));
        let attempt = attempt(name, seed);
        assert_eq!(attempt.marks.left, score.marks(), "{name}");
        assert_eq!(attempt.critical.len(), score.critical.len(), "{name}");
        assert_eq!(attempt.is_clean(), score.is_full(), "{name}");
        assert_eq!(attempt.steps.len(), score.steps.len(), "{name}");
        let hands = attempt.at("hands").expect("hands are told");
        let counted: u64 = score
            .reached
            .iter()
            .filter(|r| r.group.word() == "hands")
            .map(|r| r.count)
            .sum();
        assert_eq!(hands.count, counted, "{name}");
        let entry = entry(Some("K7"), attempt, "2026-03-01T09:00:00+01:00");
        let path = keep(&register, &entry);
        let text = fs::read_to_string(&path).expect("it is there");
        assert_eq!(text.lines().count(), 1, "an entry is one line");
        let read = register.read().expect("it can be read");
        assert!(read.found.contains(&entry), "{name} does not read back the same");
    }
}

/// Whoever does the very same has the same expectation, whatever luck they had.
#[test]
fn what_is_expected_does_not_depend_on_luck() {
    let of = |seed| attempt("classic-tracer/no-rub", seed);
    let (a, b) = (of(1), of(2));
    assert_ne!(
        a.reached.iter().map(|r| r.count).collect::<Vec<_>>(),
        b.reached.iter().map(|r| r.count).collect::<Vec<_>>(),
        "two lucks are to differ, or this shows nothing"
    );
    for (a, b) in a.reached.iter().zip(&b.reached) {
        assert_eq!((a.people, a.mean), (b.people, b.mean), "{}", a.target);
    }
}

#[test]
fn merging_is_the_union_of_two_folders_and_an_entry_counts_once() {
    let scratch = Scratch::new("union");
    let (one, two) = (
        Register::at(scratch.path("one")),
        Register::at(scratch.path("two")),
    );
    let good = attempt("classic-tracer/uk-agp-good", 1);
    let both = entry(Some("both"), good.clone(), "2026-03-01T09:00:00+01:00");
    keep(&one, &both);
    keep(&two, &both);
    keep(&one, &entry(Some("a"), good.clone(), "2026-03-02T09:00:00+01:00"));
    keep(&two, &entry(Some("b"), good, "2026-04-02T09:00:00+01:00"));
    // A copy under another name is the same entry.
    let path = keep(&one, &both);
    fs::copy(&path, path.with_file_name("copy of that (1).json")).expect("copied");
    assert_eq!(codes(&one), ["a", "both"]);
    lay_over(&scratch.path("two"), &scratch.path("one"));
    assert_eq!(codes(&one), ["a", "b", "both"]);
    let third = Register::at(scratch.path("third"));
    for from in [&two, &one, &two] {
        third.import(from).expect("it can be imported");
    }
    assert_eq!(codes(&third), codes(&one), "importing is laying over");
}

#[test]
fn damage_is_named_and_left_out_and_everything_else_works() {
    let scratch = Scratch::new("damage");
    let register = Register::at(scratch.path("register"));
    let good = attempt("classic-tracer/uk-agp-good", 1);
    for code in ["a", "b", "c", "d"] {
        keep(
            &register,
            &entry(Some(code), good.clone(), "2026-03-01T09:00:00+01:00"),
        );
    }
    let files: Vec<PathBuf> = fs::read_dir(scratch.path("register/2026-03"))
        .expect("listed")
        .map(|e| e.expect("an entry").path())
        .collect();
    let text = fs::read_to_string(&files[0]).expect("read");
    fs::write(&files[0], &text[..text.len() / 2]).expect("torn");
    let text = fs::read_to_string(&files[1]).expect("read");
    fs::write(&files[1], text.replace("\"finished\":true", "\"finished\":false")).expect("changed");
    let text = fs::read_to_string(&files[2]).expect("read");
    fs::write(
        &files[2],
        text.replacen("\"smirch-entry\":1", "\"smirch-entry\":99", 1),
    )
    .expect("newer");
    let month = scratch.path("register/2026-03");
    fs::write(month.join("notes.txt"), "mine").expect("written");
    fs::write(month.join(".smirch-half"), &text[..100]).expect("written");
    fs::write(month.join("empty.json"), "").expect("written");
    let reading = register.read().expect("it can be read");
    assert_eq!(reading.found.len(), 1);
    let why: Vec<&str> = reading.damage.iter().map(|d| d.why.as_str()).collect();
    for word in ["torn", "changed", "empty"] {
        assert!(why.iter().any(|w| w.contains(word)), "{word}: {why:?}");
    }
    assert_eq!(
        (reading.newer.len(), reading.odd.len(), reading.half_written.len()),
        (1, 1, 1)
    );
}

#[test]
fn whoever_is_forgotten_stays_away_and_nobody_else_goes() {
    let scratch = Scratch::new("forget");
    let (here, there) = (
        Register::at(scratch.path("here")),
        Register::at(scratch.path("there")),
    );
    let good = attempt("classic-tracer/uk-agp-good", 1);
    for (code, at) in [
        ("K7", "2026-03-01T09:00:00+01:00"),
        ("k7", "2026-05-01T09:00:00+01:00"),
        ("K8", "2026-03-01T09:00:00+01:00"),
    ] {
        keep(&here, &entry(Some(code), good.clone(), at));
    }
    there.import(&here).expect("imported");
    let told = here
        .forget(&Whose::Of(Code::new("K7").expect("a code")))
        .expect("forgotten");
    assert_eq!(told.entries, 2);
    assert_eq!(told.logs.iter().collect::<Vec<_>>(), ["a.jsonl"]);
    let (first, last) = told.between.expect("dates");
    assert_eq!(
        (first.to_string(), last.to_string()),
        ("2026-03-01".to_owned(), "2026-05-01".to_owned())
    );
    assert_eq!(codes(&here), ["K8"]);
    let words: String = files_below(&scratch.path("here"))
        .iter()
        .map(|p| fs::read_to_string(p).expect("read"))
        .collect();
    assert!(
        !words.to_lowercase().contains("k7"),
        "the code is still there: {words}"
    );
    // By whichever way the other folder comes back.
    lay_over(&scratch.path("there"), &scratch.path("here"));
    assert_eq!(codes(&here), ["K8"]);
    here.import(&there).expect("imported");
    assert_eq!(codes(&here), ["K8"]);
    let taken = there.import(&here).expect("imported");
    assert_eq!(taken.removed, 2);
    assert_eq!(codes(&there), ["K8"]);
    let words: String = files_below(&scratch.path("there"))
        .iter()
        .map(|p| fs::read_to_string(p).expect("read"))
        .collect();
    assert!(
        !words.to_lowercase().contains("k7"),
        "the code is still there: {words}"
    );
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("listed") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(files_below(&path));
        } else {
            found.push(path);
        }
    }
    found
}

#[test]
fn an_entry_waits_while_the_register_is_away_and_comes_over_once() {
    let scratch = Scratch::new("waits");
    // A file where the folder should be: as unreachable as a share that is gone.
    let blocked = scratch.write("share", "not a folder");
    let station = Station::new(Register::at(blocked.clone()), scratch.path("waiting"));
    let entry = entry(
        Some("K7"),
        attempt("classic-tracer/uk-agp-good", 1),
        "2026-03-01T09:00:00+01:00",
    );
    match station.keep(&entry) {
        Ok(Keeping::Waiting(..)) => {}
        other => panic!("{other:?}"),
    }
    assert_eq!(station.deliver().expect("listed").left.len(), 1);
    fs::remove_file(&blocked).expect("removed");
    assert_eq!(station.deliver().expect("listed").entries, 1);
    assert_eq!(station.deliver().expect("listed").entries, 0);
    assert_eq!(codes(station.register()), ["K7"]);
    assert!(
        matches!(station.keep(&entry), Ok(Keeping::Register(_))),
        "keeping again changes nothing"
    );
    assert_eq!(codes(station.register()), ["K7"]);
    assert!(
        files_below(&scratch.path("waiting")).is_empty(),
        "nothing waits any more"
    );
}

/// A station writes its name into what it keeps, and not over that of another; entries of older programs have none and read as before.
#[test]
fn an_entry_has_the_name_of_the_station_that_kept_it_first() {
    let scratch = Scratch::new("stations");
    let register = Register::at(scratch.path("register"));
    let name = |text: &str| Label::new(text, "a station").ok();
    let station = |text: &str| Station::new(register.clone(), scratch.path("waiting")).named(name(text));
    let old = entry(
        Some("K7"),
        attempt("classic-tracer/uk-agp-good", 1),
        "2026-03-01T09:00:00+01:00",
    );
    let line = old.line().expect("it can be written");
    assert!(!line.contains("station"), "as older programs wrote it: {line}");
    let read = |wanted: Option<Label>| {
        let reading = register.read().expect("listed");
        assert!(reading.damage.is_empty() && reading.newer.is_empty());
        assert_eq!(reading.found.len(), 1);
        assert_eq!(reading.found[0].station, wanted);
        reading.found.into_iter().next().expect("one")
    };
    keep(&register, &old);
    let found = read(None);
    station("").keep(&found).expect("kept");
    let found = read(None);
    station("Room 4").keep(&found).expect("kept");
    let found = read(name("Room 4"));
    assert_eq!(found.format, 1, "whatever reads attempts reads this one");
    station("Room 5").keep(&found).expect("kept");
    read(name("Room 4"));
}

/// The rule for refreshers: 6, 9 and 12 months after one, two and three clean attempts running, 6 where marks were lost, 3 where
/// it did not pass; no interval has been trialled.
#[test]
fn dates_of_refreshers_follow_the_rule() {
    let scratch = Scratch::new("due");
    let register = Register::at(scratch.path("register"));
    let clean = attempt("respiratory-room/uk-agp-good", 1);
    assert!(clean.is_clean());
    let bad = attempt("respiratory-room/rubbed-eye", 1);
    let mut left = clean.clone();
    left.finished = false;
    let fresh = |attempt: &Attempt| Attempt {
        attempt: Id::fresh(),
        ..attempt.clone()
    };
    for (code, tries) in [
        ("one", vec![(&clean, "2026-01-10")]),
        ("two", vec![(&clean, "2026-01-10"), (&clean, "2026-02-10")]),
        (
            "four",
            vec![
                (&clean, "2025-01-10"),
                (&clean, "2025-02-10"),
                (&clean, "2026-01-10"),
                (&clean, "2026-02-10"),
            ],
        ),
        ("fell", vec![(&clean, "2026-01-10"), (&bad, "2026-02-28")]),
        ("rose", vec![(&bad, "2026-01-10"), (&clean, "2026-08-31")]),
        ("broke", vec![(&left, "2026-01-10")]),
        ("later", vec![(&clean, "2026-01-10"), (&clean, "2031-01-10")]),
    ] {
        for (attempt, day) in tries {
            keep(
                &register,
                &entry(Some(code), fresh(attempt), &format!("{day}T09:00:00+01:00")),
            );
        }
    }
    keep(
        &register,
        &entry(None, fresh(&clean), "2026-01-10T09:00:00+01:00"),
    );
    // Taken up again and finished: one attempt.
    let again = fresh(&clean);
    let mut first = again.clone();
    first.finished = false;
    keep(
        &register,
        &entry(Some("again"), first, "2026-01-10T09:00:00+01:00"),
    );
    keep(
        &register,
        &entry(Some("again"), again, "2026-01-11T09:00:00+01:00"),
    );
    let list = due(&register, rules(), moment("2026-09-01T09:00:00+01:00")).expect("listed");
    let rows: Vec<(String, String, u32)> = list
        .rows
        .iter()
        .map(|row| (row.code.to_string(), row.due.to_string(), row.attempts))
        .collect();
    let row = |code: &str, due: &str, attempts| (code.to_owned(), due.to_owned(), attempts);
    assert_eq!(
        rows,
        [
            row("broke", "2026-01-10", 1),
            row("fell", "2026-05-28", 2),
            row("later", "2026-07-10", 2),
            row("one", "2026-07-10", 1),
            row("again", "2026-07-11", 1),
            row("two", "2026-11-10", 2),
            row("four", "2027-02-10", 4),
            row("rose", "2027-02-28", 2),
        ]
    );
    assert_eq!((list.nobodys, list.ahead), (1, 1));
    let fell = list
        .rows
        .iter()
        .find(|row| row.code.as_str() == "fell")
        .expect("listed");
    match &fell.standing {
        Standing::NotPassed(short) => assert!(short.contains(&Short::Critical), "{short:?}"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_does_not_count_for_practice_makes_nobody_due() {
    let scratch = Scratch::new("class");
    let register = Register::at(scratch.path("register"));
    for purpose in [Purpose::Class, Purpose::Script] {
        let mut attempt = attempt("classic-tracer/uk-agp-good", 1);
        attempt.purpose = purpose;
        keep(
            &register,
            &entry(Some("K7"), attempt, "2026-01-10T09:00:00+01:00"),
        );
    }
    let list = due(&register, rules(), Moment::now()).expect("listed");
    assert!(list.rows.is_empty(), "{:?}", list.rows);
}

/// Every good script passes by the rule that ships, and one with a critical error never does.
#[test]
fn good_scripts_pass_and_critical_errors_do_not() {
    for (name, script) in &content().scripts {
        if name.ends_with("-good") && script.scenario != "classic-tracer" {
            assert_eq!(attempt(name, 1).falls_short(&rules().pass), [], "{name}");
        }
    }
    let short = attempt("respiratory-room/rubbed-eye", 1).falls_short(&rules().pass);
    assert!(short.contains(&Short::Critical), "{short:?}");
}

/// Names are told whatever becomes of the entry that they were read in first: one that was forgotten and came back, or a copy.
#[test]
fn a_tally_names_what_was_first_met_in_an_entry_that_does_not_count() {
    let scratch = Scratch::new("names");
    let register = Register::at(scratch.path("register"));
    let result = attempt("respiratory-room/rubbed-eye", 1);
    let on = |day: &str| {
        let fresh = Attempt {
            attempt: Id::fresh(),
            ..result.clone()
        };
        entry(Some(day), fresh, &format!("2026-02-{day}T09:10:00+01:00"))
    };
    let gone = on("01");
    let path = keep(&register, &gone);
    let text = std::fs::read(&path).expect("it was kept");
    let whose = Whose::Of(Code::new("01").expect("a code"));
    register.forget(&whose).expect("it can be forgotten");
    std::fs::write(&path, text).expect("it comes back");
    keep(&register, &on("10"));
    let (found, reading) = tally(&register, rules(), &Group::default()).expect("listed");
    assert_eq!((found.attempts, reading.came_back.len()), (1, 1));
    let named = |name: &String| !name.is_empty();
    assert!(!found.steps.is_empty() && found.steps.iter().all(|s| named(&s.step) && named(&s.ask)));
    assert!(!found.reached.is_empty() && found.reached.iter().all(|r| named(&r.target) && named(&r.label)));
    assert!(!found.critical.is_empty() && found.critical.iter().all(|(kind, _)| named(kind)));
}

/// Three broken-off, one of them taken up again and finished; two wards; a script that does not count.
#[test]
fn a_tally_counts_attempts_once_and_only_those_asked_for() {
    let scratch = Scratch::new("tally");
    let register = Register::at(scratch.path("register"));
    let (clean, bad) = (
        attempt("respiratory-room/uk-agp-good", 1),
        attempt("respiratory-room/rubbed-eye", 1),
    );
    let fresh = |attempt: &Attempt, day: &str, finished: bool| Attempt {
        attempt: Id::fresh(),
        began: moment(&format!("{day}T09:00:00+01:00")),
        finished,
        ..attempt.clone()
    };
    let keep_one = |code: &str, attempt: Attempt, day: &str| {
        keep(
            &register,
            &entry(Some(code), attempt, &format!("{day}T09:10:00+01:00")),
        );
    };
    for n in 0..6 {
        keep_one(&format!("a{n}"), fresh(&bad, "2026-02-10", true), "2026-02-10");
        keep_one(
            &format!("a{n}"),
            fresh(if n < 4 { &clean } else { &bad }, "2026-04-10", true),
            "2026-04-10",
        );
    }
    keep_one("a0", fresh(&clean, "2026-04-11", false), "2026-04-11");
    let again = fresh(&clean, "2026-04-12", true);
    keep_one(
        "a1",
        Attempt {
            finished: false,
            actions: 3,
            ..again.clone()
        },
        "2026-04-12",
    );
    keep_one("a1", again, "2026-04-13");
    let mut script = fresh(&bad, "2026-04-10", true);
    script.purpose = Purpose::Script;
    keep_one("a1", script, "2026-04-10");
    let group = Group {
        ward: Some(Label::new("4 A", "a ward").expect("a ward")),
        split: Some("2026-03-01".parse().expect("a date")),
        ..Group::default()
    };
    let (found, reading) = tally(&register, rules(), &group).expect("listed");
    assert!(reading.damage.is_empty());
    assert_eq!((found.attempts, found.broken_off, found.people), (14, 1, 6));
    let share = |hits, of, behind| Share { hits, of, behind };
    // Those of four people; the rest of all six.
    assert_eq!(found.passed, share(5, 13, [4, 6]));
    let listed = furthest(register.read().expect("listed").found);
    assert_eq!(listed.len(), 15, "with the script, each attempt once");
    let finished = listed
        .iter()
        .filter_map(Entry::attempt)
        .filter(|a| a.finished)
        .count();
    assert_eq!(finished, 14, "what was taken up again counts as far as it came");
    assert_eq!(
        found.halves,
        Some(Halves {
            before: share(0, 6, [0, 6]),
            after: share(5, 7, [4, 2]),
            pairs: [0, 0, 4, 2],
            people: [6, 6],
        })
    );
    let eye = found
        .critical
        .iter()
        .find(|(kind, _)| kind == "face-touched-unclean")
        .expect("it is told");
    assert_eq!(eye.1, share(8, 13, [6, 4]));
    assert_eq!(
        found.months,
        [
            ("2026-02".to_owned(), share(0, 6, [0, 6])),
            ("2026-04".to_owned(), share(5, 7, [4, 2]))
        ]
    );
    let missed = |step: &str| found.steps.iter().find(|s| s.step == step).map(|s| s.missed);
    for step in bad.steps.iter().filter(|s| s.is_missed()) {
        assert_eq!(missed(&step.id), Some(share(8, 13, [6, 4])), "{}", step.id);
    }
    let other = Group {
        ward: Some(Label::new("5", "a ward").expect("a ward")),
        ..Group::default()
    };
    assert_eq!(tally(&register, rules(), &other).expect("listed").0.attempts, 0);
    // Told, with its page; and not told of too few.
    let library = &content().library;
    let report =
        cohort_report(library, rules(), &group, &found, Moment::now()).unwrap_or_else(|e| panic!("{e}"));
    let (text, page) = (report.text(), report.html());
    for told in [
        "Ward 4 A",
        // Five of thirteen, which four people did.
        "of fewer than 5 people, not told",
        // Two of seven failed after that day, so neither half is told, nor either month.
        "all but fewer than 5 of 7",
        "not told, since the other half would follow from it",
        "6 people; how they divide is not told",
        "Before and after",
    ] {
        assert!(text.contains(told), "`{told}` is missing in {text}");
        assert!(page.contains(told), "`{told}` is missing in the page");
    }
    assert!(
        !text.contains("0 of 6") && !text.contains("5 of 7  "),
        "a small cell follows from what is told: {text}"
    );
    assert!(
        !page.contains("<script") && !page.contains("http"),
        "a page that stands alone"
    );
    for code in ["a0", "a1", "a5"] {
        assert!(
            !text.contains(code) && !page.contains(&format!(">{code}<")),
            "{code} is named"
        );
    }
    let few = Group {
        from: Some("2026-04-12".parse().expect("a date")),
        ..Group::default()
    };
    let (few_found, _) = tally(&register, rules(), &few).expect("listed");
    let why = cohort_report(library, rules(), &few, &few_found, Moment::now()).expect_err("too few");
    assert!(why.contains("too few"), "{why}");
}

/// A station whose battery is flat writes with a date from before there was this program: nobody knows how old that is, so it is
/// kept when what is old goes.
#[test]
fn what_a_flat_battery_dated_is_not_removed_as_old() {
    let scratch = Scratch::new("flat");
    let register = Register::at(scratch.path("register"));
    let attempt = attempt("respiratory-room/uk-agp-good", 1);
    for (code, at) in [
        ("K1", "2000-01-01T00:00:10Z"),
        ("K2", "2021-06-01T09:00:00Z"),
        ("K3", "2026-06-01T09:00:00Z"),
    ] {
        keep(&register, &entry(Some(code), attempt.clone(), at));
    }
    let before = "2023-01-01".parse().expect("a date");
    let gone = register.forget(&Whose::Before(before)).expect("it can be listed");
    assert_eq!(gone.entries, 1);
    assert_eq!(codes(&register), ["k1", "k3"].map(|code| code.to_uppercase()));
}

/// Reports that the window saved are found by their names, also where a second one of a day was numbered, and those of nobody are
/// nobody's.
#[test]
fn reports_of_a_person_are_known_by_their_names() {
    use smirch::report::{is_report_of, report_name};
    let code = |code: &str| Code::new(code).expect("a code");
    let name = report_name("uk-agp", Some(&person("K1")), moment("2026-05-01T09:00:00Z"));
    for (ending, theirs) in [
        (".html", true),
        ("-2.html", true),
        ("-12.png", true),
        ("-2.svg", true),
        ("-x.html", false),
        ("-.html", false),
        (".txt", false),
    ] {
        assert_eq!(
            is_report_of(&format!("{name}{ending}"), &code("k1")),
            theirs,
            "{ending}"
        );
        assert!(!is_report_of(&format!("{name}{ending}"), &code("K12")));
    }
    let nobodys = report_name("uk-agp", None, moment("2026-05-01T09:00:00Z"));
    assert!(
        !is_report_of(&format!("{nobodys}.html"), &code("nobody")),
        "{nobodys}"
    );
}
