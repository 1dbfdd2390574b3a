//! Looking back: where it ended, what was done, why, and next time. All numbers are those of the books.

use crate::drill::Drill;
use crate::guidance::{CriticalKind, Group, Order, Score, carried_to_person, is_of_kit};
use crate::model::{Class, Sequence, SiteIndex};
use crate::report::{AskedStep, CourseParts, RUB_ON_TRACER, felt_in_truth, marks_lines, on_the_way};

use super::advice::{Average, next_time};
use super::command::Tab;
use super::near_you::{NearView, near_you};
use super::outline::{Spot, spots};
use super::practice::GoesView;
use super::steps::{describe, sources};
use super::sure::SureView;
use super::what_if::{WhatIfAsked, WhatIfView, what_if_view};
use super::why::{WhyView, why};
use super::words::{clock, count, length, list, sentence, standing};

/// A place where something ended.
#[derive(Clone, Debug, PartialEq)]
pub struct EndSite {
    /// Site index.
    pub site: SiteIndex,
    /// Name for people.
    pub label: String,
    /// Organisms there.
    pub count: u64,
}

/// Places of one sort.
#[derive(Clone, Debug, PartialEq)]
pub struct EndGroup {
    /// Which sort.
    pub group: Group,
    /// Name for people.
    pub label: String,
    /// Organisms there.
    pub count: u64,
    /// True if the lamp, or what it stands for, shows it.
    pub seen: bool,
    /// Its sites that carry something, fullest first.
    pub sites: Vec<EndSite>,
}

/// What a count at the end hides: hands before each cleaning, hands at their fullest, what others touch next, the next
/// patient.
#[derive(Clone, Debug, PartialEq)]
pub struct WayRow {
    /// What is counted.
    pub label: String,
    /// Organisms: of moments added up, or at the fullest of them.
    pub count: u64,
    /// True if the lamp, or what it stands for, showed it.
    pub seen: bool,
    /// Each moment with its count, where several are added up; the last is the end.
    pub moments: Vec<(String, u64)>,
}

/// How a step of the sequence was done.
#[derive(Clone, Debug, PartialEq)]
pub struct StepRow {
    /// What was asked.
    pub ask: String,
    /// In a word or two: `done`, `late`, `early`, `missed`, `not in this kit`, `never put on`.
    pub verdict: &'static str,
    /// True if something departs from what was asked.
    pub departs: bool,
    /// What was done for it, with the time.
    pub done: Option<String>,
    /// Departures, each as a sentence, with the marks taken off.
    pub notes: Vec<String>,
    /// The reason behind the step.
    pub why: String,
    /// Where that comes from.
    pub source: String,
}

/// One action as it was done.
#[derive(Clone, Debug, PartialEq)]
pub struct DoneRow {
    /// Clock when it began.
    pub at: String,
    /// What was done.
    pub text: String,
    /// Organisms it brought onto the person.
    pub carried: u64,
}

/// What was asked of the debrief.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// The site whose contents are to be explained; the gravest if none.
    pub why: Option<SiteIndex>,
    /// The step and the change of what if.
    pub what_if: WhatIfAsked,
    /// What the middle shows.
    pub tab: Tab,
}

/// Everything the debrief shows.
#[derive(Clone, Debug, PartialEq)]
pub struct DebriefView {
    /// Name of the scenario.
    pub title: String,
    /// Sequence, length and luck.
    pub sub: String,
    /// What is counted.
    pub unit: String,
    /// Where it ended, gravest first.
    pub groups: Vec<EndGroup>,
    /// What was on hands on the way, and what is handed on.
    pub way: Vec<WayRow>,
    /// Killed and washed away.
    pub removed: (u64, u64),
    /// Marks for the outline.
    pub spots: Vec<Spot>,
    /// Whose sequence it is laid beside.
    pub sequence: String,
    /// Each step of it.
    pub steps: Vec<StepRow>,
    /// What was asked beside what was done.
    pub course: CourseParts,
    /// Everything done, in order.
    pub done: Vec<DoneRow>,
    /// The marks, or why there are none and what the steps lost beside that; one or two lines.
    pub marks: Vec<String>,
    /// Deductions with their reasons.
    pub deductions: Vec<(String, f64)>,
    /// Hand hygiene in sentences.
    pub hygiene: Vec<String>,
    /// Free touches of the face, in sentences.
    pub face: Vec<String>,
    /// Critical errors, in sentences.
    pub critical: Vec<String>,
    /// What went well, if that can be said.
    pub well: Option<String>,
    /// What to practise.
    pub next: Vec<String>,
    /// What the middle shows.
    pub tab: Tab,
    /// Where the contents of the chosen site came from, or of all bare skin; none if nothing is on the person.
    pub why: Option<WhyView>,
    /// How near it came, if nothing is on the person.
    pub near: Option<NearView>,
    /// What if, while its tab is open.
    pub what_if: Option<WhatIfView>,
    /// That the result is kept, and where, if it is.
    pub kept: Option<String>,
    /// How the go compares with those before, where somebody practises by the ladder.
    pub goes: Option<GoesView>,
    /// True if it was assessed, and the assessor's page can be gone back to.
    pub assessed: bool,
    /// How sure the model is of these actions; none until that is asked.
    pub sure: Option<SureView>,
}

