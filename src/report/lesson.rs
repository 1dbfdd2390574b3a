//! Lessons in words: what stands on the wall, where it is known from, and the trainer's notes as text and as a page to print.

use std::fmt::Write;

use maud::{Markup, html};

use crate::model::{Lesson, LessonClaim, LessonKind, LessonLamp, LessonStep, LessonTarget, Library, Tries};

use crate::analysis::{all_right, people_to_tell};

use super::page::page;
use super::words::{CAUTION, many, source_line};

/// What stands on the wall in a step beside its heading, in words; empty where that is answers, claims or a picture.
pub fn lesson_text(library: &Library, kind: &LessonKind) -> String {
    let asked = |duel: &str| {
        library
            .duel(duel)
            .map_or_else(String::new, |d| d.question.clone())
    };
    let names = |scenario: &str, sequence: &str| {
        let scenario = library.scenario(scenario).map_or(scenario, |s| &s.label);
        let sequence = library.sequence(sequence).map_or(sequence, |s| &s.label);
        format!("{scenario} · {sequence}")
    };
    match kind {
        LessonKind::Say(text) | LessonKind::Discuss(text) => text.clone(),
        LessonKind::Ask(ask) => ask.question.clone(),
        LessonKind::Watch(duel) | LessonKind::Odds { duel, .. } => asked(duel),
        LessonKind::Evidence(_) => String::new(),
        LessonKind::Try {
            scenario,
            sequence,
            who,
            lamp,
        } => {
            let who = match who {
                Tries::Everybody => "Everybody tries it",
                Tries::Volunteer => "One of us tries it, all others watch",
            };
            let lamp = match lamp {
                LessonLamp::On => "the lamp is on",
                LessonLamp::Peek => "a look under the lamp is allowed",
                LessonLamp::UntilTheEnd => "the lamp stays off until the end",
            };
            format!("{} · {who}; {lamp}", names(scenario, sequence))
        }
        LessonKind::Exercise { scenario, sequence } => names(scenario, sequence),
    }
}

/// Sources by their ids, each as a line.
pub fn cites(library: &Library, sources: &[String]) -> Vec<String> {
    let found = sources.iter().filter_map(|id| library.source(id));
    found.map(|source| source.cite.clone()).collect()
}

/// Where a claim is known from: its basis with how that was read, and what sources it names besides.
pub fn claim_sources(library: &Library, claim: &LessonClaim) -> Vec<String> {
    let basis = claim.basis.as_deref().and_then(|id| library.basis(id));
    let told = |id: &String| basis.is_some_and(|basis| basis.sources.contains(id));
    let others: Vec<String> = claim.sources.iter().filter(|id| !told(id)).cloned().collect();
    let line = basis.map(|basis| source_line(library, &basis.id));
    line.into_iter().chain(cites(library, &others)).collect()
}

/// What a trainer may expect of a step beside its notes: nothing about results, which the odds and the room will tell.
fn expect(library: &Library, lesson: &Lesson, step: &LessonStep) -> Vec<String> {
    let heading = |id: &str| {
        let at = lesson.step(id)?;
        Some(format!(
            "step {}, \u{201c}{}\u{201d}",
            at + 1,
            lesson.steps[at].heading
        ))
    };
    let duel = |id: &str| {
        library
            .duel(id)
            .map_or_else(|| id.to_owned(), |duel| duel.label.clone())
    };
    let laid: Vec<String> = lesson
        .laid_against(&step.id)
        .map(|(n, ask)| {
            format!(
                "Hands of step {}, \u{201c}{}\u{201d}, are laid beside this",
                n + 1,
                ask.question
            )
        })
        .collect();
    let mut out = match &step.kind {
        LessonKind::Ask(ask) => {
            let mut out = vec!["Count the hands for each answer, and enter them before going on".to_owned()];
            out.extend(
                ask.against
                    .as_deref()
                    .and_then(heading)
                    .map(|there| format!("Which answers are borne out is worked out at {there}")),
            );
            out
        }
        LessonKind::Watch(id) => vec![format!("The pair \u{201c}{}\u{201d} is played in step", duel(id))],
        LessonKind::Odds { duel: id, target } => vec![
            format!(
                "The odds of the pair \u{201c}{}\u{201d}: {} first, and other places on the same page",
                duel(id),
                target_words(*target)
            ),
            "They take some seconds to be counted; nothing about them is written here, since content and model may change".to_owned(),
        ],
        LessonKind::Exercise { .. } => vec![
            "For each person mark where it glowed, or that it glowed nowhere; a person takes a few seconds".to_owned(),
            format!(
                "Then lay the counts beside what the model expects. With few people only large differences show: to tell 50 of 100 \
                 from 25 of 100 takes {:.0} people on either side",
                people_to_tell(0.5, 0.25).unwrap_or_default().ceil()
            ),
        ],
        LessonKind::Try { sequence, .. } => {
            let steps = library.sequence(sequence).map_or(0, |sequence| sequence.steps.len());
            let words = || {
                format!(
                    "No faultless run: whoever does each of its {steps} steps right in 95 of 100 goes does all of them right in {:.0}",
                    100.0 * all_right(0.95, steps)
                )
            };
            // Of one or two steps it says nothing that is not plain.
            (steps > 2).then(words).into_iter().collect()
        }
        _ => Vec::new(),
    };
    out.extend(laid);
    out
}

