//! The exact expectation, forwards and backwards.
//!
//! Given its efficiencies every event is linear in the counts, and efficiencies of different events are independent,
//! so the mean of the end is the product of mean events applied to the start. A brush and the leaks that follow it
//! happen or not together and are averaged together.

use std::borrow::Cow;
use std::sync::Arc;

use crate::chance::{Luck, PEOPLE};
use crate::model::SiteIndex;

use super::Plan;
use super::aim::{Aim, Moment};
pub(super) use super::coefficients::{Coefficients, Step, backward, forward, touched};
use super::live::{Live, live};
use super::part::PartEvent;
use super::plan::Placed;

/// What the events of a group do to one organism.
fn steps<'a>(
    placed: &'a Placed,
    group: &'a [Arc<PartEvent>],
    wet_until: &'a [f64],
    with: Coefficients,
) -> impl DoubleEndedIterator<Item = Step> + Clone + 'a {
    let events = group.iter();
    events.map(move |event| event.actual(placed.began, wet_until).step(with))
}

/// Counts on every site, with people of each sort, or with one kind of people only.
type Counts<const N: usize> = Vec<[f64; N]>;

/// Goes forwards through events, and tells of the counts before each.
fn through<const N: usize>(
    live: &[Live<'_>],
    start: &[f64],
    with: Coefficients,
    mut before: impl FnMut(usize, &[[f64; N]]),
) -> Counts<N> {
    let mut x: Counts<N> = start.iter().map(|&count| [count; N]).collect();
    let together = with.together();
    for group in live.chunk_by(|one, next| together && next.joins(one)) {
        before(group[0].index(), &x);
        let weight = with.weight(group[0].leader);
        if weight <= 0.0 {
            continue;
        }
        let steps = group.iter().map(|live| (live.sites(), lanes(live, with)));
        if weight >= 1.0 {
            steps.for_each(|(sites, shares)| pass(&mut x, sites, shares));
            continue;
        }
        if let [live] = group {
            // A brush without leaks, as nearly all are.
            let (a, b) = live.sites();
            let old = (x[a], x[b]);
            pass(&mut x, (a, b), lanes(live, with));
            mix(weight, &old.0, &mut x[a]);
            if b != a {
                mix(weight, &old.1, &mut x[b]);
            }
            continue;
        }
        let mut old: Vec<(SiteIndex, [f64; N])> = Vec::with_capacity(2 * group.len());
        for site in group.iter().flat_map(|live| <[SiteIndex; 2]>::from(live.sites())) {
            if !old.iter().any(|(s, _)| *s == site) {
                old.push((site, x[site]));
            }
        }
        steps.for_each(|(sites, shares)| pass(&mut x, sites, shares));
        for (site, old) in old {
            mix(weight, &old, &mut x[site]);
        }
    }
    x
}

/// The shares that an event moves there and back, for people of each sort.
fn lanes<const N: usize>(live: &Live<'_>, with: Coefficients) -> [[f64; N]; 2] {
    if N == PEOPLE {
        let [there, back] = live.shares();
        return [
            std::array::from_fn(|n| there[n]),
            std::array::from_fn(|n| back[n]),
        ];
    }
    match live.step(with) {
        Step::Between(_, _, ab, ba) => [[ab; N], [ba; N]],
        Step::From(_, p) => [[p; N], [0.0; N]],
    }
}

/// Moves these shares of what is on two sites, or takes a share away from one.
fn pass<const N: usize>(x: &mut [[f64; N]], (a, b): (SiteIndex, SiteIndex), [there, back]: [[f64; N]; 2]) {
    let (mut on_a, mut on_b) = (x[a], x[b]);
    if a == b {
        (0..N).for_each(|n| on_a[n] *= 1.0 - there[n]);
        x[a] = on_a;
        return;
    }
    for n in 0..N {
        let (out, back) = (on_a[n] * there[n], on_b[n] * back[n]);
        on_a[n] += back - out;
        on_b[n] += out - back;
    }
    x[a] = on_a;
    x[b] = on_b;
}

/// What is there if something happened with a probability.
fn mix<const N: usize>(weight: f64, old: &[f64; N], now: &mut [f64; N]) {
    for (now, old) in now.iter_mut().zip(old) {
        *now = (1.0 - weight) * old + weight * *now;
    }
}

/// The mean of what was found with people of each sort.
fn mean<const N: usize>(found: &[f64; N]) -> f64 {
    found.iter().sum::<f64>() / N as f64
}

/// Events that can carry something from these counts.
fn live_with<'a>(plan: &'a Plan, wet_until: &[f64], start: &[f64]) -> Vec<Live<'a>> {
    live(plan, wet_until, start.iter().map(|&count| count > 0.0).collect())
}

