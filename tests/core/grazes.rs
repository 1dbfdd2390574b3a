//! Small contacts: no path of theirs is capped, people differ, a hurry makes more of them, and trainees err alike whatever
//! sequence they follow.

use smirch::analysis::{
    CEILING_LOAD, Coefficients, Haven, Plan, Progress, Way, ceiling, expectation, havens, rehearse,
};
use smirch::chance::{Luck, PEOPLE};
use smirch::drill::Action;
use smirch::model::{Does, Pace, Setup, Trainee};
use smirch::transfer::Cause;

use crate::fixture::{content, play_script, script, setup, take};

/// For each patch whose id holds `patch`, how often at least one of so many organisms gets there: to the letter, dry.
fn reached(setup: &Setup, patch: &str, haven: Haven, load: f64) -> Vec<(String, f64)> {
    let sequence = setup
        .library
        .sequence(&setup.scenario.sequence)
        .expect("it is built in");
    let flawless = content().library.trainee("flawless").expect("it is built in");
    let way = Way::Rehearsed(sequence, flawless);
    let rows = ceiling(setup, &way, &[haven], load, 60, 1, &Progress::default()).expect("it can be followed");
    let asked = rows.iter().filter(|row| !row.wet && row.patch.contains(patch));
    asked
        .map(|row| (row.patch.clone(), row.reached[0].share))
        .collect()
}

/// However seldom a path carries one organism, with enough of them it carries some in whomever one likes.
#[test]
fn no_share_of_people_is_capped_whatever_the_load() {
    let single = setup("respiratory-room");
    let double = setup("double-gloves");
    for (setup, patch, haven) in [
        (&single, "glove-", Haven::Hands),
        (&single, "glove-", Haven::Floor),
        (&single, "gown-chest", Haven::Clothing),
        (&single, "gown-abdomen", Haven::Clothing),
        (&single, "gown-lower-front", Haven::Clothing),
        (&single, "gown-lower-front", Haven::Shoes),
        (&single, "lower-sleeve", Haven::Clothing),
        (&single, "lower-sleeve", Haven::Floor),
        (&single, "gown-chest", Haven::Hands),
        (&single, "goggles-front", Haven::Face),
        (&single, "goggles-left-side", Haven::Face),
        (&single, "goggles-right-side", Haven::Floor),
        (&single, "gown-left-shoulder", Haven::Clothing),
        (&double, "visor-band", Haven::Face),
        (&single, "respirator-front", Haven::Face),
        (&single, "respirator-front", Haven::Mucosa),
        (&single, "goggles-front", Haven::Mucosa),
        (&double, "visor-front", Haven::Mucosa),
        (&double, "t-glove-", Haven::InnerGloves),
        (&double, "apron-lap", Haven::Floor),
    ] {
        let few = reached(setup, patch, haven, 100.0);
        let some = reached(setup, patch, haven, CEILING_LOAD);
        let many = reached(setup, patch, haven, 1e9);
        assert!(!many.is_empty(), "no patch is called {patch}");
        for ((few, some), many) in few.iter().zip(&some).zip(&many) {
            let path = format!("from {} to {}", few.0, haven.label());
            assert!(
                many.1 > 0.95,
                "{path}: only {} with a thousand times as many",
                many.1
            );
            assert!(
                few.1 <= some.1 && some.1 <= many.1 && few.1 < many.1,
                "{path}: {} with 100, {} with a million, {} with more",
                few.1,
                some.1,
                many.1
            );
        }
    }
}

