//! What one action brings about in one arrangement of the kit, whenever it is done: shared by all plans that have it.

use std::sync::{Arc, OnceLock};

use crate::drill::laws;
use crate::model::{Setup, SiteIndex};
use crate::transfer::{Event, Flow, Laws};

/// One event of a part.
#[derive(Clone, Debug)]
pub(super) struct PartEvent {
    /// The event as it is when nothing was wet at the start of the attempt; its clock starts with the action.
    pub event: Event,
    /// The same contact when one of its sites is wet; none where it makes no difference.
    pub wet: Option<Event>,
}

/// The laws of what an event draws, made ready when they are first needed: dry, and with one of its sites wet.
#[derive(Clone, Debug, Default)]
struct EventLaws {
    dry: OnceLock<Box<Laws>>,
    wet: OnceLock<Box<Laws>>,
}

/// What an action brings about.
#[derive(Clone, Debug)]
pub(super) struct Part {
    events: Vec<PartEvent>,
    /// One for each event.
    laws: Vec<EventLaws>,
    /// Skin of hands and wrists that nothing covers before it.
    pub bare_hands: Arc<[SiteIndex]>,
    /// True if the action cleans the skin of a hand.
    pub cleans_skin: bool,
}

/// An event as it is with what was wet at the start of an attempt.
#[derive(Clone, Copy, Debug)]
pub(super) struct Actual<'a> {
    pub event: &'a Event,
    laws: &'a OnceLock<Box<Laws>>,
}

impl<'a> Actual<'a> {
    /// The laws of what it draws.
    pub fn laws(self) -> &'a Laws {
        self.laws.get_or_init(|| Box::new(self.event.laws()))
    }
}

impl PartEvent {
    /// An event, dry or as it is anyway, with its wet form.
    pub fn new(setup: &Setup, event: Event) -> PartEvent {
        PartEvent {
            wet: wetted(setup, &event),
            event,
        }
    }

    /// True if it can be wet, and is with sites wet until these times where its action began at `began`.
    pub fn is_wetted(&self, began: f64, wet_until: &[f64]) -> bool {
        let (Some(_), Flow::Contact { a, b, .. }) = (&self.wet, &self.event.flow) else {
            return false;
        };
        let at = began + self.event.at;
        at < wet_until[*a] || at < wet_until[*b]
    }

    /// The event as it is then.
    pub fn actual(&self, began: f64, wet_until: &[f64]) -> &Event {
        match &self.wet {
            Some(wet) if self.is_wetted(began, wet_until) => wet,
            _ => &self.event,
        }
    }
}

impl Part {
    /// A part of these events.
    pub fn new(events: Vec<PartEvent>, bare_hands: Arc<[SiteIndex]>, cleans_skin: bool) -> Part {
        Part {
            laws: vec![EventLaws::default(); events.len()],
            events,
            bare_hands,
            cleans_skin,
        }
    }

    /// Its events, in order.
    pub fn events(&self) -> &[PartEvent] {
        &self.events
    }

    /// Its events in groups that happen together: a contact and the leaks that follow it.
    pub fn groups(&self) -> impl DoubleEndedIterator<Item = &[PartEvent]> + Clone {
        self.events.chunk_by(|_, next| next.event.follows)
    }

    /// Its events as they are where it began then, with what was wet at the start of the attempt.
    pub fn actual<'a>(&'a self, began: f64, wet_until: &'a [f64]) -> impl Iterator<Item = Actual<'a>> {
        self.events.iter().zip(&self.laws).map(move |(event, laws)| {
            let actual = event.actual(began, wet_until);
            let is_wet = event.wet.as_ref().is_some_and(|wet| std::ptr::eq(wet, actual));
            Actual {
                event: actual,
                laws: if is_wet { &laws.wet } else { &laws.dry },
            }
        })
    }

    /// The same with one event left out.
    pub fn without(&self, index: usize) -> Part {
        let mut part = self.clone();
        part.events.remove(index);
        part.laws.remove(index);
        part
    }
}

/// The wet form of a dry contact.
fn wetted(setup: &Setup, event: &Event) -> Option<Event> {
    let Flow::Contact {
        a,
        b,
        share_a,
        share_b,
        wet: false,
        slide,
        ab: dry_ab,
        ba: dry_ba,
    } = event.flow
    else {
        return None;
    };
    let (ab, ba) = laws(setup, a, b, slide, true);
    ((ab, ba) != (dry_ab, dry_ba)).then(|| Event {
        flow: Flow::Contact {
            a,
            b,
            share_a,
            share_b,
            wet: true,
            slide,
            ab,
            ba,
        },
        ..event.clone()
    })
}
