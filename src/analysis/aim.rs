//! A target made concrete for one plan: which sites are looked at before which events, what an organism there counts,
//! and how the moments are put together. Does not know what is repeated.

use std::borrow::Cow;

use crate::chance::{Key, Luck, Purpose, beta, binomial};
use crate::model::{BodyArea, Efficiency, Owner, Setup, SiteIndex};

use super::coefficients::Coefficients;
use super::target::next_contacts;
use super::{Plan, Target};

/// What a target counts in one plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Aim {
    pub(super) moments: Vec<Moment>,
    together: Together,
    /// True if everything counted lands on one surface, so that together it is seen or not.
    one_surface: bool,
    /// Sites in ascending order; what sat there at the start is not counted, wherever it ends.
    own: Vec<SiteIndex>,
}

/// A moment at which sites are looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// Index of the action before which it is; the number of actions at the end.
    pub action: usize,
    /// Index of the event before which it is; the number of events at the end.
    pub(super) event: usize,
    /// What is looked at.
    pub(super) sites: Vec<Counted>,
}

/// A site that is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Counted {
    pub site: SiteIndex,
    /// With which chance an organism there counts; none if each does.
    pass: Option<Pass>,
    /// Of which sum of its aim it is a part, below [`Aim::lanes`].
    pub lane: usize,
}

/// A chance to be passed on.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Pass {
    key: Key,
    share: f64,
    law: Efficiency,
}

/// How moments are put together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Together {
    /// Added up.
    Sum,
    /// The largest of them.
    Largest,
    /// The second largest of the parts of the body.
    SecondPlace,
}

impl Counted {
    /// What one organism there counts: its chance, on average or as drawn.
    pub(super) fn weight(&self, with: Coefficients) -> f64 {
        let Some(pass) = self.pass else { return 1.0 };
        let efficiency = match with {
            Coefficients::Mean | Coefficients::Sort(_) | Coefficients::Apart => pass.law.mean,
            Coefficients::Drawn(luck) => beta(&mut luck.stream(pass.key, Purpose::EfficiencyAb), pass.law),
        };
        pass.share * efficiency
    }

    /// How many of those on the site count.
    pub(super) fn count(&self, on_site: u64, luck: Luck) -> u64 {
        match self.pass {
            Some(pass) if on_site > 0 => {
                let chance = self.weight(Coefficients::Drawn(luck));
                binomial(&mut luck.stream(pass.key, Purpose::Handed), on_site, chance)
            }
            _ => on_site,
        }
    }
}

/// A target with what counts at it in whatever plan of a setup: worked out once for many plans.
#[derive(Clone, Debug)]
pub(super) struct Sought {
    /// The target.
    pub target: Target,
    /// Sites that count at the end wherever items are then.
    fixed: Vec<Counted>,
    own: Vec<SiteIndex>,
}

impl Sought {
    /// A target in a setup.
    pub fn new(setup: &Setup, target: Target) -> Sought {
        Sought {
            target,
            fixed: target
                .fixed(setup)
                .into_iter()
                .map(|site| whole(setup, target, site))
                .collect(),
            own: target.own(setup),
        }
    }

    /// What it counts in one plan.
    pub fn in_plan(&self, setup: &Setup, plan: &Plan) -> Aim {
        let target = self.target;
        let counted = |site: SiteIndex| whole(setup, target, site);
        let each = |sites: &[SiteIndex]| sites.iter().map(|&site| counted(site)).collect();
        let mut moments: Vec<Moment> = plan
            .parts
            .iter()
            .enumerate()
            .filter(|(_, placed)| match target {
                Target::HandsBeforeCleaning => placed.part.cleans_skin,
                Target::HandsPeak => true,
                _ => false,
            })
            .map(|(action, placed)| Moment {
                action,
                event: placed.first,
                sites: each(&placed.part.bare_hands),
            })
            .collect();
        let end = if target == Target::NextPatient {
            let passed = next_contacts(setup, &plan.end).into_iter();
            passed
                .map(|on| Counted {
                    site: on.site,
                    pass: Some(Pass {
                        key: on.key,
                        share: on.share,
                        law: on.law,
                    }),
                    lane: 0,
                })
                .collect()
        } else {
            let dropped = target.dropped(setup, &plan.end);
            let mut sites = self.fixed.clone();
            sites.extend(dropped.map(counted));
            sites.sort_unstable_by_key(|counted| counted.site);
            sites
        };
        moments.push(Moment {
            action: plan.actions.len(),
            event: plan.len(),
            sites: end,
        });
        Aim {
            moments,
            together: match target {
                Target::HandsPeak => Together::Largest,
                Target::TwoPlaces => Together::SecondPlace,
                _ => Together::Sum,
            },
            one_surface: target == Target::NextPatient,
            own: self.own.clone(),
        }
    }
}

