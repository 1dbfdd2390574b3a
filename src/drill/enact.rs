//! From an action to what follows from it: contacts, removals and item changes, in order, without any chance.
//!
//! Which sites meet, with which shares and laws, depends only on where things are; so a plan made here serves one
//! stochastic run, ten thousand of them, and the exact expectation alike.

use crate::chance::Key;
use crate::model::{
    Does, Effect, Efficiency, Fastened, Hands, Holding, How, ItemRef, MoveTo, Name, Need, Pace, Setup, Side,
    Step, Technique, Whereabouts, Zone,
};
use crate::transfer::Cause;

use super::contact::{contact, extent, graze, shed, splash};
use super::resolve::{Frame, item_ref, sites};
use super::words::{hands_words, item_words};
use super::{Action, ActiveFault, First, Planned, Refusal, State, clean, reach, walk};

/// Works out what an action brings about and moves the state on.
///
/// # Errors
/// What makes it physically impossible; the state is then as it was.
pub fn enact(setup: &Setup, state: &mut State, action: &Action) -> Result<Vec<Planned>, Refusal> {
    let mut after = state.clone();
    let planned = match action {
        Action::Do {
            technique,
            item,
            hand,
            pace,
        } => {
            let call = Call::check(setup, &after, technique, item.as_deref(), *hand)?;
            call.carry_out(setup, &mut after, *pace)
        }
        Action::Touch {
            hand,
            with,
            site,
            area,
        } => touch(setup, &mut after, *hand, *with, site, *area)?,
        Action::Clean {
            product,
            doses,
            seconds,
            skip,
            forearms,
        } => {
            let way = clean::Way {
                doses: *doses,
                seconds: *seconds,
                skip,
                forearms: *forearms,
            };
            clean::clean(setup, &mut after, product, way)?
        }
        Action::Walk(to) => walk::walk(setup, &mut after, *to)?,
        Action::Wait(seconds) => {
            if !(0.1..=3600.0).contains(seconds) {
                return Err(Refusal::new("a wait lasts between 0.1 and 3600 seconds"));
            }
            after.pass(*seconds);
            Vec::new()
        }
    };
    *state = after;
    Ok(planned)
}

/// Checks an action without doing anything.
///
/// # Errors
/// What makes it physically impossible.
pub fn check(setup: &Setup, state: &State, action: &Action) -> Result<(), Refusal> {
    match action {
        Action::Do {
            technique,
            item,
            hand,
            ..
        } => Call::check(setup, state, technique, item.as_deref(), *hand).map(|_| ()),
        other => enact(setup, &mut state.clone(), other).map(|_| ()),
    }
}

/// What small contacts are multiplied by at a pace.
fn small(setup: &Setup, pace: Pace) -> f64 {
    match pace {
        Pace::Steady => 1.0,
        Pace::Hurried => setup.library.grazes.hurried,
    }
}

fn touch(
    setup: &Setup,
    state: &mut State,
    hand: Side,
    with: Zone,
    site: &str,
    area: f64,
) -> Result<Vec<Planned>, Refusal> {
    if !(0.01..=500.0).contains(&area) {
        return Err(Refusal::new("a touch has an area between 0.01 and 500 cm2"));
    }
    let target = setup
        .site(site)
        .ok_or_else(|| Refusal::new(format!("this kit has no site `{site}`")))?;
    reach::reach(setup, state, hand, target)?;
    let own = state.outermost(setup, setup.zone_place(hand, with), None);
    let signature = Key::of("touch").named(hand.word()).named(with.word()).named(site);
    let key = signature.within(state.occurrence(signature));
    let seconds = setup.library.manners.touch_seconds;
    let mut out = Vec::new();
    contact(
        setup,
        state,
        &mut out,
        (own, target),
        area,
        false,
        (Cause::Touch, 1.0),
        key,
        state.clock + seconds / 2.0,
    );
    state.pass(seconds);
    Ok(out)
}

/// A technique that has been found possible, with everything it needs.
struct Call<'a> {
    technique: &'a Technique,
    item: Option<usize>,
    hands: Hands,
    acting: Vec<Side>,
}

