//! Whether hands are clean in the sense of guidance, and how well they were cleaned.

use crate::drill::{Action, Done, Happened};
use crate::model::{
    Asked, Does, Fate, Holding, ItemKind, Owner, Product, Sequence, Setup, Side, SiteIndex, Zone,
};
use crate::transfer::Cause;

use super::work;

/// One cleaning of hands.
#[derive(Clone, Debug, PartialEq)]
pub struct Cleaning {
    /// Index of the action.
    pub action: usize,
    /// Product id.
    pub product: String,
    /// How long, s.
    pub seconds: f64,
    /// How long it should take, s.
    pub asked: f64,
    /// Amount, ml.
    pub amount: f64,
    /// Zones that were left out or not fully reached.
    pub missed: Vec<Zone>,
    /// Share of both hands that was reached, 0 to 1, zone by zone, by time or by what was left out.
    pub covered: f64,
    /// True if bare forearms were cleaned too, in full.
    pub forearms: bool,
    /// True if nothing lay over the forearms.
    pub forearms_bare: bool,
    /// True if there was a glove on either hand: then it was that glove that was cleaned.
    pub over_gloves: bool,
    /// True if the other hand was bare then.
    pub one_bare: bool,
    /// True if it carries off what it loosens, as soap and water do, rather than killing it where it is.
    pub lifts: bool,
    /// Organisms removed by it.
    pub removed: u64,
}

impl Cleaning {
    /// True if it was long enough and reached every zone.
    pub fn is_full(&self) -> bool {
        self.missed.is_empty()
    }

    /// True if no zone was reached in full: hands are as they were.
    pub fn is_none(&self) -> bool {
        Zone::ALL.iter().all(|zone| self.missed.contains(zone))
    }

    /// True if hands count as cleaned by it: most of both was reached.
    pub fn counts(&self) -> bool {
        self.covered + 1e-9 >= COUNTS_AS_CLEANED
    }

    /// Over what hands were cleaned, in words that follow the product: nothing where both were bare.
    pub fn over_words(&self) -> &'static str {
        match (self.over_gloves, self.one_bare) {
            (false, _) => "",
            (true, false) => " over gloves",
            (true, true) => " with one hand gloved",
        }
    }

    /// True if it was shorter than so many seconds for all who look at a clock.
    pub(super) fn is_shorter_than(&self, asked: f64) -> bool {
        self.seconds + CLOSE_ENOUGH < asked
    }

    /// How short of so many seconds it was, in words.
    pub(super) fn short_of(&self, asked: f64) -> String {
        let tenths = (10.0 * self.seconds).round() / 10.0;
        format!("too short, {tenths} s of {asked:.0}")
    }

    /// What was lacking, in words: how short it was, or what was left out; none of a full one.
    pub fn lacking(&self) -> Option<String> {
        if self.is_full() {
            return None;
        }
        if self.is_shorter_than(self.asked) {
            return Some(self.short_of(self.asked));
        }
        let zones: Vec<&str> = self.missed.iter().map(|zone| zone.label()).collect();
        Some(format!("left out: {}", zones.join(", ")))
    }
}

/// Every cleaning of a drill, with how long the sequence asks for that product where it does.
pub(super) fn cleanings(setup: &Setup, sequence: &Sequence, done: &[Done], hands: &[Hands]) -> Vec<Cleaning> {
    done.iter()
        .enumerate()
        .filter_map(|(action, d)| {
            let Action::Clean {
                product: id,
                doses,
                seconds,
                skip,
                forearms,
            } = &d.action
            else {
                return None;
            };
            let product = setup.library.product(id)?;
            let asked = asked_seconds(sequence, product);
            let arms = seconds_for_forearms(product, *forearms);
            Some(Cleaning {
                action,
                product: id.clone(),
                seconds: *seconds,
                asked: asked + arms,
                amount: product.dose_ml * f64::from(*doses),
                missed: missed_zones(product, *seconds - arms, asked, skip),
                covered: covered(product, *seconds - arms, asked, skip),
                forearms: *forearms && *seconds + 1e-9 >= arms,
                forearms_bare: hands[action].forearms_bare(),
                over_gloves: Side::BOTH
                    .into_iter()
                    .any(|side| hands[action].glove(side).is_some()),
                one_bare: Side::BOTH
                    .into_iter()
                    .any(|side| hands[action].glove(side).is_none()),
                lifts: product.fate == Fate::WashedAway,
                removed: d
                    .flows()
                    .filter(|(e, _)| e.cause == Cause::Hygiene)
                    .map(|(_, outcome)| outcome.moved_ab)
                    .sum(),
            })
        })
        .collect()
}

