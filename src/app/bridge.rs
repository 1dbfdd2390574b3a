//! Between desk and scene: what was pointed at goes to the desk, what has changed goes to the scene.

use std::path::{Path, PathBuf};

use bevy::prelude::*;
use bevy::render::renderer::RenderAdapterInfo;
use bevy::window::RequestRedraw;

use super::perform::{self, Change};
use super::{PictureFolder, TheDesk};
use crate::report::{Drawing, png, svg};
use crate::scene::{
    CameraWork, Lit, Motion, NamedView as SceneView, Perform, PerformStop, Performed, Picked, Pointed,
    Quality, SceneCamera, SceneRect, SceneSettings, StageView,
};
use crate::view::Effect;
use crate::view::stage::Stage;
use crate::view::{Command, NamedView};

/// Longest that the picture waits for the hands, s.
const PATIENCE: f32 = 4.0;

pub(super) struct BridgePlugin;

impl Plugin for BridgePlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Hovered>()
            .init_resource::<Waiting>()
            .init_resource::<PictureFolder>()
            .add_systems(Startup, suit)
            .add_systems(PreUpdate, (show_desk, show_stage).chain())
            .add_systems(PostUpdate, (hear_scene, keep_drawing).chain());
    }
}

/// The site under the cursor.
#[derive(Resource, Default)]
pub(super) struct Hovered(pub Option<usize>);

/// The picture shown, and whether the next one waits for the hands.
#[derive(Resource, Default)]
struct Waiting {
    /// Revision of the desk that the picture shows.
    shown: Option<u64>,
    /// Seconds that hands have been at work on the next picture.
    working: Option<f32>,
    /// The picture that they lead to.
    after: Option<Stage>,
    /// Revision of the desk at which they began.
    asked: u64,
    /// What each touch changes.
    changes: Vec<Change>,
}

/// Smooth edges only where a graphics card draws them.
fn suit(adapter: Option<Res<RenderAdapterInfo>>, mut settings: ResMut<SceneSettings>) {
    if let Some(adapter) = adapter {
        settings.quality = Quality::suited(&adapter);
    }
}

/// What was pointed at and clicked.
fn hear_scene(
    mut pointed: MessageReader<Pointed>,
    mut picked: MessageReader<Picked>,
    mut hovered: ResMut<Hovered>,
    mut desk: ResMut<TheDesk>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    for Pointed(site) in pointed.read() {
        hovered.0 = *site;
        redraw.write(RequestRedraw);
    }
    for picked in picked.read() {
        if picked.button == MouseButton::Left {
            desk.0.apply(Command::Choose(picked.site));
            redraw.write(RequestRedraw);
        }
    }
}

/// Effects of commands, settings, and whether the scene is seen at all.
#[expect(
    clippy::too_many_arguments,
    reason = "a system's inputs, each a plain resource or query"
)]
fn show_desk(
    mut desk: ResMut<TheDesk>,
    mut waiting: ResMut<Waiting>,
    mut work: ResMut<CameraWork>,
    mut settings: ResMut<SceneSettings>,
    mut lit: ResMut<Lit>,
    hovered: Res<Hovered>,
    rect: Res<SceneRect>,
    folder: Res<PictureFolder>,
    mut asked: MessageWriter<Perform>,
    mut stop: MessageWriter<PerformStop>,
    mut view: ResMut<StageView>,
    mut cameras: Query<&mut Camera, With<SceneCamera>>,
    mut exit: MessageWriter<AppExit>,
) {
    let seen = desk.0.page().shows_scene() && rect.physical.is_some();
    for mut camera in &mut cameras {
        if camera.is_active != seen {
            camera.is_active = seen;
        }
    }
    let (still, mirror) = (desk.0.settings().still, desk.0.settings().mirror);
    if settings.still != still || settings.mirror != mirror {
        settings.still = still;
        settings.mirror = mirror;
    }
    if hovered.0.is_none() && lit.0 != desk.0.chosen() {
        lit.0 = desk.0.chosen();
    }
    let effects = desk.bypass_change_detection().0.take_effects();
    // Whatever was under way is over as soon as something else is asked for.
    if waiting.working.is_some() && (still || waiting.asked != desk.0.revision()) {
        stop.write(PerformStop);
        waiting.working = None;
        if let Some(after) = waiting.after.take() {
            view.0 = after;
        }
    }
    for effect in effects {
        match effect {
            Effect::Leave => {
                exit.write(AppExit::Success);
            }
            Effect::Save(name, picture) => {
                let told = save(&folder.0, &name, &picture);
                desk.0.apply(Command::Told(told));
            }
            Effect::View(view) => work.go(scene_view(view), still),
            Effect::Perform => {
                let (Some(drill), Some(after)) = (desk.0.shown(), desk.0.stage()) else {
                    continue;
                };
                if still {
                    continue;
                }
                if let Some((ask, changes)) = perform::perform(drill, &view.0, &after) {
                    asked.write(ask);
                    waiting.working = Some(0.0);
                    waiting.asked = desk.0.revision();
                    waiting.changes = changes;
                    waiting.after = Some(after.clone());
                    // The lamp is seen at once, whatever the hands do.
                    if view.0.lamp != after.lamp {
                        view.0.lamp = after.lamp;
                    }
                }
            }
        }
    }
}

