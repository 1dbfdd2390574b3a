//! Laying what was done beside what was asked: full marks for what is done by the book, and each error by its name.

use smirch::drill::{Action, Drill, State, enact};
use smirch::guidance::{CriticalKind, Order, Score, Watch, align};
use smirch::model::{Asked, Hands, Pace, Sequence, Side, Whereabouts, Zone};
use smirch::report::{attempt_json, marks_lines, score_text};

use crate::fixture::{bin, clean, content, play, play_script, script, setup, take};

const SEEDS: [u64; 3] = [1, 7, 20_260];

/// A script that does one thing of each critical kind and nothing else that is critical.
const ONE_OF_EACH: [(&str, CriticalKind); 11] = [
    ("from-the-door/no-goggles", CriticalKind::WentInWithout),
    (
        "respiratory-room/gown-by-front-then-rub",
        CriticalKind::BareHandOnDirty,
    ),
    (
        "respiratory-room/itch-in-gloves",
        CriticalKind::FaceTouchedUnclean,
    ),
    ("respiratory-room/no-rub", CriticalKind::RubSkipped),
    (
        "respiratory-room/slipping-respirator",
        CriticalKind::DirtyGloveAtFace,
    ),
    (
        "respiratory-room/respirator-in-doorway",
        CriticalKind::RespiratorOffTooSoon,
    ),
    (
        "respiratory-room/gloves-worn-out",
        CriticalKind::LeftInSoiledGloves,
    ),
    ("respiratory-room/gown-worn-out", CriticalKind::LeftInUsedKit),
    (
        "respiratory-room/phone-in-gloves",
        CriticalKind::OthersTouchedUnclean,
    ),
    ("enteric-bay/rub-only", CriticalKind::NotWashed),
    ("respiratory-room/early-rub-only", CriticalKind::LeftUncleaned),
];

fn sequence(id: &str) -> &'static Sequence {
    content()
        .library
        .sequence(id)
        .unwrap_or_else(|| panic!("there is no sequence `{id}`"))
}

/// A built-in script with the score against the sequence that it names.
fn scored(name: &str, seed: u64) -> (Drill, Score) {
    let own = script(name).sequence.as_deref();
    let sequence = sequence(own.unwrap_or_else(|| panic!("`{name}` names no sequence")));
    let drill = play_script(name, seed);
    let score = Score::of(&drill, sequence);
    (drill, score)
}

fn kinds(score: &Score) -> Vec<&'static str> {
    score.critical.iter().map(|c| c.kind.word()).collect()
}

fn reasons(score: &Score) -> Vec<String> {
    let lost = score
        .deductions
        .iter()
        .map(|d| format!("-{} {}", d.marks, d.reason));
    let critical = score.critical.iter().map(|c| c.reason.clone());
    critical.chain(lost).collect()
}

/// Gloves off by the book, and into the bin.
fn gloves_off() -> Vec<Action> {
    vec![
        take("glove-pinch-peel", "left-glove"),
        take("glove-slide-under", "right-glove"),
        bin(Hands::Left),
    ]
}

fn gown_off() -> Vec<Action> {
    vec![
        take("gown-undo-neck-tie", "gown"),
        take("gown-undo-waist-tie", "gown"),
        take("gown-peel-inside", "gown"),
        bin(Hands::Both),
    ]
}

fn goggles_off() -> Vec<Action> {
    vec![take("eyewear-by-strap", "goggles"), bin(Hands::Both)]
}

fn respirator_off() -> Vec<Action> {
    vec![
        take("respirator-bottom-strap", "respirator"),
        take("respirator-top-strap-off", "respirator"),
        bin(Hands::Both),
    ]
}

/// What `uk-agp` asks for.
fn by_the_book() -> Vec<Action> {
    [
        gloves_off(),
        vec![clean("alcohol-rub", 25.0)],
        gown_off(),
        goggles_off(),
        vec![clean("alcohol-rub", 25.0), Action::Walk(Whereabouts::Outside)],
        respirator_off(),
        vec![clean("soap-and-water", 40.0)],
    ]
    .concat()
}

#[test]
fn every_built_in_script_names_a_sequence_of_its_scenario() {
    for (name, script) in &content().scripts {
        let scenario = content()
            .library
            .scenario(&script.scenario)
            .unwrap_or_else(|| panic!("{name}: no scenario `{}`", script.scenario));
        let own = script
            .sequence
            .as_ref()
            .unwrap_or_else(|| panic!("{name} names no sequence to be scored by"));
        assert!(
            *own == scenario.sequence || scenario.also.contains(own),
            "{name}: `{own}` is no sequence of `{}`",
            scenario.id
        );
    }
}

