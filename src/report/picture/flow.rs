//! A flow from sources through what carried it to where it ended: three columns of blocks and the bands between.

use crate::report::drawing::{Anchor, Area, Drawing, Paint, Shape, Tone, Type};
use crate::report::typeface;
use crate::report::words::{count, figure};

/// What flows, in organisms.
#[derive(Clone, Debug, PartialEq)]
pub struct FlowParts {
    /// Where it sat at the start, with how much, most first.
    pub sources: Vec<(String, f64)>,
    /// What gave it to the end, with how much, most first.
    pub stops: Vec<(String, f64)>,
    /// Where it ended.
    pub end: String,
    /// Source index, stop index, how much. Adds up to both columns.
    pub links: Vec<(usize, usize, f64)>,
}

/// Blocks of a column beyond these are put together.
const MOST: usize = 6;
/// Smallest height of a block as a share of the column, so that little is still seen.
const LEAST: f64 = 0.012;

/// Draws a flow `width` by `height` with text of a size, on a card.
pub fn flow_drawing(parts: &FlowParts, width: f64, height: f64, size: f64) -> Drawing {
    let mut drawing = Drawing {
        width,
        height,
        shapes: Vec::new(),
    };
    drawing.rect(Area::new(0.0, 0.0, width, height), 0.0, Paint::solid(Tone::Card));
    let total: f64 = parts.sources.iter().map(|s| s.1).sum();
    if total <= 0.0 {
        return drawing;
    }
    let parts = gathered(parts);
    let top = size * 2.1;
    let room = height - top - size * 0.5;
    let block = size * 0.9;
    let columns = [0.0, (width - block) * 0.46, width - block];
    for (x, anchor, words) in [
        (0.0, Anchor::Start, "At the start"),
        (columns[1] + block / 2.0, Anchor::Middle, "Came from"),
        (width, Anchor::End, "Ended on"),
    ] {
        drawing.text((x, size), anchor, words, Type::soft(size * 0.92));
    }
    let sources = stack(&parts.sources, total, top, room, size);
    let stops = stack(&parts.stops, total, top, room, size);
    let scale = |amount: f64| amount / total * room * 0.78;
    let end_height = scale(total);
    let end_top = top + (room - end_height) / 2.0;
    bands(
        &mut drawing,
        &parts,
        (&sources, &stops),
        scale,
        columns,
        block,
        end_top,
    );
    for (list, at, x) in [
        (&parts.sources, &sources, columns[0]),
        (&parts.stops, &stops, columns[1]),
    ] {
        for ((label, amount), (y, tall)) in list.iter().zip(at) {
            drawing.rect(Area::new(x, *y, block, *tall), 3.0, Paint::solid(Tone::Accent));
            let most = columns[1] * 0.88 - block;
            let words = format!("{label}: {}", amount_words(*amount));
            let words = typeface::fit(&words, size, false, most);
            drawing.text(
                (x + block + size * 0.4, y + tall / 2.0 + size * 0.34),
                Anchor::Start,
                words,
                Type::plain(size),
            );
        }
    }
    drawing.rect(
        Area::new(columns[2], end_top, block, end_height),
        3.0,
        Paint::solid(Tone::Attention),
    );
    let most = (columns[2] - columns[1]) * 0.42;
    let mut lines = typeface::fit_lines(&parts.end, size, true, most, 2);
    lines.push(amount_words(total));
    let pitch = size * 1.2;
    let first = end_top + end_height / 2.0 - pitch * (lines.len() as f64 - 2.0) / 2.0;
    for (n, line) in lines.into_iter().enumerate() {
        let at = (columns[2] - size * 0.4, first + pitch * n as f64);
        drawing.text(at, Anchor::End, line, Type::bold(size));
    }
    drawing
}

/// A whole number as it is counted, anything else with three figures.
fn amount_words(amount: f64) -> String {
    if (amount - amount.round()).abs() < 1e-6 * amount.max(1.0) {
        count(amount.round() as u64)
    } else {
        figure(amount)
    }
}

/// Top and height of a block.
type Block = (f64, f64);

/// Top and height of each block of a column, spread over the room.
fn stack(list: &[(String, f64)], total: f64, top: f64, room: f64, size: f64) -> Vec<Block> {
    let heights: Vec<f64> = list
        .iter()
        .map(|(_, amount)| (amount / total * room * 0.78).max(room * LEAST))
        .collect();
    // A block needs its height, and its label a line.
    let slots: Vec<f64> = heights.iter().map(|h| h.max(size * 1.25)).collect();
    let spare = (room - slots.iter().sum::<f64>()).max(0.0);
    let gap = spare / (list.len() + 1) as f64;
    let mut y = top;
    slots
        .iter()
        .zip(&heights)
        .map(|(slot, height)| {
            y += gap;
            let at = y + (slot - height) / 2.0;
            y += slot;
            (at, *height)
        })
        .collect()
}

