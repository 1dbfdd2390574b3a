//! Which sets of values of the unsure constants the published counts leave: sequential Monte Carlo.
//!
//! Sets are drawn from what is stated of each constant. The counts are let in step by step, each as long as leaves enough
//! sets that count (tempered likelihoods: Del Moral, Doucet and Jasra 2006); sets that the counts speak against are
//! replaced by copies of others, and every set is then moved by Metropolis steps towards fresh draws of what is stated (Cotter,
//! Roberts, Stuart and White 2013), which leave what the counts say nothing of as it is stated, so that copies part again.
//! All is drawn by seed: the same seed gives the same sets. Each study is also left out and predicted from what the others
//! leave.

use crate::outside::threads::parallel::*;
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::chance::{Key, Luck, Purpose, normal, uniform};
use crate::model::{Calibration, Ensemble, Library, Measure, Member, Predicted, Scenario, StudyCount};

use super::learnt::{effectively, only_played};
use super::stats::quantile;
use super::study::{Outcome, outcomes};
use super::unknown::{FARTHEST, Unknown, Unsure, drawn_score, unknowns};

/// Numbers in JSON by their bits: whoever goes on must find them to the last one.
mod bits {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub fn serialize<S: Serializer>(values: &[f64], serializer: S) -> Result<S::Ok, S::Error> {
        let bits: Vec<u64> = values.iter().map(|value| value.to_bits()).collect();
        bits.serialize(serializer)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<f64>, D::Error> {
        let bits = Vec::<u64>::deserialize(deserializer)?;
        Ok(bits.into_iter().map(f64::from_bits).collect())
    }

    /// The same for one number.
    pub mod one {
        use super::{Deserialize, Deserializer, Serializer};

        pub fn serialize<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
            serializer.serialize_u64(value.to_bits())
        }

        pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
            u64::deserialize(deserializer).map(f64::from_bits)
        }
    }
}

/// A set under way.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Particle {
    /// See [`Member::numbers`].
    pub numbers: Vec<u64>,
    /// See [`Member::scores`].
    #[serde(with = "bits")]
    pub scores: Vec<f64>,
    /// Log likelihood of all counts.
    #[serde(with = "bits::one")]
    pub fits: f64,
    /// See [`Member::line`].
    pub line: u64,
}

/// A calibration under way: enough to go on with after it was broken off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Progressed {
    /// The seed.
    pub seed: u64,
    /// Names of the constants.
    pub constants: Vec<String>,
    /// Shares of the weight of the counts that were let in so far.
    #[serde(with = "bits")]
    pub steps: Vec<f64>,
    /// How far moves of many scores at once go towards fresh draws, 0 to 1.
    #[serde(with = "bits::one")]
    pub stride: f64,
    /// Share of scores that a move draws wholly anew, on average, 0 to 1.
    #[serde(with = "bits::one")]
    pub anew: f64,
    /// How many numbers a move draws anew, on average; at least 1.
    #[serde(with = "bits::one")]
    pub renumbered: f64,
    /// Share of the last moves that were taken.
    #[serde(with = "bits::one")]
    pub taken: f64,
    /// The sets.
    pub particles: Vec<Particle>,
}

/// What it takes to weigh sets of values.
struct Scales<'a> {
    library: &'a Library,
    scenario: &'a Scenario,
    how: &'a Calibration,
    counts: Vec<&'a StudyCount>,
    /// Source whose counts are not let in.
    without: Option<&'a str>,
    seed: u64,
}

/// Quantiles of a half-normal law in the middle of five equal parts (Abramowitz and Stegun, table 26.5).
const HALF_NORMAL: [f64; 5] = [0.125_661, 0.385_320, 0.674_490, 1.036_433, 1.644_854];

/// The counts that a calibration is held to.
fn weighing(library: &Library) -> Vec<&StudyCount> {
    let counts = library.studies.counts.iter();
    counts.filter(|c| c.fitted && !c.implied).collect()
}

