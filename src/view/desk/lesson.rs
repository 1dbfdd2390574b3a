//! What commands do while a lesson is given. It stays open while a page that it opened is shown, until it is ended.

use super::super::class::{Class, Stage};
use super::super::command::{Command, Page};
use super::super::exercise::LampExercise;
use super::super::lesson::{LessonCard, LessonPage, OpenLesson, Teaching, lamp_of};
use super::super::start::sequence_ids;
use super::super::words::sentence;
use super::Desk;
use crate::analysis::Target;
use crate::model::{LessonKind, LessonLamp, LessonTarget};
use crate::record::Label;
use crate::register::Moment;

impl Desk {
    /// True while a lesson is open, so that there is a way back to it from every page.
    pub fn lesson_is_open(&self) -> bool {
        self.lesson.is_some()
    }

    /// The page of lessons, while it is the page.
    pub fn lesson_page(&self) -> Option<LessonPage> {
        let library = &self.content.library;
        let open = self.lesson.as_ref();
        let on = open.map(|open| open.teaching.lesson().id.as_str());
        (self.page == Page::Lesson).then(|| LessonPage {
            lessons: library
                .lessons
                .iter()
                .map(|lesson| LessonCard {
                    label: lesson.label.clone(),
                    minutes: lesson.minutes,
                    audience: lesson.audience.clone(),
                    on: on == Some(&lesson.id),
                })
                .collect(),
            lesson: open.map(|open| open.teaching.view(library)),
            told: self.told.clone(),
            refusal: self.refusal.clone(),
        })
    }

    /// Opens the page of lessons, or goes back to the lesson that is open.
    pub(super) fn open_lessons(&mut self) {
        if self.content.library.lessons.is_empty() {
            self.refusal = Some("There is no lesson to give: the content holds none".to_owned());
            return;
        }
        self.told = None;
        self.page = Page::Lesson;
    }

    /// Begins a lesson; one that is open is ended first.
    pub(super) fn begin_lesson(&mut self, index: usize) {
        let Some(lesson) = self.content.library.lessons.get(index).cloned() else {
            return;
        };
        if lesson.steps.is_empty() {
            return;
        }
        self.end_lesson();
        self.told = None;
        self.lesson = Some(OpenLesson::begin(
            Teaching::begin(lesson, Moment::now()),
            (self.settings.scenario, self.settings.sequence, self.settings.lamp),
        ));
        self.class = None;
        self.page = Page::Lesson;
        self.arrive();
    }

    /// Ends the lesson and has kept what was counted in it.
    pub(super) fn end_lesson(&mut self) {
        let Some(mut open) = self.lesson.take() else {
            return;
        };
        (self.settings.scenario, self.settings.sequence, self.settings.lamp) = open.before;
        let ward = Label::new(&self.settings.ward, "a ward").ok();
        let entries = open.entries(ward.as_ref());
        for watch in &mut self.watch {
            watch.taught(&entries);
        }
        if !entries.is_empty() && self.register.is_some() {
            self.told = Some("The lesson is over; its counts are kept, without names".to_owned());
        }
    }

    /// Back to the lesson from a page that it opened, or from wherever one has come to meanwhile.
    pub(super) fn back_to_lesson(&mut self) {
        let page = self.page;
        let Some(open) = &mut self.lesson else { return };
        if page != Page::Lesson {
            open.left = Some((open.teaching.at(), page));
            if let Some(class) = self.class.as_mut().filter(|class| class.playing()) {
                class.play_or_pause();
            }
            self.told = None;
            self.help = false;
            self.page = Page::Lesson;
        }
    }

    /// Lets the time of a lesson pass, whatever page is open.
    pub(super) fn lesson_tick(&mut self, seconds: f64) {
        if let Some(open) = &mut self.lesson {
            let told = open.teaching.tick(seconds) && self.page == Page::Lesson;
            self.revision += u64::from(told);
        }
    }

    /// Tells the lesson what the odds on the page of two ways say, once they are there.
    pub(super) fn lesson_hears(&mut self) {
        if let (Some(open), Some(class)) = (&mut self.lesson, &self.class) {
            open.teaching.hear(class.duel(), |target| class.verdicts(target));
        }
    }

    /// Hands of the lesson beside the odds that are shown, if they were counted for them.
    pub(super) fn hands_beside(&self, class: &Class) -> Option<String> {
        let open = self.lesson.as_ref()?;
        let results = open.teaching.results_for(class.duel(), class.target());
        (!results.is_empty()).then(|| results.join(". "))
    }

    /// True while the lesson works something out.
    pub(super) fn lesson_works(&self) -> bool {
        self.lesson.as_ref().is_some_and(|open| open.teaching.working())
    }

    /// Fetches what was worked out for the lesson, whatever page is open: a trainer goes on while something is counted.
    pub(super) fn lesson_polls(&mut self) {
        let Some(open) = &mut self.lesson else { return };
        let found = open.teaching.poll();
        let heard = self.class.as_mut().is_some_and(Class::poll);
        if heard {
            self.lesson_hears();
        }
        // How far it is is told on the page of the lesson.
        let counting = self.page == Page::Lesson && self.working();
        self.revision += u64::from(found || heard || counting);
    }

    /// True while the drill at the desk is one that a lesson opened.
    pub(super) fn drill_is_of_lesson(&self) -> bool {
        self.lesson.as_ref().is_some_and(|open| open.drilling)
    }

