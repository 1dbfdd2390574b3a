//! Published counts, the numbers that a fit may change, and designs of published comparisons.

use crate::model::{
    Among, ComparedWay, CountPart, Library, Load, Measure, PublishedLevel, Search, Searched, SearchedNumber,
    Spot, Studies, StudyArm, StudyComparison, StudyCount, Weight,
};

use super::record::{Decoder, Record, Span};
use super::refer;
use super::substance::{basis, ids};
use super::tree::Node;

/// How far a share may lie from the count behind it: publications round or cut to a tenth of a per cent.
const ROUNDED: f64 = 0.001;

pub(super) fn studies(r: &mut Record<'_>, library: &mut Library) {
    let mut seen = Vec::new();
    let arms = r.list("arms", |d, node| {
        let mut r = d.record(node, "arm");
        let id = r.ident("id");
        refer::unique(d, &mut seen, &id, "arm");
        Some(StudyArm {
            id: id.value,
            what: r.text("what"),
            scenario: refer::field(&mut r, "scenario", "scenario", ids!(library.scenarios)),
            trainee: refer::field(&mut r, "trainee", "trainee", ids!(library.trainees)),
            repeats: r.number_or("repeats", 0.01..=1.0, 1.0),
        })
    });
    let mut studies = std::mem::take(&mut library.studies);
    for arm in arms {
        refer::put(&mut studies.arms, arm, |a| &a.id);
    }
    let mut seen = Vec::new();
    for count in r.list_or_empty("counts", |d, n| count(d, n, &mut seen, &studies, library)) {
        refer::put(&mut studies.counts, count, |c| &c.id);
    }
    let mut seen = Vec::new();
    for searched in r.list_or_empty("searched", |d, n| searched(d, n, &mut seen, library)) {
        refer::put(&mut studies.searched, searched, |s| &s.name);
    }
    let search = r.optional("search", |d, n| {
        let mut r = d.record(n, "search");
        Some(Search {
            first_step: r.number("first_step", 0.001..=3.0),
            last_step: r.number("last_step", 0.0001..=3.0),
            pull: r.number("pull", 0.0..=100.0),
            basis: basis(&mut r, library),
        })
    });
    studies.search = search.or(studies.search);
    let mut seen = Vec::new();
    for comparison in r.list_or_empty("comparisons", |d, n| comparison(d, n, &mut seen, library)) {
        refer::put(&mut studies.comparisons, comparison, |c| &c.id);
    }
    let unknown = r.list_or_empty("unknown_loads", |d, n| {
        refer::node(d, n, "scenario", ids!(library.scenarios))
    });
    if !unknown.is_empty() {
        studies.unknown_loads = unknown;
    }
    library.studies = studies;
}

fn count<'a>(
    d: &Decoder<'a>,
    node: &'a Node,
    seen: &mut Vec<String>,
    studies: &Studies,
    library: &Library,
) -> Option<StudyCount> {
    let mut r = d.record(node, "count");
    let id = r.ident("id");
    refer::unique(d, seen, &id, "count");
    let what = r.text("what");
    let measure = r.value("measure", measure);
    let parts = r.list("parts", |d, n| part(d, n, studies));
    let share = r.optional("share", |d, n| d.quantity(n, "share", "", &(0.0..=1.0)));
    let counted = r.optional("counted", counted);
    let within = r.value("within", |d, n| range(d, n, "within", 0.0..=1.0));
    let fitted = r.flag("fitted");
    let implied = r.flag_or("implied", false);
    let note = r.text_or("note", "");
    let source = refer::field(&mut r, "source", "source", ids!(library.sources));
    let basis = basis(&mut r, library);
    // All fields are read before any that is wrong ends it, or those after it would be taken for unknown ones.
    let count = StudyCount {
        id: id.value,
        what,
        measure: measure?,
        parts,
        share,
        counted,
        within: within?,
        fitted,
        implied,
        note,
        source,
        basis,
    };
    let at = || node.span.start..node.span.start + 1;
    let say = |brief: &str, hint: &str| d.fault(at(), brief, hint);
    match (count.measure, count.share) {
        (Measure::Ahead { .. }, Some(_)) => say(
            "a count of who is ahead has no `share`",
            "leave `share` and `counted` out; the publication gives an order only",
        ),
        (Measure::Person | Measure::Skin | Measure::Lapses, None) => say(
            "this count has no `share`",
            "write the published one, as in `share: 0.25`, or let `measure` be `Ahead(...)`",
        ),
        _ => {}
    }
    if count.parts.is_empty() {
        say(
            "a count is of one arm at least",
            "write `parts: [(arm: \"...\", removals: 100)]`",
        );
    }
    let watched = |p: &CountPart| matches!(p.weight, Weight::Removals(_));
    if count.parts.iter().any(watched) && !count.parts.iter().all(watched) {
        say(
            "the parts of a count weigh by `removals` or by `these`, not by both",
            "say for every part how many were watched, or for every part how many of those counted there were",
        );
    }
    if count.measure == Measure::Lapses && count.parts.iter().any(|p| p.among != Among::All) {
        say(
            "lapses are counted among all removals",
            "leave `among` out of the parts",
        );
    }
    if matches!(count.measure, Measure::Ahead { .. })
        && (count.parts.len() > 1 || count.parts.iter().any(|p| p.among != Among::All))
    {
        say(
            "who is ahead is told of one whole arm",
            "write one part, without `among`",
        );
    }
    agree(d, &at(), count.share, count.counted, count.within);
    Some(count)
}

