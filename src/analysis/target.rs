//! What one asks about: groups of sites, and when what sits on them counts. Most count at the end of an attempt; some
//! count what was on bare hands on the way, which is what cleaning hands is for.

use std::collections::BTreeMap;

use crate::chance::Key;
use crate::drill::{Action, State};
use crate::guidance::Group;
use crate::model::{BodyArea, Efficiency, Holding, ItemKind, Owner, Region, Setup, Side, SiteIndex, Zone};

/// Sites of interest, and the moments at which they are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Target {
    /// Any bare skin, mucosa included.
    AnySkin,
    /// Skin of hands and wrists.
    Hands,
    /// Skin of the neck.
    Neck,
    /// Skin of the face, ears included, without mucosa.
    FaceSkin,
    /// Eyes, nostrils and lips.
    Mucosa,
    /// Own clothing, without shoes.
    Clothing,
    /// Own shoes.
    Shoes,
    /// The outside of gloves that were worn beneath others, as they were left.
    InnerGloves,
    /// The room: what was brought on to furniture, and what lies on the floor.
    Room,
    /// What was brought on to the floor itself.
    Floor,
    /// Bare hands just before each cleaning of them, and hands at the end, added up. What stays on them through a
    /// cleaning counts again at the next of these moments.
    HandsBeforeCleaning,
    /// The most that is on bare hands between any two actions, or on hands at the end.
    HandsPeak,
    /// What was brought on to things of the room that other people touch next.
    Others,
    /// What one ordinary contact hands on to the next patient; see [`NextContact`](crate::model::NextContact).
    NextPatient,
    /// At least two parts of the body at once ([`BodyArea`]): what is on the second fullest of them at the end.
    TwoPlaces,
}

impl Target {
    /// All targets with the word used for each in files and on the command line.
    pub const ALL: [(&'static str, Target); 15] = [
        ("any-skin", Target::AnySkin),
        ("hands", Target::Hands),
        ("neck", Target::Neck),
        ("face-skin", Target::FaceSkin),
        ("mucosa", Target::Mucosa),
        ("clothing", Target::Clothing),
        ("shoes", Target::Shoes),
        ("inner-gloves", Target::InnerGloves),
        ("room", Target::Room),
        ("floor", Target::Floor),
        ("hands-before-cleaning", Target::HandsBeforeCleaning),
        ("hands-peak", Target::HandsPeak),
        ("others", Target::Others),
        ("next-patient", Target::NextPatient),
        ("two-places", Target::TwoPlaces),
    ];

    /// Those on the person at the end, all skin together first.
    pub const PERSON: [Target; 7] = [
        Target::AnySkin,
        Target::Hands,
        Target::Neck,
        Target::FaceSkin,
        Target::Mucosa,
        Target::Clothing,
        Target::Shoes,
    ];

    /// Those that say what cleaning hands is for, and what is passed on.
    pub const ON_THE_WAY: [Target; 4] = [
        Target::HandsBeforeCleaning,
        Target::HandsPeak,
        Target::Others,
        Target::NextPatient,
    ];

    /// The target that all of this one is part of: whatever is here is there too. None if there is no such target.
    pub fn whole(self) -> Option<Target> {
        match self {
            Target::Hands | Target::Neck | Target::FaceSkin | Target::Mucosa => Some(Target::AnySkin),
            Target::Floor => Some(Target::Room),
            _ => None,
        }
    }

    /// The target of a word.
    pub fn of_word(word: &str) -> Option<Target> {
        Target::ALL.iter().find(|(w, _)| *w == word).map(|&(_, t)| t)
    }

    /// The word.
    pub fn word(self) -> &'static str {
        Target::ALL
            .iter()
            .find(|(_, t)| *t == self)
            .map_or("", |(word, _)| word)
    }

