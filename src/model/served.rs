//! Which items of a kit a sequence speaks of.

use super::{Asked, Sequence, Setup};

impl Setup {
    /// Items of the kit, spares left out, that no step of a sequence says how to take off, or how to put on if it takes nothing
    /// off: nothing can be marked there.
    pub fn left_out_by(&self, sequence: &Sequence) -> Vec<usize> {
        let kit = (0..self.items.len()).filter(|&item| !self.items[item].spare);
        let about = |id: &str| match sequence.takes_off() {
            true => takes_off(sequence, id),
            false => puts_on(sequence, id),
        };
        kit.filter(|&item| !about(&self.definition(item).id)).collect()
    }

    /// True if some step of a sequence takes off something of the kit, spares left out, or puts on something that lies ready.
    pub fn is_served_by(&self, sequence: &Sequence) -> bool {
        let mut kit = (0..self.items.len()).filter(|&item| !self.items[item].spare);
        kit.any(|item| {
            let id = &self.definition(item).id;
            takes_off(sequence, id) || self.items[item].ready && puts_on(sequence, id)
        })
    }

    /// What lies ready and is put on by no step of a sequence: its kit is never on for what it takes off.
    pub fn not_put_on_by(&self, sequence: &Sequence) -> Vec<usize> {
        let ready = (0..self.items.len()).filter(|&item| self.items[item].ready);
        ready
            .filter(|&item| !puts_on(sequence, &self.definition(item).id))
            .collect()
    }
}

/// True if some step takes off items with this definition.
fn takes_off(sequence: &Sequence, definition: &str) -> bool {
    sequence.steps.iter().any(|step| match &step.asked {
        Asked::Remove { items, .. } => items.iter().any(|id| id == definition),
        _ => false,
    })
}

/// True if some step puts on items with this definition.
fn puts_on(sequence: &Sequence, definition: &str) -> bool {
    sequence.steps.iter().any(|step| match &step.asked {
        Asked::PutOn { items, .. } => items.iter().any(|id| id == definition),
        _ => false,
    })
}
