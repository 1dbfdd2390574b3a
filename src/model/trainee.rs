//! Virtual trainees: how often they lapse.

/// What goes wrong at the door, while kit that lies ready is put on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slip {
    /// A cleaning of hands is left out, per cleaning asked.
    LeavesRubOut,
    /// A check of what is on is left out, per item.
    LeavesCheckOut,
    /// A look is left out: at oneself, at what lies ready, or a colleague's at all that is on; per look.
    LeavesLookOut,
    /// An item is put on in a way that the sequence does not accept, per item that can be.
    OtherWay,
    /// A fastening is tied in a knot in place of a bow, per fastening that can be.
    Knots,
    /// A fastening that is tied by itself is left open, per fastening.
    LeavesOpen,
}

impl Slip {
    /// Every slip with the word files use for it.
    pub const ALL: [(&'static str, Slip); 6] = [
        ("LeavesRubOut", Slip::LeavesRubOut),
        ("LeavesCheckOut", Slip::LeavesCheckOut),
        ("LeavesLookOut", Slip::LeavesLookOut),
        ("OtherWay", Slip::OtherWay),
        ("Knots", Slip::Knots),
        ("LeavesOpen", Slip::LeavesOpen),
    ];

    /// The same for people, after `how often`.
    pub fn words(self) -> &'static str {
        match self {
            Slip::LeavesRubOut => "a cleaning of hands is left out while kit is put on",
            Slip::LeavesCheckOut => "the check of a seal is left out while kit is put on",
            Slip::LeavesLookOut => "a look at oneself, at the kit or by a colleague is left out",
            Slip::OtherWay => "an item of kit is put on in another way than is asked for",
            Slip::Knots => "a tie is made a knot in place of a bow",
            Slip::LeavesOpen => "a tie is left open while kit is put on",
        }
    }
}

/// How often somebody slips at the door.
#[derive(Clone, Debug, PartialEq)]
pub struct Slips {
    /// In which way.
    pub slip: Slip,
    /// The chance, each time that there is an occasion.
    pub chance: f64,
    /// Basis id.
    pub basis: String,
}

/// Chances of lapses of a virtual trainee.
#[derive(Clone, Debug, PartialEq)]
pub struct Trainee {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// What people like this are called where they are shown beside others; none if they are shown only when asked for.
    pub people: Option<String>,
    /// Chance of leaving out a cleaning of hands, per cleaning asked.
    pub skip: f64,
    /// Chance of a technique that the sequence does not accept, per item.
    pub poor: f64,
    /// How common techniques are among those that the sequence does not accept; one that is not listed weighs 1.
    pub poor_weights: Vec<(String, f64)>,
    /// Chance of tearing a garment open rather than picking apart a knot that holds it, per garment with one.
    pub tears_knots: f64,
    /// Chance of taking two neighbouring removals in the wrong order, per pair.
    pub swap: f64,
    /// Chance of hurrying, per item.
    pub hurry: f64,
    /// Chance of another way of getting rid of what was taken off than the first one possible, each time.
    pub discard: f64,
    /// Chance that of a pair that on the right comes off first.
    pub right_first: f64,
    /// Chance of touching eyes, nostrils or lips where they are bare, per step.
    pub face_touch: f64,
    /// What goes wrong while kit is put on; what is not listed never does, but for cleanings, which are then left out as often as
    /// any.
    pub dressing: Vec<Slips>,
    /// Basis id.
    pub basis: String,
}

/// How common ways of putting something on are among those that a sequence does not accept, whoever does it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WaysOn {
    /// Technique ids, each with its weight; one that is not listed weighs 1. They are compared for one item alone.
    pub weights: Vec<(String, f64)>,
    /// Basis id.
    pub basis: String,
}

impl WaysOn {
    /// How common a technique is.
    pub fn weight(&self, technique: &str) -> f64 {
        let listed = self.weights.iter().find(|(id, _)| id == technique);
        listed.map_or(1.0, |(_, weight)| *weight)
    }
}

/// Where a touch of the face goes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FaceTouches {
    /// Places, each with its share, above 0; they need not add up to anything.
    pub places: Vec<(String, f64)>,
    /// Basis id.
    pub basis: String,
}

impl FaceTouches {
    /// The place for a number drawn from 0 to 1; none if there are no places.
    pub fn at(&self, draw: f64) -> Option<&str> {
        let all: f64 = self.places.iter().map(|(_, share)| share).sum();
        let mut before = 0.0;
        let place = self.places.iter().find(|(_, share)| {
            before += share;
            draw * all < before
        });
        place.or(self.places.last()).map(|(place, _)| place.as_str())
    }
}

impl Trainee {
    /// True if there are never lapses.
    pub fn is_flawless(&self) -> bool {
        let lapses = [
            self.skip,
            self.poor,
            self.swap,
            self.hurry,
            self.discard,
            self.face_touch,
            self.tears_knots,
        ];
        lapses == [0.0; 7] && self.right_first == 0.0 && self.dressing.iter().all(|slips| slips.chance == 0.0)
    }

    /// Chance of a slip while kit is put on.
    pub fn slips(&self, slip: Slip) -> f64 {
        let listed = self.dressing.iter().find(|slips| slips.slip == slip);
        let usual = if slip == Slip::LeavesRubOut {
            self.skip
        } else {
            0.0
        };
        listed.map_or(usual, |slips| slips.chance)
    }

    /// How common a technique is among those that the sequence does not accept.
    pub fn poor_weight(&self, technique: &str) -> f64 {
        let listed = self.poor_weights.iter().find(|(id, _)| id == technique);
        listed.map_or(1.0, |(_, weight)| *weight)
    }
}
