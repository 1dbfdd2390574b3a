//! The score of an attempt as plain text for a terminal.

use std::fmt::Write;

use super::on_the_way::on_the_way;
use super::words::{RUB_ON_TRACER, found_in_truth, source_line};
use crate::drill::Drill;
use crate::guidance::{Group, Order, Score, is_of_kit};
use crate::model::{Class, Sequence, Whereabouts};

/// The marks in one or two lines: what is left of them, or why there are none and what the steps lost beside that.
pub fn marks_lines(score: &Score) -> Vec<String> {
    let mut lines = match (score.marks(), score.critical.len(), score.lost()) {
        (Some(marks), ..) if score.is_untouched() => vec![format!(
            "marks {marks} of {}: no step that is asked was done",
            score.full
        )],
        (Some(marks), ..) => vec![format!("marks {marks} of {}", score.full)],
        (None, errors, lost) => vec![
            format!(
                "no marks: {errors} critical error{}",
                if errors == 1 { "" } else { "s" }
            ),
            if lost > 0.0 {
                format!("the steps alone would have lost {lost}")
            } else {
                "the steps alone would have lost nothing".to_owned()
            },
        ],
    };
    if !score.unasked.is_empty() {
        lines.push(format!(
            "nothing is marked for what this sequence does not speak of: {}",
            score.unasked.join(", ")
        ));
    }
    lines
}

/// The score, part by part.
pub fn score_text(drill: &Drill, sequence: &Sequence, score: &Score) -> String {
    let setup = drill.setup();
    let mut out = String::new();
    // Writing to a String cannot fail.
    let mut line = |text: String| {
        let _ = writeln!(out, "{text}");
    };
    line(format!(
        "{} (seed {}), {}",
        setup.scenario.label,
        drill.seed(),
        setup.organism.label
    ));
    line(String::new());
    line(format!("What reached whom, in {}", setup.organism.unit));
    for reached in score.reached.iter().filter(|r| r.group != Group::Patient) {
        let worst: Vec<String> = reached
            .sites
            .iter()
            .take(3)
            .map(|&(s, n)| format!("{} {n}", setup.sites[s].label))
            .collect();
        let most = if worst.is_empty() {
            String::new()
        } else {
            format!("   most: {}", worst.join(", "))
        };
        let seen = if reached.count > 0 && !reached.seen {
            "   below what the lamp shows"
        } else {
            ""
        };
        line(format!(
            "  {:<20} {:>10}{seen}{most}",
            reached.group.label(),
            reached.count
        ));
    }
    let books = drill.books();
    line(format!(
        "  {:<20} {:>10}",
        "inactivated",
        books.inactivated().iter().sum::<u64>()
    ));
    line(format!(
        "  {:<20} {:>10}",
        "washed away",
        books.washed_away().iter().sum::<u64>()
    ));
    line(String::new());
    line("On bare hands on the way, and what others get".to_owned());
    for told in on_the_way(drill) {
        line(format!("  {:<50} {:>10}", told.label, told.found.count));
        line(format!("    {}", told.about));
        for moment in &told.found.moments {
            line(format!("    {:<48} {:>10}", told.when(moment), moment.count));
        }
    }
    line(String::new());
    line(format!("Against the sequence: {}", sequence.label));
    for result in &score.steps {
        let step = &sequence.steps[result.step];
        let order = match result.order {
            Order::InOrder => "done",
            Order::Early => "early",
            Order::Late => "late",
            Order::Missed => "missed",
            Order::NotApplicable if is_of_kit(drill.setup(), &step.asked) => "never put on",
            Order::NotApplicable => "not in this kit",
        };
        let mut notes = Vec::new();
        if let Some(action) = result.action {
            notes.push(format!("action {}", action + 1));
        }
        for poor in &result.poor {
            let technique = drill.setup().library.technique(&poor.technique);
            let way = technique.map_or(&poor.technique, |t| &t.label);
            notes.push(format!("in another way: {way}"));
        }
        if let Some(place) = result.wrong_place {
            notes.push(format!(
                "done {}",
                match place {
                    Whereabouts::Doorway => "in the doorway",
                    inside_or_out => inside_or_out.word(),
                }
            ));
        }
        if result.short {
            notes.push("too short or zones left out".to_owned());
        }
        if result.no_forearms {
            notes.push("bare forearms left out".to_owned());
        }
        notes.extend(result.amiss.iter().cloned());
        if !result.not_binned.is_empty() {
            notes.push("not in the bin, or only by way of the floor".to_owned());
        }
        line(format!("  {order:<16} {:<44} {}", step.ask, notes.join("; ")));
    }
    for words in marks_lines(score) {
        line(format!("  {words}"));
    }
    for deduction in &score.deductions {
        let basis = &sequence.steps[deduction.step].basis;
        line(format!(
            "    -{} {} [{}]",
            deduction.marks,
            deduction.reason,
            source_line(&setup.library, basis)
        ));
    }
    line(String::new());
    line(format!(
        "Hand hygiene: {} of {} moments met in full",
        score.moments.1, score.moments.0
    ));
    for c in &score.cleanings {
        let missed: Vec<&str> = c.missed.iter().map(|z| z.label()).collect();
        let missed = if missed.is_empty() {
            String::new()
        } else {
            format!(", not in full: {}", missed.join(", "))
        };
        let arms = if c.forearms { ", forearms first" } else { "" };
        let over = c.over_words();
        line(format!(
            "  action {}: {}{over} {} s of {} s, {} ml{arms}, removed {}{missed}",
            c.action + 1,
            c.product,
            c.seconds,
            c.asked,
            c.amount,
            c.removed
        ));
    }
    if setup.organism.class == Class::Tracer && score.cleanings.iter().any(|c| !c.lifts) {
        line(format!("  {RUB_ON_TRACER}"));
    }
    line(String::new());
    line(format!("Face touches: {}", score.face_touches.len()));
    for touch in &score.face_touches {
        let state = if touch.unclean { "not clean" } else { "clean" };
        let site = &setup.sites[touch.site].label;
        line(format!(
            "  action {}: {} hand, {state}, on {site}",
            touch.action + 1,
            touch.hand.word()
        ));
    }
    line(String::new());
    for (seen, heading) in [(false, "Felt at checks"), (true, "Seen at checks")] {
        let told: Vec<(usize, String)> = drill
            .done()
            .iter()
            .enumerate()
            .flat_map(|(n, done)| {
                found_in_truth(&done.felt, seen)
                    .into_iter()
                    .map(move |told| (n, told))
            })
            .collect();
        if !told.is_empty() {
            line(heading.to_owned());
            for (n, told) in told {
                line(format!("  action {}: {told}", n + 1));
            }
            line(String::new());
        }
    }
    line(format!("Critical errors: {}", score.critical.len()));
    for critical in &score.critical {
        line(format!("  action {}: {}", critical.action + 1, critical.reason));
    }
    line(String::new());
    line(format!("Time: {:.0} s", score.seconds));
    line(String::new());
    line(super::words::CAUTION.to_owned());
    out
}
