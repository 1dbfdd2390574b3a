//! The egui host: one exclusive system draws the page, gives the desk its commands, and hands what is left of the
//! window to the scene.

use bevy::asset::AssetEventSystems;
use bevy::asset::load_internal_asset;
use bevy::camera::visibility::RenderLayers;
use bevy::camera::{CameraOutputMode, ClearColorConfig};
use bevy::core_pipeline::upscaling::upscaling;
use bevy::ecs::message::{MessageCursor, Messages};
use bevy::ecs::schedule::ScheduleLabel;
use bevy::input::keyboard::{Key, KeyboardInput};
use bevy::prelude::*;
use bevy::render::camera::{CameraRenderGraph, ExtractedCamera, sort_cameras};
use bevy::render::render_resource::BlendState;
use bevy::render::{Render, RenderApp, RenderSystems};
use bevy::window::{CursorLeft, PrimaryWindow, RequestRedraw, WindowResized};
use bevy_egui::helpers::{bevy_to_egui_key, bevy_to_egui_physical_key};
use bevy_egui::render::{EGUI_SHADER_HANDLE, egui_pass};
use bevy_egui::{
    EguiContext, EguiContextSettings, EguiFullOutput, EguiGlobalSettings, EguiInput, EguiPostUpdateSet,
    PrimaryEguiContext, egui,
};

use super::TheDesk;
use super::bridge::Hovered;
use super::marks;
use crate::outside::clock::Stopwatch;
use crate::panels::{self, FromScene, Screen, Shown};
use crate::scene::{SceneCamera, SceneRect, StageView, redraw};
use crate::view::Page;

pub(super) struct HostPlugin;

impl Plugin for HostPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Drawn>()
            .init_resource::<Heard>()
            .init_resource::<LeftBy>()
            .insert_resource(Opened(Stopwatch::start()))
            .add_systems(PreStartup, camera)
            .add_systems(PostUpdate, draw.before(EguiPostUpdateSet::ProcessOutput))
            // Or new letters would reach the renderer with the next frame only.
            .configure_sets(
                PostUpdate,
                EguiPostUpdateSet::PostProcessOutput.before(AssetEventSystems),
            )
            .add_systems(Update, follow_size)
            .add_systems(Last, share);
        app.world_mut()
            .get_resource_or_init::<EguiGlobalSettings>()
            .auto_create_primary_context = false;
        if let Some(render) = app.get_sub_app_mut(RenderApp) {
            render
                .init_schedule(PanelsPass)
                .add_systems(PanelsPass, (egui_pass, upscaling).chain())
                .add_systems(
                    Render,
                    count_as_first
                        .in_set(RenderSystems::CreateViews)
                        .after(sort_cameras),
                );
        }
    }

    fn cleanup(&self, app: &mut App) {
        // In place of the host crate's own, which is not there earlier.
        load_internal_asset!(
            app,
            EGUI_SHADER_HANDLE,
            "../../assets/shaders/panels.wgsl",
            Shader::from_wgsl
        );
    }
}

/// When the window was made: what the panels' clock counts from. The engine's own clock stands, in the first frame after a
/// rest, at the end of the frame before it, so a click that comes in two frames would seem to have lasted for the whole
/// rest, and would be taken for a press that was thought better of.
#[derive(Resource)]
struct Opened(Stopwatch);

/// How far the keyboard has been listened to.
#[derive(Resource, Default)]
struct Heard(MessageCursor<KeyboardInput>);

/// How far it has been followed when the pointer left the window.
#[derive(Resource, Default)]
struct LeftBy(MessageCursor<CursorLeft>);

/// The screen as it was last made, to be made again only when the desk has changed.
#[derive(Resource, Default)]
struct Drawn(Option<(u64, Screen)>);

/// What is drawn for the panels' camera: panels, and the picture onto the window. The renderer's own passes for flat
/// things would cost as much as a small scene and find nothing to draw.
#[derive(ScheduleLabel, Clone, Debug, PartialEq, Eq, Hash)]
struct PanelsPass;

/// Lets the panels' picture replace what is on the window where no other way is asked for. The renderer would blend the
/// second camera's picture with the first's, and even blending that keeps nothing costs half as much again.
fn count_as_first(mut cameras: Query<&mut ExtractedCamera>) {
    for mut camera in &mut cameras {
        if camera.schedule == PanelsPass.intern() {
            camera.sorted_camera_index_for_target = 0;
        }
    }
}

