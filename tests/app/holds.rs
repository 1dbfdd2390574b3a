//! Hands hold what they act on: every technique as the drill plays it, looked at along its way.
//!
//! With `SMIRCH_SHOTS` naming a folder and `SMIRCH_HOLDS` such as `glove-pinch-peel,eyewear-by-strap:front,left`, frames of
//! those techniques are written there, eight of each from each side.

use std::sync::Arc;

use bevy::math::Vec3;
use smirch::app::perform::perform;
use smirch::app::picture::Studio;
use smirch::content::Content;
use smirch::drill::{Action, Drill};
use smirch::model::{Pace, Setup, Whereabouts};
use smirch::scene::motion::grip::Grip;
use smirch::scene::motion::warp::End;
use smirch::scene::piece::Piece;
use smirch::scene::{Arms, Both, Motion, NamedView, News, Perform};
use smirch::view::stage::{Stage, StageItemState, Surface, Who};
use smirch::view::stage_of;

use crate::motion::{pass, shot, take, told};
use crate::studio::studio;

/// A technique with the kit worn and what is done before.
struct Case {
    kit: &'static [&'static str],
    before: &'static [(&'static str, &'static str)],
    technique: &'static str,
    item: &'static str,
}

const fn case(
    technique: &'static str,
    item: &'static str,
    kit: &'static [&'static str],
    before: &'static [(&'static str, &'static str)],
) -> Case {
    Case {
        kit,
        before,
        technique,
        item,
    }
}

const GOWNED: &[&str] = &["gown", "respirator", "goggles", "glove"];
const APRON: &[&str] = &["apron", "visor", "surgical-mask", "overshoe", "glove"];
const TIED: &[&str] = &["tied-mask", "glove"];
const BARE: &[(&str, &str)] = &[
    ("glove-pinch-peel", "left-glove"),
    ("glove-slide-under", "right-glove"),
];
const OPEN: &[(&str, &str)] = &[
    ("glove-pinch-peel", "left-glove"),
    ("glove-slide-under", "right-glove"),
    ("bin-by-pedal", ""),
    ("gown-undo-neck-tie", "gown"),
    ("gown-undo-waist-tie", "gown"),
];
const BINNED: &[(&str, &str)] = &[
    ("glove-pinch-peel", "left-glove"),
    ("glove-slide-under", "right-glove"),
    ("bin-by-pedal", ""),
];
const UNTIED: &[(&str, &str)] = &[("gown-undo-neck-tie", "gown"), ("gown-undo-waist-tie", "gown")];
const LOOSE: &[(&str, &str)] = &[("apron-break-loop", "apron"), ("apron-break-ties", "apron")];
const LOWER: &[(&str, &str)] = &[("respirator-bottom-strap", "respirator")];
const BOTTOM: &[(&str, &str)] = &[("tied-mask-bottom-tie", "tied-mask")];
const ONE: &[(&str, &str)] = &[("glove-pinch-peel", "left-glove")];