/// How much of a cleaning goes to the forearms, s.
fn seconds_for_forearms(product: &Product, forearms: bool) -> f64 {
    let arms = product.forearms.as_ref().filter(|_| forearms);
    arms.map_or(0.0, |f| f.seconds)
}

/// How long a cleaning with a product should take: the least that the sequence asks where it names the product, else
/// what is usual for it, s.
fn asked_seconds(sequence: &Sequence, product: &Product) -> f64 {
    let asked = sequence.steps.iter().filter_map(|s| match &s.asked {
        Asked::Clean {
            products, seconds, ..
        } if products.contains(&product.id) => Some(*seconds),
        _ => None,
    });
    asked.reduce(f64::min).unwrap_or(product.seconds)
}

/// By how much a cleaning may be shorter than asked and be as long as asked for all who look at a clock, s:
/// common practice, no source.
const CLOSE_ENOUGH: f64 = 0.5;

/// What share of both hands has to have been reached, whether time was short or parts were left out, so that they count as
/// cleaned: less than all of it costs marks, less than this is no cleaning. Common practice, no source.
const COUNTS_AS_CLEANED: f64 = 0.75;

/// The share of both hands that is reached in so many seconds when covering all of them takes `asked`: zones are covered one
/// after another, and what is left out stays as it is.
fn covered(product: &Product, seconds: f64, asked: f64, skip: &[Zone]) -> f64 {
    let zones = product.order.len() as f64;
    let each = asked / zones;
    let reached = product
        .order
        .iter()
        .enumerate()
        .filter(|(_, zone)| !skip.contains(zone));
    let shares = reached.map(|(n, _)| (seconds / each - n as f64).clamp(0.0, 1.0));
    shares.sum::<f64>() / zones
}

/// True if hands count as cleaned by an action where they go by a sequence.
pub(super) fn counts(setup: &Setup, sequence: &Sequence, action: &Action) -> bool {
    let Action::Clean {
        product,
        seconds,
        skip,
        forearms,
        ..
    } = action
    else {
        return false;
    };
    setup.library.product(product).is_some_and(|product| {
        let asked = asked_seconds(sequence, product);
        let for_hands = seconds - seconds_for_forearms(product, *forearms);
        covered(product, for_hands, asked, skip) + 1e-9 >= COUNTS_AS_CLEANED
    })
}

/// Zones left out, or not reached in the time given when covering all of them takes `asked` seconds.
fn missed_zones(product: &Product, seconds: f64, asked: f64, skip: &[Zone]) -> Vec<Zone> {
    // Nobody reads a clock closer than that.
    let seconds = if seconds + CLOSE_ENOUGH >= asked {
        asked
    } else {
        seconds
    };
    let each = asked / product.order.len() as f64;
    product
        .order
        .iter()
        .enumerate()
        .filter(|&(n, zone)| skip.contains(zone) || seconds + 1e-9 < each * (n + 1) as f64)
        .map(|(_, &zone)| zone)
        .collect()
}

/// What made a hand unclean in the sense of guidance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Soiled {
    /// It has not been cleaned since the person came, to put kit on.
    AtFirst,
    /// The work before kit comes off: gloves have been at it.
    AtWork,
    /// It touched what guidance calls dirty.
    Touched(SiteIndex),
    /// This glove came off it.
    GloveOff(usize),
    /// It handled this item, where guidance calls that clean.
    Handled(usize),
    /// It lifted this item from the floor.
    Lifted(usize),
    /// It worked the door, which everybody does.
    AtTheDoor,
}

/// Both hands at a moment: the gloves on them, and what has made them unclean since they were last cleaned in full.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hands {
    soiled: [Option<Soiled>; 2],
    /// What of the kit each hand has handled since it was last cleaned in full, wherever.
    handled: [Option<usize>; 2],
    /// Whether each hand has worked the door since it was last cleaned in full.
    door: [bool; 2],
    /// How often either hand has met dirty kit or lost a glove.
    met_kit: usize,
    /// Worn gloves of each hand, innermost first.
    gloves: [Vec<usize>; 2],
    /// Worn items that lie over a forearm.
    sleeves: Vec<usize>,
    /// All that is worn, whatever it is.
    kit: Vec<usize>,
    /// All that is in either hand.
    carried: Vec<usize>,
}