#[test]
fn every_good_script_scores_full_against_its_own_sequence() {
    let mut seen = 0;
    for name in content().scripts.keys().filter(|n| n.ends_with("-good")) {
        for seed in SEEDS {
            let (_, score) = scored(name, seed);
            assert!(
                score.is_full() && score.marks() == Some(score.full),
                "{name}, seed {seed}, loses marks or has a critical error: {:#?}",
                reasons(&score)
            );
            assert_eq!(
                score.moments.0, score.moments.1,
                "{name}: a cleaning that was asked for is not met"
            );
            seen += 1;
        }
    }
    assert!(seen >= 18 * SEEDS.len(), "{seen} good attempts were played");
}

#[test]
fn each_kind_of_critical_error_has_a_script_that_shows_only_it() {
    for kind in CriticalKind::ALL {
        assert!(
            ONE_OF_EACH.iter().any(|(_, shown)| *shown == kind),
            "no script shows `{}` alone",
            kind.word()
        );
    }
    for (name, kind) in ONE_OF_EACH {
        for seed in SEEDS {
            let (_, score) = scored(name, seed);
            assert!(
                !score.critical.is_empty() && kinds(&score).iter().all(|word| *word == kind.word()),
                "{name}, seed {seed}, should show `{}` only: {:#?}",
                kind.word(),
                reasons(&score)
            );
        }
    }
}

#[test]
fn leaving_with_bare_hands_that_are_not_clean_is_critical_where_the_sequence_cleans_them_before() {
    let without_a_rub = |scenario: &str, id: &str| {
        let rest = [gloves_off(), gown_off(), vec![Action::Walk(Whereabouts::Outside)]].concat();
        Score::of(&play(scenario, &rest, 1), sequence(id))
    };
    // The neck tie was met with the same hands: one rub that is missing is told once.
    let score = without_a_rub("respiratory-room", "uk-agp");
    assert_eq!(kinds(&score), ["rub-skipped"], "{:#?}", reasons(&score));
    // Nothing at the neck or face in between: the door is the first that is met.
    let straight_out = [gloves_off(), vec![Action::Walk(Whereabouts::Outside)]].concat();
    let score = Score::of(&play("respiratory-room", &straight_out, 1), sequence("uk-agp"));
    assert_eq!(
        score
            .critical
            .iter()
            .map(|c| c.reason.as_str())
            .collect::<Vec<_>>(),
        [
            "you left the room in the gown, worn at the bedside",
            "you left the room with both bare hands, which had not been cleaned in full since the gloves came off"
        ]
    );
    // Where hands are cleaned only once outside, nothing was skipped.
    let score = without_a_rub("respiratory-room", "us-2020");
    assert!(score.critical.is_empty(), "{:#?}", reasons(&score));
}

#[test]
fn a_mask_that_comes_off_before_its_place_is_critical_as_a_respirator_is() {
    let (_, score) = scored("enteric-bay/mask-first", 1);
    let told: Vec<&str> = score
        .critical
        .iter()
        .filter(|c| c.kind == CriticalKind::RespiratorOffTooSoon)
        .map(|c| c.reason.as_str())
        .collect();
    assert_eq!(
        told,
        ["the surgical mask came off inside the room; it stays on until you are outside"],
        "{:#?}",
        reasons(&score)
    );
}

fn touch(hand: Side, site: &str) -> Action {
    Action::Touch {
        hand,
        with: Zone::FingerPads,
        site: site.to_owned(),
        area: 2.0,
    }
}

fn of_the_respiratory_room(actions: &[Action]) -> Score {
    Score::of(&play("respiratory-room", actions, 1), sequence("uk-agp"))
}

fn told(score: &Score) -> Vec<&str> {
    score.critical.iter().map(|c| c.reason.as_str()).collect()
}

#[test]
fn what_hands_touch_after_their_last_cleaning_is_not_forgotten() {
    let and = |more: Vec<Action>| of_the_respiratory_room(&[by_the_book(), more].concat());
    assert!(and(Vec::new()).is_full());
    assert_eq!(
        told(&and(vec![touch(Side::Right, "floor")])),
        ["your right hand was not clean at the end: it had touched the floor since it was cleaned"]
    );
    let score = and(vec![
        Action::Walk(Whereabouts::Inside),
        touch(Side::Left, "bed-rail"),
        Action::Walk(Whereabouts::Outside),
    ]);
    assert_eq!(
        told(&score),
        [
            "you went back in without the gown, the respirator, the goggles and the gloves",
            "your left hand was not clean at the end: it had touched the bed rail since it was cleaned",
            "you left the room with your bare left hand, which had not been cleaned in full since it touched the bed rail",
        ]
    );
    // Who cleans them again, and takes hold of what everybody does, has ended with clean hands.
    let again = and(vec![
        touch(Side::Right, "floor"),
        clean("alcohol-rub", 25.0),
        touch(Side::Right, "phone"),
    ]);
    assert!(again.critical.is_empty(), "{:?}", told(&again));
}