fn bands(
    drawing: &mut Drawing,
    parts: &FlowParts,
    (sources, stops): (&[Block], &[Block]),
    scale: impl Fn(f64) -> f64,
    columns: [f64; 3],
    block: f64,
    end_top: f64,
) {
    let mut from_source: Vec<f64> = sources.iter().map(|s| s.0).collect();
    let mut onto_stop: Vec<f64> = stops.iter().map(|s| s.0).collect();
    for &(source, stop, amount) in &parts.links {
        let tall = scale(amount).max(1.0);
        drawing.shapes.push(Shape::Ribbon {
            from: (
                columns[0] + block,
                from_source[source],
                from_source[source] + tall,
            ),
            to: (columns[1], onto_stop[stop], onto_stop[stop] + tall),
            tone: Tone::Accent,
            opacity: 0.30,
        });
        from_source[source] += tall;
        onto_stop[stop] += tall;
    }
    let mut onto_end = end_top;
    for ((_, amount), (y, _)) in parts.stops.iter().zip(stops) {
        let tall = scale(*amount).max(1.0);
        drawing.shapes.push(Shape::Ribbon {
            from: (columns[1] + block, *y, y + tall),
            to: (columns[2], onto_end, onto_end + tall),
            tone: Tone::Attention,
            opacity: 0.30,
        });
        onto_end += tall;
    }
}

/// The same with the smallest blocks of a column put together.
fn gathered(parts: &FlowParts) -> FlowParts {
    let gather = |list: &[(String, f64)]| -> Vec<(String, f64)> {
        if list.len() <= MOST {
            return list.to_vec();
        }
        let mut kept = list[..MOST - 1].to_vec();
        let rest = &list[MOST - 1..];
        kept.push((format!("{} others", rest.len()), rest.iter().map(|r| r.1).sum()));
        kept
    };
    let (sources, stops) = (gather(&parts.sources), gather(&parts.stops));
    let within = |i: usize, of: usize| i.min(of - 1);
    let mut links: Vec<(usize, usize, f64)> = Vec::new();
    for &(source, stop, amount) in &parts.links {
        let at = (within(source, sources.len()), within(stop, stops.len()));
        match links.iter_mut().find(|l| (l.0, l.1) == at) {
            Some(link) => link.2 += amount,
            None => links.push((at.0, at.1, amount)),
        }
    }
    links.sort_by_key(|l| (l.0, l.1));
    FlowParts {
        sources,
        stops,
        end: parts.end.clone(),
        links,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(many: usize) -> FlowParts {
        let list = |word: &str| -> Vec<(String, f64)> {
            (0..many)
                .map(|i| (format!("{word} {i}"), (many - i) as f64))
                .collect()
        };
        FlowParts {
            sources: list("gown, chest"),
            stops: list("left hand, palm"),
            end: "lips".to_owned(),
            links: (0..many).map(|i| (i, i, (many - i) as f64)).collect(),
        }
    }

    #[test]
    fn everything_lies_inside_and_texts_do_not_run_into_each_other() {
        for many in [1, 3, 14] {
            let drawing = flow_drawing(&parts(many), 900.0, 420.0, 16.0);
            let canvas = Area::new(0.0, 0.0, drawing.width, drawing.height);
            let texts: Vec<Area> = drawing
                .shapes
                .iter()
                .filter(|s| matches!(s, Shape::Text { .. }))
                .map(Shape::extent)
                .collect();
            for shape in &drawing.shapes {
                assert!(
                    canvas.holds(&shape.extent()),
                    "{many}: {shape:?} leaves the picture"
                );
            }
            for (i, a) in texts.iter().enumerate() {
                for b in &texts[i + 1..] {
                    assert!(!a.overlaps(b), "{many}: {a:?} and {b:?} overlap");
                }
            }
        }
    }

    #[test]
    fn what_is_put_together_still_adds_up() {
        let all = parts(14);
        let some = gathered(&all);
        assert_eq!(some.sources.len(), MOST);
        let sum = |list: &[(String, f64)]| list.iter().map(|x| x.1).sum::<f64>();
        assert_eq!(sum(&some.sources), sum(&all.sources));
        assert_eq!(some.links.iter().map(|l| l.2).sum::<f64>(), sum(&all.stops));
    }
}
