//! Drawings as files: SVG, and PNG made from it with the bundled typeface, never one of the system's.

use std::fmt::Write;
use std::sync::{Arc, LazyLock};

use resvg::{tiny_skia, usvg};

use super::drawing::{Anchor, Drawing, Paint, Shape, Tone};
use super::typeface;
use crate::palette;

/// A drawing as SVG. A viewer without the typeface shows its own sans-serif one.
pub fn svg(drawing: &Drawing) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let mut add = |text: String| {
        let _ = writeln!(out, "{text}");
    };
    let (width, height) = (drawing.width, drawing.height);
    add(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" font-family=\"'{}', sans-serif\">",
        typeface::FAMILY
    ));
    for shape in &drawing.shapes {
        add(element(shape));
    }
    add("</svg>".to_owned());
    out
}

/// The same to stand within a page, where it needs no name space of its own.
pub(super) fn inline_svg(drawing: &Drawing) -> String {
    svg(drawing).replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1)
}

fn element(shape: &Shape) -> String {
    match shape {
        Shape::Rect { area, radius, paint } => format!(
            "<rect x=\"{:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{:.2}\" rx=\"{radius:.2}\" {}/>",
            area.x,
            area.y,
            area.width,
            area.height,
            look(paint)
        ),
        Shape::Circle { x, y, radius, paint } => {
            format!(
                "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius:.2}\" {}/>",
                look(paint)
            )
        }
        Shape::Polygon { points, paint } => {
            format!("<polygon points=\"{}\" {}/>", points_text(points), look(paint))
        }
        Shape::Line { points, width, tone } => format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width:.2}\" stroke-linejoin=\"round\"/>",
            points_text(points),
            colour(*tone)
        ),
        Shape::Ribbon {
            from,
            to,
            tone,
            opacity,
        } => {
            let half = (from.0 + to.0) / 2.0;
            format!(
                "<path d=\"M{:.2} {:.2} C{half:.2} {:.2} {half:.2} {:.2} {:.2} {:.2} L{:.2} {:.2} C{half:.2} {:.2} {half:.2} {:.2} {:.2} {:.2} Z\" fill=\"{}\" fill-opacity=\"{opacity:.2}\"/>",
                from.0,
                from.1,
                from.1,
                to.1,
                to.0,
                to.1,
                to.0,
                to.2,
                to.2,
                from.2,
                from.0,
                from.2,
                colour(*tone)
            )
        }
        Shape::Text {
            x,
            y,
            text,
            size,
            bold,
            anchor,
            tone,
        } => format!(
            "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size:.2}\"{} text-anchor=\"{}\" fill=\"{}\">{}</text>",
            if *bold { " font-weight=\"bold\"" } else { "" },
            match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            },
            colour(*tone),
            escape(text)
        ),
    }
}

fn points_text(points: &[(f64, f64)]) -> String {
    let points: Vec<String> = points.iter().map(|(x, y)| format!("{x:.2},{y:.2}")).collect();
    points.join(" ")
}

fn look(paint: &Paint) -> String {
    let fill = paint.fill.map_or("none".to_owned(), colour);
    match paint.edge {
        Some((tone, width)) => format!(
            "fill=\"{fill}\" stroke=\"{}\" stroke-width=\"{width:.2}\"",
            colour(tone)
        ),
        None => format!("fill=\"{fill}\""),
    }
}

fn colour(tone: Tone) -> String {
    tone.on(&palette::DAY).to_string()
}

/// Text that is safe inside SVG; characters that XML cannot hold are left out.
fn escape(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_control())
        .collect::<String>()
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// A drawing as PNG, one pixel per unit.
///
/// # Errors
/// A sentence: the picture is too large to hold or has no size.
pub fn png(drawing: &Drawing) -> Result<Vec<u8>, String> {
    static FONTS: LazyLock<Arc<usvg::fontdb::Database>> = LazyLock::new(|| {
        let mut fonts = usvg::fontdb::Database::new();
        fonts.load_font_data(typeface::REGULAR.to_vec());
        fonts.load_font_data(typeface::BOLD.to_vec());
        fonts.set_sans_serif_family(typeface::FAMILY);
        Arc::new(fonts)
    });
    let options = usvg::Options {
        font_family: typeface::FAMILY.to_owned(),
        fontdb: FONTS.clone(),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(&svg(drawing), &options)
        .map_err(|e| format!("the picture cannot be drawn: {e}"))?;
    let mut pixels = tiny_skia::Pixmap::new(drawing.width as u32, drawing.height as u32)
        .ok_or_else(|| "the picture cannot be drawn: it has no size or is too large".to_owned())?;
    resvg::render(&tree, tiny_skia::Transform::identity(), &mut pixels.as_mut());
    pixels
        .encode_png()
        .map_err(|e| format!("the picture cannot be drawn: {e}"))
}
