//! RON text as a tree that remembers where everything stands.
//!
//! Owns the reading of syntax: [`parse`] always returns a tree, reports every syntax fault it meets and goes
//! on behind it. What could not be read is [`NodeKind::Broken`], and a bracket some of whose content was lost
//! is `torn`, so that decoding does not complain a second time. Depth, size and number of values are limited
//! before memory or stack are: no input makes this fail otherwise than by faults.

use std::collections::HashSet;
use std::ops::Range;

use super::fault::{Faults, SIZE_LIMIT, Source, known_hint, quoted};

/// How deep brackets may be nested.
pub const DEPTH_LIMIT: usize = 64;
/// How many values one file may hold; bounds the memory of a tree.
const VALUE_LIMIT: usize = 200_000;
/// How many brackets left open at the end of a file are worth naming, innermost first.
const OPEN_LIMIT: usize = 4;

/// A value together with the bytes it was read from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Bytes of the source it stands at.
    pub span: Range<usize>,
}

/// One value of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Bytes of the source, brackets, quotes and name included.
    pub span: Range<usize>,
    /// What it is.
    pub kind: NodeKind,
    /// True if part of its content was lost to a syntax fault already reported.
    pub torn: bool,
}

/// What a value is.
#[derive(Clone, Debug, PartialEq)]
pub enum NodeKind {
    /// Could not be read; the fault has been reported.
    Broken,
    /// `()`.
    Unit,
    /// `true` or `false`.
    Bool(bool),
    /// Any number.
    Number(Number),
    /// Text in quotes, escapes resolved.
    Text(String),
    /// A character in single quotes.
    Char(char),
    /// A bare word such as `Inside` or `None`.
    Ident(String),
    /// `(a: 1)` or `Name(a: 1)`; field names are unique.
    Struct {
        /// The name before the bracket.
        name: Option<Spanned<String>>,
        /// The fields as written.
        fields: Vec<Field>,
    },
    /// `(1, 2)`, `Name(1, 2)` or `Name()`.
    Tuple {
        /// The name before the bracket.
        name: Option<Spanned<String>>,
        /// The values as written.
        items: Vec<Node>,
    },
    /// `[1, 2]`.
    List(Vec<Node>),
    /// `{1: 2}`.
    Map(Vec<(Node, Node)>),
}

/// A named value within brackets.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// The field's name.
    pub name: String,
    /// Where the name stands.
    pub name_span: Range<usize>,
    /// Its value.
    pub value: Node,
}

/// A number as written and as read; always finite.
#[derive(Clone, Debug, PartialEq)]
pub struct Number {
    /// As written in the file.
    pub text: String,
    /// The nearest floating point number.
    pub value: f64,
    /// The exact value if it is whole and fits.
    pub whole: Option<i128>,
}

impl Node {
    /// The value of an optional field: `Some(x)` and a bare `x` give `x`, `None` gives nothing.
    pub fn present(&self) -> Option<&Node> {
        match &self.kind {
            NodeKind::Ident(word) if word == "None" => None,
            NodeKind::Tuple {
                name: Some(name),
                items,
            } if name.value == "Some" && items.len() == 1 => items.first(),
            _ => Some(self),
        }
    }

    /// The value of a field of a bracket, if it has it.
    pub fn field(&self, name: &str) -> Option<&Node> {
        match &self.kind {
            NodeKind::Struct { fields, .. } => fields.iter().find(|f| f.name == name).map(|f| &f.value),
            _ => None,
        }
    }

    /// What this is, in words that fit after "this is".
    pub fn describe(&self) -> String {
        match &self.kind {
            NodeKind::Broken => "something broken".to_owned(),
            NodeKind::Unit => "the empty `()`".to_owned(),
            NodeKind::Bool(value) => format!("`{value}`"),
            NodeKind::Number(number) => format!("the number {}", quoted(&number.text)),
            NodeKind::Text(text) => format!("the text {}", quoted(text)),
            NodeKind::Char(_) => "a character in single quotes".to_owned(),
            NodeKind::Ident(word) => format!("the word {}", quoted(word)),
            NodeKind::Struct { name: Some(name), .. } => format!("{} with named fields", quoted(&name.value)),
            NodeKind::Struct { .. } => "a bracket of named fields".to_owned(),
            NodeKind::Tuple { name: Some(name), .. } => {
                format!("{} with values in brackets", quoted(&name.value))
            }
            NodeKind::Tuple { .. } => "a bracket of values without names".to_owned(),
            NodeKind::List(_) => "a list".to_owned(),
            NodeKind::Map(_) => "a map".to_owned(),
        }
    }
}

/// Reads a file's text. Syntax faults go to `faults`; the tree holds whatever could be read.
pub fn parse(source: &Source, faults: &Faults) -> Node {
    let text = source.text();
    let mut reader = Reader {
        source,
        faults,
        text,
        at: 0,
        open: Vec::new(),
        values: 0,
        lost: false,
        left_open: 0,
    };
    if text.len() > SIZE_LIMIT {
        faults.report_file(
            source.name(),
            format!("this file is larger than {} MiB", SIZE_LIMIT >> 20),
            "content files are a few kilobytes of text; divide it, or give another file",
        );
        return broken(0..0);
    }
    reader.attributes();
    if reader.at == text.len() {
        if !reader.lost {
            reader.fault(
                reader.at..reader.at,
                "there is no value in this file",
                "write `(format: 1, ...)`",
            );
        }
        return broken(reader.at..reader.at);
    }
    let root = reader.value();
    reader.blank();
    // A root that could not be read leaves its rest behind; that rest is no second fault.
    if reader.at < text.len() && !reader.lost {
        let rest = reader.at..reader.at + reader.peek().map_or(0, char::len_utf8);
        reader.fault(
            rest,
            "nothing may follow the end of the file's value",
            "remove what follows, or a closing bracket too many before it",
        );
    }
    root
}

