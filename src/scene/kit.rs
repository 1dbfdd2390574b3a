//! Which shape each item of the kit has in each state: worn, undone, dangling, held, on the floor.

use std::collections::HashMap;

use crate::outside::threads::parallel::*;
use bevy::math::Vec3;
use bevy::prelude::Resource;

use super::marks::STAND_Z;
use super::motion::grip::{PINCHED, mirrored};
use super::pose::Closing;
use super::shape::field::smooth;
use super::shape::model::{self, Model, Paint, is_inside, part_of};
use super::shape::plate::FLOOR;
use super::shape::room::SPILL;
use super::shape::{apron, bin, bundle, cuff, eyewear, figure, glove, gown, head, masks, overshoe, ribbon};
use super::store::{self, Far, Which};
use crate::model::{Side, Whereabouts};
use crate::view::stage::{Fall, Near, Patch, Stage, StageItem, StageItemState, Surface};

/// What a shape is fixed to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// Moves with the body, each vertex with its own bones.
    Body,
    /// Moves with the trunk, however near an arm it lies: a sheet without sleeves.
    Trunk,
    /// Hangs from one hand, held at this point of it at rest.
    Hand(Side, Vec3),
    /// Stays in the room.
    Room,
}

/// Worn shapes of the right side already made from those of the left.
#[derive(Resource, Default)]
pub struct Wardrobe {
    right: HashMap<Which, Model>,
}

/// Where along the room a zone's middle lies, metres.
pub fn zone_x(at: Whereabouts) -> f32 {
    match at {
        Whereabouts::Inside => -1.16,
        Whereabouts::Doorway => 0.0,
        Whereabouts::Outside => 1.00,
    }
}

/// How a hand keeps hold of something that has come off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    /// By a strap or an edge between thumb and forefinger.
    Pinch,
    /// Gathered in the fist.
    Fist,
}

impl Keep {
    /// How an item definition is held.
    pub fn of(model: &str) -> Keep {
        match model {
            "glove" | "inner-glove" | "gown" | "apron" | "overshoe" => Keep::Fist,
            _ => Keep::Pinch,
        }
    }

    /// How a hand holds what it has of these items; `None` if that is nothing.
    pub fn by<'a>(side: Side, items: impl Iterator<Item = &'a StageItem>) -> Option<Keep> {
        let mine = items.filter(|i| i.state == StageItemState::Held(side));
        mine.map(|i| Keep::of(&i.model))
            .max_by_key(|keep| *keep == Keep::Fist)
    }

    /// How far the hand is closed.
    pub fn closing(self) -> Closing {
        match self {
            Keep::Pinch => Closing::PINCH,
            Keep::Fist => Closing::FIST,
        }
    }
}

/// Where a hand holds an item, at rest; `order` counts what it already holds.
pub(super) fn grip(side: Side, model: &str, order: usize) -> Vec3 {
    let at = match Keep::of(model) {
        Keep::Pinch => PINCHED,
        Keep::Fist => Vec3::new(0.100, 0.004, -0.032),
    };
    mirrored(side, figure::from_hand(at - Vec3::Y * (0.016 * order as f32)))
}

/// Where something dropped in a zone comes to lie, in the room; `order` is its place within the kit, so that it keeps to
/// its spot whatever else falls.
pub(super) fn floor_spot(at: Whereabouts, order: usize) -> Vec3 {
    Vec3::new(
        zone_x(at) - 0.30 + 0.23 * (order % 4) as f32,
        0.0,
        0.74 - 0.17 * (order / 4 % 3) as f32,
    )
}

/// How far round its middle a place with specks of the floor goes where nobody knows what met it, metres.
const ANYWHERE: f32 = 1.20;