/// A published share, the count behind it and its range must not contradict each other.
fn agree(d: &Decoder<'_>, at: &Span, share: Option<f64>, counted: Option<(u64, u64)>, within: (f64, f64)) {
    let Some(share) = share else { return };
    if !(within.0..=within.1).contains(&share) {
        d.fault(
            at.clone(),
            format!("`share` is {share} and lies outside `within`"),
            "the range that counts as met holds the published share",
        );
    }
    if let Some((hits, of)) = counted {
        let exact = hits as f64 / of as f64;
        if (exact - share).abs() > ROUNDED {
            d.fault(
                at.clone(),
                format!("`counted` is {hits} of {of}, which is {exact:.3}, and `share` is {share}"),
                format!("one of them is mistaken; they may differ by {ROUNDED}"),
            );
        }
    }
}

/// How many of how many, as `(8, 34)`.
fn counted<'a>(d: &Decoder<'a>, node: &'a Node) -> Option<(u64, u64)> {
    let [hits, of] = d.numbers::<2>(node, "counted")?;
    let whole = |x: f64| x.fract() == 0.0 && (0.0..=1e9).contains(&x);
    if !(whole(hits) && whole(of) && hits <= of && of > 0.0) {
        d.fault(
            node.span.clone(),
            "`counted` is how many of how many",
            "write whole numbers, the smaller first, as in `(8, 34)`",
        );
        return None;
    }
    Some((hits as u64, of as u64))
}

/// A range with its lower end first.
fn range<'a>(
    d: &Decoder<'a>,
    node: &'a Node,
    noun: &str,
    allowed: std::ops::RangeInclusive<f64>,
) -> Option<(f64, f64)> {
    let [low, high] = d.numbers::<2>(node, noun)?;
    if low < high && allowed.contains(&low) && allowed.contains(&high) {
        return Some((low, high));
    }
    let (least, most) = allowed.into_inner();
    d.fault(
        node.span.clone(),
        format!("`{noun}` is ({low}, {high}); it must go up and lie between {least} and {most}"),
        "write the smaller number first, as in `(0.1, 0.4)`",
    );
    None
}

fn measure<'a>(d: &Decoder<'a>, node: &'a Node) -> Option<Measure> {
    let variant = d.variant(node, "measure", &["Person", "Skin", "Lapses", "Ahead"])?;
    let plain = match variant.name {
        "Person" => Measure::Person,
        "Skin" => Measure::Skin,
        "Lapses" => Measure::Lapses,
        _ => {
            let mut r = variant.record();
            return Some(Measure::Ahead {
                of: r.choice("of", &Spot::ALL),
                by: r.number("by", 0.0..=1.0),
                half: r.number("half", 0.001..=1.0),
            });
        }
    };
    variant.unit().then_some(plain)
}

fn part<'a>(d: &Decoder<'a>, node: &'a Node, studies: &Studies) -> Option<CountPart> {
    let mut r = d.record(node, "part");
    let arm = refer::field(&mut r, "arm", "arm", ids!(studies.arms));
    let among = r.choice_or("among", &Among::ALL, Among::All);
    let number = |name: &'static str| {
        move |d: &Decoder<'a>, n: &'a Node| d.count(n, name, &(1..=1_000_000)).map(|c| c as f64)
    };
    let removals = r.optional("removals", number("removals"));
    let these = r.optional("these", number("these"));
    let weight = match (removals, these) {
        (Some(watched), None) => Weight::Removals(watched),
        (None, Some(these)) => Weight::These(these),
        _ => {
            d.fault(
                node.span.clone(),
                "a part names either `removals` or `these`",
                "`removals`: how many were watched in the arm; `these`: how many of those counted there were",
            );
            return None;
        }
    };
    Some(CountPart { arm, among, weight })
}

