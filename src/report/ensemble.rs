//! An ensemble as a content file, and ranges over its members in words.

use std::fmt::Write;

use crate::analysis::{
    Agreed, Alone, Comparison, Doubted, Gain, Hang, Interval, Number, Ranged, Verdict, Versed,
};
use crate::model::{Ensemble, Library, Setup, Telling};

use super::verdict::verdict_sentence;
use super::words::{figure, of_hundred, parts_of_hundred};

/// An ensemble as the content file that it is read from.
pub fn ensemble_file(ensemble: &Ensemble) -> String {
    let words = |all: &[String]| {
        all.iter()
            .map(|w| format!("        {w:?},\n"))
            .collect::<String>()
    };
    let numbers = |all: &[f64]| {
        let each: Vec<String> = all.iter().map(|n| format!("{n}")).collect();
        each.join(", ")
    };
    let mut text = String::from(
        "// Sets of values for all that is unsure, as published counts leave them; written by `smirch calibrate --out`, from the\n\
         // method of doubt.ron. Each has standard scores for the constants that were weighed: 0 is the stated value, -1.645 and\n\
         // 1.645 are the ends of the stated range; what the counts say nothing of is drawn by its numbers. `shares` and `errors`\n\
         // are what it gives for the counts; `line` is the first set that it descends from. What is `unplayed` is played by no study\n\
         // and drawn as stated. `predicted` is each count from the other studies alone: the share, and what would be counted among\n\
         // as many.\n(\n    format: 1,\n",
    );
    let _ = writeln!(text, "    constants: [\n{}    ],", words(&ensemble.constants));
    let _ = writeln!(text, "    unplayed: [\n{}    ],", words(&ensemble.unplayed));
    let _ = writeln!(text, "    counts: [\n{}    ],", words(&ensemble.counts));
    let _ = writeln!(text, "    steps: [{}],", numbers(&ensemble.steps));
    let _ = writeln!(text, "    taken: {},", ensemble.taken);
    text.push_str("    members: [\n");
    for m in &ensemble.members {
        let _ = writeln!(
            text,
            "        (numbers: [{}], line: {}, scores: [{}], shares: [{}], errors: [{}]),",
            m.numbers
                .iter()
                .map(u64::to_string)
                .collect::<Vec<_>>()
                .join(", "),
            m.line,
            numbers(&m.scores),
            numbers(&m.shares),
            numbers(&m.errors)
        );
    }
    text.push_str("    ],\n    predicted: [\n");
    for p in &ensemble.predicted {
        let ((low, high), (counted_low, counted_high)) = (p.range, p.counted);
        let _ = writeln!(
            text,
            "        (count: {:?}, median: {}, low: {low}, high: {high}, counted_low: {counted_low}, counted_high: {counted_high}, sets: {}),",
            p.count, p.median, p.sets
        );
    }
    let _ = writeln!(text, "    ],\n    basis: {:?},\n)", ensemble.basis);
    text
}

/// A median with its range over members, both shares, in per cent.
pub fn percent_range(median: f64, range: Interval) -> String {
    format!(
        "{:.1} ({:.1} to {:.1})",
        100.0 * median,
        100.0 * range.low,
        100.0 * range.high
    )
}

/// A range of shares of people as people count them, such as `20 to 60 of 100 people`. None and all are said only where it
/// was so in every repeat of every set.
pub fn range_of_hundred(range: Interval) -> String {
    let whole = |share: f64| match 100.0 * share {
        p if p < 0.5 => "under 1".to_owned(),
        p if p > 99.5 => "over 99".to_owned(),
        p => format!("{p:.0}"),
    };
    if range.high <= 0.0 {
        return "none, in this model".to_owned();
    }
    if range.low >= 1.0 {
        return "all, in this model".to_owned();
    }
    match (whole(range.low), whole(range.high)) {
        (low, high) if low == high => format!("{low} of 100 people"),
        (low, high) if low == "99" && high == "over 99" => "99 or more of 100 people".to_owned(),
        (low, high) if low == "under 1" && high == "1" => "up to 1 of 100 people".to_owned(),
        (low, high) => format!("{low} to {high} of 100 people"),
    }
}

