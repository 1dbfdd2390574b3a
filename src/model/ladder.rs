//! The ladder of practice: how much help there is on each rung, and what leads up and down. Data that anyone can edit.

/// How help is given on a rung.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Manner {
    /// It is seen done, under the lamp, with the reasons.
    See,
    /// The next step is told, but for steps that went right lately.
    #[default]
    Prompted,
    /// The next step is told when it is asked for.
    WhenAsked,
    /// Nothing is told.
    Alone,
}

impl Manner {
    /// All with the words that files have.
    pub const ALL: [(&'static str, Manner); 4] = [
        ("See", Manner::See),
        ("Prompted", Manner::Prompted),
        ("WhenAsked", Manner::WhenAsked),
        ("Alone", Manner::Alone),
    ];
}

/// How the lamp can be used on a rung.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum RungLamp {
    /// At will.
    On,
    /// While it is held.
    #[default]
    Peek,
    /// Not before the end.
    AtTheEnd,
}

impl RungLamp {
    /// All with the words that files have.
    pub const ALL: [(&'static str, RungLamp); 3] = [
        ("On", RungLamp::On),
        ("Peek", RungLamp::Peek),
        ("AtTheEnd", RungLamp::AtTheEnd),
    ];
}

/// A rung.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rung {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// What it is like, as a sentence for whoever practises.
    pub say: String,
    /// How help is given.
    pub manner: Manner,
    /// How the lamp can be used.
    pub lamp: RungLamp,
    /// True if steps can be taken back.
    pub takes_back: bool,
    /// True if what the scenario lets happen does happen: itches, calls, a form to sign.
    pub disturbed: bool,
}

/// The ladder.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// Its rungs, the lowest first; on the first something is seen.
    pub rungs: Vec<Rung>,
    /// Goes running with nothing lost and no critical error that lead a rung up.
    pub up_after: u32,
    /// Goes running in which a step went right until it is not told any more.
    pub fade_after: u32,
    /// Basis id.
    pub basis: String,
}

impl Ladder {
    /// The place of a rung by its id.
    pub fn place(&self, id: &str) -> Option<usize> {
        self.rungs.iter().position(|rung| rung.id == id)
    }
}
