//! What the scene draws for a stage, looked at pixel by pixel and patch by patch.

use std::collections::HashMap;
use std::sync::Arc;

use bevy::ecs::system::RunSystemOnce;
use bevy::prelude::*;
use smirch::app::picture::{Picture, Studio};
use smirch::content::Content;
use smirch::drill::{Action, Drill};
use smirch::model::{Pace, Setup, Side, Whereabouts};
use smirch::scene::kit::{self, Wardrobe};
use smirch::scene::point::{self, Targets};
use smirch::scene::shape::model::part_of;
use smirch::scene::sites;
use smirch::scene::{Figure, NamedView, SceneCamera};
use smirch::view::class::Class;
use smirch::view::stage::{Fall, Near, Stage, Surface};
use smirch::view::stage_of;

use crate::stage::{bare, furniture, kinds, places, site, wearing};
use crate::studio::studio;

const KIT: [&str; 4] = ["respirator", "goggles", "gown", "glove"];

fn draw(studio: &mut Studio, stage: &Stage, view: NamedView) -> Picture {
    match studio.picture(stage.clone(), view) {
        Ok(picture) => picture,
        Err(why) => panic!("{why}"),
    }
}

/// Pixels of the colour only specks have.
fn glowing(p: &Picture) -> usize {
    p.rgba.chunks(4).filter(|c| glows(c)).count()
}

fn glows(pixel: &[u8]) -> bool {
    pixel[1] > 150 && pixel[0] > 100 && pixel[2] < 140
}

fn load(stage: &Stage, count: u64) -> Stage {
    let mut out = stage.clone();
    for patch in &mut out.patches {
        if matches!(patch.surface, Surface::Part { inside: false, .. }) {
            patch.count = count;
        }
    }
    out
}

#[test]
fn every_part_of_every_item_has_a_surface() {
    let mut wardrobe = Wardrobe::default();
    for kind in kinds() {
        let sides: &[Option<Side>] = if kind.each_side {
            &[Some(Side::Left), Some(Side::Right)]
        } else {
            &[None]
        };
        for side in sides {
            let Some(m) = wardrobe.worn(&kind.id, *side, &[]) else {
                panic!("no shape for {}", kind.id)
            };
            for (part, inside) in &kind.parts {
                assert!(
                    kit::parts(&kind.id).contains(&part.as_str()),
                    "{}: unknown part {part}",
                    kind.id
                );
                assert!(kit::shows(&m, part, false), "{}, {part} has no outside", kind.id);
                if *inside {
                    assert!(kit::shows(&m, part, true), "{}, {part} has no inside", kind.id);
                }
            }
            assert!(m.surf.tags.iter().all(|t| part_of(*t) < m.parts.len()));
            assert_eq!(m.ao.len(), m.surf.pos.len());
        }
    }
}

/// Two people side by side: each half shows its own, and the first is drawn as it is alone in a picture of that size.
#[test]
fn two_people_side_by_side_each_show_their_own() {
    let clean = Stage {
        lamp: true,
        ..wearing(bare(), &KIT)
    };
    let soiled = load(&clean, 5_000);
    let Some(mut studio) = studio(480, 360) else {
        return;
    };
    studio.show_pair([clean.clone(), soiled.clone()], NamedView::Front);
    let pair = match studio.take() {
        Ok(picture) => picture,
        Err(why) => panic!("{why}"),
    };
    let (left, right) = (half(&pair, false), half(&pair, true));
    assert_eq!(glowing(&left), 0, "the clean one glows");
    assert!(
        glowing(&right) > 200,
        "the soiled one shows {} glowing pixels",
        glowing(&right)
    );
    let Some(mut alone) = crate::studio::studio(240, 360) else {
        return;
    };
    let single = draw(&mut alone, &clean, NamedView::Front);
    assert!(single == left, "the left half differs from the same person alone");
    let single = draw(&mut alone, &soiled, NamedView::Front);
    let differ = single
        .rgba
        .chunks(4)
        .zip(right.rgba.chunks(4))
        .filter(|(a, b)| a != b)
        .count();
    assert!(
        differ * 50 < single.rgba.len() / 4,
        "{differ} pixels of the right half differ from the same person alone"
    );
}