#[test]
fn a_hand_that_worked_the_door_is_not_called_clean_at_the_eye() {
    let mut actions = by_the_book();
    let out = actions
        .iter()
        .position(|a| matches!(a, Action::Walk(_)))
        .expect("it leaves");
    actions.insert(out + 1, touch(Side::Right, "right-eye"));
    let score = of_the_respiratory_room(&actions);
    assert_eq!(
        told(&score),
        [
            "you touched your right eye with your bare right hand, which had not been cleaned in full since it worked the door"
        ]
    );
    assert!(score.face_touches[0].unclean);
    // The other hand has not met the door.
    actions[out + 1] = touch(Side::Left, "left-eye");
    let score = of_the_respiratory_room(&actions);
    assert!(
        score.critical.is_empty() && !score.face_touches[0].unclean,
        "{:?}",
        told(&score)
    );
}

#[test]
fn a_face_met_in_handling_kit_is_a_face_touched() {
    let adjusts = [vec![take("respirator-adjust-edges", "respirator")], by_the_book()].concat();
    let score = of_the_respiratory_room(&adjusts);
    assert!(
        kinds(&score).contains(&"face-touched-unclean"),
        "{:?}",
        told(&score)
    );
    assert!(!score.face_touches.is_empty() && score.face_touches.iter().all(|t| t.unclean));
    assert!(of_the_respiratory_room(&by_the_book()).face_touches.is_empty());
}

#[test]
fn a_phone_put_away_before_kit_goes_on_is_no_error() {
    let mut actions = script("from-the-door/uk-agp-on-good").actions.clone();
    let of = |actions: &[Action]| Score::of(&play("from-the-door", actions, 1), sequence("uk-agp-on"));
    let before = kinds(&of(&actions));
    actions.insert(0, touch(Side::Right, "phone"));
    assert_eq!(kinds(&of(&actions)), before);
}

#[test]
fn a_spare_glove_is_clean_until_it_has_met_something() {
    let puts_on = [by_the_book(), vec![take("glove-don", "spare-left-glove")]].concat();
    let score = of_the_respiratory_room(&puts_on);
    assert!(score.critical.is_empty(), "{:?}", told(&score));
}

#[test]
fn after_a_critical_error_there_are_no_marks_in_text_or_json() {
    for (name, _) in ONE_OF_EACH {
        let (drill, score) = scored(name, 1);
        assert_eq!(score.marks(), None, "{name} still has marks");
        let lines = marks_lines(&score);
        assert!(
            lines[0].starts_with("no marks: ") && !lines.iter().any(|l| l.contains(" of 100")),
            "{name}: {lines:?}"
        );
        let sequence = sequence(&score.sequence);
        let text = score_text(&drill, sequence, &score);
        assert!(
            !text.contains("of 100"),
            "{name} prints marks beside a critical error:\n{text}"
        );
        let json = attempt_json(&drill, sequence, &score);
        assert!(
            json["score"]["marks"]["left"].is_null(),
            "{name}: {}",
            json["score"]["marks"]
        );
    }
}

#[test]
fn rubbing_gloves_does_not_meet_rub_your_hands() {
    let (drill, score) = scored("respiratory-room/rub-too-early", 1);
    let uk = sequence("uk-agp");
    let missed: Vec<&str> = score
        .steps
        .iter()
        .filter(|s| s.order == Order::Missed)
        .map(|s| uk.steps[s.step].id.as_str())
        .collect();
    assert_eq!(missed, ["rub-after-gloves"], "{:#?}", reasons(&score));
    assert!(score.cleanings[0].over_gloves && !score.cleanings[1].over_gloves);
    // Nor does it make a glove clean enough for the face: the neck was handled with what came out of it.
    assert!(kinds(&score).contains(&"rub-skipped"), "{:#?}", reasons(&score));
    assert!(drill.done().len() > 10);

    let cleaned = [
        vec![
            clean("alcohol-rub", 25.0),
            take("respirator-adjust-front", "respirator"),
        ],
        by_the_book(),
    ]
    .concat();
    let score = Score::of(&play("respiratory-room", &cleaned, 1), uk);
    assert_eq!(
        kinds(&score),
        ["dirty-glove-at-face"],
        "a rubbed glove counts as clean"
    );
}

#[test]
fn gloves_are_cleaned_where_the_sequence_asks_for_it_and_nowhere_else() {
    let (_, score) = scored("double-gloves/double-glove-order-good", 1);
    let over: Vec<bool> = score.cleanings.iter().map(|c| c.over_gloves).collect();
    assert_eq!(over, [true, true, true, false, false, false]);
    assert_eq!(score.moments, (6, 6));
}

