//! How sure the model is of the very actions of an attempt: played beside the window with every set of values, by many
//! people with the same kit.

use std::sync::Arc;

use crate::analysis::{
    Alone, Asking, Doing, Doubted, Hang, Knowing, TURNED_STARTS, Target, USUAL_REPEATS, USUAL_SEED, alone,
    alone_work, doubt_work, doubted, sets_of, usual_doubt_repeats,
};
use crate::drill::{Action, Drill};
use crate::model::{Library, Setup};
use crate::report::{
    ALONE_HEADING, alone_words, gain_words, hang_words, hangs_of_words, measure_words, most_alone,
    range_of_figures, ranged_people, sets_words, source_line,
};

use super::words::sentence;
use super::work::{Answer, Work};

/// What is told of: all skin, what a wrong touch is gravest for, and what cleaning hands is for.
const TARGETS: [Target; 3] = [Target::AnySkin, Target::Mucosa, Target::HandsBeforeCleaning];

/// The computation and its result.
#[derive(Debug)]
pub struct Sure {
    setup: Arc<Setup>,
    actions: Arc<[Action]>,
    answer: Answer<Option<Doubted>>,
    /// What each constant does by itself; none before it is asked for.
    turned: Option<Answer<Vec<Alone>>>,
}

/// What is known so far.
#[derive(Clone, Debug, PartialEq)]
pub struct SureView {
    /// Share of it done, while it is worked out.
    pub working: Option<f32>,
    /// Of whom the numbers are, and what is counted.
    pub of: String,
    /// One entry per target: its name, people, and the mean count.
    pub rows: Vec<(String, String, String)>,
    /// What ranges are of, or why there are none.
    pub about: String,
}

/// What an answer hangs on.
#[derive(Clone, Debug, PartialEq)]
pub struct HangList {
    /// Of which answer.
    pub heading: String,
    /// Constants in words, with where they come from.
    pub lines: Vec<(String, String)>,
}

impl Sure {
    /// Begins with the actions of an attempt.
    pub fn begin(drill: &Drill) -> Sure {
        let setup = drill.setup().clone();
        let shared = setup.clone();
        let actions: Arc<[Action]> = drill.done().iter().map(|done| done.action.clone()).collect();
        let done = actions.clone();
        let repeats = usual_doubt_repeats(USUAL_REPEATS);
        let answer = Answer::start(doubt_work(sets_of(&setup), 1, repeats), move |progress| {
            doubted(
                &[asking(&setup, &actions)],
                &TARGETS,
                repeats,
                USUAL_SEED,
                progress,
            )
        });
        Sure {
            setup: shared,
            actions: done,
            answer,
            turned: None,
        }
    }

    /// Begins to work out what each constant does by itself, once there are ranges and unless it has begun.
    pub fn turn(&mut self) {
        let (Some(Ok(Some(_))), None) = (self.answer.found(), &self.turned) else {
            return;
        };
        let (setup, actions) = (self.setup.clone(), self.actions.clone());
        let total = alone_work(&asking(&setup, &actions));
        self.turned = Some(Answer::start(total, move |progress| {
            let asking = asking(&setup, &actions);
            alone(asking, &TARGETS, TURNED_STARTS, USUAL_SEED, progress)
        }));
    }

    /// Share done of that, while it goes on.
    pub fn turning(&self) -> Option<f32> {
        Some(self.turned.as_ref()?.working()?.share())
    }

    /// True while it is worked out.
    pub fn working(&self) -> bool {
        self.answer.working().is_some()
    }

    /// Takes what has been found, if it is there.
    pub fn poll(&mut self) {
        self.answer.poll();
        if let Some(turned) = &mut self.turned {
            turned.poll();
        }
    }

    /// What is known so far.
    pub fn view(&self) -> SureView {
        let mut view = SureView {
            working: self.answer.working().map(Work::share),
            of: format!(
                "Of 100 people who do just this with this kit: {}",
                measure_words(&self.setup.organism)
            ),
            rows: Vec::new(),
            about: String::new(),
        };
        match self.answer.found() {
            Some(Ok(Some(doubted))) => {
                let rows = TARGETS.iter().zip(&doubted.ways[0]);
                view.rows = rows
                    .map(|(target, doubt)| {
                        let mean = doubt
                            .mean
                            .map_or(String::new(), |mean| match mean.range.high > 0.0 {
                                true => format!(
                                    "{} {} on average",
                                    range_of_figures(mean.range),
                                    self.setup.organism.unit
                                ),
                                false => String::new(),
                            });
                        (sentence(target.label()), ranged_people(doubt.seen), mean)
                    })
                    .collect();
                view.about = sentence(&sets_words(&self.setup, doubted.sets));
            }
            Some(Ok(None)) => "This content has no versions of the model".clone_into(&mut view.about),
            Some(Err(why)) => view.about = sentence(why),
            None => {}
        }
        view
    }

