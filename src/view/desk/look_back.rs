//! What commands do once a drill is over: asking why and what if, and seeing an attempt again.

use std::path::Path;

use crate::outside::files::is_growing;
use crate::record::{Purpose, Replay, Terms, replay};
use crate::register::Moment;

use super::super::command::{Command, Page, Tab};
use super::super::drilling::Sight;
use super::super::playback::Playback;
use super::super::settings::{NamedView, Use};
use super::super::stage::Who;
use super::super::start::sequence_ids;
use super::super::what_if::WhatIfAsked;
use super::super::words::sentence;
use super::{Before, Desk, Effect};
use crate::view::sure::Sure;

impl Desk {
    pub(super) fn apply_to_debrief(&mut self, command: Command) {
        match command {
            Command::Why(site) => {
                self.asked_why = Some(site);
                self.tab = Tab::Why;
            }
            Command::Tab(tab) => self.tab = tab,
            Command::WhatIfStep(step) => {
                self.tab = Tab::WhatIf;
                self.asked_what_if = WhatIfAsked {
                    step: Some(step),
                    change: None,
                };
            }
            Command::WhatIfChange(change) => self.asked_what_if.change = Some(change),
            Command::ToSheet if self.sheet.is_some() => self.page = Page::Sheet,
            Command::Poll => {
                if self.practice.poll() {
                    self.revision += 1;
                }
                self.ask_how_sure();
            }
            Command::Replay => self.see_again(0, false),
            Command::See(action) => self.see_again(action, true),
            _ => {}
        }
    }

    /// That the result of the attempt that has just ended is kept, and of whom.
    pub(super) fn kept_words(&self) -> Option<String> {
        // One that was opened from a log was kept when it was made.
        self.terms.attempt?;
        let folder = self.register.as_ref()?;
        if let Some(trouble) = &self.trouble {
            return Some(sentence(trouble));
        }
        if self.drill.as_ref().is_some_and(|drill| drill.done().is_empty()) {
            return Some("Nothing was done, so nothing is kept of it".to_owned());
        }
        let whose = match &self.terms.person {
            Some(person) => format!("as {}", person.code),
            None => "without a code".to_owned(),
        };
        Some(format!("The result is kept {whose} in {}", folder.display()))
    }

    /// Begins to work out how sure the model is of the attempt, or takes what has been found.
    fn ask_how_sure(&mut self) {
        let Some(drill) = &self.drill else { return };
        match &mut self.sure {
            Some((attempt, sure)) if *attempt == self.attempt => sure.poll(),
            sure => *sure = Some((self.attempt, Sure::begin(drill))),
        }
        self.ask_what_moves();
        self.revision += 1;
    }

    /// Begins to work out what each constant does by itself to the answers on the page, while it is asked where the numbers
    /// come from.
    pub(super) fn ask_what_moves(&mut self) {
        if self.numbers.is_none() {
            return;
        }
        match (self.page, &mut self.sure, &mut self.class) {
            (Page::Debrief, Some((attempt, sure)), _) if *attempt == self.attempt => sure.turn(),
            (Page::Class, _, Some(class)) => class.turn(),
            _ => {}
        }
    }

    /// Opens the attempt at the moment before an action, and does that action at once if asked.
    fn see_again(&mut self, at: usize, go_on: bool) {
        let Some(drill) = &self.drill else { return };
        let mut playback = Playback::of(drill.clone());
        playback.seek(at);
        self.playback = Some(playback);
        self.back = self.page;
        self.page = Page::Replay;
        self.lamp = true;
        self.effects.push(Effect::View(NamedView::Front));
        if go_on {
            self.step_on();
        }
    }

    pub(super) fn apply_to_replay(&mut self, command: Command) {
        let Some(playback) = &mut self.playback else {
            return;
        };
        match command {
            Command::PlayPause => playback.play_or_pause(),
            Command::StepOn => {
                playback.pause();
                self.step_on();
            }
            Command::StepBack => {
                playback.pause();
                playback.seek(playback.at().saturating_sub(1));
            }
            Command::Scrub(at) => {
                playback.pause();
                playback.seek(at);
            }
            Command::Speed(speed) => playback.set_speed(speed),
            Command::Tick(seconds) => {
                let due = playback.wait(seconds);
                if due || !playback.playing() {
                    self.revision += 1;
                }
                if due {
                    self.moments[Who::First as usize] += 1;
                    self.step_on();
                }
            }
            Command::LampSwitch => self.lamp = !self.lamp,
            Command::View(view) => self.effects.push(Effect::View(view)),
            Command::Back => {
                self.page = self.back;
                self.showing.clear();
                self.playback = None;
            }
            _ => {}
        }
    }

