//! Published counts that virtual trainees are held against, and the numbers that a fit to them may change.

/// One group of people in a study, as it is played here.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyArm {
    /// Kebab-case id.
    pub id: String,
    /// Who and what, in words.
    pub what: String,
    /// Scenario id.
    pub scenario: String,
    /// Trainee id.
    pub trainee: String,
    /// Share of all repeats that it is played for, above 0 and at most 1.
    pub repeats: f64,
}

/// A part of the body whose share was named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// Bare hands and wrists.
    Hands,
    /// Bare skin of the neck.
    Neck,
}

impl Spot {
    /// Every spot with the word files use for it.
    pub const ALL: [(&'static str, Spot); 2] = [("Hands", Spot::Hands), ("Neck", Spot::Neck)];
}

/// What a count is of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measure {
    /// Enough to be seen on skin, hair or own clothing.
    Person,
    /// Enough to be seen on bare skin.
    Skin,
    /// A lapse, of whatever sort.
    Lapses,
    /// How much more often a spot is soiled than any other.
    Ahead {
        /// The spot.
        of: Spot,
        /// How far ahead is enough, share.
        by: f64,
        /// How far short of that counts as one half width of a range, share above 0.
        half: f64,
    },
}

/// Which removals of an arm are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Among {
    /// All.
    All,
    /// Those with a lapse.
    Lapse,
    /// Those without.
    NoLapse,
}

impl Among {
    /// Every choice with the word files use for it.
    pub const ALL: [(&'static str, Among); 3] = [
        ("All", Among::All),
        ("Lapse", Among::Lapse),
        ("NoLapse", Among::NoLapse),
    ];
}

/// How much an arm weighs in a count that mixes several.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Weight {
    /// So many removals were watched in the arm; of them our own share of those counted is taken.
    Removals(f64),
    /// So many of those counted there were.
    These(f64),
}

/// An arm, or some of its removals, in a count.
#[derive(Clone, Debug, PartialEq)]
pub struct CountPart {
    /// Arm id.
    pub arm: String,
    /// Which of its removals.
    pub among: Among,
    /// Its weight beside the other parts.
    pub weight: Weight,
}

/// A published count.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyCount {
    /// Kebab-case id.
    pub id: String,
    /// What was counted, in words.
    pub what: String,
    /// What it is of.
    pub measure: Measure,
    /// Of whom; one at least.
    pub parts: Vec<CountPart>,
    /// The published share; none where only an order was published.
    pub share: Option<f64>,
    /// How many of how many, where that is known.
    pub counted: Option<(u64, u64)>,
    /// The range of shares that counts as met.
    pub within: (f64, f64),
    /// True if a fit uses it, so that meeting it is no prediction.
    pub fitted: bool,
    /// True if it follows from other counts of the same people, so that it says nothing more.
    pub implied: bool,
    /// What else must be said.
    pub note: String,
    /// Source id.
    pub source: String,
    /// Basis id.
    pub basis: String,
}

/// A number that a fit may change.
#[derive(Clone, Debug, PartialEq)]
pub enum SearchedNumber {
    /// How often a trainee takes a poor technique.
    Poor {
        /// Trainee id.
        trainee: String,
    },
    /// How often a trainee hurries.
    Hurry {
        /// Trainee id.
        trainee: String,
    },
    /// How common a poor technique is for a trainee, beside others.
    Weight {
        /// Trainee id.
        trainee: String,
        /// Technique id.
        technique: String,
    },
    /// The largest median load of a scenario; the others keep their ratio to it.
    Amount {
        /// Scenario id.
        scenario: String,
    },
}

/// A number that a fit may change, and how far.
#[derive(Clone, Debug, PartialEq)]
pub struct Searched {
    /// What it is, in words.
    pub name: String,
    /// Which.
    pub number: SearchedNumber,
    /// What was thought likely before any count was looked at: where a search begins.
    pub before: f64,
    /// Smallest and largest value allowed, above 0.
    pub bounds: (f64, f64),
    /// Basis id.
    pub basis: String,
}

/// How a fit searches.
#[derive(Clone, Debug, PartialEq)]
pub struct Search {
    /// First step, as a difference of logarithms.
    pub first_step: f64,
    /// Steps smaller than this end the search.
    pub last_step: f64,
    /// Cost of a squared step of 1 away from where the search began.
    pub pull: f64,
    /// Basis id.
    pub basis: String,
}

/// A published share beside which the first way of a comparison is set.
#[derive(Clone, Debug, PartialEq)]
pub struct PublishedLevel {
    /// Where.
    pub site: Spot,
    /// The share.
    pub share: f64,
    /// How many of how many.
    pub counted: (u64, u64),
    /// Its published range.
    pub within: (f64, f64),
    /// Source id.
    pub source: String,
    /// Basis id.
    pub basis: String,
}

/// One way in a comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct ComparedWay {
    /// What people call it.
    pub label: String,
    /// Scenario id.
    pub scenario: String,
    /// Sequence id; none for the scenario's own.
    pub sequence: Option<String>,
    /// Trainee id.
    pub trainee: String,
}

/// The design of a published comparison, to which nothing was fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyComparison {
    /// Kebab-case id.
    pub id: String,
    /// What is compared, in words.
    pub what: String,
    /// Two ways or more.
    pub ways: Vec<ComparedWay>,
    /// What was published of the first way, if its level is known.
    pub published: Option<PublishedLevel>,
    /// Basis id.
    pub basis: String,
}

/// Everything that is held against studies.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Studies {
    /// Who is played.
    pub arms: Vec<StudyArm>,
    /// What was counted.
    pub counts: Vec<StudyCount>,
    /// What a fit may change besides the factors of [`Tuning`](super::Tuning).
    pub searched: Vec<Searched>,
    /// How a fit searches; none where content holds no studies.
    pub search: Option<Search>,
    /// Designs that are played beside the counts.
    pub comparisons: Vec<StudyComparison>,
    /// Scenarios of published designs of whose loads nothing is known but what was set for them here.
    pub unknown_loads: Vec<String>,
}
