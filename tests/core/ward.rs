//! A ward over five months, as an example: what its report tells of attempts at the screen and of real people who were watched, and how it
//! prints.

use std::path::Path;
use std::sync::LazyLock;

use smirch::model::RegisterRules;
use smirch::record::{Code, Id, Label, Person};
use smirch::register::{
    Attempt, Decision, Entry, Group, Judged, Moment, Register, Verdict, Watching, What, tally,
};
use smirch::report::{CohortReport, cohort_report};

use crate::cli::{run, text};
use crate::fixture::{Scratch, content};
use crate::register::attempt;

fn rules() -> &'static RegisterRules {
    content().library.register.as_ref().expect("rules")
}

fn at(day: &str) -> Moment {
    Moment::parse(&format!("{day}T09:00:00+01:00")).unwrap_or_else(|e| panic!("{e}"))
}

fn person(n: usize) -> Person {
    Person {
        code: Code::new(&format!("P{n:02}")).expect("a code"),
        ward: Label::new("4 A", "a ward").ok(),
        group: Label::new(["nurse", "doctor"][n % 2], "a group").ok(),
    }
}

/// Attempts at the screen, most of them after a training, and some with errors.
static GOES: LazyLock<Vec<Attempt>> = LazyLock::new(|| {
    [
        "respiratory-room/uk-agp-good",
        "respiratory-room/rubbed-eye",
        "respiratory-room/gown-by-front",
        "respiratory-room/finger-under-cuff",
    ]
    .map(|name| attempt(name, 1))
    .to_vec()
});

fn keep(register: &Register, n: usize, at: Moment, what: What) {
    let mut entry = Entry::new(Some(person(n)), what);
    entry.at = at;
    register.keep(&entry).unwrap_or_else(|e| panic!("not kept: {e}"));
}

fn practised(register: &Register) {
    for (month, done) in (1..=5).zip([12_usize, 14, 16, 15, 13]) {
        for n in 0..done {
            let began = at(&format!("2026-{month:02}-{:02}", 3 + n));
            // Fewer errors as months go by.
            let wrong = n < 10 - month;
            let go = &GOES[if wrong { 1 + n % 3 } else { 0 }];
            let attempt = Attempt {
                attempt: Id::fresh(),
                began,
                ..go.clone()
            };
            keep(register, n, began, What::Attempt(Box::new(attempt)));
        }
    }
}

/// A page of a real person: the first steps as said, all others as asked.
fn page(taking_off: bool, observer: &str, began: Moment, said: &[Verdict]) -> Judged {
    let library = &content().library;
    let mut sheet = if taking_off {
        let scenario = library.scenario("respiratory-room").expect("it is built in");
        let sequence = library.sequence("uk-agp").expect("it is built in");
        Judged::of_sequence(library, scenario, sequence, &rules().pass, began)
    } else {
        let checklist = library.checklist("on-aerosol").expect("it is built in");
        Judged::of_checklist(checklist, &rules().pass, began)
    };
    for (n, step) in sheet.steps.iter_mut().enumerate() {
        if step.verdict != Verdict::NotApplicable {
            step.verdict = said.get(n).copied().unwrap_or(Verdict::Met);
        }
    }
    sheet.observer = Code::new(observer).ok();
    sheet.decision = match said.contains(&Verdict::NotMet) {
        true => Decision::Again,
        false => Decision::Passed,
    };
    sheet
}

/// Eighteen occasions of taking off, six of them watched by two; and four of putting on, which are too few.
fn watched(register: &Register) {
    use Verdict::{Met, NotMet, NotSeen};
    for n in 0..18 {
        let began = at(&format!("2026-04-{:02}", 1 + n));
        let said = [
            if n < 7 { NotMet } else { Met },
            if n < 2 { NotMet } else { Met },
            if n < 6 { NotSeen } else { Met },
        ];
        let keep = |observer, said: &[Verdict]| {
            let sheet = page(true, observer, began, said);
            keep(register, n, began, What::Judged(Box::new(sheet)));
        };
        keep("AB", &said);
        if n >= 12 {
            // Who was better placed saw that it was not done.
            keep("CD", &[NotMet, Met, NotSeen]);
        }
    }
    for n in 0..4 {
        let began = at(&format!("2026-04-{:02}", 21 + n));
        let sheet = page(false, "AB", began, &[]);
        keep(register, n, began, What::Judged(Box::new(sheet)));
    }
}

fn told(register: &Register, group: &Group) -> Result<CohortReport, String> {
    let (found, reading) = tally(register, rules(), group).expect("listed");
    assert!(reading.damage.is_empty(), "{:?}", reading.damage);
    cohort_report(&content().library, rules(), group, &found, at("2026-06-01"))
}