/// The middles of five equal parts of a standard normal law (Abramowitz and Stegun, table 26.5).
const NORMAL: [f64; 5] = [-1.281_552, -0.524_401, 0.0, 0.524_401, 1.281_552];

/// A published count as a logit, with the square of its standard error; none where an order was published without counts.
fn published(count: &StudyCount) -> Option<(f64, f64)> {
    if matches!(count.measure, Measure::Ahead { .. }) {
        return None;
    }
    match (count.counted, count.share) {
        (Some((hits, of)), _) => {
            let (hits, misses) = (hits as f64 + 0.5, (of - hits) as f64 + 0.5);
            Some((libm::log(hits / misses), 1.0 / hits + 1.0 / misses))
        }
        (None, Some(share)) => {
            // Nothing but the range is known.
            let inside = |p: f64| logit(p.clamp(1e-3, 1.0 - 1e-3));
            let width = inside(count.within.1) - inside(count.within.0);
            Some((inside(share), (width / (2.0 * 1.96)).powi(2)))
        }
        (None, None) => None,
    }
}

fn logit(p: f64) -> f64 {
    libm::log(p / (1.0 - p))
}

/// A count with the model's share and its standard error.
type Shown<'a> = (&'a StudyCount, f64, f64);

/// How likely the published counts of all studies are if the model's shares are these: the logarithm, up to a constant. How
/// far studies lie apart is one number for all of them, which is not known but by its law.
fn log_likelihood<'a>(studies: &[&[Shown<'a>]], (between, in_common): (f64, f64)) -> f64 {
    let each = HALF_NORMAL.map(|quantile| {
        let apart = (quantile * between).powi(2);
        let studies = studies.iter().map(|counts| of_study(counts, (apart, in_common)));
        studies.sum::<f64>()
    });
    let most = each.into_iter().fold(f64::NEG_INFINITY, f64::max);
    let all = each.into_iter().map(|log| libm::exp(log - most)).sum::<f64>();
    most + libm::log(all / HALF_NORMAL.len() as f64)
}

