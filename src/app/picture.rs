//! Pictures without a screen: draws stages to images, for reports, tests and checking by eye.

use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use bevy::app::PluginGroupBuilder;
use bevy::camera::RenderTarget;
use bevy::ecs::system::RunSystemOnce;
use bevy::image::ImageFormat;
use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::render::render_resource::TextureFormat;
use bevy::render::renderer::initialize_renderer;
use bevy::render::settings::{Backends, RenderCreation, WgpuSettings};
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use bevy::tasks::block_on;
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;

use super::{engine, machine};
use crate::outside::clock::Stopwatch;
use crate::outside::write;
use crate::scene::labels::{Label, corners_of_figure, labels};
use crate::scene::{CameraWork, NamedView, SceneCamera, ScenePlugin, SceneRect, SceneSettings, StageView};
use crate::view::stage::Stage;

/// A picture in memory: 8-bit RGBA rows from the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Four bytes a pixel.
    pub rgba: Vec<u8>,
}

/// Why a picture could not be made.
#[derive(Debug)]
pub enum PictureError {
    /// No graphics adapter, not even a software one.
    NoAdapter,
    /// The renderer gave nothing back in time.
    NoPicture,
    /// A sheet of frames would be this wide and high, more than can be made.
    TooLarge(u32, u32),
    /// Words could not be laid over the picture, and why.
    Words(String),
    /// The file could not be written.
    Write(std::path::PathBuf, String),
}

impl std::fmt::Display for PictureError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoAdapter => write!(
                f,
                "no picture can be drawn: there is no graphics driver (Vulkan)\n   hint: on Debian, `apt install libvulkan1 \
                 mesa-vulkan-drivers`, which draws without a graphics card too; all other commands need none, see `smirch --help`"
            ),
            Self::NoPicture => write!(f, "the renderer returned no picture"),
            Self::TooLarge(width, height) => write!(
                f,
                "the sheet would be {width} x {height} pixels, which is too large\n   hint: smaller frames make a smaller sheet"
            ),
            Self::Words(why) => write!(f, "words cannot be laid over the picture: {why}"),
            Self::Write(path, why) => write!(f, "{} could not be written: {why}", path.display()),
        }
    }
}

impl std::error::Error for PictureError {}

impl Picture {
    /// The picture as the bytes of a PNG file.
    ///
    /// # Errors
    /// Why it could not be encoded.
    pub fn png(&self) -> Result<Vec<u8>, String> {
        let image = Image::new(
            bevy::render::render_resource::Extent3d {
                width: self.width,
                height: self.height,
                depth_or_array_layers: 1,
            },
            bevy::render::render_resource::TextureDimension::D2,
            self.rgba.clone(),
            TextureFormat::Rgba8UnormSrgb,
            bevy::asset::RenderAssetUsages::MAIN_WORLD,
        );
        let png = ImageFormat::Png
            .as_image_crate_format()
            .ok_or("this build cannot write PNG")?;
        let image = image.try_into_dynamic().map_err(|e| e.to_string())?;
        let mut bytes = std::io::Cursor::new(Vec::new());
        image
            .to_rgb8()
            .write_to(&mut bytes, png)
            .map_err(|e| e.to_string())?;
        Ok(bytes.into_inner())
    }

    /// Writes the picture as a PNG file.
    ///
    /// # Errors
    /// If it cannot be encoded or written.
    pub fn save(&self, path: &Path) -> Result<(), PictureError> {
        let fail = |why: String| PictureError::Write(path.to_path_buf(), why);
        let bytes = self.png().map_err(fail)?;
        write::whole(path, &bytes).map_err(|e| fail(e.to_string()))
    }
}

/// Bevy's plugins for drawing without a window, an event loop or threads of its own for rendering.
fn headless_plugins() -> PluginGroupBuilder {
    DefaultPlugins
        .set(WindowPlugin {
            primary_window: None,
            exit_condition: ExitCondition::DontExit,
            ..default()
        })
        .disable::<WinitPlugin>()
        .disable::<PipelinedRenderingPlugin>()
        .disable::<LogPlugin>()
}

/// How long a picture may take to come back from the renderer.
const PATIENCE: Duration = Duration::from_secs(30);

/// A drawing room without a screen: one renderer for any number of pictures of one size.
pub struct Studio {
    /// The app that draws; tests reach into its world.
    pub app: App,
    target: Handle<Image>,
    size: UVec2,
    taken: Arc<Mutex<Option<Image>>>,
}

impl Studio {
    /// Sets up the renderer and the scene. Fails if there is no graphics adapter at all.
    pub fn new(width: u32, height: u32) -> Result<Studio, PictureError> {
        crate::scene::begin();
        let plugins = engine::lean(headless_plugins());
        Studio::set_up(width, height, plugins, &engine::settings(), ScenePlugin)
    }

    /// Sets up the engine as it comes and something else to draw, which has to bring one [`SceneCamera`]; to compare with.
    ///
    /// # Errors
    /// If there is no graphics adapter, or not one camera.
    pub fn with(width: u32, height: u32, drawn: impl Plugin) -> Result<Studio, PictureError> {
        Studio::set_up(width, height, headless_plugins(), &WgpuSettings::default(), drawn)
    }

