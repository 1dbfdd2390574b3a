//! From a named sequence to actions: to the letter, or with the lapses of a virtual trainee.

use crate::drill::{Action, Felt, Refusal, State, in_full};
use crate::model::{
    Asked, AskedStep, Does, Hands, Holding, Pace, Sequence, Setup, Side, Step, Technique, Whereabouts,
};

use super::atlas::Atlas;
use super::lapses::Lapses;
use super::route::Route;

/// The actions that follow a sequence with this kit: each step by the first technique that the sequence accepts and
/// that is possible, loosening what has to be loosened, and every item binned as soon as both hands can.
///
/// # Errors
/// The step that this kit cannot follow, and why.
pub fn by_the_book(setup: &Setup, sequence: &Sequence) -> Result<Vec<Action>, Refusal> {
    let mut atlas = Atlas::new(setup);
    follow(Route::begin(&mut atlas), sequence, None).map(|route| route.plan().actions)
}

/// Goes on with a route by following a sequence, with lapses where a trainee has them.
pub(super) fn follow<'a, 's>(
    route: Route<'a, 's>,
    sequence: &Sequence,
    lapses: Option<&mut Lapses<'_>>,
) -> Result<Route<'a, 's>, Refusal> {
    let mut steps: Vec<&AskedStep> = sequence.steps.iter().collect();
    let mut book = Book {
        setup: route.setup(),
        at_work: !route.setup().lies_ready(),
        route,
        lapses,
    };
    if let Some(lapses) = &mut book.lapses {
        lapses.reorder(&mut steps);
    }
    // What was put on so that it cannot come off yet comes off once what is in its way has.
    let mut left: Vec<&AskedStep> = Vec::new();
    for step in steps {
        let before = book.route.mark();
        let done = book.step(step);
        let removal = matches!(step.asked, Asked::Remove { .. });
        let mut waiting = usize::MAX;
        while done.is_ok() && removal && left.len() < waiting {
            waiting = left.len();
            left.retain(|step| !book.stands_for(step) || book.step(step).is_err());
        }
        if let Err(refusal) = done {
            let comes_later = removal && book.setup.lies_ready();
            if comes_later {
                left.push(step);
            }
            // A trainee who took things in another order may find a step impossible, and leaves it.
            if book.lapses.is_none() {
                let brief = format!("`{}` cannot be followed with this kit: {refusal}", step.id);
                return Err(Refusal {
                    reason: brief,
                    ..refusal
                });
            }
            if !comes_later {
                book.route.back_to(before);
            }
        }
        if let Some(lapses) = &mut book.lapses
            && let Some(touch) = lapses.fidget(book.setup, book.route.arrangement(), &step.id)
        {
            // What covers the face stops the hand; then nothing happens.
            let _ = book.act(touch);
        }
    }
    Ok(book.route)
}

/// A technique in its usual way.
pub(super) fn steadily(technique: &str, item: Option<&String>) -> Action {
    Action::Do {
        technique: technique.to_owned(),
        item: item.cloned(),
        hand: None,
        pace: Pace::Steady,
    }
}

struct Book<'a, 's, 'l, 't> {
    setup: &'s Setup,
    route: Route<'a, 's>,
    lapses: Option<&'l mut Lapses<'t>>,
    /// True once the patient is being seen to; where kit is worn from the start, from the start.
    at_work: bool,
}

impl Book<'_, '_, '_, '_> {
    fn step(&mut self, step: &AskedStep) -> Result<(), Refusal> {
        match &step.asked {
            Asked::PutOn {
                items, accept, at, ..
            } => {
                self.stand(at)?;
                self.put_on(items, accept)
            }
            Asked::Check { items, accept, at } => {
                self.stand(at)?;
                self.checked(items, accept)
            }
            Asked::Remove { items, accept, at } => {
                self.stand(at)?;
                self.remove(items, accept)
            }
            Asked::Clean {
                products,
                seconds,
                forearms,
                ..
            } => {
                let before_work = !self.at_work;
                if self
                    .lapses
                    .as_mut()
                    .is_some_and(|l| l.skips(&step.id, before_work))
                {
                    return Ok(());
                }
                self.clean(products, *seconds, *forearms)
            }
            Asked::Go { to, .. } if *to == self.route.arrangement().whereabouts => Ok(()),
            Asked::Go { to, .. } => {
                self.act(Action::Walk(*to))?;
                // Whoever has dressed and goes in sees to the patient.
                if *to == Whereabouts::Inside && self.setup.lies_ready() {
                    self.at_work = true;
                    self.work()?;
                }
                Ok(())
            }
        }
    }

