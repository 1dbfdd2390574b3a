//! Real people who were watched, as a group: how often each step was done, not done or not seen. Apart from everything at the screen,
//! and never by person. Two pages of one occasion are one.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::chance::Key;
use crate::record::Code;

use super::agree::SAME_OCCASION;
use super::halves::Halves;
use super::judged::{Decision, Verdict};
use super::share::{Counting, People, Share};
use super::{Judged, Moment, Named, Watching};

/// Pages of real people by one sequence or checklist, taken together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WatchedTally {
    /// What was watched: taking off or putting on.
    pub watching: Watching,
    /// The sequence or checklist.
    pub sequence: Named,
    /// Occasions; one that two people watched counts once, as the stricter of them has it.
    pub occasions: u64,
    /// People with a code.
    pub people: u64,
    /// Occasions that passed, as whoever watched decided.
    pub passed: Share,
    /// The same before and from a day on, if one was named.
    pub halves: Option<Halves>,
    /// Each step in the order asked.
    pub steps: Vec<WatchedStep>,
    /// Each critical error that was looked for, in the order of the page, with the occasions in which it was seen.
    pub critical: Vec<(String, Share)>,
}

/// A step over all occasions in which it belonged to the kit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WatchedStep {
    /// Its id.
    pub step: String,
    /// What is asked.
    pub ask: String,
    /// How often it was seen done as asked.
    pub done: u64,
    /// How often it was seen left out, or not done as asked.
    pub not_done: u64,
    /// How often it was not seen.
    pub not_seen: u64,
    /// How many different people are behind each of the three: whoever has no code is somebody else each time.
    pub behind: [u64; 3],
}

/// What tells pages of one occasion apart from those of another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Sight {
    /// Code of whoever was watched, as it is compared; nobody's pages are never of one occasion.
    pub who: Option<String>,
    /// Who watched, likewise.
    pub observer: Option<String>,
    /// What was watched.
    pub watching: Watching,
    /// Id of the sequence or checklist.
    pub sequence: String,
    /// When it began.
    pub began: Moment,
}

/// A page of a real person as a tally sees it.
pub(super) struct Page {
    pub sight: Sight,
    pub sequence: Named,
    pub decision: Decision,
    /// Id, what is asked, and what is said of it.
    pub steps: Vec<(String, String, Verdict)>,
    /// Critical errors that were looked for.
    pub critical: Vec<LookedFor>,
}

impl Page {
    /// Who was watched, as a number, if there is a code.
    fn who(&self) -> Option<u64> {
        self.sight.who.as_ref().map(|code| Key::of(code).0)
    }
}

/// A critical error that was looked for.
pub(super) struct LookedFor {
    pub kind: String,
    /// What it is.
    pub what: String,
    /// True if it was seen.
    pub stands: bool,
}

/// An occasion: the place of its first page, and who watched it.
struct Occasion<'a> {
    first: usize,
    observers: Vec<Option<&'a str>>,
}

/// For each page the place of the first page of its occasion: the same person, the same sequence, another observer, begun within
/// [`SAME_OCCASION`] of it.
pub(super) fn occasions(sights: &[&Sight]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..sights.len()).collect();
    order.sort_by_key(|&n| (sights[n].began.millis(), n));
    let mut first: Vec<usize> = (0..sights.len()).collect();
    // The latest occasion of each person at each sequence.
    let mut open: BTreeMap<(&str, bool, &str), Occasion<'_>> = BTreeMap::new();
    for n in order {
        let sight = sights[n];
        let Some(who) = sight.who.as_deref() else { continue };
        let observer = sight.observer.as_deref();
        let key = (who, sight.watching == Watching::PuttingOn, &*sight.sequence);
        if let Some(known) = open.get_mut(&key) {
            let apart = (sight.began.millis() - sights[known.first].began.millis()).abs() as f64 / 1000.0;
            if apart <= SAME_OCCASION && !known.observers.contains(&observer) {
                known.observers.push(observer);
                first[n] = known.first;
                continue;
            }
        }
        let fresh = Occasion {
            first: n,
            observers: vec![observer],
        };
        open.insert(key, fresh);
    }
    first
}

/// For each sheet of a real person, the place of the first sheet of the same occasion among those given.
pub fn same_occasions(sheets: &[(Option<&Code>, &Judged)]) -> Vec<usize> {
    let sights: Vec<Sight> = sheets
        .iter()
        .map(|(code, sheet)| Sight {
            who: code.map(Code::folded),
            observer: sheet.observer.as_ref().map(Code::folded),
            watching: sheet.watching,
            sequence: sheet.sequence.id.clone(),
            began: sheet.began,
        })
        .collect();
    occasions(&sights.iter().collect::<Vec<_>>())
}

