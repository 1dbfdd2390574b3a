//! What the scene costs: the time of a frame beside an empty lit scene with the same camera, and what the first
//! picture takes in time and memory. With a screen, also the frames of the whole window, panels and all, beside those
//! of an empty one; each is a program of its own, so let nothing else run.
//!
//! `cargo bench --bench frame -- 1280x720 1920x1080`

#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "tests reach for files and threads as they like"
)]

use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

use bevy::core_pipeline::tonemapping::Tonemapping;
use bevy::prelude::*;
use bevy::render::render_resource::PollType;
use bevy::render::renderer::{RenderAdapterInfo, RenderDevice};
use bevy::window::PresentMode;
use bevy::winit::WinitSettings;
use smirch::app::picture::Studio;
use smirch::content::Content;
use smirch::drill::Drill;
use smirch::model::Setup;
use smirch::scene::piece::Piece;
use smirch::scene::{CameraWork, NamedView, Quality, SceneCamera, SceneSettings};
use smirch::view::{self, LampUse, stage_of};

/// Asks this program to measure one start of the scene and to say nothing else.
const START: &str = "--one-start";
/// The same of an empty scene.
const EMPTY: &str = "--one-empty-start";
/// Asks this program to time the frames of a window and to say nothing else.
const WINDOW: &str = "--one-window";
/// The same of an empty window.
const EMPTY_WINDOW: &str = "--one-empty-window";
/// The same with the lamp on.
const LAMP_WINDOW: &str = "--one-lamp-window";
/// The same of the window as the program opens it, with its first page.
const FIRST_PAGE: &str = "--one-first-page";
/// Frames timed of each scene.
const FRAMES: usize = 40;
/// Frames drawn before.
const WARM_UP: usize = 5;
/// Starts and windows measured, each in a process of its own.
const STARTS: usize = 3;

type Fault = Box<dyn std::error::Error>;

fn main() -> Result<(), Fault> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments.iter().any(|a| a == START || a == EMPTY) {
        return one_start(&arguments);
    }
    if arguments
        .iter()
        .any(|a| [WINDOW, LAMP_WINDOW, EMPTY_WINDOW, FIRST_PAGE].contains(&a.as_str()))
    {
        return one_window(&arguments);
    }
    let mut sizes: Vec<(u32, u32)> = Vec::new();
    // Cargo adds flags of its own.
    for argument in arguments.iter().filter(|a| !a.starts_with('-')) {
        sizes.push(size(argument)?);
    }
    if sizes.is_empty() {
        sizes.push((1280, 720));
    }
    for (width, height) in sizes {
        for quality in [Quality::Plain, Quality::Fine] {
            frames(width, height, quality)?;
        }
        in_turns(width, height, &[("scene", START), ("empty", EMPTY)], "start")?;
        if std::env::var_os("DISPLAY").is_some() {
            in_turns(
                width,
                height,
                &[
                    ("first page", FIRST_PAGE),
                    ("drill", WINDOW),
                    ("drill, lamp on", LAMP_WINDOW),
                    ("empty", EMPTY_WINDOW),
                ],
                "window",
            )?;
        } else {
            println!("{width}x{height}: no window was opened, since DISPLAY is not set");
        }
    }
    Ok(())
}

fn size(text: &str) -> Result<(u32, u32), Fault> {
    let fault = || format!("`{text}` is not a size such as 1280x720");
    let (w, h) = text.split_once('x').ok_or_else(fault)?;
    Ok((w.parse().map_err(|_| fault())?, h.parse().map_err(|_| fault())?))
}

/// Nothing but a camera as the scene's and a light.
struct Empty(Quality);

impl Plugin for Empty {
    fn build(&self, app: &mut App) {
        let msaa = match self.0 {
            Quality::Plain => Msaa::Off,
            Quality::Fine => Msaa::Sample4,
        };
        app.add_systems(Startup, move |mut commands: Commands| {
            commands.spawn((
                SceneCamera,
                Camera3d::default(),
                Tonemapping::None,
                msaa,
                Transform::from_xyz(0.0, 1.0, 5.0),
            ));
            commands.spawn((DirectionalLight::default(), Transform::default()));
        });
    }
}

