//! Where everything is and what is wet. No counts: those are in the books.

use crate::chance::Key;
use crate::model::{
    Holding, ItemKind, KitItem, Owner, Setup, Side, SiteIndex, Step, Technique, Tied, Whereabouts,
};

use super::Times;

/// The state of one kit item.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct ItemState {
    /// Where it is.
    pub holding: Holding,
    /// For each fastening of its definition, whether it is undone.
    pub undone: Vec<bool>,
    /// For each of them, whether it is tied in a knot.
    pub knotted: Vec<bool>,
    /// True once it is inside out.
    pub inverted: bool,
}

/// A fault that is really there.
#[derive(Clone, Debug, PartialEq)]
pub struct ActiveFault {
    /// Fault id.
    pub fault: String,
    /// Kit item index; none if it is of the person.
    pub item: Option<usize>,
    /// Part index; none if it is not in one.
    pub part: Option<usize>,
    /// Contact area of the leak, cm2; none if the fault is a gap, or does not touch anything.
    pub leak: Option<f64>,
    /// The fault that brought it, if one did.
    pub by: Option<Fault>,
}

/// A fault as it is put right: its id, and the kit item index; none if it is of the person.
pub type Fault = (String, Option<usize>);

impl ActiveFault {
    /// True if a part does not cover its place.
    pub fn is_gap(&self) -> bool {
        self.part.is_some() && self.leak.is_none()
    }

    /// True if both are the same fault of the same part, whatever brought them.
    fn is_same(&self, other: &ActiveFault) -> bool {
        (&self.fault, self.item, self.part) == (&other.fault, other.item, other.part)
    }
}

/// Everything about a moment of a drill except the counts.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Seconds since the drill began: always the number nearest to a whole count of milliseconds, see [`State::pass`].
    pub clock: f64,
    /// Where the person stands.
    pub whereabouts: Whereabouts,
    /// Every kit item.
    pub items: Vec<ItemState>,
    /// Worn items, innermost first.
    pub worn: Vec<usize>,
    /// Held items, oldest first.
    pub held: Vec<usize>,
    /// Clock time until which each site is wet.
    pub wet_until: Vec<f64>,
    /// Faults that the scenario has given the kit and whoever wears it, with what each brought.
    pub faults: Vec<ActiveFault>,
    /// Those of them that have been put right since, whether they were there or not; in ascending order.
    pub mended: Vec<Fault>,
    /// Faults that came about as something was put on; they go as it comes off.
    pub made: Vec<ActiveFault>,
    /// How often each thing has been done.
    pub times: Times,
    /// Sites that had spots and have been rubbed since, so that what is on them is spread evenly; in ascending order.
    pub smeared: Vec<SiteIndex>,
}

/// The clock after so many more seconds; see [`State::pass`].
pub(crate) fn later(clock: f64, seconds: f64) -> f64 {
    let milliseconds = |seconds: f64| (seconds * 1000.0).round();
    (milliseconds(clock) + milliseconds(seconds)) / 1000.0
}

impl State {
    /// How an attempt begins: what is on is fastened as it was put on, what lies ready and spares are in their box; nothing wet,
    /// no faults.
    pub fn dressed(setup: &Setup) -> State {
        let is_on = |item: &KitItem| !item.spare && !item.ready;
        let items = setup
            .items
            .iter()
            .map(|item| ItemState {
                holding: if is_on(item) {
                    Holding::Worn
                } else {
                    Holding::Boxed
                },
                undone: item.tied.iter().map(|t| *t == Tied::Open).collect(),
                knotted: item.tied.iter().map(|t| *t == Tied::Knot).collect(),
                inverted: false,
            })
            .collect();
        State {
            clock: 0.0,
            whereabouts: setup.scenario.begin,
            items,
            worn: (0..setup.items.len())
                .filter(|&i| is_on(&setup.items[i]))
                .collect(),
            held: Vec::new(),
            wet_until: vec![0.0; setup.sites.len()],
            faults: Vec::new(),
            mended: Vec::new(),
            made: Vec::new(),
            times: Times::default(),
            smeared: Vec::new(),
        }
    }

    /// The same with what lies ready put on as it should be, in the order of the kit.
    pub fn all_on(setup: &Setup) -> State {
        let mut state = State::dressed(setup);
        for (item, kit) in setup.items.iter().enumerate() {
            if kit.ready {
                state.items[item].holding = Holding::Worn;
                state.items[item].undone.fill(false);
            }
        }
        state.worn = (0..setup.items.len())
            .filter(|&item| !setup.items[item].spare)
            .collect();
        state
    }

