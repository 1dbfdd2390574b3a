//! The best orders: every protocol accounted for, beaten by no named sequence, the same on any number of threads.

use std::sync::Arc;

use smirch::analysis::{
    Limits, Orders, OrdersError, Place, Progress, Scope, Start, Target, by_the_book, orders,
};
use smirch::drill::{Action, State, enact};
use smirch::model::{Asked, Sequence, Setup, Side, Whereabouts, Zone};

use crate::fixture::setup;

/// The sequences of a scenario, its own first.
pub fn sequences(setup: &Setup) -> Vec<&Sequence> {
    std::iter::once(&setup.scenario.sequence)
        .chain(&setup.scenario.also)
        .filter_map(|id| setup.library.sequence(id))
        .collect()
}

/// The front of a setup, within the usual limits.
pub fn find(setup: &Setup, target: Target, scope: &Scope, start: &Start) -> Orders {
    let all = sequences(setup);
    orders(
        setup,
        &all,
        scope,
        target,
        start,
        Limits::default(),
        &Progress::default(),
    )
    .unwrap_or_else(|e| panic!("{}: {e}", setup.scenario.id))
}

/// Everything that the drill allows.
pub fn wide(setup: &Setup) -> Scope {
    Scope::wide(setup, &sequences(setup))
}

