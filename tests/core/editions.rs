//! What an edition without a toolchain relies on: content and records beside the program, and a guide that is true.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use smirch::view::command::ENTRIES;

use crate::fixture::{Scratch, content};

/// The program as it lies in a folder of its own.
struct Unpacked {
    scratch: Scratch,
    program: PathBuf,
}

impl Unpacked {
    fn new(name: &str) -> Unpacked {
        let scratch = Scratch::new(name);
        let built = Path::new(env!("CARGO_BIN_EXE_smirch"));
        let program = scratch.path(&built.file_name().expect("a name").to_string_lossy());
        // Another name of the same file is quicker than a copy, where the file system has that.
        std::fs::hard_link(built, &program)
            .or_else(|_| std::fs::copy(built, &program).map(|_| ()))
            .expect("the program can be put there");
        Unpacked { scratch, program }
    }

    fn folder(&self, name: &str) -> PathBuf {
        let folder = self.scratch.path(name);
        std::fs::create_dir_all(&folder).expect("a folder");
        folder
    }

    /// What a run gives for these arguments, with a state folder of the user's own: code, and both outputs together.
    fn run(&self, arguments: &[&str]) -> (Option<i32>, String) {
        let own = self.folder("the-users-own");
        let Output {
            status,
            stdout,
            stderr,
        } = Command::new(&self.program)
            .args(arguments)
            .env("XDG_STATE_HOME", &own)
            .env("LOCALAPPDATA", &own)
            .output()
            .expect("it runs");
        let text = [stdout, stderr].concat();
        (status.code(), String::from_utf8_lossy(&text).into_owned())
    }
}

#[test]
fn content_beside_the_program_is_laid_over_what_it_carries_unless_other_is_named() {
    let unpacked = Unpacked::new("beside");
    let scenario =
        content().scenario_texts["classic-tracer"].replacen("id: \"classic-tracer\"", "id: \"ward-9\"", 1);
    let (code, before) = unpacked.run(&["list", "scenarios"]);
    assert!(code == Some(0) && !before.contains("ward-9"), "{before}");
    // An empty folder is one that nobody has put anything into yet.
    unpacked.folder("content");
    assert_eq!(unpacked.run(&["list", "scenarios"]), (Some(0), before.clone()));
    let folder = unpacked.folder("content/scenarios");
    let file = folder.join("ward-9.ron");
    std::fs::write(&file, &scenario).expect("written");
    let (code, with) = unpacked.run(&["list", "scenarios"]);
    assert!(code == Some(0) && with.contains("ward-9"), "{with}");
    let other = unpacked.folder("other/scenarios");
    std::fs::write(other.join("ward-7.ron"), scenario.replace("ward-9", "ward-7")).expect("written");
    let named = unpacked.scratch.path("other");
    let (code, named) = unpacked.run(&["list", "scenarios", "--content", &named.to_string_lossy()]);
    assert!(
        code == Some(0) && named.contains("ward-7") && !named.contains("ward-9"),
        "{named}"
    );
    std::fs::write(&file, scenario.replacen("kit:", "kitt:", 1)).expect("written");
    let (code, broken) = unpacked.run(&["list", "scenarios"]);
    assert!(
        code == Some(1) && broken.contains("ward-9.ron:") && broken.contains("kit"),
        "{broken}"
    );
}

#[test]
fn records_are_kept_beside_the_program_where_there_is_a_folder_for_them() {
    let unpacked = Unpacked::new("kept");
    let attempt = |folder: &Path| {
        std::fs::create_dir_all(folder).expect("a folder");
        let log = folder.join("one.log");
        let log = log.to_string_lossy();
        let (code, said) = unpacked.run(&["drill", "classic-tracer", "--script", "no-rub", "--log", &log]);
        assert_eq!(code, Some(0), "{said}");
    };
    attempt(&unpacked.scratch.path("the-users-own/smirch/logs"));
    let (_, own) = unpacked.run(&["list", "attempts"]);
    assert!(own.contains("the-users-own"), "{own}");
    attempt(&unpacked.scratch.path("kept/logs"));
    let (_, kept) = unpacked.run(&["list", "attempts"]);
    assert!(kept.contains("kept") && !kept.contains("the-users-own"), "{kept}");
}

/// Every key in the guide is a key of the program, or one that is held or pressed with it.
#[test]
fn the_guide_names_keys_that_there_are() {
    let guide = include_str!("../../.ci/editions/guide.html");
    let captions: Vec<String> = ENTRIES.iter().map(|entry| entry.key.caption()).collect();
    let named: Vec<&str> = guide
        .split("<kbd>")
        .skip(1)
        .filter_map(|rest| rest.split("</kbd>").next())
        .collect();
    assert!(named.len() > 8, "{named:?}");
    for (n, key) in named.iter().enumerate() {
        let known = |caption: &str| captions.iter().any(|c| c == caption);
        let after = named
            .get(n + 1)
            .map_or(String::new(), |next| format!("{key} {next}"));
        let before = n.checked_sub(1).map(|n| format!("{} {key}", named[n]));
        assert!(
            known(key) || known(&after) || before.is_some_and(|before| known(&before)),
            "there is no key `{key}`"
        );
    }
    // And the files it speaks of are what is packed.
    let release = include_str!("../../.ci/release");
    for file in ["examples", "for-the-it-department.txt"] {
        assert!(guide.contains(file) && release.contains(file), "{file}");
    }
}
