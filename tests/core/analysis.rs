//! The four ways of computing the same thing agree, on every built-in script and sequence.

use std::sync::Arc;

use smirch::analysis::{
    Aim, Coefficients, ExactLaw, Plan, Progress, Runner, Target, Way, adjoint, blame, by_the_book, ever,
    expectation, expected, mean_interval, odds, wilson,
};
use smirch::chance::Luck;
use smirch::content::Content;
use smirch::drill::{Action, Beginning, Drill, ItemState, State};
use smirch::model::{BodyArea, Holding, Owner, Setup};

use crate::fixture::spattered;

struct Case {
    name: String,
    setup: Arc<Setup>,
    actions: Vec<Action>,
}

/// Every built-in script in its scenario, and every sequence that a scenario offers, followed to the letter; and some of
/// both where the kit is spattered with spots.
fn cases() -> Vec<Case> {
    let content = Content::builtin().expect("built-in content has no faults");
    let setup = |id: &str| {
        let scenario = content.library.scenario(id).expect("scripts name scenarios");
        Arc::new(Setup::new(content.library.clone(), scenario).expect("scenarios can be set up"))
    };
    let mut cases: Vec<Case> = content
        .scripts
        .iter()
        .map(|(name, script)| Case {
            name: name.clone(),
            setup: setup(&script.scenario),
            actions: script.actions.clone(),
        })
        .collect();
    for scenario in &content.library.scenarios {
        for id in scenario.also.iter().chain([&scenario.sequence]) {
            let setup = setup(&scenario.id);
            let sequence = content.library.sequence(id).expect("scenarios name sequences");
            let actions = by_the_book(&setup, sequence)
                .unwrap_or_else(|r| panic!("{} offers {id}, which its kit cannot follow: {r}", scenario.id));
            cases.push(Case {
                name: format!("{} by {id}", scenario.id),
                setup,
                actions,
            });
        }
    }
    let spotted = crate::spots::scripts().into_iter().map(|(name, actions)| Case {
        name: format!("spattered-gown/{name}"),
        setup: spattered(),
        actions,
    });
    cases.extend(spotted);
    cases
}

fn start_of(beginning: &Beginning) -> Vec<f64> {
    beginning.books.totals().iter().map(|&n| n as f64).collect()
}

/// The law with what cannot matter left out is that of the whole backward pass.
#[test]
fn the_exact_law_is_that_of_the_drawn_adjoint() {
    for case in cases() {
        let beginning = Beginning::draw(&case.setup, Luck::new(9));
        let plan =
            Plan::new(&case.setup, &beginning.state.faults, &case.actions).expect("built-in scripts play");
        let start = start_of(&beginning);
        for (word, target) in Target::ALL.into_iter().filter(|(_, t)| *t != Target::TwoPlaces) {
            let aim = Aim::new(&case.setup, &plan, target);
            let start = aim.start_of(&start);
            let mut law = ExactLaw::new(&plan, &beginning, std::slice::from_ref(&aim));
            assert!(law.len() <= plan.len());
            for seed in [1, 2, 3] {
                let value = ever(&plan, &beginning.state.wet_until, aim.moments(), Luck::new(seed));
                let none: f64 = (0..start.len())
                    .filter(|&site| value[site] > 0.0 && start[site] > 0.0)
                    .map(|site| start[site] * (-value[site].min(1.0)).ln_1p())
                    .sum();
                let (whole, pruned) = (-none.exp_m1(), law.reached(Luck::new(seed))[0]);
                assert!(
                    (whole - pruned).abs() <= 1e-9,
                    "{}, {word}, seed {seed}: {whole} by the whole pass, {pruned} by what can matter",
                    case.name
                );
            }
        }
    }
}

