//! The command line: one file per command. Data goes to standard output, talk to standard error; exit codes are 0
//! for fine, 1 for faults found, 2 for wrong use.

mod apart;
mod calibrate;
mod ceiling;
mod check;
mod compare;
mod doubt;
mod drill;
mod evidence;
mod export;
mod failure;
mod find;
mod fit;
mod lesson;
mod list;
mod logs;
mod odds;
mod orders;
mod output;
mod people;
mod picture;
mod register;
mod replay;
mod shelf_life;
mod window;

use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::outside::machine;
use crate::report::CAUTION;

use failure::{Failure, count_words};
use find::{find_script, find_sequence, scenario, setup, unknown};
use output::{watched, write_file, write_json, write_picture};

/// A training simulator for taking off personal protective equipment.
#[derive(Debug, Parser)]
#[command(name = "smirch", version, after_help = CAUTION)]
struct Arguments {
    /// A folder with content files; files at the same path replace built-in ones, others are added. By default the folder
    /// `content` beside the program, if there is one
    #[arg(long, global = true, value_name = "DIR")]
    content: Option<PathBuf>,
    #[command(flatten)]
    places: window::Places,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Show what there is: scenarios, sequences, items, techniques, sites, organisms
    List(list::List),
    Lesson(lesson::Lessons),
    /// Check content files and report every fault
    Check(check::Check),
    /// Play a script without a window and print the score
    Drill(drill::Play),
    /// Show every constant with its source
    Evidence(evidence::Evidence),
    /// Show how often contamination gets where, over many repeats
    Odds(odds::Repeat),
    Orders(orders::Best),
    /// Show which of two or more ways brings less where, with the same draws of chance
    Compare(compare::Compare),
    /// Draw a moment of a drill as a PNG file, without a window
    Picture(picture::Draw),
    /// Write the content that smirch carries into a new folder, to start from
    Export(export::Export),
    /// Work out what accelerated ageing of respirators stands for
    ShelfLife(shelf_life::ShelfLife),
    /// Show what was fitted to tracer studies, and how well
    Fit(fit::Fit),
    Calibrate(calibrate::Calibrate),
    /// Verify a log by playing it again, and summarise it
    Replay(replay::Verify),
    Register(register::Registered),
}

impl Command {
    /// True if it has to do with the folder of attempts.
    fn heeds_logs(&self) -> bool {
        match self {
            Command::Replay(verify) => verify.window,
            Command::List(list) => list.shows_attempts(),
            Command::Register(register) => register.heeds_logs(),
            _ => false,
        }
    }

    /// True if it keeps results, which have the name of a station.
    fn keeps_results(&self) -> bool {
        match self {
            Command::Replay(verify) => verify.window,
            Command::Drill(_) => true,
            _ => false,
        }
    }

    /// True if it has to do with a register.
    fn heeds_register(&self) -> bool {
        match self {
            Command::Replay(verify) => verify.window,
            Command::Register(_) | Command::Drill(_) => true,
            _ => false,
        }
    }
}

/// Runs the program with the arguments it was given.
pub fn run() -> ExitCode {
    let parsed = Arguments::command().try_get_matches().and_then(|matches| {
        let arguments = Arguments::from_arg_matches(&matches)?;
        Ok((arguments, apart::keep_apart(&matches)))
    });
    let (arguments, apart) = match parsed {
        Ok(parsed) => parsed,
        Err(error) => {
            // clap prints help and version to standard output and everything else to standard error.
            let wrong = error.use_stderr();
            let _ = error.print();
            return ExitCode::from(if wrong { 2 } else { 0 });
        }
    };
    let content = || find::content(arguments.content.as_deref());
    let result = apart
        .and_then(|()| content())
        .and_then(|content| match arguments.command {
            Some(command)
                if arguments.places.settings.is_some() && !matches!(command, Command::Replay(_)) =>
            {
                Err(Failure::Usage(
                    "only the window remembers settings\n   hint: leave `--settings` out".to_owned(),
                ))
            }
            Some(command) if arguments.places.logs.is_some() && !command.heeds_logs() => Err(Failure::Usage(
                "this command writes and reads no logs of the window\n   hint: leave `--logs` out".to_owned(),
            )),
            Some(command) if arguments.places.register.is_some() && !command.heeds_register() => {
                Err(Failure::Usage(
                    "this command reads and writes no register\n   hint: leave `--register` out".to_owned(),
                ))
            }
            Some(Command::Drill(_))
                if arguments.places.station.is_some() && arguments.places.register.is_none() =>
            {
                Err(Failure::Usage(
                    "a drill keeps its result where a register is named\n   hint: add `--register DIR`, or leave `--station` out"
                        .to_owned(),
                ))
            }
            Some(command) if arguments.places.station.is_some() && !command.keeps_results() => Err(
                Failure::Usage("this command keeps no results\n   hint: leave `--station` out".to_owned()),
            ),
            None => window::open(content, arguments.places, None),
            Some(Command::List(list)) => list.run(&content, arguments.places.logs),
            Some(Command::Lesson(lessons)) => lessons.run(&content),
            Some(Command::Check(check)) => check.run(&content),
            Some(Command::Drill(play)) => play.run(&content, arguments.places),
            Some(Command::Evidence(evidence)) => evidence.run(&content),
            Some(Command::Odds(repeat)) => repeat.run(&content),
            Some(Command::Orders(best)) => best.run(&content),
            Some(Command::Compare(compare)) => compare.run(&content),
            Some(Command::Picture(draw)) => draw.run(&content),
            Some(Command::Export(export)) => export.run(),
            Some(Command::ShelfLife(life)) => life.run(&content),
            Some(Command::Fit(fit)) => fit.run(&content),
            Some(Command::Calibrate(calibrate)) => calibrate.run(&content),
            Some(Command::Replay(verify)) => verify.run(content, arguments.places),
            Some(Command::Register(register)) => register.run(&content, arguments.places),
        });
    let (code, message) = match result {
        Ok(()) | Err(Failure::Hangup) => return ExitCode::SUCCESS,
        Err(Failure::Faults(message)) => (1, message),
        Err(Failure::Usage(message)) => (2, message),
    };
    // If standard error is gone too there is nobody left to tell.
    let _ = writeln!(io::stderr(), "{}", message.trim_end());
    if machine::closes_when_done() {
        let _ = writeln!(io::stderr(), "\nPress Enter to close this.");
        let _ = io::stdin().read_line(&mut String::new());
    }
    ExitCode::from(code)
}
