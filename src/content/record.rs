//! Decoding of trees by hand: every helper reports what is wrong, returns a default and lets decoding go on.
//!
//! Owns [`Decoder`], [`Record`] (a bracket of named fields) and [`Variant`] (a word with or without content).
//! Defaults given after a fault are silent: nothing broken or missing is complained about twice.

use std::fmt::Display;
use std::ops::RangeInclusive;

use super::fault::{Faults, Source, known_hint, nearest, nearest_hint, quoted};
use super::tree::{Field, Node, NodeKind};

pub use super::tree::Spanned;

/// A span of bytes in the source.
pub type Span = std::ops::Range<usize>;

/// How many fields not yet used are worth listing.
const FREE_LIMIT: usize = 12;
/// What to do where named fields are wanted.
const WRAP: &str = "put round brackets round it and name each value, as in `(id: \"...\", label: \"...\")`";
/// The longest id that is accepted.
const ID_LIMIT: usize = 64;

/// Reads nodes of one source. Copy it freely; faults go to the shared collector.
#[derive(Clone, Copy, Debug)]
pub struct Decoder<'a> {
    source: &'a Source,
    faults: &'a Faults,
}

impl<'a> Decoder<'a> {
    /// A decoder for nodes that were parsed from `source`.
    pub fn new(source: &'a Source, faults: &'a Faults) -> Self {
        Self { source, faults }
    }