fn target_words(target: LessonTarget) -> String {
    target.word().replace('-', " ")
}

/// When each step begins, in minutes from the start.
fn begins(lesson: &Lesson) -> Vec<u32> {
    let mut at = 0;
    let each = lesson.steps.iter().map(|step| {
        let begins = at;
        at += step.minutes;
        begins
    });
    each.collect()
}

fn minutes(number: u32) -> String {
    many(u64::from(number), "minute")
}

/// The trainer's notes as plain text, for a terminal.
pub fn lesson_notes_text(library: &Library, lesson: &Lesson) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let mut line = |text: String| {
        let _ = writeln!(out, "{text}");
    };
    line(format!("{}, {}", lesson.label, minutes(lesson.minutes)));
    line(format!("For: {}", lesson.audience));
    for material in &lesson.materials {
        line(format!("  needed: {material}"));
    }
    for (n, (step, begins)) in lesson.steps.iter().zip(begins(lesson)).enumerate() {
        line(String::new());
        line(format!(
            "{}. {} ({}; from minute {begins}, {})",
            n + 1,
            step.heading,
            step.kind.label(),
            minutes(step.minutes)
        ));
        let text = lesson_text(library, &step.kind);
        if !text.is_empty() {
            line(format!("   on the wall: {text}"));
        }
        match &step.kind {
            LessonKind::Ask(ask) => ask
                .answers
                .iter()
                .for_each(|a| line(format!("   [  ] {}", a.text))),
            LessonKind::Evidence(claims) => {
                for claim in claims {
                    line(format!(
                        "   - {} [{}]",
                        claim.text,
                        claim_sources(library, claim).join("; ")
                    ));
                }
            }
            _ => {}
        }
        if !step.notes.is_empty() {
            line(format!("   notes: {}", step.notes));
        }
        for text in expect(library, lesson, step) {
            line(format!("   expect: {text}"));
        }
        for cite in cites(library, &step.sources) {
            line(format!("   from: {cite}"));
        }
    }
    line(String::new());
    line(CAUTION.to_owned());
    out
}

/// The trainer's notes as a page that stands alone and prints in black on white.
pub fn lesson_notes_html(library: &Library, lesson: &Lesson) -> String {
    let body = html! {
        h1 { (lesson.label) }
        p.about { "Notes for the trainer · " (minutes(lesson.minutes)) " · " (lesson.audience) }
        @if !lesson.materials.is_empty() {
            h2 { "What has to be there" }
            ul { @for material in &lesson.materials { li { (material) } } }
        }
        @for (n, (step, begins)) in lesson.steps.iter().zip(begins(lesson)).enumerate() {
            (step_section(library, lesson, n, step, begins))
        }
        footer { p { (CAUTION) } p { "No names are kept of a lesson: only how many hands went up, and where people glowed." } }
    };
    page(&lesson.label, STYLE, &body)
}