    /// True if a removal may be done where the person stands.
    fn stands_for(&self, step: &AskedStep) -> bool {
        let whereabouts = self.route.arrangement().whereabouts;
        let at = step.asked.handles().map(|(_, _, at)| at);
        at.is_some_and(|at| at.is_empty() || at.contains(&whereabouts))
    }

    /// Goes to the first of some places, unless this is one of them.
    fn stand(&mut self, at: &[Whereabouts]) -> Result<(), Refusal> {
        match at.first() {
            Some(first) if !at.contains(&self.route.arrangement().whereabouts) => {
                self.act(Action::Walk(*first))
            }
            _ => Ok(()),
        }
    }

    /// Gives all the care that the scenario has, each once and steadily.
    fn work(&mut self) -> Result<(), Refusal> {
        for id in &self.setup.scenario.work {
            self.act(steadily(id, None))?;
        }
        Ok(())
    }

    /// Puts on what lies ready, each by the first accepted technique that is possible, and fastens it; a trainee who slips does it
    /// otherwise.
    fn put_on(&mut self, items: &[String], accept: &[String]) -> Result<(), Refusal> {
        let setup = self.setup;
        let ready = (0..setup.items.len())
            .filter(|&i| setup.items[i].ready && items.contains(&setup.definition(i).id));
        for item in ready {
            let ways = || {
                let ways = accept.iter().filter_map(|id| setup.library.technique(id));
                ways.filter(move |t| setup.applies(t, item))
            };
            let id = &setup.items[item].id;
            if self.route.arrangement().items[item].holding == Holding::Boxed {
                let label = &setup.items[item].label;
                let none = format!("the sequence accepts no way of putting on the {label}");
                let asked = |t: &Technique| accept.contains(&t.id);
                let other = match &mut self.lapses {
                    Some(lapses) => on_otherwise(&mut self.route, item, lapses, asked),
                    None => None,
                };
                let on = other.into_iter().chain(ways().filter(|t| t.is_for_boxed()));
                self.first(on.map(|t| steadily(&t.id, Some(id))), Refusal::new(none))?;
            }
            // What fastens says so by being possible no more once it has.
            for way in ways().filter(|t| !t.is_for_boxed()) {
                let action = steadily(&way.id, Some(id));
                let fastens = way.ties().filter(|_| !way.is_for_mending());
                let Some(tie) = fastens.filter(|_| self.route.check(&action).is_ok()) else {
                    continue;
                };
                let knot = || knotting(setup, item, tie);
                match &mut self.lapses {
                    Some(lapses) => {
                        if lapses.leaves_open(id, tie) {
                            continue;
                        }
                        let knot = lapses.knots(id, tie, knot);
                        self.act(knot.map_or(action, |t| steadily(&t.id, Some(id))))?;
                    }
                    None => self.act(action)?,
                }
            }
        }
        Ok(())
    }

    /// Checks what has been put on, or whoever puts it on, by the first accepted technique that is possible.
    fn checked(&mut self, items: &[String], accept: &[String]) -> Result<(), Refusal> {
        let setup = self.setup;
        if items.is_empty() {
            let left = |id: &String| self.lapses.as_mut().is_some_and(|lapses| lapses.leaves_out(id));
            if accept.first().is_some_and(left) {
                return Ok(());
            }
            let none = Refusal::new("the sequence accepts no way of checking");
            self.first(accept.iter().map(|id| steadily(id, None)), none)?;
            return self.put_right();
        }
        let ready = (0..setup.items.len())
            .filter(|&i| setup.items[i].ready && items.contains(&setup.definition(i).id));
        for item in ready {
            let ways = accept.iter().filter_map(|id| setup.library.technique(id));
            let ways = ways.filter(|t| setup.applies(t, item));
            let label = &setup.items[item].label;
            let none = format!("the sequence accepts no way of checking the {label}");
            let id = &setup.items[item].id;
            if self
                .lapses
                .as_mut()
                .is_some_and(|lapses| lapses.leaves_unchecked(id))
            {
                continue;
            }
            self.first(ways.map(|t| steadily(&t.id, Some(id))), Refusal::new(none))?;
            self.put_right()?;
        }
        Ok(())
    }

