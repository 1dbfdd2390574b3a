//! A report on a group: for a terminal, as CSV, and as a page that needs nothing but itself and prints in black on white. Small
//! groups are not told of, and nobody is ranked.

use jiff::civil::Date;
use maud::{Markup, PreEscaped, html};

use crate::analysis::{mcnemar, newcombe, wilson};
use crate::guidance::CriticalKind;
use crate::model::{Library, RegisterRules};
use crate::register::{Group, Halves, Moment, Share, Tally, WatchedStep, WatchedTally, Watching, date_words};

use super::Table;
use super::drawing::Drawing;
use super::image::inline_svg;
use super::page::page;
use super::picture::{BodyMark, body_picture, place_on_body};
use super::register::LOCAL_RULE;
use super::words::{CAUTION, capital, count};

/// A report.
#[derive(Clone, Debug)]
pub struct CohortReport {
    /// Of whom and when.
    pub title: String,
    /// Parts, each with its heading and rows.
    pub parts: Vec<CohortPart>,
    /// Months with their shares, for the run chart; those not told of left out.
    months: Vec<(String, Share)>,
    /// The body with how many attempts ended with enough to be seen where; none where too few are told of.
    body: Option<Drawing>,
    /// When it was made.
    made: String,
}

/// A part of a report.
#[derive(Clone, Debug)]
pub struct CohortPart {
    /// Heading.
    pub heading: String,
    /// What its numbers are of.
    pub about: String,
    /// Rows: what, how often, and the interval; the last two are empty where too few are behind them.
    pub rows: Vec<CohortRow>,
}

