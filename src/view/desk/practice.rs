//! What commands do to somebody who practises alone by the ladder.

use std::sync::Arc;

use crate::analysis::by_the_book;
use crate::drill::{Action, Drill};
use crate::guidance::{Order, align};
use crate::model::{Manner, Setup};
use crate::record::{Code, Id};
use crate::register::{About, Attempt, Register};

use super::super::command::Page;
use super::super::playback::Playback;
use super::super::practice::{GoesView, LadderView, Practice, settings_of};
use super::super::settings::{NamedView, Use};
use super::super::start::sequence_ids;
use super::super::work::Answer;
use super::{Desk, Effect};

impl Desk {
    /// The id of the sequence that is chosen on the first page.
    fn chosen_sequence(&self) -> Option<String> {
        let scenario = self.content.library.scenarios.get(self.settings.scenario)?;
        let ids = sequence_ids(scenario);
        ids.get(self.settings.sequence).or(ids.first()).cloned()
    }

    /// Lets what is known of whoever practises be that of the code and sequence that are chosen, and looks for the rest.
    pub(super) fn follow_practice(&mut self) {
        if self.settings.purpose != Use::Practise {
            return;
        }
        let Some(sequence) = self.chosen_sequence() else {
            return;
        };
        self.follow(Code::new(&self.settings.code).ok(), &sequence);
    }

    /// The same for a person and a sequence.
    pub(super) fn follow(&mut self, code: Option<Code>, sequence: &str) {
        let folded = code.as_ref().map_or_else(String::new, Code::folded);
        if self.practice.is_of(&folded, sequence) {
            return;
        }
        let known = self
            .practised
            .iter()
            .position(|known| known.is_of(&folded, sequence));
        let next = match known {
            Some(n) => self.practised.swap_remove(n),
            None => {
                let reading = code.zip(self.register.clone()).map(|(code, folder)| {
                    let sequence = sequence.to_owned();
                    Answer::start(1, move |_| {
                        let register = Register::at(folder);
                        if !register.is_there() {
                            return Ok(Vec::new());
                        }
                        register.goes(&code, &sequence).map_err(|e| e.to_string())
                    })
                });
                Practice::begin(&folded, sequence, reading)
            }
        };
        let before = std::mem::replace(&mut self.practice, next);
        if before.knows() {
            self.practised.push(before);
        }
    }

    /// The ladder on the first page, where somebody practises.
    pub(super) fn ladder_view(&self) -> Option<LadderView> {
        let library = &self.content.library;
        let ladder = library
            .ladder
            .as_ref()
            .filter(|_| self.settings.purpose == Use::Practise)?;
        let sequence = library.sequence(&self.chosen_sequence()?)?;
        Some(self.practice.ladder_view(ladder, sequence))
    }

    /// What the debrief says of the go, where somebody practised.
    pub(super) fn goes_view(&self) -> Option<GoesView> {
        self.terms.rung.as_ref()?;
        self.practice.goes_view(&self.content.library)
    }

    /// Sets the terms of the rung that comes next; true if that is to see it done, which opens that page.
    pub(super) fn take_rung(&mut self, setup: &Arc<Setup>, sequence: &str, seed: u64) -> bool {
        self.follow_practice();
        self.practice.settle();
        let library = self.content.library.clone();
        let (Some(ladder), Some(sequence)) = (&library.ladder, library.sequence(sequence)) else {
            return false;
        };
        let (rung, terms) = self.practice.next(ladder, sequence);
        if rung.manner == Manner::See {
            return self.show_how(setup, &sequence.id, seed);
        }
        let set = settings_of(&self.settings, rung);
        self.before_terms = Some(std::mem::replace(&mut self.settings, set));
        self.rung = Some(terms);
        false
    }