/// Where the floor shows its specks on a stage, in the room, and how far round, metres. None with the lamp off.
pub(super) fn spills(stage: &Stage) -> Vec<(Vec3, f32)> {
    let floor = |p: &&Patch| p.surface == Surface::Room(FLOOR.into());
    let seen = |p: &Patch| stage.lamp && p.count >= stage.seen_from.max(1);
    if !stage.patches.iter().find(floor).is_some_and(seen) {
        return Vec::new();
    }
    if stage.fell.is_empty() {
        let zones = [Whereabouts::Inside, Whereabouts::Doorway, Whereabouts::Outside];
        let middle = |at| Vec3::new(zone_x(at), 0.0, STAND_Z);
        return zones.map(|at| (middle(at), ANYWHERE)).to_vec();
    }
    let place = |fall: &Fall| match fall.near {
        Near::Item(order) => floor_spot(fall.at, order),
        Near::Bin => bin::at(fall.at) + Vec3::Z * 0.38,
        Near::Feet => Vec3::new(zone_x(fall.at), 0.0, STAND_Z + 0.12),
    };
    stage.fell.iter().map(|fall| (place(fall), SPILL)).collect()
}

/// A point of a worn left glove on the emptied glove: flatter, fingers limp, cuff up.
pub(super) fn limp(p: Vec3, lying: bool) -> Vec3 {
    let q = figure::to_hand(p);
    let limp = Vec3::new(q.x, q.y * 0.80, q.z * 0.45);
    if lying {
        Vec3::new(limp.y, limp.z + 0.012, limp.x)
    } else {
        // Gathered where the fist is.
        let below = limp.x * 0.92 + 0.055;
        let wide = 0.45 + 0.55 * smooth(0.0, 0.07, below.abs());
        Vec3::new(
            limp.y * wide,
            -below,
            limp.z * (1.6 - 0.6 * wide) - 0.01 + 0.02 * (limp.x * 14.0).sin(),
        )
    }
}

/// How far a respirator held by its upper strap tips from the attitude it is worn in, radians.
const TIPPED: f32 = 0.80;

/// How something worn on the face hangs from a strap or loops that are held at their middle.
struct Strung {
    /// Height and depth of the points from which the straps go back, head coordinates, metres.
    from: (f32, f32),
    /// Length from there to where it is held, metres.
    long: f32,
    /// How far the front tips down, radians.
    tip: f32,
}

fn strung(model: &str) -> Strung {
    let (from, long, tip) = match model {
        "goggles" => ((1.6245, 0.020), 0.135, 0.55),
        "visor" => ((1.686, 0.015), 0.130, 0.10),
        _ => ((1.572, 0.040), 0.075, 0.30),
    };
    Strung { from, long, tip }
}

/// How something worn on the face is kept when it has come off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Hung {
    /// Hanging from a hand: a respirator by its upper strap and a tied mask by its upper tie, anything else by a strap or
    /// loops that come together in the fingers.
    Strap,
    /// Held by this point of its front, the straps hanging beneath it.
    Front(Vec3),
    /// Lying with its front up.
    Lying,
}

/// The foremost point of the front of something worn on the face; `None` for what has no front.
pub(super) fn foremost(model: &str) -> Option<Vec3> {
    let shape = store::shape(&which(model, &[]))?;
    let Model { surf, parts, .. } = &shape.model;
    let front = parts.iter().position(|part| *part == "front")?;
    let of = surf.tris.iter().zip(&surf.tags);
    let tris = of.filter(|(_, tag)| part_of(**tag) == front && !is_inside(**tag));
    let corners = tris.flat_map(|(tri, _)| tri.map(|v| surf.pos[v as usize]));
    corners
        .filter(|p| p.x.abs() < 0.020)
        .max_by(|a, b| a.z.total_cmp(&b.z))
}

