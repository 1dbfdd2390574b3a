//! The program as a user meets it: exit codes 0, 1 and 2, data on standard output, talk on standard error, and a
//! clear message for whatever is asked wrongly.

use std::io::Read;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::fixture::{Scratch, content};

fn smirch() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_smirch"));
    command
        .env("NO_COLOR", "1")
        .env("COLUMNS", "100")
        .stdin(Stdio::null());
    command
}

/// What a run said and how it ended.
pub struct Said {
    code: Option<i32>,
    pub out: String,
    pub err: String,
    asked: String,
}

/// What is said to matter in a scenario to somebody: one line for each constant.
pub fn what_matters(scenario: &str, who: &str) -> String {
    let args = [
        "odds",
        scenario,
        "--sensitivity",
        "--repeats",
        "1",
        "--trainee",
        who,
    ];
    run(&args).ends(0).out
}

pub fn run<S: AsRef<std::ffi::OsStr>>(arguments: &[S]) -> Said {
    let asked = arguments
        .iter()
        .map(|a| a.as_ref().to_string_lossy())
        .collect::<Vec<_>>()
        .join(" ");
    let Output {
        status,
        stdout,
        stderr,
    } = smirch()
        .args(arguments)
        .output()
        .unwrap_or_else(|e| panic!("smirch does not run: {e}"));
    let text = |bytes| {
        String::from_utf8(bytes).unwrap_or_else(|e| panic!("smirch {asked}: output is not UTF-8: {e}"))
    };
    let (out, err) = (text(stdout), text(stderr));
    let said = Said {
        code: status.code(),
        out,
        err,
        asked,
    };
    assert!(!said.err.contains("panicked"), "{}", said.whole());
    said
}

impl Said {
    pub fn whole(&self) -> String {
        format!(
            "smirch {}\nended with {:?}\nout:\n{}\nerr:\n{}",
            self.asked, self.code, self.out, self.err
        )
    }

    /// Expects an exit code.
    #[track_caller]
    pub fn ends(self, code: i32) -> Said {
        assert_eq!(self.code, Some(code), "{}", self.whole());
        self
    }

    /// Expects words on standard error and nothing on standard output.
    #[track_caller]
    pub fn complains(self, words: &[&str]) -> Said {
        for word in words {
            assert!(
                self.err.contains(word),
                "standard error lacks {word:?}: {}",
                self.whole()
            );
        }
        assert_eq!(
            self.out,
            "",
            "a complaint belongs on standard error: {}",
            self.whole()
        );
        self
    }

    /// Expects words on standard error, beside whatever is on standard output.
    #[track_caller]
    pub fn notes(self, words: &[&str]) -> Said {
        for word in words {
            assert!(
                self.err.contains(word),
                "standard error lacks {word:?}: {}",
                self.whole()
            );
        }
        self
    }

    /// Expects words on standard output.
    #[track_caller]
    pub fn prints(self, words: &[&str]) -> Said {
        for word in words {
            assert!(
                self.out.contains(word),
                "standard output lacks {word:?}: {}",
                self.whole()
            );
        }
        self
    }

    /// Expects none of these words on standard output.
    #[track_caller]
    pub fn prints_none(self, words: &[&str]) -> Said {
        for word in words {
            assert!(!self.out.contains(word), "`{word}` is printed:\n{}", self.out);
        }
        self
    }

    /// Expects nothing on standard error.
    #[track_caller]
    pub fn quietly(self) -> Said {
        assert_eq!(
            self.err,
            "",
            "nothing should be said on standard error: {}",
            self.whole()
        );
        self
    }
}

/// A path as an argument.
pub fn text(path: &Path) -> &str {
    path.to_str()
        .unwrap_or_else(|| panic!("{} is not UTF-8", path.display()))
}

const DRILL: [&str; 4] = ["drill", "classic-tracer", "--script", "no-rub"];