/// A thousand times the load of the table: of what covers the person any outside soils hands, floor and own clothing, with
/// every kit and to the letter, in so many people at the least. Two pairs come between outsides and hands: there it
/// is the inner pair that is reached, and hands from the inner pair. Shoes, face, eyes and neck are reached from what comes
/// off above, upon or before them; from elsewhere hands that were cleaned come between.
#[test]
fn no_outside_of_any_kit_is_shut_off_from_hands_clothing_and_floor() {
    let any_of = |patch: &str, words: &[&str]| words.iter().any(|word| patch.contains(word));
    let level = |haven: Haven, patch: &str, two_pairs: bool| match haven {
        Haven::Hands if two_pairs && !any_of(patch, &["inner-glove", "respirator", "visor"]) => None,
        // What comes off with bare hands or after the inner gloves never meets them.
        Haven::InnerGloves if any_of(patch, &["respirator", "visor"]) => None,
        Haven::Hands | Haven::InnerGloves => Some(0.98),
        // Of an apron only the lap hangs low; the rest is rolled into it.
        Haven::Clothing if two_pairs && any_of(patch, &["apron"]) => Some(0.4),
        Haven::Clothing => Some(0.97),
        // A tie sheds nothing: it gets there by way of hands.
        Haven::Floor if any_of(patch, &["tie"]) => Some(0.15),
        Haven::Floor => Some(0.98),
        // Overshoes are over them while most comes off.
        Haven::Shoes if two_pairs => None,
        Haven::Shoes => {
            let above = ["chest", "abdomen", "lower-front", "lower-sleeve", "glove-", "lap"];
            any_of(patch, &above).then_some(0.98)
        }
        Haven::Face if any_of(patch, &["goggles-strap"]) => Some(0.4),
        Haven::Face => any_of(patch, &["goggles", "visor", "respirator-edge"]).then_some(0.98),
        Haven::Mucosa => any_of(patch, &["goggles-front", "visor-front", "respirator-front"]).then_some(0.95),
        _ => None,
    };
    let mut asked = 0;
    // In studies only a part of the kit comes off.
    let drills = content().library.scenarios.iter();
    for scenario in drills.filter(|s| !s.id.starts_with("study-")) {
        let setup = setup(&scenario.id);
        let all = havens(&setup);
        let two_pairs = all.contains(&Haven::InnerGloves);
        for haven in all {
            for (patch, share) in reached(&setup, "", haven, 1e9) {
                let Some(least) = level(haven, &patch, two_pairs) else {
                    continue;
                };
                asked += 1;
                assert!(
                    share >= least,
                    "{}, from {patch} to {}: at most {share}, {least} is stated",
                    scenario.id,
                    haven.label()
                );
            }
        }
    }
    assert!(asked > 300, "only {asked} paths were asked about");
}

#[test]
fn a_person_is_as_close_in_all_of_an_attempt_and_people_differ() {
    let mut met = [false; PEOPLE];
    for seed in 1..=30 {
        let drill = play_script("respiratory-room/uk-agp-good", seed);
        let sort = Luck::new(seed).person();
        met[sort] = true;
        let mut goes = Vec::new();
        for (event, outcome) in drill.done().iter().flat_map(|done| done.flows()) {
            match &event.extent {
                Some(extent) => goes.push(outcome.drawn_extent / extent.people[sort]),
                None => assert!(
                    outcome.drawn_extent == 1.0 || !outcome.happened,
                    "{event:?}: {outcome:?}"
                ),
            }
        }
        assert!(goes.len() > 100, "seed {seed}: {} small contacts", goes.len());
        // Exponential factors: their mean has a standard error of one over the root of their number.
        let mean = goes.iter().sum::<f64>() / goes.len() as f64;
        assert!(
            (mean - 1.0).abs() < 5.0 / (goes.len() as f64).sqrt(),
            "seed {seed}, sort {sort}: goes have a mean of {mean}"
        );
    }
    assert!(
        met.iter().all(|met| *met),
        "30 seeds have no person of some sort: {met:?}"
    );
}

/// The mean over people is that of attempts by each sort of them, not that of an average person.
#[test]
fn the_expectation_is_the_mean_over_people_who_each_do_all_of_it() {
    let name = "respiratory-room/uk-agp-good";
    let setup = setup("respiratory-room");
    let plan = Plan::new(&setup, &[], &script(name).actions).expect("built-in scripts can be done");
    let dry = vec![0.0; setup.sites.len()];
    let mut start = dry.clone();
    start[setup.site("gown-chest").expect("a gown is worn")] = 1e6;
    let all = expectation(&plan, &dry, &start, Coefficients::Mean);
    let sorts: Vec<Vec<f64>> = (0..PEOPLE)
        .map(|sort| expectation(&plan, &dry, &start, Coefficients::Sort(sort)))
        .collect();
    let apart = expectation(&plan, &dry, &start, Coefficients::Apart);
    let mut twice = 0;
    for site in 0..start.len() {
        let mean = sorts.iter().map(|x| x[site]).sum::<f64>() / PEOPLE as f64;
        assert!((all[site] - mean).abs() <= 1e-9 * mean.max(1e-12), "site {site}");
        twice += usize::from(all[site] > 1e-9 && apart[site] < 0.99 * all[site]);
    }
    assert!(
        twice > 0,
        "nothing is reached by two small contacts in a row, so that it matters who does both"
    );
}

