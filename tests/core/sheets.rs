//! What whoever watches says: kept, counted, laid beside what another saw, and printed.

use std::path::Path;

use smirch::model::{PassRule, RegisterRules};
use smirch::record::{Code, Id, PassTerms, Person, Purpose, Terms};
use smirch::register::{
    About, Attempt, Decision, Decisions, Drafts, Entry, Judged, Lost, Moment, Register, Short, Standing,
    Verdict, What, agreements, due,
};
use smirch::report::{judged_drawing, judged_html, report_name, work_on};

use crate::cli::{run, text};
use crate::fixture::{content, play_script, setup};

fn rule() -> &'static PassRule {
    &content().library.register.as_ref().expect("rules").pass
}

fn person(code: &str) -> Person {
    Person {
        code: Code::new(code).expect("a code"),
        ward: None,
        group: None,
    }
}

/// The sheet of a script, as the program fills it in, and the attempt.
fn of_script(name: &str) -> (Attempt, Judged) {
    let drill = play_script(name, 3);
    let script = &content().scripts[name];
    let id = script
        .sequence
        .as_ref()
        .unwrap_or(&drill.setup().scenario.sequence);
    let sequence = content().library.sequence(id).expect("a sequence");
    let terms = Terms {
        sequence: id.clone(),
        purpose: Purpose::Assessment,
        ..Terms::default()
    };
    let about = About {
        attempt: Id::fresh(),
        began: Moment::now(),
        finished: true,
        content: content().digest,
        terms: &terms,
        told: Vec::new(),
        log: None,
    };
    let attempt = Attempt::as_judged(&drill, sequence, about);
    let judged = Judged::of_attempt(&attempt, rule(), drill.setup().scenario.marks.missed);
    (attempt, judged)
}

fn names() -> impl Iterator<Item = &'static String> {
    content().scripts.keys()
}

#[test]
fn a_sheet_that_nobody_changed_says_what_the_attempt_says() {
    for name in names() {
        let (attempt, sheet) = of_script(name);
        assert_eq!(sheet.marks(), (attempt.marks.left, attempt.marks.of), "{name}");
        assert_eq!(sheet.falls_short(), attempt.falls_short(rule()), "{name}");
        assert!(sheet.steps.iter().all(|step| !step.is_overruled()), "{name}");
    }
}

