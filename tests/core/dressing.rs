//! Kit that lies ready, putting it on rightly and wrongly, and what comes of it when it is taken off.

use std::sync::Arc;

use smirch::analysis::{
    Coefficients, Edit, Plan, Progress, Target, Way, alternatives, by_the_book, expectation, odds, what_if,
};
use smirch::chance::Luck;
use smirch::drill::{Action, Beginning, Drill, Planned, State, enact};
use smirch::guidance::{CriticalKind, Order, Score};
use smirch::model::{Hands, Holding, Pace, PutOn, Setup, Side, SiteIndex, Tied, Whereabouts};
use smirch::record::{LogWriter, replay};
use smirch::transfer::Cause;
use smirch::view::options;

use crate::cli::run;
use crate::fixture::{Scratch, bin, content, faults_of, play, play_script, script, setup, take};
use crate::logs::terms;

const DOOR: &str = "from-the-door";

/// The worked examples of putting on: number, what it is, where it was published, and whether and how it applies here.
const EXAMPLES: [(&str, &str, &str, &str); 11] = [
    (
        "D1",
        "what a passed seal check says of a leak",
        "Lam et al. 2016, doi 10.1016/j.ajic.2015.12.013",
        "see `seal::d1_what_a_passed_check_says_of_a_leak`",
    ),
    (
        "D2",
        "leaks among 100 who pass",
        "rounded from D1",
        "see `seal::d2_leaks_are_felt_as_often_as_was_counted`",
    ),
    (
        "D3",
        "wearers who felt sealed and were not",
        "Danyluk et al. 2011, doi 10.1080/15459624.2011.566016",
        "not applicable: how well a respirator fits whom is not simulated",
    ),
    (
        "D4",
        "two checks in a row",
        "rounded from D1",
        "an upper bound; see `seal::d4_a_check_more_finds_nothing_more`",
    ),
    (
        "D5",
        "errors of the public",
        "Cummings et al. 2007, doi 10.3201/eid1305.061490",
        "its counts stand in the basis of ways of putting a respirator on: see `the_counts_of_d5`",
    ),
    (
        "D6",
        "goggles over a respirator that leaked",
        "Kamal et al. 2023, doi 10.5005/jp-journals-10071-24473",
        "not applicable: no item changes the seal of another",
    ),
    (
        "D7",
        "a training video",
        "doi 10.12982/bscm.2025.32",
        "not applicable: fit is not simulated",
    ),
    (
        "D8",
        "beards",
        "Sandaradura et al. 2020, doi 10.1016/j.jhin.2020.01.006",
        "not applicable: fit is not simulated",
    ),
    (
        "D9",
        "layers at the wrist",
        "order of US CDC 2014/15 and UK guidance",
        "see `d9_layers_at_the_wrist`",
    ),
    (
        "D10",
        "what a leak, a check and a gap move",
        "properties, no source",
        "a to d: see `d10_...`; e, a ring, is not simulated",
    ),
    (
        "D11",
        "rings",
        "Trick et al. 2003, doi 10.1086/374852",
        "not applicable: rings are not simulated",
    ),
];

#[test]
fn every_worked_example_has_a_test_or_a_reason() {
    for (number, what, source, how) in EXAMPLES {
        assert!(!what.is_empty() && !source.is_empty(), "{number}");
        assert!(
            how.contains("not applicable") || how.contains("see `"),
            "{number}: {how}"
        );
    }
}

/// D5, Cummings et al. 2007, table 3: as printed, in whole people.
#[test]
fn the_counts_of_d5() {
    for (people, percent) in [(303.0, 71.0), (221.0, 52.0), (91.0, 21.0)] {
        let found: f64 = 100.0 * people / 427.0;
        assert!(
            (found - percent).abs() < 0.5,
            "{people} of 427 is {found}, printed {percent}"
        );
    }
    let basis = content()
        .library
        .basis("technique-respirator-on-other")
        .expect("built in");
    for number in ["427", "303", "221", "91"] {
        assert!(basis.note.contains(number), "{}", basis.note);
    }
}

/// A scenario made from the one at the door.
fn door(change: impl FnOnce(&mut smirch::model::Scenario)) -> Arc<Setup> {
    let mut scenario = setup(DOOR).scenario.clone();
    change(&mut scenario);
    Arc::new(Setup::new(content().library.clone(), &scenario).unwrap_or_else(|e| panic!("{e}")))
}

fn after(setup: &Setup, actions: &[Action]) -> State {
    let mut state = State::dressed(setup);
    for action in actions {
        enact(setup, &mut state, action).unwrap_or_else(|e| panic!("{action:?}: {e}"));
    }
    state
}

/// The actions of a script before somebody goes in.
fn dressing(name: &str) -> Vec<Action> {
    let all = script(&format!("{DOOR}/{name}")).actions.iter();
    all.take_while(|action| !matches!(action, Action::Walk(_)))
        .cloned()
        .collect()
}

