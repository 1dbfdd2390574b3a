//! What came before a day beside what came from it on.

use jiff::civil::Date;
use rustc_hash::FxHashMap;

use super::Moment;
use super::share::{Counting, Share};

/// Attempts or occasions before and from a day on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Halves {
    /// Passed before.
    pub before: Share,
    /// Passed from that day on.
    pub after: Share,
    /// Of people who have some on both sides, the latest of each: passed both times, only before, only after, neither.
    pub pairs: [u64; 4],
    /// Different people on either side: whoever has no code is somebody else each time.
    pub people: [u64; 2],
}

impl Halves {
    /// Of occasions by who (as far as is known), when, and whether they passed.
    pub(super) fn of(occasions: impl Iterator<Item = (Option<u64>, Moment, bool)>, split: Date) -> Halves {
        let mut sides = [Counting::default(), Counting::default()];
        let mut nameless = [0; 2];
        let mut latest: FxHashMap<u64, [Option<(i64, bool)>; 2]> = FxHashMap::default();
        for (who, began, passed) in occasions {
            let side = usize::from(began.date() >= split);
            sides[side].add(who, passed);
            nameless[side] += u64::from(who.is_none());
            if let Some(who) = who {
                let at = (began.millis(), passed);
                let newest = &mut latest.entry(who).or_default()[side];
                *newest = Some(newest.map_or(at, |known| known.max(at)));
            }
        }
        let [before, after] = sides.map(|side| side.share());
        let mut halves = Halves {
            before,
            after,
            pairs: [0; 4],
            people: nameless,
        };
        for sides in latest.values() {
            for (people, side) in halves.people.iter_mut().zip(sides) {
                *people += u64::from(side.is_some());
            }
            if let [Some((_, before)), Some((_, after))] = sides {
                halves.pairs[match (before, after) {
                    (true, true) => 0,
                    (true, false) => 1,
                    (false, true) => 2,
                    (false, false) => 3,
                }] += 1;
            }
        }
        halves
    }
}