#[test]
fn whoever_watched_decides_who_is_due_when() {
    let folder = tempfile::tempdir().expect("a folder");
    let register = Register::at(folder.path().join("register"));
    let rules = content().library.register.as_ref().expect("rules");
    let name = names().find(|n| n.ends_with("-good")).expect("a good script");
    let (attempt, mut sheet) = of_script(name);
    let standing = |register: &Register| {
        let list = due(register, rules, Moment::now()).expect("it can be read");
        assert!(list.reading.damage.is_empty(), "{:?}", list.reading.damage);
        let row = list.rows.first().expect("somebody");
        (list.rows.len(), row.standing.clone(), row.attempts)
    };
    let keep = |what: What| {
        register
            .keep(&Entry::new(Some(person("K7")), what))
            .expect("kept")
    };
    keep(What::Attempt(Box::new(attempt)));
    assert_eq!(standing(&register), (1, Standing::Clean(1), 1));
    sheet.observer = Code::new("AB").ok();
    sheet.decision = Decision::Again;
    sheet.comment = "Unsure at the straps".to_owned();
    keep(What::Judged(Box::new(sheet.clone())));
    assert_eq!(
        standing(&register),
        (1, Standing::NotPassed(vec![Short::Decided]), 1),
        "one attempt, decided by a person"
    );
    // A real person counts as one more attempt.
    let scenario = content()
        .library
        .scenario("classic-tracer")
        .expect("it is built in");
    let sequence = content()
        .library
        .sequence(&sheet.sequence.id)
        .expect("a sequence");
    let mut real = Judged::of_sequence(&content().library, scenario, sequence, rule(), Moment::now());
    for step in real.steps.iter_mut().filter(|s| s.verdict == Verdict::NotSeen) {
        step.verdict = Verdict::Met;
    }
    real.observer = Code::new("AB").ok();
    real.decision = Decision::Passed;
    keep(What::Judged(Box::new(real.clone())));
    assert_eq!(standing(&register), (1, Standing::Clean(1), 2));
    // Two who watched the same are no two occasions, and the stricter of them counts.
    real.sheet = Id::fresh();
    real.observer = Code::new("CD").ok();
    keep(What::Judged(Box::new(real.clone())));
    assert_eq!(standing(&register), (1, Standing::Clean(1), 2));
    real.sheet = Id::fresh();
    real.observer = Code::new("EF").ok();
    real.decision = Decision::Again;
    keep(What::Judged(Box::new(real)));
    assert_eq!(
        standing(&register),
        (1, Standing::NotPassed(vec![Short::Decided]), 2)
    );
    // Nothing of it is an attempt to a tally, and what was decided of the attempt counts there, in lists and in statements too.
    let (tally, reading) =
        smirch::register::tally(&register, rules, &smirch::register::Group::default()).expect("read");
    assert_eq!((tally.attempts, reading.damage.len()), (1, 0));
    assert_eq!(
        (tally.passed.hits, tally.passed.of),
        (0, 1),
        "it passed by the rule and not by the person"
    );
    let entries = register.read().expect("read").found;
    let decided = Decisions::of_entries(&entries);
    let table = smirch::report::register::attempts_table(&entries, rules, &decided).text();
    assert!(
        table.contains("to be practised and seen again, as decided by whoever watched"),
        "{table}"
    );
    let statements: Vec<_> = entries
        .iter()
        .flat_map(|entry| smirch::report::xapi::statements(entry, rules, &decided))
        .collect();
    // What the rule alone would have said, as it may have been sent before, is voided and not edited.
    let before: Vec<_> = entries
        .iter()
        .flat_map(|entry| smirch::report::xapi::statements(entry, rules, &Decisions::default()))
        .collect();
    let of = entries
        .iter()
        .find_map(|entry| entry.attempt())
        .expect("an attempt")
        .attempt;
    let was = before.last().expect("over");
    assert_eq!(was["verb"]["display"]["en"], "passed");
    let voided: Vec<_> = statements
        .iter()
        .filter(|s| s["verb"]["id"] == "http://adlnet.gov/expapi/verbs/voided")
        .map(|s| &s["object"]["id"])
        .collect();
    assert!(voided.contains(&&was["id"]), "{voided:?}");
    // As are decisions that another has taken the place of; each with an id of its own.
    assert_eq!(voided.len(), decided.all_of(of).count(), "{statements:?}");
    let ids: std::collections::BTreeSet<String> = statements.iter().map(|s| s["id"].to_string()).collect();
    assert_eq!(ids.len(), statements.len());
    let over = statements.last().expect("an attempt has statements");
    assert_ne!(over["id"], was["id"]);
    assert_eq!(over["verb"]["display"]["en"], "failed");
    assert_eq!(over["result"]["success"], false);
    assert_eq!(over["context"]["instructor"]["account"]["name"], "ab");
    assert_eq!(
        smirch::report::xapi::faults(
            &statements,
            jiff::Timestamp::now() + jiff::SignedDuration::from_hours(1)
        ),
        Vec::<String>::new()
    );
    let left = register
        .forget(&smirch::register::Whose::Of(Code::new("k7").expect("a code")))
        .expect("forgotten");
    assert_eq!(left.entries, 5, "sheets go with the person");
}

/// What was taken off by a way that the sequence does not ask for is not simply called done, wherever the sheet is read; whoever watched may
/// tick it all the same.
#[test]
fn what_was_done_another_way_is_called_so_and_can_still_be_ticked() {
    let mut found = 0;
    for name in names() {
        let (attempt, sheet) = of_script(name);
        for (n, step) in sheet.steps.iter().enumerate() {
            let (finding, kept) = (step.found.as_ref().expect("the program's"), &attempt.steps[n]);
            let poor = kept.lacks.iter().any(|lack| lack == "poor");
            assert!(poor || finding.other_ways.is_empty(), "{name}: {}", step.ask);
            if finding.other_ways.is_empty() {
                assert!(!finding.words().contains("another way"), "{name}: {}", step.ask);
                continue;
            }
            assert_ne!(finding.how, "missed", "{name}: {}", step.ask);
            assert!(finding.words().ends_with("another way"), "{name}: {}", step.ask);
            assert_eq!(step.verdict, Verdict::NotMet, "{name}: {}", step.ask);
            if finding.how != "done" {
                continue;
            }
            found += 1;
            assert_eq!(finding.words(), "done another way");
            let page = |sheet: &Judged| judged_html(None, sheet, None);
            assert!(page(&sheet).contains("not as asked (another way)"), "{name}");
            let mut ticked = sheet.clone();
            ticked.steps[n].verdict = Verdict::Met;
            ticked.steps[n].remark = "Our ward does it so".to_owned();
            assert!(ticked.marks().0 >= sheet.marks().0, "{name}");
            let html = page(&ticked);
            assert!(
                html.contains("Program: done another way. ") && html.contains("Remark: Our ward does it so"),
                "{name}"
            );
        }
    }
    assert!(found > 3, "{found} scripts with such a step");
}

