//! Every constant that is unsure, as a standard score: 0 is its stated value, and its stated range is the middle nine
//! tenths of what it may be. And a library with other values for all of them.

use crate::chance::{Key, Luck, Purpose, normal};
use crate::model::{Class, Ensemble, How, Library, Scenario, Setup, Step};

use super::fit::{Parameter, parameters};
use super::knobs::{Turn, knobs, set_mean};
use super::named::tell_apart;

/// Standard score of either end of a range that holds nine tenths.
pub(super) const END: f64 = 1.644_853_626_951_472;

/// Scores are cut here: what is farther out is no likelier than one in 740.
pub(super) const FARTHEST: f64 = 3.0;

/// A constant that is unsure.
pub(super) struct Unknown {
    /// What it is.
    pub name: String,
    /// The same for people.
    pub words: String,
    /// Basis id, if it has one of its own.
    pub basis: Option<String>,
    law: Law,
    /// True if it is a factor on many constants of a kind, each of which is unsure by itself too.
    many: bool,
    /// The trainee to whom alone it makes a difference, if it does to one alone and was not fitted.
    who: Option<String>,
    set: Set,
}

enum Set {
    Turn(Turn),
    Fitted(Parameter),
}

/// Normal on a stretched scale, with a spread of its own to either side of the stated value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Law {
    median: f64,
    range: (f64, f64),
}

impl Law {
    /// A law from a stated value and its range. A lower end of 0 is taken for a hundredth of the value.
    pub fn new(value: f64, (low, high): (f64, f64)) -> Law {
        let low = if low > 0.0 { low.min(value) } else { value / 100.0 };
        Law {
            median: value,
            range: (low, high.max(value)),
        }
    }

    /// Shares stay below 1; what can be above it, above 0.
    fn is_share(&self) -> bool {
        self.range.1 < 1.0
    }

    fn stretched(&self, value: f64) -> f64 {
        match self.is_share() {
            true => libm::log(value / (1.0 - value)),
            false => libm::log(value),
        }
    }

    /// The value at a standard score.
    pub fn at(&self, score: f64) -> f64 {
        let score = score.clamp(-FARTHEST, FARTHEST);
        let end = if score < 0.0 { self.range.0 } else { self.range.1 };
        let median = self.stretched(self.median);
        let found = median + score.abs() / END * (self.stretched(end) - median);
        match self.is_share() {
            true => 1.0 / (1.0 + libm::exp(-found)),
            false => libm::exp(found),
        }
    }
}

impl Unknown {
    /// True if it can make a difference to this trainee in this scenario: what was fitted of other people and of other
    /// scenarios' loads cannot.
    pub fn acts(&self, scenario: &str, trainee: &str) -> bool {
        match &self.set {
            Set::Fitted(parameter) => parameter.acts(scenario, trainee),
            Set::Turn(_) => self.who.as_ref().is_none_or(|who| who == trainee),
        }
    }
}

/// Every constant with a range that can matter in a scenario to organisms of a class: what was fitted, from what was
/// thought before, and all others.
pub(super) fn unknowns(library: &Library, scenario: &Scenario, class: Class) -> Vec<Unknown> {
    let fitted = parameters(library).into_iter().map(|p| Unknown {
        name: p.name.clone(),
        words: p.words(library),
        basis: None,
        law: Law::new(p.prior, p.bounds),
        many: false,
        who: None,
        set: Set::Fitted(p),
    });
    let others = knobs(library, scenario, class).into_iter().map(|k| Unknown {
        name: k.constant,
        words: k.words,
        basis: Some(k.basis),
        law: Law::new(k.value, k.range),
        many: k.many,
        who: k.who,
        set: Set::Turn(k.turn),
    });
    // What is 0 is a choice, such as a fault that a scenario leaves out.
    let mut all: Vec<Unknown> = fitted.chain(others).filter(|u| u.law.median > 0.0).collect();
    tell_apart(&mut all, |u| &mut u.name, |u| u.basis.clone().unwrap_or_default());
    all
}

/// Ids of the bases of all that is unsure in a setup, and so differs from version to version of the model.
pub fn unsure_bases(setup: &Setup) -> Vec<String> {
    let all = unknowns(&setup.library, &setup.scenario, setup.organism.class);
    all.into_iter().filter_map(|unknown| unknown.basis).collect()
}

/// Of the numbers of a set, the one that decides about what has this name.
fn of_numbers(numbers: &[u64], name: Key) -> u64 {
    let place = (name.0 >> 32) % numbers.len().max(1) as u64;
    numbers.get(place as usize).copied().unwrap_or_default()
}

/// The draw of a number by a name.
fn drawn(number: u64, name: Key) -> f64 {
    let mut stream = Luck::new(number).stream(name, Purpose::Doubt);
    loop {
        let score = normal(&mut stream, 0.0, 1.0);
        if score.abs() <= FARTHEST {
            return score;
        }
    }
}

/// The score of a constant in the set of these numbers, where nothing else is said of it.
pub(super) fn drawn_score(numbers: &[u64], name: &str) -> f64 {
    let key = Key::of("unsure").named(name);
    drawn(of_numbers(numbers, key), key)
}

/// A library and a scenario with all that is unsure of them, to be had with other values.
pub(super) struct Unsure<'a> {
    library: &'a Library,
    scenario: &'a Scenario,
    /// Every constant that is unsure.
    pub all: Vec<Unknown>,
}

