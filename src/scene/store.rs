//! Shapes at rest, each made once in the life of the program, and ahead of need where there is time.
//!
//! They follow from code alone, so whoever asks first makes them and all others share them: both people side by side,
//! every picture of a series, every test. Knows nothing of a stage.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, Once, OnceLock, PoisonError};

use rustc_hash::FxHashMap;

use crate::outside::threads;
use crate::outside::threads::Beside;

use super::make::made_left;
use super::shape::model::Model;
use super::shape::person::{self, PIECES};
use super::shape::room;
use super::thin::{self, thinned};

/// A shape that is the same for everybody.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Which {
    /// The person without any kit.
    Person,
    /// The room with all that stands in it.
    Room,
    /// Something worn, on the left if it has a side: the model's name and what is undone, sorted.
    Worn(String, Vec<String>),
}

/// Triangles and their tags.
pub(super) type Far = (Vec<[u32; 3]>, Vec<u16>);

/// A shape with what is drawn of it from afar.
pub(super) struct Shape {
    /// As it is looked at closely.
    pub model: Model,
    /// How closely what is drawn from afar keeps to it.
    care: thin::Care,
    far: OnceLock<Far>,
    areas: OnceLock<FxHashMap<(usize, bool), f32>>,
}

impl Shape {
    /// Fewer triangles between the same corners, for views from afar.
    pub fn far(&self) -> &Far {
        self.far.get_or_init(|| thin::triangles(&self.model, self.care))
    }

    /// The area of one side of a part, m2; 0 for what it has no triangle of.
    pub fn area(&self, part: &str, inside: bool) -> f32 {
        let areas = self.areas.get_or_init(|| self.model.areas());
        let part = self.model.parts.iter().position(|p| *p == part);
        part.and_then(|part| areas.get(&(part, inside)))
            .copied()
            .unwrap_or(0.0)
    }
}

type Slot = Arc<OnceLock<Option<Arc<Shape>>>>;

static MADE: Mutex<Option<FxHashMap<Which, Slot>>> = Mutex::new(None);

/// The shape; `None` for something worn that the scene does not know. If it is under way elsewhere, waits for it; so
/// nothing that makes a shape may wait for a shared pool, whose tasks may be waiting here.
pub(super) fn shape(which: &Which) -> Option<Arc<Shape>> {
    // Only slots are put in under the lock, so what a panic leaves behind is whole.
    let mut made = MADE.lock().unwrap_or_else(PoisonError::into_inner);
    let slot = made
        .get_or_insert_default()
        .entry(which.clone())
        .or_default()
        .clone();
    drop(made);
    slot.get_or_init(|| {
        let model = match which {
            // Whoever makes them ahead begins with the first.
            Which::Person => {
                (0..PIECES).rev().for_each(|n| _ = piece(n));
                person::joined((0..PIECES).map(piece))
            }
            Which::Room => thinned(&room::room(), thin::ROOM),
            Which::Worn(model, undone) => made_left(model, undone)?,
        };
        let care = match which {
            Which::Worn(model, _) if CLOTH.contains(&model.as_str()) => thin::FAR_CLOTH,
            _ => thin::FAR,
        };
        Some(Arc::new(Shape {
            model,
            care,
            far: OnceLock::new(),
            areas: OnceLock::new(),
        }))
    })
    .clone()
}

/// A piece of the person; the whole of it is more work than anything else.
fn piece(n: usize) -> &'static Model {
    static MADE: [OnceLock<Model>; PIECES] = [const { OnceLock::new() }; PIECES];
    MADE[n].get_or_init(|| person::piece(n, |m| thinned(m, thin::CLOSE)))
}

/// Cloth that lies close over other cloth.
const CLOTH: [&str; 2] = ["gown", "apron"];

/// What most kits begin with, the longest work first.
const COMMON: [&str; 6] = ["gown", "glove", "goggles", "respirator", "visor", "surgical-mask"];

/// Something to be made ahead.
enum Ahead {
    Piece(usize),
    Near(Which),
    Far(Which),
}

/// Begins to make the person, the room and what most kits begin with on threads of their own, once: while the window
/// and the renderer come into being there is time for it. A shape that fails there fails again where it is asked for.
pub(super) fn begin() {
    static BEGUN: Once = Once::new();
    BEGUN.call_once(|| {
        // What is needed first comes first; whoever waits for it takes what has not been begun.
        let worn = |model: &str| Which::Worn(model.to_owned(), Vec::new());
        let whole = || [Which::Person, Which::Room].into_iter().chain(COMMON.map(worn));
        let ahead: Vec<Ahead> = (0..PIECES)
            .map(Ahead::Piece)
            .chain(whole().map(Ahead::Near))
            .chain(whole().map(Ahead::Far))
            .collect();
        // The window and the renderer keep one processor busy.
        let spare = threads::spare();
        let shared = Arc::new((ahead, AtomicUsize::new(0)));
        for _ in 0..spare.clamp(1, PIECES) {
            let shared = shared.clone();
            Beside::begin(move || {
                let (ahead, next) = &*shared;
                while let Some(thing) = ahead.get(next.fetch_add(1, Ordering::Relaxed)) {
                    match thing {
                        Ahead::Piece(n) => _ = piece(*n),
                        Ahead::Near(which) => _ = shape(which),
                        Ahead::Far(which) => _ = shape(which).map(|shape| shape.far().0.len()),
                    }
                }
            });
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shape_is_made_once_however_many_ask_for_it_at_the_same_time() {
        let glove = Which::Worn("glove".to_owned(), vec![]);
        let asked: Vec<_> = std::thread::scope(|scope| {
            let ask = || shape(&glove).expect("gloves are known");
            let threads: Vec<_> = (0..4).map(|_| scope.spawn(ask)).collect();
            threads
                .into_iter()
                .map(|t| t.join().expect("it is made"))
                .collect()
        });
        for one in &asked {
            assert!(Arc::ptr_eq(one, &asked[0]), "the glove was made more than once");
        }
    }

    #[test]
    fn what_the_scene_does_not_know_has_no_shape() {
        assert!(shape(&Which::Worn("crown".to_owned(), vec![])).is_none());
    }

    #[test]
    fn all_that_is_made_ahead_is_known() {
        for model in COMMON {
            let known = shape(&Which::Worn(model.to_owned(), vec![])).is_some();
            assert!(known, "`{model}` is made ahead but nothing is drawn for it");
        }
    }
}
