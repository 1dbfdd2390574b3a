//! The lapses of one attempt by chance, each drawn for itself. Does not know what is followed.

use crate::chance::{Key, Luck, Purpose, uniform};
use crate::drill::{Action, State};
use crate::model::{Asked, AskedStep, Pace, Setup, Side, Technique, Trainee, Zone};

/// The lapses of one attempt, drawn as they come.
pub(super) struct Lapses<'t> {
    trainee: &'t Trainee,
    luck: Luck,
    noted: Vec<String>,
    /// How often something was thrown away.
    discarded: u32,
}

impl<'t> Lapses<'t> {
    /// A trainee's lapses with this luck.
    pub(super) fn new(trainee: &'t Trainee, luck: Luck) -> Lapses<'t> {
        Lapses {
            trainee,
            luck,
            noted: Vec::new(),
            discarded: 0,
        }
    }

    /// True if this trainee never departs from what is to be done.
    pub(super) fn never(&self) -> bool {
        self.trainee.is_flawless()
    }

    /// What departed from what was to be done.
    pub(super) fn noted(self) -> Vec<String> {
        self.noted
    }

    fn draw(&self, what: &str, at: &str) -> f64 {
        let key = Key::of("trainee").named(what).named(at);
        uniform(&mut self.luck.stream(key, Purpose::Happens))
    }

    /// Neighbouring removals may change places.
    pub(super) fn reorder(&mut self, steps: &mut [&AskedStep]) {
        let removals: Vec<usize> = (0..steps.len())
            .filter(|&i| matches!(steps[i].asked, Asked::Remove { .. }))
            .collect();
        for pair in removals.windows(2) {
            let (first, second) = (steps[pair[0]].id.clone(), steps[pair[1]].id.clone());
            if self.draw("swap", &first) < self.trainee.swap {
                steps.swap(pair[0], pair[1]);
                self.noted.push(format!("took {second} before {first}"));
            }
        }
    }

    /// True if this cleaning is left out.
    pub(super) fn skips(&mut self, step: &str) -> bool {
        let skips = self.draw("skip", step) < self.trainee.skip;
        if skips {
            self.noted.push(format!("skipped {step}"));
        }
        skips
    }

    /// True if this item is taken off by a technique that is not asked for, as far as there is one.
    pub(super) fn takes_poorly(&self, item: &str) -> bool {
        self.draw("poor", item) < self.trainee.poor
    }

    /// True if this item is torn open where a knot holds it.
    pub(super) fn tears(&self, item: &str) -> bool {
        self.draw("tear", item) < self.trainee.tears_knots
    }

    /// True if of a pair that on the right comes off first.
    pub(super) fn begins_at_the_right(&self) -> bool {
        self.draw("lead", "") < self.trainee.right_first
    }

    /// Another way than the first possible one of getting rid of what is held, if one is taken.
    pub(super) fn discards(
        &mut self,
        ways: &[Action],
        mut possible: impl FnMut(&Action) -> bool,
    ) -> Option<Action> {
        self.discarded += 1;
        let at = self.discarded.to_string();
        if self.draw("discard", &at) >= self.trainee.discard {
            return None;
        }
        let can: Vec<&Action> = ways.iter().filter(|&action| possible(action)).collect();
        let others = can.get(1..).filter(|others| !others.is_empty())?;
        let place = (self.draw("how", &at) * others.len() as f64) as usize;
        let chosen = *others.get(place)?;
        if let Action::Do { technique, .. } = chosen {
            self.noted.push(technique.clone());
        }
        Some(chosen.clone())
    }

    /// A technique that is not asked for, for this item.
    pub(super) fn poor<'a>(&mut self, item: &str, possible: &[&'a Technique]) -> Option<&'a Technique> {
        let weight = |t: &Technique| self.trainee.poor_weight(&t.id);
        let all: f64 = possible.iter().map(|t| weight(t)).sum();
        if all <= 0.0 {
            return None;
        }
        let mut left = self.draw("which", item) * all;
        let chosen = possible.iter().find(|t| {
            left -= weight(t);
            left < 0.0
        })?;
        self.noted.push(format!("{} by {}", item, chosen.id));
        Some(chosen)
    }

    /// The pace at which this item is taken off.
    pub(super) fn pace(&mut self, item: &str) -> Pace {
        if self.draw("hurry", item) < self.trainee.hurry {
            Pace::Hurried
        } else {
            Pace::Steady
        }
    }

    /// The action of a technique at this item's pace.
    pub(super) fn action(&mut self, technique: &Technique, item: &str) -> Action {
        let pace = self.pace(item);
        Action::Do {
            technique: technique.id.clone(),
            item: Some(item.to_owned()),
            hand: None,
            pace,
        }
    }

    /// A touch of the face after a step, if there is one.
    pub(super) fn fidget(&mut self, setup: &Setup, state: &State, step: &str) -> Option<Action> {
        if self.draw("face", step) >= self.trainee.face_touch {
            return None;
        }
        let site = setup.library.face_touches.at(self.draw("where", step))?;
        let hand = if self.draw("hand", step) < 0.5 {
            Side::Left
        } else {
            Side::Right
        };
        let place = setup.place(site)?;
        if state.top(setup, place, None).is_some() {
            return None;
        }
        self.noted.push(format!("touched the {site} after {step}"));
        let area = setup.library.manners.touch_area(Zone::Fingertips);
        Some(Action::Touch {
            hand,
            with: Zone::Fingertips,
            site: site.to_owned(),
            area,
        })
    }
}
