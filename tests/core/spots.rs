//! Loads in spots: the same mean as an even spread, other shares of people, and nothing else about them is other.

use std::sync::Arc;

use smirch::analysis::{Odds, Progress, Target, Way, odds};
use smirch::chance::Luck;
use smirch::drill::{Action, Beginning, Drill};
use smirch::model::{CareStep, Hands, Load, Setup, Side, Spotted, Start, Zone};
use smirch::transfer::{Cause, Spots};
use smirch::view::numbers::behind_event;

use crate::fixture::{Scratch, bin, clean, content, faults_of, script, spattered, take};

/// The classic exercise with a mean of `total` on the gown's chest and nothing anywhere else.
fn on_the_chest(load: Load) -> Setup {
    let library = &content().library;
    let mut scenario = library
        .scenario("classic-tracer")
        .expect("it is built in")
        .clone();
    scenario.faults.clear();
    scenario.start = vec![Start {
        site: "gown-chest".to_owned(),
        load,
        wet: 0.0,
    }];
    Setup::new(library.clone(), &scenario).unwrap_or_else(|e| panic!("{e}"))
}

fn spots(count: f64, area: f64, total: f64) -> Load {
    Load::Spots {
        spots: Spotted { count, area },
        each: total / count,
    }
}

/// Whoever takes hold of the gown by its front with bare hands.
fn hands(setup: &Setup, repeats: u64) -> Odds {
    let actions = &script("classic-tracer/gown-by-front").actions;
    let (way, progress) = (Way::Script(actions), Progress::default());
    odds(setup, &way, &[Target::Hands], repeats, 5, &progress).unwrap_or_else(|e| panic!("{e}"))
}

/// Of the same amount in three large drops, in a spray of three hundred, and spread evenly, as much gets to hands on average.
/// But drops are mostly missed, so that they get to the hands of far fewer people, and to theirs in plenty; a spray is so
/// dense that it is nearly an even spread.
#[test]
fn the_same_amount_in_few_spots_reaches_fewer_people_and_no_less_of_it() {
    const TOTAL: f64 = 2000.0;
    const REPEATS: u64 = 6000;
    let [few, many, even] = [
        spots(3.0, 2.0, TOTAL),
        spots(300.0, 0.02, TOTAL),
        Load::Poisson(TOTAL),
    ]
    .map(|load| hands(&on_the_chest(load), REPEATS).targets.remove(0));
    let told = format!(
        "any on hands: 3 spots {:.3}, 300 spots {:.3}, evenly {:.3}; by the law {:.3}, {:.3}, {:.3}; means {:.2}, {:.2}, {:.2}; exactly {:?}, {:?}, {:?}; 95 % {}, {}, {}",
        few.probability,
        many.probability,
        even.probability,
        few.law,
        many.law,
        even.law,
        few.counts.mean,
        many.counts.mean,
        even.counts.mean,
        few.expected,
        many.expected,
        even.expected,
        few.counts.p95,
        many.counts.p95,
        even.counts.p95,
    );
    println!("{told}");
    for (one, other) in [(&few, &even), (&many, &even)] {
        // Three half widths are six standard errors.
        let half = |t: &smirch::analysis::TargetOdds| t.counts.mean_interval.high - t.counts.mean;
        let apart = (one.counts.mean - other.counts.mean).abs();
        assert!(apart < 3.0 * half(one).hypot(half(other)), "{told}");
        let (Some(exact), Some(interval)) = (one.expected, one.expected_interval) else {
            panic!("no mean: {told}");
        };
        let even = other.expected.unwrap_or_else(|| panic!("no mean: {told}"));
        assert!(
            (exact - even).abs() < 3.0 * (interval.high - exact) + 0.01 * even,
            "{told}"
        );
    }
    assert!(
        few.interval.high + 0.3 < many.interval.low && (many.law - even.law).abs() < 0.05,
        "{told}"
    );
    assert!(few.counts.p95 > even.counts.p95, "{told}");
}