/// The actions of a script once the care is done.
fn undressing(name: &str) -> Vec<Action> {
    let all = &script(&format!("{DOOR}/{name}")).actions;
    let care = |action: &Action| {
        matches!(action, Action::Do { technique, .. }
            if content().library.technique(technique).is_some_and(|t| t.does == smirch::model::Does::Cares))
    };
    let last = all.iter().rposition(care).expect("care is given");
    all[last + 1..].to_vec()
}

/// Means at the end of a script, from one start.
fn means(actions: &[Action]) -> Vec<f64> {
    let setup = setup(DOOR);
    let beginning = Beginning::draw(&setup, Luck::new(9));
    let plan = Plan::new(&setup, &[], actions).unwrap_or_else(|e| panic!("{e}"));
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    expectation(&plan, &beginning.state.wet_until, &start, Coefficients::Mean)
}

fn mean_at(name: &str, places: &[&str]) -> f64 {
    let end = means(&script(&format!("{DOOR}/{name}")).actions);
    let site = |id: &&str| setup(DOOR).site(id).expect("a body has it");
    places.iter().map(|id| end[site(id)]).sum()
}

/// What lies over what at a place, outside in; the person's own last.
fn layers(setup: &Setup, state: &State, place: &str) -> Vec<String> {
    let place = setup.place(place).expect("a body has it");
    let mut sites: Vec<SiteIndex> = vec![state.outermost(setup, place, None)];
    while let Some(item) = State::item_of(setup, sites[sites.len() - 1]) {
        sites.push(state.beneath(setup, item, place));
    }
    sites.iter().map(|&site| setup.sites[site].id.clone()).collect()
}

/// D9: what was put on later lies over what was put on before it, and a glove that goes under the sleeve lies beneath it.
#[test]
fn d9_layers_at_the_wrist() {
    let single = setup(DOOR);
    let good = after(&single, &dressing("uk-agp-whole-good"));
    let over = ["left-glove-cuff", "gown-left-cuff", "left-wrist"];
    assert_eq!(layers(&single, &good, "left-wrist"), over);
    let under = ["gown-left-cuff", "left-glove-cuff", "left-wrist"];
    for name in ["gloves-before-gown", "gloves-under-cuffs"] {
        let state = after(&single, &dressing(name));
        assert_eq!(layers(&single, &state, "left-wrist"), under, "{name}");
        let glove = single.item("left-glove").expect("it is in the kit");
        assert!(
            state.over(&single, glove, 5).is_some(),
            "{name}: the cuff's end is beneath the sleeve"
        );
    }
    let short = after(&single, &dressing("glove-short-of-cuff"));
    assert_eq!(
        layers(&single, &short, "left-wrist"),
        ["gown-left-cuff", "left-wrist"]
    );

    let double = door(|scenario| {
        scenario.kit = ["inner-glove", "gown", "glove"].map(str::to_owned).to_vec();
        scenario.ready = scenario.kit.clone();
        scenario.faults.clear();
    });
    let on = [
        take("glove-don", "left-inner-glove"),
        take("gown-on", "gown"),
        take("glove-on-over-cuff", "left-glove"),
    ];
    let sandwich = [
        "left-glove-cuff",
        "gown-left-cuff",
        "left-inner-glove-cuff",
        "left-wrist",
    ];
    assert_eq!(layers(&double, &after(&double, &on), "left-wrist"), sandwich);
}

/// D10 a: a leak that was made while putting on changes nothing on hands by itself.
#[test]
fn d10_a_leak_alone_changes_no_count() {
    let kit = setup(DOOR);
    let whole = &script(&format!("{DOOR}/uk-agp-whole-good")).actions;
    let good = means(whole);
    for technique in ["respirator-on-crossed", "respirator-on-unmoulded"] {
        let mut leaking = whole.clone();
        let on = take("respirator-on", "respirator");
        let at = leaking
            .iter()
            .position(|action| *action == on)
            .expect("it is put on");
        leaking[at] = take(technique, "respirator");
        let state = after(&kit, &leaking[..=at]);
        assert!(state.made.iter().any(|f| f.fault == "poor-seal"), "{technique}");
        let end = means(&leaking);
        for (side, zone) in smirch::model::hand_places() {
            let site = kit.zone_place(side, zone);
            let id = &kit.sites[site].id;
            assert!((end[site] - good[site]).abs() < 1e-9, "{technique}: {id}");
        }
    }
}

