//! Pictures without a window, looked at pixel by pixel, and the command that writes them.

use std::path::PathBuf;
use std::process::{Command, Output};
use std::sync::Arc;

use smirch::app::picture::{Picture, Studio};
use smirch::content::Content;
use smirch::drill::Drill;
use smirch::model::{Setup, Side, Whereabouts};
use smirch::scene::{NamedView, SceneSettings};
use smirch::view::stage::{Stage, StageItemState, Surface};
use smirch::view::stage_of;

use crate::stage::{bare, wearing};
use crate::studio::{draws, studio};

const KIT: [&str; 4] = ["respirator", "goggles", "gown", "glove"];

fn draw(studio: &mut Studio, stage: &Stage, view: NamedView) -> Picture {
    studio
        .picture(stage.clone(), view)
        .unwrap_or_else(|why| panic!("{why}"))
}

/// How many pixels two pictures do not share.
fn apart(a: &Picture, b: &Picture) -> usize {
    a.rgba
        .chunks(4)
        .zip(b.rgba.chunks(4))
        .filter(|(a, b)| a != b)
        .count()
}

fn put(stage: &Stage, id: &str, state: StageItemState) -> Stage {
    let mut out = stage.clone();
    let item = out.items.iter_mut().find(|i| i.id == id);
    item.unwrap_or_else(|| panic!("the stage has no {id}")).state = state;
    out
}

/// Everything outside loaded with a count.
fn loaded(stage: &Stage, count: u64) -> Stage {
    let mut out = stage.clone();
    for patch in &mut out.patches {
        if matches!(patch.surface, Surface::Part { inside: false, .. }) {
            patch.count = count;
        }
    }
    out
}

fn glows(c: &[u8]) -> bool {
    c[1] > 150 && c[0] > 100 && c[2] < 140
}

