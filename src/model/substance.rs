//! Materials and how well contamination passes between them; organisms; hand hygiene products; faults.

use super::{Item, Zone};

/// A surface material.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
}

/// Organism classes, which decide hand hygiene and, where published, transfer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Class {
    /// A virus with an envelope.
    EnvelopedVirus,
    /// A virus without one.
    NonEnvelopedVirus,
    /// A growing bacterium.
    VegetativeBacterium,
    /// A bacterial spore.
    Spore,
    /// A training tracer: seen under the lamp, not killed by anything.
    Tracer,
}

impl Class {
    /// Every class with the word files use for it.
    pub const ALL: [(&'static str, Class); 5] = [
        ("EnvelopedVirus", Class::EnvelopedVirus),
        ("NonEnvelopedVirus", Class::NonEnvelopedVirus),
        ("VegetativeBacterium", Class::VegetativeBacterium),
        ("Spore", Class::Spore),
        ("Tracer", Class::Tracer),
    ];
}

/// What is counted.
#[derive(Clone, Debug, PartialEq)]
pub struct Organism {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Its class.
    pub class: Class,
    /// What one count is, such as "infectious units".
    pub unit: String,
    /// Smallest count on a site that the lamp (or the method it stands for) shows.
    pub seen_from: u64,
    /// True if it stands up to alcohol, so that hands have to be washed with soap and water in the end.
    pub needs_soap: bool,
    /// Basis id.
    pub basis: String,
}

/// A transfer efficiency: the law of the share that moves in one contact of the areas that meet.
/// A Beta distribution with this mean and standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Efficiency {
    /// Mean, a fraction between 0 and 1.
    pub mean: f64,
    /// Standard deviation; 0 means fixed.
    pub sd: f64,
}

/// One row of the transfer table. The first row that fits a pair wins.
#[derive(Clone, Debug, PartialEq)]
pub struct Transfer {
    /// Donor material ids; empty for any.
    pub from: Vec<String>,
    /// Recipient material ids; empty for any.
    pub to: Vec<String>,
    /// Organism classes to which it applies; empty for all.
    pub classes: Vec<Class>,
    /// Efficiency while either surface is wet.
    pub wet: Efficiency,
    /// Efficiency when both are dry.
    pub dry: Efficiency,
    /// Basis id.
    pub basis: String,
}

/// How much of what sits on a wet and pressed patch of a cloth goes through to its other side.
#[derive(Clone, Debug, PartialEq)]
pub struct Soak {
    /// Material id.
    pub material: String,
    /// Organism classes to which it applies; empty for all.
    pub classes: Vec<Class>,
    /// The share, 0 to 1.
    pub share: Efficiency,
    /// Basis id.
    pub basis: String,
}

/// What hand hygiene does with what it takes off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// Killed where it sits.
    Inactivated,
    /// Rinsed into the drain.
    WashedAway,
}

/// How much a product removes for one organism class.
#[derive(Clone, Debug, PartialEq)]
pub struct Reduction {
    /// Organism class.
    pub class: Class,
    /// Mean log10 reduction where the zone is covered, at full amount and time.
    pub mean: f64,
    /// Standard deviation of that, log10.
    pub sd: f64,
    /// Factor on both by amount: (ml, factor), ascending, interpolated.
    pub by_amount: Vec<(f64, f64)>,
    /// Factor on both by length: (seconds, factor), ascending, interpolated.
    pub by_seconds: Vec<(f64, f64)>,
    /// Factor on both in the share of a zone that is not covered.
    pub missed: f64,
    /// Basis id.
    pub basis: String,
}

/// Hands rubbing each other carry contamination between zones before it is gone.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixing {
    /// Contact area of the palm with each other zone, cm2.
    pub area: f64,
    /// Basis id.
    pub basis: String,
}

/// Bare forearms, cleaned with the hands and before them.
#[derive(Clone, Debug, PartialEq)]
pub struct Forearms {
    /// How long they take, s: the hands come after that.
    pub seconds: f64,
    /// Contact area of the other palm with a forearm, cm2.
    pub area: f64,
    /// Basis id.
    pub basis: String,
}

/// A hand hygiene product.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// What one does with it: "rub" or "wash".
    pub verb: String,
    /// Furniture that is touched to get it, by id, each with its contact area in cm2. Of these, what can be reached from
    /// where one stands is touched, and the product can be had wherever any of them can.
    pub touches: Vec<(String, f64)>,
    /// True if it is for gloved hands only and never for skin.
    pub gloves_only: bool,
    /// What happens to what it takes off.
    pub fate: Fate,
    /// Amount per dose, ml.
    pub dose_ml: f64,
    /// Usual number of doses.
    pub doses: u32,
    /// Asked length, s.
    pub seconds: f64,
    /// How bare forearms are cleaned with it; none if it is for hands only.
    pub forearms: Option<Forearms>,
    /// Zones in the order in which they are covered.
    pub order: Vec<Zone>,
    /// Share of a zone left uncovered by amount: (ml, share).
    pub missed: Vec<(f64, f64)>,
    /// Standard deviation of that share.
    pub missed_sd: f64,
    /// Seconds until hands are dry by amount: (ml, s).
    pub dries: Vec<(f64, f64)>,
    /// Spread between zones while rubbing.
    pub mixing: Mixing,
    /// Removal per organism class.
    pub reductions: Vec<Reduction>,
    /// Basis id of the procedure.
    pub basis: String,
}

impl Product {
    /// Value at `x` of a piecewise linear function given by ascending points; flat outside them.
    pub fn interpolate(points: &[(f64, f64)], x: f64) -> f64 {
        let Some(&(first_x, first_y)) = points.first() else {
            return 0.0;
        };
        if x <= first_x {
            return first_y;
        }
        for pair in points.windows(2) {
            let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
            if x <= x1 {
                return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
            }
        }
        points[points.len() - 1].1
    }
}

/// What a fault does.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Whenever the part's outside takes part in a touch or is splashed, a touch of this area (cm2) between its
    /// outside and what lies beneath follows. With no part named, a part is drawn.
    Leak {
        /// Part id, or none to draw one.
        part: Option<String>,
        /// Contact area of the leak, cm2.
        area: f64,
    },
    /// The part does not cover its place.
    Gap {
        /// Part id.
        part: String,
    },
    /// So many times as much sits on these places at the start.
    Loads {
        /// Place ids.
        places: Vec<String>,
        /// How many times.
        factor: f64,
        /// Basis id of that.
        basis: String,
    },
    /// Cleaning bare hands leaves these places out.
    Misses {
        /// Place ids.
        places: Vec<String>,
    },
    /// Another fault comes with it in so many cases.
    Brings {
        /// Fault id.
        fault: String,
        /// In how many.
        chance: f64,
        /// Basis id of that.
        basis: String,
    },
    /// Nothing that is known in numbers: it can be found and put right, and changes no count.
    Nothing,
}

/// A fault that an item may have.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Item definitions that can have it; none if it is of the person.
    pub items: Vec<String>,
    /// Usual probability.
    pub chance: f64,
    /// What it does.
    pub effect: Effect,
    /// Basis id.
    pub basis: String,
}

impl Fault {
    /// True if it is of the person and of no item.
    pub fn is_of_person(&self) -> bool {
        self.items.is_empty()
    }

    /// True if an item can have it.
    pub fn is_of(&self, item: &Item) -> bool {
        self.items
            .iter()
            .any(|id| *id == item.id || item.like.contains(id))
    }
}
