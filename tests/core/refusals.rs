//! What physics refuses, and with which words: only what no hand could do, never what a hand should not do.

use smirch::drill::{Action, Drill, First};
use smirch::model::{Hands, Pace, Side, Whereabouts, Zone};

use smirch::view::options;

use crate::fixture::{Dice, bin, clean, play, setup, take};

pub const ROOM: &str = "respiratory-room";
pub const DOUBLE: &str = "double-gloves";

/// The fingertips of a hand touch a site.
pub fn touch(hand: Side, site: &str) -> Action {
    Action::Touch {
        hand,
        with: Zone::Fingertips,
        site: site.to_owned(),
        area: 2.0,
    }
}

/// Plays what comes first, then expects the last action to be refused for a reason with all these words.
fn refused(scenario: &str, first: &[Action], action: Action, words: &[&str]) {
    let mut drill = play(scenario, first, 1);
    match drill.act(action.clone()) {
        Ok(_) => panic!("{action:?} after {first:?} was done; it is physically impossible ({words:?})"),
        Err(refusal) => {
            let said = refusal.to_string();
            for word in words {
                assert!(
                    said.contains(word),
                    "{action:?} is refused with \"{said}\", which does not say `{word}`"
                );
            }
        }
    }
}

/// Both gloves off well, into the bin.
pub fn both_gloves() -> Vec<Action> {
    vec![
        take("glove-pinch-peel", "left-glove"),
        take("glove-slide-under", "right-glove"),
        bin(Hands::Left),
    ]
}

#[test]
fn a_refusal_names_what_has_to_be_dealt_with_first() {
    let mut drill = play(ROOM, &both_gloves(), 1);
    let site = drill.setup().site("gown-neck-tie").expect("the gown has ties");
    let refusal = drill
        .act(take("gown-peel-inside", "gown"))
        .expect_err("it is tied");
    assert_eq!(refusal.first, Some(First::Site(site)), "{refusal}");

    let mut full = play(ROOM, &[take("glove-pinch-peel", "left-glove")], 1);
    let held = full.setup().item("left-glove").expect("the kit has gloves");
    let refusal = full
        .act(clean("alcohol-rub", 20.0))
        .expect_err("the hand is full");
    assert_eq!(refusal.first, Some(First::Item(held)), "{refusal}");
}

#[test]
fn a_gown_that_is_still_tied_does_not_come_off_by_the_inside() {
    refused(
        ROOM,
        &both_gloves(),
        take("gown-peel-inside", "gown"),
        &["gown is still held by its", "undo the"],
    );
    let mut one_tie = both_gloves();
    one_tie.push(take("gown-undo-neck-tie", "gown"));
    refused(
        ROOM,
        &one_tie,
        take("gown-peel-inside", "gown"),
        &["still held by its waist tie"],
    );
    refused(
        ROOM,
        &one_tie,
        take("gown-undo-neck-tie", "gown"),
        &["neck tie", "undone already"],
    );
}

#[test]
fn what_lies_under_another_item_stays_until_that_is_off() {
    let ties = [
        take("gown-undo-neck-tie", "gown"),
        take("gown-undo-waist-tie", "gown"),
    ];
    refused(
        ROOM,
        &ties,
        take("gown-peel-inside", "gown"),
        &["glove lies over", "cuff of the gown", "first"],
    );
    refused(
        DOUBLE,
        &[],
        take("glove-pinch-peel", "left-inner-glove"),
        &["left glove lies over"],
    );
    refused(
        DOUBLE,
        &[],
        touch(Side::Left, "gown-chest"),
        &["gown, chest, outside cannot be reached through the apron"],
    );
}

