//! All that a person at the screen has open, and what each command does to it.

use std::fmt;
use std::path::PathBuf;

use crate::content::Content;
use crate::drill::Drill;
use crate::model::{Pace, Sequence, SiteIndex};
use crate::outside::clock;
use crate::record::{Id, RungTerms, Terms};
use crate::register::Moment;

use super::attempts::{AttemptRow, AttemptsView, attempts_view};
use super::class::Class;
use super::command::{Command, Page, Tab};
use super::drilling::Sight;
use super::lesson::OpenLesson;
use super::numbers::{Numbers, bearing_on};
use super::playback::Playback;
use super::practice::Practice;
use super::remembered::Remembered;
use super::rub::Rub;
use super::searching::Search;
use super::settings::{Settings, TEXT_SCALE};
use super::sheet::Sheet;
use super::stage::Who;
use super::sure::Sure;
use super::what_if::WhatIfAsked;

mod beginning;
mod class;
mod drilling;
mod lesson;
mod look_back;
mod orders;
mod practice;
mod sheet;
mod shows;
mod watch;

pub use watch::{Effect, Watch};

/// The desk.
pub struct Desk {
    content: Content,
    settings: Settings,
    page: Page,
    sequence: String,
    drill: Option<Drill>,
    chosen: Option<SiteIndex>,
    lamp: bool,
    rub: Option<Rub>,
    refusal: Option<String>,
    list: bool,
    help: bool,
    asked_why: Option<SiteIndex>,
    asked_what_if: WhatIfAsked,
    tab: Tab,
    playback: Option<Playback>,
    class: Option<Class>,
    search: Option<Search>,
    lesson: Option<OpenLesson>,
    /// How sure the model is of an attempt, by its number.
    sure: Option<(u64, Sure)>,
    /// The pair of one's own choosing.
    own: [usize; 2],
    /// What was told last, such as where a picture was saved.
    told: Option<String>,
    /// Why what was to be kept of the attempt is not where it should be.
    trouble: Option<String>,
    /// The page to which the one that is open goes back.
    back: Page,
    numbers: Option<Numbers>,
    /// What somebody who watches writes, while that page is open or can be gone back to.
    sheet: Option<Sheet>,
    /// The terms of the attempt that is on the desk.
    terms: Terms,
    /// When it began.
    began: Moment,
    /// What whoever practises has done, at the sequence that is chosen.
    practice: Practice,
    /// The same of others in this window.
    practised: Vec<Practice>,
    /// The rung that is about to be begun.
    rung: Option<RungTerms>,
    /// Where it is shown how it is done, the reason for each step with the action that completes it.
    showing: Vec<(usize, String)>,
    /// The step that was told on request and has not been done.
    told_step: Option<String>,
    /// All that were told on request in this attempt.
    told_steps: Vec<String>,
    /// What was set before an attempt with terms of its own took its place.
    before_terms: Option<Settings>,
    /// Sheets that were left unsigned, in words.
    left_sheets: Vec<(String, Id)>,
    /// Where attempts are recorded.
    logs: Option<PathBuf>,
    /// Where results are kept.
    register: Option<PathBuf>,
    /// What this station is called in them.
    station: Option<String>,
    /// The attempt that was left last and can be taken up again.
    unfinished: Option<AttemptRow>,
    /// The list of recorded attempts, while it is open.
    attempts: Option<AttemptsView>,
    /// What is worth saying of a log that was opened.
    notes: Vec<String>,
    /// For each happening of the scenario, whether it has been dealt with.
    dealt: Vec<bool>,
    /// How the next thing is done.
    pace: Pace,
    /// True while it is asked whether to finish although something is left to do.
    asking: bool,
    /// How things stood before each action of the drill, for taking it back.
    before: Vec<Before>,
    /// The action that was taken back just now, in words.
    taken_back: Option<String>,
    /// How many steps of the drill were taken back.
    times_taken_back: usize,
    /// True if there is a scene that carries out what is done, and says when it has been seen.
    moves: bool,
    /// What the lamp showed before that which hands are about now.
    sight: Option<Sight>,
    effects: Vec<Effect>,
    watch: Vec<Box<dyn Watch>>,
    fresh_seed: Box<dyn FnMut() -> u64 + Send + Sync>,
    revision: u64,
    /// How many attempts have been begun or opened.
    attempt: u64,
    /// For each person, a number that grows when what they do is something new.
    moments: [u64; 2],
}