fn dressed(lamp: bool) -> Result<smirch::view::stage::Stage, Fault> {
    let content = Content::builtin().map_err(|e| e.to_string())?;
    let scenario = content
        .library
        .scenario("respiratory-room")
        .ok_or("the scenario is gone")?;
    let setup = Setup::new(content.library.clone(), scenario).map_err(|e| e.to_string())?;
    Ok(stage_of(&Drill::begin(Arc::new(setup), 1), lamp))
}

/// Draws one frame to its end.
fn frame(app: &mut App) -> Result<Duration, Fault> {
    let began = Instant::now();
    app.update();
    app.world()
        .resource::<RenderDevice>()
        .poll(PollType::wait_indefinitely())?;
    Ok(began.elapsed())
}

fn median(mut times: Vec<Duration>) -> f64 {
    times.sort_unstable();
    times[times.len() / 2].as_secs_f64() * 1000.0
}

fn frames(width: u32, height: u32, quality: Quality) -> Result<(), Fault> {
    let mut scene = Studio::new(width, height)?;
    scene.app.world_mut().resource_mut::<SceneSettings>().quality = quality;
    scene.show(dressed(false)?, NamedView::Front);
    let mut empty = Studio::with(width, height, Empty(quality))?;
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    // In turns, so that whatever else the machine does meets both.
    for n in 0..WARM_UP + FRAMES {
        scene.app.world_mut().resource_mut::<CameraWork>().turn(0.02, 0.0);
        let (a, b) = (frame(&mut scene.app)?, frame(&mut empty.app)?);
        if n >= WARM_UP {
            ours.push(a);
            theirs.push(b);
        }
    }
    let given = given(scene.app.world_mut());
    let adapter = &scene.app.world().resource::<RenderAdapterInfo>().name;
    let (ours, theirs) = (median(ours), median(theirs));
    println!(
        "{width}x{height} {quality:?}: scene {ours:.1} ms, empty {theirs:.1} ms, {:.2} times as much ({adapter}); {given}",
        ours / theirs
    );
    Ok(())
}

/// What the renderer is given.
fn given(world: &mut World) -> String {
    let mut handles = world.query::<&Mesh3d>();
    let meshes = world.resource::<Assets<Mesh>>();
    let (mut count, mut triangles) = (0, 0);
    for mesh in handles.iter(world).filter_map(|handle| meshes.get(handle)) {
        count += 1;
        triangles += mesh.indices().map_or(0, |i| i.len() / 3);
    }
    format!("{triangles} triangles in {count} meshes")
}

/// Measures in a process of its own each time.
fn in_turns(width: u32, height: u32, what: &[(&str, &str)], of: &str) -> Result<(), Fault> {
    for n in 1..=STARTS {
        for (what, ask) in what {
            let said = Command::new(std::env::current_exe()?)
                .args([*ask, &format!("{width}x{height}")])
                .output()?;
            if !said.status.success() {
                return Err(String::from_utf8_lossy(&said.stderr).into());
            }
            let said = String::from_utf8_lossy(&said.stdout);
            let last = said.lines().next_back().unwrap_or_default();
            println!("{width}x{height} {what}, {of} {n}: {last}");
        }
    }
    Ok(())
}

fn one_start(arguments: &[String]) -> Result<(), Fault> {
    let began = Instant::now();
    let text = arguments
        .iter()
        .find(|a| !a.starts_with('-'))
        .ok_or("a size is missing")?;
    let (width, height) = size(text)?;
    if arguments.iter().any(|a| a == EMPTY) {
        Studio::with(width, height, Empty(Quality::Plain))?.take()?;
    } else {
        let mut studio = Studio::new(width, height)?;
        studio.app.world_mut().resource_mut::<SceneSettings>().quality = Quality::Plain;
        studio.picture(dressed(false)?, NamedView::Front)?;
    }
    let took = began.elapsed();
    println!(
        "first picture after {:.2} s, {}",
        took.as_secs_f64(),
        memory().unwrap_or_else(|| "memory is not told by this system".to_owned())
    );
    Ok(())
}

/// Times between the frames of a window, ms, and what the processor had done before them.
#[derive(Resource, Default)]
struct Paced {
    between: Vec<f32>,
    worked: Option<Duration>,
    /// True if a first page is shown instead of a drill.
    page: bool,
    /// Frames begun since there was something to see.
    seen: usize,
    /// How long after the start of the program the first of them was on the window.
    shown: Option<Duration>,
}

/// When the program began.
#[derive(Resource)]
struct Began(Instant);

