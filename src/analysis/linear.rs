//! The exact expectation, forwards and backwards.
//!
//! Given its efficiencies every event is linear in the counts, and efficiencies of different events are independent,
//! so the mean of the end is the product of mean events applied to the start. A brush and the leaks that follow it
//! happen or not together and are averaged together.

use crate::chance::{Luck, Purpose, Spread, beta, uniform};
use crate::model::{Efficiency, SiteIndex};
use crate::transfer::{Event, Flow};

use super::Plan;

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

/// Mean counts per site at the end, from counts at the start and from what was wet then.
pub fn expectation(plan: &Plan, wet_until: &[f64], start: &[f64], with: Coefficients) -> Vec<f64> {
    let mut x = start.to_vec();
    for group in plan.groups() {
        let weight = with.weight(&plan.events[group.start].event);
        if weight <= 0.0 {
            continue;
        }
        let steps = group.map(|i| with.step(plan.actual(&plan.events[i], wet_until)));
        if weight >= 1.0 {
            steps.for_each(|step| forward(step, &mut x));
        } else {
            mixed(weight, steps, &mut x, forward);
        }
    }
    x
}

/// What one organism on each site at the start is worth at the end, when an organism ending on site s is worth
/// `target[s]`: with a target of ones and zeros, the probability of ending there.
pub fn adjoint(plan: &Plan, wet_until: &[f64], target: &[f64], with: Coefficients) -> Vec<f64> {
    let mut value = target.to_vec();
    for group in plan.groups().rev() {
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
