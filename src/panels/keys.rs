//! The keys of the command list.

use bevy_egui::egui::{Context, Event, Key};

use crate::view::command::{self, ENTRIES};
use crate::view::{Command, DrillView, LampUse, Page};

use super::memory::memory;
use super::screen::Screen;

/// The egui key of a command's key name.
pub fn egui_key(key: command::Key) -> Option<Key> {
    Key::from_name(key.name)
}

/// Appends a command for every key of the list that was pressed.
pub(super) fn read(ctx: &Context, screen: &Screen, out: &mut Vec<Command>) {
    let typing = ctx.text_edit_focused();
    let pressed: Vec<(Key, bool)> = ctx.input(|i| {
        i.events
            .iter()
            .filter_map(|event| match event {
                Event::Key {
                    key,
                    pressed: true,
                    repeat: false,
                    modifiers,
                    ..
                } if !modifiers.alt => {
                    // Plus and Equals are one key on most keyboards.
                    let key = if *key == Key::Plus { Key::Equals } else { *key };
                    Some((key, modifiers.ctrl || modifiers.command))
                }
                _ => None,
            })
            .collect()
    });
    for (key, ctrl) in pressed {
        // What is typed is text; keys that write nothing are not.
        let writes = !(ctrl || key.name().len() > 1 && key.name().starts_with('F'));
        if typing && writes {
            continue;
        }
        if screen.help && key == Key::Escape {
            out.push(Command::Help);
            continue;
        }
        // A question is answered before anything else is done.
        let asked = screen.drill.as_ref().is_some_and(|d| d.finishing.is_some());
        if asked && key != Key::Escape && !ctrl {
            continue;
        }
        let found = ENTRIES
            .iter()
            .filter(|e| e.pages.contains(&screen.page))
            .find(|e| e.key.ctrl == ctrl && egui_key(e.key) == Some(key));
        if let Some(entry) = found {
            let peeks = entry.command == Command::LampSwitch && screen.drill.as_ref().is_some_and(peeks);
            if !peeks {
                out.push(entry.command.clone());
            }
        }
    }
    if screen.page == Page::Drill {
        peek(ctx, screen, typing, out);
    }
}

/// True if the lamp has to be held down.
fn peeks(view: &DrillView) -> bool {
    view.lamp_use == LampUse::Peek && !view.hands_free
}

/// The lamp shines while its key, or its button, is held.
fn peek(ctx: &Context, screen: &Screen, typing: bool, out: &mut Vec<Command>) {
    let Some(view) = screen.drill.as_ref().filter(|d| peeks(d)) else {
        return;
    };
    let button: bool = ctx.data(|d| d.get_temp(memory("lamp button"))).unwrap_or(false);
    let wanted = button || (!typing && ctx.input(|i| i.key_down(Key::L)));
    if wanted != view.lamp {
        out.push(Command::Peek(wanted));
    }
}
