//! Next time: at most three things to practise. Critical errors first, then what would have kept most away, exactly and on
//! average, then what was left undone. What luck brought or spared is neither praised nor blamed.

use crate::analysis::{Edit, Target, Worth, end_of, worth};
use crate::drill::{Action, Drill};
use crate::guidance::{Critical, CriticalKind, Group, Hands, Order, Score};
use crate::model::{Asked, Class, ItemKind, Pace, Sequence};
use crate::report::{RUB_ON_TRACER, figure};

use super::reorder::reordered;
use super::what_if::actions_of;
use super::words::sentence;

/// Longest list.
const MOST: usize = 3;
/// A change that helps less than this share of what the best one does is not worth a place.
const WORTH_SAYING: f64 = 0.05;
/// Fewer than this on average is next to nothing: not one organism in twenty attempts.
const NEXT_TO_NOTHING: f64 = 0.05;
/// What is looked at, gravest first.
const GRAVEST_FIRST: [Target; 3] = [Target::Mucosa, Target::FaceSkin, Target::AnySkin];

struct Idea {
    topic: String,
    text: String,
}

/// What an attempt comes to on average, from its own start.
pub struct Average {
    expected: Vec<f64>,
    /// Less than this is not seen.
    seen_from: f64,
}

impl Average {
    /// Of an attempt; none if it cannot be played again.
    pub fn of(drill: &Drill) -> Option<Average> {
        let (setup, actions) = (drill.setup(), actions_of(drill));
        let end = end_of(setup, drill.beginning(), drill.seed(), &actions, &GRAVEST_FIRST).ok()?;
        Some(Average {
            expected: end.expected,
            seen_from: setup.organism.seen_from.max(1) as f64,
        })
    }

    /// The gravest place that gets a share worth speaking of, to be kept clean first.
    fn at_stake(&self) -> Option<(Target, f64)> {
        (0..GRAVEST_FIRST.len())
            .find(|&i| self.expected[i] >= self.seen_from)
            .map(|i| (GRAVEST_FIRST[i], self.expected[i]))
    }

    /// True if with other luck too next to nothing would reach eyes, nostrils or lips.
    pub fn spares_the_mucosa(&self) -> bool {
        self.expected[0] < NEXT_TO_NOTHING
    }
}

/// What to practise next time.
pub fn next_time(
    drill: &Drill,
    sequence: &Sequence,
    score: &Score,
    average: Option<&Average>,
) -> Vec<String> {
    if score.is_full() {
        let all = "You did all that the sequence asks. Do it again with chance drawn anew, without hints and with the lamp off";
        return std::iter::once(all.to_owned())
            .chain(all_the_same(drill, score))
            .collect();
    }
    let stake = average.and_then(Average::at_stake);
    let changes = stake.map_or_else(Vec::new, |(target, _)| {
        worth(drill.setup(), drill.beginning(), &actions_of(drill), target)
    });
    let mut ideas = Vec::new();
    from_critical(drill, sequence, score, stake.map(|s| s.0), &changes, &mut ideas);
    if let Some((target, now)) = stake {
        let mut ranked = from_worth(drill, sequence, target, &changes);
        let order = from_order(drill, sequence, score, target, now);
        // What the move itself would spare says more than that it came too soon.
        let breathing = drill.setup().items.iter().filter(|item| {
            let kind = drill.setup().library.items[item.item].kind;
            matches!(kind, ItemKind::Respirator | ItemKind::Mask)
        });
        let starts: Vec<String> = breathing
            .map(|item| format!("Leave the {} until", item.label))
            .collect();
        let said = |idea: &Idea| starts.iter().any(|start| idea.text.starts_with(start));
        if let Some((_, moved)) = order.iter().find(|(_, idea)| said(idea)) {
            for idea in ideas.iter_mut().filter(|idea| idea.topic == BREATHING) {
                idea.text.clone_from(&moved.text);
            }
        }
        ranked.extend(order);
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        ideas.extend(ranked.into_iter().map(|(_, idea)| idea));
    }
    from_hygiene(drill, sequence, score, &mut ideas);
    let mut texts: Vec<(String, String)> = Vec::new();
    for idea in ideas {
        if texts.len() < MOST && !texts.iter().any(|(topic, _)| *topic == idea.topic) {
            texts.push((idea.topic, idea.text));
        }
    }
    if texts.is_empty() {
        return vec![
            "Nothing you did stood out. Do it again with chance drawn anew and see what changes".to_owned(),
        ];
    }
    texts.into_iter().map(|t| t.1).collect()
}

/// What advice is about where somebody takes off too soon what they breathe through.
const BREATHING: &str = "respirator";

fn effect(fewer: f64, target: Target) -> String {
    format!("On average {} fewer on the {}", figure(fewer), place(target))
}

