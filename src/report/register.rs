//! What a register tells, in tables and in words.

use std::fmt::Write;

use crate::model::{NeededClean, RegisterRules};
use crate::record::{Code, Label, PassTerms, Person};
use crate::register::{
    Agreements, Attempt, Decisions, Due, Entry, Judged, JudgedBy, Short, Standing, Verdict, What,
    same_occasions,
};

use super::Table;

/// What lists of the register always say beside their rows.
pub const LOCAL_RULE: &str =
    "the pass mark is a local rule and no standard; whether somebody is competent is for a person to decide";
/// What dates of refreshers always say.
pub const NO_TRIAL: &str = "no interval has been trialled; the rule is in register.ron and can be changed";

/// A share of the marks in per cent, such as `90 %` or `86.1 %`.
pub fn mark_words(mark: f64) -> String {
    format!("{} %", (1000.0 * mark).round() / 10.0)
}

/// What a rule to pass by asks for, to be read after "it asks for".
pub fn asks_words(pass: &PassTerms) -> String {
    asks(pass, None)
}

/// The same of the rule that a sheet was judged by.
pub fn sheet_asks_words(sheet: &Judged) -> String {
    let safety = sheet.steps.iter().any(|step| step.safety);
    let guarded = safety.then_some("every step that guards safety as asked");
    asks(&sheet.rule.terms(), guarded)
}

fn asks(pass: &PassTerms, guarded: Option<&str>) -> String {
    let cleans = pass.rule().cleans;
    let [after, last] = [NeededClean::AfterGloves, NeededClean::Last].map(|clean| cleans.contains(&clean));
    let cleaned = match (after, last) {
        (true, true) => Some("hands cleaned in full after the gloves and at the end"),
        (true, false) => Some("hands cleaned in full after the gloves"),
        (false, true) => Some("hands cleaned in full at the end"),
        (false, false) => None,
    };
    let mark = format!("{} of the marks", mark_words(pass.mark));
    let all: Vec<&str> = [mark.as_str(), "no critical error"]
        .into_iter()
        .chain(cleaned)
        .chain(guarded)
        .collect();
    match all.split_last() {
        Some((last, before)) if before.len() > 1 => format!("{}, and {last}", before.join(", ")),
        _ => all.join(" and "),
    }
}

/// Said of a rule that whoever watched set and that asks for less than the usual one, as a sentence.
pub fn less_words(rule: &JudgedBy) -> Option<String> {
    let usual = rule.usual.as_ref().filter(|_| rule.is_less())?;
    Some(format!(
        "This is less than the usual rule here, which asks for {}",
        asks_words(usual)
    ))
}

/// How an attempt ended, in a few words: what whoever watched decided, if anybody did, else what the rule makes of it.
pub fn outcome_words(attempt: &Attempt, rules: &RegisterRules, decided: &Decisions) -> String {
    match decided.of(attempt.attempt) {
        Some(decided) => format!("{}, as decided by whoever watched", decided.decision.label()),
        None => short_words(&attempt.falls_short(&rules.pass), attempt.is_clean()),
    }
}

fn short_words(short: &[Short], clean: bool) -> String {
    if short.is_empty() {
        return if clean { "passed, nothing lost" } else { "passed" }.to_owned();
    }
    if let [Short::BrokenOff] = short {
        return "broken off".to_owned();
    }
    let why: Vec<&str> = short.iter().map(|s| s.words()).collect();
    format!("not passed: {}", why.join("; "))
}

/// How somebody stands, in a few words.
pub fn standing_words(standing: &Standing) -> String {
    match standing {
        Standing::Clean(1) => "nothing lost".to_owned(),
        Standing::Clean(n) => format!("nothing lost, {n} times running"),
        Standing::Passed => "passed".to_owned(),
        Standing::NotPassed(short) => short_words(short, false),
        Standing::Unfinished => "nothing finished yet".to_owned(),
    }
}

/// Marks, such as `88 of 100`; `none` beside a critical error.
fn marks(attempt: &Attempt) -> String {
    match attempt.marks.left {
        Some(left) => format!("{left} of {}", attempt.marks.of),
        None => "none".to_owned(),
    }
}

/// The station that kept an entry.
fn station_words(entry: &Entry) -> &str {
    entry.station.as_ref().map_or("not said", Label::as_str)
}