#[test]
fn a_full_hand_does_nothing_else_until_it_is_empty() {
    let one = [take("glove-pinch-peel", "left-glove")];
    let undo = take("gown-undo-neck-tie", "gown");
    refused(
        ROOM,
        &one,
        undo,
        &["your right hand is full", "left glove", "bin first"],
    );
    refused(
        ROOM,
        &one,
        clean("alcohol-rub", 20.0),
        &["your right hand is full", "left glove"],
    );
    // The free hand goes on.
    play(
        ROOM,
        &[one[0].clone(), take("glove-slide-under", "right-glove")],
        1,
    );
}

#[test]
fn an_empty_hand_has_nothing_to_throw_away() {
    refused(ROOM, &[], bin(Hands::Both), &["there is nothing in both hands"]);
    let one = [take("glove-pinch-peel", "left-glove")];
    refused(
        ROOM,
        &one,
        bin(Hands::Left),
        &["there is nothing in your left hand"],
    );
}

#[test]
fn covered_skin_cannot_be_touched() {
    refused(
        ROOM,
        &[],
        touch(Side::Right, "left-palm"),
        &["left palm cannot be reached through the left glove"],
    );
    refused(
        ROOM,
        &[],
        touch(Side::Right, "chest"),
        &["reached through the gown"],
    );
    refused(
        ROOM,
        &[],
        touch(Side::Right, "lips"),
        &["lips cannot be reached through the respirator"],
    );
    refused(
        ROOM,
        &[],
        touch(Side::Right, "left-eye"),
        &["left eye cannot be reached through the goggles"],
    );
}

#[test]
fn the_inside_of_what_is_worn_cannot_be_touched() {
    refused(
        ROOM,
        &[],
        touch(Side::Right, "gown-chest-inside"),
        &["inside of the gown lies against you"],
    );
}

#[test]
fn a_hand_cannot_touch_itself_or_its_own_arm() {
    for site in [
        "right-glove-palm",
        "gown-right-lower-sleeve",
        "gown-right-upper-sleeve",
    ] {
        refused(
            ROOM,
            &[],
            touch(Side::Right, site),
            &["your right hand cannot touch itself or its own arm"],
        );
    }
    play(
        ROOM,
        &[
            touch(Side::Right, "left-glove-palm"),
            touch(Side::Right, "gown-left-lower-sleeve"),
        ],
        1,
    );
}

#[test]
fn what_is_elsewhere_is_out_of_reach() {
    let outside = [Action::Walk(Whereabouts::Outside)];
    refused(
        ROOM,
        &outside,
        touch(Side::Right, "bed-rail"),
        &["bed rail is out of reach from here", "inside"],
    );
    refused(
        ROOM,
        &outside,
        Action::Walk(Whereabouts::Outside),
        &["already outside"],
    );
    let binned = [take("glove-pinch-peel", "left-glove"), bin(Hands::Right)];
    refused(
        ROOM,
        &binned,
        touch(Side::Right, "left-glove-palm"),
        &["left glove is in the bin"],
    );
    refused(
        ROOM,
        &binned,
        take("glove-pinch-peel", "left-glove"),
        &["left glove is in the bin"],
    );
}

#[test]
fn soap_and_water_is_where_the_tap_is() {
    refused(
        ROOM,
        &[Action::Walk(Whereabouts::Doorway)],
        clean("soap-and-water", 40.0),
        &["no soap and water here", "inside or outside"],
    );
    play(ROOM, &[clean("soap-and-water", 40.0)], 1);
    play(
        ROOM,
        &[Action::Walk(Whereabouts::Outside), clean("soap-and-water", 40.0)],
        1,
    );
}

#[test]
fn what_does_not_exist_is_refused_by_name() {
    refused(
        ROOM,
        &[],
        take("glove-bite-off", "left-glove"),
        &["no technique `glove-bite-off`"],
    );
    refused(
        ROOM,
        &[],
        take("glove-pinch-peel", "third-glove"),
        &["no item `third-glove`"],
    );
    refused(
        ROOM,
        &[],
        take("glove-pinch-peel", "gown"),
        &["`glove-pinch-peel` is not something one does with"],
    );
    refused(
        ROOM,
        &[],
        touch(Side::Left, "third-eye"),
        &["no site `third-eye`"],
    );
    refused(
        ROOM,
        &[],
        clean("holy-water", 20.0),
        &["no hand hygiene product `holy-water`"],
    );
    let nothing_named = Action::Do {
        technique: "glove-pinch-peel".to_owned(),
        item: None,
        hand: None,
        pace: Pace::Steady,
    };
    refused(ROOM, &[], nothing_named, &["say which item"]);
}

