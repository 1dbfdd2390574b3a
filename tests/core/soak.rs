//! Wet cloth: what is pressed or splashed goes through it, what is dry or of plastic film keeps it out.

use std::sync::Arc;

use smirch::analysis::{Coefficients, Plan, Target, expectation};
use smirch::chance::Luck;
use smirch::drill::{Action, Beginning};
use smirch::model::{Setup, Side, Zone};
use smirch::transfer::Cause;

use crate::fixture::{content, script, setup};

const LOAD: f64 = 1e6;

/// What is expected on a site at the end, with so much on one patch that is wet throughout, or dry.
fn expected_on(setup: &Setup, actions: &[Action], patch: &str, wet: bool) -> Vec<f64> {
    let plan = Plan::new(setup, &[], actions).unwrap_or_else(|e| panic!("{e}"));
    let site = setup.site(patch).unwrap_or_else(|| panic!("no {patch}"));
    let (mut start, mut until) = (vec![0.0; setup.sites.len()], vec![0.0; setup.sites.len()]);
    start[site] = LOAD;
    if wet {
        until[site] = 1e6;
    }
    expectation(&plan, &until, &start, Coefficients::Mean)
}

fn press(patch: &str) -> Action {
    Action::Touch {
        hand: Side::Right,
        with: Zone::Palm,
        site: patch.to_owned(),
        area: 40.0,
    }
}

#[test]
fn wet_cloth_that_is_pressed_lets_its_share_through_and_dry_cloth_and_film_let_none() {
    for (scenario, patch, through) in [
        ("respiratory-room", "gown-chest", true),
        ("respiratory-room", "gown-left-lower-sleeve", true),
        // Lotion is too thick.
        ("classic-tracer", "gown-chest", false),
        ("enteric-bay", "apron-bib", false),
    ] {
        let setup = setup(scenario);
        let inside = setup.site(&format!("{patch}-inside")).expect("it has an inside");
        let site = setup.site(patch).expect("it is worn");
        let dry = expected_on(&setup, &[press(patch)], patch, false)[inside];
        assert!(dry.abs() < 1e-12, "{scenario}: {dry} goes through dry {patch}");
        let wet = expected_on(&setup, &[press(patch)], patch, true)[inside];
        if !through {
            assert!(wet.abs() < 1e-12, "{scenario}: {wet} goes through wet {patch}");
            continue;
        }
        let law = setup.soak(site).expect("cloth soaks");
        let share = 40.0 / setup.sites[site].area * law.mean;
        // The hand has taken some of the same patch before.
        let (low, high) = (0.95 * LOAD * share, LOAD * share);
        assert!(
            (low..=high).contains(&wet),
            "{scenario}, {patch}: {wet}, not {low} to {high}"
        );
    }
}

/// What went through reaches what lies beneath when the gown moves and comes off.
#[test]
fn what_has_soaked_through_reaches_own_clothing() {
    let with = setup("respiratory-room");
    let mut library = (*content().library).clone();
    assert!(!library.soaks.is_empty());
    library.soaks.clear();
    let without = Setup::new(Arc::new(library), &with.scenario).expect("it is as it was");
    let actions = &script("respiratory-room/gown-by-front").actions;
    let clothing = |setup: &Setup, wet: bool| -> f64 {
        let plan = Plan::new(setup, &[], actions).unwrap_or_else(|e| panic!("{e}"));
        let weights = Target::Clothing.weights(setup, &plan.end);
        let end = expected_on(setup, actions, "gown-chest", wet);
        end.iter().zip(&weights).map(|(n, w)| n * w).sum()
    };
    let (some, none) = (clothing(&with, true), clothing(&without, true));
    assert!(some > none + 0.01, "{some} with, {none} without");
    let (some, none) = (clothing(&with, false), clothing(&without, false));
    assert!((some - none).abs() < 1e-9, "dry: {some} with, {none} without");
}

/// A splash wets what it hits, so some of it is inside at once.
#[test]
fn what_is_splashed_on_a_gown_is_found_on_its_inside() {
    let setup = setup("respiratory-room");
    let mut inside = 0;
    for seed in 0..40 {
        let beginning = Beginning::draw(&setup, Luck::new(seed));
        for (event, outcome) in &beginning.care {
            if event.cause == Cause::Soak && outcome.happened {
                let (_, onto) = event.sites();
                let onto = onto.expect("it goes somewhere");
                assert!(
                    setup.sites[onto].id.ends_with("-inside"),
                    "{}",
                    setup.sites[onto].id
                );
                inside += beginning.books.total(onto);
            }
        }
    }
    assert!(inside > 0, "nothing went through in 40 goes");
}
