//! All content, read and checked: what a scenario can draw on.

use super::{
    Asked, Basis, Building, Calibration, Checklist, Curve, Does, Door, Duel, Ensemble, FaceTouches, Fault,
    Furniture, Item, Ladder, Lesson, Marks, Material, NextContact, Organism, Place, Product, RegisterRules,
    Scenario, Sequence, Soak, Source, Studies, Technique, Telling, Trainee, Transfer, Tuning, WaysOn,
};

/// How long and how large the things are that no technique describes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Manners {
    /// Contact area of a free touch by hand zone, cm2, in the order of [`Zone::ALL`](super::Zone::ALL).
    pub touch_areas: [f64; 6],
    /// Duration of a free touch, s.
    pub touch_seconds: f64,
    /// Duration of one walk between neighbouring places, s.
    pub walk_seconds: f64,
    /// Basis id.
    pub basis: String,
    /// How long a list of choices on the screen takes no choice after it has changed, s.
    pub list_rest_seconds: f64,
    /// Basis id of that.
    pub list_rest_basis: String,
    /// What is carried or dropped as a whole touches with its largest faces, as many as come to this share of its area, 0
    /// to 1.
    pub bundle_share: f64,
    /// And with no fewer of them than this, so that a small thing touches with all it has.
    pub bundle_parts: usize,
    /// Basis id of that.
    pub bundle_basis: String,
}

impl Manners {
    /// Contact area of a free touch with a zone, cm2.
    pub fn touch_area(&self, zone: super::Zone) -> f64 {
        self.touch_areas[zone as usize]
    }
}

/// How small contacts vary. Their mean areas and shares stand in the techniques.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grazes {
    /// Coefficient of variation of the area between people.
    pub people: f64,
    /// Basis id.
    pub people_basis: String,
    /// Coefficient of variation between goes of one person.
    pub goes: f64,
    /// Basis id.
    pub goes_basis: String,
    /// Factor on the area in a hurry.
    pub hurried: f64,
    /// Basis id.
    pub hurried_basis: String,
    /// Basis id of their mean areas.
    pub area_basis: String,
    /// Basis id of the shares that are shed.
    pub shed_basis: String,
}

/// All content. Ids are unique within each list; references between lists have been checked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Library {
    /// Publications and documents.
    pub sources: Vec<Source>,
    /// Provenance of every constant.
    pub bases: Vec<Basis>,
    /// The body.
    pub places: Vec<Place>,
    /// The room.
    pub furniture: Vec<Furniture>,
    /// Materials.
    pub materials: Vec<Material>,
    /// Transfer table; the first row that fits wins.
    pub transfers: Vec<Transfer>,
    /// What goes through wet cloth; the first row that fits wins, and nothing goes through a material that has none.
    pub soaks: Vec<Soak>,
    /// How small contacts vary.
    pub grazes: Grazes,
    /// Factor of a sliding contact on the drawn efficiency, and its basis id.
    pub slide: (f64, String),
    /// Organisms.
    pub organisms: Vec<Organism>,
    /// Hand hygiene products.
    pub products: Vec<Product>,
    /// Faults.
    pub faults: Vec<Fault>,
    /// Items.
    pub items: Vec<Item>,
    /// Techniques, with the chances of their brushes as fitted.
    pub techniques: Vec<Technique>,
    /// What was fitted; its factors have been applied to the techniques.
    pub tunings: Vec<Tuning>,
    /// Sequences.
    pub sequences: Vec<Sequence>,
    /// Scenarios.
    pub scenarios: Vec<Scenario>,
    /// Dose-response curves, an option that is off by default.
    pub curves: Vec<Curve>,
    /// Pairs to show side by side.
    pub duels: Vec<Duel>,
    /// What is ticked of a real person who puts kit on.
    pub checklists: Vec<Checklist>,
    /// Lessons.
    pub lessons: Vec<Lesson>,
    /// Virtual trainees.
    pub trainees: Vec<Trainee>,
    /// Where trainees touch their faces.
    pub face_touches: FaceTouches,
    /// How common ways of putting something on are that no sequence accepts.
    pub ways_on: WaysOn,
    /// Basis id of how often trainees tear a knot; empty where nothing is said of it.
    pub tears_knots_basis: String,
    /// Constants of free touches and walking.
    pub manners: Manners,
    /// Usual deductions.
    pub marks: Option<Marks>,
    /// Where a building usually has basins and dispensers; none where nothing is said of it.
    pub building: Option<Building>,
    /// How the door of the room is worked; none where there is none.
    pub door: Option<Door>,
    /// What an ordinary contact with the next patient is.
    pub next_contact: Option<NextContact>,
    /// How differences are put into words.
    pub telling: Option<Telling>,
    /// How long a register keeps what, when practice is due again, and what passes.
    pub register: Option<RegisterRules>,
    /// How somebody practises alone.
    pub ladder: Option<Ladder>,
    /// How a calibration goes.
    pub calibration: Option<Calibration>,
    /// Sets of values that published counts leave.
    pub ensemble: Option<Ensemble>,
    /// Published counts, and what a fit to them may change.
    pub studies: Studies,
}

