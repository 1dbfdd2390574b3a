//! What one action brings about in one arrangement of the kit, whenever it is done: shared by all plans that have it.

use std::hash::{Hash, Hasher};
use std::sync::{Arc, OnceLock};

use rustc_hash::{FxHashMap, FxHasher};

use crate::chance::PEOPLE;
use crate::drill::laws;
use crate::model::{Efficiency, Setup, SiteIndex};
use crate::transfer::{Cause, Event, Flow, Laws};

use super::coefficients::{Coefficients, Step};

/// Which sites an event of a part touches, apart from all else about it: most events of a drill meet two empty surfaces,
/// and then this is all that is read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Head {
    /// Its first site.
    pub a: u32,
    /// Its second site, or the first again.
    pub b: u32,
    /// True if it happens exactly when the event before it does.
    pub follows: bool,
    /// True if it makes a difference whether one of them is wet.
    can_be_wet: bool,
}

/// One event of a part.
#[derive(Clone, Debug)]
pub(super) struct PartEvent {
    /// The event as it is when nothing was wet at the start of the attempt; its clock starts with the action.
    pub event: Event,
    /// The laws of the same contact when one of its sites is wet, from a to b and back; none where it makes no difference.
    wet: Option<(Efficiency, Efficiency)>,
    /// The same contact then, made when it is first needed: most never meet anything wet.
    wetted: OnceLock<Box<PartEvent>>,
    /// The laws of what it draws, made ready when they are first needed.
    laws: OnceLock<Laws>,
    /// Mean shares for people of each sort, worked out when they are first needed.
    shares: OnceLock<Box<Shares>>,
}

/// For people of each sort, the mean shares that an event moves there, and those that it moves back.
pub(super) type Shares = [[f64; PEOPLE]; 2];

/// What an action brings about.
#[derive(Clone, Debug)]
pub(super) struct Part {
    events: Vec<Arc<PartEvent>>,
    /// One for each event.
    heads: Vec<Head>,
    /// When each of them happens, apart from all else about it: it is asked of what can be wet, in every attempt.
    moments: Vec<f64>,
    /// Skin of hands and wrists that nothing covers before it.
    pub bare_hands: Arc<[SiteIndex]>,
    /// True if the action cleans the skin of a hand.
    pub cleans_skin: bool,
    /// True if any of its events varies between people.
    varies: bool,
}

/// Everything that actions bring about, each once: much of it is the same in many arrangements, and where it is not, most
/// of its events are.
#[derive(Debug, Default)]
pub(super) struct Parts {
    parts: FxHashMap<u64, Vec<Arc<Part>>>,
    events: FxHashMap<u64, Vec<Arc<PartEvent>>>,
}

impl Parts {
    /// The event that is known already and like this one, or this one.
    pub fn event(&mut self, event: PartEvent) -> Arc<PartEvent> {
        let alike = self.events.entry(event.mark()).or_default();
        if let Some(known) = alike.iter().find(|known| known.is_like(&event)) {
            return known.clone();
        }
        let event = Arc::new(event);
        alike.push(event.clone());
        event
    }

    /// The part that is known already and like this one, or this one.
    pub fn shared(&mut self, part: Part) -> Arc<Part> {
        let alike = self.parts.entry(part.mark()).or_default();
        if let Some(known) = alike.iter().find(|known| known.is_like(&part)) {
            return known.clone();
        }
        let part = Arc::new(part);
        alike.push(part.clone());
        part
    }
}

impl PartEvent {
    /// An event, dry or as it is anyway, with its wet form.
    pub fn new(setup: &Setup, event: Event) -> PartEvent {
        PartEvent {
            wet: wet_laws(setup, &event),
            ..PartEvent::fixed(event)
        }
    }

    /// An event that is the same whatever is wet.
    pub fn fixed(event: Event) -> PartEvent {
        PartEvent {
            event,
            wet: None,
            wetted: OnceLock::new(),
            laws: OnceLock::new(),
            shares: OnceLock::new(),
        }
    }

    /// A number that events which are alike share.
    fn mark(&self) -> u64 {
        let mut hasher = FxHasher::default();
        (self.event.key, self.event.sites()).hash(&mut hasher);
        hasher.finish()
    }

    /// True if the other is the same in all.
    fn is_like(&self, other: &PartEvent) -> bool {
        self.event == other.event && self.wet == other.wet
    }

    /// True if it makes a difference whether one of its sites is wet.
    pub fn can_be_wet(&self) -> bool {
        self.wet.is_some()
    }

    /// The same contact when one of its sites is wet; none where it makes no difference.
    pub fn wet(&self) -> Option<&PartEvent> {
        let (there, back) = self.wet?;
        let made = || {
            let mut event = self.event.clone();
            if let Flow::Contact { wet, ab, ba, .. } = &mut event.flow {
                (*wet, *ab, *ba) = (true, there, back);
            }
            Box::new(PartEvent::fixed(event))
        };
        Some(self.wetted.get_or_init(made))
    }

    /// True if it can be wet, and is with sites wet until these times where its action began at `began`.
    fn is_wetted(&self, began: f64, wet_until: &[f64]) -> bool {
        let (true, Flow::Contact { a, b, .. }) = (self.can_be_wet(), &self.event.flow) else {
            return false;
        };
        let at = began + self.event.at;
        at < wet_until[*a] || at < wet_until[*b]
    }

