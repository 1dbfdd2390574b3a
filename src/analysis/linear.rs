//! The exact expectation, forwards and backwards.
//!
//! Given its efficiencies every event is linear in the counts, and efficiencies of different events are independent,
//! so the mean of the end is the product of mean events applied to the start. A brush and the leaks that follow it
//! happen or not together and are averaged together.

use crate::chance::{Luck, PEOPLE};
use crate::model::SiteIndex;

use super::Plan;
use super::aim::{Aim, Moment};
pub(super) use super::coefficients::{Coefficients, Step, backward, forward, touched};
use super::part::PartEvent;
use super::plan::Placed;

/// Counts forwards through the events of an action.
fn forwards(placed: &Placed, wet_until: &[f64], with: Coefficients, x: &mut [f64]) {
    for group in placed.part.groups() {
        // Most events of a drill meet two empty surfaces.
        let carries = |site: SiteIndex| x[site] > 0.0;
        let any = group.iter().any(|event| {
            let (a, b) = event.event.sites();
            carries(a) || b.is_some_and(carries)
        });
        let weight = if any { with.weight(&group[0].event) } else { 0.0 };
        if weight <= 0.0 {
            continue;
        }
        let steps = steps(placed, group, wet_until, with);
        if weight >= 1.0 {
            steps.for_each(|step| forward(step, x));
        } else {
            mixed(weight, steps, x, forward);
        }
    }
}

/// What the events of a group do to one organism.
fn steps<'a>(
    placed: &'a Placed,
    group: &'a [PartEvent],
    wet_until: &'a [f64],
    with: Coefficients,
) -> impl DoubleEndedIterator<Item = Step> + Clone + 'a {
    let events = group.iter();
    events.map(move |event| event.step(placed.began, wet_until, with))
}

/// Mean counts per site at the end, from counts at the start and from what was wet then.
pub fn expectation(plan: &Plan, wet_until: &[f64], start: &[f64], with: Coefficients) -> Vec<f64> {
    mean_over(plan, with, |with| {
        let mut x = start.to_vec();
        for placed in &plan.parts {
            forwards(placed, wet_until, with, &mut x);
        }
        x
    })
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
    let mut due: Vec<(usize, &Moment)> = aims
        .iter()
        .enumerate()
        .flat_map(|(a, aim)| aim.linear().unwrap_or_default().iter().map(move |m| (a, m)))
        .collect();
    due.sort_by_key(|(_, moment)| moment.action);
    let sums = mean_over(plan, with, |with| {
        let mut sums = vec![0.0; aims.len()];
        let mut due = due.iter().peekable();
        let mut add = |&(a, moment): &(usize, &Moment), x: &[f64]| {
            sums[a] += moment
                .sites
                .iter()
                .map(|s| s.weight(with) * x[s.site])
                .sum::<f64>();
        };
        let mut x = start.to_vec();
        for (action, placed) in plan.parts.iter().enumerate() {
            while let Some(moment) = due.next_if(|(_, moment)| moment.action <= action) {
                add(moment, &x);
            }
            forwards(placed, wet_until, with, &mut x);
        }
        due.for_each(|moment| add(moment, &x));
        sums
    });
    let is_sum = aims.iter().map(|aim| aim.linear().is_some());
    sums.into_iter()
        .zip(is_sum)
        .map(|(sum, is)| is.then_some(sum))
        .collect()
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
        for group in placed.part.groups().rev() {
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
