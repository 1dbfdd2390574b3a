//! Gathering files, built in and from folders, into one library.

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use include_dir::{Dir, include_dir};

use crate::chance::Key;
use crate::drill::Script;
use crate::model::{Library, Scenario};

use super::fault::{Faults, Source};
use super::record::Decoder;
use super::tree::{Node, NodeKind, parse};
use super::{body, curve, duel, scenario, sequence, substance, technique};

static ASSETS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/assets");
static SCENARIOS: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/scenarios");

/// The newest file format this program reads.
const FORMAT: u64 = 1;

/// What a content file holds, in the order in which files build on each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Kind {
    Evidence,
    Materials,
    Organisms,
    Body,
    Room,
    Items,
    Hygiene,
    Faults,
    Manners,
    Marks,
    Techniques,
    Tunings,
    Curves,
    Trainees,
    Sequence,
    Scenario,
    Duels,
    Script,
}

impl Kind {
    /// A field that only files of this kind have, and the word for the kind.
    const SIGNS: [(&'static str, Kind, &'static str); 19] = [
        ("sources", Kind::Evidence, "evidence file"),
        ("bases", Kind::Evidence, "evidence file"),
        ("materials", Kind::Materials, "materials file"),
        ("organisms", Kind::Organisms, "organisms file"),
        ("places", Kind::Body, "body file"),
        ("furniture", Kind::Room, "room file"),
        ("items", Kind::Items, "items file"),
        ("products", Kind::Hygiene, "hygiene file"),
        ("touch_areas", Kind::Manners, "manners file"),
        ("missed", Kind::Marks, "marks file"),
        ("techniques", Kind::Techniques, "techniques file"),
        ("brush_odds", Kind::Tunings, "fitted file"),
        ("curves", Kind::Curves, "curves file"),
        ("duels", Kind::Duels, "duels file"),
        ("trainees", Kind::Trainees, "trainees file"),
        ("steps", Kind::Sequence, "sequence"),
        ("kit", Kind::Scenario, "scenario"),
        ("actions", Kind::Script, "script"),
        ("faults", Kind::Faults, "faults file"),
    ];

    /// Tells from its fields what a file is. A scenario also has `faults`, so that sign comes last.
    fn of(root: &Node) -> Option<(Kind, &'static str)> {
        let NodeKind::Struct { fields, .. } = &root.kind else {
            return None;
        };
        Kind::SIGNS
            .iter()
            .find(|(sign, ..)| fields.iter().any(|f| f.name == *sign))
            .map(|&(_, kind, noun)| (kind, noun))
    }
}

/// Why content could not be loaded: everything that is wrong with it, ready to print.
#[derive(Clone, Debug)]
pub struct LoadError {
    /// All faults.
    pub faults: String,
    /// How many.
    pub count: usize,
}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.faults.trim_end())
    }
}

impl std::error::Error for LoadError {}

/// A library with what belongs to it but is not part of the model.
#[derive(Clone, Debug)]
pub struct Content {
    /// Everything a scenario can draw on.
    pub library: Arc<Library>,
    /// Scripts by name, such as `classic-tracer/no-rub`.
    pub scripts: BTreeMap<String, Script>,
    /// Texts of scenarios by id, for logs that must stand alone.
    pub scenario_texts: BTreeMap<String, String>,
    /// A digest of every file that the library was made from.
    pub digest: u64,
}

/// A file and its tree.
struct Read {
    source: Source,
    root: Node,
    kind: Kind,
    noun: &'static str,
}

impl Content {
    /// The content that the program carries.
    ///
    /// # Errors
    /// Faults in it, which a test rules out for every release.
    pub fn builtin() -> Result<Content, LoadError> {
        let faults = Faults::new();
        let content = build(builtin_sources(&faults), &faults);
        finish(content, &faults)
    }

    /// The built-in content with a folder laid over it: files with the same path replace built-in ones, others are
    /// added.
    ///
    /// # Errors
    /// Every fault in any file.
    pub fn with_folder(folder: &Path) -> Result<Content, LoadError> {
        let faults = Faults::new();
        let mut sources = builtin_sources(&faults);
        let mut paths = Vec::new();
        gather(folder, &mut paths, &faults, 0);
        paths.sort();
        if paths.is_empty() && faults.is_empty() {
            faults.report_file(&folder.display().to_string(), "this folder holds no .ron files");
        }
        for path in paths {
            let relative = path
                .strip_prefix(folder)
                .unwrap_or(&path)
                .to_string_lossy()
                .replace('\\', "/");
            if let Some(source) = Source::read(&path, &faults) {
                sources.insert(relative, source);
            }
        }
        finish(build(sources, &faults), &faults)
    }

