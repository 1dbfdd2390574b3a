//! Next time: at most three things to practise, in the order of their exact effect on what reached the gravest place.

use crate::analysis::{Edit, Target, Worth, end_of, worth};
use crate::drill::{Action, Drill};
use crate::guidance::{CriticalKind, Order, Score};
use crate::model::{Asked, Pace, Sequence};
use crate::report::figure;

use super::what_if::actions_of;
use super::words::sentence;

/// Longest list.
const MOST: usize = 3;
/// A change that helps less than this share of what the best one does is not worth a place.
const WORTH_SAYING: f64 = 0.05;

struct Idea {
    topic: String,
    text: String,
}

/// What to practise next time: first the single changes that would have kept most away, exactly and on average, then
/// critical errors and what was left undone.
pub fn next_time(drill: &Drill, sequence: &Sequence, score: &Score) -> Vec<String> {
    let mut ideas = Vec::new();
    from_worth(drill, sequence, &mut ideas);
    from_critical(score, &mut ideas);
    from_hygiene(drill, sequence, score, &mut ideas);
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

/// The gravest place that got a share worth speaking of on average, to be kept clean first.
fn at_stake(drill: &Drill) -> Option<Target> {
    let actions = actions_of(drill);
    let order = [Target::Mucosa, Target::FaceSkin, Target::AnySkin];
    let end = end_of(drill.setup(), drill.beginning(), drill.seed(), &actions, &order).ok()?;
    let enough = drill.setup().organism.seen_from.max(1) as f64;
    (0..order.len())
        .find(|&i| end.expected[i] >= enough)
        .map(|i| order[i])
}

/// From the exact effect of every single change.
fn from_worth(drill: &Drill, sequence: &Sequence, ideas: &mut Vec<Idea>) {
    let (setup, actions) = (drill.setup(), actions_of(drill));
    let Some(target) = at_stake(drill) else { return };
    let list = worth(setup, drill.beginning(), &actions, target);
    let least = list.first().map_or(0.0, |w| w.fewer) * WORTH_SAYING;
    for change in list.iter().filter(|w| w.fewer >= least) {
        if let Some((topic, advice)) = advised(drill, sequence, &actions, change) {
            let effect = format!(
                "On average {} fewer on the {}",
                figure(change.fewer),
                place(target)
            );
            ideas.push(Idea {
                topic,
                text: format!("{advice}. {effect}"),
            });
        }
    }
}

/// A target as a place to speak of.
fn place(target: Target) -> &'static str {
    match target {
        Target::AnySkin => "skin",
        other => other.label(),
    }
}

/// A change as advice, with what it is about; none for changes that nobody would teach.
fn advised(
    drill: &Drill,
    sequence: &Sequence,
    actions: &[Action],
    change: &Worth,
) -> Option<(String, String)> {
    let setup = drill.setup();
    let library = &setup.library;
    let item_label = |id: &str| setup.item(id).map(|i| setup.items[i].label.clone());
    match &change.edit {
        Edit::Replace(i, to) => match (actions.get(*i)?, to.last()?) {
            (
                Action::Do {
                    technique: was,
                    item: Some(item),
                    ..
                },
                Action::Do { technique, pace, .. },
            ) => {
                let label = item_label(item)?;
                if was == technique {
                    return (*pace == Pace::Steady).then(|| {
                        (
                            format!("{label} pace"),
                            format!("Take your time with the {label}: hold to do it steadily"),
                        )
                    });
                }
                let definition = &setup.definition(setup.item(item)?).id;
                // Only ways that the sequence itself teaches; others may be cleaner in the model and wrong on a ward.
                let taught = sequence.steps.iter().any(|step| match &step.asked {
                    Asked::Remove { items, accept, .. } => {
                        items.contains(definition) && accept.contains(technique)
                    }
                    _ => false,
                });
                let words: Vec<String> = to
                    .iter()
                    .filter_map(|action| match action {
                        Action::Do { technique, .. } => Some(library.technique(technique)?.label.clone()),
                        _ => None,
                    })
                    .collect();
                let better = words.join(", then ");
                taught.then(|| {
                    (
                        label.clone(),
                        format!("For the {label}, practise this instead: {better}"),
                    )
                })
            }
            (Action::Clean { product: was, .. }, Action::Clean { product, seconds, .. })
                if was == product =>
            {
                Some((
                    "rub".to_owned(),
                    format!("Give it the full {seconds:.0} seconds, every part of both hands"),
                ))
            }
            _ => None,
        },
        Edit::Insert(i, Action::Clean { product, .. }) => {
            let before = match actions.get(*i)? {
                Action::Do { item: Some(item), .. } => format!("you go to the {}", item_label(item)?),
                Action::Touch { site, .. } => {
                    format!("you touch the {}", setup.sites[setup.site(site)?].label)
                }
                _ => return None,
            };
            let product = library.product(product)?;
            Some((
                "rub".to_owned(),
                format!(
                    "{} just before {before}",
                    sentence(&format!("{} with {}", product.verb, product.label))
                ),
            ))
        }
        Edit::Remove(i) => match actions.get(*i)? {
            Action::Touch { site, .. } => {
                let label = &setup.sites[setup.site(site)?].label;
                Some((site.clone(), format!("Leave the {label} alone if you can")))
            }
            Action::Do {
                technique,
                item: Some(item),
                ..
            } => Some((
                item_label(item)?,
                format!(
                    "Leave the {} as it is until it comes off: {} can wait",
                    item_label(item)?,
                    library.technique(technique)?.label
                ),
            )),
            _ => None,
        },
        Edit::Insert(..) | Edit::Move(..) => None,
    }
}