    /// The file being decoded.
    pub fn source(&self) -> &'a Source {
        self.source
    }

    /// The collector faults go to.
    pub fn faults(&self) -> &'a Faults {
        self.faults
    }

    /// Reports a fault, unless something was already reported for exactly this place.
    pub fn fault(&self, span: Span, brief: impl Into<String>, hint: impl Into<String>) {
        self.faults.report(self.source, span, brief, hint);
    }

    /// Reports that a node is not what it should be; silent where reading it already failed.
    fn mistaken(&self, node: &Node, wanted: impl Display, hint: impl Into<String>) {
        if node.kind == NodeKind::Broken {
            self.faults.hush(self.source, node.span.clone());
        } else {
            self.fault(
                node.span.clone(),
                format!("{wanted}; this is {}", node.describe()),
                hint,
            );
        }
    }

    /// `None` if a file's format is newer than `newest`: then nothing else that is said of it, or of what needs it, means
    /// anything, so this fault stands alone.
    pub fn not_newer(&self, root: &Node, newest: u64) -> Option<()> {
        let Some(node) = root.field("format") else {
            return Some(());
        };
        let NodeKind::Number(number) = &node.kind else {
            return Some(());
        };
        let format = number.whole.and_then(|whole| u64::try_from(whole).ok());
        match format {
            Some(format) if format > newest => {
                self.newer(node, format, newest);
                None
            }
            _ => Some(()),
        }
    }

    fn newer(&self, node: &Node, format: u64, newest: u64) {
        let brief = format!("this file has format {format}; this smirch reads up to {newest}");
        let hint = "use a newer smirch";
        self.faults
            .report_alone(self.source, node.span.clone(), brief, hint);
    }

    /// The fields of a file's root, its `format` checked first. `None` if the format is newer than `newest`
    /// (then nothing else of the file can be judged); the field `format` need not be asked for again.
    pub fn document(&self, root: &'a Node, noun: &str, newest: u64) -> Option<Record<'a>> {
        let mut record = self.record(root, noun);
        record.known.push("format".to_owned());
        if let Some(node) = record.find("format") {
            if self.check_format(node, newest).is_none() {
                // Fields of a newer format are not unknown ones.
                record.fields = None;
                return None;
            }
        } else {
            record.missing.push("format".to_owned());
        }
        Some(record)
    }

    /// Checks the `format` field alone, for files that are not decoded as a [`Record`]. `None` if it is newer
    /// than `newest`; where it is missing or wrong, that is reported and the newest format is assumed.
    pub fn format(&self, root: &Node, newest: u64) -> Option<u64> {
        match &root.kind {
            NodeKind::Struct { fields, .. } => match fields.iter().find(|field| field.name == "format") {
                Some(field) => return self.check_format(&field.value, newest),
                None if root.torn => {}
                None => self.fault(
                    root.span.start..root.span.start + 1,
                    "this file has no `format`",
                    format!("start with `format: {newest},`"),
                ),
            },
            _ => self.mistaken(root, "a file is written `(format: 1, ...)`", WRAP),
        }
        Some(newest)
    }

    fn check_format(&self, node: &Node, newest: u64) -> Option<u64> {
        let NodeKind::Number(number) = &node.kind else {
            self.mistaken(
                node,
                "`format` must be a whole number",
                format!("write `format: {newest}`"),
            );
            return Some(newest);
        };
        let format = number
            .whole
            .and_then(|whole| u64::try_from(whole).ok())
            .filter(|&format| format > 0);
        let Some(format) = format else {
            let brief = format!("`format` is {}; formats are whole numbers from 1", number.text);
            self.fault(node.span.clone(), brief, format!("write `format: {newest}`"));
            return Some(newest);
        };
        if format > newest {
            self.newer(node, format, newest);
            return None;
        }
        Some(format)
    }

    /// The fields of a bracket. Anything else is reported and gives an empty record of silent defaults.
    pub fn record(&self, node: &'a Node, noun: &str) -> Record<'a> {
        let place = node.span.start..node.span.start + 1;
        let empty: &'a [Field] = &[];
        let (fields, name) = match &node.kind {
            NodeKind::Struct { name, fields } => (Some(&fields[..]), name.as_ref()),
            NodeKind::Unit => (Some(empty), None),
            NodeKind::Tuple { name, items } if items.is_empty() => (Some(empty), name.as_ref()),
            _ => {
                self.mistaken(
                    node,
                    format_args!("{} is written `(field: value, ...)`", with_article(noun)),
                    WRAP,
                );
                (None, None)
            }
        };
        if let Some(name) = name {
            let plain = |text: &str| text.replace([' ', '-', '_'], "").to_lowercase();
            if plain(&name.value) != plain(noun) {
                let brief = format!("{} is not expected here", quoted(&name.value));
                let hint = format!("{} needs no name before its bracket", with_article(noun));
                self.fault(name.span.clone(), brief, hint);
            }
        }
        self.fields(fields, noun, place, node.torn)
    }

    fn fields(&self, fields: Option<&'a [Field]>, noun: &str, place: Span, torn: bool) -> Record<'a> {
        if fields.is_none() {
            self.faults.hush(self.source, place.clone());
        }
        let (known, missing) = (Vec::new(), Vec::new());
        Record {
            decoder: *self,
            fields,
            noun: noun.to_owned(),
            place,
            torn,
            known,
            missing,
        }
    }

    /// A word with or without content, such as `Invert`, `Undo("neck-tie")` or `Move(to: Bin)`. A word that is
    /// not among `known` is reported with the nearest that is.
    pub fn variant(&self, node: &'a Node, noun: &str, known: &[&str]) -> Option<Variant<'a>> {
        let (name, span, body) = match &node.kind {
            NodeKind::Ident(name) => (name, node.span.clone(), VariantBody::Unit),
            NodeKind::Struct {
                name: Some(name),
                fields,
            } => (&name.value, name.span.clone(), VariantBody::Fields(fields)),
            NodeKind::Tuple {
                name: Some(name),
                items,
            } => (&name.value, name.span.clone(), VariantBody::Items(items)),
            _ => {
                let example = known.first().copied().unwrap_or("Name");
                let wanted = format_args!("{} starts with a word such as `{example}`", with_article(noun));
                self.mistaken(node, wanted, words(known.iter().copied()));
                return None;
            }
        };
        if !known.contains(&name.as_str()) {
            self.unknown(span, noun, name, known.iter().copied());
            return None;
        }
        Some(Variant {
            name,
            span,
            body,
            torn: node.torn,
            decoder: *self,
        })
    }

    fn unknown<'k>(&self, span: Span, noun: &str, name: &str, known: impl Iterator<Item = &'k str> + Clone) {
        self.fault(
            span,
            format!("unknown {noun} {}", quoted(name)),
            known_hint(name, known),
        );
    }

    /// The value a bare word stands for.
    pub fn choice<K: Copy>(&self, node: &Node, noun: &str, table: &[(&str, K)]) -> Option<K> {
        let NodeKind::Ident(word) = &node.kind else {
            let example = table.first().map_or("Name", |(word, _)| word);
            self.mistaken(
                node,
                format_args!("{} is a word such as `{example}`", with_article(noun)),
                words(table.iter().map(|&(word, _)| word)),
            );
            return None;
        };
        let found = table
            .iter()
            .find(|(known, _)| known == word)
            .map(|&(_, value)| value);
        if found.is_none() {
            self.unknown(
                node.span.clone(),
                noun,
                word,
                table.iter().map(|&(known, _)| known),
            );
        }
        found
    }

    /// Non-empty text without control characters other than line ends.
    pub fn text(&self, node: &Node, noun: &str) -> Option<Spanned<String>> {
        let NodeKind::Text(text) = &node.kind else {
            let hint = match &node.kind {
                NodeKind::Ident(word) => format!("put {} between quotation marks", quoted(word)),
                _ => "write it as in `\"some text\"`".to_owned(),
            };
            self.mistaken(node, format_args!("`{noun}` must be text in double quotes"), hint);
            return None;
        };
        // Line ends as some editors write them are line ends; alone, one would send a terminal back over its line.
        let text = &text.replace("\r\n", "\n");
        let (brief, hint) = if text.trim().is_empty() {
            let hint = "write something between the quotation marks";
            (format!("`{noun}` must not be empty"), hint)
        } else if text.chars().any(|c| c.is_control() && c != '\n') {
            let hint = "take it out; only letters, signs and line ends are text";
            (format!("`{noun}` holds a control character"), hint)
        } else {
            return Some(Spanned {
                value: text.clone(),
                span: node.span.clone(),
            });
        };
        self.fault(node.span.clone(), brief, hint);
        None
    }

    /// A new id: lowercase words and digits joined by single hyphens.
    pub fn ident(&self, node: &Node, noun: &str) -> Option<Spanned<String>> {
        let id = self.text(node, noun)?;
        if is_kebab(&id.value) && id.value.len() <= ID_LIMIT {
            return Some(id);
        }
        let brief = format!(
            "{} is no id; ids are lowercase letters, digits and single hyphens",
            quoted(&id.value)
        );
        let better: String = id
            .value
            .to_lowercase()
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
            .collect();
        let better = better
            .split('-')
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join("-");
        let hint = if better.len() > ID_LIMIT {
            format!("an id has at most {ID_LIMIT} characters")
        } else if is_kebab(&better) {
            format!("write `{better}`")
        } else {
            "write it as in `left-glove`".to_owned()
        };
        self.fault(id.span, brief, hint);
        None
    }

    /// Text that names something by its id; whether that exists is for the caller to check. Admits what
    /// compound names use (`gown.cuff`, `@palm`), but no blanks.
    pub fn reference(&self, node: &Node, noun: &str) -> Option<Spanned<String>> {
        let name = self.text(node, noun)?;
        if name.value.contains(char::is_whitespace) {
            let brief = format!(
                "{} cannot name {}; names have no blanks",
                quoted(&name.value),
                with_article(noun)
            );
            self.fault(
                name.span,
                brief,
                "names are ids, joined by hyphens or dots; take the blanks out",
            );
            return None;
        }
        Some(name)
    }

    /// A number within `range`; `unit` is only shown.
    pub fn quantity(&self, node: &Node, noun: &str, unit: &str, range: &RangeInclusive<f64>) -> Option<f64> {
        let NodeKind::Number(number) = &node.kind else {
            let hint = format!("write a number, as in `{noun}: {}`", example(range));
            self.mistaken(node, format_args!("`{noun}` must be a number"), hint);
            return None;
        };
        if range.contains(&number.value) {
            return Some(number.value);
        }
        let (low, high) = (*range.start(), *range.end());
        self.out_of_range(
            node,
            noun,
            unit,
            &number.text,
            low.is_finite().then_some(low),
            high.is_finite().then_some(high),
        );
        None
    }

    /// A whole number within `range`.
    pub fn count(&self, node: &Node, noun: &str, range: &RangeInclusive<u64>) -> Option<u64> {
        let NodeKind::Number(number) = &node.kind else {
            let hint = format!(
                "write a number without a point, as in `{noun}: {}`",
                range.start()
            );
            self.mistaken(node, format_args!("`{noun}` must be a whole number"), hint);
            return None;
        };
        let Some(whole) = number.whole else {
            let brief = format!(
                "`{noun}` is {}; it must be a whole number",
                quoted_number(&number.text)
            );
            let hint = format!(
                "write a number without a point, as in `{noun}: {}`",
                range.start()
            );
            self.fault(node.span.clone(), brief, hint);
            return None;
        };
        let count = u64::try_from(whole).ok().filter(|count| range.contains(count));
        if count.is_none() {
            self.out_of_range(
                node,
                noun,
                "",
                &number.text,
                Some(*range.start()),
                Some(*range.end()),
            );
        }
        count
    }

    fn out_of_range<N: Display>(
        &self,
        node: &Node,
        noun: &str,
        unit: &str,
        is: &str,
        low: Option<N>,
        high: Option<N>,
    ) {
        // The end that is nearer to what was written.
        let number = |text: &str| text.replace('_', "").parse::<f64>().ok();
        let above = number(is).zip(high.as_ref().and_then(|high| number(&high.to_string())));
        let above = above.is_some_and(|(is, high)| is > high);
        let nearest = match above {
            true => high.as_ref(),
            false => low.as_ref().or(high.as_ref()),
        };
        let hint = match nearest {
            Some(fine) => format!("write one that does, as in `{noun}: {fine}`"),
            None => format!("write a number in digits, as in `{noun}: 1`"),
        };
        let must = match (low, high) {
            (Some(low), Some(high)) => format!("lie between {low} and {high}"),
            (Some(low), None) => format!("be at least {low}"),
            (None, Some(high)) => format!("be at most {high}"),
            (None, None) => "be a number".to_owned(),
        };
        let (gap, is) = (if unit.is_empty() { "" } else { " " }, quoted_number(is));
        self.fault(
            node.span.clone(),
            format!("`{noun}` is {is}{gap}{unit}; it must {must}"),
            hint,
        );
    }

    /// `true` or `false`.
    pub fn flag(&self, node: &Node, noun: &str) -> Option<bool> {
        if let NodeKind::Bool(flag) = node.kind {
            return Some(flag);
        }
        let hint = format!("write `{noun}: true` or `{noun}: false`, without quotation marks");
        self.mistaken(node, format_args!("`{noun}` must be `true` or `false`"), hint);
        None
    }

    /// The items of a list that can be read; each one's reader reports its own faults.
    pub fn list<T>(
        &self,
        node: &'a Node,
        noun: &str,
        mut read: impl FnMut(&Decoder<'a>, &'a Node) -> Option<T>,
    ) -> Vec<T> {
        if let NodeKind::List(items) = &node.kind {
            return items.iter().filter_map(|item| read(self, item)).collect();
        }
        let hint = format!("put square brackets round it, as in `{noun}: [...]`");
        self.mistaken(node, format_args!("`{noun}` must be a list `[...]`"), hint);
        Vec::new()
    }

    /// Exactly `N` numbers, as `(1, 2)` or `[1, 2]`.
    pub fn numbers<const N: usize>(&self, node: &Node, noun: &str) -> Option<[f64; N]> {
        let (NodeKind::Tuple { name: None, items } | NodeKind::List(items)) = &node.kind else {
            let wanted = format_args!("`{noun}` must be {N} numbers in a bracket");
            self.mistaken(node, wanted, row::<N>(noun));
            return None;
        };
        let any = f64::NEG_INFINITY..=f64::INFINITY;
        let read: Vec<Option<f64>> = items
            .iter()
            .map(|item| self.quantity(item, noun, "", &any))
            .collect();
        if items.len() != N && !node.torn {
            let brief = format!(
                "`{noun}` must be {N} numbers in a bracket; these are {}",
                items.len()
            );
            self.fault(node.span.clone(), brief, row::<N>(noun));
        }
        read.into_iter().collect::<Option<Vec<f64>>>()?.try_into().ok()
    }
}

/// What stands behind a variant's word.
#[derive(Clone, Copy, Debug)]
pub enum VariantBody<'a> {
    /// Nothing.
    Unit,
    /// Named fields.
    Fields(&'a [Field]),
    /// Values without names.
    Items(&'a [Node]),
}

/// A word with or without content.
#[derive(Clone, Debug)]
pub struct Variant<'a> {
    /// The word; one of those that were given as known.
    pub name: &'a str,
    /// Where the word stands.
    pub span: Span,
    /// What stands behind it.
    pub body: VariantBody<'a>,
    torn: bool,
    decoder: Decoder<'a>,
}

impl<'a> Variant<'a> {
    /// The content as named fields.
    pub fn record(&self) -> Record<'a> {
        let empty: &'a [Field] = &[];
        let fields = match self.body {
            VariantBody::Fields(fields) => Some(fields),
            VariantBody::Unit => Some(empty),
            VariantBody::Items([]) => Some(empty),
            VariantBody::Items(_) => {
                let (span, name) = (self.span.clone(), self.name);
                self.decoder.fault(
                    span,
                    format!("`{name}` is written `{name}(field: value, ...)`"),
                    "name each value with its field and a `:`",
                );
                None
            }
        };
        self.decoder
            .fields(fields, self.name, self.span.clone(), self.torn)
    }

    /// The content as one value without a name.
    pub fn single(&self) -> Option<&'a Node> {
        if let VariantBody::Items([item]) = self.body {
            return Some(item);
        }
        if !self.torn {
            let brief = format!("`{0}` holds exactly one value, written `{0}(value)`", self.name);
            let hint = format!("put one value into the bracket behind `{}`", self.name);
            self.decoder.fault(self.span.clone(), brief, hint);
        }
        None
    }

    /// Makes sure there is no content; true if so.
    pub fn unit(&self) -> bool {
        let empty = matches!(self.body, VariantBody::Unit | VariantBody::Items([]));
        if !empty {
            self.decoder.fault(
                self.span.clone(),
                format!("`{0}` stands alone, without a bracket", self.name),
                format!("write `{}` and nothing behind it", self.name),
            );
        }
        empty
    }
}

