//! One entry: what happened, to whom, when by the station's clock. It stands alone: a line of JSON with a seal, in a file
//! of its own whose name cannot collide.

use serde::{Deserialize, Serialize};

use crate::record::{Id, Label, Person, seal};

use super::{Attempt, Exercise, Judged, LessonGiven, Moment};

/// The newest format of entries that this program writes and reads. Each kind keeps the format in which it came, so that older
/// programs read what they know and name the rest as newer.
pub const ENTRY_FORMAT: u64 = 2;

/// What stands for the line before an entry in its seal.
const SEALED: &str = "smirch entry";

/// An entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Format number; its name also marks the file as an entry.
    #[serde(rename = "smirch-entry")]
    pub format: u64,
    /// What it is known by.
    pub id: Id,
    /// When it was written, by the station's clock.
    pub at: Moment,
    /// Version of the program that wrote it.
    pub program: String,
    /// The station that kept it, on which the log of an attempt lies; none where that is not said, as in entries of older programs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<Label>,
    /// Whom it is about; nobody if no code was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<Person>,
    /// What happened.
    pub what: What,
}

/// What an entry tells.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// An attempt, finished or broken off.
    Attempt(Box<Attempt>),
    /// What somebody who watched says, of an attempt or of a real person.
    Judged(Box<Judged>),
    /// Entries that were removed on somebody's wish: they stay away, whatever folder is merged in later. Who it was is
    /// not said.
    Forgotten(Vec<Id>),
    /// A lesson that was given, with the hands that went up.
    Lesson(Box<LessonGiven>),
    /// An exercise with lotion and a lamp: who glowed where, without names.
    Exercise(Box<Exercise>),
}

impl What {
    /// The format that first had it: an older program reads whatever it knows.
    fn format(&self) -> u64 {
        match self {
            What::Attempt(_) | What::Forgotten(_) => 1,
            What::Judged(_) | What::Lesson(_) | What::Exercise(_) => 2,
        }
    }
}

impl Entry {
    /// An entry of now.
    pub fn new(person: Option<Person>, what: What) -> Entry {
        Entry {
            format: what.format(),
            id: Id::fresh(),
            at: Moment::now(),
            program: env!("CARGO_PKG_VERSION").to_owned(),
            station: None,
            person,
            what,
        }
    }

    /// The attempt, if it tells of one.
    pub fn attempt(&self) -> Option<&Attempt> {
        match &self.what {
            What::Attempt(attempt) => Some(attempt),
            _ => None,
        }
    }

    /// What somebody who watched says, if it tells of that.
    pub fn judged(&self) -> Option<&Judged> {
        match &self.what {
            What::Judged(judged) => Some(judged),
            _ => None,
        }
    }

    /// The entries that it tells to stay away.
    pub(super) fn forgets(&self) -> &[Id] {
        match &self.what {
            What::Forgotten(ids) => ids,
            _ => &[],
        }
    }

    /// The name of its file, in the folder of its month; the order of names is that of time.
    pub fn file_name(&self) -> String {
        format!("{}-{}.json", self.at.stem(), self.id)
    }

    /// The folder of its month, such as `2026-03`.
    pub fn month(&self) -> String {
        let stem = self.at.stem();
        format!("{}-{}", &stem[..4], &stem[4..6])
    }

    /// Its line, with its seal and line end.
    ///
    /// # Errors
    /// It cannot be written as JSON.
    pub fn line(&self) -> serde_json::Result<String> {
        seal::sealed(self, seal::first(SEALED)).map(|(line, _)| line)
    }
}

/// One entry for each attempt: where it was broken off and taken up again, the one that came furthest.
pub fn furthest(mut entries: Vec<Entry>) -> Vec<Entry> {
    let far = |entry: &Entry| {
        entry
            .attempt()
            .map(|a| (a.finished, a.actions, entry.at.millis()))
    };
    let key = |entry: &Entry| entry.attempt().map_or(entry.id, |a| a.attempt);
    entries.sort_by_key(|entry| (key(entry), std::cmp::Reverse(far(entry))));
    entries.dedup_by_key(|entry| key(entry));
    entries
}

/// What a file of the register is, if it is no entry that this program can read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NoEntry {
    /// Its format is newer.
    Newer(u64),
    /// It was changed or torn, or is something else: a sentence.
    Broken(String),
}

/// The text of a file of the register, and whether its seal is what it should be.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sealed<'a> {
    /// The whole text.
    pub text: &'a str,
    unbroken: bool,
}

