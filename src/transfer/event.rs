//! One thing that can move or remove contamination.

use std::sync::Arc;

use crate::chance::{Key, Luck, Purpose, Spread};
use crate::model::{Efficiency, Fate, SiteIndex};

use super::gate::Gate;
use super::{Extent, Removal, Spots};

/// Why an event is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// A touch that was meant.
    Touch,
    /// A touch that may happen by accident.
    Brush,
    /// A small contact that nobody heeds: it happens, more or less of it, whenever cloth or skin moves past something.
    Graze,
    /// Some of what sits on something that is snapped, torn or dropped comes off it.
    Shed,
    /// Passage through a fault, following the event before it.
    Leak,
    /// Passage through whole but wet cloth that is pressed, following the event before it.
    Soak,
    /// Fluid that flew during care.
    Splash,
    /// Hands rubbing each other while they are cleaned.
    Mixing,
    /// Hand hygiene on one zone.
    Hygiene,
}

impl Cause {
    /// The word used in files and lists.
    pub fn word(self) -> &'static str {
        match self {
            Cause::Touch => "touch",
            Cause::Brush => "brush",
            Cause::Graze => "graze",
            Cause::Shed => "shed",
            Cause::Leak => "leak",
            Cause::Soak => "soak",
            Cause::Splash => "splash",
            Cause::Mixing => "mixing",
            Cause::Hygiene => "hygiene",
        }
    }
}

/// What moves where, and by which laws.
#[derive(Clone, Debug, PartialEq)]
pub enum Flow {
    /// Two surfaces meet; organisms move both ways, each direction from the counts before the contact.
    Contact {
        /// One site.
        a: SiteIndex,
        /// The other.
        b: SiteIndex,
        /// Share of a's area in contact, 0 to 1.
        share_a: f64,
        /// Share of b's area in contact, 0 to 1.
        share_b: f64,
        /// True if either is wet.
        wet: bool,
        /// True if they slide along each other.
        slide: bool,
        /// Law of the efficiency from a to b.
        ab: Efficiency,
        /// Law of the efficiency from b to a.
        ba: Efficiency,
    },
    /// A share of what sits on one site lands on another.
    Splash {
        /// Source site.
        from: SiteIndex,
        /// Where it lands.
        onto: SiteIndex,
        /// Law of the share.
        law: Efficiency,
        /// Seconds for which the landing site stays wet.
        wet: f64,
    },
    /// Some of what sits on a site is killed or washed off.
    Removal {
        /// The site.
        site: SiteIndex,
        /// Law of the survivors.
        law: Removal,
        /// Where the rest goes.
        fate: Fate,
    },
}

/// An event of a drill or of the care before it.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Identity for luck.
    pub key: Key,
    /// Clock time, s.
    pub at: f64,
    /// Why it is there.
    pub cause: Cause,
    /// Probability that it happens.
    pub chance: f64,
    /// True if it happens exactly when the event before it does, whatever `chance` repeats.
    pub follows: bool,
    /// What moves.
    pub flow: Flow,
    /// How the areas of a contact vary; its shares are then means.
    pub extent: Option<Arc<Extent>>,
    /// The spots in which lies what is on each of its two sites; none where both are spread evenly.
    pub spots: Option<Arc<[Option<Spots>; 2]>>,
}

/// The laws of what an event draws, made ready for many draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laws {
    /// From a to b; for a splash its share; for a removal the share missed.
    pub ab: Spread,
    /// From b to a; 0 except for contacts.
    pub ba: Spread,
}

/// What an event drew.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drawn {
    /// Efficiency from a to b (for a splash its share, for a removal the share removed).
    pub ab: f64,
    /// Efficiency from b to a.
    pub ba: f64,
    /// Factor on the mean area; 1 where it does not vary.
    pub extent: f64,
    /// Factors on the shares of both sites in contact, for spots that are met or missed; 1 where everything is spread
    /// evenly.
    pub spots: [f64; 2],
}

/// What came of an event.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Whether it happened.
    pub happened: bool,
    /// Efficiency drawn from a to b (for a splash its share, for a removal the share removed).
    pub drawn_ab: f64,
    /// Efficiency drawn from b to a.
    pub drawn_ba: f64,
    /// Factor drawn on the mean area; 1 where it does not vary, 0 if it was not drawn.
    pub drawn_extent: f64,
    /// Factors drawn on the shares of both sites in contact, for spots that are met or missed; 1 where everything is spread
    /// evenly, 0 if they were not drawn.
    pub drawn_spots: [f64; 2],
    /// Organisms moved from a to b, or removed.
    pub moved_ab: u64,
    /// Organisms moved from b to a.
    pub moved_ba: u64,
}