    /// What the answers hang on.
    pub fn hangs(&self, library: &Library) -> Vec<HangList> {
        let Some(Ok(Some(doubted))) = self.answer.found() else {
            return Vec::new();
        };
        let rows = TARGETS.iter().zip(&doubted.ways[0]);
        let hangs = rows.map(|(target, doubt)| {
            let heading = format!(
                "What the numbers of this attempt hang on: {}; {}",
                target.label(),
                hangs_of_words(doubt.hangs_of)
            );
            hang_list(library, heading, &doubt.hangs)
        });
        let turned = self.turned.as_ref().and_then(|turned| turned.found()?.ok());
        let alone = turned.into_iter().flat_map(|turned| {
            let targets = TARGETS.iter().enumerate();
            targets.map(|(t, target)| alone_list(library, target.label(), turned, t))
        });
        alone.chain(hangs).collect()
    }
}

/// What is asked of an attempt: its very actions, without a lapse.
fn asking<'a>(setup: &'a Setup, actions: &'a [Action]) -> Asking<'a> {
    let flawless = setup.library.trainees.iter().find(|t| t.is_flawless());
    Asking {
        setup,
        doing: Doing::Script(actions),
        trainee: flawless.map_or("", |t| t.id.as_str()),
    }
}

/// The constants that move an answer most by themselves.
pub(super) fn alone_list(library: &Library, of: &str, all: &[Alone], target: usize) -> HangList {
    let line = |one: &Alone| {
        (
            sentence(&alone_words(one, target)),
            source(library, one.basis.as_deref()),
        )
    };
    let lines = match &most_alone(library, all, target)[..] {
        [] => vec![(
            "Nothing by itself by more than is told apart".to_owned(),
            String::new(),
        )],
        some => some.iter().map(|one| line(one)).collect(),
    };
    HangList {
        heading: format!("{}: {of}", sentence(ALONE_HEADING)),
        lines,
    }
}

/// The constants that an answer hangs on.
pub(super) fn hang_list(library: &Library, heading: String, hangs: &[Hang]) -> HangList {
    let line = |hang: &Hang| {
        (
            sentence(&hang_words(hang)),
            source(library, hang.basis.as_deref()),
        )
    };
    let lines = match hangs {
        [] => vec![("No constant by itself".to_owned(), String::new())],
        some => some.iter().map(line).collect(),
    };
    HangList { heading, lines }
}

/// What knowing constants would be worth for a choice.
pub(super) fn worth_list(setup: &Setup, heading: String, worths: &[Knowing]) -> HangList {
    let line = |one: &Knowing| {
        let words = format!(
            "{}: who knew it would see it {}",
            one.words,
            gain_words(one.worth)
        );
        (sentence(&words), source(&setup.library, one.basis.as_deref()))
    };
    let lines = match worths {
        [] => vec![(
            "Knowing one constant by itself would not help the choice by more than chance".to_owned(),
            String::new(),
        )],
        some => some.iter().map(line).collect(),
    };
    HangList { heading, lines }
}

fn source(library: &Library, basis: Option<&str>) -> String {
    basis.map_or_else(
        || "fitted to published counts".to_owned(),
        |basis| source_line(library, basis),
    )
}

#[cfg(test)]
mod tests {
    use super::super::desk::tests::play;
    use super::*;

    #[test]
    fn an_attempt_has_ranges_and_what_they_hang_on() {
        let drill = play("classic-tracer/gown-first", 3);
        let mut sure = Sure::begin(&drill);
        assert!(sure.view().working.is_some() && sure.view().rows.is_empty());
        while sure.working() {
            sure.poll();
            std::thread::yield_now();
        }
        let view = sure.view();
        assert_eq!((view.working, view.rows.len()), (None, TARGETS.len()), "{view:?}");
        assert!(view.rows[0].1.contains(" of 100 people"), "{view:?}");
        assert!(view.rows[0].2.contains(" on average"), "{view:?}");
        let hangs = sure.hangs(&drill.setup().library);
        assert!(
            hangs.len() == TARGETS.len() && hangs.iter().all(|h| (1..=5).contains(&h.lines.len())),
            "{hangs:?}"
        );
        // What each does by itself is worked out once it is asked for, and then five are named.
        assert!(sure.turning().is_none(), "nobody has asked");
        sure.turn();
        assert!(sure.turning().is_some());
        while sure.turning().is_some() {
            sure.poll();
            std::thread::yield_now();
        }
        let all = sure.hangs(&drill.setup().library);
        let (alone, after) = all.split_at(TARGETS.len());
        assert_eq!(after, &hangs[..], "{all:?}");
        assert_eq!(alone[0].lines.len(), 5, "{alone:?}");
        assert!(
            alone[0]
                .lines
                .iter()
                .all(|(what, _)| what.contains(" at the high end")),
            "{alone:?}"
        );
        // None may be told from chance at one target, and then that is said.
        let mut named = hangs
            .iter()
            .flat_map(|h| &h.lines)
            .filter(|(_, source)| !source.is_empty());
        assert!(
            named
                .by_ref()
                .next()
                .is_some_and(|(what, _)| what.contains("goes with it"))
                && named.all(|(what, _)| what.contains("goes with it")),
            "{hangs:?}"
        );
    }
}
