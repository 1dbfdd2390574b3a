//! Attempts as xAPI 1.0.3 statements (read in the standard's own text, Part Two: Data), for whoever has a record store, and a
//! check of such statements. smirch sends them nowhere. No claim is made to cmi5, which needs a launch from a network.

use jiff::Timestamp;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use crate::model::RegisterRules;
use crate::record::{Code, Id, Purpose};
use crate::register::{Attempt, Decided, Decision, Decisions, Entry};

/// Verbs: the words that are shown and what they are known by.
const VERBS: [(&str, &str); 6] = [
    ("initialized", "http://adlnet.gov/expapi/verbs/initialized"),
    ("completed", "http://adlnet.gov/expapi/verbs/completed"),
    ("passed", "http://adlnet.gov/expapi/verbs/passed"),
    ("failed", "http://adlnet.gov/expapi/verbs/failed"),
    ("terminated", "http://adlnet.gov/expapi/verbs/terminated"),
    ("voided", "http://adlnet.gov/expapi/verbs/voided"),
];
/// What sort of activity practice is, and an assessment.
const SIMULATION: &str = "http://adlnet.gov/expapi/activities/simulation";
const ASSESSMENT: &str = "http://adlnet.gov/expapi/activities/assessment";

/// The statements of an entry: that an attempt was begun and how it ended, which for an assessment is what whoever watched decided
/// of it, or else what the rule makes of it. None for attempts without a person.
pub fn statements(entry: &Entry, rules: &RegisterRules, decisions: &Decisions) -> Vec<Value> {
    let (Some(attempt), Some(person)) = (entry.attempt(), &entry.person) else {
        return Vec::new();
    };
    // What a script did nobody has done.
    if attempt.purpose == Purpose::Script {
        return Vec::new();
    }
    let home = rules.home_page.trim_end_matches('/');
    let assessed = attempt.purpose == Purpose::Assessment;
    let by_person = decisions.of(attempt.attempt);
    let passed = match by_person {
        Some(decided) => decided.decision == Decision::Passed,
        None => attempt.falls_short(&rules.pass).is_empty(),
    };
    let (verb, decided) = match (attempt.finished, assessed) {
        (false, _) => ("terminated", None),
        (true, true) if passed => ("passed", Some(true)),
        (true, true) => ("failed", Some(false)),
        (true, false) => ("completed", None),
    };
    // By the attempt, whichever of its entries tells of it: one that was taken up again was begun once.
    let id_of = |key: &str| statement_id(attempt.attempt, key);
    let statement = |verb: &str, at: String, key: &str| {
        let known = VERBS.iter().find(|(word, _)| *word == verb).map_or("", |v| v.1);
        json!({
            "id": id_of(key).to_string(),
            "actor": agent(&person.code, home),
            "verb": { "id": known, "display": { "en": verb } },
            "object": {
                "objectType": "Activity",
                "id": format!("{home}/scenario/{}/sequence/{}", attempt.scenario.id, attempt.sequence.id),
                "definition": {
                    "name": { "en": format!("{}, {}", attempt.scenario.label, attempt.sequence.label) },
                    "type": if assessed { ASSESSMENT } else { SIMULATION },
                },
            },
            "context": {
                "registration": attempt.attempt.to_string(),
                "platform": concat!("smirch ", env!("CARGO_PKG_VERSION")),
                "extensions": { format!("{home}/extension/purpose"): attempt.purpose.word() },
            },
            "timestamp": at,
        })
    };
    let begun = statement("initialized", attempt.began.utc(), "initialized");
    // A statement is never edited: what the rule alone made of it, and each decision, has an id of its own, and what no longer
    // holds is voided.
    const BROKEN_OFF: &str = "over, broken off";
    let by_decision = |decided: &Decided| format!("over, by {}", decided.entry);
    let outcome = match by_person.filter(|_| assessed) {
        _ if !attempt.finished => BROKEN_OFF.to_owned(),
        Some(decided) => by_decision(decided),
        None => "over, by the rule".to_owned(),
    };
    let mut over = statement(verb, entry.at.utc(), &outcome);
    let standing = by_person.and_then(|decided| decided.critical.as_deref());
    over["result"] = result(attempt, decided, standing, home);
    if let Some(observer) = by_person.and_then(|decided| decided.observer.as_ref()) {
        over["context"]["instructor"] = agent(observer, home);
    }
    let mut before: Vec<String> = Vec::new();
    if attempt.finished {
        before.extend(
            decisions
                .was_broken_off(attempt.attempt)
                .then(|| BROKEN_OFF.to_owned()),
        );
        if assessed && by_person.is_some() {
            before.push("over, by the rule".to_owned());
            before.extend(decisions.all_of(attempt.attempt).map(by_decision));
        }
    }
    before.retain(|key| *key != outcome);
    let voided = before.into_iter().map(|key| {
        let at = over["timestamp"].as_str().unwrap_or_default().to_owned();
        let mut voided = statement("voided", at, &format!("voided, {key}"));
        voided["object"] = json!({ "objectType": "StatementRef", "id": id_of(&key).to_string() });
        voided
    });
    let mut all = vec![begun];
    all.extend(voided.collect::<Vec<Value>>());
    all.push(over);
    all
}

