//! Two ways done by one sort of people, counted and laid beside each other.

use crate::analysis::{
    Asking, Comparison, Contender, Doubted, Progress, Side, Target, USUAL_REPEATS, USUAL_SEED, compare,
    doubted, usual_doubt_repeats,
};
use crate::model::Trainee;

/// What the odds are told of, what a class asks for first.
pub const TARGETS: [Target; 11] = [
    Target::AnySkin,
    Target::Hands,
    Target::Neck,
    Target::FaceSkin,
    Target::Mucosa,
    Target::Clothing,
    Target::HandsBeforeCleaning,
    Target::HandsPeak,
    Target::Others,
    Target::NextPatient,
    Target::TwoPlaces,
];

/// Both ways, done by one sort of people.
#[derive(Debug)]
pub(super) struct Crowd {
    pub trainee: Trainee,
    /// What they are called beside others.
    pub people: String,
    pub comparison: Comparison,
    /// What sets of values say of it; none where the content has none.
    pub doubted: Option<Doubted>,
}

impl Crowd {
    /// Both ways done by these people: with the stated values, and with all sets of values.
    ///
    /// # Errors
    /// A sentence: it cannot be counted.
    pub fn count(
        sides: &[Side],
        trainee: &Trainee,
        people: String,
        progress: &Progress,
    ) -> Result<Crowd, String> {
        let contenders: Vec<Contender<'_>> = sides.iter().map(|side| side.contender(trainee)).collect();
        let comparison = compare(&contenders, &TARGETS, USUAL_REPEATS, USUAL_SEED, progress)?;
        let asked: Vec<Asking<'_>> = sides.iter().map(|side| side.asking(trainee)).collect();
        let repeats = usual_doubt_repeats(USUAL_REPEATS);
        let doubted = doubted(&asked, &TARGETS, repeats, USUAL_SEED, progress)?;
        Ok(Crowd {
            trainee: trainee.clone(),
            people,
            comparison,
            doubted,
        })
    }
}
