//! What one asks about: groups of sites at the end of an attempt.

use crate::drill::State;
use crate::guidance::Group;
use crate::model::{Holding, Owner, Setup};

/// A set of sites of interest.
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
    /// Own clothing and shoes.
    Clothing,
    /// The room: furniture and what lies on the floor.
    Room,
}

impl Target {
    /// All targets with the word used for each in files and on the command line.
    pub const ALL: [(&'static str, Target); 7] = [
        ("any-skin", Target::AnySkin),
        ("hands", Target::Hands),
        ("neck", Target::Neck),
        ("face-skin", Target::FaceSkin),
        ("mucosa", Target::Mucosa),
        ("clothing", Target::Clothing),
        ("room", Target::Room),
    ];

    /// Those on the person, all skin together first.
    pub const PERSON: [Target; 6] = [
        Target::AnySkin,
        Target::Hands,
        Target::Neck,
        Target::FaceSkin,
        Target::Mucosa,
        Target::Clothing,
    ];

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
            Target::Room => "room",
        }
    }

    /// 1 for every site that counts and 0 for others, while items are where `end` has them.
    pub fn weights(self, setup: &Setup, end: &State) -> Vec<f64> {
        (0..setup.sites.len())
            .map(|site| {
                let counts = match setup.sites[site].owner {
                    Owner::Room(piece) => {
                        self == Target::Room && !setup.library.furniture[piece].at.is_empty()
                    }
                    Owner::Part(item, ..) => {
                        self == Target::Room && matches!(end.items[item].holding, Holding::Floor(_))
                    }
                    Owner::Body(place) => {
                        let group = Group::of_place(setup, place);
                        match self {
                            Target::AnySkin => group.is_skin(),
                            Target::Hands => group == Group::Hands,
                            Target::Neck => group == Group::Neck,
                            Target::FaceSkin => group == Group::FaceSkin,
                            Target::Mucosa => {
                                matches!(group, Group::Eyes | Group::Nostrils | Group::Lips)
                            }
                            Target::Clothing => group == Group::Clothing,
                            Target::Room => false,
                        }
                    }
                };
                f64::from(counts)
            })
            .collect()
    }
}