/// One row for each attempt.
pub fn attempts_table(entries: &[Entry], rules: &RegisterRules, decided: &Decisions) -> Table {
    let mut table = Table::new([
        "date", "code", "ward", "group", "for", "scenario", "sequence", "outcome", "marks", "critical",
        "seconds", "log", "station", "id",
    ]);
    for entry in entries {
        let Some(attempt) = entry.attempt() else { continue };
        let person = entry.person.as_ref();
        let label = |pick: fn(&Person) -> Option<&Label>| {
            person
                .and_then(pick)
                .map_or(String::new(), |label| label.as_str().to_owned())
        };
        table.rows.push(vec![
            attempt.began.to_string(),
            person.map_or(String::new(), |p| p.code.to_string()),
            label(|p| p.ward.as_ref()),
            label(|p| p.group.as_ref()),
            attempt.purpose.word().to_owned(),
            attempt.scenario.id.clone(),
            attempt.sequence.id.clone(),
            outcome_words(attempt, rules, decided),
            marks(attempt),
            attempt.critical.len().to_string(),
            format!("{:.0}", attempt.seconds),
            attempt
                .log
                .as_ref()
                .map_or_else(String::new, |log| log.file.clone()),
            station_words(entry).to_owned(),
            entry.id.to_string(),
        ]);
    }
    table
}

/// One row for each step of each sheet of a real person; sheets of one occasion have one occasion, the id of the first of them.
pub fn watched_table(entries: &[Entry]) -> Table {
    let mut table = Table::new([
        "date", "code", "ward", "group", "watched", "sequence", "observer", "decision", "step", "asked",
        "said", "seconds", "remark", "station", "sheet", "occasion",
    ]);
    let sheets: Vec<(&Entry, &Judged)> = entries
        .iter()
        .filter_map(|entry| Some((entry, entry.judged()?)))
        .filter(|(_, sheet)| sheet.watching.is_real())
        .collect();
    let of: Vec<(Option<&Code>, &Judged)> = sheets
        .iter()
        .map(|(entry, sheet)| (entry.person.as_ref().map(|p| &p.code), *sheet))
        .collect();
    for (n, first) in same_occasions(&of).into_iter().enumerate() {
        let (entry, sheet) = sheets[n];
        for step in &sheet.steps {
            let mut row = head_cells(entry, sheet);
            row.extend([
                step.id.clone(),
                step.ask.clone(),
                step.verdict.label().to_owned(),
                step.at.map_or(String::new(), |at| format!("{at:.0}")),
                step.remark.clone(),
                station_words(entry).to_owned(),
                sheet.sheet.to_string(),
                sheets[first].1.sheet.to_string(),
            ]);
            table.rows.push(row);
        }
    }
    table
}

/// What is always said beside kappa.
pub const KAPPA_WARNING: &str = "kappa falls where nearly everything is done right, though people agree: read it beside the per cent, and \
                                 beside what it would be if right and wrong were equally common";

/// One row for each sheet of whoever watched.
pub fn sheets_table(entries: &[Entry]) -> Table {
    let mut table = Table::new([
        "date",
        "code",
        "ward",
        "group",
        "watched",
        "sequence",
        "observer",
        "decision",
        "rule",
        "rule asks for",
        "less than usual",
        "as asked",
        "critical",
        "overruled",
        "station",
        "id",
    ]);
    for entry in entries {
        let Some(sheet) = entry.judged() else { continue };
        let short = sheet.falls_short();
        let seen = sheet.steps.iter().filter(|s| s.counts()).count();
        let met = sheet.steps.iter().filter(|s| s.verdict == Verdict::Met).count();
        let overruled = sheet.steps.iter().filter(|s| s.is_overruled()).count()
            + sheet.critical.iter().filter(|c| c.is_overruled()).count();
        let mut row = head_cells(entry, sheet);
        row.extend([
            short_words(&short, false),
            sheet_asks_words(sheet),
            if sheet.rule.is_less() { "yes" } else { "no" }.to_owned(),
            format!("{met} of {seen}"),
            sheet.critical.iter().filter(|c| c.stands).count().to_string(),
            overruled.to_string(),
            station_words(entry).to_owned(),
            entry.id.to_string(),
        ]);
        table.rows.push(row);
    }
    table
}