/// An assessment is judged by the rule that it was set up with, also where there is another rule by now and no sheet yet.
#[test]
fn an_assessment_goes_by_the_rule_that_it_was_set_up_with() {
    let usual = content().library.register.as_ref().expect("rules");
    let (mut attempt, _) = of_script("classic-tracer/manitoba-good");
    attempt.marks.left = Some(attempt.marks.of / 2.0);
    attempt.marks.why.push(Lost {
        step: attempt.steps[0].id.clone(),
        kind: "late".to_owned(),
        marks: attempt.marks.of / 2.0,
        reason: "later than asked".to_owned(),
    });
    assert_eq!(attempt.falls_short(rule()), [Short::Marks]);
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path().join("register");
    let register = Register::at(at.clone());
    let passed = |rules: &RegisterRules| {
        let (tally, _) = smirch::register::tally(&register, rules, &Default::default()).expect("read");
        let list = due(&register, rules, Moment::now()).expect("read");
        (tally.passed.hits, list.rows[0].standing == Standing::Passed)
    };
    let keep = |attempt: &Attempt| {
        register
            .keep(&Entry::new(
                Some(person("K7")),
                What::Attempt(Box::new(attempt.clone())),
            ))
            .expect("kept")
    };
    let path = keep(&attempt);
    assert_eq!(passed(usual), (0, false), "it goes by the register's rule");
    std::fs::remove_file(path).expect("it is there");
    attempt.terms.pass = Some(PassTerms {
        mark: 0.0,
        cleans: Vec::new(),
    });
    keep(&attempt);
    assert_eq!(attempt.falls_short(rule()), []);
    assert_eq!(passed(usual), (1, true));
    let strict = RegisterRules {
        pass: PassRule {
            mark: 1.0,
            ..rule().clone()
        },
        ..usual.clone()
    };
    assert_eq!(passed(&strict), (1, true), "whatever rule there is later");
    run(&["register", "show", "K7", "--register", text(&at)])
        .ends(0)
        .prints(&[
            "set up to pass with 0 % of the marks and no critical error",
            "less than the rule here asks for now: 90 % of the marks, no critical error, and hands cleaned in full after the gloves and at the end",
        ]);
}

/// Whoever reads a sheet, printed or listed, is told that its rule was less than the usual one.
#[test]
fn a_sheet_whose_rule_was_less_says_so_wherever_it_is_read() {
    let (_, mut sheet) = of_script(names().next().expect("a script"));
    let less = "This is less than the usual rule here, which asks for 90 % of the marks";
    let page = |sheet: &Judged| judged_html(Some(&person("K7")), sheet, Some(sheet.began));
    assert!(!page(&sheet).contains(less));
    let own = PassRule {
        mark: 0.75,
        cleans: Vec::new(),
        basis: String::new(),
    };
    sheet.judge_by(&own, rule());
    let html = page(&sheet);
    assert!(
        html.contains(less) && html.contains("(75 % of the marks and no critical error)"),
        "{html}"
    );
    sheet.observer = Code::new("AB").ok();
    sheet.decision = Decision::Passed;
    let folder = tempfile::tempdir().expect("a folder");
    let (at, csv) = (folder.path().join("register"), folder.path().join("s.csv"));
    Register::at(at.clone())
        .keep(&Entry::new(Some(person("K7")), What::Judged(Box::new(sheet))))
        .expect("kept");
    run(&["register", "show", "K7", "--register", text(&at)])
        .ends(0)
        .prints(&["the rule asked for 75 % of the marks and no critical error", less]);
    run(&["register", "sheets", "--register", text(&at), "--csv", text(&csv)]).ends(0);
    let rows = std::fs::read_to_string(&csv).expect("written");
    assert!(
        rows.contains("rule asks for,less than usual")
            && rows.contains("75 % of the marks and no critical error,yes"),
        "{rows}"
    );
}

