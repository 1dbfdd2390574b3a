//! How long a register keeps what, when practice is due again, and what passes: rules that a trainer can edit.

/// Rules of a register.
#[derive(Clone, Debug, PartialEq)]
pub struct RegisterRules {
    /// How long entries are kept, months.
    pub keep_months: u32,
    /// How long logs of attempts are kept, days.
    pub keep_log_days: u32,
    /// Counts of people or attempts below this are not shown of a group.
    pub smallest_cell: u64,
    /// What codes of people belong to, for record stores: an address that need not be there.
    pub home_page: String,
    /// What passes.
    pub pass: PassRule,
    /// When practice is due again.
    pub refreshers: Refreshers,
    /// Basis id.
    pub basis: String,
}

/// What passes. A critical error never does, whatever the marks.
#[derive(Clone, Debug, PartialEq)]
pub struct PassRule {
    /// The least share of the marks.
    pub mark: f64,
    /// Hand hygiene that must be met in full.
    pub cleans: Vec<NeededClean>,
    /// Basis id.
    pub basis: String,
}

/// Hand hygiene that no marks make up for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NeededClean {
    /// The one after the last gloves are off.
    AfterGloves,
    /// The last one that the sequence asks for.
    Last,
}

impl NeededClean {
    /// All with the words that files have.
    pub const ALL: [(&'static str, NeededClean); 2] = [
        ("AfterGloves", NeededClean::AfterGloves),
        ("Last", NeededClean::Last),
    ];
}

/// When practice is due again, in months after the latest attempt that counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Refreshers {
    /// After a first clean attempt, after a second one running, and so on; the last holds for all further ones.
    pub after_clean: Vec<u32>,
    /// After an attempt that lost marks.
    pub otherwise: u32,
    /// After a critical error, or an attempt that did not pass.
    pub after_error: u32,
    /// Basis id.
    pub basis: String,
}