/// The debrief of a drill against a sequence, with the site asked about.
pub fn debrief_view(drill: &Drill, sequence: &Sequence, asked: Asked) -> DebriefView {
    let setup = drill.setup();
    let score = Score::of(drill, sequence);
    let books = drill.books();
    let groups: Vec<EndGroup> = score
        .reached
        .iter()
        .filter(|r| r.group != Group::Patient)
        .map(|r| {
            let sites: Vec<EndSite> = r
                .sites
                .iter()
                .map(|&(site, count)| EndSite {
                    site,
                    label: sentence(&setup.sites[site].label),
                    count,
                })
                .collect();
            EndGroup {
                group: r.group,
                label: sentence(r.group.label()),
                count: sites.iter().map(|s| s.count).sum(),
                seen: r.seen,
                sites,
            }
        })
        .collect();
    let worst = worst_place(&groups);
    let average = Average::of(drill);
    let explained = asked.why.or(worst);
    DebriefView {
        title: setup.scenario.label.clone(),
        sub: format!(
            "{} · {} · chance number {}",
            sequence.label,
            length(score.seconds),
            drill.seed()
        ),
        unit: setup.organism.unit.clone(),
        way: way_rows(drill),
        removed: (books.inactivated().iter().sum(), books.washed_away().iter().sum()),
        spots: spots(drill),
        sequence: sequence.label.clone(),
        course: course(drill, sequence, &score),
        steps: step_rows(drill, sequence, &score),
        done: drill
            .done()
            .iter()
            .map(|done| DoneRow {
                at: clock(done.began),
                text: describe(setup, &done.action),
                carried: carried_to_person(setup, done),
            })
            .collect(),
        marks: marks_lines(&score).iter().map(|line| sentence(line)).collect(),
        deductions: score
            .deductions
            .iter()
            .map(|d| (sentence(&d.reason), d.marks))
            .collect(),
        hygiene: hygiene(drill, &score),
        face: score
            .face_touches
            .iter()
            .map(|f| {
                let state = if f.unclean { "not clean" } else { "clean" };
                format!(
                    "{}: you touched your {} with your {} hand, which was {state}",
                    clock(drill.done()[f.action].began),
                    setup.sites[f.site].label,
                    f.hand.word()
                )
            })
            .collect(),
        critical: score
            .critical
            .iter()
            .map(|c| format!("{}: {}", clock(drill.done()[c.action].began), c.reason))
            .collect(),
        well: well(&score, average.as_ref()),
        next: next_time(drill, sequence, &score, average.as_ref()),
        tab: asked.tab,
        why: explained.map(|site| why(drill, Some(site))),
        near: explained.is_none().then(|| near_you(drill)),
        what_if: (asked.tab == Tab::WhatIf).then(|| what_if_view(drill, asked.what_if)),
        kept: None,
        goes: None,
        assessed: false,
        sure: None,
        groups,
    }
}

/// What was on hands on the way, and what is handed on: the numbers of the command line, with clock times.
fn way_rows(drill: &Drill) -> Vec<WayRow> {
    let when = |action: usize| match drill.done().get(action) {
        Some(done) => format!("{}, before a cleaning", clock(done.began)),
        None => "At the end".to_owned(),
    };
    on_the_way(drill)
        .into_iter()
        .map(|told| WayRow {
            label: sentence(told.label),
            count: told.found.count,
            seen: told.found.seen,
            moments: told
                .found
                .moments
                .iter()
                .map(|m| (when(m.action), m.count))
                .collect(),
        })
        .collect()
}

