//! Virtual trainees: how often they lapse.

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
    /// Basis id.
    pub basis: String,
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
        lapses == [0.0; 7] && self.right_first == 0.0
    }

    /// How common a technique is among those that the sequence does not accept.
    pub fn poor_weight(&self, technique: &str) -> f64 {
        let listed = self.poor_weights.iter().find(|(id, _)| id == technique);
        listed.map_or(1.0, |(_, weight)| *weight)
    }
}