/// Relative luminance of an sRGB pixel, as WCAG 2 defines it.
fn luminance(c: &[u8]) -> f64 {
    let linear = |v: u8| {
        let s = f64::from(v) / 255.0;
        if s <= 0.04045 {
            s / 12.92
        } else {
            ((s + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * linear(c[0]) + 0.7152 * linear(c[1]) + 0.0722 * linear(c[2])
}

#[test]
fn every_view_shows_something_else_and_no_load_shows_in_any_with_the_lamp_off() {
    let Some(mut studio) = studio(200, 150) else {
        return;
    };
    let clean = wearing(bare(), &KIT);
    let full = loaded(&clean, 1_000_000);
    let mut seen: Vec<(NamedView, Picture)> = Vec::new();
    for view in NamedView::ALL {
        let picture = draw(&mut studio, &clean, view);
        for (other, before) in &seen {
            let many = apart(&picture, before);
            assert!(
                many > 500,
                "the views {} and {} differ in {many} pixels only",
                view.word(),
                other.word()
            );
        }
        let many = apart(&picture, &draw(&mut studio, &full, view));
        assert_eq!(
            many,
            0,
            "with the lamp off a load changes {many} pixels of the {} view",
            view.word()
        );
        seen.push((view, picture));
    }
}

#[test]
fn every_item_of_every_kit_shows() {
    let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
    let Some(mut studio) = studio(200, 200) else {
        return;
    };
    // Many scenarios share a kit; one of each is enough.
    let mut done: Vec<Vec<String>> = Vec::new();
    for scenario in &content.library.scenarios {
        let setup = Setup::new(content.library.clone(), scenario).unwrap_or_else(|e| panic!("{e}"));
        let dressed = stage_of(&Drill::begin(Arc::new(setup), 1), false);
        let kit: Vec<String> = dressed.items.iter().map(|i| i.id.clone()).collect();
        if done.contains(&kit) {
            continue;
        }
        done.push(kit);
        for (n, item) in dressed.items.iter().enumerate() {
            if item.state != StageItemState::Worn {
                continue;
            }
            // An inner glove lies wholly under the outer one and the gown's cuff: it shows once they are gone.
            let uncovered = dressed.items[n + 1..]
                .iter()
                .fold(dressed.clone(), |stage, over| {
                    put(&stage, &over.id, StageItemState::Boxed)
                });
            let shows = [&dressed, &uncovered].into_iter().any(|with| {
                let without = put(with, &item.id, StageItemState::Boxed);
                NamedView::ALL.into_iter().any(|view| {
                    apart(&draw(&mut studio, with, view), &draw(&mut studio, &without, view)) > 20
                })
            });
            assert!(
                shows,
                "{}: taking {} away changes no view, not even with nothing over it",
                scenario.id, item.id
            );
        }
    }
}

#[test]
fn specks_cover_more_the_more_there_are_and_stand_out_from_their_ground() {
    let Some(mut studio) = studio(480, 360) else {
        return;
    };
    let mut dark = wearing(bare(), &KIT);
    dark.lamp = true;
    let ground = draw(&mut studio, &dark, NamedView::Hands);
    let mut before = 0;
    for step in 0..=6 {
        let count = 10u64.pow(step);
        let picture = draw(&mut studio, &loaded(&dark, count), NamedView::Hands);
        let specks: Vec<(f64, f64)> = picture
            .rgba
            .chunks(4)
            .zip(ground.rgba.chunks(4))
            .filter(|(c, _)| glows(c))
            .map(|(c, g)| (luminance(c), luminance(g)))
            .collect();
        let now = specks.len();
        // Where a speck ends, smoothing mixes its colour with the ground's; the speck's own is at least 0.8 of full.
        let own: Vec<&(f64, f64)> = specks.iter().filter(|(speck, _)| *speck > 0.65).collect();
        assert!(!own.is_empty(), "{count} organisms: no speck has its own colour");
        assert!(
            now > before,
            "{count} organisms glow with {now} pixels, a tenth of them with {before}"
        );
        before = now;
        let least = own
            .iter()
            .map(|(speck, ground)| (speck + 0.05) / (ground + 0.05))
            .fold(f64::MAX, f64::min);
        assert!(
            least >= 4.5,
            "{count} organisms: a speck stands out from its ground by {least:.2} only"
        );
    }
}

#[test]
fn things_on_the_floor_in_a_hand_and_at_the_neck_show() {
    let Some(mut studio) = studio(320, 240) else {
        return;
    };
    let kit = wearing(bare(), &["surgical-mask", "goggles", "glove"]);
    let cases = [
        ("goggles", StageItemState::Floor(Whereabouts::Doorway)),
        ("goggles", StageItemState::Held(Side::Right)),
        ("surgical-mask", StageItemState::Dangling),
    ];
    for (id, state) in cases {
        let here = draw(&mut studio, &put(&kit, id, state.clone()), NamedView::Front);
        for other in [StageItemState::Worn, StageItemState::Boxed] {
            let there = draw(&mut studio, &put(&kit, id, other.clone()), NamedView::Front);
            let many = apart(&here, &there);
            assert!(
                many > 20,
                "{id} {state:?} and {other:?} differ in {many} pixels only"
            );
        }
    }
}

#[test]
fn the_mirror_swaps_left_and_right() {
    let Some(mut studio) = studio(320, 240) else {
        return;
    };
    let one = put(&wearing(bare(), &KIT), "left-glove", StageItemState::Boxed);
    let plain = draw(&mut studio, &one, NamedView::Front);
    studio.app.world_mut().resource_mut::<SceneSettings>().mirror = true;
    let mirrored = draw(&mut studio, &one, NamedView::Front);
    let mut back = mirrored.clone();
    for row in back.rgba.chunks_mut(back.width as usize * 4) {
        let flipped: Vec<u8> = row.chunks(4).rev().flatten().copied().collect();
        row.copy_from_slice(&flipped);
    }
    let off = |a: &Picture| -> u64 {
        let pairs = a.rgba.iter().zip(&plain.rgba);
        pairs.map(|(a, b)| u64::from(a.abs_diff(*b))).sum()
    };
    let (swapped, unswapped) = (off(&back), off(&mirrored));
    assert!(
        swapped * 10 < unswapped,
        "turned back, the mirror's picture is off by {swapped}, as it is by {unswapped}"
    );
}

fn smirch(arguments: &[&str], hidden: bool) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_smirch"));
    command.env("NO_COLOR", "1").arg("picture").args(arguments);
    if hidden {
        // No system of this one's kind draws with all of these, so no adapter is found.
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

fn file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{}-{name}", std::process::id()))
}

/// Width and height in a PNG file's header.
fn png_size(path: &PathBuf) -> (u32, u32) {
    let bytes = std::fs::read(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    assert!(
        bytes.starts_with(b"\x89PNG\r\n\x1a\n"),
        "{} is not a PNG file",
        path.display()
    );
    let number = |at: usize| u32::from_be_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
    (number(16), number(20))
}

#[test]
fn the_command_writes_a_picture_and_a_sheet_of_the_whole_drill() {
    if !draws() {
        return;
    }
    let (one, sheet) = (file("one.png"), file("sheet.png"));
    let name = |p: &PathBuf| p.to_str().expect("the path is text").to_owned();
    let said = smirch(
        &[
            "classic-tracer",
            "--script",
            "no-rub",
            "--after",
            "3",
            "--view",
            "hands",
            "--lamp",
            "--labels",
            "--size",
            "320x200",
            "--out",
            &name(&one),
        ],
        false,
    );
    assert!(said.status.success(), "{said:?}");
    assert_eq!(png_size(&one), (320, 200));
    let said = smirch(
        &[
            "classic-tracer",
            "--strip",
            "--size",
            "64x64",
            "--out",
            &name(&sheet),
        ],
        false,
    );
    assert!(said.status.success(), "{said:?}");
    let told = String::from_utf8_lossy(&said.stderr);
    assert!(told.contains("frame 1 of "), "no progress is told: {told}");
    assert!(said.stdout.is_empty(), "{said:?}");
    let (width, height) = png_size(&sheet);
    assert!(
        width > 128 && height > 128,
        "the sheet is {width} x {height} pixels only"
    );
    for path in [one, sheet] {
        std::fs::remove_file(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    }
}

#[test]
fn the_command_says_what_is_wrong_and_what_to_do() {
    let out = file("never.png");
    let out = out.to_str().expect("the path is text");
    let nowhere = file("no-folder").join("x.png");
    let nowhere = nowhere.to_str().expect("the path is text");
    let tracer = "classic-tracer";
    let cases: [(&[&str], bool, i32, &str); 8] = [
        (
            &[tracer, "--view", "top", "--out", out],
            false,
            2,
            "front, back, left, right, hands, face",
        ),
        (
            &[tracer, "--script", "no-rub", "--after", "900", "--out", out],
            false,
            2,
            "this drill has 15 steps",
        ),
        (
            &[tracer, "--size", "63x64", "--out", out],
            false,
            2,
            "each 64 to 8192",
        ),
        (
            &[tracer, "--size", "wide", "--out", out],
            false,
            2,
            "such as 1280x720",
        ),
        (
            &[tracer, "--out", nowhere],
            false,
            1,
            "cannot be written: there is no folder",
        ),
        (
            &[tracer, "--strip", "--size", "8000x8000", "--out", out],
            false,
            1,
            "too large",
        ),
        (
            &[tracer, "--script", "no-rubb", "--out", out],
            false,
            2,
            "unknown script",
        ),
        (&[tracer, "--out", out], true, 1, "mesa-vulkan-drivers"),
    ];
    for (arguments, hidden, code, words) in cases {
        let said = smirch(arguments, hidden);
        let told = String::from_utf8_lossy(&said.stderr);
        assert_eq!(said.status.code(), Some(code), "{arguments:?}: {told}");
        assert!(told.contains(words), "{arguments:?} lacks {words:?}: {told}");
        assert!(!told.contains("panicked"), "{arguments:?}: {told}");
    }
    assert!(!std::path::Path::new(out).exists(), "a failed run left a file");
}