/// The place that matters most: what can be seen before what cannot; of that mucosa first, then the face, then other
/// skin, then hair and clothing; and of places that matter alike the fullest.
fn worst_place(groups: &[EndGroup]) -> Option<SiteIndex> {
    let rank = |group: &EndGroup| {
        let harm = match group.group {
            Group::Eyes | Group::Nostrils | Group::Lips => 3,
            Group::FaceSkin => 2,
            Group::Neck | Group::Hands | Group::OtherSkin => 1,
            _ => 0,
        };
        (group.seen, harm, group.sites.first().map_or(0, |s| s.count))
    };
    let worst = groups
        .iter()
        .filter(|g| g.group.is_person() && !g.sites.is_empty())
        .max_by_key(|g| rank(g))?;
    worst.sites.first().map(|s| s.site)
}

/// What was asked beside what was done.
fn course(drill: &Drill, sequence: &Sequence, score: &Score) -> CourseParts {
    let rows = step_rows(drill, sequence, score);
    CourseParts {
        asked: rows
            .into_iter()
            .zip(&score.steps)
            .map(|(row, result)| AskedStep {
                label: row.ask,
                verdict: row.verdict,
                departs: row.departs,
                by: result.action,
            })
            .collect(),
        done: drill
            .done()
            .iter()
            .map(|done| (clock(done.began), describe(drill.setup(), &done.action)))
            .collect(),
    }
}

fn step_rows(drill: &Drill, sequence: &Sequence, score: &Score) -> Vec<StepRow> {
    let setup = drill.setup();
    score
        .steps
        .iter()
        .map(|result| {
            let step = &sequence.steps[result.step];
            let departs = !matches!(result.order, Order::InOrder | Order::NotApplicable)
                || !result.poor.is_empty()
                || !result.amiss.is_empty()
                || result.wrong_place.is_some()
                || result.short
                || result.no_forearms
                || !result.not_binned.is_empty();
            let another = !result.other_ways(&setup.library).is_empty();
            let mut notes: Vec<String> = score
                .deductions
                .iter()
                .filter(|d| d.step == result.step)
                .map(|d| format!("{} (−{})", sentence(&reason(&d.reason, &step.ask)), d.marks))
                .collect();
            if let Some(place) = result.wrong_place
                && notes.is_empty()
            {
                notes.push(format!("Done {}", standing(place)));
            }
            let felt = result.action.map(|action| &drill.done()[action].felt);
            // What is as it should be, and found so, needs no word.
            let amiss = felt.into_iter().flatten().filter(|felt| felt.felt || felt.there);
            notes.extend(amiss.map(|felt| sentence(&felt_in_truth(felt))));
            StepRow {
                ask: sentence(&step.ask),
                verdict: match (result.order, another) {
                    (Order::InOrder, false) => "done",
                    (Order::InOrder, true) => "done another way",
                    (Order::Early, false) => "early",
                    (Order::Early, true) => "early, and another way",
                    (Order::Late, false) => "late",
                    (Order::Late, true) => "late, and another way",
                    (Order::Missed, _) => "missed",
                    (Order::NotApplicable, _) if is_of_kit(setup, &step.asked) => "never put on",
                    (Order::NotApplicable, _) => "not in this kit",
                },
                departs,
                done: result.action.map(|a| {
                    let done = &drill.done()[a];
                    format!("{} {}", clock(done.began), describe(setup, &done.action))
                }),
                notes,
                why: step.why.clone(),
                source: sources(drill, &step.basis),
            }
        })
        .collect()
}

/// A deduction's reason without the step's own words, which stand beside it.
fn reason(reason: &str, ask: &str) -> String {
    reason.strip_suffix(ask).map_or_else(
        || reason.to_owned(),
        |r| r.trim_end_matches([' ', ':']).to_owned(),
    )
}

