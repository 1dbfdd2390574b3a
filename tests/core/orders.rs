//! The best orders: every protocol accounted for, beaten by no named sequence, the same on any number of threads.

use std::sync::Arc;

use smirch::analysis::{Limits, Orders, OrdersError, Place, Progress, Start, Target, cleans_asked, orders};
use smirch::drill::Action;
use smirch::model::{Sequence, Setup, Whereabouts};

use crate::fixture::{clean, setup};

/// The sequences of a scenario, its own first.
pub fn sequences(setup: &Setup) -> Vec<&Sequence> {
    std::iter::once(&setup.scenario.sequence)
        .chain(&setup.scenario.also)
        .filter_map(|id| setup.library.sequence(id))
        .collect()
}

/// The front of a setup, within the usual limits.
pub fn find(setup: &Setup, target: Target, cleans: &[Action], start: &Start) -> Orders {
    let all = sequences(setup);
    orders(
        setup,
        &all,
        cleans,
        target,
        start,
        Limits::default(),
        &Progress::default(),
    )
    .unwrap_or_else(|e| panic!("{}: {e}", setup.scenario.id))
}

/// Scenarios whose spaces are searched in moments, with a few starts.
fn built_in() -> Vec<(Arc<Setup>, Start)> {
    [
        "classic-tracer",
        "respiratory-room",
        "enteric-bay",
        "study-virus-double-gloves",
        "study-soiled-gown",
    ]
    .into_iter()
    .map(|id| {
        let setup = setup(id);
        let start = Start::mean(&setup, 20, 1);
        (setup, start)
    })
    .collect()
}

#[test]
fn no_named_sequence_beats_the_front_and_every_protocol_is_accounted_for() {
    for (setup, start) in built_in() {
        let all = sequences(&setup);
        let found = find(&setup, Target::AnySkin, &cleans_asked(&setup, &all), &start);
        let id = &setup.scenario.id;
        assert!(found.size.complete(), "{id}: {:?}", found.size);
        assert_eq!(found.named.len(), all.len(), "{id}: a sequence is missing");
        for named in &found.named {
            let standing = named
                .standing
                .as_ref()
                .unwrap_or_else(|why| panic!("{id}, {}: {why}", named.sequence));
            let p = &standing.protocol;
            match &standing.place {
                Place::OnFront(n) => assert!(*n < found.front.len()),
                Place::Beaten { safest, quickest } => {
                    for n in [safest, quickest] {
                        let f = &found.front[*n];
                        assert!(
                            f.risk <= p.risk * (1.0 + 1e-12)
                                && f.seconds <= p.seconds
                                && f.cleans <= p.cleans,
                            "{id}: {} is said to be beaten by number {n}, which is worse",
                            named.sequence
                        );
                    }
                }
                Place::LeavesOn(items) => assert!(!items.is_empty()),
                Place::Apart => panic!("{id}: {} beats the front: {p:?}", named.sequence),
            }
        }
    }
}

#[test]
fn nothing_on_the_front_beats_another_of_it() {
    for (setup, start) in built_in() {
        let found = find(
            &setup,
            Target::Hands,
            &cleans_asked(&setup, &sequences(&setup)),
            &start,
        );
        for (n, a) in found.front.iter().enumerate() {
            for (m, b) in found.front.iter().enumerate().filter(|(m, _)| *m != n) {
                assert!(
                    !(a.risk <= b.risk && a.seconds <= b.seconds && a.cleans <= b.cleans),
                    "{}: number {n} beats number {m} of the same front",
                    setup.scenario.id
                );
            }
        }
        let distinct = found.distinct(0.99);
        let safest = found.front.iter().map(|p| p.risk).fold(f64::INFINITY, f64::min);
        assert!(
            distinct.iter().any(|&n| found.front[n].risk == safest),
            "{}: the safest is left out of the list",
            setup.scenario.id
        );
    }
}

#[test]
fn orders_do_not_depend_on_the_number_of_threads() {
    let setup = setup("enteric-bay");
    let start = Start::mean(&setup, 20, 1);
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads can be had");
        pool.install(|| {
            find(
                &setup,
                Target::AnySkin,
                &cleans_asked(&setup, &sequences(&setup)),
                &start,
            )
        })
    };
    assert_eq!(run(1), run(5));
}