/// A row of a report.
#[derive(Clone, Debug)]
pub struct CohortRow {
    /// What.
    pub what: String,
    /// The share, unless it is hidden.
    pub share: Option<Share>,
    /// Anything else that is told.
    pub told: String,
    /// Further counts of the same, each with its word; none where too few are behind one.
    pub more: Vec<(&'static str, Option<u64>)>,
}

/// Most steps that are listed.
const MOST_STEPS: usize = 12;

/// The report of a group; none if there are too few to tell anything of. Attempts and real people who were watched each need enough of
/// their own.
///
/// # Errors
/// A sentence: there are too few.
pub fn cohort_report(
    library: &Library,
    rules: &RegisterRules,
    group: &Group,
    tally: &Tally,
    now: Moment,
) -> Result<CohortReport, String> {
    let least = rules.smallest_cell;
    let few = tally.passed.of < least || (tally.people > 0 && tally.people < least);
    let watched = watched_parts(&tally.watched, group.split, least);
    if few {
        if watched.is_empty() {
            return Err(format!(
                "there are too few to tell of: nothing is told of fewer than {least} finished attempts or people"
            ));
        }
        return Ok(CohortReport {
            title: title(group),
            parts: std::iter::once(CohortPart {
                heading: "How many passed".to_owned(),
                about: format!("Too few finished attempts at the screen to tell of: nothing is told of fewer than {least}"),
                rows: Vec::new(),
            })
            .chain(watched)
            .collect(),
            months: Vec::new(),
            body: None,
            made: now.words(),
        });
    }
    let row = |what: String, share: Share| share_row(what, share, least);
    let mut parts = vec![CohortPart {
        heading: "How many passed".to_owned(),
        about: format!(
            "{}; {}. Taken together: {}. {}",
            match (1..least).contains(&tally.broken_off) {
                // Who broke off would be known by name.
                true => format!("{} finished attempts", count(tally.passed.of)),
                false => format!(
                    "{} attempts, {} of them broken off and not counted further",
                    count(tally.attempts),
                    count(tally.broken_off)
                ),
            },
            people_words(tally.people),
            scope_words(library, group),
            capital(LOCAL_RULE)
        ),
        rows: vec![row(
            "Passed, by the decision of whoever watched or else by the rule".to_owned(),
            tally.passed,
        )],
    }];
    if let (Some(halves), Some(day)) = (tally.halves, group.split) {
        parts.push(before_and_after(halves, "attempts", &date_words(day), least));
    }
    let shown = shown_months(&tally.months, group.split, least);
    parts.push(CohortPart {
        heading: "Month by month".to_owned(),
        about: "Passed, of the attempts finished in each month. Months with few attempts, and one more if a sum would give them away, \
                are not told"
            .to_owned(),
        rows: tally
            .months
            .iter()
            .map(|(month, share)| CohortRow {
                what: month.clone(),
                ..match shown.contains(month) {
                    true => row(String::new(), *share),
                    false => CohortRow {
                        what: String::new(),
                        share: None,
                        told: "not told".to_owned(),
                        more: Vec::new(),
                    },
                }
            })
            .collect(),
    });
    let many = tally
        .steps
        .iter()
        .map(|s| &s.sequence)
        .collect::<std::collections::BTreeSet<_>>()
        .len()
        > 1;
    parts.push(CohortPart {
        heading: "Steps most missed".to_owned(),
        about: "Left out, out of order, or not done as asked, of the attempts in which the step belonged to the kit".to_owned(),
        rows: tally
            .steps
            .iter()
            .filter(|s| s.missed.hits > 0)
            .take(MOST_STEPS)
            .map(|s| {
                let of = library
                    .sequence(&s.sequence)
                    .filter(|_| many)
                    .map_or(String::new(), |q| format!(" ({})", q.label));
                row(format!("{}{of}", s.ask), s.missed)
            })
            .collect(),
    });
    parts.push(CohortPart {
        heading: "Critical errors".to_owned(),
        about: "Attempts with at least one of the kind".to_owned(),
        rows: tally
            .critical
            .iter()
            .map(|(kind, share)| {
                let known = CriticalKind::ALL.into_iter().find(|k| k.word() == kind);
                row(
                    known.map_or_else(|| kind.clone(), |k| k.word().replace('-', " ")),
                    *share,
                )
            })
            .collect(),
    });
    parts.push(CohortPart {
        heading: "What it reached".to_owned(),
        about: "Attempts in which some place had enough to be seen: modelled, and chance is in it. Beside it what its stated values expect of \
                people who do the very same, on average over the attempts"
            .to_owned(),
        rows: tally
            .reached
            .iter()
            .map(|t| CohortRow {
                told: if t.seen.of >= least && t.seen.behind.into_iter().max() >= Some(least) {
                    format!("expected {:.0} of 100", 100.0 * t.people)
                } else {
                    String::new()
                },
                ..row(t.label.clone(), t.seen)
            })
            .collect(),
    });
    parts.push(CohortPart {
        heading: "Where it ended up".to_owned(),
        about: "Places of the person that had enough to be seen at the end, of all finished attempts"
            .to_owned(),
        rows: tally
            .places
            .iter()
            .map(|(id, share)| {
                let place = library.place(id);
                row(place.map_or_else(|| id.clone(), |p| p.label.clone()), *share)
            })
            .collect(),
    });
    let marks: Vec<BodyMark> = tally
        .places
        .iter()
        .filter(|(_, share)| is_told(*share, least) && share.hits > 0)
        .filter_map(|(id, share)| {
            let (front, x, y) = place_on_body(id)?;
            Some(BodyMark {
                label: library.place(id).map_or_else(|| id.clone(), |p| p.label.clone()),
                front,
                at: (x.into(), y.into()),
                hits: share.hits,
            })
        })
        .collect();
    parts.extend(watched);
    let of = tally.places.iter().map(|(_, share)| share.of).max().unwrap_or(0);
    let body = (!marks.is_empty()).then(|| {
        body_picture(
            "Where it ended up",
            &format!(
                "Enough to be seen there at the end, of {} finished attempts",
                count(of)
            ),
            &marks,
            of,
        )
    });
    Ok(CohortReport {
        body,
        title: title(group),
        parts,
        months: tally
            .months
            .iter()
            .filter(|(month, _)| shown.contains(month))
            .cloned()
            .collect(),
        made: now.words(),
    })
}

/// True if a share tells of no few people: a few of many are as soon told by name as all of a few, and whoever is among the
/// rest likewise. Many attempts of a few people are those people's.
fn is_told(share: Share, least: u64) -> bool {
    let few = |count: u64| (1..least).contains(&count);
    let counts = [share.hits, share.of - share.hits];
    share.of >= least && !counts.into_iter().chain(share.behind).any(few)
}

/// A share as a row, unless too few are behind it.
fn share_row(what: String, share: Share, least: u64) -> CohortRow {
    let few = |count: u64| (1..least).contains(&count);
    CohortRow {
        what,
        share: is_told(share, least).then_some(share),
        told: match share {
            Share { of, .. } if of < least => format!("fewer than {least}, not told"),
            Share { hits, of, .. } if few(hits) => format!("fewer than {least} of {of}"),
            Share { hits, of, .. } if few(of - hits) => format!("all but fewer than {least} of {of}"),
            Share { behind, .. } if behind.into_iter().any(few) => {
                format!("of fewer than {least} people, not told")
            }
            _ => String::new(),
        },
        more: Vec::new(),
    }
}

/// Real people who were watched, a part for each sequence or checklist of which there are enough.
fn watched_parts(watched: &[WatchedTally], split: Option<Date>, least: u64) -> Vec<CohortPart> {
    watched
        .iter()
        .filter(|of| of.occasions >= least && (of.people == 0 || of.people >= least))
        .map(|of| CohortPart {
            heading: match of.watching {
                // Checklists say of themselves that they are for putting on.
                Watching::PuttingOn => format!("Real people who were watched: {}", of.sequence.label),
                Watching::TakingOff | Watching::Screen => {
                    format!("Real people who were watched: taking off, {}", of.sequence.label)
                }
            },
            about: format!(
                "{} occasions, {}; what two watched counts once, as the stricter of them has it. None of them is among the attempts. \
                 Told of each step is how many did it as asked, of those in whom the step was seen",
                count(of.occasions),
                people_words(of.people)
            ),
            rows: std::iter::once(share_row(
                "Passed, as whoever watched decided".to_owned(),
                of.passed,
                least,
            ))
            .chain(of.halves.zip(split).into_iter().flat_map(|(halves, day)| {
                before_and_after(halves, "occasions", &date_words(day), least).rows
            }))
            .chain(of.steps.iter().map(|step| watched_row(step, least)))
            .chain(of.critical.iter().filter(|(_, share)| share.hits > 0).map(|(what, share)| {
                share_row(format!("Critical error seen: {what}"), *share, least)
            }))
            .collect(),
        })
        .collect()
}

fn people_words(people: u64) -> String {
    match people {
        0 => "none with a code".to_owned(),
        n => format!(
            "{} people with a code; what has none counts as somebody's of its own",
            count(n)
        ),
    }
}

/// A step over the occasions: how often it was done, not done, and not seen.
fn watched_row(step: &WatchedStep, least: u64) -> CohortRow {
    let counts = [step.done, step.not_done, step.not_seen];
    let told = told_counts(counts, step.behind, least);
    let share = Share {
        hits: step.done,
        of: step.done + step.not_done,
        behind: [step.behind[0], step.behind[1]],
    };
    let whole = counts.iter().sum::<u64>() >= least;
    let words = |count: u64, told: Option<u64>| match told {
        Some(n) => n.to_string(),
        None if count < least => format!("fewer than {least}"),
        None => "not told".to_owned(),
    };
    // Nothing was seen of it, or the share would give away what is not told.
    let share = (share.of > 0 && told[0].is_some() && told[1].is_some()).then_some(share);
    let [_, not_done, not_seen] = [0, 1, 2].map(|n| words(counts[n], told[n]));
    CohortRow {
        what: step.ask.clone(),
        told: match (whole, share.is_some()) {
            (false, _) => format!("fewer than {least}, not told"),
            (true, true) => format!("not done: {not_done}; not seen: {not_seen}"),
            (true, false) => format!(
                "done: {}; not done: {not_done}; not seen: {not_seen}",
                words(counts[0], told[0])
            ),
        },
        share,
        more: ["done", "not done", "not seen"].into_iter().zip(told).collect(),
    }
}

/// Counts that add up to a known sum, those below `least` or with fewer people behind them left out (but for noughts), and with them as
/// many more, the smallest first, as it takes for the sum to give away no small number either.
fn told_counts(counts: [u64; 3], behind: [u64; 3], least: u64) -> [Option<u64>; 3] {
    let few = |n: u64| (1..least).contains(&n);
    let mut told: [Option<u64>; 3] =
        std::array::from_fn(|n| (!few(counts[n]) && !few(behind[n])).then_some(counts[n]));
    if told.iter().all(Option::is_some) {
        return told;
    }
    // Behind what is left out together stand at least as many as behind the one of it that has most.
    let too_little = |told: &[Option<u64>; 3]| {
        let kept = || (0..3).filter(|&n| told[n].is_none());
        let sum: u64 = kept().map(|n| counts[n]).sum();
        let people = kept().map(|n| behind[n]).max().unwrap_or(0);
        sum < least || people < least
    };
    while too_little(&told) {
        let next = (0..3)
            .filter(|&n| told[n].is_some_and(|n| n > 0))
            .min_by_key(|&n| counts[n]);
        match next {
            Some(n) => told[n] = None,
            None => return [None; 3],
        }
    }
    told
}

/// Before and after a day, as groups and as people who are in both.
fn before_and_after(halves: Halves, what: &str, day: &str, least: u64) -> CohortPart {
    // Both together are told elsewhere: one that is not told must not follow from the other.
    let row = |what: String, share: Share| share_row(what, share, least);
    let mut rows = vec![
        row(format!("Passed before {day}"), halves.before),
        row(format!("Passed from {day} on"), halves.after),
    ];
    let few = |share: Share| share.of > 0 && !is_told(share, least);
    let hidden = few(halves.before) || few(halves.after);
    if hidden {
        for row in rows.iter_mut().filter(|row| row.share.is_some()) {
            row.share = None;
            "not told, since the other half would follow from it".clone_into(&mut row.told);
        }
    }
    let plain = |what: &str, told: String| CohortRow {
        what: what.to_owned(),
        share: None,
        told,
        more: Vec::new(),
    };
    if !hidden && halves.before.of >= least && halves.after.of >= least {
        let (a, b) = (halves.after, halves.before);
        let found = newcombe((a.hits, a.of), (b.hits, b.of));
        let points = 100.0 * (a.hits as f64 / a.of as f64 - b.hits as f64 / b.of as f64);
        rows.push(plain(
            "Difference",
            format!(
                "{points:+.1} points ({:+.1} to {:+.1}, 95 %, as if all {what} were different people's)",
                100.0 * found.low,
                100.0 * found.high
            ),
        ));
    }
    let [both, only_before, only_after, neither] = halves.pairs;
    let people = both + only_before + only_after + neither;
    if people >= least {
        // A few who did otherwise than all the rest are soon told by name.
        let few = halves.pairs.iter().any(|cell| (1..least).contains(cell));
        // Nor is it told where the few who are on one side alone would be what is left of that side.
        let alone = halves
            .people
            .iter()
            .any(|all| (1..least).contains(&(all - people)));
        let told = match (few, alone) {
            (true, _) => format!(
                "{people} people; how they divide is not told, since fewer than {least} did one or the other"
            ),
            (false, true) => format!("not told, since fewer than {least} are on one side alone"),
            (false, false) => format!(
                "{both} passed both times, {only_after} only after, {only_before} only before, {neither} neither; changes as uneven \
                 come about by chance with probability {:.3}",
                mcnemar(only_before, only_after)
            ),
        };
        rows.push(plain(
            &format!("People with {what} on both sides, the latest of each"),
            told,
        ));
    }
    CohortPart {
        heading: "Before and after".to_owned(),
        about: "Whoever trains also changes with time: a difference has more causes than training".to_owned(),
        rows,
    }
}

/// The months that may be told: with enough attempts, and of no sum that is told not one alone left out, which the sum would
/// give away. Sums are told of all months, and of those before and from a day on.
fn shown_months(months: &[(String, Share)], split: Option<Date>, least: u64) -> Vec<String> {
    let mut shown: Vec<&(String, Share)> = months
        .iter()
        .filter(|(_, share)| is_told(*share, least))
        .collect();
    let month_of = |day: Date| day.strftime("%Y-%m").to_string();
    // The last month before that day, and the first from it on: one that it divides is on both sides.
    let sides = split.map(|day| [day.yesterday().map_or(day, |d| d), day].map(month_of));
    let within = |side: usize, month: &str| match (&sides, side) {
        (Some([last, _]), 1) => month <= last.as_str(),
        (Some([_, first]), 2) => month >= first.as_str(),
        (_, side) => side == 0,
    };
    // Hiding one more for one sum may leave it alone in another.
    loop {
        let before = shown.len();
        for side in 0..3 {
            let all = months.iter().filter(|(month, _)| within(side, month)).count();
            let mut told: Vec<&(String, Share)> = shown
                .iter()
                .copied()
                .filter(|(month, _)| within(side, month))
                .collect();
            let hidden = together(
                months
                    .iter()
                    .filter(|(month, _)| within(side, month))
                    .filter(|this| !told.contains(this)),
            );
            // One alone is what is left of the sum, and so are several that hold few.
            let few = all > told.len() && (all - told.len() == 1 || !is_told(hidden, least));
            if few && !told.is_empty() {
                told.sort_by_key(|(month, share)| (share.of, month.clone()));
                shown.retain(|(month, _)| *month != told[0].0);
            }
        }
        if shown.len() == before {
            break;
        }
    }
    shown.iter().map(|(month, _)| month.clone()).collect()
}

/// Shares taken together: behind them stand at least as many people as behind the one of them that has most.
fn together<'a>(shares: impl Iterator<Item = &'a (String, Share)>) -> Share {
    shares.fold(Share::default(), |sum, (_, share)| Share {
        hits: sum.hits + share.hits,
        of: sum.of + share.of,
        behind: [0, 1].map(|n| sum.behind[n].max(share.behind[n])),
    })
}

