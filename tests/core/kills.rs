//! Programs that are killed at any moment while they write to one register: nothing that was finished is lost, and nothing in the
//! register is unreadable.

use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use smirch::record::{replay, shelf};
use smirch::register::Register;

use crate::cli::text;
use crate::fixture::{Dice, Scratch, content};

/// How many programs are killed: few as a rule, `SMIRCH_KILLS` in number if it is set.
fn how_many() -> usize {
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
    let began = Instant::now();
    assert!(start(&scratch, 0).wait().expect("it runs").success());
    let whole = began.elapsed();
    let mut dice = Dice(41);
    let (mut finished, mut killed) = (vec![0], 0);
    let count = how_many();
    for pair in 0..count / 2 {
        // Two at once, each stopped at a moment of its own.
        let mut two: Vec<(usize, Child, Duration)> = (0..2)
            .map(|k| {
                let n = 1 + 2 * pair + k;
                (n, start(&scratch, n), whole.mul_f64(1.6 * dice.fraction()))
            })
            .collect();
        let since = Instant::now();
        for (n, child, when) in &mut two {
            std::thread::sleep(when.saturating_sub(since.elapsed()));
            match child.try_wait().expect("it can be asked") {
                Some(status) if status.success() => finished.push(*n),
                Some(status) => panic!("run {n} ended with {status}"),
                None => {
                    child.kill().expect("it can be killed");
                    // It may have been done just then.
                    match child.wait().expect("it can be waited for").success() {
                        true => finished.push(*n),
                        false => killed += 1,
                    }
                }
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
        killed >= count / 8,
        "only {killed} of {count} were killed in time: this shows little"
    );
    println!(
        "{count} started, {killed} killed, {} finished: 0 finished results lost, 0 unreadable; {} files half-written",
        finished.len(),
        reading.half_written.len()
    );
}