#[test]
fn a_clean_left_out_and_put_back_changes_nothing() {
    let setup = setup("enteric-bay");
    let start = Start::mean(&setup, 20, 1);
    let whole = sequences(&setup)[0];
    let mut short = whole.clone();
    let wash = short.steps.pop().expect("the sequence has steps");
    assert_eq!(wash.id, "wash", "the sequence no longer ends with a wash");
    let cleans = [clean("soap-and-water", 20.0)];
    let both = [whole, &short];
    let found = orders(
        &setup,
        &both,
        &cleans,
        Target::Hands,
        &start,
        Limits::default(),
        &Progress::default(),
    )
    .expect("the kit can be taken off");
    let standing = |n: usize| found.named[n].standing.as_ref().expect("the kit can follow it");
    let (with, without) = (standing(0), standing(1));
    let end = without.protocol.actions.len();
    let left_out = with.changes.iter().find(|c| !c.added && c.at == end);
    let put_back = without.changes.iter().find(|c| c.added && c.at == end);
    let (left_out, put_back) = (
        left_out.expect("a wash to leave out"),
        put_back.expect("a wash to add"),
    );
    assert!(
        left_out.risk > 0.0 && left_out.seconds == -20.0,
        "hands that are not washed in the end carry less: {left_out:?}"
    );
    assert_eq!(
        (left_out.risk, left_out.seconds),
        (-put_back.risk, -put_back.seconds)
    );
    let (sum, risk) = (with.protocol.risk + left_out.risk, without.protocol.risk);
    assert!(
        (sum - risk).abs() <= 1e-12 * risk,
        "{sum} with the change, {risk} without the wash"
    );
}

#[test]
fn the_mask_comes_off_where_the_sequences_have_it_come_off() {
    let setup = setup("enteric-bay");
    let start = Start::mean(&setup, 5, 1);
    let found = find(&setup, Target::AnySkin, &[], &start);
    for p in &found.front {
        let mut outside = false;
        for action in &p.actions {
            outside |= matches!(action, Action::Walk(Whereabouts::Outside));
            if let Action::Do { item: Some(item), .. } = action {
                assert_eq!(
                    item == "surgical-mask",
                    outside,
                    "{item} comes off {}",
                    if outside { "outside" } else { "inside" }
                );
            }
        }
        assert!(outside, "a protocol that never leaves: {p:?}");
    }
}

#[test]
fn a_start_of_fixed_loads_is_those_loads_however_many_are_drawn() {
    let setup = setup("classic-tracer");
    let (one, many) = (Start::mean(&setup, 1, 7), Start::mean(&setup, 8, 3));
    for (site, (a, b)) in one.counts.iter().zip(&many.counts).enumerate() {
        assert!((a - b).abs() <= 1e-9 * a, "{}: {a} and {b}", setup.sites[site].id);
    }
    assert_eq!(one.wet_until, many.wet_until);
    let palm = setup.site("left-glove-palm").expect("the kit has gloves");
    assert_eq!(one.counts[palm], 20_000.0);
}

#[test]
fn a_stopped_search_and_a_space_too_large_say_so() {
    let setup = setup("classic-tracer");
    let start = Start::mean(&setup, 1, 1);
    let all = sequences(&setup);
    let cleans = cleans_asked(&setup, &all);
    let run = |limits: Limits, progress: &Progress| {
        orders(&setup, &all, &cleans, Target::AnySkin, &start, limits, progress)
    };
    let stopped = Progress::default();
    stopped.stop();
    assert_eq!(run(Limits::default(), &stopped).err(), Some(OrdersError::Stopped));
    for limits in [
        Limits {
            configurations: 50,
            ..Limits::default()
        },
        Limits {
            prefixes: 50,
            ..Limits::default()
        },
        Limits {
            configurations: 1000,
            ..Limits::default()
        },
    ] {
        let error = run(limits, &Progress::default())
            .expect_err("the limit is below what is needed")
            .to_string();
        assert!(
            error.starts_with("too many to hold: more than ") && error.contains("hint: "),
            "not a clear message: {error}"
        );
    }
}