/// The statement of a real person who was watched: how it ended, as whoever watched decided. None without a person, of attempts at
/// the screen, or where nobody has decided.
pub fn watched_statement(entry: &Entry, rules: &RegisterRules) -> Option<Value> {
    let (sheet, person) = (entry.judged()?, entry.person.as_ref()?);
    if !sheet.watching.is_real() {
        return None;
    }
    let home = rules.home_page.trim_end_matches('/');
    let (verb, success) = match sheet.decision {
        Decision::Passed => ("passed", true),
        Decision::Again => ("failed", false),
        Decision::Open => return None,
    };
    let known = VERBS.iter().find(|(word, _)| *word == verb).map_or("", |v| v.1);
    let critical: Vec<&str> = sheet
        .critical
        .iter()
        .filter(|c| c.stands)
        .map(|c| c.kind.as_str())
        .collect();
    let mut statement = json!({
        "id": statement_id(entry.id, "watched").to_string(),
        "actor": agent(&person.code, home),
        "verb": { "id": known, "display": { "en": verb } },
        "object": {
            "objectType": "Activity",
            "id": format!("{home}/watched/{}", sheet.sequence.id),
            "definition": {
                "name": { "en": format!("{}, watched in person", sheet.sequence.label) },
                "type": ASSESSMENT,
            },
        },
        "context": {
            "registration": sheet.sheet.to_string(),
            "platform": concat!("smirch ", env!("CARGO_PKG_VERSION")),
        },
        "timestamp": entry.at.utc(),
        "result": {
            "success": success,
            "completion": true,
            "duration": duration(sheet.seconds),
            "extensions": { format!("{home}/extension/critical-errors"): critical },
        },
    });
    if let Some(observer) = &sheet.observer {
        statement["context"]["instructor"] = agent(observer, home);
    }
    Some(statement)
}

/// Somebody by their code.
fn agent(code: &Code, home: &str) -> Value {
    json!({
        "objectType": "Agent",
        "account": { "homePage": format!("{home}/"), "name": code.folded() },
    })
}

/// The same statement of the same thing has the same id, so that sending it twice does no harm.
fn statement_id(of: Id, key: &str) -> Uuid {
    let half = |salt: &str| crate::chance::Key::of(&of.to_string()).named(key).named(salt).0;
    let bits = (u128::from(half("high")) << 64) | u128::from(half("low"));
    uuid::Builder::from_random_bytes(bits.to_be_bytes()).into_uuid()
}

/// How it ended; `standing` are the critical errors that whoever watched let stand, if anybody did.
fn result(attempt: &Attempt, decided: Option<bool>, standing: Option<&[String]>, home: &str) -> Value {
    let mut result = Map::new();
    if let Some(left) = attempt.marks.left {
        result.insert("score".to_owned(), score(left, attempt.marks.of));
    }
    if let Some(success) = decided {
        result.insert("success".to_owned(), success.into());
    }
    result.insert("completion".to_owned(), attempt.finished.into());
    result.insert("duration".to_owned(), duration(attempt.seconds).into());
    let critical: Vec<&str> = match standing {
        Some(standing) => standing.iter().map(String::as_str).collect(),
        None => attempt.critical.iter().map(|c| c.kind.as_str()).collect(),
    };
    result.insert(
        "extensions".to_owned(),
        json!({ format!("{home}/extension/critical-errors"): critical }),
    );
    Value::Object(result)
}

/// A score out of so many marks.
fn score(raw: f64, of: f64) -> Value {
    let scaled = (raw / of * 1e4).round() / 1e4;
    json!({ "scaled": scaled, "raw": raw, "min": 0.0, "max": of })
}

/// Seconds as ISO 8601 has durations, to the hundredth.
fn duration(seconds: f64) -> String {
    let hundredths = (seconds.max(0.0) * 100.0).round() as u64;
    let (hours, minutes, rest) = (hundredths / 360_000, hundredths / 6_000 % 60, hundredths % 6_000);
    let mut text = "PT".to_owned();
    if hours > 0 {
        text.push_str(&format!("{hours}H"));
    }
    if minutes > 0 {
        text.push_str(&format!("{minutes}M"));
    }
    if rest > 0 || hundredths == 0 {
        let seconds = format!("{}.{:02}", rest / 100, rest % 100);
        text.push_str(seconds.trim_end_matches('0').trim_end_matches('.'));
        text.push('S');
    }
    text
}

