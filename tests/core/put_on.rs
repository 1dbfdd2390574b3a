//! How kit was fastened when it was put on: a knot, a bow, a tie that was forgotten.

use std::sync::Arc;

use smirch::analysis::{Coefficients, Plan, Side, by_the_book, expectation, rehearse};
use smirch::chance::Luck;
use smirch::drill::{Action, Drill, State};
use smirch::model::{Does, Fastened, Hands, Need, Pace, PutOn, Setup, Step, Tied, Trainee};

use crate::cli::what_matters;
use crate::fixture::{Scratch, content, faults_of, script, setup};

/// A scenario with one fastening of the gown left so.
fn with(scenario: &str, fastening: &str, tied: Tied) -> Arc<Setup> {
    let mut scenario = setup(scenario).scenario.clone();
    scenario.put_on = vec![PutOn {
        item: "gown".to_owned(),
        fastening: fastening.to_owned(),
        tied,
    }];
    Arc::new(Setup::new(content().library.clone(), &scenario).expect("it differs in a fastening alone"))
}

fn played(setup: &Arc<Setup>, actions: &[Action]) -> Drill {
    let mut drill = Drill::begin(setup.clone(), 1);
    for action in actions {
        drill
            .act(action.clone())
            .unwrap_or_else(|e| panic!("{action:?}: {e}"));
    }
    drill
}

fn undo(tie: &str) -> Action {
    Action::Do {
        technique: format!("gown-undo-{tie}"),
        item: Some("gown".to_owned()),
        hand: Some(Hands::Both),
        pace: Pace::Steady,
    }
}

/// Bows are what there is without a word.
#[test]
fn a_bow_is_what_is_there_without_a_word() {
    let name = "respiratory-room/uk-agp-good";
    let actions = &script(name).actions;
    let plain = played(&setup("respiratory-room"), actions);
    let bow = played(&with("respiratory-room", "neck-tie", Tied::Bow), actions);
    assert_eq!(plain.books().digest(), bow.books().digest());
    assert_eq!(plain.state().clock, bow.state().clock);
}

/// A knot takes as much longer as its content says, once, and as long as it is tied; then it is a gown like any other.
#[test]
fn a_knot_takes_longer_and_is_met_more() {
    for tie in ["neck-tie", "waist-tie"] {
        let (bow, knot) = (
            setup("respiratory-room"),
            with("respiratory-room", tie, Tied::Knot),
        );
        let technique = bow
            .library
            .technique(&format!("gown-undo-{tie}"))
            .expect("built in");
        let more = technique.knot.as_ref().expect("it undoes a tie").seconds;
        let actions = &script("respiratory-room/no-rub").actions;
        let (a, b) = (played(&bow, actions), played(&knot, actions));
        let longer = b.state().clock - a.state().clock;
        assert!(
            (longer - more).abs() < 1e-9,
            "{tie}: {longer} s longer, not {more}"
        );
        for (n, (a, b)) in a.done().iter().zip(b.done()).enumerate() {
            let undoes = a.action == undo(tie)
                || matches!(&a.action, Action::Do { technique, .. } if *technique == format!("gown-undo-{tie}"));
            assert_eq!(b.happened.len() > a.happened.len(), undoes, "{tie}: action {n}");
        }
    }
}

/// Whatever is on fingers or tie, a knot brings no less of it to the neck than a bow does.
#[test]
fn unwashed_fingers_leave_more_on_the_neck_with_a_knot() {
    let mean = |setup: &Setup| {
        let plan = Plan::new(setup, &[], &script("respiratory-room/no-rub").actions).expect("it can be done");
        let glove = setup.site("right-fingertips").expect("a hand has fingertips");
        let mut start = vec![0.0; setup.sites.len()];
        start[glove] = 1000.0;
        let dry = vec![0.0; setup.sites.len()];
        let end = expectation(&plan, &dry, &start, Coefficients::Mean);
        end[setup.site("neck-back").expect("a body has a neck")]
    };
    let bow = mean(&setup("respiratory-room"));
    let knot = mean(&with("respiratory-room", "neck-tie", Tied::Knot));
    assert!(knot > 1.3 * bow, "{knot} with a knot, {bow} with a bow");
}