/// How likely the published counts of one study are, where the square of how far studies lie apart is so much: the logarithm,
/// up to a constant. How far this study lies apart from others is in part common to its counts.
fn of_study(counts: &[Shown<'_>], (apart, in_common): (f64, f64)) -> f64 {
    let mut orders = 0.0;
    // How far each is off, and the square of what it is known to by counting, there and here.
    let mut off: Vec<(f64, f64)> = Vec::with_capacity(counts.len());
    for &(count, share, error) in counts {
        if let Measure::Ahead { by, half, .. } = count.measure {
            // Short of an order by a half width is as far as that goes.
            let spread = half * half + error * error;
            orders -= 0.5 * (by - share).max(0.0).powi(2) / spread;
        } else if let Some((logit_there, counted)) = published(count) {
            let ours = share.clamp(1e-3, 1.0 - 1e-3);
            let noise = (error / (ours * (1.0 - ours))).powi(2);
            off.push((logit(ours) - logit_there, counted + noise));
        }
    }
    if off.is_empty() {
        return orders;
    }
    let mut likelihood = 0.0;
    for place in NORMAL {
        let common = place * (in_common * apart).sqrt();
        let each = off.iter().map(|(off, known)| {
            let variance = known + (1.0 - in_common) * apart;
            let off = off - common;
            libm::exp(-0.5 * off * off / variance) / variance.sqrt()
        });
        likelihood += each.product::<f64>();
    }
    likelihood /= NORMAL.len() as f64;
    orders + libm::log(likelihood.max(f64::MIN_POSITIVE))
}

/// What would be counted where the model's share is this: that share moved as far as studies lie apart, and as often hit among
/// as many as were looked at. Equally likely shares.
fn counted_of(count: &StudyCount, between: f64, share: f64, seed: Key) -> Vec<f64> {
    let Some((hits, of)) = count.counted else {
        return vec![share];
    };
    debug_assert!(hits <= of, "content is checked for that");
    let ours = logit(share.clamp(1e-3, 1.0 - 1e-3));
    let mut all = Vec::with_capacity(HALF_NORMAL.len() * NORMAL.len());
    for (n, quantile) in HALF_NORMAL.into_iter().enumerate() {
        for (m, place) in NORMAL.into_iter().enumerate() {
            let there = ours + place * quantile * between;
            let p = 1.0 / (1.0 + libm::exp(-there));
            let mut stream =
                Luck::new(seed.0).stream(Key::of("counted").within((5 * n + m) as u64), Purpose::Doubt);
            let found = (0..of).filter(|_| uniform(&mut stream) < p).count();
            all.push(found as f64 / of as f64);
        }
    }
    all
}

/// The standard error of an outcome.
fn error(outcome: &Outcome) -> f64 {
    (outcome.interval.high - outcome.interval.low) / (2.0 * 1.96)
}

impl Scales<'_> {
    /// What the counts come to with a set of values: share and standard error of each.
    fn shares(
        &self,
        constants: &[String],
        numbers: &[u64],
        scores: &[f64],
        seed: u64,
    ) -> Result<Vec<(f64, f64)>, String> {
        let class = self.library.organism(&self.scenario.organism).map(|o| o.class);
        let class = class.ok_or_else(|| format!("there is no organism `{}`", self.scenario.organism))?;
        let unsure = Unsure::new(self.library, self.scenario, class);
        let place = |unknown: &Unknown| constants.iter().position(|c| *c == unknown.name);
        let columns: Vec<Option<usize>> = unsure.all.iter().map(place).collect();
        let (library, _) = unsure.with(numbers, |n| Some(scores[columns[n]?]), self.how.own);
        let found = outcomes(&library, self.how.repeats, seed)?;
        Ok(self
            .counts
            .iter()
            .map(|count| {
                let outcome = found.iter().find(|o| o.id == count.id);
                outcome.map_or((0.0, 1.0), |o| (o.ours, error(o)))
            })
            .collect())
    }

    fn fits(&self, constants: &[String], numbers: &[u64], scores: &[f64]) -> Result<f64, String> {
        let shares = self.shares(constants, numbers, scores, self.seed)?;
        let mut studies: BTreeMap<&str, Vec<(&StudyCount, f64, f64)>> = BTreeMap::new();
        for (count, (share, error)) in self.counts.iter().zip(shares) {
            if self.without != Some(count.source.as_str()) {
                let study = studies.entry(count.source.as_str()).or_default();
                study.push((*count, share, error));
            }
        }
        let between = (self.how.between_studies, self.how.in_common);
        let studies: Vec<&[Shown<'_>]> = studies.values().map(Vec::as_slice).collect();
        Ok(log_likelihood(&studies, between))
    }

    /// True for each constant that no study plays: far from what is stated, either way and from several sets, it leaves every
    /// count as it is.
    fn unplayed(&self, constants: &[String], particles: &[Particle]) -> Result<Vec<bool>, String> {
        let tried = &particles[..particles.len().min(3)];
        let same = |n: usize| -> Result<bool, String> {
            for particle in tried {
                for score in [-2.0, 2.0] {
                    let mut scores = particle.scores.clone();
                    scores[n] = score;
                    if self.fits(constants, &particle.numbers, &scores)? != particle.fits {
                        return Ok(false);
                    }
                }
            }
            Ok(true)
        };
        (0..constants.len()).into_par_iter().map(same).collect()
    }
}

/// How a set is moved.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Move {
    /// Many scores some of the way towards fresh draws.
    Stride,
    /// A few scores all of it.
    Anew,
    /// A few numbers.
    Renumber,
}

/// How many numbers a set has: so many that drawing one anew leaves most of what the counts feel as it is.
const NUMBERS: u64 = 16;

/// The numbers with which a set begins.
fn fresh(seed: u64, of: u64) -> Vec<u64> {
    let key = Key(seed).named("set").within(of);
    (0..NUMBERS).map(|n| key.within(n).0 >> 32).collect()
}

