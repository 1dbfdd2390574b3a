//! Faults of content files: what is wrong, where it stands, and what was probably meant.
//!
//! Owns [`Source`] (a file's text with its lines), [`Fault`], the collector [`Faults`] and [`nearest`].
//! Everything quoted from a file is made printable here, so no file can send control codes to a terminal.

use crate::outside::files::{self, Kind};

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, HashSet};
use std::fmt;
use std::ops::Range;
use std::path::Path;

/// The largest file that is read, in bytes.
pub const SIZE_LIMIT: usize = 4 << 20;
/// How many faults are kept for one file; the rest are only counted.
pub const FAULT_LIMIT: usize = 200;
/// Lines up to this many characters are quoted whole, longer ones around the fault.
const QUOTED_WIDTH: usize = 100;
/// The longest name worth comparing or quoting whole.
const NAME_WIDTH: usize = 64;

/// The text of one file under the name people know it by.
#[derive(Clone, Debug)]
pub struct Source {
    name: String,
    text: String,
    line_starts: Vec<usize>,
    /// True if it was read from a file rather than handed in.
    from_disk: bool,
}

impl Source {
    /// Takes a text as the content of `name`; a leading byte order mark is dropped.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let mut text = text.into();
        if text.starts_with('\u{feff}') {
            text.drain(..'\u{feff}'.len_utf8());
        }
        let line_starts = std::iter::once(0)
            .chain(text.match_indices('\n').map(|(at, _)| at + 1))
            .collect();
        Self {
            name: name.into(),
            text,
            line_starts,
            from_disk: false,
        }
    }

    /// Reads a file. `None`, with a fault, if it cannot be read, is too large or is no text at all.
    pub fn read(path: &Path, faults: &Faults) -> Option<Self> {
        let name = path.display().to_string();
        // What is no file, such as a pipe, may never give an end; opening it may already wait for ever.
        if files::kind(path).is_ok_and(|kind| kind == Kind::Other) {
            let hint = "write what it gives into a file, and give that";
            faults.report_file(&name, "this is a pipe or a device, not a file", hint);
            return None;
        }
        let mut bytes = Vec::new();
        // One byte over the limit is enough to know; an endless file must not be read to its end.
        let limit = u64::try_from(SIZE_LIMIT).unwrap_or(u64::MAX);
        let read = files::read_at_most(path, limit, &mut bytes);
        match read {
            Ok(_) => Self::from_bytes(name, &bytes, faults).map(|source| Self {
                from_disk: true,
                ..source
            }),
            Err(error) => {
                let (why, hint) = match error.kind() {
                    std::io::ErrorKind::NotFound => (
                        "there is no such file".to_owned(),
                        "look at its name and the folder it lies in",
                    ),
                    std::io::ErrorKind::PermissionDenied => (
                        "no permission to read this file".to_owned(),
                        "let it be read, or copy it to where it may be",
                    ),
                    std::io::ErrorKind::IsADirectory => {
                        ("this is a folder, not a file".to_owned(), "name a file in it")
                    }
                    _ => (
                        format!("this file cannot be read: {error}"),
                        "copy it to a place where it can be read",
                    ),
                };
                faults.report_file(&name, why, hint);
                None
            }
        }
    }

    /// Takes bytes as the content of `name`. Every place that is not UTF-8 is reported and replaced, so
    /// that the rest of the file can still be checked; what is no text at all gives one fault and `None`.
    pub fn from_bytes(name: impl Into<String>, bytes: &[u8], faults: &Faults) -> Option<Self> {
        let name = name.into();
        if bytes.len() > SIZE_LIMIT {
            faults.report_file(
                &name,
                format!("this file is larger than {} MiB", SIZE_LIMIT >> 20),
                "content files are a few kilobytes of text; divide it, or give another file",
            );
            return None;
        }
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            faults.report_file(&name, "this file is UTF-16 text", "save the file as UTF-8");
            return None;
        }
        if bytes.contains(&0) {
            faults.report_file(&name, "this file is not text", "give a text file, saved as UTF-8");
            return None;
        }
        let mut text = String::with_capacity(bytes.len());
        let mut wrong = Vec::new();
        for chunk in bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).utf8_chunks() {
            text.push_str(chunk.valid());
            if !chunk.invalid().is_empty() {
                let start = text.len();
                text.push(char::REPLACEMENT_CHARACTER);
                wrong.push(start..text.len());
            }
        }
        let source = Self::new(name, text);
        for span in wrong {
            let hint = "save the file as UTF-8";
            faults.report(&source, span, "this is not UTF-8 text", hint);
        }
        Some(source)
    }

    /// The name given to this text, usually its path.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text, without byte order mark; spans count its bytes.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Line and column, both from 1, of a byte offset; columns count characters.
    pub fn position(&self, at: usize) -> (usize, usize) {
        let at = self.text.floor_char_boundary(at);
        let line = self.line_starts.partition_point(|&start| start <= at).max(1);
        let start = self.line_starts[line - 1];
        (line, self.text[start..at].chars().count() + 1)
    }

    /// The line at `span`, with carets under what lies on that line.
    fn snippet(&self, span: &Range<usize>, line: usize) -> String {
        let start = self.line_starts[line - 1];
        let end = self
            .line_starts
            .get(line)
            .map_or(self.text.len(), |next| next - 1);
        let quoted = &self.text[start..end];
        let quoted = quoted.strip_suffix('\r').unwrap_or(quoted);
        let at = quoted.floor_char_boundary(span.start - start);
        let marked_to = span.end.saturating_sub(start);
        // Only a window is walked: a broken file may hold its megabytes in a single line.
        let whole = quoted.chars().nth(QUOTED_WIDTH).is_none();
        let half = QUOTED_WIDTH / 2;
        let (from, to) = if whole {
            (0, quoted.len())
        } else {
            let from = quoted[..at]
                .char_indices()
                .rev()
                .nth(half - 1)
                .map_or(0, |(byte, _)| byte);
            let to = quoted[at..]
                .char_indices()
                .nth(half)
                .map_or(quoted.len(), |(byte, _)| at + byte);
            (from, to)
        };
        let mut shown = String::from(if from > 0 { "..." } else { "" });
        let (mut before, mut under) = (shown.len(), 0);
        for (byte, c) in quoted[from..to].char_indices() {
            let width = push_printable(&mut shown, c);
            if from + byte < at {
                before += width;
            } else if from + byte < marked_to {
                under += width;
            }
        }
        if to < quoted.len() {
            shown.push_str("...");
        }
        let shown = shown.trim_end();
        format!(
            "{line:>5} | {shown}\n      | {:before$}{}",
            "",
            "^".repeat(under.max(1))
        )
    }
}

