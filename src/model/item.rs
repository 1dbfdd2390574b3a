//! What can be worn: items, their parts and their fastenings.

/// What sort of thing an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum ItemKind {
    Glove,
    Gown,
    Apron,
    EyeProtection,
    Respirator,
    Mask,
    Overshoe,
}

impl ItemKind {
    /// Every kind with the word files use for it.
    pub const ALL: [(&'static str, ItemKind); 7] = [
        ("Glove", ItemKind::Glove),
        ("Gown", ItemKind::Gown),
        ("Apron", ItemKind::Apron),
        ("EyeProtection", ItemKind::EyeProtection),
        ("Respirator", ItemKind::Respirator),
        ("Mask", ItemKind::Mask),
        ("Overshoe", ItemKind::Overshoe),
    ];
}

/// What the scene can draw, by the ids of the items that look so.
pub const LOOKS: [&str; 10] = [
    "glove",
    "inner-glove",
    "gown",
    "apron",
    "goggles",
    "visor",
    "respirator",
    "surgical-mask",
    "tied-mask",
    "overshoe",
];

/// One patch of an item.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Kebab-case id within the item.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Places at which it lies; `@` stands for the side of an item made for each side.
    pub places: Vec<String>,
    /// False for ties, straps and edges, which lie at a place without hiding it.
    pub covers: bool,
    /// Material id of the outside.
    pub outside: String,
    /// Material id of the inside, if the part has one that can be met.
    pub inside: Option<String>,
    /// Area of one face, cm2.
    pub area: f64,
    /// True if guidance calls the outside dirty; only scoring reads this.
    pub declared_dirty: bool,
    /// Id of the part that it is drawn as, of what its item looks like; none if that has its own id.
    pub looks_like: Option<String>,
}

impl Part {
    /// Id of the part that it is drawn as.
    pub fn look(&self) -> &str {
        self.looks_like.as_deref().unwrap_or(&self.id)
    }
}

/// A tie, strap or loop that can be undone.
#[derive(Clone, Debug, PartialEq)]
pub struct Fastening {
    /// Kebab-case id within the item.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Id of the part that it is.
    pub part: String,
    /// True if it is tied, so that it may be a bow or a knot; straps and loops are not.
    pub knots: bool,
}

/// An item of personal protective equipment.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// What sort of thing it is.
    pub kind: ItemKind,
    /// True for items made in a left and a right one.
    pub each_side: bool,
    /// Ids of the items whose parts and techniques it shares: that which it is like, that which this is like, and so on.
    pub like: Vec<String>,
    /// Its patches.
    pub parts: Vec<Part>,
    /// Its fastenings.
    pub fastenings: Vec<Fastening>,
    /// Which of [`LOOKS`] it is drawn as; none if that has its own id.
    pub looks_like: Option<String>,
    /// Basis id of the areas.
    pub basis: String,
}

impl Item {
    /// What it is drawn as.
    pub fn look(&self) -> &str {
        self.looks_like.as_deref().unwrap_or(&self.id)
    }

    /// What the part that a fastening is, is drawn as.
    pub fn look_of(&self, fastening: &Fastening) -> String {
        let part = self.parts.iter().find(|part| part.id == fastening.part);
        let drawn = part.and_then(|part| part.looks_like.clone());
        drawn.unwrap_or_else(|| fastening.id.clone())
    }
}