fn broken(span: Range<usize>) -> Node {
    Node {
        span,
        kind: NodeKind::Broken,
        torn: true,
    }
}

/// How many of each kind of bracket are open, so that a closing one can be placed without searching.
#[derive(Default)]
struct Open(Vec<char>, [usize; 3]);

impl Open {
    fn slot(closer: char) -> usize {
        match closer {
            ')' => 0,
            ']' => 1,
            _ => 2,
        }
    }
    fn push(&mut self, closer: char) {
        self.0.push(closer);
        self.1[Self::slot(closer)] += 1;
    }
    /// Closes up to and including the innermost bracket of this kind; false if none is open.
    fn close(&mut self, closer: char) -> bool {
        if self.1[Self::slot(closer)] == 0 {
            return false;
        }
        while let Some(top) = self.0.pop() {
            self.1[Self::slot(top)] -= 1;
            if top == closer {
                break;
            }
        }
        true
    }
}

fn closer_of(opener: char) -> Option<char> {
    match opener {
        '(' => Some(')'),
        '[' => Some(']'),
        '{' => Some('}'),
        _ => None,
    }
}

fn is_blank(c: char) -> bool {
    matches!(
        c,
        ' ' | '\t'
            | '\n'
            | '\r'
            | '\x0b'
            | '\x0c'
            | '\u{85}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{2028}'
            | '\u{2029}'
    )
}

fn starts_word(c: char) -> bool {
    c == '_' || c.is_alphabetic()
}

fn in_word(c: char) -> bool {
    c == '_' || c.is_alphanumeric()
}

struct Reader<'a> {
    source: &'a Source,
    faults: &'a Faults,
    text: &'a str,
    at: usize,
    /// Closing brackets awaited, outermost first.
    open: Vec<char>,
    values: usize,
    /// True while what follows is the rest of something unreadable.
    lost: bool,
    left_open: usize,
}