fn hygiene(drill: &Drill, score: &Score) -> Vec<String> {
    let (due, met) = score.moments;
    let mut lines = vec![format!("{met} of {due} moments for clean hands met in full")];
    for cleaning in &score.cleanings {
        let verb = drill
            .setup()
            .library
            .product(&cleaning.product)
            .map_or_else(|| "Clean".to_owned(), |p| sentence(&p.verb));
        let zones = if cleaning.missed.is_empty() {
            "every zone reached".to_owned()
        } else {
            let missed: Vec<String> = cleaning.missed.iter().map(|z| z.label().to_owned()).collect();
            format!("not reached: {}", list(&missed))
        };
        let arms = if cleaning.forearms { ", forearms first" } else { "" };
        let over = cleaning.over_words();
        lines.push(format!(
            "{} {verb}{over}, {:.0} s of {:.0} s, {:.1} ml{arms}; {zones}; took off {}",
            clock(drill.done()[cleaning.action].began),
            cleaning.seconds,
            cleaning.asked,
            cleaning.amount,
            count(cleaning.removed)
        ));
    }
    if drill.setup().organism.class == Class::Tracer && score.cleanings.iter().any(|c| !c.lifts) {
        lines.push(sentence(RUB_ON_TRACER));
    }
    lines
}

