//! Between desk and scene: what was pointed at goes to the desk, what has changed goes to the scene.

use bevy::prelude::*;
use bevy::render::renderer::RenderAdapterInfo;
use bevy::window::{MonitorSelection, PrimaryWindow, RequestRedraw, WindowMode};

use super::perform::{self, Change};
use super::save::{PictureFolder, save, save_report};
use super::the_desk::{TheDesk, Troubles};
use crate::scene::{
    Both, CameraWork, Gait, Lit, Motion, NamedView as SceneView, News, Orbit, Perform, PerformStop,
    Performed, Picked, Pointed, Quality, SceneCamera, SceneRect, SceneSettings, StageView,
};
use crate::view::Effect;
use crate::view::stage::{Stage, Who};
use crate::view::{Command, NamedView};

/// Longest that the picture waits for the hands, s.
const PATIENCE: f32 = 4.0;

pub(super) struct BridgePlugin;

impl Plugin for BridgePlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Hovered>()
            .init_resource::<Waiting>()
            .init_resource::<PictureFolder>()
            .init_resource::<Troubles>()
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
    /// Where the camera was before it went to hands that are being cleaned.
    from: Option<Orbit>,
    people: Both<AtWork>,
}

impl Waiting {
    /// True while anybody's hands are at work.
    fn working(&self) -> bool {
        Who::BOTH.iter().any(|who| self.people.of(*who).since.is_some())
    }
}

/// A person whose next picture waits for the hands.
#[derive(Default)]
struct AtWork {
    /// Seconds that hands have been at work on the next picture.
    since: Option<f32>,
    /// The picture that they lead to.
    after: Option<Stage>,
    /// The desk's moment at which they began.
    asked: u64,
    /// What each touch changes.
    changes: Vec<Change>,
    /// True once the next picture has been asked for as something that they do, rather than as another moment.
    does: bool,
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
    (folder, troubles): (Res<PictureFolder>, Res<Troubles>),
    mut asked: MessageWriter<Perform>,
    mut stop: MessageWriter<PerformStop>,
    mut view: ResMut<StageView>,
    mut cameras: Query<&mut Camera, With<SceneCamera>>,
    mut windows: Query<&mut Window, With<PrimaryWindow>>,
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
    for trouble in troubles.take() {
        desk.0.apply(Command::Trouble(trouble));
    }
    let effects = desk.bypass_change_detection().0.take_effects();
    // Whatever was under way is over as soon as something else is asked for.
    for who in Who::BOTH {
        let at_work = waiting.people.of_mut(who);
        if at_work.since.is_some() && (still || at_work.asked != desk.0.moment(who)) {
            stop.write(PerformStop(who));
            (at_work.since, at_work.does) = (None, false);
            if let (Some(after), Some(stage)) = (at_work.after.take(), view.of_mut(who)) {
                *stage = after;
            }
        }
    }
    for effect in effects {
        match effect {
            Effect::FullScreen => {
                for mut window in &mut windows {
                    window.mode = match window.mode {
                        WindowMode::Windowed => WindowMode::BorderlessFullscreen(MonitorSelection::Current),
                        _ => WindowMode::Windowed,
                    };
                }
            }
            Effect::Leave => {
                exit.write(AppExit::Success);
            }
            Effect::Save(name, picture) => {
                let told = save(&folder.0, &name, &picture);
                desk.0.apply(Command::Told(told));
            }
            Effect::SaveReport(name, html, picture) => {
                let told = save_report(&folder.0, &name, &html, &picture);
                desk.0.apply(Command::Told(told));
            }
            Effect::View(view) => {
                waiting.from = None;
                work.go(scene_view(view), still);
            }
            Effect::Rub(product) => {
                waiting.from = Some(work.now);
                work.go(SceneView::Hands, still);
                let drill = desk.0.shown(Who::First).filter(|_| !still);
                if let Some(ask) = drill.and_then(|d| perform::rubbing(Who::First, d, &product)) {
                    asked.write(ask);
                }
            }
            Effect::RubOver => {
                stop.write(PerformStop(Who::First));
                if let Some(from) = waiting.from.take() {
                    work.aim(from, still);
                }
            }
            Effect::Perform(who) if !still => {
                waiting.people.of_mut(who).does = true;
                let (Some(drill), Some(after)) = (desk.0.shown(who), desk.0.stage(who)) else {
                    continue;
                };
                let Some(stage) = view.of(who) else { continue };
                if let Some((ask, changes)) = perform::perform(who, drill, stage, &after) {
                    let lamp = after.lamp;
                    let at_work = waiting.people.of_mut(who);
                    asked.write(ask);
                    *at_work = AtWork {
                        since: Some(0.0),
                        after: Some(after),
                        asked: desk.0.moment(who),
                        changes,
                        does: true,
                    };
                    // The lamp is seen at once, whatever the hands do.
                    if let Some(stage) = view.of_mut(who).filter(|stage| stage.lamp != lamp) {
                        stage.lamp = lamp;
                    }
                }
            }
            Effect::Perform(_) => {}
        }
    }
}

