//! The lapses of one attempt by chance, each drawn for itself. Does not know what is followed.

use crate::chance::{Key, Luck, Purpose, uniform};
use crate::drill::{Action, ActiveFault, Felt, State, felt};
use crate::model::{Asked, AskedStep, Pace, Setup, Side, Slip, Technique, Trainee, WaysOn, Zone};

/// The lapses of one attempt, drawn as they come.
pub(super) struct Lapses<'t> {
    trainee: &'t Trainee,
    luck: Luck,
    noted: Vec<String>,
    /// Faults that the scenario has given the kit.
    given: Vec<ActiveFault>,
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
            given: Vec::new(),
            discarded: 0,
        }
    }

    /// The same in kit with these faults: nobody knows of them, but what is there can be felt.
    pub(super) fn with(self, given: &[ActiveFault]) -> Lapses<'t> {
        Lapses {
            given: given.to_vec(),
            ..self
        }
    }

    /// What a check feels as things are, after what was done before it.
    pub(super) fn felt(&self, setup: &Setup, state: &State, check: &Action, before: &[Action]) -> Vec<Felt> {
        let mut state = state.clone();
        state.faults.clone_from(&self.given);
        felt(setup, &state, check, before.iter(), self.luck)
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

    /// True if this cleaning is left out; before the work that is as often as people do while they put kit on.
    pub(super) fn skips(&mut self, step: &str, before_work: bool) -> bool {
        let chance = match before_work {
            true => self.trainee.slips(Slip::LeavesRubOut),
            false => self.trainee.skip,
        };
        let skips = self.draw("skip", step) < chance;
        if skips {
            self.noted.push(format!("skipped {step}"));
        }
        skips
    }

    /// True if this item is taken off by a technique that is not asked for, as far as there is one.
    pub(super) fn takes_poorly(&self, item: &str) -> bool {
        self.draw("poor", item) < self.trainee.poor
    }

    /// True if the check of this item is left out.
    pub(super) fn leaves_unchecked(&mut self, item: &str) -> bool {
        let leaves = self.draw("check", item) < self.trainee.slips(Slip::LeavesCheckOut);
        if leaves {
            self.noted.push(format!("did not check the {item}"));
        }
        leaves
    }

    /// True if a check of no item is left out, by its technique.
    pub(super) fn leaves_out(&mut self, check: &str) -> bool {
        let leaves = self.draw("look", check) < self.trainee.slips(Slip::LeavesLookOut);
        if leaves {
            self.noted.push(format!("skipped {check}"));
        }
        leaves
    }

    /// True if this fastening of an item is left open.
    pub(super) fn leaves_open(&mut self, item: &str, fastening: &str) -> bool {
        let leaves = self.draw("open", &format!("{item} {fastening}")) < self.trainee.slips(Slip::LeavesOpen);
        if leaves {
            self.noted
                .push(format!("left the {fastening} of the {item} open"));
        }
        leaves
    }

    /// The way of tying this fastening of an item in a knot, if that is what becomes of it and there is one.
    pub(super) fn knots<'a>(
        &mut self,
        item: &str,
        fastening: &str,
        way: impl FnOnce() -> Option<&'a Technique>,
    ) -> Option<&'a Technique> {
        if self.draw("knot", &format!("{item} {fastening}")) >= self.trainee.slips(Slip::Knots) {
            return None;
        }
        let way = way()?;
        self.noted.push(format!("{item} by {}", way.id));
        Some(way)
    }

    /// True if this item is put on by a technique that is not asked for, as far as there is one.
    pub(super) fn dresses_otherwise(&self, item: &str) -> bool {
        self.draw("on", item) < self.trainee.slips(Slip::OtherWay)
    }

    /// Such a technique for this item.
    pub(super) fn other_way_on<'a>(
        &mut self,
        item: &str,
        possible: &[&'a Technique],
        common: &WaysOn,
    ) -> Option<&'a Technique> {
        self.one_of("which on", item, possible, |t| common.weight(&t.id))
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
        let trainee = self.trainee;
        self.one_of("which", item, possible, |t| trainee.poor_weight(&t.id))
    }

    /// One of some techniques for this item, by their weights.
    fn one_of<'a>(
        &mut self,
        what: &str,
        item: &str,
        possible: &[&'a Technique],
        weight: impl Fn(&Technique) -> f64,
    ) -> Option<&'a Technique> {
        let all: f64 = possible.iter().map(|t| weight(t)).sum();
        if all <= 0.0 {
            return None;
        }
        let mut left = self.draw(what, item) * all;
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
