//! Virtual trainees: how often they lapse.

/// Chances of lapses of a virtual trainee.
#[derive(Clone, Debug, PartialEq)]
pub struct Trainee {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// Chance of leaving out a cleaning of hands, per cleaning asked.
    pub skip: f64,
    /// Chance of a technique that the sequence does not accept, per item.
    pub poor: f64,
    /// Chance of taking two neighbouring removals in the wrong order, per pair.
    pub swap: f64,
    /// Chance of hurrying, per item.
    pub hurry: f64,
    /// Chance of touching eyes, nostrils or lips where they are bare, per step.
    pub face_touch: f64,
    /// Basis id.
    pub basis: String,
}
