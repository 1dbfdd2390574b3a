//! Wet and dry: two efficiencies, and time that turns the one into the other.

use smirch::drill::{Action, Drill};
use smirch::model::{Setup, Side, Zone};
use smirch::transfer::{Cause, Flow};

use crate::fixture::{clean, content, play, setup};

fn touch(hand: Side, with: Zone, site: &str) -> Action {
    Action::Touch {
        hand,
        with,
        site: site.to_owned(),
        area: 2.0,
    }
}

/// The deliberate touch of the last action: whether it was wet, and the mean efficiency from its first site.
fn last_touch(drill: &Drill) -> (bool, f64) {
    let done = drill.done().last().unwrap_or_else(|| panic!("nothing was done"));
    done.flows()
        .find_map(|(event, _)| match event.flow {
            Flow::Contact { wet, ab, .. } if event.cause == Cause::Touch => Some((wet, ab.mean)),
            _ => None,
        })
        .unwrap_or_else(|| panic!("{:?} touched nothing", done.action))
}

fn wet_until(drill: &Drill, site: &str) -> f64 {
    let index = drill
        .setup()
        .site(site)
        .unwrap_or_else(|| panic!("no site `{site}`"));
    drill.state().wet_until[index]
}

#[test]
fn wet_moves_more_than_dry_between_every_pair_of_materials() {
    let library = &content().library;
    for row in &library.transfers {
        assert!(
            row.wet.mean > row.dry.mean,
            "transfer from {:?} to {:?}: wet {} must be more than dry {}",
            row.from,
            row.to,
            row.wet.mean,
            row.dry.mean
        );
    }
}

/// Within single studies drying lowers transfer 2 to 4 times on hard surfaces (Behzadinasab 2021) and 200 times on
/// fabric (Marples and Towers 1979). Wide bounds: a row stands for several materials and more than one study.
#[test]
fn drying_matters_a_little_on_hard_surfaces_and_a_lot_on_fabric() {
    let setup = setup("respiratory-room");
    let ratio = |from: &str, to: &str| {
        let material = |id: &str| {
            setup
                .library
                .materials
                .iter()
                .position(|m| m.id == id)
                .unwrap_or(usize::MAX)
        };
        let (from, to) = (material(from), material(to));
        setup.efficiencies.get(from, to, true, false).mean
            / setup.efficiencies.get(from, to, false, false).mean
    };
    let hard = ratio("hard-plastic", "skin");
    assert!(
        (1.5..8.0).contains(&hard),
        "hard plastic to skin: wet over dry is {hard}"
    );
    let fabric = ratio("cotton", "skin");
    assert!(
        (50.0..1000.0).contains(&fabric),
        "cotton to skin: wet over dry is {fabric}"
    );
}

/// Seconds after which the site of a start load is dry, from the scenario.
fn start_wet(setup: &Setup, site: &str) -> f64 {
    let start = setup.scenario.start.iter().find(|s| s.site == site);
    start.unwrap_or_else(|| panic!("nothing starts on `{site}`")).wet
}

#[test]
fn a_site_that_is_wet_at_the_start_is_dry_later_and_then_gives_less() {
    let scenario = "classic-tracer";
    let site = "gown-chest";
    let wet = start_wet(&setup(scenario), site);
    // The inner side of the arm is dry from the start; the glove's back is wet as long as the gown.
    let actions = [touch(Side::Left, Zone::Wrist, site)];
    let early = play(scenario, &actions, 1);
    let mut waiting = vec![Action::Wait(wet + 60.0)];
    waiting.extend(actions);
    let late = play(scenario, &waiting, 1);
    let ((early_wet, early_mean), (late_wet, late_mean)) = (last_touch(&early), last_touch(&late));
    assert!(early_wet, "`{site}` is wet for {wet} s and was touched at once");
    assert!(
        !late_wet,
        "`{site}` is wet for {wet} s and was touched a minute later than that"
    );
    assert!(
        late_mean < early_mean,
        "the dry touch has mean efficiency {late_mean}, the wet one {early_mean}"
    );
}

#[test]
fn rubbed_hands_are_wet_and_then_dry_as_the_amount_says() {
    let site = "pen";
    let at_once = play(
        "respiratory-room",
        &[
            clean("alcohol-rub", 25.0),
            touch(Side::Right, Zone::Fingertips, "rub-dispenser-inside"),
        ],
        1,
    );
    assert!(
        last_touch(&at_once).0,
        "hands touched `rub-dispenser` right after a rub and must be wet"
    );
    let dries = wet_until(&at_once, "right-glove-fingertips");
    let later = play(
        "respiratory-room",
        &[
            clean("alcohol-rub", 25.0),
            Action::Wait(dries),
            touch(Side::Right, Zone::Fingertips, "rub-dispenser-inside"),
        ],
        1,
    );
    let (wet, mean) = last_touch(&later);
    assert!(
        !wet,
        "hands are dry {dries} s after the rub began; touching `{site}` after that is a dry touch"
    );
    assert!(
        mean < last_touch(&at_once).1,
        "dry hands must give less than wet ones"
    );
}

#[test]
fn more_rub_stays_wet_for_longer() {
    let dries = |doses| {
        let rub = Action::Clean {
            product: "alcohol-rub".to_owned(),
            doses,
            seconds: 25.0,
            skip: Vec::new(),
            forearms: false,
        };
        wet_until(&play("respiratory-room", &[rub], 1), "left-glove-palm")
    };
    assert!(
        dries(1) < dries(2),
        "one dose dries at {} s, two at {} s",
        dries(1),
        dries(2)
    );
}

#[test]
fn zones_left_out_of_a_rub_stay_dry() {
    // Nothing is wet on these gloves: the double-glove kit's cuffs get tracer, its thumbs do not.
    let rub = Action::Clean {
        product: "alcohol-rub".to_owned(),
        doses: 2,
        seconds: 25.0,
        skip: vec![Zone::Thumb],
        forearms: false,
    };
    let drill = play("double-gloves", &[rub], 1);
    assert_eq!(
        wet_until(&drill, "left-glove-thumb"),
        0.0,
        "the thumb was left out"
    );
    assert!(wet_until(&drill, "left-glove-palm") > 0.0, "the palm was not");
}

#[test]
fn what_splashed_during_care_is_still_wet_when_the_drill_begins() {
    let wet_after_care = (1..=20)
        .map(|seed| Drill::begin(setup("enteric-bay"), seed))
        .filter(|drill| {
            let apron = ["apron-waist", "apron-lap", "apron-bib"];
            apron.iter().any(|site| wet_until(drill, site) > 0.0)
        })
        .count();
    assert!(
        wet_after_care > 0,
        "vomit splashes on the apron for 900 to 1200 s in care; it was dry in 20 of 20 drills"
    );
}
