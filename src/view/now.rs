//! With the lamp on: where it is now and what the last touch moved. And what the sequence asks for next.

use crate::drill::{Done, Drill};
use crate::guidance::{Group, Order, align};
use crate::model::{Owner, Sequence};
use crate::transfer::{Cause, Flow};

use super::words::sentence;

/// One line of where it is.
#[derive(Clone, Debug, PartialEq)]
pub struct NowRow {
    /// Where.
    pub label: String,
    /// How much.
    pub count: u64,
    /// True if that is on the person rather than on the kit or the room.
    pub person: bool,
}

/// Where it is now: the person first, gravest first, then what is worn or held, then the room.
pub fn where_now(drill: &Drill) -> Vec<NowRow> {
    let setup = drill.setup();
    let totals = drill.books().totals();
    let sum = |pick: &dyn Fn(usize) -> bool| -> u64 {
        totals
            .iter()
            .enumerate()
            .filter(|&(site, _)| pick(site))
            .map(|(_, n)| n)
            .sum()
    };
    let group_of: Vec<Group> = (0..totals.len())
        .map(|site| Group::of(setup, drill, site))
        .collect();
    let mut rows = Vec::new();
    let mut clean = Vec::new();
    for group in Group::ALL.into_iter().filter(|g| g.is_person()) {
        let count = sum(&|site| group_of[site] == group);
        if count > 0 {
            rows.push(NowRow {
                label: sentence(group.label()),
                count,
                person: true,
            });
        } else {
            clean.push(group.label().to_owned());
        }
    }
    if !clean.is_empty() {
        rows.push(NowRow {
            label: sentence(&super::words::list(&clean)),
            count: 0,
            person: true,
        });
    }
    for (i, item) in setup.items.iter().enumerate().rev() {
        for (inside, word) in [(false, ""), (true, ", inside")] {
            let count = sum(&|site| {
                group_of[site] == Group::StillOn
                    && matches!(setup.sites[site].owner, Owner::Part(owner, _, face) if owner == i && face == inside)
            });
            if count > 0 {
                rows.push(NowRow {
                    label: sentence(&format!("{}{word}", item.label)),
                    count,
                    person: false,
                });
            }
        }
    }
    for group in [Group::Room, Group::Binned] {
        let count = sum(&|site| group_of[site] == group);
        if count > 0 {
            rows.push(NowRow {
                label: sentence(group.label()),
                count,
                person: false,
            });
        }
    }
    rows
}

/// True for what belongs to the patient: it only matters before the drill.
pub(super) fn is_patient(drill: &Drill, site: usize) -> bool {
    let setup = drill.setup();
    matches!(setup.sites[site].owner, Owner::Room(piece) if setup.library.furniture[piece].at.is_empty())
}

/// What the last action moved, told by its largest part.
#[derive(Clone, Debug, PartialEq)]
pub struct JustNow {
    /// From where.
    pub from: String,
    /// To where.
    pub to: String,
    /// How much.
    pub count: u64,
    /// Whether it was meant, such as `a brush that was not meant`.
    pub how: &'static str,
    /// True if it came onto the person.
    pub person: bool,
}

/// What the last action moved: what came onto the person if anything did, else the largest amount.
pub fn just_now(drill: &Drill) -> Option<JustNow> {
    moved(drill, drill.done().last()?).into_iter().next()
}

/// Everything an action moved, what came onto the person first, then by amount.
pub fn moved(drill: &Drill, done: &Done) -> Vec<JustNow> {
    let setup = drill.setup();
    let mut list = Vec::new();
    for (event, outcome) in done.flows() {
        let how = match event.cause {
            Cause::Touch => "a touch that was meant",
            Cause::Brush => "a brush that was not meant",
            Cause::Graze => "grazed unheeded",
            Cause::Shed => "shaken off",
            Cause::Leak => "through a hole or gap",
            Cause::Soak => "through wet cloth",
            Cause::Splash => "a splash",
            Cause::Mixing => "hands rubbed together",
            Cause::Hygiene => continue,
        };
        let (a, b) = match event.flow {
            Flow::Contact { a, b, .. } => (a, b),
            Flow::Splash { from, onto, .. } => (from, onto),
            Flow::Removal { .. } => continue,
        };
        for (from, to, count) in [(a, b, outcome.moved_ab), (b, a, outcome.moved_ba)] {
            if count == 0 {
                continue;
            }
            let own = |site: usize| matches!(setup.sites[site].owner, Owner::Body(_));
            list.push(JustNow {
                from: sentence(&setup.sites[from].label),
                to: setup.sites[to].label.clone(),
                count,
                how,
                person: own(to) && !own(from),
            });
        }
    }
    list.sort_by_key(|j| (!j.person, std::cmp::Reverse(j.count)));
    list
}

/// The first step of the sequence that has not been done, in its own words; none once all are done.
pub fn asked_next(drill: &Drill, sequence: &Sequence) -> Option<String> {
    align(drill, sequence)
        .iter()
        .find(|m| m.order == Order::Missed)
        .map(|m| sentence(&sequence.steps[m.step].ask))
}