#[test]
fn the_hand_that_wears_a_glove_cannot_take_it_off() {
    let own = Action::Do {
        technique: "glove-pinch-peel".to_owned(),
        item: Some("left-glove".to_owned()),
        hand: Some(Hands::Left),
        pace: Pace::Steady,
    };
    refused(ROOM, &[], own, &["cannot be done with your left hand"]);
}

#[test]
fn times_areas_and_doses_beyond_what_a_person_can_do_are_refused() {
    for seconds in [0.0, -1.0, f64::NAN, f64::INFINITY, 3601.0] {
        refused(ROOM, &[], Action::Wait(seconds), &["a wait lasts between"]);
    }
    for seconds in [0.0, -1.0, f64::NAN, f64::INFINITY, 601.0] {
        refused(
            ROOM,
            &[],
            clean("alcohol-rub", seconds),
            &["cleaning hands lasts between"],
        );
    }
    for area in [0.0, -1.0, f64::NAN, f64::INFINITY, 501.0] {
        let action = Action::Touch {
            hand: Side::Left,
            with: Zone::Palm,
            site: "gown-chest".to_owned(),
            area,
        };
        refused(ROOM, &[], action, &["a touch has an area between"]);
    }
    for doses in [0, 11, u32::MAX] {
        let action = Action::Clean {
            product: "alcohol-rub".to_owned(),
            doses,
            seconds: 20.0,
            skip: Vec::new(),
            forearms: false,
        };
        refused(ROOM, &[], action, &["between 1 and 10 doses"]);
    }
}

/// What can be done is the same whatever faults a kit has: everything that is worked out for many people rests on it.
#[test]
fn faults_hinder_nothing_and_free_nothing() {
    for scenario in ["classic-tracer", ROOM] {
        let setup = setup(scenario);
        let faults = |seed: u64| Drill::begin(setup.clone(), seed).beginning().state.faults.len();
        let whole = (0..).find(|&seed| faults(seed) == 0).expect("some kit is whole");
        // Gaps at both cuffs: seldom, but there.
        let holed = (0..100_000)
            .find(|&seed| {
                let drill = Drill::begin(setup.clone(), seed);
                let gaps = drill.beginning().state.faults.iter().filter(|f| f.is_gap());
                gaps.count() == 2
            })
            .expect("gaps are drawn at either cuff");
        let mut dice = Dice(3);
        let mut refused = 0;
        for _ in 0..60 {
            let mut two = [whole, holed].map(|seed| Drill::begin(setup.clone(), seed));
            for _ in 0..14 {
                let sites = setup.sites.len();
                let actions = options(&two[0], dice.below(sites), Side::Right);
                let Some(action) = actions.get(dice.below(actions.len().max(1))) else {
                    continue;
                };
                let done = two
                    .each_mut()
                    .map(|drill| drill.act(action.action.clone()).map(|_| ()));
                refused += u32::from(done[0].is_err());
                assert_eq!(
                    done[0].as_ref().err().map(ToString::to_string),
                    done[1].as_ref().err().map(ToString::to_string),
                    "{scenario}: {:?}",
                    action.action
                );
                let offered = two.each_ref().map(|drill| {
                    let all = (0..sites).flat_map(|site| options(drill, site, Side::Right));
                    all.map(|choice| choice.action).collect::<Vec<_>>()
                });
                assert_eq!(offered[0], offered[1], "{scenario}: what is offered");
            }
        }
        assert!(
            refused > 20,
            "only {refused} things were refused: this shows little"
        );
    }
}
