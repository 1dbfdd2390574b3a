//! Slips around the edges of a sequence: each costs what it should by the one rule that it falls under, whichever way it is made.

use smirch::drill::Action;
use smirch::guidance::{Order, Score};
use smirch::model::{Hands, Pace, Side, Whereabouts, Zone};

use crate::fixture::{bin, clean, content, play, script, take};

/// Actions of the script by the book in the respiratory room, 16 of them: 0 to 2 gloves, 3 rub, 4 to 7 gown, 8 and 9 goggles, 10 rub,
/// 11 out, 12 to 14 respirator, 15 wash.
fn book() -> Vec<Action> {
    let actions = script("respiratory-room/uk-agp-good").actions.clone();
    assert_eq!(actions.len(), 16);
    assert_eq!(actions[11], Action::Walk(Whereabouts::Outside));
    actions
}

/// With actions before the one at a place.
fn with(place: usize, more: Vec<Action>) -> Vec<Action> {
    let mut actions = book();
    actions.splice(place..place, more);
    actions
}

/// With other actions in place of some.
fn instead(places: std::ops::Range<usize>, others: Vec<Action>) -> Vec<Action> {
    let mut actions = book();
    actions.splice(places, others);
    actions
}

fn score(actions: &[Action]) -> Score {
    let sequence = content().library.sequence("uk-agp").expect("a sequence");
    Score::of(&play("respiratory-room", actions, 1), sequence)
}

fn kinds(score: &Score) -> Vec<&'static str> {
    score.critical.iter().map(|c| c.kind.word()).collect()
}

/// Kinds of critical errors, and marks lost.
fn judged(actions: &[Action]) -> (Vec<&'static str>, f64) {
    let score = score(actions);
    (kinds(&score), score.deductions.iter().map(|d| d.marks).sum())
}

fn touch(hand: Side, site: &str) -> Action {
    Action::Touch {
        hand,
        with: Zone::Palm,
        site: site.to_owned(),
        area: 10.0,
    }
}

fn rub(doses: u32, seconds: f64, skip: &[Zone]) -> Action {
    Action::Clean {
        product: "alcohol-rub".to_owned(),
        doses,
        seconds,
        skip: skip.to_vec(),
        forearms: false,
    }
}

fn by(technique: &str, item: Option<&str>) -> Action {
    Action::Do {
        technique: technique.to_owned(),
        item: item.map(str::to_owned),
        hand: Some(Hands::Both),
        pace: Pace::Steady,
    }
}

const FINE: (Vec<&str>, f64) = (Vec::new(), 0.0);

#[test]
fn by_the_book_nothing_is_lost() {
    assert_eq!(judged(&book()), FINE);
}

/// Walking through it takes hold of the handle, which is what others touch next.
#[test]
fn a_door_worked_with_hands_that_are_not_clean_is_critical_however_often_it_is_worked() {
    let there = |times: usize| {
        let once = || [Whereabouts::Doorway, Whereabouts::Inside].map(Action::Walk);
        (0..times).flat_map(|_| once()).collect::<Vec<Action>>()
    };
    for times in [1, 3] {
        let score = score(&with(0, there(times)));
        assert_eq!(kinds(&score), ["left-in-soiled-gloves"], "{times} times");
        assert_eq!(
            score.critical[0].reason,
            "you worked the door in both gloves, which were not clean"
        );
    }
    // Bare hands after the gloves, before the rub.
    assert_eq!(kinds(&score(&with(3, there(1)))), ["rub-skipped"]);
    // Clean hands may.
    assert_eq!(judged(&with(4, there(1))).0, Vec::<&str>::new());
    // A handle taken hold of on the way out is the door worked, and not kit touched.
    assert_eq!(
        judged(&with(11, vec![touch(Side::Right, "door-handle-inside")])),
        FINE
    );
}

