//! `smirch register` as its users run it: what it prints, and what it says when something is wrong.

use std::fs;

use smirch::record::{Id, note_kept, replay};

use crate::cli::{run, text};
use crate::fixture::{Scratch, content};

fn keep(scratch: &Scratch, script: &str, more: &[&str]) {
    let register = scratch.path("register");
    let mut arguments = vec![
        "drill",
        "classic-tracer",
        "--script",
        script,
        "--register",
        text(&register),
    ];
    arguments.extend(more);
    run(&arguments).ends(0);
}

#[test]
fn a_result_that_a_drill_leaves_is_listed_shown_and_forgotten() {
    let scratch = Scratch::new("register-cli");
    let (register, log, csv) = (
        scratch.path("register"),
        scratch.path("logs/a.jsonl"),
        scratch.path("list.csv"),
    );
    fs::create_dir_all(scratch.path("logs")).expect("made");
    keep(
        &scratch,
        "uk-agp-good",
        &["--who", "K7", "--ward", "4 a", "--log", text(&log)],
    );
    keep(&scratch, "no-rub", &["--who", "K8", "--group", "nurse"]);
    let at = ["--register", text(&register)];
    let run = |more: &[&str]| run(&[&["register"], more, &at].concat());
    run(&["list", "--csv", text(&csv)])
        .ends(0)
        .prints(&["K7", "K8", "classic-tracer", "4 a"]);
    let table = fs::read_to_string(&csv).expect("written");
    assert!(
        table.starts_with("date,code,") && table.contains("\r\n"),
        "{table}"
    );
    run(&["list", "--ward", "4 A"]).ends(0).prints(&["K7"]);
    run(&["list", "--from", "2026-03-02", "--to", "2026-03-01"])
        .ends(2)
        .complains(&["--to", "hint"]);
    run(&["list", "--from", "yesterday"])
        .ends(2)
        .complains(&["no date", "2026-03-01"]);
    run(&["show", "k7"])
        .ends(0)
        .prints(&["hands and wrists", "of 100", "a.jsonl"]);
    run(&["show", "K9"])
        .ends(2)
        .complains(&["nothing is kept", "hint"]);
    run(&["show", "../K7"]).ends(2).complains(&["no path"]);
    run(&["due"]).ends(0).notes(&["no interval has been trialled"]);
    run(&["check"]).ends(0).prints(&["2 entries sound"]);
    let (ics, xapi) = (scratch.path("due.ics"), scratch.path("xapi.json"));
    run(&["due", "--all", "--ics", text(&ics)]).ends(0);
    assert!(
        fs::read_to_string(&ics)
            .expect("written")
            .contains("BEGIN:VCALENDAR")
    );
    run(&["export"]).ends(2);
    run(&["export", "--xapi", text(&xapi), "--who", "K7"])
        .ends(0)
        .prints(&["0 statements written; scripts have none"]);
    let statements: Vec<serde_json::Value> =
        serde_json::from_str(&fs::read_to_string(&xapi).expect("written")).expect("JSON");
    assert!(statements.is_empty(), "what a script did nobody has done");
    let logs = scratch.path("logs");
    run(&["forget", "K7", "--logs", text(&logs)])
        .ends(0)
        .prints(&["1 entry removed", "log removed: a.jsonl"]);
    assert!(!log.exists(), "the log is gone too");
    run(&["check"]).ends(0).prints(&["1 entry sound"]);
    run(&["forget", "K7"]).ends(0).prints(&["nothing was kept"]);
    run(&["forget"]).ends(2);
    run(&["forget", "--old"]).ends(0).prints(&["nothing is older"]);
}

/// A record tells by which other way something was done.
#[test]
fn a_record_tells_what_was_done_another_way() {
    let scratch = Scratch::new("register-ways");
    keep(&scratch, "gown-by-front", &["--who", "K1"]);
    keep(&scratch, "us-gloves-first-good", &["--who", "K2"]);
    let register = scratch.path("register");
    let show = |code: &str| run(&["register", "show", code, "--register", text(&register)]);
    show("K1").ends(0).prints(&["done another way: "]);
    assert!(!show("K2").ends(0).out.contains("another way"));
}