/// Two sheets of one occasion, by two observers, with what each said of the steps.
fn two(said: [&[Verdict]; 2]) -> Vec<Entry> {
    let checklist = content().library.checklist("on-droplet").expect("it is built in");
    let now = Moment::now();
    said.iter()
        .zip(["AB", "CD"])
        .map(|(said, who)| {
            let mut sheet = Judged::of_checklist(checklist, rule(), now);
            for (step, verdict) in sheet.steps.iter_mut().zip(*said) {
                step.verdict = *verdict;
            }
            sheet.observer = Code::new(who).ok();
            sheet.decision = Decision::Passed;
            Entry::new(Some(person("K7")), What::Judged(Box::new(sheet)))
        })
        .collect()
}

#[test]
fn two_who_watched_the_same_are_laid_beside_each_other_step_by_step() {
    use Verdict::{Met, NotMet, NotSeen};
    let entries = two([
        &[Met, Met, NotMet, NotMet, Met, NotSeen, Met],
        &[Met, NotMet, NotMet, Met, Met, Met, Met],
    ]);
    let found = agreements(&entries);
    assert_eq!(found.len(), 1);
    let of = &found[0];
    assert_eq!(
        (of.pairs, of.steps.len()),
        (1, 6),
        "what one did not see is left out"
    );
    assert_eq!((of.all.same, of.all.of), (4, 6));
    // Yes to 4 and 4 of 6: chance alone brings (2/3)^2 + (1/3)^2 = 5/9, so kappa is (2/3 - 5/9) / (4/9) = 1/4.
    assert!((of.all.kappa.expect("there is one") - 0.25).abs() < 1e-12);
    let mut same_observer = entries.clone();
    if let What::Judged(sheet) = &mut same_observer[1].what {
        sheet.observer = Code::new("ab").ok();
    }
    assert!(
        agreements(&same_observer).is_empty(),
        "nobody agrees with themselves"
    );
    let mut later = entries;
    if let What::Judged(sheet) = &mut later[1].what {
        sheet.began = Moment::of_seconds(1_700_000_000).expect("a moment");
    }
    assert!(agreements(&later).is_empty(), "another occasion");
}

#[test]
fn sheets_are_listed_printed_and_compared_from_the_command_line() {
    use Verdict::{Met, NotMet};
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path().join("register");
    let register = Register::at(at.clone());
    let met = [Met; 7];
    for entry in two([&met, &[Met, NotMet, Met, Met, Met, Met, Met]]) {
        register.keep(&entry).expect("kept");
    }
    let html = folder.path().join("k7.html");
    let place = ["--register", text(&at)];
    let run = |more: &[&str]| run(&[&["register"], more, &place].concat());
    run(&["sheets", "--who", "K7", "--html", text(&html)])
        .ends(0)
        .prints(&["putting kit on"]);
    let page = std::fs::read_to_string(&html).expect("written");
    assert!(page.contains("Signed by name typed") && page.contains("K7"));
    run(&["agree"])
        .ends(0)
        .prints(&["the same 6 of 7 (86 %)"])
        .notes(&["kappa falls"]);
    run(&["show", "K7"]).ends(0).prints(&["watched by CD: passed"]);
    run(&["sheets", "--who", "X1", "--html", text(&html)])
        .ends(2)
        .complains(&["no sheet of this person"]);
    // Programs elsewhere get them too, each as its observer decided.
    let [json, xapi] = ["all.json", "xapi.json"].map(|name| folder.path().join(name));
    run(&["export", "--json", text(&json), "--xapi", text(&xapi)])
        .ends(0)
        .prints(&["0 attempts written", "2 sheets of whoever watched written"]);
    let read = |path: &Path| -> Vec<serde_json::Value> {
        serde_json::from_str(&std::fs::read_to_string(path).expect("written")).expect("JSON")
    };
    assert_eq!(read(&json).len(), 2);
    let statements = read(&xapi);
    let mut told: Vec<(&str, &str, &str)> = statements
        .iter()
        .map(|s| {
            let of = |path: &str| s.pointer(path).and_then(|v| v.as_str()).unwrap_or_default();
            (
                of("/verb/display/en"),
                of("/actor/account/name"),
                of("/context/instructor/account/name"),
            )
        })
        .collect();
    told.sort_unstable();
    assert_eq!(told, [("passed", "k7", "ab"), ("passed", "k7", "cd")]);
    assert!(
        statements.iter().all(|s| s["result"]["success"] == true
            && s["object"]["id"]
                .as_str()
                .is_some_and(|id| id.contains("/watched/"))),
        "{statements:?}"
    );
}

