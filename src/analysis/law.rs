//! The exact law of targets: the probability that anything is ever counted there, given what was drawn.
//!
//! Organisms move independently, so with drawn coefficients the backward pass gives each one's chance to be counted
//! at any moment of a target, and the chance that none is is a product over the start. Averaged over draws this needs
//! far fewer of them than counting does, and each draw needs only the few coefficients that this start and these
//! targets can feel. Several targets share what is drawn.

use std::ops::Range;

use crate::chance::{Luck, Purpose, Spread};
use crate::drill::Beginning;
use crate::model::SiteIndex;
use crate::transfer::{Drawn, Event, Flow, Laws};

use super::aim::Moment;
use super::coefficients::Coefficients;
use super::linear::counted;
use super::live::{Live, live_from};
use super::runner::Drew;
use super::{Aim, Plan};

/// A plan made ready for draws, for one beginning and some targets.
#[derive(Clone, Debug)]
pub struct ExactLaw<'a> {
    /// Last first.
    steps: Vec<Step<'a>>,
    /// Loaded sites and how much is on them.
    start: Vec<(SiteIndex, f64)>,
    /// Moments with how many of the steps, last first, come after each, and the first lane of the aim.
    moments: Vec<(usize, usize, &'a Moment)>,
    aims: &'a [Aim],
    /// Sums kept apart, of all aims together.
    lanes: usize,
    /// For each site, for each lane.
    value: Vec<f64>,
}

/// An event that can matter: something can be there when it comes, and can get to a target after it.
#[derive(Clone, Debug)]
struct Step<'a> {
    event: &'a Event,
    laws: &'a Laws,
    leader: &'a Event,
    /// Place among the events that can carry something.
    place: usize,
    a: SiteIndex,
    b: SiteIndex,
    /// Whether anything can sit on either side before it.
    from_a: bool,
    from_b: bool,
}

