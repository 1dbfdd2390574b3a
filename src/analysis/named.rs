//! Names of constants that are told apart.

use std::collections::BTreeSet;

/// Gives constants names of their own: one that is called like one before it gets its basis added.
pub(super) fn tell_apart<T>(
    all: &mut [T],
    name: impl Fn(&mut T) -> &mut String,
    basis: impl Fn(&T) -> String,
) {
    let mut before = BTreeSet::new();
    for one in all {
        let basis = basis(one);
        let name = name(one);
        if before.contains(name) {
            *name = format!("{name} ({basis})");
        }
        before.insert(name.clone());
    }
}
