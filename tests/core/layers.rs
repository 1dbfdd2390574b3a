//! Layers and hands: what physics refuses, with its reason, and what it allows however unwise it is.

use smirch::drill::{Action, Drill};
use smirch::model::{Hands, Holding, Pace, Side, Whereabouts, Zone};

use crate::fixture::{bin, clean, play, take};

const ROOM: &str = "respiratory-room";
const DOUBLE: &str = "double-gloves";

fn touch(hand: Side, site: &str) -> Action {
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

/// Plays everything; unwise or not, none of it is impossible.
fn allowed(scenario: &str, actions: &[Action]) -> Drill {
    play(scenario, actions, 1)
}

fn holding(drill: &Drill, item: &str) -> Holding {
    let index = drill
        .setup()
        .item(item)
        .unwrap_or_else(|| panic!("no item `{item}`"));
    drill.state().items[index].holding
}

/// Id of the outermost surface at a place of the body.
fn surface(drill: &Drill, place: &str) -> String {
    let setup = drill.setup();
    let place = setup.place(place).unwrap_or_else(|| panic!("no place `{place}`"));
    setup.sites[drill.state().outermost(setup, place, None)]
        .id
        .clone()
}

fn both_gloves() -> Vec<Action> {
    vec![
        take("glove-pinch-peel", "left-glove"),
        take("glove-slide-under", "right-glove"),
        bin(Hands::Left),
    ]
}

fn gown_off() -> Vec<Action> {
    let mut actions = both_gloves();
    actions.extend([
        take("gown-undo-neck-tie", "gown"),
        take("gown-undo-waist-tie", "gown"),
        take("gown-peel-inside", "gown"),
        bin(Hands::Both),
    ]);
    actions
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
        &["the apron covers the gown, chest"],
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
    allowed(ROOM, &[one[0].clone(), take("glove-slide-under", "right-glove")]);
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
        &["left glove covers the left palm"],
    );
    refused(ROOM, &[], touch(Side::Right, "chest"), &["gown covers the chest"]);
    refused(
        ROOM,
        &[],
        touch(Side::Right, "lips"),
        &["respirator covers the lips"],
    );
    refused(
        ROOM,
        &[],
        touch(Side::Right, "left-eye"),
        &["goggles covers the left eye"],
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
    allowed(
        ROOM,
        &[
            touch(Side::Right, "left-glove-palm"),
            touch(Side::Right, "gown-left-lower-sleeve"),
        ],
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
        &[],
        clean("soap-and-water", 40.0),
        &["no soap and water here", "outside"],
    );
    allowed(
        ROOM,
        &[Action::Walk(Whereabouts::Outside), clean("soap-and-water", 40.0)],
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
        refused(ROOM, &[], Action::Wait(seconds), &["a wait lasts more than 0"]);
    }
    for seconds in [0.0, -1.0, f64::NAN, f64::INFINITY, 601.0] {
        refused(
            ROOM,
            &[],
            clean("alcohol-rub", seconds),
            &["cleaning hands lasts more than 0"],
        );
    }
    for area in [0.0, -1.0, f64::NAN, f64::INFINITY, 501.0] {
        let action = Action::Touch {
            hand: Side::Left,
            with: Zone::Palm,
            site: "gown-chest".to_owned(),
            area,
        };
        refused(ROOM, &[], action, &["a touch has an area of more than 0"]);
    }
    for doses in [0, 11, u32::MAX] {
        let action = Action::Clean {
            product: "alcohol-rub".to_owned(),
            doses,
            seconds: 20.0,
            skip: Vec::new(),
        };
        refused(ROOM, &[], action, &["between 1 and 10 doses"]);
    }
}

#[test]
fn what_is_unwise_is_allowed() {
    allowed(
        ROOM,
        &[take("respirator-by-front", "respirator"), bin(Hands::Right)],
    );
    allowed(
        ROOM,
        &[
            take("eyewear-by-front", "goggles"),
            bin(Hands::Right),
            touch(Side::Right, "right-eye"),
        ],
    );
    let mut bare = both_gloves();
    bare.push(take("gown-pull-front", "gown"));
    allowed(ROOM, &bare);
    allowed(
        ROOM,
        &[
            take("glove-snatch", "left-glove"),
            touch(Side::Left, "right-cheek"),
        ],
    );
    // A bare finger under the other cuff, a hand in the dirty front, the bin lid by hand.
    allowed(
        ROOM,
        &[
            take("glove-pinch-peel", "left-glove"),
            touch(Side::Left, "gown-chest"),
            touch(Side::Left, "bin-lid"),
            take("glove-hook-cuff", "right-glove"),
        ],
    );
}

#[test]
fn taking_an_item_off_exposes_the_next_layer() {
    let at_first = allowed(DOUBLE, &[]);
    assert_eq!(surface(&at_first, "left-palm"), "left-glove-palm");
    assert_eq!(surface(&at_first, "chest"), "apron-bib");
    assert_eq!(
        surface(&at_first, "left-wrist"),
        "left-glove-cuff",
        "the outer cuff lies over the sleeve"
    );

    let outer = [
        take("glove-pinch-peel", "left-glove"),
        take("glove-slide-under", "right-glove"),
        bin(Hands::Left),
    ];
    let inner = allowed(DOUBLE, &outer);
    assert_eq!(surface(&inner, "left-palm"), "left-inner-glove-palm");
    assert_eq!(
        surface(&inner, "left-wrist"),
        "gown-left-cuff",
        "the gown's cuff lies over the inner glove"
    );

    let mut apron = outer.to_vec();
    apron.extend([
        take("apron-break-loop", "apron"),
        take("apron-break-ties", "apron"),
        take("apron-fold-down", "apron"),
        bin(Hands::Both),
    ]);
    assert_eq!(surface(&allowed(DOUBLE, &apron), "chest"), "gown-chest");

    let bare = allowed(ROOM, &gown_off());
    assert_eq!(surface(&bare, "chest"), "chest");
    assert_eq!(surface(&bare, "left-palm"), "left-palm");
    assert_eq!(surface(&bare, "left-wrist"), "left-wrist");
    assert_eq!(
        surface(&bare, "lips"),
        "respirator-front",
        "the respirator is still on"
    );
}

#[test]
fn the_second_glove_swallows_the_first() {
    let drill = allowed(
        ROOM,
        &[
            take("glove-pinch-peel", "left-glove"),
            take("glove-slide-under", "right-glove"),
        ],
    );
    // The right hand held the left glove; peeled off it, the right glove takes it along into the left hand.
    let left_hand = Holding::Held {
        left: true,
        right: false,
    };
    assert_eq!(
        holding(&drill, "left-glove"),
        left_hand,
        "the first glove is inside the second"
    );
    assert_eq!(holding(&drill, "right-glove"), left_hand);
    let binned = allowed(ROOM, &both_gloves());
    assert_eq!(
        holding(&binned, "left-glove"),
        Holding::Binned,
        "one throw bins both"
    );
    assert_eq!(holding(&binned, "right-glove"), Holding::Binned);
}

#[test]
fn gloves_that_come_off_with_the_gown_go_where_the_bundle_goes() {
    let drill = allowed(ROOM, &[take("gown-with-gloves", "gown"), bin(Hands::Both)]);
    for item in ["gown", "left-glove", "right-glove"] {
        assert_eq!(holding(&drill, item), Holding::Binned, "`{item}`");
    }
    assert_eq!(surface(&drill, "left-palm"), "left-palm");
}

#[test]
fn cleaning_gloved_hands_cleans_the_gloves_and_not_the_skin_beneath() {
    use smirch::transfer::{Cause, Flow};
    let drill = allowed(DOUBLE, &[clean("alcohol-rub", 25.0)]);
    for (event, _) in drill.done()[0].flows().filter(|(e, _)| e.cause == Cause::Hygiene) {
        let Flow::Removal { site, .. } = event.flow else {
            panic!("hygiene that removes nothing: {event:?}")
        };
        let id = &drill.setup().sites[site].id;
        let outer = id.starts_with("left-glove-") || id.starts_with("right-glove-");
        assert!(
            outer,
            "a rub with two pairs of gloves on cleans the outer pair, not `{id}`"
        );
    }
}