/// The chance that two places have something, loaded site by loaded site: from where one organism of each ends with these
/// draws, and from what the sites before it have left as it is: nothing anywhere, something on one place alone, or on two.
#[test]
fn the_law_of_two_places_is_that_of_where_single_organisms_end() {
    let mut between = 0;
    for case in cases() {
        let beginning = Beginning::draw(&case.setup, Luck::new(9));
        let plan =
            Plan::new(&case.setup, &beginning.state.faults, &case.actions).expect("built-in scripts play");
        let start = start_of(&beginning);
        let aim = Aim::new(&case.setup, &plan, Target::TwoPlaces);
        let mut law = ExactLaw::new(&plan, &beginning, std::slice::from_ref(&aim));
        for seed in [1, 2, 3] {
            let (mut none, mut only, mut two) = (1.0, [0.0; BodyArea::ALL.len()], 0.0);
            for site in (0..start.len()).filter(|&site| start[site] > 0.0) {
                let mut one = vec![0.0; start.len()];
                one[site] = 1.0;
                let ends = expectation(
                    &plan,
                    &beginning.state.wet_until,
                    &one,
                    Coefficients::Drawn(Luck::new(seed)),
                );
                let mut there = [0.0; BodyArea::ALL.len()];
                for (site, chance) in case.setup.sites.iter().zip(&ends) {
                    if let Owner::Body(place) = site.owner {
                        let area = BodyArea::of(&case.setup.library.places[place]);
                        there[BodyArea::ALL.iter().position(|a| *a == area).expect("an area")] += chance;
                    }
                }
                let whole: f64 = there.iter().sum();
                let missed = (start[site] * (-whole.min(1.0)).ln_1p()).exp();
                let within = there.map(|own| (start[site] * (-(whole - own).clamp(0.0, 1.0)).ln_1p()).exp());
                let here = within.map(|within| within - missed);
                let spread = 1.0 - missed - here.iter().sum::<f64>();
                two += none * spread;
                for area in 0..here.len() {
                    two += only[area] * (1.0 - within[area]);
                    only[area] = only[area] * within[area] + none * here[area];
                }
                none *= missed;
            }
            let found = law.reached(Luck::new(seed))[0];
            assert!(
                (found - two).abs() < 1e-9,
                "{}, seed {seed}: {found}, organism by organism {two}",
                case.name
            );
            between += u32::from((0.05..0.95).contains(&found));
        }
    }
    assert!(
        between > 20,
        "hardly any case has a chance worth comparing: {between}"
    );
}

#[test]
fn a_plan_runs_to_the_same_books_as_the_drill() {
    for case in cases() {
        for seed in [1, 2, 77] {
            let mut drill = Drill::begin(case.setup.clone(), seed);
            for action in &case.actions {
                if let Err(refusal) = drill.act(action.clone()) {
                    panic!("{}, seed {seed}: {refusal}", case.name);
                }
            }
            let beginning = drill.beginning();
            let plan =
                Plan::new(&case.setup, &beginning.state.faults, &case.actions).expect("it was just played");
            let books = plan.run(beginning, Luck::new(seed));
            // A runner that has already run with other luck has forgotten it.
            let mut runner = Runner::new(&plan, beginning);
            runner.run(Luck::new(seed + 1000));
            assert_eq!(
                runner.run(Luck::new(seed)),
                &books,
                "{}, seed {seed}: a used runner gives other books",
                case.name
            );
            assert_eq!(
                books.digest(),
                drill.books().digest(),
                "{}, seed {seed}: other books",
                case.name
            );
            // How things got into the bin is forgotten.
            let there = |state: &State| -> Vec<(Holding, Option<ItemState>)> {
                let items = state.items.iter();
                items
                    .map(|i| (i.holding, (i.holding != Holding::Binned).then(|| i.clone())))
                    .collect()
            };
            assert_eq!(
                there(&plan.end),
                there(drill.state()),
                "{}, seed {seed}: other ends",
                case.name
            );
        }
    }
}

