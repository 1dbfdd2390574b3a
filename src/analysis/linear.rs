//! The exact expectation, forwards and backwards.
//!
//! Given its efficiencies every event is linear in the counts, and efficiencies of different events are independent,
//! so the mean of the end is the product of mean events applied to the start. A brush and the leaks that follow it
//! happen or not together and are averaged together.

use std::ops::Range;

use crate::chance::{Luck, Purpose, Spread, beta, uniform};
use crate::model::{Efficiency, SiteIndex};
use crate::transfer::{Event, Flow};

use super::Plan;
use super::aim::{Aim, Moment};

/// Which coefficients an event takes: its means, or those drawn with some luck.
#[derive(Clone, Copy, Debug)]
pub enum Coefficients {
    /// Mean efficiencies, and brushes weighted by their chances.
    Mean,
    /// Efficiencies and brushes as drawn.
    Drawn(Luck),
}

/// What an event does to one organism.
#[derive(Clone, Copy, Debug)]
pub(super) enum Step {
    /// Moves from the first site to the second with the first probability, and back with the second.
    Between(SiteIndex, SiteIndex, f64, f64),
    /// Vanishes from the site with this probability.
    From(SiteIndex, f64),
}

impl Coefficients {
    /// What an event does, if it happens.
    pub(super) fn step(self, event: &Event) -> Step {
        match &event.flow {
            Flow::Contact {
                a,
                b,
                share_a,
                share_b,
                ab,
                ba,
                ..
            } => Step::Between(
                *a,
                *b,
                share_a * self.efficiency(event, Purpose::EfficiencyAb, *ab),
                share_b * self.efficiency(event, Purpose::EfficiencyBa, *ba),
            ),
            Flow::Splash { from, onto, law, .. } => Step::Between(
                *from,
                *onto,
                self.efficiency(event, Purpose::EfficiencyAb, *law),
                0.0,
            ),
            Flow::Removal { site, law, .. } => {
                let surviving = match self {
                    Coefficients::Mean => law.mean_surviving(),
                    Coefficients::Drawn(luck) => law.draw(
                        &mut luck.stream(event.key, Purpose::Reduction),
                        &mut luck.stream(event.key, Purpose::Missed),
                        &Spread::new(law.missed),
                    ),
                };
                Step::From(*site, 1.0 - surviving)
            }
        }
    }

    fn efficiency(self, event: &Event, purpose: Purpose, law: Efficiency) -> f64 {
        match self {
            Coefficients::Mean => law.mean,
            Coefficients::Drawn(luck) => beta(&mut luck.stream(event.key, purpose), law),
        }
    }

    /// The weight with which a group happens.
    pub(super) fn weight(self, first: &Event) -> f64 {
        match self {
            _ if first.chance >= 1.0 => 1.0,
            Coefficients::Mean => first.chance,
            Coefficients::Drawn(luck) => {
                f64::from(uniform(&mut luck.stream(first.key, Purpose::Happens)) < first.chance)
            }
        }
    }
}

/// Counts forwards through one event.
pub(super) fn forward(step: Step, x: &mut [f64]) {
    match step {
        Step::Between(a, b, ab, ba) => {
            let (out, back) = (x[a] * ab, x[b] * ba);
            x[a] += back - out;
            x[b] += out - back;
        }
        Step::From(site, p) => x[site] *= 1.0 - p,
    }
}

/// Values backwards through one event: what one organism before it is worth.
pub(super) fn backward(step: Step, value: &mut [f64]) {
    match step {
        Step::Between(a, b, ab, ba) => {
            let (at_a, at_b) = (value[a], value[b]);
            value[a] = at_a + ab * (at_b - at_a);
            value[b] = at_b + ba * (at_a - at_b);
        }
        Step::From(site, p) => value[site] *= 1.0 - p,
    }
}

/// The two sites an event touches; the second repeats the first for a removal.
pub(super) fn touched(step: Step) -> [SiteIndex; 2] {
    match step {
        Step::Between(a, b, ..) => [a, b],
        Step::From(site, _) => [site, site],
    }
}

/// Counts forwards through a group of events.
fn forwards(plan: &Plan, group: Range<usize>, wet_until: &[f64], with: Coefficients, x: &mut [f64]) {
    let weight = with.weight(&plan.events[group.start].event);
    if weight <= 0.0 {
        return;
    }
    let steps = group.map(|i| with.step(plan.actual(&plan.events[i], wet_until)));
    if weight >= 1.0 {
        steps.for_each(|step| forward(step, x));
    } else {
        mixed(weight, steps, x, forward);
    }
}

/// Mean counts per site at the end, from counts at the start and from what was wet then.
pub fn expectation(plan: &Plan, wet_until: &[f64], start: &[f64], with: Coefficients) -> Vec<f64> {
    let mut x = start.to_vec();
    for group in plan.groups() {
        forwards(plan, group, wet_until, with, &mut x);
    }
    x
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
    let mut sums: Vec<Option<f64>> = aims.iter().map(|aim| aim.linear().map(|_| 0.0)).collect();
    let mut due: Vec<(usize, &Moment)> = aims
        .iter()
        .enumerate()
        .flat_map(|(a, aim)| aim.linear().unwrap_or_default().iter().map(move |m| (a, m)))
        .collect();
    due.sort_by_key(|(_, moment)| moment.event);
    let mut due = due.into_iter().peekable();
    let mut add = |(a, moment): (usize, &Moment), x: &[f64]| {
        let there: f64 = moment.sites.iter().map(|s| s.weight(with) * x[s.site]).sum();
        if let Some(sum) = &mut sums[a] {
            *sum += there;
        }
    };
    let mut x = start.to_vec();
    for group in plan.groups() {
        while let Some(moment) = due.next_if(|(_, moment)| moment.event <= group.start) {
            add(moment, &x);
        }
        forwards(plan, group, wet_until, with, &mut x);
    }
    due.for_each(|moment| add(moment, &x));
    sums
}

/// What one organism on each site at the start is worth to a sum of moments: how often it will be counted on average.
pub fn adjoint(plan: &Plan, wet_until: &[f64], moments: &[Moment], with: Coefficients) -> Vec<f64> {
    backwards(plan, wet_until, moments, with, |value, weight| value + weight)
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
    for group in plan.groups().rev() {
        while let Some(moment) = due.next_if(|moment| moment.event >= group.end) {
            count(moment, &mut value);
        }
        let weight = with.weight(&plan.events[group.start].event);
        if weight <= 0.0 {
            continue;
        }
        let steps = group
            .rev()
            .map(|i| with.step(plan.actual(&plan.events[i], wet_until)));
        if weight >= 1.0 {
            steps.for_each(|step| backward(step, &mut value));
        } else {
            mixed(weight, steps, &mut value, backward);
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