/// A tie that nobody tied is not there to be undone, nor is it asked for.
#[test]
fn what_was_left_open_needs_no_undoing() {
    let open = with("respiratory-room", "waist-tie", Tied::Open);
    let mut drill = Drill::begin(open.clone(), 1);
    let refusal = drill
        .act(undo("waist-tie"))
        .expect_err("there is nothing to undo");
    assert!(refusal.to_string().contains("undone already"), "{refusal}");
    for id in [&open.scenario.sequence].into_iter().chain(&open.scenario.also) {
        let sequence = open.library.sequence(id).expect("it is built in");
        let actions = by_the_book(&open, sequence).unwrap_or_else(|e| panic!("{id}: {e}"));
        let asked =
            |a: &Action| matches!(a, Action::Do { technique, .. } if technique == "gown-undo-waist-tie");
        assert!(!actions.iter().any(asked), "{id}: the open tie is undone");
        played(&open, &actions);
    }
}

/// Where a tie can be a knot, whatever undoes it and does not tear it says what a knot costs, and what waits for one is
/// never met with a bow.
#[test]
fn every_way_of_untying_knows_knots() {
    let library = &content().library;
    let mut knots = 0;
    for item in library.items.iter().filter(|item| item.like.is_empty()) {
        for tie in item.fastenings.iter().filter(|f| f.knots) {
            let unties = |t: &&smirch::model::Technique| {
                t.items.contains(&item.id)
                    && t.steps
                        .iter()
                        .any(|s| matches!(s, Step::Undo(id) if *id == tie.id))
                    && !t.needs.contains(&Need::AnyTied)
                    && (t.does == Does::Loosens || t.needs.iter().any(|n| matches!(n, Need::Undone(_))))
            };
            let untying: Vec<_> = library.techniques.iter().filter(unties).collect();
            assert!(!untying.is_empty(), "{} {}: nothing unties it", item.id, tie.id);
            for technique in untying {
                let waits = technique.steps.iter().filter(|s| {
                    matches!(s, Step::Contact { only_if: Some((id, Fastened::Knotted)), .. } if *id == tie.id)
                });
                assert!(
                    technique.knot.is_some() && waits.count() > 0,
                    "{}: a knot in the {} changes nothing",
                    technique.id,
                    tie.label
                );
                knots += 1;
            }
        }
    }
    assert!(knots >= 4, "only {knots} ways of untying were looked at");
    let setup = with("respiratory-room", "neck-tie", Tied::Knot);
    let state = State::dressed(&setup);
    let gown = setup.item("gown").expect("it is worn");
    assert!(state.is_knotted(gown, 0) && !state.is_knotted(gown, 1));
}

/// The pair that differs in a knot alone does so, and both of its sides can be played.
#[test]
fn a_pair_may_differ_in_how_kit_was_put_on() {
    let content = content();
    let duel = content.library.duel("bow-or-knot").expect("it is built in");
    let [bow, knot] = Side::both(content, duel).expect("both can be played");
    assert_eq!(bow.actions, knot.actions);
    let tied = |side: &Side| {
        let gown = side.setup.item("gown").expect("it is worn");
        side.setup.items[gown].tied.clone()
    };
    assert_eq!(tied(&bow), [Tied::Bow, Tied::Open]);
    assert_eq!(tied(&knot), [Tied::Knot, Tied::Open]);
    assert_eq!(bow.setup.scenario.start, knot.setup.scenario.start);
}