/// What was taken together, in words.
fn scope_words(library: &Library, group: &Group) -> String {
    let of = match group.purpose {
        Some(purpose) => format!("{} alone", purpose.label()),
        None => {
            "practice, assessments and classes together, with whatever help the screen gave; scripts left out"
                .to_owned()
        }
    };
    match &group.sequence {
        Some(id) => {
            let label = library
                .sequence(id)
                .map_or(id.as_str(), |sequence| &sequence.label);
            format!("{of}; judged by {label}")
        }
        None => of,
    }
}

fn title(group: &Group) -> String {
    let mut title = match &group.ward {
        Some(ward) => format!("Ward {}", ward.as_str()),
        None => "All wards".to_owned(),
    };
    if let Some(of) = &group.group {
        title.push_str(&format!(", {}", of.as_str()));
    }
    match (group.from, group.to) {
        (Some(from), Some(to)) => title.push_str(&format!(", {} to {}", date_words(from), date_words(to))),
        (Some(from), None) => title.push_str(&format!(", from {}", date_words(from))),
        (None, Some(to)) => title.push_str(&format!(", up to {}", date_words(to))),
        (None, None) => title.push_str(", all that is kept"),
    }
    title
}

/// A share in words with its 95 % interval.
fn share_words(share: Share) -> (String, String) {
    let found = wilson(share.hits, share.of);
    (
        format!("{} of {}", share.hits, share.of),
        format!(
            "{:.0} % ({:.0} to {:.0})",
            100.0 * share.hits as f64 / share.of as f64,
            100.0 * found.low,
            100.0 * found.high
        ),
    )
}