#[test]
fn a_rub_done_early_uses_up_no_later_cleaning() {
    let us = sequence("us-gloves-first");
    let last = us.steps.len() - 1;
    let (drill, score) = scored("respiratory-room/early-rub-only", 1);
    let order = align(&drill, us)[last].order;
    assert_eq!(
        order,
        Order::Missed,
        "hands that took off gown, goggles and respirator since the rub still have to be cleaned"
    );
    assert_eq!(score.moments, (1, 0));
    let lost: Vec<&str> = score.deductions.iter().map(|d| d.kind).collect();
    assert_eq!(lost, ["missed"], "{:#?}", reasons(&score));
}

#[test]
fn dirty_kit_touched_after_the_last_cleaning_asks_for_it_again() {
    let uk = sequence("uk-agp");
    let last = uk.steps.len() - 1;
    let mut actions = by_the_book();
    // The respirator is dropped instead of binned, and picked up by its front once hands were washed.
    let wash = actions.pop().unwrap_or_else(|| panic!("there is a wash"));
    actions.pop();
    actions.push(Action::Do {
        technique: "drop-on-floor".to_owned(),
        item: None,
        hand: Some(Hands::Both),
        pace: smirch::model::Pace::Steady,
    });
    actions.push(wash);
    let before = play("respiratory-room", &actions, 1);
    assert_eq!(align(&before, uk)[last].order, Order::InOrder);
    actions.push(Action::Touch {
        hand: Side::Right,
        with: Zone::Fingertips,
        site: "respirator-front".to_owned(),
        area: 4.0,
    });
    let after = play("respiratory-room", &actions, 1);
    assert_eq!(align(&after, uk)[last].order, Order::Missed);
}

#[test]
fn kit_on_the_floor_costs_marks_once() {
    let (_, score) = scored("respiratory-room/gown-on-floor", 1);
    let lost: Vec<&str> = score.deductions.iter().map(|d| d.kind).collect();
    assert_eq!(lost, ["not_binned"], "{:#?}", reasons(&score));
    assert_eq!(score.deductions[0].reason, "gown: left on the floor");
    assert_eq!(score.marks(), Some(92.0));
}

#[test]
fn whoever_tidies_up_what_they_dropped_loses_no_more_than_for_dropping_it() {
    let drop = |technique: &str, item: Option<&str>| Action::Do {
        technique: technique.to_owned(),
        item: item.map(str::to_owned),
        hand: Some(Hands::Both),
        pace: smirch::model::Pace::Steady,
    };
    let mut actions = by_the_book();
    let gown = actions
        .iter()
        .position(|a| matches!(a, Action::Do { technique, .. } if technique == "gown-peel-inside"))
        .expect("the gown comes off");
    let binned = actions[gown + 1].clone();
    actions[gown + 1] = drop("drop-on-floor", None);
    let mut pick_up = take("pick-up-from-floor", "gown");
    let mut bin = binned;
    for action in [&mut pick_up, &mut bin] {
        if let Action::Do { hand, .. } = action {
            *hand = Some(Hands::Right);
        }
    }
    // The hand that lifted it is cleaned like any that is dirty.
    actions.splice(gown + 2..gown + 2, [pick_up, bin, clean("alcohol-rub", 25.0)]);
    let score = Score::of(&play("respiratory-room", &actions, 1), sequence("uk-agp"));
    assert_eq!(
        reasons(&score),
        ["-8 gown: dropped on the floor on the way to the bin"],
        "{score:#?}"
    );
}

/// A rub counts for the step that asks for it first, though a later one asks for the same.
/// Whoever throws kit at the bin soils the floor before it; the habit costs once, and the way that needs no hand costs nothing.
#[test]
fn kit_that_is_thrown_at_the_bin_costs_marks_once() {
    let well = by_the_book();
    let thrown = |action: &Action| match action {
        Action::Do {
            technique,
            hand: Some(Hands::Both),
            item,
            pace,
        } if technique == "bin-by-pedal" => Action::Do {
            technique: "bin-throw".to_owned(),
            hand: Some(Hands::Both),
            item: item.clone(),
            pace: *pace,
        },
        other => other.clone(),
    };
    let thrown: Vec<Action> = well.iter().map(thrown).collect();
    for seed in SEEDS {
        let of = |actions: &[Action]| Score::of(&play("classic-tracer", actions, seed), sequence("uk-agp"));
        let (well, thrown) = (of(&well), of(&thrown));
        assert_eq!(reasons(&well), [""; 0], "seed {seed}");
        let [lost] = &thrown.deductions[..] else {
            panic!("seed {seed}: {:?}", reasons(&thrown));
        };
        let marks = content()
            .library
            .scenario("classic-tracer")
            .map(|s| s.marks.harmless_poor);
        assert_eq!((lost.kind, Some(lost.marks)), ("harmless_poor", marks));
        for item in ["gown", "goggles", "respirator", "throw it at the bin"] {
            assert!(lost.reason.contains(item), "{}", lost.reason);
        }
    }
}