    /// The words people read.
    pub fn label(self) -> &'static str {
        match self {
            Target::AnySkin => "any bare skin",
            Target::Hands => "hands and wrists",
            Target::Neck => "neck",
            Target::FaceSkin => "skin of the face",
            Target::Mucosa => "eyes, nostrils or lips",
            Target::Clothing => "own clothing",
            Target::Shoes => "shoes",
            Target::InnerGloves => "inner gloves, outside",
            Target::Room => "room",
            Target::Floor => "floor",
            Target::HandsBeforeCleaning => "bare hands before each cleaning and at the end",
            Target::HandsPeak => "bare hands at their worst moment",
            Target::Others => "things that others touch next",
            Target::NextPatient => "next patient, by one touch",
            Target::TwoPlaces => "two or more places of the person",
        }
    }

    /// What must be said besides, where the words alone leave open what is counted: a sentence without a full stop.
    pub fn about(self) -> Option<String> {
        match self {
            Target::TwoPlaces => {
                let places = BodyArea::ALL.map(BodyArea::label);
                Some(format!(
                    "places are {}; what is told of amounts is what the second fullest of them has, which is no sum over \
                     organisms: chances are counted and exact, an exact mean there is not",
                    places.join("; ")
                ))
            }
            Target::HandsBeforeCleaning => Some(
                "added up over cleanings, so a way with one more counts its hands once more: beside one with fewer, \
                 look at each cleaning by itself"
                    .to_owned(),
            ),
            Target::NextPatient => Some(
                "one ordinary touch of bare skin, with hands as they are after everything is done".to_owned(),
            ),
            Target::Room | Target::Floor | Target::Others => {
                Some("what sat there before the attempt is not counted".to_owned())
            }
            _ => None,
        }
    }

    /// True if its mean is a sum over organisms, so that expectation, blame and gains of changes are exact; false for
    /// what is the largest of several moments or the second largest of several places.
    pub fn is_linear(self) -> bool {
        !matches!(self, Target::HandsPeak | Target::TwoPlaces)
    }

    /// All targets that there are for a kit: some ask of what it may not have.
    pub fn of_kit(setup: &Setup) -> impl Iterator<Item = Target> + '_ {
        let all = Target::ALL.into_iter().map(|(_, target)| target);
        all.filter(|target| *target != Target::InnerGloves || !inner_gloves(setup).is_empty())
    }

    /// True if nothing counts before the end.
    pub fn counts_at_end_only(self) -> bool {
        !matches!(self, Target::HandsBeforeCleaning | Target::HandsPeak)
    }

    /// What one organism on each site counts at the end, while items are where `end` has them: 1 or 0, except for the
    /// next patient, where it is its mean chance to be handed on. Of two places together these are the sites of any.
    pub fn weights(self, setup: &Setup, end: &State) -> Vec<f64> {
        if self == Target::NextPatient {
            let mut weights = vec![0.0; setup.sites.len()];
            for contact in next_contacts(setup, end) {
                weights[contact.site] = contact.share * contact.law.mean;
            }
            return weights;
        }
        if self == Target::InnerGloves {
            let mut weights = vec![0.0; setup.sites.len()];
            inner_gloves(setup)
                .into_iter()
                .for_each(|site| weights[site] = 1.0);
            return weights;
        }
        (0..setup.sites.len())
            .map(|site| f64::from(self.holds(setup, end, site)))
            .collect()
    }

    /// The sites that count whole at the end wherever items are then, in ascending order.
    pub(super) fn fixed(self, setup: &Setup) -> Vec<SiteIndex> {
        if self == Target::InnerGloves {
            return inner_gloves(setup);
        }
        let whole = |site: &SiteIndex| match setup.sites[*site].owner {
            Owner::Room(_) => self.holds_of_room(setup, *site),
            Owner::Body(place) => self.holds_of_body(setup, place),
            Owner::Part(..) => false,
        };
        (0..setup.sites.len()).filter(whole).collect()
    }

    /// The sites of items that count at the end for lying where they do.
    pub(super) fn dropped<'a>(
        self,
        setup: &'a Setup,
        end: &'a State,
    ) -> impl Iterator<Item = SiteIndex> + 'a {
        let sites = match self {
            Target::Room => setup.library.places.len()..setup.sites.len(),
            _ => 0..0,
        };
        sites.filter(move |&site| match setup.sites[site].owner {
            Owner::Part(item, ..) => matches!(end.items[item].holding, Holding::Floor(_)),
            _ => false,
        })
    }

    /// Furniture that counts, in ascending order of its sites. What sat on any of it at the start is not counted, wherever
    /// it ends: a target of the room asks what is brought there, and not what was there before.
    pub(super) fn own(self, setup: &Setup) -> Vec<SiteIndex> {
        let furniture = setup.library.places.len()..setup.sites.len();
        furniture
            .filter(|&site| self.holds_of_room(setup, site))
            .collect()
    }

    /// True if a site belongs to furniture that counts.
    fn holds_of_room(self, setup: &Setup, site: SiteIndex) -> bool {
        let Owner::Room(piece) = setup.sites[site].owner else {
            return false;
        };
        match self {
            Target::Room => !setup.reach(piece).is_empty(),
            Target::Others => setup.library.furniture[piece].others,
            Target::Floor => setup.library.furniture[piece].id == "floor",
            _ => false,
        }
    }

    /// True if what is on a site at the end counts whole.
    fn holds(self, setup: &Setup, end: &State, site: SiteIndex) -> bool {
        match setup.sites[site].owner {
            Owner::Room(_) => self.holds_of_room(setup, site),
            Owner::Part(item, ..) => {
                self == Target::Room && matches!(end.items[item].holding, Holding::Floor(_))
            }
            Owner::Body(place) => self.holds_of_body(setup, place),
        }
    }

    /// True if what is on a place of the body at the end counts whole.
    fn holds_of_body(self, setup: &Setup, place: usize) -> bool {
        let group = Group::of_place(setup, place);
        let shoe = setup.library.places[place].region == Region::Feet;
        match self {
            Target::AnySkin => group.is_skin(),
            Target::Hands | Target::HandsBeforeCleaning | Target::HandsPeak => group == Group::Hands,
            Target::Neck => group == Group::Neck,
            Target::FaceSkin => group == Group::FaceSkin,
            Target::Mucosa => matches!(group, Group::Eyes | Group::Nostrils | Group::Lips),
            Target::Clothing => group == Group::Clothing && !shoe,
            Target::TwoPlaces => true,
            Target::Shoes => group == Group::Clothing && shoe,
            Target::InnerGloves | Target::Room | Target::Floor | Target::Others | Target::NextPatient => {
                false
            }
        }
    }

    /// The sites on which what sits there just before an action counts too, each organism once.
    pub fn counted_before(self, setup: &Setup, state: &State, action: &Action) -> Vec<SiteIndex> {
        match self {
            Target::HandsBeforeCleaning if cleans_skin(setup, state, action) => bare_hands(setup, state),
            Target::HandsPeak => bare_hands(setup, state),
            _ => Vec::new(),
        }
    }
}