/// Under one start two people are soiled alike, whatever pair was shown before: what a patch shows of a count follows
/// from the patch alone, and the halves of a picture glow alike.
#[test]
fn both_people_of_every_pair_show_the_same_specks_at_the_start() {
    let content = Content::builtin().unwrap_or_else(|e| panic!("the built-in content is sound: {e}"));
    let pairs: Vec<(&str, [Stage; 2])> = content
        .library
        .duels
        .iter()
        .map(|duel| {
            let class = Class::begin(&content, duel, 4).unwrap_or_else(|e| panic!("{}: {e}", duel.id));
            (
                duel.id.as_str(),
                class.drills().map(|drill| stage_of(drill, true)),
            )
        })
        .collect();
    for (id, stages) in &pairs {
        let texels = stages.each_ref().map(|stage| {
            let bytes = sites::bytes(stage, &kit::areas(stage), None);
            let of = stage.patches.iter().zip(bytes.chunks(4));
            of.map(|(patch, texel)| (patch.surface.clone(), texel.to_vec()))
                .collect::<HashMap<_, _>>()
        });
        let mut soiled = 0;
        for (surface, one) in &texels[0] {
            let Some(other) = texels[1].get(surface) else {
                continue;
            };
            assert_eq!(
                one, other,
                "{id}: {surface:?} is soiled alike but shown otherwise"
            );
            soiled += usize::from(one[0] > 0);
        }
        assert!(soiled > 0, "{id}: nothing that both wear is soiled");
    }
    let Some(mut studio) = studio(480, 360) else {
        return;
    };
    // Each after the others, since what was drawn before must not count.
    for (id, [one, other]) in pairs.iter().chain(&pairs) {
        if one.items != other.items {
            studio.show_pair([one.clone(), other.clone()], NamedView::Front);
            continue;
        }
        studio.show_pair([one.clone(), other.clone()], NamedView::Front);
        let pair = studio.take().unwrap_or_else(|why| panic!("{why}"));
        let [left, right] = [false, true].map(|right| glowing(&half(&pair, right)) as f32);
        assert!(
            (left - right).abs() <= 0.05 * left.max(right) + 6.0,
            "{id}: the left half glows with {left} pixels, the right one with {right}"
        );
    }
}

/// The left or the right half of a picture.
fn half(p: &Picture, right: bool) -> Picture {
    let width = p.width / 2;
    let from = if right { width } else { 0 };
    let rgba = (0..p.height)
        .flat_map(|y| {
            let start = ((y * p.width + from) * 4) as usize;
            p.rgba[start..start + (width * 4) as usize].to_vec()
        })
        .collect();
    Picture {
        width,
        height: p.height,
        rgba,
    }
}

#[test]
fn every_place_and_piece_of_furniture_has_a_surface() {
    let person = smirch::scene::shape::person::person();
    for id in places() {
        assert!(person.parts.contains(&id.as_str()), "the person has no {id}");
        assert!(kit::shows(&person, &id, false), "{id} has no triangle");
    }
    assert!(
        person
            .surf
            .tags
            .iter()
            .all(|t| places().iter().any(|p| p == person.parts[part_of(*t)]))
    );
    let room = smirch::scene::shape::room::room();
    for id in furniture() {
        assert!(room.parts.contains(&id.as_str()), "the room has no {id}");
        assert!(kit::shows(&room, &id, false), "{id} has no triangle");
    }
}

/// One renderer for every picture: starting it is what costs.
#[test]
fn lamp_and_pointing() {
    let Some(mut studio) = studio(480, 360) else {
        return;
    };
    let clean = wearing(bare(), &KIT);

    // Lamp off: the load must not show, not by one pixel.
    let without = draw(&mut studio, &clean, NamedView::Front);
    let with = draw(&mut studio, &load(&clean, 100_000), NamedView::Front);
    assert!(without == with, "with the lamp off a load changes the picture");
    let different = without
        .rgba
        .chunks(4)
        .filter(|c| *c != &without.rgba[..4])
        .count();
    assert!(different > 10_000, "the picture is empty");

    // Lamp on: nothing glows without load, and more glows with more.
    let mut dark = clean.clone();
    dark.lamp = true;
    let mut before = glowing(&draw(&mut studio, &dark, NamedView::Front));
    assert_eq!(before, 0, "something glows without any load");
    for count in [10, 1_000, 100_000] {
        let now = glowing(&draw(&mut studio, &load(&dark, count), NamedView::Front));
        assert!(
            now > before,
            "{count} organisms glow with {now} pixels, fewer gave {before}"
        );
        before = now;
    }
    let mut hidden = load(&dark, 50);
    hidden.seen_from = 100;
    assert_eq!(
        glowing(&draw(&mut studio, &hidden, NamedView::Front)),
        0,
        "counts below what can be seen glow"
    );

    meeting(&mut studio, &dark);
    pointing(&mut studio, &clean);
    leeway(&mut studio, &clean);
}