#[test]
fn the_rub_that_was_asked_for_has_been_done() {
    let uk = sequence("uk-agp");
    let actions = [gloves_off(), vec![clean("alcohol-rub", 25.0)]].concat();
    let found = align(&play("respiratory-room", &actions, 1), uk);
    let orders: Vec<Order> = found.iter().map(|m| m.order).collect();
    assert_eq!(orders[..2], [Order::InOrder, Order::InOrder], "{orders:?}");
    assert!(
        orders[2..].iter().all(|order| *order == Order::Missed),
        "{orders:?}"
    );
    // If the gown comes first it is the second that is met, as more can be met in order so.
    let late = [
        gloves_off(),
        gown_off(),
        goggles_off(),
        vec![clean("alcohol-rub", 25.0)],
    ]
    .concat();
    let found = align(&play("respiratory-room", &late, 1), uk);
    let orders: Vec<Order> = found.iter().map(|m| m.order).collect();
    assert_eq!(
        (orders[1], orders[4]),
        (Order::Missed, Order::InOrder),
        "{orders:?}"
    );
}

/// Whoever is half way by the book has done the steps so far, and is asked for the next: at every cut of every good script.
#[test]
fn half_way_by_the_book_the_steps_so_far_have_been_done() {
    let mut cuts = 0;
    for (name, script) in content()
        .scripts
        .iter()
        .filter(|(name, _)| name.ends_with("-good"))
    {
        let by = script.sequence.as_deref().expect("scripts name their sequence");
        let whole = align(&play_script(name, 1), sequence(by));
        for cut in 0..script.actions.len() {
            let part = align(&play(&script.scenario, &script.actions[..cut], 1), sequence(by));
            for (step, (part, whole)) in part.iter().zip(&whole).enumerate() {
                let wanted = whole.action.filter(|action| *action < cut);
                assert_eq!(part.action, wanted, "{name}, after {cut} actions, step {step}");
            }
            cuts += 1;
        }
    }
    assert!(cuts > 100, "{cuts}");
}

#[test]
fn one_slip_is_deducted_once() {
    // Out of the sequence's place because it was too soon: one slip.
    let (_, score) = scored("respiratory-room/respirator-in-doorway", 1);
    let lost: Vec<&str> = score.deductions.iter().map(|d| d.kind).collect();
    assert_eq!(lost, ["wrong_place"], "{:#?}", reasons(&score));

    // One pull takes gown and gloves along: one way that this sequence does not ask for.
    let actions = [
        vec![
            take("gown-with-gloves", "gown"),
            bin(Hands::Both),
            clean("alcohol-rub", 25.0),
        ],
        goggles_off(),
        vec![clean("alcohol-rub", 25.0), Action::Walk(Whereabouts::Outside)],
        respirator_off(),
        vec![clean("soap-and-water", 40.0)],
    ]
    .concat();
    let score = Score::of(&play("respiratory-room", &actions, 1), sequence("uk-agp"));
    let ways = score
        .deductions
        .iter()
        .filter(|d| d.kind.ends_with("poor"))
        .count();
    assert_eq!(ways, 1, "{:#?}", reasons(&score));
}

#[test]
fn one_slip_is_one_critical_error() {
    // A rub that was cut short is missing from every strap and tie until the next: one slip. The last is another.
    let (_, score) = scored("respiratory-room/hurried", 1);
    assert_eq!(
        kinds(&score),
        ["rub-skipped", "left-uncleaned"],
        "{:#?}",
        reasons(&score)
    );
    // A bare dirty hand on a dirty front near the face: one slip.
    let (_, score) = scored("respiratory-room/slip-after-slip", 1);
    let at_goggles = score.critical.iter().filter(|c| c.reason.contains("goggles"));
    assert_eq!(at_goggles.count(), 1, "{:#?}", reasons(&score));
}

#[test]
fn lines_of_marks_name_the_item_so_that_no_two_are_alike() {
    for name in content().scripts.keys() {
        let (_, score) = scored(name, 7);
        for (n, one) in score.deductions.iter().enumerate() {
            let twice = score.deductions[..n].iter().find(|d| d.reason == one.reason);
            assert!(twice.is_none(), "{name}: said twice: {}", one.reason);
        }
    }
    for sequence in &content().library.sequences {
        for (n, step) in sequence.steps.iter().enumerate() {
            let twice = sequence.steps[..n].iter().any(|other| other.ask == step.ask);
            assert!(!twice, "{}: two steps ask `{}`", sequence.id, step.ask);
        }
    }
    let (_, score) = scored("double-gloves/fronts", 1);
    let lines = reasons(&score).join("\n");
    for item in ["apron: a way", "gown: a way", "visor: a way"] {
        assert!(lines.contains(item), "`{item}` is not in\n{lines}");
    }
}