/// What is wrong with statements, each with its number from 1; empty if nothing is. `now` is what no time may be after.
pub fn faults(statements: &[Value], now: Timestamp) -> Vec<String> {
    let mut found = Vec::new();
    let mut outcomes: Vec<(String, &str)> = Vec::new();
    for (n, statement) in statements.iter().enumerate() {
        let mut wrong = |what: &str| found.push(format!("statement {}: {what}", n + 1));
        let text = |path: &[&str]| {
            path.iter()
                .try_fold(statement, |value, key| value.get(key))
                .and_then(Value::as_str)
        };
        if text(&["id"]).is_some_and(|id| Uuid::try_parse(id).is_err()) {
            wrong("its id is no UUID");
        }
        match statement.get("actor").and_then(Value::as_object) {
            None => wrong("it has no actor"),
            Some(actor) => {
                let ids = ["mbox", "mbox_sha1sum", "openid", "account"];
                match ids.iter().filter(|id| actor.contains_key(**id)).count() {
                    1 => {}
                    n => wrong(&format!(
                        "its actor is known in {n} ways and must be in exactly one"
                    )),
                }
            }
        }
        if let Some(account) = statement.pointer("/actor/account") {
            let has = |key: &str| {
                account
                    .get(key)
                    .and_then(Value::as_str)
                    .is_some_and(|v| !v.is_empty())
            };
            if !has("homePage") || !has("name") {
                wrong("its account needs a homePage and a name");
            }
        }
        let verb = text(&["verb", "id"]);
        if !verb.is_some_and(is_iri) {
            wrong("its verb has no IRI");
        }
        let refers = text(&["object", "objectType"]) == Some("StatementRef");
        let object = text(&["object", "id"]);
        if refers && object.is_none_or(|id| Uuid::try_parse(id).is_err()) {
            wrong("it refers to a statement by what is no UUID");
        } else if !refers && !object.is_some_and(is_iri) {
            wrong("its object has no IRI");
        }
        if let Some(at) = text(&["timestamp"]) {
            match at.parse::<Timestamp>() {
                Err(_) => wrong("its timestamp is no moment"),
                Ok(at) if at > now => wrong("its timestamp is in the future"),
                Ok(_) => {}
            }
        }
        if let Some(score) = statement.pointer("/result/score") {
            for what in score_faults(score) {
                wrong(what);
            }
        }
        if text(&["result", "duration"]).is_some_and(|d| !is_duration(d)) {
            wrong("its duration is none, or mixes weeks with other units");
        }
        if let Some(extensions) = statement.pointer("/result/extensions").and_then(Value::as_object)
            && extensions.keys().any(|key| !is_iri(key))
        {
            wrong("the names of extensions must be IRIs");
        }
        if let (Some(session), Some(verb)) = (text(&["context", "registration"]), verb) {
            let ends = [("passed", "failed"), ("failed", "passed")];
            for (end, other) in ends {
                if verb.ends_with(&format!("/{end}")) {
                    if outcomes.contains(&(session.to_owned(), other)) {
                        wrong("one session cannot be both passed and failed");
                    }
                    outcomes.push((session.to_owned(), end));
                }
            }
        }
    }
    found
}

fn score_faults(score: &Value) -> Vec<&'static str> {
    let number = |key: &str| score.get(key).and_then(Value::as_f64);
    let (raw, min, max) = (number("raw"), number("min"), number("max"));
    let mut wrong = Vec::new();
    if number("scaled").is_some_and(|scaled| !(-1.0..=1.0).contains(&scaled)) {
        wrong.push("its scaled score is not between -1 and 1");
    }
    if let (Some(min), Some(max)) = (min, max)
        && min >= max
    {
        wrong.push("its least score is not below its greatest");
    }
    if raw.is_some_and(|raw| min.is_some_and(|min| raw < min) || max.is_some_and(|max| raw > max)) {
        wrong.push("its raw score is not between the least and the greatest");
    }
    wrong
}

fn is_iri(text: &str) -> bool {
    text.split_once(':').is_some_and(|(scheme, rest)| {
        let letters = scheme
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.'));
        letters
            && scheme.starts_with(|c: char| c.is_ascii_alphabetic())
            && !rest.is_empty()
            && !text.contains(' ')
    })
}