impl Hands {
    /// Before doffing every hand counts as unclean: gloves have been at work. So does it before anything is put on.
    pub fn at_start(setup: &Setup) -> Hands {
        let worn: Vec<usize> = (0..setup.items.len())
            .filter(|&i| !setup.items[i].spare && !setup.items[i].ready)
            .collect();
        let mut hands = Hands::of(setup, &worn, [true; 2]);
        if setup.lies_ready() {
            hands.soiled = [Some(Soiled::AtFirst); 2];
        }
        hands
    }

    /// The same hands once the work has been done with them.
    fn worked(&mut self) {
        self.soiled = [Some(Soiled::AtWork); 2];
    }

    /// The hands of somebody who wears these items, innermost first, with those that are unclean.
    pub(super) fn of(setup: &Setup, worn: &[usize], unclean: [bool; 2]) -> Hands {
        let on = |side: Side| {
            worn.iter()
                .copied()
                .filter(|&i| is_glove_of(setup, i, side))
                .collect()
        };
        Hands {
            soiled: unclean.map(|unclean| unclean.then_some(Soiled::AtWork)),
            handled: [None; 2],
            door: [false; 2],
            met_kit: 0,
            gloves: Side::BOTH.map(on),
            sleeves: worn
                .iter()
                .copied()
                .filter(|&i| lies_over_forearm(setup, i))
                .collect(),
            kit: worn.to_vec(),
            carried: Vec::new(),
        }
    }

    /// The same, holding these items.
    pub(super) fn holding(self, held: &[usize]) -> Hands {
        Hands {
            carried: held.to_vec(),
            ..self
        }
    }

    /// The hands before each action, and after the last: one more than there are actions.
    pub fn course(setup: &Setup, sequence: &Sequence, done: &[Done]) -> Vec<Hands> {
        let mut now = Hands::at_start(setup);
        let mut course = vec![now.clone()];
        let begins = work::begins(setup, done);
        for (n, this) in done.iter().enumerate() {
            match work::is_before(setup, done, n) {
                true => now.after_dressing(setup, sequence, this),
                false => now.after(setup, sequence, this),
            }
            if setup.lies_ready() && n == begins {
                now.worked();
            }
            course.push(now.clone());
        }
        course
    }

    /// What has made a hand unclean since it was last cleaned in full; none if it is clean.
    pub fn soiled(&self, side: Side) -> Option<Soiled> {
        self.soiled[side as usize]
    }

    /// What makes a hand unfit for the face: what makes it unclean, or any of the kit that it has handled since it was last
    /// cleaned in full, ties and straps too, or the door. Whoever takes kit off keeps hands off the face until they are clean
    /// again.
    pub(super) fn unfit_for_face(&self, side: Side) -> Option<Soiled> {
        let handled = self.handled[side as usize].map(Soiled::Handled);
        let door = self.door[side as usize].then_some(Soiled::AtTheDoor);
        self.soiled(side).or(handled).or(door)
    }

    /// What makes a hand unfit for what others touch next: what makes it unclean, or any of the kit that it has handled since
    /// it was last cleaned in full. The door is what others touch itself.
    pub(super) fn unfit_for_others(&self, side: Side) -> Option<Soiled> {
        let handled = self.handled[side as usize].map(Soiled::Handled);
        self.soiled(side).or(handled)
    }

    /// What is in the hands.
    pub(super) fn carried(&self) -> &[usize] {
        &self.carried
    }

    /// True if an item is worn.
    pub(super) fn wears(&self, item: usize) -> bool {
        self.kit.contains(&item)
    }

    /// How often either hand has met dirty kit or lost a glove so far.
    pub(super) fn met_kit(&self) -> usize {
        self.met_kit
    }

    /// True if nothing lies over a forearm.
    pub fn forearms_bare(&self) -> bool {
        self.sleeves.is_empty()
    }

    /// The outermost glove of a hand.
    pub fn glove(&self, side: Side) -> Option<usize> {
        self.gloves[side as usize].last().copied()
    }