/// What stands in a bracket so far.
enum Content {
    Nothing,
    Fields(Vec<Field>, HashSet<String>),
    Items(Vec<Node>),
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }
    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }
    fn at_raw_text(&self) -> bool {
        self.rest()
            .strip_prefix('r')
            .is_some_and(|rest| rest.trim_start_matches('#').starts_with('"'))
    }
    fn at_bytes(&self) -> bool {
        ["b\"", "b'", "br\"", "br#"]
            .iter()
            .any(|head| self.rest().starts_with(head))
    }
    fn take(&mut self, wanted: &str) -> bool {
        let found = self.rest().starts_with(wanted);
        if found {
            self.at += wanted.len();
        }
        found
    }
    fn take_while(&mut self, keep: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let end = rest.find(|c| !keep(c)).unwrap_or(rest.len());
        self.at += end;
        &rest[..end]
    }
    fn fault(&self, span: Range<usize>, brief: impl Into<String>, hint: &str) {
        self.faults.report(self.source, span, brief, hint);
    }
    /// The next character, for a fault about it.
    fn here(&self) -> (Range<usize>, String) {
        match self.peek() {
            Some(c) => (
                self.at..self.at + c.len_utf8(),
                quoted(c.encode_utf8(&mut [0; 4])),
            ),
            None => (self.at..self.at, "the end of the file".to_owned()),
        }
    }
    /// Gives up on the rest of the file, which some fault already reported has swallowed.
    fn swallow(&mut self) {
        self.at = self.text.len();
        self.lost = true;
        self.left_open = OPEN_LIMIT;
    }

    /// Skips blanks and comments.
    fn blank(&mut self) {
        loop {
            self.take_while(is_blank);
            let start = self.at;
            if self.take("//") {
                self.take_while(|c| c != '\n');
            } else if self.take("/*") {
                let mut depth = 1;
                while depth > 0 {
                    self.take_while(|c| c != '/' && c != '*');
                    if self.take("/*") {
                        depth += 1;
                    } else if self.take("*/") {
                        depth -= 1;
                    } else if self.at < self.text.len() {
                        self.at += 1;
                    } else {
                        self.fault(
                            start..start + 2,
                            "this comment is never closed",
                            "close it with `*/`",
                        );
                        return self.swallow();
                    }
                }
            } else {
                return;
            }
        }
    }

    /// Reads `#![enable(...)]` and its like before the first value.
    fn attributes(&mut self) {
        self.blank();
        while self.peek() == Some('#') {
            let start = self.at;
            if !self.attribute() && !self.lost {
                let line = self.text[start..].lines().next().map_or(0, str::len);
                let hint = "remove this line; none is needed";
                self.fault(start..start + line, "this is no attribute of a RON file", hint);
                self.at = self.at.max(start + line);
            }
            self.blank();
        }
    }

    /// Reads one attribute; false if it is none.
    fn attribute(&mut self) -> bool {
        const KNOWN: [&str; 4] = [
            "implicit_some",
            "unwrap_newtypes",
            "unwrap_variant_newtypes",
            "explicit_struct_names",
        ];
        let mut next = |token| {
            let found = self.take(token);
            self.blank();
            found
        };
        if !(next("#") && next("!") && next("[")) {
            return false;
        }
        let name = self.word().value;
        self.blank();
        if name != "enable" {
            let assigned = matches!(name.as_str(), "type" | "schema") && self.take("=");
            self.blank();
            let text = assigned && self.peek() == Some('"') && self.text_value() != NodeKind::Broken;
            self.blank();
            return text && self.take("]");
        }
        if !self.take("(") {
            return false;
        }
        self.blank();
        while !self.take(")") {
            let extension = self.word();
            if extension.value.is_empty() {
                return false;
            }
            if !KNOWN.contains(&extension.value.as_str()) {
                let brief = format!("unknown extension {}", quoted(&extension.value));
                let hint = known_hint(&extension.value, KNOWN.into_iter());
                self.faults.report(self.source, extension.span, brief, hint);
            }
            self.blank();
            if !self.take(",") && self.peek() != Some(')') {
                return false;
            }
            self.blank();
        }
        self.blank();
        self.take("]")
    }

    /// Reads one value; on a fault the value is broken and `lost` is set.
    fn value(&mut self) -> Node {
        let start = self.at;
        self.values += 1;
        if self.values > VALUE_LIMIT {
            self.fault(
                start..start,
                format!("this file holds more than {VALUE_LIMIT} values"),
                "divide it into several files",
            );
            self.swallow();
            return broken(start..start);
        }
        let Some(first) = self.peek() else {
            self.lost = true;
            return broken(start..start);
        };
        let rest = self.rest();
        let kind = match first {
            '"' => self.text_value(),
            'r' if self.at_raw_text() => self.raw_text(),
            'b' if self.at_bytes() => {
                self.at += rest.find(['"', '\'', '#']).unwrap_or(1);
                self.unreadable(
                    start..self.at,
                    "bytes are not used in these files",
                    "drop the `b` to write text",
                )
            }
            '\'' => self.char_value(),
            '0'..='9' | '+' | '-' | '.' => self.number(),
            '(' | '[' | '{' => return self.bracket(None, start),
            c if starts_word(c) => {
                let name = self.word();
                return self.named(name);
            }
            _ => {
                let (span, found) = self.here();
                self.unreadable(
                    span,
                    &format!("a value is needed here, not {found}"),
                    "a value is text in double quotes, a number, a word, or something in brackets",
                )
            }
        };
        let end = if kind == NodeKind::Broken {
            self.at.max(start + first.len_utf8())
        } else {
            self.at
        };
        let node = Node {
            span: start..end.min(self.text.len()),
            torn: kind == NodeKind::Broken,
            kind,
        };
        if node.torn {
            self.faults.hush(self.source, node.span.clone());
        }
        node
    }

    fn unreadable(&mut self, span: Range<usize>, brief: &str, hint: &str) -> NodeKind {
        self.faults.report(self.source, span, brief, hint);
        self.lost = true;
        NodeKind::Broken
    }

    /// Reads a word, raw ones such as `r#left-hand` included.
    fn word(&mut self) -> Spanned<String> {
        let start = self.at;
        let raw = self.rest().starts_with("r#") && self.rest()[2..].starts_with(in_word) && self.take("r#");
        let word = self.take_while(|c| in_word(c) || (raw && matches!(c, '.' | '+' | '-')));
        Spanned {
            value: word.to_owned(),
            span: start..self.at,
        }
    }

    /// The value that starts with this word: a variant, alone or with content, or a literal.
    fn named(&mut self, name: Spanned<String>) -> Node {
        let kind = match name.value.as_str() {
            "true" => NodeKind::Bool(true),
            "false" => NodeKind::Bool(false),
            "inf" | "NaN" | "inff32" | "inff64" | "NaNf32" | "NaNf64" => {
                self.fault(
                    name.span.clone(),
                    "a number must be finite",
                    "write a number in digits",
                );
                NodeKind::Broken
            }
            _ => {
                self.blank();
                if self.peek() == Some('(') {
                    let start = name.span.start;
                    return self.bracket(Some(name), start);
                }
                NodeKind::Ident(name.value)
            }
        };
        Node {
            span: name.span,
            torn: kind == NodeKind::Broken,
            kind,
        }
    }

    fn number(&mut self) -> NodeKind {
        let start = self.at;
        let based = |text: &str| {
            ["0x", "0o", "0b"]
                .iter()
                .any(|base| text.trim_start_matches(['+', '-']).starts_with(base))
        };
        let based = based(&self.text[start..self.text.floor_char_boundary(start + 3)]);
        self.at += 1;
        loop {
            self.take_while(|c| in_word(c) || c == '.');
            let exponent = !based && self.text[..self.at].ends_with(['e', 'E']) && self.at > start + 1;
            if !(exponent && self.rest().starts_with(['+', '-'])) {
                break;
            }
            self.at += 1;
        }
        let text = &self.text[start..self.at];
        match read_number(text) {
            Ok(number) => NodeKind::Number(number),
            Err(brief) => {
                // The token's end is known, so nothing behind it is lost.
                self.fault(start..self.at, brief, "write a number as in `12`, `0.5` or `2e4`");
                NodeKind::Broken
            }
        }
    }

    fn raw_text(&mut self) -> NodeKind {
        let start = self.at;
        self.at += 1;
        let hashes = self.take_while(|c| c == '#');
        self.at += 1;
        match self.rest().find(&format!("\"{hashes}")) {
            Some(end) => {
                let text = self.rest()[..end].to_owned();
                self.at += end + 1 + hashes.len();
                NodeKind::Text(text)
            }
            None => self.unclosed_text(start),
        }
    }

    fn unclosed_text(&mut self, start: usize) -> NodeKind {
        self.fault(
            start..start + 1,
            "this text is never closed",
            "close it with a quotation mark",
        );
        self.swallow();
        NodeKind::Broken
    }

    fn text_value(&mut self) -> NodeKind {
        let start = self.at;
        self.at += 1;
        let (mut text, mut sound) = (String::new(), true);
        loop {
            text.push_str(self.take_while(|c| c != '"' && c != '\\'));
            let escape = self.at;
            if self.take("\"") {
                return if sound {
                    NodeKind::Text(text)
                } else {
                    NodeKind::Broken
                };
            }
            if !self.take("\\") {
                return self.unclosed_text(start);
            }
            if self.take("\r\n") || self.take("\n") {
                self.take_while(|c| matches!(c, ' ' | '\t' | '\n' | '\r'));
            } else {
                match self.escape() {
                    Some(c) => text.push(c),
                    None => sound = self.bad_escape(escape),
                }
            }
        }
    }

    fn char_value(&mut self) -> NodeKind {
        let start = self.at;
        self.at += 1;
        let c = match self.peek() {
            Some('\\') => {
                self.at += 1;
                let read = self.escape();
                if read.is_none() {
                    self.bad_escape(start + 1);
                    self.lost = !self.take("'");
                    return NodeKind::Broken;
                }
                read
            }
            c => c.inspect(|c| self.at += c.len_utf8()),
        };
        match c {
            Some(c) if self.take("'") => NodeKind::Char(c),
            _ => {
                self.at = start + 1;
                self.unreadable(
                    start..start + 1,
                    "a value is needed here, not `'`",
                    "text stands in double quotes",
                )
            }
        }
    }

    fn bad_escape(&self, start: usize) -> bool {
        let end = self
            .at
            .max(start + 1 + self.text[start + 1..].chars().next().map_or(0, char::len_utf8));
        let span = start..end;
        let brief = format!("unknown escape {}", quoted(&self.text[span.clone()]));
        self.fault(span, brief, "write a backslash itself as `\\\\`");
        false
    }

    /// Reads an escape behind its backslash.
    fn escape(&mut self) -> Option<char> {
        let c = self.peek()?;
        let plain = match c {
            '\'' | '"' | '\\' => c,
            'n' => '\n',
            'r' => '\r',
            't' => '\t',
            '0' => '\0',
            'x' => return self.byte_escape(),
            'u' => {
                let inside = self.rest().strip_prefix("u{")?;
                let digits = &inside[..inside.bytes().take(7).position(|byte| byte == b'}')?];
                let sound = !digits.is_empty() && digits.chars().all(|c| c.is_ascii_hexdigit());
                let read = u32::from_str_radix(digits, 16)
                    .ok()
                    .filter(|_| sound)
                    .and_then(char::from_u32)?;
                self.at += digits.len() + 3;
                return Some(read);
            }
            _ => return None,
        };
        self.at += 1;
        Some(plain)
    }

    /// Reads `x41`, or several such that make up one character, as the ron crate does.
    fn byte_escape(&mut self) -> Option<char> {
        let mut bytes = Vec::new();
        let mut ahead = self.rest();
        while bytes.len() < 4 {
            let digits = ahead.strip_prefix('x')?.get(..2)?;
            let sound = digits.chars().all(|c| c.is_ascii_hexdigit());
            bytes.push(u8::from_str_radix(digits, 16).ok().filter(|_| sound)?);
            if let Some(c) = str::from_utf8(&bytes).ok().and_then(|read| read.chars().next()) {
                self.at += bytes.len() * 4 - 1;
                return Some(c);
            }
            ahead = ahead.get(3..)?.strip_prefix('\\')?;
        }
        None
    }

    /// Reads `(...)`, `[...]` or `{...}`; what is broken inside is reported and left out.
    fn bracket(&mut self, name: Option<Spanned<String>>, start: usize) -> Node {
        let opened = self.at;
        let opener = self.peek().unwrap_or('(');
        let closer = closer_of(opener).unwrap_or(')');
        if self.open.len() >= DEPTH_LIMIT {
            self.fault(
                opened..opened + 1,
                format!("brackets are nested more than {DEPTH_LIMIT} deep"),
                "content needs a handful; are brackets opened that should be closed?",
            );
            self.at += 1;
            self.skip(Some(closer));
            return broken(start..self.at);
        }
        self.at += 1;
        self.open.push(closer);
        let (mut content, mut entries, mut torn) = (Content::Nothing, Vec::new(), false);
        loop {
            self.blank();
            let Some(next) = self.peek() else {
                if self.left_open < OPEN_LIMIT {
                    self.fault(
                        opened..opened + 1,
                        format!("this `{opener}` is never closed"),
                        &format!("close it with `{closer}`"),
                    );
                }
                self.left_open += 1;
                torn = true;
                break;
            };
            if next == closer {
                self.at += 1;
                break;
            }
            if matches!(next, ')' | ']' | '}') {
                torn = true;
                if self.open.contains(&next) {
                    let brief = format!("this `{opener}` is not closed before the next `{next}`");
                    self.fault(
                        opened..opened + 1,
                        brief,
                        &format!("close it with `{closer}` first"),
                    );
                    break;
                }
                self.fault(
                    self.at..self.at + 1,
                    format!("this `{next}` closes nothing"),
                    "remove it, or open its bracket before it",
                );
                self.at += 1;
                continue;
            }
            if next == ',' {
                self.fault(
                    self.at..self.at + 1,
                    "a value is missing before this `,`",
                    "write the value, or remove the `,`",
                );
                (torn, self.at) = (true, self.at + 1);
                continue;
            }
            match opener {
                '(' => torn |= self.entry(&mut content),
                '[' => {
                    let item = self.value();
                    content = content.with_item(item);
                }
                _ => {
                    let key = self.value();
                    self.blank();
                    if !self.lost && !self.take(":") {
                        let (span, found) = self.here();
                        self.unreadable(
                            span,
                            &format!("a `:` is needed between key and value, not {found}"),
                            "write `key: value`; where fields have names, use round brackets",
                        );
                    }
                    if !self.lost {
                        self.blank();
                        let value = self.value();
                        entries.push((key, value));
                    }
                }
            }
            torn |= self.separate(closer, matches!(content, Content::Fields(..)));
        }
        self.open.pop();
        let kind = match (opener, content) {
            ('(', Content::Nothing) if name.is_none() => NodeKind::Unit,
            ('(', Content::Nothing) => NodeKind::Tuple {
                name,
                items: Vec::new(),
            },
            ('(', Content::Items(items)) => NodeKind::Tuple { name, items },
            (_, Content::Fields(fields, _)) => NodeKind::Struct { name, fields },
            ('[', Content::Items(items)) => NodeKind::List(items),
            ('[', Content::Nothing) => NodeKind::List(Vec::new()),
            _ => NodeKind::Map(entries),
        };
        Node {
            span: start..self.at,
            kind,
            torn,
        }
    }

    /// Reads one entry of a round bracket: a field or a plain value. True if it was lost.
    fn entry(&mut self, content: &mut Content) -> bool {
        if !self.peek().is_some_and(starts_word) || self.at_raw_text() || self.at_bytes() {
            let item = self.value();
            return self.add_item(content, item);
        }
        let name = self.word();
        self.blank();
        let next = self.peek();
        let named = match (&*content, next) {
            (_, Some(':' | '=')) => true,
            (Content::Items(_), _) | (_, None | Some(',' | ')' | ']' | '}')) => false,
            (Content::Fields(..), _) => true,
            (Content::Nothing, next) => next != Some('('),
        };
        if !named {
            if matches!(content, Content::Fields(..)) && next.is_some() {
                self.fault(
                    name.span.clone(),
                    format!("the field {} has no value", quoted(&name.value)),
                    "write `name: value`, or remove the field",
                );
                return true;
            }
            let item = self.named(name);
            return self.add_item(content, item);
        }
        if !self.take(":") {
            let (span, found) = self.here();
            let brief = format!("a `:` is needed after {}, not {found}", quoted(&name.value));
            self.fault(span, brief, "a field is written `name: value`");
            self.take("=");
        }
        self.blank();
        let value = if matches!(self.peek(), Some(',' | ')' | ']' | '}')) {
            self.fault(
                name.span.clone(),
                format!("the field {} has no value", quoted(&name.value)),
                "write `name: value`, or remove the field",
            );
            broken(name.span.clone())
        } else {
            self.value()
        };
        match std::mem::replace(content, Content::Nothing) {
            Content::Items(items) => {
                *content = Content::Items(items);
                self.fault(
                    name.span,
                    "a named field cannot stand among values without names",
                    "name all of them, or none",
                );
                true
            }
            Content::Fields(mut fields, mut names) => {
                if names.insert(name.value.clone()) {
                    fields.push(Field {
                        name: name.value,
                        name_span: name.span,
                        value,
                    });
                } else {
                    self.fault(
                        name.span,
                        format!("the field {} is written twice", quoted(&name.value)),
                        "remove one of the two",
                    );
                }
                *content = Content::Fields(fields, names);
                false
            }
            Content::Nothing => {
                let names = HashSet::from([name.value.clone()]);
                *content = Content::Fields(
                    vec![Field {
                        name: name.value,
                        name_span: name.span,
                        value,
                    }],
                    names,
                );
                false
            }
        }
    }

    fn add_item(&mut self, content: &mut Content, item: Node) -> bool {
        if matches!(content, Content::Fields(..)) {
            let brief = "a value without a name cannot stand among named fields";
            if item.kind != NodeKind::Broken {
                self.fault(item.span, brief, "a field is written `name: value`");
            }
            return true;
        }
        *content = std::mem::replace(content, Content::Nothing).with_item(item);
        false
    }

    /// Passes the comma behind an entry, after skipping what is unreadable before it. True if any was lost.
    fn separate(&mut self, closer: char, fields: bool) -> bool {
        let mut torn = self.lost;
        if !torn {
            let before = self.at;
            self.blank();
            if self.take(",") || matches!(self.peek(), None | Some(')' | ']' | '}')) {
                return self.lost;
            }
            let (span, found) = self.here();
            let brief = format!("a `,` or `{closer}` is needed here, not {found}");
            let glued = before == self.at && self.text[..before].ends_with('"');
            let hint = if glued {
                "is a quotation mark missing?"
            } else {
                "entries are separated by `,`"
            };
            self.fault(span, brief, hint);
            // A forgotten comma is the likeliest slip; where the next entry is plain to see, read it too.
            let next = self.rest().chars().next();
            let word = self.rest().trim_start_matches(in_word);
            let field = next.is_some_and(starts_word) && word.trim_start_matches(is_blank).starts_with(':');
            let before = self.text[..before].chars().next_back();
            let alike = matches!((before, next), (Some(')'), Some('(')) | (Some('"'), Some('"')));
            if (fields && field) || (!fields && alike && !glued) {
                return false;
            }
            torn = true;
        }
        self.lost = false;
        self.skip(None);
        self.take(",");
        torn
    }

    /// Moves on to the next comma or closing bracket of this depth, or behind the bracket given as open.
    fn skip(&mut self, opened: Option<char>) {
        let mut inner = Open::default();
        if let Some(closer) = opened {
            inner.push(closer);
        }
        loop {
            self.blank();
            let Some(next) = self.peek() else {
                // Whatever was left open within the skipped part has swallowed the rest.
                if !inner.0.is_empty() {
                    self.swallow();
                }
                return;
            };
            match next {
                '"' => {
                    // Escapes are not judged here, only passed.
                    let start = self.at;
                    self.at += 1;
                    loop {
                        self.take_while(|c| c != '"' && c != '\\');
                        if self.take("\"") {
                            break;
                        }
                        if !self.take("\\") {
                            self.unclosed_text(start);
                            return;
                        }
                        self.at += self.peek().map_or(0, char::len_utf8);
                    }
                }
                'r' if self.at_raw_text() => {
                    self.raw_text();
                }
                '\'' => {
                    let mut ahead = self.rest()[1..].chars();
                    let escaped = ahead.next() == Some('\\');
                    let last = if escaped { ahead.nth(1) } else { ahead.next() };
                    let length = self.rest().len() - ahead.as_str().len();
                    self.at += if last == Some('\'') { length } else { 1 };
                }
                '(' | '[' | '{' => {
                    inner.push(closer_of(next).unwrap_or(')'));
                    self.at += 1;
                }
                ')' | ']' | '}' => {
                    if !inner.close(next) && self.open.contains(&next) {
                        return;
                    }
                    self.at += 1;
                    if opened.is_some() && inner.0.is_empty() {
                        return;
                    }
                }
                ',' if inner.0.is_empty() => return,
                _ => {
                    self.at += next.len_utf8();
                    if starts_word(next) {
                        self.take_while(in_word);
                    }
                }
            }
        }
    }
}