/// How free the counts leave each score, 1 on average: what they hardly feel is as wide as it is stated, and is drawn anew the
/// oftener. (A choice by all sets together is the same whichever of them moves, so steps stay reversible.)
fn free(sets: &[Particle]) -> Vec<f64> {
    let many = sets.len().max(1) as f64;
    let scores = sets.first().map_or(0, |set| set.scores.len());
    let of = |n: usize| {
        let all = || sets.iter().map(|set| set.scores[n]);
        let mean = all().sum::<f64>() / many;
        let square = all().map(|x| (x - mean).powi(2)).sum::<f64>() / many;
        square.min(1.0).powi(4) * libm::exp(-mean * mean) + 0.05
    };
    let free: Vec<f64> = (0..scores).map(of).collect();
    let mean = free.iter().sum::<f64>() / scores.max(1) as f64;
    free.iter().map(|free| free / mean).collect()
}

/// How many of these sets count in effect, if each weighs this much.
fn effective(weights: &[f64]) -> f64 {
    let (sum, squares) = weights
        .iter()
        .fold((0.0, 0.0), |(sum, squares), w| (sum + w, squares + w * w));
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

/// Weights from log weights, the largest 1.
fn weights(logs: impl Iterator<Item = f64> + Clone) -> Vec<f64> {
    let most = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    logs.map(|log| libm::exp(log - most)).collect()
}

/// A calibration under way with all that it has come to: enough to go on with after it was broken off anywhere.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct UnderWay {
    /// With all studies; none before its first step.
    pub all: Option<Progressed>,
    /// With each study left out that was begun, by its source.
    pub without: BTreeMap<String, Progressed>,
}

impl UnderWay {
    fn of(&mut self, without: Option<&str>) -> Option<Progressed> {
        match without {
            None => self.all.clone(),
            Some(source) => self.without.get(source).cloned(),
        }
    }

    fn put(&mut self, without: Option<&str>, state: &Progressed) {
        match without {
            None => self.all = Some(state.clone()),
            Some(source) => {
                self.without.insert(source.to_owned(), state.clone());
            }
        }
    }

    fn each(&self) -> impl Iterator<Item = (&Progressed, bool)> {
        let without = self.without.values().map(|state| (state, true));
        self.all.iter().map(|state| (state, false)).chain(without)
    }
}

/// The seed of the repeats by which the shares of members are shown, for the seed of their calibration: others than those they
/// were weighed by, by which sets were chosen to do well.
pub fn shown_by(seed: u64) -> u64 {
    Key(seed).named("shown").0
}

/// A calibration under way and, where a study is left out, which.
pub type Noted<'a> = (&'a UnderWay, Option<&'a str>);