#[test]
fn help_and_version_are_data_and_fine() {
    run(&["--help"])
        .ends(0)
        .quietly()
        .prints(&["list", "check", "drill", "replay", "not a clinical device"]);
    run(&["--version"]).ends(0).quietly().prints(&["smirch "]);
    run(&["drill", "--help"]).ends(0).quietly().prints(&[
        "--script",
        "--seed",
        "--json",
        "--touches",
        "--log",
    ]);
}

#[test]
fn wrong_use_ends_with_2_and_says_what_was_wrong() {
    run(&["undress"]).ends(2).complains(&["undress"]);
    run(&["drill", "classic-tracer"]).ends(2).complains(&["--script"]);
    run(&["drill", "classic-tracer", "--script", "no-rub", "--sead", "1"])
        .ends(2)
        .complains(&["--sead", "--seed"]);
    for seed in ["one", "-1", "1.5", "", "18446744073709551616"] {
        run(&[
            "drill",
            "classic-tracer",
            "--script",
            "no-rub",
            &format!("--seed={seed}"),
        ])
        .ends(2)
        .complains(&["--seed"]);
    }
    run(&["list", "colours"])
        .ends(2)
        .complains(&["colours", "scenarios"]);
    run(&["check"]).ends(2).complains(&["FILE"]);
}

#[test]
fn unknown_names_end_with_2_and_the_nearest_that_is_known() {
    run(&["drill", "clasic-tracer", "--script", "no-rub"])
        .ends(2)
        .complains(&["unknown scenario `clasic-tracer`", "hint:", "`classic-tracer`"]);
    run(&["drill", "classic-tracer", "--script", "classic-tracer/no-rob"])
        .ends(2)
        .complains(&[
            "unknown script `classic-tracer/no-rob`",
            "hint:",
            "`classic-tracer/no-rub`",
        ]);
    run(&[
        "drill",
        "classic-tracer",
        "--script",
        "no-rub",
        "--sequence",
        "uk-apg",
    ])
    .ends(2)
    .complains(&["unknown sequence `uk-apg`", "hint:", "`uk-agp`"]);
    run(&["list", "sites", "--scenario", "enteric-baye"])
        .ends(2)
        .complains(&["unknown scenario", "`enteric-bay`"]);
    // Nothing is near: what there is.
    run(&["drill", "moon-base", "--script", "no-rub"])
        .ends(2)
        .complains(&["moon-base", "hint:", "enteric-bay"]);
}

#[test]
fn every_list_is_tab_separated_data_with_every_id_once() {
    let library = &content().library;
    let kinds: [(&str, usize); 7] = [
        ("scenarios", library.scenarios.len()),
        ("scripts", content().scripts.len()),
        ("sequences", library.sequences.len()),
        ("items", library.items.len()),
        ("techniques", library.techniques.len()),
        ("organisms", library.organisms.len()),
        ("products", library.products.len()),
    ];
    for (kind, count) in kinds {
        let said = run(&["list", kind]).ends(0).quietly();
        let ids: std::collections::BTreeSet<&str> = said
            .out
            .lines()
            .map(|line| line.split_once('\t').map_or("", |(id, _)| id))
            .collect();
        assert!(!ids.contains(""), "a line without a tab: {}", said.whole());
        assert_eq!(ids.len(), count, "{}", said.whole());
        assert_eq!(said.out.lines().count(), count, "{}", said.whole());
    }
    let sites = run(&["list", "sites"]).ends(0).quietly();
    assert!(sites.out.lines().count() >= 100, "{}", sites.whole());
    let all = run(&["list"]).ends(0).quietly();
    for (kind, _) in kinds {
        assert!(all.out.contains(&format!("# {kind}\n")), "{}", all.whole());
    }
}