/// The stricter of what two said of a step: whoever saw it left out is believed, then whoever saw it done.
fn stricter(one: Verdict, other: Verdict) -> Verdict {
    let strict = |verdict: Verdict| match verdict {
        Verdict::NotMet => 3,
        Verdict::Met => 2,
        Verdict::NotSeen => 1,
        Verdict::NotApplicable => 0,
    };
    if strict(other) > strict(one) { other } else { one }
}

/// Adds pages up, for each sequence or checklist, taking off before putting on and then in the order of their ids.
pub(super) fn add_up(pages: Vec<Page>, split: Option<Date>) -> Vec<WatchedTally> {
    let first = occasions(&pages.iter().map(|page| &page.sight).collect::<Vec<_>>());
    let mut kept: BTreeMap<usize, Page> = BTreeMap::new();
    let mut later: Vec<(usize, Page)> = Vec::new();
    for (n, page) in pages.into_iter().enumerate() {
        if first[n] == n {
            kept.insert(n, page);
        } else {
            later.push((first[n], page));
        }
    }
    for (at, page) in later {
        let Some(whole) = kept.get_mut(&at) else { continue };
        if page.decision != Decision::Passed {
            whole.decision = page.decision;
        }
        for (id, ask, verdict) in page.steps {
            match whole.steps.iter_mut().find(|(known, ..)| *known == id) {
                Some(step) => step.2 = stricter(step.2, verdict),
                None => whole.steps.push((id, ask, verdict)),
            }
        }
        // Whoever saw one is believed.
        for one in page.critical {
            match whole.critical.iter_mut().find(|known| known.kind == one.kind) {
                Some(known) => known.stands |= one.stands,
                None => whole.critical.push(one),
            }
        }
    }
    let mut groups: BTreeMap<(bool, String), Vec<Page>> = BTreeMap::new();
    for page in kept.into_values() {
        let putting_on = page.sight.watching == Watching::PuttingOn;
        groups
            .entry((putting_on, page.sequence.id.clone()))
            .or_default()
            .push(page);
    }
    groups
        .into_values()
        .filter_map(|pages| group(&pages, split))
        .collect()
}