/// A point of something worn on the face on the same thing come off: from where it is held, or from its middle.
pub(super) fn from_face(model: &str, p: Vec3, hung: Hung) -> Vec3 {
    if let Hung::Front(at) = hung {
        let q = p - at;
        let narrow = 1.0 - 0.5 * smooth(-0.08, -0.22, q.z);
        return Vec3::new(q.x * narrow, q.z, -q.y);
    }
    if hung == Hung::Lying {
        let q = p - head::from_head(Vec3::new(0.0, 1.585, 0.095));
        return Vec3::new(q.x, q.z, -q.y);
    }
    let top = match model {
        "respirator" => Some(Vec3::new(0.0, 1.722, -0.082)),
        "tied-mask" => Some(Vec3::new(0.0, 1.708, -0.092)),
        _ => None,
    };
    if let Some(top) = top {
        let q = p - head::from_head(top);
        let (sin, cos) = TIPPED.sin_cos();
        return Vec3::new(q.x, q.y * cos - q.z * sin + 0.006, q.y * sin + q.z * cos);
    }
    let Strung { from, long, tip } = strung(model);
    let q = p - head::from_head(Vec3::new(0.0, from.0, from.1));
    let (sin, cos) = tip.sin_cos();
    let front = Vec3::new(q.x, q.y * cos - q.z * sin, q.y * sin + q.z * cos);
    let up = -q.z;
    let strap = Vec3::new(
        q.x * (1.0 - 0.93 * (up / long).clamp(0.0, 1.0)),
        up.min(long),
        q.y * 0.6,
    );
    front.lerp(strap, smooth(0.004, -0.016, q.z)) - Vec3::Y * long
}

/// Half the size of the bundle that a garment becomes, metres.
pub(super) fn bundle_half(model: &str) -> Vec3 {
    match model {
        "gown" => Vec3::new(0.165, 0.110, 0.125),
        "apron" => Vec3::new(0.120, 0.080, 0.095),
        _ => Vec3::new(0.070, 0.055, 0.100),
    }
}

/// Middle of a held bundle, from the grip.
pub(super) fn bundle_hang(half: Vec3) -> Vec3 {
    Vec3::new(0.0, -half.y * 0.55, half.z * 0.45)
}

/// What a patch counts as that nothing is drawn of, m2.
const UNDRAWN: f32 = 0.05;

/// What an item leaves undone, with words for what is knotted and for an apron without a gown beneath it.
fn how(item: &StageItem, layer: usize) -> Vec<String> {
    let mut how = item.undone.clone();
    how.extend(item.knotted.iter().map(|id| ribbon::knotted(id)));
    if item.model == "apron" && layer == 0 {
        how.push(apron::BARE.to_string());
    }
    how
}

/// The worn shape of an item, on the left if it has a side.
fn which(model: &str, undone: &[String]) -> Which {
    let mut undone = undone.to_vec();
    undone.sort_unstable();
    Which::Worn(model.to_owned(), undone)
}

/// Area (m2) that each patch of a stage is drawn with, which sets how large its specks are and how many it holds.
///
/// It is that of the shape at rest, as worn: so specks neither shift when an item is bundled up, nor depend on what was
/// drawn before or on who else is shown.
pub fn areas(stage: &Stage) -> Vec<f32> {
    let of = |which: &Which, part: &str, inside: bool| {
        let area = store::shape(which).map_or(0.0, |shape| shape.area(part, inside));
        if area > 0.0 { area } else { UNDRAWN }
    };
    let area = |surface: &Surface| match surface {
        Surface::Body(place) => of(&Which::Person, place, false),
        // It shows specks only in places.
        Surface::Room(id) if id == FLOOR => std::f32::consts::PI * SPILL * SPILL,
        Surface::Room(id) => of(&Which::Room, id, false),
        Surface::Part { item, part, inside } => {
            let item = stage.items.iter().find(|i| i.id == *item);
            item.map_or(UNDRAWN, |item| of(&which(&item.model, &[]), part, *inside))
        }
    };
    stage.patches.iter().map(|p| area(&p.surface)).collect()
}