/// How things at the desk stood before an action.
#[derive(Clone)]
struct Before {
    chosen: Option<SiteIndex>,
    dealt: Vec<bool>,
}

impl fmt::Debug for Desk {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Desk")
            .field("page", &self.page)
            .field("settings", &self.settings)
            .field("chosen", &self.chosen)
            .finish_non_exhaustive()
    }
}

impl Desk {
    /// A desk with the first page open. `fresh_seed` gives the luck of each drill for which none was typed.
    pub fn new(content: Content, fresh_seed: impl FnMut() -> u64 + Send + Sync + 'static) -> Desk {
        // The commonest kit comes first on the page, and so is chosen at first.
        let scenario = content
            .library
            .scenarios
            .iter()
            .position(|s| s.id == "classic-tracer")
            .unwrap_or(0);
        Desk {
            content,
            settings: Settings {
                scenario,
                ..Settings::default()
            },
            page: Page::Start,
            sequence: String::new(),
            drill: None,
            chosen: None,
            lamp: false,
            rub: None,
            refusal: None,
            list: false,
            help: false,
            asked_why: None,
            asked_what_if: WhatIfAsked::default(),
            tab: Tab::default(),
            playback: None,
            class: None,
            search: None,
            lesson: None,
            sure: None,
            own: [0, 1],
            told: None,
            trouble: None,
            back: Page::Start,
            numbers: None,
            sheet: None,
            terms: Terms::default(),
            began: Moment::now(),
            practice: Practice::default(),
            practised: Vec::new(),
            rung: None,
            showing: Vec::new(),
            told_step: None,
            told_steps: Vec::new(),
            before_terms: None,
            left_sheets: Vec::new(),
            logs: None,
            register: None,
            station: None,
            unfinished: None,
            attempts: None,
            notes: Vec::new(),
            dealt: Vec::new(),
            pace: Pace::Steady,
            asking: false,
            before: Vec::new(),
            taken_back: None,
            times_taken_back: 0,
            moves: false,
            sight: None,
            effects: Vec::new(),
            watch: Vec::new(),
            fresh_seed: Box::new(fresh_seed),
            revision: 0,
            attempt: 0,
            moments: [0; 2],
        }
    }

    /// Adds someone who is told of every step.
    pub fn watched_by(&mut self, watch: Box<dyn Watch>) {
        self.watch.push(watch);
    }

    /// Says that there is a scene that carries out what is done, and says with [`Command::Seen`] when that is over.
    pub fn moved_by_a_scene(&mut self) {
        self.moves = true;
    }

    /// Says where attempts are recorded.
    pub fn recorded_in(&mut self, folder: PathBuf) {
        self.logs = Some(folder);
        self.look_for_unfinished();
    }

    /// Says where results are kept.
    pub fn kept_in(&mut self, folder: PathBuf) {
        self.register = Some(folder);
    }

    /// Says what this station is called in the results that it keeps.
    pub fn called(&mut self, station: String) {
        self.station = Some(station);
    }

    /// Sets what was set the last time.
    pub fn recall(&mut self, remembered: &Remembered) {
        remembered.recall(&mut self.settings);
    }

    /// Says something on the first page that is no answer to a command.
    pub fn notice(&mut self, text: String) {
        self.refusal = Some(text);
    }

    /// The list of recorded attempts, if it is open.
    pub fn attempts_view(&self) -> Option<&AttemptsView> {
        self.attempts.as_ref()
    }