impl<'a> Unsure<'a> {
    /// Of organisms of a class.
    pub fn new(library: &'a Library, scenario: &'a Scenario, class: Class) -> Unsure<'a> {
        Unsure {
            library,
            scenario,
            all: unknowns(library, scenario, class),
        }
    }

    /// The library and the scenario with the values of a set: those of its numbers, but for the scores that are given by
    /// place among [`Unsure::all`]. `own` is the share of what is unsure that many constants of a kind have each for
    /// themselves.
    pub fn with(
        &self,
        numbers: &[u64],
        given: impl Fn(usize) -> Option<f64>,
        own: f64,
    ) -> (Library, Scenario) {
        let (library, scenario) = (self.library, self.scenario);
        let mut changed = library.clone();
        let score = |n: usize| given(n).unwrap_or_else(|| drawn_score(numbers, &self.all[n].name));
        for (n, unknown) in self.all.iter().enumerate() {
            if let Set::Fitted(parameter) = &unknown.set {
                parameter.set(&mut changed, unknown.law.at(score(n)));
            }
        }
        // The scenario may have loads that were fitted.
        let listed = changed
            .scenario(&scenario.id)
            .filter(|_| library.scenario(&scenario.id) == Some(scenario));
        let mut scenario = listed.unwrap_or(scenario).clone();
        for (n, unknown) in self.all.iter().enumerate() {
            if let Set::Turn(turn) = &unknown.set {
                let shared = if unknown.many { (1.0 - own).sqrt() } else { 1.0 };
                turn(&mut changed, &mut scenario, unknown.law.at(shared * score(n)));
            }
        }
        deviate(&mut changed, &self.all, numbers, own);
        // Of two draws the greater is what moves when wet: a moist surface gives no less than a dry one.
        for row in &mut changed.transfers {
            let (wet, dry) = (row.wet.mean, row.dry.mean);
            if wet < dry {
                set_mean(&mut row.wet, dry);
                set_mean(&mut row.dry, wet);
            }
        }
        (changed, scenario)
    }

    /// For each constant, its place among those of an ensemble that were weighed.
    pub fn columns(&self, ensemble: &Ensemble) -> Vec<Option<usize>> {
        let place = |unknown: &Unknown| ensemble.constants.iter().position(|c| *c == unknown.name);
        self.all.iter().map(place).collect()
    }

    /// The library and the scenario with the values of one of an ensemble's members, where `columns` are those of
    /// [`Unsure::columns`].
    pub fn of_member(
        &self,
        ensemble: &Ensemble,
        columns: &[Option<usize>],
        member: usize,
    ) -> (Library, Scenario) {
        let chosen = &ensemble.members[member];
        let own = self.library.calibration.as_ref().map_or(0.0, |c| c.own);
        let given = |n: usize| chosen.scores.get(columns[n]?).copied();
        self.with(&chosen.numbers, given, own)
    }
}

/// Gives each of many constants of a kind a factor of its own.
fn deviate(library: &mut Library, all: &[Unknown], numbers: &[u64], own: f64) {
    let law = |what: &str| {
        all.iter()
            .find(|u| u.many && u.name.contains(what))
            .map(|u| u.law)
    };
    let (areas, brushes) = (law("contact areas"), law("chances of brushes"));
    let (grazes, shed) = (law("small contacts"), law("are shed"));
    let factor = |law: Option<Law>, number: u64, key: Key| {
        law.map_or(1.0, |law| law.at(own.sqrt() * drawn(number, key)))
    };
    for technique in &mut library.techniques {
        let of = Key::of("own").named(&technique.id);
        let number = of_numbers(numbers, of);
        for (n, step) in technique.steps.iter_mut().enumerate() {
            let key = of.within(n as u64);
            match step {
                Step::Contact { area, how, .. } => {
                    let law = if *how == How::Graze { grazes } else { areas };
                    *area *= factor(law, number, key.named("area"));
                    if let How::Brush { steady, hurried } = how {
                        let factor = factor(brushes, number, key.named("chance"));
                        *steady = (*steady * factor).min(1.0);
                        *hurried = (*hurried * factor).min(1.0);
                    }
                }
                Step::Shed { share, .. } => {
                    *share = (*share * factor(shed, number, key.named("share"))).min(1.0)
                }
                _ => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_law_has_the_stated_value_in_its_middle_and_the_range_as_nine_tenths() {
        for (value, range) in [
            (0.2, (0.05, 0.6)),
            (1.0, (0.5, 2.0)),
            (20.0, (2.0, 50.0)),
            (0.1, (0.0, 0.4)),
        ] {
            let law = Law::new(value, range);
            let low = if range.0 > 0.0 { range.0 } else { value / 100.0 };
            for (score, wanted) in [(0.0, value), (-END, low), (END, range.1)] {
                let found = law.at(score);
                assert!(
                    (found - wanted).abs() < 1e-9 * wanted,
                    "{value}, {range:?} at {score}: {found}"
                );
            }
            let values: Vec<f64> = (-40..=40).map(|n| law.at(f64::from(n) / 10.0)).collect();
            assert!(values.is_sorted(), "{values:?}");
        }
        assert!(Law::new(0.9, (0.5, 0.99)).at(9.0) < 1.0, "a share stays a share");
    }
}