/// Makes the shapes of worn items that are not there yet, side by side; `afar` for views from afar, too.
pub(super) fn prepare<'a>(worn: impl Iterator<Item = (&'a StageItem, usize)>, afar: bool) {
    let worn: Vec<Which> = worn
        .map(|(item, layer)| which(&item.model, &how(item, layer)))
        .collect();
    worn.par_iter().filter_map(store::shape).for_each(|shape| {
        if afar {
            shape.far();
        }
    });
}

/// Fewer triangles for views from afar, where they are the same for everybody.
pub(super) fn far(item: &StageItem, layer: usize) -> Option<Far> {
    if item.state != StageItemState::Worn || layer > 0 {
        return None;
    }
    let shape = store::shape(&which(&item.model, &how(item, layer)))?;
    let (tris, tags) = shape.far();
    let turned = |t: &[u32; 3]| {
        if item.side == Some(Side::Right) {
            [t[0], t[2], t[1]]
        } else {
            *t
        }
    };
    Some((tris.iter().map(turned).collect(), tags.clone()))
}

/// The person without any kit, as they are drawn.
pub fn person() -> Model {
    store::shape(&Which::Person).map_or_else(Model::default, |shape| shape.model.clone())
}

impl Wardrobe {
    /// The worn shape of an item; `None` for a definition the scene does not know.
    ///
    /// An apron hangs closer without a gown beneath it, which the word `bare` among the undone asks for.
    pub fn worn(&mut self, model: &str, side: Option<Side>, undone: &[String]) -> Option<Model> {
        let key = which(model, undone);
        let left = store::shape(&key)?;
        if side != Some(Side::Right) {
            return Some(left.model.clone());
        }
        Some(
            self.right
                .entry(key)
                .or_insert_with(|| left.model.flipped())
                .clone(),
        )
    }

    /// The shape of an item in its present state, and what it is fixed to; `None` if nothing is to be drawn.
    ///
    /// `layer` counts like items worn beneath it (for an apron: gowns); `order` spreads things lying in one place.
    pub fn shape(&mut self, item: &StageItem, layer: usize, order: usize) -> Option<(Model, Hold)> {
        match &item.state {
            StageItemState::Worn => {
                let mut m = self.worn(&item.model, item.side, &how(item, layer))?;
                if layer > 0 && item.model != "apron" {
                    for (p, n) in m.surf.pos.iter_mut().zip(&m.surf.nrm) {
                        *p += *n * 0.0013 * layer as f32;
                    }
                }
                let hold = if item.model == "apron" {
                    Hold::Trunk
                } else {
                    Hold::Body
                };
                Some((m, hold))
            }
            StageItemState::Dangling => {
                let mut m = self.worn(&item.model, item.side, &how(item, 1))?;
                m.remap(masks::dangle);
                Some((m, Hold::Body))
            }
            StageItemState::Held(side) => {
                let m = self.off(item, false)?;
                let grip = grip(*side, &item.model, order);
                Some((m.moved(grip), Hold::Hand(*side, grip)))
            }
            StageItemState::Floor(at) => {
                let m = self.off(item, true)?;
                let low = m.surf.pos.iter().fold(f32::MAX, |a, p| a.min(p.y));
                let spot = floor_spot(*at, order) + Vec3::Y * (0.004 - low);
                Some((m.moved(spot), Hold::Room))
            }
            StageItemState::Binned | StageItemState::Boxed => None,
        }
    }

