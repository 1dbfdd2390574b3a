//! How unsure an answer is: every set of values of the ensemble plays it.
//!
//! What differs between sets is doubt about the model; what differs between repeats is chance. With few repeats each,
//! chance widens what the sets come to. Halves of the repeats share no luck, so that what sets have in common in both is
//! doubt alone: ranges are narrowed to that.

use std::ops::Range;
use std::sync::Arc;

use crate::outside::threads::parallel::*;

use crate::chance::{Key, Luck};
use crate::drill::{Action, Beginning};
use crate::model::{Ensemble, Member, Setup, Telling};

use super::linear::expected_of;
use super::live::live_from;
use super::stats::{Interval, quantile};
use super::unknown::{Unsure, drawn_score};
use super::way::{Known, Prepared};
use super::{Coefficients, Counter, ExactLaw, Progress, Target, Verdict, Way};

/// What is done, and by whom.
#[derive(Clone, Copy, Debug)]
pub enum Doing<'a> {
    /// These actions.
    Script(&'a [Action]),
    /// The sequence with this id.
    Sequence(&'a str),
}

/// What is asked about.
#[derive(Clone, Copy, Debug)]
pub struct Asking<'a> {
    /// With the stated values.
    pub setup: &'a Setup,
    /// What is done.
    pub doing: Doing<'a>,
    /// Trainee id.
    pub trainee: &'a str,
}

/// What one set of values gives for one target: in each half of the repeats.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Played {
    /// Share of people on whom enough to be seen gets there.
    pub seen: [f64; 2],
    /// Share of people on whom any gets there.
    pub any: [f64; 2],
    /// Mean count; none for what is no sum over organisms.
    pub mean: Option<[f64; 2]>,
}

/// A number with its range over sets of values.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Ranged {
    /// Median.
    pub median: f64,
    /// 5 to 95 %.
    pub range: Interval,
}

/// A constant on which an answer hangs.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Hang {
    /// What it is.
    pub constant: String,
    /// The same for people: how much or how often what happens, without a full stop.
    pub words: String,
    /// Basis id, if it has one of its own.
    pub basis: Option<String>,
    /// Share of what the answer is unsure by that goes with it, 0 to 1: the square of the rank correlation, chance taken
    /// out.
    pub share: f64,
    /// True if more of it makes the answer greater.
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