/// The same with its median, such as `20 to 60 of 100 people, median 34`.
pub fn ranged_people(ranged: Ranged) -> String {
    let range = range_of_hundred(ranged.range);
    let median = range_of_hundred(Interval {
        low: ranged.median,
        high: ranged.median,
    });
    match median == range {
        true => range,
        false => format!("{range}, median {}", median.trim_end_matches(" of 100 people")),
    }
}

/// A range of mean counts, such as `3.0 to 40`.
pub fn range_of_figures(range: Interval) -> String {
    match [range.low, range.high].map(figure) {
        [low, high] if low == high => low,
        [low, high] => format!("{low} to {high}"),
    }
}

/// A share of sets of values as people count them: not every one is never rounded to that.
pub fn sets_of_hundred(share: f64) -> String {
    match 100.0 * share {
        p if (99.5..100.0).contains(&p) => "over 99".to_owned(),
        p if p > 0.0 && p < 0.5 => "under 1".to_owned(),
        p => format!("{p:.0}"),
    }
}

/// What ranges in a setup are of, once for a page of them.
pub fn sets_words(setup: &Setup, sets: usize) -> String {
    let loads = match has_unknown_loads(setup) {
        true => ", in how much lay where in this design too,",
        false => "",
    };
    let of_hundred = match sets {
        100 => "",
        _ => "; how many of them agree is told as of 100",
    };
    format!(
        "ranges: nine tenths of {sets} versions of the model, which differ in what nobody has measured{loads} and fit what studies counted{of_hundred}"
    )
}

/// True for a design of a study that does not say how much lay where, so that versions of the model differ in that too.
pub fn has_unknown_loads(setup: &Setup) -> bool {
    setup.library.studies.unknown_loads.contains(&setup.scenario.id)
}

/// Which number hangs on constants, after what it is told of: for a heading.
pub fn hangs_of_words(number: Number) -> &'static str {
    match number {
        Number::People => "how many people get enough to be seen there",
        Number::Amount => {
            "the mean amount, as of how many people get enough to be seen there nothing can be told from chance"
        }
    }
}

/// What it is worth to know something, such as `1.2 of 100 people fewer (give or take 0.4)`, without a full stop.
pub fn gain_words(gain: Gain) -> String {
    let hundredth = |share: f64| figure(100.0 * share);
    format!(
        "on {} of 100 people fewer (give or take {})",
        hundredth(gain.fewer),
        hundredth(gain.error)
    )
}

/// A constant that an answer hangs on, as a sentence without a full stop.
pub fn hang_words(hang: &Hang) -> String {
    format!(
        "{}: {:.0} % of how far versions of the model differ goes with it; the more of it, the {} gets there",
        hang.words,
        100.0 * hang.share,
        if hang.raises { "more" } else { "less" }
    )
}

/// How many constants are named for what they do by themselves.
const NAMED: usize = 5;

/// What [`most_alone`] gives, as a heading without a full stop.
pub const ALONE_HEADING: &str = "what moves the answers most by itself, from the low to the high end of what the counts leave of it, \
    all else in the middle; how many people get enough to be seen there";

/// Of constants that were turned by themselves, those that move a target most, by its place: none that moves it by less than is
/// told apart.
pub fn most_alone<'a>(library: &Library, all: &'a [Alone], target: usize) -> Vec<&'a Alone> {
    let least = library.telling.as_ref().map_or(0.0, |telling| telling.points);
    let mut most: Vec<&Alone> = all.iter().filter(|one| one.swing(target) >= least).collect();
    most.sort_by(|a, b| b.swing(target).total_cmp(&a.swing(target)));
    most.truncate(NAMED);
    most
}

/// What a constant does to a target, by its place, by itself; a sentence without a full stop.
pub fn alone_words(one: &Alone, target: usize) -> String {
    // Of as few starts as are turned none and all are no more than that.
    let [low, high] = one.shares[target].map(|share| match share {
        none if none <= 0.0 => "none of 100 people".to_owned(),
        all if all >= 1.0 => "all of 100 people".to_owned(),
        some => of_hundred(some),
    });
    format!("{}: {low} at the low end, {high} at the high end", one.words)
}

