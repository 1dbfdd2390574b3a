//! A tornado plot of a sensitivity analysis as SVG: one bar per constant, longest on top.

use std::fmt::Write;

use crate::analysis::Effect;

const ROW: f64 = 34.0;
const LEFT: f64 = 470.0;
const WIDTH: f64 = 1280.0;

/// Text that is safe inside SVG.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// Draws the `most` largest effects. Readable without colour: the end for the low value is hatched, the other solid.
pub fn tornado_svg(title: &str, unit: &str, effects: &[Effect], most: usize) -> String {
    let shown = &effects[..effects.len().min(most)];
    let height = 150.0 + ROW * shown.len() as f64;
    let top = shown
        .iter()
        .flat_map(|e| [e.at_range.0, e.at_range.1, e.at_value])
        .fold(0.0_f64, f64::max)
        .max(f64::MIN_POSITIVE);
    let x = |value: f64| LEFT + (WIDTH - LEFT - 60.0) * value / top;
    let mut svg = String::new();
    let mut add = |text: String| {
        let _ = writeln!(svg, "{text}");
    };
    add(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" font-family=\"'Atkinson Hyperlegible', sans-serif\" fill=\"#1E2A36\">"
    ));
    add(format!(
        "<rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#FFFFFF\"/>"
    ));
    add("<defs><pattern id=\"low\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect width=\"8\" height=\"8\" fill=\"#DCEAE7\"/><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"8\" stroke=\"#0F6B66\" stroke-width=\"4\"/></pattern></defs>".to_owned());
    add(format!(
        "<text x=\"30\" y=\"44\" font-size=\"26\" font-weight=\"bold\">{}</text>",
        escape(title)
    ));
    add(format!(
        "<text x=\"30\" y=\"74\" font-size=\"16\" fill=\"#5A6873\">mean {} at the end; hatched: constant at the low end of its range, solid: at the high end</text>",
        escape(unit)
    ));
    for (n, effect) in shown.iter().enumerate() {
        let y = 96.0 + ROW * n as f64;
        add(format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"16\" text-anchor=\"end\">{}</text>",
            LEFT - 12.0,
            y + 20.0,
            escape(&effect.constant)
        ));
        for (value, fill) in [(effect.at_range.0, "url(#low)"), (effect.at_range.1, "#0F6B66")] {
            let (a, b) = (x(value.min(effect.at_value)), x(value.max(effect.at_value)));
            add(format!(
                "<rect x=\"{a:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"22\" fill=\"{fill}\"/>",
                y + 3.0,
                (b - a).max(0.5)
            ));
        }
    }
    if let Some(first) = shown.first() {
        let at = x(first.at_value);
        let end = 96.0 + ROW * shown.len() as f64;
        add(format!(
            "<line x1=\"{at:.1}\" y1=\"90\" x2=\"{at:.1}\" y2=\"{end}\" stroke=\"#1E2A36\" stroke-width=\"2\"/>"
        ));
        add(format!(
            "<text x=\"{at:.1}\" y=\"{}\" font-size=\"16\" text-anchor=\"middle\">{:.3}</text>",
            end + 24.0,
            first.at_value
        ));
        add(format!(
            "<text x=\"{:.1}\" y=\"{}\" font-size=\"16\" text-anchor=\"end\">{top:.3}</text>",
            x(top),
            end + 24.0
        ));
    }
    add("</svg>".to_owned());
    svg
}