    /// True if a fastening of an item is a knot.
    pub fn is_knotted(&self, item: usize, fastening: usize) -> bool {
        self.items[item].knotted[fastening] && !self.items[item].undone[fastening]
    }

    /// True if a given fault, or what brought it, has been put right.
    pub(crate) fn is_mended(&self, fault: &ActiveFault) -> bool {
        let is = |(id, item): &Fault| match &fault.by {
            Some((by, of)) => id == by && item == of,
            None => *id == fault.fault && *item == fault.item,
        };
        self.mended.iter().any(is)
    }

    /// Puts a given fault right, if it is there.
    pub(super) fn mend(&mut self, fault: Fault) {
        if let Err(place) = self.mended.binary_search(&fault) {
            self.mended.insert(place, fault);
        }
    }

    /// Every fault that there is now: those that were given and not put right, each with its number among all that were given, then
    /// those that were made as kit was put on. What came about in two ways is there once.
    pub(super) fn numbered_faults(&self) -> impl Iterator<Item = (Option<usize>, &ActiveFault)> {
        let there = |n: usize| !self.is_mended(&self.faults[n]);
        let twice = move |n: usize| {
            let mut before = self.faults[..n].iter().enumerate();
            before.any(|(m, fault)| fault.is_same(&self.faults[n]) && there(m))
        };
        let given = (0..self.faults.len()).filter(move |&n| there(n) && !twice(n));
        let again = move |made: &&ActiveFault| {
            let mut given = self.faults.iter().enumerate();
            given.any(|(n, fault)| fault.is_same(made) && there(n))
        };
        given.map(|n| (Some(n), &self.faults[n])).chain(
            self.made
                .iter()
                .filter(move |made| !again(made))
                .map(|made| (None, made)),
        )
    }

    /// Every fault that there is now: those that were given, then those that were made as kit was put on. What came about in two
    /// ways is there once.
    pub fn every_fault(&self) -> impl Iterator<Item = &ActiveFault> {
        self.numbered_faults().map(|(_, fault)| fault)
    }

    /// How many of the fastenings of an item that a technique undoes are knots.
    pub fn knots(&self, setup: &Setup, item: usize, technique: &Technique) -> usize {
        let undoes = |id: &str| {
            let mut steps = technique.steps.iter();
            steps.any(|step| matches!(step, Step::Undo(undone) if undone == id))
        };
        let fastenings = setup.definition(item).fastenings.iter().enumerate();
        fastenings
            .filter(|&(n, f)| self.is_knotted(item, n) && undoes(&f.id))
            .count()
    }

    /// Spreads the spots of a site, if it has any.
    pub(super) fn smear(&mut self, setup: &Setup, site: SiteIndex) {
        if setup.is_spotted(site)
            && let Err(place) = self.smeared.binary_search(&site)
        {
            self.smeared.insert(place, site);
        }
    }

    /// Lets time pass. The clock stands at whole milliseconds, so that 1.3 s and 0.1 s make 1.4 s and a log that says
    /// so is played again to the same moment. Lengths are rounded by themselves, so what takes so long at one time takes
    /// as long at any other.
    pub(super) fn pass(&mut self, seconds: f64) {
        self.clock = later(self.clock, seconds);
    }

    /// True while the door of the room stands open: as long as somebody stands in the doorway. Walking on into the
    /// corridor or back into the room closes it, with a touch of the handle, so whoever is outside has closed it.
    pub fn door_is_open(&self) -> bool {
        self.whereabouts == Whereabouts::Doorway
    }

    /// True if the item is worn.
    pub fn is_worn(&self, item: usize) -> bool {
        self.items[item].holding == Holding::Worn
    }

    /// True if a part hides its places now: it is made to, and no gap fault says otherwise.
    fn hides(&self, setup: &Setup, item: usize, part: usize) -> bool {
        let bares = |f: &&ActiveFault| f.is_gap() && f.item == Some(item) && f.part == Some(part);
        setup.items[item].parts[part].covers
            && !self.faults.iter().filter(bares).any(|f| !self.is_mended(f))
            && !self.made.iter().any(|f| bares(&f))
    }

    /// The item and part on top at a place, if anything covers it; `ignore` is left out.
    pub fn top(&self, setup: &Setup, place: usize, ignore: Option<usize>) -> Option<(usize, usize)> {
        self.worn
            .iter()
            .rev()
            .filter(|&&i| Some(i) != ignore)
            .find_map(|&i| {
                let parts = &setup.items[i].parts;
                (0..parts.len())
                    .find(|&p| parts[p].places.contains(&place) && self.hides(setup, i, p))
                    .map(|p| (i, p))
            })
    }