/// What lay on the floor is dirty, whatever of it the hand takes hold of.
#[test]
fn a_hand_that_lifts_used_kit_from_the_floor_is_not_clean() {
    let mut actions = book();
    actions[7] = by("drop-on-floor", None);
    actions.splice(11..11, [by("pick-up-from-floor", Some("gown")), bin(Hands::Both)]);
    let score = score(&actions);
    assert_eq!(kinds(&score), ["rub-skipped"], "{:?}", score.critical);
    assert!(
        score.critical[0]
            .reason
            .contains("since they lifted the gown from the floor"),
        "{}",
        score.critical[0].reason
    );
}

/// It has to be taken hold of somewhere, also where that is its front: the hands are cleaned before they go on, and no more is asked.
#[test]
fn whoever_lifts_a_dirty_front_from_the_floor_and_cleans_their_hands_loses_no_more_than_for_dropping_it() {
    let mut actions = book();
    actions[9] = by("drop-on-floor", None);
    let left = judged(&actions);
    actions.splice(
        10..10,
        [by("pick-up-from-floor", Some("goggles")), bin(Hands::Both)],
    );
    assert_eq!(judged(&actions), left);
    assert_eq!(left.0, Vec::<&str>::new());
}

/// The door is worked as others will work it, also by whoever comes back to it from without.
#[test]
fn the_door_is_no_place_for_hands_that_handled_the_respirator() {
    let back = || {
        [Whereabouts::Doorway, Whereabouts::Outside]
            .map(Action::Walk)
            .to_vec()
    };
    let score = score(&with(15, back()));
    assert_eq!(kinds(&score), ["others-touched-unclean"]);
    assert!(
        score.critical[0]
            .reason
            .starts_with("you worked the door with both bare hands"),
        "{}",
        score.critical[0].reason
    );
    assert_eq!(judged(&with(16, back())), FINE, "clean hands may");
}

/// One measure, whether it was time that was short or zones that were left out: three quarters of both hands.
#[test]
fn a_cleaning_counts_by_how_much_of_the_hands_it_reached() {
    let last = |action: Action| {
        let mut actions = book();
        actions[15] = action;
        judged(&actions).0
    };
    let dip = |seconds| clean("soap-and-water", seconds);
    assert_eq!(last(dip(40.0)), Vec::<&str>::new());
    for seconds in [0.1, 5.0, 14.4] {
        assert_eq!(last(dip(seconds)), ["left-uncleaned"], "{seconds} s");
    }
    assert_eq!(last(dip(15.0)), Vec::<&str>::new(), "short of marks, and done");
    let first = |action: Action| judged(&instead(3..4, vec![action])).0;
    assert_eq!(first(rub(2, 15.0, &[])), Vec::<&str>::new());
    assert_eq!(
        first(rub(2, 25.0, &[Zone::Thumb])),
        Vec::<&str>::new(),
        "a thumb costs marks"
    );
    for short in [rub(2, 14.4, &[]), rub(2, 25.0, &[Zone::Fingertips, Zone::Wrist])] {
        assert_eq!(first(short.clone()), ["rub-skipped"], "{short:?}");
    }
}

/// What stands up to alcohol has to be washed off: four seconds under the tap do not.
#[test]
fn a_dip_under_the_tap_is_no_wash() {
    let sequence = content().library.sequence("uk-droplet").expect("a sequence");
    let good = script("enteric-bay/uk-droplet-good").actions.clone();
    let (last, before) = good.split_last().expect("actions");
    assert!(
        matches!(last, Action::Clean { product, .. } if product == "soap-and-water"),
        "{last:?}"
    );
    let ends = |last: &[Action]| {
        let actions = [before, last].concat();
        kinds(&Score::of(&play("enteric-bay", &actions, 1), sequence))
    };
    assert_eq!(ends(std::slice::from_ref(last)), Vec::<&str>::new());
    assert_eq!(ends(&[clean("soap-and-water", 5.0)]), ["left-uncleaned"]);
    assert_eq!(
        ends(&[rub(2, 25.0, &[]), clean("soap-and-water", 4.0)]),
        ["not-washed"]
    );
}