/// Goes on with a calibration, or begins one, then leaves each study out in turn; calls `note` after every step.
///
/// # Errors
/// A sentence: the content lacks what a calibration needs, or what is gone on with was begun with other content.
pub fn calibrate(
    library: &Library,
    seed: u64,
    mut under_way: UnderWay,
    mut note: impl FnMut(Noted<'_>) -> Result<(), String>,
) -> Result<Ensemble, String> {
    let how = library.calibration.as_ref().ok_or_else(|| {
        "this content does not say how to calibrate; `sets` and the rest stand in `assets/doubt.ron`"
            .to_owned()
    })?;
    let counts = weighing(library);
    let first = library
        .studies
        .arms
        .first()
        .and_then(|arm| library.scenario(&arm.scenario));
    let (Some(scenario), false) = (first, counts.is_empty()) else {
        return Err("this content holds no published counts; they stand in `assets/studies.ron`".to_owned());
    };
    let class = library.organism(&scenario.organism).map(|o| o.class);
    let class = class.ok_or_else(|| format!("there is no organism `{}`", scenario.organism))?;
    let constants: Vec<String> = unknowns(library, scenario, class)
        .into_iter()
        .map(|u| u.name)
        .collect();
    if under_way.each().any(|(state, left_out)| {
        let sets = how.sets(left_out);
        state.constants != constants || state.seed != seed || state.particles.len() as u64 != sets
    }) {
        return Err("what was under way was begun with other content, another seed or another number of sets; begin anew"
            .to_owned());
    }
    let scales = |without| Scales {
        library,
        scenario,
        how,
        counts: counts.clone(),
        without,
        seed,
    };
    let mut weighed = |scales: &Scales<'_>| {
        let without = scales.without;
        scales.weigh(&constants, under_way.of(without), |state| {
            under_way.put(without, state);
            note((&under_way, without))
        })
    };
    let all = scales(None);
    let state = weighed(&all)?;
    let members = all.members(&state)?;
    let unplayed = all.unplayed(&constants, &state.particles)?;
    let mut sources: Vec<&str> = counts.iter().map(|c| c.source.as_str()).collect();
    sources.sort_unstable();
    sources.dedup();
    let mut predicted = Vec::new();
    for source in sources {
        let scales = scales(Some(source));
        let state = weighed(&scales)?;
        let members = scales.members(&state)?;
        let sets = effectively(&only_played(&members, &unplayed)).round();
        for (n, count) in counts.iter().enumerate().filter(|(_, c)| c.source == source) {
            let shares: Vec<f64> = members.iter().map(|m| m.shares[n]).collect();
            let key = Key(seed).named("predicted").named(&count.id);
            let each = shares.iter().enumerate();
            let counted = each
                .flat_map(|(m, &share)| counted_of(count, how.between_studies, share, key.within(m as u64)));
            let (median, range) = middle(shares.clone());
            predicted.push(Predicted {
                count: count.id.clone(),
                median,
                range,
                counted: middle(counted.collect()).1,
                sets,
            });
        }
    }
    let names = constants.iter().zip(&unplayed);
    Ok(Ensemble {
        unplayed: names
            .filter(|(_, unplayed)| **unplayed)
            .map(|(name, _)| name.clone())
            .collect(),
        constants,
        counts: counts.iter().map(|c| c.id.clone()).collect(),
        steps: state.steps,
        taken: state.taken,
        members,
        predicted,
        basis: how.basis.clone(),
    })
}

/// The library with the values of one of its ensemble's members, as the studies are played with it; none where it has no
/// such member, or no studies.
pub fn library_of(library: &Library, member: usize) -> Option<Library> {
    let ensemble = library.ensemble.as_ref().filter(|e| member < e.members.len())?;
    let scenario = library.scenario(&library.studies.arms.first()?.scenario)?;
    let class = library.organism(&scenario.organism)?.class;
    let unsure = Unsure::new(library, scenario, class);
    Some(unsure.of_member(ensemble, &unsure.columns(ensemble), member).0)
}

/// Median, and 5 and 95 %, as they are written.
fn middle(mut shares: Vec<f64>) -> (f64, (f64, f64)) {
    shares.sort_by(f64::total_cmp);
    let at = |q: f64| thousandths(quantile(&shares, q));
    (at(0.5), (at(0.05), at(0.95)))
}

/// As numbers of an ensemble are written, so that whoever reads them finds the same.
fn thousandths(x: f64) -> f64 {
    (x * 1000.0).round() / 1000.0
}

