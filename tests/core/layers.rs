//! Layers: what is unwise is allowed, and what comes off exposes what lies beneath and takes along what it holds.

use smirch::drill::{Action, Drill};
use smirch::model::{Hands, Holding, Side};

use crate::fixture::{bin, clean, play, take};
use crate::refusals::{DOUBLE, ROOM, both_gloves, touch};

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