    /// This content with one more scenario read from a file.
    ///
    /// # Errors
    /// Every fault in the file.
    pub fn scenario_file(&self, path: &Path) -> Result<(Content, String), LoadError> {
        let faults = Faults::new();
        let source = Source::read(path, &faults);
        let read = source.and_then(|source| self.scenario_source(source, &faults));
        match read {
            Some(read) if faults.is_empty() => Ok(read),
            _ => Err(error(&faults)),
        }
    }

    /// This content with one more scenario read from text, as a log carries it.
    ///
    /// # Errors
    /// Every fault in the text.
    pub fn scenario_text(&self, name: &str, text: &str) -> Result<(Content, String), LoadError> {
        let faults = Faults::new();
        let read = self.scenario_source(Source::new(name, text), &faults);
        match read {
            Some(read) if faults.is_empty() => Ok(read),
            _ => Err(error(&faults)),
        }
    }

    fn scenario_source(&self, source: Source, faults: &Faults) -> Option<(Content, String)> {
        let text = source.text().to_owned();
        let read = read(source, faults)?;
        if read.kind != Kind::Scenario {
            faults.report(
                &read.source,
                read.root.span.start..read.root.span.start + 1,
                format!("a scenario was expected; this is a {}", read.noun),
                None,
            );
            return None;
        }
        let mut library = (*self.library).clone();
        let scenario = decode(&read, &mut library, faults)?;
        let id = scenario.id;
        let mut content = self.clone();
        content.library = Arc::new(library);
        content.scenario_texts.insert(id.clone(), text);
        Some((content, id))
    }

    /// Reads a script file against this content, to be played in a scenario.
    ///
    /// # Errors
    /// Every fault in the file.
    pub fn script_file(&self, path: &Path, scenario: &str) -> Result<Script, LoadError> {
        let faults = Faults::new();
        let script = Source::read(path, &faults).and_then(|source| {
            let read = read(source, &faults)?;
            if read.kind != Kind::Script {
                faults.report(
                    &read.source,
                    read.root.span.start..read.root.span.start + 1,
                    format!("a script was expected; this is a {}", read.noun),
                    None,
                );
                return None;
            }
            let decoder = Decoder::new(&read.source, &faults);
            let mut record = decoder.document(&read.root, read.noun, FORMAT)?;
            Some(scenario::script(&mut record, &self.library, Some(scenario)))
        });
        match script {
            Some(script) if faults.is_empty() => Ok(script),
            _ => Err(error(&faults)),
        }
    }

    /// Checks files against this content, each seeing what the others define. Returns how many files were read and
    /// all faults.
    pub fn check(&self, paths: &[PathBuf]) -> (usize, Vec<super::fault::Fault>) {
        let faults = Faults::new();
        let mut reads: Vec<Read> = Vec::new();
        for path in paths {
            if let Some(source) = Source::read(path, &faults) {
                reads.extend(read(source, &faults));
            }
        }
        reads.sort_by_key(|r| r.kind);
        let count = reads.len();
        let mut library = (*self.library).clone();
        for read in &reads {
            if read.kind != Kind::Script {
                decode(read, &mut library, &faults);
            }
        }
        let library = Arc::new(library);
        for read in reads.iter().filter(|r| r.kind == Kind::Script) {
            let decoder = Decoder::new(&read.source, &faults);
            if let Some(mut record) = decoder.document(&read.root, read.noun, FORMAT) {
                scenario::script(&mut record, &library, None);
            }
        }
        (count, faults.sorted())
    }
}

fn error(faults: &Faults) -> LoadError {
    LoadError {
        faults: faults.to_string(),
        count: faults.len(),
    }
}

fn finish(content: Content, faults: &Faults) -> Result<Content, LoadError> {
    if faults.is_empty() {
        Ok(content)
    } else {
        Err(error(faults))
    }
}

fn builtin_sources(faults: &Faults) -> BTreeMap<String, Source> {
    fn walk(dir: &'static Dir<'static>, prefix: &str, out: &mut BTreeMap<String, Source>, faults: &Faults) {
        for file in dir
            .files()
            .filter(|f| f.path().extension().is_some_and(|e| e == "ron"))
        {
            let name = format!("{prefix}/{}", file.path().to_string_lossy().replace('\\', "/"));
            if let Some(source) = Source::from_bytes(&name, file.contents(), faults) {
                out.insert(name, source);
            }
        }
        for dir in dir.dirs() {
            walk(dir, prefix, out, faults);
        }
    }
    let mut out = BTreeMap::new();
    walk(&ASSETS, "assets", &mut out, faults);
    walk(&SCENARIOS, "scenarios", &mut out, faults);
    out
}