const CASES: &[Case] = &[
    case("glove-pinch-peel", "left-glove", GOWNED, &[]),
    case("glove-slide-under", "right-glove", GOWNED, ONE),
    case("glove-hook-cuff", "right-glove", GOWNED, ONE),
    case("glove-push-in", "right-glove", GOWNED, ONE),
    case("glove-snatch", "left-glove", GOWNED, &[]),
    case("glove-strip-back", "left-glove", GOWNED, &[]),
    case("gown-undo-neck-tie", "gown", GOWNED, &[]),
    case("gown-undo-waist-tie", "gown", GOWNED, &[]),
    case("gown-peel-inside", "gown", GOWNED, OPEN),
    case("gown-from-shoulders-outside", "gown", GOWNED, OPEN),
    case("gown-one-sleeve-at-a-time", "gown", GOWNED, OPEN),
    case("gown-pull-cuffs", "gown", GOWNED, OPEN),
    case("gown-pull-front", "gown", GOWNED, BINNED),
    case("gown-draw-front", "gown", GOWNED, OPEN),
    case("gown-with-gloves", "gown", GOWNED, &[]),
    case("gown-over-head", "gown", GOWNED, BINNED),
    case("gown-over-gloved-hands", "gown", GOWNED, UNTIED),
    case("eyewear-by-strap", "goggles", GOWNED, &[]),
    case("goggles-by-sides", "goggles", GOWNED, &[]),
    case("eyewear-by-front", "goggles", GOWNED, &[]),
    case("eyewear-push-up", "goggles", GOWNED, &[]),
    case("visor-by-band", "visor", APRON, &[]),
    case("respirator-bottom-strap", "respirator", GOWNED, &[]),
    case("respirator-top-strap-off", "respirator", GOWNED, LOWER),
    case("respirator-both-straps-at-once", "respirator", GOWNED, &[]),
    case("respirator-one-strap", "respirator", GOWNED, &[]),
    case("respirator-by-front", "respirator", GOWNED, &[]),
    case("respirator-pull-down", "respirator", GOWNED, &[]),
    case("respirator-adjust-front", "respirator", GOWNED, &[]),
    case("mask-by-loops", "surgical-mask", APRON, &[]),
    case("mask-by-front", "surgical-mask", APRON, &[]),
    case("mask-pull-down", "surgical-mask", APRON, &[]),
    case("tied-mask-bottom-tie", "tied-mask", TIED, &[]),
    case("tied-mask-top-tie-off", "tied-mask", TIED, BOTTOM),
    case("tied-mask-by-front", "tied-mask", TIED, &[]),
    case("apron-break-loop", "apron", APRON, &[]),
    case("apron-break-ties", "apron", APRON, &[]),
    case("apron-fold-down", "apron", APRON, LOOSE),
    case("apron-pull-front", "apron", APRON, &[]),
    case("apron-over-head", "apron", APRON, &[]),
    case("overshoe-by-top-inside", "left-overshoe", APRON, BARE),
    case("overshoe-by-heel", "left-overshoe", APRON, &[]),
    case("overshoe-by-sole", "left-overshoe", APRON, &[]),
    case("bin-by-pedal", "left-glove", GOWNED, ONE),
    case("bin-by-lid", "left-glove", GOWNED, ONE),
];

fn action(technique: &str, item: &str) -> Action {
    Action::Do {
        technique: technique.to_owned(),
        item: (!item.is_empty()).then(|| item.to_owned()),
        hand: None,
        pace: Pace::Steady,
    }
}

/// The stage before a technique, what is asked of the scene, and the stage after it.
fn played(content: &Content, case: &Case) -> (Stage, Perform, Stage) {
    let Some(mut scenario) = content.library.scenario("double-gloves").cloned() else {
        panic!("there is no scenario `double-gloves`");
    };
    scenario.kit = case.kit.iter().map(|id| (*id).to_owned()).collect();
    scenario.start.clear();
    scenario.faults.clear();
    scenario.happenings.clear();
    let setup =
        Setup::new(content.library.clone(), &scenario).unwrap_or_else(|e| panic!("{:?}: {e}", case.kit));
    let mut drill = Drill::begin(Arc::new(setup), 7);
    for (technique, item) in case.before {
        if let Err(why) = drill.act(action(technique, item)) {
            panic!("before {}, {technique}: {why}", case.technique);
        }
    }
    let mut before = stage_of(&drill, false);
    before.whereabouts = Whereabouts::Doorway;
    // What is held needs no name.
    let item = if case.technique.starts_with("bin-") {
        ""
    } else {
        case.item
    };
    if let Err(why) = drill.act(action(case.technique, item)) {
        panic!("{}: {why}", case.technique);
    }
    let mut after = stage_of(&drill, false);
    after.whereabouts = Whereabouts::Doorway;
    let Some((ask, _)) = perform(Who::First, &drill, &before, &after) else {
        panic!("{}: the hands do nothing", case.technique);
    };
    (before, ask, after)
}