    /// Shows the next action of the attempt, with the hands moving.
    fn step_on(&mut self) {
        let Some(playback) = &mut self.playback else {
            return;
        };
        let before = Sight::of(playback.now());
        if playback.step().is_some() {
            self.sight = (self.moves && !self.settings.still).then_some(before);
            self.effects.push(Effect::Perform(Who::First));
        }
    }

    /// Takes up an attempt that was broken off, where its log stands and under the terms that it was begun under.
    pub(super) fn take_up(&mut self, path: &Path) {
        let found = match replay(path, &self.content) {
            Ok(found) => found,
            Err(error) => {
                self.refusal = Some(sentence(&error.to_string()));
                return;
            }
        };
        if !found.can_go_on() || is_growing(path) {
            self.refusal = Some(
                "This attempt cannot be gone on with: it was ended, is open in another window, or comes from another smirch"
                    .to_owned(),
            );
            return;
        }
        for watch in &mut self.watch {
            watch.resumed(path, &found);
        }
        self.restore();
        // What it was for, of what and by whom is what is set, for whoever tries again.
        let library = &self.content.library;
        let scenario = &found.drill.setup().scenario;
        if let Some(index) = library.scenarios.iter().position(|s| s.id == scenario.id) {
            self.settings.scenario = index;
            let ids = sequence_ids(scenario);
            self.settings.sequence = ids.iter().position(|id| *id == found.terms.sequence).unwrap_or(0);
        }
        self.settings.by(found.terms.person.as_ref());
        self.settings.purpose = match (found.terms.purpose, &found.terms.rung) {
            (Purpose::Assessment, _) => Use::Assess,
            (_, Some(_)) => Use::Practise,
            _ => Use::AsSet,
        };
        let before = self.settings.clone();
        self.settings.under(&found.terms);
        if found.terms.purpose == Purpose::Assessment {
            // Under terms that it was begun under, and back to what was set once it is over.
            self.settings = self.settings.assessing();
            self.before_terms = Some(before);
        } else if found.terms.rung.is_some() {
            self.before_terms = Some(before);
        }
        self.told_steps = found.told.clone();
        self.under(Terms {
            attempt: found.attempt,
            ..found.terms.clone()
        });
        if let Some(began) = found.began.and_then(Moment::of_seconds) {
            self.began = began;
        }
        // What came up before the last thing done was answered by it, or let be.
        let since = found.drill.done().last().map_or(0.0, |done| done.began);
        let quiet = found.terms.rung.as_ref().is_some_and(|rung| !rung.disturbed);
        self.dealt = scenario
            .happenings
            .iter()
            .map(|h| quiet || h.at < since)
            .collect();
        let before = Before {
            chosen: None,
            dealt: self.dealt.clone(),
        };
        self.before = vec![before; found.drill.done().len()];
        if found.terms.rung.is_some() {
            let code = found.terms.person.as_ref().map(|person| person.code.clone());
            self.follow(code, &found.terms.sequence);
        }
        self.sequence = found.terms.sequence;
        self.attempt += 1;
        self.do_from_here(found.drill);
    }

    /// Opens the log of an attempt.
    pub(super) fn open_log(&mut self, path: &Path) {
        match replay(path, &self.content) {
            Err(error) => self.refusal = Some(sentence(&error.to_string())),
            Ok(found) => {
                self.put_sheet_away();
                self.terms = Terms::default();
                self.showing.clear();
                self.notes = told(&found);
                self.sequence = found.terms.sequence;
                self.drill = Some(found.drill);
                self.attempt += 1;
                self.asked_why = None;
                self.asked_what_if = WhatIfAsked::default();
                self.tab = Tab::default();
                self.page = Page::Debrief;
                self.see_again(0, false);
            }
        }
    }
}

/// What is to be said of an attempt from a log: under which terms it was made, and what its log is like.
fn told(found: &Replay) -> Vec<String> {
    let setup = found.drill.setup();
    let by = &found.terms.sequence;
    let label = setup
        .library
        .sequence(by)
        .map_or(by.as_str(), |s| s.label.as_str());
    let mut judged = format!("judged by {label}");
    if let Some(desk) = &found.terms.desk {
        judged.push_str(", ");
        judged.push_str(&desk.words());
    }
    if let Some(script) = &found.terms.script {
        judged.push_str(&format!(", played from the script {script}"));
    }
    std::iter::once(&judged)
        .chain(&found.notes)
        .map(|n| sentence(n))
        .collect()
}