impl Outcome {
    /// What was drawn.
    pub fn drawn(&self) -> Drawn {
        Drawn {
            ab: self.drawn_ab,
            ba: self.drawn_ba,
            extent: self.drawn_extent,
            spots: self.drawn_spots,
        }
    }
}

impl Event {
    /// The laws of what it draws.
    pub fn laws(&self) -> Laws {
        let (ab, ba) = match &self.flow {
            Flow::Contact { ab, ba, .. } => (*ab, Spread::new(*ba)),
            Flow::Splash { law, .. } => (*law, Spread::Fixed(0.0)),
            Flow::Removal { law, .. } => (law.missed, Spread::Fixed(0.0)),
        };
        Laws {
            ab: Spread::new(ab),
            ba,
        }
    }

    /// What decides whether it happens.
    pub fn gate(&self) -> Gate {
        Gate {
            key: self.key,
            chance: self.chance,
        }
    }

    /// Whether it happens with this luck, if it does not follow another.
    pub fn happens(&self, luck: Luck) -> bool {
        self.gate().opens(luck)
    }

    /// What the mean area is multiplied by with this luck; 1 where it does not vary.
    pub fn extent(&self, luck: Luck) -> f64 {
        let drawn = |extent: &Arc<Extent>| extent.draw(luck, self.key);
        self.extent.as_ref().map_or(1.0, drawn)
    }

    /// What the shares in contact are multiplied by with this luck where the mean area was multiplied by `extent`, for spots
    /// that are met or missed; 1 where everything is spread evenly.
    pub fn spotted(&self, luck: Luck, extent: f64) -> [f64; 2] {
        let (Some(spots), Flow::Contact { share_a, share_b, .. }) = (&self.spots, &self.flow) else {
            return [1.0; 2];
        };
        let factor = |spots: &Option<Spots>, purpose: Purpose, share: f64| {
            let share = self.met(share, extent);
            spots
                .as_ref()
                .map_or(1.0, |spots| spots.factor(luck, self.key, purpose, share))
        };
        [
            factor(&spots[0], Purpose::SpotsA, *share_a),
            factor(&spots[1], Purpose::SpotsB, *share_b),
        ]
    }

    /// The probability for one organism on the first site to move (or be removed), given what was drawn.
    pub fn share_ab(&self, drawn: Drawn) -> f64 {
        match self.flow {
            Flow::Contact { share_a, .. } => self.met(share_a, drawn.extent) * drawn.spots[0] * drawn.ab,
            Flow::Splash { .. } | Flow::Removal { .. } => drawn.ab,
        }
    }

    /// The same from the second site to the first; 0 except for contacts.
    pub fn share_ba(&self, drawn: Drawn) -> f64 {
        match self.flow {
            Flow::Contact { share_b, .. } => self.met(share_b, drawn.extent) * drawn.spots[1] * drawn.ba,
            _ => 0.0,
        }
    }

    fn met(&self, share: f64, factor: f64) -> f64 {
        match self.extent {
            Some(_) => Extent::met(share, factor),
            None => share,
        }
    }

    /// The mean probability for one organism to move from the first site to the second and back, or to be removed, for
    /// people of one sort, or over all of them if none is given.
    pub fn mean_shares(&self, person: Option<usize>) -> (f64, f64) {
        let met = |share: f64| match &self.extent {
            None => share,
            Some(extent) => match person {
                Some(sort) => extent.mean_met(share, extent.people[sort]),
                None => {
                    let all = extent.people.map(|factor| extent.mean_met(share, factor));
                    all.iter().sum::<f64>() / all.len() as f64
                }
            },
        };
        match &self.flow {
            Flow::Contact {
                share_a,
                share_b,
                ab,
                ba,
                ..
            } => (met(*share_a) * ab.mean, met(*share_b) * ba.mean),
            Flow::Splash { law, .. } => (law.mean, 0.0),
            Flow::Removal { law, .. } => (1.0 - law.mean_surviving(), 0.0),
        }
    }

    /// Means of what is drawn: from a to b, and from b to a.
    pub fn means(&self) -> (f64, f64) {
        match &self.flow {
            Flow::Contact { ab, ba, .. } => (ab.mean, ba.mean),
            Flow::Splash { law, .. } => (law.mean, 0.0),
            Flow::Removal { law, .. } => (1.0 - law.mean_surviving(), 0.0),
        }
    }

    /// The two sites; the second is none for a removal.
    pub fn sites(&self) -> (SiteIndex, Option<SiteIndex>) {
        match self.flow {
            Flow::Contact { a, b, .. } => (a, Some(b)),
            Flow::Splash { from, onto, .. } => (from, Some(onto)),
            Flow::Removal { site, .. } => (site, None),
        }
    }
}
