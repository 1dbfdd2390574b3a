//! Doors between the folders of `src` open only downwards, as DEVELOPERS.md draws them, and no file needs another that
//! needs it. Read from the paths that files name; what stands in tests of a file does not count.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Where a file stands: `scene/motion/mod.rs` is `["scene", "motion"]`.
type Module = Vec<String>;

/// Words that a folder must not say, and the folders that may.
const WORDS: [(&str, &[&str]); 8] = [
    ("bevy", &["app", "scene"]),
    ("bevy_egui", &["app", "panels"]),
    ("egui", &["app", "panels"]),
    ("env", &["outside"]),
    ("fs", &["outside"]),
    ("rayon", &["outside"]),
    ("tempfile", &["outside"]),
    ("thread", &["outside"]),
];

/// Folders below the scene that it must not know: it reads a `Stage`.
const HIDDEN_FROM_SCENE: [&str; 8] = [
    "report", "analysis", "record", "guidance", "content", "drill", "transfer", "chance",
];

/// The words of Rust source: names and signs, `::` as one; comments, text and characters left out.
fn words(text: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let at = |i: usize| chars.get(i).copied().unwrap_or('\0');
    let (mut out, mut i) = (Vec::new(), 0);
    while i < chars.len() {
        let c = chars[i];
        if c == '/' && at(i + 1) == '/' {
            while i < chars.len() && chars[i] != '\n' {
                i += 1;
            }
        } else if c == 'r' && (at(i + 1) == '"' || at(i + 1) == '#' && matches!(at(i + 2), '"' | '#')) {
            let hashes = chars[i + 1..].iter().take_while(|c| **c == '#').count();
            i += hashes + 2;
            let closed = |i: usize| chars[i] == '"' && (1..=hashes).all(|n| at(i + n) == '#');
            while i < chars.len() && !closed(i) {
                i += 1;
            }
            i += hashes + 1;
        } else if c == '"' {
            i += 1;
            while i < chars.len() && chars[i] != '"' {
                i += if chars[i] == '\\' { 2 } else { 1 };
            }
            i += 1;
        } else if c == '\'' && (at(i + 1) == '\\' || at(i + 2) == '\'') {
            i += if at(i + 1) == '\\' { 3 } else { 2 };
            while i < chars.len() && chars[i] != '\'' {
                i += 1;
            }
            i += 1;
        } else if c.is_alphanumeric() || c == '_' {
            let start = i;
            while at(i).is_alphanumeric() || at(i) == '_' {
                i += 1;
            }
            out.push(chars[start..i].iter().collect());
        } else if c == ':' && at(i + 1) == ':' {
            out.push("::".to_owned());
            i += 2;
        } else {
            if !c.is_whitespace() {
                out.push(c.to_string());
            }
            i += 1;
        }
    }
    out
}

/// What one file names of others, before it is known where these stand.
#[derive(Default)]
struct Named {
    /// Paths that it uses, from the root.
    paths: Vec<Module>,
    /// Names that it brings in or hands on, and what they stand for.
    names: BTreeMap<String, Module>,
    /// Names that it hands on, which are needed here only if they are said again.
    handed_on: BTreeMap<String, Module>,
    /// Every word outside of imports.
    said: BTreeSet<String>,
    /// Every word of paths that lead out of this package.
    foreign: BTreeSet<String>,
}

struct Reader<'a> {
    words: &'a [String],
    at: usize,
    here: Module,
    children: &'a BTreeSet<String>,
    named: Named,
}

