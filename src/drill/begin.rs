//! How a drill begins: which faults are there, what sits where, and the care given before it.

use crate::chance::{Key, Luck, Purpose, lognormal, poisson, uniform};
use crate::model::{CareStep, Effect, Efficiency, Fault, Load, Setup};
use crate::transfer::{Books, Cause, Event, Flow, Outcome, Spots, care_repeats, care_step};

use super::contact::{contact, leaks, soaks};
use super::resolve::{Frame, sites};
use super::{ActiveFault, Planned, State};

/// The state and the books at the moment the drill starts, and how they came to be.
#[derive(Clone, Debug)]
pub struct Beginning {
    /// Everything but the counts.
    pub state: State,
    /// The counts; every site that carries something is a source.
    pub books: Books,
    /// Loads drawn before any care was given, per site.
    pub before_care: Vec<u64>,
    /// What the care moved.
    pub care: Vec<(Event, Outcome)>,
}

impl Beginning {
    /// Draws the beginning of a drill.
    pub fn draw(setup: &Setup, luck: Luck) -> Beginning {
        let mut state = State::dressed(setup);
        draw_faults(setup, luck, &mut state);
        let mut loads = vec![0_u64; setup.sites.len()];
        for start in &setup.scenario.start {
            let Some(site) = setup.site(&start.site) else {
                continue;
            };
            let mut rng = luck.stream(Key::of("start").named(&start.site), Purpose::Load);
            let spots = Spots::on(setup, site).map(|spots| spots.at_the_start(luck));
            // Luck is the same with and without what makes it more.
            let load = match factor(setup, &state, &start.site) {
                1.0 => start.load,
                factor => start.load.times(factor),
            };
            loads[site] += match load {
                Load::Fixed(amount) => amount,
                Load::Poisson(mean) => poisson(&mut rng, mean),
                Load::Lognormal { median, gsd } => lognormal(&mut rng, median, gsd).min(1_000_000_000_000),
                Load::Spots { each, .. } => poisson(&mut rng, spots.unwrap_or(0) as f64 * each),
            };
            if spots == Some(0) && matches!(start.load, Load::Spots { .. }) {
                continue;
            }
            state.wet_until[site] = state.wet_until[site].max(start.wet);
        }
        let mut books = Books::open(&loads);
        let care = give_care(setup, luck, &mut state, &mut books);
        let books = if care.is_empty() {
            books
        } else {
            Books::open(&books.totals())
        };
        // The care ran on a clock of its own; the drill's starts at zero, and what is wet stays wet for the rest.
        let spent = state.clock;
        for until in &mut state.wet_until {
            *until = (*until - spent).max(0.0);
        }
        state.clock = 0.0;
        Beginning {
            state,
            books,
            before_care: loads,
            care,
        }
    }
}

/// How many times as much sits on a site at the start by what is true of the person.
fn factor(setup: &Setup, state: &State, site: &str) -> f64 {
    let times = |fault: &ActiveFault| match setup.library.fault(&fault.fault).map(|f| &f.effect) {
        Some(Effect::Loads { places, factor, .. }) if places.iter().any(|id| id == site) => *factor,
        _ => 1.0,
    };
    state.faults.iter().map(times).product()
}

fn draw_faults(setup: &Setup, luck: Luck, state: &mut State) {
    for used in &setup.scenario.faults {
        let Some(fault) = setup.library.fault(&used.fault) else {
            continue;
        };
        let (item, key) = match &used.item {
            Some(id) => match setup.item(id) {
                Some(item) => (Some(item), Key::of("fault").named(&used.fault).named(id)),
                None => continue,
            },
            None => (None, Key::of("fault").named(&used.fault)),
        };
        if uniform(&mut luck.stream(key, Purpose::Happens)) < used.chance {
            state.faults.extend(active(setup, luck, fault, item, key));
        }
    }
    // What comes with it is drawn for each by itself, so that whoever puts one right is rid of what came with that one.
    for cause in state.faults.clone() {
        let effect = setup.library.fault(&cause.fault).map(|fault| &fault.effect);
        let Some(Effect::Brings { fault, chance, .. }) = effect else {
            continue;
        };
        let Some(brought) = setup.library.fault(fault) else {
            continue;
        };
        let of_kit = |&item: &usize| !setup.items[item].spare && brought.is_of(setup.definition(item));
        let items: Vec<Option<usize>> = match brought.is_of_person() {
            true => vec![None],
            false => (0..setup.items.len()).filter(of_kit).map(Some).collect(),
        };
        for item in items {
            let id = item.map_or("person", |item| &setup.items[item].id);
            let key = Key::of("brought").named(&cause.fault).named(fault).named(id);
            if uniform(&mut luck.stream(key, Purpose::Brought)) < *chance {
                let found = active(setup, luck, brought, item, key);
                state.faults.extend(found.map(|found| ActiveFault {
                    by: Some((cause.fault.clone(), cause.item)),
                    ..found
                }));
            }
        }
    }
}

