//! What each departure from a sequence costs. One slip costs once.

use crate::drill::{Action, Done, Drill, Happened};
use crate::model::{Asked, AskedStep, Does, Holding, Sequence, Setup, Technique};

use super::align::{Order, kit_items};
use super::asks::standing;
use super::{Cleaning, StepResult};

/// Marks taken off, with the reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Deduction {
    /// Index of the step in the sequence.
    pub step: usize,
    /// What for, in one word, as in the scenario's marks: `missed`, `late`, `poor` ...
    pub kind: &'static str,
    /// How many.
    pub marks: f64,
    /// The reason, as a sentence.
    pub reason: String,
}

/// That a step was not done, and how far it came.
fn not_done(drill: &Drill, step: &AskedStep) -> String {
    let setup = drill.setup();
    if let Asked::PutOn { items, .. } = &step.asked {
        let ready = kit_items(setup, items).filter(|&item| setup.items[item].ready);
        let (not, on): (Vec<usize>, Vec<usize>) =
            ready.partition(|&item| drill.state().items[item].holding == Holding::Boxed);
        if not.is_empty() || on.is_empty() {
            return format!("not done: {}", step.ask);
        }
        let not: Vec<&str> = not.iter().map(|&item| setup.items[item].label.as_str()).collect();
        return format!("not done in full, {} not put on: {}", not.join(" and "), step.ask);
    }
    let Asked::Remove { items, .. } = &step.asked else {
        return format!("not done: {}", step.ask);
    };
    let (on, off): (Vec<usize>, Vec<usize>) = kit_items(setup, items).partition(|&item| {
        matches!(
            drill.state().items[item].holding,
            Holding::Worn | Holding::Dangling
        )
    });
    if on.is_empty() || off.is_empty() {
        return format!("not done: {}", step.ask);
    }
    let on: Vec<&str> = on.iter().map(|&item| setup.items[item].label.as_str()).collect();
    format!("not done in full, {} still on: {}", on.join(" and "), step.ask)
}

/// True if a step asks for hands to be cleaned and they were, by what it asks for, with nothing handled after it.
fn cleaned_at_last(drill: &Drill, step: &AskedStep, cleanings: &[Cleaning]) -> bool {
    let Asked::Clean { products, .. } = &step.asked else {
        return false;
    };
    cleanings.last().is_some_and(|cleaning| {
        let after = &drill.done()[cleaning.action + 1..];
        let handled = |done: &Done| matches!(done.action, Action::Do { .. } | Action::Touch { .. });
        products.contains(&cleaning.product) && !cleaning.over_gloves && !after.iter().any(handled)
    })
}

/// What the cleaning of a step lacked.
fn lacking(asked: &Asked, result: &StepResult, cleanings: &[Cleaning]) -> String {
    let cleaning = cleanings.iter().find(|c| Some(c.action) == result.action);
    let own = match asked {
        Asked::Clean { seconds, .. } => *seconds,
        _ => 0.0,
    };
    cleaning
        .and_then(|cleaning| {
            let short = cleaning.is_shorter_than(own).then(|| cleaning.short_of(own));
            cleaning.lacking().or(short)
        })
        .unwrap_or_else(|| "not done in full".to_owned())
}

