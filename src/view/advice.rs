//! Next time: at most three things to practise, from critical errors and from what carried most to the person.

use crate::drill::{Action, Drill};
use crate::guidance::{CriticalKind, Order, Score, carried_to_person};
use crate::model::{Asked, Owner, Pace, Region, Sequence};

use super::words::count;

/// Longest list.
const MOST: usize = 3;

struct Idea {
    weight: f64,
    topic: String,
    text: String,
}

/// What to practise next time, what mattered most first.
pub fn next_time(drill: &Drill, sequence: &Sequence, score: &Score) -> Vec<String> {
    let mut ideas = Vec::new();
    from_critical(drill, score, &mut ideas);
    from_carried(drill, sequence, &mut ideas);
    from_hygiene(drill, sequence, score, &mut ideas);
    ideas.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let mut texts: Vec<(String, String)> = Vec::new();
    for idea in ideas {
        if texts.len() < MOST && !texts.iter().any(|(topic, _)| *topic == idea.topic) {
            texts.push((idea.topic, idea.text));
        }
    }
    if texts.is_empty() {
        let seen = score.reached.iter().any(|r| r.group.is_person() && r.count > 0);
        return vec![if seen {
            "Nothing you did stood out. Do it again with other luck and see what changes".to_owned()
        } else {
            "Nothing reached you. Try the same again with the lamp off and without hints".to_owned()
        }];
    }
    texts.into_iter().map(|t| t.1).collect()
}

fn from_critical(drill: &Drill, score: &Score, ideas: &mut Vec<Idea>) {
    for critical in &score.critical {
        let carried = carried_to_person(drill.setup(), &drill.done()[critical.action]);
        let (topic, text) = match critical.kind {
            CriticalKind::BareHandOnDirty => (
                "outsides",
                "Once your gloves are off, keep to ties, straps and insides; the outside belongs to gloved hands",
            ),
            CriticalKind::FaceTouchedUnclean => (
                "face",
                "An itch can wait until your hands are clean; a clean shoulder or a word to a colleague helps",
            ),
            CriticalKind::RespiratorOffInside => (
                "respirator",
                "Leave the respirator on until the door is shut behind you",
            ),
            CriticalKind::RubSkipped => (
                "rub",
                "Clean your hands just before they go to your neck or face, every time",
            ),
        };
        ideas.push(Idea {
            weight: 1e6 + log(carried),
            topic: topic.to_owned(),
            text: text.to_owned(),
        });
    }
}

fn from_carried(drill: &Drill, sequence: &Sequence, ideas: &mut Vec<Idea>) {
    let setup = drill.setup();
    for done in drill.done() {
        let carried = carried_to_person(setup, done);
        if carried == 0 {
            continue;
        }
        let Some((topic, text)) = idea_for(drill, sequence, &done.action, carried) else {
            continue;
        };
        ideas.push(Idea {
            weight: log(carried),
            topic,
            text,
        });
    }
}

fn idea_for(drill: &Drill, sequence: &Sequence, action: &Action, carried: u64) -> Option<(String, String)> {
    let setup = drill.setup();
    let specks = count(carried);
    match action {
        Action::Do {
            technique,
            item: Some(item),
            pace,
            ..
        } => {
            let kit = &setup.items[setup.item(item)?];
            let definition = setup.definition(setup.item(item)?);
            let label = &setup.library.technique(technique)?.label;
            let asked = sequence.steps.iter().find_map(|step| match &step.asked {
                Asked::Remove { items, accept, .. } if items.contains(&definition.id) => Some((step, accept)),
                _ => None,
            });
            let text = match asked {
                Some((step, accept)) if !accept.contains(technique) => format!(
                    "For the {}, practise this instead: {}. What you did ({label}) brought {specks} onto you",
                    kit.label, step.ask
                ),
                _ if *pace == Pace::Hurried => format!(
                    "Take your time with the {}: hold to do it steadily. In a hurry it brought {specks} onto you",
                    kit.label
                ),
                _ => format!(
                    "Even taken off with care, the {} left {specks} on you: that is what the rub after it is for",
                    kit.label
                ),
            };
            Some((kit.label.clone(), text))
        }
        Action::Do {
            technique,
            item: None,
            ..
        } => {
            let label = &setup.library.technique(technique)?.label;
            Some((
                "bin".to_owned(),
                format!(
                    "Hold things away from you on the way to the bin: this ({label}) brought {specks} onto you"
                ),
            ))
        }
        Action::Touch { site, .. } => {
            let known = &setup.sites[setup.site(site)?];
            let what = &known.label;
            let face = matches!(known.owner, Owner::Body(place)
                if setup.library.places[place].region == Region::Face);
            Some((
                if face { "face".to_owned() } else { site.clone() },
                format!("Leave the {what} alone if you can: touching it brought {specks} onto you"),
            ))
        }
        Action::Clean { .. } => Some((
            "dispenser".to_owned(),
            format!(
                "What is touched to get a rub is touched by everyone: it brought {specks} onto your hands, so rub long enough"
            ),
        )),
        Action::Walk(_) | Action::Wait(_) => None,
    }
}

fn from_hygiene(drill: &Drill, sequence: &Sequence, score: &Score, ideas: &mut Vec<Idea>) {
    let (setup, state) = (drill.setup(), drill.state());
    let on: Vec<String> = state
        .worn
        .iter()
        .rev()
        .map(|&i| format!("the {}", setup.items[i].label))
        .collect();
    if !on.is_empty() {
        ideas.push(Idea {
            weight: 0.95,
            topic: "unfinished".to_owned(),
            text: format!(
                "Go through to the end: you still wore {} when you finished",
                super::words::list(&on)
            ),
        });
    }
    for result in &score.steps {
        let step = &sequence.steps[result.step];
        if !matches!(step.asked, Asked::Clean { .. }) {
            continue;
        }
        if result.order == Order::Missed {
            ideas.push(Idea {
                weight: 0.9,
                topic: "rub".to_owned(),
                text: format!(
                    "Remember this moment: {}. {}",
                    step.ask,
                    step.why.trim_end_matches('.')
                ),
            });
        } else if result.short {
            let missed = score
                .cleanings
                .iter()
                .find(|c| Some(c.action) == result.action)
                .map(|c| c.missed.iter().map(|z| z.label().to_owned()).collect::<Vec<_>>())
                .unwrap_or_default();
            ideas.push(Idea {
                weight: 0.8,
                topic: "rub length".to_owned(),
                text: format!(
                    "Give it the full {:.0} seconds: this time it did not reach the {}",
                    drill
                        .setup()
                        .library
                        .product(score.cleanings.first().map_or("", |c| c.product.as_str()))
                        .map_or(20.0, |p| p.seconds),
                    super::words::list(&missed)
                ),
            });
        }
    }
}

/// Weight of a count: each tenfold counts one more.
fn log(carried: u64) -> f64 {
    1.0 + libm::log10(1.0 + carried as f64)
}