#[test]
fn reasons_name_the_hand_that_did_it_and_what_it_met() {
    let reason = |name: &str| {
        let (_, score) = scored(name, 1);
        score.critical[0].reason.clone()
    };
    assert_eq!(
        reason("respiratory-room/gown-by-front-then-rub"),
        "you put both bare hands on the chest of the gown"
    );
    assert_eq!(
        reason("respiratory-room/itch-in-gloves"),
        "you touched your right cheek with your right glove, which was not clean"
    );
    assert_eq!(
        reason("respiratory-room/slipping-respirator"),
        "you handled the front of the respirator with your right glove, which was not clean"
    );
    assert_eq!(
        reason("respiratory-room/gloves-worn-out"),
        "you left the room in both gloves and the gown, which were not clean"
    );
    let with_left = [
        gloves_off(),
        vec![Action::Touch {
            hand: Side::Left,
            with: Zone::Fingertips,
            site: "left-cheek".to_owned(),
            area: 2.0,
        }],
    ]
    .concat();
    let score = Score::of(&play("respiratory-room", &with_left, 1), sequence("uk-agp"));
    assert_eq!(
        score.critical[0].reason,
        "you touched your left cheek with your bare left hand, which had not been cleaned in full since its glove came off"
    );
}

#[test]
fn a_dirty_finger_that_goes_under_a_cuff_is_not_called_the_other_bare_hand() {
    let hooked = [take("glove-hook-cuff", "left-glove")];
    let score = Score::of(&play("respiratory-room", &hooked, 1), sequence("uk-agp"));
    assert_eq!(
        kinds(&score),
        Vec::<&str>::new(),
        "the left hand was touched; it was put on nothing: {:#?}",
        reasons(&score)
    );
}

#[test]
fn soap_is_asked_of_those_who_met_what_stands_up_to_alcohol() {
    // The same ending by a sequence that leaves the product open, for an organism that alcohol kills.
    let actions = [
        gloves_off(),
        goggles_off(),
        gown_off(),
        vec![Action::Walk(Whereabouts::Outside)],
        respirator_off(),
        vec![clean("alcohol-rub", 25.0)],
    ]
    .concat();
    let score = Score::of(
        &play("respiratory-room", &actions, 1),
        sequence("us-gloves-first"),
    );
    assert!(score.is_full(), "{:#?}", reasons(&score));
    for id in ["enteric-virus", "spore-former"] {
        let organism = content().library.organism(id);
        assert!(
            organism.is_some_and(|o| o.needs_soap),
            "`{id}` stands up to alcohol"
        );
    }
}

/// What a plan is called before anybody does it is what the attempt is called.
#[test]
fn a_plan_is_watched_as_an_attempt_is_judged() {
    let mut seen = Vec::new();
    for (name, script) in &content().scripts {
        let setup = setup(&script.scenario);
        let Some(sequence) = script
            .sequence
            .as_deref()
            .and_then(|id| setup.library.sequence(id))
        else {
            continue;
        };
        // Plans are watched while orders are searched for, which begin with kit that is on.
        if setup.lies_ready() {
            continue;
        }
        let drill = play_script(name, 3);
        // A search plans no bare touches, so what of the past only these depend on is not kept for it.
        let is_touch = |action: &Action| matches!(action, Action::Touch { .. });
        let mut judged: Vec<&str> = Score::of(&drill, sequence)
            .critical
            .iter()
            .filter(|c| !is_touch(&script.actions[c.action]))
            .map(|c| c.kind.word())
            .collect();
        let (mut state, mut watch) = (State::dressed(&setup), Watch::at_start());
        let mut watched: Vec<&str> = Vec::new();
        for action in &script.actions {
            let before = state.clone();
            let planned = enact(&setup, &mut state, action).expect("built-in scripts can be done");
            let kinds = watch.sees(&setup, sequence, &before, action, &planned);
            watched.extend(
                kinds
                    .into_iter()
                    .filter(|_| !is_touch(action))
                    .map(|kind| kind.word()),
            );
        }
        watched.extend(watch.at_end(&setup, sequence, &state).map(|kind| kind.word()));
        for list in [&mut judged, &mut watched] {
            list.sort_unstable();
            list.dedup();
        }
        assert_eq!(watched, judged, "{name}");
        seen.extend(judged);
    }
    seen.sort_unstable();
    seen.dedup();
    assert!(
        seen.len() >= 5,
        "scripts hold only these critical errors: {seen:?}"
    );
}

/// A last cleaning is for bare hands after everything; while kit is on it is none, and leaving kit on costs once.
#[test]
fn hands_cleaned_with_kit_still_on_are_not_cleaned_last() {
    let sequence = sequence("us-gloves-first");
    let last = sequence.steps.len() - 1;
    let ask = &sequence.steps[last].ask;
    let cleaned = [gloves_off(), vec![clean("alcohol-rub", 25.0)]].concat();
    let score = Score::of(&play("respiratory-room", &cleaned, 1), sequence);
    assert_eq!(score.steps[last].order, Order::Missed, "{:#?}", score.steps[last]);
    let told = reasons(&score).join("; ");
    assert!(!told.contains(&**ask), "left on and told twice: {told}");
    let score = Score::of(&play("respiratory-room", &gloves_off(), 1), sequence);
    let told = reasons(&score).join("; ");
    assert!(told.contains(&**ask), "hands were never cleaned: {told}");
}

