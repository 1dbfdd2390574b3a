//! Who does it, and what is asked about: trainees and targets by their words.

use crate::analysis::Target;
use crate::model::{Library, Setup, Trainee};

use super::failure::Failure;
use super::find::unknown;

/// The trainee that was asked for, or else those who are shown beside each other.
pub(super) fn people<'a>(library: &'a Library, wanted: Option<&str>) -> Result<Vec<&'a Trainee>, Failure> {
    let Some(wanted) = wanted else {
        return Ok(library.people().map(|(trainee, _)| trainee).collect());
    };
    let trainee = library.trainee(wanted).ok_or_else(|| {
        Failure::Usage(unknown(
            "trainee",
            wanted,
            library.trainees.iter().map(|t| t.id.as_str()),
        ))
    })?;
    Ok(vec![trainee])
}

/// The target of a word.
pub(super) fn find_target(setup: &Setup, wanted: &str) -> Result<Target, Failure> {
    let found = Target::of_word(wanted).ok_or_else(|| {
        Failure::Usage(unknown(
            "target",
            wanted,
            Target::ALL.iter().map(|(word, _)| *word),
        ))
    })?;
    match Target::of_kit(setup).any(|target| target == found) {
        true => Ok(found),
        false => Err(Failure::Usage(format!(
            "the kit of `{}` has nothing to count as {} [{wanted}]\n   hint: ask about a scenario that has it, or about another target",
            setup.scenario.id,
            found.label()
        ))),
    }
}

/// The words people read for the word of a target.
pub(super) fn label(word: &str) -> &str {
    match Target::of_word(word) {
        Some(target) => target.label(),
        None => word,
    }
}
