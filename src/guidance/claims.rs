//! Whether an attempt bears out what is said of it: what comes off first, what is cleaned when, and by which way.

use crate::drill::{Action, Drill, Happened};
use crate::model::{Claim, Holding, Tied};

/// Holds an attempt to a claim.
///
/// # Errors
/// What is done instead, as a sentence.
pub fn bears_out(drill: &Drill, claim: &Claim) -> Result<(), String> {
    let setup = drill.setup();
    let off = Off { drill };
    let need = |item: &str| {
        off.of(item)
            .ok_or_else(|| format!("the {item} does not come off"))
    };
    let holds = |fine: bool, otherwise: String| if fine { Ok(()) } else { Err(otherwise) };
    match claim {
        Claim::FirstOff(item) => {
            let (_, done) = need(item)?;
            let others = (0..setup.items.len()).map(|i| setup.definition(i).id.as_str());
            for other in others.filter(|other| other != item) {
                if let Some((begun, _)) = off.of(other)
                    && begun <= done
                {
                    return Err(format!(
                        "the {other} begins to come off before or with the {item}"
                    ));
                }
            }
            Ok(())
        }
        Claim::OffBefore(item, other) => holds(
            need(item)?.1 < need(other)?.0,
            format!("the {other} begins to come off before the {item} is off"),
        ),
        Claim::Together(item, other) => holds(
            need(item)?.1 == need(other)?.1,
            format!("the {item} and the {other} come off one after the other"),
        ),
        Claim::CleanAfter(item) => holds(
            off.cleaned_after(need(item)?.1),
            format!("nothing is cleaned straight after the {item}"),
        ),
        Claim::NoCleanAfter(item) => holds(
            !off.cleaned_after(need(item)?.1),
            format!("hands are cleaned straight after the {item}"),
        ),
        Claim::By(item, technique) => holds(
            off.by(item, technique),
            format!("the {item} comes off in another way"),
        ),
        Claim::Wears(item) => holds(off.worn(item), format!("the kit has no {item}")),
        Claim::WearsNo(item) => holds(!off.worn(item), format!("the kit has a {item}")),
        Claim::PutOn(item, fastening, tied) => holds(
            off.put_on(item, fastening, *tied),
            format!("the {fastening} of the {item} was left otherwise"),
        ),
    }
}

/// What came off when in an attempt.
struct Off<'a> {
    drill: &'a Drill,
}

impl Off<'_> {
    /// True if a fastening of an item was left so when it was put on.
    fn put_on(&self, definition: &str, fastening: &str, tied: Tied) -> bool {
        let setup = self.drill.setup();
        let mut worn = (0..setup.items.len()).filter(|&item| self.is(item, definition));
        worn.any(|item| {
            let known = setup.definition(item).fastenings.iter();
            let mut left = known.zip(&setup.items[item].tied);
            left.any(|(f, left)| f.id == fastening && *left == tied)
        })
    }

    fn is(&self, item: usize, definition: &str) -> bool {
        let setup = self.drill.setup();
        setup.definition(item).id == definition && !setup.items[item].spare
    }

    fn worn(&self, definition: &str) -> bool {
        (0..self.drill.setup().items.len()).any(|i| self.is(i, definition))
    }

    /// The actions by which the first of these items left the body, and the last.
    fn of(&self, definition: &str) -> Option<(usize, usize)> {
        let left = |action: usize| {
            self.drill.done()[action].happened.iter().any(|h| {
                matches!(h, Happened::Item { item, from: Holding::Worn, .. } if self.is(*item, definition))
            })
        };
        let actions: Vec<usize> = (0..self.drill.done().len()).filter(|&a| left(a)).collect();
        Some((*actions.first()?, *actions.last()?))
    }

    /// True if a cleaning comes after an action before anything else is handled than what is thrown away.
    fn cleaned_after(&self, action: usize) -> bool {
        self.drill.done()[action + 1..]
            .iter()
            .find(|d| !matches!(d.action, Action::Do { item: None, .. } | Action::Wait(_)))
            .is_some_and(|d| matches!(d.action, Action::Clean { .. }))
    }

    fn by(&self, definition: &str, wanted: &str) -> bool {
        self.drill.done().iter().any(|d| {
            matches!(&d.action, Action::Do { technique, .. } if technique == wanted)
                && d.happened.iter().any(|h| {
                    matches!(h, Happened::Item { item, from: Holding::Worn, .. } if self.is(*item, definition))
                })
        })
    }
}
