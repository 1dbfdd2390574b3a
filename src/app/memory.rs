//! The file in which the window keeps what was set. What cannot be read is left as it is, with a word on why; nothing here
//! ever keeps the window from opening.

use std::path::{Path, PathBuf};

use bevy::log::warn;
use bevy::prelude::*;
use bevy::window::{PrimaryWindow, WindowMode};

use super::the_desk::TheDesk;
use crate::outside::files::{self, Kind};
use crate::outside::write;
use crate::view::remembered::{MOST, Remembered};

/// What the file said, and whether it may be written again.
#[derive(Clone, Debug, Default)]
pub struct Kept {
    /// What was set the last time; the usual if there is no file.
    pub remembered: Remembered,
    /// Where it is kept; nowhere if what is there cannot be read, so that it is not lost.
    pub file: Option<PathBuf>,
    /// Why it could not be read.
    pub notice: Option<String>,
}

/// Reads the file, if there is one.
pub fn recall(file: &Path) -> Kept {
    match read(file) {
        Ok(remembered) => Kept {
            remembered: remembered.unwrap_or_default(),
            file: Some(file.to_owned()),
            notice: None,
        },
        Err(why) => Kept {
            notice: Some(format!(
                "What was set the last time could not be read, and stays as it is; nothing is remembered until it is \
                 mended or deleted: {}: {why}",
                file.display()
            )),
            ..Kept::default()
        },
    }
}

fn read(file: &Path) -> Result<Option<Remembered>, String> {
    match files::kind(file) {
        Ok(Kind::File) => {}
        Ok(_) => return Err("this is no file".to_owned()),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(e.to_string()),
    }
    let mut bytes = Vec::new();
    if files::read_at_most(file, MOST, &mut bytes).map_err(|e| e.to_string())? > MOST {
        return Err(format!("it is larger than {MOST} bytes"));
    }
    let text = String::from_utf8(bytes).map_err(|_| "it is no text".to_owned())?;
    Remembered::read(&text).map(Some)
}

/// Writes the file, whole or not at all.
fn write(file: &Path, remembered: &Remembered) -> Result<(), String> {
    let text = remembered.text()?;
    let fail = |e: std::io::Error| e.to_string();
    let folder = file.parent().filter(|f| !f.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    files::make_folders(folder).map_err(fail)?;
    write::over(file, text.as_bytes()).map_err(fail)
}

pub(super) struct MemoryPlugin(pub Kept);

impl Plugin for MemoryPlugin {
    fn build(&self, app: &mut App) {
        let Some(file) = self.0.file.clone() else { return };
        app.insert_resource(Memory {
            file,
            size: self.0.remembered.size(),
            written: self.0.remembered.clone(),
        })
        .add_systems(Last, remember);
    }
}

#[derive(Resource)]
struct Memory {
    file: PathBuf,
    /// The window's size while it was last seen.
    size: (u32, u32),
    written: Remembered,
}

/// Writes what has changed: settings at once, the window's size with them or at the end, since it changes with every
/// frame while an edge is drawn.
fn remember(
    mut memory: ResMut<Memory>,
    desk: Res<TheDesk>,
    windows: Query<&Window, With<PrimaryWindow>>,
    mut exit: MessageReader<AppExit>,
) {
    let mut full_screen = memory.written.full_screen;
    if let Ok(window) = windows.single() {
        full_screen = window.mode != WindowMode::Windowed;
        let size = (window.width().round() as u32, window.height().round() as u32);
        // That of the whole screen is nobody's choice of a window.
        if size.0 > 0 && size.1 > 0 && window.mode == WindowMode::Windowed {
            memory.bypass_change_detection().size = size;
        }
    }
    let ending = exit.read().count() > 0;
    let now = Remembered::of(desk.0.settings_to_keep(), memory.size).filling(full_screen);
    let mut set = now.clone();
    set.window = memory.written.window;
    if set == memory.written && !(ending && now != memory.written) {
        return;
    }
    if let Err(why) = write(&memory.file, &now) {
        warn!("{} cannot be written: {why}", memory.file.display());
    }
    memory.written = now;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::view::settings::{LampUse, Settings};
    use std::fs;

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().unwrap_or_else(|e| panic!("the temporary folder can be written: {e}"))
    }

    #[test]
    fn what_is_kept_is_there_again_and_without_a_file_all_is_as_usual() {
        let folder = folder();
        let file = folder.path().join("deep/er/settings.ron");
        assert_eq!(recall(&file).remembered, Remembered::default());
        let settings = Settings {
            lamp: LampUse::On,
            text_scale: 150,
            ..Settings::default()
        };
        let kept = Remembered::of(&settings, (1600, 900));
        write(&file, &kept).unwrap_or_else(|e| panic!("{e}"));
        let again = recall(&file);
        assert_eq!(again.remembered, kept);
        assert_eq!((again.file, again.notice), (Some(file.clone()), None));
        let beside = fs::read_dir(folder.path().join("deep/er")).map(Iterator::count);
        assert_eq!(beside.ok(), Some(1), "nothing else is left in the folder");
    }

    #[test]
    fn what_cannot_be_read_is_left_alone_and_said() {
        let folder = folder();
        for (name, text) in [("broken.ron", "(lamp: "), ("later.ron", "(format: 9)")] {
            let file = folder.path().join(name);
            fs::write(&file, text).unwrap_or_else(|e| panic!("{e}"));
            let kept = recall(&file);
            assert_eq!(kept.file, None, "{name} would be written over");
            assert_eq!(kept.remembered, Remembered::default());
            let notice = kept.notice.unwrap_or_default();
            assert!(notice.contains(name), "{notice}");
            assert_eq!(fs::read_to_string(&file).ok().as_deref(), Some(text));
        }
        let kept = recall(folder.path());
        assert!(
            kept.file.is_none() && kept.notice.is_some(),
            "a folder is no file"
        );
    }
}
