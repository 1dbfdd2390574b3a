//! What commands do while two ways are shown side by side.

use super::super::class::{Class, OwnPair, Stage, own_duel, ways};
use super::super::command::{Command, Page};
use super::super::settings::NamedView;
use super::super::stage::Who;
use super::super::words::sentence;
use super::{Desk, Effect};

impl Desk {
    /// Opens a duel of the library, the first if none was shown before.
    pub(super) fn open_class(&mut self, index: usize) {
        let library = self.content.library.clone();
        let Some(duel) = library.duels.get(index) else {
            self.refusal = Some("There is nothing to compare: the content holds no duels".to_owned());
            return;
        };
        self.begin_duel(duel);
    }

    /// Opens the pair of one's own choosing.
    fn open_own(&mut self, chosen: [usize; 2]) {
        self.own = chosen;
        let scenario = self.own_scenario();
        if let Some(duel) = own_duel(&self.content, &scenario, chosen) {
            self.begin_duel(&duel);
        }
    }

    /// The scenario for a pair of one's own: the one chosen on the first page.
    fn own_scenario(&self) -> String {
        let scenarios = &self.content.library.scenarios;
        scenarios
            .get(self.settings.scenario)
            .map_or_else(String::new, |s| s.id.clone())
    }

    /// What can be chosen for a pair of one's own.
    pub(super) fn own_pair(&self, on: bool) -> OwnPair {
        let scenario = self.own_scenario();
        OwnPair {
            ways: ways(&self.content, &scenario)
                .into_iter()
                .map(|w| w.label)
                .collect(),
            scenario: self
                .content
                .library
                .scenario(&scenario)
                .map_or(scenario.clone(), |s| s.label.clone()),
            chosen: self.own,
            on,
        }
    }

    pub(super) fn begin_duel(&mut self, duel: &crate::model::Duel) {
        // One luck for as long as the class sits: what is compared may change, luck does not change with it.
        let seed = match (self.settings.typed_seed(), &self.class) {
            (Ok(Some(seed)), _) => seed,
            (_, Some(class)) => class.seed(),
            _ => (self.fresh_seed)(),
        };
        match Class::begin(&self.content, duel, seed) {
            Err(why) => self.refusal = Some(sentence(&why)),
            Ok(class) => {
                self.class = Some(class);
                self.told = None;
                self.lamp = true;
                self.page = Page::Class;
                self.effects.push(Effect::View(NamedView::Front));
            }
        }
    }

    /// Lets those move who have done something.
    fn perform(&mut self, moved: [bool; 2]) {
        for who in Who::BOTH.into_iter().filter(|who| moved[*who as usize]) {
            self.moments[who as usize] += 1;
            self.effects.push(Effect::Perform(who));
        }
    }

    /// Both turn to where it landed, once they have come to their end.
    fn close_up(&mut self, ended_before: bool) {
        let view = self.class.as_ref().and_then(Class::close_up);
        if let Some(view) = view.filter(|_| !ended_before) {
            self.effects.push(Effect::View(view));
        }
    }

    pub(super) fn apply_to_class(&mut self, command: Command) {
        if let Command::Duel(index) = command {
            self.open_class(index);
            return;
        }
        if let Command::OwnPair(chosen) = command {
            self.open_own(chosen);
            return;
        }
        if command == Command::Back {
            self.class = None;
            self.page = Page::Start;
            return;
        }
        let Some(class) = &mut self.class else { return };
        match command {
            Command::Guess(guess) => class.guess(guess),
            Command::ClassStage(Stage::Predict) => class.ask(),
            Command::ClassStage(Stage::Watch) => class.watch(),
            Command::ClassStage(Stage::Odds) => class.reveal(&self.content),
            Command::PlayPause if class.stage() == Stage::Watch => class.play_or_pause(),
            Command::StepOn => {
                let before = class.ended();
                let moved = class.step_on();
                self.perform(moved);
                self.close_up(before);
            }
            Command::StepBack => {
                let before = class.ended();
                class.step_back();
                if before {
                    self.effects.push(Effect::View(NamedView::Front));
                }
            }
            Command::Speed(speed) => class.set_speed(speed),
            Command::Tick(seconds) => {
                let before = class.ended();
                let moved = class.wait(seconds);
                let changed = moved.contains(&true) || !class.playing();
                self.revision += u64::from(changed);
                self.perform(moved);
                self.close_up(before);
            }
            Command::Poll => {
                class.poll();
                self.lesson_hears();
                self.ask_what_moves();
                self.revision += 1;
            }
            Command::OddsTarget(target) => class.set_target(target),
            Command::Whole => class.switch_whole(),
            Command::OddsDrawn(drawn) => class.set_drawn(drawn),
            Command::LampSwitch => self.lamp = !self.lamp,
            Command::View(view) => self.effects.push(Effect::View(view)),
            Command::SavePicture => {
                let picture = class.view(&self.content).odds.map(|odds| odds.picture);
                if let Some(picture) = picture {
                    self.effects.push(Effect::Save(class_file(class.duel()), picture));
                }
            }
            _ => {}
        }
    }
}

/// Name of the file a picture of a duel goes to, without its ending.
fn class_file(duel: &str) -> String {
    format!("smirch-{duel}")
}
