//! The program where the window cannot open: it says what is missing and what to do, and ends in good order.

use std::process::{Command, Output};

/// The program without a screen, and with or without anything that draws.
fn window(display: Option<&str>, draws: bool) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_smirch"));
    command.env("NO_COLOR", "1").env_remove("DISPLAY");
    for name in ["WAYLAND_DISPLAY", "WAYLAND_SOCKET"] {
        command.env_remove(name);
    }
    if let Some(display) = display {
        command.env("DISPLAY", display);
    }
    if !draws {
        let absent = if cfg!(target_os = "macos") {
            "dx12"
        } else {
            "metal"
        };
        command.env("WGPU_BACKEND", absent);
    }
    command
        .output()
        .unwrap_or_else(|e| panic!("smirch does not run: {e}"))
}

#[cfg(target_os = "linux")]
#[test]
fn a_window_that_cannot_open_says_in_one_sentence_what_is_missing_and_what_to_do() {
    for (display, draws, words) in [
        (None, true, &["DISPLAY is not set", "xvfb-run smirch"][..]),
        (Some(""), true, &["DISPLAY is not set"]),
        (Some(":4242"), true, &["the screen :4242", "does not answer"]),
        (
            None,
            false,
            &["DISPLAY is not set", "no graphics driver", "mesa-vulkan-drivers"],
        ),
    ] {
        let said = window(display, draws);
        let told = String::from_utf8_lossy(&said.stderr);
        assert_eq!(said.status.code(), Some(1), "{display:?}: {told}");
        // Where there is no library to ask the screen with, that is what is missing.
        let asks = !told.contains("libX11.so.6");
        let words = match display {
            Some(":4242") if !asks => &["apt install libx11-6"],
            _ => words,
        };
        for word in words.iter().chain(&["the window cannot open", "smirch --help"]) {
            assert!(told.contains(word), "{display:?} lacks {word:?}: {told}");
        }
        assert!(
            !told.contains("panicked") && !told.contains("stack backtrace"),
            "{display:?}: {told}"
        );
        let own: Vec<&str> = told.lines().filter(|l| !l.contains("XDG_RUNTIME_DIR")).collect();
        assert_eq!(own.len(), 2, "one sentence and one hint: {told}");
        assert!(said.stdout.is_empty(), "data on standard output: {said:?}");
    }
}