/// D10 b and c: the check of the seal moves nothing off a clean front, and something onto the palms after the care.
#[test]
fn d10_b_and_c_the_check_moves_what_is_there() {
    let front = setup(DOOR).site("respirator-front").expect("it is in the kit");
    let mut moved = 0;
    for seed in 0..20 {
        let drill = play_script(&format!("{DOOR}/seal-checked-in-the-room"), seed);
        let checks: Vec<_> = drill
            .done()
            .iter()
            .filter(
                |d| matches!(&d.action, Action::Do { technique, .. } if technique == "respirator-seal-check"),
            )
            .collect();
        let [clean, dirty] = checks[..] else {
            panic!("it is checked {} times", checks.len())
        };
        assert!(
            clean
                .flows()
                .all(|(_, outcome)| outcome.moved_ab + outcome.moved_ba == 0)
        );
        let from_front = dirty.flows().filter(|(event, _)| event.cause == Cause::Touch);
        moved += from_front
            .filter(|(event, _)| event.sites().1 == Some(front))
            .map(|(_, outcome)| outcome.moved_ba)
            .sum::<u64>();
    }
    assert!(moved > 0, "nothing went from a splashed front to the palms");
}

/// D10 d: where the glove ends short, what the wrist meets in the care gets on the sleeve's end; where it does not, nothing does.
#[test]
fn d10_d_a_gap_lets_the_care_reach_the_sleeve_end() {
    let on_cuff = |name: &str| {
        let whole = &script(&format!("{DOOR}/{name}")).actions;
        let until = whole.len() - undressing(name).len();
        means(&whole[..until])[setup(DOOR).site("gown-left-cuff").expect("it is in the kit")]
    };
    assert_eq!(on_cuff("uk-agp-whole-good"), 0.0);
    assert!(on_cuff("glove-short-of-cuff") > 1.0);
}

/// What a scenario says of how kit was put on and what a trainee did at the door come to the same state, and the same follows
/// from it.
#[test]
fn faults_that_are_named_and_faults_that_are_made_are_the_same() {
    let put_on = |item: &str, fastening: &str, tied| PutOn {
        item: item.to_owned(),
        fastening: fastening.to_owned(),
        tied,
    };
    type Case<'a> = (&'a str, Vec<PutOn>, Option<(&'a str, &'a str)>);
    let cases: [Case<'_>; 5] = [
        ("uk-agp-whole-good", vec![], None),
        (
            "neck-in-a-knot",
            vec![put_on("gown", "neck-tie", Tied::Knot)],
            None,
        ),
        (
            "ties-left-open",
            vec![
                put_on("gown", "neck-tie", Tied::Open),
                put_on("gown", "waist-tie", Tied::Open),
            ],
            None,
        ),
        (
            "one-strap",
            vec![put_on("respirator", "bottom-strap", Tied::Open)],
            Some(("poor-seal", "respirator")),
        ),
        ("glove-short-of-cuff", vec![], Some(("cuff-gap", "left-glove"))),
    ];
    for (name, left, fault) in cases {
        let ready = setup(DOOR);
        let made = after(&ready, &dressing(name));
        let worn = door(|scenario| {
            scenario.ready.clear();
            scenario.put_on = left;
            scenario.faults.clear();
            scenario
                .faults
                .extend(fault.map(|(fault, item)| smirch::model::FaultUse {
                    fault: fault.to_owned(),
                    item: Some(item.to_owned()),
                    chance: 1.0,
                }));
        });
        let mut named = Beginning::draw(&worn, Luck::new(1)).state;
        assert_eq!(made.items, named.items, "{name}");
        assert_eq!(made.worn, named.worn, "{name}");
        let faults = |state: &State| state.every_fault().cloned().collect::<Vec<_>>();
        assert_eq!(faults(&made), faults(&named), "{name}");

        // From the same moment on the same happens.
        named.whereabouts = Whereabouts::Inside;
        let mut made = State {
            clock: 0.0,
            times: named.times.clone(),
            whereabouts: Whereabouts::Inside,
            wet_until: named.wet_until.clone(),
            ..made
        };
        for action in undressing(name) {
            let events = |setup: &Setup, state: &mut State| {
                let planned = enact(setup, state, &action).unwrap_or_else(|e| panic!("{name}: {e}"));
                let what = planned.into_iter().map(|planned| match planned {
                    Planned::Flow(event) => format!("{:?} {:?} {}", event.flow, event.cause, event.chance),
                    other => format!("{other:?}"),
                });
                what.collect::<Vec<_>>()
            };
            assert_eq!(
                events(&ready, &mut made),
                events(&worn, &mut named),
                "{name}: {action:?}"
            );
        }
    }
}