impl<'a> Sealed<'a> {
    /// Looks at the seals of several texts.
    pub fn each<const N: usize>(texts: [&'a str; N]) -> [Sealed<'a>; N] {
        let unbroken = seal::unbroken_each(texts.map(line_of), seal::first(SEALED));
        std::array::from_fn(|n| Sealed {
            text: texts[n],
            unbroken: unbroken[n],
        })
    }

    /// True for the text of an entry of a kind, by its word: no text within an entry can look like this, since its quotes would
    /// be escaped.
    pub fn tells(self, kind: &str) -> bool {
        memchr::memmem::find(self.text.as_bytes(), b"\"what\":{\"")
            .map(|at| &self.text[at + 9..])
            .and_then(|rest| rest.strip_prefix(kind))
            .is_some_and(|rest| rest.starts_with("\":"))
    }
}

/// The line of a text, whatever ends it.
fn line_of(text: &str) -> &str {
    let line = text.strip_suffix('\n').unwrap_or(text);
    line.strip_suffix('\r').unwrap_or(line)
}

/// The format that a line begins with.
fn format_of(line: &str) -> Option<u64> {
    let rest = line.strip_prefix("{\"smirch-entry\":")?;
    let digits = rest.find(|c: char| !c.is_ascii_digit())?;
    rest[..digits].parse().ok()
}

/// Reads an entry as its own type or as one that takes only some of its fields.
pub(super) fn read<'a, T: Deserialize<'a>>(text: &'a str) -> Result<T, NoEntry> {
    let [sealed] = Sealed::each([text]);
    read_sealed(sealed)
}

/// The same of a text whose seal has been looked at.
pub(super) fn read_sealed<'a, T: Deserialize<'a>>(sealed: Sealed<'a>) -> Result<T, NoEntry> {
    #[derive(Deserialize)]
    struct Format {
        #[serde(rename = "smirch-entry")]
        format: u64,
    }
    let broken = |why: String| NoEntry::Broken(why);
    let line = line_of(sealed.text);
    // What it would be taken for by this program is no matter: whoever wrote it meant more.
    if let Some(format) = format_of(line).filter(|&format| format > ENTRY_FORMAT) {
        return Err(NoEntry::Newer(format));
    }
    if !sealed.unbroken {
        // A newer format may be sealed in another way.
        return match serde_json::from_str::<Format>(line) {
            Ok(Format { format }) if format > ENTRY_FORMAT => Err(NoEntry::Newer(format)),
            Ok(_) => Err(broken("it was changed after it was written".to_owned())),
            Err(_) if line.is_empty() => Err(broken("it is empty".to_owned())),
            Err(_) if line.starts_with("{\"smirch-entry\":") => Err(broken("it is torn".to_owned())),
            Err(_) => Err(broken("it is no entry of a register".to_owned())),
        };
    }
    serde_json::from_str(line).map_err(|why| match serde_json::from_str::<Format>(line) {
        Ok(Format { format }) if format > ENTRY_FORMAT => NoEntry::Newer(format),
        _ => broken(format!("it cannot be read: {why}")),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Code, Label};

    fn entry() -> Entry {
        Entry::new(
            Some(Person {
                code: Code::new("K7").expect("a code"),
                ward: Some(Label::new("4 a", "a ward").expect("a ward")),
                group: None,
            }),
            What::Forgotten(vec![Id::fresh(), Id::fresh()]),
        )
    }

    #[test]
    fn an_entry_is_read_as_it_was_written_whatever_ends_its_line() {
        let entry = entry();
        let line = entry.line().expect("it can be written");
        assert_eq!(read::<Entry>(&line).as_ref(), Ok(&entry));
        assert_eq!(read::<Entry>(line.trim_end()).as_ref(), Ok(&entry));
        assert_eq!(read::<Entry>(&line.replace('\n', "\r\n")).as_ref(), Ok(&entry));
    }

    #[test]
    fn an_entry_that_was_changed_or_torn_is_none() {
        let line = entry().line().expect("it can be written");
        let line = line.trim_end();
        for at in 0..line.len() {
            let mut changed = line.as_bytes().to_vec();
            changed[at] ^= 1;
            let changed = String::from_utf8(changed).expect("one bit of ASCII");
            assert!(read::<Entry>(&changed).is_err(), "{changed}");
            assert!(read::<Entry>(&line[..at]).is_err(), "torn at {at}");
        }
    }

    #[test]
    fn an_entry_of_a_newer_format_says_so() {
        let mut newer = entry();
        newer.format = ENTRY_FORMAT + 1;
        let line = newer.line().expect("it can be written");
        let unknown = line.replace("\"forgotten\"", "\"foretold\"");
        assert_eq!(read::<Entry>(&unknown), Err(NoEntry::Newer(ENTRY_FORMAT + 1)));
        // Also where this program could make something of it.
        assert_eq!(read::<Entry>(&line), Err(NoEntry::Newer(ENTRY_FORMAT + 1)));
    }

    #[test]
    fn names_of_files_are_in_the_order_of_time() {
        let mut entry = entry();
        entry.at = Moment::parse("2026-03-01T00:30:00+01:00").expect("a moment");
        assert_eq!(entry.month(), "2026-02");
        assert_eq!(entry.file_name(), format!("20260228T233000Z-{}.json", entry.id));
    }
}