/// Occasions by one sequence or checklist.
fn group(pages: &[Page], split: Option<Date>) -> Option<WatchedTally> {
    let last = pages.last()?;
    let mut people: Vec<&String> = pages.iter().filter_map(|page| page.sight.who.as_ref()).collect();
    people.sort_unstable();
    people.dedup();
    let mut passed = Counting::default();
    let mut behind: Vec<[People; 3]> = Vec::new();
    let mut steps: Vec<WatchedStep> = Vec::new();
    let mut critical: Vec<(&LookedFor, Counting)> = Vec::new();
    for page in pages {
        let who = page.who();
        for one in &page.critical {
            let at = critical.iter().position(|(known, _)| known.kind == one.kind);
            let at = at.unwrap_or_else(|| {
                critical.push((one, Counting::default()));
                critical.len() - 1
            });
            critical[at].1.add(who, one.stands);
        }
        if page.decision != Decision::Open {
            passed.add(who, page.decision == Decision::Passed);
        }
        for (id, ask, verdict) in &page.steps {
            let at = steps.iter().position(|step| step.step == *id);
            let at = at.unwrap_or_else(|| {
                steps.push(WatchedStep {
                    step: id.clone(),
                    ask: ask.clone(),
                    done: 0,
                    not_done: 0,
                    not_seen: 0,
                    behind: [0; 3],
                });
                behind.push(Default::default());
                steps.len() - 1
            });
            let step = &mut steps[at];
            let (n, count) = match verdict {
                Verdict::Met => (0, &mut step.done),
                Verdict::NotMet => (1, &mut step.not_done),
                Verdict::NotSeen => (2, &mut step.not_seen),
                Verdict::NotApplicable => continue,
            };
            *count += 1;
            behind[at][n].add(who);
            step.behind[n] = behind[at][n].count();
        }
    }
    steps.retain(|step| step.done + step.not_done + step.not_seen > 0);
    Some(WatchedTally {
        watching: last.sight.watching,
        sequence: last.sequence.clone(),
        occasions: pages.len() as u64,
        people: people.len() as u64,
        passed: passed.share(),
        halves: split.map(|split| {
            let decided = pages.iter().filter(|page| page.decision != Decision::Open);
            let each = decided.map(|page| {
                let passed = page.decision == Decision::Passed;
                (page.who(), page.sight.began, passed)
            });
            Halves::of(each, split)
        }),
        steps,
        critical: critical
            .into_iter()
            .map(|(one, counted)| (one.what.clone(), counted.share()))
            .collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(who: Option<&str>, observer: &str, minute: u64, said: [Verdict; 2], decision: Decision) -> Page {
        let step = |id: &str, verdict| (id.to_owned(), format!("Ask {id}"), verdict);
        Page {
            sight: Sight {
                who: who.map(str::to_owned),
                observer: Some(observer.to_owned()),
                watching: Watching::TakingOff,
                sequence: "one".to_owned(),
                began: Moment::of_seconds(1_700_000_000 + minute * 60).expect("a moment"),
            },
            sequence: Named {
                id: "one".to_owned(),
                label: "One".to_owned(),
            },
            decision,
            steps: vec![step("a", said[0]), step("b", said[1])],
            critical: vec![LookedFor {
                kind: "touched-face".to_owned(),
                what: "Touched the face".to_owned(),
                stands: said[0] == Verdict::NotMet,
            }],
        }
    }

    #[test]
    fn one_occasion_that_two_watched_counts_once_as_the_stricter_has_it() {
        use Verdict::{Met, NotApplicable, NotMet, NotSeen};
        let pages = vec![
            page(Some("k7"), "ab", 0, [Met, NotSeen], Decision::Passed),
            page(Some("k7"), "cd", 10, [NotMet, Met], Decision::Again),
            // The same observer again, too long after the first, another person, nobody named.
            page(Some("k7"), "ab", 9, [Met, Met], Decision::Passed),
            page(Some("k7"), "cd", 60, [Met, NotSeen], Decision::Passed),
            page(Some("k8"), "cd", 1, [NotApplicable, Met], Decision::Passed),
            page(None, "ab", 1, [Met, Met], Decision::Passed),
            page(None, "cd", 1, [Met, Met], Decision::Passed),
        ];
        let found = add_up(pages, None);
        assert_eq!(found.len(), 1);
        let of = &found[0];
        assert_eq!((of.occasions, of.people), (6, 2));
        let told: Vec<(&str, u64, u64, u64)> = of
            .steps
            .iter()
            .map(|s| (s.step.as_str(), s.done, s.not_done, s.not_seen))
            .collect();
        // What `cd` saw ten minutes after belongs to the occasion that is open then: the one of minute 9.
        assert_eq!(told, [("a", 4, 1, 0), ("b", 4, 0, 2)]);
        // Three of k7, one of k8, and two without a code, who are somebody each.
        let passed = Share {
            hits: 5,
            of: 6,
            behind: [4, 1],
        };
        assert_eq!(of.passed, passed);
        assert_eq!(of.steps[0].behind, [3, 1, 0]);
        // One of two who watched that occasion saw it.
        let seen = Share {
            hits: 1,
            of: 6,
            behind: [1, 4],
        };
        assert_eq!(of.critical, [("Touched the face".to_owned(), seen)]);
    }

    /// A day divides occasions, and people by the latest of theirs on either side.
    #[test]
    fn a_day_divides_occasions() {
        use Verdict::Met;
        let day = 24 * 60;
        let of = |who, minute, decision| page(Some(who), "ab", minute, [Met, Met], decision);
        let pages = vec![
            of("k7", 0, Decision::Passed),
            of("k7", 30, Decision::Again),
            of("k8", 0, Decision::Again),
            of("k7", 3 * day, Decision::Passed),
            of("k8", 3 * day, Decision::Again),
            of("k9", 3 * day, Decision::Passed),
        ];
        let split = pages[3].sight.began.date();
        let halves = add_up(pages, Some(split))[0].halves.expect("a day is named");
        assert_eq!(
            halves,
            Halves {
                before: Share {
                    hits: 1,
                    of: 3,
                    behind: [1, 2],
                },
                after: Share {
                    hits: 2,
                    of: 3,
                    behind: [2, 1],
                },
                pairs: [0, 0, 1, 1],
                people: [2, 3],
            }
        );
    }

    #[test]
    fn taking_off_and_putting_on_are_told_apart() {
        let mut on = page(Some("k7"), "ab", 0, [Verdict::Met; 2], Decision::Passed);
        on.sight.watching = Watching::PuttingOn;
        let off = page(Some("k7"), "cd", 0, [Verdict::Met; 2], Decision::Passed);
        let found = add_up(vec![on, off], None);
        let watched: Vec<Watching> = found.iter().map(|of| of.watching).collect();
        assert_eq!(watched, [Watching::TakingOff, Watching::PuttingOn]);
    }
}