/// Whose sheet it is, of what, by whom, and what was decided: the first cells of each row about one.
fn head_cells(entry: &Entry, sheet: &Judged) -> Vec<String> {
    let person = entry.person.as_ref();
    let label = |label: Option<&Label>| label.map_or(String::new(), |l| l.as_str().to_owned());
    vec![
        sheet.began.to_string(),
        person.map_or(String::new(), |p| p.code.to_string()),
        label(person.and_then(|p| p.ward.as_ref())),
        label(person.and_then(|p| p.group.as_ref())),
        sheet.watching.label().to_owned(),
        sheet.sequence.id.clone(),
        sheet.observer.as_ref().map_or(String::new(), ToString::to_string),
        sheet.decision.label().to_owned(),
    ]
}

/// One sheet, part by part.
pub fn sheet_text(sheet: &Judged) -> String {
    let mut out = format!(
        "{}, {}\n  {}\n  watched by {}: {}; by the rule {}\n",
        sheet.began.words(),
        sheet.watching.label(),
        sheet.sequence.label,
        sheet
            .observer
            .as_ref()
            .map_or("nobody".to_owned(), ToString::to_string),
        sheet.decision.label(),
        short_words(&sheet.falls_short(), false),
    );
    for step in sheet
        .steps
        .iter()
        .filter(|s| s.verdict == Verdict::NotMet || s.is_overruled())
    {
        out.push_str(&format!("  {}: {}", step.verdict.label(), step.ask));
        if let Some(found) = step.found.as_ref().filter(|f| !f.other_ways.is_empty()) {
            out.push_str(&format!(", {}: {}", found.words(), found.other_ways.join("; ")));
        }
        if !step.remark.is_empty() {
            out.push_str(&format!(" ({})", step.remark));
        }
        out.push('\n');
    }
    for critical in sheet.critical.iter().filter(|c| c.stands) {
        out.push_str(&format!("  critical: {}\n", critical.what));
    }
    if !sheet.comment.is_empty() {
        out.push_str(&format!("  comment: {}\n", sheet.comment));
    }
    out.push_str(&format!("  the rule asked for {}\n", sheet_asks_words(sheet)));
    if let Some(less) = less_words(&sheet.rule) {
        out.push_str(&format!("  {less}\n"));
    }
    out
}

/// How far those who watched agree, a row for each step and one for all.
pub fn agreement_table(found: &[Agreements]) -> Table {
    let mut table = Table::new([
        "sequence",
        "step",
        "pairs",
        "both spoke",
        "the same",
        "percent",
        "kappa",
        "kappa if even",
    ]);
    for of in found {
        let steps = of.steps.iter().map(|s| (s.ask.as_str(), &s.agreement));
        for (step, a) in steps.chain([("all steps", &of.all)]) {
            table.rows.push(vec![
                of.sequence.id.clone(),
                step.to_owned(),
                of.pairs.to_string(),
                a.of.to_string(),
                a.same.to_string(),
                format!("{:.1}", 100.0 * a.share()),
                a.kappa.map_or(String::new(), |k| format!("{k:.3}")),
                format!("{:.3}", a.adjusted()),
            ]);
        }
    }
    table
}

/// The same for a terminal.
pub fn agreement_text(of: &Agreements) -> String {
    let mut out = format!(
        "{}: {} watched by two\n",
        of.sequence.label,
        super::many(of.pairs as u64, "occasion")
    );
    let steps = of.steps.iter().map(|s| (s.ask.as_str(), &s.agreement));
    for (step, a) in steps.chain([("All steps", &of.all)]) {
        let kappa = a.kappa.map_or_else(
            || "kappa cannot be told: both always said the same".to_owned(),
            |k| {
                format!(
                    "kappa {k:.2}, {} by usual words; {:.2} if even",
                    kappa_words(k),
                    a.adjusted()
                )
            },
        );
        out.push_str(&format!(
            "  {step}\n    the same {} of {} ({:.0} %), {kappa}\n",
            a.same,
            a.of,
            100.0 * a.share()
        ));
    }
    out
}

/// The words that Landis and Koch (1977) proposed for kappa.
fn kappa_words(kappa: f64) -> &'static str {
    match kappa {
        k if k < 0.0 => "poor",
        k if k <= 0.20 => "slight",
        k if k <= 0.40 => "fair",
        k if k <= 0.60 => "moderate",
        k if k <= 0.80 => "substantial",
        _ => "almost perfect",
    }
}

