//! What a technique was found not to touch: contacts that were thought of and left out, and why.

/// Whom a soiled surface could meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meets {
    /// The hands that carry the technique out.
    Hands,
    /// The rest of the person: skin, hair, clothing and other kit.
    Body,
}

impl Meets {
    /// Both with the word files use for them.
    pub const ALL: [(&'static str, Meets); 2] = [("Hands", Meets::Hands), ("Body", Meets::Body)];

    /// The words people read.
    pub fn label(self) -> &'static str {
        match self {
            Meets::Hands => "the hands",
            Meets::Body => "the person",
        }
    }
}

/// Contacts of one technique that were considered and left out.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// Outsides of parts of the handled item; empty for whatever is held. `lower-sleeve` means both sides' where there
    /// are two.
    pub parts: Vec<String>,
    /// What they were thought to meet.
    pub meets: Meets,
    /// Why they do not, or not often enough to count.
    pub why: String,
}

impl LeftOut {
    /// One line for people, such as "front and the hands: it hangs below them".
    pub fn line(&self) -> String {
        let parts = if self.parts.is_empty() {
            "what is held".to_owned()
        } else {
            self.parts.join(", ").replace('-', " ")
        };
        format!("{parts} and {}: {}", self.meets.label(), self.why)
    }
}
