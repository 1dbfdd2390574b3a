//! What if: a step of the attempt, what else could have been done there, and how it would then have ended.

use crate::analysis::{Edit, End, Target, alternatives, end_of, what_if};
use crate::drill::{Action, Drill};
use crate::model::{Class, Fate, Pace, Setup};
use crate::report::{RUB_ON_TRACER, figure};

use super::steps::describe;
use super::words::{clock, count, list, lower, sentence};

/// What is looked at, gravest last so that the sum of all skin comes first.
const SHOWN: [Target; 7] = Target::PERSON;

/// What is asked: a step, and one of the changes offered for it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct WhatIfAsked {
    /// Index of the action.
    pub step: Option<usize>,
    /// Index among the changes offered.
    pub change: Option<usize>,
}

/// A change on offer.
#[derive(Clone, Debug, PartialEq)]
pub struct ChangeRow {
    /// In plain words.
    pub label: String,
    /// Change of what ends on any bare skin, on average: below zero is less.
    pub average: f64,
    /// The same, in words.
    pub average_words: String,
}

/// One line of both outcomes side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct BothRow {
    /// Where.
    pub label: String,
    /// As it was, and as it would have been, with the same luck.
    pub counts: (u64, u64),
    /// The same on average over all luck, in words.
    pub averages: (String, String),
}

/// Both outcomes.
#[derive(Clone, Debug, PartialEq)]
pub struct BothView {
    /// The change.
    pub label: String,
    /// Line by line.
    pub rows: Vec<BothRow>,
    /// Difference in time, in words.
    pub time: String,
    /// Steps that became impossible and were left out.
    pub left_out: Vec<String>,
    /// In a sentence.
    pub verdict: String,
}

/// Everything the page shows.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatIfView {
    /// Every action: clock and sentence.
    pub steps: Vec<(String, String)>,
    /// The step chosen.
    pub chosen: Option<usize>,
    /// Changes offered for it, what helps most first.
    pub changes: Vec<ChangeRow>,
    /// Index of the one chosen.
    pub change: Option<usize>,
    /// Both outcomes of it.
    pub both: Option<BothView>,
}

/// The changes offered for a step, what helps most first, each with its end.
pub fn offered(drill: &Drill, step: usize) -> Vec<(Edit, End, Vec<usize>)> {
    let (setup, beginning) = (drill.setup(), drill.beginning());
    let actions = actions_of(drill);
    let mut edits = alternatives(setup, &beginning.state.faults, &actions, step);
    if !edits.contains(&Edit::Remove(step)) {
        edits.push(Edit::Remove(step));
    }
    if step > 0 {
        edits.push(Edit::Move(step, step - 1));
    }
    if step + 1 < actions.len() {
        edits.push(Edit::Move(step, step + 1));
    }
    let mut list: Vec<(Edit, End, Vec<usize>)> = edits
        .into_iter()
        .filter_map(|edit| {
            let then = what_if(setup, beginning, drill.seed(), &actions, &edit, &SHOWN).ok()?;
            let left_out: Vec<usize> = then.left_out.iter().map(|(i, _)| *i).collect();
            // Another order of the same steps, or none.
            let whole = left_out.is_empty() || !matches!(edit, Edit::Move(..));
            whole.then_some((edit, then.end, left_out))
        })
        .collect();
    list.sort_by(|a, b| a.1.expected[0].total_cmp(&b.1.expected[0]));
    list
}

/// The actions of an attempt.
pub fn actions_of(drill: &Drill) -> Vec<Action> {
    drill.done().iter().map(|done| done.action.clone()).collect()
}

/// What the page shows.
pub fn what_if_view(drill: &Drill, asked: WhatIfAsked) -> WhatIfView {
    let setup = drill.setup();
    let actions = actions_of(drill);
    let steps = drill
        .done()
        .iter()
        .map(|done| (clock(done.began), describe(setup, &done.action)))
        .collect();
    let mut view = WhatIfView {
        steps,
        chosen: asked.step.filter(|&s| s < actions.len()),
        changes: Vec::new(),
        change: None,
        both: None,
    };
    let Some(step) = view.chosen else { return view };
    let Ok(now) = end_of(setup, drill.beginning(), drill.seed(), &actions, &SHOWN) else {
        return view;
    };
    let offered = offered(drill, step);
    view.changes = offered
        .iter()
        .map(|(edit, end, _)| {
            let average = end.expected[0] - now.expected[0];
            ChangeRow {
                label: describe_edit(setup, &actions, edit),
                average,
                average_words: change_words(now.expected[0], end.expected[0]),
            }
        })
        .collect();
    view.change = asked.change.filter(|&c| c < offered.len());
    view.both = view.change.map(|c| {
        let (edit, end, left_out) = &offered[c];
        both(drill, &actions, edit, &now, end, left_out)
    });
    view
}