/// A camera for the panels alone, drawn over the scene's.
fn camera(mut commands: Commands) {
    commands.spawn((
        PrimaryEguiContext,
        EguiContextSettings {
            run_manually: true,
            ..default()
        },
        CameraRenderGraph::new(PanelsPass),
        Projection::Orthographic(OrthographicProjection::default_2d()),
        Msaa::Off,
        RenderLayers::none(),
        Camera {
            order: 1,
            output_mode: ALONE,
            clear_color: CLEAR,
            ..default()
        },
    ));
}

/// Draws once more after the window has changed its size: panels are laid out for it a frame late.
fn follow_size(mut resized: MessageReader<WindowResized>, mut redraw: MessageWriter<RequestRedraw>) {
    if resized.read().count() > 0 {
        redraw.write(RequestRedraw);
    }
}

/// Lays the panels over the scene's picture, or draws them straight into it where that is possible: on a machine
/// without a graphics card laying one over the other costs as much as drawing either.
fn share(
    mut scene: Query<(&mut Camera, &Msaa), With<SceneCamera>>,
    mut panels: Single<&mut Camera, (With<PrimaryEguiContext>, Without<SceneCamera>)>,
    view: Res<StageView>,
) {
    let (mut seen, mut shared) = (false, false);
    for (mut camera, samples) in &mut scene {
        seen |= camera.is_active;
        // Two pictures of different sampling, or of two halves, are two textures.
        shared = redraw::keeps(&camera, samples, &view);
        let mode = if shared {
            CameraOutputMode::Skip
        } else {
            CameraOutputMode::default()
        };
        if !same(camera.output_mode, mode) {
            camera.output_mode = mode;
        }
    }
    let mode = if seen && !shared { OVER } else { ALONE };
    if !same(panels.output_mode, mode) {
        panels.output_mode = mode;
    }
    let clear = if shared { ClearColorConfig::None } else { CLEAR };
    if std::mem::discriminant(&panels.clear_color) != std::mem::discriminant(&clear) {
        panels.clear_color = clear;
    }
}

/// Nothing, for what shows through between the panels.
const CLEAR: ClearColorConfig = ClearColorConfig::Custom(Color::NONE);
/// Panels with a scene beneath them.
const OVER: CameraOutputMode = CameraOutputMode::Write {
    blend_state: Some(BlendState::PREMULTIPLIED_ALPHA_BLENDING),
    clear_color: ClearColorConfig::None,
};
/// Panels that cover the window, or are part of the scene's picture already.
const ALONE: CameraOutputMode = CameraOutputMode::Write {
    blend_state: None,
    clear_color: ClearColorConfig::None,
};

fn same(a: CameraOutputMode, b: CameraOutputMode) -> bool {
    match (a, b) {
        (CameraOutputMode::Skip, CameraOutputMode::Skip) => true,
        (CameraOutputMode::Write { blend_state: a, .. }, CameraOutputMode::Write { blend_state: b, .. }) => {
            a == b
        }
        _ => false,
    }
}

type Parts = (
    &'static mut EguiContext,
    &'static mut EguiInput,
    &'static mut EguiFullOutput,
);

fn draw(world: &mut World, contexts: &mut QueryState<Parts, With<PrimaryEguiContext>>) -> Result {
    let (ctx, input) = {
        let Ok((mut ctx, mut input, _)) = contexts.single_mut(world) else {
            return Ok(());
        };
        (ctx.get_mut().clone(), input.take())
    };
    let mut input = without_echo(input, ctx.input(|i| i.modifiers));
    input.time = Some(world.resource::<Opened>().0.passed().as_secs_f64());
    // The host crate does not tell, and whatever was pointed at last would stay lit.
    if pointer_left(world) {
        input.events.push(egui::Event::PointerGone);
    }
    as_pressed(&mut input, ctx.input(|i| i.modifiers), &typed(world));
    if !ctx.text_edit_focused() {
        pressed_once(&mut input, |key| ctx.input(|i| i.key_down(key)));
    }
    let scene = FromScene {
        pointed: pointed(world),
        marks: marks::placed(world),
    };
    let screen = screen(world);
    let mut commands = Vec::new();
    let mut shown = Shown::default();
    let output = ctx.run_ui(input, |ui| {
        shown = panels::show(ui, &screen, &scene, &mut commands);
    });
    if let Ok((_, _, mut full)) = contexts.single_mut(world) {
        **full = Some(output);
    }
    world.resource_mut::<Drawn>().0 = Some((world.resource::<TheDesk>().0.revision(), screen));
    let page = world.resource::<TheDesk>().0.page();
    make_room(world, &ctx, shown, page);
    if !commands.is_empty() {
        let desk = &mut world.resource_mut::<TheDesk>().0;
        for command in commands {
            desk.apply(command);
        }
        world.write_message(RequestRedraw);
    }
    Ok(())
}