/// With the same area and the same mean in all, more and more spots come to the even spread, in whom any gets somewhere and
/// in how much the counts differ.
#[test]
fn many_spots_come_to_an_even_spread() {
    const TOTAL: f64 = 4000.0;
    let any = |load: Load| hands(&on_the_chest(load), 3000).targets.remove(0).law;
    let even = any(Load::Poisson(TOTAL));
    let apart = [3.0, 30.0, 300.0, 30_000.0].map(|count| even - any(spots(count, 0.01, TOTAL)));
    assert!(
        apart.is_sorted_by(|a, b| a > b) && apart[0] > 0.2 && apart[3].abs() < 0.01,
        "short of the {even:.3} of an even spread: {apart:?}"
    );
}

/// What is drawn at the beginning: as many spots as were asked for on average, over patches by their areas, and in them as
/// much; a patch without any is empty and dry.
#[test]
fn spots_fall_on_patches_by_their_area_and_hold_what_was_asked_for() {
    let setup = spattered();
    let front = ["gown-chest", "gown-abdomen", "gown-lower-front"].map(|id| setup.site(id).expect("a site"));
    let all: f64 = front.iter().map(|site| setup.sites[*site].area).sum();
    const GOES: u64 = 4000;
    let (mut sums, mut squares, mut empty) = ([0.0; 3], [0.0; 3], 0);
    for n in 0..GOES {
        let beginning = Beginning::draw(&setup, Luck::new(n));
        for (n, site) in front.into_iter().enumerate() {
            let count = beginning.books.total(site);
            sums[n] += count as f64;
            squares[n] += (count as f64).powi(2);
            let wet = beginning.state.wet_until[site] > 0.0;
            assert_eq!(
                wet,
                count > 0,
                "a spot of 3000 is wet, and where there is none it is dry"
            );
            empty += u64::from(count == 0);
        }
    }
    assert!(empty > 0, "six spots on three patches leave some without");
    for (n, site) in front.into_iter().enumerate() {
        let mean = sums[n] / GOES as f64;
        let wanted = 18_000.0 * setup.sites[site].area / all;
        let spread = (squares[n] / GOES as f64 - mean * mean).sqrt();
        assert!(
            (mean - wanted).abs() < 5.0 * spread / (GOES as f64).sqrt(),
            "{}: {mean}, not {wanted}",
            setup.sites[site].id
        );
        // Spots of 3000, a Poisson number of them: the variance is 3000 times the mean, and a little for what each holds.
        let by_spots = (3001.0 * wanted).sqrt();
        assert!((spread / by_spots - 1.0).abs() < 0.1, "{spread}, not {by_spots}");
    }
}

/// A splash of the care lands in spots: as many as are said on average wherever it lands, none where it does not, and what
/// lies there is wet.
#[test]
fn splashes_of_care_land_in_spots() {
    let setup = spattered();
    let mask = setup.site("respirator-front").expect("a site");
    let linen = setup.site("patient-linen").expect("a site");
    let spots = Spots::on(&setup, mask).expect("it is splashed in spots");
    assert!(Spots::on(&setup, linen).is_none(), "the bed is soiled evenly");
    const GOES: u64 = 4000;
    let (mut landed, mut number, mut sum) = (0_u64, 0_u64, 0_u64);
    for n in 0..GOES {
        let luck = Luck::new(n);
        let beginning = Beginning::draw(&setup, luck);
        let splashes = beginning.care.iter().filter(|(event, outcome)| {
            outcome.happened && event.cause == Cause::Splash && event.sites() == (linen, Some(mask))
        });
        let here = splashes.count() as u64;
        let count = spots.number(luck);
        assert!(
            count >= here,
            "each of {here} splashes is one spot at least, and there are {count}"
        );
        assert_eq!(count > 0, here > 0, "spots lie where something has landed");
        assert_eq!(beginning.state.wet_until[mask] > 0.0, here > 0);
        landed += here;
        number += count;
        sum += beginning.books.total(mask);
    }
    // Half of one or two splashes: three quarters, each of three spots.
    let of = |total: u64| total as f64 / GOES as f64;
    assert!((of(landed) - 0.75).abs() < 0.05, "{landed} splashes");
    assert!(
        (number as f64 / landed as f64 - 3.0).abs() < 0.1,
        "{number} spots of {landed} splashes"
    );
    // 0.4 % of 20,000, less what the sleeves took before.
    assert!((of(sum) - 0.75 * 80.0).abs() < 5.0, "{sum}");
}