fn step_section(library: &Library, lesson: &Lesson, n: usize, step: &LessonStep, begins: u32) -> Markup {
    let text = lesson_text(library, &step.kind);
    html! {
        section {
            h2 { span.time { (begins) "\u{2013}" (begins + step.minutes) " min" } " " (n + 1) ". " (step.heading) }
            p.about { (step.kind.label()) ", " (minutes(step.minutes)) }
            @if !text.is_empty() { p.wall { (text) } }
            @match &step.kind {
                LessonKind::Ask(ask) => {
                    table { tbody { @for answer in &ask.answers { tr { td.box {} td { (answer.text) } } } } }
                }
                LessonKind::Evidence(claims) => {
                    ul { @for claim in claims { li { (claim.text) " " span.from { (claim_sources(library, claim).join("; ")) } } } }
                }
                _ => {}
            }
            @if !step.notes.is_empty() { p { (step.notes) } }
            @for text in expect(library, lesson, step) { p.expect { (text) } }
            @for cite in cites(library, &step.sources) { p.from { (cite) } }
        }
    }
}

/// How the page looks: black on white, with no step cut by a page's end.
const STYLE: &str = "
:root { color-scheme: light; }
body { font: 16px/1.5 'Atkinson Hyperlegible', Verdana, sans-serif; color: #000; background: #fff; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.6rem; margin: 0; } h2 { font-size: 1.15rem; margin: 1.4rem 0 0; }
.about { margin: .1rem 0 .5rem; } .time { font-weight: 400; font-variant-numeric: tabular-nums; border: 1px solid #000; padding: 0 .4rem; }
.wall { font-size: 1.1rem; border-left: 4px solid #000; padding-left: .8rem; margin: .4rem 0; }
.expect { margin: .2rem 0 .2rem 1rem; font-style: italic; } .from { font-size: .85rem; margin: .1rem 0; }
table { border-collapse: collapse; margin: .4rem 0; } td { padding: .2rem .6rem .2rem 0; } td.box { width: 3rem; height: 1.4rem; border: 1px solid #000; padding: 0; } td + td { padding-left: .6rem; }
footer { border-top: 1px solid #000; margin-top: 2rem; font-size: .9rem; }
@media print { @page { size: A4; margin: 14mm; } body { margin: 0; max-width: none; font-size: 10.5pt; } section { break-inside: avoid; } }
";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::content::Content;

    #[test]
    fn notes_have_every_step_with_its_time_and_need_nothing_but_themselves() {
        let library = Content::builtin().expect("sound").library;
        assert!(library.lessons.len() >= 2);
        for lesson in &library.lessons {
            let (text, page) = (
                lesson_notes_text(&library, lesson),
                lesson_notes_html(&library, lesson),
            );
            for step in &lesson.steps {
                let escaped = html! { (step.notes) }.into_string();
                assert!(
                    !step.notes.is_empty() && page.contains(&escaped),
                    "{}: {}",
                    lesson.id,
                    step.id
                );
                assert!(
                    text.contains(&step.notes) && text.contains(&step.heading),
                    "{}",
                    step.id
                );
            }
            assert_eq!(begins(lesson)[0], 0);
            let last = lesson.steps.last().expect("a step");
            assert_eq!(
                begins(lesson).last().map(|b| b + last.minutes),
                Some(lesson.minutes)
            );
            assert!(page.contains(&format!(
                "{}\u{2013}{} min",
                lesson.minutes - last.minutes,
                lesson.minutes
            )));
            for outside in ["<script", "http://", "https://", "<img", "@import", "url("] {
                assert!(!page.contains(outside), "{outside}");
            }
            for material in &lesson.materials {
                assert!(page.contains(&html! { (material) }.into_string()) && text.contains(material));
            }
        }
    }

    #[test]
    fn what_is_written_in_a_lesson_is_text_on_the_page() {
        let library = Content::builtin().expect("sound").library;
        let mut lesson = library.lessons[0].clone();
        lesson.label = "<b>&\"".to_owned();
        let page = lesson_notes_html(&library, &lesson);
        assert!(!page.contains("<b>") && page.contains("&lt;b&gt;&amp;"), "{page}");
    }
}