/// The same for a technique by its name.
pub fn played_out(technique: &str) -> (Stage, Perform, Stage) {
    let Some(case) = CASES.iter().find(|c| c.technique == technique) else {
        panic!("there is no case for `{technique}`");
    };
    played(&content(), case)
}

/// The same for every technique here, with its name.
pub fn all_played() -> Vec<(&'static str, Stage, Perform, Stage)> {
    let content = content();
    let played = |case: &Case| {
        let (before, ask, after) = played(&content, case);
        (case.technique, before, ask, after)
    };
    CASES.iter().map(played).collect()
}

fn content() -> Content {
    match Content::builtin() {
        Ok(content) => content,
        Err(why) => panic!("the built-in content is sound: {why}"),
    }
}

/// Shows the stage before a technique and asks for it.
fn begin(studio: &mut Studio, before: &Stage, ask: &Perform, view: NamedView) {
    crate::motion::settle(studio, before, view);
    studio.app.world_mut().write_message(ask.clone());
    pass(studio, 0.0);
}

/// Eight frames of each technique asked for, from each side asked for.
fn look(asked: &str) {
    let content = content();
    let Some(mut studio) = studio(960, 720) else {
        return;
    };
    let (techniques, views) = asked.split_once(':').unwrap_or((asked, "front"));
    let wanted = |name: &str, list: &str| list.split(',').any(|one| one == name);
    for view in NamedView::ALL.into_iter().filter(|v| wanted(v.word(), views)) {
        for case in CASES.iter().filter(|c| wanted(c.technique, techniques)) {
            let (before, ask, after) = played(&content, case);
            begin(&mut studio, &before, &ask, view);
            let mut frame = 0;
            for step in 1..=46 {
                pass(&mut studio, ask.seconds / 44.0);
                if told(&mut studio).contains(&News::Done) {
                    studio.show(after.clone(), view);
                }
                if ![16, 18, 21, 24, 27, 30, 34, 46].contains(&step) {
                    continue;
                }
                frame += 1;
                let name = format!("{}-{}-{frame}", case.technique, view.word());
                shot(&take(&mut studio), &name);
            }
        }
    }
}

/// Techniques in which no hand takes hold of something that it moves, or which take it at a bound: what is picked up lies on
/// the floor until it is in the hand.
const NOTHING_HELD: [&str; 12] = [
    "pick-up-from-floor",
    "glove-don",
    "turn-patient",
    "suction-airway",
    "clean-mouth",
    "bin-throw",
    "bin-push-down",
    "drop-on-floor",
    "mask-put-back",
    "mask-adjust-front",
    "respirator-put-back",
    "respirator-adjust-edges",
];

/// How near what is held lies to the fingers that hold it, metres.
const HELD: f32 = 0.020;
/// How near the hand has come to the item before it closes on it, metres.
const REACHED: f32 = 0.035;

/// All corners of an item as they are now, in the space of the figure.
fn corners(studio: &mut Studio, stage: &Stage, item: &str) -> Vec<Vec3> {
    posed(
        studio,
        stage,
        |surface| matches!(surface, Surface::Part { item: i, .. } if i == item),
    )
}

/// The corners of the patches that are wanted.
fn posed(studio: &mut Studio, stage: &Stage, wanted: impl Fn(&Surface) -> bool) -> Vec<Vec3> {
    let sites: Vec<u16> = (0..stage.patches.len())
        .filter(|i| wanted(&stage.patches[*i].surface))
        .map(|i| i as u16)
        .collect();
    let world = studio.app.world_mut();
    let mut pieces = world.query::<&Piece>();
    let mut out = Vec::new();
    for piece in pieces.iter(world) {
        let tris = piece
            .tris
            .iter()
            .zip(&piece.sites)
            .filter(|(_, s)| sites.contains(s));
        out.extend(tris.flat_map(|(t, _)| t.map(|v| piece.posed[v as usize])));
    }
    out
}

fn nearest(corners: &[Vec3], to: Vec3) -> f32 {
    corners.iter().fold(f32::MAX, |d, p| d.min(p.distance(to)))
}