/// How many sets of values there are.
pub fn sets_of(setup: &Setup) -> usize {
    setup.library.ensemble.as_ref().map_or(0, |e| e.members.len())
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

/// Repeats of every set of values beside so many of the stated ones, unless others are asked for: a few, since sets share
/// no luck and so are many repeats together.
pub fn usual_doubt_repeats(repeats: u64) -> u64 {
    (repeats / 500).clamp(10, 20)
}

/// Plays every way that is asked about with every set of values. Ways have the same luck in a set, and sets do not, so
/// that medians have the noise of all repeats together. The outer list is by way, then by set, then by target.
///
/// # Errors
/// A sentence: the content has no ensemble, or what is asked cannot be done.
pub fn play_all(
    asked: &[Asking<'_>],
    targets: &[Target],
    repeats: u64,
    seed: u64,
    progress: &Progress,
) -> Result<Vec<Vec<Vec<Played>>>, String> {
    let mut stated: Vec<Stated<'_>> = Vec::new();
    let mut of_asked = Vec::with_capacity(asked.len());
    for asking in asked {
        let known = stated.iter().position(|s| std::ptr::eq(s.setup, asking.setup));
        if known.is_none() {
            stated.push(Stated::new(asking.setup)?);
        }
        of_asked.push(known.unwrap_or(stated.len() - 1));
    }
    let sets = stated.first().map_or(0, |s| s.ensemble.members.len());
    let by_set: Result<Vec<Vec<Vec<Played>>>, String> = (0..sets)
        .into_par_iter()
        .map(|member| {
            if progress.stopped() {
                return Err("stopped".to_owned());
            }
            let setups = stated
                .iter()
                .map(|stated| stated.with(member))
                .collect::<Result<Vec<Setup>, String>>()?;
            let known: Vec<Known<'_>> = setups.iter().map(Known::new).collect();
            let first = member as u64 * repeats;
            asked
                .iter()
                .zip(&of_asked)
                .map(|(asking, &n)| {
                    let played = play(
                        asking,
                        &setups[n],
                        &known[n],
                        targets,
                        first..first + repeats,
                        seed,
                    );
                    progress.add(repeats);
                    played
                })
                .collect()
        })
        .collect();
    let by_set = by_set?;
    let of_way = |way: usize| by_set.iter().map(|set| set[way].clone()).collect();
    Ok((0..asked.len()).map(of_way).collect())
}

/// A setup with the stated values, and what is unsure of them.
pub(super) struct Stated<'a> {
    setup: &'a Setup,
    ensemble: &'a Ensemble,
    unsure: Unsure<'a>,
    columns: Vec<Option<usize>>,
}

impl<'a> Stated<'a> {
    pub fn new(setup: &'a Setup) -> Result<Stated<'a>, String> {
        let ensemble = ensemble(setup)?;
        let unsure = Unsure::new(&setup.library, &setup.scenario, setup.organism.class);
        Ok(Stated {
            setup,
            ensemble,
            columns: unsure.columns(ensemble),
            unsure,
        })
    }

    /// The setup with the values of a set.
    pub fn with(&self, member: usize) -> Result<Setup, String> {
        let (library, scenario) = self.unsure.of_member(self.ensemble, &self.columns, member);
        Setup::new(Arc::new(library), &scenario).map_err(|e| e.to_string())
    }

    /// Standard scores of every constant that can matter to a trainee, set by set.
    fn scores(&self, trainee: &str) -> Vec<Scores> {
        self.unsure
            .all
            .iter()
            .zip(&self.columns)
            .filter(|(unknown, _)| unknown.acts(&self.setup.scenario.id, trainee))
            .map(|(unknown, column)| {
                let of = |m: &Member| match column {
                    Some(n) => m.scores[*n],
                    None => drawn_score(m.number, &unknown.name),
                };
                let values: Vec<f64> = self.ensemble.members.iter().map(of).collect();
                Scores {
                    constant: unknown.name.clone(),
                    words: unknown.words.clone(),
                    basis: unknown.basis.clone(),
                    ranks: ranks(&values),
                    values,
                }
            })
            .collect()
    }
}

/// The standard scores of a constant, set by set.
struct Scores {
    constant: String,
    words: String,
    basis: Option<String>,
    values: Vec<f64>,
    ranks: Vec<f64>,
}

fn ensemble(setup: &Setup) -> Result<&Ensemble, String> {
    setup.library.ensemble.as_ref().ok_or_else(|| {
        "this content has no ensemble; `smirch calibrate --out ensemble.ron` makes one".to_owned()
    })
}

fn play(
    asking: &Asking<'_>,
    setup: &Setup,
    known: &Known<'_>,
    targets: &[Target],
    repeats: Range<u64>,
    seed: u64,
) -> Result<Vec<Played>, String> {
    let library = &setup.library;
    let missing = |what: &str, id: &str| format!("there is no {what} `{id}`");
    let trainee = library
        .trainee(asking.trainee)
        .ok_or_else(|| missing("trainee", asking.trainee))?;
    let way = match asking.doing {
        Doing::Script(actions) if trainee.is_flawless() => Way::Script(actions),
        Doing::Script(actions) => Way::Lapsed(actions, trainee),
        Doing::Sequence(id) => {
            let sequence = library.sequence(id).ok_or_else(|| missing("sequence", id))?;
            Way::Rehearsed(sequence, trainee)
        }
    };
    let mut sums = vec![Played::default(); targets.len()];
    let count = repeats.end - repeats.start;
    let of = [count.div_ceil(2) as f64, (count / 2).max(1) as f64];
    for (at, n) in repeats.enumerate() {
        let half = at % 2;
        let luck = Luck::new(Key(seed).within(n).0);
        for (sum, once) in sums.iter_mut().zip(once(setup, &way, targets, luck, known)?) {
            sum.seen[half] += once.seen / of[half];
            sum.any[half] += once.any / of[half];
            if let Some(mean) = once.mean {
                sum.mean.get_or_insert_default()[half] += mean / of[half];
            }
        }
    }
    Ok(sums)
}

/// What one repeat gives for a target: chances, or 0 or 1 where it was counted.
pub(super) struct Once {
    /// That enough to be seen gets there.
    pub seen: f64,
    /// That any gets there.
    pub any: f64,
    /// Mean count, if it is a sum.
    pub mean: Option<f64>,
}

/// One repeat of a way with this luck. Where one organism is enough to be seen the exact law says all there is to know with
/// less noise; elsewhere it is counted.
pub(super) fn once(
    setup: &Setup,
    way: &Way<'_>,
    targets: &[Target],
    luck: Luck,
    known: &Known<'_>,
) -> Result<Vec<Once>, String> {
    let beginning = Beginning::draw(setup, luck);
    let prepared = way.prepare(&beginning.state.faults, targets, luck, known)?;
    let Prepared { plan, aims, .. } = &*prepared;
    let live = live_from(plan, &beginning);
    let start: Vec<f64> = beginning.books.totals().iter().map(|&n| n as f64).collect();
    let means = expected_of(&live, plan.varies(), &start, aims, Coefficients::Mean);
    let seen_from = setup.organism.seen_from;
    let reached: Vec<(f64, f64)> = if seen_from <= 1 {
        let laws = ExactLaw::of(&live, &beginning, aims).reached(luck);
        laws.into_iter().map(|law| (law, law)).collect()
    } else {
        let found = Counter::of(&live, &beginning, aims, seen_from).count(luck);
        let counted = found.iter();
        counted
            .map(|found| (f64::from(found.seen), f64::from(found.count > 0)))
            .collect()
    };
    let all = reached.into_iter().zip(means);
    Ok(all.map(|((seen, any), mean)| Once { seen, any, mean }).collect())
}

fn both(halves: [f64; 2]) -> f64 {
    0.5 * (halves[0] + halves[1])
}

/// Values of all sets in both halves of their repeats, drawn together by as much of their spread as is chance.
struct Narrowed {
    /// One for each set.
    values: Vec<f64>,
    /// Share of the spread of their means that is no chance, 0 to 1.
    sure: f64,
}

impl Narrowed {
    fn of(halves: &[[f64; 2]]) -> Narrowed {
        let n = halves.len() as f64;
        let mean = |half: usize| halves.iter().map(|h| h[half]).sum::<f64>() / n;
        let means = [mean(0), mean(1)];
        let common: f64 = halves.iter().map(|h| (h[0] - means[0]) * (h[1] - means[1])).sum();
        let middle = both(means);
        let spread: f64 = halves.iter().map(|h| (both(*h) - middle).powi(2)).sum();
        let sure = if spread > 0.0 {
            (common / spread).clamp(0.0, 1.0)
        } else {
            1.0
        };
        let drawn = |h: &[f64; 2]| middle + sure.sqrt() * (both(*h) - middle);
        Narrowed {
            values: halves.iter().map(drawn).collect(),
            sure,
        }
    }

    /// The same for what cannot be less than nothing and is mostly near it: values are drawn together on a scale on which
    /// chance is much the same everywhere, and then moved along it until their mean is what it was.
    fn on(scale: Scale, halves: &[[f64; 2]]) -> Narrowed {
        let stretched = |h: &[f64; 2]| [scale.stretch(h[0]), scale.stretch(h[1])];
        let sure = Narrowed::of(&halves.iter().map(stretched).collect::<Vec<_>>()).sure;
        let wanted = halves.iter().map(|h| both(*h)).sum::<f64>();
        let on_scale: Vec<f64> = halves.iter().map(|h| scale.stretch(both(*h))).collect();
        let middle = on_scale.iter().sum::<f64>() / on_scale.len().max(1) as f64;
        let drawn = |by: f64| -> Vec<f64> {
            let each = on_scale.iter();
            each.map(|x| scale.back(middle + sure.sqrt() * (x - middle) + by))
                .collect()
        };
        // The sum grows with the shift, so that halving finds it.
        let most = scale.stretch(halves.iter().flatten().copied().fold(0.0, f64::max));
        let (mut low, mut high) = (-most, most);
        for _ in 0..60 {
            let by = 0.5 * (low + high);
            match drawn(by).iter().sum::<f64>() < wanted {
                true => low = by,
                false => high = by,
            }
        }
        Narrowed {
            values: drawn(0.5 * (low + high)),
            sure,
        }
    }
}

/// A scale on which chance is much the same everywhere.
#[derive(Clone, Copy)]
enum Scale {
    /// For shares: arcsine of the root.
    Share,
    /// For mean counts: the root.
    Count,
}

impl Scale {
    fn stretch(self, x: f64) -> f64 {
        match self {
            Scale::Share => libm::asin(x.clamp(0.0, 1.0).sqrt()),
            Scale::Count => x.max(0.0).sqrt(),
        }
    }

    fn back(self, x: f64) -> f64 {
        match self {
            Scale::Share => libm::sin(x.clamp(0.0, core::f64::consts::FRAC_PI_2)).powi(2),
            Scale::Count => x.max(0.0).powi(2),
        }
    }
}

/// Median and middle nine tenths.
pub(super) fn ranged(values: &[f64]) -> Ranged {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    Ranged {
        median: quantile(&values, 0.5),
        range: Interval {
            low: quantile(&values, 0.05),
            high: quantile(&values, 0.95),
        },
    }
}

/// Ranks of values, equal ones sharing theirs.
fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let mut first = 0;
    for group in order.chunk_by(|&a, &b| values[a] == values[b]) {
        let middle = first as f64 + 0.5 * (group.len() - 1) as f64;
        group.iter().for_each(|&n| ranks[n] = middle);
        first += group.len();
    }
    ranks
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len() as f64;
    let (mean_a, mean_b) = (a.iter().sum::<f64>() / n, b.iter().sum::<f64>() / n);
    let sum = |f: &dyn Fn(usize) -> f64| (0..a.len()).map(f).sum::<f64>();
    let both = sum(&|n| (a[n] - mean_a) * (b[n] - mean_b));
    let (one, two) = (
        sum(&|n| (a[n] - mean_a).powi(2)),
        sum(&|n| (b[n] - mean_b).powi(2)),
    );
    if one > 0.0 && two > 0.0 {
        both / (one * two).sqrt()
    } else {
        0.0
    }
}

/// How many constants an answer is said to hang on.
const NAMED: usize = 5;

/// The least share of an answer's spread that is no chance: among so many constants that have nothing to do with it, one
/// comes above this about once in ten times (a normal law's tail for the correlation of ranks).
fn least_share(constants: usize, sets: usize) -> f64 {
    let tail = 0.1 / constants.max(1) as f64;
    // An upper bound of the square of the quantile (Chernoff), which is all that is needed of it.
    (-2.0 * libm::log(tail / 2.0)) / sets.max(1) as f64
}

/// What all sets give for each target, from what they played for one way.
///
/// # Errors
/// The content has no ensemble.
pub fn doubts(asking: Asking<'_>, targets: &[Target], played: &[Vec<Played>]) -> Result<Vec<Doubt>, String> {
    let scores = Stated::new(asking.setup)?.scores(asking.trainee);
    let least = least_share(scores.len(), played.len());
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
        let mean = means.map(|means| Narrowed::on(Scale::Count, &means));
        let answer = mean.as_ref().unwrap_or(&any);
        let ranked = ranks(&answer.values);
        let mut hangs: Vec<Hang> = scores
            .iter()
            .filter_map(|scores| {
                let goes = correlation(&ranked, &scores.ranks);
                let share = goes * goes;
                (share > least).then(|| Hang {
                    constant: scores.constant.clone(),
                    words: scores.words.clone(),
                    basis: scores.basis.clone(),
                    share: (share / answer.sure.max(share)).min(1.0),
                    raises: goes > 0.0,
                })
            })
            .collect();
        hangs.sort_by(|a, b| b.share.total_cmp(&a.share));
        hangs.truncate(NAMED);
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

/// What two ways come to in every set: how high both are and by how much they differ are each drawn together by what is
/// chance.
fn apart(first: &[[f64; 2]], second: &[[f64; 2]]) -> Vec<(f64, f64)> {
    let combined = |of: fn(f64, f64) -> f64| -> Vec<f64> {
        let halves = first
            .iter()
            .zip(second)
            .map(|(a, b)| [of(a[0], b[0]), of(a[1], b[1])]);
        Narrowed::of(&halves.collect::<Vec<_>>()).values
    };
    let (middles, differences) = (combined(|a, b| 0.5 * (a + b)), combined(|a, b| a - b));
    let each = middles.iter().zip(&differences);
    each.map(|(middle, by)| {
        let low = (middle - 0.5 * by.abs()).max(0.0);
        let high = low + by.abs();
        if *by < 0.0 { (low, high) } else { (high, low) }
    })
    .collect()
}

/// Shares of sets in which the first is less, in which both are the same, and in which the second is less.
fn sides(sets: &[(f64, f64)], same: impl Fn(f64, f64) -> bool) -> [f64; 3] {
    let mut counts = [0_u32; 3];
    for &(a, b) in sets {
        let side = match same(a, b) {
            true => 1,
            false if a < b => 0,
            false => 2,
        };
        counts[side] += 1;
    }
    counts.map(|count| f64::from(count) / sets.len().max(1) as f64)
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
        let sets = apart(&means[0], &means[1]);
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
        versed.worth = Some(knowing(&|n| apart[n]));
        let ranked = ranks(&apart);
        let mut worths: Vec<Knowing> = scores
            .iter()
            .filter(|scores| correlation(&ranked, &scores.ranks).powi(2) > least)
            .map(|scores| {
                let fit = Parabola::through(&scores.values, &apart);
                Knowing {
                    constant: scores.constant.clone(),
                    words: scores.words.clone(),
                    basis: scores.basis.clone(),
                    worth: knowing(&|n| fit.at(scores.values[n])),
                }
            })
            .filter(|worth| worth.worth > 0.0)
            .collect();
        worths.sort_by(|a, b| b.worth.total_cmp(&a.worth));
        worths.truncate(NAMED);
        versed.worths = worths;
        versed
    };
    let all = targets.iter().enumerate();
    Ok(all.map(|(t, target)| of_target(t, target)).collect())
}

/// The parabola that lies nearest to points: what is to be expected of a difference where one constant is known (Strong,
/// Oakley and Brennan 2014 regress so, with smoother curves).
struct Parabola([f64; 3]);

impl Parabola {
    fn through(x: &[f64], y: &[f64]) -> Parabola {
        // Normal equations, by elimination.
        let mut rows = [[0.0; 4]; 3];
        for (x, y) in x.iter().zip(y) {
            let powers = [1.0, *x, x * x];
            for (row, a) in rows.iter_mut().zip(powers) {
                for (cell, b) in row.iter_mut().zip(powers) {
                    *cell += a * b;
                }
                row[3] += a * y;
            }
        }
        for n in 0..3 {
            let pivot = rows[n][n];
            if pivot.abs() < 1e-12 {
                continue;
            }
            let of = rows[n];
            for (m, row) in rows.iter_mut().enumerate() {
                if m != n {
                    let factor = row[n] / pivot;
                    row.iter_mut().zip(of).for_each(|(cell, of)| *cell -= factor * of);
                }
            }
        }
        let at = |n: usize| {
            if rows[n][n].abs() < 1e-12 {
                0.0
            } else {
                rows[n][3] / rows[n][n]
            }
        };
        Parabola([at(0), at(1), at(2)])
    }

    fn at(&self, x: f64) -> f64 {
        let [a, b, c] = self.0;
        a + x * (b + x * c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Purpose, normal};

    fn drawn(name: &str, n: u64) -> f64 {
        normal(&mut Luck::new(n).stream(Key::of(name), Purpose::Doubt), 0.0, 1.0)
    }

    /// Sets that differ by 1, seen through chance of 2 in each half and through luck that all share: the range is that of
    /// the sets.
    #[test]
    fn ranges_are_of_sets_and_not_of_chance() {
        let halves: Vec<[f64; 2]> = (0..4000)
            .map(|n| {
                let own = drawn("own", n);
                [
                    own + 2.0 * drawn("one", n) + 5.0,
                    own + 2.0 * drawn("two", n) + 6.0,
                ]
            })
            .collect();
        let narrowed = Narrowed::of(&halves);
        let Ranged { median, range } = ranged(&narrowed.values);
        assert!((median - 5.5).abs() < 0.15, "{median}");
        // Nine tenths of a normal law of spread 1 are 3.29 wide.
        assert!((range.high - range.low - 3.29).abs() < 0.35, "{range:?}");
    }

    /// Of sets of which most have a share of nearly nothing and few a large one, with as much chance as twenty people bring:
    /// those with nearly nothing are not drawn up to the mean, and the mean stays.
    #[test]
    fn rare_things_stay_rare_in_most_sets() {
        let share = |n: u64| if n.is_multiple_of(10) { 0.4 } else { 0.001 };
        let counted = |name: &str, n: u64| {
            let mut stream = Luck::new(n).stream(Key::of(name), Purpose::Doubt);
            (0..10)
                .filter(|_| crate::chance::uniform(&mut stream) < share(n))
                .count() as f64
                / 10.0
        };
        let halves: Vec<[f64; 2]> = (0..2000)
            .map(|n| [counted("one", n), counted("two", n)])
            .collect();
        let narrowed = Narrowed::on(Scale::Share, &halves);
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let before = mean(&halves.iter().map(|h| both(*h)).collect::<Vec<_>>());
        assert!((mean(&narrowed.values) - before).abs() < 1e-6);
        let Ranged { median, range } = ranged(&narrowed.values);
        assert!(median < 0.005 && range.low < 0.005, "{median}, {range:?}");
        assert!((0.3..0.5).contains(&range.high), "{range:?}");
        // Where all sets have the same share, all of what they differ by is chance.
        let same: Vec<[f64; 2]> = (0..2000)
            .map(|n| [counted("one", 10 * n), counted("two", 10 * n)])
            .collect();
        let Ranged { median, range } = ranged(&Narrowed::on(Scale::Share, &same).values);
        assert!(
            (median - 0.4).abs() < 0.02 && range.high - range.low < 0.12,
            "{median}, {range:?}"
        );
    }

    #[test]
    fn a_parabola_goes_through_what_lies_on_one() {
        let x: Vec<f64> = (-5..=5).map(f64::from).collect();
        let y: Vec<f64> = x.iter().map(|x| 2.0 - 3.0 * x + 0.5 * x * x).collect();
        let fit = Parabola::through(&x, &y);
        for (x, y) in x.iter().zip(&y) {
            assert!((fit.at(*x) - y).abs() < 1e-9, "at {x}");
        }
    }

    #[test]
    fn equal_values_share_their_rank() {
        assert_eq!(ranks(&[3.0, 1.0, 3.0, 0.0]), [2.5, 1.0, 2.5, 0.0]);
        let (a, b): (Vec<f64>, Vec<f64>) = (0..50).map(|n| (f64::from(n), f64::from(n * n))).unzip();
        assert!((correlation(&ranks(&a), &ranks(&b)) - 1.0).abs() < 1e-12);
    }
}
