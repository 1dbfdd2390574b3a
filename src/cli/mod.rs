//! The command line: one file per command. Data goes to standard output, talk to standard error; exit codes are 0
//! for fine, 1 for faults found, 2 for wrong use.

mod check;
mod compare;
mod drill;
mod evidence;
mod fit;
mod list;
mod odds;
mod orders;
mod picture;
mod replay;
mod shelf_life;
mod window;

use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::time::Duration;

use clap::{Parser, Subcommand};

use crate::analysis::Progress;
use crate::content::Content;
use crate::drill::Script;
use crate::model::Setup;
use crate::report::CAUTION;

/// A training simulator for taking off personal protective equipment.
#[derive(Debug, Parser)]
#[command(name = "smirch", version, after_help = CAUTION)]
struct Arguments {
    /// A folder with content files; files at the same path replace built-in ones, others are added
    #[arg(long, global = true, value_name = "DIR")]
    content: Option<PathBuf>,
    /// The folder into which the window writes a log of each attempt; by default the user's own state folder
    #[arg(long, value_name = "DIR")]
    logs: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Show what there is: scenarios, sequences, items, techniques, sites, organisms
    List(list::List),
    /// Check content files and report every fault
    Check(check::Check),
    /// Play a script without a window and print the score
    Drill(drill::Play),
    /// Show every constant with its source
    Evidence(evidence::Evidence),
    /// Show how often contamination gets where, over many repeats
    Odds(odds::Repeat),
    Orders(orders::Best),
    /// Show which of two or more ways brings less where, under the same luck
    Compare(compare::Compare),
    /// Draw a moment of a drill as a PNG file, without a window
    Picture(picture::Draw),
    /// Work out what accelerated ageing of respirators stands for
    ShelfLife(shelf_life::ShelfLife),
    /// Show what was fitted to tracer studies, and how well
    Fit(fit::Fit),
    /// Verify a log by playing it again, and summarise it
    Replay(replay::Verify),
}

/// How a command ended, if not fine.
#[derive(Debug)]
enum Failure {
    /// Faults were found; the message is complete.
    Faults(String),
    /// The command was used wrongly.
    Usage(String),
    /// Nobody reads the output any more.
    Hangup,
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Failure {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Failure::Hangup,
            _ => Failure::Faults(format!("cannot write: {error}")),
        }
    }
}

/// Runs the program with the arguments it was given.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // clap prints help and version to standard output and everything else to standard error.
            let wrong = error.use_stderr();
            let _ = error.print();
            return ExitCode::from(if wrong { 2 } else { 0 });
        }
    };
    let result = content(arguments.content.as_deref()).and_then(|content| match arguments.command {
        None => window::open(content, arguments.logs, None),
        Some(Command::List(list)) => list.run(&content),
        Some(Command::Check(check)) => check.run(&content),
        Some(Command::Drill(play)) => play.run(&content),
        Some(Command::Evidence(evidence)) => evidence.run(&content),
        Some(Command::Odds(repeat)) => repeat.run(&content),
        Some(Command::Orders(best)) => best.run(&content),
        Some(Command::Compare(compare)) => compare.run(&content),
        Some(Command::Picture(draw)) => draw.run(&content),
        Some(Command::ShelfLife(life)) => life.run(&content),
        Some(Command::Fit(fit)) => fit.run(&content),
        Some(Command::Replay(verify)) => verify.run(content, arguments.logs),
    });
    let (code, message) = match result {
        Ok(()) | Err(Failure::Hangup) => return ExitCode::SUCCESS,
        Err(Failure::Faults(message)) => (1, message),
        Err(Failure::Usage(message)) => (2, message),
    };
    // If standard error is gone too there is nobody left to tell.
    let _ = writeln!(io::stderr(), "{}", message.trim_end());
    ExitCode::from(code)
}

fn content(folder: Option<&Path>) -> Result<Content, Failure> {
    match folder {
        None => Content::builtin(),
        Some(folder) => Content::with_folder(folder),
    }
    .map_err(|e| Failure::Faults(format!("{e}\n{}", count_words(e.count))))
}

fn count_words(count: usize) -> String {
    if count == 1 {
        "1 fault".to_owned()
    } else {
        format!("{count} faults")
    }
}

