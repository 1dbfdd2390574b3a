//! What may be said of ways that were compared, in sentences that window, pictures and command line share. The measure is
//! always the share of people who get enough to be seen; it is named beside every number.

use crate::analysis::{Amounts, Comparison, Interval, Pair, Side, TargetComparison, Verdict};
use crate::model::{Class, Organism, Telling};

use super::words::{
    count, decimals, figure, many, of_hundred, of_hundred_exactly, parts_of_hundred, percent,
};

/// What is counted of people, such as "enough to be seen, 5 or more on one patch".
pub fn measure_words(organism: &Organism) -> String {
    match (organism.seen_from, organism.class) {
        (..=1, _) => "any at all".to_owned(),
        (from, Class::Tracer) => format!(
            "enough to be seen under the lamp, {} or more on one patch",
            count(from)
        ),
        (from, _) => format!("enough to be detected, {} or more on one patch", count(from)),
    }
}

/// Which of two brings less, as a sentence without a full stop.
pub fn verdict_sentence(comparison: &Comparison, target: &TargetComparison, pair: &Pair) -> String {
    let names = [pair.first, pair.second].map(|n| comparison.contenders[n].as_str());
    let ways = [pair.first, pair.second].map(|n| &target.contenders[n]);
    let people = ways.map(|way| of_hundred(way.seen));
    let [a, b] = names;
    let means = ways.map(|way| figure(way.counts.mean));
    let amounts = |less: usize| {
        let other = 1 - less;
        format!(
            "{} leaves less on average, {} against {}",
            names[less], means[less], means[other]
        )
    };
    let less = |less: usize| {
        let other = 1 - less;
        format!(
            "{} brings less: {} with it, {} with {}",
            names[less], people[less], people[other], names[other]
        )
    };
    match pair.verdict {
        Verdict::FirstLess => less(0),
        Verdict::SecondLess => less(1),
        Verdict::Torn => {
            let fewer = usize::from(ways[1].seen < ways[0].seen);
            format!("{}; but {}", less(fewer), amounts(1 - fewer))
        }
        Verdict::Alike => {
            let same = if people[0] == people[1] {
                format!("much the same: {} with either {a} or {b}", people[0])
            } else {
                format!("much the same: {} with {a}, {} with {b}", people[0], people[1])
            };
            match pair.amounts {
                Amounts::FirstLess => format!("{same}; {}", amounts(0)),
                Amounts::SecondLess => format!("{same}; {}", amounts(1)),
                Amounts::Alike => same,
            }
        }
        Verdict::Equal => format!(
            "no difference between {a} and {b}: as many in every one of {}, {} with either",
            many(comparison.repeats, "repeat"),
            people[0]
        ),
        Verdict::TooFew => format!(
            "too few to tell: {} with {a} and {} with {b}, of {}",
            hits(ways[0].seen, comparison.repeats),
            hits(ways[1].seen, comparison.repeats),
            many(comparison.repeats, "repeat")
        ),
        Verdict::Unsure | Verdict::FirstNoMore | Verdict::SecondNoMore => format!(
            "too few to tell: {} with {a}, {} with {b}, after {}",
            people[0],
            people[1],
            many(comparison.repeats, "repeat")
        ),
    }
}

/// In how many of so many repeats a share of them was.
fn hits(share: f64, repeats: u64) -> u64 {
    (share * repeats as f64).round() as u64
}

/// A share of people as counted in repeats, by hundreds of people or, where there are fewer than tell anything, by repeats.
pub fn counted_people(telling: Option<&Telling>, share: f64, interval: Interval, repeats: u64) -> String {
    match telling {
        Some(telling) if repeats < telling.too_few => format!(
            "in {} of {}, too few to tell of people",
            hits(share, repeats),
            many(repeats, "repeat")
        ),
        _ => of_hundred_exactly(share, interval),
    }
}

/// The same in per cent, without a word of people.
pub fn counted_share(telling: Option<&Telling>, share: f64, interval: Interval, repeats: u64) -> String {
    match telling {
        Some(telling) if repeats < telling.too_few => format!("in {}", hits(share, repeats)),
        _ => percent(share, interval),
    }
}

/// Repeat by repeat: how often the first leaves fewer, more and as many. Without a full stop.
pub fn by_repeat(comparison: &Comparison, pair: &Pair) -> String {
    let [a, b] = [pair.first, pair.second].map(|n| comparison.contenders[n].as_str());
    if pair.verdict == Verdict::TooFew {
        let [fewer, equal, more] =
            [&pair.fewer, &pair.equal, &pair.more].map(|share| hits(share.share, comparison.repeats));
        return format!(
            "of {}, each with the same start and the same draws of chance for both, {a} leaves fewer than {b} in {fewer}, as many in {equal} and more in {more}",
            many(comparison.repeats, "repeat")
        );
    }
    let shares = [&pair.fewer, &pair.equal, &pair.more].map(|share| share.share);
    let parts = parts_of_hundred(shares);
    let often = |n: usize| match shares[n] {
        p if p <= 0.0 => "in none".to_owned(),
        p if p >= 1.0 => "in all".to_owned(),
        p if p < 0.005 => "in hardly any".to_owned(),
        p if p >= 0.995 => "in nearly all".to_owned(),
        _ => format!("in {}", parts[n]),
    };
    format!(
        "of 100 attempts, both ways with the same start and the same draws of chance, {a} leaves fewer than {b} {}, as many {} and more {}",
        often(0),
        often(1),
        often(2)
    )
}

/// A mean with its interval; one repeat has none.
pub fn mean_words(mean: f64, interval: Interval) -> String {
    let [mean, low, high] = [mean, interval.low, interval.high].map(|value| decimals(value, 3));
    if interval.low.is_finite() && interval.high.is_finite() {
        format!("{mean} ({low} to {high})")
    } else {
        format!("{mean} (no interval from one repeat)")
    }
}

/// A mean that was counted: with its interval only where there are enough repeats for one.
pub fn counted_mean(telling: Option<&Telling>, mean: f64, interval: Interval, repeats: u64) -> String {
    match telling {
        Some(telling) if repeats < telling.too_few => {
            format!("{} (too few repeats for an interval)", decimals(mean, 3))
        }
        _ => mean_words(mean, interval),
    }
}

/// A mean, or the difference of two, by the exact expectation, if there is one.
pub fn exact_words(mean: Option<f64>) -> String {
    mean.map_or_else(
        || "no exact mean".to_owned(),
        |mean| format!("exactly {}", decimals(mean, 3)),
    )
}

/// What people who lapse make of a script.
pub const SCRIPT_LAPSES: &str = "whoever lapses keeps a script's order, doses and times as they are written; of a sequence they choose what is usual";

/// What people who lapse make of a script, where they do one of these ways; none where all are sequences. A sequence leaves
/// much to them, a script nothing but their lapses, so the same way in both has other people in it.
pub fn scripts_words(sides: &[Side]) -> Option<&'static str> {
    match sides.iter().filter(|side| side.sequence.is_none()).count() {
        0 => None,
        all if all == sides.len() => Some(SCRIPT_LAPSES),
        _ => Some(
            "whoever lapses keeps a script's order, doses and times as they are written, and of a sequence chooses what is usual: \
             part of a difference between the two may be that",
        ),
    }
}