/// What goes wrong at the door is met on the way out: by means, from the same start.
#[test]
fn what_was_done_at_the_door_is_met_on_the_way_out() {
    let neck = ["neck-back"];
    let eyes = ["left-eye", "right-eye"];
    let good = mean_at("uk-agp-whole-good", &neck);
    assert!(mean_at("neck-in-a-knot", &neck) >= good);
    assert!(mean_at("knot-met-in-gloves", &neck) > 100.0 * good.max(1e-3));
    for name in ["gloves-under-cuffs", "gloves-before-gown"] {
        assert!(mean_at(name, &neck) > 100.0 * good.max(1e-3), "{name}");
    }
    assert!(mean_at("no-goggles", &eyes) > mean_at("uk-agp-whole-good", &eyes) + 10.0);
    // A knot costs time too.
    let length = |name: &str| play_script(&format!("{DOOR}/{name}"), 1).state().clock;
    assert!(length("neck-in-a-knot") > length("uk-agp-whole-good") + 5.0);
}

/// One sequence judges putting on, one both; each good script is full marks by its own, and slips are told once each.
#[test]
fn putting_on_is_scored_as_taking_off_is() {
    let library = &content().library;
    let [on, whole] = ["uk-agp-on", "uk-agp-whole"].map(|id| library.sequence(id).expect("built in"));
    assert_eq!(whole.follows, ["uk-agp-on", "uk-agp"]);
    let off = library.sequence("uk-agp").expect("built in");
    assert_eq!(whole.steps.len(), on.steps.len() + off.steps.len());
    assert_eq!(
        (on.before_work(), whole.before_work(), off.before_work()),
        (13, 13, 0)
    );
    let score = |name: &str, sequence| Score::of(&play_script(&format!("{DOOR}/{name}"), 1), sequence);
    assert!(score("uk-agp-whole-good", whole).is_full());
    assert!(
        score("uk-agp-whole-good", on).is_full(),
        "what comes after the door is not its concern"
    );
    assert!(score("uk-agp-on-good", on).is_full());

    let kinds = |name: &str| {
        let score = score(name, whole);
        let lost: Vec<(String, &str)> = score
            .deductions
            .iter()
            .map(|d| (whole.steps[d.step].id.clone(), d.kind))
            .collect();
        let critical: Vec<CriticalKind> = score.critical.iter().map(|c| c.kind).collect();
        (lost, critical)
    };
    let lost = |step: &str, kind| (step.to_owned(), kind);
    for (name, deductions, criticals) in [
        ("neck-in-a-knot", vec![lost("gown-on", "poor")], vec![]),
        ("ties-left-open", vec![lost("gown-on", "poor")], vec![]),
        ("one-strap", vec![lost("respirator-on", "poor")], vec![]),
        ("straps-crossed", vec![lost("respirator-on", "poor")], vec![]),
        ("glove-short-of-cuff", vec![lost("gloves-on", "poor")], vec![]),
        (
            "gloves-before-gown",
            vec![
                lost("gloves-on", "harmless_order"),
                lost("gloves-on", "poor"),
                lost("gown", "early"),
            ],
            vec![CriticalKind::DirtyGloveAtFace],
        ),
        (
            "hands-not-cleaned",
            vec![lost("hands-first", "missed")],
            vec![CriticalKind::RubSkipped],
        ),
        (
            "no-goggles",
            vec![lost("eyes-on", "missed")],
            vec![CriticalKind::WentInWithout],
        ),
        (
            "seal-checked-in-the-room",
            vec![],
            vec![CriticalKind::DirtyGloveAtFace],
        ),
    ] {
        assert_eq!(kinds(name), (deductions, criticals), "{name}");
    }
    let missing = score("no-goggles", whole);
    let eyes = whole
        .steps
        .iter()
        .position(|s| s.id == "eyes")
        .expect("it is asked for");
    assert_eq!(
        missing.steps[eyes].order,
        Order::NotApplicable,
        "what was never on need not come off"
    );
}

/// What is asked next is the tie that is still open, and once somebody has gone in, what comes after it.
#[test]
fn a_gown_that_is_not_tied_is_not_put_on_yet() {
    let whole = content().library.sequence("uk-agp-whole").expect("built in");
    let next = |actions: &[Action]| {
        let found = smirch::guidance::align(&play(DOOR, actions, 1), whole);
        let missed = found
            .iter()
            .find(|m| m.order == Order::Missed)
            .expect("there is more to do");
        whole.steps[missed.step].id.clone()
    };
    let good = dressing("uk-agp-whole-good");
    let asked: Vec<String> = (0..=good.len()).map(|n| next(&good[..n])).collect();
    assert_eq!(
        asked,
        [
            "refreshed",
            "hands-bare",
            "hair-and-face",
            "fit-tested",
            "kit-whole",
            "hands-first",
            "gown-on",
            "gown-on",
            "gown-on",
            "respirator-on",
            "seal-check",
            "eyes-on",
            "gloves-on",
            "gloves-on",
            "looked-over",
            "go-in"
        ]
    );
    let mut open = dressing("ties-left-open");
    assert_eq!(next(&open), "gown-on");
    open.push(Action::Walk(Whereabouts::Inside));
    assert_eq!(next(&open), "gloves");
}