    /// Opens the sequence as it is done to the letter; false if its kit cannot be taken off by it.
    fn show_how(&mut self, setup: &Arc<Setup>, sequence: &str, seed: u64) -> bool {
        let library = &self.content.library;
        let Some(asked) = library.sequence(sequence) else {
            return false;
        };
        let Ok(actions) = by_the_book(setup, asked) else {
            return false;
        };
        let mut drill = Drill::begin(setup.clone(), seed);
        for action in actions {
            if drill.act(action).is_err() {
                return false;
            }
        }
        self.showing = align(&drill, asked)
            .into_iter()
            .filter(|m| m.order != Order::NotApplicable)
            .filter_map(|m| Some((m.action?, asked.steps[m.step].why.clone())))
            .collect();
        self.notes = vec![
            "To the letter, under the lamp, with the reason for each step. Do it yourself when you have seen enough".to_owned(),
        ];
        self.playback = Some(Playback::of(drill));
        self.practice.has_seen();
        self.attempt += 1;
        self.back = Page::Start;
        self.page = Page::Replay;
        self.lamp = true;
        self.effects.push(Effect::View(NamedView::Front));
        true
    }

    /// True while it is shown how it is done.
    pub(super) fn shows_how(&self) -> bool {
        !self.showing.is_empty()
    }

    /// The reason for what was shown last, where it is shown how it is done.
    pub(super) fn why_shown(&self) -> Option<String> {
        let at = self.playback.as_ref()?.at().checked_sub(1)?;
        let done = &self.playback.as_ref()?.whole().done()[at];
        // What is put away belongs to the step that took it off; else a step may take several actions to be done.
        let put_away = matches!(done.action, Action::Do { item: None, .. });
        let (before, after): (Vec<_>, Vec<_>) = self.showing.iter().partition(|(action, _)| *action <= at);
        let of = match before.iter().max_by_key(|(action, _)| *action) {
            Some(last) if put_away || last.0 == at => Some(*last),
            _ => after.into_iter().min_by_key(|(action, _)| *action),
        };
        of.map(|(_, why)| why.clone())
    }

    /// The step that comes next is told, since it was asked for.
    pub(super) fn tell_next(&mut self) {
        let asks = self.terms.rung.as_ref().is_some_and(|rung| rung.asks);
        let (Some(drill), Some(sequence)) = (&self.drill, self.sequence()) else {
            return;
        };
        if !asks {
            return;
        }
        let next = align(drill, sequence)
            .into_iter()
            .find(|m| m.order == Order::Missed)
            .map(|m| sequence.steps[m.step].id.clone());
        let Some(step) = next else { return };
        if self.told_step.as_ref() != Some(&step) {
            for watch in &mut self.watch {
                watch.told(&step);
            }
            self.told_steps.push(step.clone());
            self.told_step = Some(step);
        }
    }

    /// True if the next step is told now, as far as practice has a say in it.
    pub(super) fn tells(&self) -> bool {
        let Some(rung) = &self.terms.rung else { return true };
        let (Some(drill), Some(sequence)) = (&self.drill, self.sequence()) else {
            return true;
        };
        let next = align(drill, sequence)
            .into_iter()
            .find(|m| m.order == Order::Missed)
            .map(|m| &sequence.steps[m.step].id);
        // That nothing more is asked is told as well.
        next.is_none_or(|next| rung.prompts.contains(next) || self.told_step.as_ref() == Some(next))
    }

    /// Works out, beside the window, what the go that has just ended leads to.
    pub(super) fn work_out_go(&mut self) {
        let (Some(drill), Some(sequence), Some(_)) = (&self.drill, self.sequence(), &self.terms.rung) else {
            return;
        };
        let (drill, sequence) = (drill.clone(), sequence.clone());
        let (terms, told) = (self.terms.clone(), self.told_steps.clone());
        let (began, content) = (self.began, self.content.digest);
        self.practice.ended(Answer::start(1, move |_| {
            let about = About {
                attempt: terms.attempt.unwrap_or_else(Id::fresh),
                began,
                finished: true,
                content,
                terms: &terms,
                told,
                log: None,
            };
            Attempt::of(&drill, &sequence, about)
        }));
    }
}
