//! Counting what targets get in repeats of one plan, on the way and at the end.

use crate::chance::Luck;
use crate::drill::{Beginning, Drill};
use crate::model::SiteIndex;
use crate::transfer::Books;

use super::live::{Live, live_from};
use super::runner::Drew;
use super::{Aim, Plan, Runner, Target};

/// What a target got in one repeat.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Found {
    /// How many: of moments added up, at the fullest of them, or on the second fullest of several places.
    pub count: u64,
    /// True if some site had enough at some moment to be seen or detected; where places are counted together, if two of
    /// them had such a site.
    pub seen: bool,
    /// On how many sites there was enough, at the moment at which there were most; where places are counted together, on
    /// how many of these.
    pub places: u32,
    /// Each moment, where several are added up; the last is the end.
    pub moments: Vec<AtMoment>,
}

/// What was there at one moment.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct AtMoment {
    /// Index of the action before which it is; the number of actions at the end.
    pub action: usize,
    /// How many.
    pub count: u64,
    /// True if some site had enough to be seen or detected.
    pub seen: bool,
}

/// A plan with its targets, made ready for repeats from one beginning.
#[derive(Clone, Debug)]
pub struct Counter<'a> {
    runner: Runner<'a>,
    aims: &'a [Aim],
    /// Position among the runner's steps, aim and moment, in order.
    stops: Vec<(usize, usize, usize)>,
    /// For each aim, the sources of the books that it does not count.
    uncounted: Vec<Vec<usize>>,
    seen_from: u64,
}

impl<'a> Counter<'a> {
    /// Makes a plan ready. `seen_from` is the smallest count on a site that is seen.
    pub fn new(plan: &'a Plan, beginning: &'a Beginning, aims: &'a [Aim], seen_from: u64) -> Counter<'a> {
        Counter::of(&live_from(plan, beginning), beginning, aims, seen_from)
    }

    /// Of the events that can carry something from a beginning.
    pub(super) fn of(
        live: &[Live<'a>],
        beginning: &'a Beginning,
        aims: &'a [Aim],
        seen_from: u64,
    ) -> Counter<'a> {
        let runner = Runner::of(live, beginning);
        let mut stops: Vec<(usize, usize, usize)> = aims
            .iter()
            .enumerate()
            .flat_map(|(a, aim)| {
                let moments = aim.moments.iter().enumerate();
                moments.map(move |(m, moment)| (moment.event, a, m))
            })
            .map(|(event, a, m)| (runner.position(event), a, m))
            .collect();
        stops.sort_unstable();
        let sources = beginning.books.sources();
        let uncounted = aims.iter().map(|aim| {
            let all = 0..sources.len();
            all.filter(|&n| !aim.counts_from(sources[n])).collect()
        });
        Counter {
            uncounted: uncounted.collect(),
            runner,
            aims,
            stops,
            seen_from,
        }
    }

    /// One repeat with this luck: what each aim got, in their order.
    pub fn count(&mut self, luck: Luck) -> Vec<Found> {
        let mut found = vec![Found::default(); self.aims.len()];
        self.runner.begin();
        for &(position, a, m) in &self.stops {
            let books = self.runner.run_to(position, luck);
            let aim = &self.aims[a];
            let there = There {
                books,
                uncounted: &self.uncounted[a],
            };
            let (count, places) = look(aim, m, there, luck, self.seen_from);
            let found = &mut found[a];
            let seen = places > u32::from(aim.asks_for_two());
            found.seen |= seen;
            found.places = found.places.max(places);
            if aim.linear().is_some() {
                found.count += count;
                if aim.moments.len() > 1 {
                    let action = aim.moments[m].action;
                    found.moments.push(AtMoment { action, count, seen });
                }
            } else {
                found.count = found.count.max(count);
            }
        }
        found
    }

    /// What the last repeat has drawn, for each event that can carry something.
    pub(super) fn drew(&self) -> &[Drew] {
        self.runner.drew()
    }

    /// The books at the end of the last repeat, carried on to the end with its luck.
    pub fn end(&mut self, luck: Luck) -> &Books {
        self.runner.run_to(usize::MAX, luck)
    }
}

/// What is on sites, without the sources that do not count.
#[derive(Clone, Copy)]
struct There<'a> {
    books: &'a Books,
    uncounted: &'a [usize],
}

impl There<'_> {
    fn on(self, site: SiteIndex) -> u64 {
        if !self.books.any(site) {
            return 0;
        }
        let row = self.books.row(site);
        let uncounted = self.uncounted.iter().map(|&source| row[source]);
        row.iter().sum::<u64>() - uncounted.sum::<u64>()
    }
}

/// How many count at a moment, and on how many sites, or places that are counted together, there is enough to be seen.
fn look(aim: &Aim, moment: usize, there: There<'_>, luck: Luck, seen_from: u64) -> (u64, u32) {
    if aim.asks_for_two() {
        let (mut sums, mut seen) = (vec![0; aim.lanes()], vec![false; aim.lanes()]);
        for counted in &aim.moments[moment].sites {
            let count = counted.count(there.on(counted.site), luck);
            sums[counted.lane] += count;
            seen[counted.lane] |= count >= seen_from;
        }
        sums.sort_unstable_by(|a, b| b.cmp(a));
        return (sums[1], seen.into_iter().map(u32::from).sum());
    }
    let (mut sum, mut places) = (0, 0);
    for counted in &aim.moments[moment].sites {
        let on_site = there.on(counted.site);
        if on_site > 0 {
            let count = counted.count(on_site, luck);
            sum += count;
            places += u32::from(count >= seen_from);
        }
    }
    match aim.one_surface() {
        true => (sum, u32::from(sum >= seen_from)),
        false => (sum, places),
    }
}

/// What each target got in a drill as it happened, so far.
///
/// # Errors
/// A sentence: the drill holds an action that its kit refuses.
pub fn found(drill: &Drill, targets: &[Target]) -> Result<Vec<Found>, String> {
    let setup = drill.setup();
    let beginning = drill.beginning();
    let actions: Vec<_> = drill.done().iter().map(|done| done.action.clone()).collect();
    let plan = Plan::new(setup, &beginning.state.faults, &actions).map_err(|e| e.to_string())?;
    let aims = Aim::all(setup, &plan, targets);
    let mut counter = Counter::new(&plan, beginning, &aims, setup.organism.seen_from);
    Ok(counter.count(Luck::new(drill.seed())))
}