/// Input without news that are none: the host crate repeats the modifier keys every frame, and egui answers every
/// event with another frame, so that an idle window would draw for ever.
fn without_echo(mut input: egui::RawInput, known: egui::Modifiers) -> egui::RawInput {
    input
        .events
        .retain(|event| !matches!(event, egui::Event::ModifiersChanged(now) if *now == known));
    input
}

/// True if the pointer has left the window since the last frame.
fn pointer_left(world: &mut World) -> bool {
    world.resource_scope(|world, mut left: Mut<LeftBy>| {
        let messages = world.get_resource::<Messages<CursorLeft>>();
        messages.is_some_and(|messages| left.0.read(messages).count() > 0)
    })
}

/// What was typed in this frame, in order: what each key means, which key it is, and whether it went down.
fn typed(world: &mut World) -> Vec<(Key, KeyCode, bool)> {
    world.resource_scope(|world, mut heard: Mut<Heard>| {
        let messages = world.resource::<Messages<KeyboardInput>>();
        let pressed = |m: &KeyboardInput| (m.logical_key.clone(), m.key_code, m.state.is_pressed());
        heard.0.read(messages).map(pressed).collect()
    })
}

/// Gives each key the modifiers that were down when it was pressed. The host crate gives all keys of a frame those that
/// are down at its end, so that Ctrl and plus, pressed and let go within one frame, would be a plus.
fn as_pressed(input: &mut egui::RawInput, before: egui::Modifiers, typed: &[(Key, KeyCode, bool)]) {
    if cfg!(target_os = "macos") {
        return;
    }
    let mut held = before;
    let mut each = Vec::new();
    for (key, code, down) in typed {
        match key {
            Key::Control => (held.ctrl, held.command) = (*down, *down),
            Key::Shift => held.shift = *down,
            Key::Alt => held.alt = *down,
            _ => {}
        }
        if bevy_to_egui_key(key)
            .or(bevy_to_egui_physical_key(code))
            .is_some()
        {
            each.push(held);
        }
    }
    let keys = input.events.iter_mut().filter_map(|event| match event {
        egui::Event::Key { modifiers, .. } => Some(modifiers),
        _ => None,
    });
    let keys: Vec<&mut egui::Modifiers> = keys.collect();
    if keys.len() == each.len() {
        for (key, held) in keys.into_iter().zip(each) {
            *key = held;
        }
    }
}

/// Leaves out that Enter and Space are pressed again and again while they are held: a button is pressed once.
fn pressed_once(input: &mut egui::RawInput, down: impl Fn(egui::Key) -> bool) {
    input.events.retain(|event| {
        !matches!(event, egui::Event::Key { key: key @ (egui::Key::Enter | egui::Key::Space), pressed: true, .. }
            if down(*key))
    });
}

fn pointed(world: &World) -> Option<String> {
    let site = world.resource::<Hovered>().0?;
    world.resource::<TheDesk>().0.site_label(site)
}

/// The screen for the desk as it is, made anew only if the desk has changed.
fn screen(world: &mut World) -> Screen {
    let kept = world.resource_mut::<Drawn>().0.take();
    let desk = &world.resource::<TheDesk>().0;
    match kept {
        Some((revision, screen)) if revision == desk.revision() => screen,
        _ => Screen::of(desk),
    }
}