/// Specks of the floor lie where something has met it, and nowhere while the lamp is off.
#[test]
fn specks_of_the_floor_lie_where_the_thing_fell() {
    let Some(mut studio) = studio(480, 360) else {
        return;
    };
    let floor = Surface::Room("floor".into());
    let mut stage = wearing(bare(), &KIT);
    let nth = site(&stage, &floor);
    stage.patches[nth].count = 100_000;
    let fallen = |at, lamp| {
        let mut stage = stage.clone();
        stage.lamp = lamp;
        stage.fell = vec![Fall {
            at,
            near: Near::Item(2),
        }];
        stage
    };
    let mut middles = Vec::new();
    for at in [Whereabouts::Inside, Whereabouts::Doorway, Whereabouts::Outside] {
        let picture = draw(&mut studio, &fallen(at, true), NamedView::Front);
        let places: Vec<(usize, usize)> = picture
            .rgba
            .chunks(4)
            .enumerate()
            .filter(|(_, c)| glows(c))
            .map(|(i, _)| (i % 480, i / 480))
            .collect();
        assert!(places.len() > 20, "{at:?}: {} pixels glow", places.len());
        let middle = places.iter().map(|p| p.0).sum::<usize>() / places.len();
        let widest = places.iter().map(|p| p.0.abs_diff(middle)).max().unwrap_or(0);
        assert!(
            widest < 80,
            "{at:?}: specks lie up to {widest} pixels from their middle"
        );
        middles.push(middle);
    }
    assert!(
        middles[0] + 60 < middles[1] && middles[1] + 60 < middles[2],
        "specks of three falls lie about {middles:?}"
    );
    let dark = draw(&mut studio, &fallen(Whereabouts::Inside, false), NamedView::Front);
    let clean = draw(&mut studio, &wearing(bare(), &KIT), NamedView::Front);
    assert!(dark == clean, "with the lamp off a fall shows");
}

#[test]
fn a_drill_tells_where_things_have_met_the_floor() {
    let content = match Content::builtin() {
        Ok(content) => content,
        Err(why) => panic!("the built-in content is sound: {why}"),
    };
    let Some(scenario) = content.library.scenario("respiratory-room").cloned() else {
        panic!("there is no scenario `respiratory-room`");
    };
    let setup = Setup::new(content.library.clone(), &scenario).unwrap_or_else(|e| panic!("{e}"));
    let mut drill = Drill::begin(Arc::new(setup), 7);
    let mut act = |technique: &str, item: Option<&str>| {
        let action = Action::Do {
            technique: technique.to_owned(),
            item: item.map(str::to_owned),
            hand: None,
            pace: Pace::Steady,
        };
        if let Err(why) = drill.act(action) {
            panic!("{technique}: {why}");
        }
        stage_of(&drill, true)
    };
    assert_eq!(act("glove-pinch-peel", Some("left-glove")).fell, []);
    let stage = act("drop-on-floor", None);
    let Some(glove) = stage.items.iter().position(|i| i.id == "left-glove") else {
        panic!("there is no left glove");
    };
    let fell = vec![Fall {
        at: stage.whereabouts,
        near: Near::Item(glove),
    }];
    assert_eq!(stage.fell, fell);
    // What lay there leaves its specks.
    assert_eq!(act("pick-up-from-floor", Some("left-glove")).fell, fell);
}