/// Plays one technique and tells where something is not held.
fn offences(studio: &mut Studio, content: &Content, case: &Case) -> Vec<String> {
    let (before, ask, _) = played(content, case);
    begin(studio, &before, &ask, NamedView::Front);
    let mut out = Vec::new();
    let mut found = 0;
    let mut say = |what: String| {
        if out.len() < 3 {
            out.push(format!("{}: {what}", case.technique));
        }
    };
    for step in 0..40 {
        pass(studio, ask.seconds / 40.0);
        if told(studio).contains(&News::Done) {
            break;
        }
        let world = studio.app.world();
        let pose = world.resource::<Both<Arms>>().of(Who::First).pose;
        let motion = world.resource::<Both<Motion>>().of(Who::First);
        let Some(warp) = motion.warp(case.item).cloned() else {
            continue;
        };
        let all = corners(studio, &before, case.item);
        for grasp in &warp.grasps {
            found += 1;
            let at = grasp.contact(&pose);
            let keeps = warp.end == End::Hand(grasp.side);
            let off = nearest(&all, at);
            let hand = grasp.side.word();
            if warp.firm == 0.0 {
                continue;
            }
            if warp.firm < 0.5 && off > REACHED {
                say(format!("at {step} the {hand} hand closes {off} m from the item"));
            }
            // In the end the fingers shift to where it hangs from.
            if warp.firm < 1.0 || warp.at > if keeps { 0.82 } else { 0.55 } {
                continue;
            }
            if off > HELD {
                say(format!(
                    "at {step} the item is {off} m from the {hand} hand that holds its {}",
                    grasp.part
                ));
            }
            let gripping = |zone: &str| {
                let skin = format!("{hand}-{zone}");
                let glove = format!("{hand}-glove");
                let zone = zone.to_owned();
                move |surface: &Surface| match surface {
                    Surface::Body(id) => *id == skin,
                    Surface::Part { item, part, inside } => *item == glove && *part == zone && !inside,
                    Surface::Room(_) => false,
                }
            };
            for zone in ["fingertips", "thumb"] {
                if grasp.grip != Grip::Pinch || warp.at > 0.55 {
                    continue;
                }
                let off = nearest(&posed(studio, &before, gripping(zone)), at);
                if off > 0.013 {
                    say(format!(
                        "at {step} the {zone} of the {hand} hand is {off} m from what it pinches"
                    ));
                }
            }
        }
    }
    if found == 0 && !case.technique.starts_with("bin-") {
        say("nothing is ever held".to_owned());
    }
    out
}

/// Straps, cuffs, ties and cloth lie in the fingers that took them, from the moment they close until the item has come off.
#[test]
fn hands_hold_what_they_take() {
    if let Ok(asked) = std::env::var("SMIRCH_HOLDS") {
        return look(&asked);
    }
    let content = content();
    // What borrows the motion of another is looked at as that.
    let own = content.library.techniques.iter();
    for technique in own.filter(|technique| technique.moves_like.is_none()) {
        let known = CASES.iter().any(|c| c.technique == technique.id);
        assert!(
            known != NOTHING_HELD.contains(&technique.id.as_str()),
            "{} is not looked at here, or twice",
            technique.id
        );
    }
    let Some(mut studio) = studio(64, 64) else { return };
    let all: Vec<String> = CASES
        .iter()
        .flat_map(|case| offences(&mut studio, &content, case))
        .collect();
    assert!(
        all.is_empty(),
        "hands do not hold what they take:\n{}",
        all.join("\n")
    );
}

