//! Desks that are killed at any moment while somebody practises, assesses, watches or teaches at them, two at a time with one
//! register: nothing that was done, ticked, signed or counted is lost. Each desk writes down what it was told is done, after it
//! was told; whatever stands there must be on the disk.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use smirch::drill::Drill;
use smirch::model::{Pace, Whereabouts};
use smirch::record::{Id, Replay, Terms, replay};
use smirch::register::{Decision, Drafts, Entry, Judged, Register, Station, Verdict, What};
use smirch::view::settings::Use;
use smirch::view::{Command, Desk, LogWatch, Page, SheetCommand, Watch};

use crate::fixture::{Dice, Scratch, content};
use crate::kills::how_many;

/// Where a desk that is killed works, and with which number; without it there is nothing to do.
const AT: &str = "SMIRCH_DESK_AT";

fn station(at: &Path, waiting: &Path) -> Station {
    Station::new(Register::at(at.join("register")), waiting.join("waiting"))
}

fn log_watch(at: &Path, logs: &Path) -> LogWatch {
    LogWatch::new(
        logs.to_owned(),
        content().clone(),
        Some(station(at, logs)),
        |told| panic!("{told}"),
    )
}

/// Writes down what is done, after whoever keeps it was told.
#[derive(Clone)]
struct Told(Arc<Mutex<(File, Option<Id>)>>);

impl Told {
    fn say(&self, words: &str) {
        let mut inner = self.0.lock().expect("nobody panicked");
        writeln!(inner.0, "{words}").expect("it can be written");
    }

    fn of_attempt(&self, word: &str) {
        let id = self.0.lock().expect("nobody panicked").1.expect("one was begun");
        self.say(&format!("{word} {id}"));
    }

    fn begin(&self, id: Option<Id>) {
        self.0.lock().expect("nobody panicked").1 = id;
    }
}

/// The number that a remark ends with.
fn number(text: &str) -> u64 {
    text.rsplit(' ').next().and_then(|n| n.parse().ok()).unwrap_or(0)
}

fn hands(entry: &Entry) -> u64 {
    match &entry.what {
        What::Lesson(given) => given.asked.iter().map(|asked| u64::from(asked.hands())).sum(),
        _ => 0,
    }
}

impl Watch for Told {
    fn began(&mut self, _: &Drill, terms: &Terms) {
        self.begin(terms.attempt);
        self.of_attempt("began");
    }
    fn resumed(&mut self, _: &Path, replay: &Replay) {
        self.begin(replay.attempt);
        self.of_attempt("began");
    }
    fn acted(&mut self, _: &Drill) {
        self.of_attempt("changed");
    }
    fn took_back(&mut self, _: &Drill) {
        self.of_attempt("changed");
    }
    fn ended(&mut self, _: &Drill) {
        self.of_attempt("ended");
    }
    fn drafted(&mut self, entry: &Entry) {
        let sheet = entry.judged().expect("a sheet");
        self.say(&format!("ticked {} {}", sheet.sheet, number(&sheet.comment)));
    }
    fn teaching(&mut self, so_far: &[Entry]) {
        for entry in so_far.iter().filter(|entry| hands(entry) > 0) {
            self.say(&format!("counted {} {}", entry.id, hands(entry)));
        }
    }
}

fn one_action(desk: &mut Desk, dice: &mut Dice) {
    desk.apply(Command::LetBe);
    match dice.below(8) {
        0 => {
            desk.apply(Command::Rub);
            desk.apply(Command::RubFor(4.0));
            desk.apply(Command::RubDone);
        }
        1 => desk.apply(Command::Wait),
        2 => desk.apply(Command::TakeBack),
        3 => desk.apply(Command::Walk(
            [Whereabouts::Doorway, Whereabouts::Inside, Whereabouts::Outside][dice.below(3)],
        )),
        _ => {
            let sites = desk.drill().map_or(0, |drill| drill.setup().sites.len());
            for _ in 0..20 {
                let before = desk.drill().map(|drill| drill.done().len());
                desk.apply(Command::Choose(dice.below(sites)));
                desk.apply(Command::Option(1 + dice.below(3), Pace::Hurried));
                if desk.drill().map(|drill| drill.done().len()) != before {
                    break;
                }
            }
        }
    }
}

