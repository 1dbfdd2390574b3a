//! Pictures that are saved: where, and under which names.

use std::path::{Path, PathBuf};

use bevy::prelude::*;

use crate::record::keep;
use crate::report::{Drawing, png, svg};

/// Where pictures are saved.
#[derive(Resource)]
pub(super) struct PictureFolder(pub PathBuf);

impl Default for PictureFolder {
    fn default() -> Self {
        PictureFolder(PathBuf::from("."))
    }
}

/// Writes a picture as SVG and PNG, and says where, or why not.
pub(super) fn save(folder: &Path, name: &str, picture: &Drawing) -> String {
    let write = || -> Result<PathBuf, String> {
        let fail = |e: std::io::Error| format!("{}: {e}", folder.display());
        std::fs::create_dir_all(folder).map_err(fail)?;
        let svg_at = (1..)
            .map(|n| match n {
                1 => folder.join(format!("{name}.svg")),
                n => folder.join(format!("{name}-{n}.svg")),
            })
            // A name that is free may be taken by another window before it is written to.
            .find_map(|path| match keep::write_new(&path, svg(picture).as_bytes()) {
                Ok(()) => Some(Ok(path)),
                Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => None,
                Err(e) => Some(Err(e)),
            })
            .transpose()
            .map_err(fail)?
            .ok_or_else(|| format!("{}: no name is free", folder.display()))?;
        let png_at = svg_at.with_extension("png");
        keep::write_whole(&png_at, &png(picture)?).map_err(fail)?;
        Ok(png_at)
    };
    match write() {
        Ok(path) => format!("Saved as {} and as SVG beside it", path.display()),
        Err(why) => format!("It could not be saved: {why}"),
    }
}
