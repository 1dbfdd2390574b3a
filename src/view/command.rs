//! Everything that can be asked of the desk, and the one list behind menus, keys and tooltips.

use std::path::PathBuf;

use crate::model::{NeededClean, Pace, Side, SiteIndex, Whereabouts};
use crate::record::Id;

use super::class::{Drawn, Guess, Stage};
use super::numbers::Numbers;
use super::playback::Speed;
use super::settings::{ClockSpeed, LampUse, NamedView, Use};
use super::sheet::SheetCommand;

/// The pages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Page {
    /// Choosing.
    #[default]
    Start,
    /// Doing.
    Drill,
    /// Looking back.
    Debrief,
    /// Seeing an attempt again.
    Replay,
    /// Two ways side by side.
    Class,
    /// The best orders for a kit.
    Orders,
    /// What somebody who watches says.
    Sheet,
    /// A lesson, or lessons to choose from.
    Lesson,
}

impl Page {
    /// True for pages that leave room for the scene.
    pub fn shows_scene(self) -> bool {
        matches!(self, Page::Drill | Page::Replay | Page::Class)
    }
}

/// What the middle of the debrief shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Tab {
    /// Why it is where it is.
    #[default]
    Why,
    /// What was done, beside what was asked.
    Steps,
    /// What else could have been done.
    WhatIf,
}