impl Scales<'_> {
    /// Goes on until all of the counts are let in, or begins.
    fn weigh(
        &self,
        constants: &[String],
        under_way: Option<Progressed>,
        mut note: impl FnMut(&Progressed) -> Result<(), String>,
    ) -> Result<Progressed, String> {
        let mut state = match under_way {
            Some(state) => state,
            None => {
                let particles: Result<Vec<Particle>, String> = (0..self.how.sets(self.without.is_some()))
                    .into_par_iter()
                    .map(|n| {
                        let numbers = fresh(self.seed, n);
                        let scores: Vec<f64> =
                            constants.iter().map(|name| drawn_score(&numbers, name)).collect();
                        let fits = self.fits(constants, &numbers, &scores)?;
                        Ok(Particle {
                            numbers,
                            scores,
                            fits,
                            line: n,
                        })
                    })
                    .collect();
                let state = Progressed {
                    seed: self.seed,
                    constants: constants.to_vec(),
                    steps: vec![0.0],
                    stride: 0.5,
                    anew: 0.5,
                    renumbered: 0.5 * NUMBERS as f64,
                    taken: 1.0,
                    particles: particles?,
                };
                note(&state)?;
                state
            }
        };
        while state.steps.last().is_some_and(|&share| share < 1.0) {
            self.step(&mut state)?;
            note(&state)?;
        }
        Ok(state)
    }

    /// The sets as they are kept.
    fn members(&self, state: &Progressed) -> Result<Vec<Member>, String> {
        let kept = |p: &Particle| {
            let scores: Vec<f64> = p.scores.iter().map(|&s| thousandths(s)).collect();
            let shares = self.shares(&state.constants, &p.numbers, &scores, shown_by(self.seed))?;
            Ok(Member {
                numbers: p.numbers.clone(),
                line: p.line,
                scores,
                shares: shares.iter().map(|&(share, _)| thousandths(share)).collect(),
                errors: shares.iter().map(|&(_, error)| thousandths(error)).collect(),
            })
        };
        state.particles.par_iter().map(kept).collect()
    }

    /// Lets more of the counts in, replaces sets that count for little, and moves all.
    fn step(&self, state: &mut Progressed) -> Result<(), String> {
        let from = *state.steps.last().unwrap_or(&0.0);
        let wanted = self.how.effective * state.particles.len() as f64;
        let weighed = |to: f64| weights(state.particles.iter().map(|p| (to - from) * p.fits));
        let to = if effective(&weighed(1.0)) >= wanted {
            1.0
        } else {
            let (mut low, mut high) = (from, 1.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if effective(&weighed(middle)) >= wanted {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            low
        };
        let luck = Luck::new(Key(self.seed).named("step").within(state.steps.len() as u64).0);
        let mut chosen = systematic(
            &weighed(to),
            uniform(&mut luck.stream(Key::of("choose"), Purpose::Doubt)),
        )
        .into_iter()
        .map(|n| state.particles[n].clone())
        .collect::<Vec<_>>();
        state.steps.push(to);
        // What the counts hardly feel is drawn anew often, some of it at a time; what they feel goes in small strides.
        let settles = to >= 1.0 && self.without.is_none();
        let moves = self.how.moves + if settles { self.how.settling } else { 0 };
        let free = free(&chosen);
        let mut taken = 0.0;
        for again in 0..moves {
            let how = [Move::Stride, Move::Anew, Move::Renumber][(again % 3) as usize];
            let chances = match how {
                Move::Stride => vec![0.5; state.constants.len()],
                Move::Anew => free.iter().map(|free| (state.anew * free).min(1.0)).collect(),
                Move::Renumber => vec![state.renumbered / NUMBERS as f64; NUMBERS as usize],
            };
            let moved: Result<Vec<(Particle, bool)>, String> = chosen
                .par_iter()
                .enumerate()
                .map(|(n, particle)| {
                    let key = Key::of("move").within(again).within(n as u64);
                    self.moved(state, particle, (how, &chances), to, luck, key)
                })
                .collect();
            let moved = moved?;
            let share = moved.iter().filter(|(_, taken)| *taken).count() as f64 / moved.len() as f64;
            chosen = moved.into_iter().map(|(particle, _)| particle).collect();
            // While they settle, moves stay as they are: who adapts for ever need not come to what is sought.
            if again >= self.how.moves {
                taken = if how == Move::Stride { share } else { taken };
                continue;
            }
            // About a quarter is best for strides in many dimensions (Roberts, Gelman and Gilks 1997); of draws of a few the
            // most is changed where one in e is taken.
            let factor = |few: f64, many: f64| match share {
                taken if taken < few => 0.8,
                taken if taken > many => 1.2,
                _ => 1.0,
            };
            match how {
                Move::Stride => {
                    state.stride = (state.stride * factor(0.2, 0.3)).min(1.0);
                    taken = share;
                }
                Move::Anew => {
                    state.anew = (state.anew * factor(0.32, 0.42)).min(1.0);
                }
                Move::Renumber => {
                    state.renumbered = (state.renumbered * factor(0.32, 0.42)).clamp(1.0, NUMBERS as f64);
                }
            }
        }
        if settles {
            self.draw_unplayed(&state.constants, &mut chosen, luck)?;
        }
        state.taken = taken;
        state.particles = chosen;
        Ok(())
    }

    /// Draws scores that no study plays as they are stated: nothing else is known of them. (What they come to is weighed again, and
    /// a set that the counts feel it in stays as it is.)
    fn draw_unplayed(&self, constants: &[String], sets: &mut [Particle], luck: Luck) -> Result<(), String> {
        let unplayed = self.unplayed(constants, sets)?;
        let fresh: Result<Vec<Particle>, String> = sets
            .par_iter()
            .enumerate()
            .map(|(n, particle)| {
                let numbers = [Key(self.seed)
                    .named("unplayed")
                    .within(luck.seed())
                    .within(n as u64)
                    .0];
                let scores = particle.scores.iter().zip(constants).zip(&unplayed);
                let scores: Vec<f64> = scores
                    .map(|((&score, name), &unplayed)| match unplayed {
                        true => drawn_score(&numbers, name),
                        false => score,
                    })
                    .collect();
                let fits = self.fits(constants, &particle.numbers, &scores)?;
                Ok(match fits == particle.fits {
                    true => Particle {
                        scores,
                        ..particle.clone()
                    },
                    false => particle.clone(),
                })
            })
            .collect();
        sets.clone_from_slice(&fresh?);
        Ok(())
    }

    /// A set after one Metropolis step, and whether it was taken. By a stride, about half of its scores go a way towards
    /// fresh draws; anew, a few become fresh draws; renumbered, what a few of its numbers decide: each by its chance, and one at
    /// least. What is stated of the constants is left as it is by either, so only the counts decide.
    fn moved(
        &self,
        state: &Progressed,
        particle: &Particle,
        (how, chances): (Move, &[f64]),
        to: f64,
        luck: Luck,
        key: Key,
    ) -> Result<(Particle, bool), String> {
        let mut stream = luck.stream(key, Purpose::Doubt);
        let stride = if how == Move::Stride { state.stride } else { 1.0 };
        let stays = (1.0 - stride * stride).sqrt();
        let (mut scores, mut numbers) = (particle.scores.clone(), particle.numbers.clone());
        let surely = (uniform(&mut stream) * chances.len() as f64) as usize;
        let each = chances.iter().enumerate();
        let chosen: Vec<usize> = each
            .filter(|(n, chance)| uniform(&mut stream) < **chance || *n == surely)
            .map(|(n, _)| n)
            .collect();
        match how {
            Move::Stride | Move::Anew => {
                for n in chosen {
                    scores[n] = stays * scores[n] + stride * normal(&mut stream, 0.0, 1.0);
                }
            }
            Move::Renumber => {
                let anew = Key(self.seed).named("anew").within(luck.seed()).within(key.0);
                for n in chosen {
                    numbers[n] = anew.within(n as u64).0 >> 32;
                }
            }
        }
        // Beyond, nothing is stated.
        if scores.iter().any(|score| score.abs() > FARTHEST) {
            return Ok((particle.clone(), false));
        }
        let fits = self.fits(&state.constants, &numbers, &scores)?;
        let taken = libm::log(uniform(&mut stream).max(f64::MIN_POSITIVE)) < to * (fits - particle.fits);
        Ok(match taken {
            true => (
                Particle {
                    numbers,
                    scores,
                    fits,
                    line: particle.line,
                },
                true,
            ),
            false => (particle.clone(), false),
        })
    }
}

/// As many places as there are weights, each weight's number as often as it is due, by one draw for all.
fn systematic(weights: &[f64], draw: f64) -> Vec<usize> {
    let all: f64 = weights.iter().sum();
    let step = all / weights.len() as f64;
    let (mut at, mut sum) = (0, weights[0]);
    (0..weights.len())
        .map(|n| {
            let place = (n as f64 + draw) * step;
            while sum < place && at + 1 < weights.len() {
                at += 1;
                sum += weights[at];
            }
            at
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(hits: u64, of: u64) -> StudyCount {
        StudyCount {
            id: "count".to_owned(),
            what: "a count".to_owned(),
            measure: Measure::Person,
            parts: Vec::new(),
            share: Some(hits as f64 / of as f64),
            counted: Some((hits, of)),
            within: (0.0, 1.0),
            fitted: true,
            implied: false,
            source: "study".to_owned(),
            basis: "basis".to_owned(),
            note: String::new(),
        }
    }

    /// Two counts of one study that are off the same way may be so together, by what the study has of its own; off in opposite ways
    /// they speak against the model twice. In two studies it is all the same.
    #[test]
    fn counts_of_one_study_lie_apart_together() {
        let half = count(500, 1000);
        let alike = |shares: [f64; 2]| {
            let both = shares.map(|share| (&half, share, 0.0));
            let apart = log_likelihood(&[&both[..1], &both[1..]], (0.3, 0.5));
            (log_likelihood(&[&both], (0.3, 0.5)), apart)
        };
        let (same, same_apart) = alike([0.6, 0.6]);
        let (opposite, opposite_apart) = alike([0.6, 0.4]);
        assert!(same > opposite + 0.5, "{same} and {opposite}");
        assert!(
            (same_apart - opposite_apart).abs() < 0.01,
            "{same_apart} and {opposite_apart}"
        );
        assert!(alike([0.5, 0.5]).0 > same, "what is met is likelier");
    }

    /// What would be counted is as wide as counting makes it, and wider by how far studies lie apart.
    #[test]
    fn a_prediction_of_a_count_is_as_wide_as_counting_and_studies_make_it() {
        let few = count(17, 34);
        let spread = |between: f64| {
            let all: Vec<f64> = (0..200)
                .flat_map(|n| counted_of(&few, between, 0.5, Key(n)))
                .collect();
            let mean = all.iter().sum::<f64>() / all.len() as f64;
            assert!((mean - 0.5).abs() < 0.01, "{mean}");
            (all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / all.len() as f64).sqrt()
        };
        let alone = (0.25_f64 / 34.0).sqrt();
        assert!((spread(0.0) / alone - 1.0).abs() < 0.05, "{}", spread(0.0));
        // By the law of total variance: that of the shares, and the mean of what counting adds to each.
        let shares: Vec<f64> = HALF_NORMAL
            .iter()
            .flat_map(|quantile| NORMAL.map(|place| 1.0 / (1.0 + libm::exp(-place * quantile))))
            .collect();
        let many = shares.len() as f64;
        let of_shares = shares.iter().map(|p| (p - 0.5).powi(2)).sum::<f64>() / many;
        let of_counting = shares.iter().map(|p| p * (1.0 - p) / 34.0).sum::<f64>() / many;
        let both = (of_shares + of_counting).sqrt();
        assert!(both > 1.8 * alone, "{both} for {alone}");
        assert!(
            (spread(1.0) / both - 1.0).abs() < 0.05,
            "{} for {both}",
            spread(1.0)
        );
    }

    #[test]
    fn sets_are_chosen_as_often_as_they_weigh() {
        let weights = [0.1, 0.0, 0.5, 0.4];
        for draw in [0.0, 0.3, 0.99] {
            let chosen = systematic(&weights, draw);
            let times = |n: usize| chosen.iter().filter(|&&c| c == n).count();
            assert_eq!((times(1), times(2)), (0, 2), "{chosen:?}");
            assert!(times(0) <= 1 && (1..=2).contains(&times(3)), "{chosen:?}");
        }
        assert_eq!(effective(&[1.0; 7]), 7.0);
        assert!((effective(&[1.0, 0.0, 0.0]) - 1.0).abs() < 1e-12);
    }
}
