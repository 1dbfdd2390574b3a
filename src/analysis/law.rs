//! The exact law of a target: the probability that anything is ever counted there, given what was drawn.
//!
//! Organisms move independently, so with drawn coefficients the backward pass gives each one's chance to be counted
//! at any moment of the target, and the chance that none does is a product over the start. Averaged over draws this needs far fewer of
//! them than counting does, and each draw needs only the few coefficients that this start and this target can feel.

use crate::chance::{Luck, Purpose};
use crate::drill::Beginning;
use crate::model::SiteIndex;
use crate::transfer::{Event, Flow, Laws};

use super::aim::Moment;
use super::linear::{Coefficients, counted};
use super::{Aim, Plan};

/// A plan made ready for draws, for one beginning and one target.
#[derive(Clone, Debug)]
pub struct ExactLaw<'a> {
    steps: Vec<Step<'a>>,
    start: Vec<(SiteIndex, f64)>,
    /// Moments with how many of the steps, last first, come after each.
    moments: Vec<(usize, &'a Moment)>,
    value: Vec<f64>,
}

/// An event that can matter: something can be there when it comes, and can get to the target after it.
#[derive(Clone, Debug)]
struct Step<'a> {
    event: &'a Event,
    /// Index in the plan.
    index: usize,
    laws: Laws,
    leader: &'a Event,
    a: SiteIndex,
    b: SiteIndex,
    /// Whether anything can sit on either side before it.
    from_a: bool,
    from_b: bool,
}

impl<'a> ExactLaw<'a> {
    /// Makes a plan ready.
    pub fn new(plan: &'a Plan, beginning: &'a Beginning, aim: &'a Aim) -> ExactLaw<'a> {
        let totals = beginning.books.totals();
        let mut reached: Vec<bool> = totals.iter().map(|&n| n > 0).collect();
        let mut steps: Vec<Step<'a>> = Vec::new();
        let mut before: Option<&Event> = None;
        for (index, event) in plan.actual_events(&beginning.state.wet_until).enumerate() {
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
                    index,
                    laws: event.laws(),
                    leader,
                    a,
                    b,
                    from_a,
                    from_b,
                });
            }
        }
        let mut matters = vec![false; totals.len()];
        let mut due = aim.moments.iter().rev().peekable();
        let mut moments = Vec::with_capacity(aim.moments.len());
        let mut kept = 0;
        let mut look = |moment: &'a Moment, kept: usize, matters: &mut [bool]| {
            moment.sites.iter().for_each(|s| matters[s.site] = true);
            moments.push((kept, moment));
        };
        steps.reverse();
        steps.retain(|step| {
            while let Some(moment) = due.next_if(|m| m.event > step.index) {
                look(moment, kept, &mut matters);
            }
            let keep = matters[step.a] || matters[step.b];
            if keep {
                matters[step.a] = true;
                matters[step.b] = true;
                kept += 1;
            }
            keep
        });
        due.for_each(|moment| look(moment, kept, &mut matters));
        ExactLaw {
            steps,
            start: (0..totals.len())
                .filter(|&site| totals[site] > 0 && matters[site])
                .map(|site| (site, totals[site] as f64))
                .collect(),
            moments,
            value: vec![0.0; totals.len()],
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

    /// The probability, 0 to 1, that anything is counted on the target, given what this luck draws.
    pub fn reached(&mut self, luck: Luck) -> f64 {
        self.value.fill(0.0);
        let with = Coefficients::Drawn(luck);
        let mut due = self.moments.iter().peekable();
        let look = |moment: &Moment, value: &mut [f64]| {
            for s in &moment.sites {
                value[s.site] = counted(value[s.site], s.weight(with));
            }
        };
        let mut happened: Option<(&Event, bool)> = None;
        for (n, step) in self.steps.iter().enumerate() {
            while let Some((_, moment)) = due.next_if(|(after, _)| *after <= n) {
                look(moment, &mut self.value);
            }
            let happens = match happened {
                Some((leader, happens)) if std::ptr::eq(leader, step.leader) => happens,
                _ => step.leader.happens(luck),
            };
            happened = Some((step.leader, happens));
            if happens {
                step.backward(luck, &mut self.value);
            }
        }
        due.for_each(|(_, moment)| look(moment, &mut self.value));
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