/// Every result names the station that has its log, also where nobody said what that is called.
#[test]
fn a_result_names_its_station_wherever_it_is_told() {
    let scratch = Scratch::new("register-station");
    let register = scratch.path("register");
    fs::create_dir_all(scratch.path("logs")).expect("made");
    for (n, (code, station)) in [("K1", Some("Room 4")), ("K2", Some("")), ("K3", None)]
        .into_iter()
        .enumerate()
    {
        let log = scratch.path(&format!("logs/{n}.jsonl"));
        let mut more = vec!["--who", code, "--log", text(&log)];
        more.extend(station.iter().flat_map(|name| ["--station", name]));
        keep(&scratch, "no-rub", &more);
    }
    let at = ["--register", text(&register)];
    let run = |more: &[&str]| run(&[&["register"], more, &at].concat());
    run(&["show", "K1"])
        .ends(0)
        .prints(&["log 0.jsonl; station: Room 4"]);
    run(&["show", "K2"])
        .ends(0)
        .prints(&["log 1.jsonl; station: not said"]);
    let (csv, json) = (scratch.path("all.csv"), scratch.path("all.json"));
    run(&["export", "--csv", text(&csv), "--json", text(&json)]).ends(0);
    let rows = fs::read_to_string(&csv).expect("written");
    assert!(
        rows.contains("log,station,id") && rows.contains(",0.jsonl,Room 4,"),
        "{rows}"
    );
    let whole: Vec<serde_json::Value> =
        serde_json::from_str(&fs::read_to_string(&json).expect("written")).expect("JSON");
    let of = |code: &str| {
        let mut found = whole.iter().filter(|e| e["person"]["code"] == code);
        found.next().expect("an entry").get("station").cloned()
    };
    assert_eq!(of("K1"), Some("Room 4".into()));
    assert_eq!(of("K2"), None);
    // Without a word it is what the machine is called, if it is called anything.
    let named = smirch::outside::machine::host_name().is_some();
    assert_eq!(of("K3").is_some(), named);
    crate::cli::run(&["list", "--station", "Room 4"])
        .ends(2)
        .complains(&["keeps no results", "leave `--station` out"]);
    crate::cli::run(&["--station", "../x"])
        .ends(2)
        .complains(&["a station is no path"]);
}

#[test]
fn wrong_use_and_damage_end_in_words() {
    let scratch = Scratch::new("register-wrong");
    let nowhere = scratch.path("nowhere");
    run(&["register", "list", "--register", text(&nowhere)])
        .ends(2)
        .complains(&["no register", "hint"]);
    assert!(!nowhere.exists(), "looking makes nothing");
    let register = scratch.path("register");
    run(&["list", "--register", text(&register)])
        .ends(2)
        .complains(&["no register", "leave `--register` out"]);
    run(&["drill", "classic-tracer", "--script", "no-rub", "--who", "K7"])
        .ends(2)
        .complains(&["--register"]);
    keep(&scratch, "no-rub", &["--who", "K7"]);
    fs::create_dir_all(scratch.path("register/2020-01")).expect("made");
    let broken = scratch.write("register/2020-01/broken.json", "{\"smirch-entry\":1,");
    let said = run(&["register", "check", "--register", text(&register)]).ends(1);
    said.notes(&["torn", text(&broken), "1 fault", "hint"]);
    run(&["register", "list", "--register", text(&register)])
        .ends(0)
        .notes(&["left out", "torn"]);
    scratch.write("register/register.ron", "(format: 1, keep_months: 0)");
    run(&["register", "due", "--register", text(&register)])
        .ends(1)
        .complains(&["register.ron:1:", "keep_months"]);
    let other = scratch.path("other");
    run(&["register", "import", text(&other), "--register", text(&register)]).ends(1);
}

#[test]
fn a_register_has_rules_of_its_own() {
    let scratch = Scratch::new("register-rules");
    let register = scratch.path("register");
    keep(&scratch, "no-rub", &[]);
    let own = include_str!("../../assets/register.ron").replace("mark: 0.9", "mark: 1.5");
    scratch.write("register/register.ron", &own);
    run(&["register", "due", "--register", text(&register)])
        .ends(1)
        .complains(&["mark", "1.5"]);
    run(&["register", "list", "--register", text(&register)])
        .ends(0)
        .notes(&["left aside", "mark", "1.5"]);
    let own = include_str!("../../assets/register.ron").replace("keep_months: 36", "keep_months: 1");
    scratch.write("register/register.ron", &own);
    run(&["register", "forget", "--old", "--register", text(&register)]).ends(0);
}

#[test]
fn logs_go_sooner_than_results_and_only_if_these_are_kept() {
    let scratch = Scratch::new("register-old-logs");
    let (register, logs) = (scratch.path("register"), scratch.path("logs"));
    fs::create_dir_all(&logs).expect("made");
    let names = ["kept", "unkept", "new"].map(|name| logs.join(format!("{name}.jsonl")));
    for (log, days) in names.iter().zip([100, 100, 10]) {
        keep(&scratch, "no-rub", &["--log", text(log)]);
        if log != &names[1] {
            let found = replay(log, content()).expect("it can be replayed");
            assert!(note_kept(log, &found, Id::fresh()).expect("it can be written"));
        }
        // As one that began so long ago; whether its seals are whole is not asked here.
        let whole = fs::read_to_string(log).expect("written");
        let at = whole.find("\"began\":").expect("it says when") + 8;
        let began: u64 = whole[at..at + 10].parse().expect("seconds");
        let old = format!("{}{}{}", &whole[..at], began - days * 86_400, &whole[at + 10..]);
        fs::write(log, old).expect("written");
    }
    run(&[
        "register",
        "forget",
        "--old",
        "--logs",
        text(&logs),
        "--register",
        text(&register),
    ])
    .ends(0)
    .prints(&["1 log removed"]);
    assert_eq!(names.map(|log| log.exists()), [false, true, true]);
    run(&["register", "check", "--register", text(&register)])
        .ends(0)
        .prints(&["3 entries sound"]);
}