/// A check that is left out and a glove that was forgotten are told as such.
#[test]
fn what_is_left_out_at_the_door_is_told() {
    let library = &content().library;
    let whole = library.sequence("uk-agp-whole").expect("built in");
    let mut actions = script(&format!("{DOOR}/uk-agp-whole-good")).actions.clone();
    actions.retain(|a| !matches!(a, Action::Do { technique, .. } if technique == "respirator-seal-check"));
    let score = Score::of(&play(DOOR, &actions, 1), whole);
    let told: Vec<(&str, &str)> = score
        .deductions
        .iter()
        .map(|d| (d.kind, d.reason.as_str()))
        .collect();
    assert_eq!(told, [("missed", "not done: check the seal with both palms")]);

    let glove = |a: &Action| matches!(a, Action::Do { item: Some(item), .. } if item == "right-glove");
    let upto = actions
        .iter()
        .position(|a| matches!(a, Action::Walk(_)))
        .expect("they go in");
    let mut one: Vec<Action> = actions[..=upto].to_vec();
    one.retain(|a| !glove(a));
    let score = Score::of(&play(DOOR, &one, 1), whole);
    assert!(
        score
            .deductions
            .iter()
            .any(|d| d.reason.starts_with("not done in full, right glove not put on")),
        "{:?}",
        score.deductions
    );
    assert_eq!(
        score.critical[0].reason,
        "you went to the patient without the right glove"
    );
}

fn refused(setup: &Arc<Setup>, first: &[Action], action: Action, words: &[&str]) {
    let mut drill = Drill::begin(setup.clone(), 1);
    for done in first {
        drill
            .act(done.clone())
            .unwrap_or_else(|e| panic!("{done:?}: {e}"));
    }
    let refusal = drill
        .act(action.clone())
        .expect_err("no hand could do it")
        .to_string();
    for word in words {
        assert!(
            refusal.contains(word),
            "{action:?} is refused with \"{refusal}\", without `{word}`"
        );
    }
}

/// Only physics refuses, here too: a gown over gloves is possible and has its price.
#[test]
fn what_is_impossible_at_the_door_is_refused_with_the_reason() {
    let door_setup = setup(DOOR);
    let care = Action::Do {
        technique: "turn-patient".to_owned(),
        item: None,
        hand: None,
        pace: Pace::Steady,
    };
    let on = |what: &[(&str, &str)]| -> Vec<Action> {
        what.iter()
            .map(|(technique, item)| take(technique, item))
            .collect()
    };
    let tie = take("gown-tie-neck", "gown");
    refused(
        &door_setup,
        &[],
        tie.clone(),
        &["gown is not on yet, and lies ready", "put the gown on first"],
    );
    refused(
        &door_setup,
        &on(&[("gown-on", "gown"), ("gown-tie-neck", "gown")]),
        tie,
        &["still held by its neck tie"],
    );
    refused(
        &door_setup,
        &on(&[("gown-on", "gown")]),
        take("gown-on", "gown"),
        &["the gown is on"],
    );
    refused(
        &door_setup,
        &[],
        take("gown-peel-inside", "gown"),
        &["gown is not on yet, and lies ready"],
    );
    refused(
        &door_setup,
        &[],
        take("glove-on-under-cuff", "left-glove"),
        &["nothing over your left forearm"],
    );
    refused(
        &door_setup,
        &[],
        care.clone(),
        &["the patient is in the room", "go in first"],
    );
    refused(
        &setup("respiratory-room"),
        &[],
        care,
        &["nobody here needs this done"],
    );
    refused(
        &door_setup,
        &on(&[("glove-don", "left-glove")]),
        take("glove-don", "spare-left-glove"),
        &["left glove is still on"],
    );
    // What covers the mouth is in the way of what goes there.
    let visor = door(|scenario| {
        scenario.kit = ["gown", "respirator", "visor", "glove"]
            .map(str::to_owned)
            .to_vec();
        scenario.ready = scenario.kit.clone();
    });
    refused(
        &visor,
        &on(&[("eyewear-on", "visor")]),
        take("respirator-on", "respirator"),
        &[
            "the visor lies over your lips, where the respirator goes",
            "has to come off first",
        ],
    );
    // A glove beneath the sleeve stays until the gown is off.
    let mut under = dressing("gloves-under-cuffs");
    under.push(Action::Walk(Whereabouts::Inside));
    for technique in ["glove-pinch-peel", "glove-slide-under", "glove-snatch"] {
        refused(
            &door_setup,
            &under,
            take(technique, "left-glove"),
            &["gown lies over the cuff of the left glove", "come off first"],
        );
    }
}

