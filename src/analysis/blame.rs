//! Which event carried it: exact shares that add up, and what each event's absence would have changed.

use super::Plan;
use super::aim::Moment;
use super::linear::{Coefficients, Step, backward, each, forward, touched};

/// One event's part in what a target gets on average.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blame {
    /// Index of the event in the plan.
    pub event: usize,
    /// Its share: every organism that arrives is divided equally among the touches that carried it, so the shares
    /// of all events and what sat on the target from the start add up to the expectation.
    pub share: f64,
    /// How much the expectation would fall if this event alone had not happened; below zero for an event that kept
    /// contamination away, such as a hand rub. These do not add up: a chain of touches fails with any one of them.
    pub without: f64,
}

/// Nodes and weights of Gauss-Legendre quadrature with 32 points on [0, 1]: exact for organisms carried by up to 64
/// touches, and far below rounding for longer chains.
pub(super) fn quadrature() -> Vec<(f64, f64)> {
    const POINTS: usize = 32;
    (0..POINTS)
        .map(|i| {
            // Newton's method on the Legendre polynomial from the usual first guess (Abramowitz and Stegun 25.4.30).
            let mut x = libm::cos(std::f64::consts::PI * (i as f64 + 0.75) / (POINTS as f64 + 0.5));
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut p0, mut p1) = (1.0, x);
                for k in 2..=POINTS {
                    let k = k as f64;
                    (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
                }
                slope = POINTS as f64 * (x * p1 - p0) / (x * x - 1.0);
                let step = p1 / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            ((1.0 - x) / 2.0, 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Blames every event for what reaches a target on average.
///
/// `start` are the counts and `wet_until` the wetness at the start; `moments` say what counts when, see
/// [`Aim::linear`](super::Aim::linear). Returns one entry per event, in order, and what sat on the target from the
/// start without ever moving.
///
/// To share an organism equally among the touches that carried it, each move is weighted with t: an organism moved k
/// times then arrives with weight t^k, each of its moves with t^(k-1), and the integral over t from 0 to 1 gives each
/// of them 1/k.
pub fn blame(plan: &Plan, wet_until: &[f64], start: &[f64], moments: &[Moment]) -> (Vec<Blame>, f64) {
    let mut blames: Vec<Blame> = (0..plan.len())
        .map(|event| Blame {
            event,
            share: 0.0,
            without: 0.0,
        })
        .collect();
    let mut unmoved = 0.0;
    let all = each(Coefficients::Mean, plan);
    let each = 1.0 / all.clone().count() as f64;
    for with in all {
        unmoved += each * blame_of(plan, wet_until, start, moments, with, each, &mut blames);
    }
    (blames, unmoved)
}

/// Adds to the blames of all events what they have with these coefficients, weighted; returns what was never moved.
fn blame_of(
    plan: &Plan,
    wet_until: &[f64],
    start: &[f64],
    moments: &[Moment],
    with: Coefficients,
    each: f64,
    blames: &mut [Blame],
) -> f64 {
    let steps: Vec<Step> = plan.actual(wet_until).map(|event| event.step(with)).collect();
    let mut first = 0;
    let groups: Vec<(f64, std::ops::Range<usize>)> = plan
        .parts
        .iter()
        .flat_map(|placed| placed.part.groups(true))
        .map(|group| {
            let range = first..first + group.len();
            first = range.end;
            (with.weight(&group[0].event), range)
        })
        .collect();
    for (t, weight) in quadrature() {
        let passes = Passes {
            steps: &steps,
            groups: &groups,
            moments,
            t,
        };
        passes.sweep(start, |event, moved, gain, _| {
            blames[event].share += each * weight * moved * gain
        });
    }
    let passes = Passes {
        steps: &steps,
        groups: &groups,
        moments,
        t: 1.0,
    };
    passes.sweep(start, |event, _, _, without| {
        blames[event].without += each * without
    });

    let still = Passes {
        steps: &steps,
        groups: &groups,
        moments,
        t: 0.0,
    };
    still.counted(start)
}

/// Forward and backward passes with every move weighted by t.
struct Passes<'a> {
    steps: &'a [Step],
    groups: &'a [(f64, std::ops::Range<usize>)],
    /// In order.
    moments: &'a [Moment],
    t: f64,
}

impl Passes<'_> {
    fn forward(&self, step: Step, x: &mut [f64]) {
        match step {
            Step::Between(a, b, ab, ba) => {
                let (out, back) = (x[a] * ab, x[b] * ba);
                x[a] += self.t * back - out;
                x[b] += self.t * out - back;
            }
            Step::From(..) => forward(step, x),
        }
    }

    fn backward(&self, step: Step, value: &mut [f64]) {
        match step {
            Step::Between(a, b, ab, ba) => {
                let (at_a, at_b) = (value[a], value[b]);
                value[a] = at_a + ab * (self.t * at_b - at_a);
                value[b] = at_b + ba * (self.t * at_a - at_b);
            }
            Step::From(..) => backward(step, value),
        }
    }

    /// What is counted of these counts at the start.
    fn counted(&self, start: &[f64]) -> f64 {
        let at = |moment: &Moment, x: &[f64]| -> f64 {
            let sites = moment.sites.iter();
            sites.map(|s| s.weight(Coefficients::Mean) * x[s.site]).sum()
        };
        let (mut x, mut sum) = (start.to_vec(), 0.0);
        let mut due = self.moments.iter().peekable();
        for (weight, group) in self.groups {
            while let Some(moment) = due.next_if(|m| m.event <= group.start) {
                sum += at(moment, &x);
            }
            let old: Vec<(usize, f64)> = group
                .clone()
                .flat_map(|i| touched(self.steps[i]))
                .map(|s| (s, x[s]))
                .collect();
            for i in group.clone() {
                self.forward(self.steps[i], &mut x);
            }
            for (site, old) in dedup(old) {
                x[site] = (1.0 - weight) * old + weight * x[site];
            }
        }
        sum + due.map(|moment| at(moment, &x)).sum::<f64>()
    }

    /// Calls `note(event, moved, gain, without)` for each direction of every event, with the mean number moved, what
    /// a moved organism is worth where it lands, and the change of the target that the event makes.
    fn sweep(&self, start: &[f64], mut note: impl FnMut(usize, f64, f64, f64)) {
        // Counts before each event, given that its group happens, at the sites that it touches.
        let mut before: Vec<[f64; 2]> = vec![[0.0; 2]; self.steps.len()];
        let mut x = start.to_vec();
        for (weight, group) in self.groups {
            let old: Vec<(usize, f64)> = group
                .clone()
                .flat_map(|i| touched(self.steps[i]))
                .map(|s| (s, x[s]))
                .collect();
            for i in group.clone() {
                let [a, b] = touched(self.steps[i]);
                before[i] = [x[a], x[b]];
                self.forward(self.steps[i], &mut x);
            }
            for (site, old) in dedup(old) {
                x[site] = (1.0 - weight) * old + weight * x[site];
            }
        }
        let mut value = vec![0.0; start.len()];
        let mut due = self.moments.iter().rev().peekable();
        for (weight, group) in self.groups.iter().rev() {
            while let Some(moment) = due.next_if(|m| m.event >= group.end) {
                for s in &moment.sites {
                    value[s.site] += s.weight(Coefficients::Mean);
                }
            }
            let old: Vec<(usize, f64)> = group
                .clone()
                .flat_map(|i| touched(self.steps[i]))
                .map(|s| (s, value[s]))
                .collect();
            for i in group.clone().rev() {
                match self.steps[i] {
                    Step::Between(a, b, ab, ba) => {
                        let [at_a, at_b] = before[i];
                        let (out, back) = (weight * at_a * ab, weight * at_b * ba);
                        note(i, out, value[b], out * (value[b] - value[a]));
                        note(i, back, value[a], back * (value[a] - value[b]));
                    }
                    Step::From(site, p) => {
                        let removed = weight * before[i][0] * p;
                        note(i, 0.0, 0.0, -removed * value[site]);
                    }
                }
                self.backward(self.steps[i], &mut value);
            }
            for (site, old) in dedup(old) {
                value[site] = (1.0 - weight) * old + weight * value[site];
            }
        }
    }
}

/// The first entry of each site.
fn dedup(mut list: Vec<(usize, f64)>) -> Vec<(usize, f64)> {
    // A stable sort keeps entries of a site in order; all of them were read before anything changed.
    list.sort_by_key(|(site, _)| *site);
    list.dedup_by_key(|(site, _)| *site);
    list
}
