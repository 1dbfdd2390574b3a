//! Lessons.

use crate::model::{
    Class, Lesson, LessonAnswer, LessonAsk, LessonClaim, LessonKind, LessonLamp, LessonStep, LessonTarget,
    Library, Says, Scenario, Tries,
};

use super::record::{Decoder, Record, Span};
use super::refer;
use super::substance::ids;
use super::tree::Node;

/// Longest lesson, minutes.
const MINUTES: std::ops::RangeInclusive<u64> = 1..=480;
/// Most answers to a question: as many as there are keys for them.
const ANSWERS: std::ops::RangeInclusive<usize> = 2..=6;

/// A step with where its question says what it is laid against, and where each answer stands.
struct Read {
    step: LessonStep,
    against: Option<Span>,
    answers: Vec<Span>,
}

pub(super) fn lesson(r: &mut Record<'_>, library: &mut Library) {
    let id = r.ident("id");
    refer::defined_once(&r.decoder(), &id, "lesson");
    let label = r.text("label");
    let at = r.node("minutes").map(|node| node.span.clone());
    let minutes = r.count("minutes", MINUTES) as u32;
    let audience = r.text("audience");
    let materials = r.list_or_empty("materials", |d, n| d.text(n, "material").map(|t| t.value));
    let before = r.decoder().faults().len();
    let mut seen = Vec::new();
    let read = r.list("steps", |d, node| step(d, node, library, &mut seen));
    let d = r.decoder();
    if read.is_empty() && r.has("steps") {
        d.fault(
            r.span(),
            "a lesson needs steps",
            "write `steps: [Say(...), Ask(...), Watch(...)]`",
        );
    }
    for (n, one) in read.iter().enumerate() {
        laid_against(&d, n, &read, one);
    }
    let sum: u32 = read.iter().map(|one| one.step.minutes).sum();
    // Where a step could not be read its minutes are missing too.
    if let Some(at) = at.filter(|_| d.faults().len() == before && minutes != sum && minutes > 0) {
        d.fault(
            at,
            format!("this lesson is said to take {minutes} minutes, but its steps take {sum}"),
            format!("write `minutes: {sum}`, or change the minutes of steps"),
        );
    }
    let steps = read.into_iter().map(|one| one.step).collect();
    if !id.value.is_empty() {
        let lesson = Lesson {
            id: id.value,
            label,
            minutes,
            audience,
            materials,
            steps,
        };
        refer::put(&mut library.lessons, lesson, |x| &x.id);
    }
}

/// Holds a question to what it is laid against: a later step that shows something, of which its answers say something.
fn laid_against(d: &Decoder<'_>, n: usize, read: &[Read], one: &Read) {
    let LessonKind::Ask(ask) = &one.step.kind else {
        return;
    };
    let target = ask.against.as_ref().map(|id| {
        let later = read[n + 1..].iter().find(|later| later.step.id == *id);
        later.map(|later| &later.step.kind)
    });
    if let (Some(id), Some(span)) = (&ask.against, &one.against) {
        let shows = |kind: &LessonKind| matches!(kind, LessonKind::Odds { .. } | LessonKind::Exercise { .. });
        if !target.flatten().is_some_and(shows) {
            let later: Vec<&str> = read[n + 1..]
                .iter()
                .filter(|later| shows(&later.step.kind))
                .map(|later| later.step.id.as_str())
                .collect();
            let brief = match read.iter().any(|other| other.step.id == *id) {
                true => format!("`{id}` is no later step that shows odds or counts an exercise"),
                false => format!("unknown step `{id}`"),
            };
            d.fault(
                span.clone(),
                brief,
                match later.is_empty() {
                    true => "put an `Odds` or `Exercise` step behind the question, or leave `against` out"
                        .to_owned(),
                    false => super::fault::known_hint(id, later.into_iter()),
                },
            );
            return;
        }
    }
    let (fits, hint): (fn(Option<Says>) -> bool, &str) = match target.flatten() {
        Some(LessonKind::Exercise { .. }) => (
            |says| matches!(says, Some(Says::At(_) | Says::Nowhere)),
            "write `says: At(Hands)` with the part that most glow at, or `says: Nowhere`",
        ),
        Some(_) => (
            |says| matches!(says, Some(Says::First | Says::Second | Says::Same | Says::Open)),
            "write `says: First`, `Second`, `Same` or `Open`: which side of the pair brings less",
        ),
        None => (
            |says| says.is_none(),
            "name the step by `against: \"...\"`, or write the answer as `(text: \"...\")`",
        ),
    };
    for (answer, span) in ask.answers.iter().zip(&one.answers) {
        if !fits(answer.says) {
            let brief = match ask.against {
                Some(_) => "this answer says nothing that the step which it is laid against can show",
                None => "this answer says something, but the question is laid against no step",
            };
            d.fault(span.clone(), brief, hint);
        }
    }
}