/// Where kit is on from the start nothing is there that was not there before: no care, no tying.
#[test]
fn scenarios_without_kit_that_lies_ready_offer_nothing_new() {
    for scenario in &content().library.scenarios {
        if !scenario.ready.is_empty() {
            continue;
        }
        let drill = Drill::begin(setup(&scenario.id), 1);
        let kit = drill.setup();
        assert!(!kit.lies_ready() && scenario.work.is_empty());
        for site in 0..kit.sites.len() {
            if State::item_of(kit, site).is_some_and(|item| kit.items[item].spare) {
                continue;
            }
            for choice in options(&drill, site, Side::Right) {
                if let Action::Do { technique, .. } = &choice.action {
                    let technique = kit.library.technique(technique).expect("it is offered");
                    let does = technique.does;
                    assert!(
                        does != smirch::model::Does::Cares && does != smirch::model::Does::PutsOn,
                        "{}: {}",
                        scenario.id,
                        choice.label
                    );
                }
            }
        }
    }
}

/// What lies ready is in the list with its ways, care is at the bed rail, and what lies beneath a sleeve is drawn there.
#[test]
fn the_window_lists_what_lies_ready_and_the_care() {
    let mut drill = Drill::begin(setup(DOOR), 1);
    let kit = drill.setup().clone();
    let groups = smirch::view::sites::reachable(&drill);
    for (title, way) in [
        ("Gown", "Take it by the inside"),
        ("Respirator", "Cup it under the chin"),
        ("Goggles", "Set it on the face"),
        ("Left glove", "Put on a fresh glove"),
    ] {
        let group = groups.iter().find(|g| g.title == title);
        let group = group.unwrap_or_else(|| panic!("{title} is not in the list"));
        let choices = options(&drill, group.sites[0].site, Side::Right);
        assert!(choices.len() <= 9);
        assert!(
            choices.iter().any(|c| c.label.starts_with(way)),
            "{title}: {choices:#?}"
        );
    }
    let stage = smirch::view::stage_of(&drill, false);
    assert!(
        stage
            .items
            .iter()
            .all(|i| i.state == smirch::view::stage::StageItemState::Boxed)
    );
    assert!(stage.over.is_empty());
    for action in dressing("gloves-before-gown") {
        drill.act(action).expect("the script plays");
    }
    let stage = smirch::view::stage_of(&drill, false);
    let last = stage.over.iter().map(|&i| stage.items[i].id.as_str());
    assert_eq!(
        last.collect::<Vec<_>>(),
        ["left-glove", "right-glove", "gown", "respirator", "goggles"]
    );
    drill
        .act(Action::Walk(Whereabouts::Inside))
        .expect("nothing keeps them");
    let rail = kit.site("bed-rail").expect("there is a bed");
    let choices = options(&drill, rail, Side::Right);
    let labels: Vec<&str> = choices.iter().map(|c| c.label.as_str()).collect();
    for care in ["Turn the patient", "Clear the airway", "Clean the mouth"] {
        assert!(labels.iter().any(|l| l.starts_with(care)), "{labels:?}");
    }
}

/// Logs of the whole way play again to the last organism.
#[test]
fn logs_of_the_whole_way_play_again() {
    let scratch = Scratch::new("door");
    for (name, script) in content().scripts.iter().filter(|(_, s)| s.scenario == DOOR) {
        let path = scratch.path(&format!("{}.log", name.replace('/', "-")));
        let mut drill = Drill::begin(setup(DOOR), 7);
        let mut log = LogWriter::create(&path, content(), &drill, &terms(&drill)).expect("it is new");
        for action in &script.actions {
            drill
                .act(action.clone())
                .unwrap_or_else(|e| panic!("{name}: {e}"));
            log.catch_up(&drill).expect("it is written");
        }
        log.end(&drill).expect("it is ended");
        let again = replay(&path, content()).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(again.drill.books().digest(), drill.books().digest(), "{name}");
        assert_eq!(again.drill.state(), drill.state(), "{name}");
        assert!(again.notes.is_empty(), "{name}: {:?}", again.notes);
    }
}

/// A plan comes to the very state and events of the drill, also where it gives faults and makes some.
#[test]
fn plans_know_what_was_made_at_the_door() {
    for (name, script) in content().scripts.iter().filter(|(_, s)| s.scenario == DOOR) {
        for seed in 0..40 {
            let mut drill = Drill::begin(setup(DOOR), seed);
            let faults = drill.beginning().state.faults.clone();
            for action in &script.actions {
                drill
                    .act(action.clone())
                    .unwrap_or_else(|e| panic!("{name}: {e}"));
            }
            let plan = Plan::new(&setup(DOOR), &faults, &script.actions).expect("it plays");
            assert_eq!(plan.end.made, drill.state().made, "{name}");
            assert_eq!(plan.end.worn, drill.state().worn, "{name}");
            let flows: usize = drill.done().iter().map(|d| d.flows().count()).sum();
            assert_eq!(plan.len(), flows, "{name}, seed {seed}");
        }
    }
}

