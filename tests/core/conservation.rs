//! Nothing is ever created or lost: locally in every event, per source, and over whole drills of any actions.

use std::sync::Arc;

use proptest::prelude::*;
use smirch::chance::{Key, Luck};
use smirch::drill::{Action, Drill};
use smirch::model::{Efficiency, Fate, Hands, Pace, Side, Whereabouts, Zone};
use smirch::transfer::{Books, Cause, Event, Extent, Flow, Outcome, Removal};

use crate::fixture::{Dice, setup};

const SITES: usize = 140;
/// Touches of one run; two runs make the ten million that the suite promises.
const TOUCHES: u64 = 5_000_000;

fn law(dice: &mut Dice) -> Efficiency {
    let mean = dice.fraction();
    let sd = if dice.below(4) == 0 {
        0.0
    } else {
        0.4 * dice.fraction()
    };
    Efficiency { mean, sd }
}

fn share(dice: &mut Dice) -> f64 {
    match dice.below(8) {
        0 => 1.0,
        1 => 0.0,
        _ => dice.fraction(),
    }
}

fn event(dice: &mut Dice, n: u64) -> Event {
    let (a, b) = (dice.below(SITES), dice.below(SITES));
    let b = if a == b { (b + 1) % SITES } else { b };
    let flow = match dice.below(256) {
        0 => Flow::Removal {
            site: a,
            law: Removal {
                mean: 0.5 * dice.fraction(),
                sd: 0.2,
                missed: law(dice),
                partial: dice.fraction(),
            },
            fate: if dice.below(2) == 0 {
                Fate::Inactivated
            } else {
                Fate::WashedAway
            },
        },
        1 => Flow::Splash {
            from: a,
            onto: b,
            law: law(dice),
            wet: 1.0,
        },
        _ => Flow::Contact {
            a,
            b,
            share_a: share(dice),
            share_b: share(dice),
            wet: dice.below(2) == 0,
            slide: false,
            ab: law(dice),
            ba: law(dice),
        },
    };
    let chance = if dice.below(8) == 0 { dice.fraction() } else { 1.0 };
    let follows = n > 0 && dice.below(16) == 0;
    Event {
        key: Key::of("test").within(n),
        at: n as f64,
        cause: Cause::Touch,
        chance,
        follows,
        // A small contact now and then: how much of the patches it meets varies.
        extent: (n % 5 == 1).then(|| Arc::new(Extent::new(0.7, 1.0))),
        spots: None,
        flow,
    }
}

/// Checks one event against what stood on its sites before: per source, what one side loses the other gains.
fn check_locally(event: &Event, outcome: &Outcome, before: &Shadow, books: &Books, n: u64) {
    let (a, b) = event.sites();
    let (moved_ab, moved_ba) = (outcome.moved_ab, outcome.moved_ba);
    let gained = |now: &[u64], then: &[u64]| -> i128 {
        now.iter()
            .zip(then)
            .map(|(&now, &then)| i128::from(now) - i128::from(then))
            .sum()
    };
    let say = || format!("touch {n}: {event:?} gave {outcome:?}");
    for source in 0..books.sources().len() {
        let on = |site: usize| books.row(site)[source];
        let now = on(a) + b.map_or(0, on) + books.inactivated()[source] + books.washed_away()[source];
        let then = before.sum(source);
        assert_eq!(
            now,
            then,
            "{}\nsource {source} had {then} on its sites and sinks, now {now}",
            say()
        );
    }
    let from_a = -gained(books.row(a), &before.a);
    let expected = i128::from(moved_ab) - i128::from(moved_ba);
    assert_eq!(from_a, expected, "{}\nthe first site lost {from_a}", say());
    if !outcome.happened {
        assert_eq!((moved_ab, moved_ba), (0, 0), "{}\nmoved without happening", say());
    }
    let (had_a, had_b): (u64, u64) = (before.a.iter().sum(), before.b.iter().sum());
    assert!(
        moved_ab <= had_a && moved_ba <= had_b,
        "{}\nmore left than was there",
        say()
    );
}