    /// The page that is open.
    pub fn page(&self) -> Page {
        self.page
    }

    /// The settings.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The drill under way or just ended.
    pub fn drill(&self) -> Option<&Drill> {
        self.drill.as_ref()
    }

    /// The content that drills are made from.
    pub fn content(&self) -> &Content {
        &self.content
    }

    /// The named sequence the drill is laid beside.
    pub fn sequence(&self) -> Option<&Sequence> {
        // An attempt from a log may bring a sequence of its own.
        let drill = self.drill.as_ref()?;
        drill.setup().library.sequence(&self.sequence)
    }

    /// True while the lamp shines; always so in the debrief.
    pub fn lamp(&self) -> bool {
        match self.page {
            Page::Start | Page::Orders | Page::Sheet | Page::Lesson => false,
            Page::Drill | Page::Replay | Page::Class => self.lamp,
            Page::Debrief => true,
        }
    }

    /// The chosen site, while there is something to be done with it: what is looked back on has none.
    pub fn chosen(&self) -> Option<SiteIndex> {
        self.chosen.filter(|_| self.page == Page::Drill)
    }

    /// True while the list of keys is open.
    pub fn help(&self) -> bool {
        self.help
    }

    /// Grows with every command: views made at one revision stay right until the next.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Grows with every attempt that is begun or opened.
    pub fn attempt(&self) -> u64 {
        self.attempt
    }

    /// Grows whenever a person does something new, and with every command: hands that began at one moment go on until
    /// the next.
    pub fn moment(&self, who: Who) -> u64 {
        self.moments[who as usize]
    }

    /// What the scene should do, taken once.
    pub fn take_effects(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }

    /// Does what a command asks.
    pub fn apply(&mut self, command: Command) {
        // Time that passes changes nothing by itself; what it brings about counts where it does.
        if !matches!(
            command,
            Command::Tick(_) | Command::Poll | Command::Seen | Command::LessonTick(_)
        ) {
            self.revision += 1;
            self.moments.iter_mut().for_each(|m| *m += 1);
            // Whatever was under way is over then.
            self.sight = None;
        }
        if !matches!(
            command,
            Command::RubFor(_)
                | Command::Peek(_)
                | Command::Tick(_)
                | Command::Poll
                | Command::Seen
                | Command::LessonTick(_)
        ) {
            self.refusal = None;
        }
        if command == Command::Poll {
            self.lesson_polls();
        }
        if self.assessed()
            && matches!(
                command,
                Command::Names
                    | Command::Trace
                    | Command::Numbers
                    | Command::NumbersAsk(_)
                    | Command::ToLesson
            )
        {
            self.refusal = Some("Not while somebody is assessed: nothing on the screen helps".to_owned());
            return;
        }
        match command {
            Command::Seen => {
                if self.sight.take().is_some() {
                    self.revision += 1;
                }
            }
            Command::Poll if self.page == Page::Start => {
                if self.practice.poll() {
                    self.revision += 1;
                }
            }
            Command::Scenario(index) => {
                self.settings.scenario = index;
                self.settings.sequence = 0;
                self.follow_practice();
            }
            Command::Sequence(index) => {
                self.settings.sequence = index;
                self.follow_practice();
            }
            Command::Lamp(lamp) => self.settings.lamp = lamp,
            Command::Hints(on) => self.settings.hints = on,
            Command::Seed(text) => self.settings.seed = text,
            Command::Code(text) => {
                self.settings.code = text;
                self.follow_practice();
            }
            Command::Ward(text) => self.settings.ward = text,
            Command::Group(text) => self.settings.group = text,
            Command::Purpose(purpose) => {
                self.settings.purpose = purpose;
                self.follow_practice();
            }
            Command::Observer(text) => self.settings.observer = text,
            Command::PassMark(_) | Command::PassClean(..) | Command::PassUsual => self.set_pass(command),
            Command::Observe => self.observe(0),
            Command::OpenSheet(id) => self.open_sheet(id),
            Command::Clock(speed) => self.settings.clock = speed,
            Command::HandsFree(on) => self.settings.hands_free = on,
            // Where it is shown how it is done, doing it is the next thing.
            Command::Begin if self.page != Page::Replay || self.shows_how() => {
                self.lesson_lets_go();
                self.begin();
            }
            Command::Begin => {}
            Command::Help => self.help = !self.help,
            Command::Larger => self.scale(25),
            Command::Smaller => self.scale(-25),
            Command::LargeType => self.settings.large = !self.settings.large,
            Command::Still => self.settings.still = !self.settings.still,
            Command::Mirror => self.settings.mirror = !self.settings.mirror,
            Command::Names => self.settings.names = !self.settings.names,
            Command::Trace => self.settings.trace = !self.settings.trace,
            Command::FullScreen => self.effects.push(Effect::FullScreen),
            Command::Leave => self.effects.push(Effect::Leave),
            Command::Home => {
                self.put_sheet_away();
                self.go_home();
                self.page = self.lesson.as_ref().map_or(Page::Start, |_| Page::Lesson);
                self.drill = None;
                self.look_for_unfinished();
            }
            Command::TakeUp(path) => {
                self.attempts = None;
                self.take_up(&path);
            }
            Command::Again => self.begin(),
            Command::Attempts => {
                self.attempts = match self.attempts {
                    Some(_) => None,
                    None => {
                        let folder = self.logs.as_deref();
                        Some(attempts_view(&self.content.library, folder, clock::now()))
                    }
                }
            }
            Command::OpenLog(path) => {
                self.attempts = None;
                self.open_log(&path);
            }
            Command::Class => self.open_class(0),
            Command::Lessons => self.open_lessons(),
            Command::Lesson(index) => self.begin_lesson(index),
            Command::LessonTick(seconds) => self.lesson_tick(seconds),
            Command::ToLesson => self.back_to_lesson(),
            Command::Back if self.page == Page::Class && self.lesson_is_open() => self.back_to_lesson(),
            Command::Orders => self.open_orders(None, false),
            Command::Told(text) => self.told = Some(text),
            Command::Trouble(text) => match self.page {
                Page::Start => self.refusal = Some(super::words::sentence(&text)),
                Page::Sheet => self.told = Some(super::words::sentence(&text)),
                _ => self.trouble = Some(text),
            },
            Command::Numbers => {
                self.numbers = match self.numbers {
                    Some(_) => None,
                    None => Some(self.numbers_for_what_is_open()),
                };
                self.ask_what_moves();
            }
            Command::NumbersAsk(asked) => self.numbers = Some(asked),
            other => match self.page {
                Page::Start => {}
                Page::Drill => self.apply_to_drill(other),
                Page::Debrief => self.apply_to_debrief(other),
                Page::Replay => self.apply_to_replay(other),
                Page::Class => self.apply_to_class(other),
                Page::Orders => self.apply_to_orders(other),
                Page::Sheet => match other {
                    Command::Sheet(command) => self.apply_to_sheet(command),
                    // Time passes.
                    Command::Poll => self.revision += 1,
                    _ => {}
                },
                Page::Lesson => self.apply_to_lesson(other),
            },
        }
    }

    /// All numbers, or those that bear on the chosen site.
    fn numbers_for_what_is_open(&self) -> Numbers {
        let about = match (self.page, &self.drill, self.chosen) {
            (Page::Drill, Some(drill), Some(site)) => Some((
                drill.setup().sites[site].label.clone(),
                bearing_on(drill, site, self.settings.acting),
            )),
            _ => None,
        };
        Numbers {
            about,
            ..Numbers::default()
        }
    }

    fn scale(&mut self, by: i32) {
        let to = self.settings.text_scale.saturating_add_signed(by);
        self.settings.text_scale = to.clamp(TEXT_SCALE.0, TEXT_SCALE.1);
    }
}

#[cfg(test)]
pub(super) mod tests;
