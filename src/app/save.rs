//! Pictures that are saved: where, and under which names.

use std::path::{Path, PathBuf};

use bevy::prelude::*;

use crate::outside::{files, write};
use crate::report::{Drawing, png, svg};

/// Where pictures are saved.
#[derive(Resource)]
pub(super) struct PictureFolder(pub PathBuf);

impl Default for PictureFolder {
    fn default() -> Self {
        PictureFolder(PathBuf::from("."))
    }
}

/// Writes a file under a name that is free, with a number after it if need be.
fn write_free(folder: &Path, name: &str, ending: &str, bytes: &[u8]) -> Result<PathBuf, String> {
    let fail = |e: std::io::Error| format!("{}: {e}", folder.display());
    files::make_folders(folder).map_err(fail)?;
    (1..)
        .map(|n| match n {
            1 => folder.join(format!("{name}.{ending}")),
            n => folder.join(format!("{name}-{n}.{ending}")),
        })
        // A name that is free may be taken by another window before it is written to.
        .find_map(|path| match write::new(&path, bytes) {
            Ok(()) => Some(Ok(path)),
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => None,
            Err(e) => Some(Err(e)),
        })
        .transpose()
        .map_err(fail)?
        .ok_or_else(|| format!("{}: no name is free", folder.display()))
}

/// Writes a picture beside a file, under its name with another ending.
fn write_beside(file: &Path, ending: &str, bytes: &[u8]) -> Result<PathBuf, String> {
    let path = file.with_extension(ending);
    write::whole(&path, bytes).map_err(|e| format!("{}: {e}", path.display()))?;
    Ok(path)
}

/// Writes a picture as SVG and PNG, and says where, or why not.
pub(super) fn save(folder: &Path, name: &str, picture: &Drawing) -> String {
    let write = || -> Result<PathBuf, String> {
        let svg_at = write_free(folder, name, "svg", svg(picture).as_bytes())?;
        write_beside(&svg_at, "png", &png(picture)?)
    };
    match write() {
        Ok(path) => format!("Saved as {} and as SVG beside it", path.display()),
        Err(why) => format!("It could not be saved: {why}"),
    }
}

/// Writes a report as a page, its figure as SVG and PNG beside it, and says where, or why not.
pub(super) fn save_report(folder: &Path, name: &str, html: &str, picture: &Drawing) -> String {
    let write = || -> Result<PathBuf, String> {
        let page = write_free(folder, name, "html", html.as_bytes())?;
        write_beside(&page, "svg", svg(picture).as_bytes())?;
        write_beside(&page, "png", &png(picture)?)?;
        Ok(page)
    };
    match write() {
        Ok(path) => format!(
            "Saved as {}: open it in any browser to print it; its figure is beside it",
            path.display()
        ),
        Err(why) => format!("It could not be saved: {why}"),
    }
}
