//! Scenarios: a kit, a place, an organism, where contamination starts, and what happens.

use super::{Address, Hands, OwnBuilding, Side, Whereabouts};

/// How much sits somewhere at the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// Exactly this many.
    Fixed(u64),
    /// A Poisson number with this mean.
    Poisson(f64),
    /// A lognormal number with this median and geometric standard deviation, rounded to whole organisms.
    Lognormal {
        /// Median.
        median: f64,
        /// Geometric standard deviation, at least 1.
        gsd: f64,
    },
    /// A Poisson number of spots, and in all of them together a Poisson number with their number times `each` as its mean.
    Spots {
        /// How many there are and how large they are.
        spots: Spotted,
        /// Mean number of organisms in one.
        each: f64,
    },
}

/// Spots on one patch instead of an even spread: a small contact meets some of them or none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spotted {
    /// Mean number on the patch.
    pub count: f64,
    /// Area of one, cm2.
    pub area: f64,
}

impl Load {
    /// So many times as much, in whole organisms where it is an exact number.
    pub fn times(self, factor: f64) -> Load {
        match self {
            Load::Fixed(amount) => Load::Fixed((amount as f64 * factor).round() as u64),
            Load::Poisson(mean) => Load::Poisson(mean * factor),
            Load::Lognormal { median, gsd } => Load::Lognormal {
                median: median * factor,
                gsd,
            },
            Load::Spots { spots, each } => Load::Spots {
                spots,
                each: each * factor,
            },
        }
    }
}

/// A load on a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Site id.
    pub site: String,
    /// How much.
    pub load: Load,
    /// Seconds for which the site stays wet after the start; a patch without any of its spots is dry.
    pub wet: f64,
}

/// One step of a care act.
#[derive(Clone, Debug, PartialEq)]
pub enum CareStep {
    /// A contact, as in a technique.
    Contact {
        /// One surface.
        a: Address,
        /// The other.
        b: Address,
        /// Contact area, cm2.
        area: f64,
        /// True if the surfaces slide along each other.
        slide: bool,
        /// Probability.
        chance: f64,
    },
    /// Fluid flies one way and wets what it lands on.
    Splash {
        /// Furniture id of the source.
        from: String,
        /// Where it lands.
        onto: Address,
        /// Mean share of the source that lands there.
        fraction: f64,
        /// Standard deviation of that share.
        sd: f64,
        /// Probability.
        chance: f64,
        /// Seconds for which the landing site stays wet.
        wet: f64,
        /// The spots it lands in: how many on average, at least one, and how large; none if it lands evenly.
        spots: Option<Spotted>,
    },
}

impl CareStep {
    /// True if it means another place with the other hand.
    pub fn is_sided(&self) -> bool {
        match self {
            CareStep::Contact { a, b, .. } => a.is_sided() || b.is_sided(),
            CareStep::Splash { onto, .. } => onto.is_sided(),
        }
    }
}

/// What brings spots onto a patch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fall {
    /// They lie there at the start.
    Start,
    /// A splash of the care given before the drill.
    Splash {
        /// Which care, its fewest and most repeats, and which of them.
        care: (usize, (u32, u32), u32),
        /// Which step of it.
        step: usize,
        /// The acting hand.
        side: Side,
        /// Probability.
        chance: f64,
    },
}

/// A piece of care, repeated a drawn number of times.
#[derive(Clone, Debug, PartialEq)]
pub struct Care {
    /// Name for people.
    pub label: String,
    /// Duration of one repeat, s.
    pub seconds: f64,
    /// Fewest and most repeats, drawn uniformly.
    pub times: (u32, u32),
    /// Acting hand or hands.
    pub hand: Hands,
    /// What happens in each repeat.
    pub steps: Vec<CareStep>,
}

/// A fault that an item of this scenario, or whoever does it, may have.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultUse {
    /// Fault id.
    pub fault: String,
    /// Item id within the kit; none if it is of the person.
    pub item: Option<String>,
    /// Probability in this scenario.
    pub chance: f64,
}