/// Whoever asks to be forgotten goes from damaged entries too, and is told where they are named as who watched.
#[test]
fn whoever_is_forgotten_goes_from_what_is_damaged_too() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path().join("register");
    let register = Register::at(at.clone());
    let sheets = two([&[Verdict::Met; 7], &[Verdict::Met; 7]]);
    for entry in &sheets {
        register.keep(entry).expect("kept");
    }
    let month = at.join(sheets[0].month());
    let torn = |name: &str, code: &str| {
        let path = month.join(name);
        std::fs::write(
            &path,
            format!("{{\"smirch-entry\":1,\"person\":{{\"code\":\"{code}\""),
        )
        .expect("written");
        path
    };
    let whole = std::fs::read_dir(&month)
        .expect("listed")
        .next()
        .expect("one")
        .expect("one")
        .file_name();
    let other = |from: char, to: char| whole.to_string_lossy().replace(from, &to.to_string());
    let (theirs, anothers) = (torn(&other('0', '1'), "AB"), torn(&other('1', '2'), "X2"));
    let logs = folder.path().join("logs");
    let forget = |code: &str| {
        run(&[
            "register",
            "forget",
            code,
            "--register",
            text(&at),
            "--logs",
            text(&logs),
        ])
    };
    forget("AB")
        .ends(0)
        .prints(&["1 removed: damaged or newer file that named the person"])
        .notes(&["1 sheet of other people name this code as who watched"]);
    assert!(!theirs.exists() && anothers.exists());
}

/// Nothing is written where records are kept, whatever it is called.
#[test]
fn nothing_is_written_into_a_register() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path().join("register");
    let register = Register::at(at.clone());
    let entry = two([&[Verdict::Met; 7], &[Verdict::Met; 7]]).remove(0);
    register.keep(&entry).expect("kept");
    let path = at.join(entry.month()).join(entry.file_name());
    let before = std::fs::read_to_string(&path).expect("it is there");
    let new = at.join("register.ron");
    let place = text(&at);
    for arguments in [
        vec!["register", "export", "--json", text(&path), "--register", place],
        vec!["register", "due", "--ics", text(&path), "--register", place],
        vec!["register", "report", "--html", text(&new), "--register", place],
        vec![
            "drill",
            "classic-tracer",
            "--script",
            "no-rub",
            "--json",
            text(&path),
            "--register",
            place,
        ],
    ] {
        run(&arguments)
            .ends(2)
            .complains(&["where records are kept", "hint"]);
    }
    assert_eq!(std::fs::read_to_string(&path).expect("it is there"), before);
    assert!(!new.exists());
}

/// A rule that cannot be read keeps nobody from looking at what is kept, or from removing it.
#[test]
fn a_register_with_broken_rules_can_be_looked_at() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path().join("register");
    let register = Register::at(at.clone());
    for entry in two([&[Verdict::Met; 7], &[Verdict::Met; 7]]) {
        register.keep(&entry).expect("kept");
    }
    std::fs::write(at.join("register.ron"), "(format: 1,").expect("written");
    let run = |more: &[&str]| run(&[&["register"], more, &["--register", text(&at)]].concat());
    run(&["check"])
        .ends(0)
        .prints(&["2 entries sound"])
        .notes(&["the usual ones hold"]);
    run(&["show", "K7"]).ends(0).prints(&["watched by CD: passed"]);
    run(&["due"]).ends(1).complains(&["register.ron:1:"]);
    run(&["forget", "K7"]).ends(0).prints(&["2 entries removed"]);
}

