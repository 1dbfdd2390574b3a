//! How near it came where nothing ended on the person: what was clean at the start and met some of it on the way.

use crate::drill::{Done, Drill};
use crate::model::{Owner, SiteIndex};
use crate::transfer::Flow;

use super::now::is_patient;
use super::steps::describe;
use super::why::owner;
use super::words::clock;

/// Something that was clean at the start and has met some of it.
#[derive(Clone, Debug, PartialEq)]
pub struct NearRow {
    /// What it is: a bare hand, a face of an item, a piece of furniture.
    pub label: String,
    /// The most that was there after any action, organisms.
    pub most: u64,
    /// What is there at the end, organisms.
    pub left: u64,
    /// Index of the action that brought it to the most, to see it again.
    pub action: usize,
    /// Clock at the touch within that action which brought it there.
    pub at: String,
    /// What was done.
    pub text: String,
}

/// Rows shown at most.
const MOST: usize = 8;

/// How near it came.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NearView {
    /// What met some: the person first, then what lies against the person, then the rest; of each the fullest first.
    pub rows: Vec<NearRow>,
    /// True if some was on the person at any moment before the end.
    pub on_person: bool,
    /// How many more met some, beside those listed.
    pub more: usize,
}

/// One thing whose sites are counted together.
struct Thing {
    owner: Owner,
    label: String,
    now: u64,
    most: u64,
    action: usize,
    /// When it last got some, and when what made the most of it did, seconds.
    met: f64,
    filled: f64,
    /// True if it had some at any touch, even if none was left once the action was over.
    ever: bool,
}

/// What was clean at the start and met some of it.
pub fn near_you(drill: &Drill) -> NearView {
    let all = things(drill);
    let own = |thing: &Thing| matches!(thing.owner, Owner::Body(_));
    let start = drill.beginning().books.totals();
    let soiled =
        |site: SiteIndex| start[site] > 0 && matches!(drill.setup().sites[site].owner, Owner::Body(_));
    let on_person = all.iter().any(|t| own(t) && t.ever) || (0..start.len()).any(soiled);
    let met = met(all);
    let row = |thing: &Thing| {
        let done = &drill.done()[thing.action];
        NearRow {
            label: thing.label.clone(),
            most: thing.most,
            left: thing.now,
            action: thing.action,
            at: clock(thing.filled),
            text: describe(drill.setup(), &done.action),
        }
    };
    NearView {
        rows: met.iter().take(MOST).map(row).collect(),
        on_person,
        more: met.len().saturating_sub(MOST),
    }
}

/// Everything that was clean at the start, with what has met it since.
fn things(drill: &Drill) -> Vec<Thing> {
    let setup = drill.setup();
    let start = drill.beginning().books.totals();
    let mut things: Vec<Thing> = Vec::new();
    let mut of_site: Vec<Option<usize>> = Vec::with_capacity(start.len());
    for (site, known) in setup.sites.iter().enumerate() {
        if is_patient(drill, site) {
            of_site.push(None);
            continue;
        }
        let label = owner(setup, site);
        let at = things.iter().position(|t| t.label == label).unwrap_or_else(|| {
            things.push(Thing {
                owner: known.owner,
                label,
                now: 0,
                most: 0,
                action: 0,
                met: 0.0,
                filled: 0.0,
                ever: false,
            });
            things.len() - 1
        });
        things[at].now += start[site];
        of_site.push(Some(at));
    }
    let clean: Vec<bool> = things.iter().map(|t| t.now == 0).collect();
    for (action, done) in drill.done().iter().enumerate() {
        for (when, site, change) in changes(done) {
            if let Some(at) = of_site[site] {
                let thing = &mut things[at];
                thing.now = thing.now.saturating_add_signed(change);
                if change > 0 {
                    thing.met = when;
                }
                thing.ever |= thing.now > 0;
            }
        }
        // As it stands once the action is over: within it, skin meets what still covers it.
        for thing in things.iter_mut().filter(|t| t.now > t.most) {
            (thing.most, thing.action, thing.filled) = (thing.now, action, thing.met);
        }
    }
    things
        .into_iter()
        .zip(clean)
        .filter(|(_, clean)| *clean)
        .map(|(thing, _)| thing)
        .collect()
}

/// What has met some, nearest first.
fn met(things: Vec<Thing>) -> Vec<Thing> {
    let mut met: Vec<Thing> = things.into_iter().filter(|t| t.most > 0).collect();
    met.sort_by_key(|t| (distance(t.owner), std::cmp::Reverse(t.most)));
    met
}