/// A bracket of named fields being read. When it goes out of scope it reports, once, the required fields that
/// are missing and the fields nobody asked for.
#[derive(Debug)]
pub struct Record<'a> {
    decoder: Decoder<'a>,
    /// `None` where there was no bracket of fields: then everything defaults silently.
    fields: Option<&'a [Field]>,
    noun: String,
    place: Span,
    torn: bool,
    known: Vec<String>,
    missing: Vec<String>,
}

impl<'a> Record<'a> {
    /// The bracket's opening, or the word before it: where faults of the whole record belong.
    pub fn span(&self) -> Span {
        self.place.clone()
    }

    /// The decoder, to read nodes got from [`Record::node`].
    pub fn decoder(&self) -> Decoder<'a> {
        self.decoder
    }

    /// True if this field was written.
    pub fn has(&self, name: &str) -> bool {
        self.find(name).is_some()
    }

    /// Names further fields as known that are not read in this case, so that they are not reported.
    pub fn also(&mut self, names: &[&str]) {
        self.known.extend(names.iter().map(|&name| name.to_owned()));
    }

    fn find(&self, name: &str) -> Option<&'a Node> {
        self.fields?
            .iter()
            .find(|field| field.name == name)
            .map(|field| &field.value)
    }

    /// A field's value where it is written; not required.
    pub fn node(&mut self, name: &str) -> Option<&'a Node> {
        self.known.push(name.to_owned());
        self.find(name)
    }

    /// A required field's value.
    pub fn required(&mut self, name: &str) -> Option<&'a Node> {
        let found = self.node(name);
        if found.is_none() {
            self.missing.push(name.to_owned());
        }
        found
    }

    fn or_here(&self, read: Option<Spanned<String>>, node: Option<&Node>) -> Spanned<String> {
        // The empty stand-in keeps the place of the fault, so that nothing more is reported about it.
        let span = node.map_or(self.span(), |node| node.span.clone());
        read.unwrap_or(Spanned {
            value: String::new(),
            span,
        })
    }

    /// A required id of the record itself; empty after a fault.
    pub fn ident(&mut self, name: &str) -> Spanned<String> {
        let node = self.required(name);
        let read = node.and_then(|node| self.decoder.ident(node, name));
        self.or_here(read, node)
    }

    /// A required reference to something else by its id; empty after a fault.
    pub fn reference(&mut self, name: &str) -> Spanned<String> {
        let node = self.required(name);
        let read = node.and_then(|node| self.decoder.reference(node, name));
        self.or_here(read, node)
    }

    /// A required text; empty after a fault.
    pub fn text(&mut self, name: &str) -> String {
        let node = self.required(name);
        node.and_then(|node| self.decoder.text(node, name))
            .map_or(String::new(), |text| text.value)
    }

    /// A text that may be left out.
    pub fn text_or(&mut self, name: &str, default: &str) -> String {
        let node = self.node(name);
        node.and_then(|node| self.decoder.text(node, name))
            .map_or(default.to_owned(), |text| text.value)
    }

    /// A required number; after a fault zero, or the range's start if that is not allowed.
    pub fn number(&mut self, name: &str, range: RangeInclusive<f64>) -> f64 {
        self.quantity(name, "", range)
    }

    /// Like [`Record::number`], with a unit to show in faults.
    pub fn quantity(&mut self, name: &str, unit: &str, range: RangeInclusive<f64>) -> f64 {
        let default = if range.contains(&0.0) { 0.0 } else { *range.start() };
        self.required(name)
            .and_then(|node| self.decoder.quantity(node, name, unit, &range))
            .unwrap_or(default)
    }

    /// A number that may be left out.
    pub fn number_or(&mut self, name: &str, range: RangeInclusive<f64>, default: f64) -> f64 {
        self.quantity_or(name, "", range, default)
    }

    /// Like [`Record::number_or`], with a unit to show in faults.
    pub fn quantity_or(&mut self, name: &str, unit: &str, range: RangeInclusive<f64>, default: f64) -> f64 {
        self.node(name)
            .and_then(|node| self.decoder.quantity(node, name, unit, &range))
            .unwrap_or(default)
    }

    /// A required whole number; the range's start after a fault.
    pub fn count(&mut self, name: &str, range: RangeInclusive<u64>) -> u64 {
        self.required(name)
            .and_then(|node| self.decoder.count(node, name, &range))
            .unwrap_or(*range.start())
    }

    /// A whole number that may be left out.
    pub fn count_or(&mut self, name: &str, range: RangeInclusive<u64>, default: u64) -> u64 {
        self.node(name)
            .and_then(|node| self.decoder.count(node, name, &range))
            .unwrap_or(default)
    }

    /// A required `true` or `false`; false after a fault.
    pub fn flag(&mut self, name: &str) -> bool {
        self.required(name)
            .and_then(|node| self.decoder.flag(node, name))
            .unwrap_or(false)
    }

    /// A `true` or `false` that may be left out.
    pub fn flag_or(&mut self, name: &str, default: bool) -> bool {
        self.node(name)
            .and_then(|node| self.decoder.flag(node, name))
            .unwrap_or(default)
    }

    /// A required bare word out of a table; the table's first value after a fault.
    pub fn choice<K: Copy, const N: usize>(&mut self, name: &str, table: &[(&str, K); N]) -> K {
        const { assert!(N > 0, "a choice needs something to choose from") };
        self.required(name)
            .and_then(|node| self.decoder.choice(node, name, table))
            .unwrap_or(table[0].1)
    }

    /// A bare word out of a table that may be left out.
    pub fn choice_or<K: Copy>(&mut self, name: &str, table: &[(&str, K)], default: K) -> K {
        self.node(name)
            .and_then(|node| self.decoder.choice(node, name, table))
            .unwrap_or(default)
    }

    /// A required value read by the function given, such as a nested record; `None` after a fault.
    pub fn value<T>(
        &mut self,
        name: &str,
        read: impl FnOnce(&Decoder<'a>, &'a Node) -> Option<T>,
    ) -> Option<T> {
        let decoder = self.decoder;
        self.required(name).and_then(|node| read(&decoder, node))
    }

    /// A value that may be left out: `Some(x)` and a bare `x` are read, `None` is as good as nothing.
    pub fn optional<T>(
        &mut self,
        name: &str,
        read: impl FnOnce(&Decoder<'a>, &'a Node) -> Option<T>,
    ) -> Option<T> {
        let decoder = self.decoder;
        self.node(name)
            .and_then(Node::present)
            .and_then(|node| read(&decoder, node))
    }

    /// A required list; items that cannot be read are reported by `read` and left out.
    pub fn list<T>(&mut self, name: &str, read: impl FnMut(&Decoder<'a>, &'a Node) -> Option<T>) -> Vec<T> {
        let decoder = self.decoder;
        self.required(name)
            .map_or(Vec::new(), |node| decoder.list(node, name, read))
    }

    /// A list that may be left out.
    pub fn list_or_empty<T>(
        &mut self,
        name: &str,
        read: impl FnMut(&Decoder<'a>, &'a Node) -> Option<T>,
    ) -> Vec<T> {
        let decoder = self.decoder;
        self.node(name)
            .map_or(Vec::new(), |node| decoder.list(node, name, read))
    }

    /// Ends the reading: reports missing and unknown fields. Going out of scope does the same.
    pub fn finish(self) {}
}