/// Specks thin out towards a neighbour that has none, and never cross over.
fn meeting(studio: &mut Studio, dark: &Stage) {
    let loaded = |of: &dyn Fn(&str) -> bool| {
        let mut out = dark.clone();
        for patch in &mut out.patches {
            if matches!(&patch.surface, Surface::Part { item, part, inside: false } if item == "gown" && of(part))
            {
                patch.count = 20_000;
            }
        }
        out
    };
    let alone = draw(studio, &loaded(&|part| part == "abdomen"), NamedView::Front);
    let others = draw(studio, &loaded(&|part| part != "abdomen"), NamedView::Front);
    let all = draw(studio, &loaded(&|_| true), NamedView::Front);
    assert!(glowing(&alone) > 100, "the loaded part hardly glows");
    let shared = alone
        .rgba
        .chunks(4)
        .zip(others.rgba.chunks(4))
        .filter(|(a, b)| glows(a) && glows(b))
        .count();
    // A pixel on the border itself may show a little of both.
    assert!(
        shared * 100 <= glowing(&alone),
        "{shared} pixels glow whether one part is loaded or only its neighbours are"
    );
    assert!(
        glowing(&alone) + glowing(&others) < glowing(&all),
        "parts that meet glow with {} pixels, the same apart with {} and {}: they do not thin out towards a clean one",
        glowing(&all),
        glowing(&alone),
        glowing(&others)
    );
}

/// A tie or strap is meant by whoever points up to eight pixels beside it, whatever lies behind it.
fn leeway(studio: &mut Studio, clean: &Stage) {
    for (item, part) in [("gown", "neck-tie"), ("gown", "waist-tie"), ("goggles", "strap")] {
        studio.show(clean.clone(), NamedView::Back);
        studio.app.update();
        let surface = Surface::Part {
            item: item.into(),
            part: part.into(),
            inside: false,
        };
        let wanted = site(clean, &surface);
        for beside in [(7.0, 0.0), (-7.0, 0.0), (0.0, 7.0), (0.0, -7.0)] {
            let asked = (wanted, Vec2::from(beside), clean.clone());
            let found = studio.app.world_mut().run_system_once_with(meant, asked);
            let found = found.unwrap_or_else(|why| panic!("{why}"));
            let thin = found.is_some_and(|i| clean.patches[i].thin);
            assert!(
                thin,
                "{beside:?} pixels beside the {part} of the {item} not it but {:?} is meant",
                found.map(|i| &clean.patches[i].label)
            );
        }
    }
}

fn meant(
    asked: In<(usize, Vec2, Stage)>,
    pieces: Targets,
    figure: Single<&Transform, (With<Figure>, Without<SceneCamera>)>,
    camera: Single<(&Camera, &GlobalTransform), With<SceneCamera>>,
) -> Option<usize> {
    let (cam, place) = *camera;
    let (wanted, beside, stage) = &*asked;
    let at = point::screen_position_of(*wanted, cam, place, &pieces, &figure)?;
    point::site_meant(at + *beside, stage, cam, place, &pieces, &figure)
}

/// Pointing at the projected middle of a patch finds that patch.
fn pointing(studio: &mut Studio, clean: &Stage) {
    let part = |item: &str, part: &str| Surface::Part {
        item: item.into(),
        part: part.into(),
        inside: false,
    };
    let cases = [
        (NamedView::Front, part("gown", "chest")),
        (NamedView::Front, part("gown", "left-upper-sleeve")),
        (NamedView::Front, part("respirator", "front")),
        (NamedView::Front, part("goggles", "front")),
        (NamedView::Front, Surface::Room("bin-lid".into())),
        (NamedView::Front, Surface::Room("chair".into())),
        (NamedView::Front, Surface::Body("forehead".into())),
        (NamedView::Hands, part("right-glove", "back")),
        (NamedView::Hands, part("left-glove", "back")),
        (NamedView::Back, part("gown", "upper-back")),
        (NamedView::Back, part("goggles", "strap")),
    ];
    for (view, surface) in cases {
        studio.show(clean.clone(), view);
        studio.app.update();
        let wanted = site(clean, &surface);
        let found = studio.app.world_mut().run_system_once_with(probe, wanted);
        match found {
            Ok(found) => assert_eq!(
                found.map(|i| &clean.patches[i].surface),
                Some(&surface),
                "pointing at {surface:?} from the {} view",
                view.word()
            ),
            Err(why) => panic!("{why}"),
        }
    }
}

fn probe(
    wanted: In<usize>,
    pieces: Targets,
    figure: Single<&Transform, (With<Figure>, Without<SceneCamera>)>,
    camera: Single<(&Camera, &GlobalTransform), With<SceneCamera>>,
) -> Option<usize> {
    let (cam, place) = *camera;
    let at = point::screen_position_of(*wanted, cam, place, &pieces, &figure)?;
    point::site_at(at, cam, place, &pieces, &figure)
}