/// The rows that an event may change, as they stood before it.
#[derive(Default)]
struct Shadow {
    a: Vec<u64>,
    b: Vec<u64>,
    inactivated: Vec<u64>,
    washed_away: Vec<u64>,
}

impl Shadow {
    fn take(&mut self, event: &Event, books: &Books) {
        let (a, b) = event.sites();
        let copy = |to: &mut Vec<u64>, from: &[u64]| {
            to.clear();
            to.extend_from_slice(from);
        };
        copy(&mut self.a, books.row(a));
        copy(&mut self.b, b.map_or(&[], |b| books.row(b)));
        copy(&mut self.inactivated, books.inactivated());
        copy(&mut self.washed_away, books.washed_away());
    }

    fn sum(&self, source: usize) -> u64 {
        let b = self.b.get(source).copied().unwrap_or(0);
        self.a[source] + b + self.inactivated[source] + self.washed_away[source]
    }
}

fn touch_at_random(seed: u64) {
    let mut dice = Dice(seed);
    let luck = Luck::new(seed);
    let mut loads = vec![0_u64; SITES];
    let amounts = [1, 7, 300, 50_000, 1_000_000_000_000];
    for amount in amounts {
        loads[dice.below(SITES)] = amount;
    }
    let began = std::time::Instant::now();
    let mut books = Books::open(&loads);
    let mut shadow = Shadow::default();
    // A second record of every row, so that a row changed by an event that does not touch it is noticed.
    let mut rows: Vec<Vec<u64>> = (0..SITES).map(|site| books.row(site).to_vec()).collect();
    let mut before: Option<Outcome> = None;
    for n in 0..TOUCHES {
        if n % 20_000 == 0 {
            // Hygiene takes organisms out, so that a fresh start now and then keeps the books full.
            books = Books::open(&loads);
            rows = (0..SITES).map(|site| books.row(site).to_vec()).collect();
        }
        let event = event(&mut dice, n);
        shadow.take(&event, &books);
        let outcome = books.apply(&event, luck, before.as_ref());
        check_locally(&event, &outcome, &shadow, &books, n);
        let (a, b) = event.sites();
        for site in [Some(a), b].into_iter().flatten() {
            rows[site].copy_from_slice(books.row(site));
        }
        before = Some(outcome);
        if n % 1000 == 999 {
            if let Err(imbalance) = books.balance() {
                panic!("after {} touches: {imbalance}", n + 1);
            }
            for (site, row) in rows.iter().enumerate() {
                assert_eq!(
                    row,
                    books.row(site),
                    "after {} touches site {site} changed unnoticed",
                    n + 1
                );
            }
        }
    }
    let seconds = began.elapsed().as_secs_f64();
    println!(
        "{TOUCHES} touches in {seconds:.1} s: {:.0} a second",
        TOUCHES as f64 / seconds
    );
}

#[test]
fn five_million_random_touches_lose_and_create_nothing() {
    touch_at_random(1);
}

#[test]
fn five_million_other_random_touches_lose_and_create_nothing() {
    touch_at_random(2);
}

/// Four numbers that stand for an action; anything can come of them, sense or nonsense.
type Pick = (u8, u16, u16, f64);

const SCENARIOS: [&str; 5] = [
    "classic-tracer",
    "respiratory-room",
    "enteric-bay",
    "double-gloves",
    "from-the-door",
];
const HANDS: [Option<Hands>; 5] = [
    None,
    Some(Hands::Left),
    Some(Hands::Right),
    Some(Hands::Both),
    Some(Hands::Opposite),
];