impl Reader<'_> {
    fn word(&self, ahead: usize) -> &str {
        self.words.get(self.at + ahead).map_or("", String::as_str)
    }

    /// Goes to behind the bracket that closes the one opened here.
    fn skip_block(&mut self) {
        let mut depth = 0;
        while self.at < self.words.len() {
            match self.word(0) {
                "{" => depth += 1,
                "}" => depth -= 1,
                _ => {}
            }
            self.at += 1;
            if depth == 0 {
                return;
            }
        }
    }

    /// A path as written, from the root; none if it leads out of this package.
    fn below_root(&self, path: &[String]) -> Option<Module> {
        let mut base = self.here.clone();
        let mut rest = path;
        match path.first().map(String::as_str)? {
            "crate" => return Some(path[1..].to_vec()),
            "self" => rest = &path[1..],
            "super" => {
                while rest.first().is_some_and(|w| w == "super") {
                    base.pop();
                    rest = &rest[1..];
                }
            }
            first if self.children.contains(first) => {}
            _ => return None,
        }
        base.extend_from_slice(rest);
        Some(base)
    }

    /// Reads what stands behind `use`, up to its semicolon or the comma or bracket that ends this branch.
    fn tree(&mut self, before: &[String], public: bool) {
        let mut path = before.to_vec();
        loop {
            match self.word(0).to_owned().as_str() {
                "{" => {
                    self.at += 1;
                    let mut more = true;
                    while more && self.word(0) != "}" {
                        self.tree(&path, public);
                        more = self.word(0) == ",";
                        self.at += usize::from(more);
                    }
                    self.at += 1;
                    return;
                }
                "::" => self.at += 1,
                "" | ";" | "," | "}" | "as" => break,
                word => {
                    path.push(word.to_owned());
                    self.at += 1;
                }
            }
        }
        if path.len() > 1 && matches!(path.last().map(String::as_str), Some("self" | "*")) {
            path.pop();
        }
        let mut name = path.last().cloned().unwrap_or_default();
        if self.word(0) == "as" {
            name = self.word(1).to_owned();
            self.at += 2;
        }
        let Some(target) = self.below_root(&path) else {
            self.named.foreign.extend(path);
            return;
        };
        self.named.names.insert(name.clone(), target.clone());
        if public {
            self.named.handed_on.insert(name, target);
        } else {
            self.named.paths.push(target);
        }
    }

    fn read(mut self) -> Named {
        let mut blocks: Vec<bool> = Vec::new();
        let mut public = false;
        while self.at < self.words.len() {
            let word = self.word(0).to_owned();
            let attribute = ["#", "[", "cfg", "(", "test", ")", "]"];
            if attribute.iter().enumerate().all(|(n, w)| self.word(n) == *w) {
                self.at += attribute.len();
                while !matches!(self.word(0), "{" | ";" | "") {
                    self.at += 1;
                }
                self.skip_block();
                continue;
            }
            match word.as_str() {
                "pub" => {
                    public = true;
                    if self.word(1) == "(" {
                        while self.word(0) != ")" {
                            self.at += 1;
                        }
                    }
                    self.at += 1;
                    continue;
                }
                // `use<'a>` in a signature is no import.
                "use" if self.word(1) != "<" => {
                    self.at += 1;
                    self.tree(&[], public);
                }
                "mod" if self.word(2) == "{" => {
                    self.here.push(self.word(1).to_owned());
                    blocks.push(true);
                    self.at += 3;
                }
                "{" => {
                    blocks.push(false);
                    self.at += 1;
                }
                "}" => {
                    if blocks.pop() == Some(true) {
                        self.here.pop();
                    }
                    self.at += 1;
                }
                _ if self.word(1) == "::" && word.starts_with(|c: char| c.is_alphabetic() || c == '_') => {
                    let mut path = vec![word];
                    self.at += 1;
                    while self.word(0) == "::" {
                        self.at += 1;
                        if self.word(0).starts_with(|c: char| c.is_alphabetic() || c == '_') {
                            path.push(self.word(0).to_owned());
                            self.at += 1;
                        }
                    }
                    self.named.said.extend(path.iter().cloned());
                    match self.below_root(&path) {
                        Some(target) => self.named.paths.push(target),
                        None => self.named.foreign.extend(path),
                    }
                }
                _ => {
                    self.named.said.insert(word);
                    self.at += 1;
                }
            }
            public = false;
        }
        self.named
    }
}

/// Every file of `src` with the files that it needs.
struct House {
    files: BTreeMap<Module, Named>,
}