/// What went well by what was done, not by chance.
fn well(score: &Score, average: Option<&Average>) -> Option<String> {
    let (due, met) = score.moments;
    let mucosa: u64 = score
        .reached
        .iter()
        .filter(|r| matches!(r.group, Group::Eyes | Group::Nostrils | Group::Lips))
        .map(|r| r.count)
        .sum();
    let in_order = score.steps.iter().filter(|s| s.order == Order::InOrder).count();
    let spared = mucosa == 0 && average.is_some_and(Average::spares_the_mucosa);
    let at_face = score.critical.iter().any(|c| {
        matches!(
            c.kind,
            CriticalKind::FaceTouchedUnclean | CriticalKind::DirtyGloveAtFace | CriticalKind::RubSkipped
        )
    });
    if due > 0 && met == due && !at_face {
        Some("You cleaned your hands in full every time it was asked".to_owned())
    } else if spared && !at_face {
        Some(
            "Nothing reached your eyes, nose or mouth, and however chance falls hardly anything would"
                .to_owned(),
        )
    } else if in_order > 1 {
        Some(format!("{in_order} steps came in the order asked"))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::{drill, play};
    use super::*;

    #[test]
    fn the_debrief_shows_the_numbers_of_the_books() {
        let drill = play("classic-tracer/gown-by-front", 7);
        let library = drill.setup().library.clone();
        let sequence = library.sequence("us-gloves-first").expect("a built-in sequence");
        let view = debrief_view(&drill, sequence, Asked::default());
        for group in &view.groups {
            for site in &group.sites {
                assert_eq!(site.count, drill.books().total(site.site), "{}", site.label);
            }
        }
        let shown: u64 = view.groups.iter().map(|g| g.count).sum::<u64>() + view.removed.0 + view.removed.1;
        let start: u64 = drill.books().start().iter().sum();
        assert_eq!(
            shown, start,
            "everything that was there at the start is accounted for"
        );
        let why = view.why.expect("something ended on the person");
        let sources: f64 = why.flow.sources.iter().map(|s| s.1).sum();
        assert!(
            (sources - why.count as f64).abs() < 1e-6,
            "{sources} of {}",
            why.count
        );
        assert_eq!(Some(why.count), why.site.map(|site| drill.books().total(site)));
    }

    #[test]
    fn what_was_on_hands_on_the_way_is_told_as_on_the_command_line() {
        let drill = play("classic-tracer/gown-by-front", 7);
        let library = drill.setup().library.clone();
        let sequence = library.sequence("uk-agp").expect("a built-in sequence");
        let rows = debrief_view(&drill, sequence, Asked::default()).way;
        let told: Vec<(&str, u64)> = rows.iter().map(|r| (r.label.as_str(), r.count)).collect();
        let counted: Vec<(String, u64)> = on_the_way(&drill)
            .iter()
            .map(|t| (sentence(t.label), t.found.count))
            .collect();
        let counted: Vec<(&str, u64)> = counted.iter().map(|(l, n)| (l.as_str(), *n)).collect();
        assert_eq!(told, counted);
        assert_eq!(rows.len(), 4, "{rows:?}");
        let cleaned: Vec<String> = drill
            .done()
            .iter()
            .filter(|d| matches!(d.action, crate::drill::Action::Clean { .. }))
            .map(|d| format!("{}, before a cleaning", clock(d.began)))
            .collect();
        let hands = &rows[0];
        let (end, before) = hands.moments.split_last().expect("hands are counted at the end");
        assert_eq!(end.0, "At the end");
        assert!(!before.is_empty());
        assert!(
            before.iter().all(|(when, _)| cleaned.contains(when)),
            "{before:?} of {cleaned:?}"
        );
        let sum: u64 = hands.moments.iter().map(|m| m.1).sum();
        assert_eq!(sum, hands.count);
        assert!(
            hands.count > 0 && rows[1].count > 0,
            "nothing was on the hands: {rows:?}"
        );
    }

    #[test]
    fn next_time_names_at_most_three_things() {
        for script in [
            "hurried",
            "gown-by-front",
            "no-rub",
            "face-touch",
            "us-gloves-first-good",
        ] {
            let drill = play(&format!("classic-tracer/{script}"), 11);
            let library = drill.setup().library.clone();
            let sequence = library.sequence("us-gloves-first").expect("a built-in sequence");
            let view = debrief_view(&drill, sequence, Asked::default());
            assert!((1..=3).contains(&view.next.len()), "{script}: {:?}", view.next);
        }
    }

    fn group(group: Group, count: u64, seen: bool) -> EndGroup {
        EndGroup {
            group,
            label: String::new(),
            count,
            seen,
            sites: vec![EndSite {
                site: group as usize,
                label: String::new(),
                count,
            }],
        }
    }

    #[test]
    fn why_opens_on_the_worst_place_and_not_on_three_specks() {
        let worst = |groups: &[EndGroup]| worst_place(groups);
        let specks = group(Group::Eyes, 3, false);
        let hands = group(Group::Hands, 4000, true);
        let neck = group(Group::Neck, 40, true);
        let cheek = group(Group::FaceSkin, 12, true);
        let shirt = group(Group::Clothing, 90_000, true);
        let at = |g: Group| Some(g as usize);
        assert_eq!(
            worst(&[specks.clone(), neck.clone(), hands.clone()]),
            at(Group::Hands)
        );
        assert_eq!(
            worst(&[specks.clone(), cheek, neck, hands.clone()]),
            at(Group::FaceSkin)
        );
        assert_eq!(
            worst(&[group(Group::Lips, 6, true), hands.clone()]),
            at(Group::Lips)
        );
        assert_eq!(worst(&[hands, shirt]), at(Group::Hands));
        assert_eq!(worst(&[specks]), at(Group::Eyes));
        assert_eq!(worst(&[]), None);
    }

    #[test]
    fn after_a_critical_error_the_debrief_shows_no_marks_and_praises_no_luck() {
        for seed in 1..30 {
            let drill = play("respiratory-room/rubbed-eye", seed);
            let library = drill.setup().library.clone();
            let sequence = library.sequence("uk-agp").expect("a built-in sequence");
            let view = debrief_view(&drill, sequence, Asked::default());
            assert!(!view.critical.is_empty());
            assert!(view.marks[0].starts_with("No marks: "), "{:?}", view.marks);
            let well = view.well.unwrap_or_default();
            assert!(!well.contains("Nothing reached"), "luck {seed}: {well}");
        }
    }

    #[test]
    fn where_a_rub_meets_tracer_it_is_said_what_a_rub_is_for() {
        let said = |script: &str| {
            let drill = play(script, 1);
            let library = drill.setup().library.clone();
            let sequence = library.sequence("uk-agp").expect("a built-in sequence");
            debrief_view(&drill, sequence, Asked::default())
                .hygiene
                .iter()
                .filter(|line| line.contains("lifts nothing"))
                .count()
        };
        assert_eq!(said("classic-tracer/uk-agp-good"), 1);
        assert_eq!(said("respiratory-room/uk-agp-good"), 0);
    }

    #[test]
    fn an_untouched_drill_misses_every_step_it_could_do() {
        let drill = drill("respiratory-room");
        let library = drill.setup().library.clone();
        let sequence = library.sequence("uk-agp").expect("a built-in sequence");
        let view = debrief_view(&drill, sequence, Asked::default());
        assert!(
            view.steps
                .iter()
                .all(|s| s.verdict == "missed" || s.verdict == "not in this kit")
        );
    }
}