#[test]
fn of_a_pair_that_half_came_off_it_is_said_what_is_still_on() {
    let one = [take("glove-pinch-peel", "left-glove"), bin(Hands::Right)];
    let score = Score::of(&play("respiratory-room", &one, 1), sequence("uk-agp"));
    let told = reasons(&score).join("; ");
    assert!(told.contains("not done in full, right glove still on"), "{told}");
}

/// Clean of the kit's dirt is not fit for the eyes: whoever takes kit off keeps hands off the face until they are clean again,
/// though only ties and straps have been handled since.
#[test]
fn hands_that_handled_kit_are_unfit_for_the_face_until_they_are_cleaned() {
    let mut actions = by_the_book();
    let last = actions.len() - 1;
    let touch = Action::Touch {
        hand: Side::Right,
        with: Zone::Fingertips,
        site: "right-eye".to_owned(),
        area: 2.0,
    };
    actions.insert(last, touch.clone());
    let of = |actions: &[Action]| {
        let drill = play("respiratory-room", actions, 1);
        Score::of(&drill, sequence("uk-agp"))
    };
    let score = of(&actions);
    assert_eq!(
        kinds(&score),
        [CriticalKind::FaceTouchedUnclean.word()],
        "{score:?}"
    );
    assert!(score.face_touches[0].unclean);
    assert_eq!(
        score.critical[0].reason,
        "you touched your right eye with your bare right hand, which had not been cleaned in full since it handled the respirator"
    );
    // After the wash the same touch is no error.
    actions.swap(last, last + 1);
    assert_eq!(actions[last + 1], touch);
    let score = of(&actions);
    assert_eq!(kinds(&score), Vec::<&str>::new());
    assert!(!score.face_touches[0].unclean);
}

/// Whoever leaves before gown and goggles are off has left too soon once.
#[test]
fn leaving_too_soon_costs_once_whatever_is_still_on() {
    let mut actions = by_the_book();
    let walk = actions
        .iter()
        .position(|a| matches!(a, Action::Walk(_)))
        .expect("it leaves");
    let leaves = actions.remove(walk);
    actions.insert(4, leaves);
    let drill = play("respiratory-room", &actions, 1);
    let score = Score::of(&drill, sequence("uk-agp"));
    let lost: Vec<&str> = score.deductions.iter().map(|d| d.kind).collect();
    assert_eq!(lost, ["wrong_place"], "{:?}", reasons(&score));
    let reason = &score.deductions[0].reason;
    assert!(
        reason.contains("gown") && reason.contains("eye protection"),
        "{reason}"
    );
    assert_eq!(score.deductions[0].marks, 4.0);
    assert_eq!(kinds(&score), ["left-in-used-kit"], "{:?}", reasons(&score));
}

/// A rub that is broken off early loses marks; only one that is hardly begun leaves hands as they were.
#[test]
fn a_rub_a_little_too_short_is_no_rub_skipped() {
    let rubbed_for = |seconds: f64, skip: Vec<Zone>| {
        let mut actions = by_the_book();
        let rub = actions
            .iter_mut()
            .find(|a| matches!(a, Action::Clean { .. }))
            .expect("hands are rubbed");
        *rub = Action::Clean {
            product: "alcohol-rub".to_owned(),
            doses: 2,
            seconds,
            skip,
            forearms: false,
        };
        Score::of(&play("respiratory-room", &actions, 1), sequence("uk-agp"))
    };
    let full = rubbed_for(25.0, Vec::new());
    assert!(full.is_full(), "{:?}", reasons(&full));
    let asked = full.cleanings[0].asked;
    // Nine tenths of it, and as little less than three quarters as a clock shows.
    let short = rubbed_for(asked * 0.9, Vec::new());
    assert_eq!(kinds(&short), Vec::<&str>::new(), "{:?}", reasons(&short));
    assert!(
        short.deductions.iter().any(|d| d.kind == "short_clean"),
        "{:?}",
        reasons(&short)
    );
    assert_eq!(
        kinds(&rubbed_for(asked * 0.75 - 1.0, Vec::new())),
        ["rub-skipped"]
    );
    // So with parts that were left out, however long the rest took: one costs marks, two are too much.
    let thumb = rubbed_for(asked, vec![Zone::Thumb]);
    assert_eq!(kinds(&thumb), Vec::<&str>::new());
    assert!(!thumb.is_full());
    let both = vec![Zone::Thumb, Zone::Fingertips];
    assert_eq!(kinds(&rubbed_for(asked, both)), ["rub-skipped"]);
}

