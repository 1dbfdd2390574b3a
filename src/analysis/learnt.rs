//! What an ensemble shows: how the counts are met, how each study is predicted from the others, and of which constants the
//! counts say anything.

use std::collections::BTreeMap;

use crate::model::{Ensemble, Library, Member, Predicted, StudyCount};

use super::stats::{Interval, quantile};

/// How a published count is met.
#[derive(Clone, Debug, PartialEq)]
pub struct Met<'a> {
    /// The count.
    pub count: &'a StudyCount,
    /// Median and 5 to 95 % over members.
    pub all: (f64, Interval),
    /// The same from the other studies alone, if that was worked out.
    pub without: Option<&'a Predicted>,
}

/// What the counts say of a constant.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt<'a> {
    /// Its name.
    pub constant: &'a str,
    /// Median and 5 to 95 % of its standard score over members; 0 and -1.645 to 1.645 if nothing was learnt.
    pub score: (f64, Interval),
    /// Spread of the scores; 1 if nothing was learnt.
    pub spread: f64,
}

/// The sets with the scores of those constants alone that studies play; `unplayed` says which they do not. What no study plays
/// is drawn apart in every set and would make them look farther apart than what the counts bear on is.
pub fn only_played(members: &[Member], unplayed: &[bool]) -> Vec<Member> {
    let kept = |member: &Member| {
        let scores = member.scores.iter().zip(unplayed);
        Member {
            scores: scores
                .filter(|(_, unplayed)| !**unplayed)
                .map(|(&score, _)| score)
                .collect(),
            ..member.clone()
        }
    };
    members.iter().map(kept).collect()
}

/// The sets of an ensemble with the scores of those constants alone that studies play, and the names of these.
pub fn played(ensemble: &Ensemble) -> (Vec<Member>, Vec<&str>) {
    let unplayed: Vec<bool> = ensemble
        .constants
        .iter()
        .map(|name| ensemble.unplayed.contains(name))
        .collect();
    let names = ensemble.constants.iter().zip(&unplayed);
    let names = names
        .filter(|(_, unplayed)| !**unplayed)
        .map(|(name, _)| name.as_str());
    (only_played(&ensemble.members, &unplayed), names.collect())
}