/// From the exact effect of every single change, each with what it gains.
fn from_worth(drill: &Drill, sequence: &Sequence, target: Target, changes: &[Worth]) -> Vec<(f64, Idea)> {
    let actions = actions_of(drill);
    let hands = Hands::course(drill.setup(), sequence, drill.done());
    let least = changes.first().map_or(0.0, |w| w.fewer) * WORTH_SAYING;
    changes
        .iter()
        .filter(|w| w.fewer >= least && allowed(drill, sequence, &hands, &w.edit))
        .filter_map(|change| {
            let (topic, advice) = advised(drill, sequence, &actions, change)?;
            let text = format!("{advice}. {}", effect(change.fewer, target));
            Some((change.fewer, Idea { topic, text }))
        })
        .collect()
}

/// True unless a change cleans what the sequence never has cleaned, such as gloves, or uses what it never names.
fn allowed(drill: &Drill, sequence: &Sequence, hands: &[Hands], edit: &Edit) -> bool {
    let (at, product) = match edit {
        Edit::Insert(at, Action::Clean { product, .. }) => (*at, product),
        Edit::Replace(at, to) => match &to[..] {
            [Action::Clean { product, .. }] => (*at, product),
            _ => return true,
        },
        _ => return true,
    };
    let Some(hands) = hands.get(at) else { return false };
    sequence.steps.iter().any(|step| match &step.asked {
        Asked::Clean { products, gloves, .. } => {
            products.contains(product) && hands.clean_as_asked(drill.setup(), gloves)
        }
        _ => false,
    })
}