fn ticks(desk: &mut Desk, dice: &mut Dice, told: &Told) {
    let say = |desk: &mut Desk, command: SheetCommand| desk.apply(Command::Sheet(command));
    say(desk, SheetCommand::Observer("AB".to_owned()));
    for _ in 0..2 + dice.below(8) {
        let Some(view) = desk.sheet_view() else { return };
        let at = view.at[dice.below(view.at.len())];
        let verdict = [Verdict::Met, Verdict::NotMet][dice.below(2)];
        say(desk, SheetCommand::Say(at, verdict));
        say(desk, SheetCommand::Remark(at, "as I saw it".to_owned()));
        // One more than stands there, so that a sheet's ticks are in order whoever goes on with it.
        let tick = number(&view.comment) + 1;
        say(desk, SheetCommand::Comment(format!("tick {tick}")));
    }
    let sheet = desk.sheet_view().expect("a sheet is open").sheet;
    if dice.below(2) == 0 {
        say(desk, SheetCommand::Decide(Decision::Again));
        say(desk, SheetCommand::Sign);
        if desk.sheet_view().is_some_and(|view| view.signed.is_some()) {
            told.say(&format!("signed {sheet}"));
        }
    }
    say(desk, SheetCommand::Leave);
}

/// What somebody does at a desk, without an end.
fn work(at: &Path, logs: &Path, n: u64, told: &Path) {
    let mut dice = Dice(n);
    let file = OpenOptions::new()
        .create(true)
        .append(true)
        .open(told)
        .expect("it can be made");
    let told = Told(Arc::new(Mutex::new((file, None))));
    let mut seeds = Dice(n ^ 77);
    let mut desk = Desk::new(content().clone(), move || seeds.next() % 1_000_000_000);
    desk.recorded_in(logs.to_owned());
    desk.kept_in(at.join("register"));
    desk.watched_by(Box::new(log_watch(at, logs)));
    desk.watched_by(Box::new(told.clone()));
    let scenarios = &content().library.scenarios;
    let scenario = scenarios.iter().position(|s| s.id == "classic-tracer");
    desk.apply(Command::Scenario(scenario.expect("built in")));
    desk.apply(Command::Code(format!("k{n}")));
    told.say("open");
    loop {
        assert_eq!(desk.page(), Page::Start);
        let start = desk.start_view();
        let unfinished = start.unfinished.and_then(|row| row.path);
        match (dice.below(6), unfinished) {
            (0, Some(path)) => desk.apply(Command::TakeUp(path)),
            (1, _) if !start.left_sheets.is_empty() => {
                desk.apply(Command::OpenSheet(start.left_sheets[0].1));
            }
            (2, _) => desk.apply(Command::Observe),
            (3, _) => {
                desk.apply(Command::Lessons);
                desk.apply(Command::Lesson(0));
                for _ in 0..3 + dice.below(4) {
                    desk.apply(Command::LessonOn);
                    for _ in 0..dice.below(4) {
                        desk.apply(Command::OneHand(dice.below(2)));
                    }
                }
                desk.apply(Command::LessonEnd);
                desk.apply(Command::Back);
            }
            (4, _) => {
                desk.apply(Command::Purpose(Use::Assess));
                desk.apply(Command::Begin);
            }
            _ => {
                desk.apply(Command::Purpose(Use::Practise));
                desk.apply(Command::Begin);
            }
        }
        if desk.page() == Page::Replay {
            // It was shown how it is done.
            desk.apply(Command::Begin);
        }
        if desk.page() == Page::Drill {
            for _ in 0..3 + dice.below(10) {
                one_action(&mut desk, &mut dice);
            }
            if dice.below(3) > 0 {
                desk.apply(Command::FinishAnyway);
            }
        }
        if desk.page() == Page::Sheet {
            ticks(&mut desk, &mut dice, &told);
        }
        if desk.page() != Page::Start {
            desk.apply(Command::Home);
        }
    }
}

#[test]
#[ignore = "one desk of `desks_that_are_killed_lose_nothing`, which starts and kills it"]
fn a_desk_at_work() {
    let at = std::env::var(AT).unwrap_or_else(|_| panic!("{AT} says where, which logs, and the number"));
    let parts: Vec<&str> = at.split('|').collect();
    let [at, logs, n] = &parts[..] else { panic!("{at}") };
    let n: u64 = n.parse().expect("a number");
    let at = PathBuf::from(at);
    work(&at, &at.join(logs), n, &at.join(format!("told-{n}.txt")));
}

