//! A kind of gown that smirch does not carry, with parts, fastenings and ways of its own, written in RON alone.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use smirch::content::Content;
use smirch::drill::Drill;
use smirch::guidance::Score;
use smirch::model::{Asked, Setup};
use smirch::view::stage::Surface;
use smirch::view::stage_of;

use crate::fixture::{Scratch, content, faults_of};

fn file(name: &str) -> PathBuf {
    Path::new("tests/data/own-kit").join(name)
}

/// The example as it stands, played by its script up to so many actions.
fn played(actions: usize) -> (Content, Drill) {
    let own = Content::with_folder(&file("")).unwrap_or_else(|e| panic!("{e}"));
    let scenario = own.library.scenario("snap-gown-ward").expect("it is there");
    let setup = Setup::new(own.library.clone(), scenario).unwrap_or_else(|e| panic!("{e}"));
    let mut drill = Drill::begin(Arc::new(setup), 1);
    for action in own.scripts["snap-gown-ward/good"].actions.iter().take(actions) {
        drill.act(action.clone()).unwrap_or_else(|e| panic!("{e}"));
    }
    (own, drill)
}

#[test]
fn a_gown_of_ones_own_is_drilled_and_scored_like_any_other() {
    let (own, drill) = played(usize::MAX);
    let sequence = own.library.sequence("snap-gown-order").expect("it is there");
    let score = Score::of(&drill, sequence);
    assert!(
        score.critical.is_empty() && score.lost() == 0.0,
        "{:?}",
        score.deductions
    );
}

/// It is drawn as the gown that smirch carries: its own parts stand for parts of that, and its own ways move like ways of that.
#[test]
fn what_is_ones_own_is_drawn_as_what_it_looks_like() {
    let (own, drill) = played(5);
    let stage = stage_of(&drill, false);
    let gown = stage
        .items
        .iter()
        .find(|i| i.id == "snap-gown")
        .expect("it is worn");
    assert_eq!(
        (gown.model.as_str(), &gown.undone[..]),
        ("gown", &["waist-tie".to_owned()][..])
    );
    let drawn = |part: &str| {
        let surface = Surface::Part {
            item: "snap-gown".to_owned(),
            part: part.to_owned(),
            inside: false,
        };
        let patch = stage.patches.iter().find(|patch| patch.surface == surface);
        patch.map(|patch| patch.label.clone())
    };
    assert_eq!(drawn("neck-tie").as_deref(), Some("snap-neck gown, neck snap"));
    assert_eq!(drawn("chest").as_deref(), Some("snap-neck gown, chest, outside"));
    assert_eq!(own.library.motion("snap-gown-off"), Some("gown-draw-front"));
    assert_eq!(own.library.motion("gown-peel-inside"), Some("gown-peel-inside"));
}