impl Drop for Record<'_> {
    fn drop(&mut self) {
        let Some(fields) = self.fields else { return };
        let (known, mut missing) = (std::mem::take(&mut self.known), std::mem::take(&mut self.missing));
        let names = || known.iter().map(String::as_str);
        let lacking = self.torn || !missing.is_empty();
        for field in fields.iter().filter(|field| !known.contains(&field.name)) {
            // A misspelt required field is one slip, not an unknown and a missing field.
            if let Some(meant) = nearest(&field.name, missing.iter().map(String::as_str)) {
                missing.retain(|name| *name != meant);
            }
            let brief = format!(
                "{} has no field {}",
                with_article(&self.noun),
                quoted(&field.name)
            );
            let hint = nearest_hint(&field.name, names()).unwrap_or_else(|| {
                let mut free: Vec<&str> = names()
                    .filter(|name| !fields.iter().any(|had| had.name == *name))
                    .collect();
                match free.len().saturating_sub(FREE_LIMIT) {
                    _ if free.is_empty() => "take it out; all its fields are written already".to_owned(),
                    0 => format!("not yet used: {}", listed(&free, "and")),
                    more => {
                        free.truncate(FREE_LIMIT);
                        format!("not yet used: {} and {more} more", listed(&free, ","))
                    }
                }
            });
            self.decoder.fault(field.name_span.clone(), brief, hint);
        }
        // Where fields were lost to a syntax fault, which ones are missing cannot be told.
        if !self.torn && !missing.is_empty() {
            missing.dedup();
            let names: Vec<&str> = missing.iter().map(String::as_str).collect();
            let brief = format!("this {} has no {}", self.noun, listed(&names, "and no"));
            let first = names.first().copied().unwrap_or("format");
            let hint = format!("add it, as in `{first}: ...`; files that `smirch export` writes show how");
            self.decoder
                .faults
                .report_also(self.decoder.source, self.place.clone(), brief, hint);
        }
        if lacking {
            // Empty stand-ins for missing values carry this place.
            self.decoder.faults.hush(self.decoder.source, self.place.clone());
        }
    }
}