    /// What is worn over the body that gloves, head and face are no part of: gown, apron and overshoes whose outside counts
    /// as dirty.
    pub(super) fn on_the_body<'a>(&'a self, setup: &'a Setup) -> impl Iterator<Item = usize> + 'a {
        self.kit.iter().copied().filter(|&item| {
            let kind = setup.definition(item).kind;
            let dirty = setup.items[item].parts.iter().any(|part| part.declared_dirty);
            dirty && matches!(kind, ItemKind::Gown | ItemKind::Apron | ItemKind::Overshoe)
        })
    }

    /// True if a site is the skin of this hand, or the outside of a glove on it.
    pub(super) fn is(&self, setup: &Setup, side: Side, site: SiteIndex) -> bool {
        match setup.sites[site].owner {
            Owner::Body(place) => setup.zone_of_place(place).is_some_and(|(of, _)| of == side),
            Owner::Part(item, _, inside) => !inside && self.gloves[side as usize].contains(&item),
            Owner::Room(_) => false,
        }
    }

    /// True if cleaning now is cleaning what is asked: bare hands, or gloves that may be cleaned in their place.
    pub fn clean_as_asked(&self, setup: &Setup, gloves: &[String]) -> bool {
        Side::BOTH.into_iter().all(|side| {
            self.glove(side)
                .is_none_or(|glove| gloves.contains(&setup.definition(glove).id))
        })
    }

    /// Takes one more action of putting on into account: kit is clean then, and so is a glove that is fresh from its box.
    fn after_dressing(&mut self, setup: &Setup, sequence: &Sequence, done: &Done) {
        let before = self.clone();
        self.after(setup, sequence, done);
        self.handled = before.handled;
        self.met_kit = before.met_kit;
        for side in Side::BOTH {
            let now = &mut self.soiled[side as usize];
            let by_kit = match *now {
                Some(Soiled::Touched(site)) => matches!(setup.sites[site].owner, Owner::Part(..)),
                Some(Soiled::GloveOff(_)) => true,
                _ => false,
            };
            if by_kit {
                *now = before.soiled[side as usize];
            }
            let on = |h: &Happened| matches!(h, Happened::Item { item, to: Holding::Worn, .. } if is_glove_of(setup, *item, side));
            if done.happened.iter().any(on) {
                *now = None;
            }
        }
    }

    /// Takes one more action into account.
    pub(super) fn after(&mut self, setup: &Setup, sequence: &Sequence, done: &Done) {
        match &done.action {
            Action::Clean { .. } => {
                if counts(setup, sequence, &done.action) {
                    self.cleaned(sequence, setup);
                }
                return;
            }
            // Everyone who leaves takes hold of the same door. It is counted; whether hands have to be cleaned because of
            // it before they handle kit is for the sequence to say.
            Action::Walk(_) if !door_soils(sequence) => {
                for (event, _) in done.flows().filter(|(event, _)| event.cause == Cause::Touch) {
                    let (a, b) = event.sites();
                    for side in Side::BOTH {
                        let meets = [Some(a), b]
                            .into_iter()
                            .flatten()
                            .any(|site| self.is(setup, side, site));
                        self.door[side as usize] |= meets;
                    }
                }
                return;
            }
            _ => {}
        }
        let fresh = put_on_by(setup, &done.action);
        let was = self.soiled;
        // Only what was meant: nobody can be asked to clean a hand after a brush that nobody saw.
        for (event, _) in done.flows().filter(|(event, _)| event.cause == Cause::Touch) {
            let (a, Some(b)) = event.sites() else { continue };
            for (hand, other) in [(a, b), (b, a)] {
                for side in Side::BOTH {
                    if !self.is(setup, side, hand) {
                        continue;
                    }
                    if let Owner::Part(item, ..) = setup.sites[other].owner
                        && !setup.items[item].spare
                        && !is_glove_of(setup, item, side)
                    {
                        self.handled[side as usize].get_or_insert(item);
                    }
                    // A handle taken hold of is the door worked.
                    if is_handle(setup, other) && !door_soils(sequence) {
                        self.door[side as usize] = true;
                        continue;
                    }
                    // What comes out of its box has met nothing yet, nor has a glove from there on a hand that is clean.
                    let is_fresh = match setup.sites[other].owner {
                        Owner::Part(item, ..) => {
                            let of = setup.items[item].side.filter(|_| setup.items[item].spare);
                            Some(item) == fresh || of.is_some_and(|side| was[side as usize].is_none())
                        }
                        _ => false,
                    };
                    if soils(setup, other) && !is_fresh {
                        self.soiled[side as usize].get_or_insert(Soiled::Touched(other));
                        self.met_kit += usize::from(matches!(setup.sites[other].owner, Owner::Part(..)));
                    }
                }
            }
        }
        for happened in &done.happened {
            let Happened::Item { item, from, to, .. } = happened else {
                continue;
            };
            self.kit.retain(|worn| worn != item);
            if *to == Holding::Worn {
                self.kit.push(*item);
            }
            self.carried.retain(|held| held != item);
            if let Holding::Held { left, right } = *to {
                self.carried.push(*item);
                // Whatever of it a hand takes hold of: what lay on the floor is dirty.
                if matches!(from, Holding::Floor(_)) && !setup.items[*item].spare {
                    for (side, holds) in [(Side::Left, left), (Side::Right, right)] {
                        if holds {
                            self.soiled[side as usize].get_or_insert(Soiled::Lifted(*item));
                            self.met_kit += 1;
                        }
                    }
                }
            }
            if lies_over_forearm(setup, *item) {
                self.sleeves.retain(|sleeve| sleeve != item);
                if *to == Holding::Worn {
                    self.sleeves.push(*item);
                }
            }
            let Some(side) = setup.items[*item]
                .side
                .filter(|&side| is_glove_of(setup, *item, side))
            else {
                continue;
            };
            let gloves = &mut self.gloves[side as usize];
            if *from == Holding::Worn {
                gloves.retain(|g| g != item);
                // A glove from its box that has met nothing leaves the hand as it was.
                if !setup.items[*item].spare || self.soiled[side as usize].is_some() {
                    self.soiled[side as usize] = Some(Soiled::GloveOff(*item));
                    self.met_kit += 1;
                }
            }
            if *to == Holding::Worn {
                gloves.push(*item);
            }
        }
    }

