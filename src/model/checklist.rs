//! What somebody ticks who watches a real person put kit on: guidance in our own words, step by step.

/// A step of a checklist.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckStep {
    /// Kebab-case id within the checklist.
    pub id: String,
    /// What is asked, in plain words.
    pub ask: String,
    /// The reason, as a sentence for a trainer.
    pub why: String,
    /// True if hands are cleaned by it.
    pub cleans: bool,
    /// True if no marks make up for it.
    pub safety: bool,
}

/// A checklist for putting kit on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checklist {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// For which kit, in words.
    pub kit: String,
    /// Basis id.
    pub basis: String,
    /// Its steps in order.
    pub steps: Vec<CheckStep>,
}