/// Something asked for, by key, pointer, list or test.
#[derive(Clone, Debug, PartialEq)]
#[expect(missing_docs, reason = "the names and the list below say it")]
pub enum Command {
    // first page
    Scenario(usize),
    Sequence(usize),
    Lamp(LampUse),
    Hints(bool),
    Seed(String),
    /// Code of whoever does it; empty for nobody.
    Code(String),
    Ward(String),
    Group(String),
    /// What the next attempt is for.
    Purpose(Use),
    /// Whoever assesses or watches.
    Observer(String),
    /// The mark that assessments pass with, per cent as typed; empty for the usual one.
    PassMark(String),
    /// Whether a cleaning is needed that no marks make up for.
    PassClean(NeededClean, bool),
    /// The rule that assessments pass by is the register's again.
    PassUsual,
    /// Opens an empty sheet for a real person.
    Observe,
    /// Opens a sheet that was left unsigned.
    OpenSheet(Id),
    /// From the debrief back to the sheet.
    ToSheet,
    /// Something on the sheet of whoever watches.
    Sheet(SheetCommand),
    Clock(ClockSpeed),
    Begin,
    // drill
    Choose(SiteIndex),
    Unchoose,
    /// The option of the chosen site with this number. One that is refused leads to what it waits for.
    Option(usize, Pace),
    /// The next thing is done in a hurry, or no longer.
    Hurry,
    /// The last step is undone, as if it had not been done.
    TakeBack,
    SwapHand,
    Acting(Side),
    Walk(Whereabouts),
    GoOn,
    Wait,
    Rub,
    Wash,
    /// Opens the rub panel for a product.
    Clean(String),
    Doses(u32),
    /// Bare forearms are cleaned too, or not.
    Forearms(bool),
    /// So many more drill seconds of rubbing.
    RubFor(f64),
    RubDone,
    HandsFree(bool),
    LampSwitch,
    Peek(bool),
    View(NamedView),
    Mirror,
    /// Names beside what is seen.
    Names,
    /// What the last action moved, from patch to patch.
    Trace,
    Answer(Side),
    LetBe,
    List,
    Dismiss,
    /// What comes next is told, where it may be asked for.
    TellNext,
    /// Ends the drill, or asks first if something is left to do.
    Finish,
    /// Ends it whatever is left to do.
    FinishAnyway,
    /// What was done last has been seen to happen.
    Seen,
    // debrief
    Why(SiteIndex),
    Tab(Tab),
    /// Asks what else could have been done at an action.
    WhatIfStep(usize),
    /// The nth change offered for it.
    WhatIfChange(usize),
    /// Sees the attempt again from the beginning.
    Replay,
    /// Sees an action of it again.
    See(usize),
    // seeing an attempt again
    PlayPause,
    StepOn,
    StepBack,
    /// To the moment after so many actions.
    Scrub(usize),
    Speed(Speed),
    /// So many seconds have passed.
    Tick(f32),
    Back,
    // side by side
    /// Opens the nth duel.
    Duel(usize),
    /// Opens a pair of one's own choosing, by indices among the ways of the chosen scenario.
    OwnPair([usize; 2]),
    /// Opens the page of duels.
    Class,
    ClassStage(Stage),
    Guess(Guess),
    OddsTarget(usize),
    OddsDrawn(Drawn),
    /// The picture fills the window, or no longer.
    Whole,
    /// Looks whether long work is done.
    Poll,
    SavePicture,
    /// Looks for the best orders of the chosen kit.
    Orders,
    /// The same for the nth target.
    OrdersFor(usize),
    /// The same with what the policy does not ask for, or without it again.
    OrdersWide(bool),
    /// Something was told to the person at the screen, such as where a file went.
    Told(String),
    /// Something could not be kept where it should be.
    Trouble(String),
    /// Opens or closes the list of recorded attempts.
    Attempts,
    /// Opens the log of an attempt.
    OpenLog(PathBuf),
    /// Goes on with an attempt that was broken off, by its log.
    TakeUp(PathBuf),
    Again,
    Home,
    // lessons
    /// Opens the page of lessons, or goes back to the lesson that is open.
    Lessons,
    /// Begins the nth lesson.
    Lesson(usize),
    /// So many seconds of the lesson have passed, whatever page is open.
    LessonTick(f64),
    LessonOn,
    LessonBack,
    /// Opens the page that the step is about.
    LessonOpen,
    /// Back to the lesson from a page that it opened.
    ToLesson,
    /// Ends the lesson; what was counted is kept.
    LessonEnd,
    /// So many hands went up for the nth answer.
    Hands(usize, u32),
    /// One more hand for the nth answer.
    OneHand(usize),
    /// Shows the trainer's notes, or no longer.
    Notes,
    // an exercise with lotion and a lamp
    /// The place with this id glows on the person who is entered now, or does not.
    Glow(String),
    NextPerson,
    GlowNowhere,
    UndoPerson,
    /// Lays what was counted beside what the model expects.
    ExerciseCompare,
    // everywhere
    /// Opens or closes the sheet of where the numbers come from.
    Numbers,
    NumbersAsk(Numbers),
    Help,
    Larger,
    Smaller,
    LargeType,
    /// The window fills the screen, or no longer.
    FullScreen,
    Still,
    Leave,
}

/// A key, by the name egui and people use for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    /// Name, such as `R` or `Escape`.
    pub name: &'static str,
    /// True if Ctrl must be held.
    pub ctrl: bool,
}

impl Key {
    const fn plain(name: &'static str) -> Key {
        Key { name, ctrl: false }
    }

    const fn ctrl(name: &'static str) -> Key {
        Key { name, ctrl: true }
    }

    /// As it is written on a key cap.
    pub fn caption(self) -> String {
        let name = match self.name {
            "Escape" => "Esc",
            "Period" => ".",
            "Equals" => "+",
            "Minus" => "-",
            "OpenBracket" => "[",
            "CloseBracket" => "]",
            "ArrowLeft" => "Left",
            "ArrowRight" => "Right",
            other => other,
        };
        if self.ctrl {
            format!("Ctrl {name}")
        } else {
            name.to_owned()
        }
    }
}

/// One line of the list: what it is called, its key, and where it applies.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// What is asked.
    pub command: Command,
    /// Its key.
    pub key: Key,
    /// Caption of its button.
    pub label: &'static str,
    /// A sentence on what it does.
    pub tip: &'static str,
    /// Pages on which it applies.
    pub pages: &'static [Page],
}