    fn set_up(
        width: u32,
        height: u32,
        plugins: PluginGroupBuilder,
        settings: &WgpuSettings,
        drawn: impl Plugin,
    ) -> Result<Studio, PictureError> {
        let mut app = App::new();
        let renderer = RenderPlugin {
            render_creation: renderer(settings)?,
            synchronous_pipeline_compilation: true,
            ..default()
        };
        app.add_plugins(plugins.set(renderer)).add_plugins(drawn);
        app.insert_resource(SceneSettings {
            still: true,
            ..default()
        });
        app.finish();
        app.cleanup();
        let image = Image::new_target_texture(width, height, TextureFormat::Rgba8UnormSrgb, None);
        let target = app.world_mut().resource_mut::<Assets<Image>>().add(image);
        app.update();
        let mut cameras = app.world_mut().query_filtered::<Entity, With<SceneCamera>>();
        let camera = cameras.single(app.world()).map_err(|_| PictureError::NoPicture)?;
        app.world_mut()
            .entity_mut(camera)
            .insert(RenderTarget::Image(target.clone().into()));
        Ok(Studio {
            app,
            target,
            size: UVec2::new(width, height),
            taken: Arc::default(),
        })
    }

    /// Shows a stage from a named view; the next picture is of it.
    pub fn show(&mut self, stage: Stage, view: NamedView) {
        let world = self.app.world_mut();
        world.resource_mut::<StageView>().0 = stage;
        world.resource_mut::<CameraWork>().go(view, true);
        self.app.update();
    }

    /// Shows two people side by side, each in its half; the next picture is of both.
    pub fn show_pair(&mut self, stages: [Stage; 2], view: NamedView) {
        let [first, second] = stages;
        let world = self.app.world_mut();
        let mut shown = world.resource_mut::<StageView>();
        shown.0 = first;
        shown.1 = Some(second);
        world.resource_mut::<SceneRect>().physical = Some(URect::from_corners(UVec2::ZERO, self.size));
        world.resource_mut::<CameraWork>().go(view, true);
        // The second comes into being with the first frame and is dressed and painted with the next.
        for _ in 0..3 {
            self.app.update();
        }
    }

    /// Takes a picture of what is shown.
    pub fn take(&mut self) -> Result<Picture, PictureError> {
        let taken = self.taken.clone();
        self.app.update();
        self.app
            .world_mut()
            .spawn(Screenshot::image(self.target.clone()))
            .observe(move |shot: On<ScreenshotCaptured>| {
                if let Ok(mut slot) = taken.lock() {
                    *slot = Some(shot.image.clone());
                }
            });
        // A large picture takes its time to come back, however quickly frames go by meanwhile.
        let asked = Stopwatch::start();
        while asked.passed() < PATIENCE {
            self.app.update();
            let got = self.taken.lock().ok().and_then(|mut slot| slot.take());
            if let Some(rgba) = got.and_then(|i| i.data) {
                return Ok(Picture {
                    width: self.size.x,
                    height: self.size.y,
                    rgba,
                });
            }
        }
        Err(PictureError::NoPicture)
    }

    /// What deserves a name in the picture that is shown, the most important first.
    ///
    /// # Errors
    /// If the scene is not set up.
    pub fn labels(&mut self) -> Result<Vec<Label>, PictureError> {
        self.app
            .world_mut()
            .run_system_once_with(labels, usize::MAX)
            .map_err(|e| PictureError::Words(e.to_string()))
    }

    /// Where the corners of the person and all they wear or hold are in the picture that is shown: pixels from its
    /// top left.
    ///
    /// # Errors
    /// If the scene is not set up.
    pub fn figure(&mut self) -> Result<Vec<Vec2>, PictureError> {
        self.app
            .world_mut()
            .run_system_once(corners_of_figure)
            .map_err(|e| PictureError::Words(e.to_string()))
    }

    /// A picture of a stage from a named view.
    pub fn picture(&mut self, stage: Stage, view: NamedView) -> Result<Picture, PictureError> {
        self.show(stage, view);
        self.take()
    }
}

/// Draws stages from the given views, all at one size; starts and ends its own renderer.
pub fn render(
    stages: impl IntoIterator<Item = (Stage, NamedView)>,
    width: u32,
    height: u32,
) -> Result<Vec<Picture>, PictureError> {
    let mut studio = Studio::new(width, height)?;
    stages
        .into_iter()
        .map(|(stage, view)| studio.picture(stage, view))
        .collect()
}

/// The renderer, set up by hand so that a missing adapter is an error and not the end of the program.
fn renderer(settings: &WgpuSettings) -> Result<RenderCreation, PictureError> {
    if !machine::adapter() {
        return Err(PictureError::NoAdapter);
    }
    let backends = settings.backends.unwrap_or(Backends::all());
    let made = block_on(initialize_renderer(backends, None, settings));
    Ok(RenderCreation::Manual(made))
}