    /// The shape of an item that has come off, about the origin; hanging from the origin unless `lying`.
    fn off(&mut self, item: &StageItem, lying: bool) -> Option<Model> {
        // A mask that has come off by its upper tie hangs by that.
        let undone: Vec<String> = match item.model.as_str() {
            "tied-mask" => vec!["bottom-tie".to_owned()],
            _ => vec![],
        };
        let mut m = self.worn(&item.model, item.side.map(|_| Side::Left), &undone)?;
        match item.model.as_str() {
            "glove" | "inner-glove" => m.remap(|p| limp(p, lying)),
            "gown" | "apron" | "overshoe" => {
                let half = bundle_half(&item.model);
                let half = if lying {
                    half * Vec3::new(1.15, 0.75, 1.1)
                } else {
                    half
                };
                let lined: Vec<bool> = (0..m.parts.len())
                    .map(|i| m.surf.tags.iter().any(|t| part_of(*t) == i && is_inside(*t)))
                    .collect();
                let solid = |p: Paint| Paint { alpha: 1.0, ..p };
                let paints = [solid(m.paints[0]), solid(m.paints[1])];
                m = bundle::bundle(&m.parts, &lined, paints, half, item.inverted);
                if !lying {
                    m = m.moved(bundle_hang(half));
                }
                return Some(m);
            }
            _ => {
                let hung = match foremost(&item.model) {
                    _ if lying => Hung::Lying,
                    Some(at) if item.by_front => Hung::Front(at),
                    _ => Hung::Strap,
                };
                m.remap(|p| from_face(&item.model, p, hung));
            }
        }
        if item.inverted {
            m.turn_inside_out();
        }
        Some(m)
    }
}

/// Part ids of an item definition the scene knows.
pub fn parts(model: &str) -> &'static [&'static str] {
    match model {
        "glove" | "inner-glove" => &glove::PARTS,
        "gown" => &gown::PARTS,
        "apron" => &apron::PARTS,
        "goggles" => &eyewear::GOGGLES,
        "visor" => &eyewear::VISOR,
        "respirator" => &masks::RESPIRATOR,
        "surgical-mask" => &masks::LOOPED,
        "tied-mask" => &masks::TIED,
        "overshoe" => &overshoe::PARTS,
        _ => &[],
    }
}

/// Places the gown covers so closely that nothing of them shows.
const UNDER_GOWN: [&str; 12] = [
    "chest",
    "abdomen",
    "upper-back",
    "lower-back",
    "left-shoulder",
    "right-shoulder",
    "left-upper-arm",
    "right-upper-arm",
    "left-forearm",
    "right-forearm",
    "left-thigh",
    "right-thigh",
];

/// Gown parts whose inner face never shows while it is worn.
const GOWN_LININGS: [&str; 12] = [
    "chest",
    "abdomen",
    "upper-back",
    "lower-back",
    "left-shoulder",
    "right-shoulder",
    "left-upper-sleeve",
    "right-upper-sleeve",
    "left-lower-sleeve",
    "right-lower-sleeve",
    "left-cuff",
    "right-cuff",
];

/// The stretch of an arm and its hand, in lengths of the forearm from the elbow (0) over the wrist (1) on, on which a site
/// lies in the open. The rest of it lies under worn kit, where it can neither be seen nor pointed at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Open {
    /// Where it begins.
    pub from: f32,
    /// Where it ends.
    pub to: f32,
}

impl Open {
    /// Nothing lies over it.
    pub const ALL: Open = Open {
        from: f32::NEG_INFINITY,
        to: f32::INFINITY,
    };
    /// It lies under worn kit wholly.
    pub const NOTHING: Open = Open {
        from: f32::INFINITY,
        to: f32::NEG_INFINITY,
    };

    /// True if any of some places at rest lies in the open.
    pub fn any(self, mut places: impl Iterator<Item = Vec3>) -> bool {
        match self {
            Open::ALL => true,
            _ if self.from > self.to => false,
            _ => places.any(|p| (self.from..=self.to).contains(&figure::fore_t(figure::left(p)))),
        }
    }

    /// Where neither this nor another has it covered.
    fn and(self, other: Open) -> Open {
        Open {
            from: self.from.max(other.from),
            to: self.to.min(other.to),
        }
    }
}