/// Mean counts per site at the end, from counts at the start and from what was wet then.
pub fn expectation(plan: &Plan, wet_until: &[f64], start: &[f64], with: Coefficients) -> Vec<f64> {
    let live = live_with(plan, wet_until, start);
    match with {
        Coefficients::Mean if plan.varies() => {
            let x: Counts<PEOPLE> = through(&live, start, with, |_, _| {});
            x.iter().map(mean).collect()
        }
        _ => {
            let x: Counts<1> = through(&live, start, with, |_, _| {});
            x.into_iter().map(|[x]| x).collect()
        }
    }
}

/// What it takes to go through a plan: the coefficients themselves, or those of each sort of people if they are the mean
/// over all of them and anything in the plan varies between people.
pub(super) fn each(with: Coefficients, plan: &Plan) -> impl Iterator<Item = Coefficients> + Clone {
    let sorts = match with {
        Coefficients::Mean if plan.varies() => PEOPLE,
        _ => 0,
    };
    let one = (sorts == 0).then_some(with);
    one.into_iter().chain((0..sorts).map(Coefficients::Sort))
}

/// The mean of what comes of a plan, entry by entry, over all that a mean goes through.
fn mean_over(plan: &Plan, with: Coefficients, come: impl FnMut(Coefficients) -> Vec<f64>) -> Vec<f64> {
    let mut all = each(with, plan).map(come);
    let mut sum = all.next().unwrap_or_default();
    let mut many = 1.0;
    for more in all {
        many += 1.0;
        sum.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
    }
    if many > 1.0 {
        sum.iter_mut().for_each(|sum| *sum /= many);
    }
    sum
}

/// Mean counts of aims, from counts at the start and from what was wet then; none for an aim that is no sum over
/// organisms.
pub fn expected(
    plan: &Plan,
    wet_until: &[f64],
    start: &[f64],
    aims: &[Aim],
    with: Coefficients,
) -> Vec<Option<f64>> {
    let live = live_with(plan, wet_until, start);
    expected_of(&live, plan.varies(), start, aims, with)
}

