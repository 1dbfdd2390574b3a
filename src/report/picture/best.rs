//! The best orders of a kit: at most three ways beside each other, each a list of steps.

use super::frame::frame;
use crate::report::BestAnswer;
use crate::report::drawing::{Anchor, Area, Drawing, LINE_PITCH, Paint, SMALLEST_TEXT, Tone, Type};
use crate::report::typeface;

/// Distance of text from the edge of its card, pixels.
const INSET: f64 = 28.0;

/// The answer as a picture: its sentence, and a card for each way.
pub fn best_picture(title: &str, answer: &BestAnswer) -> Drawing {
    let (mut drawing, area) = frame(title, &answer.sentence);
    let mut y = area.y + SMALLEST_TEXT;
    for line in [&answer.scope, &answer.measure] {
        let type_ = Type::soft(SMALLEST_TEXT);
        y = drawing.paragraph((area.x, y), Anchor::Start, line, type_, area.width, 3);
    }
    let top = y - SMALLEST_TEXT + 16.0;
    let cards = Area::new(area.x, top, area.width, area.bottom() - top);
    for (column, card) in cards.columns(answer.cards.len(), 32.0).iter().zip(&answer.cards) {
        drawing.rect(*column, 16.0, Paint::edged(Tone::Card, Tone::Line, 2.0));
        let (x, width) = (column.x + INSET, column.width - 2.0 * INSET);
        let title = Type::bold(30.0);
        let at = drawing.paragraph((x, column.y + 48.0), Anchor::Start, &card.title, title, width, 2);
        let soft = Type::soft(SMALLEST_TEXT);
        let mut at = drawing.paragraph((x, at), Anchor::Start, &card.figures, soft, width, 3);
        if !card.agreed.is_empty() {
            at = drawing.paragraph((x, at), Anchor::Start, &card.agreed, soft, width, 2);
        }
        steps(
            &mut drawing,
            Area::new(x, at, width, column.bottom() - INSET - at),
            &card.order,
        );
    }
    drawing
}

/// Numbered steps, in one column or in as many as it takes.
fn steps(drawing: &mut Drawing, area: Area, order: &[String]) {
    let type_ = Type::plain(SMALLEST_TEXT);
    let pitch = SMALLEST_TEXT * LINE_PITCH;
    let fit = ((area.height / pitch) as usize).max(1);
    let columns = order.len().div_ceil(fit).max(1);
    let each = order.len().div_ceil(columns).max(1);
    for (column, part) in area
        .columns(columns, 16.0)
        .into_iter()
        .zip(order.chunks(each).enumerate())
    {
        let (number, words) = part;
        for (n, word) in words.iter().enumerate() {
            let said = format!("{}. {word}", number * each + n + 1);
            let line = typeface::fit_lines(&said, SMALLEST_TEXT, false, column.width, 1);
            let at = (column.x, column.y + pitch * n as f64);
            if let Some(line) = line.first() {
                drawing.text(at, Anchor::Start, line.as_str(), type_);
            }
        }
    }
}