/// What keeps to the scenario's own sequence.
pub fn kept(setup: &Setup) -> Scope {
    Scope::policy(setup, sequences(setup)[0])
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
        let found = find(&setup, Target::AnySkin, &wide(&setup), &start);
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
        let found = find(&setup, Target::Hands, &wide(&setup), &start);
        for (n, a) in found.front.iter().enumerate() {
            for (m, b) in found.front.iter().enumerate().filter(|(m, _)| *m != n) {
                assert!(
                    !(a.risk <= b.risk && a.seconds <= b.seconds && a.cleans <= b.cleans),
                    "{}: number {n} beats number {m} of the same front",
                    setup.scenario.id
                );
            }
        }
        let distinct = found.distinct(|a, b| (a - b).abs() <= 0.1 * a.max(b));
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
        pool.install(|| find(&setup, Target::AnySkin, &wide(&setup), &start))
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
    let book = by_the_book(&setup, whole).expect("the kit can follow it");
    let cleans = [book.last().expect("there are actions").clone()];
    let Action::Clean { seconds, .. } = cleans[0] else {
        panic!("the sequence no longer ends with a wash");
    };
    let both = [whole, &short];
    let found = orders(
        &setup,
        &both,
        &wide(&setup).with_cleans(&cleans),
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
        left_out.risk > 0.0 && left_out.seconds == -seconds,
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
    let found = find(&setup, Target::AnySkin, &wide(&setup).with_cleans(&[]), &start);
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
    let scope = wide(&setup);
    let run = |limits: Limits, progress: &Progress| {
        orders(&setup, &all, &scope, Target::AnySkin, &start, limits, progress)
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

/// True if something covers a palm.
fn in_gloves(setup: &Setup, state: &State) -> bool {
    let covered = |side| {
        state
            .top(setup, setup.zone_place(side, Zone::Palm), None)
            .is_some()
    };
    Side::BOTH.into_iter().any(covered)
}

/// How often hands are cleaned, how often of these in gloves, and the techniques used for each kind of item.
fn account(setup: &Setup, actions: &[Action]) -> (usize, usize, Vec<(String, String)>) {
    let (mut state, mut cleans, mut gloved, mut ways) = (State::dressed(setup), 0, 0, Vec::new());
    for action in actions {
        match action {
            Action::Clean { .. } => {
                cleans += 1;
                gloved += usize::from(in_gloves(setup, &state));
            }
            Action::Do {
                technique,
                item: Some(item),
                ..
            } => {
                let item = setup.item(item).unwrap_or_else(|| panic!("no item `{item}`"));
                ways.push((setup.definition(item).id.clone(), technique.clone()));
            }
            _ => {}
        }
        enact(setup, &mut state, action).unwrap_or_else(|e| panic!("{action:?}: {e}"));
    }
    (cleans, gloved, ways)
}

#[test]
fn a_best_order_teaches_order_and_neither_fewer_cleans_nor_cleaned_gloves_nor_other_techniques() {
    for id in [
        "classic-tracer",
        "respiratory-room",
        "enteric-bay",
        "double-gloves",
    ] {
        let setup = setup(id);
        let start = Start::mean(&setup, 5, 1);
        let policy = sequences(&setup)[0];
        let book = by_the_book(&setup, policy).unwrap_or_else(|e| panic!("{id}: {e}"));
        let (cleans, gloved, _) = account(&setup, &book);
        let found = find(&setup, Target::HandsBeforeCleaning, &kept(&setup), &start);
        assert!(found.size.complete(), "{id}: {:?}", found.size);
        assert!(!found.front.is_empty(), "{id}: no order keeps to its own policy");
        for p in &found.front {
            let (c, g, ways) = account(&setup, &p.actions);
            assert!(
                c >= cleans,
                "{id}: {c} cleans, the policy has {cleans}: {:?}",
                p.actions
            );
            assert!(
                g <= gloved,
                "{id}: gloves cleaned {g} times, by the policy {gloved}: {:?}",
                p.actions
            );
            for (item, technique) in ways {
                let asked: Vec<&Vec<String>> = policy
                    .steps
                    .iter()
                    .filter_map(|step| match &step.asked {
                        Asked::Remove { items, accept, .. } if items.contains(&item) => Some(accept),
                        _ => None,
                    })
                    .collect();
                assert!(
                    asked.is_empty() || asked.iter().any(|accept| accept.contains(&technique)),
                    "{id}: the {item} comes off by {technique}, which the policy does not accept"
                );
            }
        }
        let standing = found.named[0]
            .standing
            .as_ref()
            .unwrap_or_else(|e| panic!("{id}: {e}"));
        let (safest, _) = found.safest(|_, _| false).expect("a front");
        assert!(
            found.front[safest].risk <= standing.protocol.risk * (1.0 + 1e-12),
            "{id}: the policy itself beats every order of what it asks for"
        );
    }
}

#[test]
fn chlorine_that_a_policy_uses_on_gloves_alone_is_never_proposed_for_skin() {
    let setup = setup("double-gloves");
    let policy = setup
        .library
        .sequence("double-glove-order")
        .expect("it is built in");
    for scope in [Scope::policy(&setup, policy), Scope::wide(&setup, &[policy])] {
        let chlorine =
            |a: &Action| matches!(a, Action::Clean { product, .. } if product == "chlorine-solution");
        assert!(
            scope.gloved.iter().any(chlorine),
            "the policy rinses gloves: {:?}",
            scope.gloved
        );
        assert!(
            !scope.skin.iter().any(chlorine),
            "chlorine on skin: {:?}",
            scope.skin
        );
    }
}

/// There is a basin inside, but the policy has hands washed once they are out of the room and out of the gown.
#[test]
fn a_basin_that_is_nearer_moves_no_wash_of_a_policy() {
    let setup = setup("enteric-bay");
    let found = find(&setup, Target::Hands, &kept(&setup), &Start::mean(&setup, 20, 1));
    let is_wash = |a: &Action| matches!(a, Action::Clean { product, .. } if product == "soap-and-water");
    let mut washes = 0;
    for protocol in &found.front {
        let out = protocol
            .actions
            .iter()
            .position(|a| *a == Action::Walk(Whereabouts::Outside));
        let first = protocol.actions.iter().position(is_wash);
        washes += usize::from(first.is_some());
        assert!(
            first.is_none_or(|wash| out.is_some_and(|out| out < wash)),
            "{:?}",
            protocol.actions
        );
    }
    assert!(washes > 0, "nobody washes");
}

#[test]
fn a_count_that_is_no_sum_is_refused_with_what_to_ask_instead() {
    let setup = setup("enteric-bay");
    let start = Start::mean(&setup, 1, 1);
    let all = sequences(&setup);
    let (limits, progress) = (Limits::default(), Progress::default());
    for target in [Target::HandsPeak, Target::TwoPlaces] {
        let error = orders(&setup, &all, &kept(&setup), target, &start, limits, &progress)
            .expect_err("neither the largest of several moments nor two places at once have an exact mean")
            .to_string();
        assert!(
            error.contains(target.word()) && error.contains("hands-before-cleaning"),
            "neither what nor what else: {error}"
        );
    }
}

/// Where nearness is allowed, every protocol of the front itself has one that stands for it: as quick, as short of cleaning,
/// and with at most so much more; and there are fewer of them to look at.
#[test]
fn what_stands_for_others_leaves_hardly_more() {
    let mut spared = 0;
    for (setup, start) in built_in() {
        let near = 0.02;
        let found = |near| {
            let limits = Limits {
                near,
                ..Limits::default()
            };
            let (all, scope) = (sequences(&setup), wide(&setup));
            let progress = Progress::default();
            orders(&setup, &all, &scope, Target::AnySkin, &start, limits, &progress)
                .unwrap_or_else(|e| panic!("{}: {e}", setup.scenario.id))
        };
        let (exact, close) = (found(0.0), found(near));
        for one in &exact.front {
            let stands = close.front.iter().any(|other| {
                other.seconds <= one.seconds
                    && other.cleans <= one.cleans
                    && other.risk <= one.risk * (1.0 + near) * (1.0 + 1e-9)
            });
            assert!(stands, "{}: nothing stands for {one:?}", setup.scenario.id);
        }
        assert!(close.size.complete(), "{}", setup.scenario.id);
        spared += exact.size.prefixes.saturating_sub(close.size.prefixes);
    }
    assert!(spared > 0, "nothing is spared by it");
}

/// A rub lifts no lotion and soap does: with lotion the best order takes nothing from a policy but its order.
#[test]
fn lotion_chooses_no_product() {
    let setup = setup("classic-tracer");
    for id in ["us-gloves-first", "us-2020"] {
        let policy = setup.library.sequence(id).expect("it is built in");
        let products = |actions: &[Action]| -> Vec<String> {
            let mut all: Vec<String> = actions
                .iter()
                .filter_map(|a| match a {
                    Action::Clean { product, .. } => Some(product.clone()),
                    _ => None,
                })
                .collect();
            all.sort();
            all.dedup();
            all
        };
        let own = smirch::analysis::by_the_book(&setup, policy).expect("it can be followed");
        assert_eq!(
            products(&Scope::policy(&setup, policy).skin),
            products(&own),
            "{id}"
        );
    }
}
