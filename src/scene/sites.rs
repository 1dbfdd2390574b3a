//! The data texture: what each site shows, one texel per site.

use bevy::asset::RenderAssetUsages;
use bevy::image::Image;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};

use crate::view::stage::Stage;

/// Texels per row.
pub const WIDTH: usize = 64;
/// Rows of texels.
pub const HEIGHT: usize = 32;
/// The texel that belongs to no site: walls, shadows.
pub const NOWHERE: usize = WIDTH * HEIGHT - 1;

/// The count at which a patch is as full of specks as it gets.
pub const FULL_COUNT: f32 = 1.0e6;
/// Fewest specks a patch with anything on it shows, on average.
const LEAST_SPECKS: f32 = 5.0;
/// How many times as large specks are on hands that are held out to a room.
const LARGER: f32 = 1.6;

/// An empty texture of the right size.
pub fn blank() -> Image {
    Image::new(
        Extent3d {
            width: WIDTH as u32,
            height: HEIGHT as u32,
            depth_or_array_layers: 1,
        },
        TextureDimension::D2,
        vec![0; WIDTH * HEIGHT * 4],
        TextureFormat::Rgba8Unorm,
        RenderAssetUsages::MAIN_WORLD | RenderAssetUsages::RENDER_WORLD,
    )
}

/// Edge of the cells specks sit in, metres, for a patch of this area (m2).
pub fn speck_cell(area: f32) -> f32 {
    if area > 1.0 {
        0.040
    } else {
        (0.055 * (area.max(0.0)).sqrt()).clamp(0.0042, 0.0130)
    }
}

/// Share of cells that hold a speck, 0 to 1, on a logarithmic scale of the count.
///
/// Nothing shows nothing; one organism shows a handful of specks whatever the patch's size; a million fill it.
pub fn fullness(count: u64, area: f32) -> f32 {
    if count == 0 {
        return 0.0;
    }
    let cell = speck_cell(area);
    let cells = (area / (cell * cell) * 1.3).max(1.0);
    let least = (LEAST_SPECKS / cells).clamp(0.004, 0.5);
    let scale = ((count as f32).ln() / FULL_COUNT.ln()).clamp(0.0, 1.0);
    least * (0.85 / least).powf(scale)
}

/// The texture's bytes for a stage. `area` is each patch's drawn area in m2, see
/// [`super::kit::areas`].
pub fn bytes(stage: &Stage, area: &[f32], lit: Option<usize>) -> Vec<u8> {
    let mut out = vec![0u8; WIDTH * HEIGHT * 4];
    for (i, patch) in stage.patches.iter().enumerate().take(NOWHERE) {
        let texel = &mut out[i * 4..i * 4 + 4];
        let area = area[i];
        // With the lamp off the load never reaches the texture, so it cannot show.
        if stage.lamp && patch.count >= stage.seen_from.max(1) {
            texel[0] = (fullness(patch.count, area).sqrt() * 255.0)
                .ceil()
                .clamp(1.0, 255.0) as u8;
            // What is held out to a room is drawn with larger specks.
            let larger = if stage.shows.is_some() { LARGER } else { 1.0 };
            texel[3] = ((speck_cell(area) * larger / 0.0035).log2() / 4.0 * 255.0)
                .round()
                .clamp(0.0, 255.0) as u8;
        }
        if lit == Some(i) {
            texel[1] = 255;
        }
    }
    for i in stage.wet.iter().copied().filter(|i| *i < NOWHERE) {
        out[i * 4 + 2] = 255;
    }
    out
}