    /// What it does to one organism.
    pub fn step(&self, with: Coefficients) -> Step {
        let event = &self.event;
        match with {
            Coefficients::Sort(sort) if event.extent.is_some() => {
                let [there, back] = self.shares();
                Step::of(event, (there[sort], back[sort]))
            }
            Coefficients::Mean | Coefficients::Apart if event.extent.is_some() => {
                let [there, back] = self.shares();
                let mean = |of_each: &[f64; PEOPLE]| of_each.iter().sum::<f64>() / PEOPLE as f64;
                Step::of(event, (mean(there), mean(back)))
            }
            _ => with.step(event),
        }
    }

    /// The laws of what it draws.
    pub fn laws(&self) -> &Laws {
        self.laws.get_or_init(|| self.event.laws())
    }

    /// The mean shares that move for people of each sort.
    pub fn shares(&self) -> &Shares {
        self.shares.get_or_init(|| {
            let event = &self.event;
            let of_each: [(f64, f64); PEOPLE] = match event.extent {
                Some(_) => std::array::from_fn(|sort| event.mean_shares(Some(sort))),
                None => [event.mean_shares(None); PEOPLE],
            };
            Box::new([of_each.map(|(there, _)| there), of_each.map(|(_, back)| back)])
        })
    }

    /// The event as it is then.
    pub fn actual(&self, began: f64, wet_until: &[f64]) -> &PartEvent {
        match self.is_wetted(began, wet_until) {
            true => self.wet().unwrap_or(self),
            false => self,
        }
    }
}

impl Part {
    /// A part of these events.
    pub fn new(events: Vec<Arc<PartEvent>>, bare_hands: Arc<[SiteIndex]>, cleans_skin: bool) -> Part {
        let head = |event: &Arc<PartEvent>| {
            let (a, b) = event.event.sites();
            Head {
                a: a as u32,
                b: b.unwrap_or(a) as u32,
                follows: event.event.follows,
                can_be_wet: event.can_be_wet(),
            }
        };
        Part {
            heads: events.iter().map(head).collect(),
            moments: events.iter().map(|event| event.event.at).collect(),
            varies: events.iter().any(|event| event.event.extent.is_some()),
            events,
            bare_hands,
            cleans_skin,
        }
    }

    /// True if any of its events varies between people.
    pub fn varies(&self) -> bool {
        self.varies
    }

    /// A number that parts which are alike share.
    pub fn mark(&self) -> u64 {
        let mut hasher = FxHasher::default();
        for event in &self.events {
            event.event.key.hash(&mut hasher);
        }
        (&self.bare_hands, self.cleans_skin).hash(&mut hasher);
        hasher.finish()
    }

    /// True if the other is the same in all.
    pub fn is_like(&self, other: &Part) -> bool {
        let alike =
            |one: &Arc<PartEvent>, other: &Arc<PartEvent>| Arc::ptr_eq(one, other) || one.is_like(other);
        self.cleans_skin == other.cleans_skin
            && self.bare_hands == other.bare_hands
            && self.events.len() == other.events.len()
            && self
                .events
                .iter()
                .zip(&other.events)
                .all(|(one, other)| alike(one, other))
    }

    /// Its events, in order.
    pub fn events(&self) -> &[Arc<PartEvent>] {
        &self.events
    }

    /// Which sites they touch, one for each event.
    pub fn heads(&self) -> &[Head] {
        &self.heads
    }

    /// Its events in groups that happen together: a contact and what goes through after it; or each by itself.
    pub fn groups(&self, together: bool) -> impl DoubleEndedIterator<Item = &[Arc<PartEvent>]> + Clone {
        self.events
            .chunk_by(move |_, next| together && next.event.follows)
    }

    /// Its events as they are where it began then, with what was wet at the start of the attempt.
    pub fn actual<'a>(&'a self, began: f64, wet_until: &'a [f64]) -> impl Iterator<Item = &'a PartEvent> {
        (0..self.events.len()).map(move |n| self.actual_at(n, began, wet_until))
    }

    /// For each of its events, whether it can be wet and is where the part began then.
    pub fn wetted(&self, began: f64, wet_until: &[f64]) -> Vec<bool> {
        let events = 0..self.heads.len();
        events.map(|n| self.is_wetted(n, began, wet_until)).collect()
    }

    /// The same for one of them.
    fn is_wetted(&self, n: usize, began: f64, wet_until: &[f64]) -> bool {
        let head = self.heads[n];
        let wet = |site: u32| began + self.moments[n] < wet_until[site as usize];
        head.can_be_wet && (wet(head.a) || wet(head.b))
    }

    /// One of its events as it is then.
    pub fn actual_at(&self, n: usize, began: f64, wet_until: &[f64]) -> &PartEvent {
        let event = &*self.events[n];
        let wet = (self.is_wetted(n, began, wet_until).then(|| event.wet())).flatten();
        wet.unwrap_or(event)
    }

    /// The same with one event left out.
    pub fn without(&self, index: usize) -> Part {
        let mut part = self.clone();
        part.events.remove(index);
        part.heads.remove(index);
        part.moments.remove(index);
        part
    }
}

/// The laws of a dry contact when it is wet, if they are others. What is shaken off comes off alike.
fn wet_laws(setup: &Setup, event: &Event) -> Option<(Efficiency, Efficiency)> {
    if event.cause == Cause::Shed {
        return None;
    }
    let Flow::Contact {
        a,
        b,
        slide,
        wet: false,
        ab: dry_ab,
        ba: dry_ba,
        ..
    } = event.flow
    else {
        return None;
    };
    let (ab, ba) = match (event.cause, setup.soak(a)) {
        (Cause::Soak, Some(law)) => (law, dry_ba),
        _ => laws(setup, a, b, slide, true),
    };
    ((ab, ba) != (dry_ab, dry_ba)).then_some((ab, ba))
}