/// Turns the person, takes the time, and closes the window after enough frames.
fn pace(
    mut paced: ResMut<Paced>,
    (time, began): (Res<Time<Real>>, Res<Began>),
    work: Option<ResMut<CameraWork>>,
    pieces: Query<(), With<Piece>>,
    mut exit: MessageWriter<AppExit>,
) {
    // An empty window and a page have something to see from the first frame on, and a frame is on the window when the second after it
    // begins.
    paced.seen += usize::from(paced.page || work.is_none() || !pieces.is_empty());
    if paced.seen == 3 {
        paced.shown = Some(began.0.elapsed());
    }
    if let Some(mut work) = work {
        work.turn(0.02, 0.0);
    }
    paced.between.push(time.delta_secs() * 1000.0);
    if paced.between.len() == WINDOW_WARM_UP {
        paced.worked = worked();
    }
    if paced.between.len() < WINDOW_WARM_UP + WINDOW_FRAMES {
        return;
    }
    let mut between = paced.between.split_off(WINDOW_WARM_UP);
    between.sort_by(f32::total_cmp);
    let of_work = match (paced.worked, worked()) {
        (Some(before), Some(now)) => {
            let each = (now - before).as_secs_f64() * 1000.0 / WINDOW_FRAMES as f64;
            format!("{each:.1} ms of processor time")
        }
        _ => "processor time is not told by this system".to_owned(),
    };
    println!(
        "{:.1} ms between frames, {of_work} each; first on the window after {:.2} s",
        between[between.len() / 2],
        paced.shown.unwrap_or_default().as_secs_f64()
    );
    exit.write(AppExit::Success);
}

/// Frames of a window before those that are timed, and those that are.
const WINDOW_WARM_UP: usize = 30;
const WINDOW_FRAMES: usize = 300;

fn one_window(arguments: &[String]) -> Result<(), Fault> {
    let began = Began(Instant::now());
    let text = arguments
        .iter()
        .find(|a| !a.starts_with('-'))
        .ok_or("a size is missing")?;
    let (width, height) = size(text)?;
    let page = arguments.iter().any(|a| a == FIRST_PAGE);
    let mut app = if arguments.iter().any(|a| a == EMPTY_WINDOW) {
        let window = Window {
            resolution: (width, height).into(),
            ..default()
        };
        let mut app = App::new();
        app.add_plugins(DefaultPlugins.set(WindowPlugin {
            primary_window: Some(window),
            ..default()
        }));
        app.add_plugins(Empty(Quality::Plain));
        app
    } else {
        let mut options = smirch::app::AppOptions::new(Content::builtin().map_err(|e| e.to_string())?);
        options.kept.remembered.window = (width, height);
        options.first = match (page, arguments.iter().any(|a| a == LAMP_WINDOW)) {
            (true, _) => vec![],
            (_, true) => vec![view::Command::Lamp(LampUse::On), view::Command::Begin],
            _ => vec![view::Command::Begin],
        };
        smirch::app::window(options)
    };
    app.insert_resource(WinitSettings::continuous())
        .insert_resource(began)
        .insert_resource(Paced { page, ..default() })
        .add_systems(Startup, |mut window: Single<&mut Window>| {
            window.present_mode = PresentMode::AutoNoVsync;
        })
        .add_systems(Update, pace);
    match app.run() {
        AppExit::Success => Ok(()),
        AppExit::Error(code) => Err(format!("the window closed with error {code}").into()),
    }
}

/// Processor time of this process, all threads together, as Linux tells.
fn worked() -> Option<Duration> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    // The name before the bracket may hold blanks.
    let mut fields = stat.rsplit(')').next()?.split_whitespace().skip(11);
    let mut ticks = || fields.next()?.parse::<u64>().ok();
    // Linux counts hundredths of a second here.
    Some(Duration::from_millis((ticks()? + ticks()?) * 10))
}

/// Memory this process holds and the most it has held, as Linux tells.
fn memory() -> Option<String> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let of = |key: &str| -> Option<u64> {
        let line = status.lines().find(|l| l.starts_with(key))?;
        line.split_whitespace().nth(1)?.parse().ok()
    };
    Some(format!(
        "{} MiB resident, {} MiB at most",
        of("VmRSS:")? / 1024,
        of("VmHWM:")? / 1024
    ))
}
