//! What reached whom: end counts by group, and what one action carried to the person.

use crate::drill::{Done, Drill};
use crate::model::{Base, Holding, Owner, Region, Setup, SiteIndex};
use crate::transfer::Flow;

/// Where contamination can end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the labels say it")]
pub enum Group {
    Eyes,
    Nostrils,
    Lips,
    FaceSkin,
    Neck,
    Hands,
    OtherSkin,
    Hair,
    Clothing,
    StillOn,
    Room,
    Binned,
    Patient,
}

impl Group {
    /// All groups, gravest first.
    pub const ALL: [Group; 13] = [
        Group::Eyes,
        Group::Nostrils,
        Group::Lips,
        Group::FaceSkin,
        Group::Neck,
        Group::Hands,
        Group::OtherSkin,
        Group::Hair,
        Group::Clothing,
        Group::StillOn,
        Group::Room,
        Group::Binned,
        Group::Patient,
    ];

    /// The kebab-case word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Group::Eyes => "eyes",
            Group::Nostrils => "nostrils",
            Group::Lips => "lips",
            Group::FaceSkin => "face-skin",
            Group::Neck => "neck",
            Group::Hands => "hands",
            Group::OtherSkin => "other-skin",
            Group::Hair => "hair",
            Group::Clothing => "clothing",
            Group::StillOn => "still-on",
            Group::Room => "room",
            Group::Binned => "binned",
            Group::Patient => "patient",
        }
    }

    /// The words people read.
    pub fn label(self) -> &'static str {
        match self {
            Group::Eyes => "eyes",
            Group::Nostrils => "nostrils",
            Group::Lips => "lips",
            Group::FaceSkin => "skin of the face",
            Group::Neck => "neck",
            Group::Hands => "hands and wrists",
            Group::OtherSkin => "other skin",
            Group::Hair => "hair",
            Group::Clothing => "own clothing",
            Group::StillOn => "still worn or held",
            Group::Room => "room",
            Group::Binned => "in the bin",
            Group::Patient => "still on the patient, beyond reach",
        }
    }

    /// True for the person's own surface.
    pub fn is_person(self) -> bool {
        self <= Group::Clothing
    }

    /// True for bare skin, mucosa included.
    pub fn is_skin(self) -> bool {
        self <= Group::OtherSkin
    }

    /// The group of a site while items are where they are.
    pub fn of(setup: &Setup, drill: &Drill, site: SiteIndex) -> Group {
        match setup.sites[site].owner {
            Owner::Room(piece) if setup.library.furniture[piece].at.is_empty() => Group::Patient,
            Owner::Room(_) => Group::Room,
            Owner::Part(item, ..) => match drill.state().items[item].holding {
                Holding::Binned => Group::Binned,
                Holding::Floor(_) | Holding::Boxed => Group::Room,
                Holding::Worn | Holding::Dangling | Holding::Held { .. } => Group::StillOn,
            },
            Owner::Body(place) => Group::of_place(setup, place),
        }
    }

    /// The group of a place of the body.
    pub fn of_place(setup: &Setup, place: usize) -> Group {
        let place = &setup.library.places[place];
        match (place.base, place.region) {
            (Base::Hair, _) => Group::Hair,
            (Base::Clothing, _) => Group::Clothing,
            (Base::Skin, _) if place.mucosa => match place.id.as_str() {
                "nostrils" => Group::Nostrils,
                "lips" => Group::Lips,
                _ => Group::Eyes,
            },
            (Base::Skin, Region::Face | Region::Head) => Group::FaceSkin,
            (Base::Skin, Region::Neck) => Group::Neck,
            (Base::Skin, Region::LeftHand | Region::RightHand) => Group::Hands,
            (Base::Skin, _) => Group::OtherSkin,
        }
    }
}

/// What is in a group at the end.
#[derive(Clone, Debug, PartialEq)]
pub struct Reached {
    /// The group.
    pub group: Group,
    /// Organisms there.
    pub count: u64,
    /// True if any of its sites carries enough to be seen or detected.
    pub seen: bool,
    /// Sites that carry something, fullest first.
    pub sites: Vec<(SiteIndex, u64)>,
}

/// End counts of every group.
pub(super) fn reached(drill: &Drill) -> Vec<Reached> {
    let setup = drill.setup();
    let totals = drill.books().totals();
    Group::ALL
        .iter()
        .map(|&group| {
            let mut sites: Vec<(SiteIndex, u64)> = totals
                .iter()
                .enumerate()
                .filter(|&(site, &count)| count > 0 && Group::of(setup, drill, site) == group)
                .map(|(site, &count)| (site, count))
                .collect();
            sites.sort_by_key(|&(site, count)| (std::cmp::Reverse(count), site));
            Reached {
                group,
                count: sites.iter().map(|s| s.1).sum(),
                seen: sites.iter().any(|s| s.1 >= setup.organism.seen_from),
                sites,
            }
        })
        .collect()
}

/// Organisms that an action carried onto the person's own skin, hair and clothing from anything else.
pub fn carried_to_person(setup: &Setup, done: &Done) -> u64 {
    let person = |site: SiteIndex| matches!(setup.sites[site].owner, Owner::Body(_));
    done.flows()
        .map(|(event, outcome)| match event.flow {
            Flow::Contact { a, b, .. } => match (person(a), person(b)) {
                (false, true) => outcome.moved_ab,
                (true, false) => outcome.moved_ba,
                _ => 0,
            },
            _ => 0,
        })
        .sum()
}
