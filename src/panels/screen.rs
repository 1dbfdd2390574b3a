//! What a page is drawn from, and what it leaves for the scene.

use bevy_egui::egui::Rect;

use crate::view::{
    AttemptsView, ClassView, DebriefView, Desk, DrillView, LessonPage, NumbersView, OrdersPage, Page,
    ReplayView, SheetView, StartView,
};

use super::marks::Marks;
use super::theme;

/// Everything a page is drawn from.
#[derive(Clone, Debug)]
pub struct Screen {
    /// The page.
    pub page: Page,
    /// The first page, when it is open.
    pub start: Option<StartView>,
    /// The drill screen, when it is open.
    pub drill: Option<DrillView>,
    /// The debrief, when it is open.
    pub debrief: Option<DebriefView>,
    /// The best orders, when that page is open.
    pub orders: Option<OrdersPage>,
    /// Two ways side by side, when that page is open.
    pub class: Option<ClassView>,
    /// The attempt seen again, when that page is open.
    pub replay: Option<ReplayView>,
    /// The page of lessons, when it is open.
    pub lesson: Option<LessonPage>,
    /// True while a lesson is open, whatever page is shown.
    pub teaching: bool,
    /// The page of whoever watches, when it is open.
    pub sheet: Option<SheetView>,
    /// The sheet of numbers, when it is open.
    pub numbers: Option<NumbersView>,
    /// Recorded attempts, when their sheet is open.
    pub attempts: Option<AttemptsView>,
    /// True while the list of keys is open.
    pub help: bool,
    /// Size of type.
    pub scale: theme::Scale,
    /// True to skip all motion.
    pub still: bool,
    /// Tells one attempt, or whatever else is looked at, from the next.
    pub attempt: u64,
}

impl Screen {
    /// What the desk shows now.
    pub fn of(desk: &Desk) -> Screen {
        let page = desk.page();
        let settings = desk.settings();
        Screen {
            page,
            start: (page == Page::Start).then(|| desk.start_view()),
            drill: if page == Page::Drill {
                desk.drill_view()
            } else {
                None
            },
            debrief: if page == Page::Debrief {
                desk.debrief_view()
            } else {
                None
            },
            replay: if page == Page::Replay {
                desk.replay_view()
            } else {
                None
            },
            class: if page == Page::Class {
                desk.class_view()
            } else {
                None
            },
            orders: if page == Page::Orders {
                desk.orders_page()
            } else {
                None
            },
            lesson: desk.lesson_page(),
            teaching: desk.lesson_is_open(),
            sheet: if page == Page::Sheet {
                desk.sheet_view()
            } else {
                None
            },
            numbers: desk.numbers_view(),
            attempts: desk.attempts_view().cloned(),
            help: desk.help(),
            scale: theme::Scale {
                large: settings.large,
                percent: settings.text_scale,
            },
            still: settings.still,
            attempt: desk.attempt(),
        }
    }
}

/// What is left for the scene, and what was pointed at there.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shown {
    /// The part of the page that no panel covers, for the scene to be drawn in; none where there is no scene.
    pub free: Option<Rect>,
}

/// What the scene has to say to the panels.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FromScene {
    /// The name of the site under the cursor.
    pub pointed: Option<String>,
    /// What is drawn over the scene.
    pub marks: Marks,
}