/// Slips in `put_on` are told with what would be right.
#[test]
fn slips_in_how_kit_was_put_on_are_told() {
    let text = include_str!("../../scenarios/emergency-call.ron")
        .replace("id: \"emergency-call\"", "id: \"own-call\"");
    let scratch = Scratch::new("put-on");
    for (from, to, told) in [
        (
            "item: \"gown\", fastening: \"neck-tie\"",
            "item: \"gwon\", fastening: \"neck-tie\"",
            "unknown item of this kit `gwon`",
        ),
        (
            "fastening: \"neck-tie\"",
            "fastening: \"neck\"",
            "unknown fastening of `gown` `neck`",
        ),
        ("tied: Knot", "tied: Granny", "unknown"),
        (
            "item: \"gown\", fastening: \"waist-tie\"",
            "item: \"goggles\", fastening: \"strap\"",
            "nothing would hold the goggles any more",
        ),
        (
            "item: \"gown\", fastening: \"waist-tie\", tied: Open",
            "item: \"respirator\", fastening: \"top-strap\", tied: Open), (item: \"respirator\", fastening: \"bottom-strap\", tied: Open",
            "nothing would hold the respirator any more",
        ),
        (
            "item: \"gown\", fastening: \"neck-tie\"",
            "item: \"left-glove\", fastening: \"cuff\"",
            "the left glove has nothing to fasten",
        ),
        (
            "fastening: \"waist-tie\"",
            "fastening: \"neck-tie\"",
            "the `neck-tie` of `gown` is there twice",
        ),
        (
            "item: \"gown\", fastening: \"neck-tie\", tied: Knot",
            "item: \"goggles\", fastening: \"strap\", tied: Knot",
            "the strap of `goggles` is not tied",
        ),
    ] {
        let path = scratch.path("own.ron");
        assert!(text.contains(from), "{from}");
        std::fs::write(&path, text.replacen(from, to, 1)).expect("a scratch folder can be written to");
        let faults = faults_of(path.clone()).join("\n");
        assert!(faults.contains(told), "{to}: {faults}");
        assert!(faults.contains("own.ron:"), "no place: {faults}");
    }
}

/// Whoever points at a knotted tie reads that it is one, and not once it is undone; at a bow, never.
#[test]
fn the_list_of_ways_tells_a_knot() {
    let read = |setup: &Arc<Setup>| -> Vec<String> {
        let drill = Drill::begin(setup.clone(), 1);
        let site = setup.site("gown-neck-tie").expect("a gown has one");
        let list = smirch::view::options(&drill, site, smirch::model::Side::Right);
        list.into_iter().map(|choice| choice.label).collect()
    };
    let knot = |labels: &[String]| labels.iter().filter(|l| l.contains("the knot")).count();
    assert_eq!(knot(&read(&with("respiratory-room", "neck-tie", Tied::Knot))), 1);
    assert_eq!(knot(&read(&setup("respiratory-room"))), 0);
}

/// People who lapse tear a knot that somebody else would pick apart, as often as is stated, and never a bow for that reason.
#[test]
fn a_knot_is_torn_now_and_then_and_a_bow_is_not() {
    let library = &content().library;
    let hasty = Trainee {
        tears_knots: 0.4,
        ..library.trainee("flawless").expect("it is built in").clone()
    };
    let sequence = library.sequence("uk-agp").expect("it is built in");
    let torn = |tied: Tied, trainee: &Trainee| {
        let setup = with("respiratory-room", "neck-tie", tied);
        let torn = |seed: &u64| {
            let did = rehearse(&setup, sequence, trainee, Luck::new(*seed)).expect("it can be followed");
            let pulled = did.actions.iter().any(
                |action| matches!(action, Action::Do { technique, .. } if technique == "gown-pull-front"),
            );
            assert_eq!(
                pulled,
                did.lapses.iter().any(|lapse| lapse == "gown by gown-pull-front"),
                "{:?}",
                did.lapses
            );
            pulled
        };
        (0..500).filter(torn).count()
    };
    assert_eq!(torn(Tied::Bow, &hasty), 0);
    let times = torn(Tied::Knot, &hasty);
    // Three standard errors of 500.
    assert!((167..=233).contains(&times), "{times} of 500");
    assert_eq!(
        torn(Tied::Knot, library.trainee("flawless").expect("it is built in")),
        0
    );
    // What is said to matter of it is asked where there is a knot, and of whom it is.
    let turned = |scenario: &str, who: &str| what_matters(scenario, who).contains("usual, tears a knot\t");
    assert!(turned("emergency-call", "usual") && !turned("emergency-call", "flawless"));
    assert!(!turned("respiratory-room", "usual"));
}