/// What if reaches back over the door: a bow in place of the knot spares the neck.
#[test]
fn what_if_goes_back_to_the_door() {
    let name = format!("{DOOR}/knot-met-in-gloves");
    let actions = &script(&name).actions;
    let kit = setup(DOOR);
    let at = actions
        .iter()
        .position(|a| matches!(a, Action::Do { technique, .. } if technique == "gown-knot-neck"))
        .expect("it is knotted");
    let bow = vec![take("gown-tie-neck", "gown")];
    let offered = alternatives(&kit, &[], actions, at);
    let is_bow = |edit: &&Edit| match edit {
        Edit::Replace(n, with) => {
            *n == at && matches!(&with[..], [Action::Do { technique, .. }] if technique == "gown-tie-neck")
        }
        _ => false,
    };
    assert!(offered.iter().any(|edit| is_bow(&edit)), "{offered:?}");
    let beginning = Beginning::draw(&kit, Luck::new(3));
    let targets = [Target::AnySkin];
    let edit = Edit::Replace(at, bow);
    let other = what_if(&kit, &beginning, 3, actions, &edit, &targets).expect("it can be done");
    assert!(other.left_out.is_empty());
    let neck = kit.site("neck-back").expect("a body has a neck");
    assert!(means(&other.actions)[neck] < means(actions)[neck]);
}

/// Whoever follows both sequences to the letter dresses, goes in, gives the care and undresses; trainees lapse on the way out.
#[test]
fn the_whole_way_can_be_followed_and_counted() {
    let kit = setup(DOOR);
    let whole = kit.library.sequence("uk-agp-whole").expect("built in");
    let book = by_the_book(&kit, whole).expect("the kit can follow it");
    let good = &script(&format!("{DOOR}/uk-agp-whole-good")).actions;
    let ways = |actions: &[Action]| -> Vec<String> {
        let way = |a: &Action| match a {
            Action::Do { technique, item, .. } => format!("{technique} {item:?}"),
            Action::Clean { product, .. } => product.clone(),
            other => format!("{other:?}"),
        };
        actions.iter().map(way).collect()
    };
    assert_eq!(ways(&book), ways(good));
    let usual = kit.library.trainee("usual").expect("built in");
    let way = Way::Rehearsed(whole, usual);
    let found = odds(&kit, &way, &[Target::AnySkin], 60, 1, &Progress::default()).expect("it is counted");
    assert!(found.targets[0].counts.mean > 0.0);
}

/// What begins with kit that is on says so.
#[test]
fn searches_that_begin_with_kit_on_say_so() {
    run(&["orders", DOOR, "--stated"])
        .ends(2)
        .complains(&["begin where the kit is on", "hint"]);
    run(&["odds", DOOR, "--ceiling"])
        .ends(2)
        .complains(&["here the kit lies ready", "hint"]);
}

/// Slips are told where they stand, with what to do.
#[test]
fn slips_in_kit_that_lies_ready_are_told() {
    let text = include_str!("../../scenarios/from-the-door.ron")
        .replace("id: \"from-the-door\"", "id: \"own-door\"");
    let scratch = Scratch::new("ready");
    for (from, to, place, told, hint) in [
        (
            "ready: [\"gown\", \"respirator\"",
            "ready: [\"gwon\", \"respirator\"",
            ":12:13",
            "unknown item of this kit `gwon`",
            "gown",
        ),
        (
            "work: [\"turn-patient\"",
            "work: [\"turn-patients\"",
            ":23:12",
            "unknown piece of care `turn-patients`",
            "turn-patient",
        ),
        (
            "work: [\"turn-patient\", \"suction-airway\"",
            "work: [\"turn-patient\", \"turn-patient\"",
            ":23:28",
            "`turn-patient` is there twice",
            "each piece of care once",
        ),
        (
            "work: [\"turn-patient\"",
            "care: [(label: \"see to the drip\", seconds: 45.0, times: (1, 1), steps: [])],\n    work: [\"turn-patient\"",
            ":23:12",
            "`care` is given before the attempt",
            "work: [\"turn-patient\"]",
        ),
        (
            "spares: [\"glove\"]",
            "put_on: [(item: \"gown\", fastening: \"neck-tie\", tied: Knot)], spares: [\"glove\"]",
            ":13:21",
            "the gown lies ready, so nothing of it is fastened yet",
            "take the item out of `ready`",
        ),
        (
            "sequence: \"uk-agp-whole\"",
            "sequence: \"uk-agp\"",
            "",
            "`uk-agp` says nothing of putting on the gown, which lies ready",
            "take it out of `ready`",
        ),
    ] {
        assert!(text.contains(from), "the built-in scenario has changed: {from}");
        let path = scratch.write("own-door.ron", text.replace(from, to));
        let faults = faults_of(path);
        let fine = |f: &&String| f.contains(told) && f.contains(hint) && f.contains(place);
        assert!(faults.iter().any(|f| fine(&f)), "{told} at {place}: {faults:#?}");
    }
}