fn start(at: &Path, logs: &str, n: usize) -> Child {
    let me = std::env::current_exe().expect("this is a program");
    std::process::Command::new(me)
        .args([
            "--exact",
            "desk_kills::a_desk_at_work",
            "--ignored",
            "--nocapture",
        ])
        .env(AT, format!("{}|{logs}|{n}", at.display()))
        .stdout(Stdio::null())
        .stderr(Stdio::from(
            File::create(at.join(format!("trouble-{n}.txt"))).expect("it can be made"),
        ))
        .spawn()
        .unwrap_or_else(|e| panic!("it does not start: {e}"))
}

/// What all desks said is done.
#[derive(Default)]
struct Said {
    changed: BTreeMap<String, u64>,
    ended: BTreeSet<String>,
    ticked: BTreeMap<String, u64>,
    signed: BTreeSet<String>,
    counted: BTreeMap<String, u64>,
    /// How many desks worked at an attempt, each of which may have been killed before it could say its last change.
    desks: BTreeMap<String, u64>,
}

impl Said {
    fn read(at: &Path, desks: usize) -> Said {
        let mut said = Said::default();
        for n in 0..desks {
            let text = fs::read_to_string(at.join(format!("told-{n}.txt"))).unwrap_or_default();
            for line in text.lines() {
                let words: Vec<&str> = line.split(' ').collect();
                match words[..] {
                    ["began", id] => *said.desks.entry(id.to_owned()).or_default() += 1,
                    ["changed", id] => *said.changed.entry(id.to_owned()).or_default() += 1,
                    ["ended", id] => _ = said.ended.insert(id.to_owned()),
                    ["signed", id] => _ = said.signed.insert(id.to_owned()),
                    ["ticked", id, n] => {
                        let last = said.ticked.entry(id.to_owned()).or_default();
                        *last = (*last).max(n.parse().expect("a number"));
                    }
                    ["counted", id, n] => {
                        _ = said.counted.insert(id.to_owned(), n.parse().expect("a number"))
                    }
                    // A last line may be torn: it was not said.
                    _ => {}
                }
            }
        }
        said
    }
}