    /// Puts right what the last action found and checks again until nothing is found any more, or nothing can be done about it. Who
    /// follows to the letter without chance finds nothing.
    fn put_right(&mut self) -> Result<(), Refusal> {
        // A fault that cannot be put right is felt one time in so many; nobody goes on for ever.
        for _ in 0..MOST_CHECKS {
            let [before @ .., check] = self.route.actions() else {
                return Ok(());
            };
            let check = check.clone();
            let lapses = self.lapses.as_ref();
            let found = lapses.map(|l| l.felt(self.setup, self.route.arrangement(), &check, before));
            let found = found.unwrap_or_default();
            let mut done = false;
            for found in found.iter().filter(|found| found.felt) {
                done |= self.mended(found);
            }
            if !done {
                return Ok(());
            }
            self.act(check)?;
        }
        Ok(())
    }

    /// Does what puts right what was found; true if there is something that does and that is possible.
    fn mended(&mut self, found: &Felt) -> bool {
        let setup = self.setup;
        let ways = setup.library.techniques.iter().filter(|t| match found.item {
            Some(item) => setup.applies(t, item),
            None => t.is_about_no_item(),
        });
        let id = found.item.map(|item| &setup.items[item].id);
        for way in ways.filter(|t| t.puts_right(&found.sought)) {
            if self.act(steadily(&way.id, id)).is_ok() {
                return true;
            }
        }
        false
    }

    /// Does the first of some actions that is possible.
    fn first(&mut self, actions: impl Iterator<Item = Action>, mut why: Refusal) -> Result<(), Refusal> {
        for action in actions {
            match self.act(action) {
                Ok(()) => return Ok(()),
                Err(refusal) => why = refusal,
            }
        }
        Err(why)
    }

    fn act(&mut self, action: Action) -> Result<(), Refusal> {
        self.route.act(action)
    }

    fn remove(&mut self, items: &[String], accept: &[String]) -> Result<(), Refusal> {
        let mut wanted: Vec<usize> = (0..self.setup.items.len())
            .filter(|&i| !self.setup.items[i].spare && items.contains(&self.setup.definition(i).id))
            .collect();
        if self
            .lapses
            .as_ref()
            .is_some_and(|lapses| lapses.begins_at_the_right())
        {
            let side = |&item: &usize| std::cmp::Reverse(self.setup.items[item].side);
            wanted
                .chunk_by_mut(|&a, &b| self.setup.items[a].item == self.setup.items[b].item)
                .for_each(|pair| pair.sort_by_key(side));
        }
        let mut stuck = None;
        for &item in &wanted {
            if !matches!(
                self.route.arrangement().items[item].holding,
                Holding::Worn | Holding::Dangling
            ) {
                continue;
            }
            if let Err(why) = self.take_off(item, accept) {
                // What was put on badly may have to wait for something else, and the other of a pair does not.
                if self.lapses.is_none() || !self.setup.lies_ready() {
                    return Err(why);
                }
                stuck = Some(why);
                self.bin()?;
                continue;
            }
            // The first of two gloves stays in the hand, to go inside the second.
            let pair_left = self.setup.items[item].side.is_some()
                && wanted.iter().any(|&other| {
                    other != item
                        && self.setup.items[other].item == self.setup.items[item].item
                        && self.route.arrangement().is_worn(other)
                });
            if !pair_left || stuck.is_some() {
                self.bin()?;
            }
        }
        stuck.map_or(Ok(()), Err)
    }