/// The same of the events that can carry something from there; `varies` if any event of the plan varies between people.
pub(super) fn expected_of(
    live: &[Live<'_>],
    varies: bool,
    start: &[f64],
    aims: &[Aim],
    with: Coefficients,
) -> Vec<Option<f64>> {
    let sums = |start: &[f64], aims: &[Aim]| match with {
        Coefficients::Mean if varies => sums::<PEOPLE>(live, start, aims, with),
        _ => sums::<1>(live, start, aims, with),
    };
    let mut all: Vec<Option<f64>> = sums(start, aims)
        .into_iter()
        .zip(aims)
        .map(|(sum, aim)| aim.linear().map(|_| sum))
        .collect();
    // What counts from fewer sources has a start of its own.
    for (sum, aim) in all.iter_mut().zip(aims) {
        if let (Some(sum), Cow::Owned(start)) = (sum, aim.start_of(start)) {
            *sum = sums(&start, std::slice::from_ref(aim))[0];
        }
    }
    all
}

/// What each aim adds up; 0 for one that does not.
fn sums<const N: usize>(live: &[Live<'_>], start: &[f64], aims: &[Aim], with: Coefficients) -> Vec<f64> {
    let mut due: Vec<(usize, &Moment)> = aims
        .iter()
        .enumerate()
        .flat_map(|(a, aim)| aim.linear().unwrap_or_default().iter().map(move |m| (a, m)))
        .collect();
    due.sort_by_key(|(_, moment)| moment.event);
    let mut due = due.into_iter().peekable();
    let mut sums = vec![[0.0; N]; aims.len()];
    let mut add = |(a, moment): (usize, &Moment), x: &[[f64; N]]| {
        for counted in &moment.sites {
            let weight = counted.weight(with);
            for (sum, x) in sums[a].iter_mut().zip(&x[counted.site]) {
                *sum += weight * x;
            }
        }
    };
    let x = through(live, start, with, |event, x| {
        while let Some(moment) = due.next_if(|(_, moment)| moment.event <= event) {
            add(moment, x);
        }
    });
    due.for_each(|moment| add(moment, &x));
    sums.iter().map(mean).collect()
}

/// What one organism on each site at the start is worth to a sum of moments: how often it will be counted on average.
pub fn adjoint(plan: &Plan, wet_until: &[f64], moments: &[Moment], with: Coefficients) -> Vec<f64> {
    mean_over(plan, with, |with| {
        backwards(plan, wet_until, moments, with, |value, weight| value + weight)
    })
}

/// The probability that one organism on each site at the start is counted at any of these moments, given what this
/// luck draws.
pub fn ever(plan: &Plan, wet_until: &[f64], moments: &[Moment], luck: Luck) -> Vec<f64> {
    let with = Coefficients::Drawn(luck);
    backwards(plan, wet_until, moments, with, counted)
}

/// What an organism is worth that is counted now with a chance, or else is worth something later.
pub(super) fn counted(later: f64, chance: f64) -> f64 {
    chance + (1.0 - chance) * later
}

/// Values backwards through a plan; `land` puts together what an organism is worth later and what it counts now.
fn backwards(
    plan: &Plan,
    wet_until: &[f64],
    moments: &[Moment],
    with: Coefficients,
    land: impl Fn(f64, f64) -> f64,
) -> Vec<f64> {
    let mut value = vec![0.0; wet_until.len()];
    let mut due = moments.iter().rev().peekable();
    let count = |moment: &Moment, value: &mut [f64]| {
        for counted in &moment.sites {
            value[counted.site] = land(value[counted.site], counted.weight(with));
        }
    };
    for (action, placed) in plan.parts.iter().enumerate().rev() {
        while let Some(moment) = due.next_if(|moment| moment.action > action) {
            count(moment, &mut value);
        }
        for group in placed.part.groups(with.together()).rev() {
            let weight = with.weight(&group[0].event);
            if weight <= 0.0 {
                continue;
            }
            let steps = steps(placed, group, wet_until, with).rev();
            if weight >= 1.0 {
                steps.for_each(|step| backward(step, &mut value));
            } else {
                mixed(weight, steps, &mut value, backward);
            }
        }
    }
    due.for_each(|moment| count(moment, &mut value));
    value
}

/// Applies steps that happen together with a probability: only the sites they touch change, so only those are kept.
fn mixed(
    weight: f64,
    steps: impl Iterator<Item = Step> + Clone,
    x: &mut [f64],
    apply: impl Fn(Step, &mut [f64]),
) {
    let mut before: Vec<(SiteIndex, f64)> = Vec::with_capacity(4);
    for step in steps.clone() {
        for site in touched(step) {
            if !before.iter().any(|(s, _)| *s == site) {
                before.push((site, x[site]));
            }
        }
    }
    for step in steps {
        apply(step, x);
    }
    for (site, old) in before {
        x[site] = (1.0 - weight) * old + weight * x[site];
    }
}