/// The new picture, once the hands have brought it about; until then the counts change touch by touch.
fn show_stage(
    mut desk: ResMut<TheDesk>,
    time: Res<Time>,
    mut waiting: ResMut<Waiting>,
    mut told: MessageReader<Performed>,
    mut gait: ResMut<Both<Gait>>,
    mut view: ResMut<StageView>,
) {
    let waiting = &mut *waiting;
    let mut done: Both<bool> = Both::default();
    for &Performed(who, news) in told.read() {
        let at_work = waiting.people.of(who);
        match news {
            News::Touch(n) if at_work.since.is_some() => {
                let counts = at_work.changes.iter().any(|c| c.changes(n));
                if counts && let Some(stage) = view.of_mut(who).filter(|stage| stage.lamp) {
                    perform::apply(stage, &at_work.changes, n);
                }
            }
            News::Done => *done.of_mut(who) = true,
            _ => {}
        }
    }
    for who in Who::BOTH {
        let at_work = waiting.people.of_mut(who);
        if let Some(since) = at_work.since {
            let since = since + time.delta_secs().min(0.1);
            at_work.since = (!done.of(who) && since < PATIENCE).then_some(since);
        }
    }
    // Counts beside the scene change when that has been seen which changes them.
    if waiting.people.of(Who::First).since.is_none() {
        desk.bypass_change_detection().0.apply(Command::Seen);
    }
    let revision = desk.0.revision();
    if waiting.shown == Some(revision) && !done.of(Who::First) && !done.of(Who::Second) {
        return;
    }
    // Who is still at work goes on with the picture as it is.
    for who in Who::BOTH {
        let at_work = waiting.people.of_mut(who);
        if at_work.since.is_some() {
            continue;
        }
        let (walks, next) = (std::mem::take(&mut at_work.does), desk.0.stage(who));
        if let (Some(next), Some(now)) = (&next, view.of(who))
            && next.whereabouts != now.whereabouts
            && !walks
        {
            gait.of_mut(who).leap();
        }
        match (who, next) {
            (Who::First, Some(next)) if view.0 != next => view.0 = next,
            (Who::Second, next) if view.1 != next => view.1 = next,
            _ => {}
        }
    }
    if !waiting.working() {
        waiting.shown = Some(revision);
    }
}

/// True while hands, feet or the camera are under way.
fn moving(motion: &Both<Motion>, gait: &Both<Gait>, work: &CameraWork) -> bool {
    let on_the_way = |who: Who| motion.of(who).moving() || gait.of(who).walking;
    Who::BOTH.into_iter().any(on_the_way) || work.moving()
}

/// True once nothing moves and the picture is that of the desk.
pub(super) fn at_rest(world: &World) -> bool {
    let shown = world.resource::<Waiting>().shown;
    shown == Some(world.resource::<TheDesk>().0.revision())
        && !moving(world.resource(), world.resource(), world.resource())
}

/// Draws on while anything moves; otherwise frames are drawn only when something happens.
fn keep_drawing(
    motion: Res<Both<Motion>>,
    gait: Res<Both<Gait>>,
    work: Res<CameraWork>,
    waiting: Res<Waiting>,
    desk: Res<TheDesk>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    let moving = moving(&motion, &gait, &work) || waiting.working();
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
        NamedView::Palms => SceneView::Palms,
        NamedView::Nape => SceneView::Nape,
    }
}
