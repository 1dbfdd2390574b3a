//! The exact law of a target: the probability that anything ends there, given what was drawn.
//!
//! Organisms move independently, so with drawn coefficients the backward pass gives each one's chance to end on the
//! target, and the chance that none does is a product over the start. Averaged over draws this needs far fewer of
//! them than counting does, and each draw needs only the few coefficients that this start and this target can feel.

use crate::chance::{Luck, Purpose};
use crate::drill::Beginning;
use crate::model::SiteIndex;
use crate::transfer::{Event, Flow, Laws};

use super::Plan;

/// A plan made ready for draws, for one beginning and one target.
#[derive(Clone, Debug)]
pub struct ExactLaw<'a> {
    steps: Vec<Step<'a>>,
    start: Vec<(SiteIndex, f64)>,
    weights: &'a [f64],
    value: Vec<f64>,
}

/// An event that can matter: something can be there when it comes, and can get to the target after it.
#[derive(Clone, Debug)]
struct Step<'a> {
    event: &'a Event,
    laws: Laws,
    leader: &'a Event,
    a: SiteIndex,
    b: SiteIndex,
    /// Whether anything can sit on either side before it.
    from_a: bool,
    from_b: bool,
}

impl<'a> ExactLaw<'a> {
    /// Makes a plan ready. `weights[site]` is 1 on the target and 0 elsewhere.
    pub fn new(plan: &'a Plan, beginning: &'a Beginning, weights: &'a [f64]) -> ExactLaw<'a> {
        let totals = beginning.books.totals();
        let mut reached: Vec<bool> = totals.iter().map(|&n| n > 0).collect();
        let mut steps: Vec<Step<'a>> = Vec::new();
        let mut before: Option<&Event> = None;
        for event in plan.actual_events(&beginning.state.wet_until) {
            let leader = before.filter(|_| event.follows).unwrap_or(event);
            before = Some(leader);
            let (a, b) = event.sites();
            let b = b.unwrap_or(a);
            let (from_a, from_b) = (reached[a], reached[b]);
            if from_a || from_b {
                reached[a] = true;
                reached[b] = true;
                steps.push(Step {
                    event,
                    laws: event.laws(),
                    leader,
                    a,
                    b,
                    from_a,
                    from_b,
                });
            }
        }
        let mut matters: Vec<bool> = weights.iter().map(|&w| w > 0.0).collect();
        steps.reverse();
        steps.retain(|step| {
            let keep = matters[step.a] || matters[step.b];
            if keep {
                matters[step.a] = true;
                matters[step.b] = true;
            }
            keep
        });
        ExactLaw {
            steps,
            start: (0..totals.len())
                .filter(|&site| totals[site] > 0 && matters[site])
                .map(|site| (site, totals[site] as f64))
                .collect(),
            weights,
            value: weights.to_vec(),
        }
    }

    /// Events that can matter.
    pub fn len(&self) -> usize {
        self.steps.len()
    }

    /// True if nothing can move or remove what the target feels.
    pub fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }

    /// The probability, 0 to 1, that anything ends on the target, given what this luck draws.
    pub fn reached(&mut self, luck: Luck) -> f64 {
        self.value.copy_from_slice(self.weights);
        let mut happened: Option<(&Event, bool)> = None;
        for step in &self.steps {
            let happens = match happened {
                Some((leader, happens)) if std::ptr::eq(leader, step.leader) => happens,
                _ => step.leader.happens(luck),
            };
            happened = Some((step.leader, happens));
            if happens {
                step.backward(luck, &mut self.value);
            }
        }
        let log_none: f64 = self
            .start
            .iter()
            .filter(|(site, _)| self.value[*site] > 0.0)
            .map(|&(site, count)| count * libm::log1p(-self.value[site].clamp(0.0, 1.0)))
            .sum();
        libm::expm1(log_none).abs()
    }
}

impl Step<'_> {
    /// What one organism before the event is worth, from what it is worth after it.
    fn backward(&self, luck: Luck, value: &mut [f64]) {
        let event = self.event;
        let luck = luck.lot(event.key);
        let ab = || self.laws.ab.draw(&mut luck.stream(Purpose::EfficiencyAb));
        let (at_a, at_b) = (value[self.a], value[self.b]);
        match &event.flow {
            // Moving between places of equal worth changes nothing, whatever is drawn.
            Flow::Contact { .. } | Flow::Splash { .. } if at_a == at_b => {}
            Flow::Contact { share_a, share_b, .. } => {
                if self.from_a {
                    value[self.a] = at_a + share_a * ab() * (at_b - at_a);
                }
                if self.from_b {
                    let ba = self.laws.ba.draw(&mut luck.stream(Purpose::EfficiencyBa));
                    value[self.b] = at_b + share_b * ba * (at_a - at_b);
                }
            }
            Flow::Splash { .. } => {
                value[self.a] = at_a + ab() * (at_b - at_a);
            }
            Flow::Removal { law, .. } => {
                if at_a > 0.0 {
                    value[self.a] = at_a
                        * law.draw(
                            &mut luck.stream(Purpose::Reduction),
                            &mut luck.stream(Purpose::Missed),
                            &self.laws.ab,
                        );
                }
            }
        }
    }
}