const START: &[Page] = &[Page::Start];
const BEGUN: &[Page] = &[Page::Start, Page::Replay];
const DRILL: &[Page] = &[Page::Drill];
const DEBRIEF: &[Page] = &[Page::Debrief];
const CLASS: &[Page] = &[Page::Class];
const SHEET: &[Page] = &[Page::Sheet];
const LESSON: &[Page] = &[Page::Lesson];
const LEFT_LESSON: &[Page] = &[
    Page::Drill,
    Page::Debrief,
    Page::Replay,
    Page::Class,
    Page::Orders,
];
const ONE: &[Page] = &[Page::Drill, Page::Replay];
const PLAYED: &[Page] = &[Page::Replay, Page::Class];
const CLOSED: &[Page] = &[Page::Replay, Page::Class, Page::Orders, Page::Lesson];
const DRAWN: &[Page] = &[Page::Class, Page::Orders, Page::Lesson];
const SCENE: &[Page] = &[Page::Drill, Page::Replay, Page::Class];
const ALL: &[Page] = &[
    Page::Start,
    Page::Drill,
    Page::Debrief,
    Page::Replay,
    Page::Class,
    Page::Orders,
    Page::Sheet,
    Page::Lesson,
];

macro_rules! entries {
    ($($command:expr, $key:expr, $label:literal, $tip:literal, $pages:ident;)*) => {
        &[$(Entry { command: $command, key: $key, label: $label, tip: $tip, pages: $pages }),*]
    };
}

