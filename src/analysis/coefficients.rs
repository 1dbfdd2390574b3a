//! What one event does to one organism: by its mean efficiencies, or as drawn. Does not know which events there are.

use crate::chance::{Luck, Purpose, Spread, beta, uniform};
use crate::model::{Efficiency, SiteIndex};
use crate::transfer::{Drawn, Event, Flow};

/// Which coefficients events take: their means, or those drawn with some luck.
#[derive(Clone, Copy, Debug)]
pub enum Coefficients {
    /// Means over people of all sorts, brushes weighted by their chances: whoever goes through a plan goes through it once
    /// for each sort, since one person does all of it.
    Mean,
    /// Means for people of one sort, below [`PEOPLE`](crate::chance::PEOPLE).
    Sort(usize),
    /// Means of each event by itself, as if its person were another each time and a brush happened or not apart from what
    /// goes through after it: less than the mean where small contacts follow one another, and one pass instead of one for
    /// each sort.
    Apart,
    /// Efficiencies, areas and brushes as drawn.
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

impl Step {
    /// The step of an event that moves these shares.
    pub(super) fn of(event: &Event, (ab, ba): (f64, f64)) -> Step {
        match event.sites() {
            (a, Some(b)) => Step::Between(a, b, ab, ba),
            (site, None) => Step::From(site, ab),
        }
    }
}

impl Coefficients {
    /// What an event does, if it happens.
    pub(super) fn step(self, event: &Event) -> Step {
        let person = match self {
            Coefficients::Drawn(luck) => return drawn(event, luck),
            Coefficients::Sort(sort) => Some(sort),
            Coefficients::Mean | Coefficients::Apart => None,
        };
        Step::of(event, event.mean_shares(person))
    }

    /// True if what follows a brush happens with it or not at all.
    pub(super) fn together(self) -> bool {
        !matches!(self, Coefficients::Apart)
    }

    /// The weight with which a group happens.
    pub(super) fn weight(self, first: &Event) -> f64 {
        match self {
            _ if first.chance >= 1.0 => 1.0,
            Coefficients::Mean | Coefficients::Sort(_) | Coefficients::Apart => first.chance,
            Coefficients::Drawn(luck) => {
                f64::from(uniform(&mut luck.stream(first.key, Purpose::Happens)) < first.chance)
            }
        }
    }
}

/// What an event does with this luck, if it happens.
fn drawn(event: &Event, luck: Luck) -> Step {
    let efficiency = |purpose: Purpose, law: Efficiency| beta(&mut luck.stream(event.key, purpose), law);
    match &event.flow {
        Flow::Contact { a, b, ab, ba, .. } => {
            let extent = event.extent(luck);
            let drawn = Drawn {
                ab: efficiency(Purpose::EfficiencyAb, *ab),
                ba: efficiency(Purpose::EfficiencyBa, *ba),
                extent,
                spots: event.spotted(luck, extent),
            };
            Step::Between(*a, *b, event.share_ab(drawn), event.share_ba(drawn))
        }
        Flow::Splash { from, onto, law, .. } => {
            Step::Between(*from, *onto, efficiency(Purpose::EfficiencyAb, *law), 0.0)
        }
        Flow::Removal { site, law, .. } => {
            let surviving = law.draw(
                &mut luck.stream(event.key, Purpose::Reduction),
                &mut luck.stream(event.key, Purpose::Missed),
                &Spread::new(law.missed),
            );
            Step::From(*site, 1.0 - surviving)
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