#[test]
fn expectation_forwards_and_backwards_agree_and_shares_of_blame_add_up() {
    for case in cases() {
        let beginning = Beginning::draw(&case.setup, Luck::new(3));
        let plan =
            Plan::new(&case.setup, &beginning.state.faults, &case.actions).expect("scripts can be played");
        let (start, wet) = (start_of(&beginning), &beginning.state.wet_until);
        for (word, target) in Target::ALL {
            let aim = Aim::new(&case.setup, &plan, target);
            let mean = expected(&plan, wet, &start, std::slice::from_ref(&aim), Coefficients::Mean)[0];
            let Some(moments) = aim.linear() else {
                assert_eq!(mean, None, "{}, {word}: a mean is made up", case.name);
                continue;
            };
            let forwards = mean.unwrap_or_else(|| panic!("{}, {word}: a sum has no mean", case.name));
            let start = &*aim.start_of(&start);
            let end = expectation(&plan, wet, start, Coefficients::Mean);
            if target.counts_at_end_only() {
                let weights = target.weights(&case.setup, &plan.end);
                let at_end: f64 = end.iter().zip(&weights).map(|(n, w)| n * w).sum();
                assert!(
                    (forwards - at_end).abs() < 1e-9 * forwards.max(1.0),
                    "{}, {word}: {forwards} on the way, {at_end} from the end",
                    case.name
                );
            }
            let worth = adjoint(&plan, wet, moments, Coefficients::Mean);
            let backwards: f64 = worth.iter().zip(start).map(|(w, n)| w * n).sum();
            let scale = forwards.max(1.0);
            assert!(
                (forwards - backwards).abs() < 1e-9 * scale,
                "{}, {word}: forwards {forwards}, backwards {backwards}",
                case.name
            );
            let (blames, unmoved) = blame(&plan, wet, start, moments);
            let shares: f64 = blames.iter().map(|b| b.share).sum::<f64>() + unmoved;
            assert!(
                (shares - forwards).abs() < 1e-9 * scale,
                "{}, {word}: shares add up to {shares}, expected {forwards}",
                case.name
            );
        }
    }
}

/// What an event's absence would change, by taking it away: the expectation without it, event by event.
#[test]
fn blame_without_is_what_taking_the_touch_away_changes() {
    for case in cases() {
        let beginning = Beginning::draw(&case.setup, Luck::new(5));
        let plan =
            Plan::new(&case.setup, &beginning.state.faults, &case.actions).expect("scripts can be played");
        let (start, wet) = (start_of(&beginning), &beginning.state.wet_until);
        for target in [Target::AnySkin, Target::HandsBeforeCleaning, Target::NextPatient] {
            let on_target = |plan: &Plan| -> f64 {
                let aim = [Aim::new(&case.setup, plan, target)];
                expected(plan, wet, &start, &aim, Coefficients::Mean)[0].expect("it is a sum")
            };
            let whole = on_target(&plan);
            let aim = Aim::new(&case.setup, &plan, target);
            let (blames, _) = blame(&plan, wet, &start, aim.linear().expect("it is a sum"));
            for b in &blames {
                // Leaks happen with their touch; taking the touch away alone is not what leaving it out means.
                if plan.event(b.event).1.follows
                    || plan.len() > b.event + 1 && plan.event(b.event + 1).1.follows
                {
                    continue;
                }
                let without = whole - on_target(&plan.without(b.event));
                assert!(
                    (without - b.without).abs() < 1e-9 * whole.max(1.0),
                    "{}, event {}: taking it away changes {without}, blamed {}",
                    case.name,
                    b.event,
                    b.without
                );
            }
        }
    }
}

/// Counting, law and expectation over the same repeats, for every script and sequence. With some hundred cases and
/// eleven targets, six standard errors leave a false alarm below one in ten thousand.
#[test]
fn counting_law_and_expectation_agree_within_sampling_error() {
    const REPEATS: u64 = 300;
    let targets: Vec<Target> = Target::ALL.iter().map(|(_, t)| *t).collect();
    for case in cases() {
        let result = odds(
            &case.setup,
            &Way::Script(&case.actions),
            &targets,
            REPEATS,
            9,
            &Progress::default(),
        )
        .expect("scripts can be played");
        for t in &result.targets {
            // Given the efficiencies, counting adds binomial noise to the law.
            let noise = (t.law * (1.0 - t.law) / REPEATS as f64)
                .sqrt()
                .max(1.0 / REPEATS as f64);
            assert!(
                (t.probability - t.law).abs() < 6.0 * noise,
                "{}, {}: counted {}, by the law {}",
                case.name,
                t.target,
                t.probability,
                t.law
            );
            // Where the target is reached a few times in all, the sample does not know its own spread: then that of
            // rare amounts spread like an exponential law, whose mean square is twice the square of their mean.
            let (Some(expected), Some(interval)) = (t.expected, t.expected_interval) else {
                assert!(
                    ["hands-peak", "two-places"].contains(&t.target),
                    "{}: a sum has no mean",
                    case.name
                );
                continue;
            };
            let rare = 1.96 * expected * (2.0 / (t.law.max(1e-9) * REPEATS as f64)).sqrt();
            let half = (t.counts.mean_interval.high - t.counts.mean).max(rare).max(0.01);
            let off = (t.counts.mean - expected).abs();
            // Means of heavy tails converge slowly; three half-widths are six standard errors.
            assert!(
                off < 3.1 * half + 3.1 * (interval.high - expected),
                "{}, {}: counted a mean of {}, expected {expected}",
                case.name,
                t.target,
                t.counts.mean,
            );
        }
    }
}