impl House {
    fn read(sources: Vec<(Module, String)>) -> House {
        let all: BTreeSet<Module> = sources.iter().map(|(module, _)| module.clone()).collect();
        let files = sources.into_iter().map(|(module, text)| {
            let children: BTreeSet<String> = all
                .iter()
                .filter(|other| other.len() == module.len() + 1 && other.starts_with(&module))
                .filter_map(|other| other.last().cloned())
                .collect();
            let words = words(&text);
            let reader = Reader {
                words: &words,
                at: 0,
                here: module.clone(),
                children: &children,
                named: Named::default(),
            };
            let mut named = reader.read();
            let again = named
                .handed_on
                .iter()
                .filter(|(name, _)| named.said.contains(*name));
            let needed: Vec<Module> = again.map(|(_, target)| target.clone()).collect();
            named.paths.extend(needed);
            (module, named)
        });
        House {
            files: files.collect(),
        }
    }

    /// The file that a path leads to, through names that files hand on.
    fn file_of(&self, path: &[String], steps: usize) -> Option<&Module> {
        let (file, named) = (1..=path.len())
            .rev()
            .find_map(|n| self.files.get_key_value(&path[..n]))?;
        let target = path.get(file.len()).and_then(|name| named.names.get(name));
        match target {
            Some(target) if steps > 0 && target != path => {
                let mut onward = target.clone();
                onward.extend_from_slice(&path[file.len() + 1..]);
                self.file_of(&onward, steps - 1).or(Some(file))
            }
            _ => Some(file),
        }
    }

    /// The files that a file needs.
    fn needs(&self, module: &Module) -> BTreeSet<&Module> {
        self.files[module]
            .paths
            .iter()
            .filter_map(|path| self.file_of(path, 8))
            .filter(|other| *other != module)
            .collect()
    }

    /// The files that can be reached from one.
    fn reached<'a>(
        &'a self,
        edges: &BTreeMap<&Module, BTreeSet<&'a Module>>,
        from: &Module,
    ) -> BTreeSet<&'a Module> {
        let mut open: Vec<&Module> = edges[from].iter().copied().collect();
        let mut seen = BTreeSet::new();
        while let Some(next) = open.pop() {
            if seen.insert(next) {
                open.extend(edges[next].iter().copied());
            }
        }
        seen
    }

    /// Sets of files each of which needs, directly or not, every other.
    fn circles(&self) -> BTreeSet<BTreeSet<String>> {
        let edges: BTreeMap<&Module, BTreeSet<&Module>> = self
            .files
            .keys()
            .map(|module| (module, self.needs(module)))
            .collect();
        let reached: BTreeMap<&Module, BTreeSet<&Module>> = self
            .files
            .keys()
            .map(|module| (module, self.reached(&edges, module)))
            .collect();
        let round = |module: &&Module| reached[*module].contains(*module);
        self.files
            .keys()
            .filter(round)
            .map(|module| {
                let both = |other: &&&Module| reached[**other].contains(module);
                reached[module]
                    .iter()
                    .filter(both)
                    .map(|other| other.join("/"))
                    .collect()
            })
            .collect()
    }
}

fn sources() -> Vec<(Module, String)> {
    fn walk(folder: &Path, module: &Module, out: &mut Vec<(Module, String)>) {
        let entries = std::fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
        for path in entries.flatten().map(|entry| entry.path()) {
            let name = path
                .file_stem()
                .map(|n| n.to_string_lossy().into_owned())
                .unwrap_or_default();
            let mut inner = module.clone();
            inner.push(name.clone());
            if path.is_dir() {
                walk(&path, &inner, out);
            } else if path.extension().is_some_and(|e| e == "rs") && name != "tests" {
                let at = if name == "mod" { module } else { &inner };
                let text =
                    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
                out.push((at.clone(), text));
            }
        }
    }
    let mut out = Vec::new();
    walk(Path::new("src"), &Module::new(), &mut out);
    out.retain(|(module, _)| !matches!(module.last().map(String::as_str), Some("lib" | "main")));
    assert!(out.len() > 100, "only {} files were found in src", out.len());
    out
}

/// The storeys of the house from a line of text between backticks: upper ones first, equals in braces.
fn storeys(text: &str, of: &str) -> Vec<Vec<String>> {
    let line = text
        .lines()
        .find_map(|line| {
            line.trim_start_matches("//! ")
                .strip_prefix("`cli > ")?
                .strip_suffix('`')
        })
        .unwrap_or_else(|| panic!("{of} draws no line of doors that begins with `cli > `"));
    std::iter::once("cli")
        .chain(line.split(" > "))
        .map(|storey| {
            let inner = storey.trim_matches(['{', '}']);
            inner.split(", ").map(str::to_owned).collect()
        })
        .collect()
}

