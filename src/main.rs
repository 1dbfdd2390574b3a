//! Hands over to the command line.

use std::process::ExitCode;

fn main() -> ExitCode {
    smirch::cli::run()
}