/// What may be said of a pair of ways at a target, both by their places: by most sets of values, or by counting where these were left
/// out or repeats are too few.
pub fn told_pair(
    library: &Library,
    comparison: &Comparison,
    doubted: Option<&Doubted>,
    target: usize,
    pair: usize,
) -> (Verdict, String) {
    let at = &comparison.targets[target];
    let counted = &at.pairs[pair];
    let names = [counted.first, counted.second].map(|n| comparison.contenders[n].as_str());
    match (doubted, &library.telling) {
        (Some(doubted), Some(telling)) if counted.verdict != Verdict::TooFew => {
            let versed = &doubted.pairs[pair][target];
            (versed.verdict(telling), doubted_sentence(names, telling, versed))
        }
        _ => (counted.verdict, verdict_sentence(comparison, at, counted)),
    }
}

/// Which of two ways brings less, as most sets of values have it; a sentence without a full stop.
pub fn doubted_sentence([a, b]: [&str; 2], telling: &Telling, versed: &Versed) -> String {
    let people = versed.seen.map(|ranged| range_of_hundred(ranged.range));
    let hundredth = sets_of_hundred;
    let often = |share: f64| match share {
        every if every >= 1.0 => "every version of the model".to_owned(),
        all if all >= telling.nearly_all => {
            format!("nearly all versions of the model ({} of 100)", hundredth(all))
        }
        most => format!("most versions of the model ({} of 100)", hundredth(most)),
    };
    let second = people[1].trim_end_matches(" of 100 people");
    let with = || format!("{} with {a}, {second} with {b}", people[0]);
    let parts = parts_of_hundred(versed.shares);
    let [in_less, in_same, in_more] = parts.each_ref().map(String::as_str);
    let [less, same, more] = versed.shares;
    let no_more = |name: &str, (less, more): (&str, &str), ever: f64| {
        let never = if ever <= 0.0 {
            "never clearly"
        } else {
            "hardly ever clearly"
        };
        format!(
            "{name} brings less or much the same, and {never} more: less in {less} of 100 versions of the model, much the same in {in_same}, more in {more}; {}",
            with()
        )
    };
    let agreed = Agreed::by(telling, versed.shares);
    let amounts = versed.amounts.map(|shares| (Agreed::by(telling, shares), shares));
    // As many people may get some by either way, and yet one leaves more of it.
    let same_people = match amounts {
        Some((Agreed::Same, _)) | None => "much the same",
        Some(_) => "as many people, or nearly,",
    };
    let said = match agreed {
        Agreed::Neither if versed.verdict(telling) == Verdict::FirstNoMore => {
            no_more(a, (in_less, in_more), more)
        }
        Agreed::Neither if versed.verdict(telling) == Verdict::SecondNoMore => {
            no_more(b, (in_more, in_less), less)
        }
        Agreed::First => format!("{a} brings less in {}: {}", often(less), with()),
        Agreed::Second => format!("{b} brings less in {}: {}", often(more), with()),
        Agreed::Same if people[0] == people[1] => {
            format!("{same_people} in {}: {} with either", often(same), people[0])
        }
        Agreed::Same => format!("{same_people} in {}: {}", often(same), with()),
        Agreed::Neither => format!(
            "this model cannot tell: of 100 versions of the model {in_less} have less with {a}, {in_same} much the same, {in_more} less with {b}; {}",
            with()
        ),
    };
    let Some((by_amount, shares)) = amounts else {
        return said;
    };
    let but = if matches!(agreed, Agreed::First | Agreed::Second) {
        "but "
    } else {
        ""
    };
    match by_amount {
        alike if alike == agreed => said,
        Agreed::First => format!("{said}; {but}{a} leaves less on average in {}", often(shares[0])),
        Agreed::Second => format!("{said}; {but}{b} leaves less on average in {}", often(shares[2])),
        Agreed::Neither if agreed == Agreed::Same => {
            let [first, same, second] = parts_of_hundred(shares);
            format!(
                "{said}; which leaves less on average this model cannot tell: {a} in {first} of 100 versions, {b} in {second}, much the same in {same}"
            )
        }
        Agreed::Same | Agreed::Neither => said,
    }
}
