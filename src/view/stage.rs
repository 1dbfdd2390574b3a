//! The picture to draw, as plain data: which patches exist, how much sits on each, where every item is.
//!
//! The scene reads a [`Stage`] and never asks the drill anything; the app fills it after each action.

use crate::model::{Side, Whereabouts};

/// Everything the scene needs to draw one moment of a drill.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stage {
    /// One entry per site of the model, in the model's order, so an index here is a site index.
    pub patches: Vec<Patch>,
    /// Every item of the kit, in the order it was put on (innermost first).
    pub items: Vec<StageItem>,
    /// Worn items as indices of [`Stage::items`], innermost first, where they lie otherwise over one another than in that order.
    pub over: Vec<usize>,
    /// Where the person stands.
    pub whereabouts: Whereabouts,
    /// True while the ultraviolet lamp is on: the room darkens and loaded patches glow.
    pub lamp: bool,
    /// Counts below this are not seen under the lamp (1 shows everything there is).
    pub seen_from: u64,
    /// What the person holds out to be seen, if anything: the end of a comparison, close up.
    pub shows: Option<Held>,
    /// Wet patches, as site indices: drawn with a sheen when the lamp is off.
    pub wet: Vec<usize>,
    /// Where something has met the floor, each place once. The floor is one site with one count; this says where to show it.
    pub fell: Vec<Fall>,
}

impl Stage {
    /// True while the door of the room stands open: as long as somebody stands in the doorway.
    pub fn door_is_open(&self) -> bool {
        self.whereabouts == Whereabouts::Doorway
    }
}

/// Which side of the hands is held out to be seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Held {
    /// Palms and fingers from the front.
    Palms,
    /// Their backs.
    Backs,
}

/// A place on the floor that something has met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fall {
    /// Where along the room.
    pub at: Whereabouts,
    /// What is there.
    pub near: Near,
}

/// What a place on the floor is near.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Near {
    /// Where this item of [`Stage::items`] lies when it is on the floor.
    Item(usize),
    /// The front of the bin.
    Bin,
    /// The feet of the person.
    Feet,
}

/// Which person: the one who drills, or the second of two side by side.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Who {
    /// The only one, or the one on the left.
    #[default]
    First,
    /// The one on the right.
    Second,
}

impl Who {
    /// Both, in order.
    pub const BOTH: [Who; 2] = [Who::First, Who::Second];
}

/// One site: the surface it belongs to and what sits there.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// The surface on which it lies.
    pub surface: Surface,
    /// The name people read, such as "left glove, cuff, outside".
    pub label: String,
    /// Organisms or tracer particles on it now, all sources together.
    pub count: u64,
    /// True if a hand could touch it now.
    pub reachable: bool,
    /// True for furniture that this building does not have: it is not drawn.
    pub absent: bool,
    /// True for ties, straps and loops: they are thin, and are pointed at with some leeway.
    pub thin: bool,
}

/// Which surface a patch lies on.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Surface {
    /// The person's own skin, hair or clothing at a place id such as `left-palm`.
    Body(String),
    /// One side of a part of an item: item id such as `left-glove`, part id such as `cuff`.
    Part {
        /// The item's id within the kit, such as `left-glove` or `gown`.
        item: String,
        /// What the part is drawn as, such as `cuff` or `chest`: as a rule its id within the item.
        part: String,
        /// True for the inner face.
        inside: bool,
    },
    /// A piece of furniture by id, such as `bin-lid`.
    Room(String),
}

/// One item of the kit as the scene must draw it.
#[derive(Clone, Debug, PartialEq)]
pub struct StageItem {
    /// Id within the kit, such as `left-glove`.
    pub id: String,
    /// What it is drawn as, such as `glove`: as a rule the id of its definition.
    pub model: String,
    /// Which side it is made for, if any.
    pub side: Option<Side>,
    /// Where it is.
    pub state: StageItemState,
    /// Fastenings that are undone, such as `neck-tie`.
    pub undone: Vec<String>,
    /// Fastenings that are still the knot they were tied in.
    pub knotted: Vec<String>,
    /// True once it has been turned inside out.
    pub inverted: bool,
    /// True while it is held by its front, as it was taken; else it hangs by a strap, a loop or an edge.
    pub by_front: bool,
}

/// Where an item is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StageItemState {
    /// On the body where it belongs.
    Worn,
    /// Pulled down and hanging at the neck.
    Dangling,
    /// Held by a hand.
    Held(Side),
    /// In the waste bin.
    Binned,
    /// On the floor.
    Floor(Whereabouts),
    /// Still in its box, not used.
    Boxed,
}
