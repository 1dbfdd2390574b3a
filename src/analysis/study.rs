//! Two published studies of fluorescent tracer, played by virtual trainees: what was counted there and what is here.

use std::collections::HashMap;
use std::sync::Arc;

use rayon::prelude::*;

use crate::chance::{Key, Luck};
use crate::drill::Beginning;
use crate::guidance::Group;
use crate::model::{Library, Owner, Setup};

use super::{Interval, Plan, rehearse};

/// Scenario: lotion on gloves.
pub(super) const GLOVES: &str = "study-soiled-gloves";
/// Scenario: lotion on a gown.
pub(super) const GOWN: &str = "study-soiled-gown";
/// Scenario: a solution on gloves, in another study.
pub(super) const SOLUTION: &str = "study-soiled-gloves-solution";
/// Trainee before training.
pub(super) const USUAL: &str = "usual";
/// Trainee after training with feedback.
pub(super) const DRILLED: &str = "drilled";

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
    fn run(
        library: &Arc<Library>,
        scenario: &str,
        trainee: &str,
        repeats: u64,
        seed: u64,
    ) -> Result<Arm, String> {
        let missing =
            |what: &str, id: &str| format!("the fit needs the {what} `{id}`, and this content has none");
        let scenario = library
            .scenario(scenario)
            .ok_or_else(|| missing("scenario", scenario))?;
        let trainee = library
            .trainee(trainee)
            .ok_or_else(|| missing("trainee", trainee))?;
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
        let rows: Result<Vec<(usize, Vec<Group>)>, String> = (0..repeats)
            .into_par_iter()
            .map(|n| {
                let luck = Luck::new(Key(seed).within(n).0);
                let beginning = Beginning::draw(&setup, luck);
                let did = rehearse(&setup, sequence, trainee, luck).map_err(|r| r.to_string())?;
                let plan =
                    Plan::new(&setup, &beginning.state.faults, &did.actions).map_err(|e| e.to_string())?;
                let books = plan.run(&beginning, luck);
                let seen: Vec<Group> = body
                    .iter()
                    .filter(|(site, _)| books.total(*site) >= setup.organism.seen_from)
                    .map(|(_, group)| *group)
                    .collect();
                Ok((usize::from(!did.lapses.is_empty()), seen))
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

    /// Share of repeats in which anything was seen on the person.
    fn any(&self) -> Share {
        Share::of(self.person[0] + self.person[1], self.all())
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
    fn mixed(parts: [(f64, Share); 2]) -> Share {
        let all = (parts[0].0 + parts[1].0).max(f64::MIN_POSITIVE);
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

/// A published figure and what the model gives.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// What was counted.
    pub what: &'static str,
    /// Source id.
    pub source: &'static str,
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

    /// Squared distance from the target in half widths of its interval.
    pub(super) fn miss(&self) -> f64 {
        let half = (self.within.high - self.within.low) / 2.0;
        match self.published {
            Some(published) => ((self.ours - published) / half).powi(2),
            // An order holds or not; five points ahead are enough for it not to hang on luck.
            None => ((0.05 - self.ours).max(0.0) / 0.03).powi(2),
        }
    }
}

/// Runs every study with this content. The same seed gives the same luck whatever the parameters.
///
/// Counts in the comments are those of the studies; intervals are Clopper-Pearson's from these counts.
///
/// # Errors
/// A sentence: the content lacks what the studies need.
pub fn outcomes(library: &Library, repeats: u64, seed: u64) -> Result<Vec<Outcome>, String> {
    let library = Arc::new(library.clone());
    let arm = |scenario, trainee| Arm::run(&library, scenario, trainee, repeats, seed);
    let (gloves, gown, solution) = (arm(GLOVES, USUAL)?, arm(GOWN, USUAL)?, arm(SOLUTION, USUAL)?);
    let (trained_gloves, trained_gown) = (arm(GLOVES, DRILLED)?, arm(GOWN, DRILLED)?);

    // 234 glove and 201 gown removals were watched in the first study.
    let both = |of: &dyn Fn(&Arm) -> (f64, Share)| {
        let ((a, glove), (b, gown)) = (of(&gloves), of(&gown));
        Share::mixed([(234.0 * a, glove), (201.0 * b, gown)])
    };
    let lapsed = |with: usize| {
        move |arm: &Arm| {
            (
                arm.repeats[with] / arm.all(),
                Share::of(arm.person[with], arm.repeats[with]),
            )
        }
    };
    let trained = Share::mixed([(234.0, trained_gloves.any()), (201.0, trained_gown.any())]);
    let skin = |with: usize| Share::of(solution.skin[with], solution.repeats[with]);
    const FIRST: &str = "tomas-2015";
    const SECOND: &str = "glove-removal-2019";
    let rows = [
        // 124/234, 76/201 and 200/435.
        (
            "soiled gloves: any trace on the person",
            FIRST,
            Some(0.529),
            (0.464, 0.595),
            gloves.any(),
            true,
        ),
        (
            "soiled gown: any trace on the person",
            FIRST,
            Some(0.378),
            (0.311, 0.449),
            gown.any(),
            true,
        ),
        (
            "both, any trace",
            FIRST,
            Some(0.460),
            (0.412, 0.508),
            both(&|a| (1.0, a.any())),
            true,
        ),
        // 121/172, 79/263 and 172/435.
        (
            "both, any trace after a lapse",
            FIRST,
            Some(0.703),
            (0.629, 0.771),
            both(&lapsed(1)),
            true,
        ),
        (
            "both, any trace without a lapse",
            FIRST,
            Some(0.300),
            (0.246, 0.360),
            both(&lapsed(0)),
            true,
        ),
        (
            "removals with a lapse",
            FIRST,
            Some(0.395),
            (0.349, 0.443),
            both(&|a| (1.0, Share::of(a.repeats[1], a.all()))),
            true,
        ),
        (
            "gloves: hands ahead of the next site",
            FIRST,
            None,
            (0.0, 1.0),
            gloves.ahead(Group::Hands),
            true,
        ),
        (
            "gown: neck ahead of the next site",
            FIRST,
            None,
            (0.0, 1.0),
            gown.ahead(Group::Neck),
            true,
        ),
        // 8/34, 29/66.
        (
            "solution on gloves, recommended way: skin",
            SECOND,
            Some(0.235),
            (0.107, 0.412),
            skin(0),
            true,
        ),
        (
            "solution on gloves, another way: skin",
            SECOND,
            Some(0.439),
            (0.317, 0.567),
            skin(1),
            true,
        ),
        // 37/100, of whom 34 used the recommended way.
        (
            "solution on gloves, in all: skin",
            SECOND,
            Some(0.370),
            (0.276, 0.472),
            Share::mixed([(34.0, skin(0)), (66.0, skin(1))]),
            true,
        ),
        // The number of people was not to be found; the range is what 200 removals would leave open.
        (
            "both, after training with feedback",
            FIRST,
            Some(0.189),
            (0.137, 0.250),
            trained,
            true,
        ),
        // The trained wards began at 60.0 %, the study as a whole at 46.0 %: one usual trainee cannot be both.
        (
            "both, the same wards before training",
            FIRST,
            Some(0.600),
            (0.529, 0.668),
            both(&|a| (1.0, a.any())),
            false,
        ),
    ];
    Ok(rows
        .into_iter()
        .map(|(what, source, published, (low, high), ours, fitted)| Outcome {
            what,
            source,
            published,
            within: Interval { low, high },
            ours: ours.value,
            interval: ours.interval(),
            fitted,
        })
        .collect())
}