impl<'a> ExactLaw<'a> {
    /// Makes a plan ready.
    pub fn new(plan: &'a Plan, beginning: &'a Beginning, aims: &'a [Aim]) -> ExactLaw<'a> {
        ExactLaw::of(&live_from(plan, beginning), beginning, aims)
    }

    /// Of the events that can carry something from a beginning.
    pub(super) fn of(live: &[Live<'a>], beginning: &'a Beginning, aims: &'a [Aim]) -> ExactLaw<'a> {
        let totals = beginning.books.totals();
        let mut looked_at: Vec<(usize, &'a Moment)> = firsts(aims)
            .flat_map(|(first, aim)| aim.moments.iter().map(move |moment| (first, moment)))
            .collect();
        looked_at.sort_by_key(|(_, moment)| std::cmp::Reverse(moment.event));
        let mut due = looked_at.into_iter().peekable();
        let mut matters = vec![false; totals.len()];
        let mut moments = Vec::with_capacity(due.len());
        let mut steps = Vec::with_capacity(live.len());
        let mut look = |(first, moment): (usize, &'a Moment), kept: usize, matters: &mut [bool]| {
            moment.sites.iter().for_each(|s| matters[s.site] = true);
            moments.push((kept, first, moment));
        };
        let lanes: usize = aims.iter().map(Aim::lanes).sum();
        for (place, event) in live.iter().enumerate().rev() {
            while let Some(moment) = due.next_if(|(_, m)| m.event > event.index()) {
                look(moment, steps.len(), &mut matters);
            }
            let (a, b) = event.sites();
            if matters[a] || matters[b] {
                matters[a] = true;
                matters[b] = true;
                steps.push(Step {
                    event: event.event(),
                    laws: event.laws(),
                    leader: event.leader,
                    place,
                    a,
                    b,
                    from_a: event.from_a,
                    from_b: event.from_b,
                });
            }
        }
        due.for_each(|moment| look(moment, steps.len(), &mut matters));
        ExactLaw {
            steps,
            start: (0..totals.len())
                .filter(|&site| totals[site] > 0 && matters[site])
                .map(|site| (site, totals[site] as f64))
                .collect(),
            moments,
            aims,
            lanes,
            value: vec![0.0; totals.len() * lanes],
        }
    }

    /// Events that can matter.
    pub fn len(&self) -> usize {
        self.steps.len()
    }

    /// True if nothing can move or remove what the targets feel.
    pub fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }

    /// The probability, 0 to 1, that anything is counted on each target, given what this luck draws; of places that are
    /// counted together, that two of them at least have anything.
    pub fn reached(&mut self, luck: Luck) -> Vec<f64> {
        self.reached_as(luck, &[])
    }

    /// The same where a count with this luck has drawn some of it already.
    pub(super) fn reached_as(&mut self, luck: Luck, drew: &[Drew]) -> Vec<f64> {
        let lanes = self.lanes;
        self.value.fill(0.0);
        let with = Coefficients::Drawn(luck);
        let mut due = self.moments.iter().peekable();
        let look = |first: usize, moment: &Moment, value: &mut [f64]| {
            for s in &moment.sites {
                let value = &mut value[s.site * lanes + first + s.lane];
                *value = counted(*value, s.weight(with));
            }
        };
        let mut happened: Option<(&Event, bool)> = None;
        for (n, step) in self.steps.iter().enumerate() {
            while let Some((_, first, moment)) = due.next_if(|(after, ..)| *after <= n) {
                look(*first, moment, &mut self.value);
            }
            let happens = match happened {
                Some((leader, happens)) if std::ptr::eq(leader, step.leader) => happens,
                _ => step.leader.happens(luck),
            };
            happened = Some((step.leader, happens));
            if happens {
                let drew = drew.get(step.place).copied().unwrap_or_default();
                step.backward(luck, drew, lanes, &mut self.value);
            }
        }
        due.for_each(|(_, first, moment)| look(*first, moment, &mut self.value));
        firsts(self.aims)
            .map(|(first, aim)| match aim.asks_for_two() {
                true => self.two_places(aim, first..first + aim.lanes()),
                false => libm::expm1(self.log_none(aim, first..first + 1, None)).abs(),
            })
            .collect()
    }

    /// Logarithm of the probability that nothing is counted in any of these lanes but perhaps one.
    fn log_none(&self, aim: &Aim, lanes: Range<usize>, but: Option<usize>) -> f64 {
        let value = |site: usize| -> f64 {
            let of_site = &self.value[site * self.lanes..];
            let others = lanes.clone().filter(|lane| Some(*lane) != but);
            others.map(|lane| of_site[lane]).sum()
        };
        self.start
            .iter()
            .filter(|(site, _)| aim.counts_from(*site))
            .map(|&(site, count)| (value(site), count))
            .filter(|(value, _)| *value > 0.0)
            .map(|(value, count)| count * libm::log1p(-value.clamp(0.0, 1.0)))
            .sum()
    }

    /// The probability that two lanes at least count something. An organism ends in one of them at most, so that none but
    /// one has anything with the probability that each organism misses all others; what is left, beside nothing at all, is
    /// that two have. Smaller than what rounding leaves of the difference it is 0.
    fn two_places(&self, aim: &Aim, lanes: Range<usize>) -> f64 {
        let none = libm::expm1(self.log_none(aim, lanes.clone(), None));
        let (mut sum, mut size) = ((lanes.len() - 1) as f64 * none, none.abs());
        for lane in lanes.clone() {
            let but = libm::expm1(self.log_none(aim, lanes.clone(), Some(lane)));
            sum -= but;
            size += but.abs();
        }
        let rounding = 64.0 * f64::EPSILON * size;
        if sum <= rounding { 0.0 } else { sum.min(1.0) }
    }
}

/// Each aim with its first lane.
fn firsts(aims: &[Aim]) -> impl Iterator<Item = (usize, &Aim)> {
    aims.iter().scan(0, |next, aim| {
        let first = *next;
        *next += aim.lanes();
        Some((first, aim))
    })
}

impl Step<'_> {
    /// What one organism before the event is worth to each lane, from what it is worth after it.
    fn backward(&self, luck: Luck, drew: Drew, lanes: usize, value: &mut [f64]) {
        let event = self.event;
        let (a, b) = (self.a * lanes, self.b * lanes);
        // Moving between places of equal worth changes nothing, whatever is drawn.
        let equal = value[a..a + lanes] == value[b..b + lanes];
        let lot = luck.lot(event.key);
        let draw = |law: &Spread, purpose: Purpose| law.draw(&mut lot.stream(purpose));
        let ab = || {
            let draw = || draw(&self.laws.ab, Purpose::EfficiencyAb);
            drew.ab.unwrap_or_else(draw)
        };
        let ba = || {
            let draw = || draw(&self.laws.ba, Purpose::EfficiencyBa);
            drew.ba.unwrap_or_else(draw)
        };
        match &event.flow {
            Flow::Contact { .. } | Flow::Splash { .. } if equal => {}
            Flow::Contact { .. } => {
                let extent = drew.extent.unwrap_or_else(|| event.extent(luck));
                let drawn = Drawn {
                    ab: if self.from_a { ab() } else { 0.0 },
                    ba: if self.from_b { ba() } else { 0.0 },
                    extent,
                    spots: event.spotted(luck, extent),
                };
                let (out, back) = (event.share_ab(drawn), event.share_ba(drawn));
                for lane in 0..lanes {
                    let (at_a, at_b) = (value[a + lane], value[b + lane]);
                    value[a + lane] = at_a + out * (at_b - at_a);
                    value[b + lane] = at_b + back * (at_a - at_b);
                }
            }
            Flow::Splash { .. } => {
                let out = ab();
                for lane in 0..lanes {
                    let (at_a, at_b) = (value[a + lane], value[b + lane]);
                    value[a + lane] = at_a + out * (at_b - at_a);
                }
            }
            Flow::Removal { law, .. } => {
                if value[a..a + lanes].iter().any(|v| *v > 0.0) {
                    let stays = law.draw(
                        &mut lot.stream(Purpose::Reduction),
                        &mut lot.stream(Purpose::Missed),
                        &self.laws.ab,
                    );
                    value[a..a + lanes].iter_mut().for_each(|v| *v *= stays);
                }
            }
        }
    }
}