/// The list. Options of a site have the number keys 1 to 9 besides.
pub static ENTRIES: &[Entry] = entries![
    Command::Begin, Key::plain("F9"), "Start", "Begin the drill with these choices", BEGUN;
    Command::Class, Key::plain("F8"), "Side by side", "Show a class two ways side by side, then the odds", START;
    Command::Orders, Key::plain("F7"), "Best order", "Look for the orders that nothing beats, for this kit", START;
    Command::Observe, Key::plain("F10"), "Watch a real person", "In the room and in real kit: tick the steps of somebody who puts it on or takes it off", START;
    Command::Attempts, Key::plain("F6"), "Attempts", "Open an attempt that was recorded", START;
    Command::Lessons, Key::plain("F5"), "Give a lesson", "Teach a class, step by step, or go on with the one that is open", START;
    Command::Purpose(Use::AsSet), Key::ctrl("1"), "Try it", "What for: try it, as set here", START;
    Command::Purpose(Use::Practise), Key::ctrl("2"), "Practise alone", "What for: practise alone, a rung at a time", START;
    Command::Purpose(Use::Assess), Key::ctrl("3"), "Assess somebody", "What for: assess somebody at the screen", START;
    Command::LessonOn, Key::plain("ArrowRight"), "Next step", "To the next step of the lesson", LESSON;
    Command::LessonBack, Key::plain("ArrowLeft"), "Step before", "To the step before; what was counted is kept", LESSON;
    Command::LessonOpen, Key::plain("O"), "Open", "Open what this step shows", LESSON;
    Command::ToLesson, Key::plain("F5"), "Back to the lesson", "While a lesson is open, back to the step it is at", LEFT_LESSON;
    Command::OneHand(0), Key::plain("1"), "First answer", "One more hand for the first answer", LESSON;
    Command::OneHand(1), Key::plain("2"), "Second answer", "One more hand for the second answer", LESSON;
    Command::OneHand(2), Key::plain("3"), "Third answer", "One more hand for the third answer", LESSON;
    Command::OneHand(3), Key::plain("4"), "Fourth answer", "One more hand for the fourth answer", LESSON;
    Command::OneHand(4), Key::plain("5"), "Fifth answer", "One more hand for the fifth answer", LESSON;
    Command::OneHand(5), Key::plain("6"), "Sixth answer", "One more hand for the sixth answer", LESSON;
    Command::Notes, Key::plain("T"), "Notes", "Show the trainer's notes on this screen, or hide them", LESSON;
    Command::NextPerson, Key::plain("N"), "Next person", "In a lamp exercise, enter this person and begin the next", LESSON;
    Command::GlowNowhere, Key::plain("X"), "Nowhere", "In a lamp exercise, this person glowed nowhere", LESSON;
    Command::UndoPerson, Key::ctrl("Z"), "Take back", "In a lamp exercise, take back what is marked, or the last person", LESSON;
    Command::ExerciseCompare, Key::plain("C"), "Compare", "Lay what was counted beside what the model expects", LESSON;
    Command::LessonEnd, Key::ctrl("E"), "End the lesson", "End the lesson and keep its counts", LESSON;
    Command::ClassStage(Stage::Predict), Key::plain("1"), "Ask", "Ask the class before anything is shown", CLASS;
    Command::ClassStage(Stage::Watch), Key::plain("2"), "Watch", "See both taken off in step", CLASS;
    Command::ClassStage(Stage::Odds), Key::plain("3"), "Odds", "Ten thousand repeats of both", CLASS;
    Command::Whole, Key::plain("W"), "Whole window", "Let the picture fill the window, for the back of a room", CLASS;
    Command::SavePicture, Key::plain("S"), "Save the picture", "Write the picture to a file", DRAWN;
    Command::Rub, Key::plain("R"), "Rub", "Rub your hands with what the dispenser gives", DRILL;
    Command::Wash, Key::plain("W"), "Wash", "Wash your hands at the tap", DRILL;
    Command::GoOn, Key::plain("G"), "Go", "Go on towards the corridor", DRILL;
    Command::TellNext, Key::plain("Q"), "What comes next?", "Be told the next step; it counts as help", DRILL;
    Command::Hurry, Key::plain("P"), "In a hurry", "Do the next thing in a hurry: it is quicker and brushes more", DRILL;
    Command::TakeBack, Key::ctrl("Z"), "Take back", "Undo the last step, as if it had not been done; not in an assessment, where the lamp is off until the end", DRILL;
    Command::Wait, Key::plain("Period"), "Wait", "Stand still for five seconds", DRILL;
    Command::Walk(Whereabouts::Inside), Key::plain("I"), "Inside", "Go into the room", DRILL;
    Command::Walk(Whereabouts::Doorway), Key::plain("D"), "Doorway", "Go to the doorway", DRILL;
    Command::Walk(Whereabouts::Outside), Key::plain("O"), "Outside", "Go out to the corridor", DRILL;
    Command::SwapHand, Key::plain("H"), "Other hand", "Let the other hand act where there is a choice", DRILL;
    Command::LampSwitch, Key::plain("L"), "Lamp", "Switch the lamp, or hold to peek", SCENE;
    Command::List, Key::plain("S"), "List", "Everything in reach as a text list", DRILL;
    Command::View(NamedView::Front), Key::plain("F"), "Front", "See the front", SCENE;
    Command::View(NamedView::Back), Key::plain("B"), "Back", "See the back", SCENE;
    Command::View(NamedView::Left), Key::plain("J"), "Left", "See the wearer's left", SCENE;
    Command::View(NamedView::Right), Key::plain("K"), "Right", "See the wearer's right", SCENE;
    Command::View(NamedView::Hands), Key::plain("N"), "Hands", "See the hands close by", SCENE;
    Command::View(NamedView::Face), Key::plain("E"), "Face", "See the face close by", SCENE;
    Command::Mirror, Key::plain("M"), "Mirror", "Show the picture as a mirror would", DRILL;
    Command::Names, Key::plain("V"), "Names", "Write names beside what is seen", ONE;
    Command::Trace, Key::plain("T"), "Trace", "Under the lamp, see what the last action moved from where to where", ONE;
    Command::Answer(Side::Left), Key::plain("Z"), "Answer with your left hand", "What happened is answered with a touch", DRILL;
    Command::Answer(Side::Right), Key::plain("X"), "Answer with your right hand", "What happened is answered with a touch", DRILL;
    Command::LetBe, Key::plain("C"), "Let it be", "What happened is left alone", DRILL;
    Command::Unchoose, Key::plain("Escape"), "Close", "Close what is open", DRILL;
    Command::Finish, Key::plain("F9"), "Finish", "End the drill and look back at it", DRILL;
    Command::Tab(Tab::Why), Key::plain("1"), "Why", "Where it came from, touch by touch", DEBRIEF;
    Command::Tab(Tab::Steps), Key::plain("2"), "What you did", "What was done, beside what was asked", DEBRIEF;
    Command::Tab(Tab::WhatIf), Key::plain("3"), "What if", "What else could have been done, with the same draws of chance", DEBRIEF;
    Command::ToSheet, Key::plain("F8"), "To your page", "Back to the page that you tick and sign", DEBRIEF;
    Command::Replay, Key::plain("R"), "See it again", "Play the attempt again in the scene", DEBRIEF;
    Command::PlayPause, Key::plain("P"), "Play", "Play on, or pause", PLAYED;
    Command::StepBack, Key::plain("ArrowLeft"), "Step back", "To the moment before", PLAYED;
    Command::StepOn, Key::plain("ArrowRight"), "Step on", "See what comes next", PLAYED;
    Command::Back, Key::plain("Escape"), "Close", "Back to where you came from", CLOSED;
    Command::Again, Key::plain("A"), "Try again", "The same scenario with chance drawn anew", DEBRIEF;
    Command::Home, Key::plain("B"), "Back to start", "Choose another scenario", DEBRIEF;
    Command::Sheet(SheetCommand::Sign), Key::plain("F9"), "Sign", "Put your name to it: it is kept and cannot be changed afterwards", SHEET;
    Command::Sheet(SheetCommand::Save), Key::plain("F10"), "Save the report", "Write one page to print, with its figure beside it", SHEET;
    Command::Sheet(SheetCommand::LookBack), Key::plain("F8"), "Look back", "The debrief of the attempt, with the lamp on", SHEET;
    Command::Sheet(SheetCommand::Leave), Key::plain("Escape"), "Leave", "Back to the first page; what is unsigned can be gone on with", SHEET;
    Command::Numbers, Key::plain("F4"), "Sources", "Where the numbers come from", ALL;
    Command::Help, Key::plain("F1"), "Keys", "Every key on this page", ALL;
    Command::Larger, Key::ctrl("Equals"), "Larger text", "Make all text larger", ALL;
    Command::Smaller, Key::ctrl("Minus"), "Smaller text", "Make all text smaller", ALL;
    Command::LargeType, Key::plain("F2"), "Large type", "Type to be read across a room", ALL;
    Command::FullScreen, Key::plain("F11"), "Full screen", "Let the window fill the screen, or no longer", ALL;
    Command::Still, Key::plain("F3"), "No motion", "Skip all motion", ALL;
    Command::Leave, Key::ctrl("Q"), "Leave", "Close smirch", ALL;
];

/// The entry of a command, if it has one.
pub fn entry(command: &Command) -> Option<&'static Entry> {
    ENTRIES.iter().find(|e| e.command == *command)
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn no_two_commands_of_a_page_share_a_key() {
        for page in ALL {
            let mut seen = HashSet::new();
            for entry in ENTRIES.iter().filter(|e| e.pages.contains(page)) {
                assert!(seen.insert(entry.key), "{page:?}: {:?} is taken twice", entry.key);
            }
        }
    }

    #[test]
    fn captions_are_short_sentences_without_a_full_stop() {
        for entry in ENTRIES {
            for text in [entry.label, entry.tip] {
                assert!(!text.ends_with('.'), "`{text}` ends in a full stop");
                let title_case = text
                    .split(' ')
                    .skip(1)
                    .any(|w| w.chars().next().is_some_and(char::is_uppercase));
                assert!(!title_case, "`{text}` is in title case");
            }
        }
    }
}
