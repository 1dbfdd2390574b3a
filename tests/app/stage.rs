//! Stages for the tests: a patch for every place, part and piece of furniture the content files name.

use smirch::model::{Side, Whereabouts};
use smirch::view::stage::{Patch, Stage, StageItem, StageItemState, Surface};

/// A part of an item's definition: id, and whether it has an inner face.
pub type Part = (String, bool);

/// An item's definition: id, whether there is one for each side, parts.
pub struct Kind {
    /// Id, such as `glove`.
    pub id: String,
    /// True if made for left and right.
    pub each_side: bool,
    /// Its parts.
    pub parts: Vec<Part>,
}

fn after<'a>(line: &'a str, key: &str) -> Option<&'a str> {
    let start = line.find(key)? + key.len();
    line[start..].split('"').next()
}

/// Every place id of the body.
pub fn places() -> Vec<String> {
    let text = include_str!("../../assets/body.ron");
    text.lines()
        .filter_map(|l| after(l.trim_start(), "(id: \""))
        .map(str::to_string)
        .collect()
}

/// Every piece of furniture that can be reached from somewhere.
pub fn furniture() -> Vec<String> {
    let text = include_str!("../../assets/room.ron");
    text.lines()
        .filter(|l| !l.contains("at: []"))
        .filter_map(|l| after(l, "(id: \""))
        .map(str::to_string)
        .collect()
}

/// Every item definition.
pub fn kinds() -> Vec<Kind> {
    let mut out: Vec<Kind> = Vec::new();
    for line in include_str!("../../assets/items.ron").lines() {
        let line = line.trim_start();
        if let Some(id) = after(line, "id: \"")
            && (line.starts_with("id:") || line.contains("like:"))
        {
            let like = after(line, "like: \"").and_then(|l| out.iter().find(|k| k.id == l));
            let (each_side, parts) = match like {
                Some(kind) => (kind.each_side, kind.parts.clone()),
                None => (line.contains("each_side: true"), vec![]),
            };
            out.push(Kind {
                id: id.to_string(),
                each_side,
                parts,
            });
        } else if line.starts_with("(id: \"")
            && let (Some(id), Some(kind)) = (after(line, "(id: \""), out.last_mut())
        {
            kind.parts.push((id.to_string(), line.contains("inside: \"")));
        }
    }
    out
}

fn patch(surface: Surface, label: String) -> Patch {
    let thin = matches!(&surface, Surface::Part { part, .. }
        if ["tie", "strap", "loop"].iter().any(|word| part.contains(word)));
    Patch {
        surface,
        label,
        count: 0,
        reachable: true,
        absent: false,
        thin,
    }
}

/// A stage with everything bare: places and furniture only.
pub fn bare() -> Stage {
    let mut patches: Vec<Patch> = places()
        .into_iter()
        .map(|id| patch(Surface::Body(id.clone()), id))
        .collect();
    patches.extend(
        furniture()
            .into_iter()
            .map(|id| patch(Surface::Room(id.clone()), id)),
    );
    Stage {
        patches,
        whereabouts: Whereabouts::Doorway,
        seen_from: 1,
        ..Stage::default()
    }
}

/// Adds worn items of the named kinds, innermost first, with all their patches.
pub fn wearing(mut stage: Stage, wanted: &[&str]) -> Stage {
    let kinds = kinds();
    for name in wanted {
        let Some(kind) = kinds.iter().find(|k| k.id == *name) else {
            panic!("items.ron has no {name}")
        };
        let sides = if kind.each_side {
            vec![Some(Side::Left), Some(Side::Right)]
        } else {
            vec![None]
        };
        for side in sides {
            let id = side.map_or(kind.id.clone(), |s| format!("{}-{}", s.word(), kind.id));
            for (part, inside) in &kind.parts {
                for inner in [false, true] {
                    if inner && !inside {
                        continue;
                    }
                    let surface = Surface::Part {
                        item: id.clone(),
                        part: part.clone(),
                        inside: inner,
                    };
                    let face = if inner { "inside" } else { "outside" };
                    stage
                        .patches
                        .push(patch(surface, format!("{id}, {part}, {face}")));
                }
            }
            stage.items.push(StageItem {
                id,
                model: kind.id.clone(),
                side,
                state: StageItemState::Worn,
                undone: vec![],
                knotted: vec![],
                inverted: false,
                by_front: false,
            });
        }
    }
    stage
}

/// The index of a surface among the patches.
pub fn site(stage: &Stage, surface: &Surface) -> usize {
    match stage.patches.iter().position(|p| p.surface == *surface) {
        Some(i) => i,
        None => panic!("the stage has no {surface:?}"),
    }
}
