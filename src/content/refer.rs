//! References from one piece of content to another, checked where they are written.

use super::fault::{nearest_hint, quoted};
use super::record::{Decoder, Record, Spanned};
use super::tree::Node;

/// Reports a reference to something unknown, with the nearest name that is known.
pub(super) fn known<'k>(
    d: &Decoder<'_>,
    id: &Spanned<String>,
    noun: &str,
    names: impl Iterator<Item = &'k str> + Clone,
) -> bool {
    if id.value.is_empty() {
        return false;
    }
    if names.clone().any(|name| name == id.value) {
        return true;
    }
    let hint = nearest_hint(&id.value, names);
    d.fault(
        id.span.clone(),
        format!("unknown {noun} {}", quoted(&id.value)),
        hint,
    );
    false
}

/// A required field that names something known.
pub(super) fn field<'k>(
    r: &mut Record<'_>,
    name: &str,
    noun: &str,
    names: impl Iterator<Item = &'k str> + Clone,
) -> String {
    let id = r.reference(name);
    known(&r.decoder(), &id, noun, names);
    id.value
}

/// A node that names something known.
pub(super) fn node<'k>(
    d: &Decoder<'_>,
    node: &Node,
    noun: &str,
    names: impl Iterator<Item = &'k str> + Clone,
) -> Option<String> {
    let id = d.reference(node, noun)?;
    known(d, &id, noun, names).then_some(id.value)
}

/// Reports an id that this file uses twice for the same sort of thing.
pub(super) fn unique(d: &Decoder<'_>, seen: &mut Vec<String>, id: &Spanned<String>, noun: &str) {
    if id.value.is_empty() {
        return;
    }
    if seen.contains(&id.value) {
        d.fault(
            id.span.clone(),
            format!("this file has two {noun}s called {}", quoted(&id.value)),
            None,
        );
    }
    seen.push(id.value.clone());
}

/// Adds a thing to a list, or puts it in the place of the one with the same id: later files override earlier ones.
pub(super) fn put<T>(list: &mut Vec<T>, thing: T, id: impl Fn(&T) -> &str) {
    match list.iter().position(|other| id(other) == id(&thing)) {
        Some(index) => list[index] = thing,
        None => list.push(thing),
    }
}
