//! All that a person at the screen has open, and what each command does to it.

use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::content::Content;
use crate::drill::Drill;
use crate::model::{Pace, Sequence, Setup, SiteIndex};
use crate::outside::clock;
use crate::outside::files::is_growing;
use crate::record::{Id, Purpose, Replay, RungTerms, Terms, newest};
use crate::register::{Entry, Moment};
use crate::report::Drawing;

use super::attempts::{AttemptRow, AttemptsView, attempts_view, row};
use super::class::{Class, ClassView};
use super::command::{Command, Page, Tab};
use super::debrief::{Asked, DebriefView, debrief_view};
use super::drilling::{DrillView, Looking, Sight, drill_view};
use super::lesson::OpenLesson;
use super::numbers::{Numbers, NumbersView, bearing_on, numbers_view};
use super::playback::Playback;
use super::practice::Practice;
use super::remembered::Remembered;
use super::replaying::{ReplayView, replay_view};
use super::rub::Rub;
use super::searching::Search;
use super::settings::{LampUse, NamedView, Settings, TEXT_SCALE, Use};
use super::sheet::Sheet;
use super::stage::{Stage, Who};
use super::stage_of;
use super::start::{StartView, sequence_ids, start_view};
use super::sure::Sure;
use super::trace::{Flown, trace};
use super::what_if::WhatIfAsked;
use super::words::sentence;

mod class;
mod drilling;
mod lesson;
mod look_back;
mod orders;
mod practice;
mod sheet;

/// Someone who is told of every step of a drill, such as a log.
pub trait Watch: Send + Sync {
    /// A drill has begun, under these terms.
    fn began(&mut self, _drill: &Drill, _terms: &Terms) {}
    /// A drill that was broken off goes on where its log stands.
    fn resumed(&mut self, _log: &Path, _replay: &Replay) {}
    /// An action was done; it is the drill's last.
    fn acted(&mut self, _drill: &Drill) {}
    /// The action that was done last was taken back: the drill is as it was before.
    fn took_back(&mut self, _drill: &Drill) {}
    /// The next step was told on request.
    fn told(&mut self, _step: &str) {}
    /// The drill is over.
    fn ended(&mut self, _drill: &Drill) {}
    /// A sheet that is not signed yet stands like this now.
    fn drafted(&mut self, _entry: &Entry) {}
    /// A sheet that was left unsigned is to be gone on with; false if somebody else does so just now.
    fn opens(&mut self, _sheet: Id) -> bool {
        true
    }
    /// The sheet that was open is put away, signed or not.
    fn puts_away(&mut self) {}
    /// A sheet is not to be gone on with: nobody wants it, or it was signed and is kept nowhere.
    fn discarded(&mut self, _sheet: Id) {}
    /// A sheet that was signed is to be kept for good and is no draft any more. Whoever keeps it says where, or why not; nothing from those who keep nothing.
    fn keeps(&mut self, _entry: &Entry) -> Option<Result<String, String>> {
        None
    }
    /// A lesson is being given: what would be kept of it if it were over now.
    fn teaching(&mut self, _so_far: &[Entry]) {}
    /// A lesson is over: what is to be kept of it.
    fn taught(&mut self, _entries: &[Entry]) {}
}

/// Something the scene should do about the last command, besides showing the new stage.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// The last thing done in what is shown is carried out by a person's hands.
    Perform(Who),
    /// The camera goes to a named view.
    View(NamedView),
    /// Hands are being cleaned with this product until they are told to stop, seen from close by.
    Rub(String),
    /// They stop, and the camera goes back.
    RubOver,
    /// A picture is written, as SVG and PNG, under this name without its ending.
    Save(String, Drawing),
    /// A report is written as a page, with its figure as SVG and PNG beside it, under this name without its ending.
    SaveReport(String, String, Drawing),
    /// The window fills the screen, or no longer.
    FullScreen,
    /// The window closes.
    Leave,
}

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

