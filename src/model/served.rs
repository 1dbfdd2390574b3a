//! Which items of a kit a sequence speaks of.

use super::{Asked, Sequence, Setup};

impl Setup {
    /// Items of the kit, spares left out, that no step of a sequence says how to take off: nothing can be marked there.
    pub fn left_out_by(&self, sequence: &Sequence) -> Vec<usize> {
        let kit = (0..self.items.len()).filter(|&item| !self.items[item].spare);
        kit.filter(|&item| !takes_off(sequence, &self.definition(item).id))
            .collect()
    }

    /// True if some step of a sequence takes off something of the kit, spares left out.
    pub fn is_served_by(&self, sequence: &Sequence) -> bool {
        let mut kit = (0..self.items.len()).filter(|&item| !self.items[item].spare);
        kit.any(|item| takes_off(sequence, &self.definition(item).id))
    }
}

/// True if some step takes off items with this definition.
fn takes_off(sequence: &Sequence, definition: &str) -> bool {
    sequence.steps.iter().any(|step| match &step.asked {
        Asked::Remove { items, .. } => items.iter().any(|id| id == definition),
        Asked::Clean { .. } | Asked::Go { .. } => false,
    })
}