/// True for a duration as ISO 8601 has it: weeks alone, or days and a time.
fn is_duration(text: &str) -> bool {
    let Some(rest) = text.strip_prefix('P') else {
        return false;
    };
    if let Some(weeks) = rest.strip_suffix('W') {
        return weeks.parse::<f64>().is_ok_and(|n| n >= 0.0) && !weeks.starts_with(['+', '-']);
    }
    let (days, time) = rest.split_once('T').map_or((rest, None), |(d, t)| (d, Some(t)));
    let in_units = |text: &str, units: &str| {
        let (mut number, mut last) = (String::new(), None);
        for c in text.chars() {
            if c.is_ascii_digit() || c == '.' {
                number.push(c);
                continue;
            }
            let at = units.find(c);
            if at.is_none() || at <= last || number.parse::<f64>().is_err() {
                return false;
            }
            (last, number) = (at, String::new());
        }
        number.is_empty()
    };
    let something = !days.is_empty() || time.is_some_and(|time| !time.is_empty());
    something && in_units(days, "YMD") && time.is_none_or(|time| !time.is_empty() && in_units(time, "HMS"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Timestamp {
        "2026-11-27T12:00:00Z".parse().expect("a moment")
    }

    fn sound() -> Value {
        json!({
            "id": "7ccd3322-e1a5-411a-a67d-6a735c76f119",
            "actor": { "account": { "homePage": "https://register.invalid/", "name": "k7" } },
            "verb": { "id": "http://adlnet.gov/expapi/verbs/passed", "display": { "en": "passed" } },
            "object": { "id": "https://register.invalid/scenario/a" },
            "context": { "registration": "7ccd3322-e1a5-411a-a67d-6a735c76f119" },
            "result": { "score": { "scaled": 0.9, "raw": 27, "min": 0, "max": 30 }, "duration": "PT3M4S" },
            "timestamp": "2026-11-27T11:00:00.000Z",
        })
    }

    /// Durations (worked example L12).
    #[test]
    fn durations_are_those_of_the_standard() {
        for (seconds, text) in [
            (184.0, "PT3M4S"),
            (59.9, "PT59.9S"),
            (3600.0, "PT1H"),
            (3725.5, "PT1H2M5.5S"),
            (0.0, "PT0S"),
            (10.0, "PT10S"),
        ] {
            assert_eq!(duration(seconds), text);
            assert!(is_duration(text), "{text}");
        }
        for (text, sound) in [
            ("PT184S", true),
            ("P4W", true),
            ("P1DT2H", true),
            ("P4W1D", false),
            ("P", false),
            ("PT", false),
            ("PT5", false),
            ("PT4S3M", false),
            ("184", false),
        ] {
            assert_eq!(is_duration(text), sound, "{text}");
        }
    }

    /// Scaled scores to four places (worked example L13).
    #[test]
    fn scores_are_scaled_to_four_places() {
        assert_eq!(score(26.0, 29.0)["scaled"], 0.8966);
        assert_eq!(score(27.0, 29.0)["scaled"], 0.931);
    }

    /// What must be refused (worked example L14).
    #[test]
    fn what_the_standard_forbids_is_found() {
        assert_eq!(faults(&[sound()], now()), Vec::<String>::new());
        let set = |pointer: &str, value: Value| {
            let mut statement = sound();
            let (parent, key) = pointer.rsplit_once('/').expect("a pointer");
            statement.pointer_mut(parent).expect("it is there")[key] = value;
            statement
        };
        for (statement, why) in [
            (set("/actor/mbox", json!("mailto:a@b.invalid")), "known in 2 ways"),
            (set("/result/score/raw", json!(31)), "raw score"),
            (set("/result/score/raw", json!(-1)), "raw score"),
            (set("/result/score/scaled", json!(1.2)), "scaled"),
            (set("/result/score/max", json!(0)), "least score"),
            (set("/result/duration", json!("P4W1D")), "weeks"),
            (set("/timestamp", json!("2026-11-28T00:00:00Z")), "future"),
            (set("/timestamp", json!("yesterday")), "no moment"),
            (set("/verb/id", json!("passed")), "verb"),
            (set("/id", json!("1")), "UUID"),
            (set("/actor/account/name", json!("")), "account"),
            (set("/result/extensions", json!({ "a": 1 })), "extensions"),
        ] {
            let found = faults(&[statement], now());
            assert!(found.iter().any(|f| f.contains(why)), "{why}: {found:?}");
        }
        let failed = set("/verb/id", json!("http://adlnet.gov/expapi/verbs/failed"));
        let found = faults(&[sound(), failed], now());
        assert!(
            found.iter().any(|f| f.contains("both passed and failed")),
            "{found:?}"
        );
    }
}