/// The same for techniques and sequences of putting on.
#[test]
fn slips_in_ways_of_putting_on_are_told() {
    let scratch = Scratch::new("ways-on");
    let technique = |needs: &str, steps: &str| {
        format!(
            "(format: 1, techniques: [(id: \"own-on\", label: \"our way\", items: [\"glove\"], does: PutsOn, hands: [Opposite],\n\
             needs: [Boxed{needs}], seconds: 5.0, hurried: 3.0,\n\
             steps: [{steps}Move(item: \"item\", to: Body)],\n\
             why: \"So.\", basis: \"technique-gloves-on\")])"
        )
    };
    let sequence = |steps: &str| {
        format!(
            "(format: 1, id: \"own-seq\", label: \"ours\", authority: \"us\", basis: \"local-policy\",\nsteps: [{steps}])"
        )
    };
    for (text, place, told) in [
        (technique(", Bare(\"lip\")", ""), ":2:", "unknown place `lip`"),
        (
            technique("", "Fault(\"cuff-gab\"), "),
            ":3:",
            "unknown fault `cuff-gab`",
        ),
        (technique("", "Fault(\"pinhole\"), "), ":3:", "can be anywhere"),
        (
            technique("", "Fault(\"poor-seal\"), "),
            ":3:",
            "`glove` cannot have the fault `poor-seal`",
        ),
        (
            technique("", "Knot(\"neck-tie\"), "),
            ":3:",
            "unknown fastening of `glove`",
        ),
        (
            technique("", "").replace("PutsOn", "Cares"),
            ":1:",
            "care is given to the patient",
        ),
        (sequence("Follow(\"uk-apg\")"), ":2:", "unknown sequence `uk-apg`"),
        (
            sequence("Follow(\"uk-agp\"), Follow(\"uk-agp\")"),
            ":2:",
            "two steps called `gloves`",
        ),
        (
            sequence(
                "PutOn(id: \"a\", ask: \"b\", items: [\"glove\"], accept: [\"glove-don\"], on_top: [\"cuf\"], why: \"c\", basis: \"local-policy\")",
            ),
            ":2:",
            "unknown part of these items `cuf`",
        ),
    ] {
        let path = scratch.write("own.ron", &text);
        let faults = faults_of(path);
        let fine = |f: &&String| f.contains(told) && f.contains(place) && f.contains("hint");
        assert!(faults.iter().any(|f| fine(&f)), "{told} at {place}: {faults:#?}");
    }
}

/// Aprons and masks can be put on as well, and come off as they do where they are worn from the start.
#[test]
fn aprons_and_masks_are_put_on_too() {
    let kit = door(|scenario| {
        scenario.kit = ["apron", "tied-mask", "glove"].map(str::to_owned).to_vec();
        scenario.ready = scenario.kit.clone();
        scenario.spares.clear();
    });
    let on = [
        take("apron-on", "apron"),
        take("apron-tie-behind", "apron"),
        take("tied-mask-on", "tied-mask"),
        take("tied-mask-knot-bottom", "tied-mask"),
        take("glove-don", "left-glove"),
        take("glove-don", "right-glove"),
    ];
    let state = after(&kit, &on);
    let mask = kit.item("tied-mask").expect("it is in the kit");
    assert_eq!(state.worn.len(), kit.items.len());
    assert!(state.items.iter().all(|i| i.undone.iter().all(|undone| !undone)));
    assert!(state.is_knotted(mask, 0) && !state.is_knotted(mask, 1));
    let mut off = on.to_vec();
    off.extend([
        take("glove-pinch-peel", "left-glove"),
        take("glove-slide-under", "right-glove"),
        bin(Hands::Left),
        take("apron-break-loop", "apron"),
        take("apron-break-ties", "apron"),
        take("apron-fold-down", "apron"),
        bin(Hands::Both),
        take("tied-mask-bottom-tie", "tied-mask"),
        take("tied-mask-top-tie-off", "tied-mask"),
        bin(Hands::Both),
    ]);
    let state = after(&kit, &off);
    assert!(state.items.iter().all(|i| i.holding == Holding::Binned));

    let loops = door(|scenario| {
        scenario.kit = vec!["surgical-mask".to_owned()];
        scenario.ready = scenario.kit.clone();
        scenario.spares.clear();
        scenario.faults.clear();
    });
    let state = after(&loops, &[take("mask-on-loops", "surgical-mask")]);
    let lips = loops.place("lips").expect("a body has lips");
    assert!(state.top(&loops, lips, None).is_some());
}