/// Played as a drill, looked at between actions, and counted by hand.
#[test]
fn what_is_counted_on_the_way_is_what_the_drill_had_on_its_hands() {
    let targets: Vec<Target> = Target::ALL.iter().map(|(_, t)| *t).collect();
    let of = |word: Target| targets.iter().position(|t| *t == word).expect("it is a target");
    let mut before_any = 0;
    for case in cases() {
        for seed in [1, 6] {
            let mut drill = Drill::begin(case.setup.clone(), seed);
            let on = |drill: &Drill, bare: bool| -> u64 {
                let places = 0..case.setup.library.places.len();
                places
                    .filter(|&p| {
                        smirch::guidance::Group::of_place(&case.setup, p) == smirch::guidance::Group::Hands
                    })
                    .filter(|&p| !bare || drill.state().top(&case.setup, p, None).is_none())
                    .map(|p| drill.books().total(p))
                    .sum()
            };
            let (mut peak, mut moments) = (0, Vec::new());
            for (n, action) in case.actions.iter().enumerate() {
                peak = peak.max(on(&drill, true));
                let palm = |side| {
                    let place = case.setup.zone_place(side, smirch::model::Zone::Palm);
                    drill.state().top(&case.setup, place, None).is_none()
                };
                let bare = palm(smirch::model::Side::Left) || palm(smirch::model::Side::Right);
                if bare && matches!(action, Action::Clean { .. }) {
                    moments.push((n, on(&drill, true)));
                }
                drill.act(action.clone()).expect("scripts can be played");
            }
            let end = on(&drill, false);
            moments.push((case.actions.len(), end));
            let found = smirch::analysis::found(&drill, &targets).expect("it was just played");
            let place = format!("{}, seed {seed}", case.name);
            assert_eq!(
                found[of(Target::HandsPeak)].count,
                peak.max(end),
                "{place}: the peak"
            );
            let before = &found[of(Target::HandsBeforeCleaning)];
            let counted: u64 = moments.iter().map(|m| m.1).sum();
            assert_eq!(before.count, counted, "{place}: before each cleaning");
            if moments.len() > 1 {
                let listed: Vec<(usize, u64)> = before.moments.iter().map(|m| (m.action, m.count)).collect();
                assert_eq!(listed, moments, "{place}: moments");
            }
            before_any += counted - end;
            assert_eq!(found[of(Target::Hands)].count, end, "{place}: hands at the end");
            for (target, found) in targets.iter().zip(&found) {
                if target.counts_at_end_only() && target.is_linear() && *target != Target::NextPatient {
                    let weights = target.weights(&case.setup, drill.state());
                    let sites = (0..weights.len()).filter(|&s| weights[s] > 0.0);
                    // What things of the room that count had already is brought by nobody.
                    let brought = |source: &usize| {
                        weights[*source] == 0.0 || !matches!(case.setup.sites[*source].owner, Owner::Room(_))
                    };
                    let books = drill.books();
                    let on = |site: usize| -> u64 {
                        let row = books.sources().iter().zip(books.row(site));
                        row.filter(|(source, _)| brought(source)).map(|(_, n)| n).sum()
                    };
                    let count: u64 = sites.map(on).sum();
                    assert_eq!(found.count, count, "{place}: {}", target.word());
                }
            }
            let mut areas = BodyArea::ALL.map(|area| {
                let of_area = |site: &usize| match case.setup.sites[*site].owner {
                    Owner::Body(place) => BodyArea::of(&case.setup.library.places[place]) == area,
                    _ => false,
                };
                let sites = (0..case.setup.sites.len()).filter(of_area);
                sites.map(|s| drill.books().total(s)).sum::<u64>()
            });
            areas.sort_unstable();
            let second = areas[areas.len() - 2];
            assert_eq!(
                found[of(Target::TwoPlaces)].count,
                second,
                "{place}: second fullest"
            );
            let handed = found[of(Target::NextPatient)].count;
            let outside: u64 = drill.books().totals().iter().sum();
            assert!(handed <= outside, "{place}: more is handed on than there is");
        }
    }
    assert!(
        before_any > 0,
        "nothing was ever on bare hands before a cleaning, so this tests nothing"
    );
}