/// A site where each organism counts.
fn whole(setup: &Setup, target: Target, site: SiteIndex) -> Counted {
    let lane = match setup.sites[site].owner {
        Owner::Body(place) if target == Target::TwoPlaces => {
            BodyArea::of(&setup.library.places[place]) as usize
        }
        _ => 0,
    };
    Counted {
        site,
        pass: None,
        lane,
    }
}

impl Aim {
    /// A target in a plan.
    pub fn new(setup: &Setup, plan: &Plan, target: Target) -> Aim {
        Sought::new(setup, target).in_plan(setup, plan)
    }

    /// All targets in a plan.
    pub fn all(setup: &Setup, plan: &Plan, targets: &[Target]) -> Vec<Aim> {
        targets
            .iter()
            .map(|&target| Aim::new(setup, plan, target))
            .collect()
    }

    /// Its moments, in order; the last is the end.
    pub fn moments(&self) -> &[Moment] {
        &self.moments
    }

    /// The moments that are added up; none if they are put together in another way, so that the count is no sum over
    /// organisms and has no exact expectation here.
    pub fn linear(&self) -> Option<&[Moment]> {
        (self.together == Together::Sum).then_some(&self.moments)
    }

    /// True if what sat on a site at the start counts, wherever it ends.
    pub fn counts_from(&self, source: SiteIndex) -> bool {
        self.own.binary_search(&source).is_err()
    }

    /// Counts at the start, per site, without what does not count.
    pub fn start_of<'s>(&self, start: &'s [f64]) -> Cow<'s, [f64]> {
        let on_own = |site: &SiteIndex| start[*site] > 0.0;
        if !self.own.iter().any(on_own) {
            return Cow::Borrowed(start);
        }
        let mut start = start.to_owned();
        self.own.iter().for_each(|&site| start[site] = 0.0);
        Cow::Owned(start)
    }

    /// How many sums it keeps apart at each moment: one, unless places are counted together.
    pub(super) fn lanes(&self) -> usize {
        match self.together {
            Together::Sum | Together::Largest => 1,
            Together::SecondPlace => BodyArea::ALL.len(),
        }
    }

    /// True if two places at least must have something for anything to count.
    pub(super) fn asks_for_two(&self) -> bool {
        self.together == Together::SecondPlace
    }

    /// True if everything counted lands on one surface.
    pub(super) fn one_surface(&self) -> bool {
        self.one_surface
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::content::Content;

    /// What is worked out once for a setup counts what each plan would by itself, whatever lies on the floor at its end.
    #[test]
    fn what_counts_at_the_end_is_what_each_site_says() {
        let content = Content::builtin().expect("built-in content has no faults");
        let mut dropped = 0;
        for (name, script) in &content.scripts {
            let scenario = content
                .library
                .scenario(&script.scenario)
                .expect("it is built in");
            let setup = Setup::new(content.library.clone(), scenario).expect("it can be set up");
            let setup = Arc::new(setup);
            let plan = Plan::new(&setup, &[], &script.actions).expect("it can be done");
            for (_, target) in Target::ALL {
                if target == Target::NextPatient {
                    continue;
                }
                let weights = target.weights(&setup, &plan.end);
                let wanted: Vec<SiteIndex> = (0..weights.len()).filter(|&s| weights[s] > 0.0).collect();
                let aim = Aim::new(&setup, &plan, target);
                let end = aim.moments().last().expect("the end is one");
                let found: Vec<SiteIndex> = end.sites.iter().map(|counted| counted.site).collect();
                assert_eq!(found, wanted, "{name}, {}", target.word());
                dropped += target.dropped(&setup, &plan.end).count();
            }
        }
        assert!(dropped > 0, "nothing ever lies on the floor");
    }
}