/// What whoever watched an assessment saw of its steps and critical errors counts in the report of a ward, as their decision does.
#[test]
fn what_was_overruled_counts_as_it_was_seen() {
    let folder = tempfile::tempdir().expect("a folder");
    let register = Register::at(folder.path().join("register"));
    let rules = content().library.register.as_ref().expect("rules");
    let (attempt, mut sheet) = of_script("classic-tracer/no-rub");
    let keep = |what: What| {
        register
            .keep(&Entry::new(Some(person("K7")), what))
            .expect("kept")
    };
    let told = || {
        let group = smirch::register::Group::default();
        let (tally, _) = smirch::register::tally(&register, rules, &group).expect("read");
        let missed: u64 = tally.steps.iter().map(|step| step.missed.hits).sum();
        (tally.passed.hits, missed, tally.critical.len())
    };
    keep(What::Attempt(Box::new(attempt)));
    let (passed, missed, critical) = told();
    assert!(passed == 0 && missed > 0 && critical > 0, "{missed}, {critical}");
    for step in &mut sheet.steps {
        step.verdict = Verdict::Met;
        step.remark = "Seen from the side".to_owned();
    }
    for one in &mut sheet.critical {
        one.stands = false;
        one.remark = "Gloves were clean".to_owned();
    }
    sheet.observer = Code::new("AB").ok();
    sheet.decision = Decision::Passed;
    keep(What::Judged(Box::new(sheet)));
    assert_eq!(told(), (1, 0, 0));
}

/// A ward's report tells which critical errors were seen on real people, once for an occasion that two watched.
#[test]
fn critical_errors_that_were_seen_are_in_the_report_of_a_ward() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path().join("register");
    let register = Register::at(at.clone());
    let setup = setup("classic-tracer");
    let sequence = setup.library.sequence("manitoba").expect("it is built in");
    let asked = "The face touched with a hand or a glove that was not clean";
    for n in 0..14 {
        let library = &content().library;
        let mut sheet = Judged::of_sequence(library, &setup.scenario, sequence, rule(), Moment::now());
        sheet.observer = Code::new("ab").ok();
        sheet.decision = Decision::Again;
        for step in &mut sheet.steps {
            step.verdict = Verdict::Met;
        }
        let seen = sheet.critical.iter_mut().find(|c| c.what == asked);
        seen.expect("it is looked for").stands = n < 6;
        let who = person(&format!("K{}", 10 + n));
        let entry = Entry::new(Some(who.clone()), What::Judged(Box::new(sheet.clone())));
        register.keep(&entry).expect("kept");
        if n == 0 {
            // A second observer saw nothing of it.
            sheet.sheet = Id::fresh();
            sheet.observer = Code::new("cd").ok();
            sheet.critical.iter_mut().for_each(|c| c.stands = false);
            let entry = Entry::new(Some(who), What::Judged(Box::new(sheet)));
            register.keep(&entry).expect("kept");
        }
    }
    let csv = folder.path().join("ward.csv");
    run(&["register", "report", "--register", text(&at), "--csv", text(&csv)]).ends(0);
    let table = std::fs::read_to_string(&csv).expect("written");
    let line = table
        .lines()
        .find(|line| line.contains(&format!("Critical error seen: {asked}")))
        .unwrap_or_else(|| panic!("it is not told: {table}"));
    assert!(line.contains(",6,14,") || line.contains("42.9"), "{line}");
    assert_eq!(
        table.matches("Critical error seen").count(),
        1,
        "what nobody saw is not listed: {table}"
    );
}

#[test]
fn a_draft_stands_as_it_stood_and_leaves_when_it_is_signed() {
    let folder = tempfile::tempdir().expect("a folder");
    let drafts = Drafts::beside(folder.path());
    assert!(drafts.all().expect("no folder yet").is_empty());
    let mut entries = two([&[Verdict::Met], &[Verdict::NotMet]]);
    for entry in &entries {
        drafts.keep(entry).expect("kept");
    }
    // Kept again, it takes the place of what was there.
    if let What::Judged(sheet) = &mut entries[0].what {
        sheet.comment = "More".to_owned();
    }
    drafts.keep(&entries[0]).expect("kept");
    let all = drafts.all().expect("read");
    assert_eq!(all.len(), 2);
    assert!(all.contains(&entries[0]) && all.contains(&entries[1]));
    drafts
        .remove(entries[0].judged().expect("a sheet").sheet)
        .expect("removed");
    assert_eq!(drafts.all().expect("read"), [entries[1].clone()]);
}