/// What cleaning is for is hidden by a count at the end: hands soiled at the first glove and cleaned at last are not
/// the same as hands never soiled.
#[test]
fn a_hand_that_was_soiled_and_then_cleaned_is_not_told_as_clean_throughout() {
    let content = Content::builtin().expect("built-in content has no faults");
    let scenario = content
        .library
        .scenario("respiratory-room")
        .expect("it is built in");
    let setup = Setup::new(content.library.clone(), scenario).expect("it can be set up");
    let actions = &content.scripts["respiratory-room/no-rub"].actions;
    let targets = [Target::Hands, Target::HandsBeforeCleaning, Target::HandsPeak];
    let result = odds(
        &setup,
        &Way::Script(actions),
        &targets,
        400,
        2,
        &Progress::default(),
    )
    .expect("nothing is refused");
    let [end, before, peak] = &result.targets[..] else {
        panic!("three were asked for")
    };
    for more in [before, peak] {
        assert!(
            more.probability >= end.probability && more.law >= end.law - 1e-12,
            "{}: reached less often than hands at the end",
            more.target
        );
        assert!(more.counts.mean >= end.counts.mean, "{}", more.target);
    }
}

#[test]
fn odds_do_not_depend_on_the_number_of_threads() {
    let case = cases().swap_remove(3);
    let targets = [Target::AnySkin, Target::Mucosa];
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads can be had");
        pool.install(|| {
            odds(
                &case.setup,
                &Way::Script(&case.actions),
                &targets,
                200,
                4,
                &Progress::default(),
            )
        })
    };
    assert_eq!(run(1), run(4));
}

#[test]
fn a_stopped_computation_returns_what_it_has() {
    let case = cases().swap_remove(0);
    let progress = Progress::default();
    progress.stop();
    let result = odds(
        &case.setup,
        &Way::Script(&case.actions),
        &[Target::Hands],
        1000,
        1,
        &progress,
    );
    assert_eq!(result.expect("nothing is refused").repeats, 0);
}

#[test]
fn a_perfect_run_is_not_shown_as_no_risk() {
    let content = Content::builtin().expect("built-in content has no faults");
    let scenario = content
        .library
        .scenario("classic-tracer")
        .expect("it is built in");
    let setup = Setup::new(content.library.clone(), scenario).expect("it can be set up");
    let sequence = content.library.sequence("uk-agp").expect("it is built in");
    let actions = by_the_book(&setup, sequence).expect("the kit can follow it");
    let result = odds(
        &setup,
        &Way::Script(&actions),
        &[Target::AnySkin],
        400,
        1,
        &Progress::default(),
    )
    .expect("nothing is refused");
    let any = &result.targets[0];
    assert!(
        any.probability > 0.0 && any.interval.high > 0.0,
        "following the sequence came out as no risk at all"
    );
}

/// Clopper-Pearson and Wilson intervals of published counts as printed in textbooks: 200 of 435 is 41.3 to 50.7 by
/// Wilson's score.
#[test]
fn intervals_are_those_of_the_textbooks() {
    let i = wilson(200, 435);
    assert!(
        (i.low - 0.413).abs() < 5e-4 && (i.high - 0.507).abs() < 5e-4,
        "{i:?}"
    );
    let (mean, i) = mean_interval(&[1.0, 2.0, 3.0, 4.0]);
    assert!(
        (mean - 2.5).abs() < 1e-12 && (i.high - mean - 1.959_964 * (5.0_f64 / 3.0 / 4.0).sqrt()).abs() < 1e-6
    );
    assert_eq!(wilson(0, 0).high, 1.0);
}