#[test]
fn a_hurry_makes_more_of_small_contacts() {
    let setup = setup("respiratory-room");
    let shares = |pace: Pace| -> Vec<f64> {
        let plan = Plan::new(&setup, &[], &[take("glove-pinch-peel", "left-glove").at(pace)])
            .expect("gloves are worn");
        let events = (0..plan.len()).map(|n| plan.event(n).1);
        let small = events.filter(|event| matches!(event.cause, Cause::Graze | Cause::Shed));
        small.map(|event| event.mean_shares(None).0).collect()
    };
    let (steady, hurried) = (shares(Pace::Steady), shares(Pace::Hurried));
    assert_eq!(steady.len(), hurried.len());
    for (steady, hurried) in steady.iter().zip(&hurried) {
        assert!(
            *steady > 0.0 && hurried > steady && *hurried < 1.001 * setup.library.grazes.hurried * steady,
            "{steady} steadily, {hurried} in a hurry"
        );
    }
}

/// A sequence that has gown and gloves off together leaves as much room for error as one that has gloves off first.
#[test]
fn trainees_err_alike_whatever_sequence_they_follow() {
    let library = &content().library;
    let usual = library.trainee("usual").expect("it is built in");
    let clumsy = Trainee {
        skip: 0.0,
        swap: 0.0,
        hurry: 0.0,
        face_touch: 0.0,
        discard: 0.0,
        poor: 0.3,
        ..usual.clone()
    };
    let attempts = 300;
    for scenario in ["classic-tracer", "respiratory-room"] {
        let setup = setup(scenario);
        for id in std::iter::once(&setup.scenario.sequence).chain(&setup.scenario.also) {
            let sequence = library.sequence(id).expect("it is built in");
            let mut gown = 0;
            let mut right_first = 0;
            for seed in 0..attempts {
                let did = rehearse(&setup, sequence, &clumsy, Luck::new(seed)).expect("it can be followed");
                gown += u32::from(did.lapses.iter().any(|lapse| lapse.starts_with("gown by")));
                let of = |glove: &str| {
                    let off = |action: &Action| match action {
                        Action::Do {
                            technique,
                            item: Some(item),
                            ..
                        } => {
                            item == glove
                                && library
                                    .technique(technique)
                                    .is_some_and(|t| t.does == Does::TakesOff)
                        }
                        _ => false,
                    };
                    did.actions.iter().position(off)
                };
                right_first += u32::from(of("right-glove") < of("left-glove") && of("right-glove").is_some());
                let end = Plan::new(&setup, &[], &did.actions).expect("it was done").end;
                let left = (0..setup.items.len())
                    .filter(|&i| !setup.items[i].spare && end.is_worn(i))
                    .count();
                assert_eq!(left, 0, "{scenario}, {id}, seed {seed}: {:?}", did.lapses);
            }
            let share = f64::from(gown) / attempts as f64;
            // Four standard errors about three in ten.
            assert!(
                (share - 0.3).abs() < 4.0 * (0.21_f64 / attempts as f64).sqrt(),
                "{scenario}, {id}: the gown comes off in another way in {share}"
            );
            assert!(
                right_first > 0,
                "{scenario}, {id}: the right glove never comes off first"
            );
        }
    }
}

#[test]
fn what_is_taken_off_is_thrown_away_in_several_ways() {
    let library = &content().library;
    let usual = library.trainee("usual").expect("it is built in");
    let setup = setup("classic-tracer");
    let sequence = library
        .sequence(&setup.scenario.sequence)
        .expect("it is built in");
    let mut ways = std::collections::BTreeSet::new();
    for seed in 0..300 {
        let did = rehearse(&setup, sequence, usual, Luck::new(seed)).expect("it can be followed");
        for action in did.actions {
            if let Action::Do { technique, .. } = action
                && library
                    .technique(&technique)
                    .is_some_and(|t| t.does == Does::Discards)
            {
                ways.insert(technique);
            }
        }
    }
    assert!(ways.len() >= 4, "only {ways:?}");
}