/// Every .ron file below a folder, eight levels deep at most.
fn gather(folder: &Path, out: &mut Vec<PathBuf>, faults: &Faults, depth: u32) {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            faults.report_file(&folder.display().to_string(), format!("cannot be read: {error}"));
            return;
        }
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() && depth < 8 {
            gather(&path, out, faults, depth + 1);
        } else if path.extension().is_some_and(|e| e == "ron") {
            out.push(path);
        }
    }
}

/// Parses a file and tells what it is.
fn read(source: Source, faults: &Faults) -> Option<Read> {
    let before = faults.len();
    let root = parse(&source, faults);
    match Kind::of(&root) {
        Some((kind, noun)) => Some(Read {
            source,
            root,
            kind,
            noun,
        }),
        None => {
            // A file that could not be parsed has been complained about already.
            if faults.len() == before {
                let span = root.span.start..(root.span.start + 1).min(source.text().len());
                faults.report(
                    &source,
                    span,
                    "this is no content file",
                    Some(
                        "a scenario has a `kit`, a sequence `steps`, a script `actions`; see README.md"
                            .to_owned(),
                    ),
                );
            }
            None
        }
    }
}

fn build(sources: BTreeMap<String, Source>, faults: &Faults) -> Content {
    let mut digest = Key::of("content");
    for (name, source) in &sources {
        digest = digest.named(name).named(source.text());
    }
    let mut reads: Vec<(String, Read)> = sources
        .into_iter()
        .filter_map(|(name, source)| Some((name, read(source, faults)?)))
        .collect();
    reads.sort_by(|a, b| (a.1.kind, &a.0).cmp(&(b.1.kind, &b.0)));
    let mut library = Library::default();
    let mut scenario_texts = BTreeMap::new();
    for (_, read) in reads.iter().filter(|(_, r)| r.kind != Kind::Script) {
        if let Some(scenario) = decode(read, &mut library, faults) {
            scenario_texts.insert(scenario.id, read.source.text().to_owned());
        }
    }
    let library = Arc::new(library);
    let mut scripts = BTreeMap::new();
    for (name, read) in reads.iter().filter(|(_, r)| r.kind == Kind::Script) {
        let decoder = Decoder::new(&read.source, faults);
        if let Some(mut record) = decoder.document(&read.root, read.noun, FORMAT) {
            let script = scenario::script(&mut record, &library, None);
            let name = name
                .trim_start_matches("scenarios/scripts/")
                .trim_end_matches(".ron");
            scripts.insert(name.to_owned(), script);
        }
    }
    Content {
        library,
        scripts,
        scenario_texts,
        digest: digest.0,
    }
}

/// Decodes one file into the library; returns the scenario if it is one.
fn decode(read: &Read, library: &mut Library, faults: &Faults) -> Option<Scenario> {
    let decoder = Decoder::new(&read.source, faults);
    let mut record = decoder.document(&read.root, read.noun, FORMAT)?;
    let r = &mut record;
    match read.kind {
        Kind::Evidence => substance::evidence(r, library),
        Kind::Materials => substance::materials(r, library),
        Kind::Organisms => substance::organisms(r, library),
        Kind::Body => body::places(r, library),
        Kind::Room => body::furniture(r, library),
        Kind::Items => body::items(r, library),
        Kind::Hygiene => substance::products(r, library),
        Kind::Faults => substance::faults(r, library),
        Kind::Manners => body::manners(r, library),
        Kind::Marks => library.marks = Some(sequence::marks(r, library, None)),
        Kind::Techniques => technique::techniques(r, library),
        Kind::Tunings => technique::tunings(r, library),
        Kind::Duels => duel::duels(r, library),
        Kind::Curves => curve::curves(r, library),
        Kind::Trainees => sequence::trainees(r, library),
        Kind::Sequence => sequence::sequence(r, library),
        Kind::Scenario => {
            let scenario = scenario::scenario(r, library)?;
            if !scenario.id.is_empty() {
                super::refer::put(&mut library.scenarios, scenario.clone(), |s| &s.id);
            }
            return Some(scenario);
        }
        Kind::Script => {}
    }
    None
}