/// The constant of whose values there are the fewest apart, by how alike those of one line are, with as how many sets drawn
/// apart they count in it alone: its place among the scores. None where there are no lines to compare.
pub fn least_apart(members: &[Member]) -> Option<(usize, f64)> {
    let constants = members.first().map_or(0, |m| m.scores.len());
    let all = (0..constants).filter_map(|n| Some((n, apart_in(members, n)?)));
    all.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// As how many sets drawn apart these count in one constant, by how alike those of one line are in it, and no more than there
/// are. None where there are no lines to compare.
pub fn apart_in(members: &[Member], constant: usize) -> Option<f64> {
    let of = |m: &Member| (m.line, vec![m.scores[constant]]);
    lined(members.iter().map(of).collect())
}

/// As how many sets drawn apart from each other these count: by how their constants go together, by how alike those of one line
/// are, and by what is each contact's own; the least of the three.
pub fn effectively(members: &[Member]) -> f64 {
    let all = [apart_as(members), lined_as(members), Some(numbered_as(members))];
    all.into_iter().flatten().fold(members.len() as f64, f64::min)
}

/// Scores, one list for each constant.
fn columns(members: &[Member]) -> Vec<Vec<f64>> {
    let constants = members.first().map_or(0, |m| m.scores.len());
    (0..constants)
        .map(|n| members.iter().map(|m| m.scores[n]).collect())
        .collect()
}

/// As how many sets drawn apart from each other these count by how their constants go together: one over the mean square of
/// how two constants do, over all pairs of them. Scores drawn apart go together by chance alone, by one over their
/// number; copies and cousins make it more, and so does what the counts truly tie together. It does not see that all sets lie to
/// one side. None for fewer than two constants or sets.
pub fn apart_as(members: &[Member]) -> Option<f64> {
    let columns: Vec<Vec<f64>> = columns(members)
        .into_iter()
        .map(|scores| {
            let mean = scores.iter().sum::<f64>() / scores.len() as f64;
            let length = scores.iter().map(|s| (s - mean).powi(2)).sum::<f64>().sqrt();
            scores.iter().map(|s| (s - mean) / length.max(1e-12)).collect()
        })
        .collect();
    let (mut sum, mut pairs) = (0.0, 0.0);
    for (n, one) in columns.iter().enumerate() {
        for other in &columns[..n] {
            let together: f64 = one.iter().zip(other).map(|(a, b)| a * b).sum();
            sum += together * together;
            pairs += 1.0;
        }
    }
    (pairs > 0.0 && sum > 0.0 && members.len() > 1).then(|| pairs / sum)
}

/// As how many sets drawn apart these count by how alike those of one line are, which were copies of one once: their number
/// over Kish's design effect (1965), with the correlation within lines from the analysis of variance (Fisher 1925), over all constants
/// together. None where there are not two lines, or each has one set only.
pub fn lined_as(members: &[Member]) -> Option<f64> {
    lined(members.iter().map(|m| (m.line, m.scores.clone())).collect())
}

/// The same of lines and scores alone.
fn lined(members: Vec<(u64, Vec<f64>)>) -> Option<f64> {
    let mut lines: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
    for (n, (line, _)) in members.iter().enumerate() {
        lines.entry(*line).or_default().push(n);
    }
    let (all, groups) = (members.len() as f64, lines.len() as f64);
    if groups < 2.0 || groups >= all {
        return None;
    }
    let squares: f64 = lines.values().map(|line| (line.len() as f64).powi(2)).sum();
    // The size of lines as an analysis of variance has it, and as a set finds its own.
    let (size, own) = ((all - squares / all) / (groups - 1.0), squares / all);
    let (mut between, mut within) = (0.0, 0.0);
    let constants = members.first().map_or(0, |(_, scores)| scores.len());
    for n in 0..constants {
        let scores: Vec<f64> = members.iter().map(|(_, scores)| scores[n]).collect();
        let whole = scores.iter().sum::<f64>() / all;
        for line in lines.values() {
            let mean = line.iter().map(|&n| scores[n]).sum::<f64>() / line.len() as f64;
            between += line.len() as f64 * (mean - whole).powi(2) / (groups - 1.0);
            within += line.iter().map(|&n| (scores[n] - mean).powi(2)).sum::<f64>() / (all - groups);
        }
    }
    let alike = (between - within) / (between + (size - 1.0) * within).max(f64::MIN_POSITIVE);
    Some(all / (1.0 + (own - 1.0) * alike.max(0.0)))
}

/// As how many sets drawn apart these count by the numbers that decide about all that was not weighed: copies
/// share them (Kish 1965: the square of a sum over the sum of squares, averaged over parts).
pub fn numbered_as(members: &[Member]) -> f64 {
    let parts = members.first().map_or(0, |m| m.numbers.len());
    let all = members.len() as f64;
    let of_part = |n: usize| {
        let mut times: BTreeMap<u64, f64> = BTreeMap::new();
        for member in members {
            *times
                .entry(member.numbers.get(n).copied().unwrap_or_default())
                .or_default() += 1.0;
        }
        all * all / times.values().map(|t| t * t).sum::<f64>()
    };
    (0..parts).map(of_part).sum::<f64>() / parts.max(1) as f64
}

/// Median and 5 to 95 %.
fn summed(mut values: Vec<f64>) -> (f64, Interval) {
    values.sort_by(f64::total_cmp);
    let range = Interval {
        low: quantile(&values, 0.05),
        high: quantile(&values, 0.95),
    };
    (quantile(&values, 0.5), range)
}

/// How each count is met by the members, and by those that the other studies alone would leave.
pub fn met<'a>(library: &'a Library, ensemble: &'a Ensemble) -> Vec<Met<'a>> {
    let counts = ensemble.counts.iter().enumerate();
    counts
        .filter_map(|(n, id)| {
            let count = library.studies.counts.iter().find(|c| c.id == *id)?;
            let predicted = ensemble.predicted.iter().find(|p| p.count == *id);
            Some(Met {
                count,
                all: summed(ensemble.members.iter().map(|m| m.shares[n]).collect()),
                without: predicted,
            })
        })
        .collect()
}

/// What the counts say of each constant that was weighed, most first.
pub fn learnt(ensemble: &Ensemble) -> Vec<Learnt<'_>> {
    let mut all: Vec<Learnt<'_>> = ensemble
        .constants
        .iter()
        .enumerate()
        .map(|(n, constant)| {
            let scores: Vec<f64> = ensemble.members.iter().map(|m| m.scores[n]).collect();
            let mean = scores.iter().sum::<f64>() / scores.len() as f64;
            let variance = scores.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / scores.len() as f64;
            Learnt {
                constant,
                score: summed(scores),
                spread: variance.sqrt(),
            }
        })
        .collect();
    all.sort_by(|a, b| told(b).total_cmp(&told(a)));
    all
}

/// How much was learnt: how far the scores are from a standard normal law's.
fn told(learnt: &Learnt<'_>) -> f64 {
    // Divergence of normal laws (Kullback and Leibler 1951).
    let variance = learnt.spread.powi(2).max(1e-6);
    0.5 * (variance + learnt.score.0.powi(2) - 1.0 - libm::log(variance))
}