/// The number that chance is drawn from in an assessment, unless another was typed: the same start for everybody.
pub const ASSESSMENT_SEED: u64 = 1;

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

    /// Looks whether the attempt that was written last was left unfinished.
    fn look_for_unfinished(&mut self) {
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

    /// The first page.
    pub fn start_view(&self) -> StartView {
        StartView {
            kept: self.register.as_ref().map(|folder| folder.display().to_string()),
            unfinished: self.unfinished.clone(),
            left_sheets: self.left_sheets.clone(),
            ladder: self.ladder_view(),
            ..start_view(&self.content, &self.settings, self.refusal.as_deref())
        }
    }

    /// The drill screen, if a drill is there.
    pub fn drill_view(&self) -> Option<DrillView> {
        let (drill, sequence) = (self.drill.as_ref()?, self.sequence()?);
        Some(drill_view(
            drill,
            Looking {
                sequence,
                settings: &self.settings,
                lamp: self.lamp,
                chosen: self.chosen,
                prompt: self.prompt(),
                refusal: self.refusal.as_ref(),
                rub: self.rub.as_ref(),
                list: self.list,
                sight: self.sight.as_ref(),
                pace: self.pace,
                asking: self.asking,
                taken_back: self.taken_back.as_ref(),
                assessed: self.assessed(),
                tells: self.tells(),
                can_ask: self.terms.rung.as_ref().is_some_and(|rung| rung.asks),
                takes_back: self.takes_back(),
            },
        ))
    }

    /// The debrief, if a drill is there.
    pub fn debrief_view(&self) -> Option<DebriefView> {
        let asked = Asked {
            why: self.asked_why,
            what_if: self.asked_what_if,
            tab: self.tab,
        };
        Some(DebriefView {
            sure: self.sure().map(Sure::view),
            goes: self.goes_view(),
            kept: self.kept_words(),
            assessed: self.sheet.is_some(),
            ..debrief_view(self.drill.as_ref()?, self.sequence()?, asked)
        })
    }

    /// How sure the model is of the attempt that is looked back on, if that was asked.
    fn sure(&self) -> Option<&Sure> {
        let of_this = self.sure.as_ref().filter(|(attempt, _)| *attempt == self.attempt);
        of_this.map(|(_, sure)| sure)
    }

    /// The attempt that is seen again, if one is.
    pub fn playback(&self) -> Option<&Playback> {
        self.playback.as_ref()
    }

    /// Its controls.
    pub fn replay_view(&self) -> Option<ReplayView> {
        let playback = self.playback.as_ref()?;
        let sight = self.sight.as_ref();
        Some(ReplayView {
            why: self.why_shown(),
            shows_how: self.shows_how(),
            ..replay_view(playback, &self.settings, self.lamp, &self.notes, sight)
        })
    }

    /// Two ways side by side, if they are open.
    pub fn class_view(&self) -> Option<ClassView> {
        let class = self.class.as_ref()?;
        let mut view = ClassView {
            told: self.told.clone(),
            own: Some(self.own_pair(class.duel() == super::class::OWN)),
            lamp: self.lamp && class.stage() != super::class::Stage::Odds,
            ..class.view(&self.content)
        };
        if let (Some(odds), Some(hands)) = (&mut view.odds, self.hands_beside(class)) {
            odds.guess = Some(hands);
        }
        Some(view)
    }

    /// True while long work goes on whose end should be looked for.
    pub fn working(&self) -> bool {
        self.class.as_ref().is_some_and(Class::working)
            || self.search.as_ref().is_some_and(Search::working)
            || self.practice.working()
            || self.lesson_works()
            || self.sure.as_ref().is_some_and(|(_, sure)| sure.working())
    }

    /// The sheet of numbers, if it is open.
    pub fn numbers_view(&self) -> Option<NumbersView> {
        let asked = self.numbers.as_ref()?;
        let hangs = match self.page {
            Page::Debrief => self.sure().map(|sure| sure.hangs(&self.content.library)),
            Page::Class => self.class.as_ref().map(Class::hangs),
            _ => None,
        };
        Some(NumbersView {
            hangs: hangs.unwrap_or_default(),
            ..numbers_view(&self.content.library, asked)
        })
    }

    /// The drill that the scene shows of a person: the one under way, the one seen again, or either of two.
    pub fn shown(&self, who: Who) -> Option<&Drill> {
        match (self.page, who) {
            (Page::Class, _) => self.class.as_ref().map(|class| class.drills()[who as usize]),
            (_, Who::Second) => None,
            (Page::Replay, _) => self.playback.as_ref().map(Playback::now),
            _ => self.drill.as_ref(),
        }
    }

    /// The picture of a person for the scene, if there is one.
    pub fn stage(&self, who: Who) -> Option<Stage> {
        let shows = match self.page {
            Page::Class => self.class.as_ref().and_then(Class::holds_out),
            _ => None,
        };
        self.shown(who).map(|drill| Stage {
            shows,
            ..stage_of(drill, self.lamp())
        })
    }

    /// What to draw over the scene besides: nothing that the lamp would not show.
    pub fn traced(&self) -> Vec<Flown> {
        let one = matches!(self.page, Page::Drill | Page::Replay);
        match self.shown(Who::First) {
            Some(drill) if one && self.settings.trace && self.lamp() => trace(drill),
            _ => Vec::new(),
        }
    }

    /// True if names are wanted beside what is seen.
    pub fn named(&self) -> bool {
        self.settings.names && matches!(self.page, Page::Drill | Page::Replay)
    }

    /// Name of a site of the drill, for the tooltip.
    pub fn site_label(&self, site: SiteIndex) -> Option<String> {
        let site = self.drill.as_ref()?.setup().sites.get(site)?;
        Some(sentence(&site.label))
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
            Command::Numbers => {
                self.numbers = match self.numbers {
                    Some(_) => None,
                    None => Some(self.numbers_for_what_is_open()),
                }
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

    /// The first page, with what was set on it.
    fn go_home(&mut self) {
        self.page = Page::Start;
        self.drill = None;
        self.restore();
        self.look_for_unfinished();
    }

    /// Puts back what was set before an attempt with terms of its own.
    fn restore(&mut self) {
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
    fn takes_back(&self) -> bool {
        match &self.terms.rung {
            Some(rung) => rung.takes_back,
            None => self.settings.takes_back(),
        }
    }

    /// What is worth remembering: terms that an attempt brought with it are not.
    pub fn settings_to_keep(&self) -> &Settings {
        self.before_terms.as_ref().unwrap_or(&self.settings)
    }

    fn begin(&mut self) {
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
    fn do_from_here(&mut self, drill: Drill) {
        self.unfinished = None;
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

#[cfg(test)]
pub(super) mod tests;