impl<'a> Call<'a> {
    fn check(
        setup: &'a Setup,
        state: &State,
        technique: &str,
        item: Option<&str>,
        hand: Option<Hands>,
    ) -> Result<Call<'a>, Refusal> {
        let technique = setup
            .library
            .technique(technique)
            .ok_or_else(|| Refusal::new(format!("there is no technique `{technique}`")))?;
        let hands = match hand {
            None => technique.hands[0],
            Some(hand) => hand,
        };
        let item = match item {
            None if technique.is_about_no_item() => None,
            None => return Err(Refusal::new("say which item this is done to")),
            Some(id) => {
                let index = setup
                    .item(id)
                    .ok_or_else(|| Refusal::new(format!("this kit has no item `{id}`")))?;
                if !setup.applies(technique, index) {
                    return Err(Refusal::new(format!(
                        "`{}` is not something one does with the {}",
                        technique.id, setup.items[index].label
                    )));
                }
                Some(index)
            }
        };
        let side = item.and_then(|i| setup.items[i].side);
        // A glove can be named with the hand that does it; that is the opposite hand said in other words.
        let given = hands.sides(side);
        let possible = technique
            .hands
            .iter()
            .any(|h| *h == hands || h.sides(side) == given);
        if !possible {
            return Err(Refusal::new(format!(
                "this cannot be done with {}",
                hands_words(hands)
            )));
        }
        let call = Call {
            technique,
            item,
            hands,
            acting: given,
        };
        call.needs(setup, state)?;
        call.free_hands(setup, state)?;
        call.uncovered(setup, state)?;
        Ok(call)
    }

    fn needs(&self, setup: &Setup, state: &State) -> Result<(), Refusal> {
        if self.technique.does == Does::Cares {
            return self.patient(setup, state);
        }
        if self.technique.prepares() {
            self.before(setup, state)?;
            if self.item.is_none() {
                return self.of_person(setup, state);
            }
        }
        let Some(item) = self.item else {
            let anything = self
                .acting
                .iter()
                .any(|&side| state.in_hand(side).next().is_some());
            return if anything {
                Ok(())
            } else {
                Err(Refusal::new(format!(
                    "there is nothing in {}",
                    hands_words(self.hands)
                )))
            };
        };
        let label = &setup.items[item].label;
        let is = state.items[item].holding;
        let states = |n: &Need| {
            matches!(
                n,
                Need::Worn | Need::Dangling | Need::Held | Need::Boxed | Need::OnFloor
            )
        };
        let worn = [Need::Worn];
        let implied: &[Need] = if self.technique.needs.iter().any(states) {
            &[]
        } else {
            &worn
        };
        for need in implied.iter().chain(&self.technique.needs) {
            let fine = match need {
                Need::Worn => is == Holding::Worn,
                Need::Dangling => is == Holding::Dangling,
                Need::Held => matches!(is, Holding::Held { .. }),
                Need::Boxed => is == Holding::Boxed,
                Need::OnFloor => is == Holding::Floor(state.whereabouts),
                Need::AnyTied => state.items[item].undone.iter().any(|undone| !undone),
                Need::Undone(id) | Need::Tied(id) => {
                    let fastenings = &setup.definition(item).fastenings;
                    let index = fastenings.iter().position(|f| f.id == *id);
                    index.is_some_and(|f| state.items[item].undone[f] == matches!(need, Need::Undone(_)))
                }
                Need::WornToo(id) => setup.item(id).is_some_and(|other| state.is_worn(other)),
                Need::Bare(place) => self.over(setup, state, place).is_none(),
                Need::Covered(place) => self.over(setup, state, place).is_some(),
            };
            if fine {
                continue;
            }
            let fastening_label = |id: &str| {
                let all = &setup.definition(item).fastenings;
                all.iter()
                    .find(|f| f.id == id)
                    .map_or_else(|| id.to_owned(), |f| f.label.clone())
            };
            // Where a fastening is, to go on with.
            let fastened_at = |id: &str| {
                let all = &setup.definition(item).fastenings;
                let part = all.iter().find(|f| f.id == id).map(|f| f.part.as_str())?;
                let part = setup.items[item].part(part)?;
                Some(First::Site(setup.items[item].parts[part].outside))
            };
            return Err(match need {
                Need::Worn | Need::Dangling | Need::Held | Need::Boxed | Need::OnFloor => {
                    let kit = &setup.items[item];
                    match is {
                        Holding::Boxed if kit.ready => {
                            Refusal::new(format!("the {label} is {}", item_words(kit, is)))
                                .hint(format!("put the {label} on first"))
                                .waits_for(First::Item(item))
                        }
                        _ => Refusal::new(format!("the {label} is {}", item_words(kit, is))),
                    }
                }
                Need::AnyTied => Refusal::new(format!(
                    "nothing holds the {label} any more: all its ties are undone"
                )),
                Need::Undone(id) => Refusal {
                    first: fastened_at(id),
                    ..Refusal::new(format!(
                        "the {label} is still held by its {}",
                        fastening_label(id)
                    ))
                    .hint(format!("undo the {} first", fastening_label(id)))
                },
                Need::Tied(id) => Refusal::new(format!(
                    "the {} of the {label} is undone already",
                    fastening_label(id)
                )),
                Need::WornToo(id) => {
                    let other = setup
                        .item(id)
                        .map_or_else(|| id.clone(), |i| setup.items[i].label.clone());
                    Refusal::new(format!("the {other} is not on"))
                }
                Need::Bare(place) => match self.over(setup, state, place) {
                    Some((over, at)) => Refusal::new(format!(
                        "the {} lies over your {at}, where the {label} goes",
                        setup.items[over].label
                    ))
                    .hint(format!("the {} has to come off first", setup.items[over].label))
                    .waits_for(First::Item(over)),
                    None => Refusal::new(format!("there is no place for the {label}")),
                },
                Need::Covered(place) => Refusal::new(format!(
                    "there is nothing over your {} for the {label} to go under",
                    self.place_label(setup, place)
                )),
            });
        }
        Ok(())
    }

    /// The place that a name means for the acting hand.
    fn place(&self, setup: &Setup, name: &Name) -> Option<usize> {
        setup.place(&name.for_side(*self.acting.first()?))
    }

    fn place_label(&self, setup: &Setup, name: &Name) -> String {
        self.place(setup, name).map_or_else(
            || name.name.clone(),
            |place| setup.library.places[place].label.clone(),
        )
    }

    /// What covers a place, the handled item left out, and what the place is called.
    fn over(&self, setup: &Setup, state: &State, name: &Name) -> Option<(usize, String)> {
        let place = self.place(setup, name)?;
        let covers = |&&i: &&usize| {
            let parts = &setup.items[i].parts;
            parts.iter().any(|p| p.covers && p.places.contains(&place))
        };
        let mut others = state.worn.iter().rev().filter(|&&i| Some(i) != self.item);
        let over = others.find(covers)?;
        Some((*over, self.place_label(setup, name)))
    }

    /// What is seen to before kit goes on, and looked at once it is on, is so where kit lies ready, and outside the room.
    fn before(&self, setup: &Setup, state: &State) -> Result<(), Refusal> {
        if !setup.lies_ready() {
            return Err(Refusal::new("all kit is on already"));
        }
        if state.whereabouts == Whereabouts::Inside {
            return Err(Refusal::new("this is done outside the room").hint("go out first"));
        }
        Ok(())
    }

    /// What somebody does to themselves, to what lies ready, or has looked at while it is on.
    fn of_person(&self, setup: &Setup, state: &State) -> Result<(), Refusal> {
        let is = |wanted: Holding| {
            let mut kit = setup.items.iter().zip(&state.items);
            kit.any(|(kit, item)| kit.ready && item.holding == wanted)
        };
        for need in &self.technique.needs {
            let refusal = match need {
                Need::Boxed if !is(Holding::Boxed) => Refusal::new("nothing lies ready any more"),
                Need::Worn if !is(Holding::Worn) => {
                    Refusal::new("nothing of the kit is on yet").hint("put it on first")
                }
                Need::Bare(place) => match self.over(setup, state, place) {
                    Some((over, at)) => {
                        Refusal::new(format!("the {} lies over your {at}", setup.items[over].label))
                            .hint(format!("the {} has to come off first", setup.items[over].label))
                            .waits_for(First::Item(over))
                    }
                    None => continue,
                },
                _ => continue,
            };
            return Err(refusal);
        }
        Ok(())
    }

    /// Care needs a patient who wants it, and somebody beside them.
    fn patient(&self, setup: &Setup, state: &State) -> Result<(), Refusal> {
        if !setup.scenario.work.contains(&self.technique.id) {
            return Err(Refusal::new("nobody here needs this done"));
        }
        if state.whereabouts != Whereabouts::Inside {
            return Err(Refusal::new("the patient is in the room").hint("go in first"));
        }
        Ok(())
    }

    fn free_hands(&self, setup: &Setup, state: &State) -> Result<(), Refusal> {
        if self.technique.does == Does::Discards {
            return Ok(());
        }
        for &side in &self.acting {
            // An item being put back on may itself be in the hand.
            if let Some(full) = state.in_hand(side).find(|&held| Some(held) != self.item) {
                return Err(Refusal::new(format!(
                    "your {} hand is full: it holds the {}",
                    side.word(),
                    setup.items[full].label
                ))
                .hint("put it in the bin first")
                .waits_for(First::Item(full)));
            }
        }
        Ok(())
    }

    fn uncovered(&self, setup: &Setup, state: &State) -> Result<(), Refusal> {
        let Some(item) = self.item else { return Ok(()) };
        if !state.is_worn(item) {
            return self.room_on_body(setup, state, item);
        }
        let kit = &setup.items[item];
        for (p, part) in kit.parts.iter().enumerate() {
            let matters = match self.technique.does {
                Does::TakesOff => !self.technique.beneath_ok.contains(&part.id),
                // Only what is handled must be free.
                Does::Loosens | Does::Adjusts => self.fastens(setup, item, &part.id) || self.technique.steps.iter().any(|step| match step {
                    Step::Contact { a, b, how: How::Meant, .. } => [a, b].into_iter().any(|address| {
                        matches!(address, crate::model::Address::Part { item: ItemRef::Handled, part: Some(n), inside: false }
                            if self.acting.iter().any(|&side| n.for_side(side) == part.id))
                    }),
                    _ => false,
                }),
                // What is on already is fastened, and what lies over the tie is in the way.
                Does::PutsOn => self.fastens(setup, item, &part.id),
                Does::Discards | Does::PicksUp | Does::Cares | Does::Prepares => false,
            };
            if !matters {
                continue;
            }
            if let Some(over) = state.over(setup, item, p) {
                return Err(Refusal::new(format!(
                    "the {} lies over the {} of the {}",
                    setup.items[over].label,
                    setup.definition(item).parts[p].label,
                    kit.label
                ))
                .hint(format!("the {} has to come off first", setup.items[over].label))
                .waits_for(First::Item(over)));
            }
        }
        Ok(())
    }

    /// True if a fastening that is a part of an item is tied or undone.
    fn fastens(&self, setup: &Setup, item: usize, part: &str) -> bool {
        let all = &setup.definition(item).fastenings;
        self.technique.steps.iter().any(|step| {
            matches!(step, Step::Undo(id) | Step::Tie(id) | Step::Knot(id)
                if all.iter().any(|f| f.id == *id && f.part == part))
        })
    }

    /// A fresh item can only go on where no other of its kind is.
    fn room_on_body(&self, setup: &Setup, state: &State, item: usize) -> Result<(), Refusal> {
        if self.technique.does != Does::PutsOn || state.items[item].holding != Holding::Boxed {
            return Ok(());
        }
        let kit = &setup.items[item];
        match state
            .worn
            .iter()
            .find(|&&i| setup.items[i].item == kit.item && setup.items[i].side == kit.side)
        {
            Some(&other) => Err(
                Refusal::new(format!("the {} is still on", setup.items[other].label))
                    .waits_for(First::Item(other)),
            ),
            None => Ok(()),
        }
    }

    fn carry_out(&self, setup: &Setup, state: &mut State, pace: Pace) -> Vec<Planned> {
        let technique = self.technique;
        let mut signature = Key::of("do")
            .named(&technique.id)
            .within(self.acting.iter().map(|&s| 1 + s as u64).sum());
        if let Some(item) = self.item {
            signature = signature.named(&setup.items[item].id);
        }
        let key = signature.within(state.occurrence(signature));
        let (began, length) = (
            state.clock,
            technique.duration(
                pace,
                self.item.map_or(0, |item| state.knots(setup, item, technique)),
            ),
        );
        let extent = extent(setup);
        let mut out = Vec::new();
        for (n, step) in technique.steps.iter().enumerate() {
            let at = began + length * (n as f64 + 0.5) / technique.steps.len() as f64;
            match step {
                Step::Contact {
                    a,
                    b,
                    area,
                    slide,
                    how,
                    only_if,
                } => {
                    if !self.fastened_so(setup, state, only_if.as_ref()) {
                        continue;
                    }
                    let sided = a.is_sided() || b.is_sided();
                    let acting = if sided {
                        &self.acting[..]
                    } else {
                        &self.acting[..1]
                    };
                    for &side in acting {
                        let frame = Frame {
                            acting: side,
                            item: self.item,
                        };
                        let law = match (how, pace) {
                            (How::Meant, _) => Some((Cause::Touch, 1.0)),
                            (How::Brush { steady, .. }, Pace::Steady) => Some((Cause::Brush, *steady)),
                            (How::Brush { hurried, .. }, Pace::Hurried) => Some((Cause::Brush, *hurried)),
                            (How::Graze, _) => None,
                        };
                        let key = key.within(n as u64).within(side as u64);
                        for (i, (a, share_a)) in sites(setup, state, frame, a).into_iter().enumerate() {
                            for (j, (b, share_b)) in sites(setup, state, frame, b).into_iter().enumerate() {
                                let key = key.within((i * 16 + j) as u64);
                                let (both, out) = ((a, b), &mut out);
                                match law {
                                    Some(law) => {
                                        let area = area * share_a * share_b;
                                        contact(setup, state, out, both, area, *slide, law, key, at);
                                    }
                                    None => {
                                        let area = area * small(setup, pace) * share_a * share_b;
                                        graze(setup, state, out, both, area, *slide, &extent, key, at);
                                    }
                                }
                            }
                        }
                    }
                }
                Step::Shed { from, onto, share } => {
                    let acting = match from.is_sided() || onto.is_sided() {
                        true => &self.acting[..],
                        false => &self.acting[..1],
                    };
                    for &side in acting {
                        let frame = Frame {
                            acting: side,
                            item: self.item,
                        };
                        let key = key.within(n as u64).within(side as u64);
                        let share = share * small(setup, pace);
                        for (i, (from, _)) in sites(setup, state, frame, from).into_iter().enumerate() {
                            for (j, (onto, part)) in sites(setup, state, frame, onto).into_iter().enumerate()
                            {
                                let key = key.within((i * 16 + j) as u64);
                                shed(&extent, &mut out, (from, onto), share * part, key, at);
                            }
                        }
                    }
                }
                Step::Splash {
                    from,
                    onto,
                    fraction,
                    sd,
                    wet,
                } => {
                    let acting = match onto.is_sided() {
                        true => &self.acting[..],
                        false => &self.acting[..1],
                    };
                    let law = Efficiency {
                        mean: *fraction,
                        sd: *sd,
                    };
                    for &side in acting {
                        let frame = Frame {
                            acting: side,
                            item: self.item,
                        };
                        let key = key.within(n as u64).within(side as u64);
                        let Some(from) = setup.furniture(from) else {
                            continue;
                        };
                        for (onto, _) in sites(setup, state, frame, onto) {
                            splash(setup, state, &mut out, (from, onto), law, *wet, key, at);
                        }
                    }
                }
                Step::Fault(id) => self.mar(setup, state, id),
                Step::Mend(id) => state
                    .made
                    .retain(|made| made.item != self.item || made.fault != *id),
                Step::Remedy(id) => {
                    let of_person = setup.library.fault(id).is_some_and(|fault| fault.is_of_person());
                    state.mend((id.clone(), self.item.filter(|_| !of_person)));
                }
                Step::Undo(id) | Step::Tie(id) | Step::Knot(id) => {
                    let Some(item) = self.item else { continue };
                    let fastenings = &setup.definition(item).fastenings;
                    let Some(fastening) = fastenings.iter().position(|f| f.id == *id) else {
                        continue;
                    };
                    let undone = matches!(step, Step::Undo(_));
                    state.items[item].knotted[fastening] = matches!(step, Step::Knot(_));
                    if state.items[item].undone[fastening] != undone {
                        state.items[item].undone[fastening] = undone;
                        out.push(Planned::Fastening {
                            item,
                            fastening,
                            undone,
                            at,
                        });
                    }
                }
                Step::Invert(reference) => {
                    for item in self.items_of(setup, state, reference) {
                        state.items[item].inverted = !state.items[item].inverted;
                        out.push(Planned::Inverted { item, at });
                    }
                }
                Step::Move(reference, to) => {
                    for item in self.items_of(setup, state, reference) {
                        self.move_item(setup, state, item, *to, at, &mut out);
                    }
                }
            }
        }
        state.pass(length);
        out
    }

    /// True unless a contact waits for a fastening that is not as it should be.
    fn fastened_so(&self, setup: &Setup, state: &State, only_if: Option<&(String, Fastened)>) -> bool {
        let (Some((id, so)), Some(item)) = (only_if, self.item) else {
            return true;
        };
        let fastenings = &setup.definition(item).fastenings;
        let index = fastenings.iter().position(|f| f.id == *id);
        index.is_some_and(|f| match so {
            Fastened::Tied => !state.items[item].undone[f],
            Fastened::Undone => state.items[item].undone[f],
            Fastened::Knotted => state.is_knotted(item, f),
        })
    }

    /// The items a reference means: everything in the acting hands for `held` in a discard.
    fn items_of(&self, setup: &Setup, state: &State, reference: &ItemRef) -> Vec<usize> {
        if *reference == ItemRef::Held {
            let mut all: Vec<usize> = self.acting.iter().flat_map(|&side| state.in_hand(side)).collect();
            all.sort_unstable();
            all.dedup();
            return all;
        }
        item_ref(
            setup,
            state,
            Frame {
                acting: self.acting[0],
                item: self.item,
            },
            reference,
        )
        .into_iter()
        .collect()
    }

    /// Gives the item a fault by how it was put on.
    fn mar(&self, setup: &Setup, state: &mut State, id: &str) {
        let (Some(item), Some(fault)) = (self.item, setup.library.fault(id)) else {
            return;
        };
        let (part, leak) = match &fault.effect {
            Effect::Gap { part } => (Some(part), None),
            Effect::Leak {
                part: Some(part),
                area,
            } => (Some(part), Some(*area)),
            Effect::Nothing => (None, None),
            // Which part it is, or whether it brings another, would be for chance to say; the rest is of the person.
            Effect::Leak { part: None, .. }
            | Effect::Loads { .. }
            | Effect::Misses { .. }
            | Effect::Brings { .. } => return,
        };
        let part = match part.map(|part| setup.items[item].part(part)) {
            Some(None) => return,
            Some(part) => part,
            None => None,
        };
        let made = ActiveFault {
            fault: fault.id.clone(),
            item: Some(item),
            part,
            leak,
            by: None,
        };
        if !state.made.contains(&made) {
            state.made.push(made);
        }
    }

    fn move_item(
        &self,
        setup: &Setup,
        state: &mut State,
        item: usize,
        goal: MoveTo,
        at: f64,
        out: &mut Vec<Planned>,
    ) {
        let to = match goal {
            MoveTo::Hand => Holding::Held {
                left: self.acting.contains(&Side::Left),
                right: self.acting.contains(&Side::Right),
            },
            MoveTo::Bin => Holding::Binned,
            MoveTo::Floor => Holding::Floor(state.whereabouts),
            MoveTo::Dangle => Holding::Dangling,
            MoveTo::Body | MoveTo::Beneath => Holding::Worn,
        };
        // What a gloved hand holds ends up inside the glove that is peeled off it, and goes where the glove goes.
        let mut moving = Vec::new();
        if state.is_worn(item)
            && to != Holding::Worn
            && let Some(side) = setup.items[item].side
            && state.glove(setup, side) == Some(item)
        {
            moving.extend(state.in_hand(side));
        }
        moving.push(item);
        for item in moving {
            let from = state.items[item].holding;
            if (from, goal) == (Holding::Worn, MoveTo::Body) {
                // What is on already is brought over what lies over it.
                state.worn.retain(|&worn| worn != item);
                state.worn.push(item);
            }
            if from != to {
                state.place_item(item, to);
                if goal == MoveTo::Beneath {
                    state.tuck(setup, item);
                }
                out.push(Planned::Item { item, from, to, at });
            }
        }
    }
}