/// Where the same splash lands in few spots, a small touch meets fewer people with any of it, and as much on average.
#[test]
fn few_drops_of_a_splash_reach_fewer_people_and_as_much_on_average() {
    let told = |spots: Option<Spotted>| {
        let setup = spattered();
        let mut scenario = setup.scenario.clone();
        scenario.faults.clear();
        for step in scenario.care.iter_mut().flat_map(|care| &mut care.steps) {
            if let CareStep::Splash { spots: of, .. } = step {
                *of = spots;
            }
        }
        scenario.start.retain(|start| start.site == "patient-linen");
        let setup = Arc::new(Setup::new(setup.library.clone(), &scenario).expect("it can be set up"));
        let touched = Action::Touch {
            hand: Side::Right,
            with: Zone::FingerPads,
            site: "respirator-front".to_owned(),
            area: 2.0,
        };
        counted(&setup, &touched)
    };
    let even = told(None);
    let few = told(Some(Spotted {
        count: 3.0,
        area: 0.5,
    }));
    assert!(
        few.0 < 0.5 * even.0,
        "{few:?} of people, {even:?} where it is even"
    );
    assert!(
        (few.1 / even.1 - 1.0).abs() < 0.25,
        "{few:?} on average, {even:?} where it is even"
    );
}

/// Of goes, the share in which the right glove's finger pads carry any, and the mean.
fn counted(setup: &Arc<Setup>, action: &Action) -> (f64, f64) {
    const GOES: u64 = 4000;
    let pads = setup.site("right-glove-finger-pads").expect("a site");
    let (mut any, mut sum) = (0, 0);
    for n in 0..GOES {
        let mut drill = Drill::begin(setup.clone(), n);
        drill.act(action.clone()).unwrap_or_else(|e| panic!("{e}"));
        let count = drill.books().total(pads);
        any += u64::from(count > 0);
        sum += count;
    }
    (any as f64 / GOES as f64, sum as f64 / GOES as f64)
}

fn touch() -> Action {
    Action::Touch {
        hand: Side::Right,
        with: Zone::FingerPads,
        site: "gown-chest".to_owned(),
        area: 6.0,
    }
}

/// Rubbing gloves spreads what is on them: contacts have spots before it and none after it, and elsewhere they stay.
#[test]
fn hands_that_are_rubbed_spread_their_spots() {
    let setup = spattered();
    let glove = setup.site("right-glove-finger-pads").expect("a site");
    let gown = setup.site("gown-chest").expect("a site");
    let touches = |actions: &[Action]| -> Vec<(bool, bool)> {
        let mut drill = Drill::begin(setup.clone(), 3);
        for action in actions {
            drill.act(action.clone()).unwrap_or_else(|e| panic!("{e}"));
        }
        let flows = drill.done().iter().flat_map(|done| done.flows());
        let touches = flows.filter(|(event, _)| event.cause == Cause::Touch);
        touches
            .filter(|(event, _)| event.sites() == (glove, Some(gown)))
            .map(|(event, _)| {
                let spots = event.spots.as_ref();
                (
                    spots.is_some_and(|spots| spots[0].is_some()),
                    spots.is_some_and(|spots| spots[1].is_some()),
                )
            })
            .collect()
    };
    let found = touches(&[touch(), clean("alcohol-rub", 25.0), touch()]);
    assert_eq!(found, [(true, true), (false, true)]);
}

/// Whoever asks where the numbers behind a touch come from is told of its spots too, and of none where there are none.
#[test]
fn the_numbers_behind_a_touch_name_its_spots() {
    let mut drill = Drill::begin(spattered(), 1);
    for (_, actions) in scripts().into_iter().take(1) {
        for action in actions {
            drill.act(action).unwrap_or_else(|e| panic!("{e}"));
        }
    }
    let mut met = [0; 2];
    for done in drill.done() {
        for (event, _) in done.flows() {
            let lines = behind_event(drill.setup(), &done.action, event);
            let told = lines
                .iter()
                .any(|line| line.starts_with("In how many spots it lay: "));
            assert_eq!(told, event.spots.is_some(), "{lines:?}");
            met[usize::from(told)] += 1;
        }
    }
    assert!(met[0] > 10 && met[1] > 10, "{met:?}");
}

