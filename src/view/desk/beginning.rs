//! How attempts begin at the desk, and what the first page comes back to.

use std::sync::Arc;

use crate::drill::Drill;
use crate::model::{Pace, Setup};
use crate::outside::clock;
use crate::outside::files::is_growing;
use crate::record::{Id, PassTerms, Purpose, Terms, newest};

use super::super::attempts::row;
use super::super::command::{Page, Tab};
use super::super::pass::pass_rule;
use super::super::settings::{LampUse, NamedView, Settings, Use};
use super::super::start::sequence_ids;
use super::super::what_if::WhatIfAsked;
use super::super::words::sentence;
use super::{Desk, Effect};

/// The number that chance is drawn from in an assessment, unless another was typed: the same start for everybody.
const ASSESSMENT_SEED: u64 = 1;

impl Desk {
    /// Looks whether the attempt that was written last was left unfinished.
    pub(super) fn look_for_unfinished(&mut self) {
        let found = self
            .logs
            .as_deref()
            .and_then(|folder| newest(folder).ok().flatten());
        self.unfinished = found
            .filter(|found| found.can_go_on() && !is_growing(&found.path))
            .map(|found| row(&self.content.library, &found, clock::now()));
        self.left_sheets = self
            .drafts_left()
            .iter()
            .filter_map(|entry| {
                let judged = entry.judged()?;
                let who = entry
                    .person
                    .as_ref()
                    .map_or("nobody named".to_owned(), |p| p.code.to_string());
                let told = format!("{who} · {} · {}", judged.sequence.label, judged.began.words());
                Some((told, judged.sheet))
            })
            .collect();
    }

    /// The first page, with what was set on it.
    pub(super) fn go_home(&mut self) {
        self.page = Page::Start;
        self.drill = None;
        self.restore();
        self.look_for_unfinished();
    }

    /// Puts back what was set before an attempt with terms of its own.
    pub(super) fn restore(&mut self) {
        if let Some(mut before) = self.before_terms.take() {
            // What was changed meanwhile for the eyes and hands of whoever uses it stays.
            before.large = self.settings.large;
            before.text_scale = self.settings.text_scale;
            before.still = self.settings.still;
            before.mirror = self.settings.mirror;
            before.hands_free = self.settings.hands_free;
            before.observer.clone_from(&self.settings.observer);
            self.settings = before;
        }
    }

    /// True if steps of the attempt can be taken back.
    pub(super) fn takes_back(&self) -> bool {
        match &self.terms.rung {
            Some(rung) => rung.takes_back,
            None => self.settings.takes_back(),
        }
    }

    /// What is worth remembering: terms that an attempt brought with it are not.
    pub fn settings_to_keep(&self) -> &Settings {
        self.before_terms.as_ref().unwrap_or(&self.settings)
    }

    pub(super) fn begin(&mut self) {
        self.restore();
        // A drill of a lesson is under the lesson's terms.
        let of_lesson = self.drill_is_of_lesson();
        let purpose = match of_lesson {
            true => Use::AsSet,
            false => self.settings.purpose,
        };
        let assess = purpose == Use::Assess;
        let seed = match self.settings.typed_seed() {
            Ok(Some(seed)) => seed,
            // The same start for everybody.
            Ok(None) if assess => ASSESSMENT_SEED,
            Ok(None) => (self.fresh_seed)(),
            Err(_) => {
                self.refusal = Some(format!(
                    "The number for chance `{}` is not a whole number; leave it empty for a new one each time",
                    self.settings.seed.trim()
                ));
                self.page = Page::Start;
                return;
            }
        };
        let person = match self.settings.person() {
            Ok(person) => person,
            Err(why) => {
                self.refusal = Some(sentence(&why));
                self.page = Page::Start;
                return;
            }
        };
        let library = self.content.library.clone();
        let pass = match library.register.as_ref().filter(|_| assess) {
            Some(rules) => match pass_rule(&self.settings, &rules.pass) {
                Ok(rule) => Some(PassTerms::of(&rule)),
                Err(why) => {
                    self.refusal = Some(why);
                    self.page = Page::Start;
                    return;
                }
            },
            None => None,
        };
        let Some(scenario) = library.scenarios.get(self.settings.scenario) else {
            self.refusal = Some("There is no scenario to start".to_owned());
            return;
        };
        let setup = match Setup::new(library.clone(), scenario) {
            Ok(setup) => setup,
            Err(error) => {
                self.refusal = Some(format!("This scenario cannot be set up: {error}"));
                return;
            }
        };
        let ids = sequence_ids(scenario);
        let id = ids.get(self.settings.sequence).unwrap_or(&ids[0]);
        self.sequence.clone_from(id);
        let setup = Arc::new(setup);
        self.rung = None;
        if purpose == Use::Practise && self.take_rung(&setup, id, seed) {
            return;
        }
        if assess {
            let set = self.settings.assessing();
            self.before_terms = Some(std::mem::replace(&mut self.settings, set));
        }
        let drill = Drill::begin(setup, seed);
        self.attempt += 1;
        // What is to happen later on the ladder counts as dealt with.
        let quiet = self.rung.as_ref().is_some_and(|rung| !rung.disturbed);
        self.dealt = vec![quiet; scenario.happenings.len()];
        let terms = Terms {
            sequence: id.clone(),
            rung: self.rung.take(),
            purpose: match of_lesson {
                true => Purpose::Class,
                false if assess => Purpose::Assessment,
                false => Purpose::Practice,
            },
            attempt: Some(Id::fresh()),
            pass,
            person,
            desk: Some(self.settings.terms()),
            ..Terms::default()
        };
        for watch in &mut self.watch {
            watch.began(&drill, &terms);
        }
        self.under(terms);
        self.told_steps.clear();
        self.showing.clear();
        self.put_sheet_away();
        self.before.clear();
        self.do_from_here(drill);
    }

    /// Opens the page for doing, with a drill as it stands.
    pub(super) fn do_from_here(&mut self, drill: Drill) {
        self.unfinished = None;
        self.trouble = None;
        self.drill = Some(drill);
        self.page = Page::Drill;
        self.chosen = None;
        self.rub = None;
        self.list = false;
        self.help = false;
        self.asked_why = None;
        self.asked_what_if = WhatIfAsked::default();
        self.tab = Tab::default();
        self.notes.clear();
        self.numbers = None;
        self.pace = Pace::Steady;
        self.asking = false;
        self.told_step = None;
        self.taken_back = None;
        self.times_taken_back = 0;
        self.lamp = self.settings.lamp == LampUse::On;
        self.effects.push(Effect::View(NamedView::Front));
    }
}