fn both(
    drill: &Drill,
    actions: &[Action],
    edit: &Edit,
    now: &End,
    then: &End,
    left_out: &[usize],
) -> BothView {
    let setup = drill.setup();
    let rows: Vec<BothRow> = SHOWN
        .iter()
        .enumerate()
        .map(|(i, target)| BothRow {
            label: sentence(target.label()),
            counts: (now.counts[i], then.counts[i]),
            averages: (figure(now.expected[i]), figure(then.expected[i])),
        })
        .collect();
    let seconds = then.seconds - now.seconds;
    let time = if seconds.abs() < 0.5 {
        "It takes as long".to_owned()
    } else if seconds > 0.0 {
        format!("It takes {seconds:.0} s longer")
    } else {
        format!("It takes {:.0} s less", -seconds)
    };
    let alike = match then.counts[0].cmp(&now.counts[0]) {
        std::cmp::Ordering::Less => format!(
            "With the same draws of chance, {} fewer would have reached your skin",
            count(now.counts[0] - then.counts[0])
        ),
        std::cmp::Ordering::Equal => {
            "With the same draws of chance, just as many would have reached your skin".to_owned()
        }
        std::cmp::Ordering::Greater => format!(
            "With the same draws of chance, {} more would have reached your skin",
            count(then.counts[0] - now.counts[0])
        ),
    };
    BothView {
        label: describe_edit(setup, actions, edit),
        rows,
        time,
        left_out: left_out
            .iter()
            .map(|&i| describe(setup, &drill.done()[i].action))
            .collect(),
        verdict: format!(
            "{alike}. Over many attempts, {}{}",
            change_words(now.expected[0], then.expected[0]),
            if is_about_rub_on_tracer(setup, actions, edit) {
                format!(". {}", sentence(RUB_ON_TRACER))
            } else {
                String::new()
            }
        ),
    }
}

/// True if a change adds a rub, takes one away or puts another in its place where lotion is counted.
fn is_about_rub_on_tracer(setup: &Setup, actions: &[Action], edit: &Edit) -> bool {
    let rub = |action: &Action| {
        matches!(action, Action::Clean { product, .. }
            if setup.library.product(product).is_some_and(|p| p.fate == Fate::Inactivated))
    };
    let at = |i: usize| actions.get(i).is_some_and(rub);
    setup.organism.class == Class::Tracer
        && match edit {
            Edit::Insert(_, action) => rub(action),
            Edit::Remove(i) => at(*i),
            Edit::Replace(i, to) => at(*i) || to.iter().any(rub),
            Edit::Move(from, _) => at(*from),
        }
}

/// A change of an average, in words.
pub fn change_words(now: f64, then: f64) -> String {
    let gap = (then - now).abs();
    if gap <= 1e-6 * now.max(then).max(1e-9) {
        return "it makes no difference on average".to_owned();
    }
    let part = if now > 0.0 { 100.0 * gap / now } else { 0.0 };
    let share = if now > 0.0 && (0.5..=999.0).contains(&part) {
        format!(", {part:.0} %")
    } else {
        String::new()
    };
    if then < now {
        format!("{} fewer on average{share}", figure(gap))
    } else {
        format!("{} more on average{share}", figure(gap))
    }
}

/// A change in plain words.
pub fn describe_edit(setup: &Setup, actions: &[Action], edit: &Edit) -> String {
    let text = match edit {
        Edit::Replace(i, to) => match (actions.get(*i), to.as_slice()) {
            (
                Some(Action::Do {
                    technique: was,
                    pace: before,
                    ..
                }),
                [Action::Do { technique, pace, .. }],
            ) if was == technique && before != pace => match pace {
                Pace::Steady => "the same, but steadily".to_owned(),
                Pace::Hurried => "the same, but in a hurry".to_owned(),
            },
            (
                Some(Action::Clean {
                    product: was,
                    forearms: false,
                    ..
                }),
                [
                    Action::Clean {
                        product,
                        forearms: true,
                        ..
                    },
                ],
            ) if was == product => "the same, and the bare forearms first".to_owned(),
            (Some(Action::Clean { product: was, .. }), [Action::Clean { product, seconds, .. }])
                if was == product =>
            {
                format!("the same for the full {seconds:.0} s, every zone")
            }
            (_, others) => {
                let words: Vec<String> = others.iter().map(|a| lower(&describe(setup, a))).collect();
                format!("instead: {}", words.join(", then "))
            }
        },
        Edit::Insert(i, action) => {
            let before = if *i < actions.len() {
                " before it"
            } else {
                " at the end"
            };
            format!("{}{before}", lower(&describe(setup, action)))
        }
        Edit::Remove(_) => "leave it out".to_owned(),
        Edit::Move(from, to) => {
            let past = actions
                .get(*to)
                .map(|a| lower(&describe(setup, a)))
                .unwrap_or_default();
            let when = if to < from { "before" } else { "after" };
            format!("{when} this: {past}")
        }
    };
    sentence(&text)
}

