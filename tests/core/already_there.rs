//! What sat on things of the room before an attempt is not what the attempt brought there.

use std::sync::Arc;

use smirch::analysis::{Aim, Coefficients, Counter, ExactLaw, Plan, Target, expected};
use smirch::chance::Luck;
use smirch::drill::{Beginning, Drill};
use smirch::guidance::{Group, Score};
use smirch::model::{Load, Setup, Start};

use crate::fixture::{content, script, setup};

const OF_ROOM: [Target; 3] = [Target::Room, Target::Floor, Target::Others];

/// The emergency call without care, with so much on some sites.
fn with(loads: &[(&str, u64)]) -> Arc<Setup> {
    let mut scenario = setup("emergency-call").scenario.clone();
    scenario.care.clear();
    scenario.start = loads
        .iter()
        .map(|&(site, amount)| Start {
            site: site.to_owned(),
            load: Load::Fixed(amount),
            wet: 0.0,
        })
        .collect();
    Arc::new(Setup::new(content().library.clone(), &scenario).expect("it differs in its loads alone"))
}

/// What the good script comes to on average, by law and as counted, at all targets.
fn comes_to(loads: &[(&str, u64)], targets: &[Target]) -> Vec<(Option<f64>, f64, u64)> {
    let setup = with(loads);
    let beginning = Beginning::draw(&setup, Luck::new(3));
    let actions = &script("emergency-call/uk-agp-good").actions;
    let plan = Plan::new(&setup, &[], actions).expect("a script of this scenario");
    let aims = Aim::all(&setup, &plan, targets);
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    let wet = &beginning.state.wet_until;
    let means = expected(&plan, wet, &start, &aims, Coefficients::Mean);
    let laws = ExactLaw::new(&plan, &beginning, &aims).reached(Luck::new(3));
    let found = Counter::new(&plan, &beginning, &aims, 1).count(Luck::new(3));
    let all = means.into_iter().zip(laws).zip(found);
    all.map(|((mean, law), found)| (mean, law, found.count)).collect()
}

/// What each of these targets may have of its own.
fn own(target: Target) -> &'static [(&'static str, u64)] {
    match target {
        Target::Floor => &[("floor", 9000)],
        Target::Others => &[("door-handle-inside", 5000), ("phone", 300)],
        _ => &[
            ("door-handle-inside", 5000),
            ("phone", 300),
            ("floor", 9000),
            ("bed-rail", 400),
        ],
    }
}

#[test]
fn what_a_room_has_already_is_brought_by_nobody() {
    for target in OF_ROOM {
        let came = comes_to(own(target), &[target]);
        assert_eq!(came, [(Some(0.0), 0.0, 0)], "{}", target.word());
    }
    let [(hands, ..)] = comes_to(own(Target::Others), &[Target::HandsBeforeCleaning])[..] else {
        unreachable!("one target");
    };
    assert!(
        hands > Some(1.0),
        "whoever opens the door has some of it on their hand: {hands:?}"
    );
}

#[test]
fn what_is_brought_is_the_same_whatever_was_there() {
    let kit = [
        ("right-glove-palm", 40_000),
        ("left-glove-finger-pads", 9000),
        ("gown-abdomen", 70_000),
    ];
    for target in OF_ROOM {
        let both: Vec<_> = kit.into_iter().chain(own(target).iter().copied()).collect();
        let (alone, beside) = (comes_to(&kit, &[target])[0], comes_to(&both, &[target])[0]);
        let (one, other) = (alone.0.expect("a sum"), beside.0.expect("a sum"));
        assert!(one > 0.0, "{}: nothing is brought", target.word());
        assert!(
            (one - other).abs() < 1e-9 * one,
            "{}: {one} and {other}",
            target.word()
        );
        assert!(
            (alone.1 - beside.1).abs() < 1e-9,
            "{}: {} and {}",
            target.word(),
            alone.1,
            beside.1
        );
    }
}

/// What is still on a patient is none of the room, in a drill as in odds.
#[test]
fn what_is_on_a_patient_is_no_part_of_the_room() {
    let setup = with(&[("patient-airway", 70_000), ("gown-abdomen", 1000)]);
    let mut drill = Drill::begin(setup.clone(), 1);
    for action in &script("emergency-call/uk-agp-good").actions {
        drill.act(action.clone()).expect("a script of this scenario");
    }
    let sequence = setup.library.sequence("uk-agp").expect("a built-in sequence");
    let score = Score::of(&drill, sequence);
    let count = |group: Group| {
        score
            .reached
            .iter()
            .find(|r| r.group == group)
            .map_or(0, |r| r.count)
    };
    assert_eq!(count(Group::Patient), 70_000);
    assert!(count(Group::Room) < 1000, "{}", count(Group::Room));
    let text = smirch::report::score_text(&drill, sequence, &score);
    assert!(!text.contains("70000"), "{text}");
}