    fn take_off(&mut self, item: usize, accept: &[String]) -> Result<(), Refusal> {
        let techniques: Vec<&Technique> = accept
            .iter()
            .filter_map(|id| self.setup.library.technique(id))
            .filter(|t| self.takes(t, item))
            .collect();
        let id = self.setup.items[item].id.clone();
        if self.lapses.as_ref().is_some_and(|l| l.tears(&id))
            && let Some(done) = self.torn(item)
        {
            return done;
        }
        if self.lapses.as_ref().is_some_and(|l| l.takes_poorly(&id))
            && let Some(done) = self.otherwise(item, accept)
        {
            return done;
        }
        let label = &self.setup.items[item].label;
        let mut why = Refusal::new(format!("the sequence accepts no way of taking off the {label}"));
        let offs: Vec<&&Technique> = techniques.iter().filter(|t| t.does == Does::TakesOff).collect();
        // The second glove is peeled by the hand that is bare by now, so the later technique comes first for it.
        let other_is_off = self.setup.items[item]
            .side
            .is_some_and(|side| self.route.arrangement().in_hand(side).next().is_some());
        let ordered: Vec<&&Technique> = if other_is_off {
            offs.iter().rev().copied().collect()
        } else {
            offs.clone()
        };
        for technique in ordered {
            let before = self.route.mark();
            match self.try_off(technique, item, &techniques) {
                Ok(()) => return Ok(()),
                Err(refusal) => {
                    why = refusal;
                    self.route.back_to(before);
                }
            }
        }
        // Whoever took something else off in another way may be left with what no accepted way takes off any more.
        match self.otherwise(item, accept) {
            Some(done) => done,
            None => Err(why),
        }
    }

    /// Takes an item off in a way that the sequence does not accept, if a trainee does this and there is one: what holds
    /// the item is undone first, as somebody would who does not pull until it tears.
    fn otherwise(&mut self, item: usize, accept: &[String]) -> Option<Result<(), Refusal>> {
        if self.lapses.as_ref().is_none_or(|lapses| lapses.never()) {
            return None;
        }
        let applying = || {
            let techniques = self.setup.library.techniques.iter();
            techniques.filter(|t| self.setup.applies(t, item))
        };
        let loosens: Vec<&Technique> = applying().filter(|t| t.does == Does::Loosens).collect();
        let others: Vec<&Technique> = applying()
            .filter(|t| t.does == Does::TakesOff && !accept.contains(&t.id))
            .collect();
        let possible: Vec<&Technique> = others
            .into_iter()
            .filter(|t| {
                let before = self.route.mark();
                let comes_off = self.comes_off(t, item, &loosens);
                self.route.back_to(before);
                comes_off
            })
            .collect();
        let id = &self.setup.items[item].id;
        let chosen = self.lapses.as_mut()?.poor(id, &possible)?;
        Some(self.try_off(chosen, item, &loosens))
    }

    /// Tears an item off as it is, if a knot holds it that would have to be picked apart and there is a way that does not.
    fn torn(&mut self, item: usize) -> Option<Result<(), Refusal>> {
        let arrangement = self.route.arrangement();
        let tears = |t: &&Technique| {
            t.does == Does::TakesOff
                && t.knot.is_none()
                && self.setup.applies(t, item)
                && arrangement.knots(self.setup, item, t) > 0
        };
        let all = self.setup.library.techniques.iter();
        let mut possible: Vec<&Technique> = all.filter(tears).collect();
        let id = &self.setup.items[item].id;
        possible.retain(|t| {
            let as_it_is = Action::Do {
                technique: t.id.clone(),
                item: Some(id.clone()),
                hand: None,
                pace: Pace::Steady,
            };
            self.route.check(&as_it_is).is_ok()
        });
        let chosen = self.lapses.as_mut()?.poor(id, &possible)?;
        Some(self.try_off(chosen, item, &[]))
    }

    /// True if a technique takes this item off or loosens it, as the handled item or along with it.
    fn takes(&self, technique: &Technique, item: usize) -> bool {
        self.setup.applies(technique, item)
    }

    fn try_off(
        &mut self,
        technique: &Technique,
        item: usize,
        accepted: &[&Technique],
    ) -> Result<(), Refusal> {
        self.loosened(technique, item, accepted, Book::act)
    }

    /// True if a technique would take an item off once what holds it is undone, which it then is. What taking it off
    /// brings about is not worked out.
    fn comes_off(&mut self, technique: &Technique, item: usize, loosens: &[&Technique]) -> bool {
        let check = |book: &mut Self, action: Action| book.route.check(&action);
        self.loosened(technique, item, loosens, check).is_ok()
    }