#[test]
fn real_people_have_a_part_of_their_own_in_the_report_and_are_no_attempts() {
    let scratch = Scratch::new("ward-watched");
    let (alone, both) = (scratch.path("alone"), scratch.path("both"));
    let (alone, both) = (Register::at(alone), Register::at(both));
    practised(&alone);
    practised(&both);
    watched(&both);
    let everybody = Group::default();
    let of = |register: &Register, group: &Group| tally(register, rules(), group).expect("listed").0;
    let (without, with) = (of(&alone, &everybody), of(&both, &everybody));
    assert!(without.watched.is_empty());
    // Nothing of attempts changes by whoever was watched.
    assert_eq!(
        (
            without.attempts,
            without.people,
            without.passed,
            &without.steps,
            &without.months
        ),
        (with.attempts, with.people, with.passed, &with.steps, &with.months)
    );
    let [off, on] = &with.watched[..] else {
        panic!("{:?}", with.watched)
    };
    assert_eq!(
        (off.watching, off.occasions, off.people),
        (Watching::TakingOff, 18, 18)
    );
    assert_eq!((on.watching, on.occasions), (Watching::PuttingOn, 4));
    let counts: Vec<[u64; 3]> = off
        .steps
        .iter()
        .take(4)
        .map(|s| [s.done, s.not_done, s.not_seen])
        .collect();
    // Of six occasions that two watched each counts once: the second saw the first step not done.
    assert_eq!(counts, [[5, 13, 0], [16, 2, 0], [12, 0, 6], [18, 0, 0]]);
    assert_eq!((off.passed.hits, off.passed.of), (5, 18));
    let report = told(&both, &everybody).unwrap_or_else(|e| panic!("{e}"));
    let (words, html) = (report.text(), report.html());
    for line in [
        "Real people who were watched: taking off, UK kit for aerosol-generating procedures",
        "18 occasions, 18 people with a code",
        "5 of 18",
        "not done: 13; not seen: 0",
        "done: not told; not done: fewer than 5; not seen: 0",
        "not done: 0; not seen: 6",
    ] {
        assert!(words.contains(line), "`{line}` is missing in {words}");
        assert!(html.contains(line), "`{line}` is missing in the page");
    }
    assert!(
        !words.contains("putting on"),
        "four are too few to tell of: {words}"
    );
    assert!(
        !words.contains("16 of 18"),
        "two of eighteen would be told: {words}"
    );
    for n in 0..18 {
        let code = format!("P{n:02}");
        assert!(!words.contains(&code) && !html.contains(&code), "{code} is named");
    }
    // As a table, a row for each count.
    let csv = String::from_utf8(report.table().csv().expect("it can be written")).expect("text");
    for row in [
        "take off both gloves: done,5,,,,,",
        "take off both gloves: not done,13,,,,,",
        "rub your hands: not done,,,,,,not told",
    ] {
        assert!(csv.contains(row), "`{row}` is missing in {csv}");
    }
    // Another ward has nobody, and another sequence none of these.
    for group in [
        Group {
            ward: Label::new("5", "a ward").ok(),
            ..Group::default()
        },
        Group {
            sequence: Some("us-2020".to_owned()),
            ..Group::default()
        },
        Group {
            to: Some("2026-03-31".parse().expect("a date")),
            ..Group::default()
        },
    ] {
        assert!(of(&both, &group).watched.is_empty(), "{group:?}");
    }
}

#[test]
fn a_ward_that_only_watches_has_a_report_and_an_export() {
    let scratch = Scratch::new("ward-only");
    let folder = scratch.path("register");
    let register = Register::at(folder.clone());
    watched(&register);
    let words = told(&register, &Group::default())
        .unwrap_or_else(|e| panic!("{e}"))
        .text();
    assert!(
        words.contains("Too few finished attempts") && words.contains("18 occasions"),
        "{words}"
    );
    let few = Group {
        to: Some("2026-04-04".parse().expect("a date")),
        ..Group::default()
    };
    let why = told(&register, &few).expect_err("four are too few");
    assert!(why.contains("too few"), "{why}");
    let place = ["--register", text(&folder)];
    let run = |more: &[&str]| run(&[&["register"], more, &place].concat());
    let (csv, other) = (scratch.path("watched.csv"), scratch.path("attempts.csv"));
    run(&["export", "--watched", text(&csv)])
        .ends(0)
        .prints(&["28 sheets of real people written"]);
    let rows = std::fs::read_to_string(&csv).expect("written");
    let rows: Vec<Vec<&str>> = rows.lines().map(|line| line.split(',').collect()).collect();
    let occasion = rows[0]
        .iter()
        .position(|cell| *cell == "occasion")
        .expect("a column");
    let of = |row: &Vec<&str>| row[row.len() - (rows[0].len() - occasion)].to_owned();
    let mut occasions: Vec<String> = rows[1..].iter().map(of).collect();
    occasions.sort();
    occasions.dedup();
    assert_eq!(occasions.len(), 22, "two who watched the same have one occasion");
    run(&["export", "--csv", text(&other)])
        .ends(0)
        .prints(&["0 attempts written"]);
    let attempts = std::fs::read_to_string(&other).expect("written");
    assert_eq!(
        attempts.lines().count(),
        1,
        "none of them is an attempt: {attempts}"
    );
    run(&["export", "--csv", text(&csv), "--watched", text(&csv)])
        .ends(2)
        .complains(&["both write"]);
}

/// What is printed has no heading at the foot of a page, no row that is broken, and nothing that stands alone at its end. How many pages it
/// takes is looked at by eye: `SMIRCH_SHEETS=DIR` writes it.
#[test]
fn a_report_of_a_ward_is_made_to_print_on_few_pages() {
    let scratch = Scratch::new("ward-prints");
    let register = Register::at(scratch.path("register"));
    practised(&register);
    watched(&register);
    let group = Group {
        ward: Label::new("4 A", "a ward").ok(),
        split: Some("2026-03-01".parse().expect("a date")),
        ..Group::default()
    };
    let html = told(&register, &group).unwrap_or_else(|e| panic!("{e}")).html();
    let print = html.split("@media print").nth(1).expect("how it prints is said");
    for asked in [
        "h2, .about { break-after: avoid; }",
        "tr, figure, svg.run { break-inside: avoid; }",
        "tr:first-child { break-after: avoid; }",
        "tr:last-child { break-before: avoid; }",
        "footer { break-before: avoid; break-inside: avoid;",
    ] {
        assert!(print.contains(asked), "`{asked}` is not asked of what prints it");
    }
    if let Ok(to) = std::env::var("SMIRCH_SHEETS") {
        std::fs::write(Path::new(&to).join("ward.html"), html).expect("written");
    }
}