impl CohortReport {
    /// For a terminal.
    pub fn text(&self) -> String {
        let mut out = format!("{}\n", self.title);
        for part in &self.parts {
            out.push_str(&format!("\n{}\n  {}\n", part.heading, part.about));
            if part.rows.is_empty() {
                out.push_str("  none\n");
            }
            for row in &part.rows {
                let (of, percent) = row.share.map(share_words).unwrap_or_default();
                let told = [of, percent, row.told.clone()];
                let told: Vec<&str> = told
                    .iter()
                    .map(String::as_str)
                    .filter(|t| !t.is_empty())
                    .collect();
                out.push_str(&format!("  {:<60} {}\n", row.what, told.join("  ")));
            }
        }
        out
    }

    /// As a table.
    pub fn table(&self) -> Table {
        let mut table = Table::new(["part", "what", "hits", "of", "share", "low", "high", "told"]);
        for part in &self.parts {
            for row in &part.rows {
                let mut cells = vec![part.heading.clone(), row.what.clone()];
                match row.share {
                    Some(share) => {
                        let found = wilson(share.hits, share.of);
                        let rate = share.hits as f64 / share.of as f64;
                        cells.extend([share.hits.to_string(), share.of.to_string()]);
                        cells.extend([rate, found.low, found.high].map(|x| format!("{x:.4}")));
                    }
                    None => cells.extend(std::iter::repeat_n(String::new(), 5)),
                }
                cells.push(row.told.clone());
                table.rows.push(cells);
                for (word, count) in &row.more {
                    let mut cells = vec![part.heading.clone(), format!("{}: {word}", row.what)];
                    cells.push(count.map_or_else(String::new, |n| n.to_string()));
                    cells.extend(std::iter::repeat_n(String::new(), 4));
                    cells.push(if count.is_none() { "not told" } else { "" }.to_owned());
                    table.rows.push(cells);
                }
            }
        }
        table
    }

