//! The report on one person who was watched: one page to print in black on white, and a figure of what was done when.

use std::path::{Path, PathBuf};

use maud::{Markup, PreEscaped, html};

use crate::record::{Code, Person};
use crate::register::{Decision, Finding, Judged, JudgedStep, Moment, Short, Verdict};

use super::drawing::{Anchor, Area, Drawing, Paint, Shape, Tone, Type};
use super::image::inline_svg;
use super::page::page;
use super::register::{LOCAL_RULE, less_words, sheet_asks_words};
use super::words::{CAUTION, capital};

/// A time of the drill or of watching, such as `1:05`.
fn time(seconds: f64) -> String {
    // As the clock shows it, which does not run ahead.
    let whole = seconds.max(0.0) as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// The steps that belong to the kit, with their numbers, which are those on the page that they were ticked on: there a real
/// person's sheet has all steps, since what is worn may not be what was expected.
fn told(judged: &Judged) -> impl Iterator<Item = (usize, &JudgedStep)> {
    let applies = |step: &&JudgedStep| step.verdict != Verdict::NotApplicable;
    let real = judged.watching.is_real();
    let shown = judged.steps.iter().filter(move |step| real || applies(step));
    shown
        .enumerate()
        .map(|(n, step)| (n + 1, step))
        .filter(move |(_, step)| applies(step))
}

/// Marks that a step lost, in words.
pub fn lost_words(marks: f64) -> String {
    let unit = if marks == 1.0 { "mark" } else { "marks" };
    format!("{marks} {unit} lost")
}

/// What to work on first, kindly and specifically; at most three things: the first critical error that stands, the first
/// cleaning that was not as asked, then whatever else there was.
pub fn work_on(judged: &Judged) -> Vec<String> {
    let critical = judged
        .critical
        .iter()
        .filter(|c| c.stands)
        .map(|c| c.what.clone());
    let not = |cleans: bool| {
        judged
            .steps
            .iter()
            .filter(move |step| step.verdict == Verdict::NotMet && step.cleans == cleans)
            .map(|step| match step.found.as_ref().and_then(|f| f.why.first()) {
                Some(why) => why.clone(),
                None => step.ask.clone(),
            })
    };
    let (mut critical, mut cleans) = (critical, not(true));
    // The gravest, then hands, since most else hangs on them; then whatever else there was.
    let first: Vec<String> = critical.next().into_iter().chain(cleans.next()).collect();
    let mut list: Vec<String> = Vec::new();
    for text in first.into_iter().chain(critical).chain(cleans).chain(not(false)) {
        let text = capital(&text);
        if !list.contains(&text) {
            list.push(text);
        }
    }
    list.truncate(3);
    list
}

/// What went well, in a sentence that counts; none if nothing was seen.
pub fn went_well(judged: &Judged) -> Option<String> {
    let seen = judged.steps.iter().filter(|step| step.counts()).count();
    let met = judged
        .steps
        .iter()
        .filter(|step| step.verdict == Verdict::Met)
        .count();
    let cleans: Vec<&JudgedStep> = judged.steps.iter().filter(|s| s.cleans && s.counts()).collect();
    let cleaned = cleans.iter().filter(|s| s.verdict == Verdict::Met).count();
    (seen > 0).then(|| {
        if met == 0 {
            return format!("Of {seen} steps none was as asked yet");
        }
        let mut text = format!("{met} of {seen} steps were as asked");
        if cleaned > 0 {
            text.push_str(&format!(
                ", among them {cleaned} of {} cleanings of hands",
                cleans.len()
            ));
        }
        text
    })
}

/// What was done when: a mark for each step in the order asked from top to bottom, from left to right in time. Done in order it falls
/// like a staircase. Only steps with a time are on it.
pub fn judged_drawing(judged: &Judged) -> Drawing {
    let rows: Vec<(usize, &JudgedStep)> = told(judged).collect();
    let pitch = 30.0;
    let (left, top) = (80.0, 56.0);
    let mut drawing = Drawing {
        width: 1400.0,
        height: top + pitch * rows.len().max(1) as f64 + 70.0,
        shapes: Vec::new(),
    };
    let page = Area::new(0.0, 0.0, drawing.width, drawing.height);
    drawing.rect(page, 0.0, Paint::solid(Tone::Card));
    let last = rows
        .iter()
        .filter_map(|(_, s)| s.at)
        .fold(judged.seconds, f64::max)
        .max(1.0);
    let x = |at: f64| left + (page.width - left - 60.0) * at / last;
    let y = |n: usize| top + pitch * (n as f64 - 0.5);
    drawing.text(
        (left, 30.0),
        Anchor::Start,
        "Asked from top to bottom, done from left to right",
        Type::bold(24.0),
    );
    for (n, _) in &rows {
        drawing.text(
            (left - 24.0, y(*n) + 8.0),
            Anchor::End,
            n.to_string(),
            Type::soft(22.0),
        );
        drawing.line(vec![(left, y(*n)), (page.width - 40.0, y(*n))], 1.0, Tone::Line);
    }
    let mut done: Vec<(f64, usize, Verdict)> = rows
        .iter()
        .filter_map(|(n, step)| Some((step.at?, *n, step.verdict)))
        .collect();
    done.sort_by(|a, b| a.0.total_cmp(&b.0));
    if done.len() > 1 {
        let points = done.iter().map(|&(at, n, _)| (x(at), y(n))).collect();
        drawing.line(points, 3.0, Tone::Soft);
    }
    for (at, n, verdict) in done {
        let (x, y) = (x(at), y(n));
        let shape = match verdict {
            Verdict::Met => Shape::Circle {
                x,
                y,
                radius: 9.0,
                paint: Paint::solid(Tone::Ink),
            },
            _ => Shape::Polygon {
                points: vec![(x, y - 12.0), (x + 12.0, y), (x, y + 12.0), (x - 12.0, y)],
                paint: Paint::edged(Tone::Card, Tone::Ink, 4.0),
            },
        };
        drawing.shapes.push(shape);
    }
    let foot = top + pitch * rows.len().max(1) as f64 + 30.0;
    for (at, anchor) in [
        (0.0, Anchor::Start),
        (last / 2.0, Anchor::Middle),
        (last, Anchor::End),
    ] {
        drawing.text((x(at), foot), anchor, time(at), Type::soft(22.0));
    }
    drawing.text(
        (left, foot + 30.0),
        Anchor::Start,
        "Full circle: as asked. Open diamond: not as asked",
        Type::soft(22.0),
    );
    drawing
}

/// Where the window saves reports and pictures, beside a folder of logs.
pub fn saved_beside(logs: &Path) -> Option<PathBuf> {
    Some(logs.parent()?.join("pictures"))
}

/// What stands between the parts of a report's name; no id of a sequence has it.
const BETWEEN: &str = "--";

/// Who it is of where there is no code; no code has two signs like these.
const NOBODY: &str = "(nobody)";

/// The name of the file of a report, without its ending: what was watched, of whom, and the day.
pub fn report_name(sequence: &str, person: Option<&Person>, began: Moment) -> String {
    let who = person.map_or_else(|| NOBODY.to_owned(), |p| p.code.folded());
    [sequence, &who, &began.date().to_string()].join(BETWEEN)
}

/// True if a file of this name is a report of somebody, or a figure of one, as [`report_name`] names them.
pub fn is_report_of(name: &str, code: &Code) -> bool {
    let stem = ["html", "svg", "png"]
        .iter()
        .find_map(|ending| name.strip_suffix(&format!(".{ending}")));
    let of = |stem: &str| {
        let (_, rest) = stem.split_once(BETWEEN)?;
        let (who, day) = rest.rsplit_once(BETWEEN)?;
        // A second one of a day is numbered where it is saved.
        let (date, more) = day.split_at_checked("2026-01-01".len())?;
        let number = |n: &str| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit());
        let numbered = more.is_empty() || more.strip_prefix('-').is_some_and(number);
        let dated = date.parse::<jiff::civil::Date>().is_ok() && numbered;
        Some(dated && who == code.folded())
    };
    stem.and_then(of).unwrap_or(false)
}

