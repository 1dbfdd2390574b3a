//! How long a register takes to be read: who is due, and a report on everybody, beside reading the bytes of the same files and
//! nothing else. `SMIRCH_ENTRIES=200000 cargo bench --no-default-features --bench register` for ten thousand people with twenty
//! attempts each; fewer as a rule. With `SMIRCH_FOLDER=DIR` the register stays there
//! and is taken as it is the next time.

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "tests reach for files and threads as they like"
)]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Instant;

use rayon::prelude::*;
use smirch::content::Content;
use smirch::drill::Drill;
use smirch::model::Setup;
use smirch::record::{Code, Id, Label, Person, Terms};
use smirch::register::{About, Attempt, Entry, Group, Moment, Register, What, due, tally};

/// Attempts of each person.
const EACH: usize = 20;

fn main() {
    let asked = std::env::var("SMIRCH_ENTRIES").ok().and_then(|n| n.parse().ok());
    let entries: usize = asked.unwrap_or(20_000);
    let folder = tempfile::tempdir().expect("a folder can be made");
    let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
    let stays = std::env::var_os("SMIRCH_FOLDER").map(PathBuf::from);
    let register = Register::at(stays.unwrap_or_else(|| folder.path().join("register")));
    if !register.is_there() {
        let kept: u64 = write(&content, &register, entries);
        println!("{entries} entries, {kept} bytes each on average");
    }
    let rules = content.library.register.as_ref().expect("rules");
    for round in 1..=3 {
        let (bytes, plain) = timed(|| bytes_below(register.folder()));
        let (list, listing) = timed(|| due(&register, rules, Moment::now()).expect("it can be listed"));
        let (told, telling) = timed(|| tally(&register, rules, &Group::default()).expect("it can be listed"));
        assert_eq!(
            (list.rows.len(), told.0.attempts as usize),
            (entries / EACH, entries)
        );
        println!(
            "round {round}: bytes alone {plain:.2} s ({bytes} bytes), due {listing:.2} s, report {telling:.2} s"
        );
    }
}

fn timed<T>(work: impl FnOnce() -> T) -> (T, f64) {
    let began = Instant::now();
    let done = work();
    (done, began.elapsed().as_secs_f64())
}

/// The bytes of every file, read and forgotten.
fn bytes_below(folder: &Path) -> u64 {
    let months = std::fs::read_dir(folder).expect("listed");
    let files: Vec<PathBuf> = months
        .flat_map(|month| std::fs::read_dir(month.expect("a month").path()).expect("listed"))
        .map(|file| file.expect("a file").path())
        .collect();
    files
        .par_iter()
        .map(|path| std::fs::read(path).expect("read").len() as u64)
        .sum()
}

/// Writes them without waiting for the disk; gives how long they are on average.
fn write(content: &Content, register: &Register, entries: usize) -> u64 {
    let results: Vec<Attempt> = [
        "respiratory-room/uk-agp-good",
        "respiratory-room/rubbed-eye",
        "respiratory-room/no-rub",
    ]
    .iter()
    .map(|name| attempt(content, name))
    .collect();
    let lengths: Vec<u64> = (0..entries)
        .into_par_iter()
        .map(|n| {
            let (who, nth) = (n / EACH, n % EACH);
            let person = Person {
                code: Code::new(&format!("p{who}")).expect("a code"),
                ward: Label::new(&format!("{}", 1 + who % 40), "a ward").ok(),
                group: None,
            };
            let at = format!(
                "{}-{:02}-{:02}T08:{:02}:00+00:00",
                2024 + nth / 12,
                1 + nth % 12,
                1 + who % 28,
                who % 60
            );
            let mut result = results[(who * 7 + nth) % results.len()].clone();
            (result.attempt, result.began) = (Id::fresh(), Moment::parse(&at).expect("a moment"));
            let mut entry = Entry::new(Some(person), What::Attempt(Box::new(result)));
            entry.at = Moment::parse(&at).expect("a moment");
            let line = entry.line().expect("it can be written");
            let month = register.folder().join(entry.month());
            std::fs::create_dir_all(&month).expect("made");
            std::fs::write(month.join(entry.file_name()), &line).expect("written");
            line.len() as u64
        })
        .collect();
    lengths.iter().sum::<u64>() / entries as u64
}

fn attempt(content: &Content, name: &str) -> Attempt {
    let script = content
        .scripts
        .get(name)
        .unwrap_or_else(|| panic!("no script {name}"));
    let scenario = content.library.scenario(&script.scenario).expect("a scenario");
    let setup = Arc::new(Setup::new(content.library.clone(), scenario).unwrap_or_else(|e| panic!("{e}")));
    let mut drill = Drill::begin(setup, 1);
    for action in &script.actions {
        drill.act(action.clone()).unwrap_or_else(|r| panic!("{r}"));
    }
    let id = script.sequence.as_ref().unwrap_or(&scenario.sequence);
    let terms = Terms {
        sequence: id.clone(),
        ..Terms::default()
    };
    let about = About {
        attempt: Id::fresh(),
        began: Moment::now(),
        finished: true,
        content: content.digest,
        told: Vec::new(),
        terms: &terms,
        log: None,
    };
    Attempt::of(&drill, content.library.sequence(id).expect("a sequence"), about)
        .unwrap_or_else(|e| panic!("{e}"))
}