    /// The outermost surface at a place: the outside of what covers it, or the person's own.
    pub fn outermost(&self, setup: &Setup, place: usize, ignore: Option<usize>) -> SiteIndex {
        match self.top(setup, place, ignore) {
            Some((item, part)) => setup.items[item].parts[part].outside,
            None => place,
        }
    }

    /// What lies directly beneath a worn item at a place; for an item that is not worn, the outermost surface.
    pub fn beneath(&self, setup: &Setup, item: usize, place: usize) -> SiteIndex {
        let Some(layer) = self.worn.iter().position(|&i| i == item) else {
            return self.outermost(setup, place, Some(item));
        };
        for &i in self.worn[..layer].iter().rev() {
            let parts = &setup.items[i].parts;
            if let Some(p) =
                (0..parts.len()).find(|&p| parts[p].places.contains(&place) && self.hides(setup, i, p))
            {
                return parts[p].outside;
            }
        }
        place
    }

    /// An item that lies over a part, if any: worn later and made to hide every place of the part. A gap at a cuff lets things
    /// through and hinders and frees nothing: what can be done is the same whatever faults a kit has.
    pub fn over(&self, setup: &Setup, item: usize, part: usize) -> Option<usize> {
        let layer = self.worn.iter().position(|&i| i == item)?;
        let places = &setup.items[item].parts[part].places;
        let hides = |i: usize, place: &usize| {
            let parts = &setup.items[i].parts;
            parts.iter().any(|p| p.covers && p.places.contains(place))
        };
        let outermost = |place: &usize| self.worn.iter().rev().copied().find(|&i| hides(i, place));
        self.worn[layer + 1..]
            .iter()
            .copied()
            .find(|&i| places.iter().any(|place| hides(i, place)))
            .filter(|_| {
                places
                    .iter()
                    .all(|place| outermost(place).is_some_and(|top| top != item))
            })
    }

    /// Items in a hand, oldest first.
    pub fn in_hand(&self, side: Side) -> impl Iterator<Item = usize> + '_ {
        self.held
            .iter()
            .copied()
            .filter(move |&i| match self.items[i].holding {
                Holding::Held { left, right } => match side {
                    Side::Left => left,
                    Side::Right => right,
                },
                _ => false,
            })
    }

    /// The glove that is outermost on a hand, if any.
    pub fn glove(&self, setup: &Setup, side: Side) -> Option<usize> {
        self.worn
            .iter()
            .rev()
            .copied()
            .find(|&i| setup.items[i].side == Some(side) && setup.definition(i).kind == ItemKind::Glove)
    }

    /// True if a site is wet at a time.
    pub fn is_wet(&self, site: SiteIndex, at: f64) -> bool {
        at < self.wet_until[site]
    }

    /// Moves an item and keeps the lists of worn and held items right. What was wrong with how it was put on goes with it.
    pub fn place_item(&mut self, item: usize, to: Holding) {
        self.worn.retain(|&i| i != item);
        self.held.retain(|&i| i != item);
        self.items[item].holding = to;
        if !matches!(to, Holding::Worn | Holding::Dangling) {
            self.made.retain(|fault| fault.item != Some(item));
        }
        match to {
            Holding::Worn => self.worn.push(item),
            Holding::Held { .. } => self.held.push(item),
            _ => {}
        }
    }

    /// Puts a worn item beneath those of other kinds that lie at its places: a glove whose cuff goes under the sleeve.
    pub(super) fn tuck(&mut self, setup: &Setup, item: usize) {
        let own = setup.definition(item).kind;
        let places = |i: usize| {
            let parts = setup.items[i].parts.iter().filter(|part| part.covers);
            parts.flat_map(|part| &part.places)
        };
        let over = |&i: &usize| {
            setup.definition(i).kind != own && places(i).any(|place| places(item).any(|p| p == place))
        };
        self.worn.retain(|&i| i != item);
        let at = self.worn.iter().position(over).unwrap_or(self.worn.len());
        self.worn.insert(at, item);
    }

    /// How many times a signature has been done, counting this one: 0 for the first.
    pub(super) fn occurrence(&mut self, signature: Key) -> u64 {
        self.times.add(signature, 1)
    }

    /// The item that a site is part of, if it is.
    pub fn item_of(setup: &Setup, site: SiteIndex) -> Option<usize> {
        match setup.sites[site].owner {
            Owner::Part(item, ..) => Some(item),
            _ => None,
        }
    }
}
