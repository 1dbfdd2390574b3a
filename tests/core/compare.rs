//! Ways compared under the same luck: the numbers are those of `odds`, of the exact expectation, and of nothing else.

use smirch::analysis::{
    Comparison, Contender, MOST_REPEATS, Progress, Target, Verdict, Way, by_the_book, compare, odds,
    paired_interval,
};
use smirch::drill::Action;
use smirch::model::Setup;

use smirch::report::verdict_sentence;

use crate::fixture::{content, script, setup};

fn targets() -> Vec<Target> {
    Target::ALL.iter().map(|(_, t)| *t).collect()
}

fn scripted<'a>(setup: &'a Setup, label: &str, actions: &'a [Action]) -> Contender<'a> {
    Contender {
        label: label.to_owned(),
        setup,
        way: Way::Script(actions),
    }
}

fn book(setup: &Setup, sequence: &str) -> Vec<Action> {
    let sequence = content().library.sequence(sequence).expect("it is built in");
    by_the_book(setup, sequence).unwrap_or_else(|r| panic!("{}: {r}", sequence.id))
}

fn run(contenders: &[Contender<'_>], repeats: u64, seed: u64) -> Comparison {
    compare(contenders, &targets(), repeats, seed, &Progress::default())
        .unwrap_or_else(|e| panic!("it cannot be compared: {e}"))
}

/// Two scripts of a scenario with a drawn start, care and faults, and a trainee at a sequence.
#[test]
fn each_contender_brings_what_odds_say_of_it() {
    let setup = setup("respiratory-room");
    let library = &content().library;
    let sequence = library.sequence("uk-agp").expect("it is built in");
    let trainee = library.trainee("usual").expect("it is built in");
    let contenders = [
        scripted(&setup, "good", &script("respiratory-room/uk-agp-good").actions),
        scripted(&setup, "no rub", &script("respiratory-room/no-rub").actions),
        Contender {
            label: "usual".to_owned(),
            setup: &setup,
            way: Way::Rehearsed(sequence, trainee),
        },
    ];
    let result = run(&contenders, 200, 5);
    for (c, contender) in contenders.iter().enumerate() {
        let alone = odds(&setup, &contender.way, &targets(), 200, 5, &Progress::default())
            .expect("it can be repeated");
        for (compared, alone) in result.targets.iter().zip(&alone.targets) {
            let brought = &compared.contenders[c];
            let place = format!("{}, {}", contender.label, alone.target);
            assert_eq!(compared.target, alone.target, "targets keep their order");
            assert_eq!(brought.probability, alone.probability, "{place}: chance");
            assert_eq!(
                brought.interval, alone.interval,
                "{place}: interval of the chance"
            );
            assert_eq!(brought.seen, alone.seen, "{place}: chance to be seen");
            assert_eq!(brought.counts, alone.counts, "{place}: counts");
            assert!(
                brought
                    .expected
                    .zip(alone.expected)
                    .is_none_or(|(a, b)| (a - b).abs() <= 1e-9 * b.max(1.0)),
                "{place}: {:?} expected, by odds {:?}",
                brought.expected,
                alone.expected
            );
            assert_eq!(
                brought.histogram.total(),
                200,
                "{place}: the histogram lost repeats"
            );
            assert!(
                (brought.histogram.share(0) - (1.0 - brought.probability)).abs() < 1e-12,
                "{place}: the bin of none is not what is left of the chance"
            );
        }
    }
}

#[test]
fn means_and_their_differences_agree_with_the_exact_expectation() {
    let setup = setup("classic-tracer");
    let (gloves, gown) = (book(&setup, "us-gloves-first"), book(&setup, "uk-agp"));
    let worse = &script("classic-tracer/gown-by-front").actions;
    let contenders = [
        scripted(&setup, "a", &gloves),
        scripted(&setup, "b", &gown),
        scripted(&setup, "c", worse),
    ];
    let result = run(&contenders, 2000, 11);
    for target in &result.targets {
        for (brought, name) in target.contenders.iter().zip(["a", "b", "c"]) {
            // Three half-widths are six standard errors.
            let half = brought.counts.mean_interval.high - brought.counts.mean + 0.01;
            let Some(expected) = brought.expected else {
                assert!(
                    ["hands-peak", "two-places"].contains(&target.target),
                    "{name}: a sum has no mean"
                );
                continue;
            };
            assert!(
                (brought.counts.mean - expected).abs() < 3.1 * half,
                "{}, {name}: counted a mean of {}, expected {expected}",
                target.target,
                brought.counts.mean,
            );
        }
        assert_eq!(
            target
                .pairs
                .iter()
                .map(|p| (p.first, p.second))
                .collect::<Vec<_>>(),
            [(0, 1), (0, 2), (1, 2)],
            "every pair once, in order"
        );
        for pair in &target.pairs {
            let (a, b) = (&target.contenders[pair.first], &target.contenders[pair.second]);
            let place = format!("{}, {} and {}", target.target, pair.first, pair.second);
            let half = pair.means.interval.high - pair.means.difference + 0.01;
            let expected = pair.expected.map(|d| d.difference);
            if let Some(expected) = expected {
                assert!(
                    (pair.means.difference - expected).abs() < 3.1 * half,
                    "{place}: means differ by {}, expectations by {expected}",
                    pair.means.difference,
                );
            }
            let expectations = expected.zip(a.expected).zip(b.expected);
            for (word, paired, apart) in [
                ("means", pair.means.difference, a.counts.mean - b.counts.mean),
                ("chances", pair.chances.difference, a.probability - b.probability),
            ]
            .into_iter()
            .chain(expectations.map(|((paired, a), b)| ("expectations", paired, a - b)))
            {
                assert!(
                    (paired - apart).abs() < 1e-6 * a.counts.mean.max(1.0),
                    "{place}: the difference of {word} is {paired} in pairs and {apart} apart"
                );
            }
            let all = pair.fewer.share + pair.equal.share + pair.more.share;
            assert!(
                (all - 1.0).abs() < 1e-12,
                "{place}: fewer, equal and more add up to {all}"
            );
        }
    }
}

/// Taking the gown by its front puts more on the hands than the same order without that; the sentence says which.
#[test]
fn a_worse_way_is_found_worse_from_either_side() {
    let setup = setup("classic-tracer");
    let good = &script("classic-tracer/us-gloves-first-good").actions;
    let bad = &script("classic-tracer/gown-by-front").actions;
    for (order, verdict) in [
        (
            [scripted(&setup, "good", good), scripted(&setup, "bad", bad)],
            Verdict::FirstLess,
        ),
        (
            [scripted(&setup, "bad", bad), scripted(&setup, "good", good)],
            Verdict::SecondLess,
        ),
    ] {
        let result = run(&order, 1000, 3);
        let hands = result
            .targets
            .iter()
            .find(|t| t.target == "hands")
            .expect("hands are a target");
        let pair = &hands.pairs[0];
        let says = verdict_sentence(&result, hands, pair);
        assert_eq!(pair.verdict, verdict, "hands: {says}");
        assert!(says.starts_with("good brings less"), "the sentence says: {says}");
    }
}

#[test]
fn an_equal_twin_is_equal_in_every_repeat() {
    let setup = setup("respiratory-room");
    let actions = &script("respiratory-room/rubbed-eye").actions;
    let result = run(
        &[
            scripted(&setup, "a", actions),
            scripted(&setup, "its twin", actions),
        ],
        300,
        1,
    );
    for target in &result.targets {
        let pair = &target.pairs[0];
        assert_eq!(pair.equal.share, 1.0, "{}: twins differ", target.target);
        assert_eq!(
            pair.verdict,
            Verdict::Equal,
            "{}: {}",
            target.target,
            verdict_sentence(&result, target, pair)
        );
        assert_eq!(pair.means.difference, 0.0, "{}", target.target);
        assert_eq!(
            pair.expected.map_or(0.0, |d| d.difference),
            0.0,
            "{}",
            target.target
        );
        assert!(
            pair.chances.interval.low < 0.0 && pair.chances.interval.high > 0.0,
            "{}: so many repeats do not show that there is no difference at all",
            target.target
        );
    }
}

#[test]
fn a_comparison_does_not_depend_on_the_number_of_threads() {
    let setup = setup("respiratory-room");
    let contenders = [
        scripted(&setup, "a", &script("respiratory-room/gown-first").actions),
        scripted(&setup, "b", &script("respiratory-room/uk-agp-good").actions),
    ];
    let results: Vec<Comparison> = [1, 2, 3]
        .into_iter()
        .map(|threads| {
            rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .expect("threads can be had")
                .install(|| run(&contenders, 150, 8))
        })
        .collect();
    assert_eq!(results[0], results[1], "one thread and two");
    assert_eq!(results[0], results[2], "one thread and three");
}

#[test]
fn a_stopped_comparison_returns_what_it_has() {
    let setup = setup("classic-tracer");
    let actions = &script("classic-tracer/no-rub").actions;
    let progress = Progress::default();
    progress.stop();
    let contenders = [scripted(&setup, "a", actions), scripted(&setup, "b", actions)];
    let result = compare(&contenders, &targets(), 1000, 1, &progress).expect("stopping is no fault");
    assert_eq!(result.repeats, 0);
    let running = Progress::default();
    let result = compare(&contenders, &targets(), 40, 1, &running).expect("it can be compared");
    assert_eq!((result.repeats, running.done()), (40, 40));
}

#[test]
fn what_cannot_be_compared_is_refused_with_the_reason() {
    let setup = setup("classic-tracer");
    let actions = &script("classic-tracer/no-rub").actions;
    let (a, b) = (scripted(&setup, "a", actions), scripted(&setup, "b", actions));
    let other = scripted(&setup, "apron", &script("enteric-bay/apron-by-front").actions);
    let elsewhere = crate::fixture::setup("respiratory-room");
    let unlike = scripted(&elsewhere, "virus", &script("respiratory-room/no-rub").actions);
    let refused = |contenders: &[Contender<'_>], repeats: u64| {
        compare(contenders, &targets(), repeats, 1, &Progress::default()).expect_err("this must be refused")
    };
    for (message, wanted) in [
        (refused(std::slice::from_ref(&a), 10), "at least two"),
        (refused(&[a.clone(), b.clone()], 0), "at least one repeat"),
        (refused(&[a.clone(), b], MOST_REPEATS + 1), "at most 500000"),
        (
            refused(&[a.clone(), unlike], 10),
            "counts of unlike things cannot be compared",
        ),
        (
            refused(&[a, other], 10),
            "apron: action 5 is refused: this kit has no item `apron`",
        ),
    ] {
        assert!(
            message.contains(wanted),
            "`{message}` does not say that `{wanted}`"
        );
    }
}

/// Worked by hand after Bonett and Price: 3 and 1 discordant of 8 trials give (4 - 2) / 10 and its interval.
#[test]
fn the_paired_interval_is_that_of_the_formula() {
    let interval = paired_interval(3, 1, 8);
    let half = 1.959_964 * ((0.6_f64 - 0.04) / 10.0).sqrt();
    assert!(
        (interval.low - (0.2 - half)).abs() < 1e-6 && (interval.high - (0.2 + half)).abs() < 1e-6,
        "{} to {}",
        interval.low,
        interval.high
    );
}

/// The words are those of the rule in the content: a tenth of the larger, or a point of a hundred.
#[test]
fn much_the_same_is_a_rule_and_not_a_matter_of_chance() {
    let telling = content().library.telling.as_ref().expect("it is built in");
    for (a, b, same) in [
        (0.44, 0.47, true),
        (0.40, 0.50, false),
        (0.24, 0.75, false),
        (1.0, 1.0, true),
        (0.0, 0.0, true),
        (0.002, 0.03, false),
        (0.010, 0.012, true),
    ] {
        assert_eq!(telling.same_share(a, b), same, "{a} and {b}");
        assert_eq!(telling.same_share(b, a), same, "{b} and {a}");
    }
    assert!(telling.too_few > 5, "five repeats tell nothing");
}

#[test]
fn a_handful_of_repeats_is_too_few_to_tell() {
    let setup = setup("classic-tracer");
    let good = &script("classic-tracer/us-gloves-first-good").actions;
    let bad = &script("classic-tracer/gown-by-front").actions;
    let result = run(
        &[scripted(&setup, "good", good), scripted(&setup, "bad", bad)],
        5,
        3,
    );
    for target in &result.targets {
        let pair = &target.pairs[0];
        let says = verdict_sentence(&result, target, pair);
        assert_eq!(pair.verdict, Verdict::TooFew, "{}: {says}", target.target);
        assert!(says.contains("too few to tell"), "{says}");
    }
}

/// However many are brought, nobody wins where everyone is reached, or no one.
#[test]
fn all_against_all_and_none_against_none_are_no_win() {
    let setup = setup("classic-tracer");
    let good = &script("classic-tracer/us-gloves-first-good").actions;
    let contenders = ["gown-by-front", "gown-first", "no-rub", "rubbed-eye"].map(|name| {
        let actions = &script(&format!("classic-tracer/{name}")).actions;
        scripted(&setup, name, actions)
    });
    let all: Vec<Contender<'_>> = [scripted(&setup, "good", good)]
        .into_iter()
        .chain(contenders)
        .collect();
    let result = run(&all, 150, 3);
    let mut met = 0;
    for target in &result.targets {
        for pair in &target.pairs {
            let [a, b] = [pair.first, pair.second].map(|n| target.contenders[n].seen);
            let says = verdict_sentence(&result, target, pair);
            if a == b {
                met += 1;
                assert!(
                    matches!(pair.verdict, Verdict::Alike | Verdict::Equal),
                    "{a} against {b} is called a win: {says}"
                );
                if a == 1.0 {
                    assert!(says.contains("all, in this model"), "{says}");
                }
                if a == 0.0 {
                    assert!(says.contains("none, in this model"), "{says}");
                }
            }
            assert!(!says.contains("inf") && !says.contains("NaN"), "{says}");
        }
    }
    assert!(met > 0, "no two shares are equal, so this tests nothing");
}

/// A script done by people who lapse is not the script: cleanings are left out, things are hurried; and without lapses it
/// is the script itself.
#[test]
fn people_who_lapse_do_a_script_otherwise_and_flawless_ones_do_not() {
    let setup = setup("classic-tracer");
    let library = &content().library;
    let actions = &script("classic-tracer/uk-agp-good").actions;
    let trainee = |id: &str| library.trainee(id).expect("it is built in");
    for seed in 0..20 {
        let did = smirch::analysis::lapse(
            &setup,
            actions,
            trainee("flawless"),
            smirch::chance::Luck::new(seed),
        );
        assert_eq!((&did.actions, did.lapses.len()), (actions, 0), "seed {seed}");
    }
    let lapsed = (0..200)
        .filter(|&seed| {
            let did =
                smirch::analysis::lapse(&setup, actions, trainee("usual"), smirch::chance::Luck::new(seed));
            assert!(did.lapses.is_empty() || did.actions != *actions);
            !did.lapses.is_empty()
        })
        .count();
    assert!(lapsed > 50, "usual practice lapses in {lapsed} of 200 attempts");
}
