//! The window: plugin wiring, states, the bridge between the desk and the scene, the egui host, pictures.
//!
//! The Bevy world never holds the truth. One [`TheDesk`] resource does: panels give it commands, and after each the
//! bridge shows the scene what has changed.

#[cfg(test)]
mod answers;
pub mod caption;
pub mod machine;
pub mod memory;
pub mod picture;
pub mod strip;

mod bridge;
mod engine;
mod host;
mod marks;
mod over;
pub mod perform;
mod save;
mod the_desk;

pub use the_desk::TheDesk;
use the_desk::Troubles;

use std::path::PathBuf;
use std::time::UNIX_EPOCH;

use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::window::{MonitorSelection, WindowMode, WindowResizeConstraints};
use bevy::winit::WinitSettings;
use bevy_egui::EguiPlugin;

use self::memory::Kept;
use self::save::PictureFolder;
use crate::content::Content;
use crate::outside::clock;
use crate::register::Station;
use crate::scene::ScenePlugin;
use crate::view::LogWatch;
use crate::view::{Command, Desk, Watch};

/// How the window is opened.
pub struct AppOptions {
    /// What drills are made from.
    pub content: Content,
    /// Folder into which each drill's log is written; none for no logs.
    pub logs: Option<PathBuf>,
    /// Where results of attempts are kept; only with logs, which they are made from.
    pub station: Option<Station>,
    /// Others who are told of every step.
    pub watch: Vec<Box<dyn Watch>>,
    /// Commands given before the first frame, such as to open a drill at once.
    pub first: Vec<Command>,
    /// What was set the last time, and where it is kept.
    pub kept: Kept,
}

impl AppOptions {
    /// The usual window for this content.
    pub fn new(content: Content) -> AppOptions {
        AppOptions {
            content,
            logs: None,
            station: None,
            watch: Vec::new(),
            first: Vec::new(),
            kept: Kept::default(),
        }
    }
}

/// Opens the usual window and returns when it is closed.
///
/// # Errors
/// Why the window could not be opened or closed in good order.
pub fn run(content: Content) -> Result<(), String> {
    run_with(AppOptions::new(content))
}

/// Opens the window with options and returns when it is closed.
///
/// # Errors
/// Why the window could not be opened or closed in good order.
pub fn run_with(options: AppOptions) -> Result<(), String> {
    match window(options).run() {
        AppExit::Success => Ok(()),
        AppExit::Error(code) => Err(format!("the window closed with error {code}")),
    }
}

/// The window with all that belongs to it, not yet opened.
pub fn window(options: AppOptions) -> App {
    crate::scene::begin();
    let mut app = App::new();
    let window = Window {
        title: "smirch".to_owned(),
        name: Some("smirch".to_owned()),
        resolution: options.kept.remembered.size().into(),
        mode: match options.kept.remembered.full_screen {
            true => WindowMode::BorderlessFullscreen(MonitorSelection::Current),
            false => WindowMode::Windowed,
        },
        resize_constraints: WindowResizeConstraints {
            min_width: 1024.0,
            min_height: 640.0,
            ..default()
        },
        ..default()
    };
    let plugins = DefaultPlugins
        .set(WindowPlugin {
            primary_window: Some(window),
            ..default()
        })
        .set(RenderPlugin {
            // What is drawn for the first time, such as by lamplight, would else be missing for some frames.
            synchronous_pipeline_compilation: true,
            render_creation: engine::settings().into(),
            ..default()
        })
        .set(LogPlugin {
            // A person at the screen can do nothing about what renderers say of themselves.
            filter: "error,smirch=info".to_owned(),
            ..default()
        });
    app.add_plugins(engine::lean(plugins))
        .add_plugins(EguiPlugin::default())
        .insert_resource(WinitSettings::desktop_app())
        .add_plugins((DeskPlugin, ScenePlugin));
    let pictures = options.logs.as_deref().and_then(crate::report::saved_beside);
    app.insert_resource(pictures.map(PictureFolder).unwrap_or_default());
    app.add_plugins(memory::MemoryPlugin(options.kept.clone()));
    let troubles = Troubles::default();
    app.insert_resource(troubles.clone());
    app.insert_resource(TheDesk(desk(options, troubles)));
    app
}

/// A desk as the options want it.
fn desk(options: AppOptions, troubles: Troubles) -> Desk {
    let mut desk = Desk::new(options.content.clone(), fresh_seed);
    desk.recall(&options.kept.remembered);
    if let Some(folder) = options.logs {
        desk.recorded_in(folder.clone());
        if let Some(station) = &options.station {
            desk.kept_in(station.register().folder().to_owned());
            if let Some(name) = station.name() {
                desk.called(name.as_str().to_owned());
            }
        }
        desk.watched_by(Box::new(LogWatch::new(
            folder,
            options.content,
            options.station,
            move |told| {
                warn!("{told}");
                troubles.put(told);
            },
        )));
    }
    for watch in options.watch {
        desk.watched_by(watch);
    }
    desk.moved_by_a_scene();
    for command in options.first {
        desk.apply(command);
    }
    if let Some(notice) = options.kept.notice {
        desk.notice(notice);
    }
    desk
}

/// Luck from the clock, short enough to be written down and typed again.
fn fresh_seed() -> u64 {
    let since = clock::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    since.subsec_nanos().wrapping_mul(0x9E37_79B9).rotate_left(13) as u64 % 1_000_000
}

/// Panels and bridge around a [`TheDesk`] resource.
pub struct DeskPlugin;

impl Plugin for DeskPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins((
            host::HostPlugin,
            over::OverPlugin,
            bridge::BridgePlugin,
            marks::MarksPlugin,
        ));
    }
}