fn step<'a>(d: &Decoder<'a>, node: &'a Node, library: &Library, seen: &mut Vec<String>) -> Option<Read> {
    let variant = d.variant(node, "step", &LessonKind::WORDS)?;
    let mut r = variant.record();
    let id = r.ident("id");
    refer::unique_within(d, seen, &id, "step", "this lesson");
    let heading = r.text("heading");
    let minutes = r.count("minutes", MINUTES) as u32;
    let notes = r.text_or("notes", "");
    let sources = sources(&mut r, library);
    let (mut against, mut answers) = (None, Vec::new());
    let kind = match variant.name {
        "Say" => LessonKind::Say(r.text("text")),
        "Discuss" => LessonKind::Discuss(r.text("text")),
        "Ask" => {
            let (asked, places) = ask(&mut r, library);
            against = r.node("against").map(|node| node.span.clone());
            answers = places;
            LessonKind::Ask(asked)
        }
        "Watch" => LessonKind::Watch(refer::field(&mut r, "duel", "duel", ids!(library.duels))),
        "Odds" => LessonKind::Odds {
            duel: refer::field(&mut r, "duel", "duel", ids!(library.duels)),
            target: r.choice("target", &LessonTarget::ALL),
        },
        "Evidence" => {
            let claims = r.list("claims", |d, n| claim(d, n, library));
            if claims.is_empty() && r.has("claims") {
                d.fault(
                    variant.span.clone(),
                    "what is known is not said",
                    "write `claims: [(text: \"...\", sources: [\"...\"])]`",
                );
            }
            LessonKind::Evidence(claims)
        }
        word => {
            let scenario = refer::field(&mut r, "scenario", "scenario", ids!(library.scenarios));
            let sequence = own_sequence(&mut r, library, &scenario);
            if word == "Try" {
                LessonKind::Try {
                    sequence,
                    scenario,
                    who: r.choice("who", &Tries::ALL),
                    lamp: r.choice("lamp", &LessonLamp::ALL),
                }
            } else {
                glows(&mut r, library, &scenario);
                LessonKind::Exercise { scenario, sequence }
            }
        }
    };
    Some(Read {
        step: LessonStep {
            id: id.value,
            heading,
            minutes,
            kind,
            notes,
            sources,
        },
        against,
        answers,
    })
}

fn sources(r: &mut Record<'_>, library: &Library) -> Vec<String> {
    r.list_or_empty("sources", |d, n| {
        refer::node(d, n, "source", ids!(library.sources))
    })
}