/// How a fastening was left when the kit was put on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tied {
    /// In a bow, or a strap where it belongs: it opens with one pull.
    Bow,
    /// In a knot, which has to be picked apart.
    Knot,
    /// Not at all: a tie that was forgotten, a strap that hangs.
    Open,
}

impl Tied {
    /// Every way with the word files use for it.
    pub const ALL: [(&'static str, Tied); 3] =
        [("Bow", Tied::Bow), ("Knot", Tied::Knot), ("Open", Tied::Open)];
}

/// A fastening that was not left as it should be when the kit was put on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PutOn {
    /// Item id within the kit.
    pub item: String,
    /// Fastening id.
    pub fastening: String,
    /// How it was left.
    pub tied: Tied,
}

/// Something that happens during the drill: a prompt, nothing more.
#[derive(Clone, Debug, PartialEq)]
pub struct Happening {
    /// When, in seconds after the start.
    pub at: f64,
    /// What the trainee reads.
    pub say: String,
    /// Site id that answers it with a touch.
    pub site: String,
}

/// Deductions from full marks for the named sequence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marks {
    /// Marks before any deduction.
    pub full: f64,
    /// A step that was not done.
    pub missed: f64,
    /// A step done too early, in which an unclean hand or glove comes to the person or may do so.
    pub early: f64,
    /// A step done too late, likewise.
    pub late: f64,
    /// A step out of order that brings no unclean hand or glove to the person.
    pub harmless_order: f64,
    /// A technique that the sequence does not support, by which something unclean meets the person or may do so.
    pub poor: f64,
    /// The same where nothing unclean can meet the person.
    pub harmless_poor: f64,
    /// Done in the wrong place.
    pub wrong_place: f64,
    /// Hands cleaned for too short a time or with zones left out.
    pub short_clean: f64,
    /// Kit that was dropped on the floor, or is not in the bin at the end.
    pub not_binned: f64,
}

impl Marks {
    /// The names of the deductions in files, with access to each.
    #[expect(
        clippy::type_complexity,
        reason = "a table of field accessors reads best in one place"
    )]
    pub const FIELDS: [(&'static str, fn(&mut Marks) -> &mut f64); 10] = [
        ("full", |m| &mut m.full),
        ("missed", |m| &mut m.missed),
        ("early", |m| &mut m.early),
        ("late", |m| &mut m.late),
        ("harmless_order", |m| &mut m.harmless_order),
        ("poor", |m| &mut m.poor),
        ("harmless_poor", |m| &mut m.harmless_poor),
        ("wrong_place", |m| &mut m.wrong_place),
        ("short_clean", |m| &mut m.short_clean),
        ("not_binned", |m| &mut m.not_binned),
    ];
}

/// A scenario.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Where and what, in two or three sentences.
    pub setting: String,
    /// Organism id.
    pub organism: String,
    /// Sequence scored by default.
    pub sequence: String,
    /// Other sequences that fit.
    pub also: Vec<String>,
    /// Item definition ids, innermost first: the order of putting on.
    pub kit: Vec<String>,
    /// Those of the kit that lie ready at first, to be put on in the attempt; the rest is worn.
    pub ready: Vec<String>,
    /// Item definition ids that lie unused in their box.
    pub spares: Vec<String>,
    /// What it says of where basins and dispensers are.
    pub building: OwnBuilding,
    /// Where the person stands at first.
    pub begin: Whereabouts,
    /// What was fastened otherwise than it should be; the rest is in bows, straps where they belong.
    pub put_on: Vec<PutOn>,
    /// Loads at the start.
    pub start: Vec<Start>,
    /// The care given before the drill.
    pub care: Vec<Care>,
    /// Ids of the techniques of care that are there to be given in the attempt, in the order in which they are needed.
    pub work: Vec<String>,
    /// Faults that may be there.
    pub faults: Vec<FaultUse>,
    /// Things that happen.
    pub happenings: Vec<Happening>,
    /// Deductions.
    pub marks: Marks,
    /// Basis id.
    pub basis: String,
}
