//! So many of so many.

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// How many.
    pub hits: u64,
    /// Of how many.
    pub of: u64,
}

impl Share {
    pub(super) fn add(&mut self, hit: bool) {
        self.of += 1;
        self.hits += u64::from(hit);
    }
}