/// The content with the scenario that was asked for, a built-in id or a file, and its id.
fn scenario(content: &Content, wanted: &str) -> Result<(Content, String), Failure> {
    if content.library.scenario(wanted).is_some() {
        return Ok((content.clone(), wanted.to_owned()));
    }
    let path = Path::new(wanted);
    if path.exists() || wanted.contains(['/', '\\']) || wanted.ends_with(".ron") {
        return content
            .scenario_file(path)
            .map_err(|e| Failure::Faults(format!("{e}\n{}", count_words(e.count))));
    }
    Err(Failure::Usage(unknown(
        "scenario",
        wanted,
        content.library.scenarios.iter().map(|s| s.id.as_str()),
    )))
}

/// A message about a name that is not known, with the nearest that is.
fn unknown<'k>(noun: &str, wanted: &str, known: impl Iterator<Item = &'k str> + Clone) -> String {
    use crate::content::fault::{nearest_hint, quoted};
    let hint = nearest_hint(wanted, known.clone()).unwrap_or_else(|| {
        let all: Vec<&str> = known.collect();
        format!("there are {}", all.join(", "))
    });
    format!("unknown {noun} {}\n   hint: {hint}", quoted(wanted))
}

/// A script by file or by the name of a built-in one, checked in the scenario it is to be played in.
fn find_script(content: &Content, wanted: &str, scenario: &str) -> Result<Script, Failure> {
    let path = Path::new(wanted);
    if !path.exists() {
        let name = wanted.trim_end_matches(".ron");
        let here = format!("{scenario}/{name}");
        if let Some(script) = content.scripts.get(name).or_else(|| content.scripts.get(&here)) {
            return Ok(script.clone());
        }
        if !wanted.ends_with(".ron") {
            return Err(Failure::Usage(unknown(
                "script",
                wanted,
                content.scripts.keys().map(String::as_str),
            )));
        }
    }
    content
        .script_file(path, scenario)
        .map_err(|e| Failure::Faults(format!("{e}\n{}", count_words(e.count))))
}

fn setup(content: &Content, scenario: &str) -> Result<Arc<Setup>, Failure> {
    let scenario = content
        .library
        .scenario(scenario)
        .ok_or_else(|| Failure::Usage(unknown("scenario", scenario, std::iter::empty())))?;
    Setup::new(content.library.clone(), scenario)
        .map(Arc::new)
        .map_err(|e| Failure::Faults(e.to_string()))
}

/// Writes a file whole or not at all: beside it first, then in its place.
fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let fail = |e: io::Error| Failure::Faults(format!("{}: cannot be written: {e}", path.display()));
    if path.is_dir() {
        return Err(Failure::Usage(format!(
            "{}: this is a folder; a file name is needed",
            path.display()
        )));
    }
    // Pipes and devices cannot be renamed over.
    if path.exists() && !path.is_file() {
        return std::fs::write(path, bytes).map_err(fail);
    }
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    let beside = PathBuf::from(beside);
    std::fs::write(&beside, bytes).map_err(fail)?;
    std::fs::rename(&beside, path).map_err(fail)
}

/// Does long work while whoever watches is told how far it is: progress is talk, and of no use in a file.
///
/// # Errors
/// The computation broke off.
fn watched<T: Send>(
    progress: &Progress,
    told: impl Fn(u64) -> String,
    work: impl FnOnce() -> T + Send,
) -> Result<T, Failure> {
    std::thread::scope(|scope| {
        let work = scope.spawn(work);
        let seen = io::stderr().is_terminal();
        while !work.is_finished() {
            std::thread::sleep(Duration::from_millis(20));
            if seen {
                eprint!("\r{}", told(progress.done()));
            }
        }
        if seen {
            eprintln!("\r{}", told(progress.done()));
        }
        work.join()
    })
    .map_err(|_| Failure::Faults("the computation broke off".to_owned()))
}

/// Writes a picture as SVG, or as PNG if the name ends so.
fn write_picture(path: &Path, drawing: &crate::report::Drawing) -> Result<(), Failure> {
    use crate::report::{png, svg};
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default();
    match ending.to_ascii_lowercase().as_str() {
        "png" => write_file(path, &png(drawing).map_err(Failure::Faults)?),
        "svg" => write_file(path, svg(drawing).as_bytes()),
        _ => Err(Failure::Usage(format!(
            "{}: a picture is written as SVG or PNG\n   hint: let the name end in `.svg` or `.png`",
            path.display()
        ))),
    }
}
