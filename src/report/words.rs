//! Sentences that every report and screen shares.

use crate::analysis::Interval;
use crate::drill::Felt;
use crate::model::{Library, Read, Status};

/// What the product always says about itself.
pub const CAUTION: &str = "Training aid, not a clinical device. Numbers are modelled and uncertain. Follow your local \
policy, the manufacturer's instructions and competent persons. Never practise with real contamination.";

/// What must be said of every count of tracer.
pub const TRACER_CAVEAT: &str = "tracer shows where contact went: a stress test of technique, not a risk of infection; a rub kills and does not lift, \
so lotion only spreads under it: judge a rub by what it kills";

/// What must be said where a rub and a tracer meet.
pub const RUB_ON_TRACER: &str = "a rub kills what can be killed and lifts nothing, so lotion only spreads under it: do not \
judge the rub by this";

/// What was found at a check, as it is told at once: as a sentence without a full stop. None if it was no check.
pub fn found(all: &[Felt]) -> Option<String> {
    let first = all.first()?;
    let told: Vec<&str> = all
        .iter()
        .filter(|found| found.felt || !found.seen)
        .map(|found| found.words.as_str())
        .collect();
    Some(match (first.seen, told.is_empty()) {
        (false, _) => format!("Felt: {}", told.join("; ")),
        (true, true) => NOTHING_SEEN.to_owned(),
        (true, false) => format!("Seen: {}", told.join("; ")),
    })
}

/// What is told of a look that found nothing.
const NOTHING_SEEN: &str = "Nothing amiss was seen";

/// What was found at a check and how it was in truth, as clauses: for when all is over. Either what was felt, or what was seen; of
/// things that were looked for and neither there nor seen nothing is said.
pub fn found_in_truth(all: &[Felt], seen: bool) -> Vec<String> {
    let mine = || all.iter().filter(move |found| found.seen == seen);
    let told = mine().filter(|found| !seen || found.felt || found.there);
    let mut told: Vec<String> = told.map(felt_in_truth).collect();
    if told.is_empty() && mine().next().is_some() {
        told.push("nothing amiss was seen, and so it was".to_owned());
    }
    told
}

/// What was found at a check and how it was in truth, as a clause.
pub fn felt_in_truth(felt: &Felt) -> String {
    let truth = match (felt.felt, felt.there) {
        (true, true) | (false, false) => "and so it was",
        (true, false) => "though nothing was wrong with it",
        (false, true) if felt.seen => return format!("not seen, though it was there: {}", felt.would),
        (false, true) => "though there was something to find",
    };
    format!("{}, {truth}", felt.words)
}

/// Where a number or a rule comes from, as one line: citations, status, and how they were read.
pub fn source_line(library: &Library, basis: &str) -> String {
    let Some(basis) = library.basis(basis) else {
        return String::new();
    };
    let cites: Vec<String> = basis
        .sources
        .iter()
        .filter_map(|id| library.source(id))
        .map(|s| match &s.locator {
            Some(locator) => format!("{}, {locator}", s.cite),
            None => s.cite.clone(),
        })
        .collect();
    let status = match basis.status {
        Status::Measured => "measured",
        Status::Convention => "convention",
        Status::Assumption => "assumption",
        Status::Fitted => "fitted",
    };
    let read = match basis.read {
        Read::FullText => "read in full",
        Read::Table => "read in its table",
        Read::Abstract => "read as abstract",
        Read::Secondary => "read in a secondary source",
        Read::Memory => "from memory, not verified",
        Read::Unread => "",
    };
    let mut words = vec![if cites.is_empty() {
        "no published source".to_owned()
    } else {
        cites.join("; ")
    }];
    words.push(status.to_owned());
    if !read.is_empty() {
        words.push(read.to_owned());
    }
    words.join(" · ")
}

/// A text that begins with a capital letter.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// A count with its thousands set apart, such as `41 200`.
pub fn count(n: u64) -> String {
    let digits = n.to_string();
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push('\u{a0}');
        }
        out.push(digit);
    }
    out
}

/// A number of things, such as `1 speck` or `12 specks`.
pub fn many(number: u64, one: &str) -> String {
    if number == 1 {
        format!("1 {one}")
    } else {
        format!("{} {one}s", count(number))
    }
}