/// Outsides of gloves that are worn beneath others when everything is on.
pub(super) fn inner_gloves(setup: &Setup) -> Vec<SiteIndex> {
    let dressed = State::all_on(setup);
    let inner = |item: usize| {
        dressed.worn.contains(&item)
            && setup.definition(item).kind == ItemKind::Glove
            && setup.items[item]
                .side
                .is_some_and(|side| dressed.glove(setup, side) != Some(item))
    };
    (0..setup.sites.len())
        .filter(|&site| matches!(setup.sites[site].owner, Owner::Part(item, _, false) if inner(item)))
        .collect()
}

/// Sites of hand and wrist skin that nothing covers.
pub(super) fn bare_hands(setup: &Setup, state: &State) -> Vec<SiteIndex> {
    (0..setup.library.places.len())
        .filter(|&place| {
            Group::of_place(setup, place) == Group::Hands && state.top(setup, place, None).is_none()
        })
        .collect()
}

/// True if an action cleans the skin of a hand, and not what covers it.
pub(super) fn cleans_skin(setup: &Setup, state: &State, action: &Action) -> bool {
    let bare = |side| {
        state
            .top(setup, setup.zone_place(side, Zone::Palm), None)
            .is_none()
    };
    matches!(action, Action::Clean { .. }) && crate::model::Side::BOTH.into_iter().any(bare)
}

/// One surface that the next patient is touched with.
pub(super) struct HandingOn {
    /// Where it is.
    pub site: SiteIndex,
    /// Identity for luck.
    pub key: Key,
    /// Share of the site in contact.
    pub share: f64,
    /// Law of the efficiency.
    pub law: Efficiency,
}

/// What touches the next patient after everything is done: the hand, or whatever covers it.
pub(super) fn next_contacts(setup: &Setup, end: &State) -> Vec<HandingOn> {
    let Some(contact) = &setup.library.next_contact else {
        return Vec::new();
    };
    let Some(onto) = setup.library.materials.iter().position(|m| m.id == contact.onto) else {
        return Vec::new();
    };
    let mut areas: BTreeMap<SiteIndex, (Side, Zone, f64)> = BTreeMap::new();
    for &hand in &contact.hands {
        for &(zone, area) in &contact.areas {
            let site = end.outermost(setup, setup.zone_place(hand, zone), None);
            areas.entry(site).or_insert((hand, zone, 0.0)).2 += area;
        }
    }
    areas
        .into_iter()
        .map(|(site, (hand, zone, area))| HandingOn {
            site,
            key: Key::of("next-patient").named(hand.word()).named(zone.word()),
            share: (area / setup.sites[site].area).min(1.0),
            law: setup
                .efficiencies
                .get(setup.sites[site].material, onto, false, false),
        })
        .collect()
}