    /// A cleaning that reaches most of both hands makes clean what it reaches: skin, and those gloves that the sequence wants cleaned. A glove
    /// that guidance never cleans stays what it was.
    fn cleaned(&mut self, sequence: &Sequence, setup: &Setup) {
        let cleanable = |glove: usize| {
            let id = &setup.definition(glove).id;
            sequence
                .steps
                .iter()
                .any(|s| matches!(&s.asked, Asked::Clean { gloves, .. } if gloves.contains(id)))
        };
        for side in Side::BOTH {
            if self.glove(side).is_none_or(cleanable) {
                self.soiled[side as usize] = None;
                self.handled[side as usize] = None;
                self.door[side as usize] = false;
            }
        }
    }
}

fn door_soils(sequence: &Sequence) -> bool {
    let says = |asked: &Asked| matches!(asked, Asked::Go { door_soils: true, .. });
    sequence.steps.iter().any(|step| says(&step.asked))
}

/// The item that an action puts on, which nothing has met yet.
pub(super) fn put_on_by(setup: &Setup, action: &Action) -> Option<usize> {
    let Action::Do {
        technique,
        item: Some(item),
        ..
    } = action
    else {
        return None;
    };
    let technique = setup.library.technique(technique)?;
    (technique.does == Does::PutsOn)
        .then(|| setup.item(item))
        .flatten()
}

/// True for a handle of the door.
fn is_handle(setup: &Setup, site: SiteIndex) -> bool {
    let of = |piece: usize| {
        let (door, id) = (setup.library.door.as_ref(), &setup.library.furniture[piece].id);
        door.is_some_and(|door| *id == door.inside || *id == door.outside)
    };
    matches!(setup.sites[site].owner, Owner::Room(piece) if of(piece))
}

fn lies_over_forearm(setup: &Setup, item: usize) -> bool {
    let forearms = Side::BOTH.map(|side| setup.place(&format!("{}-forearm", side.word())));
    setup.items[item].parts.iter().any(|part| {
        let over = |place: &usize| forearms.contains(&Some(*place));
        part.covers && part.places.iter().any(over)
    })
}

fn is_glove_of(setup: &Setup, item: usize, side: Side) -> bool {
    setup.definition(item).kind == ItemKind::Glove && setup.items[item].side == Some(side)
}

/// True for what makes a hand unclean: the outside of any item that guidance calls dirty, and the room.
fn soils(setup: &Setup, site: SiteIndex) -> bool {
    match setup.sites[site].owner {
        Owner::Part(item, part, inside) => !inside && setup.items[item].parts[part].declared_dirty,
        Owner::Room(_) => true,
        Owner::Body(_) => false,
    }
}
