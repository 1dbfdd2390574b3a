//! Published counts (`assets/studies.ron`) played by virtual trainees: what was counted there and what is here.

use std::collections::HashMap;
use std::sync::Arc;

use crate::outside::threads::parallel::*;

use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::guidance::Group;
use crate::model::{Among, CountPart, Library, Measure, Owner, Setup, Spot, StudyArm, StudyCount, Weight};

use super::way::Known;
use super::{Interval, Way};

/// What one arm of a study counted.
struct Arm {
    /// Repeats without and with a lapse.
    repeats: [f64; 2],
    /// Those of them in which something was seen on skin.
    skin: [f64; 2],
    /// On skin, hair or clothing.
    person: [f64; 2],
    /// Repeats in which a group was seen soiled.
    groups: HashMap<Group, f64>,
}

impl Arm {
    fn run(library: &Arc<Library>, played: &StudyArm, repeats: u64, seed: u64) -> Result<Arm, String> {
        let missing =
            |what: &str, id: &str| format!("the fit needs the {what} `{id}`, and this content has none");
        let scenario = library
            .scenario(&played.scenario)
            .ok_or_else(|| missing("scenario", &played.scenario))?;
        let trainee = library
            .trainee(&played.trainee)
            .ok_or_else(|| missing("trainee", &played.trainee))?;
        let sequence = library
            .sequence(&scenario.sequence)
            .ok_or_else(|| missing("sequence", &scenario.sequence))?;
        let setup = Setup::new(library.clone(), scenario).map_err(|e| e.to_string())?;
        let body: Vec<(usize, Group)> = (0..setup.sites.len())
            .filter_map(|site| match setup.sites[site].owner {
                Owner::Body(place) => Some((site, Group::of_place(&setup, place))),
                _ => None,
            })
            .collect();
        let (way, known) = (Way::Rehearsed(sequence, trainee), Known::new(&setup));
        let rows: Result<Vec<(usize, Vec<Group>)>, String> = (0..repeats)
            .into_par_iter()
            .map(|n| {
                let luck = Luck::new(Key(seed).within(n).0);
                let beginning = Beginning::draw(&setup, luck);
                let prepared = way.prepare(&beginning.state.faults, &[], luck, &known)?;
                let books = prepared.plan.run(&beginning, luck);
                let seen: Vec<Group> = body
                    .iter()
                    .filter(|(site, _)| books.total(*site) >= setup.organism.seen_from)
                    .map(|(_, group)| *group)
                    .collect();
                Ok((usize::from(prepared.lapsed), seen))
            })
            .collect();
        let mut arm = Arm {
            repeats: [0.0; 2],
            skin: [0.0; 2],
            person: [0.0; 2],
            groups: HashMap::new(),
        };
        for (lapse, mut seen) in rows? {
            seen.sort_unstable();
            seen.dedup();
            arm.repeats[lapse] += 1.0;
            arm.skin[lapse] += f64::from(seen.iter().any(|g| g.is_skin()));
            arm.person[lapse] += f64::from(seen.iter().any(|g| g.is_person()));
            for group in seen {
                *arm.groups.entry(group).or_default() += 1.0;
            }
        }
        Ok(arm)
    }

    fn all(&self) -> f64 {
        self.repeats[0] + self.repeats[1]
    }

    /// Number of repeats in those removals that are counted.
    fn of(&self, counts: [f64; 2], among: Among) -> f64 {
        match among {
            Among::All => counts[0] + counts[1],
            Among::NoLapse => counts[0],
            Among::Lapse => counts[1],
        }
    }

    /// What a count gives in the removals that are counted.
    fn share(&self, measure: Measure, among: Among) -> Share {
        let hits = match measure {
            Measure::Person => self.person,
            Measure::Skin => self.skin,
            Measure::Lapses => [0.0, self.repeats[1]],
            Measure::Ahead { of, .. } => return self.ahead(group(of)),
        };
        Share::of(self.of(hits, among), self.of(self.repeats, among))
    }

    /// How much these removals weigh beside those of other arms.
    fn weight(&self, part: &CountPart) -> f64 {
        match part.weight {
            Weight::These(removals) => removals,
            Weight::Removals(removals) => removals * (self.of(self.repeats, part.among) / self.all()),
        }
    }

    /// How much more often a group is soiled than any other.
    fn ahead(&self, group: Group) -> Share {
        let soiled = |g: Group| Share::of(self.groups.get(&g).copied().unwrap_or(0.0), self.all());
        let next = Group::ALL
            .into_iter()
            .filter(|g| *g != group && g.is_person())
            .map(soiled)
            .max_by(|a, b| a.value.total_cmp(&b.value))
            .unwrap_or(Share::of(0.0, 1.0));
        let own = soiled(group);
        Share {
            value: own.value - next.value,
            variance: own.variance + next.variance,
        }
    }
}