/// One row for each answer of each question that hands were counted for in a lesson.
pub fn lessons_table(entries: &[&Entry]) -> Table {
    let mut table = Table::new([
        "date", "ward", "lesson", "question", "answer", "hands", "of", "shown", "id",
    ]);
    for entry in entries {
        let What::Lesson(given) = &entry.what else {
            continue;
        };
        for asked in &given.asked {
            for (answer, hands) in &asked.answers {
                table.rows.push(vec![
                    given.began.to_string(),
                    given.ward.as_ref().map_or("", Label::as_str).to_owned(),
                    given.lesson.id.clone(),
                    asked.question.clone(),
                    answer.clone(),
                    hands.to_string(),
                    asked.hands().to_string(),
                    asked.shown.clone().unwrap_or_default(),
                    entry.id.to_string(),
                ]);
            }
        }
    }
    table
}

/// One row for each person of an exercise with lotion and a lamp: no names, and in the order in which they were entered.
pub fn exercises_table(entries: &[&Entry]) -> Table {
    let mut table = Table::new(["date", "ward", "scenario", "sequence", "person", "places", "id"]);
    for entry in entries {
        let What::Exercise(exercise) = &entry.what else {
            continue;
        };
        for (n, places) in exercise.people.iter().enumerate() {
            table.rows.push(vec![
                exercise.began.to_string(),
                exercise.ward.as_ref().map_or("", Label::as_str).to_owned(),
                exercise.scenario.id.clone(),
                exercise.sequence.id.clone(),
                (n + 1).to_string(),
                places.join(" "),
                entry.id.to_string(),
            ]);
        }
    }
    table
}

/// One row for each person and sequence.
pub fn due_table(rows: &[Due]) -> Table {
    let mut table = Table::new([
        "due", "code", "ward", "group", "sequence", "latest", "standing", "attempts",
    ]);
    for due in rows {
        let word = |label: &Option<Label>| {
            label
                .as_ref()
                .map_or(String::new(), |label| label.as_str().to_owned())
        };
        table.rows.push(vec![
            due.due.to_string(),
            due.code.to_string(),
            word(&due.ward),
            word(&due.group),
            due.sequence.id.clone(),
            due.latest.date().to_string(),
            standing_words(&due.standing),
            due.attempts.to_string(),
        ]);
    }
    table
}

/// One attempt, part by part, as it was judged then.
pub fn entry_text(entry: &Entry, rules: &RegisterRules, decided: &Decisions) -> String {
    let mut out = String::new();
    let Some(attempt) = entry.attempt() else {
        return out;
    };
    // Writing to a String cannot fail.
    let mut line = |text: String| {
        let _ = writeln!(out, "{text}");
    };
    line(format!("{}, {}", attempt.began.words(), attempt.purpose.label()));
    line(format!(
        "  {} against {}",
        attempt.scenario.label, attempt.sequence.label
    ));
    if let Some(desk) = &attempt.terms.desk {
        line(format!("  {}", desk.words()));
    }
    if let Some(pass) = &attempt.terms.pass {
        line(format!("  set up to pass with {}", asks_words(pass)));
        let usual = PassTerms::of(&rules.pass);
        if pass.is_less_than(&usual) {
            line(format!(
                "  less than the rule here asks for now: {}",
                asks_words(&usual)
            ));
        }
    }
    line(format!(
        "  {}; marks {}; hand hygiene {} of {}; {:.0} s",
        outcome_words(attempt, rules, decided),
        marks(attempt),
        attempt.hygiene.1,
        attempt.hygiene.0,
        attempt.seconds
    ));
    for critical in &attempt.critical {
        line(format!(
            "  critical, action {}: {}",
            critical.action, critical.reason
        ));
    }
    for lost in &attempt.marks.why {
        line(format!("  {} lost: {}", lost.marks, lost.reason));
    }
    for step in attempt.steps.iter().filter(|s| !s.other_ways.is_empty()) {
        line(format!(
            "  done another way: {} ({})",
            step.ask,
            step.other_ways.join("; ")
        ));
    }
    line(format!(
        "  what reached whom, in {} (chance is in it), and by the model's stated values of 100 people who do just this:",
        attempt.counted.unit
    ));
    for reached in &attempt.reached {
        line(format!(
            "    {:<50} {:>10}   {:>3.0} of 100",
            reached.label,
            reached.count,
            100.0 * reached.people
        ));
    }
    match &attempt.log {
        Some(log) => line(format!("  log {}; station: {}", log.file, station_words(entry))),
        None => line(format!("  no log; station: {}", station_words(entry))),
    }
    out
}