/// Appends a character so that it cannot disturb a terminal; returns how many columns it takes.
fn push_printable(to: &mut String, c: char) -> usize {
    let reorders = matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if c == '\t' {
        to.push_str("    ");
        return 4;
    }
    if c.is_control() || reorders || c == '\u{feff}' {
        let escaped = c.escape_default();
        let width = escaped.len();
        to.extend(escaped);
        return width;
    }
    to.push(c);
    match u32::from(c) {
        0x300..=0x36f | 0x200b..=0x200d | 0xfe00..=0xfe0f => 0,
        0x1100..=0x115f | 0x2e80..=0xa4cf | 0xac00..=0xd7a3 | 0xf900..=0xfaff | 0xfe30..=0xfe6f => 2,
        0xff00..=0xff60 | 0xffe0..=0xffe6 | 0x1f300..=0x1faff | 0x20000..=0x3fffd => 2,
        _ => 1,
    }
}

/// A text made printable on one line.
pub fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        push_printable(&mut out, c);
    }
    out
}

/// A name from a file between backticks: printable, and cut if it is very long.
pub fn quoted(name: &str) -> String {
    match name.char_indices().nth(NAME_WIDTH) {
        Some((cut, _)) => format!("`{}...`", printable(&name[..cut])),
        None => format!("`{}`", printable(name)),
    }
}

/// One thing that is wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The file's name as given.
    pub file: String,
    /// Bytes of the text it concerns; empty at 0 where there is no position.
    pub span: Range<usize>,
    /// Line from 1; 0 where the fault concerns the whole file, such as one that cannot be read.
    pub line: usize,
    /// Column in characters from 1; 0 where the fault concerns the whole file.
    pub column: usize,
    /// What is wrong, lowercase and exact.
    pub brief: String,
    /// What to do about it.
    pub hint: String,
    /// The line quoted with carets, ready to print; empty without a position.
    pub snippet: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = printable(&self.file);
        if self.line == 0 {
            write!(f, "{file}: {}", self.brief)?;
        } else {
            write!(
                f,
                "{file}:{}:{}: {}\n{}",
                self.line, self.column, self.brief, self.snippet
            )?;
        }
        write!(f, "\n   hint: {}", self.hint)
    }
}

#[derive(Debug, Default)]
struct FileFaults {
    list: Vec<Fault>,
    /// Faults that leave those of the list without meaning.
    alone: Vec<Fault>,
    left_out: usize,
    /// Places already complained about, or known to be broken.
    places: HashSet<(usize, usize)>,
}

