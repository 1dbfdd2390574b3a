//! References from one piece of content to another, checked where they are written.

use std::collections::BTreeSet;

use super::fault::{known_hint, quoted};
use super::record::{Decoder, Record, Spanned};
use super::tree::{Node, NodeKind};

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
    let hint = known_hint(&id.value, names);
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

/// Reports an id that this file, or another of the files read, uses twice for the same sort of thing.
pub(super) fn unique(d: &Decoder<'_>, seen: &mut Vec<String>, id: &Spanned<String>, noun: &str) {
    unique_within(d, seen, id, noun, "this file");
    defined_once(d, id, noun);
}

/// Reports an id that is used twice for the same sort of thing within `whole`.
pub(super) fn unique_within(
    d: &Decoder<'_>,
    seen: &mut Vec<String>,
    id: &Spanned<String>,
    noun: &str,
    whole: &str,
) {
    if id.value.is_empty() {
        return;
    }
    if seen.contains(&id.value) {
        d.fault(
            id.span.clone(),
            format!("{whole} has two {noun}s called {}", quoted(&id.value)),
            "give one of the two another id",
        );
    }
    seen.push(id.value.clone());
}

/// Reports an id that another of the files read has given to the same sort of thing.
pub(super) fn defined_once(d: &Decoder<'_>, id: &Spanned<String>, noun: &str) {
    if id.value.is_empty() {
        return;
    }
    if let Some(other) = d.faults().defined_elsewhere(d.source(), noun, &id.value) {
        d.fault(
            id.span.clone(),
            format!("there is another {noun} called {} in {other}", quoted(&id.value)),
            "give one of the two another id",
        );
    }
}

/// Adds a thing to a list, or puts it in the place of the one with the same id: later files override earlier ones.
pub(super) fn put<T>(list: &mut Vec<T>, thing: T, id: impl Fn(&T) -> &str) {
    match list.iter().position(|other| id(other) == id(&thing)) {
        Some(index) => list[index] = thing,
        None => list.push(thing),
    }
}

/// The ids that things in a list of a file give themselves, and those that they name in a field.
pub(super) fn names(root: &Node, list: &str, field: &str) -> (BTreeSet<String>, BTreeSet<String>) {
    let things = match root.field(list).map(|node| &node.kind) {
        Some(NodeKind::List(things)) => &things[..],
        _ => &[],
    };
    let texts = |field: &str| {
        let text = |thing: &Node| match thing.field(field).and_then(Node::present).map(|node| &node.kind) {
            Some(NodeKind::Text(text)) => Some(text.clone()),
            _ => None,
        };
        things.iter().filter_map(text).collect()
    };
    (texts("id"), texts(field))
}