fn from_critical(score: &Score, ideas: &mut Vec<Idea>) {
    for critical in &score.critical {
        let (topic, text) = match critical.kind {
            CriticalKind::BareHandOnDirty => (
                "outsides",
                "Once your gloves are off, keep to ties, straps and insides; the outside belongs to gloved hands",
            ),
            CriticalKind::FaceTouchedUnclean => (
                "face",
                "An itch can wait until your hands are clean; a clean shoulder or a word to a colleague helps",
            ),
            CriticalKind::RespiratorOffTooSoon => (
                "respirator",
                "Leave the respirator on until the door is shut behind you",
            ),
            CriticalKind::RubSkipped => (
                "rub",
                "Clean your hands just before they go to your neck or face, every time",
            ),
            CriticalKind::DirtyGloveAtFace => (
                "gloves at the face",
                "Gloves that have worked stay below the neck: take them off before you see to mask, ties or eye protection",
            ),
            CriticalKind::LeftInSoiledGloves => (
                "gloves outside",
                "Take your gloves off before you go: what they carry goes on to the door and beyond",
            ),
            CriticalKind::NotWashed => (
                "wash",
                "End with soap and water: alcohol does little to what you were up against",
            ),
        };
        ideas.push(Idea {
            topic: topic.to_owned(),
            text: text.to_owned(),
        });
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

#[cfg(test)]
mod tests {
    use super::super::desk::tests::play;
    use super::*;

    fn advice(script: &str, sequence: &str) -> Vec<String> {
        let drill = play(script, 11);
        let library = drill.setup().library.clone();
        let sequence = library.sequence(sequence).expect("a built-in sequence");
        next_time(&drill, sequence, &Score::of(&drill, sequence))
    }

    #[test]
    fn the_touch_of_the_face_comes_first_with_what_it_brought() {
        let list = advice("classic-tracer/face-touch", "us-gloves-first");
        assert!(
            list[0].contains("fewer on the eyes, nostrils or lips"),
            "{list:?}"
        );
        assert!(list.len() <= MOST);
    }

    #[test]
    fn a_poor_way_is_answered_with_the_taught_one() {
        let list = advice("classic-tracer/gown-by-front", "us-gloves-first");
        assert!(
            list.iter().any(|l| l.contains("practise this instead")),
            "{list:?}"
        );
    }

    #[test]
    fn things_are_said_once_and_kindly() {
        for script in ["hurried", "gown-by-front", "no-rub", "face-touch"] {
            let list = advice(&format!("classic-tracer/{script}"), "us-gloves-first");
            for (i, text) in list.iter().enumerate() {
                assert!(!list[..i].contains(text), "{script}: said twice: {text}");
                for word in ["wrong", "bad", "fail", "must not"] {
                    assert!(!text.to_lowercase().contains(word), "{script}: unkind: {text}");
                }
            }
        }
    }
}