/// How far under an edge things are drawn, in lengths of the forearm. Faces that reach out from under it are drawn whole,
/// which is deeper than anybody looks under it; what lies wholly under it would come through where a wrist is bent far.
const UNDER_EDGE: f32 = 0.0;

/// How much of each site lies in the open, by index.
pub fn open(stage: &Stage) -> Vec<Open> {
    let mut worn: Vec<&StageItem> = stage
        .items
        .iter()
        .filter(|i| i.state == StageItemState::Worn)
        .collect();
    // Innermost first: a sleeve may lie over a glove that was put on before it.
    let layer = |item: &StageItem| {
        let mut over = stage.over.iter();
        over.position(|&i| stage.items.get(i).is_some_and(|other| other.id == item.id))
    };
    worn.sort_by_key(|&item| layer(item));
    let gown = worn.iter().position(|i| i.model == "gown");
    let is_glove = |i: &StageItem| i.model == "glove" || i.model == "inner-glove";
    let hand_zone = |side: Side, place: &str| {
        place.strip_prefix(side.word()).is_some_and(|zone| {
            matches!(
                zone,
                "-fingertips" | "-thumb" | "-finger-pads" | "-palm" | "-back-of-hand"
            )
        })
    };
    // What gloves and cuffs leave open on an arm of what is worn beneath them, as the item with this index is; the body
    // is beneath all of them.
    let sleeved = |side: Side, beneath: Option<usize>| {
        let over = |i: usize| beneath.is_none_or(|own| i > own);
        let gloves = worn
            .iter()
            .enumerate()
            .filter(|(i, o)| is_glove(o) && o.side == Some(side) && over(*i));
        let gloved = gloves.map(|(_, o)| Open {
            to: glove::edge(o.model == "inner-glove") + UNDER_EDGE,
            ..Open::ALL
        });
        let cuffed = gown.filter(|i| over(*i)).map(|_| Open {
            from: cuff::TO - UNDER_EDGE,
            ..Open::ALL
        });
        gloved.chain(cuffed).fold(Open::ALL, Open::and)
    };
    let left_open = |surface: &Surface| match surface {
        Surface::Body(place) => {
            let under_glove = |i: &&&StageItem| is_glove(i) && i.side.is_some_and(|s| hand_zone(s, place));
            if gown.is_some() && UNDER_GOWN.contains(&place.as_str())
                || worn.iter().find(under_glove).is_some()
            {
                return Open::NOTHING;
            }
            match place.as_str() {
                "left-wrist" => sleeved(Side::Left, None),
                "right-wrist" => sleeved(Side::Right, None),
                _ => Open::ALL,
            }
        }
        Surface::Part { item, part, inside } => {
            let Some(at) = worn.iter().position(|i| i.id == *item) else {
                return Open::ALL;
            };
            let this = worn[at];
            let covered = if is_glove(this) {
                let over = worn[at + 1..].iter().any(|o| is_glove(o) && o.side == this.side);
                part != "cuff" && (*inside || over)
            } else if this.model == "gown" {
                *inside && GOWN_LININGS.contains(&part.as_str())
            } else {
                this.model == "overshoe" && *inside && part == "sole"
            };
            match (covered, part.as_str(), this.side) {
                (true, ..) => Open::NOTHING,
                (_, "cuff", Some(side)) => sleeved(side, Some(at)),
                (_, "left-cuff", _) => sleeved(Side::Left, Some(at)),
                (_, "right-cuff", _) => sleeved(Side::Right, Some(at)),
                _ => Open::ALL,
            }
        }
        Surface::Room(_) => Open::ALL,
    };
    stage.patches.iter().map(|p| left_open(&p.surface)).collect()
}

/// True if the tag list of a model holds any face of a part.
pub fn shows(m: &Model, part: &str, inside: bool) -> bool {
    let i = model::index(&m.parts, part);
    m.surf
        .tags
        .iter()
        .any(|t| part_of(*t) == i && is_inside(*t) == inside)
}
