//! Hands over to the command line.

use std::process::ExitCode;

/// Repeats take and give back memory by the million.
#[cfg(not(target_family = "wasm"))]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    smirch::cli::run()
}
