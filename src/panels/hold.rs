//! What is held down, and what is pressed once.

use bevy_egui::egui::{Event, Key, Response, Sense, Ui};

/// What a widget senses that is held down: something that can only be clicked forgets the button after 0.8 s, and as
/// soon as the pointer trembles.
pub const HELD: Sense = Sense::CLICK.union(Sense::FOCUSABLE).union(Sense::DRAG);

/// True if a key went down in this frame: not while it stays down and repeats itself, nor while somebody types.
pub fn pressed(ui: &Ui, key: Key) -> bool {
    let fresh = |event: &Event| {
        matches!(event, Event::Key { key: k, pressed: true, repeat: false, modifiers, .. }
            if *k == key && !modifiers.ctrl && !modifiers.alt)
    };
    !ui.ctx().text_edit_focused() && ui.input(|i| i.events.iter().any(fresh))
}

/// True if a widget was pressed by the pointer.
pub fn pressed_by_pointer(ui: &Ui, response: &Response) -> bool {
    // Whoever presses long, or with a hand that trembles, presses all the same.
    let let_go = response.clicked() || response.drag_stopped() && response.contains_pointer();
    let_go && ui.input(|i| i.pointer.any_released())
}

/// True if a widget was pressed by Enter or Space while it has the focus. A key that stays down presses it once.
pub fn pressed_by_key(ui: &Ui, response: &Response) -> bool {
    response.has_focus() && (pressed(ui, Key::Enter) || pressed(ui, Key::Space))
}
