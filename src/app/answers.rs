//! How the window answers: frames from a key to what it asks for, and clicks after a rest, in a window that nobody sees.

use std::time::Duration;

use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyboardInput};
use bevy::input::mouse::MouseButtonInput;
use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::time::TimeUpdateStrategy;
use bevy::window::{CursorMoved, ExitCondition, PrimaryWindow, WindowEvent};
use bevy::winit::WinitPlugin;
use bevy_egui::EguiPlugin;

use super::{DeskPlugin, TheDesk, bridge, engine, machine, marks};
use crate::content::Content;
use crate::scene::{ScenePlugin, SceneRect, StageView};
use crate::view::{Command, Desk, LampUse, Page};

/// Frames after the one that hears the key by which it must have been answered.
const SOON: usize = 2;

/// The window without a screen, after some commands; none where nothing can be drawn.
fn unseen(commands: impl IntoIterator<Item = Command>) -> Option<App> {
    if !machine::adapter() {
        let required = crate::outside::machine::variable("SMIRCH_PICTURES").is_some_and(|v| v == "required");
        assert!(
            !required,
            "SMIRCH_PICTURES=required, but there is no graphics driver"
        );
        return None;
    }
    crate::scene::begin();
    let window = Window {
        resolution: (1280, 720).into(),
        ..default()
    };
    let plugins = DefaultPlugins
        .set(WindowPlugin {
            primary_window: Some(window),
            exit_condition: ExitCondition::DontExit,
            ..default()
        })
        .set(RenderPlugin {
            synchronous_pipeline_compilation: true,
            render_creation: engine::settings().into(),
            ..default()
        })
        .disable::<WinitPlugin>()
        .disable::<PipelinedRenderingPlugin>()
        .disable::<LogPlugin>();
    let content = Content::builtin().unwrap_or_else(|e| panic!("{e}"));
    let mut desk = Desk::new(content, || 7);
    desk.moved_by_a_scene();
    for command in commands {
        desk.apply(command);
    }
    let mut app = App::new();
    app.add_plugins(engine::lean(plugins))
        .add_plugins(EguiPlugin::default())
        .add_plugins((DeskPlugin, ScenePlugin))
        .insert_resource(TheDesk(desk));
    app.finish();
    app.cleanup();
    Some(app)
}

/// The only window.
fn only_window(app: &mut App) -> Entity {
    let mut windows = app.world_mut().query_filtered::<Entity, With<PrimaryWindow>>();
    windows.single(app.world()).expect("there is a window")
}

/// A key goes down or up.
fn key(app: &mut App, code: KeyCode, letter: &str, state: ButtonState) {
    let window = only_window(app);
    app.world_mut().write_message(KeyboardInput {
        key_code: code,
        logical_key: Key::Character(letter.into()),
        state,
        text: None,
        repeat: false,
        window,
    });
}

/// Frames drawn after the one that hears it until something is so.
fn frames_until(app: &mut App, so: impl Fn(&App) -> bool) -> usize {
    app.update();
    for frame in 0..20 {
        if so(app) {
            return frame;
        }
        app.update();
    }
    panic!("not within 20 frames");
}

#[test]
fn names_and_lamp_answer_within_two_frames() {
    let Some(mut app) = unseen([Command::Lamp(LampUse::Peek), Command::Begin]) else {
        return;
    };
    let rests = (0..200).any(|_| {
        app.update();
        bridge::at_rest(app.world()) && app.world().resource::<SceneRect>().physical.is_some()
    });
    assert!(rests, "it never came to rest");
    let lit = |app: &App| app.world().resource::<StageView>().0.lamp;
    let named = |app: &App| !marks::placed(app.world()).names.is_empty();
    assert!(!lit(&app) && !named(&app));

    key(&mut app, KeyCode::KeyL, "l", ButtonState::Pressed);
    let on = frames_until(&mut app, lit);
    key(&mut app, KeyCode::KeyL, "l", ButtonState::Released);
    let off = frames_until(&mut app, |app| !lit(app));
    key(&mut app, KeyCode::KeyV, "v", ButtonState::Pressed);
    let names = frames_until(&mut app, named);
    key(&mut app, KeyCode::KeyV, "v", ButtonState::Released);
    println!("frames: lamp on {on}, off {off}, names {names}");
    assert!(on <= SOON, "the lamp shines after {on} frames");
    assert!(off <= SOON, "the lamp is off after {off} frames");
    assert!(names <= SOON, "names are there after {names} frames");
}

/// The engine's clock may leap between the frames in which a button goes down and up.
#[test]
fn a_click_counts_however_long_the_window_has_rested_before_it() {
    let Some(mut app) = unseen([]) else { return };
    for _ in 0..5 {
        app.update();
    }
    assert_eq!(app.world().resource::<TheDesk>().0.page(), Page::Start);
    let window = only_window(&mut app);
    // On the button that starts the drill, at the left foot of the page.
    let position = Vec2::new(60.0, 652.0);
    app.world_mut()
        .write_message(WindowEvent::CursorMoved(CursorMoved {
            window,
            position,
            delta: None,
        }));
    app.update();
    app.insert_resource(TimeUpdateStrategy::ManualDuration(Duration::from_secs(5)));
    for state in [ButtonState::Pressed, ButtonState::Released] {
        let button = MouseButtonInput {
            button: MouseButton::Left,
            state,
            window,
        };
        app.world_mut()
            .write_message(WindowEvent::MouseButtonInput(button));
        app.update();
    }
    assert_eq!(app.world().resource::<TheDesk>().0.page(), Page::Drill);
}