fn action(drill: &Drill, (kind, x, y, z): Pick) -> Action {
    let setup = drill.setup();
    let library = &setup.library;
    let (x, y) = (usize::from(x), usize::from(y));
    let side = Side::BOTH[x % 2];
    let zone = Zone::ALL[y % 6];
    match kind % 16 {
        // The next technique, from a random one on, that is possible now: so that drills get somewhere.
        0..=6 => {
            let pairs: Vec<(&str, Option<&str>)> = library
                .techniques
                .iter()
                .flat_map(|t| {
                    setup
                        .items
                        .iter()
                        .map(move |i| (t.id.as_str(), Some(i.id.as_str())))
                })
                .chain(library.techniques.iter().map(|t| (t.id.as_str(), None)))
                .collect();
            let pace = if z > 0.0 { Pace::Steady } else { Pace::Hurried };
            let call = |(technique, item): (&str, Option<&str>)| Action::Do {
                technique: technique.to_owned(),
                item: item.map(str::to_owned),
                hand: HANDS[y % 5],
                pace,
            };
            (0..pairs.len())
                .map(|n| call(pairs[(x + n) % pairs.len()]))
                .find(|action| drill.check(action).is_ok())
                .unwrap_or_else(|| call(pairs[x % pairs.len()]))
        }
        7 => Action::Do {
            technique: library.techniques[x % library.techniques.len()].id.clone(),
            item: Some(setup.items[y % setup.items.len()].id.clone()),
            hand: HANDS[x % 5],
            pace: Pace::Hurried,
        },
        8 => Action::Do {
            technique: format!("no-such-{x}"),
            item: None,
            hand: None,
            pace: Pace::Steady,
        },
        9 | 10 => {
            let site = setup.sites[y % setup.sites.len()].id.clone();
            Action::Touch {
                hand: side,
                with: zone,
                site,
                area: 0.5 + (x % 50) as f64,
            }
        }
        11 => Action::Touch {
            hand: side,
            with: zone,
            site: setup.sites[x % setup.sites.len()].id.clone(),
            area: z,
        },
        12 => {
            let product = library.products[x % library.products.len()].id.clone();
            Action::Clean {
                product,
                doses: y as u32 % 12,
                seconds: 1.0 + (y % 60) as f64,
                skip: vec![zone],
                forearms: false,
            }
        }
        13 => Action::Clean {
            product: "alcohol-rub".to_owned(),
            doses: 2,
            seconds: z,
            skip: Vec::new(),
            forearms: false,
        },
        14 => Action::Walk(Whereabouts::ALL[x % 3]),
        _ => Action::Wait(z),
    }
}

fn picks() -> impl Strategy<Value = Vec<Pick>> {
    let number = prop_oneof![
        6 => 0.01..600.0_f64,
        2 => -10.0..4000.0_f64,
        1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, -0.0, f64::MAX, 1e-320]),
    ];
    prop::collection::vec((any::<u8>(), any::<u16>(), any::<u16>(), number), 0..60)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_actions_keep_the_books_and_refused_ones_change_nothing(
        scenario in 0..SCENARIOS.len(),
        seed in any::<u64>(),
        picks in picks(),
    ) {
        let mut drill = Drill::begin(setup(SCENARIOS[scenario]), seed);
        for pick in picks {
            let action = action(&drill, pick);
            let (state, books, done) = (drill.state().clone(), drill.books().clone(), drill.done().len());
            let possible = drill.check(&action);
            prop_assert!(*drill.state() == state && *drill.books() == books, "checking {:?} changed something", action);
            let result = drill.act(action.clone()).map(|done| done.ended);
            match result {
                Err(refusal) => {
                    prop_assert!(!refusal.reason.is_empty(), "{:?} is refused without a reason", action);
                    prop_assert_eq!(Some(refusal), possible.err(), "check and act disagree on {:?}", action);
                    prop_assert!(*drill.state() == state, "refused {:?} changed the state", action);
                    prop_assert!(*drill.books() == books, "refused {:?} changed the books", action);
                    prop_assert_eq!(drill.done().len(), done, "refused {:?} is on record", action);
                }
                Ok(ended) => {
                    prop_assert!(possible.is_ok(), "{:?} was done though check refuses it", action);
                    prop_assert!(ended.is_finite() && ended >= state.clock, "{:?} turned the clock to {}", action, ended);
                    prop_assert_eq!(drill.done().len(), done + 1);
                }
            }
            prop_assert_eq!(drill.books().balance(), Ok(()), "after {:?}", action);
        }
    }
}