/// A number with so many decimals; what rounds to nought has no sign.
pub fn decimals(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

/// A share of people as people count them, such as `31 of 100 people`. What was met in every repeat, or in none, is so
/// in this model; anything between is never rounded to none or all.
pub fn of_hundred(probability: f64) -> String {
    match (100.0 * probability).round() {
        _ if probability <= 0.0 => "none, in this model".to_owned(),
        _ if probability >= 1.0 => "all, in this model".to_owned(),
        p if p < 1.0 => "fewer than 1 of 100 people".to_owned(),
        p if p > 99.0 => "more than 99 of 100 people".to_owned(),
        p => format!("{p:.0} of 100 people"),
    }
}

/// The same with the probability in percent and its interval; all and none are said once.
pub fn of_hundred_exactly(probability: f64, interval: Interval) -> String {
    let exactly = percent(probability, interval);
    if (0.0 < probability) && (probability < 1.0) {
        format!("{}, {exactly}", of_hundred(probability))
    } else {
        exactly
    }
}

/// A probability in percent with its interval, such as `31.4 % (28.9 to 34.0)`; all or none where so many repeats knew
/// nothing else, with how nearly if the interval leaves that open.
pub fn percent(probability: f64, interval: Interval) -> String {
    let value = |p: f64| 100.0 * p.clamp(0.0, 1.0);
    if probability >= 1.0 || probability <= 0.0 {
        let (all, end, word) = match probability >= 1.0 {
            true => (of_hundred(1.0), interval.low.max(0.0), "above"),
            false => (of_hundred(0.0), interval.high.min(1.0), "below"),
        };
        return match 0.0 < end && end < 1.0 {
            true => format!("{all} ({word} {})", percentage(end)),
            false => all,
        };
    }
    let digits = digits(value(probability));
    let [p, low, high] = [probability, interval.low, interval.high].map(|p| decimals(value(p), digits));
    format!("{p} % ({low} to {high})")
}

/// Shares that make up a whole as people count them, so that they add up to a hundred: each is rounded down, and those that lose
/// most by it are given what is left. Not every one is never rounded to all, and some never to none.
pub fn parts_of_hundred<const N: usize>(shares: [f64; N]) -> [String; N] {
    let exact = shares.map(|share| 100.0 * share.clamp(0.0, 1.0));
    let mut whole = exact.map(f64::floor);
    let mut by_loss: Vec<usize> = (0..N).collect();
    by_loss.sort_by(|&a, &b| (exact[b] - whole[b]).total_cmp(&(exact[a] - whole[a])));
    let left = (100.0 - whole.iter().sum::<f64>()).round().max(0.0) as usize;
    for &n in by_loss.iter().take(left.min(N)) {
        whole[n] += 1.0;
    }
    std::array::from_fn(|n| match (whole[n], exact[n]) {
        (..1.0, some) if some > 0.0 => "under 1".to_owned(),
        (100.0.., most) if most < 100.0 => "over 99".to_owned(),
        (whole, _) => format!("{whole:.0}"),
    })
}

/// A probability in percent, such as `31.4 %`.
pub fn percentage(probability: f64) -> String {
    let value = 100.0 * probability;
    if (value - value.round()).abs() < 1e-9 {
        return format!("{} %", decimals(value, 0));
    }
    format!("{} %", decimals(value, digits(value)))
}

/// Decimals that leave a percentage, or what it lacks of all, at least two figures.
fn digits(percent: f64) -> usize {
    if (1.0..=99.0).contains(&percent) { 1 } else { 2 }
}

/// A mean count with three figures or so, its thousands set apart.
pub fn figure(value: f64) -> String {
    match value.abs() {
        v if v >= 1000.0 => {
            let sign = if value < 0.0 { "\u{2212}" } else { "" };
            format!("{sign}{}", count(v.round() as u64))
        }
        v if v >= 100.0 => format!("{value:.0}"),
        v if v >= 10.0 => format!("{value:.1}"),
        v if v >= 0.095 => format!("{value:.2}"),
        v if v >= 0.000_95 => format!("{value:.4}"),
        0.0 => "0".to_owned(),
        _ => format!("{value:.1e}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Parts of a hundred add up to it; what is not all is not called all, and what is some is not called none.
    #[test]
    fn parts_of_hundred_add_up() {
        for first in 0..=200_u32 {
            for second in 0..=200 - first {
                let counts = [first, second, 200 - first - second];
                let told = parts_of_hundred(counts.map(|n| f64::from(n) / 200.0));
                for (n, words) in counts.iter().zip(&told) {
                    match n {
                        0 => assert_eq!(words, "0"),
                        200 => assert_eq!(words, "100"),
                        _ => assert!(words != "0" && words != "100", "{counts:?}: {told:?}"),
                    }
                }
                let numbers: Option<Vec<i32>> = told.iter().map(|words| words.parse().ok()).collect();
                if let Some(numbers) = numbers {
                    assert_eq!(numbers.iter().sum::<i32>(), 100, "{counts:?}: {told:?}");
                }
                for (n, words) in counts.iter().zip(&told) {
                    let near = words
                        .parse::<f64>()
                        .map_or(0.0, |told| (told - f64::from(*n) / 2.0).abs());
                    assert!(near < 1.0, "{counts:?}: {told:?}");
                }
            }
        }
    }

    #[test]
    fn nothing_between_none_and_all_is_told_as_either() {
        let interval = Interval {
            low: 0.9995,
            high: 0.999_99,
        };
        assert_eq!(percent(0.9998, interval), "99.98 % (99.95 to 100.00)");
        assert_eq!(of_hundred(0.9998), "more than 99 of 100 people");
        assert_eq!(of_hundred(0.0002), "fewer than 1 of 100 people");
        let all = Interval {
            low: 0.9996,
            high: 1.0,
        };
        assert_eq!(percent(1.0, all), "all, in this model (above 99.96 %)");
        assert_eq!(of_hundred(1.0), "all, in this model");
        let none = Interval {
            low: 0.0,
            high: 0.0004,
        };
        assert_eq!(percent(0.0, none), "none, in this model (below 0.04 %)");
        assert_eq!(
            of_hundred_exactly(0.0, none),
            "none, in this model (below 0.04 %)"
        );
        // The exact law knows all and none without an interval: nothing is above all or below none.
        let sure = |p: f64| Interval { low: p, high: p };
        assert_eq!(percent(1.0, sure(1.0)), "all, in this model");
        assert_eq!(percent(0.0, sure(0.0)), "none, in this model");
        let some = Interval {
            low: 0.289,
            high: 0.340,
        };
        assert_eq!(
            of_hundred_exactly(0.314, some),
            "31 of 100 people, 31.4 % (28.9 to 34.0)"
        );
        assert_eq!(of_hundred(0.0), "none, in this model");
    }

    /// Published shares as tables put them: Northington 2007 (worked example L1), Kravitz 2022 (L4), Fogel 2017 (L20).
    #[test]
    fn shares_are_rounded_as_published() {
        for (part, whole, digits, told) in [
            (5.0, 35.0, 2, "14.29"),
            (23.0, 35.0, 2, "65.71"),
            (19.0, 35.0, 2, "54.29"),
            (13.0, 35.0, 2, "37.14"),
            (7.0, 35.0, 1, "20.0"),
            (55.4, 64.0, 2, "86.56"),
            (53.3, 64.0, 2, "83.28"),
            (6.1, 7.0, 1, "87.1"),
            (9.5, 13.0, 1, "73.1"),
        ] {
            assert_eq!(decimals(100.0 * part / whole, digits), told);
        }
    }

    #[test]
    fn what_rounds_to_nought_has_no_sign() {
        assert_eq!(decimals(-0.04, 1), "0.0");
        assert_eq!(decimals(-0.0, 3), "0.000");
        assert_eq!(decimals(-0.4, 0), "0");
        assert_eq!(decimals(-0.05, 1), "-0.1");
        assert_eq!(decimals(-10.0, 1), "-10.0");
        assert_eq!(decimals(0.04, 1), "0.0");
        assert_eq!(percentage(-1e-12), "0 %");
        assert_eq!(figure(-0.0), "0");
    }

    #[test]
    fn one_thing_is_not_told_as_several() {
        assert_eq!(many(0, "step"), "0 steps");
        assert_eq!(many(1, "step"), "1 step");
        assert_eq!(many(10_000, "repeat"), "10\u{a0}000 repeats");
    }
}