fn searched<'a>(
    d: &Decoder<'a>,
    node: &'a Node,
    seen: &mut Vec<String>,
    library: &Library,
) -> Option<Searched> {
    let mut r = d.record(node, "number");
    let name = r.text("name");
    if seen.contains(&name) {
        d.fault(
            node.span.start..node.span.start + 1,
            format!("this file has two numbers called `{name}`"),
            "give one of the two another name",
        );
    }
    seen.push(name.clone());
    let number = r.value("number", |d, n| number(d, n, library));
    let before = r.number("before", 1e-6..=1e9);
    let bounds = r.value("bounds", |d, n| range(d, n, "bounds", 1e-6..=1e9));
    let basis = basis(&mut r, library);
    let bounds = bounds?;
    if r.has("before") && !(bounds.0..=bounds.1).contains(&before) {
        d.fault(
            node.span.start..node.span.start + 1,
            format!("`before` is {before} and lies outside `bounds`"),
            "a search begins within its bounds",
        );
    }
    Some(Searched {
        name,
        number: number?,
        before,
        bounds,
        basis,
    })
}

fn number<'a>(d: &Decoder<'a>, node: &'a Node, library: &Library) -> Option<SearchedNumber> {
    let variant = d.variant(node, "number", &["Poor", "Hurry", "Weight", "Amount"])?;
    let mut r = variant.record();
    if variant.name == "Amount" {
        let scenario = refer::field(&mut r, "scenario", "scenario", ids!(library.scenarios));
        let spread = |load: &Load| matches!(load, Load::Lognormal { .. });
        let without = library
            .scenario(&scenario)
            .is_some_and(|s| !s.start.iter().any(|start| spread(&start.load)));
        if without {
            d.fault(
                node.span.clone(),
                format!("`{scenario}` has no lognormal load at its start"),
                "a fit changes lognormal loads; name a scenario that has one",
            );
            return None;
        }
        return Some(SearchedNumber::Amount { scenario });
    }
    let trainee = refer::field(&mut r, "trainee", "trainee", ids!(library.trainees));
    Some(match variant.name {
        "Poor" => SearchedNumber::Poor { trainee },
        "Hurry" => SearchedNumber::Hurry { trainee },
        _ => SearchedNumber::Weight {
            trainee,
            technique: refer::field(&mut r, "technique", "technique", ids!(library.techniques)),
        },
    })
}

fn comparison<'a>(
    d: &Decoder<'a>,
    node: &'a Node,
    seen: &mut Vec<String>,
    library: &Library,
) -> Option<StudyComparison> {
    let mut r = d.record(node, "comparison");
    let id = r.ident("id");
    refer::unique(d, seen, &id, "comparison");
    let what = r.text("what");
    let ways = r.list("ways", |d, n| {
        let mut r = d.record(n, "way");
        Some(ComparedWay {
            label: r.text("label"),
            scenario: refer::field(&mut r, "scenario", "scenario", ids!(library.scenarios)),
            sequence: r.optional("sequence", |d, n| {
                refer::node(d, n, "sequence", ids!(library.sequences))
            }),
            trainee: refer::field(&mut r, "trainee", "trainee", ids!(library.trainees)),
        })
    });
    if ways.len() < 2 && r.has("ways") {
        d.fault(
            node.span.start..node.span.start + 1,
            "a comparison has two ways or more",
            "write `ways: [(...), (...)]`",
        );
    }
    let published = r.optional("published", |d, n| {
        let mut r = d.record(n, "published share");
        let site = r.choice("site", &Spot::ALL);
        let share = r.number("share", 0.0..=1.0);
        let given = r.has("share");
        let counted = r.value("counted", counted);
        let within = r.value("within", |d, n| range(d, n, "within", 0.0..=1.0));
        let source = refer::field(&mut r, "source", "source", ids!(library.sources));
        let basis = basis(&mut r, library);
        let (counted, within) = (counted?, within?);
        let at = n.span.start..n.span.start + 1;
        agree(d, &at, given.then_some(share), Some(counted), within);
        Some(PublishedLevel {
            site,
            share,
            counted,
            within,
            source,
            basis,
        })
    });
    Some(StudyComparison {
        id: id.value,
        what,
        ways,
        published,
        basis: basis(&mut r, library),
    })
}