/// A script that takes the kit off after its gloves were rubbed, beside those of the classic exercise.
pub fn scripts() -> Vec<(String, Vec<Action>)> {
    let mut all: Vec<(String, Vec<Action>)> =
        ["gown-by-front", "hurried", "rubbed-eye", "us-gloves-first-good"]
            .into_iter()
            .map(|name| {
                (
                    name.to_owned(),
                    script(&format!("classic-tracer/{name}")).actions.clone(),
                )
            })
            .collect();
    let rubbed = vec![
        touch(),
        clean("alcohol-rub", 25.0),
        touch(),
        take("glove-pinch-peel", "left-glove"),
        take("glove-slide-under", "right-glove"),
        bin(Hands::Left),
    ];
    all.push(("gloves rubbed first".to_owned(), rubbed));
    all
}

fn spoiled(with: &str) -> Vec<String> {
    let text = std::fs::read_to_string("tests/data/spattered-gown.ron").expect("it is there");
    let start = text
        .find("        Spots(sites: [\"goggles-front\"]")
        .expect("it has spots");
    let end = start + text[start..].find('\n').expect("a line");
    let scratch = Scratch::new("spots");
    let path = scratch.write(
        "spoiled.ron",
        format!("{}        {with}{}", &text[..start], &text[end..]),
    );
    faults_of(path)
}

/// What is wrong with spots is told where it stands.
#[test]
fn faults_of_spots_are_told_with_line_and_column() {
    for (with, at, told) in [
        (
            "Spots(sites: [\"gogles-front\"], count: 4.0, area: 0.01, each: 15.0),",
            "20:23",
            "unknown site `gogles-front`",
        ),
        (
            "Spots(sites: [], count: 4.0, area: 0.01, each: 15.0),",
            "20:9",
            "at least one patch",
        ),
        (
            "Spots(sites: [\"goggles-front\"], count: 0.0, area: 0.01, each: 15.0),",
            "20:48",
            "`count`",
        ),
        (
            "Spots(sites: [\"goggles-front\"], count: 4.0, area: 0.01),",
            "20:9",
            "how much is in these spots is not said",
        ),
        (
            "Spots(sites: [\"goggles-front\"], count: 4.0, area: 0.01, each: 15.0, total: 60.0),",
            "20:9",
            "and these have both",
        ),
        (
            "Spots(sites: [\"left-glove-palm\"], count: 4.0, area: 0.01, each: 15.0),",
            "20:23",
            "has spots and a load that is spread evenly",
        ),
        (
            "Spots(sites: [\"gown-chest\"], count: 4.0, area: 0.01, each: 15.0),",
            "20:23",
            "has spots twice",
        ),
        (
            "Poisson(site: \"gown-chest\", mean: 3.0),",
            "20:23",
            "has spots and a load",
        ),
    ] {
        let found = spoiled(with);
        assert!(
            found.len() == 1 && found[0].contains(&format!("spoiled.ron:{at}:")) && found[0].contains(told),
            "{with}: {found:?}"
        );
    }
    assert_eq!(
        spoiled("Spots(sites: [\"goggles-front\"], count: 4.0, area: 0.01, total: 60.0),"),
        Vec::<String>::new()
    );
}

/// A splash that lands on no person lies in no spots, and what is wrong with its spots is told where it stands.
#[test]
fn faults_of_splashes_in_spots_are_told_with_line_and_column() {
    let text = std::fs::read_to_string("tests/data/spattered-gown.ron").expect("it is there");
    let scratch = Scratch::new("splashed");
    for (was, now, told) in [
        (
            "place.lips",
            "room.bed-rail",
            "only on a place of the person or a hand",
        ),
        ("(count: 3.0", "(count: 0.5", "`count`"),
        ("area: 0.05)", "area: 0.0)", "`area`"),
        ("area: 0.05)", "size: 0.05)", "`size`"),
    ] {
        assert!(text.contains(was), "{was}");
        let path = scratch.write("splashed.ron", text.replacen(was, now, 1));
        let faults = faults_of(path);
        assert!(
            faults
                .iter()
                .any(|fault| fault.contains("splashed.ron:28:") && fault.contains(told)),
            "{now}: {faults:?}"
        );
    }
}