/// A fault that is there, in the part that it is in; none if the item has no such part.
fn active(setup: &Setup, luck: Luck, fault: &Fault, item: Option<usize>, key: Key) -> Option<ActiveFault> {
    let kit = item.map(|item| &setup.items[item]);
    let (part, leak) = match &fault.effect {
        Effect::Gap { part } => (Some(kit?.part(part)?), None),
        Effect::Leak {
            part: Some(part),
            area,
        } => (Some(kit?.part(part)?), Some(*area)),
        Effect::Leak { part: None, area } => {
            let draw = uniform(&mut luck.stream(key, Purpose::Which));
            (Some((draw * kit?.parts.len() as f64) as usize), Some(*area))
        }
        Effect::Loads { .. } | Effect::Misses { .. } | Effect::Brings { .. } | Effect::Nothing => {
            (None, None)
        }
    };
    Some(ActiveFault {
        fault: fault.id.clone(),
        item,
        part,
        leak,
        by: None,
    })
}

fn give_care(setup: &Setup, luck: Luck, state: &mut State, books: &mut Books) -> Vec<(Event, Outcome)> {
    let mut record: Vec<(Event, Outcome)> = Vec::new();
    // Care wets things until a time on its own clock; start loads were given on the drill's, which begins after it.
    let total: f64 = setup
        .scenario
        .care
        .iter()
        .enumerate()
        .map(|(n, care)| care.seconds * f64::from(care_repeats(luck, n, care.times)))
        .sum();
    for until in state.wet_until.iter_mut().filter(|until| **until > 0.0) {
        *until += total;
    }
    for (n, care) in setup.scenario.care.iter().enumerate() {
        for repeat in 0..care_repeats(luck, n, care.times) {
            for (s, step) in care.steps.iter().enumerate() {
                let at = state.clock + care.seconds * (s as f64 + 0.5) / care.steps.len() as f64;
                for side in care.hand.sides(None) {
                    let frame = Frame {
                        acting: side,
                        item: None,
                    };
                    let key = care_step(n, repeat, s, side);
                    let mut planned = Vec::new();
                    match step {
                        CareStep::Contact {
                            a,
                            b,
                            area,
                            slide,
                            chance,
                        } => {
                            let law = if *chance >= 1.0 {
                                (Cause::Touch, 1.0)
                            } else {
                                (Cause::Brush, *chance)
                            };
                            for (a, _) in sites(setup, state, frame, a) {
                                for (b, _) in sites(setup, state, frame, b) {
                                    contact(setup, state, &mut planned, (a, b), *area, *slide, law, key, at);
                                }
                            }
                        }
                        CareStep::Splash {
                            from,
                            onto,
                            fraction,
                            sd,
                            chance,
                            wet,
                            spots: _,
                        } => {
                            let Some(from) = setup.furniture(from) else {
                                continue;
                            };
                            for (onto, _) in sites(setup, state, frame, onto) {
                                let law = Efficiency {
                                    mean: *fraction,
                                    sd: *sd,
                                };
                                planned.push(Planned::Flow(Event {
                                    key,
                                    at,
                                    cause: Cause::Splash,
                                    chance: *chance,
                                    follows: false,
                                    flow: Flow::Splash {
                                        from,
                                        onto,
                                        law,
                                        wet: *wet,
                                    },
                                    extent: None,
                                    spots: None,
                                }));
                                leaks(setup, state, &mut planned, &[onto], *chance, key, at);
                                // What is splashed is wet at once, and all of it.
                                let area = setup.sites[onto].area;
                                soaks(setup, state, &mut planned, &[(onto, area)], *chance, key, at);
                            }
                        }
                    }
                    let mut before = None;
                    for planned in planned {
                        let Planned::Flow(event) = planned else { continue };
                        let outcome = books.apply(&event, luck, before.as_ref());
                        if let (Flow::Splash { onto, wet, .. }, true) = (&event.flow, outcome.happened) {
                            state.wet_until[*onto] = state.wet_until[*onto].max(at + wet);
                        }
                        before = Some(outcome);
                        record.push((event, outcome));
                    }
                    if !step.is_sided() {
                        break;
                    }
                }
            }
            state.clock += care.seconds;
        }
    }
    record
}