macro_rules! by_id {
    ($($name:ident, $list:ident, $kind:ty, $doc:literal;)*) => {
        $(
            #[doc = $doc]
            pub fn $name(&self, id: &str) -> Option<&$kind> {
                self.$list.iter().find(|x| x.id == id)
            }
        )*
    };
}

impl Library {
    by_id! {
        source, sources, Source, "The source with this id.";
        basis, bases, Basis, "The basis with this id.";
        place, places, Place, "The place with this id.";
        furniture_piece, furniture, Furniture, "The piece of furniture with this id.";
        material, materials, Material, "The material with this id.";
        organism, organisms, Organism, "The organism with this id.";
        product, products, Product, "The product with this id.";
        fault, faults, Fault, "The fault with this id.";
        item, items, Item, "The item with this id.";
        technique, techniques, Technique, "The technique with this id.";
        sequence, sequences, Sequence, "The sequence with this id.";
        trainee, trainees, Trainee, "The virtual trainee with this id.";
        curve, curves, Curve, "The dose-response curve with this id.";
        duel, duels, Duel, "The duel with this id.";
        checklist, checklists, Checklist, "The checklist with this id.";
        lesson, lessons, Lesson, "The lesson with this id.";
        scenario, scenarios, Scenario, "The scenario with this id.";
    }

    /// The trainees who are shown beside each other where people are spoken of, with what they are called there.
    pub fn people(&self) -> impl Iterator<Item = (&Trainee, &str)> {
        self.trainees
            .iter()
            .filter_map(|t| Some((t, t.people.as_deref()?)))
    }

    /// Has every step that asks for an item ask for those too that are like it and look like it. What is like another and has a
    /// look of its own, as inner gloves have, is asked for by its own name alone.
    pub fn stand_in(&mut self) {
        let alike = |item: &Item| {
            let of = self.item(item.like.first()?)?;
            (of.look() == item.look()).then(|| (of.id.clone(), item.id.clone()))
        };
        let pairs: Vec<(String, String)> = self.items.iter().filter_map(alike).collect();
        let steps = self.sequences.iter_mut().flat_map(|sequence| &mut sequence.steps);
        for step in steps {
            let (Asked::PutOn { items, .. } | Asked::Check { items, .. } | Asked::Remove { items, .. }) =
                &mut step.asked
            else {
                continue;
            };
            // As often as there are pairs: one may be like another that is like a third.
            for (of, variant) in pairs.iter().cycle().take(pairs.len() * pairs.len()) {
                if items.contains(of) && !items.contains(variant) {
                    items.push(variant.clone());
                }
            }
        }
    }

    /// Id of the technique whose motion is seen where a technique is carried out: its own, or that of the one it moves like;
    /// none where one moves like another that leads back to it.
    pub fn motion<'a>(&'a self, technique: &'a str) -> Option<&'a str> {
        let next = |id: &&str| self.technique(id)?.moves_like.as_deref();
        std::iter::successors(Some(technique), next)
            .take(self.techniques.len() + 1)
            .find(|id| next(id).is_none())
    }

    /// Techniques that apply to an item definition, its `like` included, in content order.
    pub fn techniques_for<'a>(&'a self, item: &'a Item) -> impl Iterator<Item = &'a Technique> {
        self.techniques.iter().filter(move |t| Self::applies(t, item))
    }

    /// True if a technique applies to an item definition.
    pub fn applies(technique: &Technique, item: &Item) -> bool {
        technique.does == Does::PicksUp && technique.items.is_empty()
            || technique
                .items
                .iter()
                .any(|id| *id == item.id || item.like.contains(id))
    }
}
