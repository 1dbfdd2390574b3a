//! What one event does to one organism: by its mean efficiencies, or as drawn. Does not know which events there are.

use crate::chance::{Luck, Purpose, Spread, beta, uniform};
use crate::model::{Efficiency, SiteIndex};
use crate::transfer::{Event, Flow};

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
