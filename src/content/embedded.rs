//! The content that the program carries.

use std::collections::BTreeMap;

use include_dir::{Dir, include_dir};

use super::fault::{Faults, Source};

static ASSETS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/assets");
static SCENARIOS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/scenarios");

/// Every content file that the program carries: its path, such as `scenarios/classic-tracer.ron`, and its bytes.
pub fn embedded() -> Vec<(String, &'static [u8])> {
    fn walk(dir: &'static Dir<'static>, prefix: &str, out: &mut Vec<(String, &'static [u8])>) {
        for file in dir.files() {
            if file.path().extension().is_some_and(|e| e == "ron") {
                let path = file.path().to_string_lossy().replace('\\', "/");
                out.push((format!("{prefix}/{path}"), file.contents()));
            }
        }
        for dir in dir.dirs() {
            walk(dir, prefix, out);
        }
    }
    let mut out = Vec::new();
    walk(&ASSETS, "assets", &mut out);
    walk(&SCENARIOS, "scenarios", &mut out);
    out.sort();
    out
}

/// True if a text is that of a file which the program carries.
pub fn is_built_in(text: &str) -> bool {
    embedded().iter().any(|(_, bytes)| *bytes == text.as_bytes())
}

pub(super) fn sources(faults: &Faults) -> BTreeMap<String, Source> {
    embedded()
        .into_iter()
        .filter_map(|(name, bytes)| Some((name.clone(), Source::from_bytes(name, bytes, faults)?)))
        .collect()
}