/// Collects faults of any number of files. Shared by plain reference, so decoders nest freely.
#[derive(Debug, Default)]
pub struct Faults {
    files: RefCell<BTreeMap<String, FileFaults>>,
    /// True if some file has faults that stand alone.
    alone: Cell<bool>,
    /// What files read from disk have defined: sort of thing and id, and the file.
    defined: RefCell<BTreeMap<(String, String), String>>,
}

fn fault(source: &Source, span: &Range<usize>, brief: &str, hint: &str) -> Fault {
    let start = source.text.floor_char_boundary(span.start);
    let (line, column) = source.position(start);
    Fault {
        file: source.name.clone(),
        span: span.clone(),
        line,
        column,
        brief: printable(brief),
        hint: printable(hint),
        snippet: source.snippet(&(start..span.end.max(start)), line),
    }
}

impl Faults {
    /// An empty collector.
    pub fn new() -> Self {
        Self::default()
    }

    /// Reports a fault at a place, unless something was already reported for exactly this place.
    pub fn report(
        &self,
        source: &Source,
        span: Range<usize>,
        brief: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let known = |file: &FileFaults| file.places.contains(&(span.start, span.end));
        self.add(source, &span, &brief.into(), &hint.into(), known);
    }

    /// Like [`Faults::report`], for checks that can find several different things wrong with one place: only
    /// the same words at the same place are dropped.
    pub fn report_also(
        &self,
        source: &Source,
        span: Range<usize>,
        brief: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let brief = brief.into();
        let known = |file: &FileFaults| file.list.iter().any(|had| had.span == span && had.brief == brief);
        self.add(source, &span, &brief, &hint.into(), known);
    }

    /// Reports a fault that leaves all others without meaning, such as a file of a newer format: while there are such,
    /// only they are shown and counted.
    pub fn report_alone(
        &self,
        source: &Source,
        span: Range<usize>,
        brief: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.alone.set(true);
        let mut files = self.files.borrow_mut();
        let entry = files.entry(source.name.clone()).or_default();
        if !entry.alone.iter().any(|had| had.span == span) {
            entry
                .alone
                .push(fault(source, &span, &brief.into(), &hint.into()));
        }
    }

    /// Reports a fault that concerns a whole file and has no position in it.
    pub fn report_file(&self, file: &str, brief: impl Into<String>, hint: impl Into<String>) {
        let brief = printable(&brief.into());
        let mut files = self.files.borrow_mut();
        let entry = files.entry(file.to_owned()).or_default();
        if !entry.list.iter().any(|had| had.line == 0 && had.brief == brief) {
            let snippet = String::new();
            let hint = printable(&hint.into());
            entry.list.push(Fault {
                file: file.to_owned(),
                span: 0..0,
                line: 0,
                column: 0,
                brief,
                hint,
                snippet,
            });
        }
    }

    /// Marks a place as broken, so that later reports about exactly this place are dropped.
    pub fn hush(&self, source: &Source, span: Range<usize>) {
        let mut files = self.files.borrow_mut();
        files
            .entry(source.name.clone())
            .or_default()
            .places
            .insert((span.start, span.end));
    }

    fn add(
        &self,
        source: &Source,
        span: &Range<usize>,
        brief: &str,
        hint: &str,
        known: impl Fn(&FileFaults) -> bool,
    ) {
        let mut files = self.files.borrow_mut();
        let entry = files.entry(source.name.clone()).or_default();
        if known(entry) {
            return;
        }
        if entry.list.len() >= FAULT_LIMIT {
            entry.left_out += 1;
            return;
        }
        entry.places.insert((span.start, span.end));
        entry.list.push(fault(source, span, brief, hint));
    }

    /// Notes that a file defines a thing, and gives the other file that was read from disk and has defined the same.
    /// Content that the program carries may be replaced and does not count.
    pub fn defined_elsewhere(&self, source: &Source, noun: &str, id: &str) -> Option<String> {
        if !source.from_disk {
            return None;
        }
        let mut defined = self.defined.borrow_mut();
        let file = defined
            .entry((noun.to_owned(), id.to_owned()))
            .or_insert_with(|| source.name.clone());
        (*file != source.name).then(|| file.clone())
    }

    /// True if nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// How many faults were found, those left out of the list included.
    pub fn len(&self) -> usize {
        let files = self.files.borrow();
        if self.alone.get() {
            return files.values().map(|file| file.alone.len()).sum();
        }
        files.values().map(|file| file.list.len() + file.left_out).sum()
    }