/// What is like another looks like it, unless it says otherwise.
#[test]
fn an_item_like_another_looks_like_it() {
    let texts = [(
        "assets/ours.ron".to_owned(),
        r#"(format: 1, items: [
            (id: "our-glove", label: "our glove", like: "inner-glove"),
            (id: "our-gown", label: "our gown", like: "their-gown"),
            (id: "their-gown", label: "their gown", like: "gown"),
            (id: "our-long-glove", label: "our long glove", like: "inner-glove", looks_like: "glove"),
        ])"#
        .to_owned(),
    )];
    let own = content().with_texts(&texts).unwrap_or_else(|e| panic!("{e}"));
    let look = |id: &str| own.library.item(id).expect("it is there").look().to_owned();
    assert_eq!(look("our-glove"), "inner-glove");
    assert_eq!(look("our-gown"), "gown");
    assert_eq!(look("our-long-glove"), "glove");
    assert_eq!(look("inner-glove"), "inner-glove");
    // What is like something that is like a third comes off as that does.
    let ways = |id: &str| {
        let item = own.library.item(id).expect("it is there");
        own.library
            .techniques_for(item)
            .map(|t| t.id.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(ways("our-glove"), ways("glove"));
    assert_eq!(ways("our-gown"), ways("gown"));
}

/// Every slip is told where it stands, with what to do.
#[test]
fn each_slip_is_told_where_it_stands() {
    for (name, was, now, told) in [
        (
            "snap-gown.ron",
            "looks_like: \"gown\",",
            "",
            "nothing tells what `snap-gown` looks like",
        ),
        (
            "snap-gown.ron",
            "looks_like: \"gown\"",
            "looks_like: \"gowm\"",
            "unknown look `gowm`",
        ),
        (
            "snap-gown.ron",
            "looks_like: \"neck-tie\"",
            "looks_like: \"nek-tie\"",
            "unknown part of `gown` `nek-tie`",
        ),
        ("snap-gown.ron", "kind: Gown", "kind: Robe", "`Robe`"),
        (
            "snap-gown.ron",
            "part: \"side-tie\"",
            "part: \"side-ty\"",
            "unknown part `side-ty`",
        ),
        (
            "snap-gown-ways.ron",
            "moves_like: \"gown-draw-front\"",
            "moves_like: \"gown-draw-frond\"",
            "unknown technique `gown-draw-frond`",
        ),
        (
            "snap-gown-ways.ron",
            "moves_like: \"gown-draw-front\"",
            "moves_like: \"snap-gown-off\"",
            "leads back to it",
        ),
        (
            "snap-gown-ways.ron",
            "Undone(\"side-tie\")",
            "Undone(\"waist-tie\")",
            "`waist-tie`",
        ),
        (
            "snap-gown-ways.ron",
            "item.chest\", area",
            "item.chests\", area",
            "`chests`",
        ),
    ] {
        let text = std::fs::read_to_string(file("assets").join(name)).expect("it is there");
        assert!(text.contains(was), "{was}");
        let spoiled = text.replacen(was, now, 1);
        let line = 1 + text[..text.find(was).expect("it is there")].matches('\n').count();
        let scratch = Scratch::new("own-kit");
        std::fs::create_dir_all(scratch.path("assets")).expect("made");
        let other = match name {
            "snap-gown.ron" => "snap-gown-ways.ron",
            _ => "snap-gown.ron",
        };
        std::fs::copy(file("assets").join(other), scratch.path("assets").join(other)).expect("copied");
        let path = scratch.write(&format!("assets/{name}"), spoiled);
        let faults = faults_of(path);
        assert!(
            faults
                .iter()
                .any(|fault| fault.contains(&format!("{name}:{line}:")) && fault.contains(told)),
            "{now}, line {line}: {faults:#?}"
        );
    }
}

/// The command line takes the folder as it is.
#[test]
fn the_command_line_plays_it() {
    let played = std::process::Command::new(env!("CARGO_BIN_EXE_smirch"))
        .args(["drill", "snap-gown-ward", "--content"])
        .arg(file(""))
        .args(["--script", "snap-gown-ward/good"])
        .output()
        .expect("it runs");
    let told = String::from_utf8_lossy(&played.stdout);
    assert!(
        played.status.success() && told.contains("snap-neck gown"),
        "{told}{}",
        String::from_utf8_lossy(&played.stderr)
    );
}

/// What is like another and looks like it is asked for wherever that is: with it on, nothing is done.
#[test]
fn a_gown_like_another_is_asked_for_by_every_sequence_that_asks_for_that() {
    let scenario = std::fs::read_to_string("scenarios/study-soiled-gown.ron").expect("it is there");
    let ours = scenario
        .replace("id: \"study-soiled-gown\"", "id: \"our-ward\"")
        .replace("kit: [\"gown\"]", "kit: [\"our-gown\"]")
        .replace("\"gown-", "\"our-gown-");
    let item = r#"(format: 1, items: [(id: "our-gown", label: "our gown", like: "gown")])"#;
    let scratch = Scratch::new("our-gown");
    for folder in ["assets", "scenarios"] {
        std::fs::create_dir_all(scratch.path(folder)).expect("made");
    }
    scratch.write("assets/ours.ron", item);
    scratch.write("scenarios/our-ward.ron", ours);
    let own = Content::with_folder(&scratch.path("")).unwrap_or_else(|e| panic!("{e}"));
    let scenario = own.library.scenario("our-ward").expect("it is there");
    let setup = Setup::new(own.library.clone(), scenario).unwrap_or_else(|e| panic!("{e}"));
    let drill = Drill::begin(Arc::new(setup), 1);
    let sequence = own.library.sequence("study-gown").expect("it is built in");
    let score = Score::of(&drill, sequence);
    assert!(score.lost() > 0.0, "the gown is still on");
    let inner = own.library.sequence("us-2020").expect("it is built in");
    let asks = |id: &str| {
        let mut steps = inner.steps.iter();
        steps.any(|s| matches!(&s.asked, Asked::Remove { items, .. } if items.iter().any(|i| i == id)))
    };
    assert!(
        asks("our-gown") && !asks("inner-glove"),
        "an inner glove has a look of its own"
    );
}
