//! Ways of doing it compared with the same luck agree with what each gives alone, and never depend on threads.

use smirch::analysis::{Better, Contender, Doing, Progress, Target, Way, by_sequence, compare, odds};
use smirch::drill::Action;

use crate::fixture::{content, setup};

fn script(name: &str) -> Vec<Action> {
    content().scripts[name].actions.clone()
}

fn contender(name: &str) -> Contender<'static> {
    Contender {
        label: name.to_owned(),
        doing: Doing::Actions(script(name)),
    }
}

const TARGETS: [Target; 3] = [Target::AnySkin, Target::Hands, Target::Mucosa];

#[test]
fn each_contender_stands_as_it_does_alone() {
    let setup = setup("classic-tracer");
    let names = ["classic-tracer/uk-agp-good", "classic-tracer/gown-by-front"];
    let both = names.map(contender);
    let result = compare(&setup, &both, &TARGETS, 600, 5, &Progress::default());
    let result = result.unwrap_or_else(|e| panic!("{e}"));
    for (c, name) in names.iter().enumerate() {
        let actions = script(name);
        let alone = odds(
            &setup,
            &Way::Script(&actions),
            &TARGETS,
            600,
            5,
            &Progress::default(),
        );
        let alone = alone.unwrap_or_else(|e| panic!("{e}"));
        for (at, alone) in result.targets.iter().zip(&alone.targets) {
            let standing = &at.standings[c];
            assert_eq!(standing.any, alone.probability, "{name}, {}", at.target);
            assert_eq!(standing.seen, alone.seen, "{name}, {}", at.target);
            assert_eq!(standing.counts, alone.counts, "{name}, {}", at.target);
            assert!((standing.expected - alone.expected).abs() < 1e-9);
            assert!((standing.law - alone.law).abs() < 1e-12);
            assert_eq!(standing.histogram.total(), 600);
        }
    }
}

#[test]
fn differences_are_those_of_the_exact_expectation_within_sampling_error() {
    let setup = setup("classic-tracer");
    let both = [
        contender("classic-tracer/uk-agp-good"),
        contender("classic-tracer/gown-by-front"),
    ];
    let result = compare(&setup, &both, &TARGETS, 4000, 1, &Progress::default());
    let result = result.unwrap_or_else(|e| panic!("{e}"));
    for at in &result.targets {
        let pair = at.pairs[0];
        let (mean, interval) = pair.difference;
        // Twice the 95 % interval: about four standard errors.
        let room = 2.0 * (interval.high - interval.low) / 2.0 + 1e-9;
        assert!(
            (mean - pair.expected).abs() <= room,
            "{}: {mean} beside {}",
            at.target,
            pair.expected
        );
        let sum = pair.fewer.0 + pair.equal.0 + pair.more.0;
        assert!((sum - 1.0).abs() < 1e-12);
    }
    let skin = &result.targets[0].pairs[0];
    assert_eq!(
        skin.better,
        Better::First,
        "bare hands on the gown's front bring more: {skin:?}"
    );
}

#[test]
fn a_thing_compared_with_itself_is_always_equal() {
    let setup = setup("respiratory-room");
    let twin = contender("respiratory-room/no-rub");
    let result = compare(
        &setup,
        &[twin.clone(), twin],
        &TARGETS,
        200,
        3,
        &Progress::default(),
    );
    for at in result.unwrap_or_else(|e| panic!("{e}")).targets {
        assert_eq!(
            (at.pairs[0].equal.0, at.pairs[0].better),
            (1.0, Better::Neither),
            "{}",
            at.target
        );
    }
}

#[test]
fn results_do_not_depend_on_the_number_of_threads() {
    let setup = setup("classic-tracer");
    let library = &content().library;
    let trainee = library.trainee("usual").unwrap_or_else(|| panic!("built in"));
    let sequences = ["us-gloves-first", "us-gown-with-gloves"].map(|id| {
        let sequence = library.sequence(id).unwrap_or_else(|| panic!("no `{id}`"));
        Contender {
            label: id.to_owned(),
            doing: Doing::Rehearsed(sequence, trainee),
        }
    });
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap_or_else(|e| panic!("{e}"))
            .install(|| compare(&setup, &sequences, &TARGETS, 300, 8, &Progress::default()))
    };
    assert_eq!(with(1), with(3));
}

#[test]
fn wrong_questions_are_answered_in_words() {
    let setup = setup("enteric-bay");
    let one = contender("enteric-bay/uk-droplet-good");
    let ask =
        |list: &[Contender<'_>], repeats| compare(&setup, list, &TARGETS, repeats, 1, &Progress::default());
    let said = |r: Result<_, String>| {
        r.map(|_: smirch::analysis::Comparison| ())
            .err()
            .unwrap_or_default()
    };
    assert!(said(ask(&[one.clone()], 10)).contains("two ways"));
    assert!(said(ask(&[one.clone(), one.clone()], 0)).contains("0 repeats"));
    let sequence = content()
        .library
        .sequence("uk-agp")
        .unwrap_or_else(|| panic!("built in"));
    let cannot = by_sequence(&setup, sequence)
        .map(|_| ())
        .err()
        .unwrap_or_default();
    assert!(
        cannot.is_empty() || cannot.contains("cannot be followed"),
        "{cannot}"
    );
}

#[test]
fn stopping_gives_what_is_done_so_far() {
    let setup = setup("classic-tracer");
    let progress = Progress::default();
    progress.stop();
    let twin = contender("classic-tracer/uk-agp-good");
    let result = compare(&setup, &[twin.clone(), twin], &TARGETS, 1000, 1, &progress);
    assert_eq!(result.map(|c| c.repeats), Ok(0));
}
