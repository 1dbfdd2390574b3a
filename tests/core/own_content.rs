//! Content of one's own: it is checked with what lies beside it, may build on what smirch carries, and whatever a folder
//! is made of ends in faults, never in waiting or in memory.

use std::path::{Path, PathBuf};

use smirch::content::{Content, embedded};

use crate::cli::{run, text};
use crate::fixture::{Scratch, content};

/// Writes a file of a folder, with the folders it lies in.
fn put(scratch: &Scratch, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
    let path = scratch.path(name);
    let folder = path.parent().unwrap_or_else(|| panic!("{name} lies nowhere"));
    std::fs::create_dir_all(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    scratch.write(name, bytes)
}

/// The faults of files, one a line, without snippets.
fn faults(paths: &[PathBuf]) -> Vec<String> {
    let told = |f: &smirch::content::fault::Fault| format!("{} ({})", f.brief, f.hint);
    content().check(paths).faults.iter().map(told).collect()
}

/// A folder with a sequence of its own and a scenario that uses it, as README.md describes.
fn mine(name: &str) -> (Scratch, PathBuf) {
    let scratch = Scratch::new(name);
    let sequence = content().sequence_texts["uk-agp"]
        .replacen("\"uk-agp\"", "\"our-ward\"", 1)
        .replace("\"seq-uk-agp\"", "\"local-policy\"");
    put(&scratch, "mine/assets/sequences/our-ward.ron", sequence);
    let scenario = content().scenario_texts["classic-tracer"]
        .replacen("id: \"classic-tracer\"", "id: \"ward-9\"", 1)
        .replacen("sequence: \"us-gloves-first\"", "sequence: \"our-ward\"", 1)
        .replacen("\"scenario-classic-tracer\"", "\"local-policy\"", 1);
    let scenario = put(&scratch, "mine/scenarios/ward-9.ron", scenario);
    (scratch, scenario)
}

#[test]
fn a_scenario_is_checked_and_played_with_the_sequence_beside_it() {
    let (scratch, scenario) = mine("beside");
    run(&["check", text(&scenario)])
        .ends(0)
        .complains(&["1 file checked with 1 file beside it, no faults"]);
    let script = put(
        &scratch,
        "mine/scenarios/scripts/ward-9/no-rub.ron",
        "(format: 1, scenario: \"ward-9\", label: \"none\", actions: [Do(technique: \"glove-snatch\", item: \"left-glove\")])",
    );
    run(&["check", text(&script)]).ends(0);
    let log = scratch.path("ours.jsonl");
    run(&[
        "drill",
        text(&scenario),
        "--script",
        text(&script),
        "--log",
        text(&log),
    ])
    .ends(0)
    .quietly();
    // The log stands alone: neither folder nor file is needed to score by the same sequence.
    let played = run(&["drill", text(&scenario), "--script", text(&script)]).ends(0);
    let again = run(&["replay", text(&log)]).ends(0).quietly();
    assert!(
        again.out.ends_with(&played.out),
        "played:
{}
and again:
{}",
        played.whole(),
        again.whole()
    );
    // What lies beside it and has faults is told as well: the folder would not open.
    put(
        &scratch,
        "mine/assets/sequences/our-ward.ron",
        "(format: 1, id: \"our-ward\", steps: [])",
    );
    let said = run(&["check", text(&scenario)]).ends(1);
    said.prints(&["our-ward.ron:1:", "a sequence needs steps"]);
}

#[test]
fn two_files_with_one_id_are_a_fault_wherever_they_meet() {
    let scratch = Scratch::new("twice");
    let text_of = &content().scenario_texts["classic-tracer"];
    let ours = text_of.replacen("id: \"classic-tracer\"", "id: \"ours\"", 1);
    let a = put(&scratch, "mine/scenarios/a.ron", &ours);
    let b = put(&scratch, "mine/scenarios/b.ron", &ours);
    let told = faults(&[a.clone(), b.clone()]);
    assert!(
        told.len() == 1
            && told[0].contains("there is another scenario called `ours` in")
            && told[0].contains("a.ron"),
        "{told:?}"
    );
    assert!(faults(&[a.clone(), a.clone()]).len() == 1, "b.ron lies beside it");
    let error = Content::with_folder(&scratch.path("mine"))
        .err()
        .unwrap_or_else(|| panic!("a folder with two scenarios of one id was accepted"));
    assert!(error.faults.contains("another scenario called `ours`"), "{error}");
    // What smirch carries may be replaced, by one file.
    let alone = Scratch::new("replaced");
    let only = put(&alone, "mine/scenarios/classic.ron", text_of);
    assert_eq!(faults(&[only]), Vec::<String>::new());
}

#[test]
fn an_item_may_be_like_one_in_any_other_file() {
    let scratch = Scratch::new("like");
    let like = |id: &str, model: &str| {
        format!("(format: 1, items: [(id: \"{id}\", label: \"a gown from {id}\", like: \"{model}\")])")
    };
    // Named so that whatever is needed comes later in the alphabet.
    let files = [
        put(&scratch, "mine/assets/a.ron", like("gown-a", "gown-b")),
        put(&scratch, "mine/assets/b.ron", like("gown-b", "gown-c")),
        put(&scratch, "mine/assets/c.ron", like("gown-c", "gown")),
        put(
            &scratch,
            "mine/assets/d.ron",
            "(format: 1, items: [(id: \"gown-d\", label: \"d\", like: \"gown-e\"), (id: \"gown-e\", label: \"e\", like: \"gown\")])",
        ),
    ];
    assert_eq!(faults(&files), Vec::<String>::new());
    let with = Content::with_folder(&scratch.path("mine")).unwrap_or_else(|e| panic!("{e}"));
    let parts = |id: &str| {
        let item = with.library.items.iter().find(|i| i.id == id);
        item.unwrap_or_else(|| panic!("no item `{id}`")).parts.clone()
    };
    for id in ["gown-a", "gown-b", "gown-c", "gown-d", "gown-e"] {
        assert_eq!(parts(id), parts("gown"), "`{id}`");
    }
    let round = put(
        &scratch,
        "round.ron",
        "(format: 1, items: [(id: \"x\", label: \"x\", like: \"y\"), (id: \"y\", label: \"y\", like: \"x\")])",
    );
    let told = faults(&[round]);
    assert!(
        told.len() == 2 && told.iter().all(|f| f.contains("leads back to it")),
        "{told:?}"
    );
    let unknown = put(&scratch, "unknown.ron", like("x", "gwon"));
    let told = faults(&[unknown]);
    assert!(told.len() == 1 && told[0].contains("`gown`"), "{told:?}");
}

#[test]
fn an_unknown_item_of_the_kit_is_the_only_fault() {
    let scratch = Scratch::new("kit");
    let spoiled = content().scenario_texts["classic-tracer"]
        .replacen("id: \"classic-tracer\"", "id: \"ours\"", 1)
        .replacen("kit: [\"gown\"", "kit: [\"gwon\"", 1);
    let told = faults(&[scratch.write("ours.ron", spoiled)]);
    assert!(
        told.len() == 1 && told[0].contains("unknown item `gwon`") && told[0].contains("`gown`"),
        "{told:#?}"
    );
}

/// A body whose hand lacks a zone has nowhere to be touched.
#[test]
fn a_body_without_a_part_of_a_hand_is_a_fault_of_its_file() {
    let scratch = Scratch::new("handless");
    let files = embedded();
    let body = files.iter().find(|(name, _)| name == "assets/body.ron");
    let (_, bytes) = body.unwrap_or_else(|| panic!("there is no body"));
    let body = String::from_utf8_lossy(bytes).replacen("\"left-wrist\"", "\"left-stump\"", 1);
    put(&scratch, "mine/assets/body.ron", body);
    let error = Content::with_folder(&scratch.path("mine"))
        .err()
        .unwrap_or_else(|| panic!("a body without a wrist was accepted"));
    assert!(
        error
            .faults
            .contains("body.ron:3:1: the body has no `left-wrist`"),
        "{error}"
    );
    assert!(
        !error.faults.contains("a part lies at one place at least"),
        "a place that is named and not known is one fault: {error}"
    );
}

#[test]
fn a_newer_format_is_the_only_fault_that_is_told() {
    let scratch = Scratch::new("newer");
    // Its other fields are of that format too, and so may be its syntax.
    let newer = scratch.write("newer.ron", "(format: 2, kit: [Novel { @ }], whatever: 3)");
    let told = faults(std::slice::from_ref(&newer));
    assert_eq!(
        told,
        ["this file has format 2; this smirch reads up to 1 (use a newer smirch)"]
    );
    // What builds on it is not reported, since it may be right.
    let text_of = |name: &str| {
        let files = embedded();
        let (_, bytes) = files
            .iter()
            .find(|(n, _)| n == name)
            .unwrap_or_else(|| panic!("no {name}"));
        String::from_utf8_lossy(bytes).into_owned()
    };
    let items = text_of("assets/items.ron").replacen("format: 1", "format: 2", 1);
    put(&scratch, "mine/assets/items.ron", items);
    put(&scratch, "mine/scenarios/broken.ron", "(format: 1, kit: [");
    let error = Content::with_folder(&scratch.path("mine"))
        .err()
        .unwrap_or_else(|| panic!("a newer format was accepted"));
    assert_eq!(error.count, 1, "{error}");
    assert!(
        error.faults.contains("items.ron:") && error.faults.contains("format 2"),
        "{error}"
    );
}

#[test]
fn an_unknown_id_comes_with_the_nearest_or_with_those_there_are() {
    let scratch = Scratch::new("ids");
    let scenario = &content().scenario_texts["classic-tracer"];
    let told = |from: &str, to: &str| {
        assert!(scenario.contains(from), "the scenario has no {from}");
        let told = faults(&[scratch.write("x.ron", scenario.replacen(from, to, 1))]);
        assert_eq!(told.len(), 1, "{told:#?}");
        told[0].clone()
    };
    let organism = told("organism: \"tracer\"", "organism: \"zzzzzzzzz\"");
    for known in content().library.organisms.iter().take(3) {
        assert!(organism.contains(&format!("`{}`", known.id)), "{organism}");
    }
    let site = told("site: \"goggles-front\"", "site: \"zzzzzzzzzzzzzzz\"");
    assert!(site.contains("known: ") && site.contains(" more"), "{site}");
    let near = told("site: \"goggles-front\"", "site: \"goggles-frnt\"");
    assert!(near.contains("`goggles-front`"), "{near}");
}

#[test]
fn what_smirch_carries_can_be_written_out_and_checks_clean() {
    let scratch = Scratch::new("export");
    let folder = scratch.path("ours");
    run(&["export", text(&folder)])
        .ends(0)
        .prints(&["classic-tracer.ron", "evidence.ron"]);
    let files: Vec<PathBuf> = embedded().iter().map(|(name, _)| folder.join(name)).collect();
    for ((name, bytes), path) in embedded().iter().zip(&files) {
        let written = std::fs::read(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        assert!(written == *bytes, "{name} was written otherwise");
    }
    let arguments: Vec<&str> = std::iter::once("check")
        .chain(files.iter().map(|f| text(f)))
        .collect();
    run(&arguments).ends(0).complains(&["no faults"]);
    run(&["--content", text(&folder), "list", "scenarios"])
        .ends(0)
        .quietly();
    // Nothing that exists is written over.
    let mark = folder.join("scenarios/classic-tracer.ron");
    std::fs::write(&mark, "changed").unwrap_or_else(|e| panic!("{e}"));
    run(&["export", text(&folder)])
        .ends(2)
        .complains(&["this folder is not empty", "hint:"]);
    assert_eq!(std::fs::read_to_string(&mark).unwrap_or_default(), "changed");
    let file = scratch.write("file", "x");
    run(&["export", text(&file)])
        .ends(2)
        .complains(&["something of this name"]);
    run(&["export", text(&scratch.path("no/such/folder"))])
        .ends(1)
        .complains(&["cannot be made"]);
}

#[test]
fn folders_without_end_in_depth_or_number_are_faults() {
    let scratch = Scratch::new("deep");
    let deep: PathBuf = std::iter::once(scratch.path("deep"))
        .chain((0..30).map(|n| PathBuf::from(format!("f{n}"))))
        .collect();
    std::fs::create_dir_all(&deep).unwrap_or_else(|e| panic!("{e}"));
    std::fs::write(deep.join("x.ron"), "(format: 1)").unwrap_or_else(|e| panic!("{e}"));
    fails(&scratch.path("deep"), &["folders deep", "hint:"]);
    let wide = scratch.path("wide");
    std::fs::create_dir(&wide).unwrap_or_else(|e| panic!("{e}"));
    for n in 0..2100 {
        std::fs::write(wide.join(format!("{n}.ron")), "").unwrap_or_else(|e| panic!("{e}"));
    }
    fails(&wide, &["more than 2000 content files", "hint:"]);
    fails(&scratch.path("none"), &["cannot be read"]);
}

/// Expects a folder not to load, with these words among its faults.
fn fails(folder: &Path, words: &[&str]) {
    let error = Content::with_folder(folder)
        .err()
        .unwrap_or_else(|| panic!("{} was accepted", folder.display()));
    for word in words {
        assert!(error.faults.contains(word), "no word of {word:?}: {error}");
    }
}

#[cfg(unix)]
#[test]
fn links_that_lead_back_pipes_and_devices_are_faults_and_nobody_waits() {
    use std::os::unix::fs::symlink;
    let linked =
        |from: &str, to: &Path| symlink(from, to).unwrap_or_else(|e| panic!("{}: {e}", to.display()));
    let scratch = Scratch::new("round");
    put(
        &scratch,
        "mine/scenarios/x.ron",
        &content().scenario_texts["classic-tracer"],
    );
    for name in ["a", "b", "c", "d"] {
        linked(".", &scratch.path(&format!("mine/{name}")));
        linked("..", &scratch.path(&format!("mine/scenarios/{name}")));
    }
    fails(&scratch.path("mine"), &["once more", "hint: remove the link"]);

    let scratch = Scratch::new("devices");
    put(
        &scratch,
        "mine/scenarios/x.ron",
        &content().scenario_texts["classic-tracer"],
    );
    linked("/dev/zero", &scratch.path("mine/scenarios/zero.ron"));
    linked("nowhere", &scratch.path("mine/scenarios/nowhere.ron"));
    fails(
        &scratch.path("mine"),
        &[
            "zero.ron: this is a pipe or a device",
            "nowhere.ron: this file cannot be read",
        ],
    );
    let pipe = scratch.path("pipe.ron");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    if !made.is_ok_and(|status| status.success()) {
        println!("skipped: no pipe can be made here");
        return;
    }
    run(&["check", text(&pipe)])
        .ends(1)
        .prints(&["a pipe or a device", "hint:"]);
    run(&["replay", text(&pipe)])
        .ends(1)
        .complains(&["a pipe or a device"]);
    run(&["drill", "classic-tracer", "--script", text(&pipe)])
        .ends(1)
        .complains(&["a pipe or a device"]);
    // Logs are listed past a pipe.
    let logs = pipe.parent().unwrap_or_else(|| panic!("it lies in a folder"));
    run(&["--logs", text(logs), "list", "attempts"]).ends(0).quietly();
}

/// A file where a built-in one lies takes its place with `--content`; alone it is sound, and what refers to it is not.
#[test]
fn what_takes_the_place_of_a_built_in_file_is_checked_with_what_refers_to_that() {
    let scratch = Scratch::new("in-place");
    let built_in = |name: &str| {
        let all = embedded().into_iter();
        let (_, bytes) = all.into_iter().find(|(n, _)| n == name).expect("it is built in");
        String::from_utf8(bytes.to_vec()).expect("plain text")
    };
    let room: String = built_in("assets/room.ron")
        .lines()
        .filter(|line| !line.contains("\"phone\""))
        .map(|line| format!("{line}\n"))
        .collect();
    let place = put(&scratch, "assets/room.ron", &room);
    run(&["check", text(&place)]).ends(1).prints(&[
        "room.ron: with `--content` this takes the place of the built-in `assets/room.ron`",
        "faults elsewhere: ",
        "phone",
        "keep what others refer to",
    ]);
    run(&["list", "scenarios", "--content", text(&scratch.path(""))]).ends(1);
    // The same under another name adds to the built-in one.
    let elsewhere = Scratch::new("in-addition");
    let added = put(&elsewhere, "assets/our-room.ron", &room);
    run(&["check", text(&added)]).ends(0);
    run(&["list", "scenarios", "--content", text(&elsewhere.path(""))]).ends(0);
    // And a copy takes its place without harm.
    let copy = Scratch::new("in-copy");
    let copied = put(&copy, "assets/room.ron", built_in("assets/room.ron"));
    run(&["check", text(&copied)]).ends(0);
}

/// A sequence that asks for what cannot be done is a fault of its file, and not a step that is left out unseen.
#[test]
fn a_sequence_that_cannot_be_followed_is_a_fault() {
    let scratch = Scratch::new("no-way");
    let whole = content().sequence_texts["uk-agp"]
        .replacen("\"uk-agp\"", "\"our-ward\"", 1)
        .replace("\"seq-uk-agp\"", "\"local-policy\"");
    let faults_with = |from: &str, to: &str| {
        assert!(whole.contains(from), "`{from}` is not in it");
        let sequence = put(
            &scratch,
            "assets/sequences/our-ward.ron",
            whole.replacen(from, to, 1),
        );
        faults(&[sequence]).join("\n")
    };
    let chlorine = faults_with("\"alcohol-rub\"", "\"chlorine-solution\"");
    assert!(
        chlorine.contains("`chlorine-solution` is for gloves and never for skin")
            && chlorine.contains("alcohol-rub"),
        "{chlorine}"
    );
    let strange = faults_with("\"glove-pinch-peel\"", "\"gown-undo-neck-tie\"");
    assert!(
        strange.contains("`gown-undo-neck-tie` is no way for what this step is about (glove)"),
        "{strange}"
    );
    assert_eq!(faults_with("\"alcohol-rub\"", "\"alcohol-rub\""), "");
}
