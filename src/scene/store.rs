//! Shapes at rest, each made once in the life of the program, and ahead of need where there is time.
//!
//! They follow from code alone, so whoever asks first makes them and all others share them: both people side by side,
//! every picture of a series, every test. Knows nothing of a stage.

use std::sync::{Arc, Mutex, Once, OnceLock, PoisonError};

use rustc_hash::FxHashMap;

use super::kit;
use super::shape::model::Model;
use super::shape::{person, room};
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
    far: OnceLock<Far>,
}

impl Shape {
    /// Fewer triangles between the same corners, for views from afar.
    pub fn far(&self) -> &Far {
        self.far.get_or_init(|| thin::triangles(&self.model, thin::FAR))
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
            Which::Person => thinned(&person::person(), thin::CLOSE),
            Which::Room => thinned(&room::room(), thin::ROOM),
            Which::Worn(model, undone) => kit::made_left(model, undone)?,
        };
        Some(Arc::new(Shape {
            model,
            far: OnceLock::new(),
        }))
    })
    .clone()
}

/// What most kits begin with, the longest work first.
const COMMON: [&str; 6] = ["gown", "glove", "goggles", "respirator", "visor", "surgical-mask"];

/// Begins to make the person, the room and what most kits begin with on a thread of its own, once: while the window
/// and the renderer come into being there is time for it. A shape that fails there fails again where it is asked for.
pub(super) fn begin() {
    static BEGUN: Once = Once::new();
    BEGUN.call_once(|| {
        std::thread::spawn(|| {
            let worn = |model: &str| Which::Worn(model.to_owned(), Vec::new());
            let all: Vec<Which> = [Which::Person]
                .into_iter()
                .chain(COMMON.map(worn))
                .chain([Which::Room])
                .collect();
            let made: Vec<_> = all.iter().filter_map(shape).collect();
            for shape in made {
                shape.far();
            }
        });
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
