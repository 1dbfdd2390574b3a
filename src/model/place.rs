//! Places on a body, zones of a hand, and the room's furniture.

use super::{Fixture, Side, Whereabouts};

/// What a place ends in, under everything that is worn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// Bare skin, mucosa included.
    Skin,
    /// Hair.
    Hair,
    /// The person's own clothing or shoes.
    Clothing,
}

/// Coarse part of the body, for grouping in lists and pictures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Region {
    LeftHand,
    RightHand,
    Face,
    Head,
    Neck,
    Arms,
    Trunk,
    Legs,
    Feet,
}

impl Region {
    /// Every region with the word files use for it.
    pub const ALL: [(&'static str, Region); 9] = [
        ("LeftHand", Region::LeftHand),
        ("RightHand", Region::RightHand),
        ("Face", Region::Face),
        ("Head", Region::Head),
        ("Neck", Region::Neck),
        ("Arms", Region::Arms),
        ("Trunk", Region::Trunk),
        ("Legs", Region::Legs),
        ("Feet", Region::Feet),
    ];
}

/// A part of the body that counts as one place where it is told on how many places somebody was soiled.
///
/// Studies that name sites speak of hands with wrists, forearms, neck, face, chest and abdomen, lower legs (Zamora and
/// others 2006, CMAJ 175:249; Zhang 2021, doi 10.1017/dmp.2021.142; Tomas and others 2015, JAMA Intern Med 175:1904);
/// how they would divide the rest they do not say, so that where hair, arms, legs and shoes end is an assumption. Both hands
/// are one place, since whatever soils one is soon on the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the labels say it")]
pub enum BodyArea {
    Hands,
    Arms,
    Face,
    Hair,
    Neck,
    Trunk,
    Legs,
    Shoes,
}

impl BodyArea {
    /// All of them, in the order of their declaration.
    pub const ALL: [BodyArea; 8] = [
        BodyArea::Hands,
        BodyArea::Arms,
        BodyArea::Face,
        BodyArea::Hair,
        BodyArea::Neck,
        BodyArea::Trunk,
        BodyArea::Legs,
        BodyArea::Shoes,
    ];

    /// The words people read.
    pub fn label(self) -> &'static str {
        match self {
            BodyArea::Hands => "hands and wrists",
            BodyArea::Arms => "arms",
            BodyArea::Face => "face with eyes, lips and ears",
            BodyArea::Hair => "hair",
            BodyArea::Neck => "neck",
            BodyArea::Trunk => "trunk with shoulders",
            BodyArea::Legs => "legs",
            BodyArea::Shoes => "shoes",
        }
    }

    /// The part that a patch of the body belongs to, with its skin, hair or clothing alike.
    pub fn of(place: &Place) -> BodyArea {
        match (place.region, place.base) {
            (Region::LeftHand | Region::RightHand, _) => BodyArea::Hands,
            (Region::Arms, _) => BodyArea::Arms,
            (Region::Head, Base::Hair) => BodyArea::Hair,
            (Region::Face | Region::Head, _) => BodyArea::Face,
            (Region::Neck, _) => BodyArea::Neck,
            (Region::Trunk, _) => BodyArea::Trunk,
            (Region::Legs, _) => BodyArea::Legs,
            (Region::Feet, _) => BodyArea::Shoes,
        }
    }
}

/// One place of the body: a patch of skin, hair or own clothing, above which worn items lie in layers.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Kebab-case id, such as `left-palm`; also the id of its base site.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Part of the body.
    pub region: Region,
    /// What lies beneath everything.
    pub base: Base,
    /// Material id of the base.
    pub material: String,
    /// Area of the base, cm2.
    pub area: f64,
    /// True for eyes, nostrils and lips.
    pub mucosa: bool,
    /// Basis id of the area.
    pub basis: String,
}

/// A zone of a hand. Hands have six, each with a place, a glove part and a share in the hand rub.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Zone {
    Fingertips,
    Thumb,
    FingerPads,
    Palm,
    BackOfHand,
    Wrist,
}

impl Zone {
    /// All six, fingertips first.
    pub const ALL: [Zone; 6] = [
        Zone::Fingertips,
        Zone::Thumb,
        Zone::FingerPads,
        Zone::Palm,
        Zone::BackOfHand,
        Zone::Wrist,
    ];

    /// The kebab-case word used in ids and addresses.
    pub fn word(self) -> &'static str {
        match self {
            Zone::Fingertips => "fingertips",
            Zone::Thumb => "thumb",
            Zone::FingerPads => "finger-pads",
            Zone::Palm => "palm",
            Zone::BackOfHand => "back-of-hand",
            Zone::Wrist => "wrist",
        }
    }

    /// The words people read.
    pub fn label(self) -> &'static str {
        match self {
            Zone::FingerPads => "palm side of the fingers",
            Zone::BackOfHand => "back of hand",
            other => other.word(),
        }
    }

    /// The zone with this word.
    pub fn from_word(word: &str) -> Option<Zone> {
        Zone::ALL.into_iter().find(|z| z.word() == word)
    }

    /// Id of the place that this zone is on one side, such as `left-palm`.
    pub fn place(self, side: Side) -> String {
        format!("{}-{}", side.word(), self.word())
    }
}

/// A piece of the room, or of the patient, that can carry contamination.
#[derive(Clone, Debug, PartialEq)]
pub struct Furniture {
    /// Kebab-case id; also the id of its site.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// From where it can be touched; nowhere for what only a care episode touches. A fixture stands only where the
    /// building has it.
    pub at: Vec<Whereabouts>,
    /// Material id.
    pub material: String,
    /// Area, cm2.
    pub area: f64,
    /// What it is fixed up as, if the building says where it stands.
    pub fixture: Option<Fixture>,
    /// The piece that techniques mean by that one's id for whoever can reach this one and not that.
    pub stands_for: Option<String>,
    /// True if others touch it next without cleaning their hands first, so that what is left on it is handed on.
    pub others: bool,
    /// Basis id of the area.
    pub basis: String,
}