/// How far from the person's skin: on it, on what lies against it, on the outside of what is worn, or in the room.
fn distance(owner: Owner) -> u8 {
    match owner {
        Owner::Body(_) => 0,
        Owner::Part(_, _, true) => 1,
        Owner::Part(_, _, false) => 2,
        Owner::Room(_) => 3,
    }
}

/// What an action changed at each patch and when (s), touch by touch.
fn changes(done: &Done) -> impl Iterator<Item = (f64, SiteIndex, i64)> {
    done.flows().flat_map(|(event, outcome)| {
        let (there, back) = (outcome.moved_ab as i64, outcome.moved_ba as i64);
        let change = match event.flow {
            Flow::Contact { a, b, .. } => [(a, back - there), (b, there - back)],
            Flow::Splash { from, onto, .. } => [(from, -there), (onto, there)],
            Flow::Removal { site, .. } => [(site, -there), (site, 0)],
        };
        change.map(|(site, change)| (event.at, site, change))
    })
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::{drill, play};
    use super::*;
    use crate::model::Setup;

    fn of_thing(setup: &Setup, label: &str) -> Vec<SiteIndex> {
        (0..setup.sites.len())
            .filter(|&site| owner(setup, site) == label)
            .collect()
    }

    /// What is told agrees with the books: before the drill it was clean, and at the end there is what the books have.
    #[test]
    fn what_met_some_was_clean_and_ends_as_the_books_have_it() {
        for script in [
            "double-gloves/practice-order-good",
            "classic-tracer/gown-by-front",
            "respiratory-room/answers-the-phone",
        ] {
            let drill = play(script, 7);
            let setup = drill.setup();
            let start = drill.beginning().books.totals();
            let view = near_you(&drill);
            assert!(!view.rows.is_empty(), "{script}: nothing met anything");
            for row in &view.rows {
                let sites = of_thing(setup, &row.label);
                assert!(!sites.is_empty(), "{script}: {}", row.label);
                assert!(sites.iter().all(|&s| start[s] == 0), "{script}: {}", row.label);
                let now: u64 = sites.iter().map(|&s| drill.books().total(s)).sum();
                assert_eq!(row.left, now, "{script}: {}", row.label);
                assert!(row.most >= now.max(1), "{script}: {row:?}");
            }
        }
    }

    #[test]
    fn what_met_some_is_told_with_its_moment_within_the_action() {
        let drill = play("double-gloves/practice-order-good", 7);
        let mut later = 0;
        for thing in met(things(&drill)) {
            let done = &drill.done()[thing.action];
            assert!(
                done.began <= thing.filled && thing.filled <= done.ended,
                "{}: {} s is not within {} s to {} s",
                thing.label,
                thing.filled,
                done.began,
                done.ended
            );
            later += usize::from(thing.filled > done.began);
        }
        assert!(later > 0, "all was met as actions began");
    }

    /// Before the action that is named there was less, and after it there is as much as is told.
    #[test]
    fn the_action_named_is_the_one_that_brought_it_there() {
        let whole = play("double-gloves/practice-order-good", 7);
        for thing in met(things(&whole)) {
            let mut again = Drill::begin(whole.setup().clone(), whole.seed());
            let most = |drill: &Drill| {
                let now = met(things(drill));
                now.iter().find(|t| t.label == thing.label).map_or(0, |t| t.most)
            };
            for done in &whole.done()[..thing.action] {
                again.act(done.action.clone()).expect("it was possible");
            }
            assert!(most(&again) < thing.most, "{} was as full before", thing.label);
            let named = whole.done()[thing.action].action.clone();
            again.act(named).expect("it was possible");
            assert_eq!(most(&again), thing.most, "{}", thing.label);
        }
    }

    #[test]
    fn the_person_comes_first_and_what_was_never_met_is_not_told() {
        let soiled = play("classic-tracer/rubbed-eye", 3);
        let all = met(things(&soiled));
        assert!(all.iter().map(|t| distance(t.owner)).is_sorted());
        assert!(matches!(all[0].owner, Owner::Body(_)), "{}", all[0].label);
        assert!(near_you(&soiled).on_person);
        let view = near_you(&soiled);
        assert_eq!(view.rows.len() + view.more, all.len());
        assert_eq!(near_you(&drill("classic-tracer")), NearView::default());
    }
}
