//! How unsure an answer is: every set of values of the ensemble plays it.
//!
//! What differs between sets is doubt about the model; what differs between repeats is chance. With few repeats each,
//! chance widens what the sets come to, the less the better they are chosen (`play.rs`). Halves of the repeats are drawn
//! apart, so that what sets have in common in both is doubt alone: ranges are narrowed to that (`narrow.rs`).

mod alone;
mod gain;
mod narrow;
mod play;
mod stated;

use crate::model::Telling;

use super::{Progress, Target, Verdict};
pub use alone::{Alone, TURNED_STARTS, alone, alone_work};
pub use gain::Gain;
use gain::{knowing_all, knowing_one};
pub use narrow::Ranged;
pub(super) use narrow::ranged;
use narrow::{
    Leading, Narrowed, Scale, apart, apart_as_counts, leading, least_share, parts_in_wholes, ranks, sides,
};
pub use play::{Got, Played, doubt_work, play_all, usual_doubt_repeats};
pub(super) use play::{once, way};
use stated::Scores;
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

/// Which number of an answer something is said of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Number {
    /// The share of people on whom enough to be seen gets there.
    People,
    /// The mean count.
    Amount,
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
    /// Which number hangs on them: the share of people, or the mean count where versions hardly differ in that share or chance
    /// alone could make as much of it.
    pub hangs_of: Number,
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
    /// On how many fewer people enough to be seen would get there, as a share of all, for whoever knew every constant and took
    /// the better way.
    pub worth: Gain,
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
    /// On how many fewer people enough to be seen would get there, as a share of all.
    pub worth: Gain,
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