/// From steps that came out of order, where keeping the order helps.
fn from_order(
    drill: &Drill,
    sequence: &Sequence,
    score: &Score,
    target: Target,
    now: f64,
) -> Vec<(f64, Idea)> {
    let out = score
        .steps
        .iter()
        .filter(|s| matches!(s.order, Order::Early | Order::Late));
    out.filter_map(|result| {
        let kept = reordered(drill, sequence, score, result.step)?;
        let end = end_of(
            drill.setup(),
            drill.beginning(),
            drill.seed(),
            &kept.actions,
            &[target],
        )
        .ok()?;
        let fewer = now - end.expected[0];
        (fewer >= WORTH_SAYING * now).then(|| {
            let idea = Idea {
                topic: format!("{} order", kept.what),
                text: format!("{}. {}", kept.advice, effect(fewer, target)),
            };
            (fewer, idea)
        })
    })
    .collect()
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
                            format!("Take your time with the {label}: do it steadily, not in a hurry"),
                        )
                    });
                }
                let definition = &setup.definition(setup.item(item)?).id;
                // Only ways that the sequence itself teaches; others may be cleaner in the model and wrong on a ward.
                let taught = sequence.steps.iter().any(|step| {
                    let handles = step.asked.handles();
                    handles.is_some_and(|(items, accept, _)| {
                        items.contains(definition) && accept.contains(technique)
                    })
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
            (
                Action::Clean {
                    product: was,
                    forearms: false,
                    ..
                },
                Action::Clean {
                    product,
                    forearms: true,
                    ..
                },
            ) if was == product => Some((
                "forearms".to_owned(),
                "Wash your bare forearms too, before the hands".to_owned(),
            )),
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
                // Nobody is told to get ready for touching their face.
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

/// From critical errors, gravest first, with what doing it otherwise would have kept away where that is known.
fn from_critical(
    drill: &Drill,
    sequence: &Sequence,
    score: &Score,
    target: Option<Target>,
    changes: &[Worth],
    ideas: &mut Vec<Idea>,
) {
    let gravity: [CriticalKind; CriticalKind::ALL.len()] = [
        CriticalKind::FaceTouchedUnclean,
        CriticalKind::DirtyGloveAtFace,
        CriticalKind::RubSkipped,
        CriticalKind::NotWashed,
        CriticalKind::LeftUncleaned,
        CriticalKind::RespiratorOffTooSoon,
        CriticalKind::BareHandOnDirty,
        CriticalKind::LeftInSoiledGloves,
        CriticalKind::LeftInUsedKit,
        CriticalKind::OthersTouchedUnclean,
        CriticalKind::WentInWithout,
    ];
    let hands = Hands::course(drill.setup(), sequence, drill.done());
    let remedy = |critical: &Critical| {
        changes.iter().find(|w| match (critical.kind, &w.edit) {
            (CriticalKind::FaceTouchedUnclean | CriticalKind::DirtyGloveAtFace, Edit::Remove(i)) => {
                *i == critical.action
            }
            (CriticalKind::RubSkipped, Edit::Insert(i, _)) => {
                *i == critical.action && allowed(drill, sequence, &hands, &w.edit)
            }
            _ => false,
        })
    };
    for kind in gravity {
        let mut of_kind = score.critical.iter().filter(|c| c.kind == kind).peekable();
        if of_kind.peek().is_none() {
            continue;
        }
        let (topic, text) = practise(kind);
        let worth = of_kind.filter_map(remedy).map(|w| w.fewer).reduce(f64::max);
        ideas.push(Idea {
            topic: topic.to_owned(),
            text: match (worth, target) {
                (Some(fewer), Some(target)) => format!("{text}. {}", effect(fewer, target)),
                _ => text.to_owned(),
            },
        });
    }
}

/// What to practise after a critical error: what it is about, and the advice.
fn practise(kind: CriticalKind) -> (&'static str, &'static str) {
    match kind {
        CriticalKind::BareHandOnDirty => (
            "outsides",
            "Once your gloves are off, keep to ties, straps and insides; the outside belongs to gloved hands",
        ),
        CriticalKind::FaceTouchedUnclean => (
            "face",
            "An itch can wait until your hands are clean; a clean shoulder or a word to a colleague helps",
        ),
        CriticalKind::RespiratorOffTooSoon => (
            BREATHING,
            "Leave what you breathe through on until you are where the sequence has it come off",
        ),
        CriticalKind::RubSkipped => (
            "rub",
            "Clean your hands just before they go to your neck or face, and before you leave, every time",
        ),
        CriticalKind::DirtyGloveAtFace => (
            "gloves at the face",
            "Gloves that have worked stay below the neck: take them off before you see to mask, ties or eye protection",
        ),
        CriticalKind::LeftInSoiledGloves => (
            "gloves outside",
            "Take your gloves off before you go: what they carry goes on to the door and beyond",
        ),
        CriticalKind::LeftInUsedKit => (
            "gown outside",
            "Take off what you wore at the bedside before you go: out there it brushes the door and whoever comes by",
        ),
        CriticalKind::OthersTouchedUnclean => (
            "what others touch",
            "Phone, pen and badge wait until your hands are clean: whoever takes hold of them next has what you left there",
        ),
        CriticalKind::NotWashed => (
            "wash",
            "End with soap and water: alcohol does little to what you were up against",
        ),
        CriticalKind::LeftUncleaned => (
            "clean hands at last",
            "Clean your hands once everything is off, and touch nothing of it and nothing in the room again: they took it off",
        ),
        CriticalKind::WentInWithout => (
            "before you go in",
            "Stop at the door and go through the list: what is not on when you go in, or go in again, cannot be put on clean in there",
        ),
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
            let Some(cleaning) = score.cleanings.iter().find(|c| Some(c.action) == result.action) else {
                continue;
            };
            if cleaning.is_full() {
                ideas.push(Idea {
                    topic: "forearms".to_owned(),
                    text: "Wash your bare forearms too, before the hands".to_owned(),
                });
                continue;
            }
            let missed: Vec<String> = cleaning.missed.iter().map(|z| z.label().to_owned()).collect();
            ideas.push(Idea {
                topic: "rub length".to_owned(),
                text: format!(
                    "Give it the full {:.0} seconds: this time it did not reach the {}",
                    cleaning.asked,
                    super::words::list(&missed)
                ),
            });
        }
    }
}

/// What reached the person though nothing was left undone: nobody should look for a slip of theirs in it.
fn all_the_same(drill: &Drill, score: &Score) -> Option<String> {
    let setup = drill.setup();
    let worst = score.reached.iter().find(|r| r.group.is_skin() && r.seen)?;
    let amount = match worst.count {
        1 => format!("1 of the {}", setup.organism.unit),
        n => format!("{n} {}", setup.organism.unit),
    };
    let spread = setup.organism.class == Class::Tracer
        && worst.group == Group::Hands
        && score.cleanings.iter().any(|c| !c.lifts);
    let why = match spread {
        true => sentence(RUB_ON_TRACER),
        false => "It is no slip of yours: done like this, chance alone can bring it. \u{201c}What if\u{201d} shows what would bring less"
            .to_owned(),
    };
    Some(format!(
        "All the same {amount} reached your {}. {why}",
        worst.group.label()
    ))
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::play;
    use super::*;

    fn advice_on(drill: &Drill, sequence: &str) -> Vec<String> {
        let library = drill.setup().library.clone();
        let sequence = library.sequence(sequence).expect("a built-in sequence");
        let average = Average::of(drill);
        next_time(drill, sequence, &Score::of(drill, sequence), average.as_ref())
    }

    fn advice(script: &str, sequence: &str) -> Vec<String> {
        advice_on(&play(script, 11), sequence)
    }

    #[test]
    fn the_touch_of_the_face_comes_first_with_what_it_brought() {
        let list = advice("classic-tracer/face-touch", "us-gloves-first");
        assert!(
            list[0].starts_with("An itch can wait")
                && list[0].contains("fewer on the eyes, nostrils or lips"),
            "{list:?}"
        );
        assert!(list.len() <= MOST);
    }

    #[test]
    fn whoever_did_all_that_is_asked_is_told_of_what_reached_them_all_the_same() {
        let mut told = [0; 2];
        for seed in 0..40 {
            let drill = play("classic-tracer/us-gloves-first-good", seed);
            let sequence = drill
                .setup()
                .library
                .sequence("us-gloves-first")
                .expect("built in");
            let score = Score::of(&drill, sequence);
            let list = advice_on(&drill, "us-gloves-first");
            let reached = score.reached.iter().find(|r| r.group.is_skin() && r.seen);
            assert_eq!(list.len(), 1 + usize::from(reached.is_some()), "{list:?}");
            told[usize::from(reached.is_some())] += 1;
            if let Some(reached) = reached {
                let unit = &drill.setup().organism.unit;
                let words = match reached.count {
                    1 => format!("1 of the {unit} reached"),
                    n => format!("{n} {unit} reached"),
                };
                assert!(
                    list[1].starts_with("All the same ") && list[1].contains(&words),
                    "{list:?}"
                );
            }
        }
        assert!(told.iter().all(|&n| n > 0), "{told:?}");
    }

    #[test]
    fn a_skipped_rub_comes_before_single_changes() {
        for scenario in ["classic-tracer", "respiratory-room"] {
            let list = advice(&format!("{scenario}/no-rub"), "uk-agp");
            assert!(
                list[0].starts_with("Clean your hands just before"),
                "{scenario}: {list:?}"
            );
        }
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
    fn order_is_taught_where_it_helps() {
        let list = advice("enteric-bay/mask-first", "uk-droplet");
        assert!(
            list.iter()
                .any(|l| l.starts_with("Leave the surgical mask until after the") && l.contains("On average")),
            "{list:?}"
        );
    }

    #[test]
    fn gloves_are_never_to_be_cleaned_unless_the_sequence_has_it() {
        let may = |script: &str, sequence: &str, at: usize, product: &str| {
            let drill = play(script, 11);
            let library = drill.setup().library.clone();
            let sequence = library.sequence(sequence).expect("a built-in sequence");
            let hands = Hands::course(drill.setup(), sequence, drill.done());
            let clean = Action::Clean {
                product: product.to_owned(),
                doses: 2,
                seconds: 30.0,
                skip: Vec::new(),
                forearms: false,
            };
            allowed(&drill, sequence, &hands, &Edit::Insert(at, clean))
        };
        let (book, two) = (
            "respiratory-room/uk-agp-good",
            "double-gloves/double-glove-order-good",
        );
        assert!(!may(book, "uk-agp", 0, "alcohol-rub"), "gloves are on");
        assert!(!may(book, "uk-agp", 1, "alcohol-rub"), "one glove is on");
        assert!(may(book, "uk-agp", 3, "alcohol-rub"), "both are off");
        assert!(
            !may(book, "uk-agp", 3, "chlorine-solution"),
            "it never names chlorine"
        );
        assert!(
            may(two, "double-glove-order", 0, "chlorine-solution"),
            "it has the outer pair cleaned"
        );
        assert!(
            !may(two, "practice-order", 0, "alcohol-rub"),
            "it has the inner pair cleaned, not the outer"
        );
        let list = advice("respiratory-room/itch-in-gloves", "uk-agp").join("\n");
        assert!(
            !list.contains("just before you touch"),
            "a glove is to be rubbed: {list}"
        );
    }

    #[test]
    fn what_was_done_by_the_book_gets_no_further_advice() {
        for seed in [3, 11] {
            let drill = play("respiratory-room/us-gloves-first-good", seed);
            let list = advice_on(&drill, "us-gloves-first");
            assert_eq!(list.len(), 1, "{list:?}");
            assert!(
                !list[0].contains("fewer") && list[0].starts_with("You did all"),
                "{list:?}"
            );
        }
    }

    #[test]
    fn luck_is_not_praised() {
        // An eye rubbed with a dirty hand may stay clean by chance; what was done is what counts.
        for seed in 1..40 {
            let drill = play("classic-tracer/rubbed-eye", seed);
            let average = Average::of(&drill).expect("it can be played again");
            assert!(
                !average.spares_the_mucosa(),
                "luck {seed}: {:?}",
                average.expected
            );
        }
        let drill = play("classic-tracer/uk-agp-good", 1);
        assert!(Average::of(&drill).is_some_and(|a| a.spares_the_mucosa()));
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