/// Who asks to be forgotten leaves no sheet that nobody signed, and no report where the window saves them.
#[test]
fn whoever_is_forgotten_leaves_no_sheet_and_no_report() {
    let folder = tempfile::tempdir().expect("a folder");
    let (logs, saved) = (folder.path().join("logs"), folder.path().join("pictures"));
    std::fs::create_dir_all(&logs).expect("it can be made");
    std::fs::create_dir_all(&saved).expect("it can be made");
    let drafts = Drafts::beside(&logs);
    let (_, sheet) = of_script("classic-tracer/manitoba-good");
    let named = |code: &str, sheet: &Judged| {
        let name = report_name(&sheet.sequence.id, Some(&person(code)), sheet.began);
        saved.join(format!("{name}.html"))
    };
    for code in ["K9", "K90"] {
        let mut sheet = sheet.clone();
        sheet.sheet = Id::fresh();
        let page = named(code, &sheet);
        std::fs::write(&page, "a report").expect("written");
        std::fs::write(page.with_extension("svg"), "its figure").expect("written");
        let entry = Entry::new(Some(person(code)), What::Judged(Box::new(sheet)));
        drafts.keep(&entry).expect("kept");
    }
    std::fs::write(saved.join("k9-notes.html"), "no report").expect("written");
    // Codes that end alike, or are alike but for a sign, are other people's.
    for code in ["night K9", "night-K9", "K.9", "K 9", "K-9"] {
        std::fs::write(named(code, &sheet), "somebody else's").expect("written");
    }
    let register = folder.path().join("register");
    let forget = || {
        let (register, logs) = (text(&register), text(&logs));
        run(&["register", "forget", "k9", "--register", register, "--logs", logs])
    };
    Register::at(register.clone())
        .keep(&Entry::new(
            Some(person("other")),
            What::Judged(Box::new(sheet.clone())),
        ))
        .expect("kept");
    forget().ends(0).prints(&[
        "the register keeps nothing of `k9`",
        "1 sheet removed that nobody had signed",
        "report removed: ",
    ]);
    let left = drafts.every().expect("listed");
    assert_eq!(left.len(), 1);
    assert_eq!(
        left[0].person.as_ref().map(|p| p.code.to_string()).as_deref(),
        Some("K90")
    );
    let mut names: Vec<String> = std::fs::read_dir(&saved)
        .expect("listed")
        .map(|file| file.expect("listed").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(names.len(), 8, "{names:?}");
    assert!(names.iter().all(|name| !name.contains("--k9--")), "{names:?}");
    forget().ends(0).prints(&["nothing was kept of `k9`"]);
}

#[test]
fn the_report_says_what_went_well_and_at_most_three_things_to_work_on() {
    for name in names() {
        let (_, sheet) = of_script(name);
        let list = work_on(&sheet);
        assert!(list.len() <= 3, "{name}");
        if name.ends_with("-good") {
            assert!(list.is_empty(), "{name}: {list:?}");
        }
        let html = judged_html(Some(&person("K7")), &sheet, Some(sheet.began));
        assert!(!html.contains("<script"), "{name}");
        assert!(html.contains("local rule"), "{name}");
        let draft = judged_html(Some(&person("K7")), &sheet, None);
        assert!(
            draft.contains("Draft, not signed") && !html.contains("Draft, not signed"),
            "{name}"
        );
        // Whoever reads only the steps meets every critical error that came before the last of them.
        let last = sheet.steps.iter().filter_map(|step| step.at).fold(0.0, f64::max);
        for critical in &sheet.critical {
            let at = critical.at.expect("the program knows when");
            let told = sheet
                .steps
                .iter()
                .filter(|step| sheet.critical_by(step).any(|c| c == critical));
            assert_eq!(told.count(), usize::from(at <= last), "{name}: {}", critical.what);
        }
        let drawing = judged_drawing(&sheet);
        let inside = drawing.shapes.iter().all(|shape| {
            let area = shape.extent();
            area.right() <= drawing.width && area.bottom() <= drawing.height
        });
        assert!(inside, "{name}");
        if let Ok(to) = std::env::var("SMIRCH_SHEETS") {
            let file = format!("{to}/{}.html", name.replace('/', "-"));
            std::fs::write(file, html).expect("written");
        }
    }
}
