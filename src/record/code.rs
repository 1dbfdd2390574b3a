//! Codes for people, and the short words that say where they work. A code is what the trainer chose: never a name that
//! smirch asks for. Whatever is accepted here is safe in a file, in a table and in a spreadsheet.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize};

/// Longest code, characters.
pub const MOST_CODE: usize = 32;
/// Longest name of a ward or a group, characters.
pub const MOST_LABEL: usize = 48;

/// A code or nickname of a person. Capital and small letters make no difference.
#[derive(Clone, Debug, Serialize)]
#[serde(transparent)]
pub struct Code(String);

/// A ward, or a group such as a profession.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Label(String);

/// What is wrong with a word, if anything.
fn wrong(text: &str, noun: &str, most: usize) -> Option<String> {
    let letters = text.chars().count();
    if letters == 0 {
        return Some(format!("{noun} has at least one letter or digit"));
    }
    if letters > most {
        return Some(format!(
            "{noun} has at most {most} characters; this has {letters}"
        ));
    }
    if let Some(c) = text.chars().find(|c| matches!(c, '/' | '\\')) {
        return Some(format!("{noun} is no path: it cannot hold `{c}`"));
    }
    let fits = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_' | '.');
    if let Some(c) = text.chars().find(|&c| !fits(c)) {
        let c = crate::content::fault::printable(&c.to_string());
        return Some(format!(
            "{noun} is made of letters, digits, spaces, `-`, `_` and `.`; it cannot hold `{c}`"
        ));
    }
    // Spreadsheets take what begins with a sign for a formula, and file systems hide what begins with a dot.
    let ends = [text.chars().next(), text.chars().last()];
    if ends.into_iter().flatten().any(|c| !c.is_alphanumeric()) {
        return Some(format!("{noun} begins and ends with a letter or a digit"));
    }
    None
}

/// Letters of the alphabet whose capitals are told apart by nobody, so that one person has one code.
fn folded(text: &str) -> String {
    text.to_lowercase()
}

impl Code {
    /// A code as somebody typed it, blanks at its ends left out.
    ///
    /// # Errors
    /// A sentence: what a code cannot be.
    pub fn new(text: &str) -> Result<Code, String> {
        let text = text.trim();
        match wrong(text, "a code", MOST_CODE) {
            None => Ok(Code(text.to_owned())),
            Some(why) => Err(why),
        }
    }

    /// As it was typed.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// As it is compared and sorted.
    pub fn folded(&self) -> String {
        folded(&self.0)
    }
}

impl PartialEq for Code {
    fn eq(&self, other: &Code) -> bool {
        self.folded() == other.folded()
    }
}

impl Eq for Code {}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl Label {
    /// A ward or group as somebody typed it, blanks at its ends left out; `noun` says which, as "a ward".
    ///
    /// # Errors
    /// A sentence: what it cannot be.
    pub fn new(text: &str, noun: &str) -> Result<Label, String> {
        let text = text.trim();
        match wrong(text, noun, MOST_LABEL) {
            None => Ok(Label(text.to_owned())),
            Some(why) => Err(why),
        }
    }

    /// As it was typed.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// True if a person with this ward or group, if any, is among those asked about; everybody is where nothing is asked.
    pub fn takes(asked: Option<&Label>, has: Option<&Label>) -> bool {
        asked.is_none_or(|asked| has.is_some_and(|has| has.is(asked)))
    }

    /// True if it names the same ward or group: capital and small letters make no difference.
    pub fn is(&self, other: &Label) -> bool {
        folded(&self.0) == folded(&other.0)
    }
}

impl<'de> Deserialize<'de> for Code {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Code, D::Error> {
        let text = String::deserialize(d)?;
        Code::new(&text).map_err(serde::de::Error::custom)
    }
}

impl<'de> Deserialize<'de> for Label {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Label, D::Error> {
        let text = String::deserialize(d)?;
        Label::new(&text, "a ward or group").map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_what_is_safe_in_files_tables_and_spreadsheets() {
        for good in ["K7", " night-12 ", "Zoë", "p.3", "Ward 4 a", "7"] {
            assert!(Code::new(good).is_ok(), "{good}");
        }
        for (bad, why) in [
            ("", "at least one"),
            ("   ", "at least one"),
            ("../x", "no path"),
            ("a\\b", "no path"),
            ("=1+1", "letters, digits"),
            ("-x", "begins and ends"),
            ("x.", "begins and ends"),
            ("@x", "letters, digits"),
            ("a\tb", "letters, digits"),
            ("a\nb", "letters, digits"),
            ("a,b", "letters, digits"),
            ("\u{202e}ab", "letters, digits"),
        ] {
            let error = Code::new(bad).expect_err(bad);
            assert!(error.contains(why), "{bad:?}: {error}");
        }
        assert!(Code::new(&"a".repeat(MOST_CODE)).is_ok());
        assert!(Code::new(&"a".repeat(MOST_CODE + 1)).is_err());
    }

    #[test]
    fn one_person_has_one_code_however_it_is_written() {
        assert_eq!(Code::new("k7"), Code::new(" K7 "));
        assert_ne!(Code::new("k7"), Code::new("k 7"));
    }
}
