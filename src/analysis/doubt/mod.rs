//! How unsure an answer is: every set of values of the ensemble plays it.
//!
//! What differs between sets is doubt about the model; what differs between repeats is chance. With few repeats each,
//! chance widens what the sets come to, the less the better they are chosen (`play.rs`). Halves of the repeats are drawn
//! apart, so that what sets have in common in both is doubt alone: ranges are narrowed to that (`narrow.rs`).

mod narrow;
mod play;
mod stated;

use crate::model::Telling;

use super::{Progress, Target, Verdict};
pub use narrow::Ranged;
pub(super) use narrow::ranged;
use narrow::{Narrowed, Parabola, Scale, apart, apart_as_counts, leading, least_share, ranks, sides};
pub use play::{Got, Played, doubt_work, play_all, usual_doubt_repeats};
pub(super) use play::{once, way};
pub(super) use stated::Stated;
pub use stated::{Asking, Doing, sets_of};

/// A constant on which an answer hangs.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Hang {
    /// What it is.
    pub constant: String,
    /// The same for people: how much or how often what happens, without a full stop.
    pub words: String,
    /// Basis id, if it has one of its own.
    pub basis: Option<String>,
    /// Share of what the answer is unsure by that goes with it and with none named before it, 0 to 1: how much it adds to the
    /// square of the correlation of ranks, chance taken out.
    pub share: f64,
    /// True if more of it makes the answer greater, those named before it being as they are.
    pub raises: bool,
}

/// What all sets give for one target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Doubt {
    /// The target's word.
    pub target: &'static str,
    /// Share of people on whom enough to be seen gets there.
    pub seen: Ranged,
    /// Share of people on whom any gets there.
    pub any: Ranged,
    /// Mean count.
    pub mean: Option<Ranged>,
    /// The constants on which it hangs most, most first; at most five, and none that chance alone could have put there.
    pub hangs: Vec<Hang>,
}

/// How two ways compare over all sets at a target.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Versed {
    /// The target's word.
    pub target: &'static str,
    /// Share of people on whom enough to be seen gets there, by either way.
    pub seen: [Ranged; 2],
    /// Share of sets in which the first brings that to clearly fewer people, in which they are much the same, and in which
    /// the second does.
    pub shares: [f64; 3],
    /// The same for the mean count; none for what is no sum over organisms.
    pub amounts: Option<[f64; 3]>,
    /// By how much less would be left on average if the better way were known: what knowing all would be worth, as a mean
    /// count.
    pub worth: Option<f64>,
    /// The same for knowing one constant, most first; at most five, and none that chance alone could have put there.
    pub worths: Vec<Knowing>,
}

/// What knowing one constant would be worth.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Knowing {
    /// What it is.
    pub constant: String,
    /// The same for people.
    pub words: String,
    /// Basis id, if it has one of its own.
    pub basis: Option<String>,
    /// By how much less would be left on average, as a mean count.
    pub worth: f64,
}

/// What sets of values say of several ways.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Doubted {
    /// How many sets there are.
    pub sets: usize,
    /// Repeats of each.
    pub repeats: u64,
    /// For each way, one entry per target.
    pub ways: Vec<Vec<Doubt>>,
    /// For each pair of ways, first with second, first with third, and so on, one entry per target.
    pub pairs: Vec<Vec<Versed>>,
}