/// Of several cleanings for one step it is the best that counts, a dab is none, and soap and water do what a rub is for.
#[test]
fn a_step_is_met_by_the_best_cleaning_before_the_next() {
    assert_eq!(
        judged(&with(3, vec![rub(1, 2.0, &[])])),
        FINE,
        "a dab, then in full"
    );
    assert_eq!(
        judged(&with(3, vec![rub(2, 10.0, &[])])),
        FINE,
        "half, then in full"
    );
    let washed = instead(3..4, vec![clean("soap-and-water", 40.0)]);
    assert_eq!(judged(&washed), FINE);
    let dabbed = score(&instead(10..11, vec![rub(1, 0.1, &[])]));
    let left_out = score(&instead(10..11, vec![]));
    let orders = |score: &Score| score.steps.iter().map(|s| s.order).collect::<Vec<_>>();
    assert!(orders(&left_out).contains(&Order::Missed));
    assert_eq!(
        orders(&dabbed),
        orders(&left_out),
        "a tenth of a second is nothing"
    );
    assert_eq!(dabbed.marks(), left_out.marks());
}

/// A glove from its box has met nothing, and leaves a clean hand as it was.
#[test]
fn fresh_gloves_on_clean_hands_are_clean() {
    let on = || {
        ["spare-left-glove", "spare-right-glove"]
            .map(|glove| take("glove-don", glove))
            .to_vec()
    };
    let off = || {
        vec![
            take("glove-pinch-peel", "spare-left-glove"),
            take("glove-slide-under", "spare-right-glove"),
            bin(Hands::Left),
        ]
    };
    let rubbed = || vec![rub(2, 25.0, &[])];
    // Over clean hands, for the goggles; and then the phone.
    let goggles = with(8, [rubbed(), on()].concat());
    let mut actions = goggles;
    // After the goggles and their bin.
    actions.splice(13..13, off());
    assert_eq!(kinds(&score(&actions)), Vec::<&str>::new());
    let phone = with(
        8,
        [rubbed(), on(), vec![touch(Side::Right, "phone")], off(), rubbed()].concat(),
    );
    assert_eq!(kinds(&score(&phone)), Vec::<&str>::new());
    // After all is over one is tried on.
    let tried = [
        book(),
        on()[..1].to_vec(),
        off()[..1].to_vec(),
        vec![bin(Hands::Right)],
    ]
    .concat();
    assert_eq!(judged(&tried), FINE);
    // On hands that are not clean they are not.
    let soiled = with(3, [on(), vec![touch(Side::Right, "phone")], off()].concat());
    assert_eq!(kinds(&score(&soiled))[0], "others-touched-unclean");
}

/// Kit that comes off in the room stays in there, and nobody goes back to the patient without it.
#[test]
fn used_kit_stays_in_the_room_and_nobody_goes_back_without_it() {
    let out_and_in = || {
        [Whereabouts::Outside, Whereabouts::Inside]
            .map(Action::Walk)
            .to_vec()
    };
    let mut carried = book();
    carried.splice(
        7..8,
        [
            vec![Action::Walk(Whereabouts::Outside), bin(Hands::Both)],
            vec![Action::Walk(Whereabouts::Inside)],
        ]
        .concat(),
    );
    let found = score(&carried);
    assert!(
        found.critical.iter().any(|c| c.kind.word() == "left-in-used-kit"
            && c.reason == "you carried the gown out of the room in your hands"),
        "{:?}",
        found.critical
    );
    let back = with(11, out_and_in());
    let found = score(&back);
    assert_eq!(kinds(&found), ["went-in-without"], "{:?}", found.critical);
    assert!(
        found.critical[0].reason.contains("gown"),
        "{}",
        found.critical[0].reason
    );
}

/// What others touch next is held to what the face is: kit that was handled counts, also where guidance calls it clean. A slip is
/// one, however often it is repeated before hands are cleaned.
#[test]
fn hands_that_handled_kit_take_hold_of_nothing_that_others_touch() {
    let phone = || touch(Side::Right, "phone");
    assert_eq!(judged(&with(15, vec![phone()])).0, ["others-touched-unclean"]);
    assert_eq!(
        judged(&with(15, vec![phone(), phone()])).0,
        ["others-touched-unclean"]
    );
    assert_eq!(judged(&with(16, vec![phone()])), FINE, "clean hands may");
}
