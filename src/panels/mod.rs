//! Panels: egui only. Functions that draw a view and append the commands that were asked for.
//!
//! Nothing here knows Bevy or the drill. [`show`] draws a whole page, and so runs the same in the window and in tests.

mod attempts;
mod body;
pub mod callouts;
mod class;
mod debrief;
mod drawing;
mod drill;
mod finish;
mod focus;
mod help;
pub mod hold;
mod keys;
pub mod marks;
mod now;
mod numbers;
mod options;
mod orders;
mod overlay;
mod replay;
mod rub;
mod scroll;
mod side;
mod start;
pub mod theme;
mod top;
mod what_if;
mod why;
mod widgets;

pub use keys::egui_key;
pub use marks::Marks;

use bevy_egui::egui::{Context, Id, Rect, Ui};

use crate::view::{
    AttemptsView, ClassView, Command, DebriefView, Desk, DrillView, NumbersView, OrdersPage, Page,
    ReplayView, StartView,
};

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

/// Draws the page and appends what was asked for.
pub fn show(ui: &mut Ui, screen: &Screen, scene: &FromScene, out: &mut Vec<Command>) -> Shown {
    let lamp = screen.drill.as_ref().is_some_and(|d| d.lamp)
        || screen.replay.as_ref().is_some_and(|r| r.lamp)
        || screen.class.as_ref().is_some_and(|c| c.lamp);
    if !theme::ready(ui, screen.scale, lamp) {
        return Shown::default();
    }
    let sideways = !matches!(screen.page, Page::Replay | Page::Class);
    focus::begin(ui.ctx(), screen.attempt * 16 + screen.page as u64, sideways);
    keys::read(ui.ctx(), screen, out);
    let mut shown = Shown::default();
    match screen.page {
        Page::Start => {
            if let Some(view) = &screen.start {
                start::page(ui, view, out);
            }
        }
        Page::Drill => {
            if let Some(view) = &screen.drill {
                shown.free = Some(drill::page(ui, view, scene, out));
            }
        }
        Page::Debrief => {
            if let Some(view) = &screen.debrief {
                debrief::page(ui, view, screen.attempt, out);
            }
        }
        Page::Orders => {
            if let Some(view) = &screen.orders {
                orders::page(ui, view, out);
            }
        }
        Page::Class => {
            if let Some(view) = &screen.class {
                shown.free = class::page(ui, view, out);
            }
        }
        Page::Replay => {
            if let Some(view) = &screen.replay {
                shown.free = Some(replay::page(ui, view, screen.attempt, scene, out));
            }
        }
    }
    if let Some(view) = &screen.numbers {
        numbers::sheet(ui.ctx(), view, out);
    }
    if let Some(view) = &screen.attempts {
        attempts::sheet(ui.ctx(), view, out);
    }
    if screen.help {
        help::sheet(ui.ctx(), screen.page, out);
    }
    focus::end(ui.ctx(), ui.layer_id());
    shown
}

/// True if what is drawn under this name was not drawn in the frame before.
fn just_opened(ctx: &Context, name: &'static str) -> bool {
    let id = memory(name);
    let now = ctx.cumulative_pass_nr();
    let before: Option<u64> = ctx.data(|d| d.get_temp(id));
    ctx.data_mut(|d| d.insert_temp(id, now));
    before.is_none_or(|before| before + 1 < now)
}

/// Id under which a thing of ours is remembered between frames.
fn memory(name: &'static str) -> Id {
    Id::new(("smirch", name))
}