    /// As a page that stands alone.
    pub fn html(&self) -> String {
        let body = html! {
            h1 { (self.title) }
            p.made { "Taking off protective equipment, practised and assessed with smirch. Made on " (self.made) }
            @for part in &self.parts {
                section {
                    h2 { (part.heading) }
                    p.about { (part.about) }
                    @if part.heading == "Month by month" && self.months.len() > 1 {
                        (run_chart(&self.months))
                    }
                    @if part.heading == "Where it ended up" {
                        @if let Some(body) = &self.body {
                            figure aria-label="The same as in the table, on a body from both sides" { (PreEscaped(inline_svg(body))) }
                        }
                    }
                    @if part.rows.is_empty() { p { "None" } }
                    @else { (rows(&part.rows)) }
                }
            }
            footer { p { (CAUTION) } p { "Intervals are 95 % score intervals of the counts alone. Nobody is ranked." } }
        };
        page(&self.title, STYLE, &body)
    }
}

fn rows(rows: &[CohortRow]) -> Markup {
    html! {
        table {
            tbody {
                @for row in rows {
                    @let words = row.share.map(share_words);
                    tr {
                        th scope="row" { (row.what) }
                        td.bar {
                            @if let Some(share) = row.share {
                                (bar(share))
                            }
                        }
                        td.number { @if let Some((of, _)) = &words { (of) } }
                        td.number { @if let Some((_, percent)) = &words { (percent) } }
                        td { (row.told) }
                    }
                }
            }
        }
    }
}