    /// Loosens an item until it can be taken off, and does with the action that takes it off what is to be done.
    fn loosened(
        &mut self,
        technique: &Technique,
        item: usize,
        accepted: &[&Technique],
        off: impl Fn(&mut Self, Action) -> Result<(), Refusal>,
    ) -> Result<(), Refusal> {
        let id = self.setup.items[item].id.clone();
        let pace = self.lapses.as_mut().map_or(Pace::Steady, |l| l.pace(&id));
        let action = |t: &Technique| Action::Do {
            technique: t.id.clone(),
            item: Some(id.clone()),
            hand: None,
            pace,
        };
        for _ in 0..8 {
            let Err(refusal) = off(self, action(technique)) else {
                return Ok(());
            };
            let mut loosens = accepted.iter().filter(|t| t.does == Does::Loosens);
            if !loosens.any(|t| self.act(action(t)).is_ok()) {
                return Err(refusal);
            }
        }
        Err(Refusal::new("it never comes loose"))
    }

    fn bin(&mut self) -> Result<(), Refusal> {
        while let Some(ways) = discards(self.setup, self.route.arrangement()) {
            let mut why = Refusal::new(NO_DISCARD);
            if let Some(lapses) = &mut self.lapses
                && let Some(way) = lapses.discards(&ways, |action| self.route.check(action).is_ok())
            {
                self.act(way)?;
                continue;
            }
            let possible = ways.into_iter().find(|action| match self.route.check(action) {
                Ok(()) => true,
                Err(refusal) => {
                    why = refusal;
                    false
                }
            });
            self.act(possible.ok_or(why)?)?;
        }
        Ok(())
    }

    fn clean(&mut self, products: &[String], seconds: f64, forearms: bool) -> Result<(), Refusal> {
        let mut last = Refusal::new("the sequence names no product");
        for id in products {
            let Some(product) = self.setup.library.product(id) else {
                continue;
            };
            let action = in_full(self.setup, self.route.arrangement(), product, seconds, forearms);
            match self.act(action) {
                Ok(()) => return Ok(()),
                Err(refusal) => last = refusal,
            }
        }
        Err(last)
    }
}

/// The way of tying a fastening of an item in a knot.
pub(super) fn knotting<'s>(setup: &'s Setup, item: usize, fastening: &str) -> Option<&'s Technique> {
    let knots = |t: &&Technique| {
        let mut steps = t.steps.iter();
        t.does == Does::PutsOn && steps.any(|step| matches!(step, Step::Knot(id) if id == fastening))
    };
    let mut ways = setup.library.techniques.iter();
    ways.find(|t| knots(t) && !t.is_for_boxed() && setup.applies(t, item))
}

/// Another way of putting on an item that lies ready than those that are asked for, if a trainee slips into one and there is one
/// that is possible.
pub(super) fn on_otherwise<'s>(
    route: &mut Route<'_, 's>,
    item: usize,
    lapses: &mut Lapses<'_>,
    asked: impl Fn(&Technique) -> bool,
) -> Option<&'s Technique> {
    let setup = route.setup();
    let id = &setup.items[item].id;
    if !lapses.dresses_otherwise(id) {
        return None;
    }
    let others = setup.library.techniques.iter();
    let others =
        others.filter(|t| t.does == Does::PutsOn && t.is_for_boxed() && setup.applies(t, item) && !asked(t));
    let possible: Vec<&Technique> = others
        .filter(|t| route.check(&steadily(&t.id, Some(id))).is_ok())
        .collect();
    lapses.other_way_on(id, &possible, &setup.library.ways_on)
}

/// Checks after which whoever goes on feeling a fault goes on all the same.
const MOST_CHECKS: usize = 20;

/// Why nothing can be thrown away where the content has no way of doing so.
const NO_DISCARD: &str = "there is no way of throwing anything away";

/// The ways in which hands get rid of what they hold, with both hands if both hold something, the first possible one of
/// which is taken. None once they are empty.
pub(super) fn discards(setup: &Setup, state: &State) -> Option<Vec<Action>> {
    let holds = |side: Side| state.in_hand(side).next().is_some();
    let hand = match (holds(Side::Left), holds(Side::Right)) {
        (false, false) => return None,
        (true, true) => Hands::Both,
        (true, false) => Hands::Left,
        (false, true) => Hands::Right,
    };
    let techniques = setup.library.techniques.iter();
    let ways = techniques
        .filter(|t| t.does == Does::Discards)
        .map(|t| Action::Do {
            technique: t.id.clone(),
            item: None,
            hand: Some(hand),
            pace: Pace::Steady,
        });
    Some(ways.collect())
}
