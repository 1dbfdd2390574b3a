//! How unsure the model is of its constants: how sets of values are weighed by published counts, and the sets that came of it.

/// How a calibration goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// Sets of values that are kept.
    pub members: u64,
    /// Repeats of each arm of each study, for each set that is tried.
    pub repeats: u64,
    /// How far counts of the same thing lie apart from study to study beyond counting noise, on the logit scale: the
    /// spread of a half-normal law of that.
    pub between_studies: f64,
    /// Share, 0 to 1, of the square of how far a study lies apart that all its counts have in common; the rest is each count's
    /// own, as between wards of one study.
    pub in_common: f64,
    /// Share, 0 to 1, of what is unsure about a constant that is its own, where many constants of a kind also have a factor
    /// together; the rest is the factor's.
    pub own: f64,
    /// How many times the odds of its stated value the range of what moves at a touch reaches at least, upwards for a wet touch
    /// and downwards for a dry one; at least 1.
    pub reaches: f64,
    /// Share of sets, 0 to 1, that must still count after a step: the step is as long as that allows.
    pub effective: f64,
    /// How often each set is moved after a step.
    pub moves: u64,
    /// How often besides after the last step.
    pub settling: u64,
    /// Basis id.
    pub basis: String,
}

impl Calibration {
    /// How many sets there are: half as many where they only predict a study that was left out, as the middle nine tenths of
    /// a hundred are enough for that.
    pub fn sets(&self, left_out: bool) -> u64 {
        match left_out {
            false => self.members,
            true => self.members.div_ceil(2),
        }
    }
}

/// One set of values.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    /// What decides about all that is not weighed, what is a contact's own among it, each number about another part of it
    /// (by name): the same number, the same values. At least one.
    pub numbers: Vec<u64>,
    /// Which of the sets that were drawn first it descends from; those of one line were copies once.
    pub line: u64,
    /// Standard scores of the constants that were weighed, in the ensemble's order: 0 is the stated value, -1.645 and 1.645
    /// are the ends of its range.
    pub scores: Vec<f64>,
    /// Shares that it gives for the ensemble's counts, in their order, 0 to 1 (below 0 for who is ahead, if another is).
    pub shares: Vec<f64>,
    /// Standard errors of those shares, from counting in a limited number of repeats.
    pub errors: Vec<f64>,
}

/// A count as it is predicted from those of the other studies alone.
#[derive(Clone, Debug, PartialEq)]
pub struct Predicted {
    /// Id of the count.
    pub count: String,
    /// Median share over sets.
    pub median: f64,
    /// 5 and 95 % of it.
    pub range: (f64, f64),
    /// 5 and 95 % of what would be counted among as many as were looked at, in a study as far from others as studies are.
    pub counted: (f64, f64),
    /// As how many sets drawn apart those count that it was predicted by.
    pub sets: f64,
}

/// Sets of values that the published counts leave, all of equal weight.
#[derive(Clone, Debug, PartialEq)]
pub struct Ensemble {
    /// Names of the constants that were weighed.
    pub constants: Vec<String>,
    /// Names of those among them that no study plays, so that nothing was learnt of them: each is drawn apart in every set.
    pub unplayed: Vec<String>,
    /// Ids of the published counts that they were weighed by.
    pub counts: Vec<String>,
    /// Shares of the weight of the counts that were let in, step by step; the last is 1.
    pub steps: Vec<f64>,
    /// Share of the last moves that were taken.
    pub taken: f64,
    /// The sets.
    pub members: Vec<Member>,
    /// Each count, predicted from the other studies.
    pub predicted: Vec<Predicted>,
    /// Basis id.
    pub basis: String,
}