    /// The drill that comes next is begun on the first page and belongs to no lesson.
    pub(super) fn lesson_lets_go(&mut self) {
        if let Some(open) = &mut self.lesson {
            open.drilling = false;
        }
    }

    /// What was counted is written down as it stands, if it has changed.
    fn write_lesson_down(&mut self) {
        let ward = Label::new(&self.settings.ward, "a ward").ok();
        let news = self.lesson.as_mut().and_then(|open| open.news(ward.as_ref()));
        for watch in &mut self.watch {
            if let Some(entries) = &news {
                watch.teaching(entries);
            }
        }
    }

    /// Makes ready what the step is about.
    fn arrive(&mut self) {
        let Some(open) = &mut self.lesson else { return };
        open.left = None;
        let Some(which) = open.teaching.wants_exercise() else {
            return;
        };
        let lesson = open.teaching.named();
        match LampExercise::begin(&self.content.library, which, Moment::now(), Some(lesson)) {
            Ok(exercise) => open.teaching.begin_exercise(exercise),
            Err(why) => self.refusal = Some(sentence(&why)),
        }
    }

    pub(super) fn apply_to_lesson(&mut self, command: Command) {
        self.do_in_lesson(command);
        self.write_lesson_down();
    }

    fn do_in_lesson(&mut self, command: Command) {
        if command == Command::Back {
            // The lesson stays open, so that a key pressed by mistake costs nothing.
            self.page = Page::Start;
            return;
        }
        let Some(open) = &mut self.lesson else { return };
        let teaching = &mut open.teaching;
        match command {
            Command::LessonOn => {
                teaching.on();
                self.arrive();
            }
            Command::LessonBack => {
                teaching.back();
                self.arrive();
            }
            Command::Hands(answer, hands) => teaching.count(answer, hands),
            Command::OneHand(answer) => teaching.one_more(answer),
            Command::Notes => teaching.switch_notes(),
            Command::LessonEnd => self.end_lesson(),
            Command::LessonOpen => self.open_step(),
            Command::SavePicture => {
                let picture = teaching.exercise().and_then(|e| e.view().picture);
                if let Some(picture) = picture {
                    self.effects
                        .push(super::Effect::Save("smirch-lamp-exercise".to_owned(), picture));
                }
            }
            other => {
                let Some(exercise) = teaching.exercise() else {
                    return;
                };
                match other {
                    Command::Glow(place) => exercise.glow(&place),
                    Command::NextPerson => exercise.next_person(),
                    Command::GlowNowhere => exercise.nowhere(),
                    Command::UndoPerson => exercise.undo(),
                    Command::ExerciseCompare => exercise.compare(),
                    _ => {}
                }
            }
        }
    }

    /// Opens the page that the step is about: where it was left, if it was open before.
    fn open_step(&mut self) {
        let Some(open) = &self.lesson else { return };
        let (at, left) = (open.teaching.at(), open.left);
        let kind = open.teaching.step().kind.clone();
        let again = left.filter(|(step, _)| *step == at).map(|(_, page)| page);
        match kind {
            LessonKind::Watch(duel) => {
                if self.open_lesson_duel(&duel)
                    && let Some(class) = &mut self.class
                    && (class.stage() != Stage::Watch || again.is_none())
                {
                    class.ask();
                    class.watch();
                }
            }
            LessonKind::Odds { duel, target } => {
                if self.open_lesson_duel(&duel)
                    && let Some(class) = &mut self.class
                {
                    class.reveal(&self.content);
                    class.set_target(place_of(target));
                    self.lesson_hears();
                }
            }
            LessonKind::Try {
                scenario,
                sequence,
                lamp,
                ..
            } => match again {
                Some(page @ (Page::Drill | Page::Debrief)) if self.drill.is_some() => self.page = page,
                _ => self.open_lesson_drill(&scenario, &sequence, lamp),
            },
            _ => {}
        }
    }

    /// Opens a pair by its id, where it stands if it is open already; true if it is open then.
    fn open_lesson_duel(&mut self, id: &str) -> bool {
        let library = self.content.library.clone();
        if self.class.as_ref().is_some_and(|class| class.duel() == id) {
            self.lamp = true;
            self.page = Page::Class;
        } else if let Some(duel) = library.duel(id) {
            self.begin_duel(duel);
        }
        self.page == Page::Class
    }

    /// Begins a drill of the lesson.
    fn open_lesson_drill(&mut self, scenario: &str, sequence: &str, lamp: LessonLamp) {
        let library = self.content.library.clone();
        let Some(index) = library.scenarios.iter().position(|s| s.id == scenario) else {
            return;
        };
        let ids = sequence_ids(&library.scenarios[index]);
        self.settings.scenario = index;
        self.settings.sequence = ids.iter().position(|id| id == sequence).unwrap_or(0);
        self.settings.lamp = lamp_of(lamp);
        if let Some(open) = &mut self.lesson {
            open.drilling = true;
        }
        self.begin();
        if self.page == Page::Start {
            // Something that was typed there keeps it from beginning, and is said there.
            self.page = Page::Lesson;
        }
    }
}

/// The place of what odds are told of.
fn place_of(target: LessonTarget) -> usize {
    let wanted = Target::of_word(target.word());
    super::super::class::TARGETS
        .iter()
        .position(|target| Some(*target) == wanted)
        .unwrap_or(0)
}

impl Drop for Desk {
    /// What was counted in a lesson is kept when the window closes too.
    fn drop(&mut self) {
        self.end_lesson();
    }
}
