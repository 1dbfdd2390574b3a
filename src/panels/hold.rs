//! Press and hold, or a quick press: how the pace of a technique is felt.

use bevy_egui::egui::{Event, Id, Key, Response, Sense, Ui};

use crate::model::Pace;

/// What a widget senses that is held down: something that can only be clicked forgets the button after 0.8 s, and as
/// soon as the pointer trembles.
pub const HELD: Sense = Sense::CLICK.union(Sense::FOCUSABLE).union(Sense::DRAG);

/// Seconds to hold before something is done steadily.
pub const STEADY_AFTER: f64 = 0.5;

#[derive(Clone, Copy, Debug, PartialEq)]
struct Holding {
    since: f64,
    fired: bool,
    key: bool,
}

/// What a press has come to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Press {
    /// How much of the ring is full, 0 to 1.
    pub ring: f32,
    /// What was decided in this frame.
    pub pace: Option<Pace>,
}

/// Follows the pointer on a row and its number key. Enter or Space on a focused row does it steadily.
pub fn press(ui: &Ui, id: Id, row: &Response, key: Option<Key>) -> Press {
    let now = ui.input(|i| i.time);
    let mut state: Option<Holding> = ui.data(|d| d.get_temp::<Option<Holding>>(id)).flatten();
    let mut pace = None;
    let typing = ui.ctx().text_edit_focused();
    let (key_pressed, key_down) = key.filter(|_| !typing).map_or((false, false), |key| {
        ui.input(|i| {
            let fresh = i.events.iter().any(|e| {
                matches!(e, Event::Key { key: k, pressed: true, repeat: false, modifiers, .. }
                    if *k == key && !modifiers.ctrl && !modifiers.alt)
            });
            (fresh, i.key_down(key))
        })
    });
    let pointer_down = row.is_pointer_button_down_on();
    if state.is_none() && (key_pressed || pointer_down) {
        state = Some(Holding {
            since: now,
            fired: false,
            key: key_pressed,
        });
    }
    if let Some(held) = &mut state {
        let down = if held.key { key_down } else { pointer_down };
        if down && !held.fired && now - held.since >= STEADY_AFTER {
            held.fired = true;
            pace = Some(Pace::Steady);
        }
        if !down {
            // Letting go beside the row takes the press back.
            let kept = held.key || row.contains_pointer();
            if !held.fired && kept {
                pace = Some(Pace::Hurried);
            }
            state = None;
        }
    } else if row.clicked() {
        let by_pointer = ui.input(|i| i.pointer.any_released());
        pace = Some(if by_pointer { Pace::Hurried } else { Pace::Steady });
    }
    let ring = state
        .filter(|s| !s.fired)
        .map_or(0.0, |s| ((now - s.since) / STEADY_AFTER).min(1.0) as f32);
    if state.is_some_and(|s| !s.fired) {
        ui.ctx().request_repaint();
    }
    ui.data_mut(|d| d.insert_temp(id, state));
    Press { ring, pace }
}