    /// The faults kept, by file and then by position.
    pub fn sorted(&self) -> Vec<Fault> {
        let files = self.files.borrow();
        files.values().flat_map(|file| self.by_position(file)).collect()
    }

    fn by_position(&self, file: &FileFaults) -> Vec<Fault> {
        let mut list = if self.alone.get() {
            file.alone.clone()
        } else {
            file.list.clone()
        };
        list.sort_by_key(|fault| (fault.line > 0, fault.span.start));
        list
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, file) in self.files.borrow().iter() {
            for fault in self.by_position(file) {
                writeln!(f, "{fault}")?;
            }
            match file.left_out {
                _ if self.alone.get() => {}
                0 => {}
                1 => writeln!(f, "{}: 1 more fault was left out", printable(name))?,
                more => writeln!(f, "{}: {more} more faults were left out", printable(name))?,
            }
        }
        Ok(())
    }
}

/// How many known names are worth listing.
const KNOWN_WIDTH: usize = 12;

/// What to do about a name that is not known: the nearest that is, or those there are.
pub fn known_hint<'k>(name: &str, known: impl Iterator<Item = &'k str> + Clone) -> String {
    nearest_hint(name, known.clone()).unwrap_or_else(|| {
        let count = known.clone().count();
        let mut first: Vec<String> = known.take(KNOWN_WIDTH).map(quoted).collect();
        let last = match count.saturating_sub(KNOWN_WIDTH) {
            0 => first.pop(),
            more => Some(format!("{more} more")),
        };
        match last {
            None => "none is known here; define one first, or leave this out".to_owned(),
            Some(last) if first.is_empty() => format!("the only one known is {last}"),
            Some(last) => format!("known: {} and {last}", first.join(", ")),
        }
    })
}

/// The known name that was most likely meant, if one is near: a third of its letters may differ, three at most.
pub fn nearest<'k>(name: &str, known: impl IntoIterator<Item = &'k str>) -> Option<String> {
    let wanted = letters(name)?;
    let tolerance = (wanted.len() / 3).clamp(1, 3);
    let near = known.into_iter().filter_map(|candidate| {
        let letters = letters(candidate)?;
        let far = letters.len().abs_diff(wanted.len()) > tolerance;
        let distance = if far {
            usize::MAX
        } else {
            distance(&wanted, &letters)
        };
        (distance <= tolerance && distance < letters.len().max(wanted.len())).then_some((distance, candidate))
    });
    near.min().map(|(_, candidate)| candidate.to_owned())
}

/// The hint that goes with [`nearest`].
pub fn nearest_hint<'k>(name: &str, known: impl IntoIterator<Item = &'k str>) -> Option<String> {
    nearest(name, known).map(|known| format!("the nearest known name is {}", quoted(&known)))
}

/// Letters to compare, without case; `None` for what is too long to be a slip of a name.
fn letters(name: &str) -> Option<Vec<char>> {
    let letters: Vec<char> = name
        .chars()
        .flat_map(char::to_lowercase)
        .take(NAME_WIDTH + 1)
        .collect();
    (letters.len() <= NAME_WIDTH).then_some(letters)
}

