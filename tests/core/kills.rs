//! Programs that are killed at any moment while they write to one register: nothing that was finished is lost, and nothing in the
//! register is unreadable.

use std::process::{Child, Command, Stdio};
use std::time::Duration;

use smirch::record::{replay, shelf};
use smirch::register::Register;

use crate::cli::text;
use crate::fixture::{Dice, Scratch, content};

/// How many programs are killed: few as a rule, `SMIRCH_KILLS` in number if it is set.
pub fn how_many() -> usize {
    let asked = std::env::var("SMIRCH_KILLS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(24)
}

fn start(scratch: &Scratch, n: usize) -> Child {
    let log = scratch.path(&format!("logs/{n}.jsonl"));
    let register = scratch.path("register");
    Command::new(env!("CARGO_BIN_EXE_smirch"))
        .args(["drill", "classic-tracer", "--script", "no-rub", "--who"])
        .arg(format!("k{n}"))
        .args(["--log", text(&log), "--register", text(&register)])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap_or_else(|e| panic!("it does not start: {e}"))
}

#[test]
fn killed_programs_lose_nothing_finished_and_leave_nothing_unreadable() {
    let scratch = Scratch::new("kills");
    std::fs::create_dir_all(scratch.path("logs")).expect("made");
    assert!(start(&scratch, 0).wait().expect("it runs").success());
    let lines = |n: usize| {
        let log = std::fs::read(scratch.path(&format!("logs/{n}.jsonl"))).unwrap_or_default();
        log.iter().filter(|b| **b == b'\n').count()
    };
    let whole = lines(0);
    let mut dice = Dice(41);
    let (mut finished, mut killed) = (vec![0], 0);
    let count = how_many();
    for pair in 0..count / 2 {
        // Two at once, each stopped when so many lines are written, or some time after the last one.
        let mut two: Vec<(usize, Child, usize)> = (0..2)
            .map(|k| {
                let n = 1 + 2 * pair + k;
                (n, start(&scratch, n), dice.below(whole + whole / 4))
            })
            .collect();
        for (n, child, when) in &mut two {
            let status = loop {
                if let Some(status) = child.try_wait().expect("it can be asked") {
                    break status;
                }
                if lines(*n) >= (*when).min(whole) {
                    std::thread::sleep(Duration::from_millis(100 * when.saturating_sub(whole) as u64));
                    child.kill().expect("it can be killed");
                    break child.wait().expect("it can be waited for");
                }
                std::thread::sleep(Duration::from_millis(1));
            };
            match status.code() {
                Some(0) => finished.push(*n),
                Some(code) => panic!("run {n} ended with {code}"),
                None => killed += 1,
            }
        }
    }
    let reading = Register::at(scratch.path("register"))
        .read()
        .expect("it can be listed");
    assert!(reading.damage.is_empty(), "unreadable: {:?}", reading.damage);
    assert!(reading.odd.is_empty(), "left over: {:?}", reading.odd);
    for n in &finished {
        let code = format!("k{n}");
        let there = reading
            .found
            .iter()
            .filter(|e| e.person.as_ref().is_some_and(|p| p.code.as_str() == code))
            .count();
        assert_eq!(
            there, 1,
            "the result of {code} was finished and is there {there} times"
        );
    }
    for found in shelf(&scratch.path("logs")).expect("it can be listed") {
        // Killed before its first line was whole: nothing had been done.
        let again = replay(&found.path, content()).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(
            Some(again.drill.done().len()),
            found.actions,
            "{}",
            found.path.display()
        );
    }
    assert!(
        killed >= count / 4,
        "only {killed} of {count} were killed in time: this shows little"
    );
    println!(
        "{count} started, {killed} killed, {} finished: 0 finished results lost, 0 unreadable; {} files half-written",
        finished.len(),
        reading.half_written.len()
    );
}