/// Steps that a change takes with it, as one sentence.
pub fn taken_along(view: &BothView) -> Option<String> {
    (!view.left_out.is_empty()).then(|| {
        let words: Vec<String> = view.left_out.iter().map(|w| lower(w)).collect();
        format!("Then impossible, and left out too: {}", list(&words))
    })
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::play;
    use super::*;

    #[test]
    fn leaving_out_a_face_touch_is_offered_and_shown_beside_what_was() {
        let drill = play("classic-tracer/face-touch", 3);
        let step = actions_of(&drill)
            .iter()
            .position(|a| matches!(a, Action::Touch { .. }))
            .expect("the script touches the face");
        let asked = WhatIfAsked {
            step: Some(step),
            change: Some(0),
        };
        let view = what_if_view(&drill, asked);
        assert!(
            view.changes.iter().any(|c| c.label == "Leave it out"),
            "{:?}",
            view.changes
        );
        assert!(view.changes.windows(2).all(|c| c[0].average <= c[1].average));
        let both = view.both.expect("a change was chosen");
        let mucosa = both
            .rows
            .iter()
            .find(|r| r.label.starts_with("Eyes"))
            .expect("a row");
        assert!(mucosa.counts.1 < mucosa.counts.0, "{mucosa:?}");
        assert!(both.verdict.contains("fewer"), "{}", both.verdict);
    }

    #[test]
    fn a_step_can_be_moved_past_its_neighbours_where_that_is_possible() {
        let drill = play("classic-tracer/face-touch", 3);
        let actions = actions_of(&drill);
        let step = actions
            .iter()
            .position(|a| matches!(a, Action::Touch { .. }))
            .expect("the script touches the face");
        let moves: Vec<usize> = offered(&drill, step)
            .iter()
            .filter_map(|(edit, _, left_out)| match edit {
                Edit::Move(_, to) if left_out.is_empty() => Some(*to),
                _ => None,
            })
            .collect();
        assert!(
            moves.contains(&(step + 1)),
            "it could have come one later: {moves:?}"
        );
    }

    #[test]
    fn changes_are_described_in_words() {
        let drill = play("respiratory-room/hurried", 1);
        let view = what_if_view(
            &drill,
            WhatIfAsked {
                step: Some(0),
                change: None,
            },
        );
        assert!(
            view.changes.iter().any(|c| c.label == "The same, but steadily"),
            "{:?}",
            view.changes
        );
        assert!(view.both.is_none());
    }

    #[test]
    fn a_rub_is_not_judged_by_lotion() {
        for (script, told) in [
            ("classic-tracer/uk-agp-good", true),
            ("respiratory-room/uk-agp-good", false),
        ] {
            let drill = play(script, 3);
            let rub = actions_of(&drill)
                .iter()
                .position(|a| matches!(a, Action::Clean { .. }))
                .expect("there is a rub");
            let leave_out = offered(&drill, rub)
                .iter()
                .position(|(edit, ..)| *edit == Edit::Remove(rub));
            let asked = WhatIfAsked {
                step: Some(rub),
                change: leave_out,
            };
            let both = what_if_view(&drill, asked).both.expect("a change was chosen");
            assert_eq!(
                both.verdict.contains("lifts nothing"),
                told,
                "{script}: {}",
                both.verdict
            );
        }
    }

    #[test]
    fn a_change_of_an_average_reads_well() {
        assert_eq!(change_words(100.0, 50.0), "50.0 fewer on average, 50 %");
        assert_eq!(change_words(0.0, 2.0), "2.00 more on average");
        assert_eq!(change_words(3.0, 3.0), "it makes no difference on average");
    }
}