/// An estimated share.
#[derive(Clone, Copy, Debug)]
struct Share {
    value: f64,
    variance: f64,
}

impl Share {
    fn of(hits: f64, n: f64) -> Share {
        let n = n.max(1.0);
        let value = hits / n;
        // As if one more hit and one more miss had been seen, so that none of few repeats is not certainty.
        let p = (hits + 1.0) / (n + 2.0);
        Share {
            value,
            variance: p * (1.0 - p) / n,
        }
    }

    /// Shares mixed with weights.
    fn mixed(parts: &[(f64, Share)]) -> Share {
        let all = parts.iter().map(|(w, _)| w).sum::<f64>().max(f64::MIN_POSITIVE);
        Share {
            value: parts.iter().map(|(w, s)| w * s.value).sum::<f64>() / all,
            variance: parts.iter().map(|(w, s)| w * w * s.variance).sum::<f64>() / (all * all),
        }
    }

    fn interval(self) -> Interval {
        let half = 1.96 * self.variance.sqrt();
        Interval {
            low: self.value - half,
            high: self.value + half,
        }
    }
}

/// The group that a spot is.
fn group(spot: Spot) -> Group {
    match spot {
        Spot::Hands => Group::Hands,
        Spot::Neck => Group::Neck,
    }
}

/// A published figure and what the model gives.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Id of the count.
    pub id: String,
    /// What was counted.
    pub what: String,
    /// Source id.
    pub source: String,
    /// What the count is of.
    pub measure: Measure,
    /// The published share; none where only an order was published.
    pub published: Option<f64>,
    /// Its 95 % interval, or the range that counts as met.
    pub within: Interval,
    /// Ours.
    pub ours: f64,
    /// Its 95 % sampling interval.
    pub interval: Interval,
    /// True if the parameters were fitted to it.
    pub fitted: bool,
}

impl Outcome {
    /// True if our share lies in the published interval.
    pub fn is_inside(&self) -> bool {
        (self.within.low..=self.within.high).contains(&self.ours)
    }

    /// Squared distance from the target in half widths of its range.
    pub(super) fn miss(&self) -> f64 {
        if let Measure::Ahead { by, half, .. } = self.measure {
            // An order holds or not.
            return ((by - self.ours).max(0.0) / half).powi(2);
        }
        let half = (self.within.high - self.within.low) / 2.0;
        self.published
            .map_or(0.0, |published| ((self.ours - published) / half).powi(2))
    }
}

/// Plays every count of this content. The same seed gives the same luck whatever the parameters.
///
/// # Errors
/// A sentence: the content lacks what the counts need.
pub fn outcomes(library: &Library, repeats: u64, seed: u64) -> Result<Vec<Outcome>, String> {
    let library = Arc::new(library.clone());
    let studies = &library.studies;
    if studies.counts.is_empty() {
        return Err("this content holds no published counts; they stand in `assets/studies.ron`".to_owned());
    }
    let needed = |arm: &&StudyArm| {
        let mut parts = studies.counts.iter().flat_map(|c| &c.parts);
        parts.any(|p| p.arm == arm.id)
    };
    let mut arms: HashMap<&str, Arm> = HashMap::new();
    for arm in studies.arms.iter().filter(needed) {
        let repeats = (repeats as f64 * arm.repeats).ceil() as u64;
        arms.insert(&arm.id, Arm::run(&library, arm, repeats, seed)?);
    }
    studies
        .counts
        .iter()
        .map(|count| {
            let ours = play(count, &arms)?;
            let (low, high) = count.within;
            Ok(Outcome {
                id: count.id.clone(),
                what: count.what.clone(),
                source: count.source.clone(),
                measure: count.measure,
                published: count.share,
                within: Interval { low, high },
                ours: ours.value,
                interval: ours.interval(),
                fitted: count.fitted,
            })
        })
        .collect()
}

/// What the arms of a count give.
fn play(count: &StudyCount, arms: &HashMap<&str, Arm>) -> Result<Share, String> {
    let parts: Result<Vec<(f64, Share)>, String> = count
        .parts
        .iter()
        .map(|part| {
            let arm = arms
                .get(part.arm.as_str())
                .ok_or_else(|| format!("the count `{}` needs the arm `{}`", count.id, part.arm))?;
            Ok((arm.weight(part), arm.share(count.measure, part.among)))
        })
        .collect();
    match parts?[..] {
        [(_, only)] => Ok(only),
        ref several => Ok(Share::mixed(several)),
    }
}