impl Content {
    fn with_item(self, item: Node) -> Self {
        match self {
            Content::Items(mut items) => {
                items.push(item);
                Content::Items(items)
            }
            _ => Content::Items(vec![item]),
        }
    }
}

/// Reads a number token; the error is the fault's brief.
fn read_number(text: &str) -> Result<Number, String> {
    const INTEGERS: [&str; 10] = [
        "i8", "i16", "i32", "i64", "i128", "u8", "u16", "u32", "u64", "u128",
    ];
    let wrong = || format!("{} is not a number", quoted(text));
    if text.contains("..") {
        return Err("ranges are not used in these files".to_owned());
    }
    let (negative, unsigned) = match text.strip_prefix(['+', '-']) {
        Some(rest) => (text.starts_with('-'), rest),
        None => (false, text),
    };
    if unsigned.starts_with("inf") || unsigned.starts_with("NaN") {
        return Err("a number must be finite".to_owned());
    }
    let bases = [("0x", 16), ("0o", 8), ("0b", 2)];
    let base = bases
        .iter()
        .find_map(|&(head, base)| Some((unsigned.strip_prefix(head)?, base)));
    let bare = |text: &str, suffixes: &[&str]| -> String {
        let cut = suffixes
            .iter()
            .filter_map(|suffix| text.strip_suffix(suffix))
            .find(|rest| !rest.is_empty());
        cut.unwrap_or(text).chars().filter(|&c| c != '_').collect()
    };
    if let Some((digits, base)) = base {
        let digits = bare(digits, &INTEGERS);
        let sound = !digits.is_empty() && digits.chars().all(|c| c.is_digit(base));
        let whole = i128::from_str_radix(&digits, base)
            .ok()
            .filter(|_| sound)
            .ok_or_else(wrong)?;
        let whole = if negative { -whole } else { whole };
        return Ok(Number {
            text: text.to_owned(),
            value: whole as f64,
            whole: Some(whole),
        });
    }
    let digits = bare(unsigned, &[&INTEGERS[..], &["f32", "f64"]].concat());
    let plain = digits
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | 'e' | 'E' | '+' | '-'));
    if unsigned.starts_with('_') || !plain || !digits.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        return Err(wrong());
    }
    let value: f64 = digits.parse().map_err(|_| wrong())?;
    if !value.is_finite() {
        return Err("a number must be finite".to_owned());
    }
    let value = if negative { -value } else { value };
    // Floating point counts whole numbers exactly up to 2^53; `1e6` may stand where a count is wanted.
    let exact = (value.fract() == 0.0 && value.abs() <= 9_007_199_254_740_992.0).then_some(value as i128);
    let whole = digits
        .parse::<i128>()
        .map(|whole| if negative { -whole } else { whole })
        .ok()
        .or(exact);
    Ok(Number {
        text: text.to_owned(),
        value,
        whole,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::time::{Duration, Instant};

    const SOUND: &str = r##"#![enable(unwrap_newtypes)]
        // kit
        (format: 1, /* a /* nested */ one */ kit: ["a\n\u{e9}", r#"raw "text""#], at: Inside, to: Move(to: Bin),
        undo: Undo("x"), none: None, some: Some(0x1F), c: 'x', m: {"k": -1.5e-3, 2: ()}, t: (1, true,),)"##;

    fn read(text: &str) -> (Node, Vec<String>) {
        let (source, faults) = (Source::new("a.ron", text), Faults::new());
        let root = parse(&source, &faults);
        let line =
            |fault: &super::super::fault::Fault| format!("{}:{} {}", fault.line, fault.column, fault.brief);
        (root, faults.sorted().iter().map(line).collect())
    }

    /// Whether a tree says what the ron crate read; names of structs and variants are dropped there.
    fn agrees(node: &Node, value: &ron::Value) -> bool {
        use ron::Value;
        let all = |a: &[Node], b: &[Value]| a.len() == b.len() && a.iter().zip(b).all(|(a, b)| agrees(a, b));
        match (&node.kind, value) {
            (NodeKind::Unit, Value::Unit) | (NodeKind::Ident(_), Value::Unit | Value::Option(None)) => true,
            (NodeKind::Bool(a), Value::Bool(b)) => a == b,
            (NodeKind::Char(a), Value::Char(b)) => a == b,
            (NodeKind::Text(a), Value::String(b)) => a == b,
            (NodeKind::Number(a), Value::Number(b)) => (a.value - b.into_f64()).abs() <= a.value.abs() * 1e-6,
            (NodeKind::List(a), Value::Seq(b)) => all(a, b),
            (NodeKind::Tuple { items, .. }, Value::Option(Some(b))) => {
                items.len() == 1 && agrees(&items[0], b)
            }
            (NodeKind::Tuple { items, .. }, Value::Seq(b)) if all(items, b) => true,
            (NodeKind::Tuple { items, .. }, b) => {
                items.is_empty() || (items.len() == 1 && agrees(&items[0], b))
            }
            (NodeKind::Map(a), Value::Map(b)) => a.len() == b.len(),
            (NodeKind::Struct { fields, .. }, Value::Map(b)) => {
                let same = |field: &Field| {
                    b.get(&Value::String(field.name.clone()))
                        .is_some_and(|b| agrees(&field.value, b))
                };
                fields.len() == b.len() && fields.iter().all(same)
            }
            _ => false,
        }
    }

    fn check_agreement(text: &str) {
        let value: ron::Value = ron::from_str(text).unwrap_or_else(|why| panic!("ron refuses {text}: {why}"));
        let (root, faults) = read(text);
        assert!(faults.is_empty(), "{text}: {faults:?}");
        assert!(agrees(&root, &value), "{text}: {root:?} is not {value:?}");
    }

    #[test]
    fn whatever_the_ron_crate_accepts_is_read_to_the_same_values() {
        let numbers = "1 -1 +1 0x1f 0b1_01 0o17 1_000 1.5 .5 5. 1e3 1.5E-3 -2.5e+2 7u8 1.5f32 1f64 -128i8 \
                       1_0.5 18446744073709551615";
        let words = r###"true false 'a' '\n' '\u{41}' ''' "" "\\\"\'\n\r\t\0" "\x41\xc3\xa9" r"a\b" r##"a"#b"## () (1)
            (1,) (1,2) [] [1,] [[1],[]] {} {1:2,} {"a":[1]} (a:1) (a:1,b:(c:"x"),) Some(1) None
            Some(Some(())) [Some(1),None] (r#type:1) (été:1) [/*,*/1]"###;
        for text in numbers.split_whitespace().chain(words.split_whitespace()) {
            check_agreement(text);
        }
        let spaced = [
            " /* x */ 1 // y",
            "/* /* */ */ [1 /*,*/, 2]",
            "\"a\\\n   b\"",
            "\u{85}1\u{2028}",
            "#![enable(implicit_some)]\n#![enable(\n unwrap_newtypes,)] 1",
            "(a : 1 , b\n:\n2)",
        ];
        for text in spaced {
            check_agreement(text);
        }
        assert_eq!(read(SOUND).1, Vec::<String>::new());
    }

    #[test]
    fn a_step_the_ron_crate_decodes_by_type_has_its_shape_here() {
        #[derive(serde::Deserialize)]
        enum Step {
            Touch { area: f64 },
            Undo(String),
            Invert,
        }
        let text = r#"[Touch(area: 4.0), Undo ("tie"), Invert]"#;
        let steps: Vec<Step> = ron::from_str(text).unwrap();
        assert!(
            matches!(&steps[..], [Step::Touch { area: 4.0 }, Step::Undo(tie), Step::Invert] if tie == "tie")
        );
        let (root, faults) = read(text);
        assert!(faults.is_empty());
        let NodeKind::List(items) = root.kind else {
            panic!("no list")
        };
        assert!(matches!(&items[0].kind, NodeKind::Struct { name: Some(name), .. } if name.value == "Touch"));
        assert!(matches!(&items[1].kind, NodeKind::Tuple { name: Some(_), items } if items.len() == 1));
        assert!(matches!(&items[2].kind, NodeKind::Ident(word) if word == "Invert"));
    }

    #[test]
    fn several_faults_of_one_file_are_all_reported_at_their_places() {
        let lines = [
            ("(", ""),
            (" a: @,", "2:5 a value is needed here, not `@`"),
            (" b: 1 c: 2,", "3:7 a `,` or `)` is needed here, not `c`"),
            (" d = 3,", "4:4 a `:` is needed after `d`, not `=`"),
            (" e \"x\",", "5:4 a `:` is needed after `e`, not `\"`"),
            (" a: 4,", "6:2 the field `a` is written twice"),
            (" f: \"\\q\",", "7:6 unknown escape `\\q`"),
            (" g: 1..2,", "8:5 ranges are not used in these files"),
            (" h: inf,", "9:5 a number must be finite"),
            (" i:,", "10:2 the field `i` has no value"),
            (" j: [1,,2],", "11:8 a value is missing before this `,`"),
            (" k: 12x,", "12:5 `12x` is not a number"),
            ("}", "13:1 this `}` closes nothing"),
            (" l: b\"x\",", "14:5 bytes are not used in these files"),
            (
                " 3,",
                "15:2 a value without a name cannot stand among named fields",
            ),
            (")", ""),
        ];
        let text: Vec<&str> = lines.iter().map(|line| line.0).collect();
        let wanted: Vec<&str> = lines
            .iter()
            .map(|line| line.1)
            .filter(|brief| !brief.is_empty())
            .collect();
        let (root, faults) = read(&text.join("\n"));
        assert_eq!(faults, wanted);
        let NodeKind::Struct { fields, .. } = root.kind else {
            panic!("no fields")
        };
        assert_eq!(
            fields.iter().map(|field| field.name.as_str()).collect::<String>(),
            "abcdefghijkl"
        );
    }

    #[test]
    fn what_is_never_closed_is_reported_where_it_was_opened() {
        let cases = [
            (
                "(a: [1,\n",
                &["1:1 this `(` is never closed", "1:5 this `[` is never closed"][..],
            ),
            (
                "(a: @\n",
                &[
                    "1:1 this `(` is never closed",
                    "1:5 a value is needed here, not `@`",
                ],
            ),
            ("(a: 1,\n b: \"x)", &["2:5 this text is never closed"]),
            ("(a: 1,\n /* x)", &["2:2 this comment is never closed"]),
            ("(a: r#\"x\")", &["1:5 this text is never closed"]),
            (
                "[(a: 1, b: 2]",
                &["1:2 this `(` is not closed before the next `]`"],
            ),
            ("(a: 1))", &["1:7 nothing may follow the end of the file's value"]),
            ("  \n", &["2:1 there is no value in this file"]),
            (")", &["1:1 a value is needed here, not `)`"]),
        ];
        for (text, wanted) in cases {
            assert_eq!(read(text).1, wanted, "{text}");
        }
    }

    #[test]
    fn a_forgotten_comma_costs_one_fault_and_no_value() {
        let (root, faults) = read("[(id: \"a\")\n (id: \"b\"), \"c\" \"d\"]");
        assert_eq!(faults.len(), 2, "{faults:?}");
        assert!(matches!(root.kind, NodeKind::List(items) if items.len() == 4));
    }

    #[test]
    fn huge_or_deeply_nested_junk_ends_quickly_in_faults() {
        const SIZE: usize = 3 << 20;
        let units =
            r##"( [ { a( [( (a: ) ]) " r# r#" \ /* / @, 1, [], ' \u{ "\u{" a: # 1.. - ((((]]]] "a""b é"##;
        let spaced = ["a b ", "\"a\" \"b", "a: 1 ", "(a) ", "\n", "\"\n\" x"];
        for unit in units.split(' ').chain(spaced) {
            for before in ["", "[", "(a: 1, "] {
                let text = format!("{before}{}", unit.repeat(SIZE / unit.len()));
                let start = Instant::now();
                let faults = read(&text).1;
                assert!(
                    start.elapsed() < Duration::from_secs(60),
                    "{before}{unit} took {:?}",
                    start.elapsed()
                );
                assert!(!faults.is_empty() || unit == "é", "{before}{unit} was accepted");
            }
        }
        let deep = read(&"(".repeat(100_000)).1;
        assert_eq!(
            deep,
            [format!("1:65 brackets are nested more than {DEPTH_LIMIT} deep")]
        );
        let large = read(&"x".repeat(SIZE_LIMIT + 1)).1;
        assert_eq!(large, ["0:0 this file is larger than 4 MiB"]);
    }

    #[test]
    fn the_shipped_library_has_no_syntax_faults() {
        let mut read = 0;
        for path in std::fs::read_dir("assets")
            .unwrap()
            .map(|entry| entry.unwrap().path())
        {
            if path.extension().is_some_and(|extension| extension == "ron") {
                let faults = Faults::new();
                let source = Source::read(&path, &faults).unwrap();
                parse(&source, &faults);
                read += 1;
                assert!(faults.is_empty(), "{faults}");
            }
        }
        assert!(read > 0);
    }

    fn any_value() -> impl Strategy<Value = String> {
        let leaf = prop_oneof![
            any::<i64>().prop_map(|number| number.to_string()),
            (-1e30..1e30).prop_map(|number: f64| format!("{number:?}")),
            any::<String>().prop_map(|text| ron::to_string(&text).unwrap()),
            any::<char>().prop_map(|c| ron::to_string(&c).unwrap()),
            "true|false|\\(\\)|None|Some\\(3\\)".prop_map(String::from),
        ];
        leaf.prop_recursive(4, 24, 4, |inner| {
            let fields = prop::collection::btree_map("x[a-z]{1,5}", inner.clone(), 1..4);
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..4)
                    .prop_map(|items| format!("[{}]", items.join(", "))),
                prop::collection::vec(inner, 2..4).prop_map(|items| format!("({},)", items.join(" , "))),
                fields.prop_map(|fields| {
                    let fields: Vec<String> = fields
                        .iter()
                        .map(|(name, value)| format!("{name}: {value}"))
                        .collect();
                    format!("( {} )", fields.join(",\n"))
                }),
            ]
        })
    }

    /// The reading here is stricter on purpose in these matters.
    fn strict(faults: &[String]) -> bool {
        let words = ["twice", "finite", "bytes", "ranges"];
        faults
            .iter()
            .any(|fault| words.iter().any(|word| fault.contains(word)))
    }

    proptest! {
        #[test]
        fn generated_values_read_as_the_ron_crate_reads_them(text in any_value()) {
            check_agreement(&text);
        }

        #[test]
        fn no_bytes_make_reading_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            let faults = Faults::new();
            if let Some(source) = Source::from_bytes("a.ron", &bytes, &faults) {
                parse(&source, &faults);
            }
        }

        #[test]
        fn any_mixture_of_signs_is_judged_as_the_ron_crate_judges_it(
            text in "[-()\\[\\]{},:;=\"'#!r/*\\\\\n ab0-9xeu.+_é]{0,200}|[-0-9xbeu_.+f]{1,8}|\"[\\\\xu{}0-9a-f]{0,9}\"",
        ) {
            let (_, faults) = read(&text);
            if ron::from_str::<ron::Value>(&text).is_ok() {
                prop_assert!(faults.is_empty() || strict(&faults), "{}: {:?}", text, faults);
            }
        }

        #[test]
        fn a_damaged_file_is_read_without_panic_and_as_the_ron_crate_judges_it(
            cuts in prop::collection::vec((0usize..400, 0usize..12, "[(){}\\[\\],:\"'/*#r\\\\ 1a.-]{0,3}"), 1..4)
        ) {
            let mut chars: Vec<char> = SOUND.chars().collect();
            for (at, length, with) in cuts {
                let at = at.min(chars.len());
                chars.splice(at..(at + length).min(chars.len()), with.chars());
            }
            let text: String = chars.into_iter().collect();
            let (_, faults) = read(&text);
            match ron::from_str::<ron::Value>(&text) {
                Ok(_) => prop_assert!(faults.is_empty() || strict(&faults), "{}: {:?}", text, faults),
                // A bare `Some` is a word like any other here; whoever decodes it refuses it.
                Err(_) if text.contains("Some,") || text.contains("Some ") || text.contains("Some)") => {}
                Err(_) => prop_assert!(!faults.is_empty(), "accepted {}", text),
            }
        }
    }
}