/// What is turned inside out shows its inner side from then on, and what is not its outer one, also while it is still on
/// its way into the hand: the outer faces of something that shows its inside lie inside out.
#[test]
fn a_glove_coming_off_shows_the_side_that_it_ends_with() {
    let Some(mut studio) = studio(64, 64) else {
        return;
    };
    let content = content();
    for case in CASES
        .iter()
        .filter(|c| c.item.ends_with("glove") && c.technique.starts_with("glove"))
    {
        let (before, ask, after) = played(&content, case);
        let inverted = after.items.iter().any(|i| i.id == case.item && i.inverted);
        begin(&mut studio, &before, &ask, NamedView::Front);
        for _ in 0..200 {
            pass(&mut studio, ask.seconds / 200.0);
            let motion = studio.app.world().resource::<Both<Motion>>().of(Who::First);
            let Some(warp) = motion.warp(case.item) else { break };
            if warp.at < 0.90 {
                continue;
            }
            let volume = volume(&mut studio, &before, case.item);
            assert!(
                (volume < 0.0) == inverted,
                "{}: {:.2} of the way the outer faces enclose {volume} m3, so the {} side shows",
                case.technique,
                studio
                    .app
                    .world()
                    .resource::<Both<Motion>>()
                    .of(Who::First)
                    .warp(case.item)
                    .map_or(1.0, |w| w.at),
                if inverted { "outer" } else { "inner" }
            );
        }
    }
}

/// What the outer faces of an item enclose, m3; negative if they face inwards.
fn volume(studio: &mut Studio, stage: &Stage, item: &str) -> f32 {
    let outer =
        |surface: &Surface| matches!(surface, Surface::Part { item: i, inside: false, .. } if i == item);
    let all = posed(studio, stage, outer);
    let middle = all.iter().sum::<Vec3>() / all.len().max(1) as f32;
    let of = |t: &[Vec3]| (t[0] - middle).dot((t[1] - middle).cross(t[2] - middle)) / 6.0;
    all.chunks_exact(3).map(of).sum()
}

/// A face item taken by its front is held by it: the straps hang beneath, and the front is in the fingers.
#[test]
fn what_is_taken_by_its_front_is_held_by_its_front() {
    let content = content();
    for case in CASES {
        let (before, _, after) = played(&content, case);
        let Some(item) = after.items.iter().find(|i| i.id == case.item) else {
            continue;
        };
        let StageItemState::Held(hand) = item.state else {
            continue;
        };
        let front = before.patches.iter().any(
            |p| matches!(&p.surface, Surface::Part { item: i, part, .. } if *i == item.id && part == "front"),
        );
        assert_eq!(
            item.by_front,
            front && case.technique.ends_with("by-front"),
            "{}: how it is held is wrong",
            case.technique
        );
        if !item.by_front {
            continue;
        }
        let Some(mut studio) = studio(64, 64) else { return };
        crate::motion::settle(&mut studio, &after, NamedView::Front);
        let pose = studio.app.world().resource::<Both<Arms>>().of(Who::First).pose;
        let fingers = posed(&mut studio, &after, |surface| {
            *surface == Surface::Body(format!("{}-fingertips", hand.word()))
                || matches!(surface, Surface::Part { item, part, .. } if *item == format!("{}-glove", hand.word()) && part == "fingertips")
        });
        let of = |wanted: fn(&str) -> bool, studio: &mut Studio| {
            posed(
                studio,
                &after,
                |surface| matches!(surface, Surface::Part { item: i, part, .. } if *i == item.id && wanted(part)),
            )
        };
        let near = |corners: &[Vec3]| fingers.iter().fold(f32::MAX, |d, p| d.min(nearest(corners, *p)));
        let fronts = near(&of(|part| part == "front", &mut studio));
        assert!(
            fronts < 0.02,
            "{}: the front is {fronts} m from the fingers ({:?})",
            case.technique,
            pose.hand(hand)
        );
        let lowest = |corners: &[Vec3]| corners.iter().fold(f32::MAX, |y, p| y.min(p.y));
        let (straps, front) = (
            of(
                |part| part.ends_with("strap") || part.ends_with("loop") || part.ends_with("tie"),
                &mut studio,
            ),
            of(|part| part == "front", &mut studio),
        );
        assert!(
            lowest(&straps) < lowest(&front),
            "{}: the straps do not hang beneath the front",
            case.technique
        );
    }
}