/// The report as a page that stands alone and prints on one sheet of A4. A sheet that was not `signed`, with when, is called a draft.
pub fn judged_html(person: Option<&Person>, judged: &Judged, signed: Option<Moment>) -> String {
    let who = person.map_or_else(|| "Nobody named".to_owned(), |p| p.code.to_string());
    let title = format!("{who}: {}", judged.sequence.label);
    let short = judged.falls_short();
    let (left, of) = judged.marks();
    let body = html! {
        header {
            h1 { (who) @if signed.is_none() { " " span.draft { "Draft, not signed" } } }
            p {
                (capital(judged.watching.label())) " · "
                @if let Some(scenario) = &judged.scenario { (scenario.label) " · " }
                (judged.sequence.label) " · " (judged.began.words()) " · took " (time(judged.seconds))
                @if !judged.watching.is_real() { " by the clock of the drill, which stands while nothing is done" }
                @if let Some(person) = person {
                    @if let Some(ward) = &person.ward { " · ward " (ward.as_str()) }
                    @if let Some(group) = &person.group { " · " (group.as_str()) }
                }
            }
        }
        section.decision {
            p.big { (decision_words(judged)) }
            p {
                @match left {
                    Some(left) if judged.watching.is_real() => { (left) " of " (of) " steps seen as asked. " }
                    Some(left) => { (left) " of " (of) " marks. " }
                    None => { "No marks beside a critical error. " }
                }
                "The local rule (" (sheet_asks_words(judged)) ") gives: "
                @if short.is_empty() { "passed." }
                @else { "not passed, for " (short.iter().map(|s| s.words()).collect::<Vec<_>>().join("; ")) "." }
            }
            @if let Some(less) = less_words(&judged.rule) { p { (less) "." } }
            @if !judged.comment.trim().is_empty() { p { b { "Comment: " } (judged.comment) } }
        }
        div.two {
            section {
                h2 { "What went well" }
                p { (went_well(judged).unwrap_or_else(|| "Nothing was seen of the steps".to_owned())) }
            }
            section {
                h2 { "To work on next" }
                @let list = work_on(judged);
                @if list.is_empty() && short.contains(&Short::Unseen) { p { "Nothing of what was seen; not every step was seen" } }
                @else if list.is_empty() { p { "Nothing was found: keep it so" } }
                @else { ol { @for line in list { li { (line) } } } }
            }
        }
        section {
            h2 { "Step by step" }
            table {
                thead { tr { th { "" } th { "Asked" } th { "When" } th { "How" } th { "Why, and remarks" } } }
                tbody { @for (n, step) in told(judged) { (row(judged, n, step)) } }
            }
        }
        @if judged.critical.iter().any(|c| c.stands || c.found) {
            section {
                h2 { "Critical errors" }
                ul {
                    @for c in judged.critical.iter().filter(|c| c.stands || c.found) {
                        li { @if let Some(at) = c.at { (time(at)) " " } (capital(&c.what)) @if c.is_overruled() { " (does not stand: " (c.remark) ")" } @else if !c.remark.is_empty() { " (" (c.remark) ")" } }
                    }
                }
            }
        }
        figure aria-label="What was done when; the same as in the table" { (PreEscaped(inline_svg(&judged_drawing(judged)))) }
        footer {
            p.sign {
                @let observer = judged.observer.as_ref().map(ToString::to_string);
                @if let Some(at) = signed { "Signed by name typed: " b { (observer.unwrap_or_default()) } ", " (at.words()) }
                @else { "Not signed" @if let Some(observer) = observer { "; watched by " b { (observer) } } }
            }
            p { (capital(LOCAL_RULE)) ". " (CAUTION) }
        }
    };
    page(&title, STYLE, &body)
}