#[test]
fn doors_open_only_downwards() {
    let text = |path: &str| std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let house = storeys(&text("DEVELOPERS.md"), "DEVELOPERS.md");
    assert_eq!(
        house,
        storeys(&text("src/lib.rs"), "src/lib.rs"),
        "DEVELOPERS.md and src/lib.rs must draw the same house"
    );
    let level = |folder: &str| {
        let found = house.iter().position(|storey| storey.iter().any(|f| f == folder));
        found.unwrap_or_else(|| {
            panic!("the folder `{folder}` is missing from the line of doors in DEVELOPERS.md")
        })
    };
    let sources = sources();
    let read = House::read(sources);
    let mut wrong = Vec::new();
    for module in read.files.keys() {
        for other in read.needs(module) {
            let (from, to) = (module[0].as_str(), other[0].as_str());
            let scene = from == "scene" && HIDDEN_FROM_SCENE.contains(&to);
            if scene || from != to && level(from) >= level(to) {
                wrong.push(format!("src/{}.rs needs {}", module.join("/"), other.join("/")));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "these go up or sideways, or show the scene more than a `Stage` and the model:\n{}\nmove what is needed to a \
         lower folder, or hand it in from above",
        wrong.join("\n")
    );
}

#[test]
fn the_window_and_files_are_known_only_where_they_belong() {
    let read = House::read(sources());
    let mut wrong = Vec::new();
    for (module, named) in &read.files {
        for (word, may) in WORDS {
            if named.foreign.contains(word) && !may.contains(&module[0].as_str()) {
                wrong.push(format!("src/{}.rs says `{word}`", module.join("/")));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{}\nsee the table in DEVELOPERS.md",
        wrong.join("\n")
    );
}

#[test]
fn no_file_needs_one_that_needs_it() {
    let found = House::read(sources()).circles();
    let shown = |circle: &BTreeSet<String>| circle.iter().cloned().collect::<Vec<_>>().join(", ");
    let circles: Vec<String> = found.iter().map(shown).collect();
    assert!(
        circles.is_empty(),
        "these files need each other in a circle:\n{}\nmove what they share to a file of its own",
        circles.join("\n")
    );
}

/// The reading itself is held to a small house that has each way of naming a file.
#[test]
fn every_way_of_naming_a_file_is_read() {
    let source = |path: &str, text: &str| (path.split('/').map(str::to_owned).collect(), text.to_owned());
    let house = House::read(vec![
        source("a", "mod b; mod c;\npub use b::Thing;\nfn f() { c::go() }"),
        source(
            "a/b",
            "use super::super::low::{self as deep, x::{Y, Z as W}};\npub struct Thing;",
        ),
        source(
            "a/c",
            "use super::Thing; // use crate::d::E;\nfn go() -> &'static str { \"crate::d::F\"; 'c'; }",
        ),
        source(
            "a/d",
            "mod inner { use super::super::c::go; }\n#[cfg(test)]\nmod tests { use super::super::b::Thing; }",
        ),
        source("low", "pub fn g() { r#\"crate::a::b\"#; }"),
        source("low/x", "use crate::low::g;"),
    ]);
    let needs = |path: &str| {
        let module: Module = path.split('/').map(str::to_owned).collect();
        house
            .needs(&module)
            .into_iter()
            .map(|m| m.join("/"))
            .collect::<Vec<_>>()
    };
    assert_eq!(needs("a"), ["a/c"], "a name that is only handed on is no need");
    assert_eq!(needs("a/b"), ["low", "low/x"]);
    assert_eq!(needs("a/c"), ["a/b"], "a name leads to the file that has it");
    assert_eq!(needs("a/d"), ["a/c"], "tests do not count");
    assert_eq!(needs("low"), Vec::<String>::new(), "text is no path");
    assert_eq!(needs("low/x"), ["low"]);
    assert!(house.circles().is_empty());
}