/// A question. Its words may be left to a pair, and so may those of answers that name a side of it.
fn ask(r: &mut Record<'_>, library: &Library) -> (LessonAsk, Vec<Span>) {
    let duel = r.optional("duel", |d, n| refer::node(d, n, "duel", ids!(library.duels)));
    // Of a pair that is not known nothing more is said.
    let unknown = r.has("duel") && duel.is_none();
    let duel = duel.and_then(|id| library.duel(&id));
    let question = match duel {
        Some(duel) => r.text_or("question", &duel.question),
        None if unknown => r.text_or("question", ""),
        None => r.text("question"),
    };
    let against = r
        .optional("against", |d, n| d.reference(n, "against"))
        .map(|id| id.value);
    let read = r.list("answers", |d, node| {
        let mut r = d.record(node, "answer");
        let says = r.optional("says", says);
        let usual = match (says, duel) {
            _ if unknown => Some(String::new()),
            (Some(Says::First), Some(duel)) => duel.sides.first().map(|side| side.label.clone()),
            (Some(Says::Second), Some(duel)) => duel.sides.get(1).map(|side| side.label.clone()),
            (Some(Says::Same), _) => Some("Much the same".to_owned()),
            (Some(Says::Open), _) => Some("Nobody can tell".to_owned()),
            (Some(Says::Nowhere), _) => Some("Nowhere".to_owned()),
            _ => None,
        };
        let text = match usual {
            Some(usual) => r.text_or("text", &usual),
            None => r.text("text"),
        };
        Some((LessonAnswer { text, says }, node.span.clone()))
    });
    if r.has("answers") && !ANSWERS.contains(&read.len()) {
        r.decoder().fault(
            r.span(),
            format!(
                "a question has {} to {} answers; this has {}",
                ANSWERS.start(),
                ANSWERS.end(),
                read.len()
            ),
            "hands go up for each: write those that people really give, and no more than can be counted",
        );
    }
    let (answers, places) = read.into_iter().unzip();
    (
        LessonAsk {
            question,
            answers,
            against,
        },
        places,
    )
}

fn says<'a>(d: &Decoder<'a>, node: &'a Node) -> Option<Says> {
    const WORDS: [&str; 6] = ["First", "Second", "Same", "Open", "At", "Nowhere"];
    let variant = d.variant(node, "meaning of an answer", &WORDS)?;
    if variant.name == "At" {
        let node = variant.single()?;
        return d
            .choice(node, "part of a person", &LessonTarget::GLOW)
            .map(Says::At);
    }
    variant.unit().then_some(match variant.name {
        "First" => Says::First,
        "Second" => Says::Second,
        "Same" => Says::Same,
        "Open" => Says::Open,
        _ => Says::Nowhere,
    })
}

fn claim<'a>(d: &Decoder<'a>, node: &'a Node, library: &Library) -> Option<LessonClaim> {
    let mut r = d.record(node, "claim");
    let text = r.text("text");
    let named = r.has("sources") || r.has("basis");
    let sources = sources(&mut r, library);
    let basis = r.optional("basis", |d, n| refer::node(d, n, "basis", ids!(library.bases)));
    if !named {
        d.fault(
            r.span(),
            "nothing says where this is known from",
            "name `sources: [\"...\"]` or a `basis: \"...\"` of evidence.ron",
        );
    }
    Some(LessonClaim { text, sources, basis })
}

/// The sequences that a scenario goes by.
fn sequences(scenario: &Scenario) -> impl Iterator<Item = &str> + Clone {
    std::iter::once(&scenario.sequence)
        .chain(&scenario.also)
        .map(String::as_str)
}

/// A sequence that the scenario can be judged by.
fn own_sequence(r: &mut Record<'_>, library: &Library, scenario: &str) -> String {
    match library.scenario(scenario) {
        Some(scenario) => refer::field(r, "sequence", "sequence of this scenario", sequences(scenario)),
        None => refer::field(r, "sequence", "sequence", ids!(library.sequences)),
    }
}

/// Reports a scenario in which nothing glows under a lamp.
fn glows(r: &mut Record<'_>, library: &Library, scenario: &str) {
    let organism = |s: &Scenario| library.organism(&s.organism);
    let tracer = |s: &&Scenario| organism(s).is_some_and(|o| o.class == Class::Tracer);
    let dark = library
        .scenario(scenario)
        .is_some_and(|s| organism(s).is_some() && !tracer(&s));
    let place = r.node("scenario").map(|node| node.span.clone());
    if let Some(place) = place.filter(|_| dark) {
        let known: Vec<&str> = library
            .scenarios
            .iter()
            .filter(tracer)
            .map(|s| s.id.as_str())
            .collect();
        r.decoder().fault(
            place,
            format!("nothing glows in `{scenario}`: it has no tracer"),
            format!("choose one that has, such as `{}`", known.join("`, `")),
        );
    }
}