/// The words that may stand here.
fn words<'k>(known: impl Iterator<Item = &'k str>) -> String {
    let known: Vec<&str> = known.collect();
    format!("the words are {}", listed(&known, "and"))
}

/// How a row of numbers is written.
fn row<const N: usize>(noun: &str) -> String {
    let numbers: Vec<String> = (1..=N).map(|n| n.to_string()).collect();
    format!("as in `{noun}: ({})`", numbers.join(", "))
}

/// A number within a range, for showing how one is written.
fn example(range: &RangeInclusive<f64>) -> f64 {
    let (low, high) = (*range.start(), *range.end());
    if range.contains(&1.0) {
        1.0
    } else if low.is_finite() {
        low
    } else {
        high
    }
}

fn is_kebab(id: &str) -> bool {
    let allowed = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit();
    !id.is_empty()
        && id
            .split('-')
            .all(|part| !part.is_empty() && part.chars().all(allowed))
}

fn with_article(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'u', 'A', 'E', 'I', 'O', 'U']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {noun}")
}

/// Names as `` `a`, `b` and `c` ``.
fn listed(names: &[&str], and: &str) -> String {
    let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
    match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} {and} {last}", before.join(", ")),
        None => String::new(),
    }
}

/// A number as written, cut if it is very long.
fn quoted_number(text: &str) -> String {
    quoted(text).trim_matches('`').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::content::{fault::Fault, tree::parse};

    #[derive(Clone, Copy, Debug, PartialEq)]
    enum Kind {
        Glove,
        Gown,
    }

    #[derive(Debug)]
    struct Part {
        id: Spanned<String>,
        area: f64,
        amount: u64,
        inside: Option<Spanned<String>>,
    }

    fn part<'a>(d: &Decoder<'a>, node: &'a Node) -> Option<Part> {
        let mut r = d.record(node, "part");
        Some(Part {
            id: r.ident("id"),
            area: r.quantity("area", "cm2", 0.1..=20000.0),
            amount: r.count_or("amount", 0..=1_000_000, 7),
            inside: r.optional("inside", |d, node| d.reference(node, "material")),
        })
    }

    fn item(text: &str) -> (Vec<Part>, Option<Kind>, Vec<String>) {
        let (source, faults) = (Source::new("a.ron", text), Faults::new());
        let root = parse(&source, &faults);
        let (mut parts, mut kind) = (Vec::new(), None);
        if let Some(mut r) = Decoder::new(&source, &faults).document(&root, "item", 1) {
            kind = Some(r.choice("kind", &[("Glove", Kind::Glove), ("Gown", Kind::Gown)]));
            parts = r.list("parts", part);
        }
        let line =
            |fault: &Fault| format!("{}:{} {} ({})", fault.line, fault.column, fault.brief, fault.hint);
        (parts, kind, faults.sorted().iter().map(line).collect())
    }

    #[test]
    fn a_sound_file_is_decoded_without_faults() {
        let text = r#"(format: 1, kind: Gown, parts: [(id: "cuff", area: 4, amount: 1e6, inside: Some("nitrile")),
            (id: "tie", area: 0.1, inside: "cotton"), (id: "a", area: 2., inside: None)])"#;
        let (parts, kind, faults) = item(text);
        assert_eq!((faults, kind), (Vec::new(), Some(Kind::Gown)));
        let read = |part: &Part| {
            (
                part.area,
                part.amount,
                part.inside.as_ref().map(|name| name.value.clone()),
            )
        };
        assert_eq!(read(&parts[0]), (4.0, 1_000_000, Some("nitrile".to_owned())));
        assert_eq!(read(&parts[1]), (0.1, 7, Some("cotton".to_owned())));
        assert_eq!(read(&parts[2]), (2.0, 7, None));
        assert_eq!(&text[parts[0].id.span.clone()], "\"cuff\"");
    }

    #[test]
    fn every_fault_of_a_file_is_reported_once_at_its_place() {
        let lines = [
            "(",
            " kind: Gwon,",
            " parts: [",
            r#"  (id: "Left Cuff", area: -3, amount: 2.5),"#,
            r#"  (id: "", aera: 3, other: 1),"#,
            "  [1],",
            "  (area: 1e999, inside: 4),",
            " ],",
            ")",
        ];
        let wanted = [
            "1:1 this item has no `format` (add it, as in `format: ...`; files that `smirch export` writes show how)",
            "2:8 unknown kind `Gwon` (the nearest known name is `Gown`)",
            "4:8 `Left Cuff` is no id; ids are lowercase letters, digits and single hyphens (write `left-cuff`)",
            "4:27 `area` is -3 cm2; it must lie between 0.1 and 20000 (write one that does, as in `area: 0.1`)",
            "4:39 `amount` is 2.5; it must be a whole number (write a number without a point, as in `amount: 0`)",
            "5:8 `id` must not be empty (write something between the quotation marks)",
            "5:12 a part has no field `aera` (the nearest known name is `area`)",
            "5:21 a part has no field `other` (not yet used: `area`, `amount` and `inside`)",
            &format!("6:3 a part is written `(field: value, ...)`; this is a list ({WRAP})"),
            "7:3 this part has no `id` (add it, as in `id: ...`; files that `smirch export` writes show how)",
            "7:10 a number must be finite (write a number as in `12`, `0.5` or `2e4`)",
            "7:25 `material` must be text in double quotes; this is the number `4` (write it as in `\"some text\"`)",
        ];
        assert_eq!(item(&lines.join("\n")).2, wanted);
    }

    #[test]
    fn what_a_syntax_fault_took_away_is_not_missed_again() {
        for broken in [
            "(format: 1, kind: @, parts: [])",
            "(format: 1, kind: Glove; parts: [])",
        ] {
            let (_, _, faults) = item(broken);
            assert_eq!(faults.len(), 1, "{faults:?}");
        }
    }

    #[test]
    fn an_empty_stand_in_cannot_be_complained_about() {
        let (source, faults) = (
            Source::new("a.ron", "[(), (di: \"a\"), (id: \"A\"), (id: @), 3]"),
            Faults::new(),
        );
        let root = parse(&source, &faults);
        let d = Decoder::new(&source, &faults);
        let ids = d.list(&root, "items", |d, node| Some(d.record(node, "item").ident("id")));
        let before = faults.len();
        for id in ids {
            d.fault(id.span, "unknown item", "mend it");
        }
        assert_eq!((before, faults.len()), (5, 5), "{faults}");
    }

    #[test]
    fn line_ends_of_any_editor_are_line_ends_and_a_lone_return_is_none() {
        let read = |text: &str| {
            let (source, faults) = (Source::new("a.ron", text), Faults::new());
            let root = parse(&source, &faults);
            let text = Decoder::new(&source, &faults).text(&root, "label");
            (text.map(|t| t.value), faults.len())
        };
        assert_eq!(read("\"one\r\ntwo\""), (Some("one\ntwo".to_owned()), 0));
        assert_eq!(read("\"one\rtwo\""), (None, 1));
        assert_eq!(read("\"one\\rtwo\""), (None, 1));
    }

    #[test]
    fn the_format_is_judged_before_anything_else() {
        let newer = "1:10 this file has format 3; this smirch reads up to 1 (use a newer smirch)";
        assert_eq!(item("(format: 3, whatever: 4)").2, [newer]);
        let zero = "1:10 `format` is 0; formats are whole numbers from 1 (write `format: 1`)";
        assert_eq!(item("(format: 0, kind: Glove, parts: [])").2, [zero]);
        let (source, faults) = (Source::new("a.ron", "(a: 1)"), Faults::new());
        assert_eq!(
            Decoder::new(&source, &faults).format(&parse(&source, &faults), 2),
            Some(2)
        );
        assert!(
            faults
                .to_string()
                .starts_with("a.ron:1:1: this file has no `format`\n")
        );
    }

    #[test]
    fn variants_are_read_with_any_body_and_wrong_bodies_reported() {
        let text =
            r#"[Invert, Undo("neck-tie"), Move(to: Bin), Mvoe(to: Bin), Invert(1), Undo, Move(3), 4, Move]"#;
        let (source, faults) = (Source::new("a.ron", text), Faults::new());
        let root = parse(&source, &faults);
        let d = Decoder::new(&source, &faults);
        let read = d.list(&root, "steps", |d, node| {
            let step = d.variant(node, "step", &["Invert", "Undo", "Move"])?;
            Some(match step.name {
                "Invert" => step.unit().to_string(),
                "Undo" => d.reference(step.single()?, "fastening")?.value,
                _ => step.record().choice("to", &[("Bin", "bin")]).to_owned(),
            })
        });
        assert_eq!(read, ["true", "neck-tie", "bin", "false", "bin", "bin"]);
        let briefs: Vec<String> = faults.sorted().into_iter().map(|fault| fault.brief).collect();
        let wanted = [
            "unknown step `Mvoe`",
            "`Invert` stands alone, without a bracket",
            "`Undo` holds exactly one value, written `Undo(value)`",
            "`Move` is written `Move(field: value, ...)`",
            "a step starts with a word such as `Invert`; this is the number `4`",
            "this Move has no `to`",
        ];
        assert_eq!(briefs, wanted);
    }

    #[test]
    fn rows_of_numbers_must_have_their_length() {
        let text = r#"[(1, 2.5), [3, 4], (1, 2, 3), (1, "2"), Pair(1, 2)]"#;
        let (source, faults) = (Source::new("a.ron", text), Faults::new());
        let root = parse(&source, &faults);
        let d = Decoder::new(&source, &faults);
        let rows = d.list(&root, "rows", |d, node| d.numbers::<2>(node, "row"));
        assert_eq!((rows, faults.len()), (vec![[1.0, 2.5], [3.0, 4.0]], 3));
    }
}