pub(super) fn deductions(
    drill: &Drill,
    sequence: &Sequence,
    steps: &[StepResult],
    cleanings: &[Cleaning],
) -> Vec<Deduction> {
    let setup = drill.setup();
    let marks = setup.scenario.marks;
    let mut list: Vec<Deduction> = Vec::new();
    // Actions whose way was counted already: one pull takes several items along.
    let mut counted: Vec<usize> = Vec::new();
    let left_on = |result: &StepResult| {
        steps[..result.step]
            .iter()
            .any(|s| s.order == Order::Missed && matches!(sequence.steps[s.step].asked, Asked::Remove { .. }))
    };
    // Whoever left too soon did so once, whatever then came off in the wrong place.
    let mut left_by: Option<Option<usize>> = None;
    let walked_before = |action: Option<usize>| {
        let before = &drill.done()[..action.unwrap_or(0)];
        before
            .iter()
            .rposition(|done| matches!(done.action, Action::Walk(_)))
    };
    let misplaced = steps.iter().any(|s| s.wrong_place.is_some());
    for result in steps {
        let step = &sequence.steps[result.step];
        if let Some(place) = result.wrong_place {
            let walk = walked_before(result.action);
            let same = left_by.replace(walk) == Some(walk);
            if let Some(said) = list.iter_mut().rfind(|d| same && d.kind == "wrong_place") {
                said.reason.push_str("; and ");
                said.reason.push_str(&step.ask);
            } else if marks.wrong_place > 0.0 {
                list.push(Deduction {
                    step: result.step,
                    kind: "wrong_place",
                    marks: marks.wrong_place,
                    reason: format!("done {}: {}", standing(place), step.ask),
                });
            }
        }
        let mut take = |kind: &'static str, marks: f64, reason: String| {
            if marks > 0.0 {
                list.push(Deduction {
                    step: result.step,
                    kind,
                    marks,
                    reason,
                });
            }
        };
        // What is done too soon or too late is often done in the wrong place for that very reason, and then the way out
        // comes out of order too.
        if misplaced && matches!(step.asked, Asked::Go { .. }) && result.action.is_some() {
            continue;
        }
        if result.wrong_place.is_none() {
            match result.order {
                // Kit that was left on costs once: hands that were cleaned all the same cannot have been cleaned after it.
                Order::Missed if left_on(result) && cleaned_at_last(drill, step, cleanings) => {}
                Order::Missed => take("missed", marks.missed, not_done(drill, step)),
                Order::Early | Order::Late if !result.unclean_hand => take(
                    "harmless_order",
                    marks.harmless_order,
                    if matches!(step.asked, Asked::Remove { .. }) {
                        format!(
                            "out of order, though it brought no unclean hand to you: {}",
                            step.ask
                        )
                    } else {
                        format!("out of order: {}", step.ask)
                    },
                ),
                Order::Early => take("early", marks.early, format!("earlier than asked: {}", step.ask)),
                Order::Late => take("late", marks.late, format!("later than asked: {}", step.ask)),
                Order::InOrder | Order::NotApplicable => {}
            }
        }
        for poor in &result.poor {
            if counted.contains(&poor.action) {
                continue;
            }
            counted.push(poor.action);
            let way = setup.library.technique(&poor.technique);
            let label = way.map_or(poor.technique.as_str(), |t| t.label.as_str());
            let what = things(setup, &poor.items);
            let asked = if way.is_some_and(|t| t.does == Does::Adjusts) && !step.asked.dresses() {
                "handled before it was due"
            } else {
                "a way that the sequence does not ask for"
            };
            // What is done while kit is put on brings nothing unclean to anybody then: it is met as the kit comes off.
            if !poor.unclean && !step.asked.dresses() {
                take(
                    "harmless_poor",
                    marks.harmless_poor,
                    format!("{what}: {asked}, though nothing unclean can have met you by it: {label}"),
                );
            } else {
                take("poor", marks.poor, format!("{what}: {asked}: {label}"));
            }
        }
        if !result.amiss.is_empty() {
            take("poor", marks.poor, result.amiss.join("; "));
        }
        if result.short {
            take(
                "short_clean",
                marks.short_clean,
                format!("{}: {}", lacking(&step.asked, result, cleanings), step.ask),
            );
        }
        if result.no_forearms && !result.short {
            take(
                "short_clean",
                marks.short_clean,
                format!("bare forearms left out: {}", step.ask),
            );
        }
        if !result.not_binned.is_empty() {
            let how = |item: usize| match drill.state().items[item].holding {
                Holding::Floor(_) => "left on the floor",
                Holding::Binned => "dropped on the floor on the way to the bin",
                _ => "not put in the bin",
            };
            let mut words: Vec<String> = Vec::new();
            let mut told: Vec<&str> = result.not_binned.iter().map(|&item| how(item)).collect();
            told.sort_unstable();
            told.dedup();
            for told in told {
                let these = result
                    .not_binned
                    .iter()
                    .copied()
                    .filter(|&item| how(item) == told);
                words.push(format!("{}: {told}", things(setup, &these.collect::<Vec<_>>())));
            }
            take("not_binned", marks.not_binned, words.join("; "));
        }
    }
    for (technique, step, items) in binned_otherwise(drill, sequence) {
        if marks.harmless_poor > 0.0 {
            list.push(Deduction {
                step,
                kind: "harmless_poor",
                marks: marks.harmless_poor,
                reason: format!(
                    "{}: into the bin in a way that soils it or what is around it: {}",
                    things(setup, &items),
                    technique.label
                ),
            });
        }
    }
    list
}

/// Ways of getting rid of kit other than the first that the content has, each once, with the first step that takes off what was
/// got rid of so, and all of that. No sequence says how: common practice, no source.
fn binned_otherwise<'a>(drill: &'a Drill, sequence: &Sequence) -> Vec<(&'a Technique, usize, Vec<usize>)> {
    let setup = drill.setup();
    let mut ways = setup
        .library
        .techniques
        .iter()
        .filter(|t| t.does == Does::Discards);
    let well = ways.next();
    let mut found: Vec<(&Technique, usize, Vec<usize>)> = Vec::new();
    for done in drill.done() {
        let Action::Do { technique, .. } = &done.action else {
            continue;
        };
        let way = setup.library.technique(technique);
        let Some(way) =
            way.filter(|way| way.does == Does::Discards && well.is_some_and(|well| well.id != way.id))
        else {
            continue;
        };
        for happened in &done.happened {
            let Happened::Item {
                item,
                to: Holding::Binned,
                ..
            } = happened
            else {
                continue;
            };
            let takes_it_off = |step: &AskedStep| match &step.asked {
                Asked::Remove { items, .. } => kit_items(setup, items).any(|asked| asked == *item),
                _ => false,
            };
            let Some(step) = sequence.steps.iter().position(takes_it_off) else {
                continue;
            };
            match found.iter_mut().find(|(known, ..)| known.id == way.id) {
                Some((_, first, items)) => {
                    *first = step.min(*first);
                    items.push(*item);
                }
                None => found.push((way, step, vec![*item])),
            }
        }
    }
    found
}

/// Items by name; both of a pair together.
fn things(setup: &Setup, items: &[usize]) -> String {
    let mut words: Vec<String> = Vec::new();
    for &item in items {
        let kit = &setup.items[item];
        let pair = items
            .iter()
            .any(|&other| other != item && setup.items[other].item == kit.item && kit.side.is_some());
        let word = if pair {
            format!("both {}s", setup.definition(item).label)
        } else {
            kit.label.clone()
        };
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words.join(" and ")
}