/// A share as a bar with its interval as a line over it.
fn bar(share: Share) -> Markup {
    let found = wilson(share.hits, share.of);
    let x = |share: f64| format!("{:.1}", 120.0 * share);
    html! {
        svg width="122" height="14" viewBox="0 0 122 14" aria-hidden="true" {
            rect.ground x="0" y="3" width="120" height="8" {}
            rect.share x="0" y="3" width=(x(share.hits as f64 / share.of as f64)) height="8" {}
            line.whisker x1=(x(found.low)) y1="7" x2=(x(found.high)) y2="7" {}
        }
    }
}

/// Shares by month, joined, with their intervals.
fn run_chart(months: &[(String, Share)]) -> Markup {
    let (width, height) = (640.0, 170.0);
    // Months stand where they are in time; those not told leave a gap.
    let at = |n: usize| {
        let number = |text: &str| text.parse::<i64>().unwrap_or(0);
        months[n]
            .0
            .split_once('-')
            .map_or(0, |(year, month)| 12 * number(year) + number(month))
    };
    let span = (at(months.len() - 1) - at(0)).max(1) as f64;
    let x = |n: usize| 40.0 + (width - 70.0) * (at(n) - at(0)) as f64 / span;
    let y = |share: f64| 10.0 + (height - 40.0) * (1.0 - share);
    let rate = |share: &Share| share.hits as f64 / share.of as f64;
    let point = |n: usize| format!("{:.1},{:.1}", x(n), y(rate(&months[n].1)));
    let runs: Vec<String> = (0..months.len())
        .collect::<Vec<usize>>()
        .chunk_by(|&a, &b| at(b) - at(a) == 1)
        .map(|run| run.iter().map(|&n| point(n)).collect::<Vec<String>>().join(" "))
        .collect();
    // Names of months that would lie over each other are left out.
    let mut named: Vec<usize> = Vec::new();
    for n in 0..months.len() {
        if named.last().is_none_or(|&last| x(n) - x(last) >= 55.0) {
            named.push(n);
        }
    }
    let told: Vec<String> = months
        .iter()
        .map(|(month, share)| format!("{month}: {} of {}", share.hits, share.of))
        .collect();
    html! {
        svg.run viewBox=(format!("0 0 {width} {height}")) role="img" aria-label=(format!("Passed by month. {}", told.join("; "))) {
            @for (share, name) in [(0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %")] {
                line.grid x1="40" x2=(format!("{:.1}", width - 30.0)) y1=(format!("{:.1}", y(share))) y2=(format!("{:.1}", y(share))) {}
                text x="34" y=(format!("{:.1}", y(share) + 4.0)) text-anchor="end" { (name) }
            }
            @for run in &runs { polyline points=(run) {} }
            @for (n, (month, share)) in months.iter().enumerate() {
                @let found = wilson(share.hits, share.of);
                line.whisker x1=(format!("{:.1}", x(n))) x2=(format!("{:.1}", x(n))) y1=(format!("{:.1}", y(found.low))) y2=(format!("{:.1}", y(found.high))) {}
                circle cx=(format!("{:.1}", x(n))) cy=(format!("{:.1}", y(rate(share)))) r="4" {}
                @if named.contains(&n) {
                    text x=(format!("{:.1}", x(n))) y=(format!("{:.1}", height - 8.0)) text-anchor="middle" { (month) }
                }
            }
        }
    }
}

/// How the page looks: on paper black on white, with nothing cut by a page's end.
const STYLE: &str = "
:root { color-scheme: light; }
body { font: 16px/1.5 'Atkinson Hyperlegible', Verdana, sans-serif; color: #1e2a36; background: #fff; max-width: 60rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.6rem; margin: 0; } h2 { font-size: 1.15rem; margin: 1.6rem 0 0; }
.made, .about, footer { color: #46535f; margin: .2rem 0 .6rem; } footer { border-top: 1px solid #767676; margin-top: 2rem; font-size: .9rem; }
table { border-collapse: collapse; width: 100%; } th { text-align: left; font-weight: 400; max-width: 28rem; }
th, td { padding: .25rem .6rem .25rem 0; border-bottom: 1px solid #d9d3c8; vertical-align: top; }
.number { white-space: nowrap; font-variant-numeric: tabular-nums; }
.bar { width: 8rem; } .ground { fill: #eee9df; } .share { fill: #0f6b66; } .whisker { stroke: #1e2a36; stroke-width: 2; }
figure { margin: .4rem 0; } figure svg { width: 100%; height: auto; } .run { width: 100%; max-width: 40rem; display: block; margin: .4rem 0; } .run text { font-size: 12px; fill: #1e2a36; }
.run .grid { stroke: #d9d3c8; } .run polyline { fill: none; stroke: #0f6b66; stroke-width: 2; } .run circle { fill: #0f6b66; }
@media print { @page { size: A4; margin: 12mm; } body { margin: 0; padding: 0; max-width: none; color: #000; font-size: 9.2pt; line-height: 1.22; }
 h1 { font-size: 14pt; } h2 { font-size: 10.5pt; margin-top: .7rem; } .made, .about, footer { color: #000; margin: 0 0 .15rem; }
 th, td { padding: .05rem .6rem .05rem 0; } .bar svg { height: 9pt; } figure { margin: .1rem 0; } figure svg { max-height: 6.6cm; } .run { max-height: 3.2cm; }
 h2, .about { break-after: avoid; } tr, figure, svg.run { break-inside: avoid; } tr:first-child { break-after: avoid; } tr:last-child { break-before: avoid; }
 footer { break-before: avoid; break-inside: avoid; margin-top: .6rem; font-size: 8pt; }
 .share { fill: #8a8a8a; } .run circle { fill: #000; } .whisker, .run polyline { stroke: #000; } .ground { fill: #e4e4e4; } }
@media (max-width: 32rem) { td.bar { display: none; } }
";

#[cfg(test)]
mod tests {
    use super::*;

    /// Each of them somebody else's.
    fn share(hits: u64, of: u64) -> Share {
        Share {
            hits,
            of,
            behind: [hits, of - hits],
        }
    }

    /// One person's many attempts are one person's: what is told of them alone, or of all but them, is told of nobody.
    #[test]
    fn many_attempts_of_a_few_people_are_not_told() {
        let by = |behind| Share {
            behind,
            ..share(12, 40)
        };
        assert!(share_row(String::new(), by([5, 7]), 5).share.is_some());
        for behind in [[1, 7], [6, 4], [2, 2]] {
            let row = share_row(String::new(), by(behind), 5);
            assert_eq!(
                (row.share, row.told.as_str()),
                (None, "of fewer than 5 people, not told"),
                "{behind:?}"
            );
        }
        // Nor does a sum give them away.
        let step = |behind| WatchedStep {
            step: "rub".to_owned(),
            ask: "rub your hands".to_owned(),
            done: 12,
            not_done: 6,
            not_seen: 9,
            behind,
        };
        assert_eq!(watched_row(&step([9, 6, 9]), 5).told, "not done: 6; not seen: 9");
        let row = watched_row(&step([9, 2, 9]), 5);
        assert_eq!(
            (row.share, row.told.as_str()),
            (None, "done: 12; not done: not told; not seen: not told")
        );
        let row = watched_row(&step([3, 2, 3]), 5);
        assert_eq!(row.more.iter().filter_map(|(_, n)| *n).count(), 0, "{row:?}");
    }

    #[test]
    fn a_month_that_the_sum_would_give_away_is_not_told_alone() {
        let months = |counts: &[u64]| -> Vec<(String, Share)> {
            counts
                .iter()
                .enumerate()
                .map(|(n, &of)| (format!("2026-{:02}", n + 1), share(0, of)))
                .collect()
        };
        let shown = |counts: &[u64]| shown_months(&months(counts), None, 5);
        assert_eq!(shown(&[9, 12, 7]), ["2026-01", "2026-02", "2026-03"]);
        assert_eq!(shown(&[9, 4, 7]), ["2026-01"], "the fewest go with it");
        assert_eq!(
            shown(&[9, 4, 3]),
            Vec::<String>::new(),
            "the same four may be behind both"
        );
        assert_eq!(shown(&[9, 20, 6, 3]), ["2026-01", "2026-02"]);
        assert_eq!(shown(&[9, 20, 1, 1]), ["2026-02"], "and these two hold two");
        assert_eq!(shown(&[4]), Vec::<String>::new());
        // Sums of both sides of a day are told too.
        let split = |counts: &[u64]| {
            let day = "2026-02-01".parse().expect("a date");
            shown_months(&months(counts), Some(day), 5)
        };
        assert_eq!(shown(&[9, 12, 3]), ["2026-02"]);
        assert_eq!(split(&[9, 12, 3]), Vec::<String>::new());
        assert_eq!(split(&[9, 12, 8]), ["2026-01", "2026-02", "2026-03"]);
        // The day is the first of a month, which is none of those before it.
        assert_eq!(split(&[9, 12, 3, 7, 20]), ["2026-01", "2026-02", "2026-05"]);
    }

    fn told_counts_each(counts: [u64; 3], least: u64) -> [Option<u64>; 3] {
        told_counts(counts, counts, least)
    }

    /// Of done, not done and not seen, whose sum is known, no number below five can be worked out from what is told.
    #[test]
    fn counts_that_add_up_give_no_small_number_away() {
        assert_eq!(told_counts_each([20, 0, 0], 5), [Some(20), Some(0), Some(0)]);
        assert_eq!(told_counts_each([20, 6, 0], 5), [Some(20), Some(6), Some(0)]);
        assert_eq!(told_counts_each([20, 2, 0], 5), [None, None, Some(0)]);
        assert_eq!(told_counts_each([10, 8, 2], 5), [Some(10), None, None]);
        // The three may be the same three.
        assert_eq!(told_counts_each([20, 3, 3], 5), [None, None, None]);
        assert_eq!(told_counts_each([20, 1, 2], 5), [None, None, None]);
        assert_eq!(told_counts_each([0, 0, 4], 5), [None, None, None]);
        for done in 0..9 {
            for not in 0..9 {
                for unseen in 0..9 {
                    let counts = [done, not, unseen];
                    let told = told_counts_each(counts, 5);
                    let hidden = || counts.iter().zip(told).filter(|(_, t)| t.is_none());
                    let sum: u64 = hidden().map(|(n, _)| n).sum();
                    let small = counts.iter().any(|n| (1..5).contains(n));
                    assert_eq!(small, hidden().count() > 0, "{counts:?}: {told:?}");
                    if counts.iter().sum::<u64>() >= 5 {
                        assert!(
                            !small || (hidden().count() > 1 && sum >= 5),
                            "{counts:?}: {told:?}"
                        );
                    }
                }
            }
        }
    }

    /// The whole is told beside both halves, so a half that is not told must not be what is left of it.
    #[test]
    fn a_small_half_takes_the_other_with_it() {
        let halves = |before: (u64, u64), after: (u64, u64)| Halves {
            before: share(before.0, before.1),
            after: share(after.0, after.1),
            pairs: [0; 4],
            people: [before.1, after.1],
        };
        let told = |halves| {
            let rows = before_and_after(halves, "attempts", "1 May 2026", 5).rows;
            let shares = rows.iter().filter(|row| row.share.is_some()).count();
            (shares, rows.iter().any(|row| row.what == "Difference"))
        };
        assert_eq!(told(halves((10, 20), (15, 20))), (2, true));
        assert_eq!(
            told(halves((0, 3), (18, 20))),
            (0, false),
            "three attempts before"
        );
        assert_eq!(told(halves((2, 20), (15, 20))), (0, false), "two passed before");
        assert_eq!(told(halves((10, 20), (18, 20))), (0, false), "two failed after");
        assert_eq!(told(halves((0, 0), (15, 20))).0, 1, "none before is no secret");
    }

    /// Whoever is on one side alone must not be what is left of that side without those on both.
    #[test]
    fn pairs_do_not_give_away_who_is_on_one_side_alone() {
        let told = |people: [u64; 2]| {
            let halves = Halves {
                before: share(6, 12),
                after: share(6, 12),
                pairs: [6, 0, 0, 5],
                people,
            };
            let rows = before_and_after(halves, "attempts", "1 May 2026", 5).rows;
            rows.last().expect("pairs").told.clone()
        };
        assert!(
            told([11, 11]).starts_with("6 passed both times"),
            "{}",
            told([11, 11])
        );
        assert_eq!(
            told([11, 12]),
            "not told, since fewer than 5 are on one side alone"
        );
        assert!(told([16, 11]).starts_with("6 passed both times"));
    }

    #[test]
    fn a_step_that_was_watched_tells_done_not_done_and_not_seen() {
        let step = |done, not_done, not_seen| WatchedStep {
            step: "rub".to_owned(),
            ask: "rub your hands".to_owned(),
            done,
            not_done,
            not_seen,
            behind: [done, not_done, not_seen],
        };
        let row = watched_row(&step(12, 6, 7), 5);
        assert_eq!(row.share, Some(share(12, 18)), "of those in whom it was seen");
        assert_eq!(row.told, "not done: 6; not seen: 7");
        let row = watched_row(&step(12, 2, 7), 5);
        assert_eq!(row.share, None);
        assert_eq!(row.told, "done: 12; not done: fewer than 5; not seen: not told");
        let row = watched_row(&step(1, 1, 0), 5);
        assert_eq!((row.share, row.told.as_str()), (None, "fewer than 5, not told"));
        let row = watched_row(&step(0, 0, 9), 5);
        assert_eq!(
            (row.share, row.told.as_str()),
            (None, "done: 0; not done: 0; not seen: 9")
        );
    }

    #[test]
    fn shares_have_their_interval() {
        assert_eq!(
            share_words(share(12, 15)),
            ("12 of 15".to_owned(), "80 % (55 to 93)".to_owned())
        );
    }
}
