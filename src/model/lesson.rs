//! Lessons: what a trainer says, asks and shows, step by step.

/// What an answer of a class says of what is shown after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Says {
    /// The first side of the pair brings less.
    First,
    /// The second side brings less.
    Second,
    /// Both bring much the same.
    Same,
    /// It cannot be told.
    Open,
    /// Most people glow there.
    At(LessonTarget),
    /// Most people glow nowhere.
    Nowhere,
}

/// What odds or counts of a lesson are told of. The words are those of the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum LessonTarget {
    AnySkin,
    Hands,
    Neck,
    FaceSkin,
    Mucosa,
    Clothing,
    HandsBeforeCleaning,
    HandsPeak,
    Others,
    NextPatient,
    TwoPlaces,
}

impl LessonTarget {
    /// All, with the words that files use.
    pub const ALL: [(&'static str, LessonTarget); 11] = [
        ("AnySkin", LessonTarget::AnySkin),
        ("Hands", LessonTarget::Hands),
        ("Neck", LessonTarget::Neck),
        ("FaceSkin", LessonTarget::FaceSkin),
        ("Mucosa", LessonTarget::Mucosa),
        ("Clothing", LessonTarget::Clothing),
        ("HandsBeforeCleaning", LessonTarget::HandsBeforeCleaning),
        ("HandsPeak", LessonTarget::HandsPeak),
        ("Others", LessonTarget::Others),
        ("NextPatient", LessonTarget::NextPatient),
        ("TwoPlaces", LessonTarget::TwoPlaces),
    ];

    /// Those that glow on a person under the lamp and leave each other out.
    pub const GLOW: [(&'static str, LessonTarget); 5] = [
        ("Hands", LessonTarget::Hands),
        ("Neck", LessonTarget::Neck),
        ("FaceSkin", LessonTarget::FaceSkin),
        ("Mucosa", LessonTarget::Mucosa),
        ("Clothing", LessonTarget::Clothing),
    ];

    /// The word of the target, such as `any-skin`.
    pub fn word(self) -> &'static str {
        match self {
            LessonTarget::AnySkin => "any-skin",
            LessonTarget::Hands => "hands",
            LessonTarget::Neck => "neck",
            LessonTarget::FaceSkin => "face-skin",
            LessonTarget::Mucosa => "mucosa",
            LessonTarget::Clothing => "clothing",
            LessonTarget::HandsBeforeCleaning => "hands-before-cleaning",
            LessonTarget::HandsPeak => "hands-peak",
            LessonTarget::Others => "others",
            LessonTarget::NextPatient => "next-patient",
            LessonTarget::TwoPlaces => "two-places",
        }
    }
}

/// An answer that hands go up for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LessonAnswer {
    /// What it reads.
    pub text: String,
    /// What it says of the step that the question is laid against; none where it is laid against none.
    pub says: Option<Says>,
}

/// A question, and what it is laid against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LessonAsk {
    /// What is asked.
    pub question: String,
    /// What can be answered.
    pub answers: Vec<LessonAnswer>,
    /// Id of a later step, odds or an exercise, that shows which answers are borne out.
    pub against: Option<String>,
}

/// Something that is known, with where from: at least a source or a basis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LessonClaim {
    /// A sentence.
    pub text: String,
    /// Source ids.
    pub sources: Vec<String>,
    /// Basis id.
    pub basis: Option<String>,
}

/// Who tries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tries {
    /// Everybody, one after the other or at stations of their own.
    Everybody,
    /// A volunteer, while all others watch.
    Volunteer,
}

impl Tries {
    /// Both with the words that files use.
    pub const ALL: [(&'static str, Tries); 2] =
        [("Everybody", Tries::Everybody), ("Volunteer", Tries::Volunteer)];
}

/// How the lamp is used by whoever tries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LessonLamp {
    /// On throughout: for a first demonstration.
    On,
    /// While its key is held.
    Peek,
    /// Off until the end.
    UntilTheEnd,
}

impl LessonLamp {
    /// All with the words that files use.
    pub const ALL: [(&'static str, LessonLamp); 3] = [
        ("On", LessonLamp::On),
        ("Peek", LessonLamp::Peek),
        ("UntilTheEnd", LessonLamp::UntilTheEnd),
    ];
}

/// What happens in a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LessonKind {
    /// Something is said; this is what stands on the wall meanwhile.
    Say(String),
    /// Hands go up.
    Ask(LessonAsk),
    /// A pair is watched: its id.
    Watch(String),
    /// The odds of a pair.
    Odds {
        /// Id of the pair.
        duel: String,
        /// What they are told of first.
        target: LessonTarget,
    },
    /// What is known.
    Evidence(Vec<LessonClaim>),
    /// Somebody does it.
    Try {
        /// Scenario id.
        scenario: String,
        /// Sequence id, one of the scenario's.
        sequence: String,
        /// Who.
        who: Tries,
        /// The lamp.
        lamp: LessonLamp,
    },
    /// Real lotion, real kit, a real lamp: who glows where is counted.
    Exercise {
        /// Id of the scenario that is like it, with a tracer.
        scenario: String,
        /// Id of the sequence that people go by, one of the scenario's.
        sequence: String,
    },
    /// People talk; this is what stands on the wall meanwhile.
    Discuss(String),
}

impl LessonKind {
    /// The words that files use.
    pub const WORDS: [&'static str; 8] = [
        "Say", "Ask", "Watch", "Odds", "Evidence", "Try", "Exercise", "Discuss",
    ];

    /// What sort of step it is, for lists.
    pub fn label(&self) -> &'static str {
        match self {
            LessonKind::Say(_) => "say",
            LessonKind::Ask(_) => "ask",
            LessonKind::Watch(_) => "watch",
            LessonKind::Odds { .. } => "odds",
            LessonKind::Evidence(_) => "what is known",
            LessonKind::Try { .. } => "try",
            LessonKind::Exercise { .. } => "lamp exercise",
            LessonKind::Discuss(_) => "talk",
        }
    }
}

/// A step of a lesson.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LessonStep {
    /// Kebab-case id, unique in the lesson.
    pub id: String,
    /// Its heading, for everybody.
    pub heading: String,
    /// How long it takes, minutes.
    pub minutes: u32,
    /// What happens.
    pub kind: LessonKind,
    /// What only the trainer reads; may be empty.
    pub notes: String,
    /// Source ids of what is stated in it or in its notes, beside those of claims.
    pub sources: Vec<String>,
}

/// A lesson.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lesson {
    /// Kebab-case id.
    pub id: String,
    /// Name for people.
    pub label: String,
    /// How long it takes, minutes: the sum over its steps.
    pub minutes: u32,
    /// For whom it is.
    pub audience: String,
    /// What has to be there.
    pub materials: Vec<String>,
    /// What happens, in order.
    pub steps: Vec<LessonStep>,
}

impl Lesson {
    /// Index of a step by its id.
    pub fn step(&self, id: &str) -> Option<usize> {
        self.steps.iter().position(|step| step.id == id)
    }

    /// The questions that are laid against a step, with the indices of their steps.
    pub fn laid_against<'a>(&'a self, id: &'a str) -> impl Iterator<Item = (usize, &'a LessonAsk)> {
        self.steps
            .iter()
            .enumerate()
            .filter_map(move |(n, step)| match &step.kind {
                LessonKind::Ask(ask) if ask.against.as_deref() == Some(id) => Some((n, ask)),
                _ => None,
            })
    }
}