/// Gives the scene what the panels leave free, and the cursor while no panel has it.
fn make_room(world: &mut World, ctx: &egui::Context, shown: Shown, page: Page) {
    let mut windows = world.query_filtered::<&Window, With<PrimaryWindow>>();
    let Ok(window) = windows.single(world) else {
        return;
    };
    let size = window.physical_size();
    let scale = ctx.pixels_per_point();
    let physical = shown.free.map(|free| {
        let corner = |p: egui::Pos2| {
            (Vec2::new(p.x, p.y) * scale)
                .round()
                .max(Vec2::ZERO)
                .as_uvec2()
                .min(size)
        };
        URect::from_corners(corner(free.min), corner(free.max))
    });
    let pointing = page.shows_scene() && !ctx.is_pointer_over_egui() && !ctx.egui_is_using_pointer();
    let wanted = SceneRect { physical, pointing };
    if *world.resource::<SceneRect>() != wanted {
        *world.resource_mut::<SceneRect>() = wanted;
        world.write_message(RequestRedraw);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::view::{Command, Desk};

    #[test]
    fn an_idle_window_asks_for_no_more_frames() {
        let ctx = egui::Context::default();
        for _ in 0..8 {
            let mut input = egui::RawInput::default();
            input
                .events
                .push(egui::Event::ModifiersChanged(egui::Modifiers::NONE));
            let input = without_echo(input, ctx.input(|i| i.modifiers));
            ctx.run_ui(input, |_| {}).drop_without_applying_deltas();
        }
        assert!(!ctx.has_requested_repaint(), "{:?}", ctx.repaint_causes());
    }

    #[test]
    fn a_key_has_the_modifiers_that_were_down_when_it_was_pressed() {
        let event = |key, pressed| egui::Event::Key {
            key,
            pressed,
            repeat: false,
            modifiers: egui::Modifiers::NONE,
            physical_key: None,
        };
        let mut input = egui::RawInput::default();
        input.events.push(event(egui::Key::Equals, true));
        input.events.push(event(egui::Key::Equals, false));
        input.events.push(event(egui::Key::F1, true));
        let plus = Key::Character("=".into());
        let typed = [
            (Key::Control, KeyCode::ControlLeft, true),
            (plus.clone(), KeyCode::Equal, true),
            (plus, KeyCode::Equal, false),
            (Key::Control, KeyCode::ControlLeft, false),
            (Key::F1, KeyCode::F1, true),
        ];
        as_pressed(&mut input, egui::Modifiers::NONE, &typed);
        let ctrl: Vec<bool> = input
            .events
            .iter()
            .filter_map(|event| match event {
                egui::Event::Key { modifiers, .. } => Some(modifiers.ctrl),
                _ => None,
            })
            .collect();
        assert_eq!(ctrl, [true, true, false]);
    }

    #[test]
    fn ctrl_and_z_that_come_within_one_frame_take_back_and_answer_no_itch() {
        let key = |pressed| egui::Event::Key {
            key: egui::Key::Z,
            pressed,
            repeat: false,
            modifiers: egui::Modifiers::NONE,
            physical_key: Some(egui::Key::Z),
        };
        let mut input = egui::RawInput::default();
        // The letter is written as text too where the host crate has not heard of Ctrl yet.
        input.events.push(egui::Event::Text("z".to_owned()));
        input.events.extend([key(true), key(false)]);
        let z = Key::Character("z".into());
        let typed = [
            (Key::Control, KeyCode::ControlLeft, true),
            (z.clone(), KeyCode::KeyZ, true),
            (z, KeyCode::KeyZ, false),
            (Key::Control, KeyCode::ControlLeft, false),
        ];
        as_pressed(&mut input, egui::Modifiers::NONE, &typed);
        let screen = Screen::of(&begun());
        let ctx = egui::Context::default();
        let mut asked = Vec::new();
        let quiet = std::iter::repeat_with(egui::RawInput::default).take(4);
        for input in quiet.chain([input]) {
            let output = ctx.run_ui(input, |ui| {
                panels::show(ui, &screen, &FromScene::default(), &mut asked);
            });
            output.drop_without_applying_deltas();
        }
        assert_eq!(asked, [Command::TakeBack]);
    }

    fn begun() -> Desk {
        let content = crate::content::Content::builtin().unwrap_or_else(|e| panic!("{e}"));
        let mut desk = Desk::new(content, || 7);
        desk.apply(Command::Begin);
        desk
    }

    #[test]
    fn a_key_that_is_held_presses_a_button_once() {
        let event = |key| egui::Event::Key {
            key,
            pressed: true,
            repeat: false,
            modifiers: egui::Modifiers::NONE,
            physical_key: None,
        };
        let mut input = egui::RawInput::default();
        input
            .events
            .extend([event(egui::Key::Enter), event(egui::Key::ArrowDown)]);
        pressed_once(&mut input, |_| true);
        assert_eq!(input.events, [event(egui::Key::ArrowDown)], "arrows go on");
        input.events = vec![event(egui::Key::Enter)];
        pressed_once(&mut input, |_| false);
        assert_eq!(input.events.len(), 1, "the first press counts");
    }

    #[test]
    fn a_modifier_key_that_goes_down_is_heard() {
        let mut input = egui::RawInput::default();
        input
            .events
            .push(egui::Event::ModifiersChanged(egui::Modifiers::CTRL));
        assert_eq!(without_echo(input, egui::Modifiers::NONE).events.len(), 1);
    }
}