#[test]
fn desks_that_are_killed_lose_nothing() {
    let scratch = Scratch::new("desk-kills");
    let at = scratch.path("");
    let count = how_many() / 2 * 2;
    let mut dice = Dice(5);
    for pair in 0..count / 2 {
        // Two at once: each with logs of its own, or as two windows on one machine.
        let together = dice.below(3) == 0;
        let mut two: Vec<(usize, Child)> = (0..2)
            .map(|k| {
                let logs = if together {
                    "logs-0".to_owned()
                } else {
                    format!("logs-{k}")
                };
                (2 * pair + k, start(&at, &logs, 2 * pair + k))
            })
            .collect();
        for (n, child) in &mut two {
            let told = at.join(format!("told-{n}.txt"));
            while fs::metadata(&told).map_or(0, |about| about.len()) == 0 {
                assert!(
                    child.try_wait().expect("it can be asked").is_none(),
                    "desk {n} ended by itself: {}",
                    fs::read_to_string(at.join(format!("trouble-{n}.txt"))).unwrap_or_default()
                );
                std::thread::sleep(Duration::from_millis(2));
            }
        }
        for (n, child) in &mut two {
            std::thread::sleep(Duration::from_millis(dice.below(600) as u64));
            if let Some(status) = child.try_wait().expect("it can be asked") {
                panic!(
                    "desk {n} ended by itself ({status}): {}",
                    fs::read_to_string(at.join(format!("trouble-{n}.txt"))).unwrap_or_default()
                );
            }
            child.kill().expect("it can be killed");
            child.wait().expect("it can be waited for");
        }
    }
    // Opened once more, and closed in good order.
    for logs in ["logs-0", "logs-1"] {
        drop(log_watch(&at, &at.join(logs)));
    }
    let said = Said::read(&at, count);
    let reading = Register::at(at.join("register"))
        .read()
        .expect("it can be listed");
    assert!(reading.damage.is_empty(), "unreadable: {:?}", reading.damage);
    assert!(reading.odd.is_empty(), "left over: {:?}", reading.odd);
    let attempts = attempts_are_kept(&at, &said, &reading.found);
    let mut sheets: BTreeMap<String, &Judged> = BTreeMap::new();
    let drafts: Vec<Entry> = ["logs-0", "logs-1"]
        .iter()
        .flat_map(|logs| Drafts::beside(&at.join(logs)).all().expect("they can be listed"))
        .collect();
    for entry in drafts.iter().chain(&reading.found) {
        if let Some(judged) = entry.judged() {
            sheets.insert(judged.sheet.to_string(), judged);
        }
    }
    for (id, tick) in &said.ticked {
        let sheet = sheets.get(id).unwrap_or_else(|| panic!("sheet {id} is lost"));
        assert!(number(&sheet.comment) >= *tick, "sheet {id} lacks tick {tick}");
    }
    for id in &said.signed {
        let kept = reading.found.iter().filter_map(Entry::judged);
        assert_eq!(
            kept.filter(|judged| judged.sheet.to_string() == *id).count(),
            1,
            "sheet {id} was signed"
        );
    }
    for (id, counted) in &said.counted {
        let kept = reading.found.iter().find(|entry| entry.id.to_string() == *id);
        let kept = kept.unwrap_or_else(|| panic!("lesson {id} is lost"));
        assert!(hands(kept) >= *counted, "lesson {id} lacks hands");
    }
    let (changes, ticks): (u64, usize) = (said.changed.values().sum(), said.ticked.len());
    assert!(
        changes as usize > count,
        "only {changes} things were done: this shows little"
    );
    println!(
        "{count} desks killed at work: {attempts} attempts with {changes} actions, {} ended, {ticks} sheets with {} ticks, {} \
         signed, {} lessons with {} hands: none lost; {} files half-written",
        said.ended.len(),
        said.ticked.values().sum::<u64>(),
        said.signed.len(),
        said.counted.len(),
        said.counted.values().sum::<u64>(),
        reading.half_written.len()
    );
}

/// Every attempt has its log with all that was said to be done, and a result that is as the log stands.
fn attempts_are_kept(at: &Path, said: &Said, entries: &[Entry]) -> usize {
    let mut seen = BTreeSet::new();
    for logs in ["logs-0", "logs-1"] {
        for file in fs::read_dir(at.join(logs)).into_iter().flatten().flatten() {
            let path = file.path();
            let text = fs::read_to_string(&path).unwrap_or_default();
            // Killed before its first line was whole: nothing had been done.
            if path.extension().is_none_or(|e| e != "jsonl") || !text.contains('\n') {
                continue;
            }
            let found = replay(&path, content()).unwrap_or_else(|e| panic!("{e}"));
            let id = found.attempt.expect("it has a name").to_string();
            let lines = text.split_inclusive('\n').filter(|line| line.ends_with('\n'));
            let changes = lines
                .filter(|line| line.starts_with("{\"n\":") || line.starts_with("{\"back\":"))
                .count() as u64;
            let changed = said.changed.get(&id).copied().unwrap_or(0);
            let desks = said.desks.get(&id).copied().unwrap_or(0);
            assert!(
                (changed..=changed + desks).contains(&changes),
                "{}: {changed} changes were said to be done by {desks} desks, {changes} stand there",
                path.display()
            );
            let of_it = || {
                let attempts = entries.iter().filter_map(Entry::attempt);
                attempts.filter(|attempt| attempt.attempt.to_string() == id)
            };
            let done = found.drill.done().len();
            if done > 0 {
                let as_it_stands = of_it().filter(|attempt| attempt.actions == done);
                assert!(
                    as_it_stands.count() > 0,
                    "{}: {done} actions, and no result",
                    path.display()
                );
            }
            if said.ended.contains(&id) {
                assert!(
                    found.ended && (done == 0 || of_it().any(|attempt| attempt.finished)),
                    "{id}"
                );
            }
            seen.insert(id);
        }
    }
    let lost: Vec<&String> = said.changed.keys().filter(|id| !seen.contains(*id)).collect();
    assert!(lost.is_empty(), "attempts without a log: {lost:?}");
    seen.len()
}