/// Targets that are asked about, with those after them that any of them is part of: a part is told beside its whole whether
/// the whole is asked about or not.
fn with_wholes(targets: &[Target]) -> Vec<Target> {
    let mut wider = targets.to_vec();
    for whole in targets.iter().filter_map(|target| target.whole()) {
        if !wider.contains(&whole) {
            wider.push(whole);
        }
    }
    wider
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
    let wider = with_wholes(targets);
    let played = play_all(asked, &wider, repeats, seed, progress)?;
    let ways = asked.iter().zip(&played);
    let ways = ways.map(|(asking, played)| {
        let mut doubts = doubts(*asking, &wider, played)?;
        doubts.truncate(targets.len());
        Ok(doubts)
    });
    let of_pair = |first: usize, second: usize| {
        let mut versed = versed(asked[first], &wider, &played[first], &played[second])?;
        versed.truncate(targets.len());
        Ok(versed)
    };
    let pairs =
        (0..asked.len()).flat_map(|first| (first + 1..asked.len()).map(move |second| (first, second)));
    Ok(Some(Doubted {
        sets: asked.first().map_or(0, |asking| sets_of(asking.setup)),
        repeats,
        ways: ways.collect::<Result<_, String>>()?,
        pairs: pairs.map(|(a, b)| of_pair(a, b)).collect::<Result<_, String>>()?,
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

/// For each constant, the least share of an answer's spread that is no chance.
fn least_shares(scores: &[Scores]) -> Vec<f64> {
    scores
        .iter()
        .map(|one| least_share(scores.len(), one.apart))
        .collect()
}

/// How many constants an answer is said to hang on.
const NAMED: usize = 5;

/// Versions that lie no further apart than this in a share of people, from 5 to 95 %, hardly differ in it: less than one of
/// 100 people.
const HARDLY: f64 = 0.01;

/// What all sets give for each target, from what they played for one way.
///
/// # Errors
/// The content has no ensemble.
pub fn doubts(asking: Asking<'_>, targets: &[Target], played: &[Vec<Played>]) -> Result<Vec<Doubt>, String> {
    let scores = Stated::new(asking.setup)?.scores(asking.trainee);
    let least = least_shares(&scores);
    let columns: Vec<&[f64]> = scores.iter().map(|scores| scores.ranks.as_slice()).collect();
    let shares = |of: fn(&Played) -> [f64; 2]| shares_of(targets, played, of);
    let (seen, any) = (shares(|p| p.seen), shares(|p| p.any));
    let mean_of = |t: usize| {
        let means: Option<Vec<[f64; 2]>> = played.iter().map(|p| p[t].mean).collect();
        means.map(|means| Narrowed::on(Scale::count(&means), &means))
    };
    let of_target = |t: usize, target: &Target| {
        let (seen, any) = (&seen[t], &any[t]);
        let mut mean = mean_of(t);
        let whole = target
            .whole()
            .and_then(|whole| targets.iter().position(|t| *t == whole));
        if let (Some(mean), Some(whole)) = (&mut mean, whole.and_then(mean_of)) {
            mean.no_more_than(&whole);
        }
        let led_by = |answer: &Narrowed| -> Vec<Hang> {
            let found = leading(&ranks(&answer.values), &columns, &least, NAMED);
            let hang = |found: Leading| {
                let scores = &scores[found.column];
                Hang {
                    constant: scores.constant.clone(),
                    words: scores.words.clone(),
                    basis: scores.basis.clone(),
                    share: (found.share / answer.sure.max(found.share)).min(1.0),
                    raises: found.raises,
                }
            };
            found.into_iter().map(hang).collect()
        };
        let spread = ranged(&seen.values).range;
        let people = match spread.high - spread.low < HARDLY {
            true => Vec::new(),
            false => led_by(seen),
        };
        let (hangs_of, hangs) = match &mean {
            Some(mean) if people.is_empty() => (Number::Amount, led_by(mean)),
            _ => (Number::People, people),
        };
        Doubt {
            target: target.word(),
            seen: ranged(&seen.values),
            any: ranged(&any.values),
            mean: mean.map(|mean| ranged(&mean.values)),
            hangs_of,
            hangs,
        }
    };
    let all = targets.iter().enumerate();
    Ok(all.map(|(t, target)| of_target(t, target)).collect())
}

/// Shares of people of all sets at all targets, drawn together by what is chance, no part above its whole.
fn shares_of(targets: &[Target], played: &[Vec<Played>], of: fn(&Played) -> [f64; 2]) -> Vec<Narrowed> {
    let at = |t: usize| played.iter().map(|p| of(&p[t])).collect::<Vec<_>>();
    let all = (0..targets.len()).map(|t| Narrowed::on(Scale::Share, &at(t)));
    let mut all: Vec<Narrowed> = all.collect();
    parts_in_wholes(targets, &mut all);
    all
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
    let least = least_shares(&scores);
    let columns: Vec<&[f64]> = scores.iter().map(|scores| scores.ranks.as_slice()).collect();
    let told = asking.setup.library.telling.as_ref();
    let narrowed = [first, second].map(|played| shares_of(targets, played, |p| p.seen));
    let of_target = |t: usize, target: &Target| {
        let halves = |of: &dyn Fn(&Played) -> [f64; 2]| {
            [first, second].map(|all| all.iter().map(|p| of(&p[t])).collect::<Vec<_>>())
        };
        let seen = halves(&|p| p.seen);
        let shares = sides(&apart(&seen[0], &seen[1]), |a, b| {
            a == b || told.is_some_and(|t| t.same_share(a, b))
        });
        let both = seen[0].iter().zip(&seen[1]);
        let apart: Vec<[f64; 2]> = both.map(|(a, b)| [a[0] - b[0], a[1] - b[1]]).collect();
        let (worth, worths) = worth_of(&apart, &scores, &columns, &least);
        let mut versed = Versed {
            target: target.word(),
            seen: narrowed.each_ref().map(|all| ranged(&all[t].values)),
            shares,
            amounts: None,
            worth,
            worths,
        };
        if first.iter().chain(second).all(|p| p[t].mean.is_some()) {
            let means = halves(&|p| p.mean.unwrap_or_default());
            let same = |a: f64, b: f64| a == b || told.is_some_and(|t| t.same_amount(a, b));
            versed.amounts = Some(sides(&apart_as_counts(&means[0], &means[1]), same));
        }
        versed
    };
    let all = targets.iter().enumerate();
    Ok(all.map(|(t, target)| of_target(t, target)).collect())
}

/// What it is worth to know everything, and to know one constant, for whoever takes the way that brings it to fewer people:
/// `apart` is by how much the first way does so in each set, in both halves of its repeats.
fn worth_of(
    apart: &[[f64; 2]],
    scores: &[Scores],
    columns: &[&[f64]],
    least: &[f64],
) -> (Gain, Vec<Knowing>) {
    let middles: Vec<f64> = apart.iter().map(|[a, b]| 0.5 * (a + b)).collect();
    let all = knowing_all(apart);
    let worth = |column: usize| {
        let scores = &scores[column];
        let worth = knowing_one(&scores.values, &middles);
        Knowing {
            constant: scores.constant.clone(),
            words: scores.words.clone(),
            basis: scores.basis.clone(),
            worth,
        }
    };
    let found = leading(&ranks(&middles), columns, least, NAMED);
    let mut worths: Vec<Knowing> = found.iter().map(|found| worth(found.column)).collect();
    worths.retain(|one| one.worth.is_more_than_chance());
    worths.sort_by(|a, b| b.worth.fewer.total_cmp(&a.worth.fewer));
    (all, worths)
}