/// Damerau-Levenshtein distance in its restricted form: a swap of neighbours counts as one slip.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for (i, &from) in a.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, &to) in b.iter().enumerate() {
            let mut best = (above[j] + usize::from(from != to))
                .min(above[j + 1] + 1)
                .min(row[j] + 1);
            if i > 0 && j > 0 && from == b[j - 1] && a[i - 1] == to {
                best = best.min(before[j - 1] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn only(text: &str, span: Range<usize>) -> Fault {
        let (faults, source) = (Faults::new(), Source::new("a.ron", text));
        faults.report(&source, span, "wrong", "mend it");
        faults.sorted().remove(0)
    }

    #[test]
    fn a_fault_prints_as_promised() {
        let (faults, source) = (
            Faults::new(),
            Source::new("s/my-room.ron", "(\n    kit: [\"gwon\"],\n)"),
        );
        let hint = known_hint("gwon", ["goggles", "gown", "glove"].into_iter());
        faults.report(&source, 12..18, "unknown item `gwon`", hint);
        let wanted = "s/my-room.ron:2:11: unknown item `gwon`\n    2 |     kit: [\"gwon\"],\n      |           \
                      ^^^^^^\n   hint: the nearest known name is `gown`\n";
        assert_eq!(faults.to_string(), wanted);
    }

    #[test]
    fn carets_stand_under_the_fault_after_tabs_control_characters_and_wide_letters() {
        for before in ["\t\t", "\u{1b}[31m", "面具", "é\u{301}", "\u{202e}"] {
            let text = format!("x\n{before}WRONG");
            let at = text.len() - 5;
            let fault = only(&text, at..text.len());
            assert_eq!((fault.line, fault.column), (2, before.chars().count() + 1));
            assert!(!fault.snippet.contains(['\t', '\u{1b}', '\u{202e}']));
            let (quote, carets) = fault.snippet.split_once('\n').unwrap();
            let mut scratch = String::new();
            let column: usize = quote
                .split("WRONG")
                .next()
                .unwrap()
                .chars()
                .map(|c| push_printable(&mut scratch, c))
                .sum();
            assert_eq!(carets.find("^^^^^"), Some(column));
        }
    }

    #[test]
    fn a_very_long_line_is_trimmed_around_the_fault() {
        let text = format!("{}WRONG{}", "a".repeat(3000), "b".repeat(3000));
        let fault = only(&text, 3000..3005);
        let lines: Vec<&str> = fault.snippet.lines().collect();
        assert!(lines.iter().all(|line| line.len() < 130));
        assert_eq!(lines[0].find("WRONG"), lines[1].find("^^^^^"));
    }

    #[test]
    fn the_list_is_capped_and_says_so_in_its_last_line() {
        let (faults, source) = (Faults::new(), Source::new("a.ron", "x".repeat(1000)));
        for at in 0..1000 {
            faults.report(&source, at..at + 1, "wrong", "mend it");
        }
        assert_eq!((faults.sorted().len(), faults.len()), (FAULT_LIMIT, 1000));
        assert_eq!(
            faults.to_string().lines().last(),
            Some("a.ron: 800 more faults were left out")
        );
    }

    #[test]
    fn one_place_is_reported_once_and_faults_come_by_file_and_position() {
        let faults = Faults::new();
        let (b, a) = (Source::new("b.ron", "one\ntwo"), Source::new("a.ron", "one\ntwo"));
        faults.report(&b, 4..7, "second", "mend it");
        faults.report(&b, 0..3, "first", "mend it");
        faults.report(&b, 0..3, "first again", "mend it");
        faults.report_also(&b, 0..3, "first", "mend it");
        faults.report_also(&b, 0..3, "something else", "mend it");
        faults.report(&a, 4..7, "in a", "mend it");
        faults.report_file("a.ron", "whole file", "mend it");
        let briefs: Vec<String> = faults.sorted().into_iter().map(|fault| fault.brief).collect();
        assert_eq!(
            briefs,
            ["whole file", "in a", "first", "something else", "second"]
        );
    }

    #[test]
    fn every_place_that_is_not_utf8_is_reported_with_its_position() {
        let faults = Faults::new();
        let source =
            Source::from_bytes("a.ron", b"\xef\xbb\xbf(a: \"\xe9\",\n b: \"\xff\")", &faults).unwrap();
        let places: Vec<_> = faults
            .sorted()
            .iter()
            .map(|fault| (fault.line, fault.column))
            .collect();
        assert_eq!(places, [(1, 6), (2, 6)]);
        assert!(source.text().starts_with("(a"));
        for (bytes, brief) in [
            (&b"\xff\xfea\0"[..], "UTF-16"),
            (b"a\0b", "not text"),
            (&[b'a'; SIZE_LIMIT + 1], "larger"),
        ] {
            let faults = Faults::new();
            assert!(Source::from_bytes("b", bytes, &faults).is_none());
            assert!(faults.to_string().contains(brief));
        }
        let faults = Faults::new();
        assert!(Source::read(Path::new("no/such.ron"), &faults).is_none());
        assert_eq!(
            faults.to_string(),
            "no/such.ron: there is no such file\n   hint: look at its name and the folder it lies in\n"
        );
    }

    #[test]
    fn the_nearest_name_is_a_likely_slip_and_nothing_else() {
        let known = ["gown", "glove", "goggles", "left-glove", "ab"];
        for (slip, meant) in [
            ("gwon", "gown"),
            ("Gown", "gown"),
            ("gloves", "glove"),
            ("left_glove", "left-glove"),
        ] {
            assert_eq!(nearest(slip, known).as_deref(), Some(meant));
        }
        for stranger in ["", "x", "zzzzzz", "respirator"] {
            assert_eq!(nearest(stranger, known), None, "{stranger}");
        }
    }

    proptest! {
        #[test]
        fn any_span_of_any_text_can_be_reported(text in "\\PC*|[\\r\\n\\té面a]{0,300}", start in 0usize..400, len in 0usize..400) {
            let fault = only(&text, start..start + len);
            prop_assert!(fault.line >= 1 && fault.column >= 1 && !fault.to_string().is_empty());
        }
    }
}