/// Writes a picture as SVG and PNG, and says where, or why not.
fn save(folder: &Path, name: &str, picture: &Drawing) -> String {
    let write = || -> Result<PathBuf, String> {
        let fail = |e: std::io::Error| format!("{}: {e}", folder.display());
        std::fs::create_dir_all(folder).map_err(fail)?;
        let free = (1..)
            .map(|n| {
                if n == 1 {
                    name.to_owned()
                } else {
                    format!("{name}-{n}")
                }
            })
            .find(|stem| !folder.join(format!("{stem}.svg")).exists())
            .unwrap_or_else(|| name.to_owned());
        std::fs::write(folder.join(format!("{free}.svg")), svg(picture)).map_err(fail)?;
        let png_at = folder.join(format!("{free}.png"));
        std::fs::write(&png_at, png(picture)?).map_err(fail)?;
        Ok(png_at)
    };
    match write() {
        Ok(path) => format!("Saved as {} and as SVG beside it", path.display()),
        Err(why) => format!("It could not be saved: {why}"),
    }
}

/// The new picture, once the hands have brought it about; until then the counts change touch by touch.
fn show_stage(
    desk: Res<TheDesk>,
    time: Res<Time>,
    mut waiting: ResMut<Waiting>,
    mut told: MessageReader<Performed>,
    mut view: ResMut<StageView>,
) {
    let waiting = &mut *waiting;
    let mut done = false;
    for news in told.read() {
        match news {
            Performed::Touch(n) if waiting.working.is_some() => {
                let counts = waiting.changes.iter().any(|c| c.changes(*n));
                if counts && view.0.lamp {
                    perform::apply(&mut view.0, &waiting.changes, *n);
                }
            }
            Performed::Done => done = true,
            _ => {}
        }
    }
    if let Some(since) = waiting.working {
        let since = since + time.delta_secs().min(0.1);
        waiting.working = (!done && since < PATIENCE).then_some(since);
    }
    let revision = desk.0.revision();
    if waiting.working.is_some() || waiting.shown == Some(revision) {
        return;
    }
    waiting.shown = Some(revision);
    if let Some(stage) = desk.0.stage()
        && view.0 != stage
    {
        view.0 = stage;
    }
    let second = desk.0.second_stage();
    if view.1 != second {
        view.1 = second;
    }
}

/// Draws on while anything moves; otherwise frames are drawn only when something happens.
fn keep_drawing(
    motion: Res<Motion>,
    work: Res<CameraWork>,
    waiting: Res<Waiting>,
    desk: Res<TheDesk>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let moving = motion.moving() || work.moving() || waiting.working.is_some();
    let behind = waiting.shown != Some(desk.0.revision());
    if desk.0.page().shows_scene() && (moving || behind) {
        redraw.write(RequestRedraw);
    }
}

fn scene_view(view: NamedView) -> SceneView {
    match view {
        NamedView::Front => SceneView::Front,
        NamedView::Back => SceneView::Back,
        NamedView::Left => SceneView::Left,
        NamedView::Right => SceneView::Right,
        NamedView::Hands => SceneView::Hands,
        NamedView::Face => SceneView::Face,
    }
}
