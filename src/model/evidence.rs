//! Where a number comes from: sources, and the bases that every constant names.

/// A publication, standard or guidance document.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// Kebab-case id.
    pub id: String,
    /// Authors, year, journal or body, as one citation line.
    pub cite: String,
    /// DOI or standard number, if there is one.
    pub locator: Option<String>,
}

/// How firm a number is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Measured and published.
    Measured,
    /// Adopted by convention: a standard, a guidance document, a modelling habit, a rule of the trade.
    Convention,
    /// Chosen by us, with the reasoning in the note.
    Assumption,
    /// Calibrated by us to named targets; never a prediction of them.
    Fitted,
}

impl Status {
    /// Every status with the word files and lists use for it.
    pub const ALL: [(&'static str, Status); 4] = [
        ("Measured", Status::Measured),
        ("Convention", Status::Convention),
        ("Assumption", Status::Assumption),
        ("Fitted", Status::Fitted),
    ];
}

/// How the source was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Read {
    /// Full text.
    FullText,
    /// The source's own table or open data.
    Table,
    /// Abstract.
    Abstract,
    /// Another publication that reports it.
    Secondary,
    /// From memory, not verified.
    Memory,
    /// Nothing was read: an assumption or common practice.
    Unread,
}

impl Read {
    /// Every way of reading with the word files and lists use for it.
    pub const ALL: [(&'static str, Read); 6] = [
        ("FullText", Read::FullText),
        ("Table", Read::Table),
        ("Abstract", Read::Abstract),
        ("Secondary", Read::Secondary),
        ("Memory", Read::Memory),
        ("Unread", Read::Unread),
    ];
}

/// The provenance that a constant names: what it is, how firm, from where, under which conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Basis {
    /// Kebab-case id.
    pub id: String,
    /// What the numbers that name this basis mean.
    pub what: String,
    /// Unit of those numbers.
    pub unit: String,
    /// How firm they are.
    pub status: Status,
    /// How the source was read.
    pub read: Read,
    /// Ids of sources; empty only for assumptions and common practice.
    pub sources: Vec<String>,
    /// Published or plausible range, in the unit.
    pub range: Option<(f64, f64)>,
    /// Conditions of the measurement.
    pub conditions: String,
    /// What else must be said.
    pub note: String,
}