/// Nothing done is nothing earned, however few steps there are to lose marks by.
#[test]
fn whoever_does_nothing_has_no_marks() {
    let drill = play("respiratory-room", &[], 1);
    let score = Score::of(&drill, sequence("uk-agp"));
    assert_eq!(score.marks(), Some(0.0));
    assert_eq!(
        marks_lines(&score),
        ["marks 0 of 100: no step that is asked was done"]
    );
}

/// Marks are of what a sequence speaks of, and what it does not speak of is named.
#[test]
fn a_sequence_for_other_kit_is_refused_and_one_for_part_of_it_says_so() {
    let drill = play_script("respiratory-room/uk-agp-good", 1);
    let score = Score::of(&drill, sequence("study-gloves"));
    let lines = marks_lines(&score);
    assert_eq!(lines[0], "marks 100 of 100");
    assert!(
        lines[1].starts_with("nothing is marked for what this sequence does not speak of: ")
            && ["gown", "goggles", "respirator"]
                .iter()
                .all(|item| lines[1].contains(item)),
        "{lines:?}"
    );
    assert!(scored("respiratory-room/uk-agp-good", 1).1.unasked.is_empty());
    for command in ["drill", "odds", "orders", "compare"] {
        let mut line = vec![command, "enteric-bay"];
        match command {
            "drill" => line.extend(["--script", "uk-droplet-good", "--sequence", "study-gown"]),
            "compare" => line.extend(["study-gown", "uk-droplet"]),
            _ => line.extend(["--sequence", "study-gown"]),
        }
        crate::cli::run(&line).ends(2).complains(&[
            "`study-gown` asks for nothing that is worn in `enteric-bay`",
            "is made for uk-droplet",
        ]);
    }
}

/// The fingertips of a soiled glove that go under the other cuff meet the palm beneath: no harmless way of taking a glove off.
#[test]
fn an_unclean_glove_on_bare_skin_is_not_harmless() {
    for name in [
        "respiratory-room/finger-under-cuff",
        "classic-tracer/snatched-gloves-rub",
    ] {
        let (_, score) = scored(name, 1);
        let all = reasons(&score);
        assert!(
            all.iter()
                .all(|reason| !reason.contains("nothing unclean can have met you")),
            "{name}: {all:?}"
        );
    }
}

/// By the book with another last cleaning.
fn ended_by(last: Action) -> Score {
    let mut actions = by_the_book();
    *actions.last_mut().expect("it has actions") = last;
    Score::of(&play("respiratory-room", &actions, 1), sequence("uk-agp"))
}

/// Whoever holds their hands under the tap for a second has not cleaned them.
#[test]
fn a_cleaning_that_reaches_no_zone_is_none() {
    for product in ["soap-and-water", "alcohol-rub"] {
        let dabbed = ended_by(clean(product, 1.0));
        assert_eq!(kinds(&dabbed), ["left-uncleaned"], "{product}");
        assert_eq!(
            kinds(&ended_by(clean(product, 40.0))),
            Vec::<&str>::new(),
            "{product}"
        );
    }
}

/// Each step asks for its own seconds, also where another asks the same product for less.
#[test]
fn a_step_asks_for_its_own_seconds() {
    let drill = play_script("respiratory-room/uk-agp-good", 1);
    let mut longer = sequence("uk-agp").clone();
    let step = longer.steps.iter_mut().find(|step| step.id == "rub-before-face");
    match &mut step.expect("it has that step").asked {
        Asked::Clean { seconds, .. } => *seconds = 60.0,
        other => panic!("{other:?} cleans nothing"),
    }
    let score = Score::of(&drill, &longer);
    assert_eq!(score.deductions.len(), 1, "{:?}", score.deductions);
    let reason = &score.deductions[0].reason;
    assert!(
        reason.contains("25 s of 60") && reason.contains("rub your hands again"),
        "{reason}"
    );
}

/// Of two things of which one was left on the floor, only that is said to be there.
#[test]
fn each_thing_is_told_where_it_is() {
    let by = |technique: &str, item: Option<&str>, hand: Option<Hands>| Action::Do {
        technique: technique.into(),
        item: item.map(str::to_owned),
        hand,
        pace: Pace::Steady,
    };
    let mut actions = by_the_book();
    actions.splice(
        2..3,
        [
            by("drop-on-floor", None, Some(Hands::Left)),
            by("pick-up-from-floor", Some("left-glove"), None),
            by("bin-by-pedal", None, None),
        ],
    );
    let drill = play("respiratory-room", &actions, 1);
    let all = reasons(&Score::of(&drill, sequence("uk-agp")));
    let told: Vec<&String> = all.iter().filter(|reason| reason.contains("floor")).collect();
    assert_eq!(told.len(), 1, "{all:?}");
    assert!(
        told[0].contains("right glove: left on the floor") && !told[0].contains("both gloves: left"),
        "{told:?}"
    );
}