fn decision_words(judged: &Judged) -> String {
    match judged.decision {
        Decision::Open => "Not decided yet".to_owned(),
        other => capital(other.label()),
    }
}

fn row(judged: &Judged, n: usize, step: &JudgedStep) -> Markup {
    let mark = match step.verdict {
        Verdict::Met => "\u{2713}",
        Verdict::NotMet => "\u{2717}",
        Verdict::NotSeen | Verdict::NotApplicable => "\u{2013}",
    };
    html! {
        tr {
            td.number { (n) }
            td { (capital(&step.ask)) }
            td.number { @if let Some(at) = step.at { (time(at)) } }
            td.how {
                (mark) " " (step.verdict.label())
                @if step.found.as_ref().is_some_and(|f| !f.other_ways.is_empty()) && step.verdict == Verdict::NotMet && !step.is_overruled() {
                    " (another way)"
                }
                @if let Some(found) = step.found.as_ref().filter(|f| f.lost > 0.0 && !step.is_overruled()) { ", " (lost_words(found.lost)) }
            }
            td {
                @if step.is_overruled() { "Program: " (step.found.as_ref().map_or_else(String::new, Finding::words)) ". " }
                @if let Some(found) = step.found.as_ref().filter(|_| step.verdict == Verdict::NotMet) {
                    @for why in &found.why { (capital(why)) ". " }
                }
                @if judged.critical_by(step).next().is_some() { b { "A critical error happened by then. " } }
                @if !step.remark.trim().is_empty() { "Remark: " (step.remark) }
            }
        }
    }
}

/// How the page looks: one sheet of A4, black on white.
const STYLE: &str = "
:root { color-scheme: light; }
body { font: 15px/1.4 'Atkinson Hyperlegible', Verdana, sans-serif; color: #000; background: #fff; max-width: 50rem; margin: 1.5rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; margin: 0; } h2 { font-size: 1.05rem; margin: .9rem 0 .2rem; } p { margin: .2rem 0; }
.draft { font-size: 1rem; border: 1.5px dashed #000; padding: 0 .4rem; margin-left: .5rem; }
.decision { border: 1.5px solid #000; padding: .4rem .7rem; margin-top: .6rem; } .big { font-size: 1.2rem; font-weight: 700; }
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 0 1.5rem; } ol, ul { margin: 0; padding-left: 1.2rem; }
table { border-collapse: collapse; width: 100%; font-size: .87em; } th { text-align: left; font-weight: 700; }
th, td { padding: .12rem .5rem .12rem 0; border-bottom: 1px solid #999; vertical-align: top; }
.number, .how { white-space: nowrap; font-variant-numeric: tabular-nums; }
figure { margin: .6rem 0 0; } figure svg { width: 100%; height: auto; max-height: 7cm; }
footer { border-top: 1px solid #000; margin-top: .6rem; font-size: .85em; }
@media print { @page { size: A4; margin: 11mm; } body { margin: 0; padding: 0; max-width: none; font-size: 9.2pt; line-height: 1.25; }
 h1 { font-size: 14pt; } h2 { margin-top: .45rem; font-size: 10pt; } figure svg { max-height: 5cm; } section, figure, tr { break-inside: avoid; } }
@media (max-width: 40rem) { .two { display: block; } }
";