#[test]
fn check_of_good_files_ends_with_0_and_of_bad_ones_with_1() {
    let scratch = Scratch::new("check");
    let good = scratch.write("good.ron", &content().scenario_texts["classic-tracer"]);
    run(&["check", text(&good)])
        .ends(0)
        .complains(&["1 file checked, no faults"]);
    let spoiled = content().scenario_texts["classic-tracer"]
        .replacen("\"tracer\"", "\"tracr\"", 1)
        .replacen("\"classic-tracer\"", "\"classic-tracks\"", 1);
    let bad = scratch.write("bad.ron", spoiled);
    let said = run(&["check", text(&bad), text(&good)]).ends(1);
    let place = format!("{}:8:15: unknown organism `tracr`", bad.display());
    assert!(said.err.contains("1 fault"), "{}", said.whole());
    said.prints(&[&place, "hint: ", "`tracer`", "^^^^"]);
}

/// Of two scenarios of one id only one would be there, and nobody would know which was checked.
#[test]
fn two_scenarios_of_one_id_checked_together_are_a_fault() {
    let scratch = Scratch::new("check-twice");
    let text_of = &content().scenario_texts["classic-tracer"];
    let (one, two) = (
        scratch.write("one.ron", text_of),
        scratch.write("two.ron", text_of),
    );
    run(&["check", text(&one), text(&two)]).ends(1).prints(&[
        "there is another scenario called `classic-tracer` in",
        "one.ron",
        "hint: give one of the two another id",
    ]);
    run(&["check", text(&one)]).ends(0);
}

#[test]
fn options_that_mean_nothing_here_are_refused() {
    run(&["list", "sequences", "--scenario", "classic-tracer"])
        .ends(2)
        .complains(&["only sites are listed for a scenario", "hint:"]);
    run(&[
        "--logs",
        "somewhere",
        "drill",
        "classic-tracer",
        "--script",
        "no-rub",
    ])
    .ends(2)
    .complains(&[
        "this command writes and reads no logs",
        "hint: leave `--logs` out",
    ]);
}

#[test]
fn check_says_what_it_cannot_read() {
    let scratch = Scratch::new("unreadable");
    let folder = scratch.path("folder");
    std::fs::create_dir(&folder).unwrap_or_else(|e| panic!("{e}"));
    run(&["check", text(&folder)])
        .ends(1)
        .prints(&["this is a folder"]);
    run(&["check", "no/such/file.ron"])
        .ends(1)
        .prints(&["no/such/file.ron: there is no such file"]);
    let empty = scratch.write("empty.ron", "");
    let said = run(&["check", text(&empty)]).ends(1);
    assert!(said.out.contains("empty.ron"), "{}", said.whole());
    let huge = scratch.write("huge.ron", vec![b' '; 5 << 20]);
    run(&["check", text(&huge)]).ends(1).prints(&["larger than"]);
}

#[cfg(unix)]
#[test]
fn a_file_without_permission_is_named() {
    use std::os::unix::fs::PermissionsExt;
    let scratch = Scratch::new("locked");
    let path = scratch.write("locked.ron", "(format: 1)");
    let closed = std::fs::Permissions::from_mode(0o000);
    std::fs::set_permissions(&path, closed).unwrap_or_else(|e| panic!("{e}"));
    if std::fs::read(&path).is_ok() {
        println!("skipped: this user may read everything");
        return;
    }
    run(&["check", text(&path)])
        .ends(1)
        .prints(&["locked.ron", "permission"]);
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    for arguments in [&["list"][..], &DRILL[..]] {
        let mut child = smirch()
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap_or_else(|e| panic!("smirch does not run: {e}"));
        drop(child.stdout.take());
        let mut err = String::new();
        if let Some(mut stderr) = child.stderr.take() {
            stderr.read_to_string(&mut err).unwrap_or_else(|e| panic!("{e}"));
        }
        let status = child.wait().unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(
            (status.code(), err.as_str()),
            (Some(0), ""),
            "smirch {arguments:?} into a closed pipe"
        );
    }
}
