//! Whether odds bear out what was said before they were shown. One rule for a class's guess and for hands in a lesson.

use crate::analysis::Verdict;
use crate::model::Says;

/// What odds say to an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Borne {
    /// They agree.
    Out,
    /// One side brings less or much the same, and both of these were said of it.
    InPart,
    /// One does so for fewer people, the other on average.
    Torn,
    /// They cannot tell.
    Untold,
    /// They say otherwise.
    Not,
}

impl Borne {
    /// In words, without a full stop.
    pub fn words(self) -> &'static str {
        match self {
            Borne::Out => "the odds agree",
            Borne::InPart => "the odds agree in part",
            Borne::Torn => "the odds are torn: one does so for fewer people, the other on average",
            Borne::Untold => "the odds cannot tell",
            Borne::Not => "the odds say otherwise",
        }
    }
}

/// Whether a verdict on two sides bears out what an answer says of them. Whoever said that nobody can tell is borne out where the
/// odds cannot.
pub fn borne(says: Says, verdict: Verdict) -> Borne {
    match (says, verdict) {
        (Says::First, Verdict::FirstLess)
        | (Says::Second, Verdict::SecondLess)
        | (Says::Same, Verdict::Alike | Verdict::Equal)
        | (Says::Open, Verdict::TooFew | Verdict::Unsure) => Borne::Out,
        (_, Verdict::Torn) => Borne::Torn,
        (_, Verdict::TooFew | Verdict::Unsure) => Borne::Untold,
        (Says::First | Says::Same, Verdict::FirstNoMore)
        | (Says::Second | Says::Same, Verdict::SecondNoMore) => Borne::InPart,
        _ => Borne::Not,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_verdict_says_something_to_every_answer() {
        use Borne::{InPart, Not, Out, Torn, Untold};
        for (verdict, to) in [
            (Verdict::FirstLess, [Out, Not, Not, Not]),
            (Verdict::SecondLess, [Not, Out, Not, Not]),
            (Verdict::Alike, [Not, Not, Out, Not]),
            (Verdict::Equal, [Not, Not, Out, Not]),
            (Verdict::Torn, [Torn; 4]),
            (Verdict::TooFew, [Untold, Untold, Untold, Out]),
            (Verdict::Unsure, [Untold, Untold, Untold, Out]),
            (Verdict::FirstNoMore, [InPart, Not, InPart, Not]),
            (Verdict::SecondNoMore, [Not, InPart, InPart, Not]),
        ] {
            let said = [Says::First, Says::Second, Says::Same, Says::Open].map(|says| borne(says, verdict));
            assert_eq!(said, to, "{verdict:?}");
        }
    }
}