/// Plays several ways with every set of values and lays them beside each other; none where the content has no ensemble.
///
/// # Errors
/// A sentence: what is asked cannot be done, or it was stopped.
pub fn doubted(
    asked: &[Asking<'_>],
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Option<Doubted>, String> {
    if asked.iter().any(|asking| sets_of(asking.setup) == 0) {
        return Ok(None);
    }
    let played = play_all(asked, targets, repeats, seed, progress)?;
    let ways = asked.iter().zip(&played);
    let ways = ways.map(|(asking, played)| doubts(*asking, targets, played));
    let of_pair =
        |first: usize, second: usize| versed(asked[first], targets, &played[first], &played[second]);
    let pairs =
        (0..asked.len()).flat_map(|first| (first + 1..asked.len()).map(move |second| (first, second)));
    Ok(Some(Doubted {
        sets: asked.first().map_or(0, |asking| sets_of(asking.setup)),
        repeats,
        ways: ways.collect::<Result<_, _>>()?,
        pairs: pairs.map(|(a, b)| of_pair(a, b)).collect::<Result<_, _>>()?,
    }))
}

/// Which way most sets of values agree on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Agreed {
    /// The first is less.
    First,
    /// Much the same.
    Same,
    /// The second is less.
    Second,
    /// No side has enough of them.
    Neither,
}

impl Agreed {
    /// By shares of sets for each side: it takes most sets to say anything.
    pub fn by(telling: &Telling, shares: [f64; 3]) -> Agreed {
        let sides = [Agreed::First, Agreed::Same, Agreed::Second];
        let most = shares.iter().position(|&share| share >= telling.most);
        most.map_or(Agreed::Neither, |n| sides[n])
    }
}

impl Versed {
    /// What may be said of the two by most sets.
    pub fn verdict(&self, telling: &Telling) -> Verdict {
        let people = Agreed::by(telling, self.shares);
        let amounts = self
            .amounts
            .map_or(Agreed::Same, |shares| Agreed::by(telling, shares));
        match (people, amounts) {
            (Agreed::First, Agreed::Second) | (Agreed::Second, Agreed::First) => Verdict::Torn,
            (Agreed::First, _) => Verdict::FirstLess,
            (Agreed::Second, _) => Verdict::SecondLess,
            (Agreed::Same, _) => Verdict::Alike,
            (Agreed::Neither, _) => match self.shares.map(|share| share <= 1.0 - telling.nearly_all) {
                [false, _, true] => Verdict::FirstNoMore,
                [true, _, false] => Verdict::SecondNoMore,
                _ => Verdict::Unsure,
            },
        }
    }
}

/// How many constants an answer is said to hang on.
const NAMED: usize = 5;

/// What all sets give for each target, from what they played for one way.
///
/// # Errors
/// The content has no ensemble.
pub fn doubts(asking: Asking<'_>, targets: &[Target], played: &[Vec<Played>]) -> Result<Vec<Doubt>, String> {
    let scores = Stated::new(asking.setup)?.scores(asking.trainee);
    let least = least_share(scores.len(), played.len());
    let columns: Vec<&[f64]> = scores.iter().map(|scores| scores.ranks.as_slice()).collect();
    let of_target = |t: usize, target: &Target| {
        let narrowed = |of: &dyn Fn(&Played) -> [f64; 2]| {
            Narrowed::on(
                Scale::Share,
                &played.iter().map(|p| of(&p[t])).collect::<Vec<_>>(),
            )
        };
        let seen = narrowed(&|p| p.seen);
        let any = narrowed(&|p| p.any);
        let means: Option<Vec<[f64; 2]>> = played.iter().map(|p| p[t].mean).collect();
        let mean = means.map(|means| Narrowed::on(Scale::count(&means), &means));
        let answer = mean.as_ref().unwrap_or(&any);
        let ranked = ranks(&answer.values);
        let hangs = leading(&ranked, &columns, least, NAMED)
            .into_iter()
            .map(|found| {
                let scores = &scores[found.column];
                Hang {
                    constant: scores.constant.clone(),
                    words: scores.words.clone(),
                    basis: scores.basis.clone(),
                    share: (found.share / answer.sure.max(found.share)).min(1.0),
                    raises: found.raises,
                }
            })
            .collect();
        Doubt {
            target: target.word(),
            seen: ranged(&seen.values),
            any: ranged(&any.values),
            mean: mean.map(|mean| ranged(&mean.values)),
            hangs,
        }
    };
    let all = targets.iter().enumerate();
    Ok(all.map(|(t, target)| of_target(t, target)).collect())
}

/// How two ways compare at each target, set by set: `first` and `second` are what each set gave, and `asking` is the first.
///
/// # Errors
/// The content has no ensemble.
pub fn versed(
    asking: Asking<'_>,
    targets: &[Target],
    first: &[Vec<Played>],
    second: &[Vec<Played>],
) -> Result<Vec<Versed>, String> {
    let scores = Stated::new(asking.setup)?.scores(asking.trainee);
    let least = least_share(scores.len(), first.len());
    let columns: Vec<&[f64]> = scores.iter().map(|scores| scores.ranks.as_slice()).collect();
    let told = asking.setup.library.telling.as_ref();
    let of_target = |t: usize, target: &Target| {
        let halves = |of: &dyn Fn(&Played) -> [f64; 2]| {
            [first, second].map(|all| all.iter().map(|p| of(&p[t])).collect::<Vec<_>>())
        };
        let seen = halves(&|p| p.seen);
        let shares = sides(&apart(&seen[0], &seen[1]), |a, b| {
            a == b || told.is_some_and(|t| t.same_share(a, b))
        });
        let mut versed = Versed {
            target: target.word(),
            seen: seen
                .each_ref()
                .map(|halves| ranged(&Narrowed::on(Scale::Share, halves).values)),
            shares,
            amounts: None,
            worth: None,
            worths: Vec::new(),
        };
        if first.iter().chain(second).any(|p| p[t].mean.is_none()) {
            return versed;
        }
        let means = halves(&|p| p.mean.unwrap_or_default());
        let sets = apart_as_counts(&means[0], &means[1]);
        let same = |a: f64, b: f64| a == b || told.is_some_and(|t| t.same_amount(a, b));
        versed.amounts = Some(sides(&sets, same));
        let apart: Vec<f64> = sets.iter().map(|(a, b)| a - b).collect();
        let average = apart.iter().sum::<f64>() / apart.len() as f64;
        // What is left of adding up in another order is worth nothing.
        let knowing = |of: &dyn Fn(usize) -> f64| {
            let better = (0..apart.len()).map(|n| of(n).min(0.0)).sum::<f64>();
            let gain = average.min(0.0) - better / apart.len() as f64;
            if gain > 1e-9 * average.abs() { gain } else { 0.0 }
        };
        let all = knowing(&|n| apart[n]);
        versed.worth = Some(all);
        let ranked = ranks(&apart);
        let mut worths: Vec<Knowing> = leading(&ranked, &columns, least, NAMED)
            .into_iter()
            .map(|found| &scores[found.column])
            .map(|scores| {
                let fit = Parabola::through(&scores.values, &apart);
                Knowing {
                    constant: scores.constant.clone(),
                    words: scores.words.clone(),
                    basis: scores.basis.clone(),
                    // A parabola may bend further than what it was laid through: one is never worth more than all.
                    worth: knowing(&|n| fit.at(scores.values[n])).min(all),
                }
            })
            .filter(|worth| worth.worth > 0.0)
            .collect();
        worths.sort_by(|a, b| b.worth.total_cmp(&a.worth));
        versed.worths = worths;
        versed
    };
    let all = targets.iter().enumerate();
    Ok(all.map(|(t, target)| of_target(t, target)).collect())
}
